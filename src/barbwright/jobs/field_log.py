"""A day at the trees judged: how each drinks, when it is done, what its seats held, uses so far."""

from __future__ import annotations

import itertools
import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from barbwright import catalog
from barbwright.catalog import MeasuredRecord, Tree, TreeRun, tree_of
from barbwright.catalog.folders import read_text, save_user_file, user_folder
from barbwright.chain.plan import ChainPlan, build_network
from barbwright.chain.run_down import deliver, recharge_pressure_mpa
from barbwright.chain.told import (
    Delivered,
    Gauges,
    RunBound,
    RunTold,
    by_gauge,
    by_level,
    told_by_run,
    with_conductance,
)
from barbwright.design.measured import PRODUCTS
from barbwright.equations import vessel
from barbwright.errors import Fault, InputError
from barbwright.inference.rises import TAKEN_FOR_RISEN, allowed_rise, largest_rise
from barbwright.jobs.bench_log import BenchDay, BenchPart, judge_bench
from barbwright.jobs.chain import ChainJob
from barbwright.jobs.read_back import require_plain
from barbwright.jobs.record import SCHEMA_VERSION
from barbwright.logs.bench import BenchRow
from barbwright.logs.field import Run, SeatRow
from barbwright.report.cards import RETIRE_AFTER_USES

_USES = "uses.json"
Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Range:
    """A time, low, expected and high [min]; infinite where it never comes."""

    low: float
    expected: float
    high: float


@dataclass(frozen=True, kw_only=True, eq=False)
class TreeDay:
    """One tree on one day as judged.

    Attributes
    ----------
    run : Run
        What was read.
    told : RunTold or None
        What it says of the tree; None where nothing was read over time, or nothing carries it.
    bound : RunBound or None
        What it says where the readings do not carry an uptake.
    tree : Tree or None
        As kept.
    finish, stop, recharge : Range or None
        Until the volume is in, until the reserve is reached and air is near, and until the gauge
        asks to be pumped up, from the start of such a run.
    """

    run: Run
    told: RunTold | None
    bound: RunBound | None
    tree: Tree | None
    finish: Range | None
    stop: Range | None
    recharge: Range | None

    @property
    def drips(self) -> tuple[SeatRow, ...]:
        """Seats that dripped."""
        return tuple(seat for seat in self.run.seats if seat.drips)

    @property
    def moved(self) -> tuple[SeatRow, ...]:
        """Seats that gave way when pulled."""
        return tuple(seat for seat in self.run.seats if seat.moved)

    @property
    def said(self) -> tuple[str, ...]:
        """What must be known beside what the run says."""
        found = self.told or self.bound
        return () if found is None else found.said


@dataclass(frozen=True, kw_only=True, eq=False)
class FieldDay:
    """A field log as judged.

    Attributes
    ----------
    days : tuple of TreeDay
        By tree and day.
    pulls : BenchDay or None
        What the pulls say of the hold.
    uses : mapping of str to int
        Uses so far of each part that this log names, these among them.
    warnings : tuple of str
        What must be said.
    seen : mapping of str to sequence of str
        Trees and days of every part so far.
    """

    days: tuple[TreeDay, ...]
    pulls: BenchDay | None
    uses: Mapping[str, int]
    warnings: tuple[str, ...]
    seen: Mapping[str, Sequence[str]]


def judge_field(
    runs: Sequence[Run],
    chain: ChainJob,
    kept_trees: Iterable[Tree],
    measured: Mapping[str, MeasuredRecord],
    seen: Mapping[str, Sequence[str]],
) -> FieldDay:
    """Return what a day at the trees says.

    Parameters
    ----------
    runs : sequence of Run
        By tree and day.
    chain : ChainJob
        The chain that was used.
    kept_trees : iterable of Tree
        Trees told before.
    measured : mapping of str to MeasuredRecord
        The user's bench profile so far.
    seen : mapping of str to sequence of str
        Trees and days each part was used at before.
    """
    rules = catalog.judged_values()
    gauges = Gauges(level_ml=rules["log_level_ml"], pressure_mpa=rules["log_gauge_mpa"])
    known = {tree.name.casefold(): tree for tree in kept_trees}
    days = []
    for run in runs:
        day = _judge_run(run, chain, gauges, known.get(run.tree.casefold()))
        days.append(day)
        # Two days of one tree in one file: the second is added to the first.
        if day.tree is not None:
            known[run.tree.casefold()] = day.tree
    warnings = [
        f"{run.tree}: {note}"
        for run in runs
        for note in (*run.notes, *_beyond(run, chain.plan.ports))
    ]
    pulls, said = _pulls(runs, chain, measured)
    used: dict[str, list[str]] = {part: list(places) for part, places in seen.items()}
    for run in runs:
        for seat in run.seats:
            place = f"{run.tree}|{run.date}"
            if seat.part and place not in used.setdefault(seat.part, []):
                used[seat.part].append(place)
    uses = {part: len(places) for part, places in sorted(used.items())}
    today = {seat.part for run in runs for seat in run.seats if seat.part}
    for part in sorted(today):
        if uses[part] >= RETIRE_AFTER_USES:
            warnings.append(f"part {part} has {uses[part]} uses of {RETIRE_AFTER_USES}: retire it")
    if all(day.told is None and day.bound is None for day in days) and pulls is None and not today:
        raise InputError(
            Fault("the log tells nothing: no reading over time, no pull, no part",
                  do="fill in time with level or pressure, or port with pull"))  # fmt: skip
    return FieldDay(
        days=tuple(days),
        pulls=pulls,
        uses={part: count for part, count in uses.items() if part in today},
        warnings=(*warnings, *said),
        seen=used,
    )


