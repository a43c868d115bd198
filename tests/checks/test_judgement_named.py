"""A check's page in `explain` names each judgement number that moves the check."""

from dataclasses import replace

import numpy as np
import pytest

from barbwright.checks.corners import worst_case
from barbwright.checks.result import CHECKS
from barbwright.checks.table import wanted
from barbwright.jobs.explaining import explain_check
from example_job import Watched, design_of

# What a tool is drawn with that its part's checks draw anew, and what the hand's own push travels.
DRAWN = ("driver_", "wing_", "fork_tine", "fork_step", "fork_tallest", "fork_hook", "fork_cup",
         "fork_eye", "fork_back", "fork_slope")  # fmt: skip
BY_HAND = {"hand_push_n", "drive_crush_expected", "drive_friction_expected"}


def told(info, design):
    """All that a check finds, what it advises too, and the judgement numbers it read."""
    rules = Watched(design.conditions.rules)
    case = worst_case(replace(design, conditions=replace(design.conditions, rules=rules)))
    rules.asked.clear()
    with np.errstate(all="ignore"):
        found = info.function(case)
        advice = {**found.advice, **(found.more_advice() if found.more_advice else {})}
    names = ("capacity", "capacity_expected", "demand", "demand_upper", "design_factor")
    numbers = [np.asarray(getattr(found, name), dtype=float) for name in names]
    return [*numbers, *(np.asarray(one, dtype=float) for one in advice.values())], rules.asked


def moved(info, design, name):
    rules = design.conditions.rules
    changed = replace(design.conditions, rules={**rules, name: 1.06 * rules[name]})
    before, after = told(info, design)[0], told(info, replace(design, conditions=changed))[0]
    return not all(
        np.array_equal(*pair, equal_nan=True) for pair in zip(before, after, strict=True)
    )


@pytest.mark.parametrize("kind", ["barb", "tip", "elbow", "cap", "driver"])
def test_what_moves_a_check_is_named_on_its_page(kind):
    design = design_of(kind, clamp="yes") if kind == "barb" else design_of(kind)
    for info in wanted(design.kind, design):
        named = {one["name"] for one in explain_check(info.id)["judgement"]}
        others = {f"design_factor_{name}" for name in CHECKS}
        for name in told(info, design)[1] - named - others - BY_HAND:
            assert name.startswith(DRAWN) or not moved(info, design, name), (info.id, name)


def test_a_number_that_is_left_out_is_seen():
    """The fifth percentile of a wood decides its hold; a page without it would not say so."""
    design = design_of("elbow")
    assert moved(CHECKS["wood_hold"], design, "wood_fifth_percentile")
    assert "wood_fifth_percentile" in told(CHECKS["wood_hold"], design)[1]
    assert not moved(CHECKS["wood_hold"], design, "hammer_step_g")
