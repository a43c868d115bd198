"""A round hole in a plate that is stiffer one way: Lekhnitskii's solution, as others print it.

What splits wood is the pressed hole: an even tension all round less the same tension without a
hole. At the edge where the grain splits that is (1 + n/k) - 1/k - 1 = (n - 1)/k, with k the
product and n the sum of the plate's two roots.
"""

import numpy as np
import pytest

from barbwright.equations.seat import hole_edge_factor

# E1, E2, G12 [GPa], nu12; roots as printed.
PLATES = (
    ("graphite in epoxy, 0 degrees", 181.0, 10.3, 7.17, 0.28, 0.8566, 4.8936),
    ("glass in epoxy, 0 degrees", 47.4, 16.2, 7.0, 0.26, 0.7139, 2.3960),
    ("graphite in epoxy, 90 degrees", 10.3, 181.0, 7.17, 0.28 * 10.3 / 181.0, 0.2043, 1.1674),
    ("glass in epoxy, 90 degrees", 16.2, 47.4, 7.0, 0.26 * 16.2 / 47.4, 0.4174, 1.4007),
)


@pytest.mark.parametrize(("name", "e1", "e2", "g12", "nu12", "first", "second"), PLATES)
def test_the_pressed_hole_s_edge_from_printed_roots(name, e1, e2, g12, nu12, first, second):
    """D. S. Sharma, laminated plates with holes: his roots as an open library's tests quote them.

    Second-hand. Four digits each, hence 3 in 10,000.
    """
    of_printed = (first + second - 1.0) / (first * second)
    assert hole_edge_factor(e2 / e1, g12 / e1, nu12) == pytest.approx(of_printed, rel=3e-4), name


def test_a_plain_sawn_plate_of_sitka_spruce_takes_5_84_times_the_tension_along_its_grain():
    """Forest Products Laboratory report 1510 (seen: abstract): 5.84 S at the hole's side, 1 + n.

    Ratios of Sitka spruce by the Wood Handbook's table 5-1 (from memory), not the report's own
    constants, which were not seen: hence within 4 %.
    """
    et, glt, nu = 0.043, 0.061, 0.467
    k = np.sqrt(1.0 / et)
    n = 1.0 + k * hole_edge_factor(et, glt, nu)
    assert 1.0 + n == pytest.approx(5.84, rel=0.04)


def test_a_plate_as_stiff_all_ways_has_the_three_of_kirsch():
    """3 beside the hole (Peterson, seen on a public page): n is 2, so a pressed hole has 1."""
    for nu in (0.0, 0.3, 0.45):
        n = 1.0 + hole_edge_factor(1.0, 1.0 / (2.0 * (1.0 + nu)), nu)
        assert 1.0 + n == pytest.approx(3.0)
