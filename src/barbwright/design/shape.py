"""A part as plain geometry in numbers: what `solid` builds and `reread` measures.

Nothing here knows a kind of part or the CAD kernel. A shape is a set of bodies
of revolution that are joined, a set that is cut away, and the places where the
written file will be measured.

Coordinates: millimetres; the tip's axis is Z and the tip points to -Z, the
strike pad to +Z, the arms of a tee to +X and -X, an elbow's arm to +X. The
centre of the hub is the origin.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from barbwright.design.letters import Letters

Point = tuple[float, float, float]

ORIGIN: Point = (0.0, 0.0, 0.0)
X_AXIS: Point = (1.0, 0.0, 0.0)
Y_AXIS: Point = (0.0, 1.0, 0.0)
Z_AXIS: Point = (0.0, 0.0, 1.0)
MINUS_X: Point = (-1.0, 0.0, 0.0)
MINUS_Y: Point = (0.0, -1.0, 0.0)
MINUS_Z: Point = (0.0, 0.0, -1.0)


@dataclass(frozen=True, kw_only=True, eq=False)
class Revolved:
    """A body of revolution about a line.

    Attributes
    ----------
    name : str
        What the body is (``hub``, ``left arm``, ``run bore``).
    outline : (n, 3) ndarray
        Half profile: position along the axis [mm], radius [mm], bulge [-].
        The bulge is that of the segment from this vertex to the next, as in
        DXF: tangent of a quarter of the arc's angle, positive when the arc
        turns counter-clockwise in the (position, radius) plane. The profile
        is closed from the last vertex to the first by a straight line (which
        lies on the axis for a full body).
    origin : Point
        A point on the axis, where the position is zero [mm].
    axis : Point
        Unit vector of growing position.
    towards : Point
        Unit vector across the axis where the sweep is centred.
    sweep_deg : float
        Angle of revolution, centred on ``towards`` [degree].
    """

    name: str
    outline: NDArray[np.float64] = field(compare=False)
    origin: Point = ORIGIN
    axis: Point = Z_AXIS
    towards: Point = X_AXIS
    sweep_deg: float = 360.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Extruded:
    """A straight prism, for slots and forks.

    Attributes
    ----------
    outline : (n, 3) ndarray
        Closed profile in the plane: x [mm], y [mm], bulge [-] as in `Revolved`.
    origin, normal, x_direction : Point
        The plane: its origin [mm], its unit normal and its unit x direction.
    depth_mm : float
        Length along the normal [mm].
    """

    name: str
    outline: NDArray[np.float64] = field(compare=False)
    depth_mm: float
    origin: Point = ORIGIN
    normal: Point = Z_AXIS
    x_direction: Point = X_AXIS


@dataclass(frozen=True, kw_only=True, eq=False)
class Engraving:
    """One line of text cut into the part.

    Attributes
    ----------
    text : str
        Characters of the mark, centred on the origin both ways.
    letters : Letters
        Their size.
    origin, normal, x_direction : Point
        Plane of the engraving's floor; the cut runs from it along the normal.
    depth_mm : float
        How far the cut reaches from its floor along the normal, beyond the
        surface [mm].
    """

    text: str
    letters: Letters
    origin: Point
    normal: Point
    x_direction: Point
    depth_mm: float


@dataclass(frozen=True, kw_only=True)
class Probe:
    """Where a written mesh is measured across an axis, and what was drawn.

    Attributes
    ----------
    name : str
        Dimension's key, with its unit (``run_bore_diameter_mm``).
    origin, axis : Point
        A point on the axis and the axis' unit vector.
    at_mm : float
        Position along the axis [mm].
    diameter_mm : float
        Drawn diameter [mm].
    side : {"inner", "outer"}
        The first surface met from the axis outward, or the last surface that
        belongs to this arm (met from outside within ``reach_mm``).
    reach_mm : float
        Radius from which an outer probe looks inward [mm]; nothing else of the
        part may lie between it and the surface.
    towards : Point
        Unit vector across the axis where the fan of rays is centred.
    fan_deg : float
        Angle of the fan, centred on ``towards`` [degree]; less than 360 where
        another feature stands in the way.
    """

    name: str
    origin: Point
    axis: Point
    at_mm: float
    diameter_mm: float
    side: Literal["inner", "outer"]
    reach_mm: float = 50.0
    towards: Point = X_AXIS
    fan_deg: float = 360.0


@dataclass(frozen=True, kw_only=True)
class WallProbe:
    """Where a wall is measured along a ray from an axis, and what was drawn.

    Attributes
    ----------
    wall_mm : float
        Drawn wall, square to its outer surface [mm].
    slope : float
        Slope of the outer surface against the axis [-]; the wall along the ray
        times the cosine of this slope is the wall.
    """

    name: str
    origin: Point
    axis: Point
    at_mm: float
    wall_mm: float
    slope: float = 0.0
    towards: Point = X_AXIS
    fan_deg: float = 360.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Shape:
    """All that is needed to build one part and to verify its files.

    Attributes
    ----------
    name : str
        ASCII name of the product inside STEP and 3MF.
    adds : tuple of Revolved or Extruded
        Joined in one boolean.
    cuts : tuple of Revolved or Extruded
        Cut in one boolean, ticks included.
    engravings : tuple of Engraving
        Cut last; the unmarked solid is kept beside the marked one.
    probes : tuple of Probe
        Diameters to be measured on the written mesh.
    walls : tuple of WallProbe
        Walls to be measured on the written mesh.
    openings : int
        Openings of the bores to the outside; the surface's Euler number is
        4 - 2 x openings.
    volume_bounds_mm3 : (float, float)
        Least and largest volume that can be right before the mark is cut [mm3].
    """

    name: str
    adds: tuple[Revolved | Extruded, ...]
    cuts: tuple[Revolved | Extruded, ...]
    engravings: tuple[Engraving, ...]
    probes: tuple[Probe, ...]
    walls: tuple[WallProbe, ...]
    openings: int
    volume_bounds_mm3: tuple[float, float]

    @property
    def euler_number(self) -> int:
        """Vertices - edges + faces of a sound closed mesh of this part [-]."""
        return 4 - 2 * self.openings

    @property
    def marked_bounds_mm3(self) -> tuple[float, float]:
        """Least and largest volume that can be right with the mark cut in [mm3]."""
        low, high = self.volume_bounds_mm3
        cut = sum(
            one.letters.width(one.text) * one.letters.cap_mm * one.depth_mm
            for one in self.engravings
        )
        return max(low - cut, 0.0), high
