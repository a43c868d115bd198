"""The one door to a design: of the settings that may be tried, the one with the shortest seat.

`design` draws a given taper. Which one is drawn is found here, by the checks: all
settings are drawn and judged in one run of arrays, beside whatever else varies.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace

import numpy as np

from barbwright.checks.result import CHECKS, FAIL, NO_SIZE, PASS, VERDICTS
from barbwright.checks.table import judge_before
from barbwright.design.conditions import Conditions
from barbwright.design.part import Design, Kind, design_part
from barbwright.design.refusals import refused
from barbwright.design.tip import CONTACTS, TAPERS, seat_choice
from barbwright.equations import Number
from barbwright.rating.judging import BoolArray, FloatArray, Graded, IntArray, grade_design
from barbwright.rating.shortlist import Seats, Taken, shortlisted
from barbwright.rating.stack import take, take_sizes
from barbwright.rating.stretch import each_stretch, stretched

# Beyond any seat or use: what ranks higher than all seats of a better verdict.
_WORSE = 1e6
# More than there are checks, and than a factor that tells anything.
_MANY = 100.0
# What is told where nothing has a size.
_MIDDLE = len(TAPERS) // 3 * CONTACTS
# From so many on a shortlist is faster than every seat of each; drawn so many at a time.
_MANY_DESIGNS, _DRAWN_AT_ONCE = 64, 512


@dataclass(frozen=True, kw_only=True)
class Tried:
    """What one setting would have given.

    Attributes
    ----------
    taper : float
        Taper on the diameter [-].
    seat_mm, contact_mm : float or None
        Length of the tapered seat and contact; None where no size exists [mm].
    outcome : str
        pass, proved (a pass that is proved in the field), caution, fail or no_size.
    check : str
        The check that governs; empty where none does.
    lost : str
        Why it was not taken; empty for the one that was.
    """

    taper: float
    seat_mm: float | None
    contact_mm: float | None
    outcome: str
    check: str
    lost: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Searched:
    """Every setting of a series drawn and judged, and which of them is taken.

    Attributes
    ----------
    settings : (m,) ndarray
        Numbers of the seats that were tried, as `seat_choice` counts them [-].
    graded : Graded
        Verdicts of shape (m, ...).
    taper, seat_mm, contact_mm : (m, ...) ndarray
        Taper [-], length of the tapered seat and contact [mm].
    order : (m, ...) ndarray
        The least of each design is the one it takes [-].
    """

    settings: FloatArray
    graded: Graded
    taper: FloatArray
    seat_mm: FloatArray
    contact_mm: FloatArray
    order: FloatArray

    @property
    def taken(self) -> IntArray:
        """Index of the setting that each design takes [-]."""
        return np.asarray(np.argmin(self.order, axis=0))

    @property
    def setting(self) -> FloatArray:
        """The setting that each design takes [-]."""
        return np.asarray(self.settings[self.taken])

    def tried(self) -> tuple[Tried, ...]:
        """Return what each taper would have given one design at its best, and why it lost."""
        own = int(self.taken)
        best: dict[float, int] = {}
        for index, taper in enumerate(self.taper):
            known = best.setdefault(float(taper), index)
            if self.order[index] < self.order[known]:
                best[float(taper)] = index
        return tuple(self._row(index, own) for index in best.values())

    def _row(self, index: int, own: int) -> Tried:
        graded, governing = self.graded, int(self.graded.governing[index])
        code, seat_mm = int(graded.code[index]), float(self.seat_mm[index])
        outcome: str = VERDICTS[code]
        if code == PASS and graded.proved[index]:
            outcome = "proved"
        check = graded.ids[governing] if governing >= 0 and code != NO_SIZE else ""
        lost = ""
        if index != own:
            longer = seat_mm - float(self.seat_mm[own])
            if code == NO_SIZE:
                lost = "no size"
            elif code > int(graded.code[own]):
                lost = f"{check}: {outcome}"
            elif longer > 0.0:
                lost = f"{longer:.1f} mm longer"
            else:
                lost = "passes only once proved in the field"
        return Tried(
            taper=float(self.taper[index]),
            seat_mm=None if code == NO_SIZE else seat_mm,
            contact_mm=None if code == NO_SIZE else float(self.contact_mm[index]),
            outcome=outcome,
            check=check,
            lost=lost,
        )


def search(
    draw: Callable[[FloatArray], Design],
    settings: FloatArray,
    shape: tuple[int, ...] = (),
    *,
    outright_mm: float = 0.0,
) -> Searched:
    """Return every setting judged, and the one each design takes.

    The shortest seat that passes, outright or proved in the field, is taken; one that
    passes outright where it is hardly longer. Where none passes, the shortest caution;
    else the fail with the fewest checks of service, and of all, that fail; else the
    middle of the series, whose refusal is told.

    Parameters
    ----------
    draw : callable
        From settings of shape (m, 1, ...) to a design of shape (m, ...) [-].
    settings : (m,) ndarray
        What is tried [-].
    shape : tuple of int
        Shape of the designs without the settings' axis [-].
    outright_mm : float
        How much longer a seat may be that passes outright [mm].

    Returns
    -------
    Searched
        Verdicts with the settings on the first axis.

    Source: own_derivation
    """
    column = settings.reshape(-1, *(1 for _ in shape))
    with np.errstate(all="ignore"):
        design = draw(column)
        graded = grade_design(design, (len(settings), *shape))
        tip = design.tip
        assert tip is not None
        taper, seat_mm, contact_mm = (
            np.broadcast_to(np.asarray(size, dtype=float), graded.code.shape)
            for size in (tip.taper, tip.seat_mm, tip.contact_mm)
        )
    return Searched(
        settings=settings,
        graded=graded,
        taper=taper,
        seat_mm=seat_mm,
        contact_mm=contact_mm,
        order=order_of(
            graded, seat_mm, np.arange(len(settings)).reshape(column.shape), outright_mm
        ),
    )


def order_of(
    graded: Graded, seat_mm: FloatArray, number: IntArray, outright_mm: float
) -> FloatArray:
    """Return a number for each setting and design, the least of which is taken.

    Parameters
    ----------
    graded : Graded
        Verdicts.
    seat_mm : ndarray
        Length of each one's tapered seat [mm].
    number : ndarray of int
        Which setting of the series each is [-].
    outright_mm : float
        How much longer a seat may be that passes outright [mm].

    Source: own_derivation
    """
    length = seat_mm + outright_mm * (graded.proved & (graded.code == PASS))
    # Of what fails nothing is short enough to be of use: told is what fails least in service, then
    # least at all, then what is nearest to holding. So a seat that seals is not given up for one
    # that is only easier to drive, and a softer wood never seems to seal better.
    use = graded.use_at(graded.governing)
    fails = graded.verdicts == FAIL
    service = [CHECKS[name].stage == "service" for name in graded.ids]
    broken = _MANY * np.sum(fails[service], axis=0) + np.sum(fails, axis=0)
    holding = np.clip(np.nan_to_num(use, nan=0.0, posinf=_MANY), 0.0, _MANY) / (2.0 * _MANY)
    # Where nothing has a size the middle of the series is told, the least far from sense.
    middle = np.broadcast_to(np.abs(number - _MIDDLE), seat_mm.shape)
    within = np.select(
        [graded.code < FAIL, graded.code == FAIL],
        [length, broken - holding],
        default=middle.astype(float),
    )
    return np.asarray(graded.code * _WORSE + within)


def designed(
    kind: Kind,
    conditions: Conditions,
    forced: Mapping[str, Number] | None = None,
    shape: tuple[int, ...] = (),
) -> Design:
    """Return a part's drawn sizes, each with the setting that suits it best.

    Parameters
    ----------
    kind : Kind
        What to draw.
    conditions : Conditions
        Floats or arrays [mm], [MPa].
    forced : mapping
        Sizes the user forces; a setting that is forced is not searched [mm].
    shape : tuple of int
        Shape of the conditions, and of what is forced [-].

    Returns
    -------
    Design
        Numbers only.
    """
    forced = dict(forced or {})
    conditions = stretched(kind, conditions, forced, shape)
    host, theirs = _seated(kind, forced)
    if _are_many(host, conditions, theirs, shape):
        taken = _shortlist(host, conditions, theirs, shape[0])
        return design_part(kind, _with(conditions, forced, _settings(theirs)[taken.number]), forced)
    return drawn_as(kind, conditions, forced, searched(kind, conditions, forced, shape))


def drawn_as(
    kind: Kind,
    conditions: Conditions,
    forced: Mapping[str, Number],
    found: Searched | None,
    *,
    words: tuple[str, ...] = (),
    passed: bool = True,
) -> Design:
    """Return a part's drawn sizes with the setting that a search has taken.

    Parameters
    ----------
    kind : Kind
        What to draw.
    conditions : Conditions
        Floats or arrays [mm], [MPa].
    forced : mapping
        Sizes the user forces [mm].
    found : Searched or None
        From `searched`.
    words : tuple of str
        Words of the mark in order of importance.
    passed : bool
        A part that did not pass is engraved with a plain X.
    """
    if found is not None:
        conditions = _with(conditions, forced, found.setting)
    return design_part(kind, conditions, forced, words=words, passed=passed)


def searched(
    kind: Kind,
    conditions: Conditions,
    forced: Mapping[str, Number],
    shape: tuple[int, ...] = (),
) -> Searched | None:
    """Return every setting of a part's series judged; None where nothing is searched.

    A tool takes the seat of the part that it is made for.

    Parameters
    ----------
    kind : Kind
        What to draw.
    conditions : Conditions
        Floats or arrays [mm], [MPa].
    forced : mapping
        Sizes the user forces [mm].
    shape : tuple of int
        Shape of the conditions, and of what is forced [-].
    """
    kind, forced = _seated(kind, forced)
    if not _seat_is_open(kind, forced):
        return None
    return search(
        lambda settings: design_part(kind, _with(conditions, forced, settings), forced),
        _settings(forced),
        shape,
        outright_mm=conditions.rules["outright_seat_mm"],
    )


def _seated(kind: Kind, forced: Mapping[str, Number]) -> tuple[Kind, Mapping[str, Number]]:
    """Return the kind whose seat is searched, a tool's part for a tool, and its forced sizes."""
    if kind.host is None:
        return kind, forced
    host = kind.host(forced)
    return host, {name: size for name, size in forced.items() if name in host.usable_sizes}


