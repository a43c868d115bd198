"""Rounding of drawn sizes to steps a drawing can carry."""

from __future__ import annotations

import numpy as np

from barbwright.equations import Number

# Every free size of a design lies on it, so that drawing, order and other readers say the same
# figure. It is rounded where the size is chosen, to the side that keeps a limit, and every check
# judges what it became; a size that a user forces stays as given.
GRID_MM = 0.05
# A size that misses a step by less than this was meant to be on it.
_SLACK = 1e-6


def round_up(size_mm: Number, step_mm: float) -> Number:
    """Return the next multiple of a step at or above a size [mm]."""
    steps = np.ceil(np.asarray(size_mm, dtype=float) / step_mm - _SLACK)
    return np.round(steps * step_mm, 6)


def round_down(size_mm: Number, step_mm: float) -> Number:
    """Return the last multiple of a step at or below a size [mm]."""
    steps = np.floor(np.asarray(size_mm, dtype=float) / step_mm + _SLACK)
    return np.round(steps * step_mm, 6)
