"""A wider bore or a larger tube that is named is drawn, judged and holds."""

from dataclasses import replace

import numpy as np
import pytest

from barbwright import catalog
from barbwright.design.part import KINDS
from barbwright.job import numbers
from barbwright.rating.choices import with_tube
from barbwright.rating.larger import next_larger_tube, widest_bore
from barbwright.rating.search import grade
from example_job import job_of

PARTS = (KINDS["tee"], KINDS["elbow"])


def holds(tube, job):
    """The tube's own stated rating at the job's temperature, as every check of it has it [MPa]."""
    own = numbers.conditions(with_tube(job, tube)).tubes[0]
    return float(own.rating_mpa)


def by_two_factors(tube, temperature_c):
    """How it was lowered before: as if a rating stated at 21 C were one at 23 C [MPa]."""
    kind = tube.kind
    heat, cold = (
        kind.temperature_factor_at(temperature_c),
        kind.temperature_factor_at(tube.rating_c),
    )
    return tube.rating_mpa * float(heat) / float(cold)


def larger_rows(job):
    return [
        row
        for row in catalog.tubes().values()
        if row.kind.name == "PE"
        and row.od_mm is not None
        and row.rating_mpa is not None
        and row.id_mm > job.tubes[0].inner_mm + 0.05
    ]


@pytest.mark.parametrize("temperature", ["30C", "40C", "50C"])
def test_a_tube_that_holds_only_by_two_factors_is_not_named(temperature):
    # 0.8 to 4.5 % too much; where no fitting passes it was named for the supply all the same.
    job = job_of("elbow", temperature=temperature)
    rows = larger_rows(job)
    tried = 0
    for row in rows:
        kind_says, two_say = holds(row, job), by_two_factors(row, job.temperature_c)
        if two_say < 1.005 * kind_says:
            continue
        tried += 1
        between = replace(job, pressure_mpa=0.5 * (kind_says + two_say))
        found = next_larger_tube(PARTS, between).tube
        assert found is None or holds(found, between) >= between.pressure_mpa
    assert tried >= 3


@pytest.mark.parametrize("pressure", ["30psi", "45psi", "60psi", "90psi"])
def test_the_next_tube_is_the_first_larger_one_that_holds_and_takes_every_part(pressure):
    job = job_of("elbow", pressure=pressure)
    found = next_larger_tube(PARTS, job)
    able = [
        row
        for row in sorted(larger_rows(job), key=lambda row: (row.id_mm, row.id))
        if holds(row, job) >= job.pressure_mpa
    ]
    taking = [
        row
        for row in able
        if not any(grade(kind, numbers.conditions(with_tube(job, row))).fails for kind in PARTS)
    ]
    assert found.tube == next(iter(taking or able), None)
    assert len(found.designs) == (2 if taking else 0)


def test_no_tube_is_named_that_holds_too_little():
    assert next_larger_tube(PARTS, job_of("elbow", pressure="250psi")).tube is None


@pytest.mark.parametrize("name", ["bore", "tip_bore"])
@pytest.mark.parametrize("kind", PARTS, ids=lambda kind: kind.name)
def test_the_widest_bore_is_judged_no_worse_and_a_step_more_is(kind, name):
    job = job_of(kind.name)
    conditions = numbers.conditions(job)
    now = int(grade(kind, conditions).code)
    start_mm = 2.5
    widest = widest_bore(kind, job, name, start_mm)
    steps = np.arange(start_mm + 0.1, widest + 0.15, 0.1).round(6)
    code = [int(grade(kind, conditions, {name: float(size)}).code) for size in steps]
    assert all(one <= now for one in code[:-1])
    assert code[-1] > now


def test_which_tubes_are_the_same_size_is_the_figure_a_measured_tube_is_told_by():
    """The next tube was told by 0.05 mm of its own; `--set tube_match_mm` did nothing to it."""
    job = replace(job_of("elbow"), pressure_mpa=0.1)
    plain = next_larger_tube((), job).tube
    wider = {**job.rules, "tube_match_mm": plain.id_mm - job.tubes[0].inner_mm + 0.01}
    assert next_larger_tube((), replace(job, rules=wider)).tube.id_mm > plain.id_mm
