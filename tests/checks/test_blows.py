"""The blow on a tip: every number by hand at one corner, the hammers, what may never help."""

from dataclasses import replace
from math import cos as cosine
from math import cosh, hypot, pi, sin, sqrt

import numpy as np
import pytest

from barbwright.checks import blows, driving
from barbwright.checks.corners import parts_between, worst_case
from barbwright.checks.result import CHECKS
from barbwright.checks.table import judge_all, outcomes
from barbwright.design.kinds.driver import fit_driver, reach_beyond, solid_volume
from example_job import design_of, outcomes_of, with_conditions, with_material

NAMES = ("expected", "upper")
# A wood in which everything stands, and one in which nothing does.
SOFT, IRON = 1.0, 20.0


def in_wood(design, crush_mpa):
    wood = replace(design.conditions.wood, crush_mpa=crush_mpa, splitting_mpa=crush_mpa)
    return with_conditions(design, wood=wood)


def judged(design):
    return {one.info.id: one for one in outcomes(judge_all(design))}


def ring(bore, outer):
    return pi / 4.0 * (outer**2 - bore**2)


def test_the_column_is_the_free_tip_with_the_hub_s_mass_at_its_end():
    design = design_of("elbow")
    case = worst_case(design)
    whole = np.asarray(case.tip.travel_mm * np.ones(4))
    column = blows.column_at(case, whole[None], through_driver=False)
    tip, hub, barb = design.tip, design.hub, design.barbs[0]
    bore, hole, travel = case.tip.bore_mm[0], case.hole_mm[0], whole[0]
    mouth = hole + tip.taper * travel
    # From sound wood to the struck face: what of the seat is not in it, and what stands above.
    start = (hole - case.tip.lead_mm[0]) / tip.taper
    length = tip.seat_mm - start - travel + design.seat_root_mm + hub.pad_height_mm
    assert column.length_mm[0, 0] == pytest.approx(length)
    inertia = pi / 64.0 * (mouth**4 - bore**4)
    modulus = design.conditions.material.handling_modulus_mpa
    assert column.buckling_n[0, 0] == pytest.approx(pi**2 * modulus * inertia / (2 * length) ** 2)
    assert column.section_mm3[0, 0] == pytest.approx(inertia / (mouth / 2.0))
    ball, relief, arms = case.ball_mm[0], case.relief_mm[0], case.bore_mm[0]
    root, neck = case.barbs[0].root_mm[0], case.barbs[0].neck_mm[0]
    volume = (
        pi / 6.0 * (ball**3 - relief**3)
        - 2.0 * ring(0.0, arms) * (ball - relief) / 2.0
        + ring(0.0, hub.pad_mm) * hub.pad_thickness_mm
        + ring(arms, root) * barb.insertion_mm
        + ring(arms, neck) * design.neck_length_mm
    )
    density = design.conditions.material.density_g_cm3
    grams = density * (volume + 0.24 * ring(bore, mouth) * length) / 1000.0
    stiffness = 3.0 * modulus * inertia / length**3
    assert column.frequency[0, 0] == pytest.approx(sqrt(1000.0 * stiffness / (grams / 1000.0)))


def test_the_stress_of_a_blow_by_hand():
    """Both ways of the formula: over the buckling load it grows, under it it swings."""
    case = worst_case(design_of("elbow"))
    column = blows.column_at(case, blows.travels(case, 10.0), through_driver=False)
    stress = blows.both_sides(
        column,
        300.0 * np.ones_like(column.area_mm2),
        blows.moment_at(case, column, 300.0 * np.ones_like(column.area_mm2), 0.1, 0.5),
    )
    ratios = 300.0 / column.buckling_n
    assert np.any(ratios > 1.0)
    assert np.any(ratios < 1.0)
    for at in np.ndindex(ratios.shape):
        r, omega = float(ratios[at]), float(column.frequency[at])
        t, root = 0.1 * 1.5 / 300.0, sqrt(abs(ratios[at] - 1.0))
        if r > 1.0:
            x = 0.5 * r / (r - 1.0) * (cosh(omega * root * t) - 1.0)
            rate = 0.5 * r / root * np.sinh(omega * root * t)
        else:
            angle = min(omega * root * t, pi)
            x = 0.5 * r / (1.0 - r) * (1.0 - cosine(angle))
            rate = 0.5 * r / root * sin(angle)
        after = float(column.stiffness_n_mm[at] * column.length_mm[at]) * max(x, hypot(x, rate))
        moment = 1.35 * max(300.0 * (0.5 + x), after)
        pressing = 300.0 / float(column.area_mm2[at])
        bending = moment / float(column.section_mm3[at])
        assert stress[(0, *at)] == pytest.approx(bending + pressing)
        assert stress[(1, *at)] == pytest.approx(max(bending - pressing, 0.0))


