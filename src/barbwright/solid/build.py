"""A shape's outlines turned into one solid: revolve, join once, cut once, engrave.

Joining everything in one boolean and cutting everything in one boolean is both
faster and sounder than a chain of small ones; each result is checked before
the next step uses it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from barbwright.design.shape import Engraving, Extruded, Point, Revolved, Shape
from barbwright.errors import BuildError, Fault
from barbwright.say import bare
from barbwright.solid.font import flat_text
from barbwright.solid.kernel import each, load_kernel, set_bodies

if TYPE_CHECKING:
    from OCP.BRepAlgoAPI import BRepAlgoAPI_BooleanOperation, BRepAlgoAPI_Cut
    from OCP.TopoDS import TopoDS_Face, TopoDS_Shape, TopoDS_Solid, TopoDS_Wire
    from OCP.TopTools import TopTools_IndexedMapOfShape

VOLUME_SLACK = 1e-6
# Of the floor of a line's letters; the letters themselves stand partly above the surface.
_ENGRAVED = 0.99
SAME_POINT_MM = 1e-7


@dataclass(frozen=True, kw_only=True)
class Built:
    """One part as a solid of the CAD kernel.

    Attributes
    ----------
    shape : Shape
        What was built.
    marked, unmarked : TopoDS_Solid
        With and without the engraved mark; the same object when there is none.
    volume_mm3, unmarked_volume_mm3 : float
        Their volumes [mm3].
    """

    shape: Shape
    marked: TopoDS_Solid
    unmarked: TopoDS_Solid
    volume_mm3: float
    unmarked_volume_mm3: float


def build(shape: Shape) -> Built:
    """Build the solid of a part.

    Parameters
    ----------
    shape : Shape
        The part as plain geometry.

    Returns
    -------
    Built
        The marked and the unmarked solid, each valid, one, and of a volume
        that can be right.

    Raises
    ------
    BuildError
        When a boolean fails, or leaves an invalid body, more than one, or one
        whose volume cannot be right.
    """
    load_kernel()
    name = shape.name
    adds = [body(part) for part in shape.adds]
    add_volumes = [volume(part) for part in adds]
    unmarked = _fuse(name, adds)
    unmarked_volume = volume(unmarked)
    _require_volume(f"{name} joined", unmarked_volume, max(add_volumes), sum(add_volumes))
    if shape.cuts:
        unmarked, unmarked_volume, _ = _cut_away(
            f"{name} cut", unmarked, unmarked_volume, [body(part) for part in shape.cuts]
        )
    _require_volume(name, unmarked_volume, *shape.volume_bounds_mm3)
    if not shape.engravings:
        return Built(
            shape=shape,
            marked=unmarked,
            unmarked=unmarked,
            volume_mm3=unmarked_volume,
            unmarked_volume_mm3=unmarked_volume,
        )
    letters, floors, tops = zip(*map(_letters, shape.engravings), strict=True)
    marked, marked_volume, cutter = _cut_away(
        f"{name} engraved", unmarked, unmarked_volume, letters
    )
    left = _faces(cutter.Shape())
    for engraving, floor, top in zip(shape.engravings, floors, tops, strict=True):
        _require_engraved(name, engraving, _share_left(cutter, left, floor))
        _require_open(name, engraving, _share_left(cutter, left, top))
    return Built(
        shape=shape,
        marked=marked,
        unmarked=unmarked,
        volume_mm3=marked_volume,
        unmarked_volume_mm3=unmarked_volume,
    )


def body(part: Revolved | Extruded) -> TopoDS_Solid:
    """Turn one outline into a solid, where it stands in the part.

    Parameters
    ----------
    part : Revolved or Extruded
        Outline and placement [mm].

    Returns
    -------
    TopoDS_Solid
        The body, with its faces pointing outward.
    """
    return _revolve(part) if isinstance(part, Revolved) else _extrude(part)


def volume(solid: TopoDS_Shape) -> float:
    """Volume of a solid [mm3].

    Parameters
    ----------
    solid : TopoDS_Shape
        Any shape of the kernel.

    Returns
    -------
    float
        Its volume [mm3].
    """
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(solid, properties)
    return float(properties.Mass())


def require_one_solid(name: str, result: TopoDS_Shape) -> TopoDS_Solid:
    """Take the single valid solid out of a kernel's result.

    Parameters
    ----------
    name : str
        What was made, for the message.
    result : TopoDS_Shape
        A solid, or a compound of one.

    Returns
    -------
    TopoDS_Solid
        The solid.

    Raises
    ------
    BuildError
        When there is none, more than one, or an invalid one.
    """
    from OCP.BRepCheck import BRepCheck_Analyzer
    from OCP.TopAbs import TopAbs_SOLID
    from OCP.TopoDS import TopoDS

    solids = [TopoDS.Solid(one) for one in each(result, TopAbs_SOLID)]
    if len(solids) != 1:
        raise BuildError(Fault(f"{name}: not one body", given=f"{len(solids)}", limit="1"))
    if not BRepCheck_Analyzer(solids[0]).IsValid():
        raise BuildError(Fault(f"{name}: the CAD kernel calls the body invalid"))
    return solids[0]


def _require_volume(name: str, found: float, least: float, largest: float) -> None:
    slack = VOLUME_SLACK * max(abs(largest), 1.0)
    if not (least - slack <= found <= largest + slack and found > 0):
        raise BuildError(
            Fault(
                f"{name}: the volume cannot be right",
                given=f"{found:.3f} mm3",
                limit=f"{least:.3f} to {largest:.3f} mm3",
            )
        )


def _in_space(
    points: NDArray[np.float64], origin: Point, first: Point, second: Point
) -> NDArray[np.float64]:
    """Place plane points (n, 2) into space (n, 3)."""
    axes = np.array([first, second], dtype=float)
    return np.asarray(np.asarray(origin, dtype=float) + points @ axes, dtype=float)


def arc_middle(start: NDArray[np.float64], end: NDArray[np.float64], bulge: float) -> Point:
    """Middle of an outline's arc.

    Parameters
    ----------
    start, end : (2,) ndarray
        The arc's ends in the plane [mm].
    bulge : float
        Tangent of a quarter of the arc's angle, positive counter-clockwise [-].

    Returns
    -------
    tuple of float
        The point halfway along the arc [mm], third coordinate 0.
    """
    chord = end - start
    # The sagitta is bulge x half the chord, to the right of a counter-clockwise arc.
    middle = (start + end) / 2 + bulge / 2 * np.array([chord[1], -chord[0]])
    return float(middle[0]), float(middle[1]), 0.0


def _wire(outline: NDArray[np.float64], origin: Point, first: Point, second: Point) -> TopoDS_Wire:
    """Draw a closed outline with true arcs in the plane of two unit vectors."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeWire
    from OCP.GC import GC_MakeArcOfCircle
    from OCP.gp import gp_Pnt

    flat = np.asarray(outline, dtype=float)
    corners = [gp_Pnt(*map(float, p)) for p in _in_space(flat[:, :2], origin, first, second)]
    wire = BRepBuilderAPI_MakeWire()
    for index, (x, y, bulge) in enumerate(flat):
        follower = (index + 1) % len(flat)
        start, end = np.array([x, y]), flat[follower, :2]
        if np.hypot(*(end - start)) < SAME_POINT_MM:
            continue
        if bulge:
            middle = np.array([arc_middle(start, end, bulge)[:2]])
            through = gp_Pnt(*map(float, _in_space(middle, origin, first, second)[0]))
            arc = GC_MakeArcOfCircle(corners[index], through, corners[follower])
            edge = BRepBuilderAPI_MakeEdge(arc.Value())
        else:
            edge = BRepBuilderAPI_MakeEdge(corners[index], corners[follower])
        wire.Add(edge.Edge())
    return wire.Wire()


