"""Who does not know the wood is told no less, and nothing looser, than who does."""

from dataclasses import replace

import pytest

from barbwright import catalog
from barbwright.checks.table import judge_all, outcomes
from barbwright.design.part import find_kind
from barbwright.design.tapping import how_to_use, tap_window
from barbwright.job.numbers import wood_conditions
from barbwright.job.reading import read_job
from barbwright.job.record import WoodInput
from barbwright.jobs.papers import part_report
from barbwright.jobs.plan import plan_part
from barbwright.report.cards import field_card
from barbwright.report.sheet import sheet_html

GIVEN = {
    "tube_id": "0.170in", "tube_od": "0.250in", "tube_material": "LLDPE", "bit": "15/64",
    "pressure": "45psi",
}  # fmt: skip


def rules_of(design):
    return {one.info.id: one for one in outcomes(judge_all(design)) if one.rule}


@pytest.mark.parametrize("kind", ["tee", "tip"])
def test_rules_without_a_wood_are_the_strictest_of_all_woods(kind):
    plan = plan_part(find_kind(kind), read_job({}, GIVEN))
    assert plan.verdict == "caution"
    unknown = rules_of(plan.design)
    assert {
        "line_pull",
        "drive_squash",
        "drive_buckle",
        "drive_offset",
        "twist_out",
        "pull_out",
    } <= set(unknown)
    for wood in catalog.woods().values():
        named = wood_conditions(WoodInput.species(wood), plan.job.rules)
        same = replace(plan.design, conditions=replace(plan.design.conditions, wood=named))
        for name, one in rules_of(same).items():
            mine = unknown[name]
            words, value = one.info.rule_for(one.advice)
            bound = one.advice[value]
            if name == "drive_buckle":
                # Bare where this wood says never, or a heavier hammer, would be looser.
                assert mine.advice["hammer_g"] <= one.advice["hammer_g"]
                assert mine.advice["driver_hammer_g"] <= one.advice["driver_hammer_g"]
            elif one.info.rule_rounds == "up":
                assert mine.advice[value] >= bound
            else:
                assert mine.advice[value] <= bound * (1 + 1e-9), (wood.id, words)


def test_no_rule_names_a_hammer_of_no_weight():
    plan = plan_part(find_kind("tee"), read_job({}, GIVEN))
    (hammer,) = [one for one in plan.results if one.info.id == "drive_buckle"]
    assert hammer.verdict == "not_checked"
    assert hammer.capacity is None
    assert " 0 g" not in hammer.rule
    assert "never tap on the bare tip" in hammer.rule
    assert "strictest of all woods" in hammer.because


@pytest.mark.parametrize("kind", ["tip", "elbow", "driver", "fork", "collar", "barb"])
def test_a_wood_not_named_is_told_beside_what_was_sized_without_it(kind):
    without, named = (
        plan_part(find_kind(kind), read_job({}, {**GIVEN, **wood}))
        for wood in ({}, {"wood": "elm american"})
    )
    window = tap_window(without.design)
    told = " ".join((*how_to_use(without.design), window.sentence if window else ""))
    assert told.count("ame your wood before you drive") == (kind not in {"collar", "barb"})
    if window is not None:
        assert f"specific gravity {without.job.rules['wood_specific_gravity_default']:g}" in told
        assert "handling rules are those of the worst wood on file" in told
    window = tap_window(named.design)
    said = " ".join((*how_to_use(named.design), window.sentence if window else ""))
    assert "before you drive" not in said
    page = " ".join(sheet_html(part_report(without)).decode().split())
    assert ("ame your wood before you drive" in page) == (kind not in {"collar", "barb"})
    card = " ".join(field_card(part_report(without)))
    assert ("ame your wood before you drive" in card) == (kind not in {"collar", "barb"})
