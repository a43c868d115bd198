"""A rating, a sweep and a scatter as one document and as files."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Collection
from pathlib import Path
from typing import Any

from barbwright import catalog, say
from barbwright.design.part import Kind
from barbwright.errors import Fault, InputError
from barbwright.job.record import Job
from barbwright.jobs.record import SCHEMA_VERSION, dump, inputs
from barbwright.jobs.written import write_all
from barbwright.rating.choices import (
    Axis,
    bit_axis,
    material_axis,
    pressure_axis,
    tube_axis,
    wood_axis,
)
from barbwright.rating.rating import Drawn, Rating, TemperatureLimit
from barbwright.rating.scatter import Scatter, summary
from barbwright.rating.smallest import Found, Smallest
from barbwright.rating.spans import read_bits, read_names, read_pressures
from barbwright.rating.sweep import Sweep
from barbwright.report.notices import NOT_RATED
from barbwright.units import FaultCollector

FORMATS = ("csv", "json", "svg", "png")
NO_PRESSURE = "no pressure is asked: --pressure"
# A document with more points than this is a data file: it goes into CSV, not into JSON.
MOST_JSON_POINTS = 200_000


def read_axes(
    job: Job, kind: Kind, texts: dict[str, str | None], points: int = 13
) -> tuple[Axis, ...]:
    """Return what a sweep varies, all faults at once.

    Parameters
    ----------
    job : Job
        What it does not vary.
    kind : Kind
        Kind of part; without a tip it has no bit and no wood.
    texts : dict of str to str
        bits, materials, tubes, woods, pressures as typed; None where not swept.
    points : int
        Pressures that a range becomes [-].

    Raises
    ------
    InputError
        With every fault.
    """
    collect = FaultCollector()
    makers: list[Callable[[], Axis]] = []
    for name in ("bits", "woods"):
        if texts.get(name) is not None and not kind.tip:
            fault = Fault(f"--{name}: a {kind.name} has no tip", do=f"leave out --{name}")
            collect.add(fault)
    bits = _read(collect, read_bits, texts.get("bits"))
    if bits:
        makers.append(lambda: bit_axis(job, bits))
    materials = _read(
        collect, read_names, texts.get("materials"), catalog.materials(), catalog.find_material,
        "--materials",
    )  # fmt: skip
    if materials:
        makers.append(lambda: material_axis(job, materials))
    tubes = _read(
        collect, read_names, texts.get("tubes"), catalog.tubes(), catalog.find_tube, "--tubes"
    )
    if tubes:
        makers.append(lambda: tube_axis(job, [tube for tube in tubes if tube.od_mm is not None]))
    woods = _read(
        collect, read_names, texts.get("woods"), catalog.woods(), catalog.find_wood, "--woods"
    )
    if woods:
        makers.append(lambda: wood_axis(job, woods))
    pressures = _read(collect, read_pressures, texts.get("pressures"), points)
    if pressures:
        makers.append(lambda: pressure_axis(job, *pressures))
    collect.raise_if_any(InputError)
    return tuple(make() for make in makers)


def _read(collect: FaultCollector, reader: Callable[..., Any], text: str | None, *more: Any) -> Any:
    return None if text is None else collect.read(reader, text, *more)


def _kpa(pressure_mpa: float | None) -> float | None:
    """Return a limit in kPa, rounded down: what is written still passes."""
    return None if pressure_mpa is None else say.number(pressure_mpa, "pressure", "kPa", "down")


def rate_document(
    kind: Kind,
    job: Job,
    rating: Rating | None,
    sweep: Sweep | None = None,
    scatter: Scatter | None = None,
) -> dict[str, Any]:
    """Return all that `rate` found as one JSON document.

    Parameters
    ----------
    kind : Kind
        Kind of part.
    job : Job
        What was asked.
    rating : Rating, optional
        Limits.
    sweep : Sweep, optional
        Grid.
    scatter : Scatter, optional
        Samples.
    """
    body: dict[str, Any] = {
        "schema_version": SCHEMA_VERSION,
        "command": "rate",
        "part": kind.name,
        "notice": NOT_RATED,
        "inputs": inputs(job),
        "warnings": list(job.said),
    }
    if rating is not None:
        body |= _rating(rating)
    if sweep is not None:
        body["sweep"] = _sweep(sweep)
    if scatter is not None:
        body["scatter"] = _scatter(scatter)
    return body


def _rating(rating: Rating) -> dict[str, Any]:
    service = rating.service
    return {
        "temperature_c": service.temperature_c,
        "max_pressure_kpa": _kpa(service.max_mpa),
        "because": service.because,
        "judged_max_pressure_kpa": _kpa(service.judged_mpa),
        "governing_check": service.governing or None,
        "pass_max_pressure_kpa": _kpa(service.pass_mpa),
        "pass_because": service.pass_because,
        "contact_range_mm": list(rating.contact_range_mm) if rating.contact_range_mm else None,
        **_drawn(rating.drawn),
        "verdict_as_asked": rating.asked_verdict,
        "by_check": [
            {"id": one.id, "max_pressure_kpa": _kpa(one.max_mpa), "because": one.because}
            for one in rating.by_check
        ],
        "by_temperature": [
            {
                "temperature_c": one.temperature_c,
                "max_pressure_kpa": _kpa(one.max_mpa),
                "because": one.because,
                "judged_max_pressure_kpa": _kpa(one.judged_mpa),
                "governing_check": one.governing or None,
                "pass_max_pressure_kpa": _kpa(one.pass_mpa),
                "pass_because": one.pass_because,
                "not_checked": list(one.not_checked),
            }
            for one in rating.by_temperature
        ],
        **_smallest(rating.smallest),
    }


def _drawn(drawn: Drawn | None) -> dict[str, Any]:
    if drawn is None:
        nothing = TemperatureLimit(
            temperature_c=0.0, max_mpa=None, governing="", because=NO_PRESSURE, not_checked=()
        )
        drawn = Drawn(0.0, None, None, nothing)
    limit = drawn.limit
    return {
        "drawn_for_kpa": say.number(drawn.pressure_mpa, "pressure", "kPa", "nearest") or None,
        "drawn_contact_mm": _short(drawn.contact_mm),
        "drawn_seat_mm": _short(drawn.seat_mm),
        "drawn_max_pressure_kpa": _kpa(limit.max_mpa),
        "drawn_judged_max_pressure_kpa": _kpa(limit.judged_mpa),
        "drawn_governing_check": limit.governing or None,
        "drawn_because": limit.because,
    }


def _smallest(found: Smallest | None) -> dict[str, Any]:
    if found is None:
        nothing = Found(because=NO_PRESSURE)
        found = Smallest(
            bit=nothing,
            walls=(),
            tube=nothing,
            shore=nothing,
            wood=nothing,
            hardwood=nothing,
            softwood=nothing,
        )
    wall = found.walls[0] if found.walls else None
    named = {
        "smallest_bit": found.bit,
        "softest_tube": found.tube,
        "softest_shore": found.shore,
        "softest_wood": found.wood,
        "least_hardwood": found.hardwood,
        "least_softwood": found.softwood,
    }
    because = {name: one.because for name, one in named.items() if one.because}
    if wall is None or wall.least_mm is None:
        because["least_wall_mm"] = wall.because if wall else "there is no wall under a tube"
    return {
        "smallest_bit": found.bit.name,
        "smallest_bit_diameter_mm": _at_least(found.bit.number),
        "least_wall_mm": _at_least(wall.least_mm) if wall else None,
        "least_walls": [
            {
                "where": one.where,
                "drawn_wall_mm": _short(one.drawn_mm),
                "least_wall_mm": _at_least(one.least_mm),
                "governing_check": one.governing or None,
                "least_wall_without_process_limits_mm": _at_least(one.strength_mm),
                "governing_check_without_process_limits": one.strength_governing or None,
                "because": one.because,
            }
            for one in found.walls
        ],
        "softest_tube": found.tube.name,
        "softest_tube_modulus_mpa": _at_least(found.tube.number),
        "softest_shore": found.shore.name,
        "softest_shore_a": _at_least(found.shore.number),
        "softest_wood": found.wood.name,
        "softest_wood_specific_gravity": _at_least(found.wood.number),
        "softest_wood_c90_mpa": _short(found.wood.crush_mpa),
        "least_hardwood_specific_gravity": _at_least(found.hardwood.number),
        "least_softwood_specific_gravity": _at_least(found.softwood.number),
        "null_because": because,
    }


def _at_least(value: float | None) -> float | None:
    return None if value is None else float(say.bare(value, "up", 4))


def _short(value: float | None) -> float | None:
    return None if value is None else round(value, 4)


def _sweep(sweep: Sweep) -> dict[str, Any]:
    body: dict[str, Any] = {
        "axes": [
            {
                "name": one.name,
                "unit": one.unit,
                "labels": list(one.labels),
                "values": None if one.numbers is None else [round(n, 4) for n in one.numbers],
            }
            for one in sweep.axes
        ],
        "points": int(sweep.code.size),
        "columns": None,
    }
    if sweep.code.size <= MOST_JSON_POINTS:
        body["columns"] = sweep.columns()
    else:
        body["because"] = f"more than {MOST_JSON_POINTS:,} points: --output writes them as CSV"
    return body


def _scatter(result: Scatter) -> dict[str, Any]:
    most = result.matters_most
    return {
        "samples": result.count,
        "seed": result.seed,
        "summary": summary(result),
        "share_not_fail": round(result.share_not_fail, 6),
        "share_hold": round(result.share_hold, 6),
        "tightest_check": result.tightest,
        "matters_most": most.spread.id if most is not None else None,
        "matters_most_tolerance": (
            result.tolerance.spread.id if result.tolerance is not None else None
        ),
        "margin_percentiles": {
            str(percent): round(value, 6) for percent, value in result.margin_percentiles.items()
        },
        "by_check": [
            {
                "id": one.id,
                "share_pass": _share(one.share_pass),
                "share_not_fail": _share(one.share_not_fail),
                "share_hold": _share(one.share_hold),
            }
            for one in result.checks
        ],
        "ranking": [
            {
                "id": one.spread.id,
                "title": one.spread.title,
                "distribution": one.spread.distribution,
                "status": one.spread.status,
                "source": one.spread.source,
                "rank_correlation": round(one.rank_correlation, 6),
                "share_of_margin": round(one.share, 6),
                "share_fail_without": round(one.share_fail_without, 6),
                "to_do": one.spread.advice,
            }
            for one in result.influences
        ],
    }


def _share(value: float | None) -> float | None:
    return None if value is None else round(value, 6)


def table_csv(columns: dict[str, list[Any]]) -> bytes:
    """Return columns as CSV, units in the headers, nothing where there is no number."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(zip(*columns.values(), strict=True))
    return stream.getvalue().encode()


