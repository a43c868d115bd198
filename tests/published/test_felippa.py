"""L3: Felippa, finite-element benchmark 14.1 (status seen; numbers recomputed)."""

from barbwright.equations.cylinder import lame_radial_growth, lame_stresses
from printed import printed

# Plane strain: a 4, b 10 mm, p 10 MPa, E 1000 MPa, nu 0.
BORE, OUTER, PRESSURE, MODULUS = 8.0, 20.0, 10.0, 1000.0


def growth_at(place: float) -> float:
    radial, hoop, _ = lame_stresses(PRESSURE, 0.0, BORE, OUTER, place)
    return lame_radial_growth(radial, hoop, 0.0, place, MODULUS, 0.0)


def test_displacement_of_both_faces():
    assert printed(growth_at(BORE), "0.0552381")
    assert printed(growth_at(OUTER), "0.0380952")


def test_hoop_at_the_bore():
    assert printed(lame_stresses(PRESSURE, 0.0, BORE, OUTER, BORE)[1], "13.8095")
