"""L1: a public solver's verification page for the Lame cylinder (status seen)."""

from barbwright.equations.cylinder import lame_hoop, lame_stresses
from oracles import lame_radial_growth
from printed import printed

# Plane strain: a 10, b 20 mm, p 100 MPa, E 210000 MPa, nu 0.3.
BORE, OUTER, PRESSURE, MODULUS, NU = 20.0, 40.0, 100.0, 210e3, 0.3


def test_hoop_stress_at_both_faces():
    assert printed(lame_hoop(PRESSURE, BORE, OUTER), "166.7")
    assert printed(lame_stresses(PRESSURE, 0.0, BORE, OUTER, BORE)[1], "166.7")
    assert printed(lame_stresses(PRESSURE, 0.0, BORE, OUTER, OUTER)[1], "66.7")


def test_radial_growth_of_the_bore():
    radial, hoop, _ = lame_stresses(PRESSURE, 0.0, BORE, OUTER, BORE)
    axial = NU * (radial + hoop)  # plane strain, not the closed ends of the function
    assert printed(lame_radial_growth(radial, hoop, axial, BORE, MODULUS, NU), "0.00908")
