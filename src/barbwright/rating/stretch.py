"""How far a barb stretches a rubber tube: no further than it takes to seal and to hold.

A rubber's grip grows with its stretch; a tube that yields gains little by more, and keeps the
stretch of its kind.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from barbwright.checks.result import CHECKS, FAIL, PASS
from barbwright.design.barb import size_arms
from barbwright.design.conditions import Conditions, TubeConditions
from barbwright.design.part import KINDS, Kind, design_part
from barbwright.equations import Number
from barbwright.rating.judging import grade_design

# Tried from the stretch of the tube's kind to the most of an arm, as shares of the way.
_SHARES = np.linspace(0.0, 1.0, 5)
_BARB = KINDS["barb"]
# No pass makes up for a fail, and nothing for a barb that cannot be drawn.
_FAILS, _UNSIZED = 100, 10000


def stretched(
    kind: Kind,
    conditions: Conditions,
    forced: Mapping[str, Number],
    shape: tuple[int, ...] = (),
) -> Conditions:
    """Return conditions under which `design` draws barbs that seal and hold, where some do.

    Of a rubber's stretches the least is taken at which the fewest of its barb's checks fall
    short. Worse conditions ask for more stretch, never for less.

    Parameters
    ----------
    kind : Kind
        What will be drawn.
    conditions : Conditions
        Floats or arrays [mm], [MPa].
    forced : mapping
        Sizes the user forces; a crest that is forced is not searched [mm].
    shape : tuple of int
        Shape of the conditions, and of what is forced [-].

    Returns
    -------
    Conditions
        The same but for how far a rubber tube is stretched, which is settled then.

    Source: own_derivation
    """
    open_ = _open(kind, conditions, forced)
    if not any(open_):
        return conditions
    theirs = {name: size for name, size in forced.items() if name in _BARB.usable_sizes}
    with np.errstate(all="ignore"):
        bore, _ = size_arms(conditions, theirs)
        tubes = tuple(
            _least(conditions, tube, {**theirs, "bore": bore}, shape) if found else tube
            for tube, found in zip(conditions.tubes, open_, strict=True)
        )
    return replace(conditions, tubes=tubes)


def each_stretch(
    kind: Kind, conditions: Conditions, forced: Mapping[str, Number]
) -> Iterator[Conditions]:
    """Yield conditions at every stretch that `stretched` may take, none of them judged.

    Parameters
    ----------
    kind : Kind
        What will be drawn.
    conditions : Conditions
        Floats or arrays [mm], [MPa].
    forced : mapping
        Sizes the user forces [mm].

    Source: own_derivation
    """
    open_ = _open(kind, conditions, forced)
    shares = [_SHARES if found else _SHARES[:1] for found in open_]
    for some in itertools.product(*shares):
        tubes = (
            replace(tube, expansion=_at(tube, share), expansion_most=0.0) if found else tube
            for tube, share, found in zip(conditions.tubes, some, open_, strict=True)
        )
        yield replace(conditions, tubes=tuple(tubes))


def _open(kind: Kind, conditions: Conditions, forced: Mapping[str, Number]) -> list[bool]:
    """Return for which tubes a stretch is left to be searched."""
    if not (kind.arms or kind.host is not None) or forced.keys() & {"crest", "expansion"}:
        return [False] * len(conditions.tubes)
    return [bool(np.any(tube.expansion_most > tube.expansion)) for tube in conditions.tubes]


def _at(tube: TubeConditions, share: Number) -> Number:
    """Return the stretch at a share of the way from its kind's own to the most [-]."""
    return tube.expansion + share * np.maximum(tube.expansion_most - tube.expansion, 0.0)


def _least(
    conditions: Conditions,
    tube: TubeConditions,
    forced: Mapping[str, Number],
    shape: tuple[int, ...],
) -> TubeConditions:
    """Return a tube with the least stretch at which the fewest checks of its barb fall short."""
    tried = _at(tube, _SHARES.reshape(-1, *(1 for _ in shape)))
    alone = replace(conditions, tubes=(replace(tube, expansion=tried),))
    graded = grade_design(design_part(_BARB, alone, forced), (len(_SHARES), *shape))
    short = _UNSIZED * graded.unsized.astype(int)
    for name, verdict in zip(graded.ids, graded.verdicts, strict=True):
        info = CHECKS[name]
        if info.needs == "barb":
            short = short + _FAILS * (verdict == FAIL)
            short = short + ((verdict != PASS) & (info.stage != "handling"))
    taken = np.argmin(short, axis=0)
    found = np.take_along_axis(np.broadcast_to(tried, short.shape), taken[None], axis=0)[0]
    # What was found is settled: a part once drawn keeps its crest at other pressures.
    return replace(tube, expansion=found if shape else float(found), expansion_most=0.0)
