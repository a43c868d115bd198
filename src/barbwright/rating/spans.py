"""Ranges and lists as they are typed: `3/16..3/8`, `30psi..90psi`, `all`, `a, b`."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import TypeVar

import numpy as np

from barbwright import catalog, units
from barbwright.catalog import Bit
from barbwright.errors import Fault, InputError, quoted

Record = TypeVar("Record")


def _words(text: str, name: str) -> list[str]:
    words = [word.strip() for word in re.split(r"[,;]", text) if word.strip()]
    if not words:
        raise InputError(Fault(f"{name} is empty", do="give a list, or `all`"))
    return words


def _ends(text: str, name: str) -> tuple[str, str] | None:
    if ".." not in text:
        return None
    parts = [part.strip() for part in text.split("..")]
    if len(parts) != 2 or not all(parts):
        fault = Fault(f"{name} is no range", given=quoted(text), do="write it like 30psi..90psi")
        raise InputError(fault)
    return parts[0], parts[1]


def read_bits(text: str, name: str = "--bits") -> list[Bit]:
    """Return the bits of a range or list.

    Parameters
    ----------
    text : str
        ``3/16..3/8``: all bits of the series of its ends between them; a list; ``all`` [-].
    name : str
        What to call it in a message [-].
    """
    every = list(catalog.bits().values())
    if text.strip().casefold() == "all":
        return sorted(every, key=lambda bit: bit.diameter_mm)
    ends = _ends(text, name)
    if ends is None:
        return [catalog.parse_bit(word, name) for word in _words(text, name)]
    low, high = (catalog.parse_bit(end, name) for end in ends)
    if low.diameter_mm > high.diameter_mm:
        low, high = high, low
    found = sorted(
        (
            bit
            for bit in every
            if bit.series in {low.series, high.series}
            and low.diameter_mm - 1e-9 <= bit.diameter_mm <= high.diameter_mm + 1e-9
        ),
        key=lambda bit: bit.diameter_mm,
    )
    if not found:
        raise InputError(Fault(f"{name}: no bit lies between", given=quoted(text)))
    return found


def read_pressures(
    text: str, points: int = 13, name: str = "--pressures"
) -> tuple[list[float], list[str]]:
    """Return pressures of a range or list, with their words in the unit that was typed.

    Parameters
    ----------
    text : str
        ``30psi..90psi`` or a list [-].
    points : int
        How many pressures a range becomes, its ends included [-].
    name : str
        What to call it in a message [-].

    Returns
    -------
    tuple of list
        Pressures [MPa] and labels.
    """
    ends = _ends(text, name)
    if ends is None:
        words = _words(text, name)
        return [units.parse_pressure(word, name=name) for word in words], words
    if points < 2:
        raise InputError(Fault("--points must be at least 2", given=str(points)))
    low, high = sorted(units.parse_pressure(end, name=name) for end in ends)
    found = re.search(r"[^\d.\s].*$", ends[1])
    unit = found[0].strip() if found else "kPa"
    one = units.parse_pressure(f"1 {unit}", name=name)
    values = np.linspace(low, high, points)
    return [float(value) for value in values], [f"{value / one:.4g} {unit}" for value in values]


def read_names(
    text: str,
    table: Mapping[str, Record],
    find: Callable[[str], Record],
    name: str,
) -> list[Record]:
    """Return records of a table: ``all``, or a list of names.

    Parameters
    ----------
    text : str
        As typed [-].
    table : mapping
        All there is [-].
    find : callable
        From a name to its record.
    name : str
        What to call it in a message [-].

    Raises
    ------
    InputError
        With every unknown name.
    """
    if text.strip().casefold() == "all":
        return list(table.values())
    collect = units.FaultCollector()
    found = [collect.read(find, word) for word in _words(text, name)]
    collect.raise_if_any(InputError)
    return [record for record in found if record is not None]
