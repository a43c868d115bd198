"""Rough answers become texts that the strict readers take, and nothing is guessed past sense."""

import pytest

from barbwright import catalog, units
from barbwright.errors import InputError
from barbwright.jobs.spoken import (
    spoken_bit,
    spoken_length,
    spoken_pressure,
    spoken_range,
    spoken_sizes,
    unsure,
)


@pytest.mark.parametrize(
    ("said", "mm"),
    [
        (".170", 4.318),
        ('15/64"', 15 / 64 * 25.4),
        ("\u00bd inch", 12.7),
        ("quarter inch", 6.35),
        ("a quarter of an inch", 6.35),
        ("three eighths", 9.525),
        ("one and a half inches", 38.1),
        ("five sixteenths", 25.4 * 5 / 16),
        ("nine thirty seconds", 25.4 * 9 / 32),
        ("twenty-one sixty-fourths of an inch", 25.4 * 21 / 64),
        ("an inch", 25.4),
        ("two inches", 50.8),
        ("4,3 mm", 4.3),
        ("6", 6.0),
        ("1 1/4", 31.75),
        ("119 cm", 1190.0),
    ],
)
def test_a_length_as_people_say_it(said, mm):
    assert units.parse_length(spoken_length(said)) == pytest.approx(mm, rel=1e-12)


@pytest.mark.parametrize("said", ["1.5", "1,5", "1"])
def test_a_bare_number_that_may_be_either_is_asked_again(said):
    with pytest.raises(InputError, match=r"inches or millimetres.*say 1(\.5)? mm or 1(\.5)? in"):
        spoken_length(said)


@pytest.mark.parametrize(
    ("said", "name"),
    [('15/64"', "15/64"), ("quarter inch", "1/4"), ("6", "6 mm"), ("no 7", "#7"), ("F", "F"),
     ("15/64 drill bit", "15/64"), ("6,1 mm", "6.1 mm"), ("letter f", "F")],
)  # fmt: skip
def test_a_bit_as_people_say_it(said, name):
    assert catalog.parse_bit(spoken_bit(said)) is catalog.parse_bit(name)


@pytest.mark.parametrize(
    ("said", "mpa"),
    [
        ("45", 0.31026),
        ("45 pounds", 0.31026),
        ("45psi", 0.31026),
        ("3 bar", 0.3),
        ("3,1 bar", 0.31),
        ("3 bars", 0.3),
        ("2,5bars", 0.25),
    ],
)
def test_a_pressure_as_people_say_it(said, mpa):
    assert units.parse_pressure(spoken_pressure(said)) == pytest.approx(mpa, rel=1e-4)


def test_a_low_bare_pressure_is_asked_again():
    with pytest.raises(InputError, match="say 3 bar or 3 psi"):
        spoken_pressure("3")
    with pytest.raises(InputError, match="say 12 psi"):
        spoken_pressure("12")


@pytest.mark.parametrize(
    ("said", "mm"),
    [(".170 x .250", (4.318, 6.35)), ('1/4" x .170"', (6.35, 4.318)), ("4x6 mm", (4.0, 6.0)),
     ("4,3 by 6,4 mm", (4.3, 6.4)), (".170", (4.318,))],
)  # fmt: skip
def test_both_sizes_of_a_tube_at_once(said, mm):
    assert [units.parse_length(one) for one in spoken_sizes(said)] == pytest.approx(mm)


@pytest.mark.parametrize(
    "said", ["?", "don't know", "Don\u2019t know.", "dont know", "not sure", "", "skip"]
)
def test_it_is_an_answer_not_to_know(said):
    assert unsure(said)


@pytest.mark.parametrize(
    ("said", "job"),
    [("5 to 12 mm", "5 mm to 12 mm"), ("half an inch", "1/2 in"), ("5-12 mm", "5 mm to 12 mm"),
     ("8", "8 mm")],
)  # fmt: skip
def test_bark_as_people_say_it(said, job):
    assert spoken_range(said) == job
