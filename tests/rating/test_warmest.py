"""Up to which temperature a part that is drawn stays good, its sizes held."""

from dataclasses import replace

import pytest

from barbwright.checks.table import judge_all, outcomes, overall
from barbwright.design.part import KINDS
from barbwright.job import numbers
from barbwright.jobs.plan import plan_part
from barbwright.rating import warmest as judged
from barbwright.rating.warmest import warmest
from barbwright.report.cards import hot_day
from example_job import DRIP, job_of

CASES = {
    "hard tube": job_of("tee"),
    "rubber, whose grip goes first": job_of(
        "elbow", tube="PU 5.5 x 8 mm", tube_id=None, tube_od=None, tube_material=None, bit="1/4",
        pressure="3bar", wood="elm american",
    ),
    "no wood named": job_of("elbow", wood=None),
}  # fmt: skip


def held(job, design, degrees):
    """The verdict and what does not pass of the drawn part at another temperature, from scratch."""
    warm = numbers.conditions(replace(job, temperature_c=degrees))
    tubes = tuple(
        replace(tube, expansion=drawn.expansion, expansion_most=0.0)
        for tube, drawn in zip(warm.tubes, design.conditions.tubes, strict=True)
    )
    rows = outcomes(judge_all(replace(design, conditions=replace(warm, tubes=tubes))))
    return overall(rows), {one.info.id for one in rows if one.verdict != "pass"}


@pytest.mark.parametrize("case", CASES)
def test_a_part_keeps_its_verdict_up_to_there_and_loses_it_a_degree_above(case):
    job = CASES[case]
    kind = KINDS["tee" if case == "hard tube" else "elbow"]
    plan = plan_part(kind, job)
    found = warmest(job, plan.design)
    assert 30.0 < found.highest_c < 60.0
    for degrees in (found.highest_c - 1.0, found.highest_c):
        assert held(job, plan.design, degrees)[0] == plan.verdict
    verdict, short = held(job, plan.design, found.highest_c + 1.0)
    assert ["pass", "caution", "fail"].index(verdict) > ["pass", "caution"].index(plan.verdict)
    assert found.check in short


def test_what_fails_already_and_a_tool_have_no_hot_day():
    job = job_of("elbow", pressure="55psi", **DRIP)
    plan = plan_part(KINDS["elbow"], job)
    assert plan.verdict == "fail"
    assert warmest(job, plan.design) is None
    job = job_of("fork")
    assert warmest(job, plan_part(KINDS["fork"], job).design) is None
    assert hot_day([None, None]) == ()


def test_a_line_is_as_good_as_its_first_part_to_give_up_and_says_so_in_both_units():
    job = CASES["hard tube"]
    good = warmest(job, plan_part(KINDS["tee"], job).design)
    (said,) = hot_day([good, replace(good, highest_c=34.0, check="barb_grip"), None])
    assert "good up to 34 °C (93 °F)" in said
    assert "grip of tube on barb" in said


def test_who_asks_again_of_the_same_part_is_told_without_judging_it_anew(monkeypatch):
    asked = []
    grading = judged.grade_design
    monkeypatch.setattr(judged, "grade_design", lambda *a: asked.append(1) or grading(*a))
    job = CASES["hard tube"]
    plan = plan_part(KINDS["tee"], job)
    del asked[:]
    first = warmest(job, plan.design)
    assert warmest(job, plan.design) is first
    assert len(asked) == 1
    # Another job's heat is another question, though the sizes are the same.
    warmest(replace(job, temperature_c=35.0), plan.design)
    assert len(asked) == 2
