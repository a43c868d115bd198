"""Thick cylinders whose statement is printed somewhere and whose numbers are our own."""

import numpy as np
import pytest

from barbwright.equations.cylinder import (
    external_hoop_at_bore,
    lame_hoop,
    lame_stresses,
    lame_von_mises,
)
from oracles import lame_radial_growth
from printed import printed

# Felippa, finite-element benchmark 14.1. Plane strain: a 4, b 10 mm, p 10 MPa, E 1000 MPa, nu 0.
BORE, OUTER, PRESSURE, MODULUS = 8.0, 20.0, 10.0, 1000.0


def growth_at(place: float) -> float:
    radial, hoop, _ = lame_stresses(PRESSURE, 0.0, BORE, OUTER, place)
    return lame_radial_growth(radial, hoop, 0.0, place, MODULUS, 0.0)


def test_displacement_of_both_faces():
    assert printed(growth_at(BORE), "0.0552381")
    assert printed(growth_at(OUTER), "0.0380952")


def test_hoop_at_the_bore():
    assert printed(lame_stresses(PRESSURE, 0.0, BORE, OUTER, BORE)[1], "13.8095")


def test_thick_cylinder_with_closed_ends():
    """IIT ESO202, tutorial 6: a 75, b 225 mm, p 160 MPa, E 200 GPa, nu 0.3."""
    radial, hoop, axial = lame_stresses(160.0, 0.0, 150.0, 450.0, 150.0)
    assert printed(hoop, "200")
    assert printed(lame_stresses(160.0, 0.0, 150.0, 450.0, 450.0)[1], "40")
    assert printed((hoop - radial) / 2.0, "180")
    growth = lame_radial_growth(radial, hoop, axial, 150.0, 200e3, 0.3)
    assert printed(2.0 * growth, "0.1815")


def test_what_decides_is_the_general_stresses_in_one_line():
    bore, outer = 4.0, np.linspace(4.2, 40.0, 200)
    k2 = np.square(outer / bore)
    assert lame_hoop(0.5, bore, outer) == pytest.approx(0.5 * (k2 + 1.0) / (k2 - 1.0), rel=1e-13)
    one_line = np.sqrt(3.0) * 0.5 * k2 / (k2 - 1.0)
    assert lame_von_mises(0.5, bore, outer) == pytest.approx(one_line, rel=1e-12)
    squeezed = -2.0 * 0.5 * outer**2 / (outer**2 - bore**2)
    assert external_hoop_at_bore(0.5, bore, outer) == pytest.approx(squeezed, rel=1e-12)


@pytest.mark.parametrize("outer", [4.0, 3.9])
def test_a_wall_that_is_not_there_carries_nothing(outer):
    with np.errstate(all="ignore"):
        assert np.isinf(lame_von_mises(0.5, np.array(4.0), np.array(outer)))
