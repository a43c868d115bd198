"""Tip in wood: hand calculations of the demo in northern red oak (C90 4.2, q_split 5.51 MPa)."""

from math import atan, cos, pi, sin

import numpy as np
import pytest

from barbwright.checks import wood
from barbwright.checks.corners import worst_case
from barbwright.checks.table import judge_all
from example_job import PSI, design_of, outcomes_of, with_conditions

A = atan(0.025)
SMALL, LARGE = 5.953125 + 0.1, 5.953125 + 0.4
CONTACT = 9.6


def area(hole, length):
    return pi * (hole + 0.05 * length / 2.0) * length / cos(A)


def test_seal():
    seal = outcomes_of()["wood_seal"]
    assert seal.capacity == pytest.approx(0.5 * 0.54 * 4.2)
    assert seal.capacity_expected == pytest.approx(0.5 * 4.2)
    assert seal.demand == pytest.approx(45.0 * PSI)


def test_hold():
    hold = outcomes_of()["wood_hold"]
    per_area = 0.5 * 0.54 * 4.2 * (0.2 * cos(A) - sin(A))
    assert hold.capacity == pytest.approx(per_area * area(LARGE, CONTACT - 1.0))
    assert hold.demand == pytest.approx(45.0 * PSI * pi / 4.0 * (LARGE + 0.05 * CONTACT) ** 2)
    assert hold.design_factor == 3.0
    assert hold.corner.endswith("largest hole")


def test_contact_is_capped_where_a_check_starts():
    """Balsam fir: q_split 1.2/1.14 MPa lies under its C90 of 1.3 MPa."""
    seal = outcomes_of(wood="fir balsam", pressure="20psi")["wood_seal"]
    assert seal.capacity == pytest.approx(0.5 * 0.54 * 1.2 / 1.14, rel=1e-6)
    assert seal.capacity < 0.5 * 0.54 * 1.3


def test_split_is_a_caution_at_worst():
    oak = outcomes_of()["wood_split"]
    assert (oak.demand, oak.demand_upper) == (pytest.approx(4.2), pytest.approx(1.3 * 4.2))
    assert oak.capacity == pytest.approx(5.51, abs=0.005)
    design = design_of()
    weak = with_conditions(
        design, wood=type(design.conditions.wood)(crush_mpa=4.2, splitting_mpa=1.0, known=True)
    )
    assert judge_all(weak)["wood_split"].verdict == 1


def test_interference_and_self_holding():
    outcomes = outcomes_of()
    assert outcomes["interference"].demand == pytest.approx(0.05 * (CONTACT + 1.0) / SMALL)
    assert outcomes["interference"].capacity == 0.12
    assert outcomes["self_holding"].safety_factor == pytest.approx(0.2 / 0.025)
    steep = outcomes_of(settings=("taper=0.14",))["self_holding"]
    assert steep.safety_factor == pytest.approx(0.2 / 0.07)
    assert steep.verdict == "fail"
    assert "taper" in steep.info.remedy


def test_squeeze_on_the_tip_driving_and_staying():
    case = worst_case(design_of())
    found = wood.tip_crush(case)
    bore, hole = 2.8, SMALL  # the lean part in the smallest hole
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
    green = design_of(wood="yellow-poplar")
    assert judge_all(green)["wood_hold"].verdict == 1
    record = green.conditions.wood
    dry = with_conditions(
        green,
        wood=type(record)(crush_mpa=3.4, splitting_mpa=record.splitting_mpa * 1.8, known=True),
    )
    assert judge_all(dry)["wood_hold"].verdict == 0


def test_unnamed_wood_is_not_checked_though_the_tip_is_sized():
    outcomes = outcomes_of(wood=None)
    for name in ("wood_seal", "wood_hold", "wood_split", "tip_crush"):
        assert outcomes[name].verdict == "not_checked"
        assert "--wood" in outcomes[name].because
    assert outcomes["interference"].verdict == "pass"


def test_bark_changes_neither_seal_nor_hold_but_the_levers():
    thin, thick = outcomes_of(bark="0mm"), outcomes_of(bark="20mm")
    assert thin["wood_hold"].safety_factor == pytest.approx(thick["wood_hold"].safety_factor)
    assert thin["drive_buckle"].capacity > thick["drive_buckle"].capacity


def test_contact_array_shapes_follow_the_corners():
    lower, expected = wood.relaxed_contacts(worst_case(design_of()))
    assert lower.shape == expected.shape == (4,)
    assert np.all(lower == pytest.approx(0.54 * expected))
