"""How a part lies in its STL and 3MF files: as it is to be built, on the plate.

A signed permutation of the axes moves no digit of a coordinate; only the lift onto the plate does.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from barbwright.design.outline import polyline
from barbwright.design.shape import (
    MINUS_Z,
    X_AXIS,
    Y_AXIS,
    Z_AXIS,
    Extruded,
    Point,
    Revolved,
    Shape,
)


@dataclass(frozen=True, kw_only=True)
class Laying:
    """One way a part lies on the plate.

    Attributes
    ----------
    id : str
        As `checks.layers` names the way up; ``as_drawn`` where nothing depends on it.
    words : str
        How the file lies.
    x, y, z : Point
        Directions of the design's frame that are X, Y and Z of the file; Z is built upward.
    """

    id: str
    words: str
    x: Point
    y: Point
    z: Point

    @property
    def turn(self) -> NDArray[np.float64]:
        """The turn from the design's frame into the file's, a signed permutation."""
        return np.array([self.x, self.y, self.z])


LAYINGS = {
    one.id: one
    for one in (
        Laying(id="as_drawn", words="stands as drawn", x=X_AXIS, y=Y_AXIS, z=Z_AXIS),
        Laying(
            id="flat",
            words="lies flat, every axis in the layers",
            x=Z_AXIS,
            y=X_AXIS,
            z=Y_AXIS,
        ),
        Laying(id="tip_upright", words="stands on the tip's axis", x=X_AXIS, y=Y_AXIS, z=Z_AXIS),
        Laying(id="arm_upright", words="stands on an arm", x=MINUS_Z, y=Y_AXIS, z=X_AXIS),
    )
}
AS_DRAWN = LAYINGS["as_drawn"]


def placed(shape: Shape, laying: Laying, lift_mm: float) -> Shape:
    """Return a shape whose places of measurement lie as its file does.

    Parameters
    ----------
    shape : Shape
        In the design's frame [mm].
    laying : Laying
        How the file lies [-].
    lift_mm : float
        How far along the file's Z it was moved onto the plate [mm].

    Returns
    -------
    Shape
        Bodies as they were; only probes and walls are turned and lifted.
    """
    turn = laying.turn

    def way(one: Point) -> Point:
        x, y, z = (turn @ np.array(one)).tolist()
        return x, y, z

    def place(one: Point) -> Point:
        x, y, z = way(one)
        return x, y, z + lift_mm

    return replace(
        shape,
        probes=tuple(
            replace(probe, origin=place(probe.origin), axis=way(probe.axis),
                    towards=way(probe.towards))
            for probe in shape.probes
        ),
        walls=tuple(
            replace(wall, origin=place(wall.origin), axis=way(wall.axis),
                    towards=way(wall.towards))
            for wall in shape.walls
        ),
    )  # fmt: skip


def lift_mm(shape: Shape, laying: Laying) -> float:
    """Return how far a shape is lifted so that it touches the plate.

    Parameters
    ----------
    shape : Shape
        In the design's frame [mm].
    laying : Laying
        How the file lies [-].

    Returns
    -------
    float
        Along the file's Z [mm]; a mesh, whose facets lie inside round faces, is lifted
        less by up to its chord error.
    """
    up = np.array(laying.z)
    return -min(_lowest(body, up) for body in shape.adds)


def _lowest(body: Revolved | Extruded, up: NDArray[np.float64]) -> float:
    """Return the lowest point of a body along a direction [mm]."""
    origin = float(up @ np.array(body.origin))
    if isinstance(body, Extruded):
        second = np.cross(body.normal, body.x_direction)
        plane = body.outline[:, :2] @ np.array([up @ np.array(body.x_direction), up @ second])
        along = float(up @ np.array(body.normal)) * body.depth_mm
        return origin + float(plane.min()) + min(along, 0.0)
    points = polyline(body.outline)
    lean = float(up @ np.array(body.axis))
    across = float(np.sqrt(max(1.0 - lean * lean, 0.0)))
    return origin + float((points[:, 0] * lean - points[:, 1] * across).min())
