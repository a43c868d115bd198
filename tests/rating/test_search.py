"""Of the tapers that may be tried the shortest seat that passes is drawn; the rest say why not."""

from dataclasses import replace
from random import Random

import numpy as np
import pytest

from barbwright.checks.result import CAUTION, FAIL, NO_SIZE, PASS, VERDICTS
from barbwright.design import tip as tip_rules
from barbwright.design.conditions import SeatChoice
from barbwright.design.part import KINDS, design_part
from barbwright.design.tip import asked_of
from barbwright.job import numbers
from barbwright.jobs.plan import plan_part
from barbwright.rating import search as search_module
from barbwright.rating.judging import grade_design
from barbwright.rating.limits import at_pressure
from barbwright.rating.search import designed, grade, search, searched
from barbwright.rating.stack import stack
from example_job import job_of
from random_jobs import random_job

TAPERS = tip_rules.TAPERS
PRESSURES = np.linspace(0.1, 1.2, 9)


def one_by_one(kind, conditions, tapers=TAPERS):
    """The same question asked the long way: each seat chosen, each a design of its own."""
    found = []
    for taper in tapers:
        asked = asked_of(conditions, {}, taper)
        contacts = (
            asked.contact_mm(outright=False),
            asked.contact_mm(outright=True),
            asked.most_whole_mm,
        )
        for contact in contacts:
            chosen = replace(conditions, chosen=SeatChoice(taper, float(contact)))
            design = design_part(KINDS[kind], chosen)
            graded = grade_design(design)
            code, proved = int(graded.code), bool(graded.proved)
            found.append((code, float(design.tip.seat_mm), taper, proved))
    return found


@pytest.mark.slow
def test_the_shortest_seat_of_the_best_verdict_is_drawn_on_random_designs():
    random = Random("tapers")
    for _ in range(12):
        kind, job = random_job(random, random.choice(("tip", "elbow", "tee")), sound=True)
        conditions = numbers.conditions(job)
        long = one_by_one(kind, conditions)
        best = min(code for code, *_rest in long)
        design = designed(KINDS[kind], conditions)
        assert int(grade_design(design).code) == best
        if best < FAIL:
            # A pass outright may be up to 3 mm longer than the shortest that the field proves.
            seats = [seat + 3.0 * (proved and best == PASS) for code, seat, _, proved in long
                     if code == best]  # fmt: skip
            mine = bool(grade_design(design).proved) and best == PASS
            assert design.tip.seat_mm + 3.0 * mine == pytest.approx(min(seats))


def test_many_conditions_at_once_take_what_each_takes_alone():
    conditions = numbers.conditions(job_of("elbow"))
    many = grade(KINDS["elbow"], at_pressure(conditions, PRESSURES), shape=PRESSURES.shape)
    for index, pressure in enumerate(PRESSURES):
        alone = grade(KINDS["elbow"], at_pressure(conditions, float(pressure)))
        assert many.code[index] == alone.code
        assert np.array_equal(many.verdicts[:, index], alone.verdicts)


def test_a_forced_taper_is_drawn_and_a_part_without_a_tip_is_not_searched():
    conditions = numbers.conditions(job_of("elbow"))
    assert searched(KINDS["barb"], numbers.conditions(job_of("barb")), {}) is None
    assert designed(KINDS["elbow"], conditions, {"taper": 0.04}).tip.taper == 0.04
    both = {"taper": 0.04, "contact": 9.0}
    assert searched(KINDS["elbow"], conditions, both) is None
    assert designed(KINDS["elbow"], conditions, both).tip.contact_mm == 9.0
    # A forced contact leaves the tapers to be tried.
    found = searched(KINDS["elbow"], conditions, {"contact": 9.0})
    assert len(found.tried()) == len(TAPERS)


@pytest.mark.parametrize("tool", ["driver", "fork"])
def test_a_tool_is_made_for_the_seat_that_its_part_takes(tool):
    """In soft wood that is a slimmer taper than the one drawn without a search."""
    job = job_of("elbow", wood="pine eastern white")
    plan = plan_part(KINDS[tool], job)
    host = plan.design.own.made_for
    alone = plan_part(host.kind, job).design
    assert alone.tip.taper < 1.0 / 15.0
    assert host.tip.taper == alone.tip.taper
    assert host.tip.seat_mm == alone.tip.seat_mm
    assert plan.tapers == ()


def test_the_table_says_what_each_taper_would_have_given_and_why_it_lost():
    plan = plan_part(KINDS["elbow"], job_of("elbow"))
    assert [row.taper for row in plan.tapers] == list(TAPERS)
    (taken,) = [row for row in plan.tapers if not row.lost]
    assert taken.taper == plan.design.tip.taper
    assert taken.seat_mm == plan.design.tip.seat_mm
    assert taken.contact_mm == plan.design.tip.contact_mm
    conditions = numbers.conditions(plan.job)
    for row in plan.tapers:
        long = one_by_one("elbow", conditions, (row.taper,))
        best = min(code for code, *_rest in long)
        assert row.outcome in {VERDICTS[best], "proved"}
        if best == NO_SIZE:
            assert (row.seat_mm, row.lost) == (None, "no size")
        elif row.outcome == "fail":
            assert row.lost == f"{row.check}: fail"
        elif row.lost:
            assert row.lost.endswith("mm longer")


def test_an_outright_pass_is_taken_where_it_costs_at_most_3_mm():
    """20 psi in red oak: held outright by the weakest wood, and hardly longer."""
    plan = plan_part(KINDS["elbow"], job_of("elbow", pressure="20psi"))
    assert not plan.proved_in_field
    proved = plan_part(KINDS["elbow"], job_of("elbow"))
    assert [one.info.id for one in proved.proved_in_field] == ["wood_hold"]


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
            ids=real.ids, code=self.code, verdicts=verdicts, use=full(real.use),
            because=real.because, unsized=self.code == NO_SIZE, leans=self.proved,
        )  # fmt: skip

    def taken(self, outright_mm):
        tip = type("Tip", (), {"seat_mm": self.seat_mm, "taper": TAPERS[:4], "contact_mm": 7.0})
        draw = type("Drawn", (), {"tip": tip})
        found = search(lambda _settings: draw, np.arange(4.0), outright_mm=outright_mm)
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


def test_stacked_conditions_of_several_jobs_may_be_searched():
    jobs = [job_of("elbow", bit=bit) for bit in ("15/64", "1/4", "9/32")]
    conditions = [numbers.conditions(job) for job in jobs]
    many = grade(KINDS["elbow"], stack(conditions), shape=(3,))
    assert list(many.code) == [int(grade(KINDS["elbow"], one).code) for one in conditions]