def _face(name: str, wire: TopoDS_Wire) -> TopoDS_Face:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace

    face = BRepBuilderAPI_MakeFace(wire, True)
    if not face.IsDone():
        raise BuildError(Fault(f"{name}: the outline does not close into a flat face"))
    return face.Face()


def _outward(name: str, result: TopoDS_Shape) -> TopoDS_Solid:
    """Take the solid and turn it so that its volume is positive."""
    from OCP.BRepLib import BRepLib

    solid = require_one_solid(name, result)
    if volume(solid) < 0:
        BRepLib.OrientClosedSolid_s(solid)
    return solid


def _revolve(part: Revolved) -> TopoDS_Solid:
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeRevol
    from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt

    axis = np.asarray(part.axis, dtype=float)
    towards = np.asarray(part.towards, dtype=float)
    full = part.sweep_deg >= 360.0
    # The sweep is centred on `towards`, so the outline is drawn half the sweep before it.
    back = 0.0 if full else -math.radians(part.sweep_deg) / 2
    first = towards * math.cos(back) + np.cross(axis, towards) * math.sin(back)
    start = (float(first[0]), float(first[1]), float(first[2]))
    face = _face(part.name, _wire(part.outline, part.origin, part.axis, start))
    line = gp_Ax1(gp_Pnt(*part.origin), gp_Dir(*part.axis))
    angle = 2 * math.pi if full else math.radians(part.sweep_deg)
    maker = BRepPrimAPI_MakeRevol(face, line) if full else BRepPrimAPI_MakeRevol(face, line, angle)
    return _outward(part.name, maker.Shape())


def _extrude(part: Extruded) -> TopoDS_Solid:
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Vec

    second = np.cross(part.normal, part.x_direction)
    y_direction = (float(second[0]), float(second[1]), float(second[2]))
    face = _face(part.name, _wire(part.outline, part.origin, part.x_direction, y_direction))
    along = gp_Vec(*(np.asarray(part.normal, dtype=float) * part.depth_mm).tolist())
    return _outward(part.name, BRepPrimAPI_MakePrism(face, along).Shape())