def _are_many(
    kind: Kind, conditions: Conditions, forced: Mapping[str, Number], shape: tuple[int, ...]
) -> bool:
    """Return whether designs are so many in a row that a shortlist of seats is the faster way."""
    if len(shape) != 1 or shape[0] < _MANY_DESIGNS or not _seat_is_open(kind, forced):
        return False
    return not any(np.ndim(value) for value in conditions.rules.values())


def _shortlist(
    kind: Kind, conditions: Conditions, forced: Mapping[str, Number], count: int
) -> Taken:
    """Return the seat that each of many designs takes, with its verdicts."""
    settings, outright_mm = _settings(forced), conditions.rules["outright_seat_mm"]
    sizes = np.empty((3, len(settings), count))
    unsized = np.empty(sizes.shape[1:], dtype=bool)

    def drawn(rows: IntArray, setting: FloatArray) -> Design:
        some, theirs = take(conditions, rows), take_sizes(forced, rows)
        return design_part(kind, _with(some, theirs, setting), theirs)

    with np.errstate(all="ignore"):
        for begin in range(0, count, _DRAWN_AT_ONCE):
            rows = np.arange(begin, min(begin + _DRAWN_AT_ONCE, count))
            design = drawn(rows, settings[:, None])
            tip = design.tip
            assert tip is not None
            for own, size in zip(sizes, (tip.seat_mm, tip.contact_mm, tip.taper), strict=True):
                own[:, rows] = size
            unsized[:, rows] = refused(design)
        early = judge_before(kind, conditions).values()
        failed = [np.broadcast_to(one.verdict == FAIL, count) for one in early]

        def judge(rows: IntArray, number: IntArray) -> tuple[Graded, FloatArray]:
            design = drawn(rows, settings[number])
            graded = grade_design(design, rows.shape)
            return graded, order_of(graded, sizes[0, number, rows], number, outright_mm)

        seats = Seats(
            seat_mm=sizes[0],
            contact_mm=sizes[1],
            taper=sizes[2],
            unsized=unsized,
            unsuited=np.any(failed, axis=0) if failed else np.zeros(count, dtype=bool),
        )
        untold = int(np.argmin(np.abs(np.arange(len(settings)) - _MIDDLE)))
        return shortlisted(seats, judge, untold)


