"""H3: Euler and Johnson columns, textbook (numbers own)."""

import numpy as np
import pytest

from barbwright.equations.column import (
    bending_stress,
    column_load,
    euler_load,
    johnson_load,
    ring_area,
    ring_inertia,
    torsion_capacity,
)
from printed import printed

# Outer 8, bore 4, length 40 mm, E 1700, yield 45 MPa.
BORE, OUTER, LENGTH, MODULUS, YIELD = 4.0, 8.0, 40.0, 1700.0, 45.0


def test_short_tube():
    inertia = ring_inertia(BORE, OUTER)
    assert printed(inertia, "188.5")
    assert printed(euler_load(MODULUS, inertia, 2.0 * LENGTH), "494")
    assert printed(johnson_load(MODULUS, YIELD, BORE, OUTER, 0.7 * LENGTH), "1518")
    assert printed(ring_area(BORE, OUTER) * YIELD, "1696")


def test_the_right_one_is_taken_on_either_side_and_they_meet():
    radius = np.sqrt(ring_inertia(BORE, OUTER) / ring_area(BORE, OUTER))
    meet = radius * np.sqrt(2.0 * np.pi**2 * MODULUS / YIELD)
    inertia = ring_inertia(BORE, OUTER)
    short, long = 0.9 * meet, 1.1 * meet
    assert column_load(MODULUS, YIELD, BORE, OUTER, short) == pytest.approx(
        johnson_load(MODULUS, YIELD, BORE, OUTER, short)
    )
    assert column_load(MODULUS, YIELD, BORE, OUTER, long) == pytest.approx(
        euler_load(MODULUS, inertia, long)
    )
    assert euler_load(MODULUS, inertia, meet) == pytest.approx(
        johnson_load(MODULUS, YIELD, BORE, OUTER, meet), rel=1e-9
    )
    assert euler_load(MODULUS, inertia, meet) == pytest.approx(
        YIELD * ring_area(BORE, OUTER) / 2.0, rel=1e-9
    )


def test_bending_and_torsion_of_a_ring_by_integration():
    """Sum over small squares of the section (own arithmetic)."""
    side = np.linspace(-4.0, 4.0, 1601)
    x, y = np.meshgrid((side[1:] + side[:-1]) / 2.0, (side[1:] + side[:-1]) / 2.0)
    inside = (np.hypot(x, y) <= OUTER / 2.0) & (np.hypot(x, y) >= BORE / 2.0)
    cell = (side[1] - side[0]) ** 2
    inertia = np.sum(y[inside] ** 2) * cell
    assert bending_stress(100.0, BORE, OUTER) == pytest.approx(100.0 * 4.0 / inertia, rel=1e-3)
    assert torsion_capacity(10.0, BORE, OUTER) == pytest.approx(
        10.0 * 2.0 * inertia / 4.0, rel=1e-3
    )


def test_a_slender_column_of_unknown_strength_is_unknown():
    assert np.isnan(column_load(MODULUS, np.nan, BORE, OUTER, 500.0))
    assert np.isfinite(column_load(MODULUS, YIELD, BORE, OUTER, 500.0))
