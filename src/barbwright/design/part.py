"""A whole part in numbers: sized by its kind, and its sizes by name."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from math import isnan
from typing import Any

import numpy as np

from barbwright.design.compensate import compensated
from barbwright.design.conditions import Conditions
from barbwright.design.forced import SHARED_SIZES, ForcedSize
from barbwright.design.kind import Design, Kind, Ring
from barbwright.design.kinds import KINDS
from barbwright.design.mark import NOT_PASSED
from barbwright.design.sizes import (
    ARM_BORE,
    ARM_LENGTH,
    BARB,
    HUB,
    NECK_LENGTH,
    RING,
    SECOND,
    TIP,
    Size,
)
from barbwright.equations import Number
from barbwright.errors import Fault, InputError, quoted

__all__ = ["FORCED_SIZES", "KINDS", "Design", "Kind", "Ring", "design_part",
           "dimensions", "find_kind", "has_arrays"]  # fmt: skip

# Sizes a user may force with --set, those of all kinds and those of each.
FORCED_SIZES: dict[str, ForcedSize] = {
    **SHARED_SIZES,
    **{name: size for kind in KINDS.values() for name, size in kind.sizes.items()},
}


def find_kind(text: str) -> Kind:
    """Return the kind of part a word names.

    Parameters
    ----------
    text : str
        Its name, in any case [-].

    Raises
    ------
    InputError
        When there is no such part.

    Source: judgement
    """
    kind = KINDS.get(text.casefold())
    if kind is None:
        raise InputError(
            Fault(
                "no such part", given=quoted(text), limit=", ".join(KINDS), do="name one of these"
            )
        )
    return kind


def design_part(
    kind: Kind,
    conditions: Conditions,
    forced: Mapping[str, Number] | None = None,
    *,
    words: tuple[str, ...] = (),
    passed: bool = True,
) -> Design:
    """Return a part's drawn sizes.

    Parameters
    ----------
    kind : Kind
        What to draw.
    conditions : Conditions
        What it is for [mm], [MPa].
    forced : mapping
        Sizes the user forces [mm].
    words : tuple of str
        Words of the mark in order of importance.
    passed : bool
        A part that did not pass is engraved with a plain X.

    Returns
    -------
    Design
        Numbers only; whether they are sound is for `refusals` and the checks.

    Source: judgement
    """
    return kind.size(kind, conditions, dict(forced or {}), words if passed else (NOT_PASSED,))


def rows_of(design: Design) -> list[tuple[str, Size, Any]]:
    """Return a design's rows of the table, each with its prefix and the record that holds it.

    Parameters
    ----------
    design : Design
        Sizes [mm].

    Returns
    -------
    list of (str, Size, record)
        In the order of part.json; the second end's names have a prefix.
    """
    rows: list[tuple[str, Size, Any]] = []
    if design.barbs:
        rows.append(("", ARM_BORE, design))
        for index, barb in enumerate(design.barbs):
            rows += [(SECOND if index else "", size, barb) for size in BARB]
        rows.append(("", NECK_LENGTH, design))
    for record, table in ((design.hub, HUB), (design.ring, RING), (design.tip, TIP)):
        if record is not None:
            rows += [("", size, record) for size in table]
        if table is HUB and record is not None:
            rows.append(("", ARM_LENGTH, design))
    if design.own is not None:
        rows += [("", size, design.own) for size in design.own.sizes]
    return rows


def sizes_of(design: Design) -> dict[str, tuple[Size, Number]]:
    """Return every named size of a design with its row of the table.

    Parameters
    ----------
    design : Design
        Sizes [mm].

    Returns
    -------
    dict of str to (Size, float or array)
        In the order of part.json [mm].
    """
    return {
        prefix + size.name: (size, getattr(record, size.reads))
        for prefix, size, record in rows_of(design)
    }


def tolerance_of(design: Design, size: Size, drawn_mm: float) -> float:
    """Return how far a drawn size of a part may come out off, either way.

    Parameters
    ----------
    design : Design
        A single part [mm].
    size : Size
        Its row of the table [-].
    drawn_mm : float
        The size [mm].

    Returns
    -------
    float
        The process tolerance, unless its row names a rule of its own [mm].

    Source: judgement
    """
    conditions = design.conditions
    if size.spread:
        return conditions.rules[size.spread]
    return float(conditions.material.tolerance_at(drawn_mm))


def limits_of(design: Design, size: Size, drawn_mm: float) -> tuple[float, float]:
    """Return the least and the most that a drawn size of a part may be delivered at.

    Parameters
    ----------
    design : Design
        A single part [mm].
    size : Size
        Its row of the table [-].
    drawn_mm : float
        The size [mm].

    Returns
    -------
    tuple of float
        Either way the tolerance; of a hole as far as its process is published to leave it,
        which is more often small than large, and never further than the tolerance [mm].

    Source: judgement
    """
    spread = tolerance_of(design, size, drawn_mm)
    larger, smaller = (float(way) for way in design.conditions.material.hole_tolerance_mm)
    if size.feature != "bore" or size.spread or isnan(larger):
        return drawn_mm - spread, drawn_mm + spread
    return drawn_mm - min(smaller, spread), drawn_mm + min(larger, spread)


def dimensions(design: Design) -> dict[str, float]:
    """Return every drawn size by name, each name ending in its unit.

    Parameters
    ----------
    design : Design
        A single part (no arrays) [mm].

    Returns
    -------
    dict of str to float
        Names as in `part.json`.

    Source: own_derivation
    """
    out = {name: _number(value) for name, (_, value) in sizes_of(design).items()}
    drawn = compensated(design)
    if drawn is not design:
        # The sizes above are those wanted; these are what the files hold.
        theirs = dimensions(drawn)
        out |= {f"compensated_{name}": theirs[name] for name in out if theirs[name] != out[name]}
    box = design.envelope_mm
    out |= {f"envelope_{axis}_mm": _number(size) for axis, size in zip("xyz", box, strict=True)}
    return out


def _number(size: Number) -> float:
    # Nine digits keep a computed 37.6 from being written as 37.599999999999994.
    return round(float(size), 9)


def has_arrays(design: Design) -> bool:
    """Return whether a design holds many parts in one."""
    return any(
        np.ndim(getattr(part, field.name)) > 0
        for part in (*design.barbs, design.tip, design.hub)
        if part is not None
        for field in fields(part)
        if field.name not in {"lines"}
    )
