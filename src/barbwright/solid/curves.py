"""Curves on surfaces redrawn until they lie where their edges do.

The kernel keeps a tolerance with each edge, and a STEP file holds none. What lies 2e-7 mm off
inside the kernel is an error in whoever reads the file with 1e-7 mm: free curves on spheres and
cones, left by booleans, are therefore drawn anew through points of the edge itself.
"""

from __future__ import annotations

from math import inf, pi
from typing import TYPE_CHECKING, Any

from barbwright.errors import BuildError, Fault
from barbwright.solid.kernel import each

if TYPE_CHECKING:
    from OCP.TopoDS import TopoDS_Solid

# A reader's own tolerance, and what a curve is redrawn to.
READERS_MM = 1e-7
REDRAWN_MM = 8e-8
FIRST_POINTS, MOST_POINTS = 6, 256
# A full turn as the surface counts it: round ones repeat in their first coordinate.
_TURN = 2.0 * pi
_BESIDE_AN_EDGE = 2
# From one surface to the other and back: they cross steeply, so each turn gains several digits.
_TURNS = 12


def adapt_curves(solid: TopoDS_Solid) -> int:
    """Redraw every free curve on a round face of a solid.

    Parameters
    ----------
    solid : TopoDS_Solid
        The solid; its edges are changed in place.

    Returns
    -------
    int
        Curves left as they were, because their edge itself lies off the face by more than a
        reader's tolerance and could not be redrawn through points of both its faces [-].
    """
    from OCP.BRep import BRep_Tool
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_Plane
    from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE
    from OCP.TopExp import TopExp
    from OCP.TopoDS import TopoDS
    from OCP.TopTools import TopTools_IndexedDataMapOfShapeListOfShape

    left = 0
    meet = TopTools_IndexedDataMapOfShapeListOfShape()
    TopExp.MapShapesAndAncestors_s(solid, TopAbs_EDGE, TopAbs_FACE, meet)
    for face in map(TopoDS.Face, each(solid, TopAbs_FACE)):
        if BRepAdaptor_Surface(face).GetType() == GeomAbs_Plane:
            continue
        for edge in map(TopoDS.Edge, each(face, TopAbs_EDGE)):
            if BRep_Tool.Degenerated_s(edge) or BRep_Tool.IsClosed_s(edge, face):
                continue
            if _redrawn(edge, face):
                continue
            beside = [TopoDS.Face(one) for one in meet.FindFromKey(edge)]
            drawn = _edge_anew(edge, beside) and all(_redrawn(edge, one) for one in beside)
            left += not drawn
    return left


def _redrawn(edge: Any, face: Any) -> bool:
    """Redraw one curve on its surface; return whether it lies well, as a line or circle does."""
    from OCP.BRep import BRep_Builder, BRep_Tool
    from OCP.Geom2dAdaptor import Geom2dAdaptor_Curve
    from OCP.GeomAbs import GeomAbs_Circle, GeomAbs_Line
    from OCP.ShapeAnalysis import ShapeAnalysis_Surface

    start, end = BRep_Tool.Range_s(edge)
    flat = BRep_Tool.CurveOnSurface_s(edge, face, start, end)
    if Geom2dAdaptor_Curve(flat).GetType() in (GeomAbs_Line, GeomAbs_Circle):
        return True
    surface = BRep_Tool.Surface_s(face)
    nearest = ShapeAnalysis_Surface(surface)
    space = BRep_Tool.Curve_s(edge, start, end)
    points = FIRST_POINTS
    while True:
        curve = _through(points, (start, end), flat, space, nearest)
        worst = 0.0
        for step in range(3 * points + 1):
            t = start + (end - start) * step / (3 * points)
            at = curve.Value(t)
            worst = max(worst, surface.Value(at.X(), at.Y()).Distance(space.Value(t)))
        if worst < REDRAWN_MM or points >= MOST_POINTS:
            break
        points = points * 3 // 2
    if worst >= READERS_MM:
        return False
    BRep_Builder().UpdateEdge(edge, curve, face, READERS_MM)
    return True


