"""AISC Manual of Steel Construction, ninth edition (from memory): pipe, and columns of 36 ksi.

Standard pipe of 4 in: 4.500 in outside, 4.026 in inside, area 3.17 in2, I 7.23 in4, S 3.21 in3,
J 14.5 in4. Table C-36: allowable stress 12.98 ksi at Kl/r 100 and 3.73 ksi at 200; Cc 126.1.
"""

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

BORE, OUTER = 4.026, 4.5
MODULUS, YIELD = 29e3, 36.0
RADIUS = np.sqrt(ring_inertia(BORE, OUTER) / ring_area(BORE, OUTER))
TURN = 126.1


def test_pipe():
    assert printed(ring_area(BORE, OUTER), "3.17")
    assert printed(ring_inertia(BORE, OUTER), "7.23")
    assert printed(1.0 / bending_stress(1.0, BORE, OUTER), "3.21")
    assert printed(torsion_capacity(1.0, BORE, OUTER) * OUTER / 2.0, "14.5")


def test_stocky_column():
    """Eq. E2-1: Johnson's stress over 5/3 + 3/8 x - x3/8, x the slenderness over Cc."""
    share = 100.0 / TURN
    safety = 5.0 / 3.0 + 3.0 * share / 8.0 - share**3 / 8.0
    load = johnson_load(MODULUS, YIELD, BORE, OUTER, 100.0 * RADIUS)
    assert printed(load / ring_area(BORE, OUTER) / safety, "12.98")


def test_slender_column():
    """Eq. E2-2: Euler's stress over 23/12."""
    load = euler_load(MODULUS, ring_inertia(BORE, OUTER), 200.0 * RADIUS)
    assert printed(load / ring_area(BORE, OUTER) * 12.0 / 23.0, "3.73")


@pytest.mark.parametrize("slenderness", [100.0, TURN, 200.0])
def test_which_of_the_two_counts_turns_at_cc(slenderness):
    length = slenderness * RADIUS
    load = column_load(MODULUS, YIELD, BORE, OUTER, length)
    if slenderness <= TURN:
        assert load == pytest.approx(johnson_load(MODULUS, YIELD, BORE, OUTER, length), rel=1e-3)
    if slenderness >= TURN:
        euler = euler_load(MODULUS, ring_inertia(BORE, OUTER), length)
        assert load == pytest.approx(euler, rel=1e-3)
    if slenderness == TURN:
        assert load / ring_area(BORE, OUTER) == pytest.approx(YIELD / 2.0, rel=1e-3)
