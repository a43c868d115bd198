"""A view's lines on the sheet, and as straight strokes that no text may be crossed by."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from barbwright.design.outline import polyline
from barbwright.design.view import Line, Path, Spot, View
from barbwright.report.drawing.placed import (
    AXIS,
    BREAKS,
    CURVES,
    MARK,
    OUTLINE,
    THIN,
    Hatch,
    Item,
    Stroke,
)

# How far a centre line reaches over the part, on the paper [mm].
OVER_MM = 3.0


def lines_of(view: View, paper_mm: float) -> list[Item]:
    """Return a view's hatched faces and lines.

    Parameters
    ----------
    view : View
        What is seen [mm].
    paper_mm : float
        Length in the view of a millimetre of paper [mm].

    Returns
    -------
    list of Item
        In the order they are drawn.
    """
    items: list[Item] = [Hatch(path=section) for section in view.sections]
    items += [Stroke(layer=OUTLINE, path=path) for path in view.visible]
    items += [Stroke(layer=THIN, path=_ends(line), single=True) for line in view.edges]
    items += [
        Stroke(layer=THIN, path=_ends(line), dashed=True, single=True) for line in view.hidden
    ]
    items += [
        Stroke(layer=AXIS, path=_ends(_longer(line, OVER_MM * paper_mm)), single=True)
        for line in view.axes
    ]
    items += [Stroke(layer=CURVES, path=path) for path in view.curves]
    items += [Stroke(layer=MARK, path=path) for path in view.mark]
    items += [Stroke(layer=BREAKS, path=_ends(line), single=True) for line in view.breaks]
    return items


def _ends(line: Line) -> Path:
    return np.array([(*line[:2], 0.0), (*line[2:], 0.0)])


def _longer(line: Line, over: float) -> Line:
    start, end = np.array(line[:2]), np.array(line[2:])
    along = (end - start) / np.hypot(*(end - start)) * over
    return (*(start - along), *(end + along))


def straight(path: Path) -> Path:
    """Return an open path as straight segments: u0, v0, u1, v1, arcs cut into chords."""
    points = polyline(np.vstack([path[:-1], [*path[-1, :2], 0.0]]), steps=8)
    return np.hstack([points[:-1], points[1:]])


class Faces:
    """Polygons of points, open or closed, that are asked of many spots one by one.

    Parameters
    ----------
    polygons : list of (n, 2) ndarray
        Corners in order [mm].
    """

    def __init__(self, polygons: list[Path]) -> None:
        from_, to = (
            np.vstack([np.roll(polygon, -turn, axis=0)[:, :2] for polygon in polygons])
            for turn in (0, 1)
        )
        self._u, self._v, self._after_u, self._after_v = *from_.T, *to.T
        self._owner = np.repeat(np.arange(len(polygons)), [len(one) for one in polygons])

    def hold(self, spot: Spot) -> bool:
        """Return whether a spot lies in one of the polygons [mm]."""
        at_u, at_v = spot
        spans = np.flatnonzero((self._v > at_v) != (self._after_v > at_v))
        u, v = self._u[spans], self._v[spans]
        at = u + (at_v - v) / (self._after_v[spans] - v) * (self._after_u[spans] - u)
        sides = np.bincount(self._owner[spans[at_u < at]])
        return bool((sides % 2 == 1).any())


def covered(
    across: NDArray[np.float64], up: NDArray[np.float64], polygon: Path
) -> NDArray[np.bool_]:
    """Return which spots of a grid lie in a polygon of points, open or closed.

    Parameters
    ----------
    across, up : (columns,) ndarray, (rows,) ndarray
        Where the grid's columns and rows stand [mm].
    polygon : (n, 2) ndarray
        Its corners in order [mm].

    Returns
    -------
    (rows, columns) ndarray
        Those that an odd number of sides lies to the right of [-].
    """
    u, v = polygon[:, 0], polygon[:, 1]
    after_u, after_v = np.roll(u, -1), np.roll(v, -1)
    at_v = up[:, None]
    spans = (v > at_v) != (after_v > at_v)
    with np.errstate(divide="ignore", invalid="ignore"):
        at = u + (at_v - v) / (after_v - v) * (after_u - u)
    inside = np.zeros((len(up), len(across)), dtype=bool)
    for row in np.flatnonzero(spans.any(axis=1)):
        sides = np.sort(at[row, spans[row]])
        right = len(sides) - np.searchsorted(sides, across, side="right")
        inside[row] = right % 2 == 1
    return inside
