"""One part out of a design: plain numbers, with the features its kind always has."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np

from barbwright.design.kind import Design


def single(design: Design[Any]) -> Design[float]:
    """Return a single part in plain numbers.

    What sizes and checks takes numbers and arrays alike; what draws, measures and
    writes takes one part. Here, once, its sizes become plain numbers.

    Parameters
    ----------
    design : Design
        A single part: no field holds more than one number [mm].

    Returns
    -------
    Design
        Of the class that the kind names in `Kind.single` [mm].

    Raises
    ------
    TypeError
        When the design holds many parts, or lacks what its kind always has.

    Source: own_derivation
    """
    record = design.kind.single
    values = {one.name: getattr(design, one.name) for one in fields(design)}
    for name in ("bore_mm", "barbs", "tip", "hub", "ring", "neck_length_mm", "own"):
        values[name] = plain(values[name])
    # What a kind's own record says again is what it always has.
    always = record.__annotations__ if record is not Design else ()
    for name in always:
        if values[name] is None:
            message = f"a {design.kind.name} without its {name} is none"
            raise TypeError(message)
    return record(**values)


def plain(value: Any) -> Any:
    """Return a number as a plain one, a record with plain numbers, and the rest as it is.

    Parameters
    ----------
    value : object
        A number, a record of numbers or a tuple of either, of one part [any unit].

    Source: own_derivation
    """
    if isinstance(value, Design):
        return single(value)
    if isinstance(value, tuple):
        return tuple(plain(one) for one in value)
    if is_dataclass(value) and not isinstance(value, type):
        return replace(
            value, **{one.name: plain(getattr(value, one.name)) for one in fields(value)}
        )
    if isinstance(value, np.ndarray) and value.ndim:
        message = f"one part holds one number in each size, not {value.size}"
        raise TypeError(message)
    return float(value) if isinstance(value, (np.ndarray, np.floating)) else value
