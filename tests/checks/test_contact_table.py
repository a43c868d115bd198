"""The contact table at the corners: never better by worse, refused outside, near `prove`."""

from dataclasses import replace

import numpy as np
import pytest

from barbwright import catalog
from barbwright.api import check_part, read_job
from barbwright.checks.contact import least_land, pull_off_n, reading, unknown_contact, wall_at
from barbwright.checks.corners import Offsets, case_at, worst_case
from barbwright.checks.result import FAIL
from barbwright.checks.sealing import BY_CLAMP
from barbwright.checks.table import OUTSIDE, judge_all
from barbwright.design.part import KINDS, design_part
from barbwright.errors import InputError, NoSizeError
from barbwright.job import numbers
from example_job import (
    DRIP,
    NYLON_68,
    PU_95,
    SOFT_PVC,
    design_of,
    job_of,
    outcomes_of,
    with_material,
    with_tube,
)

VINYL = {"tube": "clear PVC 0.250 x 0.375 in", "tube_id": None, "tube_od": None,
         "tube_material": None}  # fmt: skip
TUBES = [{}, DRIP, PU_95, NYLON_68, SOFT_PVC, VINYL]
WALLS = ["low", "mean", "high"]
READINGS = (("normal", 0.2), ("land", 0.2), ("push", 0.5), ("push", 1.0))


def case_of(design, side, tube):
    """Parts off by shares of their tolerance, the tube's bore as well."""
    side, tube = np.broadcast_arrays(np.asarray(side, dtype=float), np.asarray(tube, dtype=float))
    offsets = Offsets(outside=side, bore=-side, tube_wide=tube, tube_narrow=tube, hole=0.0 * side)
    return case_at(design, offsets)


def rising(case, wall):
    """What must rise with the stretch: all forces, and a rubber's land."""
    barb = case.barbs[0]
    wall = wall_at(barb.tube, wall)
    for name, friction in READINGS:
        if name != "land" or np.isnan(wall.yield_mpa):
            yield reading(name, barb, wall, friction, narrowest=name == "push").value


@pytest.mark.parametrize("given", TUBES)
@pytest.mark.parametrize("wall", WALLS)
def test_a_wider_crest_never_presses_or_pushes_less(given, wall):
    """By construction: the fit of the table is bound so, at its nodes.

    Between them 2.3e-4 of a force was seen at the step of 0.75 mm that the grid of sizes gives.
    """
    case = case_of(design_of("barb", **given), np.linspace(-1.0, 1.0, 25), 1.0)
    for found in rising(case, wall):
        assert np.all(np.isfinite(found))
        assert np.all(np.diff(found) >= -3e-4 * found[:-1])


@pytest.mark.parametrize("given", TUBES)
@pytest.mark.parametrize("wall", WALLS)
def test_a_wider_tube_never_holds_or_resists_more(given, wall):
    case = case_of(design_of("barb", **given), 0.0, np.linspace(-1.0, 1.0, 25))
    for found in rising(case, wall):
        assert np.all(np.diff(found) <= 1e-4 * found[:-1])


@pytest.mark.parametrize("given", [{}, DRIP, NYLON_68])
@pytest.mark.parametrize("wall", WALLS)
def test_a_yielding_tubes_land_is_its_least_between_lean_and_fat(given, wall):
    """A wall that has yielded through presses less on a land until it hardens."""
    design = design_of("barb", **given)
    case = case_of(design, *(at.ravel() for at in np.mgrid[-1.0:1.0:61j, -1.0:1.0:5j]))
    barb = case.barbs[0]
    every = least_land(case, barb, wall_at(barb.tube, wall), 0.2).value
    corners = worst_case(design)
    least = least_land(corners, corners.barbs[0], wall_at(barb.tube, wall), 0.2).value
    assert np.ptp(least) == 0.0
    assert every.min() * (1.0 - 1e-9) <= least[0] <= every.min() * 1.01


