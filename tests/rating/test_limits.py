"""The highest pressure is where `check` turns, from both sides, on random designs."""

from dataclasses import replace
from random import Random

import numpy as np
import pytest

from barbwright.design.part import KINDS
from barbwright.errors import NoSizeError
from barbwright.job import numbers
from barbwright.job.record import MOST_MPA
from barbwright.jobs.plan import plan_part
from barbwright.rating import rating as subject
from barbwright.rating.limits import LEAST_MPA, OVERALL, at_pressure, highest_pressures
from barbwright.rating.rating import rate_part
from barbwright.rating.search import grade
from barbwright.rating.stack import stack, take
from example_job import job_of
from random_jobs import PART_KINDS, passes, random_job
from slow_bound import EXAMPLES

# One kind each time; the others, which differ in what they hold, in the slow set.
ONE_OF_EACH = [
    kind if kind == "elbow" else pytest.param(kind, marks=pytest.mark.slow) for kind in PART_KINDS
]

pytestmark = pytest.mark.usefixtures("no_cures")

DESIGNS = 4


def slow(case):
    return pytest.param(case, marks=pytest.mark.slow)


RANDOM = [0, slow(3)]


def limits_of(kind, count, seed):
    random = Random(f"{seed} {kind}")
    jobs = [random_job(random, kind, sound=True)[1] for _ in range(count)]
    conditions = stack([numbers.conditions(job) for job in jobs])
    return jobs, conditions, highest_pressures(KINDS[kind], conditions, {}, count=count)


def grade_at(kind, conditions, rows, pressures):
    """Grade `rows` of stacked conditions at each row of `pressures`, all in one call."""
    pressures = np.asarray(pressures)
    row = np.broadcast_to(rows, pressures.shape).ravel()
    own = at_pressure(take(conditions, row), pressures.ravel())
    return grade(KINDS[kind], own, {}, row.shape)


FOLLOWS = {"tube_id": "0.250in", "tube_od": "0.375in", "bit": "5/16", "wood": "maple red",
           "pressure": "40psi"}  # fmt: skip
SOFT = {"tube_id": "0.250in", "tube_od": "0.375in", "tube_material": "PVC", "shore": "70",
        "tube_rating": "200psi", "clamp": True, "bit": "5/16", "wood": "oak white",
        "pressure": "20psi"}  # fmt: skip
WEAK_CLAMP = ("clamp_length_mm=20mm", "clamp_pressure_mpa=0.4MPa")


@pytest.mark.parametrize("kind", ONE_OF_EACH)
def test_check_passes_just_below_the_limit_and_fails_just_above_it(kind):
    jobs, _, limits = limits_of(kind, DESIGNS, "both sides")
    limited = np.flatnonzero(np.isfinite(limits.overall_mpa))
    assert len(limited) >= DESIGNS // 4, "too few designs with a limit to say anything"
    for row in limited:
        highest, start = limits.overall_mpa[row], limits.start_mpa[-1, row]

        def at(pressure_mpa, job=jobs[row]):
            return passes(kind, replace(job, pressure_mpa=float(pressure_mpa), relief_mpa=None))

        # By its own road, one at a time; many designs at once are in the slow set.
        assert at(highest)
        assert not at(limits.above_mpa[-1, row])
        assert limits.above_mpa[-1, row] - highest < 1e-6
        assert at(max(0.98 * highest, start))


@pytest.mark.slow
@pytest.mark.parametrize("kind", ONE_OF_EACH)
def test_nothing_fails_between_where_it_starts_and_the_limit(kind):
    _, conditions, limits = limits_of(kind, DESIGNS, "dense")
    rows = np.flatnonzero(np.isfinite(limits.overall_mpa))
    start, highest = limits.start_mpa[-1, rows], limits.overall_mpa[rows]
    pressures = start + np.linspace(0.0, 1.0, 31)[:, None] * (highest - start)
    assert not grade_at(kind, conditions, rows, pressures).fails.any()


