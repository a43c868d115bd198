"""The hook end of a fork under the pull that proves a seat, by statics written anew."""

import numpy as np
import pytest

from barbwright.checks.corners import worst_case
from barbwright.checks.tools import fork_pull
from barbwright.design.foot import foot_of
from barbwright.design.tip import proving_pull
from example_job import design_of


@pytest.mark.parametrize("settings", [(), ("bark_mm=12mm",)])
def test_a_tine_bends_and_an_eye_shears_as_a_drawing_and_a_balance_of_forces_say(settings):
    fork = design_of("fork", settings)
    hook, host = fork.own.hook, fork.own.host
    off = float(fork.conditions.material.tolerance_at(hook.thick_mm))
    pull = float(np.squeeze(proving_pull(host.conditions, host.tip)))
    thick, wide = float(hook.thick_mm) - off, float(foot_of(host)) - off
    # The tip's ring lies flat from the slot's edge to its own rim: its half of the pull stands in
    # the middle of that, and goes to the eye beside it.
    assert host.ring is not None
    edge, eye = ((float(hook.slot_mm) - off) / 2.0 + wide / 2.0) / 2.0, float(hook.eyes_mm) / 2.0
    section = wide * (thick - float(hook.cup_mm)) ** 2 / 6.0
    bending = pull / 2.0 * (eye - edge) / section
    # The cord of one eye tears two strips out, each as deep as the hook is thick.
    strips = 2 * (float(hook.wall_mm) - off) * thick
    shearing = pull / 2.0 / strips

    found = fork_pull(worst_case(fork))
    demand, capacity = np.ravel(found.demand), np.ravel(found.capacity)
    assert demand == pytest.approx([bending, shearing], rel=1e-9)
    strength = fork.conditions.material.handling_short_z_mpa
    # Shear over tension by von Mises, one over the root of three.
    assert capacity == pytest.approx([strength, strength / np.sqrt(3.0)], rel=1e-3)
