"""The highest pressure at which a check does not fail, by root-finding on the checks.

Sizes are drawn anew at every pressure, exactly as `check` draws them. The
contact a tip asks for grows in steps of 0.1 mm, so verdicts jump at the steps:
between two of them every size stands still and every demand only grows with
pressure. So the steps are found first, and the root inside the step that holds
it. What is found is where the first range of passing pressures ends, so that
all below it passes too.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from barbwright.checks.result import CAUTION, CHECKS, FAIL, NO_SIZE, NOT_CHECKED, PASS, VERDICTS
from barbwright.design.conditions import Conditions
from barbwright.design.part import Kind
from barbwright.design.tip import size_tip
from barbwright.equations import Number
from barbwright.job.record import MOST_MPA
from barbwright.rating.judging import CHUNK, BoolArray, FloatArray, Graded, IntArray
from barbwright.rating.roots import TOLERANCE, turning_points
from barbwright.rating.search import grade, grade_at, seats_taken
from barbwright.rating.stack import take, take_sizes

# The least pressure that is looked at; the most is the highest an input may have.
LEAST_MPA = 0.001
OVERALL = "all"
_STEP_MM = 0.1


@dataclass(frozen=True, kw_only=True)
class Limits:
    """The first range of passing pressures, for each check and each condition.

    Attributes
    ----------
    ids : tuple of str
        Checks in table order; the last row is `OVERALL`.
    start_mpa : (k, n) ndarray
        Where it starts: `LEAST_MPA` for nearly all; NaN where no pressure passes [MPa].
    highest_mpa : (k, n) ndarray
        Where it ends; infinite where it does not end, NaN where none passes [MPa].
    above_mpa : (k, n) ndarray
        The least pressure above it that does not pass [MPa].
    again : (k, n) ndarray of bool
        Whether some higher pressure passes again.
    checked : (k, n) ndarray of bool
        Whether the check can be made.
    governing : (n,) tuple of str
        The check that fails first, or fails at every pressure; empty where none does,
        `no_size` where no size exists. Where a caution ends the range, the check that
        lowers the verdict.
    """

    ids: tuple[str, ...]
    start_mpa: FloatArray
    highest_mpa: FloatArray
    above_mpa: FloatArray
    again: BoolArray
    checked: BoolArray
    governing: tuple[str, ...]

    @property
    def overall_mpa(self) -> FloatArray:
        """Highest pressure over all checks, for each condition [MPa]."""
        return np.asarray(self.highest_mpa[-1])


def at_pressure(conditions: Conditions, pressure_mpa: Number) -> Conditions:
    """Return conditions at another pressure, which is then the highest as well.

    Parameters
    ----------
    conditions : Conditions
        Floats or arrays.
    pressure_mpa : float or array
        Pressure, gauge [MPa].
    """
    return replace(conditions, highest_mpa=pressure_mpa)


def highest_pressures(
    kind: Kind,
    conditions: Conditions,
    forced: Mapping[str, Number] | None = None,
    *,
    count: int = 1,
    each: bool = True,
    bad: int = FAIL,
) -> Limits:
    """Return the highest pressure each check allows, and all of them together.

    Parameters
    ----------
    kind : Kind
        Kind of part.
    conditions : Conditions
        Floats, or arrays of length ``count`` (see `stack`); its pressure is not used.
    forced : mapping
        Sizes the user forces [mm].
    count : int
        How many conditions there are [-].
    each : bool
        Whether each check's own limit is wanted, or only that of all together.
    bad : int
        The least verdict over all checks that ends a range: 2 a fail, 1 a caution
        as well [-].

    Returns
    -------
    Limits
        For each check and condition.

    Source: own_derivation
    """
    forced = dict(forced or {})
    rows = np.arange(count)
    left, right = _segments(kind, conditions, forced, count)
    at_left = _fails(kind, conditions, forced, left, rows, each=each, bad=bad)
    at_right = _fails(kind, conditions, forced, right, rows, each=each, bad=bad)
    ids, fails_left, checked = at_left
    fails_right = at_right[1]

    segments = left.shape[0]
    order = np.arange(segments)[None, :, None]
    passes_left = ~fails_left
    any_pass = passes_left.any(axis=1)
    first = np.argmax(passes_left, axis=1)
    # The first segment from there on that does not pass as a whole.
    broken = (fails_left | fails_right) & (order >= first[:, None, :])
    breaks = broken.any(axis=1)
    at = np.argmax(broken, axis=1)

    def pick(values: FloatArray, index: IntArray) -> FloatArray:
        full = np.broadcast_to(values[None], fails_left.shape)
        return np.asarray(np.take_along_axis(full, index[:, None, :], axis=1)[:, 0])

    start = np.where(any_pass, pick(left, first), np.nan)
    lower, upper = pick(left, at), pick(right, at)
    jump = np.take_along_axis(fails_left, at[:, None, :], axis=1)[:, 0]
    before = pick(right, np.maximum(at - 1, 0))
    highest = np.where(breaks, np.where(jump, before, lower), np.inf)
    above = np.where(breaks, np.where(jump, lower, upper), np.inf)
    inside = any_pass & breaks & ~jump
    check_at, row_at = np.nonzero(inside)
    if check_at.size:
        highest[inside], above[inside] = _roots(
            kind, conditions, forced, check_at, row_at, lower[inside], upper[inside], each=each,
            bad=bad,
        )  # fmt: skip
    highest = np.where(any_pass, highest, np.nan)
    above = np.where(any_pass, above, np.nan)
    again = any_pass & (passes_left & (order > at[:, None, :])).any(axis=1) & breaks
    governing = _governing(kind, conditions, forced, above[-1], rows, bad=bad)
    return Limits(
        ids=ids,
        start_mpa=start,
        highest_mpa=highest,
        above_mpa=above,
        again=again,
        checked=checked,
        governing=governing,
    )


def contact_at(kind: Kind, conditions: Conditions, pressure_mpa: Number,
               forced: Mapping[str, Number]) -> Number:  # fmt: skip
    """Return the contact a tip is drawn with for a pressure; NaN without a tip [mm].

    Parameters
    ----------
    kind : Kind
        Kind of part.
    conditions : Conditions
        Floats or arrays.
    pressure_mpa : float or array
        Pressure, gauge [MPa].
    forced : mapping
        Sizes the user forces [mm].
    """
    if not kind.tip:
        return float("nan")
    with np.errstate(all="ignore"):
        return size_tip(at_pressure(conditions, pressure_mpa), forced).contact_mm


def _segments(
    kind: Kind, conditions: Conditions, forced: Mapping[str, Number], count: int
) -> tuple[FloatArray, FloatArray]:
    """Return both ends of each range of pressure over which the sizes stand still [MPa]."""
    ends = np.full((1, count), LEAST_MPA), np.full((1, count), MOST_MPA)
    if not kind.tip or "contact" in forced:
        return ends

    def contact(pressure_mpa: FloatArray) -> FloatArray:
        drawn = contact_at(kind, conditions, pressure_mpa, forced)
        return np.asarray(np.broadcast_to(drawn, pressure_mpa.shape))

    least, most = contact(ends[0])[0], contact(ends[1])[0]
    steps = np.round((most - least) / _STEP_MM).astype(int)
    if not np.any(steps > 0):
        return ends
    number = np.arange(1, steps.max() + 1)[:, None]
    target = least + (number - 0.5) * _STEP_MM
    low = np.full(target.shape, LEAST_MPA)
    high = np.full(target.shape, MOST_MPA)
    # Plain halving, of all steps at once: the step itself has no slope to follow.
    for _ in range(48):
        middle = 0.5 * (low + high)
        reached = contact(middle) > target
        low, high = np.where(reached, low, middle), np.where(reached, middle, high)
    there = number <= steps
    low, high = np.where(there, low, MOST_MPA), np.where(there, high, MOST_MPA)
    return np.concatenate([ends[0], high]), np.concatenate([low, ends[1]])


def _fails(
    kind: Kind,
    conditions: Conditions,
    forced: Mapping[str, Number],
    pressure_mpa: FloatArray,
    rows: IntArray,
    *,
    each: bool,
    bad: int,
) -> tuple[tuple[str, ...], BoolArray, BoolArray]:
    """Return which checks fail at pressures of shape (m, n), with `OVERALL` last."""
    shape = pressure_mpa.shape
    flat = pressure_mpa.ravel()
    row = np.broadcast_to(rows, shape).ravel()
    graded = [
        grade(
            kind,
            at_pressure(take(conditions, row[part]), flat[part]),
            take_sizes(forced, row[part]),
            flat[part].shape,
        )
        for part in _chunks(flat.size)
    ]
    ids = (*graded[0].ids, OVERALL)
    fails = np.concatenate([_with_overall(one, bad) for one in graded], axis=1)
    verdicts = np.concatenate([one.verdicts for one in graded], axis=1)
    checked = np.concatenate([verdicts != NOT_CHECKED, np.ones((1, flat.size), dtype=bool)])
    fails, checked = (table.reshape(len(ids), *shape) for table in (fails, checked))
    checked = np.asarray(checked.any(axis=1))
    if not each:
        return ids[-1:], fails[-1:], checked[-1:]
    return ids, fails, checked


def _chunks(count: int) -> list[slice]:
    return [slice(begin, begin + CHUNK) for begin in range(0, count, CHUNK)]


def _with_overall(graded: Graded, bad: int) -> BoolArray:
    return np.concatenate([graded.verdicts == FAIL, (graded.code >= bad)[None]])


def _roots(
    kind: Kind,
    conditions: Conditions,
    forced: Mapping[str, Number],
    check_at: IntArray,
    row_at: IntArray,
    lower_mpa: FloatArray,
    upper_mpa: FloatArray,
    *,
    each: bool,
    bad: int,
) -> tuple[FloatArray, FloatArray]:
    """Return the last passing and the first failing pressure in each bracket [MPa].

    The lower end of each passes, the upper one fails.
    """

    def verdict(graded: Graded) -> BoolArray:
        return _with_overall(graded, bad) if each else (graded.code >= bad)[None]

    def fails(pressure_mpa: FloatArray, args: tuple[FloatArray, ...]) -> BoolArray:
        if not pressure_mpa.size:
            return np.zeros(0, dtype=bool)
        check, *told = args
        # Checks that turn in one range are looked at there together: each point is graded once.
        points, where = np.unique(np.stack([pressure_mpa, *told]), axis=1, return_inverse=True)
        own_mpa, row, *setting = points
        rows = row.astype(np.int64)
        at, sizes = at_pressure(take(conditions, rows), own_mpa), take_sizes(forced, rows)
        graded = (
            grade_at(kind, at, sizes, setting[0], rows.shape)
            if setting
            else grade(kind, at, sizes, rows.shape)
        )
        return np.asarray(verdict(graded)[check.astype(np.int64), where.ravel()])

    check, row = check_at.astype(float), row_at.astype(float)
    lower, upper = np.array(lower_mpa), np.array(upper_mpa)
    moving = np.arange(lower.size)
    while moving.size:
        # Looked through as far as to the first turn; then it is narrow enough to ask what moves.
        width = float(np.max(upper[moving] - lower[moving]))
        args = (check[moving], row[moving])
        lower[moving], upper[moving] = turning_points(
            fails, lower[moving], upper[moving], args, max(0.5 * width, TOLERANCE)
        )
        found = _held(kind, conditions, forced, row_at[moving], lower[moving], upper[moving])
        if found is None:
            return turning_points(fails, lower, upper, (check, row))
        # One seat at both ends: no other need be tried, where the search takes it at the turn too.
        setting, still = found
        held = moving[still]
        own = (check[held], row[held])
        passing, failing = turning_points(fails, lower[held], upper[held], (*own, setting[still]))
        true = ~fails(passing, own) & fails(failing, own)
        lower[held[true]], upper[held[true]] = passing[true], failing[true]
        moving = np.setdiff1d(moving, held[true])
        moving = moving[upper[moving] - lower[moving] > TOLERANCE]
    return lower, upper


def _held(
    kind: Kind,
    conditions: Conditions,
    forced: Mapping[str, Number],
    row_at: IntArray,
    lower_mpa: FloatArray,
    upper_mpa: FloatArray,
) -> tuple[FloatArray, BoolArray] | None:
    """Return the seat that is taken at the lower end, and where the upper end takes the same.

    None where no seat is searched.
    """
    rows = np.concatenate([row_at, row_at])
    ends = np.concatenate([lower_mpa, upper_mpa])
    at = at_pressure(take(conditions, rows), ends)
    found = seats_taken(kind, at, take_sizes(forced, rows), rows.shape)
    if found is None:
        return None
    below, above = np.split(found, 2, axis=1)
    return below[0], np.asarray(np.all(below == above, axis=0))


def _governing(
    kind: Kind,
    conditions: Conditions,
    forced: Mapping[str, Number],
    above_mpa: FloatArray,
    rows: IntArray,
    *,
    bad: int,
) -> tuple[str, ...]:
    """Return which check ends the range just above it, or where there is none at the lowest."""
    pressure = np.where(np.isnan(above_mpa), LEAST_MPA, np.minimum(above_mpa, MOST_MPA))
    at = at_pressure(take(conditions, rows), pressure)
    graded = grade(kind, at, take_sizes(forced, rows), rows.shape)
    index = graded.governing
    if bad < FAIL:
        # A handling caution is a rule for the field: it does not lower the verdict.
        handling = np.array([CHECKS[name].stage == "handling" for name in graded.ids])
        lowers = (graded.verdicts != PASS) & ~handling[:, None]
        order = np.where(lowers, np.minimum(graded.use, 1e5), np.inf)
        index = np.where(graded.code == CAUTION, np.argmin(order, axis=0), index)
    names = []
    for row in rows:
        if np.isinf(above_mpa[row]):
            names.append("")
        elif graded.code[row] == NO_SIZE:
            names.append(VERDICTS[NO_SIZE])
        else:
            names.append(graded.ids[int(index[row])])
    return tuple(names)