def _letters(engraving: Engraving) -> tuple[TopoDS_Shape, TopoDS_Shape, TopoDS_Shape]:
    """Stand the letters of a mark on their floor; return them, their floor and their tops."""
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Ax3, gp_Dir, gp_Pnt, gp_Trsf, gp_Vec
    from OCP.TopLoc import TopLoc_Location

    flat = flat_text(engraving.text, engraving.letters)
    prism = BRepPrimAPI_MakePrism(flat, gp_Vec(0.0, 0.0, engraving.depth_mm))
    tall, top = prism.Shape(), prism.LastShape()
    place = gp_Trsf()
    floor = gp_Ax3(
        gp_Pnt(*engraving.origin), gp_Dir(*engraving.normal), gp_Dir(*engraving.x_direction)
    )
    place.SetTransformation(floor, gp_Ax3())
    # One location for all: the kernel knows a face again by it.
    where = TopLoc_Location(place)
    letters = tall.Moved(where)
    if volume(letters) < 0:
        letters = letters.Reversed()
    return letters, flat.Moved(where), top.Moved(where)


def _share_left(
    cutter: BRepAlgoAPI_Cut, left: TopTools_IndexedMapOfShape, floor: TopoDS_Shape
) -> float:
    """Return how much of a line's floor, or of its letters' tops, is among the faces left.

    Where letters reach and stand out it is all of the floor and nothing of the tops. Of each line
    by itself, for of all lines together one that floats would be hidden by the rest.
    """
    drawn = there = 0.0
    for face in _faces(floor):
        drawn += _area(face)
        # A letter that meets nothing is not told as deleted: what is left is looked for there.
        pieces = list(cutter.Modified(face)) or [face]
        there += sum(_area(piece) for piece in pieces if left.Contains(piece))
    return there / drawn


def _faces(of: TopoDS_Shape) -> TopTools_IndexedMapOfShape:
    from OCP.TopAbs import TopAbs_FACE
    from OCP.TopExp import TopExp
    from OCP.TopTools import TopTools_IndexedMapOfShape

    faces = TopTools_IndexedMapOfShape()
    TopExp.MapShapes_s(of, TopAbs_FACE, faces)
    return faces


def _require_engraved(name: str, engraving: Engraving, share: float) -> None:
    """Raise where part of a line's letters lies outside the part."""
    if share < _ENGRAVED:
        raise BuildError(
            Fault(
                f"{name}: the mark's line {engraving.text} does not reach the part's surface",
                given=f"{bare(100.0 * share, 'down', 0)}% of its floor lies in the part",
                limit=f"{_ENGRAVED:.0%}",
                do="leave out the sizes that --set forces, or report it with the command",
            )
        )


def _require_open(name: str, engraving: Engraving, share: float) -> None:
    """Raise where letters end under the part's surface: a void inside that nobody can read."""
    if share > 1.0 - _ENGRAVED:
        raise BuildError(
            Fault(
                f"{name}: the mark's line {engraving.text} lies buried under the part's surface",
                given=f"{bare(100.0 * share, 'up', 0)}% of its letters' tops lie in the part",
                limit=f"{1.0 - _ENGRAVED:.0%}",
                do="leave out the sizes that --set forces, or report it with the command",
            )
        )


def _area(face: TopoDS_Shape) -> float:
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    found = GProp_GProps()
    BRepGProp.SurfaceProperties_s(face, found)
    return abs(float(found.Mass()))


def _fuse(name: str, bodies: Sequence[TopoDS_Shape]) -> TopoDS_Solid:
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Fuse

    if len(bodies) == 1:
        return require_one_solid(name, bodies[0])
    return _boolean(f"{name} joined", BRepAlgoAPI_Fuse(), bodies[:1], bodies[1:])


def _cut_away(
    name: str, base: TopoDS_Shape, base_volume: float, tools: Sequence[TopoDS_Shape]
) -> tuple[TopoDS_Solid, float, BRepAlgoAPI_Cut]:
    """Cut all tools at once; return what is left, its volume [mm3], and what knows whence."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut

    cutter = BRepAlgoAPI_Cut()
    left = _boolean(name, cutter, [base], tools)
    left_volume = volume(left)
    least = base_volume - sum(volume(tool) for tool in tools)
    _require_volume(name, left_volume, least, base_volume)
    return left, left_volume, cutter


def _boolean(
    name: str,
    operation: BRepAlgoAPI_BooleanOperation,
    bases: Sequence[TopoDS_Shape],
    tools: Sequence[TopoDS_Shape],
) -> TopoDS_Solid:
    """Run one boolean over all its bodies and take the single solid it must leave."""
    set_bodies(operation, bases, tools)
    operation.SetRunParallel(True)
    operation.Build()
    if not operation.IsDone():
        raise BuildError(Fault(f"{name}: the CAD kernel's boolean failed"))
    return require_one_solid(name, operation.Shape())
