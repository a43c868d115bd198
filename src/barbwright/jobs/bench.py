"""A bench day planned: which tests on which parts change the user's own verdicts most by the hour.

The plan is kept in the user's profile, so that `log` knows which parts the readings are of.
"""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from barbwright import catalog
from barbwright.catalog.folders import read_text, save_user_file, user_folder
from barbwright.checks.table import Outcome, judge_all, outcomes
from barbwright.design.measured import PRODUCTS, Product, untold_of
from barbwright.design.part import KINDS, Design
from barbwright.errors import Fault, InputError, quoted
from barbwright.inference.worth import Stake, expected_loss
from barbwright.job.record import Job
from barbwright.jobs.bench_log import BenchPart, prior_of, spreads_of
from barbwright.jobs.plan import Plan, plan_part, plan_recorded
from barbwright.jobs.read_back import decode, require_plain, require_sense
from barbwright.jobs.record import SCHEMA_VERSION, encode
from barbwright.logs.columns import BENCH
from barbwright.say import voice_of

GAUGES = ("scale", "lever", "pump", "calipers")
_NEEDS = {"hold": "scale", "drive": "scale", "push": "scale", "grip": "scale", "twist": "lever",
          "relaxation": "pump", "step": "calipers", "oversize": "calipers"}  # fmt: skip
# A scale's unit is left open: who reads kg beside a printed N has made the commonest slip. That of
# a gauge is whichever its reader thinks in.
_UNITS = {"force": "", "torque": "N m", "length": "mm"}
# Readings are taken three at a time; a new log costs its cutting and fetching (judgement).
_AT_ONCE, _NEW_LOG_MIN, _MOST_LOGS = 3, 20.0, 4
# A test worth less than this an hour is not asked for (judgement).
_LEAST_WORTH = 0.02
# A handling check that turns out wrong is a rule on the card, not a leak (judgement).
_HANDLING = 0.3
_FILE = "bench_plan"
# More than anyone tests in a day; each is a name that a reading may be of.
_MOST_PARTS = 1000
# A week of days and nights; also what is no number stops here [h].
_MOST_HOURS = 168.0


@dataclass(frozen=True, kw_only=True)
class Session:
    """Readings of one test in one log.

    Attributes
    ----------
    product : Product
        What they tell.
    log : int
        Which log, from 1; 0 where no wood is needed.
    count : int
        Readings.
    minutes : float
        What they take, with fetching the log where it is new [min].
    worth_per_hour : float
        Loss by wrong verdicts that they take away, by the hour [-].
    changes : tuple of str
        Checks they may change.
    """

    product: Product
    log: int
    count: int
    minutes: float
    worth_per_hour: float
    changes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class BenchPlan:
    """A planned bench day.

    Attributes
    ----------
    plan : Plan
        The part as judged today.
    parts : int
        How many of it there are.
    gauges : tuple of str
        What there is to measure with.
    hours : float
        Time there is [h].
    sessions : tuple of Session
        In order of worth.
    loss : float
        What today's verdicts are expected to lose by being wrong [-].
    left : float
        The same after the day [-].
    idle : tuple of str
        Tests that would change nothing, or need a gauge that is not there, and why.
    """

    plan: Plan
    parts: int
    gauges: tuple[str, ...]
    hours: float
    sessions: tuple[Session, ...]
    loss: float
    left: float
    idle: tuple[str, ...]

    @property
    def untold(self) -> tuple[str, ...]:
        """What no test tells of this part, by its checks, in sentences."""
        return untold_of({one.info.id for one in self.plan.results})

    @property
    def minutes(self) -> float:
        """What the day takes [min]."""
        return sum(one.minutes for one in self.sessions)


def read_gauges(text: str | None) -> tuple[str, ...]:
    """Return the gauges somebody has.

    Parameters
    ----------
    text : str or None
        Words with commas; None is all.
    """
    if text is None:
        return GAUGES
    words = tuple(word.strip().casefold() for word in text.split(",") if word.strip())
    unknown = [word for word in words if word not in GAUGES]
    if unknown or not words:
        raise InputError(
            Fault("--gauges knows no such gauge", given=quoted(text), limit=", ".join(GAUGES),
                  do="name those you have, with commas"))  # fmt: skip
    return words


