"""Many designs judged in one run: the verdict `check` would give each, and what governs it."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from barbwright.checks.result import CHECKS, FAIL, NO_SIZE, NOT_CHECKED, Judged
from barbwright.checks.table import governing_index, judge_all, judge_before, overall_code
from barbwright.design.conditions import Conditions
from barbwright.design.part import Design, Kind
from barbwright.design.refusals import refused
from barbwright.equations import spread_to

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]
FloatArray = NDArray[np.float64]
# Designs judged at a time: small enough for the cache, large enough to hide the interpreter.
CHUNK = 4096


@dataclass(frozen=True, kw_only=True)
class Graded:
    """Designs with their verdicts.

    Attributes
    ----------
    ids : tuple of str
        Checks in table order.
    code : (...) ndarray of int
        0 pass, 1 caution, 2 fail, 4 no size; a material that is refused before
        sizing fails, whether a size exists or not [-].
    verdicts : (k, ...) ndarray of int
        Verdict of each check: 0 pass, 1 caution, 2 fail, 3 not checked [-].
    use : (k, ...) ndarray
        Safety factor over design factor; infinite where there is none [-].
    because : tuple of str
        Why a check could not be made anywhere; empty where it was.
    unsized : (...) ndarray of bool
        Whether no size exists, so that only the checks made before sizing mean anything [-].
    leans : (...) ndarray of int
        Which checks pass only on what is proved in the field: 2 to the power of each
        one's place in ``ids``, summed [-].
    """

    ids: tuple[str, ...]
    code: IntArray
    verdicts: IntArray
    use: FloatArray
    because: tuple[str, ...]
    unsized: BoolArray
    leans: IntArray

    @property
    def fails(self) -> BoolArray:
        """Whether `check` would not end with 0."""
        return self.code >= FAIL

    @property
    def proved(self) -> BoolArray:
        """Whether some check passes only on what is proved in the field."""
        return np.asarray(self.leans != 0)

    @property
    def governing(self) -> IntArray:
        """Index of the governing check of each design; -1 where none can govern [-]."""
        early = _early(self.ids, self.verdicts.ndim)
        means = np.where(self.unsized & ~early, NOT_CHECKED, self.verdicts)
        return governing_index([CHECKS[name] for name in self.ids], means, self.use)

    def use_at(self, which: IntArray) -> FloatArray:
        """Return each design's safety factor over design factor in one of its checks [-].

        Parameters
        ----------
        which : (...) ndarray of int
            Index of that check; below 0 any [-].
        """
        return np.asarray(np.take_along_axis(self.use, np.maximum(which, 0)[None], axis=0)[0])

    def left_unchecked(self, judged: Collection[str]) -> BoolArray:
        """Which designs lack one of some checks [-].

        Parameters
        ----------
        judged : collection of str
            Checks that must be made [-].
        """
        rows = [row for row, name in enumerate(self.ids) if name in judged]
        return np.asarray(np.any(self.verdicts[rows] == NOT_CHECKED, axis=0))


def _early(ids: tuple[str, ...], dimensions: int) -> BoolArray:
    """Return which checks are made before sizing, as a column for `Graded.verdicts`."""
    early = np.array([CHECKS[name].before_sizing for name in ids], dtype=bool)
    return early.reshape((-1,) + (1,) * (dimensions - 1))


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
        return _graded(judge_all(design, advised=False), refused(design), shape)


def _graded(judged: dict[str, Judged], no_size: BoolArray, least: tuple[int, ...]) -> Graded:
    ids = tuple(judged)
    infos = [CHECKS[name] for name in ids]
    own = np.broadcast_shapes(*(one.verdict.shape for one in judged.values()))
    # One design comes back with a length of one from the checks; it is still one design.
    own = () if own == (1,) else own
    shape = np.broadcast_shapes(own, np.shape(no_size), least)
    full = (len(ids), *shape)
    verdicts, safety, factor = np.empty(full, dtype=np.int64), np.empty(full), np.empty(full)
    leans = np.zeros(shape, dtype=np.int64)
    for row, one in enumerate(judged.values()):
        verdicts[row] = _fit(one.verdict, shape)
        safety[row] = _fit(one.safety_factor, shape)
        factor[row] = _fit(one.design_factor, shape)
        if np.any(one.proved):
            leans |= np.asarray(_fit(one.proved, shape), dtype=np.int64) << row
    use = safety / factor
    use[~np.isfinite(use)] = np.inf
    use[[info.yes_no for info in infos]] = np.inf
    code = overall_code(infos, verdicts)
    unsized = np.asarray(_fit(no_size, shape), dtype=bool)
    # As `check` does: a material that is refused is told before a size that is not there.
    unsuited = np.any((verdicts == FAIL) & _early(ids, verdicts.ndim), axis=0)
    code = np.where(unsized, np.where(unsuited, FAIL, NO_SIZE), code)
    because = tuple(one.because for one in judged.values())
    return Graded(
        ids=ids,
        code=code,
        verdicts=verdicts,
        use=use,
        because=because,
        unsized=unsized,
        leans=leans,
    )


def _fit(values: object, shape: tuple[int, ...]) -> NDArray[np.float64]:
    array = np.asarray(values)
    if shape == ():
        return array.reshape(())
    return spread_to(array, shape)


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
