"""Driving and freeing: hand calculations of the demo in red oak, MJF PA12, 30 C."""

from dataclasses import replace
from math import atan, ceil, cos, pi, sin

import numpy as np
import pytest

from barbwright.checks import driving
from barbwright.checks.corners import worst_case
from barbwright.checks.result import CAUTION, PASS, judge
from example_job import design_of, job_of, outcomes_of, with_conditions

TAPER = 1.0 / 15.0
A = atan(TAPER / 2.0)
SMALL, LARGE = 6.053125, 6.353125
CONTACT, CRUSH = 7.0, 4.2
HEAT = 1.0 - 0.25 * 7.0 / 17.0
SHORT_XY, SHORT_Z, MODULUS = 43.0 * 0.9 * HEAT, 40.0 * 0.9 * HEAT, 1400.0 * HEAT
# Fat by what still enters the smallest hole with a lead of 5.76 mm, bore and all.
LEAN_BORE, FAT_BORE = 2.3, 2.0 - (6.053125 - 5.76)


def area(hole, length):
    return pi * (hole + TAPER * length / 2.0) * length / cos(A)


def hand(hole):
    """Travel at which 15 N drive no further: the root of 1.3 C90 area (mu cos a + sin a) = 15."""
    low, high = 0.0, 5.0
    for _ in range(80):
        middle = (low + high) / 2.0
        low, high = (middle, high) if drive(hole, middle) < 15.0 else (low, middle)
    return low


def travel(hole):
    """Contact, one tick more where a seat moves, and what the hand has pushed already."""
    return CONTACT + 2.0 + hand(hole)


def drive(hole, length, share=1.3, mu=0.35):
    return share * CRUSH * area(hole, length) * (mu * cos(A) + sin(A))


def ring(bore, outer):
    return pi / 4.0 * (outer**2 - bore**2)


def test_squash():
    squash = outcomes_of()["drive_squash"]
    mouth = SMALL + TAPER * travel(SMALL)
    # Two ticks of 2 x 0.3 mm are taken off the section; the spot that finite elements find is
    # held against 1.0, which is the worse of the two: F/A alone has 1.5.
    section = SHORT_XY * (ring(LEAN_BORE, mouth) - 1.2)
    spot = job_of().rules["drive_spot_hub"]
    assert spot > 1.5
    assert squash.capacity == pytest.approx(section / spot)
    assert squash.design_factor == 1.0
    found = driving.drive_squash(worst_case(design_of()))
    assert found.capacity[0] == pytest.approx(section)
    assert found.design_factor[0] == 1.5
    assert squash.demand == pytest.approx(drive(SMALL, travel(SMALL)))
    assert squash.demand_upper == pytest.approx(drive(SMALL, travel(SMALL), 2.0, 0.60))
    # 7 mm are asked for; only whole ticks of 2 mm can be read.
    assert squash.advice["travel_mm"] == pytest.approx(8.0)


def test_squash_of_an_in_line_tip_looks_at_the_drivers_bearing_too():
    case = worst_case(design_of("tip"))
    found = driving.drive_squash(case)
    assert found.capacity.shape == (12,)
    root = float(case.design.tip.root_mm)
    ring_mm, sleeve = float(case.design.ring.ring_mm), float(case.design.ring.driver_bore_mm)
    assert ring_mm == pytest.approx(root + 4.0, abs=0.1)
    assert sleeve == pytest.approx(5.10 + 2 * 0.3 + 0.5)
    assert found.capacity[8] == pytest.approx(SHORT_XY * ring(sleeve + 0.3, ring_mm - 0.3))
    assert found.design_factor[8] == 1.5
    assert found.demand[8:] == pytest.approx(found.demand[:4])


def test_twisting_out_and_the_largest_safe_torque():
    twist = outcomes_of()["twist_out"]
    mouth = SMALL + TAPER * CONTACT
    polar = pi / 32.0 * (mouth**4 - LEAN_BORE**4)
    breaking = 0.577 * SHORT_Z * polar / (mouth / 2.0)
    length = travel(SMALL)
    mean = SMALL + TAPER * length / 2.0
    assert twist.capacity == pytest.approx(breaking)
    assert twist.demand == pytest.approx(0.25 * 0.5 * CRUSH * area(SMALL, length) * mean / 2.0)
    assert twist.demand_upper == pytest.approx(0.35 * CRUSH * area(SMALL, length) * mean / 2.0)
    assert twist.advice["safe_torque_nm"] == pytest.approx(breaking / 1.5 / 1000.0)
    # A limit is printed rounded down.
    assert f"at most {int(breaking / 15.0) / 100.0:.2f} N m" in twist.rule


