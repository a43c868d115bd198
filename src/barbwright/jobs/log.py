"""A log of any kind judged, kept and written: the one door of `barbwright log`."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from barbwright import catalog
from barbwright.chain.told import RunBound
from barbwright.design.part import Kind
from barbwright.errors import Fault, InputError
from barbwright.inference.products import NINE_IN_TEN
from barbwright.job.record import Job
from barbwright.jobs.bench import kept_parts
from barbwright.jobs.bench_log import BenchDay, BenchPart, bench_document, judge_bench
from barbwright.jobs.chain import ChainJob, drawn
from barbwright.jobs.field_log import (
    FieldDay,
    Range,
    TreeDay,
    field_document,
    judge_field,
    keep_field,
    kept_uses,
)
from barbwright.jobs.plan import plan_recorded
from barbwright.jobs.proof_log import ProofVerdict, judge_proof, proof_document
from barbwright.jobs.proofs import keep_proof
from barbwright.jobs.record import load_record
from barbwright.logs.bench import read_bench
from barbwright.logs.field import read_field
from barbwright.logs.proof import read_proof
from barbwright.logs.table import Table
from barbwright.report.cards import RETIRE_AFTER_USES
from barbwright.report.log_pages import (
    WORDS,
    LogFigure,
    LogReport,
    LogTable,
    log_page,
)
from barbwright.report.log_plots import Bar, HoldCurve, RunCurve, bench_svg, hold_svg, run_svg
from barbwright.say import IMPERIAL, Voice, minutes, one_of, voice_for, voice_of


@dataclass(frozen=True, kw_only=True)
class Told:
    """What a log says, ready to be printed and written.

    Attributes
    ----------
    document : dict
        The JSON document.
    lines : tuple of str
        For the terminal.
    page : callable
        Makes the page, plots and all, when it is wanted.
    keep : callable
        Writes what is to be remembered into the user's profile; returns the files.
    failed : bool
        Whether the verdict is a fail.
    """

    document: dict[str, Any]
    lines: tuple[str, ...]
    page: Callable[[], bytes]
    keep: Callable[[], tuple[Path, ...]]
    failed: bool


def part_of(path: Path | None) -> tuple[Kind, Job, str, str] | None:
    """Return kind, job, revision and number of a made part; None where none is named.

    Parameters
    ----------
    path : Path or None
        Its folder or part.json.
    """
    if path is None:
        return None
    kind, job, revision, body = load_record(path)
    return kind, job, revision, str(body["part_number"])


def tell_bench(table: Table, source: Path, part: Path | None) -> Told:
    """Return what a bench day says.

    Parameters
    ----------
    table : Table
        The log.
    source : Path
        Its file.
    part : Path or None
        The made part it is of, where it was not planned by `bench`.
    """
    rows = read_bench(table)
    made, said = part_of(part), ""
    if made is None:
        parts, said = kept_parts({row.part for row in rows})
        if not parts and rows:
            raise InputError(
                Fault("which parts were tested is not known", do="name one with --part out/<part>, "
                      "or plan the day with `barbwright bench`"))  # fmt: skip
    else:
        assert part is not None
        plan = plan_recorded(part, *made[:3])
        parts = (BenchPart(label="", job=made[1], design=drawn(plan)),)
    day = judge_bench(rows, parts, catalog.measured_records())
    if said:
        day = replace(day, warnings=(said, *day.warnings))
    document = bench_document(day, source.name)

    def keep() -> tuple[Path, ...]:
        return tuple(catalog.save_measured(one.record) for one in day.learned)

    return Told(
        document=document,
        lines=tuple(_bench_lines(day)),
        page=lambda: log_page(_bench_report(day, source, document)),
        keep=keep,
        failed=False,
    )


def _bench_lines(day: BenchDay) -> list[str]:
    lines = []
    for one in day.learned:
        found, judged = one.found.species, one.judged
        text = f"{one.product.title} ({one.where}): "
        if one.told:
            text += (
                f"{found.median / judged:.2f} of what judgement says, "
                f"{found.low / judged:.2f} to {found.high / judged:.2f} for the species; "
                f"new trees and holes {one.found.seat_low / judged:.2f} to "
                f"{one.found.seat_high / judged:.2f}"
            )
        else:
            text += "told nothing: what was believed before is still as wide"
        lines.append(f"{text}. {one.record.measured.status}; taken by "
                     f"{', '.join(one.product.checks)}")  # fmt: skip
        if one.fresh < one.record.measured.n:
            new = {
                0: "none of these readings is new: they",
                1: "one of these readings is new, others",
            }
            many = f"{one.fresh} of these readings are new, others"
            lines.append(f"  {new.get(one.fresh, many)} were kept before")
        if one.replaced:
            lines.append(
                f"  readings kept before of the same day, log, hole and part: {one.replaced} gave "
                "way to what this file says"
            )
        for name, log in one.logs:
            log_name, _, date = name.partition("|")
            lines.append(
                f"  log {log_name or '-'} {date}: {log.median / judged:.2f} "
                f"({log.low / judged:.2f} to {log.high / judged:.2f})"
            )
    for doubt in day.doubtful:
        word = "looks wrong" if doubt.sure else "may be in another unit"
        lines.append(f"line {doubt.line} {word} ({100.0 * doubt.chance:.0f} %): {doubt.why}")
    return lines


def _bench_tables(day: BenchDay) -> list[LogTable]:
    """Return products with their posteriors, and the readings that look wrong."""
    rows = []
    for one in day.learned:
        found, measured = one.found.species, one.record.measured
        logs = [
            f"{name.partition('|')[0] or '-'}: {log.median:.3g} ({log.low:.3g} to {log.high:.3g})"
            for name, log in one.logs
        ]
        rows.append(
            (
                f"{one.product.title} ({one.where}): {one.product.formula}",
                f"{one.judged:.3g}",
                "; ".join(logs),
                f"{found.median:.3g} ({found.low:.3g} to {found.high:.3g})",
                f"{measured.lower:.3g} to {measured.upper:.3g}",
                f"{found.over_prior:.2f}" if one.told else "told nothing",
                f"{measured.status}; for {', '.join(one.product.checks)}",
            )
        )
    tables = [
        LogTable(
            title="Products",
            caption="Only products can be told: twice the friction with half the contact is the "
            "same hold. A capacity takes the lower end of new trees and holes, a demand "
            "the upper, and both the species' middle as expected.",
            heads=("product", "judged", "each log (nine in ten)", "species (nine in ten)",
                   "new trees and holes", "width over prior", "status, and what takes it"),
            rows=tuple(rows),
        )
    ]  # fmt: skip
    if day.doubtful:
        tables.append(
            LogTable(
                title="Readings that look wrong, or may be in another unit",
                caption="Named and kept: each counts for as little as it is likely.",
                heads=("line", "chance", "why"),
                rows=tuple((str(one.line), f"{100.0 * one.chance:.0f} %", one.why)
                           for one in day.doubtful),
            )
        )  # fmt: skip
    return tables


def _bench_report(day: BenchDay, source: Path, document: dict[str, Any]) -> LogReport:
    told = [one for one in day.learned if one.told]
    tables = _bench_tables(day)
    bars = []
    for one in day.learned:
        half = math.exp(NINE_IN_TEN * one.prior.deviation)
        prior, judged = one.prior.median / one.judged, one.judged
        bars.append(
            Bar(
                title=one.product.title,
                before=(prior / half, prior * half),
                after=(one.found.species.low / judged, one.found.species.high / judged),
                seat=(one.found.seat_low / judged, one.found.seat_high / judged),
                median=one.found.species.median / judged,
            )
        )
    return LogReport(
        title=f"Bench day: {source.name}",
        under="Own measurement by whoever filled in the form; nothing here was measured by us.",
        verdict=str(document["verdict"]),
        word="READ" if told else "TOLD NOTHING",
        because=f"{len(told)} of {len(day.learned)} products told something.",
        figures=(LogFigure(label="What the bench day moved",
                           caption="Each product over what judgement says of it.",
                           svg=bench_svg(bars)),),
        tables=tuple(tables),
        said=day.warnings,
    )  # fmt: skip


def tell_proof(table: Table, source: Path, part: Path | None, batch: str, zero_mpa: float) -> Told:
    """Return what a proof test says.

    Parameters
    ----------
    table : Table
        The log.
    source : Path
        Its file.
    part : Path or None
        The made part that was tested.
    batch : str
        Its print batch.
    zero_mpa : float
        What the gauge shows vented [MPa].
    """
    made = part_of(part)
    rules = catalog.judged_values()
    highest, number, voice = None, "", _voice_of(table) or IMPERIAL
    if made is not None:
        _, job, _, number = made
        highest, voice = job.highest_mpa, voice_of(job.inputs)
        rules |= job.rules
    record = read_proof(table, zero_mpa, voice)
    found = judge_proof(
        record, rules, highest_mpa=highest, part_number=number, batch=batch, voice=voice
    )
    document = proof_document(found, source)

    def keep() -> tuple[Path, ...]:
        if not number:
            return ()
        return (keep_proof(document),)

    return Told(
        document=document,
        lines=tuple(_proof_lines(found, voice)),
        page=lambda: log_page(_proof_report(found, source, voice)),
        keep=keep,
        failed=found.verdict == "fail",
    )


def _voice_of(table: Table) -> Voice | None:
    """Return how to speak to whoever wrote a log, by the unit over its pressures."""
    return voice_for(f"1 {table.units.get('pressure', '')}")


def _proof_lines(found: ProofVerdict, voice: Voice) -> list[str]:
    held = found.record.pressure_mpa[found.record.hold]
    who = found.part_number or "part not named"
    if found.batch:
        who += f", batch {found.batch}"
    lines = [f"{WORDS[found.verdict]}: {found.because}", f"  {who}"]
    lines.append(
        f"  held {found.record.hold_min:.1f} min from {voice.plain(float(held[0]))} to "
        f"{voice.plain(float(held[-1]))}; leak {voice.rate(found.fall.low)} to "
        f"{voice.rate(found.fall.high)} a minute (nine in ten)"
    )
    if found.leak_ml_min is not None:
        low, middle, high = found.leak_ml_min
        lines.append(f"  that is {middle:.2g} mL/min ({low:.2g} to {high:.2g})")
    if found.usable_mpa is not None:
        lines.append(
            f"  this batch may be used at no more than {voice.limit(found.usable_mpa)}"
            f"{found.usable_because}"
        )
    if found.steps:
        steps = ", ".join(
            f"{voice.gauge(mpa)} {'held' if held_there else 'not held'}"
            for mpa, held_there in found.steps
        )
        lines.append(f"  steps: {steps}")
    return [*lines, *(f"  {one}" for one in found.said)]


def _proof_report(found: ProofVerdict, source: Path, voice: Voice) -> LogReport:
    record, fall = found.record, found.fall
    start = float(record.seconds[record.hold][0]) / 60.0
    held = record.pressure_mpa[record.hold]
    facts = [
        ("Held", f"{record.hold_min:.1f} min"),
        ("From", voice.plain(float(held[0]))),
        ("To", voice.plain(float(held[-1]))),
        ("Chance of a leak", f"{100.0 * found.over:.1f} %"),
    ]
    if found.usable_mpa is not None:
        facts.append(("To be used at no more than", voice.limit(found.usable_mpa)))
    curve = HoldCurve(
        minutes=record.seconds / 60.0,
        pressure_mpa=record.pressure_mpa,
        hold_min=start + fall.minutes,
        fitted_mpa=fall.fitted,
        leaks_mpa=fall.leaks,
        chances=fall.chances,
        least_mpa=found.least_mpa_min,
    )
    weights = tuple((name, f"{100.0 * weight:.0f} %") for name, weight in fall.families.items())
    tables = [
        LogTable(
            title="How creep slows down",
            caption="Nobody knows which curve creep follows, so four are averaged by how well "
            "each fits.",
            heads=("family", "weight"),
            rows=weights,
        )
    ]
    if found.steps:
        tables.insert(0, LogTable(
            title="Steps", caption="A minute each on the way up.", heads=("to", "held"),
            rows=tuple((voice.gauge(mpa), "yes" if reached else "no")
                       for mpa, reached in found.steps)))  # fmt: skip
    who = found.part_number or "a part that was not named"
    batch = f", batch {found.batch}" if found.batch else ""
    return LogReport(
        title=f"Proof test: {who}{batch}",
        under=f"From {source.name}. Water only; behind a shield.",
        verdict=found.verdict,
        word=WORDS[found.verdict],
        because=found.because[:1].upper() + found.because[1:] + ".",
        facts=tuple(facts),
        figures=(LogFigure(label="Pressure held, and what leaks",
                           caption="Above what was read, below how likely each leak is.",
                           svg=hold_svg(curve, voice)),),
        tables=tuple(tables),
        said=found.said,
    )  # fmt: skip


def tell_field(table: Table, source: Path, chain: ChainJob, zero_mpa: float) -> Told:
    """Return what a day at the trees says.

    Parameters
    ----------
    table : Table
        The log.
    source : Path
        Its file.
    chain : ChainJob
        The chain that was used.
    zero_mpa : float
        What the gauge shows vented [MPa].
    """
    day = judge_field(
        read_field(table, zero_mpa),
        chain,
        catalog.trees().values(),
        catalog.measured_records(),
        kept_uses(),
    )
    bench = None if day.pulls is None else bench_document(day.pulls, source.name)
    document = field_document(day, source.name, bench)
    voice = _voice_of(table) or voice_of(chain.job.inputs)
    lines = [line for one in day.days for line in _tree_lines(one, voice)]
    if day.pulls is not None:
        lines += _bench_lines(day.pulls)
    lines += [f"part {part}: {count} of {RETIRE_AFTER_USES} uses" for part, count in
              day.uses.items()]  # fmt: skip
    return Told(
        document=document,
        lines=tuple(lines),
        page=lambda: log_page(_field_report(day, source, document, voice)),
        keep=lambda: keep_field(day),
        failed=False,
    )


def _span(found: Range | None) -> str:
    if found is None:
        return ""
    low, middle, high = (minutes(value) for value in (found.low, found.expected, found.high))
    return f"{low} to {high} min, expected {middle}"


def _stop(found: Range) -> str:
    """Return when to stop: what must not be exceeded first, the soonest it may be."""
    return (
        f"stop at the latest after {minutes(found.low, at_latest=True)} min, before air enters "
        f"(expected {minutes(found.expected)})"
    )


def _flow(conductance_ml_min_kpa: float, hole_mpa: float) -> str:
    """Return what a port takes at a pressure in its hole, as a figure in mL/min."""
    return f"{conductance_ml_min_kpa * hole_mpa / one_of('pressure', 'kPa'):.3g}"


def _bound_words(bound: RunBound, voice: Voice) -> str:
    """Return what a run says whose readings carry no uptake."""
    read = f"{bound.went_in_ml:.0f} mL as read"
    if bound.least is not None and bound.most is None:
        return (
            f"no uptake is told: what went in, {read}, may be as much as ports wide open would "
            f"take; by it each takes at least {_flow(bound.least, bound.vessel_mpa)} mL/min with "
            f"{voice.plain(bound.vessel_mpa)} in its hole (95 %). Look for a leak, an open end "
            "and a vessel run empty before you believe the tree; if there is none, read on for "
            "longer"
        )
    text = f"no uptake is told: what went in, {read}, says too little"
    ends = [
        f"{word} {_flow(end, bound.vessel_mpa)} mL/min"
        for word, end in (("at least", bound.least), ("at most", bound.most))
        if end is not None
    ]
    if ends:
        text += (
            f". With {voice.plain(bound.vessel_mpa)} in its hole a port would take "
            f"{' and '.join(ends)} (95 %)"
        )
    return f"{text}. Read on for longer, or the level more finely"


def _tree_lines(one: TreeDay, voice: Voice) -> list[str]:
    name = one.run.name
    lines = []
    if one.bound is not None:
        lines.append(f"{name}: {_bound_words(one.bound, voice)}")
        lines += [f"  {said}" for said in one.said]
    elif one.told is None:
        lines.append(f"{name}: nothing was read over time")
    else:
        told = one.told
        low, expected, high = (
            _flow(conductance, told.hole_mpa)
            for conductance in (told.low, told.expected, told.high)
        )
        lines.append(
            f"{name}: each port takes {expected} mL/min at {voice.plain(told.hole_mpa)} in its "
            f"hole ({low} to {high}, nine in ten; {told.expected:.3g} mL/min/kPa), by the "
            f"{told.delivered.by}"
            f"{'' if told.blocked else ', every port taken as drinking'}"
        )
        vessel_mpa = float(np.max(told.delivered.pressure_mpa))
        lines.append(
            f"  the vessel had {voice.plain(vessel_mpa)} then; the line took the "
            "difference, and more from the other ports"
        )
        for word, found in (("your volume is in after", one.finish),
                            ("pump up again after", one.recharge)):  # fmt: skip
            if found is not None:
                lines.append(f"  {word} {_span(found)}")
        if one.stop is not None:
            lines.append(f"  {_stop(one.stop)}")
        lines += [f"  blocked: {found.how}" for found in told.blocked]
        lines += [f"  {said}" for said in one.said]
    for word, seats in (("drips", one.drips), ("moved when pulled", one.moved)):
        if seats:
            lines.append(f"  {word}: port {', '.join(seat.port or '?' for seat in seats)}")
    return lines


def _how_many_told(told: int, trees: int) -> str:
    if trees == 1:
        return "The tree told how it drinks." if told else "The tree did not tell how it drinks."
    return f"{told} of {trees} trees told how they drink."


def _field_report(day: FieldDay, source: Path, document: dict[str, Any], voice: Voice) -> LogReport:
    rows = []
    for one in day.days:
        told = one.told
        uptake = "not read" if one.bound is None else _bound_words(one.bound, voice)
        if told is not None:
            uptake = f"{told.expected:.3g} ({told.low:.3g} to {told.high:.3g})"
        rows.append(
            (
                one.run.name,
                one.run.species or "not named",
                uptake,
                _span(one.finish) or "no volume given",
                "no vessel given" if one.stop is None else _stop(one.stop),
                _span(one.recharge) or "not pumped",
                "; ".join(found.how for found in told.blocked) if told and told.blocked else
                "no evidence",
            )
        )  # fmt: skip
    tables = [
        LogTable(
            title="Trees",
            caption="Uptake of each port in mL/min/kPa, nine in ten, by the chain's own network, "
            "every port taken as drinking that is not named. "
            "A blocked port is told only by a drop in the run, or by ports closed one at a time.",
            heads=("tree", "species", "uptake", "volume in", "stop before air", "pump up again",
                   "blocked ports"),
            rows=tuple(rows),
        )
    ]  # fmt: skip
    seats = [
        (
            seat.port or "not named",
            one.run.name,
            seat.part,
            "" if seat.pull_n is None else IMPERIAL.plain(seat.pull_n, "force"),
            "" if seat.pull_n is None else "yes" if seat.moved else "no",
            "yes" if seat.drips else "",
            seat.remark,
        )
        for one in day.days
        for seat in one.run.seats
    ]
    if seats:
        tables.append(
            LogTable(
                title="Seats",
                caption="As written. A seat that moved or drips is tapped one tick deeper, no "
                "further than its card allows, and looked at again.",
                heads=("port", "tree", "part", "pull", "moved", "drips", "remark"),
                rows=tuple(seats),
            )
        )
    if day.pulls is not None:
        tables += _bench_tables(day.pulls)
    if day.uses:
        tables.append(
            LogTable(
                title="Uses",
                caption=f"A tip is retired after {RETIRE_AFTER_USES} uses (our judgement).",
                heads=("part", "uses so far"),
                rows=tuple((part, str(count)) for part, count in day.uses.items()),
            )
        )
    curves = [(one.run.name, one.told) for one in day.days if one.told is not None]
    figures: tuple[LogFigure, ...] = ()
    if curves:
        svg = run_svg([
            RunCurve(title=name, minutes=told.delivered.minutes,
                     delivered_ml=told.delivered.volume_ml, fitted_ml=told.fitted_ml)
            for name, told in curves
        ])  # fmt: skip
        figures = (LogFigure(label="What went in over time",
                             caption="Points as read, lines by the median of each tree.",
                             svg=svg),)  # fmt: skip
    return LogReport(
        title=f"Trees: {source.name}",
        under="As read in the field; nothing here was measured by us.",
        verdict=str(document["verdict"]),
        word="READ" if document["verdict"] == "pass" else "TOLD NOTHING",
        because=_how_many_told(len(curves), len(day.days)),
        figures=figures,
        tables=tuple(tables),
        said=(
            *(f"{one.run.tree}: {text}" for one in day.days for text in one.said),
            *day.warnings,
            *(() if day.pulls is None else day.pulls.warnings),
        ),
    )