def _judge_run(run: Run, chain: ChainJob, gauges: Gauges, before: Tree | None) -> TreeDay:
    untold = TreeDay(run=run, told=None, bound=None, tree=None, finish=None, stop=None,
                     recharge=None)  # fmt: skip
    if not run.told:
        return untold
    plan = _as_it_stood(chain.plan, run)
    delivered, plan, notes = _delivered(plan, run, gauges)
    found = told_by_run(plan, delivered)
    found = replace(found, said=(*notes, *found.said))
    if isinstance(found, RunBound):
        # No time is told either: it would be the time of what was believed before the run.
        return replace(untold, bound=found)
    told = found
    # Times are those of a run from its start, whichever stretch of this one told them.
    plan = _as_it_stood(chain.plan, run)
    own = with_conductance(plan, told.low, told.expected, told.high)
    network = build_network(own)

    def time_of(volume_ml: float) -> Range:
        one = replace(own, dose_ml=volume_ml)
        # The most open tree is the soonest.
        low, expected, high = (
            deliver(one, network, case, n).minutes
            for case, n in (("high", 1.0), ("expected", own.expected_exponent), ("low", 1.4))
        )
        return Range(low=low, expected=expected, high=high)

    def to_recharge() -> Range:
        end = recharge_pressure_mpa(own) + own.atmosphere_mpa
        found = []
        # Air that cools falls to it after less, so quick air is the soonest here.
        for case, n in (("high", 1.4), ("expected", own.expected_exponent), ("low", 1.0)):
            assert own.vessel is not None
            head = own.vessel.air_head_ml
            reach = vessel.delivery_to_pressure_ml(own.supply_abs_mpa, head, end, n)
            one = replace(own, dose_ml=float(reach) * (1.0 - 1e-9))
            found.append(deliver(one, network, case, n).minutes)
        return Range(low=found[0], expected=found[1], high=found[2])

    tank, recharge, stop = own.vessel, None, None
    if tank is not None:
        stop = time_of(tank.usable_ml)
        if not tank.regulated:
            recharge = to_recharge()
    return replace(
        untold,
        told=told,
        tree=_tree(run, own, told, before),
        finish=None if own.dose_ml is None else time_of(own.dose_ml),
        stop=stop,
        recharge=recharge,
    )


def _as_it_stood(plan: ChainPlan, run: Run) -> ChainPlan:
    """Return the chain at the pressure and level of the run's first reading, where they are."""
    if run.pressure_mpa is not None and np.isfinite(run.pressure_mpa[0]):
        plan = replace(plan, supply_mpa=float(run.pressure_mpa[0]))
    if run.level_ml is not None and plan.vessel is not None and np.isfinite(run.level_ml[0]):
        level = float(run.level_ml[0])
        if not 0.0 < level < plan.vessel.volume_ml:
            raise InputError(
                Fault(f"{run.tree}: the level is no level of the chain's vessel",
                      given=f"{level:.0f} mL", limit=f"under {plan.vessel.volume_ml:.0f} mL",
                      do="write what is left in it, or name its own kit"))  # fmt: skip
        plan = replace(plan, vessel=replace(plan.vessel, liquid_ml=level))
    return plan