def test_freeing_by_the_better_of_what_its_driver_turns_and_its_fork_lifts():
    """What the tools carry by their own checks, never what a hand alone could pull."""
    out = outcomes_of()["pull_out"]
    fork = outcomes_of("fork", ("arms=1",))
    lifts = min(fork[name].capacity for name in ("fork_bearing", "fork_bend")) / 1.5
    wings = outcomes_of("driver", ("arms=1",))["driver_turns"].capacity_expected
    ratios = []
    for hole in (SMALL, LARGE):
        length = travel(hole)
        mouth = hole + TAPER * CONTACT
        safe = 0.577 * SHORT_Z * pi / 16.0 * (mouth**4 - LEAN_BORE**4) / mouth / 1.5
        torque = 0.25 * 0.5 * CRUSH * area(hole, length) * (hole + TAPER * length / 2.0) / 2.0
        pull = 0.5 * CRUSH * area(hole, length) * (0.25 * cos(A) - sin(A))
        ratios.append(max(min(wings, safe) / (1.25 * torque), lifts / pull))
    assert out.safety_factor == pytest.approx(min(ratios))


def test_an_arm_turned_by_its_tube():
    turn = outcomes_of()["side_turn"]
    mean = SMALL + TAPER * CONTACT / 2.0
    holds = 0.2 * 0.5 * 0.54 * CRUSH * area(SMALL, CONTACT) * mean / 2.0
    arm = float(design_of().arm_length_mm)
    assert turn.capacity == pytest.approx(holds)
    assert (turn.demand, turn.demand_upper) == (pytest.approx(5.0 * arm), pytest.approx(10.0 * arm))
    # The side force that breaks an arm bounds the same: one rule says the least of both.
    assert turn.rule == ""
    assert f"no more than {int(holds / arm)} N" in outcomes_of()["side_load"].rule


@pytest.mark.parametrize(("service", "judged_at"), [("10C", 23.0), ("35C", 35.0), ("55C", 40.0)])
def test_driving_is_judged_at_the_worse_of_23_c_and_service_up_to_40_c(service, judged_at):
    strength = design_of("barb", temperature=service).conditions.material.handling_short_xy_mpa
    factor = np.interp(judged_at, [23.0, 40.0], [1.0, 0.75])
    assert float(strength) == pytest.approx(43.0 * 0.9 * factor)


def test_driving_over_holding_is_the_same_for_every_wood():
    """Both are in proportion to C90 and travel; so squash cannot pass outright in hard wood.

    Driving counts one tick more and the hand's own travel, holding a millimetre less.
    """
    ratios = []
    for name in ("oak northern red", "maple sugar", "elm american"):
        outcomes = outcomes_of(wood=name)
        ratios.append(outcomes["drive_squash"].demand_upper / outcomes["wood_hold"].capacity)
    expected = 2.0 * (0.6 + 0.0333) / (0.5 * 0.54 * (0.2 - 0.0333)) * 9.4 / 6.0
    assert ratios == pytest.approx([expected] * 3, rel=0.05)


@pytest.mark.filterwarnings("error")
def test_the_proving_pull_off_the_axis_at_the_mouth_and_at_the_plain_neck():
    """P/A and P e/Z, e 6 mm, in all four corners; three thrusts in whole newtons, rounded up."""
    design = design_of()
    case = worst_case(design)
    found = driving.pull_check(case)
    widest = LARGE + TAPER * CONTACT
    pull = ceil(3.0 * 45 * 0.006894757293168 * pi / 4.0 * widest**2)
    stresses = []
    for outers in (case.tip.mouth_mm, case.tip.root_mm):
        for outer, bore in zip(outers, case.tip.bore_mm, strict=True):
            modulus = pi / 32.0 * (outer**4 - bore**4) / outer
            stresses.append(pull / ring(bore, outer) + pull * 6.0 / modulus)
    assert found.demand == pytest.approx(stresses)
    assert found.capacity == pytest.approx(np.full(8, SHORT_Z))
    assert found.design_factor == pytest.approx(np.full(8, 2.0))
    assert found.advice["pull_n"] == pytest.approx(np.full(8, pull))
    assert found.advice["pull_offset_mm"] == pytest.approx(np.full(8, 6.0))
    # A bore as wide as the neck leaves nothing to pull with.
    bored = replace(case, tip=replace(case.tip, bore_mm=case.tip.root_mm))
    assert np.all(np.isinf(driving.pull_check(bored).demand[4:]))


def test_the_safe_torque_is_told_to_fingers_only_where_wings_turn_it():
    """Breaking over 1.5 in N m, at each corner; an in-line tip has nothing to turn it by."""
    for kind, turned in (("elbow", 1.0), ("tip", 0.0)):
        found = driving.twist_out(worst_case(design_of(kind)))
        safe = found.capacity / 1.5 / 1000.0
        assert found.advice["safe_torque_nm"] == pytest.approx(safe)
        assert found.advice["by_wings_nm"] == pytest.approx(turned * safe)
        assert np.all(safe > 0.5)