def plan_bench(
    kind_name: str, job: Job, *, parts: int, gauges: Collection[str], hours: float
) -> BenchPlan:
    """Return the bench day that changes a part's own verdicts most.

    Parameters
    ----------
    kind_name : str
        Kind of part.
    job : Job
        What it is made from; its wood must be named for tests in wood.
    parts : int
        How many of it there are.
    gauges : collection of str
        What there is to measure with.
    hours : float
        Time there is [h].
    """
    if not 1 <= parts <= _MOST_PARTS:
        do = "say how many of it you have at hand"
        raise InputError(Fault("--parts: out of range", str(parts), f"1 to {_MOST_PARTS}", do))
    if not hours <= _MOST_HOURS:
        limit, do = f"up to {_MOST_HOURS:g}", "say how long you have"
        raise InputError(Fault("--hours: out of range", f"{hours:g}", limit, do))
    plan = plan_part(KINDS[kind_name], job)
    if plan.design is None:
        what = "this part has no size, so there is none to test"
        raise InputError(Fault(what, kind_name, do="choose a material that suits the use"))
    judgements = catalog.judgements()
    rules = catalog.judged_values() | job.rules
    taper = 0.0 if plan.design.tip is None else float(plan.design.tip.taper)
    stakes = {name: _stakes(product, plan) for name, product in PRODUCTS.items()}
    idle = []
    able = []
    for name, product in PRODUCTS.items():
        if _NEEDS[name] not in gauges:
            idle.append(f"{product.test}: needs a {_NEEDS[name]}")
        elif product.on == "wood" and job.wood is None:
            idle.append(f"{product.test}: no wood is named (--wood)")
        elif not stakes[name]:
            idle.append(f"{product.test}: no verdict of this part leans on it")
        else:
            able.append(name)

    def loss_of(name: str, readings: int, logs: int) -> float:
        product = PRODUCTS[name]
        prior, spreads = prior_of(product, judgements, taper), spreads_of(product, rules)
        judged = float(product.value(rules, taper))
        return sum(
            expected_loss(stake, prior, judged, spreads, readings, max(logs, 1))
            for _, stake in stakes[name]
        )

    have = dict.fromkeys(able, 0)
    log_of = dict.fromkeys(able, 0)
    now = {name: loss_of(name, 0, 1) for name in able}
    before = sum(now.values())
    sessions, logs, left = list[Session](), 0, 60.0 * hours
    while True:
        best: tuple[float, str, float, float] | None = None
        for name in able:
            product = PRODUCTS[name]
            in_wood = product.on == "wood"
            if log_of[name] >= (_MOST_LOGS if in_wood else 1):
                continue
            minutes = _AT_ONCE * product.minutes
            if in_wood and log_of[name] >= logs:
                minutes += _NEW_LOG_MIN
            if minutes > left:
                continue
            after = loss_of(name, have[name] + _AT_ONCE, log_of[name] + 1)
            gain = (now[name] - after) / minutes * 60.0
            if gain > _LEAST_WORTH and (best is None or gain > best[0]):
                best = (gain, name, minutes, after)
        if best is None:
            break
        gain, name, minutes, after = best
        product = PRODUCTS[name]
        have[name] += _AT_ONCE
        log_of[name] += 1
        if product.on == "wood":
            logs = max(logs, log_of[name])
        left -= minutes
        now[name] = after
        sessions.append(
            Session(
                product=product,
                log=log_of[name] if product.on == "wood" else 0,
                count=_AT_ONCE,
                minutes=minutes,
                worth_per_hour=gain,
                changes=tuple(check for check, _ in stakes[name]),
            )
        )
    idle += [
        f"{PRODUCTS[name].test}: would change no verdict of this part in the time there is"
        for name in able
        if not have[name]
    ]
    return BenchPlan(
        plan=plan,
        parts=parts,
        gauges=tuple(gauges),
        hours=hours,
        sessions=tuple(sessions),
        loss=before,
        left=sum(now.values()),
        idle=tuple(idle),
    )


