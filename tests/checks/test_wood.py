"""Tip in wood: hand calculations of the demo in northern red oak (C90 4.2, q_split 5.51 MPa)."""

from dataclasses import replace
from math import atan, cos, pi, sin

import numpy as np
import pytest

from barbwright.checks import wood
from barbwright.checks.corners import worst_case
from barbwright.checks.table import judge_all
from example_job import PSI, design_of, outcomes_of, with_conditions

TAPER = 1.0 / 15.0
A = atan(TAPER / 2.0)
SMALL, LARGE = 5.953125 + 0.1, 5.953125 + 0.4
CONTACT = 7.0


def area(hole, length):
    return pi * (hole + TAPER * length / 2.0) * length / cos(A)


def test_seal():
    seal = outcomes_of()["wood_seal"]
    assert seal.capacity == pytest.approx(0.5 * 0.54 * 4.2)
    assert seal.capacity_expected == pytest.approx(0.5 * 4.2)
    assert seal.demand == pytest.approx(45.0 * PSI)


def test_hold():
    hold = outcomes_of()["wood_hold"]
    per_area = 0.5 * 0.54 * 4.2 * (0.2 * cos(A) - sin(A))
    assert hold.capacity == pytest.approx(per_area * area(LARGE, CONTACT - 1.0))
    assert hold.capacity_expected == pytest.approx(hold.capacity / 0.54)
    assert hold.demand == pytest.approx(45.0 * PSI * pi / 4.0 * (LARGE + TAPER * CONTACT) ** 2)
    assert hold.design_factor == 3.0
    assert hold.corner.endswith("largest hole")


def test_contact_is_capped_where_a_check_starts():
    """Balsam fir: q_split 1.2/1.14 MPa lies under its C90 of 1.3 MPa."""
    seal = outcomes_of(wood="fir balsam", pressure="20psi")["wood_seal"]
    assert seal.capacity == pytest.approx(0.5 * 0.54 * 1.2 / 1.14, rel=1e-6)
    assert seal.capacity < 0.5 * 0.54 * 1.3


def test_hold_passes_outright_by_the_weakest_or_on_a_pull_by_the_expected_wood():
    """Outright from three thrusts at the lower hold; on the pull from two at the expected one."""
    one = outcomes_of()["wood_hold"]
    assert one.verdict == "pass"
    assert one.proved
    assert one.capacity < 3.0 * one.demand_upper
    assert one.capacity_expected >= 2.0 * one.demand
    outright = outcomes_of(pressure="20psi")["wood_hold"]
    assert (outright.verdict, outright.proved) == ("pass", False)
    assert outright.capacity >= 3.0 * outright.demand_upper
    # Not even two thrusts at the expected hold.
    assert outcomes_of(wood="fir balsam")["wood_hold"].verdict == "fail"


def test_a_proved_hold_needs_one_tick_more_of_window():
    """A seat that moves is tapped one tick deeper: the wood must allow it."""
    design = design_of()
    tip = design.tip
    assert tip.contact_mm + 2.0 <= tip.window_high_mm
    narrow = replace(design, tip=replace(tip, window_high_mm=tip.contact_mm + 1.9))
    assert judge_all(design)["wood_hold"].proved
    assert judge_all(narrow)["wood_hold"].verdict == 2


def test_the_proving_pull_is_three_thrusts_at_the_widest_seat_rounded_up():
    """45 psi: 3 x 0.3103 x pi/4 (6.353 + 8/15)2 = 34.66 N; relief 55 psi: 42.4, so 43 N."""
    widest = LARGE + (CONTACT + 1.0) / 15.0
    for more, psi in (({}, 45.0), ({"relief": "55psi"}, 55.0)):
        one = outcomes_of(**more)["wood_hold"]
        thrust = psi * PSI * pi / 4.0 * widest**2
        assert one.proof_force_n == np.ceil(3.0 * thrust)
        assert f"{one.proof_force_n:.0f} N" in one.observation
        assert "never by an arm" in one.observation
        assert "one tick deeper" in one.otherwise


def test_seats_are_looked_at_at_a_third_and_at_all_of_the_pressure():
    one = outcomes_of(wood="yellow-poplar", pressure="54psi")["wood_seal"]
    assert one.proved
    assert "18 psi" in one.observation
    assert "54 psi" in one.observation
    assert one.proof_pressure_mpa == pytest.approx(54.0 * PSI)
    # Not even the expected contact: no look cures that.
    assert outcomes_of(wood="fir balsam", pressure="60psi")["wood_seal"].verdict == "fail"


