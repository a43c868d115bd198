"""Of many designs most put one tube on one barb: what is alike is worked out once."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable

import numpy as np
from numpy.typing import NDArray

from barbwright.checks.corners import Array
from barbwright.equations import Number, spread_to

# So few are worked out faster than they are compared.
FEW = 64
# A search asks for the same few numbers over and over: the last so many answers are kept, of as
# few rows each as a corner or two of some designs have.
MOST_KEPT, MOST_ROWS = 256, 64
_kept: OrderedDict[tuple[Hashable, int, bytes], tuple[Array, ...]] = OrderedDict()
# Odd, with as many ones as noughts: any will do.
_MIXER = np.uint64(0x9E3779B97F4A7C15)


def once_each(
    work: Callable[..., tuple[Array, ...]], *given: Number, kept_as: Hashable = None
) -> tuple[Array, ...]:
    """Return what a function of numbers gives, worked out once for each set of numbers.

    Parameters
    ----------
    work : callable
        Takes as many (m,) arrays as there are numbers, and returns (..., m) arrays; each place
        of them must depend on its own place of the arrays alone [-].
    *given : float or array
        Numbers of one common shape, in whatever units the function takes [-].
    kept_as : hashable, optional
        What tells the function from all others: its answers are then kept for the next call,
        whatever design asks [-].

    Returns
    -------
    tuple of ndarray
        Of shape (..., *common shape), not to be written into.

    Source: own_arithmetic
    """
    shape = np.broadcast_shapes(*(np.shape(one) for one in given))
    rows = np.stack(
        [spread_to(np.asarray(one, dtype=float), shape).ravel() for one in given], axis=1
    )
    where = None
    if len(rows) > (FEW if kept_as is None else 1):
        rows, where = _distinct(rows)
    if kept_as is None or len(rows) > MOST_ROWS:
        found = work(*np.ascontiguousarray(rows.T))
    else:
        found = _answered(work, rows, kept_as)
    spread = found if where is None else tuple(one[..., where] for one in found)
    return tuple(one.reshape((*one.shape[:-1], *shape)) for one in spread)


def _answered(
    work: Callable[..., tuple[Array, ...]], rows: NDArray[np.float64], kept_as: Hashable
) -> tuple[Array, ...]:
    """Return a function's answer, from what is kept where it was asked before."""
    key = (kept_as, len(rows), rows.tobytes())
    if key in _kept:
        _kept.move_to_end(key)
        return _kept[key]
    found = work(*np.ascontiguousarray(rows.T))
    for one in found:
        one.flags.writeable = False
    _kept[key] = found
    if len(_kept) > MOST_KEPT:
        _kept.popitem(last=False)
    return found


def _distinct(rows: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Return each row once, and which of them each row was.

    Rows are told apart by one number mixed from all their bits: to sort that alone takes a tenth
    of the time of sorting columns. Should two unlike rows share one, each is kept by itself.
    """
    bits = rows.view(np.uint64)
    mixed = np.zeros(len(bits), dtype=np.uint64)
    for column in bits.T:
        mixed = (mixed ^ column) * _MIXER
        mixed ^= mixed >> np.uint64(29)
    _, first, where = np.unique(mixed, return_index=True, return_inverse=True)
    if np.array_equal(bits[first[where]], bits):
        return rows[first], where
    return rows, np.arange(len(rows))
