"""Where a verdict turns: brackets divided until they are narrow, all of them in one run."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from barbwright.rating.judging import CHUNK, BoolArray, FloatArray

# Into how many a bracket is divided at a time: few brackets cost no more divided finely.
_LEAST_PARTS, _MOST_PARTS = 2, 32
# Of a pressure [MPa].
TOLERANCE = 2e-7


def turning_points(
    fails: Callable[[FloatArray, tuple[FloatArray, ...]], BoolArray],
    lower: FloatArray,
    upper: FloatArray,
    args: tuple[FloatArray, ...] = (),
    tolerance: float = TOLERANCE,
) -> tuple[FloatArray, FloatArray]:
    """Return the passing and the failing end of a bracket narrowed to a tolerance.

    A verdict has no slope to follow, only two sides, so the result cannot disagree
    with the check it came from.

    Parameters
    ----------
    fails : callable
        From values and arguments to whether they fail.
    lower, upper : (n,) ndarray
        Brackets, one end of which passes [any unit].
    args : tuple of (n,) ndarray
        More arguments, one a bracket.
    tolerance : float
        Width to stop at [same unit].

    Returns
    -------
    tuple of ndarray
        Passing and failing ends.

    Source: own_derivation
    """
    lower, upper = np.array(lower, dtype=float), np.array(upper, dtype=float)
    if not lower.size:
        return lower, upper
    left_passes = ~fails(lower, args)
    parts = int(np.clip(CHUNK // lower.size, _LEAST_PARTS, _MOST_PARTS))
    share = np.arange(1.0, parts)[:, None] / parts
    rows = np.arange(lower.size)
    while np.max(upper - lower) > tolerance:
        inside = lower + share * (upper - lower)
        tiled = tuple(np.tile(values, parts - 1) for values in args)
        bad = fails(inside.ravel(), tiled).reshape(inside.shape)
        ends = np.concatenate([lower[None], inside, upper[None]])
        # The first part whose far end is on the other side; the last one where none inside is.
        turned = np.concatenate([bad == left_passes, np.ones((1, lower.size), dtype=bool)])
        at = np.argmax(turned, axis=0)
        lower, upper = ends[at, rows], ends[at + 1, rows]
    return np.where(left_passes, lower, upper), np.where(left_passes, upper, lower)