@pytest.mark.parametrize("kind", ["tip", "barb", *(slow(kind) for kind in ("elbow", "tee"))])
def test_where_no_pressure_passes_none_does(kind):
    random = Random(f"none {kind}")
    jobs = [job for job in (random_job(random, kind)[1] for _ in range(20)) if not job.forced]
    jobs = [job for job in jobs if job.wood is not None or not KINDS[kind].tip]
    conditions = stack([numbers.conditions(job) for job in jobs])
    limits = highest_pressures(KINDS[kind], conditions, {}, count=len(jobs), each=False)
    rows = np.flatnonzero(np.isnan(limits.overall_mpa))
    assert len(rows) > 2
    pressures = np.tile(np.geomspace(LEAST_MPA, MOST_MPA, 20)[:, None], len(rows))
    assert grade_at(kind, conditions, rows, pressures).fails.all()


def test_each_check_has_its_own_limit_and_the_lowest_is_that_of_all():
    conditions = numbers.conditions(job_of("elbow"))
    limits = highest_pressures(KINDS["elbow"], conditions)
    own = limits.highest_mpa[:-1, 0]
    assert limits.ids[-1] == OVERALL
    assert np.nanmin(own) == pytest.approx(limits.overall_mpa[0], abs=1e-6)
    assert limits.governing == (limits.ids[int(np.nanargmin(own))],)
    limited = np.flatnonzero(np.isfinite(own))
    assert len(limited) > 5
    below_and_above = np.concatenate([0.999 * own[limited], 1.001 * own[limited]])
    at = at_pressure(conditions, below_and_above)
    graded = grade(KINDS["elbow"], at, {}, below_and_above.shape)
    order = [graded.ids.index(limits.ids[index]) for index in limited]
    fails = np.array([graded.verdicts[order, np.arange(len(order)) + at] == 2
                      for at in (0, len(order))])  # fmt: skip
    assert not fails[0].any()
    assert fails[1].all()


@pytest.mark.slow
def test_a_limit_does_not_depend_on_the_pressure_that_was_asked():
    found = {
        highest_pressures(
            KINDS["tee"], numbers.conditions(job_of("tee", pressure=asked))
        ).overall_mpa[0]
        for asked in ("10psi", "200psi")
    }
    assert len(found) == 1


@pytest.mark.slow
def test_heat_only_lowers_the_limit_and_what_cannot_be_judged_has_none():
    rating = rate_part(KINDS["elbow"], job_of("elbow"), with_smallest=False)
    known = [one.max_mpa for one in rating.by_temperature if one.max_mpa is not None]
    assert known == sorted(known, reverse=True)
    hot = rating.by_temperature[-1]
    # At 60 C the tube's record says nothing: a higher figure than at 50 C would be a lie. Above a
    # record's last temperature is a fail now, where it could not be judged before.
    assert (hot.temperature_c, hot.max_mpa) == (60.0, None)
    assert {"barb_seal", "barb_grip"} <= set(hot.not_checked)
    assert (hot.governing, hot.because) == ("heat", "heat fails at every pressure")
    assert (hot.judged_mpa, hot.pass_mpa) == (None, None)


