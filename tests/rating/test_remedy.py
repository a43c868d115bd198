"""A change that is named has passed, and passes when it is made."""

from dataclasses import replace
from random import Random

import pytest

from barbwright.design.part import KINDS
from barbwright.errors import BarbwrightError
from barbwright.jobs.plan import plan_part
from barbwright.jobs.record import document, failure
from barbwright.rating.remedy import apply, cure, nearest_changes
from example_job import DRIP, SOFT_PVC, job_of
from random_jobs import passes, random_job
from slow_bound import EXAMPLES


def failing_jobs(count, seed):
    random = Random(seed)
    found = []
    while len(found) < count:
        kind, job = random_job(random)
        try:
            if not plan_part(KINDS[kind], job).passed:
                found.append((kind, job))
        except BarbwrightError:
            continue  # no size exists: that has its own message
    return found


def assert_cured(jobs):
    cured = 0
    for kind, job in jobs:
        changes = nearest_changes(job, KINDS[kind])
        cured += bool(changes)
        for change in changes:
            assert passes(kind, apply(job, change)), (kind, job.inputs, change)
            if not change.also:
                assert not passes(kind, job)
    return cured


def test_every_change_that_is_named_passes_on_random_failing_designs():
    jobs = failing_jobs(16, "remedies")
    assert assert_cured(jobs) >= 0.9 * len(jobs)


@pytest.mark.slow
def test_every_change_that_is_named_passes_on_many_random_failing_designs():
    jobs = failing_jobs(min(300, 8 * EXAMPLES), "three hundred remedies")
    assert assert_cured(jobs) >= 0.9 * len(jobs)


CASES = {
    "too much pressure": (job_of("elbow", pressure="150psi"), "pressure"),
    "relief too high": (job_of("elbow", relief="150psi"), "relief"),
    "drip tubing": (job_of("elbow", pressure="55psi", **DRIP), "tube"),
    "prototype material": (job_of("tee", material="fff_pla"), "material"),
    "too hot": (job_of("elbow", temperature="75C"), "temperature"),
    "forced contact": (job_of("tip", ("contact=30mm",)), "set"),
    "soft tube, low pressure": (job_of("barb", pressure="12psi", **SOFT_PVC), "clamp"),
}


@pytest.mark.parametrize("case", CASES)
def test_the_input_that_is_wrong_is_among_those_named(case):
    job, option = CASES[case]
    kind = {"prototype material": "tee", "forced contact": "tip"}.get(case, "elbow")
    kind = "barb" if case.startswith("soft tube") else kind
    changes = nearest_changes(job, KINDS[kind])
    assert option in {change.option for change in changes}
    assert all(passes(kind, apply(job, change)) for change in changes)


def test_the_pressure_named_is_the_highest_whole_one_that_passes():
    job = job_of("elbow", pressure="150psi")
    (change,) = [c for c in nearest_changes(job, KINDS["elbow"]) if c.option == "pressure"]
    psi = float(change.value.removesuffix("psi"))
    assert change.text == f"{psi:.0f} psi"
    assert passes("elbow", apply(job, change))
    assert not passes("elbow", apply(job, replace(change, value=f"{psi + 1:.0f}psi")))


def test_two_faults_are_cured_by_two_changes_and_neither_alone():
    job = job_of("elbow", material="fff_pla", pressure="30psi", **SOFT_PVC)
    changes = nearest_changes(job, KINDS["elbow"])
    assert changes
    for change in changes:
        assert change.also
        assert passes("elbow", apply(job, change))
        for single in (replace(change, also=()), *change.also):
            assert not passes("elbow", apply(job, single))


def test_nothing_is_named_where_nothing_fails():
    assert nearest_changes(job_of("elbow"), KINDS["elbow"]) == ()


def test_where_nothing_helps_it_is_said():
    assert "passes" in cure(())
    # Wood so soft that nothing holds in it, at a pressure that may not go lower.
    job = job_of("elbow", pressure="11psi", wood="softwood 0.2")
    plan = plan_part(KINDS["elbow"], job)
    if not plan.passed:
        changes = nearest_changes(job, KINDS["elbow"])
        assert all(passes("elbow", apply(job, change)) for change in changes)


def test_every_fail_of_a_document_and_of_the_message_carries_it():
    plan = plan_part(KINDS["elbow"], job_of("elbow", pressure="55psi", **DRIP))
    said = cure(plan.changes)
    fails = [one for one in document(plan, "check")["checks"] if one["verdict"] == "fail"]
    assert fails
    assert all(one["remedy"].startswith(said) for one in fails)
    assert all(fault.do.startswith(said) for fault in failure(plan).faults)
    cautions = [one for one in document(plan, "check")["checks"] if one["verdict"] == "caution"]
    assert all("computed" not in one["remedy"] for one in cautions)
