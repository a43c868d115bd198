"""Callister, Materials Science and Engineering: a bar of glass broken over two supports (seen).

As solved on a public page: 11 mm wide, 5.3 mm high, 44 mm between supports, 300 N at fracture: a
flexural strength of 64.08 MPa, 3 F L/(2 b d2).
"""

import pytest

from barbwright.equations.column import beam_load


def test_the_load_that_breaks_the_bar():
    # Half of the strength's last digit is 0.008 %.
    assert beam_load(64.08, 11.0, 5.3, 44.0) == pytest.approx(300.0, rel=8e-5)
