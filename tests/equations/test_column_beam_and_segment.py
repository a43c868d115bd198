"""A flat beam on two supports, and a circle outside a slot: own arithmetic."""

import numpy as np
import pytest

from barbwright.equations.column import beam_load, segment_area


def test_beam_load_gives_back_the_strength_as_bending_stress():
    width, height, span, strength = 20.0, 3.0, 11.5, 27.0
    load = beam_load(strength, width, height, span)
    moment, modulus = load * span / 4.0, width * height**2 / 6.0
    assert moment / modulus == pytest.approx(strength)


@pytest.mark.parametrize(("slot", "area"), [(0.0, 25.0 * np.pi), (10.0, 0.0), (12.0, 0.0)])
def test_segment_area_at_its_ends(slot, area):
    assert segment_area(10.0, slot) == pytest.approx(area, abs=1e-9)


def test_segment_area_of_a_right_angle():
    """A chord at R/sqrt 2 cuts off (pi/4 - 1/2) R2 on each side."""
    assert segment_area(10.0, 10.0 / np.sqrt(2.0)) == pytest.approx(2 * 25.0 * (np.pi / 4 - 0.5))
