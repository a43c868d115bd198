"""One part rated: how far each check lets it go, by temperature, and what is smallest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from barbwright.checks.result import CAUTION, CHECKS, NO_SIZE, VERDICTS
from barbwright.design.conditions import Conditions
from barbwright.design.part import Kind
from barbwright.design.refusals import refused
from barbwright.design.single import single
from barbwright.equations import Number
from barbwright.job import numbers
from barbwright.job.record import MOST_MPA, Job
from barbwright.rating.limits import (
    LEAST_MPA,
    OVERALL,
    Limits,
    contact_at,
    highest_pressures,
)
from barbwright.rating.search import designed, grade
from barbwright.rating.smallest import Smallest, smallest
from barbwright.rating.stack import stack
from barbwright.say import Voice, voice_of

TEMPERATURES_C = (10.0, 20.0, 30.0, 40.0, 50.0, 60.0)


@dataclass(frozen=True)
class CheckLimit:
    """How far one check lets a part go.

    Attributes
    ----------
    id : str
        The check.
    max_mpa : float or None
        Highest pressure at which it does not fail; None where it sets none [MPa].
    because : str
        Why there is no such pressure, or what to know about it.
    """

    id: str
    max_mpa: float | None
    because: str


@dataclass(frozen=True, kw_only=True)
class TemperatureLimit:
    """How far a part goes at one temperature.

    Attributes
    ----------
    temperature_c : float
        Service temperature [degree C].
    max_mpa : float or None
        Highest pressure at which no check fails, though some may be a caution; None
        where a service check could not be judged [MPa].
    governing : str
        The check that fails above ``judged_mpa``, or at every pressure; empty where none does.
    because : str
        Why there is no such pressure, or what to know about it.
    judged_mpa : float or None
        The same by the checks that could be judged alone [MPa].
    not_checked : tuple of str
        Service and handling checks that cannot be made at it, so that they set no limit.
    pass_mpa : float or None
        Highest pressure with a full pass, no caution [MPa].
    pass_because : str
        Why there is none, or which check is the first to be less than a pass.
    silent : tuple of str
        Checks for want of which ``max_mpa`` is not known.
    """

    temperature_c: float
    max_mpa: float | None
    governing: str
    because: str
    not_checked: tuple[str, ...]
    judged_mpa: float | None = None
    pass_mpa: float | None = None
    pass_because: str = ""
    silent: tuple[str, ...] = ()


@dataclass(frozen=True)
class Drawn:
    """How far one part goes whose sizes stay as they were drawn for the asked pressure.

    Attributes
    ----------
    pressure_mpa : float
        Pressure it is drawn for [MPa].
    contact_mm, seat_mm : float or None
        Contact and taper length it is drawn with; None without a tip [mm].
    limit : TemperatureLimit
        How far it goes at the job's own temperature.
    """

    pressure_mpa: float
    contact_mm: float | None
    seat_mm: float | None
    limit: TemperatureLimit


@dataclass(frozen=True, kw_only=True)
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
    drawn : Drawn or None
        The part drawn for the asked pressure, and no other; None where none was asked.
    contact_range_mm : tuple of float or None
        Contact of the parts drawn from the lowest pressure to the highest one; None
        without a tip, or where no pressure works [mm].
    """

    job: Job
    kind: Kind
    service: TemperatureLimit
    by_check: tuple[CheckLimit, ...]
    by_temperature: tuple[TemperatureLimit, ...]
    asked_verdict: str
    smallest: Smallest | None
    drawn: Drawn | None
    contact_range_mm: tuple[float, float] | None

    def __repr__(self) -> str:
        """Return the limit in service in a line; the whole table is long."""
        voice, most = voice_of(self.job.inputs), self.service.max_mpa
        said = (
            "no pressure is known to hold" if most is None else f"no fail up to {voice.limit(most)}"
        )
        return f"<rating of a {self.kind.title} at {self.service.temperature_c:g} C: {said}>"


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
        Whether the smallest bit, wall, tube and wood are wanted, and how far the part
        drawn for the asked pressure goes.

    Returns
    -------
    Rating
        Found by root-finding on the checks themselves.

    Source: own_derivation
    """
    voice = voice_of(job.inputs)
    temperatures = sorted({*temperatures_c, numbers.temperature_c(job)})
    each = [numbers.conditions(replace(job, temperature_c=value)) for value in temperatures]
    limits = highest_pressures(kind, stack(each), job.forced, count=len(each))
    full = highest_pressures(
        kind, stack(each), job.forced, count=len(each), each=False, bad=CAUTION
    )
    by_temperature = tuple(
        _at(limits, full, index, value, voice) for index, value in enumerate(temperatures)
    )
    own = temperatures.index(numbers.temperature_c(job))
    asked = grade(kind, each[own], job.forced)
    becauses = dict(zip(asked.ids, asked.because, strict=True))
    checks = [
        _check(limits, row, own, becauses.get(name, ""), voice)
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
        asked_verdict=VERDICTS[int(np.ravel(asked.code)[0])],
        smallest=smallest(kind, job) if with_smallest else None,
        drawn=rate_drawn(kind, job) if with_smallest else None,
        contact_range_mm=_contact_range(kind, job, each[own], limits.overall_mpa[own]),
    )


def _contact_range(
    kind: Kind, job: Job, conditions: Conditions, highest_mpa: float
) -> tuple[float, float] | None:
    if not kind.tip or np.isnan(highest_mpa):
        return None
    ends = (LEAST_MPA, min(float(highest_mpa), MOST_MPA))
    least, most = (float(contact_at(kind, conditions, end, job.forced)) for end in ends)
    return round(least, 4), round(most, 4)


def rate_drawn(kind: Kind, job: Job, *, full: bool = True) -> Drawn:
    """Return how far the one part goes that is drawn for the asked pressure, its sizes held.

    Parameters
    ----------
    kind : Kind
        Kind of part.
    job : Job
        What it is made from; its relief, or else its pressure, is what is asked.
    full : bool
        Whether the highest pressure with a full pass is wanted too.

    Returns
    -------
    Drawn
        Found by root-finding on the checks themselves.

    Source: own_derivation
    """
    conditions = numbers.conditions(job)
    asked = float(conditions.highest_mpa)
    with np.errstate(all="ignore"):
        design = designed(kind, conditions, job.forced)
        unsized = bool(np.any(refused(design)))
    if unsized:
        because = "no size satisfies the limits at the pressure asked, so no part is drawn for it"
        return Drawn(
            asked,
            None,
            None,
            TemperatureLimit(
                temperature_c=numbers.temperature_c(job),
                max_mpa=None,
                governing="",
                because=because,
                not_checked=(),
            ),
        )
    forced: dict[str, Number] = dict(job.forced)
    contact, seat = None, None
    conditions = replace(conditions, tubes=design.conditions.tubes)
    tip = single(design).tip
    if tip is not None:
        # The sizes that follow the pressure, beside a rubber tube's stretch.
        contact, seat = tip.contact_mm, tip.seat_mm
        forced |= {"contact": contact, "seat": seat, "taper": tip.taper}
    limits = highest_pressures(kind, conditions, forced)
    passing = None
    if full:
        passing = highest_pressures(kind, conditions, forced, each=False, bad=CAUTION)
    return Drawn(
        asked,
        contact,
        seat,
        _at(limits, passing, 0, numbers.temperature_c(job), voice_of(job.inputs)),
    )


def _notes(limits: Limits, row: int, column: int, voice: Voice) -> str:
    notes = []
    start = limits.start_mpa[row, column]
    if start > limits.start_mpa.min(initial=np.inf, where=~np.isnan(limits.start_mpa)):
        notes.append(f"only from {voice.demand(start)} up: below it the part is drawn otherwise")
    if limits.again[row, column]:
        notes.append("some higher pressures pass again, where rounding draws more contact")
    return "; ".join(notes)


def _check(limits: Limits, row: int, column: int, not_made: str, voice: Voice) -> CheckLimit:
    name = limits.ids[row]
    highest = limits.highest_mpa[row, column]
    if not limits.checked[row, column]:
        return CheckLimit(name, None, not_made or "an input it needs is not known")
    if np.isnan(highest):
        return CheckLimit(name, None, "fails at every pressure")
    if np.isinf(highest):
        return CheckLimit(name, None, f"does not fail up to {voice.limit(MOST_MPA)}")
    return CheckLimit(name, float(highest), _notes(limits, row, column, voice))


def _at(
    limits: Limits, full: Limits | None, column: int, temperature_c: float, voice: Voice
) -> TemperatureLimit:
    row = limits.ids.index(OVERALL)
    highest, governing = limits.highest_mpa[row, column], limits.governing[column]
    # A service check that is silent here, or any that limits pressure elsewhere, must not look
    # like a better part.
    limiting = np.asarray(np.isfinite(limits.highest_mpa).any(axis=1))
    unmade = [
        (name, CHECKS[name].stage, limiting[index])
        for index, name in enumerate(limits.ids[:-1])
        if not limits.checked[index, column]
    ]
    silent = tuple(name for name, stage, limits_it in unmade if stage == "service" or limits_it)
    missing = tuple(name for name, stage, _ in unmade if stage != "making")

    if np.isnan(highest):
        because = f"{governing} fails at every pressure"
        if governing == VERDICTS[NO_SIZE]:
            because, governing = "no size satisfies the limits: `check` says which collide", ""
        return TemperatureLimit(
            temperature_c=temperature_c,
            max_mpa=None,
            governing=governing,
            because=because,
            not_checked=missing,
            pass_because=because,
        )
    judged = None if np.isinf(highest) else float(highest)
    notes = [f"no check fails up to {voice.limit(MOST_MPA)}"] if judged is None else []
    if governing == VERDICTS[NO_SIZE]:
        notes.append("above it no size exists")
        governing = ""
    if said := _notes(limits, row, column, voice):
        notes.append(said)
    if silent:
        notes.insert(0, f"{', '.join(silent)} cannot be judged at {temperature_c:g} C")
    pass_mpa, pass_because = (None, "") if full is None else _full_pass(full, column, silent, voice)
    return TemperatureLimit(
        temperature_c=temperature_c,
        max_mpa=None if silent else judged,
        governing=governing,
        because="; ".join(notes),
        not_checked=missing,
        judged_mpa=judged,
        pass_mpa=pass_mpa,
        pass_because=pass_because,
        silent=silent,
    )


def _full_pass(
    full: Limits, column: int, silent: tuple[str, ...], voice: Voice
) -> tuple[float | None, str]:
    """Return the highest pressure with a full pass [MPa], and why there is none or what ends it."""
    highest, check = full.overall_mpa[column], full.governing[column]
    if silent:
        return None, "a check that could not be judged is no pass"
    if np.isnan(highest):
        return None, f"{check} is less than a pass at every pressure"
    if np.isinf(highest):
        return None, f"all checks pass up to {voice.limit(MOST_MPA)}"
    ends = "above it no size exists"
    if check != VERDICTS[NO_SIZE]:
        ends = f"{check} is the first to be less than a pass"
    return float(highest), "; ".join(filter(None, (ends, _notes(full, -1, column, voice))))
