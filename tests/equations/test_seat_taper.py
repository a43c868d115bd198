"""Friction on a taper and of a tube: numbers own; printed ones are in tests/published."""

import numpy as np
import pytest

from barbwright.equations.cylinder import end_thrust
from barbwright.equations.grip import friction_grip
from barbwright.equations.seat import (
    crush_from_gravity,
    driving_force,
    freeing_torque,
    holding_force,
    modulus_from_gravity,
    seat_area,
    taper_half_angle,
    tension_from_gravity,
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


@pytest.mark.parametrize(
    ("regression", "hardwood", "softwood"),
    [
        (crush_from_gravity, (18.5, 2.48), (8.8, 1.53)),
        (tension_from_gravity, (10.5, 1.37), (3.8, 0.78)),
        (modulus_from_gravity, (13900.0, 0.72), (16100.0, 0.76)),
    ],
)
def test_wood_as_dense_as_water_has_the_first_number_and_its_slope_is_the_second(
    regression, hardwood, softwood
):
    """Wood Handbook table 5-11a, green (from memory): a line on paper with two logarithms."""
    for hard, (factor, power) in ((True, hardwood), (False, softwood)):
        assert regression(1.0, hardwood=hard) == factor
        decades = np.log10(regression(np.array([0.1, 10.0]), hardwood=hard))
        assert np.diff(decades) / 2.0 == pytest.approx(power, rel=1e-12)
