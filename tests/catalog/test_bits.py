"""Drill table spot checks, and what a person may call a bit."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barbwright.catalog import Bit, bits, parse_bit
from barbwright.errors import InputError
from barbwright.units import FaultCollector


def refusal(text: str) -> str:
    with pytest.raises(InputError) as caught:
        parse_bit(text)
    assert len(caught.value.faults) == 1
    return str(caught.value)


# ASME B94.11M, inch decimals as the standard prints them; from memory.
ASME_INCH = {
    "1/64": 0.0156, "1/8": 0.1250, "11/64": 0.1719, "15/64": 0.2344, "1/4": 0.2500,
    "5/16": 0.3125, "1": 1.0000, "#80": 0.0135, "#40": 0.0980, "#29": 0.1360, "#7": 0.2010,
    "#1": 0.2280, "A": 0.2340, "E": 0.2500, "F": 0.2570, "Z": 0.4130,
}  # fmt: skip


@pytest.mark.parametrize(("designation", "printed_in"), ASME_INCH.items())
def test_inch_bits_are_as_printed(designation: str, printed_in: float) -> None:
    # print's precision: four decimals of an inch
    assert bits()[designation].diameter_mm == pytest.approx(printed_in * 25.4, abs=0.00005 * 25.4)
    assert bits()[designation].source == "asme_b94_11m"
    assert bits()[designation].status == "from memory"


@pytest.mark.parametrize("size", ["3.3 mm", "6.0 mm", "6.1 mm", "14.25 mm", "25.0 mm"])
def test_metric_bits_are_their_own_name(size: str) -> None:
    # ISO 235 / BS 328; from memory
    assert bits()[size].diameter_mm == float(size.split()[0])
    assert bits()[size].source == "iso_235"


def test_the_whole_table_is_there() -> None:
    count: dict[str, int] = {}
    for bit in bits().values():
        count[bit.series] = count.get(bit.series, 0) + 1
    assert count["number"] == 80
    assert count["letter"] == 26
    assert count["fractional"] == 64
    assert sum(count.values()) == 397


def test_fractions_are_exact() -> None:
    for bit in bits().values():
        if bit.series == "fractional":
            assert bit.diameter_mm == float(Fraction(bit.designation) * Fraction(254, 10))


def test_number_drills_get_smaller_and_letters_larger() -> None:
    numbers = [bits()[f"#{i}"].diameter_mm for i in range(1, 81)]
    letters = [bits()[chr(c)].diameter_mm for c in range(ord("A"), ord("Z") + 1)]
    assert numbers == sorted(numbers, reverse=True)
    assert letters == sorted(letters)


@pytest.mark.parametrize(
    ("text", "designation"),
    [
        ("15/64", "15/64"), ("15/64in", "15/64"), ('15/64"', "15/64"), ("15/64 in", "15/64"),
        ("no7", "#7"), ("#7", "#7"), ("No. 7", "#7"), ("NO 7", "#7"), ("number 7", "#7"),
        ("F", "F"), ("f", "F"), ("letter F", "F"),
        ("6mm", "6.0 mm"), ("6.1 mm", "6.1 mm"),
        ("0.234in", "A"), ("0.234375 in", "15/64"), ("0.2343in", "15/64"),
    ],
)  # fmt: skip
def test_a_bit_has_many_spellings(text: str, designation: str) -> None:
    assert parse_bit(text) == bits()[designation]


def test_a_size_between_the_series_is_custom() -> None:
    assert parse_bit("6.03 mm") == Bit(designation="6.03 mm", series="custom", diameter_mm=6.03)
    assert parse_bit("0.236in").designation == "0.236 in"


def test_bare_seven_is_refused_with_both_readings() -> None:
    message = refusal("7")
    assert "number drill #7 or 7 mm?" in message


def test_bare_six_point_one_is_refused_with_both_readings() -> None:
    assert "6.1 mm or 6.1 in?" in refusal("6.1")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("16/64", "1/4 in lowest terms"),
        ("15/63", "15/64 in"),
        ("1 1/4", "63/64 in"),
        ("#95", "#80 (0.34 mm), #79 (0.37 mm), #78"),
        ("#0", "#1 (5.79 mm), #2"),
        ("AA", "nearest"),
        ("40 mm", "25.40 mm"),
        ("6,1 mm", "write 6.1 mm"),
        ("-6 mm", "negative"),
        ("0/64", "no size"),
        ("1/0", "no size"),
        ("45psi", "pressure"),
    ],
)
def test_an_unknown_bit_is_explained(text: str, says: str) -> None:
    assert says in refusal(text)


@given(st.text(max_size=30))
def test_any_text_is_a_bit_or_one_fault(text: str) -> None:
    collect = FaultCollector()
    bit = collect.read(parse_bit, text)
    assert len(collect.faults) == (1 if bit is None else 0)
    assert bit is None or 0 < bit.diameter_mm < 26
