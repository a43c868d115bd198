"""Friction on a taper and of a tube: numbers own; printed ones are in tests/published."""

import numpy as np
import pytest

from barbwright.equations.cylinder import end_thrust
from barbwright.equations.grip import friction_grip
from barbwright.equations.seat import (
    driving_force,
    freeing_torque,
    holding_force,
    seat_area,
    taper_half_angle,
)
from printed import printed

PSI = 0.006894757293168


def test_tip_in_red_oak_at_60_psi():
    # Mean diameter 8, contact 15 mm, tan a 0.03, mu 0.2, C90 4.2 MPa relaxed, 5th percentile.
    taper, length = 0.06, 15.0
    area = seat_area(8.0 - taper * length / 2.0, taper, length)
    assert printed(end_thrust(60.0 * PSI, 8.0), "20.79")
    assert printed(holding_force(0.5 * 0.54 * 4.2, area, taper, 0.2), "72.7")


@pytest.mark.parametrize(("friction", "text"), [(0.25, "0.786"), (0.1, "0.538")])
def test_removal_over_driving(friction, text):
    """(mu - tan a)/(mu + tan a)."""
    out, into = (force(1.0, 100.0, 0.06, friction) for force in (holding_force, driving_force))
    assert printed(out / into, text)


def test_a_taper_steeper_than_friction_backs_out():
    assert holding_force(1.0, 100.0, 0.5, 0.2) < 0.0


def test_thrust_and_grip_of_a_tube():
    assert printed(end_thrust(60.0 * PSI, 7.62), "18.87")
    assert printed(friction_grip(0.242, 7.62, 10.0, 0.3), "17.38")


def test_flank_area_is_that_of_a_frustum():
    hole, taper, length = 6.0, 0.05, 12.0
    big, small = (hole + taper * length) / 2.0, hole / 2.0
    frustum = np.pi * (big + small) * np.hypot(length, big - small)
    assert seat_area(hole, taper, length) == pytest.approx(frustum, rel=1e-12)
    assert np.tan(taper_half_angle(taper)) == pytest.approx(0.025, rel=1e-12)


def test_freeing_torque_is_friction_times_half_the_diameter():
    assert freeing_torque(2.0, 50.0, 7.0, 0.3) == pytest.approx(0.3 * 2.0 * 50.0 * 3.5)