def test_a_yielding_tubes_land_falls_before_it_rises():
    """Else nothing need be looked for between lean and fat."""
    case = case_of(design_of("barb"), np.linspace(-1.0, 1.0, 41), 1.0)
    barb = case.barbs[0]
    found = reading("land", barb, wall_at(barb.tube, "low"), 0.2).value
    assert 3 < int(np.argmin(found)) < 40
    assert found.min() < 0.97 * found[0]


def test_forces_are_in_proportion_to_the_tubes_stiffness():
    barb = worst_case(design_of("barb")).barbs[0]
    for name in ("normal", "land"):
        whole = reading(name, barb, wall_at(barb.tube, "low"), 0.2).value
        half = reading(name, barb, wall_at(barb.tube, "low", 0.5), 0.2).value
        assert half == pytest.approx(0.5 * whole)


def test_water_and_expansion_leave_less_to_pull_off_than_friction_alone():
    case = worst_case(design_of("barb", **VINYL))
    barb = case.barbs[0]
    wall = wall_at(barb.tube, "low")
    alone = 0.2 * reading("normal", barb, wall, 0.2).lower
    dry, wet = (pull_off_n(case, barb, wall, 0.2, pressure) for pressure in (0.0, 0.31))
    assert np.all(dry < alone)
    assert np.all(wet < dry)


@pytest.mark.parametrize("friction", [0.05, 0.9])
def test_another_friction_than_was_computed_is_refused(friction):
    barb = worst_case(design_of("barb")).barbs[0]
    assert np.all(np.isnan(reading("normal", barb, wall_at(barb.tube, "low"), friction).value))


@pytest.mark.parametrize("numbers", [{"outer_mm": 4.9}, {"outer_mm": 12.0}, {"yield_low_mpa": 0.5}])
def test_a_tube_far_from_those_computed_is_refused(numbers):
    design = with_tube(design_of("barb"), **numbers)
    judged = judge_all(design)
    assert judged["barb_seal"].verdict == judged["barb_grip"].verdict == 3


def test_a_tolerance_that_makes_the_crest_too_wide_for_the_table_is_refused():
    judged = judge_all(with_material(design_of("barb"), tolerance_mm=0.9))
    assert judged["push_on"].verdict == 3


def test_the_demos_barb_is_one_the_table_knows():
    case = worst_case(design_of("barb"))
    assert unknown_contact(case, case.barbs[0]) == ""


@pytest.mark.slow
@pytest.mark.parametrize("given", [{}, PU_95, NYLON_68, VINYL])
def test_the_table_and_the_elements_say_the_same_of_a_drawn_barb(given):
    """Not a validation: the table is of the same elements. Pushing on within 15 %."""
    from barbwright.prove.contact.part import contact_of

    design = design_of("barb", **given)
    try:
        found = contact_of(design)[0]
    except InputError as error:
        pytest.fail(str(error))
    demand = float(judge_all(design)["push_on"].demand)
    assert found.push.peak_n == pytest.approx(demand, rel=0.15)
    barb = worst_case(design).barbs[0]
    wall = wall_at(barb.tube, "low", barb.tube.temperature_factor)
    assert found.hold.released.normal_n == pytest.approx(
        float(reading("normal", barb, wall, 0.2).value[0]), rel=0.15
    )


@pytest.mark.parametrize("tube", sorted(catalog.tubes()))
def test_a_wider_tolerance_never_hides_a_fail_as_not_checked(tube):
    """Its fat part leaves the table first; the lean one, which is known, still fails."""
    name = catalog.tubes()[tube].name
    given = {"tube": name, "tube_id": None, "tube_od": None, "tube_material": None}
    job = job_of(**given, bit="1/4", pressure="60psi")
    failing = set()
    for tolerance_mm in np.linspace(0.1, 0.5, 9):
        material = replace(job.material, tolerance_mm=float(tolerance_mm), tolerance_pct=0.0)
        conditions = numbers.conditions(replace(job, material=material))
        # One drawing throughout: a wider tolerance alone makes nothing better.
        design = replace(design_part(KINDS["barb"], numbers.conditions(job), {}),
                         conditions=conditions)  # fmt: skip
        judged = judge_all(design)
        fails = {one for one in ("barb_seal", "barb_grip", "root_crush")
                 if int(np.ravel(judged[one].verdict)[0]) == FAIL}  # fmt: skip
        assert failing <= fails, (tolerance_mm, failing - fails)
        failing = fails