@pytest.mark.parametrize("kind", ["tip", "elbow", "tee"])
def test_a_driver_adds_its_length_and_its_mass(kind):
    design = design_of(kind)
    case = worst_case(design)
    travel = blows.travels(case, case.tip.travel_mm)
    bare, driven = (blows.column_at(case, travel, through_driver=way) for way in (False, True))
    own = fit_driver(design, {})
    assert driven.length_mm - bare.length_mm == pytest.approx(reach_beyond(own) + 0 * travel)
    heavier = (
        1000.0 * driven.stiffness_n_mm / driven.frequency**2
        - 1000.0 * bare.stiffness_n_mm / bare.frequency**2
    )
    dense = design.conditions.material.density_g_cm3 * 1e-6
    column = 0.24 * dense * bare.area_mm2 * reach_beyond(own)
    assert heavier == pytest.approx(dense * solid_volume(own) + column)
    # The mass alone tells: the longer column folds earlier and moves later.
    assert np.all(driven.buckling_n < bare.buckling_n)
    assert np.all(driven.frequency < bare.frequency)


def test_hammers_are_offered_up_to_the_first_that_is_too_heavy():
    case = worst_case(design_of("elbow"))
    assert blows.hammers_g(case) == [50.0, 100.0, 150.0, 200.0]
    travel = blows.travels(case, case.tip.travel_mm)
    column = blows.column_at(case, travel, through_driver=False)
    crooked, factor = 0.5, 1.25
    found = []
    for crush in np.linspace(0.5, 12.0, 47):
        wood = worst_case(in_wood(design_of("elbow"), crush))
        force, _ = driving.drive_forces(wood, travel, wood.hole_mm + 0.0 * travel)
        heaviest = blows.heaviest_g(wood, column, force, crooked, factor)
        lightest = blows.lightest_moment(wood, column, force, crooked)
        stands = []
        for mass in blows.hammers_g(wood):
            moment = blows.moment_at(wood, column, force, mass / 1000.0, crooked)
            stress = blows.both_sides(column, force, moment)
            stands.append(
                bool(np.all(factor * stress <= blows.strengths(wood, stress[:, 0])[:, None]))
            )
        assert lightest == pytest.approx(blows.moment_at(wood, column, force, 0.05, crooked))
        offered = stands.index(False) if False in stands else len(stands)
        assert float(heaviest) == 50.0 * offered
        found.append(offered)
    # The softest wood allows every hammer, the hardest none, and there are steps between.
    assert found[0] == 4
    assert found[-1] == 0
    assert len(set(found)) >= 3
    assert found == sorted(found, reverse=True)


def test_the_verdict_leans_on_the_lightest_blow_and_passes_on_the_heaviest():
    soft, iron = (judged(in_wood(design_of("elbow"), crush)) for crush in (SOFT / 4.0, IRON))
    assert soft["drive_buckle"].verdict == "pass"
    assert soft["drive_buckle"].rule == ""
    assert soft["drive_buckle"].advice["hammer_g"] == 200.0
    assert iron["drive_buckle"].verdict == "fail"
    assert iron["drive_buckle"].advice["driver_hammer_g"] == 0.0
    # Between them stands every wood in which a hammer is named.
    named = judged(in_wood(design_of("elbow"), SOFT))["drive_buckle"]
    assert named.verdict == "caution"
    assert f"at most {named.advice['hammer_g']:.0f} g" in named.rule
    assert "through its driver" in named.rule


def test_where_no_bare_tip_stands_the_rule_asks_for_the_driver():
    for crush in np.linspace(2.0, 8.0, 25):
        one = judged(in_wood(design_of("elbow"), crush))["drive_buckle"]
        if one.advice["hammer_g"] == 0.0 and one.verdict == "caution":
            break
    else:
        pytest.fail("no wood in which only the driver helps")
    assert one.rule.startswith("never tap on the bare tip: use its driver")
    assert f"at most {one.advice['driver_hammer_g']:.0f} g" in one.rule
    assert CHECKS["drive_buckle"].rule_for(one.advice)[1] == "driver_hammer_g"


def test_a_blow_should_move_the_tip_by_its_energy_over_the_force():
    design = design_of("elbow")
    one = judged(in_wood(design, SOFT))["drive_buckle"]
    case = worst_case(in_wood(design, SOFT))
    force, _ = driving.drive_forces(case, case.tip.travel_mm, case.hole_mm)
    joule = one.advice["hammer_g"] / 1000.0 * 1.5**2 / 2.0
    assert one.advice["blow_mm"] == pytest.approx(1000.0 * joule / float(np.max(force)))
    assert f"{int(100.0 * one.advice['blow_mm']) / 100.0:.2f} mm a blow" in one.rule
    assert f"about {int(100.0 * one.advice['driver_blow_mm']) / 100.0:.2f} mm a blow" in one.rule