def _seat_is_open(kind: Kind, forced: Mapping[str, Number]) -> bool:
    """Return whether a seat is left to be searched: on a tip, unless both its numbers are given."""
    return kind.tip and not forced.keys() >= {"taper", "contact"}


def _settings(forced: Mapping[str, Number]) -> FloatArray:
    """Return the numbers of the seats that are tried [-].

    A forced taper leaves its contacts to be tried; a forced contact its tapers.
    """
    numbers = np.arange(1.0 * len(TAPERS) * CONTACTS)
    if "taper" in forced:
        numbers = numbers[:CONTACTS]
    return numbers[::CONTACTS] if "contact" in forced else numbers


def _with(conditions: Conditions, forced: Mapping[str, Number], setting: FloatArray) -> Conditions:
    """Return conditions under which `design` draws a given seat."""
    return replace(conditions, chosen=seat_choice(conditions, forced, setting))


def grade(
    kind: Kind,
    conditions: Conditions,
    forced: Mapping[str, Number] | None = None,
    shape: tuple[int, ...] = (),
) -> Graded:
    """Return the verdicts `check` would give, with sizes drawn anew for each condition.

    Parameters
    ----------
    kind : Kind
        Kind of part.
    conditions : Conditions
        Floats or arrays [mm], [MPa].
    forced : mapping
        Sizes the user forces [mm].
    shape : tuple of int
        Shape the verdicts shall have at least, where nothing may vary [-].

    Returns
    -------
    Graded
        Verdicts.
    """
    forced = dict(forced or {})
    with np.errstate(all="ignore"):
        if kind.host is None and _are_many(kind, conditions, forced, shape):
            settled = stretched(kind, conditions, forced, shape)
            return _shortlist(kind, settled, forced, shape[0]).graded
        return grade_design(designed(kind, conditions, forced, shape), shape)


