"""Of many designs each one's seat, without judging every seat of each.

`rating.search` judges all settings of the series. Most have no size, are drawn alike, or are longer
than one that passes: what is taken can be told without them, and so are its verdicts.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from barbwright.rating.judging import BoolArray, FloatArray, Graded, IntArray

# Rounds in which one seat of each design is judged; what is not settled then has all its others
# judged at once, for a round costs as much as some hundred designs by itself.
_ROUNDS = 3
# Designs judged at a time, so that their arrays stay near the processor.
_BLOCK = 4096


@dataclass(frozen=True, kw_only=True, eq=False)
class Seats:
    """Every seat of a series drawn for many designs, none of them judged.

    Attributes
    ----------
    seat_mm, contact_mm, taper : (m, n) ndarray
        Length of the seat and contact [mm], taper [-].
    unsized : (m, n) ndarray of bool
        Where no size exists.
    unsuited : (n,) ndarray of bool
        Designs that fail before any size is drawn, so that each seat of theirs is a fail.
    """

    seat_mm: FloatArray
    contact_mm: FloatArray
    taper: FloatArray
    unsized: BoolArray
    unsuited: BoolArray


@dataclass(frozen=True, kw_only=True, eq=False)
class Taken:
    """The seat that each of many designs takes.

    Attributes
    ----------
    number : (n,) ndarray of int
        Which of the series [-].
    graded : Graded
        Verdicts with it, of shape (n,).
    """

    number: IntArray
    graded: Graded


Judge = Callable[[IntArray, IntArray], tuple[Graded, FloatArray]]


def shortlisted(seats: Seats, judge: Judge, untold: int) -> Taken:
    """Return what each design takes: what judging every seat would have given.

    A seat can be taken before one that is known only if it is shorter, and of seats drawn
    alike only the first can.

    Parameters
    ----------
    seats : Seats
        All that may be tried [mm].
    judge : callable
        From designs and numbers of their seats, (k,) each, to verdicts and `order_of` [-].
    untold : int
        The seat that is told where none has a size [-].

    Source: own_derivation
    """
    may = (~seats.unsized | seats.unsuited) & ~_seen_before(seats)
    none = ~may.any(axis=0)
    may[untold, none] = True
    length = np.where(may, seats.seat_mm, np.inf)
    # A seat without a size has no length that tells anything: it is judged first.
    length = np.where(may & ~np.isfinite(length), -np.inf, length)
    length = np.where(may & seats.unsized, -np.inf, length)
    queue = np.argsort(length, axis=0, kind="stable")
    count = may.sum(axis=0)
    best = _Best(may.shape[1])
    rows = np.arange(may.shape[1])
    for turn in range(min(_ROUNDS, len(queue))):
        rows = rows[count[rows] > turn]
        if turn:
            rows = rows[best.may_lose(rows, queue[turn, rows], length[queue[turn, rows], rows])]
        _judge_blocks(best, judge, rows, queue[turn, rows])
    if rows.size:
        left = queue[_ROUNDS:, rows]
        later, column = np.nonzero(np.arange(_ROUNDS, len(queue))[:, None] < count[rows])
        at, number = rows[column], left[later, column]
        open_ = best.may_lose(at, number, length[number, at])
        _judge_blocks(best, judge, at[open_], number[open_])
    return best.taken()


def _seen_before(seats: Seats) -> BoolArray:
    """Return which seats an earlier one of the series is drawn like."""
    seen = np.zeros(seats.unsized.shape, dtype=bool)
    for later in range(1, len(seen)):
        for earlier in range(later):
            alike = seats.taper[earlier] == seats.taper[later]
            seen[later] |= alike & (seats.contact_mm[earlier] == seats.contact_mm[later])
    return seen


def _judge_blocks(best: _Best, judge: Judge, rows: IntArray, number: IntArray) -> None:
    for begin in range(0, rows.size, _BLOCK):
        part = slice(begin, begin + _BLOCK)
        graded, order = judge(rows[part], number[part])
        best.offer(rows[part], number[part], graded, order)


class _Best:
    """The best seat of each design so far, with its verdicts."""

    def __init__(self, count: int) -> None:
        self.order = np.full(count, np.inf)
        self.number = np.full(count, -1, dtype=np.int64)
        self._kept: dict[str, np.ndarray] = {}
        self._ids: tuple[str, ...] = ()
        self._because: tuple[str, ...] = ()

    def may_lose(self, rows: IntArray, number: IntArray, length: FloatArray) -> BoolArray:
        """Return where a seat of a length might be taken in place of the best [-]."""
        known = self.order[rows]
        return np.asarray((length < known) | ((length == known) & (number < self.number[rows])))

    def offer(self, rows: IntArray, number: IntArray, graded: Graded, order: FloatArray) -> None:
        """Take what is better than the best: the least order, and of equals the first seat."""
        values = {
            "code": graded.code, "verdicts": graded.verdicts, "use": graded.use,
            "unsized": graded.unsized, "leans": graded.leans,
        }  # fmt: skip
        if not self._kept:
            self._ids, self._because = graded.ids, graded.because
            self._kept = {
                name: np.empty((*value.shape[:-1], self.order.size), dtype=value.dtype)
                for name, value in values.items()
            }
        # What was said where a check could not be made stands if any block had to say it.
        self._because = tuple(
            mine or theirs for mine, theirs in zip(self._because, graded.because, strict=True)
        )
        first = np.lexsort((number, order, rows))
        _, at = np.unique(rows[first], return_index=True)
        pick = first[at]
        better = self.order[rows[pick]] > order[pick]
        better |= (self.order[rows[pick]] == order[pick]) & (number[pick] < self.number[rows[pick]])
        # Until a seat is known any is better, even one whose order is no number.
        better |= self.number[rows[pick]] < 0
        pick = pick[better]
        to = rows[pick]
        self.order[to], self.number[to] = order[pick], number[pick]
        for name, value in values.items():
            self._kept[name][..., to] = value[..., pick]

    def taken(self) -> Taken:
        """Return what each design takes."""
        graded = Graded(ids=self._ids, because=self._because, **self._kept)
        return Taken(number=self.number, graded=graded)
