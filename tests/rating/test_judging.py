"""Arrays of designs judged in one run say what `check` says of each by itself."""

import re
from random import Random

import numpy as np
import pytest

from barbwright.checks.result import CHECKS, FAIL, NO_SIZE, NOT_CHECKED, VERDICTS
from barbwright.checks.table import governing, judge_all, outcomes
from barbwright.cli.rate import _print_sweep
from barbwright.design.part import KINDS
from barbwright.errors import NoSizeError
from barbwright.job import numbers
from barbwright.jobs.plan import plan_part
from barbwright.jobs.rate import read_axes
from barbwright.rating.search import designed, grade
from barbwright.rating.stack import stack
from barbwright.rating.sweep import sweep
from barbwright.report.rate_plots import sweep_plot
from example_job import job_of
from random_jobs import PART_KINDS, plan_alone, random_job

pytestmark = pytest.mark.usefixtures("no_cures")


@pytest.mark.parametrize("kind", PART_KINDS)
def test_verdict_and_governing_check_are_those_of_one_design_at_a_time(kind):
    random = Random(f"judging {kind}")
    jobs = []
    while len(jobs) < 12:
        job = random_job(random, kind, sound=len(jobs) % 2 == 0)[1]
        # One array holds woods that are named, or none that is.
        if not job.forced and (job.wood is not None or not KINDS[kind].tip):
            jobs.append(job)
    graded = grade(KINDS[kind], stack([numbers.conditions(job) for job in jobs]), {}, (len(jobs),))
    for row, job in enumerate(jobs):
        try:
            plan = plan_alone(kind, job)
        except NoSizeError:
            assert graded.code[row] == NO_SIZE
            continue
        if plan.design is None:  # the material is refused and no size exists either
            assert VERDICTS[graded.code[row]] == plan.verdict == "fail"
            assert graded.ids[int(graded.governing[row])] == plan.governing.info.id
            continue
        assert VERDICTS[graded.code[row]] == plan.verdict
        own = designed(KINDS[kind], numbers.conditions(job), {})
        one = governing(outcomes(judge_all(own)))
        assert graded.ids[int(graded.governing[row])] == one.info.id


def test_a_refused_material_fails_even_where_no_size_exists():
    kind = KINDS["elbow"]
    for material, code in (("fff_pla", FAIL), ("mjf_pa12", NO_SIZE)):
        graded = grade(kind, numbers.conditions(job_of("elbow", bit="1/8", material=material)))
        assert graded.unsized
        assert int(graded.code) == code
    refused = plan_part(kind, job_of("elbow", bit="1/8", material="fff_pla"))
    graded = grade(kind, numbers.conditions(refused.job))
    assert graded.ids[int(graded.governing)] == refused.governing.info.id == "use"


def test_a_single_design_keeps_no_axis():
    graded = grade(
        KINDS["elbow"], numbers.conditions(random_job(Random(5), "elbow", sound=True)[1])
    )
    assert np.shape(graded.code) == np.shape(graded.governing) == ()
    assert graded.verdicts.shape == (len(graded.ids),)


def test_a_code_means_one_thing_whether_of_a_check_or_of_a_part():
    """3 was `not checked` of a check and `no size` of a part, in one record."""
    graded = grade(KINDS["elbow"], numbers.conditions(job_of("elbow", bit="1/8", wood=None)))
    assert VERDICTS[int(graded.code)] == "no_size"
    unknown = graded.verdicts[[CHECKS[name].stage == "service" for name in graded.ids]]
    assert "not_checked" in {VERDICTS[code] for code in unknown}
    assert NO_SIZE != NOT_CHECKED
    assert NO_SIZE not in graded.verdicts
    assert bool(graded.fails)


def test_where_no_size_exists_is_drawn_and_counted_by_its_name(capsys):
    job = job_of("elbow")
    axes = read_axes(job, KINDS["elbow"], {"bits": "1/8, 9/64, 15/64", "pressures": "45psi"}, 2)
    found = sweep(KINDS["elbow"], job, axes)
    assert set(found.code.tolist()) >= {NO_SIZE}
    assert "no size" in sweep_plot(found).decode()
    _print_sweep(found)
    printed = capsys.readouterr().out
    assert f"{np.count_nonzero(found.code == NO_SIZE)} have no size" in printed
    assert printed.count("none") == 1 + np.count_nonzero(found.code == NO_SIZE)


def test_a_pass_that_is_proved_in_the_field_is_drawn_and_counted_as_such(capsys):
    job = job_of("elbow")
    axes = read_axes(job, KINDS["elbow"], {"bits": "15/64", "pressures": "20psi, 45psi"}, 2)
    found = sweep(KINDS["elbow"], job, axes)
    assert found.leans.astype(bool).tolist() == [False, True]
    assert "pass once proved in the field" in sweep_plot(found).decode()
    _print_sweep(found)
    printed = capsys.readouterr().out
    assert re.search(r" pass +prov", printed)
    assert "2 pass (1 of them once proved in the field)" in printed