@pytest.mark.filterwarnings("error")
def test_where_a_fork_lifts_nothing_the_wings_alone_free_a_tip(monkeypatch):
    """The less of what wings pass on and two thirds of what breaks the tip, over 1.25 times what
    frees it; the other way round it is the fork alone that frees an in-line tip."""
    case = worst_case(design_of())
    driver = driving.tools_of(design_of())[0]
    passes = float(np.ravel(driving.wings_pass(driver, case.conditions).expected_nmm)[0])
    monkeypatch.setattr(driving, "fork_lifts", lambda tines, host: np.zeros(1))
    found = driving.pull_out(case)
    safe = min(0.577 * SHORT_Z * pi / 16.0 * (m**4 - b**4) / m for m, b in
               zip(case.tip.mouth_mm, case.tip.bore_mm, strict=True)) / 1.5  # fmt: skip
    for at, hole in enumerate(case.hole_mm):
        length = travel(hole)
        frees = 0.25 * 0.5 * CRUSH * area(hole, length) * (hole + TAPER * length / 2.0) / 2.0
        ratio = min(passes, safe) / (1.25 * frees)
        assert found.capacity[at] == pytest.approx(ratio, rel=1e-3)
        feared = 0.35 / (0.25 * 0.5)
        assert found.demand_upper[at] == pytest.approx(feared)
    assert np.all(found.demand == 1.0)
    # Where no tool carries anything that is known, and its rule for the hands is told.
    nothing = driving.pull_out(worst_case(design_of("tip")))
    assert np.all(nothing.capacity == 0.0)
    assert judge(nothing).verdict == CAUTION


@pytest.mark.filterwarnings("error")
def test_a_taper_that_backs_out_by_itself_asks_no_tool_for_a_pull():
    """Friction under the slope: it may push itself out, which `self_holding` says, and is free."""
    host = design_of("tip")
    slippery = {f"removal_friction_{name}": 0.01 for name in ("expected", "upper")}
    case = worst_case(with_conditions(host, rules={**host.conditions.rules, **slippery}))
    assert np.all(driving.freeing_forces(case, "upper")[1] == 0.0)
    found = judge(driving.pull_out(case))
    assert (found.verdict, found.capacity, found.demand_upper) == (PASS, np.inf, 1.0)


@pytest.mark.parametrize(("more", "verdict"), [(1.01, PASS), (0.99, CAUTION)])
def test_a_tip_that_is_free_as_expected_is_judged_by_the_most_that_may_hold_it(
    monkeypatch, more, verdict
):
    """Endless as expected, it passed whatever the worst case asked of the fork."""
    host = design_of("tip")
    feared = {"removal_friction_expected": 0.01, "removal_friction_upper": 0.35}
    case = worst_case(with_conditions(host, rules={**host.conditions.rules, **feared}))
    assert np.all(driving.freeing_forces(case, "expected")[1] == 0.0)
    asked = np.max(driving.freeing_forces(case, "upper")[1])
    lifts = more * host.conditions.rules["design_factor_pull_out"] * asked
    monkeypatch.setattr(driving, "fork_lifts", lambda tines, host: np.full(1, lifts))
    assert judge(driving.pull_out(case)).verdict == verdict


def test_a_ring_that_may_print_away_and_a_bore_as_wide_as_its_mouth_carry_nothing():
    case = worst_case(design_of("tip"))
    gone = replace(case, ring_mm=case.driver_bore_mm - 1.0)
    assert driving.drive_squash(gone).capacity[8:] == pytest.approx(np.zeros(4), abs=0.0)
    mouth = case.hole_mm + TAPER * case.tip.travel_mm
    bored = replace(case, tip=replace(case.tip, bore_mm=mouth))
    assert driving.drive_squash(bored).capacity[:8] == pytest.approx(np.zeros(8), abs=0.0)
    assert np.all(driving.torque_capacity(bored) == 0.0)


def test_the_stop_is_a_whole_tick_that_the_window_still_shows():
    """7 mm are four ticks of 2 mm, where the window shows them; else the length itself."""
    case = worst_case(design_of())
    tip = case.design.tip
    for high, contact, stop in ((8.0, 7.0, 8.0), (7.9, 7.0, 7.0), (8.0, 8.0, 8.0), (9.0, 6.1, 8.0)):
        at = replace(tip, window_high_mm=high, contact_mm=contact)
        found = driving.drive_squash(replace(case, design=replace(case.design, tip=at)))
        assert found.advice["travel_mm"] == pytest.approx(np.full(8, stop))
