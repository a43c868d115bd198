"""Of the tapers that may be tried the shortest seat that passes is drawn; the rest say why not."""

from random import Random

import numpy as np
import pytest

from barbwright.design.part import KINDS, design_part
from barbwright.job import numbers
from barbwright.jobs.plan import plan_part
from barbwright.rating import search as search_module
from barbwright.rating.judging import CAUTION, FAIL, NO_SIZE, PASS, grade_design
from barbwright.rating.limits import at_pressure
from barbwright.rating.search import designed, grade, search, searched
from barbwright.rating.stack import stack
from example_job import job_of
from random_jobs import random_job

TAPERS = (1 / 10, 1 / 12, 1 / 15, 1 / 20, 1 / 25, 1 / 30)
PRESSURES = np.linspace(0.1, 1.2, 9)


@pytest.fixture
def series(monkeypatch):
    monkeypatch.setattr(search_module, "SEARCHED", TAPERS)


def one_by_one(kind, conditions):
    """The same question asked the long way: each taper forced, each a design of its own."""
    found = []
    for taper in TAPERS:
        design = design_part(KINDS[kind], conditions, {"taper": taper})
        found.append((int(grade_design(design).code), float(design.tip.seat_mm), taper))
    return found


@pytest.mark.usefixtures("series")
def test_the_shortest_seat_of_the_best_verdict_is_drawn_on_random_designs():
    random = Random("tapers")
    for _ in range(12):
        kind, job = random_job(random, random.choice(("tip", "elbow", "tee")), sound=True)
        conditions = numbers.conditions(job)
        long = one_by_one(kind, conditions)
        best = min(code for code, _seat, _taper in long)
        tip = designed(KINDS[kind], conditions).tip
        drawn = {taper: code for code, _seat, taper in long}[tip.taper]
        assert drawn == best
        if best < FAIL:
            assert tip.seat_mm == min(seat for code, seat, _taper in long if code == best)


@pytest.mark.usefixtures("series")
def test_many_conditions_at_once_take_what_each_takes_alone():
    conditions = numbers.conditions(job_of("elbow"))
    many = grade(KINDS["elbow"], at_pressure(conditions, PRESSURES), shape=PRESSURES.shape)
    for index, pressure in enumerate(PRESSURES):
        alone = grade(KINDS["elbow"], at_pressure(conditions, float(pressure)))
        assert many.code[index] == alone.code
        assert np.array_equal(many.verdicts[:, index], alone.verdicts)


@pytest.mark.usefixtures("series")
def test_a_forced_taper_and_a_part_without_a_tip_are_not_searched():
    conditions = numbers.conditions(job_of("elbow"))
    assert searched(KINDS["elbow"], conditions, {"taper": 0.04}) is None
    assert searched(KINDS["barb"], numbers.conditions(job_of("barb")), {}) is None
    assert designed(KINDS["elbow"], conditions, {"taper": 0.04}).tip.taper == 0.04


@pytest.mark.usefixtures("series")
def test_the_table_says_what_each_taper_would_have_given_and_why_it_lost():
    plan = plan_part(KINDS["elbow"], job_of("elbow"))
    assert [row.setting for row in plan.tapers] == list(TAPERS)
    (taken,) = [row for row in plan.tapers if not row.lost]
    assert taken.setting == float(plan.design.tip.taper)
    assert taken.seat_mm == float(plan.design.tip.seat_mm)
    for row, (code, seat_mm, _taper) in zip(
        plan.tapers, one_by_one("elbow", numbers.conditions(plan.job)), strict=True
    ):
        assert row.outcome == ("pass", "caution", "fail", "no_size")[code]
        assert row.seat_mm == (None if code == NO_SIZE else seat_mm)
        if row.outcome == "fail":
            assert row.lost == f"{row.check}: fail"


def test_without_a_series_the_rule_s_own_taper_is_drawn():
    plan = plan_part(KINDS["elbow"], job_of("elbow"))
    assert plan.tapers == ()
    assert plan.design.tip.taper == 0.05


class Judgement:
    """What a made-up judge says of each setting, in place of the checks."""

    def __init__(self, monkeypatch, code, seat_mm, proved):
        real = grade_design(design_part(KINDS["tip"], numbers.conditions(job_of("tip"))))
        self.code, self.seat_mm, self.proved = map(np.array, (code, seat_mm, proved))
        monkeypatch.setattr(
            search_module, "grade_design", lambda _design, _shape: self.graded(real)
        )

    def graded(self, real):
        def full(values):
            return np.repeat(values[:, None], len(self.code), axis=1)

        verdicts = np.minimum(np.broadcast_to(self.code, full(real.verdicts).shape), FAIL)
        return type(real)(
            real.ids, self.code, verdicts, full(real.use), real.because,
            self.code == NO_SIZE, self.proved,
        )  # fmt: skip

    def taken(self, outright_mm):
        tip = type("Tip", (), {"seat_mm": self.seat_mm})
        draw = type("Drawn", (), {"tip": tip})
        found = search(lambda _settings: draw, np.array(TAPERS[:4]), outright_mm=outright_mm)
        return int(found.taken), found.tried()


@pytest.mark.parametrize(
    ("code", "seat_mm", "proved", "taken"),
    [
        ((PASS, PASS, PASS, PASS), (30, 20, 22, 25), (0, 0, 0, 0), 1),
        ((PASS, PASS, PASS, PASS), (30, 20, 22, 25), (0, 1, 0, 0), 2),
        ((PASS, PASS, PASS, PASS), (30, 20, 24, 25), (0, 1, 0, 0), 1),
        ((CAUTION, FAIL, NO_SIZE, CAUTION), (30, 20, 10, 28), (0, 0, 0, 0), 3),
        ((NO_SIZE, FAIL, NO_SIZE, NO_SIZE), (30, 20, 10, 28), (0, 0, 0, 0), 1),
        ((NO_SIZE, NO_SIZE, NO_SIZE, NO_SIZE), (30, 20, 10, 28), (0, 0, 0, 0), 3),
    ],
)
def test_an_outright_pass_is_worth_three_millimetres_and_a_worse_verdict_never_wins(
    monkeypatch, code, seat_mm, proved, taken
):
    judge = Judgement(monkeypatch, code, seat_mm, np.array(proved, dtype=bool))
    index, table = judge.taken(3.0)
    assert index == taken
    assert [row.lost == "" for row in table] == [place == taken for place in range(4)]


def test_stacked_conditions_of_several_jobs_may_be_searched(series):
    jobs = [job_of("elbow", bit=bit) for bit in ("15/64", "1/4", "9/32")]
    conditions = [numbers.conditions(job) for job in jobs]
    many = grade(KINDS["elbow"], stack(conditions), shape=(3,))
    assert list(many.code) == [int(grade(KINDS["elbow"], one).code) for one in conditions]
