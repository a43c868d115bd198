"""Roark's Formulas for Stress and Strain, table 13.5 case 2a: thick sphere (from memory)."""

import pytest

from barbwright.equations.cylinder import thick_sphere_hoop


def test_internal_pressure_at_the_inside():
    """Radii a 5, b 10: q (b3 + 2 a3)/(2 (b3 - a3)) = 1250/1750."""
    assert thick_sphere_hoop(1.0, 10.0, 20.0) == pytest.approx(1250.0 / 1750.0, rel=1e-12)


def test_a_thin_sphere_has_its_membrane_s_stress():
    """p Di/(4 t), any text on pressure vessels (from memory): 24.75 p here."""
    assert thick_sphere_hoop(1.0, 99.0, 101.0) == pytest.approx(24.75, rel=0.001)
