"""A tube on a barb: B1 and B3 (own derivation, status own) and an independent quadrature."""

import numpy as np
import pytest
from scipy.integrate import quad

from barbwright.equations.grip import (
    gent_modulus,
    neo_hookean_contact,
    stretched_outer,
)
from printed import printed

B1 = (65.0, 6.35, 9.525, 0.20)
B3 = (95.0, 4.0, 6.0, 0.15)


def by_quadrature(modulus, inner, outer, expansion):
    """Radial balance of an incompressible neo-Hookean tube, integrated through the wall.

    sigma_hoop - sigma_radial = mu (l2 - 1/l2) with l the hoop stretch; the pressure at the bore is
    the integral of that over r, dr/r, in the deformed wall. l follows from the kept section area.
    """
    free, wide = inner / 2.0, inner / 2.0 * (1.0 + expansion)
    rim = np.sqrt(wide**2 + (outer / 2.0) ** 2 - free**2)

    def difference(radius):
        stretch2 = radius**2 / (radius**2 - wide**2 + free**2)
        return modulus / 3.0 * (stretch2 - 1.0 / stretch2) / radius

    return quad(difference, wide, rim, epsabs=1e-13, epsrel=1e-12)[0]


def small_strain_plane(modulus, inner, outer, expansion):
    """Lame at nu 0.5 in plane strain: 2/3 E e (1 - d2/D2)."""
    return 2.0 / 3.0 * modulus * expansion * (1.0 - (inner / outer) ** 2)


def small_strain_free(modulus, inner, outer, expansion):
    k2 = (outer / inner) ** 2
    return modulus * expansion / ((k2 + 1.0) / (k2 - 1.0) + 0.5)


@pytest.mark.parametrize(
    ("case", "neo", "plane", "free"),
    [(B1, "0.2420", "0.3278", "0.2855"), (B3, "1.929", "2.435", "2.121")],
)
def test_contact_as_tabled(case, neo, plane, free):
    shore, *tube = case
    modulus = float(gent_modulus(shore))
    assert printed(neo_hookean_contact(modulus, *tube), neo)
    assert printed(small_strain_plane(modulus, *tube), plane)
    assert printed(small_strain_free(modulus, *tube), free)


def test_tube_on_the_crest_of_b1():
    assert printed(stretched_outer(*B1[1:]), "10.415")


@pytest.mark.parametrize("case", [B1, B3, (50.0, 4.318, 6.35, 0.30), (80.0, 6.0, 8.0, 0.03)])
def test_contact_by_quadrature(case):
    shore, *tube = case
    modulus = float(gent_modulus(shore))
    assert neo_hookean_contact(modulus, *tube) == pytest.approx(
        by_quadrature(modulus, *tube), rel=1e-9
    )


def test_small_strain_is_the_limit_and_35_percent_high_at_an_expansion_of_0_20():
    shore, inner, outer, _ = B1
    modulus = float(gent_modulus(shore))
    tiny = 1e-5
    assert neo_hookean_contact(modulus, inner, outer, tiny) == pytest.approx(
        small_strain_plane(modulus, inner, outer, tiny), rel=1e-4
    )
    trap = small_strain_plane(*(modulus, inner, outer, 0.20))
    assert printed(trap / neo_hookean_contact(modulus, inner, outer, 0.20), "1.35")


def test_no_expansion_no_contact_and_more_expansion_more_elastic_contact():
    expansion = np.array([0.0, 0.05, 0.1, 0.2, 0.3])
    contact = neo_hookean_contact(10.0, 4.0, 6.0, expansion)
    assert contact[0] == 0.0
    assert np.all(np.diff(contact) > 0.0)


def test_section_area_of_the_tube_is_kept():
    outer = stretched_outer(4.0, 6.0, 0.2)
    assert outer**2 - (4.0 * 1.2) ** 2 == pytest.approx(6.0**2 - 4.0**2)
