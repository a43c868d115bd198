"""What a fork carries under a ball, by arithmetic done anew: a spread, and a slot too wide."""

from dataclasses import replace

import numpy as np
import pytest

from barbwright.checks.freed import fork_bears, fork_spreads, tapped, tools_of
from barbwright.design.foot import foot_of
from example_job import design_of

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
