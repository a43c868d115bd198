"""Khurmi and Gupta, Theory of Machines, cone clutch of 45 kW at 1000 r.p.m. (from memory).

Face angle 12.5 degrees, mean diameter 500 mm, friction 0.2, normal pressure 0.1 N/mm2. The book
has 430 N m, a face of 54.7 mm, made 55, and 2290 N to engage it. It counts a quarter of the
friction there, since the cones turn on each other while they come together.
"""

import numpy as np
import pytest

from barbwright.equations.grip import friction_grip
from barbwright.equations.seat import driving_force, freeing_torque, holding_force

ANGLE_DEG, MEAN, FRICTION, PRESSURE = 12.5, 500.0, 0.2, 0.1
TAPER = 2.0 * np.tan(np.radians(ANGLE_DEG))
# Printed to a ten: a unit of the third digit.
ENGAGE, TENS = 2290.0, 5.0


def test_torque_of_friction_on_the_face():
    face = np.pi * MEAN * 54.7
    assert freeing_torque(PRESSURE, face, MEAN, FRICTION) == pytest.approx(430e3, rel=0.002)
    grip = friction_grip(PRESSURE, MEAN, 54.7, FRICTION)
    assert grip * MEAN / 2.0 == pytest.approx(430e3, rel=0.002)


def test_force_that_engages_it():
    """N (sin a + mu cos a): what drives a tip."""
    face = np.pi * MEAN * 55.0
    slipping = FRICTION / 4.0
    assert driving_force(PRESSURE, face, TAPER, slipping) == pytest.approx(ENGAGE, abs=TENS)


def test_it_frees_itself_as_the_book_says_of_an_angle_over_that_of_friction():
    """W = N (mu cos a - sin a) turns negative where tan a passes mu: 12.5 degrees over 11.3."""
    assert holding_force(PRESSURE, 1.0, TAPER, FRICTION) < 0.0
    assert holding_force(PRESSURE, 1.0, 2.0 * FRICTION, FRICTION) == pytest.approx(0.0, abs=1e-15)
