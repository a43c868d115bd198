"""Room on a sheet: which squares are taken, and where a further view still fits."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from barbwright.design.view import Path, Spot
from barbwright.report.drawing.placed import Box
from barbwright.report.drawing.views import covered


class Room:
    """A field round the first view, in squares that are free or taken.

    Parameters
    ----------
    field : (float, float)
        Width and height that all views together may take [mm].
    cell : float
        Side of a square [mm].
    gap : float
        Least distance between two views [mm].
    """

    def __init__(self, field: tuple[float, float], cell: float, gap: float) -> None:
        self.field, self.cell, self.gap = field, cell, gap
        self.reach: Box = (0.0, 0.0, 0.0, 0.0)
        self._origin: Spot | None = None
        self._taken: NDArray[np.bool_] = np.zeros((0, 0), dtype=bool)

    @property
    def fits(self) -> bool:
        """Whether all that is placed fits the field."""
        wide, tall = self.reach[2] - self.reach[0], self.reach[3] - self.reach[1]
        return wide <= self.field[0] and tall <= self.field[1]

    def take(self, boxes: list[Box], strokes: Path, polygons: list[Path]) -> None:
        """Mark as taken what texts, lines and the part itself cover [mm]."""
        corners = np.vstack([np.array(boxes).reshape(-1, 2), strokes.reshape(-1, 2)])
        low, high = corners.min(axis=0), corners.max(axis=0)
        if self._origin is None:
            self.reach = (*low.tolist(), *high.tolist())
            self._open()
        else:
            both = np.vstack([low, high, np.array(self.reach).reshape(2, 2)])
            self.reach = (*both.min(axis=0).tolist(), *both.max(axis=0).tolist())
        for box in boxes:
            self._mark(np.array(box[:2]), np.array(box[2:]))
        lengths = np.hypot(strokes[:, 2] - strokes[:, 0], strokes[:, 3] - strokes[:, 1])
        for stroke, length in zip(strokes, lengths, strict=True):
            share = np.linspace(0.0, 1.0, int(length / self.cell * 2.0) + 2)[:, None]
            self._mark_points(stroke[:2] + (stroke[2:] - stroke[:2]) * share)
        across, up = self._middles()
        for polygon in polygons:
            self._taken |= covered(across, up, polygon)

    def place_for(self, box: Box, below: bool) -> Spot | None:
        """Return by how much a further view is moved, so that it stands free.

        Parameters
        ----------
        box : Box
            What the view reaches, unmoved [mm].
        below : bool
            Whether it must stand straight below all others.

        Returns
        -------
        (float, float) or None
            Nothing where no room is left [mm].
        """
        assert self._origin is not None
        if below:
            return (0.0, self.reach[1] - self.gap - box[3])
        cells = np.ceil(
            np.array([box[2] - box[0] + 2.0 * self.gap, box[3] - box[1] + 2.0 * self.gap])
            / self.cell
        ).astype(int)
        wide, tall = int(cells[0]), int(cells[1])
        rows, columns = self._taken.shape
        if wide >= columns or tall >= rows:
            return None
        sums = np.zeros((rows + 1, columns + 1), dtype=np.int64)
        sums[1:, 1:] = self._taken.cumsum(axis=0).cumsum(axis=1)
        over = sums[tall:, wide:] - sums[:-tall, wide:] - sums[tall:, :-wide] + sums[:-tall, :-wide]
        v, u = np.nonzero(over == 0)
        low = np.column_stack([u, v]) * self.cell + np.array(self._origin) + self.gap
        high = low + np.array([box[2] - box[0], box[3] - box[1]])
        union_low = np.minimum(low, self.reach[:2])
        union_high = np.maximum(high, self.reach[2:])
        size = union_high - union_low
        good = (size <= np.array(self.field)).all(axis=1)
        if not good.any():
            return None
        # As little paper as possible, then near to the middle of what stands there.
        middle = (np.array(self.reach[:2]) + np.array(self.reach[2:])) / 2.0
        away = np.hypot(*((low + high) / 2.0 - middle).T)
        shape = np.maximum(size[:, 0] / self.field[0], size[:, 1] / self.field[1])
        cost = np.where(good, shape + 0.02 * away / self.field[0], np.inf)
        best = low[int(np.argmin(cost))]
        return (float(best[0] - box[0]), float(best[1] - box[1]))

    def _open(self) -> None:
        """Lay squares over all the field that the first view can stand in."""
        spare = np.array(self.field) - (np.array(self.reach[2:]) - np.array(self.reach[:2]))
        low = np.array(self.reach[:2]) - np.maximum(spare, 0.0) - self.gap
        high = np.array(self.reach[2:]) + np.maximum(spare, 0.0) + self.gap
        self._origin = (float(low[0]), float(low[1]))
        columns, rows = np.ceil((high - low) / self.cell).astype(int)
        self._taken = np.zeros((int(rows), int(columns)), dtype=bool)

    def _middles(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        assert self._origin is not None
        rows, columns = self._taken.shape
        across = (np.arange(columns, dtype=np.float64) + 0.5) * self.cell + self._origin[0]
        up = (np.arange(rows, dtype=np.float64) + 0.5) * self.cell + self._origin[1]
        return across, up

    def _mark(self, low: NDArray[np.float64], high: NDArray[np.float64]) -> None:
        (u0, v0), (u1, v1) = self._cell(low), self._cell(high)
        self._taken[v0 : v1 + 1, u0 : u1 + 1] = True

    def _mark_points(self, points: NDArray[np.float64]) -> None:
        cells = np.array(((points - np.array(self._origin)) / self.cell).astype(int))
        rows, columns = self._taken.shape
        self._taken[np.clip(cells[:, 1], 0, rows - 1), np.clip(cells[:, 0], 0, columns - 1)] = True

    def _cell(self, spot: NDArray[np.float64]) -> tuple[int, int]:
        rows, columns = self._taken.shape
        u, v = ((spot - np.array(self._origin)) / self.cell).astype(int)
        return int(np.clip(u, 0, columns - 1)), int(np.clip(v, 0, rows - 1))
