"""What stands on a sheet, in plain data: strokes, words and dimensions, all placed."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from barbwright.design.view import Path, Spot

Box = tuple[float, float, float, float]

OUTLINE, THIN, AXIS, DIMS, HATCH, TEXT = "outline", "edges", "axis", "dims", "hatch", "text"
CURVES, MARK, BREAKS, FRAME = "curves", "mark", "breaks", "frame"


@dataclass(frozen=True, eq=False, kw_only=True)
class Stroke:
    """A line or a run of lines and arcs.

    Attributes
    ----------
    layer : str
        On which it is drawn.
    path : Path
        Its points [mm].
    closed, dashed : bool
        Whether it returns to its beginning, and whether it is hidden.
    single : bool
        Whether it is one straight line of its own.
    """

    layer: str
    path: Path
    closed: bool = False
    dashed: bool = False
    single: bool = False

    def moved(self, by: Spot, times: float = 1.0) -> Stroke:
        """Return it elsewhere, enlarged about the origin."""
        return replace(self, path=_path(self.path, by, times))


@dataclass(frozen=True, eq=False, kw_only=True)
class Hatch:
    """A cut face.

    Attributes
    ----------
    path : Path
        Its outline [mm].
    """

    path: Path

    def moved(self, by: Spot, times: float = 1.0) -> Hatch:
        """Return it elsewhere, enlarged about the origin."""
        return replace(self, path=_path(self.path, by, times))


@dataclass(frozen=True, kw_only=True)
class Words:
    """A line of text.

    Attributes
    ----------
    text : str
        What it says.
    at : (float, float)
        Its left lower corner [mm].
    height_mm : float
        Height of its capitals [mm].
    """

    text: str
    at: Spot
    height_mm: float

    def moved(self, by: Spot, times: float = 1.0) -> Words:
        """Return it elsewhere, enlarged about the origin."""
        return replace(self, at=_moved(self.at, by, times), height_mm=self.height_mm * times)


@dataclass(frozen=True, kw_only=True)
class Linear:
    """A dimension between two points.

    Attributes
    ----------
    name : str
        By which a test reads it back.
    ends : tuple of (float, float)
        The two points it measures between [mm].
    base, centre : (float, float)
        A point of the dimension line, and the middle of the text [mm].
    angle_deg : float
        Direction in which it measures [degree].
    upright : bool
        Whether the text runs up.
    text : str
        What it says, sign and tolerance with it.
    off_mm : (float, float)
        How much less and how much more it may be [mm].
    extended : bool
        Whether extension lines are drawn.
    enlarged : float
        How many times larger it stands than it is [-].
    """

    name: str
    ends: tuple[Spot, Spot]
    base: Spot
    centre: Spot
    angle_deg: float = 0.0
    upright: bool = False
    text: str
    off_mm: tuple[float, float]
    extended: bool = True
    enlarged: float = 1.0

    def moved(self, by: Spot, times: float = 1.0) -> Linear:
        """Return it elsewhere, enlarged about the origin."""
        first, second = self.ends
        return replace(
            self,
            ends=(_moved(first, by, times), _moved(second, by, times)),
            base=_moved(self.base, by, times),
            centre=_moved(self.centre, by, times),
            enlarged=self.enlarged * times,
        )


@dataclass(frozen=True, kw_only=True)
class Angular:
    """An angle between two rays.

    Attributes
    ----------
    name : str
        By which a test reads it back.
    corner, first, second : (float, float)
        The corner, and a point on each ray, counter-clockwise [mm].
    base, centre : (float, float)
        A point of the arc, and the middle of the text [mm].
    text : str
        What it says.
    """

    name: str
    corner: Spot
    first: Spot
    second: Spot
    base: Spot
    centre: Spot
    text: str

    def moved(self, by: Spot, times: float = 1.0) -> Angular:
        """Return it elsewhere, enlarged about the origin."""
        return replace(
            self,
            corner=_moved(self.corner, by, times),
            first=_moved(self.first, by, times),
            second=_moved(self.second, by, times),
            base=_moved(self.base, by, times),
            centre=_moved(self.centre, by, times),
        )


@dataclass(frozen=True, eq=False, kw_only=True)
class Disc:
    """A circle.

    Attributes
    ----------
    at : (float, float)
        Its middle [mm].
    radius_mm : float
        Its radius [mm].
    layer : str
        On which it is drawn.
    """

    at: Spot
    radius_mm: float
    layer: str = DIMS

    def moved(self, by: Spot, times: float = 1.0) -> Disc:
        """Return it elsewhere, enlarged about the origin."""
        return replace(self, at=_moved(self.at, by, times), radius_mm=self.radius_mm * times)


@dataclass(frozen=True, eq=False, kw_only=True)
class Arrow:
    """A filled arrowhead.

    Attributes
    ----------
    point, tail : (float, float)
        Where it points, and the middle of its back [mm].
    """

    point: Spot
    tail: Spot

    def moved(self, by: Spot, times: float = 1.0) -> Arrow:
        """Return it elsewhere, enlarged about the origin."""
        return replace(self, point=_moved(self.point, by, times), tail=_moved(self.tail, by, times))


Item = Stroke | Hatch | Words | Linear | Angular | Disc | Arrow


def _moved(spot: Spot, by: Spot, times: float) -> Spot:
    return (spot[0] * times + by[0], spot[1] * times + by[1])


def _path(path: Path, by: Spot, times: float) -> Path:
    moved: Path = path * np.array([times, times, 1.0]) + np.array([*by, 0.0])
    return moved


def overlapping(boxes: list[Box], gap: float = 0.0) -> list[tuple[Box, Box]]:
    """Return the pairs of text boxes that lie on each other.

    Parameters
    ----------
    boxes : list of (left, bottom, right, top)
        Any unit.
    gap : float
        Least distance [same unit].

    Returns
    -------
    list of pairs
        Empty when all texts stand clear.
    """
    pairs = []
    for index, one in enumerate(boxes):
        for other in boxes[index + 1 :]:
            apart = (
                one[2] + gap <= other[0]
                or other[2] + gap <= one[0]
                or one[3] + gap <= other[1]
                or other[3] + gap <= one[1]
            )
            if not apart:
                pairs.append((one, other))
    return pairs


def crossing(box: Box, segments: Path) -> Path:
    """Return the segments that run through a box.

    Parameters
    ----------
    box : (left, bottom, right, top)
        Any unit.
    segments : (n, 4) ndarray
        Each from u0, v0 to u1, v1 [same unit].

    Returns
    -------
    (m, 4) ndarray
        Those with a point inside the box.
    """
    if not len(segments):
        return segments
    inside_box: Path = segments[run_through(np.array(box), segments)]
    return inside_box


class Lines:
    """Segments that are asked of many boxes one by one.

    Parameters
    ----------
    segments : (n, 4) ndarray
        Each from u0, v0 to u1, v1 [any unit].
    """

    def __init__(self, segments: Path) -> None:
        self._segments = segments
        self._low = np.minimum(segments[:, :2], segments[:, 2:]).T
        self._high = np.maximum(segments[:, :2], segments[:, 2:]).T

    def cross(self, box: Box) -> bool:
        """Return whether one has a point inside a box [same unit]."""
        left, bottom, right, top = box
        # Few segments reach a box at all: the rest need no closer look.
        (low_u, low_v), (high_u, high_v) = self._low, self._high
        near = (low_u <= right) & (high_u >= left) & (low_v <= top) & (high_v >= bottom)
        return bool(near.any()) and bool(len(crossing(box, self._segments[near])))


def run_through(boxes: NDArray[np.float64], segments: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return where segments have a point inside boxes.

    Parameters
    ----------
    boxes : (..., 4) ndarray
        Left, bottom, right, top [any unit].
    segments : (..., 4) ndarray
        Each from u0, v0 to u1, v1 [same unit].

    Returns
    -------
    (...) ndarray
        Of the shape that both broadcast to [-].
    """
    start, run = segments[..., :2], segments[..., 2:] - segments[..., :2]
    low, high = boxes[..., :2], boxes[..., 2:]
    with np.errstate(divide="ignore", invalid="ignore"):
        first, second = (low - start) / run, (high - start) / run
    # A segment that runs along one direction is inside or outside of it all the way.
    flat, inside = np.abs(run) < 1e-12, (start > low) & (start < high)
    enter = np.where(flat, np.where(inside, -np.inf, np.inf), np.minimum(first, second))
    leave = np.where(flat, np.where(inside, np.inf, -np.inf), np.maximum(first, second))
    begin = np.maximum(enter.max(axis=-1), 0.0)
    through: NDArray[np.bool_] = begin < np.minimum(leave.min(axis=-1), 1.0)
    return through