def _through(points: int, span: tuple[float, float], flat: Any, space: Any, nearest: Any) -> Any:
    """Return a curve of the surface through as many points of an edge."""
    from OCP.Geom2dAPI import Geom2dAPI_Interpolate
    from OCP.gp import gp_Pnt2d
    from OCP.TColgp import TColgp_HArray1OfPnt2d
    from OCP.TColStd import TColStd_HArray1OfReal

    start, end = span
    twice = nearest.Surface().IsVPeriodic()
    spots, at = TColgp_HArray1OfPnt2d(1, points), TColStd_HArray1OfReal(1, points)
    for index in range(points):
        t = start + (end - start) * index / (points - 1)
        was = flat.Value(t)
        found = nearest.ValueOfUV(space.Value(t), 1e-9)
        # The same turn as before, round and, on a torus, through: a seam must not be crossed.
        around = _TURN * round((was.X() - found.X()) / _TURN)
        through = _TURN * round((was.Y() - found.Y()) / _TURN) if twice else 0.0
        spots.SetValue(index + 1, gp_Pnt2d(found.X() + around, found.Y() + through))
        at.SetValue(index + 1, t)
    fit = Geom2dAPI_Interpolate(spots, at, False, 1e-12)
    fit.Perform()
    if not fit.IsDone():
        raise BuildError(Fault("a curve cannot be drawn through its own points"))
    return fit.Curve()


def _edge_anew(edge: Any, faces: list[Any]) -> bool:
    """Redraw the edge of two faces through points that lie on both; return whether it could be."""
    from OCP.BRep import BRep_Builder, BRep_Tool
    from OCP.TopLoc import TopLoc_Location

    if len(faces) != _BESIDE_AN_EDGE:
        return False
    start, end = BRep_Tool.Range_s(edge)
    space = BRep_Tool.Curve_s(edge, start, end)
    surfaces = [BRep_Tool.Surface_s(face) for face in faces]
    points = FIRST_POINTS
    while True:
        at = [start + (end - start) * step / (points - 1) for step in range(points)]
        curve = _through_space([_onto(surfaces, space.Value(t)) for t in at], at)
        between = [start + (end - start) * step / (3 * points) for step in range(3 * points + 1)]
        worst = max(_off(surface, curve.Value(t)) for surface in surfaces for t in between)
        if worst < REDRAWN_MM / 2.0 or points >= MOST_POINTS:
            break
        points = points * 3 // 2
    if worst >= REDRAWN_MM:
        return False
    BRep_Builder().UpdateEdge(edge, curve, TopLoc_Location(), READERS_MM)
    return True


def _onto(surfaces: list[Any], point: Any) -> Any:
    """Return the point of two surfaces that is reached from one near both."""
    from OCP.GeomAPI import GeomAPI_ProjectPointOnSurf

    for _ in range(_TURNS):
        for surface in surfaces:
            found = GeomAPI_ProjectPointOnSurf(point, surface)
            if found.NbPoints():
                point = found.NearestPoint()
    return point


def _off(surface: Any, point: Any) -> float:
    """Return how far a point lies off a surface [mm]."""
    from OCP.GeomAPI import GeomAPI_ProjectPointOnSurf

    found = GeomAPI_ProjectPointOnSurf(point, surface)
    return float(found.LowerDistance()) if found.NbPoints() else inf


def _through_space(spots: list[Any], at: list[float]) -> Any:
    """Return a curve through points at their parameters."""
    from OCP.GeomAPI import GeomAPI_Interpolate
    from OCP.TColgp import TColgp_HArray1OfPnt
    from OCP.TColStd import TColStd_HArray1OfReal

    points, parameters = TColgp_HArray1OfPnt(1, len(at)), TColStd_HArray1OfReal(1, len(at))
    for index, (spot, t) in enumerate(zip(spots, at, strict=True), 1):
        points.SetValue(index, spot)
        parameters.SetValue(index, t)
    fit = GeomAPI_Interpolate(points, parameters, False, 1e-12)
    fit.Perform()
    if not fit.IsDone():
        raise BuildError(Fault("an edge cannot be drawn through its own points"))
    return fit.Curve()
