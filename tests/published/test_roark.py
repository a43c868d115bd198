"""Roark's Formulas for Stress and Strain: thick sphere (status from memory)."""

import numpy as np
import pytest

from barbwright.equations.cylinder import thick_sphere_hoop, thick_sphere_hoop_both

# Radii a 5, b 10: b3/a3 = 8.
BORE, OUTER = 10.0, 20.0


def test_internal_pressure_at_the_inside():
    # Roark: q (b3 + 2 a3)/(2 (b3 - a3)) = 1250/1750.
    assert thick_sphere_hoop(1.0, BORE, OUTER) == pytest.approx(1250.0 / 1750.0, rel=1e-12)
    assert thick_sphere_hoop_both(1.0, 0.0, BORE, OUTER, BORE) == pytest.approx(1250.0 / 1750.0)


def test_external_pressure_at_the_inside():
    # Roark: -q 3 b3/(2 (b3 - a3)) = -3000/1750.
    assert thick_sphere_hoop_both(0.0, 1.0, BORE, OUTER, BORE) == pytest.approx(-3000.0 / 1750.0)


@pytest.mark.parametrize("radius", [5.0, 6.0, 8.0, 10.0])
def test_external_pressure_through_the_wall(radius):
    # Roark: -q b3 (a3 + 2 r3)/(2 r3 (b3 - a3)).
    roark = -1000.0 * (125.0 + 2.0 * radius**3) / (2.0 * radius**3 * 875.0)
    assert thick_sphere_hoop_both(0.0, 1.0, BORE, OUTER, 2.0 * radius) == pytest.approx(roark)


def test_half_the_sphere_is_in_balance():
    """The pressure on the opening is carried by hoop stress over the ring (own arithmetic)."""
    radius = np.linspace(5.0, 10.0, 20001)
    hoop = thick_sphere_hoop_both(1.0, 0.0, BORE, OUTER, 2.0 * radius)
    carried = np.trapezoid(hoop * 2.0 * np.pi * radius, radius)
    assert carried == pytest.approx(np.pi * 25.0, rel=1e-6)


def test_equal_pressure_on_both_sides_is_the_same_everywhere():
    places = np.array([10.0, 13.0, 20.0])
    assert thick_sphere_hoop_both(2.0, 2.0, BORE, OUTER, places) == pytest.approx([-2.0] * 3)