def test_sizes_past_the_table_are_not_checked_where_what_is_known_of_them_passes():
    job = job_of(bit="1/4", pressure="5psi")
    material = replace(job.material, tolerance_mm=1.2, tolerance_pct=0.0)
    design = design_part(KINDS["barb"], numbers.conditions(job), {})
    wide = replace(design, conditions=numbers.conditions(replace(job, material=material)))
    case = worst_case(wide)
    barb = case.barbs[0]
    land = least_land(case, barb, wall_at(barb.tube, "low"), 0.2).value
    assert np.isnan(land[-1])
    assert np.all(np.isfinite(land[:-1]))


# Its walls are as thick as its bore: the table ends at an outside of twice the bore.
TOO_THICK = "clear PVC 0.187 x 0.375 in"


@pytest.mark.parametrize("tube", sorted(catalog.tubes()))
def test_every_shipped_tube_lies_in_the_table_in_the_usual_powder_or_says_that_it_does_not(tube):
    row = catalog.tubes()[tube]
    for material in ("mjf_pa12", "sls_pa12", "fff_petg"):
        job = read_job("barb", tube=row.name, material=material, pressure="30psi")
        try:
            found = {one.info.id: one for one in check_part("barb", job).results}
        except NoSizeError:
            continue  # a wide tolerance on a small bore
        if "barb_seal" not in found:
            continue  # the material is refused before any size
        for name in ("barb_seal", "barb_grip"):
            if found[name].verdict == "not_checked":
                assert found[name].because == OUTSIDE or row.od_mm is None
                assert material != "mjf_pa12" or row.od_mm is None or row.name == TOO_THICK


def clamped(pressure="30psi", **more):
    job = read_job("barb", tube=TOO_THICK, pressure=pressure, **more)
    return {one.info.id: one for one in check_part("barb", job).results}


def test_outside_the_table_a_clamp_that_is_enough_by_itself_is_a_lower_bound_and_says_so():
    bare, held = clamped(), clamped(clamp=True)
    for name in ("barb_seal", "barb_grip"):
        # Bare, a corner that the table does know fails; none passes.
        assert bare[name].verdict in {"fail", "not_checked"}
        assert held[name].verdict == "pass"
        assert held[name].because == BY_CLAMP
    rules = catalog.judgements()
    assert held["barb_seal"].capacity == rules["clamp_pressure_mpa"].value
    # Nobody takes a clamp for what squeezes the root least, or pushes the tube on.
    assert held["root_crush"].verdict == held["push_on"].verdict == "not_checked"


def test_a_clamp_that_is_not_enough_by_itself_says_nothing_of_a_tube_outside_the_table():
    held = clamped("65psi", clamp=True, settings={"clamp_pressure_mpa": "0.3MPa"})
    assert held["barb_seal"].verdict in {"fail", "not_checked"}
    assert held["barb_seal"].because in {"", OUTSIDE}


def test_a_clamp_inside_the_table_is_judged_with_the_contact():
    outcomes = outcomes_of("barb", **VINYL, clamp=True, pressure="30psi")
    assert not outcomes["barb_seal"].because
    alone = catalog.judgements()["clamp_pressure_mpa"].value
    assert outcomes["barb_seal"].capacity > alone


def test_two_barbs_with_a_clamp_are_judged_on_it():
    """The table knows three barbs; fewer press too, and the clamp is there all the same."""
    more = {**VINYL, "pressure": "30psi"}
    bare = outcomes_of("barb", ("barb_count=2",), **more)
    held = outcomes_of("barb", ("barb_count=2",), **more, clamp=True)
    assert bare["barb_seal"].verdict == "not_checked"
    assert held["barb_seal"].verdict == "pass"
    assert held["barb_seal"].because == BY_CLAMP
