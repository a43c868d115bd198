"""What was measured on trees and tubes, in shares of judgement, as each check takes it."""

import numpy as np
import pytest

from barbwright.checks import driving, sealing, wood
from barbwright.checks.corners import worst_case
from barbwright.design.measured import PRODUCTS, Figures
from example_job import PU_95, design_of, with_conditions

# At 5, 50 and 95 % of what judgement says: all apart, and not in its order by size.
LOW, MIDDLE, HIGH = 0.4, 0.8, 1.7


def with_measured(design, *names):
    """The design of one who measured each product as shares of judgement's own, at its taper."""
    taper = 0.0 if design.tip is None else float(design.tip.taper)
    figures = {}
    for name in names:
        one = float(PRODUCTS[name].value(design.conditions.rules, taper))
        figures[name] = Figures(lower=LOW * one, expected=MIDDLE * one, upper=HIGH * one,
                                taper=taper)  # fmt: skip
    return with_conditions(design, measured=figures)


def both(design, name):
    return (worst_case(one) for one in (design, with_measured(design, name)))


def test_a_measured_drive_is_expected_by_its_middle_and_feared_by_its_upper():
    judged, measured = both(design_of("elbow"), "drive")
    before, _ = driving.drive_forces(judged, 9.0, judged.hole_mm)
    expected, upper = driving.drive_forces(measured, 9.0, measured.hole_mm)
    assert expected == pytest.approx(MIDDLE * before)
    assert upper == pytest.approx(HIGH * before)


def test_a_measured_twist_changes_the_torque_alone():
    judged, measured = both(design_of("elbow"), "twist")
    before, pulls = driving.freeing_forces(judged, "expected")
    for name, share in (("expected", MIDDLE), ("upper", HIGH)):
        torque, pull = driving.freeing_forces(measured, name)
        assert torque == pytest.approx(share * before)
        assert pull == pytest.approx(driving.freeing_forces(judged, name)[1])
    assert np.all(pulls > 0.0)


def test_a_measured_grip_has_its_own_spread_about_the_expected_one():
    judged, measured = both(design_of("barb"), "grip")
    (_, mean), (lower, expected) = (sealing.grip(one, one.barbs[0]) for one in (judged, measured))
    assert lower == pytest.approx(LOW * mean)
    assert expected == pytest.approx(MIDDLE * mean)


def test_a_measured_push_is_of_a_warm_tube_and_a_cold_one_is_feared_no_less_than_it():
    judged, measured = both(design_of("barb", **PU_95), "push")
    before, after = sealing.push_on(judged), sealing.push_on(measured)
    assert after.demand == pytest.approx(MIDDLE * before.demand)
    feared = np.maximum(before.demand_upper, HIGH * before.demand)
    assert after.demand_upper == pytest.approx(feared)
    # A tube that pushes harder warm than was feared of it cold counts as it was measured.
    tight = with_conditions(
        design_of("barb", **PU_95),
        measured={"push": Figures(lower=1.0, expected=2.0, upper=100.0)},
    )
    one = PRODUCTS["push"].value(tight.conditions.rules)
    found = sealing.push_on(worst_case(tight))
    assert found.demand_upper == pytest.approx(100.0 / one * before.demand)


def test_a_measured_relaxation_carries_its_own_percentile():
    judged, measured = both(design_of("elbow"), "relaxation")
    _, mean = wood.relaxed_contacts(judged)
    lower, expected = wood.relaxed_contacts(measured)
    assert lower == pytest.approx(LOW * mean)
    assert expected == pytest.approx(MIDDLE * mean)
    assert lower.shape == (4,)


def test_a_measured_hold_stands_before_relaxation_and_only_where_it_was_measured():
    design = design_of("elbow")
    taper = float(design.tip.taper)
    _, mean = wood.relaxed_contacts(worst_case(design))
    held = worst_case(with_measured(design, "hold", "relaxation"))
    lower, expected = wood.holding_contacts(held, taper)
    assert lower == pytest.approx(LOW * mean)
    assert expected == pytest.approx(MIDDLE * mean)
    alone = worst_case(with_measured(design, "relaxation"))
    assert wood.holding_contacts(alone, taper)[1] == pytest.approx(MIDDLE * mean)
