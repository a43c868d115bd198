"""A tube of incompressible rubber that is widened: another form of the closed form, and its limits.

R. S. Rivlin, Large elastic deformations of isotropic materials VI, Phil. Trans. A 242 (1949): form
from memory, numbers recomputed here. Printed numbers stand in tests/published.
"""

import numpy as np
import pytest

from barbwright.equations.grip import neo_hookean_contact, stretched_outer

SHEAR = 1.4
MODULUS = 3.0 * SHEAR


@pytest.mark.parametrize("expansion", [0.01, 0.1, 0.3, 1.0, 4.0])
def test_the_printed_form_with_both_stretches(expansion):
    """p = mu [ln(la/lb) + (la2 - lb2)/(2 la2 lb2)], la and lb the hoop stretches of both faces."""
    inner, outer = 6.35, 9.525
    la, lb = 1.0 + expansion, stretched_outer(inner, outer, expansion) / outer
    form = SHEAR * (np.log(la / lb) + (la**2 - lb**2) / (2.0 * la**2 * lb**2))
    assert neo_hookean_contact(MODULUS, inner, outer, expansion) == pytest.approx(form, rel=1e-12)


def test_a_tube_widened_without_end_reaches_mu_ln_of_its_ratio():
    """The known ceiling of a neo-Hookean tube: it cannot be pressed harder."""
    ceiling = SHEAR * np.log(9.525 / 6.35)
    assert neo_hookean_contact(MODULUS, 6.35, 9.525, 1e4) == pytest.approx(ceiling, rel=1e-6)
    wide = neo_hookean_contact(MODULUS, 6.35, 9.525, np.geomspace(0.01, 1e3, 50))
    assert np.all(wide < ceiling)


@pytest.mark.parametrize(("stretch", "over_shear"), [(2.0, 1.0681), (3.0, 1.5431)])
def test_a_hole_in_an_endless_block(stretch, over_shear):
    """p/mu = ln l + (1 - 1/l2)/2, the cylindrical cavity: ln 2 + 3/8 and ln 3 + 4/9."""
    found = neo_hookean_contact(MODULUS, 1.0, 1e6, stretch - 1.0)
    assert found / SHEAR == pytest.approx(over_shear, abs=5e-5)
