"""Part numbers: ASCII, at most 60 characters, and one number for one part."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barbwright import catalog
from barbwright.design.part import KINDS
from barbwright.job.reading import read_job
from barbwright.jobs.naming import mark_words, next_revision, part_number

PLAIN = {"tube_id": "0.170in", "bit": "15/64", "pressure": "45psi"}


def number(kind="elbow", settings=(), **options):
    job = read_job({**PLAIN, **options}, settings=settings, needs_tip=KINDS[kind].tip,
                       two_ends=kind == "barb")  # fmt: skip
    return part_number(KINDS[kind], job, "a")


def test_the_number_says_kind_tube_bit_pressure_material_and_revision():
    assert number() == "elbow-t0170in-b15_64-45psi-mjf_pa12-a"
    assert number("barb") == "barb-t0170in-45psi-mjf_pa12-a"
    assert number(bit="no7") == number(bit="#7") == "elbow-t0170in-bno7-45psi-mjf_pa12-a"
    assert number(bit="F") == "elbow-t0170in-bf-45psi-mjf_pa12-a"
    assert number(bit="6.1mm") == "elbow-t0170in-b6_1mm-45psi-mjf_pa12-a"
    assert number(pressure="310kPa") == "elbow-t0170in-b15_64-310kpa-mjf_pa12-a"


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ({"tube_id": "0.25in"}, {"tube_id": "6.35mm"}),
        ({"tube_id": "1/4 in"}, {"tube_id": "6.35 mm"}),
        ({"hole": "6.1mm"}, {"hole": "0.61cm"}),
        ({"temperature": "35C"}, {"temperature": "95F"}),
        ({"wood": "oak northern red"}, {"wood": "Northern Red OAK"}),
        ({"clamp": False}, {}),
        ({"fluid": "water"}, {}),
        ({"material": "mjf_pa12"}, {}),
        ({"relief": "55psi"}, {"relief": "55 psig"}),
    ],
)
def test_one_part_has_one_number_however_it_is_written(one, other):
    assert number(**one) == number(**other)


@pytest.mark.parametrize(
    "other",
    [
        {"hole": "6.1mm"}, {"relief": "55psi"}, {"wood": "oak northern red"}, {"bark": "5mm"},
        {"temperature": "35C"}, {"fluid": "alcohol"}, {"clamp": True}, {"tube_od": "0.250in"},
        {"tube_material": "nylon"}, {"tube_rating": "150psi"}, {"shore": "85"},
    ],
    ids=lambda other: next(iter(other)),
)  # fmt: skip
def test_another_input_adds_a_short_hash(other):
    plain, with_it = number(), number(**other)
    assert with_it.startswith(plain + "-")
    assert re.fullmatch(r"[0-9a-f]{6}", with_it.removeprefix(plain + "-"))


@pytest.mark.parametrize("name", ["bark", "temperature"])
def test_a_default_that_is_typed_out_changes_nothing(name):
    """A hash only where another input is not the default."""
    given_text = {"bark": "8mm", "temperature": "30C"}[name]
    assert number(**{name: given_text}) == number()


def test_a_forced_size_and_a_judgement_number_add_a_hash():
    plain = number()
    forced, rule = number(settings=("land=1mm",)), number(settings=("bark_mm=5mm",))
    assert len({plain, forced, rule}) == 3


def test_the_second_tube_of_a_barb_tells():
    one = number("barb", tube2_id="4mm")
    assert len({one, number("barb"), number("barb", tube2_id="5mm")}) == 3


@settings(max_examples=60)
@given(
    kind=st.sampled_from(list(KINDS)),
    inner=st.floats(1.0, 30.0),
    bit=st.sampled_from([b for b in catalog.bits().values() if 1.0 <= b.diameter_mm <= 25.0]),
    pressure=st.floats(1.0, 280.0),
    material=st.sampled_from(list(catalog.materials())),
    wood=st.sampled_from([None, *catalog.woods()]),
)
def test_any_number_is_ascii_and_short(kind, inner, bit, pressure, material, wood):
    found = number(kind, tube_id=f"{inner!r} mm", bit=bit.name, pressure=f"{pressure!r} psi",
                   material=material, wood=wood)  # fmt: skip
    assert re.fullmatch(r"[a-z0-9_-]{1,60}", found)


def test_revisions_run_on():
    assert [next_revision(letter) for letter in ("a", "y", "z", "az", "zz")] == [
        "b", "z", "aa", "ba", "aaa",
    ]  # fmt: skip


def test_every_bit_can_be_engraved():
    from barbwright.design.letters import GLYPHS

    for bit in catalog.bits().values():
        if not 1.0 <= bit.diameter_mm <= 25.0:
            continue
        job = read_job({**PLAIN, "bit": bit.name})
        for word in mark_words(KINDS["elbow"], job, "a"):
            assert set(word) <= set(GLYPHS), word
