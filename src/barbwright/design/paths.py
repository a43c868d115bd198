"""Paths of a view: placed, turned round, joined, and where they turn sharply.

A path is (n, 3): u [mm], v [mm] and the bulge of the segment to the next point.
"""

from __future__ import annotations

from math import atan, atan2, pi, tan

import numpy as np

from barbwright.design.outline import QUARTER
from barbwright.design.view import Path, Spot

RIGHT: Spot = (1.0, 0.0)
LEFT: Spot = (-1.0, 0.0)
UP: Spot = (0.0, 1.0)
DOWN: Spot = (0.0, -1.0)
# A corner that turns by less is a blend's end, and no edge is seen there [radian].
_SHARP = 0.26


def placed(profile: Path, along: Spot, across: Spot) -> Path:
    """Return a half profile with its axis along one direction and its radius along another [mm]."""
    turn = along[0] * across[1] - along[1] * across[0]
    return np.column_stack(
        [
            profile[:, 0] * along[0] + profile[:, 1] * across[0],
            profile[:, 0] * along[1] + profile[:, 1] * across[1],
            profile[:, 2] * turn,
        ]
    )


def backwards(path: Path) -> Path:
    """Return a path from its end to its beginning [mm]."""
    back = path[::-1].copy()
    back[:, 2] = np.append(-path[:-1, 2][::-1], 0.0)
    return back


def joined(*parts: Path | list[tuple[float, float, float]]) -> Path:
    """Return paths one behind the other [mm]."""
    return np.vstack([np.atleast_2d(np.asarray(part, dtype=float)) for part in parts])


def closed(path: Path) -> Path:
    """Return a path that ends where it begins [mm]."""
    return np.vstack([path, [*path[0, :2], 0.0]])


def without_flat(path: Path) -> Path:
    """Return a path without the points at which a straight line merely goes on [mm]."""
    kept = [True] * len(path)
    for index in range(1, len(path) - 1):
        before, here, after = path[index - 1 : index + 2]
        one, other = here[:2] - before[:2], after[:2] - here[:2]
        straight = before[2] == here[2] == 0.0
        kept[index] = not (straight and abs(one[0] * other[1] - one[1] * other[0]) < 1e-9)
    return path[kept]


def circle(radius_mm: float, at: Spot = (0.0, 0.0)) -> Path:
    """Return a circle in four arcs that meet on its axes [mm]."""
    ways = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))
    path = np.array([(at[0] + radius_mm * u, at[1] + radius_mm * v, QUARTER) for u, v in ways])
    return closed(path)


def arc_to(path: Path, target: Path, *, clockwise: bool) -> Path:
    """Give a path's last point the bulge of an arc about the origin to the next one [mm]."""
    path = path.copy()
    start = atan2(path[-1, 1], path[-1, 0])
    end = atan2(target[0, 1], target[0, 0])
    turn = (start - end if clockwise else end - start) % (2.0 * pi)
    path[-1, 2] = tan(turn / 4.0) * (-1.0 if clockwise else 1.0)
    return path


def sharp(path: Path) -> list[Spot]:
    """Return the points where a profile turns by more than 15 degrees [mm]."""
    points = []
    for before, here, after in zip(path[:-2], path[1:-1], path[2:], strict=True):
        enter = atan2(here[1] - before[1], here[0] - before[0]) + 2.0 * atan(before[2])
        leave = atan2(after[1] - here[1], after[0] - here[0]) - 2.0 * atan(here[2])
        turn = (leave - enter + pi) % (2.0 * pi) - pi
        if abs(turn) > _SHARP:
            points.append((float(here[0]), float(here[1])))
    return points