def test_nothing_says_that_a_driver_stands_on_the_bark():
    one = CHECKS["drive_buckle"]
    assert "bark," not in one.rule + one.rule_else
    assert "0.7" not in one.equation


@pytest.mark.parametrize("kind", ["tip", "elbow"])
def test_harder_wood_a_weaker_part_and_thicker_bark_never_read_better(kind):
    base = design_of(kind)
    by_wood = [judge_all(in_wood(base, crush))["drive_buckle"] for crush in np.linspace(0.5, 9, 35)]
    weaker = [
        judge_all(
            with_material(
                base,
                handling_short_xy_mpa=base.conditions.material.handling_short_xy_mpa * share,
                handling_short_z_mpa=base.conditions.material.handling_short_z_mpa * share,
            )
        )["drive_buckle"]
        for share in np.linspace(1.0, 0.3, 15)
    ]
    for rows in (by_wood, weaker):
        verdicts = [int(one.verdict) for one in rows]
        assert verdicts == sorted(verdicts)
        margins = [float(one.safety_factor) for one in rows]
        assert np.all(np.diff(margins) <= 1e-9)


def test_parts_between_stand_in_the_order_of_their_corners():
    case = worst_case(design_of("elbow"))
    parts = parts_between(case, 4)
    assert parts.hole_mm.shape == (16,)
    groups = parts.hole_mm.reshape(4, 4), parts.tip.bore_mm.reshape(4, 4)
    for index, (holes, bores) in enumerate(zip(*groups, strict=True)):
        # The corner itself is among them, and none is beyond it.
        assert np.any(
            np.isclose(holes, case.hole_mm[index]) & np.isclose(bores, case.tip.bore_mm[index])
        )
        assert np.all(abs(holes - case.hole_mm[index]) <= 0.5 * np.ptp(case.hole_mm))
    assert parts_between(parts, 4) is parts


def test_a_blow_off_the_axis_adds_its_own_bending():
    design = design_of("elbow")
    case = worst_case(design)
    found = driving.drive_offset(case)
    assert found.capacity.shape == (4,)
    assert found.advice["upper_offset_mm"] == pytest.approx(np.full(4, 2.0))
    # Never less than F o pi2/8 alone would give, in tension, with the bare pad's own offset.
    travel = blows.travels(case, case.tip.travel_mm)
    force, _ = driving.drive_forces(case, travel, case.hole_mm + 0.0 * travel)
    column = blows.column_at(case, travel, through_driver=False)
    for offset, demand in ((0.15 * design.hub.pad_mm, found.demand), (2.0, found.demand_upper)):
        least = force * offset * pi**2 / 8.0 / column.section_mm3 - force / column.area_mm2
        assert np.all(demand >= np.max(least, axis=0) - 1e-9)
    # A ring is struck through the driver, whose crown keeps the blow near the axis.
    tip = worst_case(design_of("tip"))
    blunt = driving.drive_offset(replace(tip, rules={**tip.rules, "blow_offset_expected_mm": 0.0}))
    assert np.all(blunt.demand < driving.drive_offset(tip).demand)


def test_one_limit_for_one_force_the_least_of_them():
    found = outcomes_of("elbow")
    load, turn = found["side_load"], found["side_turn"]
    assert (load.verdict, turn.verdict) == ("caution", "caution")
    assert turn.rule == ""
    least = min(load.advice["breaking_n"] / 1.25, turn.advice["turn_n"])
    assert load.advice["side_force_n"] == pytest.approx(least)
    assert f"no more than {int(least)} N" in load.rule
    assert f"breaks near {int(load.advice['breaking_n'])} N" in load.rule


def test_an_in_line_tip_carries_its_ring_and_one_barb_and_less_than_nothing_never():
    """By Guldin: what a flat rectangle sweeps out, its area times the path of its middle."""
    case = worst_case(design_of("tip"))
    design, barb = case.design, case.barbs[0]

    def swept(bore, outer, length):
        return (outer - bore) / 2.0 * length * pi * (outer + bore) / 2.0

    for at, found in enumerate(blows.head_volume(case)):
        bore = float(case.bore_mm[at])
        ring_mm3 = swept(bore, float(case.ring_mm[at]), float(design.ring.thickness_mm))
        barb_mm3 = swept(bore, float(barb.root_mm[at]), float(barb.drawn.insertion_mm))
        assert found == pytest.approx(ring_mm3 + barb_mm3)
    for kind in ("tip", "elbow"):
        solid = worst_case(design_of(kind))
        empty = replace(solid, bore_mm=solid.bore_mm + 50.0)
        assert np.all(blows.head_volume(empty) == 0.0)
