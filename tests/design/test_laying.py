"""How a part lies on the plate: turned without moving a digit, measured where it lies."""

import numpy as np
import pytest

from barbwright.design.draw import shape_of
from barbwright.design.laying import LAYINGS, lift_mm, placed
from example_job import design_of


@pytest.mark.parametrize("laying", LAYINGS.values(), ids=list(LAYINGS))
def test_a_laying_is_a_turn_and_no_mirror(laying):
    turn = laying.turn
    assert np.array_equal(np.abs(turn).sum(axis=0), np.ones(3))
    assert np.array_equal(turn @ turn.T, np.eye(3))
    assert np.linalg.det(turn) == pytest.approx(1.0)


@pytest.mark.parametrize("laying", LAYINGS.values(), ids=list(LAYINGS))
def test_probes_lie_where_the_file_does(laying):
    shape = shape_of(design_of("elbow"), "elbow")
    lift = lift_mm(shape, laying)
    lies = placed(shape, laying, lift)
    assert lies.adds == shape.adds
    for drawn, found in zip(shape.probes, lies.probes, strict=True):
        back = (np.array(found.origin) - (0.0, 0.0, lift)) @ laying.turn
        assert back == pytest.approx(drawn.origin, abs=1e-12)
        assert np.array(found.axis) @ laying.turn == pytest.approx(drawn.axis)
        assert found.diameter_mm == drawn.diameter_mm


def test_flat_lies_on_the_widest_of_what_turns_about_the_tip_and_upright_on_the_lead():
    design = design_of("elbow")
    shape = shape_of(design, "elbow")
    reach = float(design.seat_root_mm + design.tip.seat_mm)
    assert lift_mm(shape, LAYINGS["tip_upright"]) == pytest.approx(reach, abs=1e-6)
    flat = lift_mm(shape, LAYINGS["flat"])
    across = max(float(design.hub.ball_mm), float(design.hub.pad_mm)) / 2.0
    assert across - 1e-6 <= flat <= across * 2.0 / np.sqrt(3.0) + 1e-6