def _delivered(
    plan: ChainPlan, run: Run, gauges: Gauges
) -> tuple[Delivered, ChainPlan, tuple[str, ...]]:
    """Return what had gone in: by the level where it was read, else by the air head's gauge.

    With it the chain as it stood when that began, and what must be said.
    """
    level, pressure = run.level_ml, run.pressure_mpa
    if level is not None and np.isfinite(level).sum() >= 2:
        known = np.isfinite(level)
        _require_no_filling(run, run.minutes[known], level[known], gauges)
        gauge = None
        if pressure is not None and np.isfinite(pressure).sum() >= 2:
            there = np.isfinite(pressure)
            gauge = np.interp(run.minutes[known], run.minutes[there], pressure[there])
        closed = [state for state, use in zip(run.closed, known, strict=True) if use]
        read = by_level(plan, run.minutes[known], level[known], gauge, closed, gauges)
        return read, plan, ()
    assert pressure is not None
    if plan.vessel is None or plan.vessel.regulated:
        raise InputError(
            Fault(f"{run.tree}: a gauge alone tells nothing of a regulated supply",
                  do="read the level as well, or name a kit with its vessel"))  # fmt: skip
    known = np.isfinite(pressure)
    closed = [state for state, use in zip(run.closed, known, strict=True) if use]
    minutes, gauge = run.minutes[known], pressure[known]
    pumped = allowed_rise(gauges.pressure_mpa, max(len(gauge) - 1, 1))
    rises = np.flatnonzero(np.diff(gauge) > pumped)
    edges = [0, *(int(i) + 1 for i in rises), len(gauge)]
    stretches = [slice(*pair) for pair in itertools.pairwise(edges)]
    if all(len(minutes[one]) < 2 for one in stretches):
        raise InputError(
            Fault(f"{run.tree}: too few gauge readings between two pumpings",
                  do="read at least twice in between, better the level"))  # fmt: skip
    # Pumped up on the way: the longest stretch between two pumpings is read, over the air head as
    # it had grown by then. What went in while somebody pumped is taken at the rate before it.
    longest = max(stretches, key=lambda one: one.stop - one.start)
    gone, rate, last = 0.0, 0.0, float(minutes[0])
    for one in stretches:
        gone += rate * (float(minutes[one][0]) - last)
        stood = replace(
            plan,
            supply_mpa=float(gauge[one][0]),
            vessel=replace(
                plan.vessel,
                liquid_ml=plan.vessel.liquid_ml - gone,
            ),
        )
        read = by_gauge(stood, minutes[one], gauge[one], closed[one], gauges)
        if one == longest:
            break
        gone += float(read.volume_ml[-1])
        last = float(minutes[one][-1])
        if len(read.minutes) > 1:
            rate = float(read.volume_ml[-1] - read.volume_ml[-2]) / float(
                read.minutes[-1] - read.minutes[-2]
            )
    notes: tuple[str, ...] = ()
    if len(stretches) > 1:
        start, end = float(minutes[longest][0]), float(minutes[longest][-1])
        notes = (
            f"pumped up on the way: the stretch from {start:.1f} to {end:.1f} min is read, over an "
            f"air head grown by {gone:.0f} mL since the start",
        )
    return read, stood, notes


