"""Which check hangs most on a drawn size: each size off by its tolerance, all checks again.

Nobody keeps a list of which check reads which size: the checks say it themselves, when
one size moves and everything else stays.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from math import isfinite
from typing import Any

import numpy as np
from numpy.typing import NDArray

from barbwright.checks.result import CHECKS, CheckInfo, Judged
from barbwright.checks.table import judge_all
from barbwright.design.kind import Design
from barbwright.design.part import rows_of, tolerance_of
from barbwright.design.sizes import Size
from barbwright.equations import Number

# A margin that moves by less than this share is not said to hang on a size.
_LEAST_SHARE = 0.005
# A size is moved by so much of its tolerance, and what moves with it told for the whole: the
# corners have the whole tolerance in them already.
_STEP = 0.1


@dataclass(frozen=True, kw_only=True)
class Leaning:
    """The check whose margin a size moves most.

    Attributes
    ----------
    check : CheckInfo
        The check.
    share : float
        By what share of itself its safety factor moves where the size is off by its
        tolerance, the worse way [-].
    """

    check: CheckInfo
    share: float


def leanings(design: Design) -> dict[str, Leaning]:
    """Return, for each drawn size that moves any check, the one that it moves most.

    Parameters
    ----------
    design : Design
        A single part (no arrays) [mm].

    Returns
    -------
    dict of str to Leaning
        By the size's name; sizes that no check's margin hangs on are left out.

    Source: own_derivation
    """
    rows = [
        (prefix + size.name, size, record)
        for prefix, size, record in rows_of(design)
        if size.printed and _moved(size, record)
    ]
    now = judge_all(design)
    found: dict[str, Leaning] = {}
    for (name, _, _), worse in zip(rows, _least(design, rows), strict=True):
        moved = [
            Leaning(check=CHECKS[one], share=_share(_one(result), worse[one]))
            for one, result in now.items()
        ]
        best = max(moved, key=lambda leaning: leaning.share)
        if best.share >= _LEAST_SHARE:
            found[name] = best
    return found


def _least(design: Design, rows: list[tuple[str, Size, Any]]) -> list[dict[str, float]]:
    """Return, for each size, every check's least safety factor with it a little off either way."""
    offs = [
        (record, _moved(size, record), way * _STEP * tolerance_of(design, size, drawn))
        for _, size, record in rows
        for drawn in (float(getattr(record, size.reads)),)
        for way in (-1.0, 1.0)
    ]
    if design.kind.carries:
        # All of them in one run of arrays: each has its own place there.
        moves: dict[int, dict[str, NDArray[np.float64]]] = {}
        for place, (record, names, off) in enumerate(offs):
            for name in names:
                mine = moves.setdefault(id(record), {})
                mine.setdefault(name, np.zeros(len(offs)))[place] = off
        judged = judge_all(_off(design, moves))
        factors = {
            name: np.broadcast_to(result.safety_factor, (len(offs),)).tolist()
            for name, result in judged.items()
        }
    else:
        # The checks of a tool take one tool at a time.
        each = [
            judge_all(_off(design, {id(record): dict.fromkeys(names, off)}))
            for record, names, off in offs
        ]
        factors = {name: [_one(one[name]) for one in each] for name in each[0]}
    return [
        {name: min(found[place : place + 2]) for name, found in factors.items()}
        for place in range(0, len(offs), 2)
    ]


def _moved(size: Size, record: Any) -> tuple[str, ...]:
    """Return the fields of a record that move with a size; none where it only follows."""
    held = {field.name for field in fields(record)}
    return tuple(name for name in size.moves or (size.reads,) if name in held)


def _off(design: Design, offs: Mapping[int, Mapping[str, Number]]) -> Design:
    """Return a design with its records' fields off by what is told of each."""

    def moved(record: Any) -> Any:
        mine = offs.get(id(record)) if record is not None else None
        if not mine:
            return record
        return replace(record, **{name: getattr(record, name) + off for name, off in mine.items()})

    tip = moved(design.tip)
    if design.tip is not None and tip is not design.tip:
        # A taper is what its two ends and its length say.
        drawn = design.tip.drop_mm / design.tip.seat_mm
        tip = replace(tip, taper=tip.taper * (tip.drop_mm / tip.seat_mm) / drawn)
    whole = replace(
        design,
        barbs=tuple(moved(barb) for barb in design.barbs),
        tip=tip,
        hub=moved(design.hub),
        ring=moved(design.ring),
        own=moved(design.own),
    )
    mine = offs.get(id(design), {})
    return replace(whole, **{name: getattr(design, name) + off for name, off in mine.items()})


def _share(now: float, worse: float) -> float:
    """Return by what share a size that is off by its whole tolerance lowers a safety factor [-]."""
    if not (isfinite(now) and isfinite(worse) and now > 0.0):
        return 0.0
    return max(1.0 - worse / now, 0.0) / _STEP


def _one(result: Judged) -> float:
    """Return the safety factor of the only design [-]."""
    return float(np.ravel(result.safety_factor)[0])
