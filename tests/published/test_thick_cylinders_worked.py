"""Thick cylinders with pressure on both sides: worked answers on two public pages (seen).

expertsmind.com, "Determine the radial and circumferential stresses" and "Find out the intensity
of the external pressure". codingace.net, "Thick cylinder stress", example table, closed ends.
"""

import pytest

from barbwright.equations.cylinder import (
    external_hoop_at_bore,
    lame_hoop,
    lame_stresses,
    lame_von_mises,
)
from printed import printed


@pytest.mark.parametrize(
    ("at", "radial", "hoop"),
    [(80.0, "-120", "168"), (100.0, "-68.16", "116.16"), (120.0, "-40", "88")],
)
def test_80_to_120_mm_with_120_inside_and_40_outside(at, radial, hoop):
    found = lame_stresses(120.0, 40.0, 80.0, 120.0, at)
    assert printed(found[0], radial)
    assert printed(found[1], hoop)


def test_at_the_bore_it_is_the_sum_of_what_the_checks_use():
    assert printed(lame_hoop(120.0, 80.0, 120.0) + external_hoop_at_bore(40.0, 80.0, 120.0), "168")


def test_the_outer_pressure_that_leaves_45_at_the_bore():
    """0.4 and 0.5 m, 25 MN/m2 inside: the page finds 12.4 MN/m2 outside."""
    left = lame_hoop(25.0, 0.4, 0.5) + external_hoop_at_bore(12.4, 0.4, 0.5)
    assert printed(left, "45")


def test_von_mises_of_100_to_200_mm_with_120_inside_and_15_outside():
    """The page prints 242.487 at the bore and 60.622 outside; an even pressure changes nothing.

    So what the checks use, without pressure outside, has the same at 105 MPa.
    """
    assert printed(lame_von_mises(120.0 - 15.0, 100.0, 200.0), "242.487")
    assert printed(
        external_hoop_at_bore(15.0, 100.0, 200.0) + lame_hoop(120.0, 100.0, 200.0), "160"
    )
