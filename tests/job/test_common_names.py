"""A common name of several woods: each check takes the worst of them, whichever that is."""

from dataclasses import replace

import pytest

from barbwright.catalog.wood import find_woods
from barbwright.checks.table import judge_all, outcomes
from barbwright.job import numbers
from example_job import design_of, job_of

IN_WOOD = (
    "wood_hold", "wood_seal", "wood_split", "tip_crush", "drive_squash", "drive_buckle",
    "drive_offset", "twist_out", "pull_out", "side_turn", "line_pull",
)  # fmt: skip


def judged(design):
    return {one.info.id: one for one in outcomes(judge_all(design)) if one.info.id in IN_WOOD}


@pytest.mark.parametrize("name", ["maple", "oak", "pine", "hardwood", "softwood"])
def test_each_check_is_as_bad_as_in_the_worst_wood_of_the_name_and_hardly_worse(name):
    common = design_of(wood=name)
    found = judged(common)
    each = []
    for wood in find_woods(name):
        species = numbers.conditions(job_of(wood=wood.name)).wood
        alone = replace(common, conditions=replace(common.conditions, wood=species))
        each.append(judged(alone))
    assert len(each) > 2
    assert set(found) == set(IN_WOOD)
    for check, one in found.items():
        worst = min(other[check].safety_factor for other in each)
        # Only the hand's own push, which goes farthest in the softest, is counted for the hardest.
        assert 0.85 * worst <= one.safety_factor <= worst * (1.0 + 1e-9), check


def test_hickory_alone_is_no_harder_than_a_hardwood_of_any_kind():
    """It failed driving, and "hardwood" passed: what holds least is the easiest to drive."""
    hickory, any_of_them = (
        judged(design_of(wood=name))["drive_squash"] for name in ("hickory shagbark", "hardwood")
    )
    assert any_of_them.safety_factor < hickory.safety_factor


def test_one_line_says_which_wood_counts_for_what():
    (said,) = (text for text in job_of(wood="oak").warnings if "oak" in text)
    assert "3 woods have this name, and each check takes the worst of them" in said
    assert "oak northern red holds and seals least, oak pin is hardest to drive" in said
    assert job_of(wood="oak northern red").warnings == job_of(wood="oak pin").warnings
