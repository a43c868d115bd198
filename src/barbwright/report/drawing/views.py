"""A view's lines on the sheet, and as straight strokes that no text may be crossed by."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from barbwright.design.outline import polyline
from barbwright.design.view import Line, Path, View
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


def straight(path: Path, *, close: bool = False) -> Path:
    """Return a path as straight segments: u0, v0, u1, v1, arcs cut into chords."""
    points = polyline(path if close else np.vstack([path[:-1], [*path[-1, :2], 0.0]]), steps=8)
    if close:
        points = np.vstack([points, points[:1]])
    return np.hstack([points[:-1], points[1:]])


def within(spot: tuple[float, float], polygon: Path) -> bool:
    """Return whether a spot lies in a polygon of points, open or closed [mm]."""
    return bool(covered(np.array([spot]), polygon)[0])


def covered(spots: NDArray[np.float64], polygon: Path) -> NDArray[np.bool_]:
    """Return which of many spots lie in a polygon of points [mm]."""
    u, v = polygon[:, 0], polygon[:, 1]
    after_u, after_v = np.roll(u, -1), np.roll(v, -1)
    at_u, at_v = spots[:, :1], spots[:, 1:2]
    spans = (v > at_v) != (after_v > at_v)
    with np.errstate(divide="ignore", invalid="ignore"):
        at = u + (at_v - v) / (after_v - v) * (after_u - u)
    odd: NDArray[np.bool_] = np.count_nonzero(spans & (at_u < at), axis=1) % 2 == 1
    return odd
