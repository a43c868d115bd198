"""What a fork carries under a ball, by arithmetic done anew: a spread, and a slot too wide."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad

from barbwright.checks.freed import fork_bears, fork_spreads, tapped, tools_of
from barbwright.design.foot import foot_of
from example_job import design_of, with_material

TEE = design_of("tee")
_, AS_DRAWN = tools_of(TEE)
OFF = float(TEE.conditions.material.tolerance_at(AS_DRAWN.slot_mm))


def spread(tines):
    """Both tines bent sideways by the ball between them, a step's worth of slices at a time [N]."""
    material = TEE.conditions.material
    ball, slot = float(foot_of(TEE)) - OFF, float(tines.slot_mm) + OFF
    step = np.clip(np.min(tapped(TEE, tines.slot_mm)) // tines.rise_mm, 1.0, tines.steps)
    wide, arm = float(tines.tine_mm) - OFF, (float(tines.steps) - step + 0.5) * tines.step_mm
    out = np.linspace(0.0, arm, 20001)
    thick = step * tines.rise_mm - OFF + out * tines.rise_mm / tines.step_mm
    bent = np.trapezoid(out**2 / (material.handling_modulus_mpa * wide**3 * thick / 12.0), out)
    # Half of what still overlaps on each side; and what the root's skin takes.
    gives = (ball - slot) / 4.0 / bent
    breaks = material.handling_short_z_mpa * wide**2 * thick[-1] / 6.0 / arm
    # A ball touches an edge square to its skin: from its centre, half a slot out and so far down.
    angle = np.arcsin(slot / ball)
    return 2.0 * min(gives, breaks) / np.tan(angle)


@pytest.mark.parametrize("slot_mm", [None, 0.02], ids=["as drawn", "a ball that all but falls"])
def test_narrow_tines_are_spread_by_the_ball_between_them(slot_mm):
    narrow = replace(AS_DRAWN, tine_mm=8.0)
    if slot_mm is not None:
        narrow = replace(narrow, slot_mm=float(foot_of(TEE)) - 2.0 * OFF - slot_mm)
    assert np.ravel(fork_spreads(narrow, TEE)) == pytest.approx(spread(narrow), rel=1e-5)


def test_a_ball_or_ring_that_a_slot_lets_through_bears_on_nothing():
    for host in (TEE, design_of("tip")):
        _, tines = tools_of(host)
        assert np.all(fork_bears(tines, host) > 0.0)
        wide = replace(tines, slot_mm=float(foot_of(host)) + 1.0)
        assert np.all(fork_bears(wide, host) == 0.0)


def test_a_ball_that_all_but_falls_sinks_no_deeper_than_its_middle():
    """Its slot is near its own width: where it stands less than a millimetre above its middle,
    all of its circle beside the slot is pressed, and no more."""
    _, tines = tools_of(TEE)
    across = float(foot_of(TEE)) - OFF
    slot = across - 0.05
    assert np.sqrt(across**2 - slot**2) / 2.0 < 1.0
    chord, _ = quad(lambda y: np.sqrt(across**2 - 4.0 * y * y), slot / 2.0, across / 2.0)
    found = fork_bears(replace(tines, slot_mm=slot - OFF), TEE)
    pressed = TEE.conditions.material.handling_short_xy_mpa * 2.0 * chord
    assert np.ravel(found) == pytest.approx(pressed, rel=1e-6)


def test_a_ball_that_falls_through_spreads_nothing():
    _, tines = tools_of(TEE)
    assert np.all(fork_spreads(replace(tines, slot_mm=float(foot_of(TEE)) + 1.0), TEE) == 0.0)


def test_stiff_tines_are_spread_until_the_skin_of_their_root_breaks():
    stiff = with_material(TEE, handling_modulus_mpa=1e7)
    narrow = replace(AS_DRAWN, tine_mm=1.3)
    material = TEE.conditions.material
    wide, slot = 1.3 - OFF, float(narrow.slot_mm) + OFF
    ball = float(foot_of(TEE)) - OFF
    step = np.clip(np.min(tapped(TEE, narrow.slot_mm)) // narrow.rise_mm, 1.0, narrow.steps)
    arm = (float(narrow.steps) - step + 0.5) * narrow.step_mm
    thick = step * narrow.rise_mm - OFF + arm * narrow.rise_mm / narrow.step_mm
    side = material.handling_short_z_mpa * wide**2 * thick / 6.0 / arm
    by_ball = 2.0 * side * np.sqrt(ball**2 - slot**2) / slot
    hollow = 4.0 * material.handling_short_z_mpa * 2.0 * wide * (step * 2.0 - OFF) ** 2 / 6.0
    assert by_ball < hollow / float(foot_of(TEE))
    assert np.ravel(fork_spreads(narrow, stiff)) == pytest.approx(by_ball, rel=1e-9)
