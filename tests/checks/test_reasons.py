"""Why a verdict is what it is: what is least to spare, and which rules are always said."""

from dataclasses import replace

import pytest

from barbwright.checks.reasons import least_margin, verdict_reason
from barbwright.checks.result import CHECKS
from example_job import outcomes_of
from run_cli import run

DEMO = ["--tube-id", "0.170in", "--tube-od", "0.250in", "--tube-material", "LLDPE",
        "--bit", "15/64", "--pressure", "45psi", "--wood", "oak northern red"]  # fmt: skip


@pytest.mark.parametrize("kind", ["tee", "tip", "barb"])
def test_a_rule_for_the_hands_is_never_what_leaves_the_least_to_spare(kind):
    """`line_pull` stood there for every part, and says its limit as a rule."""
    outcomes = outcomes_of(kind)
    least = least_margin(outcomes.values())
    others = [
        one.use for one in outcomes.values()
        if one.info.stage == "service" and one.verdict != "not_checked"
    ]  # fmt: skip
    assert least.use == min(others)
    assert least.rule == ""
    assert min(one.use for one in outcomes.values() if one.rule) < least.use
    # Of a part that fails, what fails in the hands counts as well.
    weak = outcomes_of("tee", wood="hardwood 0.95")
    failing = [one for one in weak.values() if one.verdict == "fail"]
    assert any(one.info.stage == "handling" for one in failing)
    assert least_margin(weak.values()).verdict == "fail"


def test_what_fails_is_named_before_what_a_pull_may_prove():
    """A soft tube slipped, and the line named the wood, 1.61 of the 3 that nobody need show."""
    slips = outcomes_of("elbow", tube_id="6mm", tube_od="8mm", tube_material="PU", shore=None,
                        bit="8mm", pressure="4bar", wood="oak")  # fmt: skip
    assert slips["barb_grip"].verdict == "fail"
    assert slips["wood_hold"].use < slips["barb_grip"].use
    assert least_margin(slips.values()).info.id == "barb_grip"
    # What has no factor leaves no margin to tell.
    endless = replace(slips["barb_grip"], safety_factor=None)
    assert least_margin([endless]) is None


def test_the_line_says_that_a_pull_proves_what_is_least():
    done = run("check", "tee", *DEMO)
    said = [line for line in done.out.splitlines() if line.startswith("least to spare")]
    assert said == ["least to spare: wood_hold, 2.05 of 3, which is proved in the field"]


def test_how_wings_are_turned_is_said_of_a_driver_that_passes():
    """They pass because fingertips turn them: a tool on them breaks the tip."""
    assert {name for name, info in CHECKS.items() if info.rule_always} == {
        "driver_wings",
        "fork_pull",
    }
    one = outcomes_of("driver", ("arms=2",))["driver_wings"]
    assert one.verdict == "pass"
    assert "two fingertips on its wings, and with no tool" in one.rule
    broken = outcomes_of("driver", ("arms=2", "wing_gives_way=0.5"))["driver_wings"]
    assert broken.rule == "" if broken.verdict == "fail" else broken.rule


def test_the_headline_names_what_only_a_rule_keeps_from_failing():
    """`line_pull` takes 5 N of an expected tug of 20 N: a pass, because the line is tied."""
    tee = outcomes_of("tee")
    assert tee["line_pull"].verdict == "caution"
    assert tee["line_pull"].capacity_expected < tee["line_pull"].demand
    said = verdict_reason(tee.values())
    assert "line_pull" in said.partition("by their rules alone: ")[2]
    # Squash is a caution as well, and holds what is expected: its rule guards the upper force.
    assert tee["drive_squash"].verdict == "caution"
    assert "drive_squash" not in said


def test_a_caution_names_what_is_not_sure_and_what_was_not_checked():
    service = [one for one in outcomes_of().values() if one.info.stage == "service"][:4]
    sure, one, two, open_ = service
    sure = replace(sure, verdict="pass")
    one, two = (replace(each, verdict="caution") for each in (one, two))
    open_ = replace(open_, verdict="not_checked")
    first, second = one.info.id, two.info.id
    assert verdict_reason([sure, one]) == f"{first} is not sure"
    assert verdict_reason([sure, one, two]) == f"{first}, {second} are not sure"
    missing = f"not checked: {open_.info.id}"
    assert verdict_reason([sure, one, open_]) == f"{first} is not sure; {missing}"
    assert verdict_reason([sure, open_]) == missing


def test_one_rule_alone_that_keeps_an_expected_load_off_is_told_in_the_singular():
    left = [
        one for one in outcomes_of("elbow").values()
        if one.info.stage != "handling" or one.verdict != "caution" or one.info.id == "line_pull"
    ]  # fmt: skip
    assert verdict_reason(left).endswith("(by its rule alone: line_pull)")