def passing(
    kind: Kind,
    conditions: Conditions,
    forced: Mapping[str, Number],
    count: int,
    judged: Collection[str],
) -> BoolArray:
    """Return which of many conditions `check` would end with 0 for, and no more than that.

    Only those with a size are judged: where much is tried, most of it has none.

    Parameters
    ----------
    kind : Kind
        Kind of part.
    conditions : Conditions
        Floats, or arrays of length ``count`` [mm], [MPa].
    forced : mapping
        Sizes the user forces, one of each [mm].
    count : int
        How many conditions there are [-].
    judged : collection of str
        Checks that must be made, too [-].
    """
    rows = np.flatnonzero(_sized(kind, conditions, forced, count))
    works = np.zeros(count, dtype=bool)
    if rows.size:
        found = grade(kind, take(conditions, rows), forced, rows.shape)
        works[rows] = ~(found.fails | found.left_unchecked(judged))
    return works


def _sized(
    kind: Kind, conditions: Conditions, forced: Mapping[str, Number], count: int
) -> BoolArray:
    """Return where a seat and a stretch that may be tried have a size; all, where none is open."""
    if not _seat_is_open(kind, forced):
        return np.ones(count, dtype=bool)
    settings, some = _settings(forced)[:, None], np.zeros(count, dtype=bool)
    with np.errstate(all="ignore"):
        # To draw every stretch costs a hundredth of judging which of them is taken.
        for tried in each_stretch(kind, _with(conditions, forced, settings), forced):
            design = design_part(kind, tried, forced)
            some |= ~np.broadcast_to(refused(design), (len(settings), count)).all(axis=0)
    return some


def grade_at(
    kind: Kind,
    conditions: Conditions,
    forced: Mapping[str, Number],
    setting: FloatArray,
    shape: tuple[int, ...],
) -> Graded:
    """Return the verdicts of parts each drawn with a seat that is given, not searched.

    Parameters
    ----------
    kind : Kind
        What to draw.
    conditions : Conditions
        Floats or arrays [mm], [MPa].
    forced : mapping
        Sizes the user forces [mm].
    setting : (...) ndarray
        Numbers of the seats, from `seats_taken` [-].
    shape : tuple of int
        Shape of the conditions [-].

    Returns
    -------
    Graded
        Verdicts.
    """
    with np.errstate(all="ignore"):
        conditions = _with(stretched(kind, conditions, forced, shape), forced, setting)
        return grade_design(design_part(kind, conditions, forced), shape)


def seats_taken(
    kind: Kind, conditions: Conditions, forced: Mapping[str, Number], shape: tuple[int, ...]
) -> FloatArray | None:
    """Return the number of the seat that each design takes, and what else is chosen with it.

    Parameters
    ----------
    kind : Kind
        What to draw.
    conditions : Conditions
        Floats or arrays [mm], [MPa].
    forced : mapping
        Sizes the user forces [mm].
    shape : tuple of int
        Shape of the conditions [-].

    Returns
    -------
    (k, ...) ndarray, or None
        Setting [-], contact [mm], and the stretch of each tube [-]; None where no seat is
        searched.
    """
    with np.errstate(all="ignore"):
        conditions = stretched(kind, conditions, forced, shape)
        found = searched(kind, conditions, forced, shape)
    if found is None:
        return None
    contact = np.take_along_axis(found.contact_mm, found.taken[None], axis=0)[0]
    stretches = [np.broadcast_to(tube.expansion, shape) for tube in conditions.tubes]
    return np.stack([found.setting, contact, *stretches])
