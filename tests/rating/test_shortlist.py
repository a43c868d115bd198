"""A shortlist of seats takes what judging every seat takes, to the last digit, and judges few."""

from dataclasses import fields
from random import Random

import numpy as np
import pytest

from barbwright.checks.result import FAIL, NO_SIZE, VERDICTS
from barbwright.design.part import KINDS
from barbwright.errors import NoSizeError
from barbwright.job import numbers
from barbwright.jobs.rate import read_axes
from barbwright.rating import search as subject
from barbwright.rating.choices import combined
from barbwright.rating.judging import Graded
from barbwright.rating.search import designed, grade
from barbwright.rating.stack import stack
from example_job import job_of
from random_jobs import plan_alone

TEXTS = {"bits": "1/8..3/8", "materials": "all", "woods": "all", "pressures": "20psi..120psi"}
COUNT = 130
BITS = ("3/16", "13/64", "15/64", "1/4", "5/16")


def conditions_at_random(kind, count=COUNT):
    """Points of a large grid: many that pass, fail, have no size or a refused material."""
    job = job_of(kind, temperature="30C")
    axes = read_axes(job, KINDS[kind], TEXTS, 17)
    shape = tuple(len(one) for one in axes)
    rows = np.array(Random(f"shortlist {kind}").sample(range(int(np.prod(shape))), count))
    return combined(numbers.conditions(job), axes, list(np.unravel_index(rows, shape)))


def every_seat(monkeypatch):
    monkeypatch.setattr(subject, "_MANY_DESIGNS", 10**9)


FORCED = [
    ("tee", {}, 0.4),
    ("tip", {"taper": 0.05}, 0.9),
    ("elbow", {"contact": np.full(COUNT, 6.0)}, 0.9),
]


@pytest.mark.parametrize(("kind", "forced", "share"), FORCED)
def test_verdicts_margins_and_seats_are_those_of_judging_every_seat(
    monkeypatch, kind, forced, share
):
    conditions = conditions_at_random(kind)
    judged = []
    real = subject.grade_design
    monkeypatch.setattr(
        subject, "grade_design", lambda d, shape: judged.append(shape) or real(d, shape)
    )
    short = grade(KINDS[kind], conditions, forced, (COUNT,))
    few, seats = sum(int(np.prod(shape)) for shape in judged), short.code.size
    drawn = designed(KINDS[kind], conditions, forced, (COUNT,))
    every_seat(monkeypatch)
    judged.clear()
    long = grade(KINDS[kind], conditions, forced, (COUNT,))
    assert {NO_SIZE, FAIL} <= set(long.code.tolist())
    assert len(set(long.code.tolist())) >= 3
    assert few < share * sum(int(np.prod(shape)) for shape in judged)
    assert few >= seats
    for field in fields(Graded):
        mine, theirs = getattr(short, field.name), getattr(long, field.name)
        if isinstance(theirs, tuple):
            assert mine == theirs
        else:
            np.testing.assert_array_equal(mine, theirs)
            assert mine.dtype == theirs.dtype
    full = designed(KINDS[kind], conditions, forced, (COUNT,))
    for name in ("taper", "contact_mm", "seat_mm", "lead_mm"):
        np.testing.assert_array_equal(getattr(drawn.tip, name), getattr(full.tip, name))


def test_a_tool_takes_the_seat_of_its_part_from_a_shortlist_too(monkeypatch):
    conditions = conditions_at_random("elbow", 70)
    short = designed(KINDS["fork"], conditions, {}, (70,))
    every_seat(monkeypatch)
    long = designed(KINDS["fork"], conditions, {}, (70,))
    assert short.own is not None
    sizes = [name for name, size in vars(long.own).items() if isinstance(size, np.ndarray)]
    assert sizes
    for name in sizes:
        np.testing.assert_array_equal(getattr(short.own, name), getattr(long.own, name))


def test_verdicts_are_those_of_the_plan_of_each_job():
    random, kind = Random("as planned"), KINDS["tee"]
    jobs = [
        job_of("tee", pressure=f"{random.randint(20, 70)}psi", bit=random.choice(BITS),
               wood=random.choice(("maple sugar", "oak northern red", "basswood")))
        for _ in range(3)
    ]  # fmt: skip
    many = stack([numbers.conditions(job) for job in jobs] * 22)
    found = grade(kind, many, {}, (66,))
    for at, job in enumerate(jobs):
        try:
            told = plan_alone("tee", job).verdict
        except NoSizeError:
            told = "no_size"
        assert VERDICTS[found.code[at]] == told
        assert (found.code[at::3] == found.code[at]).all()
