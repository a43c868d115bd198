"""Flats to turn a part by, at widths that no spanner has.

A spanner's end breaks a tip with a few newtons; a pad that looks made for one invites it.
"""

from __future__ import annotations

import numpy as np

from barbwright.design.rounding import GRID_MM
from barbwright.equations import Number

# Widths over flats of open spanners: whole millimetres and sixteenths of an inch, from memory.
_WIDTHS_MM = {float(mm) for mm in range(3, 61)} | {25.4 / 16.0 * inches for inches in range(2, 38)}
# Sorted by hand: numpy's own way to distinct numbers loads its masked arrays, at every start.
SPANNERS_MM = np.array(sorted(_WIDTHS_MM))


def between_spanners(least_mm: Number, apart_mm: float) -> Number:
    """Return the least width over flats that keeps clear of every spanner's.

    Parameters
    ----------
    least_mm : float or array
        What is asked for at least [mm].
    apart_mm : float
        Least distance to any spanner's width [mm].

    Returns
    -------
    float or array
        On the grid of drawn sizes; over the largest spanner as asked for [mm].

    Source: judgement
    """
    low = np.ceil((SPANNERS_MM[:-1] + apart_mm) / GRID_MM - 1e-9)
    high = np.floor((SPANNERS_MM[1:] - apart_mm) / GRID_MM + 1e-9)
    room = high >= low
    # Over the last spanner any width is free.
    low = np.append(low[room], np.ceil((SPANNERS_MM[-1] + apart_mm) / GRID_MM - 1e-9))
    high = np.append(high[room], np.inf)
    asked = np.ceil(np.asarray(least_mm) / GRID_MM - 1e-9)
    place = np.searchsorted(high, asked)
    width: Number = np.round(np.maximum(asked, low[place]) * GRID_MM, 6)[()]
    return width


def nearest_spanner(across_mm: Number) -> Number:
    """Return the spanner whose width is nearest to a width over flats [mm]."""
    above = np.clip(np.searchsorted(SPANNERS_MM, across_mm), 1, len(SPANNERS_MM) - 1)
    smaller, larger = SPANNERS_MM[above - 1], SPANNERS_MM[above]
    nearest: Number = np.where(larger - across_mm < across_mm - smaller, larger, smaller)[()]
    return nearest
