"""Many designs judged in one run: the verdict `check` would give each, and what governs it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from barbwright.checks.result import CAUTION, CHECKS, FAIL, NOT_CHECKED, PASS, Judged
from barbwright.checks.table import judge_all, judge_before, overall_code
from barbwright.design.conditions import Conditions
from barbwright.design.part import Design, Kind
from barbwright.design.refusals import refused

# Beyond the codes of a verdict: no size satisfies all limits.
NO_SIZE = 3
WORDS = ("pass", "caution", "fail", "no_size")
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]
FloatArray = NDArray[np.float64]
# Designs judged at a time: small enough for the cache, large enough to hide the interpreter.
CHUNK = 4096


@dataclass(frozen=True)
class Graded:
    """Designs with their verdicts.

    Attributes
    ----------
    ids : tuple of str
        Checks in table order.
    code : (...) ndarray of int
        0 pass, 1 caution, 2 fail, 3 no size; a material that is refused before
        sizing fails, whether a size exists or not [-].
    verdicts : (k, ...) ndarray of int
        Verdict of each check: 0 pass, 1 caution, 2 fail, 3 not checked [-].
    use : (k, ...) ndarray
        Safety factor over design factor; infinite where there is none [-].
    because : tuple of str
        Why a check could not be made anywhere; empty where it was.
    unsized : (...) ndarray of bool
        Whether no size exists, so that only the checks made before sizing mean anything [-].
    proved : (...) ndarray of bool
        Whether some check passes only on what is proved in the field [-].
    """

    ids: tuple[str, ...]
    code: IntArray
    verdicts: IntArray
    use: FloatArray
    because: tuple[str, ...]
    unsized: BoolArray
    proved: BoolArray

    @property
    def fails(self) -> BoolArray:
        """Whether `check` would not end with 0."""
        return self.code >= FAIL

    @property
    def governing(self) -> IntArray:
        """Index of the governing check of each design; -1 where none can govern [-]."""
        early = _early(self.ids, self.verdicts.ndim)
        means = np.where(self.unsized & ~early, NOT_CHECKED, self.verdicts)
        return governing_index(self.ids, means, self.use)


def _early(ids: tuple[str, ...], dimensions: int) -> BoolArray:
    """Return which checks are made before sizing, as a column for `Graded.verdicts`."""
    early = np.array([CHECKS[name].before_sizing for name in ids], dtype=bool)
    return early.reshape((-1,) + (1,) * (dimensions - 1))


def governing_index(ids: tuple[str, ...], verdicts: IntArray, use: FloatArray) -> IntArray:
    """Return which check governs, as `checks.table.governing` does for one design.

    Parameters
    ----------
    ids : tuple of str
        Checks in table order [-].
    verdicts : (k, ...) ndarray of int
        Verdict codes [-].
    use : (k, ...) ndarray
        Safety factor over design factor [-].

    Returns
    -------
    ndarray of int
        The worst verdict, then the least use; -1 where none can govern [-].
    """
    making = np.array([CHECKS[name].stage == "making" for name in ids])
    making = making.reshape((-1,) + (1,) * (verdicts.ndim - 1))
    can = (verdicts == FAIL) | (~making & (verdicts != NOT_CHECKED))
    rank = np.array([2.0, 1.0, 0.0, 3.0])[verdicts]
    order = np.where(can, rank * 1e6 + np.minimum(use, 1e5), np.inf)
    index = np.argmin(order, axis=0)
    return np.where(np.any(can, axis=0), index, -1)


def grade_design(design: Design, shape: tuple[int, ...] = ()) -> Graded:
    """Return the verdicts of a design, or of arrays of them.

    Parameters
    ----------
    design : Design
        Drawn sizes [mm].
    shape : tuple of int
        Shape the verdicts shall have at least, where nothing may vary [-].

    Returns
    -------
    Graded
        Verdicts.
    """
    with np.errstate(all="ignore"):
        return _graded(judge_all(design), refused(design), shape)


def _graded(judged: dict[str, Judged], no_size: BoolArray, least: tuple[int, ...]) -> Graded:
    ids = tuple(judged)
    code = overall_code(judged)
    # One design comes back with a length of one from the checks; it is still one design.
    own = () if np.shape(code) == (1,) else np.shape(code)
    shape = np.broadcast_shapes(own, np.shape(no_size), least)
    full = (len(ids), *shape)
    verdicts, use = np.empty(full, dtype=np.int64), np.empty(full)
    proved = np.zeros(shape, dtype=bool)
    for row, (name, one) in enumerate(judged.items()):
        ratio = one.safety_factor / one.design_factor
        ratio = np.where(np.isfinite(ratio) & ~np.isnan(ratio), ratio, np.inf)
        if CHECKS[name].yes_no:
            ratio = np.full_like(ratio, np.inf)
        verdicts[row] = _fit(one.verdict, shape)
        use[row] = _fit(ratio, shape)
        proved |= np.asarray(_fit(getattr(one, "proved", False), shape), dtype=bool)
    unsized = np.asarray(_fit(no_size, shape), dtype=bool)
    # As `check` does: a material that is refused is told before a size that is not there.
    unsuited = np.any((verdicts == FAIL) & _early(ids, verdicts.ndim), axis=0)
    code = np.where(unsized, np.where(unsuited, FAIL, NO_SIZE), _fit(code, shape))
    because = tuple(one.because for one in judged.values())
    return Graded(ids, code, verdicts, use, because, unsized, proved)


def _fit(values: object, shape: tuple[int, ...]) -> NDArray[np.float64]:
    array = np.asarray(values)
    if shape == ():
        return array.reshape(())
    return np.broadcast_to(array, shape)


def unsuitable(kind: Kind, conditions: Conditions) -> tuple[str, ...]:
    """Return which checks made before sizing fail for one design.

    Parameters
    ----------
    kind : Kind
        Kind of part.
    conditions : Conditions
        Floats [degree C].
    """
    return tuple(
        name
        for name, one in judge_before(kind, conditions).items()
        if int(np.ravel(one.verdict)[0]) == FAIL
    )


__all__ = [
    "CAUTION",
    "CHUNK",
    "FAIL",
    "NOT_CHECKED",
    "NO_SIZE",
    "PASS",
    "WORDS",
    "Graded",
    "governing_index",
    "grade_design",
    "unsuitable",
]