def _require_no_filling(run: Run, minutes: Array, level_ml: Array, gauges: Gauges) -> None:
    """Refuse a run whose vessel was filled on the way: what went in meanwhile nobody read."""
    # Any two readings, for a vessel may be filled little by little.
    allowed = allowed_rise(gauges.level_ml, len(level_ml) * (len(level_ml) - 1) // 2)
    before, after = largest_rise(level_ml)
    rise = level_ml[after] - level_ml[before]
    if rise > allowed:
        raise InputError(
            Fault(f"{run.tree}: the level rises, so the vessel was filled on the way",
                  given=f"{rise:.0f} mL more at {minutes[after]:.0f} min than at "
                        f"{minutes[before]:.0f} min",
                  limit=f"{allowed:.0f} mL, which a level read to {gauges.level_ml:g} mL "
                        f"surpasses in one honest log of {1.0 / TAKEN_FOR_RISEN:.0f}",
                  do="log what came after as a day or a tree of its own"))  # fmt: skip


def _beyond(run: Run, ports: int) -> list[str]:
    """Return what must be said of ports that a chain does not have."""
    named = {seat.port for seat in run.seats if seat.port.isdecimal()}
    named |= {str(port) for state in run.closed for port in state}
    beyond = sorted((port for port in named if not 1 <= int(port) <= ports), key=int)
    if not beyond:
        return []
    return [f"port {', '.join(beyond)}: the kit's chain has {ports}; is it this kit's?"]


def _tree(run: Run, plan: ChainPlan, told: RunTold, before: Tree | None) -> Tree:
    """Return the tree as it is kept: this run, with what was told of it before."""
    new = TreeRun(
        date=run.date,
        low=told.low,
        expected=told.expected,
        high=told.high,
        viscosity_mpa_s=plan.viscosity_mpa_s,
        pressure_kpa=float(np.max(told.delivered.pressure_mpa)) * 1000.0,
    )
    if before is None:
        return tree_of(run.tree, run.species, [new])
    # A day logged again takes its own place.
    return tree_of(before.name, run.species or before.species, [*before.each, new])


def _pulls(
    runs: Sequence[Run], chain: ChainJob, measured: Mapping[str, MeasuredRecord]
) -> tuple[BenchDay | None, list[str]]:
    """Return what pulls at the trees say of the hold; each tree is a log of its own."""
    design = chain.elbow.design
    assert design is not None
    assert design.tip is not None
    wood = chain.job.wood
    rows, said = [], list[str]()
    for run in runs:
        pulled = [seat for seat in run.seats if seat.pull_n]
        name = run.species or ("" if wood is None else wood.name)
        if pulled and not name:
            said.append(f"{run.tree}: its pulls told nothing, for its species is not named")
            continue
        for seat in pulled:
            assert seat.pull_n is not None
            rows.append(
                BenchRow(
                    line=seat.line,
                    row=seat.line,
                    date=run.date,
                    log=run.tree,
                    wood=name,
                    hole=seat.port,
                    part=seat.part,
                    product=PRODUCTS["hold"],
                    travel_mm=float(design.tip.contact_mm),
                    wait_min=None,
                    low=seat.pull_n,
                    high=seat.pull_n if seat.moved else math.inf,
                    given=f"{seat.pull_n:.0f} N",
                    unit=seat.unit,
                )
            )
    if not rows:
        return None, said
    part = BenchPart(label="", job=chain.job, design=design)
    return judge_bench(rows, [part], measured), said


def kept_uses() -> dict[str, list[str]]:
    """Return where each part was used so far."""
    path = user_folder() / "bench" / _USES
    try:
        body = json.loads(read_text(path))
        require_plain(body)
        return {str(part): [str(place) for place in places] for part, places in body.items()}
    except FileNotFoundError:
        return {}
    except (OSError, ValueError, AttributeError, TypeError, RecursionError):
        fault = Fault("the record of uses is damaged", given=str(path), do="mend or remove it")
        raise InputError(fault) from None


def keep_field(day: FieldDay) -> tuple[Path, ...]:
    """Keep trees, pulls and uses in the user's profile.

    Parameters
    ----------
    day : FieldDay
        As judged.
    """
    trees = {one.tree.name.casefold(): one.tree for one in day.days if one.tree is not None}
    files = [Path(catalog.save_tree(tree)) for tree in trees.values()]
    if day.pulls is not None:
        files += [catalog.save_measured(one.record) for one in day.pulls.learned]
    if day.seen:
        text = json.dumps(day.seen, indent=1, ensure_ascii=False) + "\n"
        files.append(save_user_file("bench", _USES, text))
    return tuple(files)


def field_document(day: FieldDay, source: str, bench: dict[str, Any] | None) -> dict[str, Any]:
    """Return a field log as a JSON document.

    Parameters
    ----------
    day : FieldDay
        As judged.
    source : str
        The file's name.
    bench : dict or None
        The document of its pulls.
    """
    learned = any(one.told is not None for one in day.days)
    return {
        "schema_version": SCHEMA_VERSION,
        "command": "log",
        "kind": "field",
        "source": source,
        "verdict": "pass" if learned or (bench and bench["verdict"] == "pass") else "cannot_tell",
        "trees": [_tree_row(one) for one in day.days],
        "posteriors": [] if bench is None else bench["posteriors"],
        "doubtful": [] if bench is None else bench["doubtful"],
        "uses": [
            {"part": part, "uses": count, "retire_after": RETIRE_AFTER_USES}
            for part, count in day.uses.items()
        ],
        "warnings": list(day.warnings),
        "files": [],
    }


def _tree_row(one: TreeDay) -> dict[str, Any]:
    told = one.told
    return {
        "tree": one.run.tree,
        "species": one.run.species or None,
        "date": one.run.date or None,
        "conductance_ml_min_per_kpa": None
        if told is None
        else {"low": _round(told.low), "expected": _round(told.expected),
              "high": _round(told.high)},
        "conductance_bound_ml_min_per_kpa": None
        if one.bound is None
        else {
            name: None if value is None else _round(value)
            for name, value in (("least", one.bound.least), ("most", one.bound.most))
        },
        "by": None if told is None else told.delivered.by,
        "finish_minutes": _range(one.finish),
        "stop_before_air_minutes": _range(one.stop),
        "recharge_minutes": _range(one.recharge),
        "blocked": []
        if told is None
        else [{"ports": list(b.ports), "count": b.count, "how": b.how} for b in told.blocked],
        "drips": [seat.port for seat in one.drips],
        "moved": [seat.port for seat in one.moved],
        "status": None if one.tree is None else one.tree.status,
        "said": list(one.said),
    }  # fmt: skip


def _range(found: Range | None) -> dict[str, float | None] | None:
    if found is None:
        return None
    return {
        name: _round(value) if math.isfinite(value) else None
        for name, value in (("low", found.low), ("expected", found.expected), ("high", found.high))
    }


def _round(value: float) -> float:
    return float(f"{value:.4g}")
