"""One part rated: how far each check lets it go, by temperature, and what is smallest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from barbwright import kit
from barbwright.checks.result import CHECKS
from barbwright.design.part import Kind
from barbwright.kit import Job
from barbwright.rating.judging import NO_SIZE, WORDS, grade
from barbwright.rating.limits import MOST_MPA, OVERALL, Limits, highest_pressures
from barbwright.rating.smallest import Smallest, smallest
from barbwright.rating.stack import stack

TEMPERATURES_C = (10.0, 20.0, 30.0, 40.0, 50.0, 60.0)


@dataclass(frozen=True)
class CheckLimit:
    """How far one check lets a part go.

    Attributes
    ----------
    id : str
        The check.
    max_mpa : float or None
        Highest pressure it passes; None where it sets none [MPa].
    because : str
        Why there is no such pressure, or what to know about it.
    """

    id: str
    max_mpa: float | None
    because: str


@dataclass(frozen=True)
class TemperatureLimit:
    """How far a part goes at one temperature.

    Attributes
    ----------
    temperature_c : float
        Service temperature [degree C].
    max_mpa : float or None
        Highest pressure that passes every check [MPa].
    governing : str
        The check that fails above it, or at every pressure; empty where none does.
    because : str
        Why there is no such pressure, or what to know about it.
    not_checked : tuple of str
        Service and handling checks that cannot be made at it, so that they set no limit.
    """

    temperature_c: float
    max_mpa: float | None
    governing: str
    because: str
    not_checked: tuple[str, ...]


@dataclass(frozen=True)
class Rating:
    """A part rated.

    Attributes
    ----------
    job : Job
        What it is made from.
    kind : Kind
        Kind of part.
    service : TemperatureLimit
        At the job's own temperature.
    by_check : tuple of CheckLimit
        At the job's own temperature, lowest first.
    by_temperature : tuple of TemperatureLimit
        From cold to hot, the job's own among them.
    asked_verdict : str
        What `check` says at the asked pressure.
    smallest : Smallest or None
        What still passes at the asked pressure; None where none was asked.
    """

    job: Job
    kind: Kind
    service: TemperatureLimit
    by_check: tuple[CheckLimit, ...]
    by_temperature: tuple[TemperatureLimit, ...]
    asked_verdict: str
    smallest: Smallest | None


def rate_part(
    kind: Kind,
    job: Job,
    temperatures_c: Sequence[float] = TEMPERATURES_C,
    *,
    with_smallest: bool = True,
) -> Rating:
    """Return how far a part goes.

    Parameters
    ----------
    kind : Kind
        Kind of part.
    job : Job
        What it is made from; its relief, or else its pressure, is what is asked.
    temperatures_c : sequence of float
        Temperatures to rate at, beside the job's own [degree C].
    with_smallest : bool
        Whether the smallest bit, wall, tube and wood are wanted.

    Returns
    -------
    Rating
        Found by root-finding on the checks themselves.

    Source: own_derivation
    """
    temperatures = sorted({*temperatures_c, job.temperature_c})
    each = [kit.conditions(replace(job, temperature_c=value)) for value in temperatures]
    limits = highest_pressures(kind, stack(each), job.forced, count=len(each))
    by_temperature = tuple(_at(limits, index, value) for index, value in enumerate(temperatures))
    own = temperatures.index(job.temperature_c)
    asked = grade(kind, each[own], job.forced)
    becauses = dict(zip(asked.ids, asked.because, strict=True))
    checks = [
        _check(limits, row, own, becauses.get(name, ""))
        for row, name in enumerate(limits.ids)
        if name != OVERALL
    ]
    checks.sort(key=lambda one: one.max_mpa if one.max_mpa is not None else np.inf)
    return Rating(
        job=job,
        kind=kind,
        service=by_temperature[own],
        by_check=tuple(checks),
        by_temperature=by_temperature,
        asked_verdict=WORDS[int(np.ravel(asked.code)[0])],
        smallest=smallest(kind, job) if with_smallest else None,
    )


def _notes(limits: Limits, row: int, column: int) -> str:
    notes = []
    start = limits.start_mpa[row, column]
    if start > limits.start_mpa.min(initial=np.inf, where=~np.isnan(limits.start_mpa)):
        notes.append(f"only from {1000.0 * start:.1f} kPa up: below it the part is drawn otherwise")
    if limits.again[row, column]:
        notes.append("some higher pressures pass again, where rounding draws more contact")
    return "; ".join(notes)


def _check(limits: Limits, row: int, column: int, not_made: str) -> CheckLimit:
    name = limits.ids[row]
    highest = limits.highest_mpa[row, column]
    if not limits.checked[row, column]:
        return CheckLimit(name, None, not_made or "an input it needs is not known")
    if np.isnan(highest):
        return CheckLimit(name, None, "fails at every pressure")
    if np.isinf(highest):
        return CheckLimit(name, None, f"does not fail up to {1000.0 * MOST_MPA:.0f} kPa")
    return CheckLimit(name, float(highest), _notes(limits, row, column))


def _at(limits: Limits, column: int, temperature_c: float) -> TemperatureLimit:
    row = limits.ids.index(OVERALL)
    highest, governing = limits.highest_mpa[row, column], limits.governing[column]
    # A check that limits pressure elsewhere and is silent here must not look like a better part.
    limiting = np.asarray(np.isfinite(limits.highest_mpa).any(axis=1))
    silent = tuple(
        name
        for index, name in enumerate(limits.ids)
        if limiting[index] and not limits.checked[index, column]
    )
    missing = tuple(
        name
        for index, name in enumerate(limits.ids[:-1])
        if CHECKS[name].stage != "making" and not limits.checked[index, column]
    )
    if np.isnan(highest):
        if governing == WORDS[NO_SIZE]:
            because = "no size satisfies the limits: `check` says which collide"
            return TemperatureLimit(temperature_c, None, "", because, missing)
        because = f"{governing} fails at every pressure"
        return TemperatureLimit(temperature_c, None, governing, because, missing)
    if silent:
        because = f"{', '.join(silent)} cannot be judged at {temperature_c:g} C"
        return TemperatureLimit(temperature_c, None, "", because, missing)
    if np.isinf(highest):
        because = f"no check fails up to {1000.0 * MOST_MPA:.0f} kPa"
        return TemperatureLimit(temperature_c, None, "", because, missing)
    because = _notes(limits, row, column)
    if governing == WORDS[NO_SIZE]:
        because = "; ".join(["above it no size exists", because]).rstrip("; ")
        governing = ""
    return TemperatureLimit(temperature_c, float(highest), governing, because, missing)
