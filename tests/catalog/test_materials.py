"""Material records: the rule reproduces the shipped tables, and every figure keeps its status."""

from __future__ import annotations

import math

import numpy as np
import pytest

from barbwright.catalog import Material, find_material, materials, refused_materials
from barbwright.errors import InputError
from barbwright.sources import SOURCES, STATUSES

IDS = [
    "fff_asa", "fff_petg", "fff_pla", "mjf_pa11", "mjf_pa12", "mjf_pa12_dyed", "mjf_pa12_smoothed",
    "mjf_pp", "pa11", "pa12_gf", "sls_pa11", "sls_pa12",
]  # fmt: skip
# No public source says what water, heat and years leave of these.
RESINS = ["sla_general", "sla_tough"]

# Half the long-term strength, and a tenth of the dry one at most.
FACTORS = (0.5, 10.0)


def down(value: float) -> float:
    """Round down to 0.1 as the tables do; the slack takes binary dust such as 3.5999999."""
    return math.floor(value * 10 + 1e-9) / 10


@pytest.fixture(params=IDS)
def material(request: pytest.FixtureRequest) -> Material:
    return materials()[request.param]


def test_all_are_there() -> None:
    assert sorted(materials()) == sorted(IDS + RESINS)


@pytest.mark.parametrize("name", RESINS)
def test_what_nobody_publishes_is_no_number(name: str) -> None:
    resin = materials()[name]
    assert resin.unknown == ("wet_factor", "long_term_factor", "temperature_factor")
    assert np.isnan(resin.allowable_mpa(23.0, *FACTORS))
    assert np.isnan(resin.short_term_mpa(np.array([10.0, 23.0]))).all()
    assert (resin.field, resin.pressure, resin.tapping) == (False, False, False)
    for entry in resin.published:
        if entry.property == "tensile_strength_xy_mpa":
            assert isinstance(entry.value, float)
            assert resin.strength_xy_mpa < entry.value


@pytest.mark.parametrize(
    ("typed", "name"),
    [("TPU 95A", "TPU"), ("abs", "ABS"), ("nylon filament", "nylon filament"), ("PA6", "nylon")],
)
def test_what_nothing_should_be_made_of_is_refused_by_name_with_its_reason(
    typed: str, name: str
) -> None:
    with pytest.raises(InputError, match=f"{name}.* is refused: .{{20,}}"):
        find_material(typed)
    for one in refused_materials().values():
        assert any(word in one.status for word in STATUSES)
        assert one.source in SOURCES


@pytest.mark.parametrize("typed", ["mjf_pa12", "SLS PA12", "ASA", "tough resin", "vapour smoothed"])
def test_no_record_is_taken_for_a_refused_one(typed: str) -> None:
    assert find_material(typed).id in materials()


def test_a_hole_published_to_come_out_small_keeps_its_two_sides() -> None:
    assert materials()["sls_pa12"].hole_tolerance_mm == (0.1, 0.3)
    assert materials()["mjf_pa12"].hole_tolerance_mm is None


def test_a_smoothed_or_dyed_part_is_no_closer_and_no_finer_than_one_as_printed() -> None:
    printed = materials()["mjf_pa12"]
    for name in ("mjf_pa12_smoothed", "mjf_pa12_dyed"):
        treated = materials()[name]
        assert treated.tolerance_mm > printed.tolerance_mm
        for least in ("min_wall_exposed_mm", "min_wall_mm", "min_gap_mm", "min_text_line_mm"):
            assert getattr(treated, least) >= getattr(printed, least)
        assert treated.finish


def test_the_rule_gives_the_shipped_allowables(material: Material) -> None:
    assert len(material.rounded_down_allowable_mpa) >= 2
    for temperature_c, shipped_mpa in material.rounded_down_allowable_mpa:
        assert down(float(material.allowable_mpa(temperature_c, *FACTORS))) == shipped_mpa


def test_the_rule_gives_the_shipped_short_term_strengths(material: Material) -> None:
    assert len(material.rounded_down_short_term_mpa) >= 2
    for temperature_c, shipped_mpa in material.rounded_down_short_term_mpa:
        assert down(float(material.short_term_mpa(temperature_c))) == shipped_mpa


# Own arithmetic by hand from the record: 40 x 0.9 x 0.75 x 0.33 x 0.5 = 4.455 > 40/10.
def test_pa12_by_hand() -> None:
    pa12 = find_material("mjf_pa12")
    assert pa12.allowable_mpa(40.0, *FACTORS) == pytest.approx(4.0)
    assert pa12.allowable_mpa(50.0, *FACTORS) == pytest.approx(40 * 0.9 * 0.65 * 0.33 * 0.5)
    assert pa12.temperature_factor_at(30.0) == pytest.approx(1 - 0.25 * 7 / 17)
    assert pa12.short_term_mpa(40.0, "xy") == pytest.approx(43 * 0.9 * 0.75)
    assert pa12.wet_short_term_compressive_mpa(40.0) == pa12.short_term_mpa(40.0, "xy")
    assert pa12.modulus_at_mpa(40.0) == pytest.approx(1050.0)


def test_above_the_maximum_there_is_no_number(material: Material) -> None:
    hot = material.max_temperature_c + 0.1
    assert np.isnan(material.allowable_mpa(hot, *FACTORS))
    assert np.isnan(material.short_term_mpa(hot))
    assert np.isfinite(material.allowable_mpa(material.max_temperature_c, *FACTORS))


def test_cold_lends_no_strength(material: Material) -> None:
    assert material.temperature_factor_at(-10.0) == 1.0


def test_arrays_go_through_as_floats_do(material: Material) -> None:
    t = np.array([10.0, 23.0, 35.0, 40.0, 99.0])
    together = material.allowable_mpa(t, *FACTORS)
    assert together.shape == (5,)
    np.testing.assert_array_equal(together, [material.allowable_mpa(x, *FACTORS) for x in t])
    finite = together[np.isfinite(together)]
    assert np.all(np.diff(finite) <= 0)


def test_every_shipped_figure_keeps_status_and_source(material: Material) -> None:
    assert len(material.provenance) == 21 + (material.hole_tolerance_mm is not None)
    for figure in material.provenance.values():
        assert any(word in figure.status for word in STATUSES)
        assert figure.source in SOURCES
    for entry in material.published:
        assert any(word in entry.status for word in STATUSES)
        assert entry.document


def test_shipped_strength_is_never_above_the_published_one(material: Material) -> None:
    for entry in material.published:
        if entry.property == "tensile_strength_xy_mpa":
            assert isinstance(entry.value, float)
            assert material.strength_xy_mpa < entry.value
    assert material.strength_z_mpa <= material.strength_xy_mpa
