"""Shigley's Mechanical Engineering Design.

L4: example 3-14 (status from memory, recomputed). L11: press fit, eq. 7-39 to 7-45, worked case
of a public calculator (status seen).
"""

import numpy as np
import pytest

from barbwright.equations.cylinder import lame_hoop, lame_stresses, lame_von_mises
from barbwright.equations.grip import friction_grip
from printed import printed


def test_example_3_14_thin_wall_design_then_lame():
    # Outer diameter 8 in, wall 1/4 in, 12 kpsi allowed on the mean diameter.
    outer, wall, allowed = 8.0, 0.25, 12000.0
    bore = outer - 2 * wall
    pressure = 2 * wall * allowed / (bore + wall)
    assert printed(pressure, "774")
    # The book goes on with the rounded pressure.
    radial, hoop, axial = lame_stresses(774.0, 0.0, bore, outer, bore)
    assert printed(hoop, "12009")
    assert printed(lame_hoop(774.0, bore, outer), "12009")
    assert printed(radial, "-774")
    assert printed(axial, "5618")
    # Eq. 5-12 of the three printed stresses; half of a last digit in each is 1 in all.
    of_printed = np.sqrt(((12009 + 774) ** 2 + (-774 - 5618) ** 2 + (5618 - 12009) ** 2) / 2.0)
    assert lame_von_mises(774.0, bore, outer) == pytest.approx(of_printed, abs=1.0)


def test_press_fit_of_a_50_mm_steel_shaft():
    # Eq. 7-40, one material: E delta/(2 d) (D2 - d2)/D2 = 48.75; the page rounds the half up.
    pressure = 200e3 * 0.04 / (2.0 * 50.0) * (80.0**2 - 50.0**2) / 80.0**2
    assert printed(pressure, "48.8")
    force = friction_grip(pressure, 50.0, 40.0, 0.15)
    assert printed(force / 1000.0, "45.9")
    assert printed(force * 50.0 / 2.0 / 1000.0, "1149")
    assert printed(lame_hoop(pressure, 50.0, 80.0), "111")