def _stakes(product: Product, plan: Plan) -> list[tuple[str, Stake]]:
    """Return the verdicts of a part that lean on a product."""
    now, more = _margins(plan.results), None
    if product.unit == "length":
        # A length stands in no product: what half as much again of it does is tried.
        more = _margins(outcomes(judge_all(_with_more(product, plan, 1.5))))
    found = []
    for outcome in plan.results:
        name = outcome.info.id
        if name not in product.checks or name not in now:
            continue
        sensitivity = 1.0 if product.rises else -1.0
        if more is not None:
            sensitivity = (more[name] - now[name]) / math.log(1.5) if name in more else 0.0
        if not sensitivity:
            continue
        stake = Stake(
            margin=now[name],
            passes=outcome.verdict == "pass",
            sensitivity=sensitivity,
            weight=_HANDLING if outcome.info.stage == "handling" else 1.0,
        )
        found.append((name, stake))
    return found


def _margins(results: Iterable[Outcome]) -> dict[str, float]:
    """Return the logarithm of each check's expected capacity over what is asked of it."""
    return {
        one.info.id: math.log(one.capacity_expected / ((one.design_factor or 1.0) * one.demand))
        for one in results
        if one.capacity_expected and one.demand and one.verdict != "not_checked"
    }


def _with_more(product: Product, plan: Plan, by: float) -> Design:
    """Return the part as drawn, met by so many times a measured length."""
    design = plan.design
    assert design is not None
    conditions, rules = design.conditions, dict(design.conditions.rules)
    if product.id == "step":
        rules["step_loss_mm"] *= by
        return replace(design, conditions=replace(conditions, rules=rules))
    over = conditions.hole_high_mm - conditions.bit_mm
    wide = replace(conditions, hole_high_mm=conditions.bit_mm + by * over)
    return replace(design, conditions=wide)


@dataclass(frozen=True, kw_only=True)
class FormRow:
    """One row of the form: what to do and where; the reading is left open."""

    log: str
    wood: str
    hole: str
    part: str
    test: str
    travel: str
    wait: str
    unit: str


def form_rows(day: BenchPlan) -> tuple[FormRow, ...]:
    """Return the rows of a bench day's form, in order of work.

    Parameters
    ----------
    day : BenchPlan
        The plan.
    """
    job, design = day.plan.job, day.plan.design
    assert design is not None
    wood = "" if job.wood is None else job.wood.name
    travel = "" if design.tip is None else f"{float(design.tip.contact_mm):.4g}"
    rows = []
    # A tip that is driven through the scale is the one that is pulled: same log, same hole.
    for session in sorted(day.sessions, key=lambda one: (one.log, _ORDER.index(one.product.id))):
        product = session.product
        for count in range(session.count):
            # What was pulled out of its hole cannot be twisted in it: those seats are their own.
            own = count + 1 + (_AT_ONCE if product.id in {"twist", "relaxation"} else 0)
            hole = str(own) if product.on == "wood" else ""
            waits = {"hold": ("10",), "relaxation": ("0", "10"), "twist": ("10",)}
            rows += [
                FormRow(
                    log=str(session.log) if session.log else "",
                    wood=wood if product.on == "wood" else "",
                    hole=hole,
                    part=str(count % day.parts + 1),
                    test=product.test,
                    travel=travel if product.id in {"hold", "drive", "twist"} else "",
                    wait=wait,
                    unit=_UNITS.get(product.unit, voice_of(job.inputs).leads),
                )
                for wait in waits.get(product.id, ("",))
            ]
    return tuple(rows)


_ORDER = ("oversize", "step", "drive", "relaxation", "hold", "twist", "push", "grip")


def short_of(number: str) -> str:
    """Return the last word of a part number, which tells planned parts from each other.

    Parameters
    ----------
    number : str
        Such as ``tip-t4mm-b6mm-mjf_pa12-a-a8f1ae``.
    """
    return number.rpartition("-")[2]


def form_csv(rows: Sequence[FormRow], number: str) -> bytes:
    """Return the form as a CSV file whose readings are left open.

    Parameters
    ----------
    rows : sequence of FormRow
        What to do.
    number : str
        Part number of the part that is tested.
    """
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow([column.name for column in BENCH.columns])
    for row in rows:
        # No hyphen: a spreadsheet takes 11588e-1 for a number.
        cells = {"log": row.log, "wood": row.wood, "hole": row.hole,
                 "part": f"{short_of(number)}#{row.part}", "test": row.test,
                 "travel_mm": row.travel, "wait_min": row.wait, "unit": row.unit}  # fmt: skip
        writer.writerow([cells.get(column.name, "") for column in BENCH.columns])
    return stream.getvalue().encode()