def rating_columns(rating: Rating) -> dict[str, list[Any]]:
    """Return a rating by temperature as columns."""
    rows = rating.by_temperature
    return {
        "temperature_c": [one.temperature_c for one in rows],
        "max_pressure_kpa": [_kpa(one.max_mpa) for one in rows],
        "judged_max_pressure_kpa": [_kpa(one.judged_mpa) for one in rows],
        "pass_max_pressure_kpa": [_kpa(one.pass_mpa) for one in rows],
        "governing_check": [one.governing for one in rows],
        "because": [one.because for one in rows],
    }


def scatter_columns(result: Scatter) -> dict[str, list[Any]]:
    """Return the shares of a scatter as columns."""
    made = [one for one in result.checks if one.share_pass is not None]
    return {
        "check": [one.id for one in made],
        "share_pass": [one.share_pass for one in made],
        "share_not_fail": [one.share_not_fail for one in made],
        "share_hold": [one.share_hold for one in made],
    }


def write_rate(
    folder: Path,
    body: dict[str, Any],
    rating: Rating | None,
    sweep: Sweep | None,
    scatter: Scatter | None,
    formats: Collection[str] = FORMATS,
    *,
    force: bool = False,
) -> list[Path]:
    """Write tables, the document and plots into a folder.

    Parameters
    ----------
    folder : Path
        Made if it is not there.
    body : dict
        The document.
    rating, sweep, scatter : Rating, Sweep, Scatter or None
        What was found.
    formats : collection of str
        Which of `FORMATS`.
    force : bool
        Write over files that are there.

    Returns
    -------
    list of Path
        What was written.

    Raises
    ------
    InputError
        When a file is there and ``force`` was not given; nothing is written then.
    """
    from barbwright.report import rate_plots

    jobs: dict[str, Callable[[], bytes]] = {}
    if "json" in formats:
        jobs["rate.json"] = lambda: dump(body)
    found: list[tuple[str, Any, Callable[[Any], dict[str, list[Any]]], Callable[..., bytes]]] = [
        ("rating", rating, rating_columns, rate_plots.rating_plot),
        ("sweep", sweep, Sweep.columns, rate_plots.sweep_plot),
        ("scatter", scatter, scatter_columns, rate_plots.scatter_plot),
    ]
    for name, result, columns, plot in found:
        if result is None:
            continue
        if "csv" in formats:
            jobs[f"{name}.csv"] = lambda r=result, c=columns: table_csv(c(r))  # type: ignore[misc]
        for kind in ("svg", "png"):
            if kind in formats:
                jobs[f"{name}.{kind}"] = lambda r=result, p=plot, k=kind: p(r, k)  # type: ignore[misc]
    write_all(folder, jobs, force=force)
    return [folder / name for name in jobs]
