"""Whether a reading that should only fall rose, or was only read so."""

from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# Of logs in which nothing rose no more than this share is taken for one that did (judgement).
TAKEN_FOR_RISEN = 1e-3


def allowed_rise(deviation: float, pairs: int) -> float:
    """Return how far one of some pairs of readings may rise by their reading error alone.

    Parameters
    ----------
    deviation : float
        Standard deviation of a reading, in any unit [-].
    pairs : int
        How many pairs of readings are compared, one or more [-].

    Returns
    -------
    float
        In that unit; readings of what does not rise exceed it in any pair of a log with a
        probability of at most `TAKEN_FOR_RISEN`, however the pairs share readings [-].

    The difference of two normal readings, and Bonferroni's bound.

    Source: own_derivation
    """
    # In its lower tail: 1 less a share of many pairs would be 1.
    return -NormalDist().inv_cdf(TAKEN_FOR_RISEN / pairs) * math.sqrt(2.0) * deviation


def largest_rise(values: Array) -> tuple[int, int]:
    """Return which reading stands highest over one before it, and that one.

    Parameters
    ----------
    values : (n,) ndarray
        Readings in the order of their time, two or more.

    Returns
    -------
    tuple of int
        Place of the lower, earlier reading and of the later one.
    """
    lowest = np.minimum.accumulate(values)
    later = int(np.argmax(values[1:] - lowest[:-1])) + 1
    return int(np.argmin(values[:later])), later
