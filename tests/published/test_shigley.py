"""Shigley's Mechanical Engineering Design.

L4: example 3-14 (status from memory, recomputed). L11: press fit, eq. 7-39 to 7-45, worked case
of a public calculator (status seen).
"""

from barbwright.equations.cylinder import lame_hoop, lame_stresses
from barbwright.equations.grip import friction_grip, press_fit_pressure
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
    assert printed(radial, "-774")
    assert printed(axial, "5618")


def test_press_fit_of_a_50_mm_steel_shaft():
    pressure = press_fit_pressure(0.04, 50.0, 80.0, 200e3)
    # 48.75: the page rounds the half up.
    assert printed(pressure, "48.8")
    force = friction_grip(pressure, 50.0, 40.0, 0.15)
    assert printed(force / 1000.0, "45.9")
    assert printed(force * 50.0 / 2.0 / 1000.0, "1149")
    assert printed(lame_hoop(pressure, 50.0, 80.0), "111")
