"""A grid of bits, pressures, materials, tubes and woods, judged in chunks of arrays."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from barbwright.checks.result import CHECKS, NO_SIZE, PASS, VERDICTS
from barbwright.design.part import Kind
from barbwright.errors import Fault, InputError
from barbwright.job import numbers
from barbwright.job.record import Job
from barbwright.rating.choices import Axis, combined
from barbwright.rating.judging import IntArray
from barbwright.rating.search import grade
from barbwright.rating.stack import take_sizes

# More than this many points would take many minutes and fill a table nobody reads.
MOST_POINTS = 5_000_000
# Points at a time: a shortlist's last rounds, which few of them need, cost by the round.
_CHUNK = 16_384
# Header of a table's column that names the checks which a pass still leaves to be proved.
PROVED_HEADER = "pass_once_proved_in_field"


@dataclass(frozen=True, kw_only=True)
class Sweep:
    """A grid of designs and loads with their verdicts.

    Attributes
    ----------
    kind : Kind
        Kind of part.
    axes : tuple of Axis
        What varies; the last one fastest.
    code : (n,) ndarray of int8
        0 pass, 1 caution, 2 fail, 3 no size [-].
    governing : (n,) ndarray of int16
        Index into ``ids``; -1 where none governs or no size exists [-].
    use : (n,) ndarray of float32
        Safety factor over design factor of the governing check [-].
    leans : (n,) ndarray of uint8
        Index into ``proofs``; 0 for what is no pass, or an outright one [-].
    ids : tuple of str
        Checks in table order.
    proofs : tuple of tuple of str
        Sets of checks that a pass leans on being proved in the field; the first is empty.
    """

    kind: Kind
    axes: tuple[Axis, ...]
    code: NDArray[np.int8]
    governing: NDArray[np.int16]
    use: NDArray[np.float32]
    leans: NDArray[np.uint8]
    ids: tuple[str, ...]
    proofs: tuple[tuple[str, ...], ...]

    @property
    def shape(self) -> tuple[int, ...]:
        """Lengths of the axes [-]."""
        return tuple(len(one) for one in self.axes)

    def columns(self) -> dict[str, list[Any]]:
        """Return one column a header, units in the headers, for CSV and JSON."""
        index = np.unravel_index(np.arange(self.code.size), self.shape)
        out: dict[str, list[Any]] = {}
        for one, rows in zip(self.axes, index, strict=True):
            out[one.name] = np.array(one.labels, dtype=object)[rows].tolist()
            if one.numbers is not None:
                header = "bit_diameter_mm" if one.name == "bit" else f"{one.name}_{one.unit}"
                out[header] = np.round(one.numbers, 4)[rows].tolist()
        names = np.array([*self.ids, ""], dtype=object)
        use = self.use.astype(float)
        out["verdict"] = np.array(VERDICTS, dtype=object)[self.code].tolist()
        proofs = np.array([", ".join(checks) for checks in self.proofs], dtype=object)
        out[PROVED_HEADER] = proofs[self.leans].tolist()
        out["governing_check"] = names[self.governing].tolist()
        # No number where a check is a plain yes or no.
        rounded = np.round(use, 4).astype(object)
        rounded[~np.isfinite(use)] = None
        out["safety_factor_over_design_factor"] = rounded.tolist()
        return out


def sweep(
    kind: Kind,
    job: Job,
    axes: Sequence[Axis],
    *,
    chunk: int = _CHUNK,
    progress: Callable[[float], None] | None = None,
) -> Sweep:
    """Return the verdict at every point of a grid.

    Sizes are drawn anew at every point. Memory is bounded by the chunk: beside
    fifteen bytes a point only one chunk's arrays exist at a time.

    Parameters
    ----------
    kind : Kind
        Kind of part.
    job : Job
        What no axis sets.
    axes : sequence of Axis
        What varies.
    chunk : int
        Points judged at a time [-].
    progress : callable, optional
        Told the share that is done, 0 to 1.

    Returns
    -------
    Sweep
        Verdicts, governing checks and margins.

    Raises
    ------
    InputError
        When the grid is too large to be meant.
    """
    shape = tuple(len(one) for one in axes)
    count = int(np.prod(shape, dtype=np.int64))
    if count > MOST_POINTS:
        raise InputError(
            Fault(
                "the sweep is too large",
                given=f"{count:,} points",
                limit=f"{MOST_POINTS:,}",
                do="sweep fewer inputs, or name some instead of `all`",
            )
        )
    base = numbers.conditions(job)
    code = np.empty(count, dtype=np.int8)
    governing = np.empty(count, dtype=np.int16)
    use = np.empty(count, dtype=np.float32)
    masks = np.empty(count, dtype=np.int64)
    ids: tuple[str, ...] = tuple(CHECKS)
    for begin in range(0, count, chunk):
        rows = np.arange(begin, min(begin + chunk, count))
        index: list[IntArray] = list(np.unravel_index(rows, shape))
        forced = take_sizes(job.forced, rows)
        graded = grade(kind, combined(base, axes, index), forced, rows.shape)
        ids = graded.ids
        code[rows] = graded.code
        masks[rows] = np.where(graded.code == PASS, graded.leans, 0)
        which = graded.governing
        use[rows] = graded.use_at(which)
        # Where no size exists nothing was judged that could govern.
        governing[rows] = np.where(graded.code == NO_SIZE, -1, which)
        if progress is not None:
            progress((rows[-1] + 1) / count)
    use[governing < 0] = np.nan
    proofs, leans = _proofs(masks, ids)
    return Sweep(
        kind=kind,
        axes=tuple(axes),
        code=code,
        governing=governing,
        use=use,
        leans=leans,
        ids=ids,
        proofs=proofs,
    )


def _proofs(
    masks: IntArray, ids: tuple[str, ...]
) -> tuple[tuple[tuple[str, ...], ...], NDArray[np.uint8]]:
    """Return the sets of checks that masks of `Graded.leans` name, the empty one first."""
    found, at = np.unique(np.append(0, masks), return_inverse=True)
    # A few checks can be proved at all, so their sets are few: a byte numbers them.
    proofs = tuple(
        tuple(name for row, name in enumerate(ids) if int(mask) >> row & 1) for mask in found
    )
    return proofs, at.ravel()[1:].astype(np.uint8)