def test_split_cannot_fail_and_is_proved_by_the_tapping():
    oak = outcomes_of()["wood_split"]
    assert (oak.demand, oak.demand_upper) == (pytest.approx(4.2), pytest.approx(1.3 * 4.2))
    assert oak.capacity == pytest.approx(5.51, abs=0.005)
    design = design_of()
    weak = with_conditions(
        design, wood=type(design.conditions.wood)(crush_mpa=4.2, splitting_mpa=1.0, known=True)
    )
    judged = judge_all(weak)["wood_split"]
    assert (judged.verdict, bool(judged.proved)) == (0, True)
    assert not outcomes_of()["wood_split"].proved


def test_interference_and_self_holding():
    outcomes = outcomes_of()
    # Contact, one tick more, and the hand's 15 N: 1.3 C90 area (0.35 cos a + sin a).
    area_n = 15.0 / (1.3 * 4.2 * (0.35 * cos(A) + sin(A)))
    hand = next(x for x in np.linspace(0.0, 2.0, 200001) if area(SMALL, x) >= area_n)
    assert outcomes["interference"].demand == pytest.approx(TAPER * (CONTACT + 2.0 + hand) / SMALL)
    assert outcomes["interference"].capacity == 0.12
    assert outcomes["self_holding"].safety_factor == pytest.approx(0.2 * 2.0 / TAPER)
    steep = outcomes_of(settings=("taper=0.14",))["self_holding"]
    assert steep.safety_factor == pytest.approx(0.2 / 0.07)
    assert steep.verdict == "fail"
    assert "taper" in steep.info.remedy


def test_squeeze_on_the_tip_driving_and_staying():
    case = worst_case(design_of())
    found = wood.tip_crush(case)
    bore, hole = 2.3, SMALL  # the lean part in the smallest hole
    hoop = 2.0 * hole**2 / (hole**2 - bore**2)
    # MJF PA12 at 30 C: 43 x 0.9 x (1 - 0.25 x 7/17); 0.33 of it for good.
    short = 43.0 * 0.9 * (1.0 - 0.25 * 7.0 / 17.0)
    assert found.capacity[0] == pytest.approx(short)
    assert found.demand[0] == pytest.approx(1.3 * 4.2 * hoop)
    assert found.demand_upper[0] == pytest.approx(2.0 * 4.2 * hoop)
    assert found.capacity[4] == pytest.approx(0.33 * short)
    assert found.demand[4] == pytest.approx(0.5 * 4.2 * hoop)


def test_12_percent_wood_values_would_pass_what_green_wood_does_not():
    """The trap: yellow-poplar 3.4 MPa at 12 % (from memory) against 1.9 MPa green."""
    green = design_of(wood="yellow-poplar", settings=("taper=0.05", "contact=10mm"))
    assert judge_all(green)["wood_hold"].proved
    record = green.conditions.wood
    dry = with_conditions(
        green,
        wood=type(record)(crush_mpa=3.4, splitting_mpa=record.splitting_mpa * 1.8, known=True),
    )
    assert judge_all(dry)["wood_hold"].capacity > 1.7 * judge_all(green)["wood_hold"].capacity


def test_unnamed_wood_is_not_checked_though_the_tip_is_sized():
    outcomes = outcomes_of(wood=None)
    for name in ("wood_seal", "wood_hold", "wood_split", "tip_crush"):
        assert outcomes[name].verdict == "not_checked"
        assert "--wood" in outcomes[name].because
    assert outcomes["interference"].verdict == "pass"


def test_bark_changes_neither_seal_nor_hold_but_the_levers():
    thin, thick = outcomes_of(bark="0mm"), outcomes_of(bark="20mm")
    assert thin["wood_hold"].safety_factor == pytest.approx(thick["wood_hold"].safety_factor)
    # The longer lever: from sound wood to the face that is struck.
    short, long = (worst_case(design_of(bark=bark)).tip.free_mm for bark in ("0mm", "20mm"))
    assert np.all(long > short + 10.0)


def test_contact_array_shapes_follow_the_corners():
    lower, expected = wood.relaxed_contacts(worst_case(design_of()))
    assert lower.shape == expected.shape == (4,)
    assert np.all(lower == pytest.approx(0.54 * expected))


def test_a_bore_that_leaves_no_wall_in_the_wood_is_crushed():
    case = worst_case(design_of())
    bored = replace(case, tip=replace(case.tip, bore_mm=case.hole_mm + 0.5))
    found = wood.tip_crush(bored)
    assert np.all(np.isposinf(found.demand))
    assert np.all(np.isposinf(found.demand_upper))
