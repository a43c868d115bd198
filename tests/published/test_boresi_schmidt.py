"""Boresi and Schmidt, Advanced Mechanics of Materials, chapter 11: two worked cylinders.

The first as its public companion prints it (seen): 20 and 100 mm, 300 MPa: -300 and 325 MPa at the
inside, -37.50 and 62.50 at 25 mm of radius, 25 at the outside. The second's sizes seen there too,
its numbers from memory.

Closed cylinder of aluminium, 200 mm inside and 800 mm outside, 150 MPa: at the inside the book has
-150 radial, 170 hoop, 10 axial and 160 MPa as the largest shear stress.
"""

import numpy as np
import pytest

from barbwright.equations.contact import yielding_contact
from barbwright.equations.cylinder import lame_hoop, lame_stresses, lame_von_mises
from printed import printed

RADIAL, HOOP, AXIAL, SHEAR = -150.0, 170.0, 10.0, 160.0


@pytest.mark.parametrize(
    ("at", "radial", "hoop"),
    [(20.0, "-300.00", "325.00"), (50.0, "-37.50", "62.50"), (100.0, "0.0", "25.00")],
)
def test_20_to_100_mm_with_300_mpa(at, radial, hoop):
    found = lame_stresses(300.0, 0.0, 20.0, 100.0, at)
    assert printed(found[0], radial)
    assert printed(found[1], hoop)


def test_stresses_at_the_inside():
    assert lame_stresses(150.0, 0.0, 200.0, 800.0, 200.0) == pytest.approx((RADIAL, HOOP, AXIAL))
    assert lame_hoop(150.0, 200.0, 800.0) == pytest.approx(HOOP)


def test_von_mises_is_that_of_the_three_printed_stresses():
    spread = (HOOP - RADIAL) ** 2 + (RADIAL - AXIAL) ** 2 + (AXIAL - HOOP) ** 2
    of_printed = np.sqrt(spread / 2.0)
    assert lame_von_mises(150.0, 200.0, 800.0) == pytest.approx(of_printed, rel=1e-12)
    # The printed shear stress: with closed ends the wall is in pure shear about its mean.
    assert of_printed == pytest.approx(np.sqrt(3.0) * SHEAR, rel=1e-12)


def test_a_closed_cylinder_of_k_2_first_yields_at_0_433_of_its_strength():
    """Any text on autofrettage (from memory): (k2 - 1)/(sqrt 3 k2)."""
    assert printed(1.0 / lame_von_mises(1.0, 1.0, 2.0), "0.433")


def test_a_cylinder_of_k_2_is_plastic_throughout_at_0_80_of_its_strength():
    """Any text on autofrettage (from memory): 2/sqrt 3 ln k, von Mises."""
    assert printed(yielding_contact(1e6, 1.0, 1e-9, 2.0, 4.0, 1e-4), "0.80")
