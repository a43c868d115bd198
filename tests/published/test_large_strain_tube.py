"""Tubes of incompressible rubber that keep their length, widened by a pressure inside.

Printed as pressure and how far the bore moved. In plane strain a Mooney-Rivlin rubber is a
neo-Hookean one of the shear modulus 2 (c10 + c01), since both invariants are the same there.
"""

import pytest

from barbwright.equations.contact import yielding_contact
from barbwright.equations.grip import neo_hookean_contact


def test_solids4foam_tutorial_of_a_cylindrical_pressure_vessel():
    """Its analytical solution file (seen): radii 8 and 16, E 1000 MPa, 100 MPa inside: 2.252602."""
    found = neo_hookean_contact(1000.0, 16.0, 32.0, 2.252601910 / 8.0)
    assert found == pytest.approx(100.0, rel=1e-7)


def test_oden_finite_elements_of_nonlinear_continua_1972():
    """From memory: radii 7 and 18.625 in, c10 80 and c01 20 psi, 150 psi: the bore moves 7.18 in.

    Radii and constants seen in the tutorial named above; the displacement was not.
    """
    shear = 2.0 * (80.0 + 20.0)
    found = neo_hookean_contact(3.0 * shear, 14.0, 37.25, 7.18 / 7.0)
    # Half of the last digit of 7.18 is 0.03 % of the pressure.
    assert found == pytest.approx(150.0, rel=3e-4)


def test_the_rubber_of_the_contact_table_is_the_same_tube():
    """What a check reads is `yielding_contact`: without a yield it is held to the same print."""
    rubber = yielding_contact(1000.0, float("nan"), 1.0, 16.0, 32.0, 2.252601910 / 8.0)
    assert float(rubber) == pytest.approx(100.0, rel=1e-7)
