"""A flat beam on two supports, and a circle outside a slot: own arithmetic."""

import numpy as np
import pytest
from scipy.integrate import quad

from barbwright.equations.column import beam_load, growing_flexibility, segment_area


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


@pytest.mark.parametrize(("height", "growth", "length"), [(1.7, 0.53, 37.3), (2.9, 0.11, 11.1)])
def test_a_cantilever_that_grows_thicker_gives_the_integral_of_the_unit_load(
    height, growth, length
):
    """u2/(E I) along it, I = b3 (h + g u)/12, a force of one at its thin end."""
    width = 8.3
    bent, _ = quad(lambda u: 12.0 * u * u / (width**3 * (height + growth * u)), 0.0, length)
    assert growing_flexibility(width, height, growth, length) == pytest.approx(bent, rel=1e-9)