@pytest.mark.parametrize("more", RANDOM)
@pytest.mark.parametrize("kind", ["barb", *(slow(kind) for kind in ("elbow", "tee", "tip"))])
def test_the_part_as_drawn_turns_at_its_own_limit_and_keeps_its_sizes(kind, more, monkeypatch):
    random = Random(f"drawn {kind}")
    seen, stricter = 0, 0
    # The smallest bit, wall and wood are not what is looked at here, and cost the most time.
    monkeypatch.setattr(subject, "smallest", lambda _kind, _job: None)
    drawn_at_random = (random_job(random, kind, sound=True)[1] for _ in range(more))
    # The demo's seat is the same at every pressure now; a wider tube's follows it.
    for given in (job_of(kind), job_of(kind, **FOLLOWS), *drawn_at_random):
        job = replace(given, relief_mpa=None)
        rating = rate_part(KINDS[kind], job, ())
        drawn = rating.drawn
        if drawn.limit.max_mpa is None:
            assert drawn.limit.because
            continue
        seen += 1
        held = dict(job.forced)
        if KINDS[kind].tip:
            tip = plan_part(KINDS[kind], job).design.tip
            assert (drawn.contact_mm, drawn.seat_mm) == (tip.contact_mm, tip.seat_mm)
            held |= {"contact": drawn.contact_mm, "seat": drawn.seat_mm, "taper": tip.taper}
        one = replace(job, forced=held)
        highest = drawn.limit.max_mpa
        assert passes(kind, replace(one, pressure_mpa=highest))
        above = replace(one, pressure_mpa=highest + 1e-6)
        assert not passes(kind, above)
        assert plan_part(KINDS[kind], above).governing.info.id == drawn.limit.governing
        if rating.service.max_mpa is not None and rating.asked_verdict in {"pass", "caution"}:
            stricter += highest < rating.service.max_mpa - 1e-6
    assert seen >= 1
    # Without a tip nothing follows the pressure; with one a part drawn for less holds less.
    assert (stricter > 0) is KINDS[kind].tip


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["elbow", "barb"])
def test_the_full_pass_ends_where_check_first_says_caution(kind):
    """Proved in the field there is no caution in wood: a long, weak clamp on soft tube has one."""
    asked = job_of(kind, WEAK_CLAMP, **SOFT)
    rating = rate_part(KINDS[kind], asked, with_smallest=False)
    seen, cautious = 0, 0
    for row in rating.by_temperature:
        if row.pass_mpa is None:
            assert row.pass_because
            continue
        seen += 1
        assert row.pass_mpa <= row.max_mpa
        job = replace(asked, temperature_c=row.temperature_c)
        below, above = (
            plan_part(KINDS[kind], replace(job, pressure_mpa=row.pass_mpa + more))
            for more in (0.0, 1e-6)
        )
        # Where both limits are one, the first that is not a pass is a fail.
        band = row.pass_mpa < row.max_mpa - 1e-6
        cautious += band
        assert (below.verdict, above.verdict) == ("pass", "caution" if band else "fail")
        worst = [
            one.info.id
            for one in above.results
            if one.verdict == "fail" or (one.verdict != "pass" and one.info.stage != "handling")
        ]
        assert row.pass_because.split()[0] in worst
    assert cautious >= 1
    assert seen >= 3


def test_a_material_that_is_refused_has_no_pressure_at_any_temperature():
    rating = rate_part(KINDS["barb"], job_of("barb", material="fff_pla"), with_smallest=False)
    assert all(one.max_mpa is None and one.because for one in rating.by_temperature)
    limits = highest_pressures(KINDS["barb"], numbers.conditions(rating.job))
    never = {n for n, highest in zip(limits.ids, limits.highest_mpa[:, 0], strict=True)
             if np.isnan(highest)}  # fmt: skip
    assert {"use", rating.service.governing} <= never


def test_a_part_that_has_no_size_says_so():
    job = job_of("elbow", bit="1/8")
    with pytest.raises(NoSizeError):
        plan_part(KINDS["elbow"], job)
    rating = rate_part(KINDS["elbow"], job, with_smallest=False)
    assert rating.service.max_mpa is None
    assert rating.service.because.startswith("no size satisfies the limits")
    assert rating.service.governing == ""


@pytest.mark.slow
@pytest.mark.parametrize("kind", PART_KINDS)
def test_both_sides_on_many_designs(kind):
    _, conditions, limits = limits_of(kind, min(250, 8 * EXAMPLES), "many")
    rows = np.flatnonzero(np.isfinite(limits.overall_mpa))
    own, highest = take(conditions, rows), limits.overall_mpa[rows]

    def fails(pressure):
        return grade(KINDS[kind], at_pressure(own, pressure), {}, rows.shape).fails

    assert not fails(highest).any()
    assert not fails(np.maximum(0.98 * highest, limits.start_mpa[-1, rows])).any()
    assert fails(limits.above_mpa[-1, rows]).all()
    assert fails(1.03 * highest).all()
