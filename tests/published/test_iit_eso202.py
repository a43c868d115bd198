"""L6: IIT ESO202, tutorial 6 (statement seen, answers recomputed)."""

from barbwright.equations.cylinder import lame_radial_growth, lame_stresses, lame_tresca
from printed import printed


def test_thick_cylinder_with_closed_ends():
    # a 75, b 225 mm, p 160 MPa, E 200 GPa, nu 0.3.
    radial, hoop, axial = lame_stresses(160.0, 0.0, 150.0, 450.0, 150.0)
    assert printed(hoop, "200")
    assert printed(lame_stresses(160.0, 0.0, 150.0, 450.0, 450.0)[1], "40")
    assert printed(lame_tresca(160.0, 150.0, 450.0) / 2.0, "180")
    growth = lame_radial_growth(radial, hoop, axial, 150.0, 200e3, 0.3)
    assert printed(2.0 * growth, "0.1815")
