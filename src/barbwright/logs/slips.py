"""What a slip of the unit or of the pen multiplies a reading by."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from barbwright import units

Array = NDArray[np.float64]

# Units that gauges of each kind show, as we spell them.
_SHOWN = {
    "force": ("N", "lbf", "kgf"),
    "torque": ("N m", "N mm", "in lbf", "ft lbf"),
    "pressure": ("psi", "kPa", "bar"),
    "length": ("mm", "in"),
}
# A hanging scale shows these two by one button, so the one is the likeliest slip of the other.
_ONE_DIAL = {"lbf", "kgf"}
_OF_ONE_DIAL = 0.8


@dataclass(frozen=True, kw_only=True)
class Slip:
    """A slip a reading may be.

    Attributes
    ----------
    factor : float
        What it multiplies the reading by [-].
    share : float
        How many of the wrong readings are this one [-].
    looks_like : str
        What happened, in words.
    of_unit : bool
        Whether it is a slip of the unit, which looks like a good reading most.
    """

    factor: float
    share: float
    looks_like: str
    of_unit: bool


def spelling_of(kind: str, text: str) -> str:
    """Return the unit of a reading as the slips name it; empty where it is none of theirs.

    Parameters
    ----------
    kind : str
        Kind of quantity [-].
    text : str
        The reading with its unit, as it was parsed [-].
    """
    name = units.unit_of(text, kind)
    known = units.KINDS[kind].spellings
    return next((one for one in _SHOWN.get(kind, ()) if known[one] == name), "")


def slips_of(kind: str, unit: str, rules: Mapping[str, float]) -> tuple[Slip, ...]:
    """Return what may have gone wrong with a reading that was written in a unit.

    Parameters
    ----------
    kind : str
        Kind of quantity; empty for a ratio [-].
    unit : str
        As `spelling_of` gives it; empty where it is not known [-].
    rules : mapping
        Judgement numbers [-].

    Source: judgement
    """
    digit = rules["log_digit_share"] / 2.0
    found = [
        Slip(factor=0.1, share=digit, looks_like="a digit lost", of_unit=False),
        Slip(factor=10.0, share=digit, looks_like="a digit too many", of_unit=False),
    ]
    others = [one for one in _SHOWN.get(kind, ()) if one != unit] if unit else []
    for other in others:
        share = 1.0 / len(others)
        if unit in _ONE_DIAL:
            share = _OF_ONE_DIAL if other in _ONE_DIAL else 1.0 - _OF_ONE_DIAL
        found.append(
            Slip(
                factor=float(units.factor(kind, unit) / units.factor(kind, other)),
                share=rules["log_unit_share"] * share,
                looks_like=f"{other} written as {unit}",
                of_unit=True,
            )
        )
    return tuple(found)


def both_ways(slips: tuple[Slip, ...]) -> tuple[Slip, ...]:
    """Return the slips of a ratio of two readings, either of which may be the wrong one.

    Parameters
    ----------
    slips : tuple of Slip
        Those of one reading.
    """
    return tuple(
        replace(one, factor=factor, share=0.5 * one.share)
        for one in slips
        for factor in (one.factor, 1.0 / one.factor)
    )


def logs_and_shares(slips: Sequence[tuple[Slip, ...]]) -> tuple[Array, Array]:
    """Return logarithms of the factors and the shares, a row a reading, even in width [-], [-].

    Parameters
    ----------
    slips : sequence of tuple of Slip
        Those of each reading.
    """
    width = max(len(row) for row in slips)
    factors, shares = np.zeros((len(slips), width)), np.zeros((len(slips), width))
    for index, row in enumerate(slips):
        factors[index, : len(row)] = [math.log(one.factor) for one in row]
        shares[index, : len(row)] = [one.share for one in row]
    return factors, shares
