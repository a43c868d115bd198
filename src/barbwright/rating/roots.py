"""Where a verdict turns: scipy's bracketing root finder on the verdict's sign."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from barbwright.rating.judging import BoolArray, FloatArray


def turning_points(
    fails: Callable[[FloatArray, tuple[FloatArray, ...]], BoolArray],
    lower: FloatArray,
    upper: FloatArray,
    args: tuple[FloatArray, ...] = (),
    tolerance: float = 2e-7,
) -> tuple[FloatArray, FloatArray]:
    """Return the passing and the failing end of a bracket narrowed to a tolerance.

    The sign of the verdict is all there is to follow, so the result cannot
    disagree with the check it came from.

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
    # Late: scipy costs half a second, which a check that passes must not pay.
    from scipy.optimize import elementwise

    found = elementwise.find_root(
        lambda values, *more: np.where(fails(values, more), -1.0, np.ones(values.shape)),
        (lower, upper),
        args=args,
        tolerances={"xatol": tolerance, "xrtol": 0.0, "fatol": 0.0, "frtol": 0.0},
        maxiter=80,
    )
    left, right = found.bracket
    left_passes = found.f_bracket[0] > 0.0
    return np.where(left_passes, left, right), np.where(left_passes, right, left)
