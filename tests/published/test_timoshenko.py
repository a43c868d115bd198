"""L5: Timoshenko, Strength of Materials II; a widely used finite-element verification case.

Status from memory, recomputed.
"""

from barbwright.equations.cylinder import lame_hoop, lame_stresses
from oracles import lame_radial_growth
from printed import printed


def test_thick_cylinder_with_open_ends():
    # a 4, b 8 in, p 30000 psi, E 30e6 psi, nu 0.3.
    radial, hoop, _ = lame_stresses(30000.0, 0.0, 8.0, 16.0, 8.0)
    assert printed(hoop, "50000")
    assert printed(lame_hoop(30000.0, 8.0, 16.0), "50000")
    assert printed(lame_stresses(30000.0, 0.0, 8.0, 16.0, 16.0)[1], "20000")
    # 0.00786667: the print cuts where it should round, hence one whole last digit.
    growth = lame_radial_growth(radial, hoop, 0.0, 8.0, 30e6, 0.3)
    assert printed(growth, "0.0078666", last_place=1.0)