def keep_plan(day: BenchPlan) -> None:
    """Keep in the user's profile which part the day's readings will be of.

    Parameters
    ----------
    day : BenchPlan
        The plan.
    """
    body = {
        "schema_version": SCHEMA_VERSION,
        "part": day.plan.kind.name,
        "part_number": day.plan.number,
        "parts": day.parts,
        "job": encode(day.plan.job),
    }
    text = json.dumps(body, indent=1, ensure_ascii=False) + "\n"
    # Its own file by its number, and the last one planned for who writes 1 alone.
    for name in (f"{_FILE}-{short_of(day.plan.number)}.json", f"{_FILE}.json"):
        save_user_file("bench", name, text)


def kept_parts(labels: Collection[str]) -> tuple[tuple[BenchPart, ...], str]:
    """Return the parts of planned bench days that labels are of, and what must be said of them.

    Parameters
    ----------
    labels : collection of str
        As the rows write them: ``a8f1ae#1`` of the day planned for that part number; a number
        alone, or nothing, of the last day planned.

    Returns
    -------
    tuple of BenchPart, str
        Empty where none was planned; which part numbers alone were taken as, in words.
    """
    found, said = list[BenchPart](), ""
    shorts = {label.rpartition("#")[0] for label in labels if label}
    # A part that is not written is of the one planned part that the others name.
    blank = next(iter(shorts)) if len(shorts) == 1 else ""
    for short in sorted(shorts | ({blank} if "" in labels else set())):
        planned = _kept_part(f"{_FILE}-{short}.json" if short else f"{_FILE}.json")
        if planned is None:
            continue
        number, count, job, design = planned
        names = [f"{short}#{one}".lstrip("#") for one in range(1, count + 1)]
        if "" in labels and short == blank:
            names.append("")
        if not short:
            said = (
                f"a part that is a number alone, or not written, is taken as {number}, the part of "
                "the last planned bench day"
            )
        found += [BenchPart(label=name, job=job, design=design) for name in names]
    return tuple(found), said


def _kept_part(name: str) -> tuple[str, int, Job, Design] | None:
    """Return number, count, job and design of a planned bench day; None where it is not kept."""
    path = user_folder() / "bench" / name
    try:
        body = json.loads(read_text(path))
        require_plain(body)
        job: Job = decode(Job, body["job"], "job")
        require_sense(job)
        kind, count = KINDS[body["part"]], int(body["parts"])
        if not 1 <= count <= _MOST_PARTS:
            raise ValueError
        number = str(body["part_number"])
    except FileNotFoundError:
        return None
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        fault = Fault("the plan of the bench day is damaged", given=str(path),
                      do="run `barbwright bench` again, or name the part with --part")  # fmt: skip
        raise InputError(fault) from None
    plan = plan_recorded(path, kind, job, "a")
    return None if plan.design is None else (number, count, job, plan.design)


def bench_document(day: BenchPlan, files: list[dict[str, Any]]) -> dict[str, Any]:
    """Return a planned bench day as a JSON document.

    Parameters
    ----------
    day : BenchPlan
        The plan.
    files : list of dict
        What was written.
    """
    return {
        "schema_version": SCHEMA_VERSION,
        "command": "bench",
        "part": day.plan.kind.name,
        "part_number": day.plan.number,
        "parts": day.parts,
        "gauges": list(day.gauges),
        "hours": day.hours,
        "minutes": round(day.minutes, 1),
        "loss_now": round(day.loss, 4),
        "loss_after": round(day.left, 4),
        "sessions": [
            {
                "test": one.product.test,
                "product": one.product.id,
                "log": one.log or None,
                "readings": one.count,
                "minutes": one.minutes,
                "worth_per_hour": round(one.worth_per_hour, 4),
                "changes": list(one.changes),
            }
            for one in day.sessions
        ],
        "left_out": list(day.idle),
        "untold": list(day.untold),
        "files": files,
        "warnings": list(day.plan.job.said),
    }
