"""A small hole in the wall of a sphere, from the two statements that are printed.

No print has the lip of a pressed bore in a thick ball, so what is held to print is each part of
`small_bore_factor`: the ball's own stress, and twice that beside a hole. That they add up, and the
pressure in the hole with them, is our derivation, held to our elements in tests/prove.
"""

import pytest

from barbwright.equations.crossing import small_bore_factor
from barbwright.equations.cylinder import thick_sphere_hoop

# Peterson, a hole in even tension both ways (seen on a public page; Fuad et al. 2007, seen, take a
# sphere's wall near a hole for such a plate).
KT = 2.0


def test_in_a_block_without_end_the_ball_has_half_the_pressure():
    """Any text on elasticity (from memory): p/2 beside a pressed cavity; so the lip has 3 p."""
    assert thick_sphere_hoop(1.0, 1.0, 1e4) == pytest.approx(0.5, rel=1e-9)
    assert small_bore_factor(1e4) == pytest.approx(KT * 0.5 + 2.0, rel=1e-9)
