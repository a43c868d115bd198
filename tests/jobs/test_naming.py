"""Part numbers: ASCII, at most 60 characters, and one number for one part."""

import re
from dataclasses import replace

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


def words_of(found):
    """A number without its hash."""
    words, _, mark = found.rpartition("-")
    assert re.fullmatch(r"[0-9a-f]{6}", mark)
    return words


def test_the_number_says_kind_tube_bit_material_and_revision():
    """Re-pinned: the pressure stood in it, and a file name must not rate a printed part."""
    assert words_of(number()) == "elbow-t0170in-b15_64-mjf_pa12-a"
    assert words_of(number("barb")) == "barb-t0170in-mjf_pa12-a"
    assert number(bit="no7") == number(bit="#7")
    assert words_of(number(bit="no7")) == "elbow-t0170in-bno7-mjf_pa12-a"
    assert words_of(number(bit="F")) == "elbow-t0170in-bf-mjf_pa12-a"
    assert words_of(number(bit="6.1mm")) == "elbow-t0170in-b6_1mm-mjf_pa12-a"


def test_the_pressure_is_not_read_in_the_number_and_tells():
    """Pinned before: `-45psi-` and `-310kpa-`."""
    found = {number(pressure=text) for text in ("45psi", "310kPa", "46psi")}
    assert len(found) == 3
    assert {words_of(one) for one in found} == {"elbow-t0170in-b15_64-mjf_pa12-a"}
    assert number(pressure="310kPa") == number(pressure="3.1bar") == number(pressure="0.31MPa")


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
def test_another_input_makes_another_hash(other):
    """Re-pinned: the hash stood there only where something was not the default."""
    assert words_of(number(**other)) == words_of(number())
    assert number(**other) != number()


@pytest.mark.parametrize("name", ["bark", "temperature"])
def test_a_default_that_is_typed_out_changes_nothing(name):
    given_text = {"bark": "8mm", "temperature": "30C"}[name]
    assert number(**{name: given_text}) == number()


def test_a_forced_size_and_a_judgement_number_tell():
    plain = number()
    forced, rule = number(settings=("land=1mm",)), number(settings=("bark_mm=5mm",))
    assert len({plain, forced, rule}) == 3


def test_the_second_tube_of_a_barb_tells():
    one = number("barb", tube2_id="4mm")
    assert len({one, number("barb"), number("barb", tube2_id="5mm")}) == 3


KNOWN = {**PLAIN, "tube_od": "0.250in", "tube_material": "LLDPE", "wood": "oak northern red"}


def own(record, **figures):
    """A record of the user's own under the same id: other figures, from another file."""
    return replace(record, **figures, path="profiles/own.toml")


def with_tube(job, **changed):
    return replace(job, tubes=(replace(job.tubes[0], **changed),))


def with_row(job, **figures):
    return with_tube(job, row=own(job.tubes[0].row, **figures))


STAND_INS = {
    "the same figures": lambda job: replace(job, material=own(job.material)),
    "ten times the strength": lambda job: replace(
        job, material=own(job.material, strength_z_mpa=10.0 * job.material.strength_z_mpa)
    ),
    "a lighter plastic": lambda job: replace(job, material=own(job.material, density_g_cm3=0.9)),
    "fit for another liquid": lambda job: replace(
        job, material=own(job.material, cautioned_fluids=("alcohol",))
    ),
    "a stiffer tube": lambda job: with_row(job, modulus_high_mpa=900.0),
    "a tube stated higher": lambda job: with_row(job, rating_mpa=9.0),
    "a tube that softens": lambda job: with_row(
        job, kind=replace(job.tubes[0].row.kind, temperature_factor=((23.0, 0.1),))
    ),
    "a wider material word": lambda job: with_tube(
        job, material=replace(job.tubes[0].material, modulus_low_mpa=1.0)
    ),
    "a weaker wood": lambda job: replace(
        job, wood=replace(job.wood, record=own(job.wood.record, compression_perpendicular_mpa=0.1))
    ),
    "a bit that is worn": lambda job: replace(job, bit=replace(job.bit, diameter_mm=5.9)),
    "another judgement": lambda job: replace(job, rules={**job.rules, "proof_ratio": 2.0}),
}


def test_a_record_that_stands_in_with_other_figures_makes_another_number():
    """A user's profile of the same id, ten times as strong, gave the part the same number."""
    job = read_job(KNOWN)
    plain = part_number(KINDS["elbow"], job, "a")
    found = {
        name: part_number(KINDS["elbow"], change(job), "a") for name, change in STAND_INS.items()
    }
    # Where a figure was read from is no figure.
    assert found.pop("the same figures") == plain
    assert len({plain, *found.values()}) == len(STAND_INS)
    assert {words_of(one) for one in found.values()} == {words_of(plain)}


def test_a_service_tells_by_its_figures():
    one = catalog.Service(
        id="shop", name="Shop", material="mjf_pa12", outside_offset_mm=0.1, bore_offset_mm=-0.1,
        tolerance_mm=0.2, use_by_default=False, answers=(),
    )  # fmt: skip
    services = (None, one, replace(one, tolerance_mm=0.1), replace(one, answers=("twice",)))
    bare, first, tighter, reworded = (
        part_number(KINDS["elbow"], replace(read_job(PLAIN), service=service), "a")
        for service in services
    )
    assert len({bare, first, tighter}) == 3
    assert reworded == first


def test_a_long_material_id_leaves_room_for_revision_hash_and_grade():
    job = read_job({**PLAIN, "grade": "2"})
    one, other = (
        part_number(
            KINDS["elbow"],
            replace(job, material=replace(job.material, id="own_powder_" + "x" * 60 + end)),
            "ab",
        )
        for end in "ab"
    )
    assert len(one) == len(other) == 60
    assert one != other
    assert re.fullmatch(r"elbow-t0170in-b15_64-own_powder_x+-ab-[0-9a-f]{6}-g2", one)


def test_the_leads_of_a_set_differ_in_their_grade_alone():
    assert number(grade="1").removesuffix("-g1") == number(grade="2").removesuffix("-g2")


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
