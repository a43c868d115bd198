"""From the drawn part's STEP file to a curved mesh whose faces have names.

Faces are named by geometry: where the vertices of the surface mesh lie against
the outlines the part was built from. Asking an edge of a cut shape for its
parameters kills the process, so the CAD shape itself is never asked.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import pairwise
from math import atan, hypot, pi, sqrt, tan
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from barbwright.design.barb import Barb
from barbwright.design.hub import Hub
from barbwright.design.outline import polyline
from barbwright.design.part import Design
from barbwright.design.shape import Revolved, Shape
from barbwright.errors import BuildError, Fault

Array = NDArray[np.float64]
AXES = "xyz"
# Vertices of the surface mesh stand on the CAD surface to about its own tolerance.
ON_SURFACE_MM = 2e-4
VOLUME_SHARE = 1e-3
AREA_SHARE = 2e-3
SYMMETRY_SHARE = 1e-4
LEAST_JACOBIAN = 0.003
_MAKE_AGAIN = "make the part again; prove reads part_unmarked.step of the same design"
# No part reaches so far from the origin, which is on it.
_BEYOND_MM = 500.0
# Elements along an arc: too few fold beside a fillet, netgen's own default of 2 spends four
# fifths of the mesh on barb roots. A few folded elements are made straight; with a larger share
# of them the mesh is made again with the next figure: a hair's difference moves every vertex.
FEW_FOLDED = 2e-3
CURVATURE_SAFETY = (1.2, 1.3, 1.25, 1.4, 1.5, 1.45, 1.6, 1.75, 2.0, 2.5, 3.0)


@dataclass(frozen=True)
class MeshSize:
    """A local mesh size round a point.

    Attributes
    ----------
    position_mm : tuple of float
        Where [mm].
    size_mm : float
        Largest edge of an element there [mm].
    """

    position_mm: tuple[float, float, float]
    size_mm: float


@dataclass(frozen=True, kw_only=True)
class PartMesh:
    """A meshed part, or the piece of it between its planes of symmetry.

    Attributes
    ----------
    mesh : ngsolve.Mesh
        Curved mesh with named boundaries.
    planes : tuple of int
        Axes whose plane through the origin bounds the piece; the piece is on
        the positive side [-].
    names : tuple of str
        Names of the boundaries that were found.
    volume_mm3, wetted_mm2 : float
        Of the whole part [mm3], [mm2].
    curvature_safety : float
        With which the mesh came out without a folded element [-].
    straight : (n,) ndarray of int
        Elements that came out folded and were made straight [-].
    """

    mesh: Any
    planes: tuple[int, ...]
    names: tuple[str, ...]
    volume_mm3: float
    wetted_mm2: float
    curvature_safety: float = CURVATURE_SAFETY[0]
    straight: NDArray[np.int64] = field(default_factory=lambda: np.empty(0, dtype=np.int64))


def planes_of(design: Design[float]) -> tuple[int, ...]:
    """Return the axes whose planes through the origin a kind is symmetric in [-].

    Parameters
    ----------
    design : Design
        The part.

    Source: own_derivation
    """
    if design.kind.hub:
        return (0, 1) if design.kind.arms == 2 else (1,)
    # In line and cap: about Z, with ticks front and back; tube to tube: about X.
    return (1, 2) if is_tube_to_tube(design) else (0, 1)


def is_tube_to_tube(design: Design[float]) -> bool:
    """Return whether a part joins two tubes in line and has no tip."""
    return design.tip is None and design.kind.arms == 2


def is_cap(design: Design[float]) -> bool:
    """Return whether a part closes one tube and has no tip."""
    return design.tip is None and design.kind.arms == 1


def read_step(path: Path) -> Any:
    """Return the solid of a STEP file, in netgen's kernel.

    Parameters
    ----------
    path : Path
        The file.

    Raises
    ------
    BuildError
        When it is not there or does not hold a solid.
    """
    from netgen.occ import OCCGeometry

    if not path.is_file():
        raise BuildError(Fault("no such STEP file", given=path.name))
    try:
        shape = OCCGeometry(str(path)).shape
        solids = list(shape.solids)
    except Exception as error:
        raise BuildError(Fault("the STEP file does not read", given=path.name)) from error
    if len(solids) != 1:
        raise BuildError(Fault(f"{path.name}: not one body", given=str(len(solids)), limit="1"))
    return solids[0]


def half_space(solid: Any, planes: Sequence[int]) -> Any:
    """Return the piece of a solid on the positive side of planes through the origin."""
    from netgen.occ import Box, Pnt

    if not planes:
        return solid
    low = [0.0 if axis in planes else -_BEYOND_MM for axis in range(3)]
    return solid * Box(Pnt(*low), Pnt(_BEYOND_MM, _BEYOND_MM, _BEYOND_MM))


def surface_mesh_points(ngmesh: Any) -> tuple[list[Array], list[NDArray[np.int64]]]:
    """Return each face's vertices [mm] and its triangles, counted from 0."""
    elements = ngmesh.Elements2D().NumPy()
    coordinates = np.asarray(ngmesh.Coordinates(), dtype=float)
    points, triangles = [], []
    for index in range(1, len(ngmesh.FaceDescriptors()) + 1):
        nodes = np.asarray(elements["nodes"][elements["index"] == index], dtype=np.int64) - 1
        triangles.append(nodes[:, :3])
        points.append(coordinates[np.unique(nodes[:, :3])])
    return points, triangles


def profile_distance(profile: Array, position: Array, radius: Array) -> Array:
    """Return the distance of points in the half plane to each segment of a profile.

    Parameters
    ----------
    profile : (m, 3) ndarray
        Position [mm], radius [mm], bulge [-], closed.
    position, radius : (n,) ndarray
        The points [mm].

    Returns
    -------
    (n, m) ndarray
        Distances, arcs exact [mm].

    Source: own_derivation
    """
    points = np.column_stack([position, radius])
    out = np.empty((len(points), len(profile)))
    following = np.roll(profile, -1, axis=0)
    for index, (start, end) in enumerate(zip(profile, following, strict=True)):
        a, b, bulge = start[:2], end[:2], start[2]
        chord = b - a
        length = hypot(*chord)
        if length < 1e-9:
            out[:, index] = np.hypot(*(points - a).T)
            continue
        share = np.clip((points - a) @ chord / length**2, 0.0, 1.0)
        straight = np.hypot(*(points - a - share[:, None] * chord).T)
        if abs(bulge) < 1e-12:
            out[:, index] = straight
            continue
        turn = 4.0 * atan(bulge)
        half = length / 2.0
        offset = half / tan(turn / 2.0) if abs(abs(turn) - pi) > 1e-12 else 0.0
        centre = (a + b) / 2.0 + offset * np.array([-chord[1], chord[0]]) / length
        arm = hypot(*(a - centre))
        away = points - centre
        angle = np.arctan2(away[:, 1], away[:, 0]) - np.arctan2(*(a - centre)[::-1])
        swept = np.mod(angle * np.sign(turn) + 1e-9, 2.0 * pi) <= abs(turn) + 2e-9
        ends = np.minimum(np.hypot(*(points - a).T), np.hypot(*(points - b).T))
        out[:, index] = np.where(swept, np.abs(np.hypot(*away.T) - arm), ends)
    return out


def in_body(body: Revolved, points: Array) -> tuple[Array, Array]:
    """Return points' positions along a body's axis and distances from it [mm]."""
    axis = np.asarray(body.axis, dtype=float)
    away = points - np.asarray(body.origin, dtype=float)
    position = away @ axis
    return position, np.linalg.norm(away - np.outer(position, axis), axis=1)


def is_on(body: Revolved, points: Array) -> bool:
    """Return whether all points lie on one segment of a body's outline."""
    position, radius = in_body(body, points)
    distance = profile_distance(body.outline, position, radius)
    return bool(np.max(distance, axis=0).min() < ON_SURFACE_MM)


def bores_of(shape: Shape) -> Iterator[Revolved]:
    """Yield what is cut away and wetted: turned bodies [mm] that are no ticks."""
    for cut in shape.cuts:
        if isinstance(cut, Revolved) and not cut.name.startswith("ticks"):
            yield cut


def _ticks_of(shape: Shape) -> Iterator[Revolved]:
    for cut in shape.cuts:
        if isinstance(cut, Revolved) and cut.name.startswith("ticks"):
            yield cut


def name_face(points: Array, design: Design[float], shape: Shape, planes: Sequence[int]) -> str:
    """Return the name of a face from its mesh vertices.

    Parameters
    ----------
    points : (n, 3) ndarray
        Vertices of its triangles [mm].
    design : Design
        Drawn sizes [mm].
    shape : Shape
        The outlines it was built from.
    planes : sequence of int
        Planes of symmetry the part was cut at.

    Returns
    -------
    str
        ``plane_x``, ``wetted``, ``lead`` (the tip's wet end), ``nose_1``,
        ``nose_2``, ``ramp_1`` (the nose's outside, wet up to the first crest),
        ``barb_1`` (from there to the shoulder's radius, where the tube grips),
        ``seat``, ``pad``, ``pad_side``, ``shoulder_1``, ``ring``, ``tick``, ``hub`` (the ball) or
        ``outer``.
    """
    for axis in planes:
        if np.all(np.abs(points[:, axis]) < ON_SURFACE_MM):
            return f"plane_{AXES[axis]}"
    if any(is_on(bore, points) for bore in bores_of(shape)):
        return "wetted"
    named = _name_by_size(points, design)
    if named != "outer":
        return named
    for add in shape.adds:
        if isinstance(add, Revolved) and is_on(add, points):
            return "hub" if add.name == "hub ball" else "outer"
    for cut in _ticks_of(shape):
        position, radius = in_body(cut, points)
        if (
            position.min() > cut.outline[:, 0].min() - ON_SURFACE_MM
            and position.max() < cut.outline[:, 0].max() + ON_SURFACE_MM
            and radius.min() > cut.outline[:, 1].min() - ON_SURFACE_MM
        ):
            return "tick"
    middle = points.mean(axis=0)
    raise BuildError(
        Fault(
            "a face of the STEP file belongs to no outline of the design",
            given=", ".join(f"{value:.3f}" for value in middle) + " mm",
            do=_MAKE_AGAIN,
        )
    )


def _name_by_size(points: Array, design: Design[float]) -> str:
    near = ON_SURFACE_MM
    x, z = points[:, 0], points[:, 2]
    if design.tip is not None:
        tip = design.tip
        root = design.seat_root_mm
        end = root + tip.seat_mm
        radius = np.hypot(x, points[:, 1])
        if np.all(-z > end - tip.lead_round_mm - near):
            return "lead"
        cone = tip.lead_mm / 2.0 + tip.taper / 2.0 * (end + z)
        within = (-z > root - near) & (-z < end + near)
        if np.all(within & (np.abs(radius - cone) < 2.0 * near)):
            return "seat"
    for index, (sign, axis, start, length) in enumerate(arms_of(design)):
        along = sign * points[:, axis]
        if np.all(np.abs(along - length) < near):
            return f"nose_{index + 1}"
        barb = barb_on(design, index)
        across = np.linalg.norm(np.delete(points, axis, axis=1), axis=1)
        if np.all(across < barb.crest_mm / 2.0 + near):
            first_crest = length - barb.nose_ramp_mm
            if np.all(along > first_crest - near):
                return f"ramp_{index + 1}"
            if np.all(along > start + barb.shoulder_radius_mm - near):
                return f"barb_{index + 1}"
        if np.all(np.abs(along - start) < near):
            return f"shoulder_{index + 1}" if design.ring is None else "ring"
    if design.hub is not None:
        hub = design.hub
        face = hub.pad_height_mm
        if np.all(z > face - near):
            return "pad"
        # Its flats, its chamfers and its underside.
        if np.all(z > face - hub.pad_thickness_mm - near):
            return "pad_side"
    return "outer"


def arms_of(design: Design[float]) -> list[tuple[float, int, float, float]]:
    """Return each arm's sign and axis, where its shoulder is and where it ends [mm]."""
    if design.ring is not None:
        start = design.ring.thickness_mm
        return [(1.0, 2, start, start + design.barbs[0].insertion_mm)]
    start = design.arm_start_mm
    if is_cap(design):
        return [(1.0, 2, start, start + design.barbs[0].insertion_mm)]
    if design.hub is not None:
        end = design.arm_length_mm
        return [(1.0, 0, start, end), (-1.0, 0, start, end)][: design.kind.arms]
    return [
        (1.0, 0, start, start + design.barbs[0].insertion_mm),
        (-1.0, 0, start, start + float(design.barbs[-1].insertion_mm)),
    ]


def barb_on(design: Design[float], index: int) -> Barb[float]:
    """Return the barb [mm] on an arm, counted as `arms_of` does [-]; alike arms share one."""
    return design.barbs[min(index, len(design.barbs) - 1)]


def mesh_solid(
    solid: Any,
    *,
    maxh_mm: float,
    sizes: Sequence[MeshSize] = (),
    grading: float = 0.5,
    curvature_safety: float = CURVATURE_SAFETY[0],
) -> Any:
    """Return netgen's mesh of a solid, finer at the given points.

    Parameters
    ----------
    solid : netgen shape
        What to mesh.
    maxh_mm : float
        Largest edge of an element anywhere [mm].
    sizes : sequence of MeshSize
        Local sizes.
    grading : float
        How fast sizes may change: near 0 slowly, 1 fast [-].
    curvature_safety : float
        Elements along an arc, as netgen counts them [-].

    Returns
    -------
    netgen.meshing.Mesh
        Straight mesh with one boundary a CAD face.
    """
    from netgen.meshing import MeshingParameters
    from netgen.occ import OCCGeometry

    parameters = MeshingParameters(
        maxh=maxh_mm, grading=grading, optsteps3d=2, curvaturesafety=curvature_safety
    )
    for size in sizes:
        parameters.RestrictH(*size.position_mm, h=size.size_mm)
    return OCCGeometry(solid).GenerateMesh(parameters)


def name_boundaries(ngmesh: Any, names: Sequence[str], order: int) -> Any:
    """Return a curved ngsolve mesh with its boundaries named in face order."""
    import ngsolve as ng

    for index, name in enumerate(names):
        ngmesh.SetBCName(index, name)
    mesh = ng.Mesh(ngmesh)
    curve(mesh, order)
    return mesh


def curve(mesh: Any, order: int) -> None:
    """Bend a mesh's surface elements onto the CAD surface."""
    mesh.Curve(order)


def folded(mesh: Any) -> int:
    """Return how many curved elements are folded, as they get beside small fillets [-]."""
    return int(np.sum(least_jacobian(mesh) <= LEAST_JACOBIAN))


def straightened(mesh: Any, order: int) -> NDArray[np.int64]:
    """Make a curved mesh's few folded elements straight, and return which they are [-].

    A folded element would have its mesh thrown away, and the next one folds another. The mesh
    is drawn straight and bent by a displacement, the same to rounding, which those elements'
    edges are left out of.

    Parameters
    ----------
    mesh : ngsolve.Mesh
        Curved mesh, changed in place where it has any.
    order : int
        Its order [-].

    Returns
    -------
    (n,) ndarray of int
        Empty where none is folded, and where they are too many for this.
    """
    import ngsolve as ng

    chosen = np.flatnonzero(least_jacobian(mesh) <= LEAST_JACOBIAN)
    if not 0 < len(chosen) <= FEW_FOLDED * mesh.ne:
        return np.empty(0, dtype=np.int64)
    space = ng.VectorH1(mesh, order=order)
    place = ng.CoefficientFunction((ng.x, ng.y, ng.z))
    bent, flat = ng.GridFunction(space), ng.GridFunction(space)
    bent.Set(place)
    curve(mesh, 1)
    flat.Set(place)
    bent.vec.data -= flat.vec
    mesh.SetDeformation(bent)
    moved, part = bent.vec.FV().NumPy(), space.components[0]
    for row in chosen:
        element = mesh[ng.ElementId(ng.VOL, int(row))]
        for edge in (*element.edges, *element.faces):
            for number in part.GetDofNrs(edge):
                moved[[number + axis * part.ndof for axis in range(3)]] = 0.0
    return chosen


@contextmanager
def as_bent(mesh: Any) -> Iterator[None]:
    """See a mesh as it was before some of its elements were made straight.

    A straight element's edge turns where the part has a radius, and is no edge of the part's.

    Parameters
    ----------
    mesh : ngsolve.Mesh
        The mesh, bent back on leaving.
    """
    moved = mesh.deformation
    if moved is None:
        yield
        return
    mesh.UnsetDeformation()
    curve(mesh, moved.space.globalorder)
    try:
        yield
    finally:
        curve(mesh, 1)
        mesh.SetDeformation(moved)


def least_jacobian(mesh: Any) -> Array:
    """Return how evenly each curved element is stretched, shape (n,) [-].

    Parameters
    ----------
    mesh : ngsolve.Mesh
        The mesh.

    Returns
    -------
    (n,) ndarray
        Least over largest Jacobian of an element: 1 where it is straight, 0 and
        less where it is folded [-].

    Source: own_derivation
    """
    import ngsolve as ng

    corners = [(0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)]
    middles = [
        tuple((a[i] + b[i]) / 2.0 for i in range(3))
        for index, a in enumerate(corners)
        for b in corners[:index]
    ]
    places = [*corners, *middles, (0.25, 0.25, 0.25)]
    rule = ng.IntegrationRule(places, [0.0] * len(places))
    size = ng.Det(ng.specialcf.JacobianMatrix(3))(mesh.MapToAllElements(rule, ng.VOL))
    rows = np.asarray(size).reshape(-1, len(places))
    return np.asarray(rows.min(axis=1) / np.abs(rows).max(axis=1))


def mesh_part(
    design: Design[float],
    shape: Shape,
    solid: Any,
    *,
    order: int,
    maxh_mm: float,
    sizes: Sequence[MeshSize] = (),
    planes: Sequence[int] | None = None,
    first_safety: float = CURVATURE_SAFETY[0],
) -> PartMesh:
    """Mesh a part between its planes of symmetry, name its faces and check them.

    Parameters
    ----------
    design, shape : Design, Shape
        What was drawn [mm].
    solid : netgen shape
        The whole part as it came out of the STEP file.
    order : int
        Order of the curved elements [-].
    maxh_mm : float
        Largest edge of an element [mm].
    sizes : sequence of MeshSize
        Local sizes, on any side of the planes.
    planes : sequence of int, optional
        Planes of symmetry to cut at; those of the kind when not given.
    first_safety : float
        Curvature safety to try first [-].

    Returns
    -------
    PartMesh
        The mesh.

    Raises
    ------
    BuildError
        When a face belongs to no outline, or volume or wetted area differ from
        the design's.
    """
    import ngsolve as ng

    kept = planes_of(design) if planes is None else tuple(planes)
    mirrored = [
        MeshSize(
            (
                *(
                    abs(value) if axis in kept else value
                    for axis, value in enumerate(size.position_mm)
                ),
            ),  # type: ignore[arg-type]
            size.size_mm,
        )
        for size in sizes
    ]
    piece = half_space(solid, kept)
    # A quarter of a tee is half of an elbow: what lies beyond the planes must be there too.
    if abs(2 ** len(kept) * float(piece.mass) / float(solid.mass) - 1.0) > SYMMETRY_SHARE:
        raise BuildError(
            Fault(
                f"the STEP file's part is not symmetric as a {design.kind.name} is",
                do=_MAKE_AGAIN,
            )
        )
    for safety in dict.fromkeys((first_safety, *CURVATURE_SAFETY)):
        ngmesh = mesh_solid(piece, maxh_mm=maxh_mm, sizes=mirrored, curvature_safety=safety)
        points, _ = surface_mesh_points(ngmesh)
        names = [name_face(face, design, shape, kept) for face in points]
        mesh = name_boundaries(ngmesh, names, order)
        straight = straightened(mesh, order)
        bad = folded(mesh)
        share = 2 ** len(kept)
        volume = share * float(ng.Integrate(ng.CoefficientFunction(1.0), mesh))
        wetted = share * float(
            ng.Integrate(
                ng.CoefficientFunction(1.0), mesh, ng.BND, definedon=mesh.Boundaries("wetted")
            )
        )
        differs = (
            _difference("volume", volume, volume_mm3(design, shape), VOLUME_SHARE, "mm3"),
            _difference("wetted area", wetted, wetted_area_mm2(design, shape), AREA_SHARE, "mm2"),
        )
        # Too coarse round a ball comes out too small: the next mesh follows the rounds closer.
        if not bad and not any(differs):
            break
    else:
        faults = [fault for fault in differs if fault is not None]
        raise BuildError(faults or Fault("the mesh has folded elements", given=str(bad)))
    return PartMesh(
        mesh=mesh,
        planes=kept,
        names=tuple(sorted(set(names))),
        volume_mm3=volume,
        wetted_mm2=wetted,
        curvature_safety=safety,
        straight=straight,
    )


def _difference(what: str, found: float, drawn: float, share: float, unit: str) -> Fault | None:
    if abs(found - drawn) <= share * drawn:
        return None
    return Fault(
        f"the meshed {what} is not the design's",
        given=f"{found:.4f} {unit}",
        limit=f"{drawn:.4f} {unit} +- {100 * share:g} %",
        do=_MAKE_AGAIN,
    )


# --- closed forms ---------------------------------------------------------------------------


def _swept(profile: Array) -> float:
    points = polyline(profile, steps=720)
    x, r = points.T
    x2, r2 = np.roll(x, -1), np.roll(r, -1)
    return float(abs(np.sum(pi / 3.0 * (x2 - x) * (r**2 + r * r2 + r2**2))))


def _pad_round_stem(hub: Hub[float], shape: Shape) -> float:
    """Return the hexagonal pad's volume, less what its stem holds of it already [mm3]."""
    stem = next(body.outline for body in shape.adds if body.name == "pad stem")
    chamfer, thick = hub.chamfer_mm, hub.pad_thickness_mm
    wide = hub.pad_mm
    area, top = (sqrt(3.0) / 2.0 * across**2 for across in (wide, wide - 2.0 * chamfer))
    prism = area * (thick - chamfer) + chamfer / 3.0 * (area + top + sqrt(area * top))
    return prism - pi * float(stem[-2, 1]) ** 2 * float(stem[-1, 0] - stem[-3, 0])


def volume_mm3(design: Design[float], shape: Shape) -> float:
    """Return the unmarked part's volume from its outlines.

    Parameters
    ----------
    design, shape : Design, Shape
        What was drawn [mm].

    Returns
    -------
    float
        Joined bodies less bores and ticks; side ports by quadrature [mm3].

    Source: own_derivation
    """
    adds = [body for body in shape.adds if isinstance(body, Revolved)]
    if design.hub is not None:
        ball = 4.0 / 3.0 * pi * (design.hub.ball_mm / 2.0) ** 3
        # Every arm holds half the ball and stands outside the rest of it.
        solid = ball + sum(
            _swept(body.outline) - ball / 2.0 for body in adds if body.name != "hub ball"
        )
        solid += _pad_round_stem(design.hub, shape)
        relief = design.hub.relief_mm / 2.0
        solid -= 4.0 / 3.0 * pi * relief**3
        for radius, length in _bores(design):
            rim = sqrt(relief**2 - radius**2)
            cap = pi / 3.0 * (relief - rim) ** 2 * (2.0 * relief + rim)
            solid -= pi * radius**2 * (length - rim) - cap
    elif is_cap(design):
        bore = design.bore_mm / 2.0
        solid = sum(_swept(body.outline) for body in adds)
        solid -= pi * bore**2 * design.barbs[0].insertion_mm + 2.0 / 3.0 * pi * bore**3
    else:
        solid = sum(_swept(body.outline) for body in adds)
        solid -= sum(
            pi / 3.0 * (b - a) * (ra**2 + ra * rb + rb**2)
            for a, ra, b, rb in _bore_between_ends(design, shape)
        )
    for cut in _ticks_of(shape):
        solid -= _tick_volume(cut, design)
    return solid - _side_port_volume_area(design)[0]


def wetted_area_mm2(design: Design[float], shape: Shape) -> float:
    """Return the area of bores and relief ball, ends not counted.

    Parameters
    ----------
    design, shape : Design, Shape
        What was drawn [mm].

    Returns
    -------
    float
        Area [mm2].

    Source: own_derivation
    """
    if design.hub is not None:
        relief = design.hub.relief_mm / 2.0
        area = 4.0 * pi * relief**2
        for radius, length in _bores(design):
            rim = sqrt(relief**2 - radius**2)
            area += 2.0 * pi * radius * (length - rim) - 2.0 * pi * relief * (relief - rim)
    elif is_cap(design):
        bore = design.bore_mm
        area = pi * bore * design.barbs[0].insertion_mm + pi * bore**2 / 2.0
    else:
        area = sum(
            pi * (ra + rb) * hypot(b - a, rb - ra)
            for a, ra, b, rb in _bore_between_ends(design, shape)
        )
    return area + _side_port_volume_area(design)[1]


def _bores(design: Design[float]) -> list[tuple[float, float]]:
    """Return radius and length from the hub's centre of each bore [mm]."""
    assert design.tip is not None
    tip_end = design.seat_root_mm + design.tip.seat_mm
    arms = [(design.bore_mm / 2.0, design.arm_length_mm)] * design.kind.arms
    return [*arms, (design.tip.bore_mm / 2.0, tip_end)]


def _ends(design: Design[float]) -> tuple[float, float]:
    """Return where an in-line part begins and ends on its axis [mm]."""
    arms = arms_of(design)
    if design.tip is not None:
        return -design.seat_root_mm - design.tip.seat_mm, arms[0][3]
    return -arms[1][3], arms[0][3]


def _bore_between_ends(
    design: Design[float], shape: Shape
) -> Iterator[tuple[float, float, float, float]]:
    """Yield a bore's straight pieces inside an in-line part: where each begins and ends [mm].

    Position and radius each.
    """
    (profile,) = (cut.outline for cut in shape.cuts if cut.name == "bore")
    low, high = _ends(design)
    for (x0, r0, _), (x1, r1, _) in pairwise(profile):
        a, b = max(x0, low), min(x1, high)
        if b - a <= 1e-12 or x1 - x0 < 1e-12:
            continue
        slope = (r1 - r0) / (x1 - x0)
        yield a, r0 + slope * (a - x0), b, r0 + slope * (b - x0)


def _tick_volume(cut: Revolved, design: Design[float]) -> float:
    tip = design.tip
    assert tip is not None
    root_at, taper = design.seat_root_mm, tip.taper / 2.0
    total = 0.0
    for (x0, r0, _), (x1, r1, _) in pairwise(cut.outline):
        # A tooth's floor is its only level run below the taper.
        if abs(r0 - r1) > 1e-9 or x1 - x0 < 1e-9:
            continue
        outer0 = tip.root_mm / 2.0 - taper * (x0 - root_at)
        outer1 = tip.root_mm / 2.0 - taper * (x1 - root_at)
        if r0 >= outer0:
            continue
        frustum = pi / 3.0 * (x1 - x0) * (outer0**2 + outer0 * outer1 + outer1**2)
        total += (frustum - pi * r0**2 * (x1 - x0)) * cut.sweep_deg / 360.0
    return total


def _side_port_volume_area(design: Design[float]) -> tuple[float, float]:
    """Return what a pair of side ports takes away, and the wetted area it adds."""
    if not design.forced.get("side_ports"):
        return 0.0, 0.0
    from barbwright.design.draw import side_port_from_lead_mm

    tip = design.tip
    assert tip is not None
    radius, taper = tip.bore_mm / 2.0, tip.taper / 2.0
    at = side_port_from_lead_mm(tip)
    angle = (np.arange(4000) + 0.5) / 4000 * 2.0 * pi
    # Port and bore are equal: along the port's generator at (y, z) the wall begins at |z|.
    y, z = radius * np.cos(angle), radius * np.sin(angle)
    outer = tip.lead_mm / 2.0 + taper * (at + z)
    length = np.sqrt(outer**2 - y**2) - np.abs(z)
    area = 2.0 * float(np.mean(length)) * 2.0 * pi * radius
    side = np.linspace(-radius, radius, 4001)
    half = np.sqrt(np.maximum(radius**2 - side**2, 0.0))
    ring = (np.arange(400) + 0.5) / 400
    volume = 0.0
    for share in (-1.0, 1.0):
        for fraction in ring:
            height = share * fraction * half
            top = tip.lead_mm / 2.0 + taper * (at + height)
            depth = np.sqrt(top**2 - side**2) - half
            volume += 2.0 * float(np.trapezoid(depth * half, side)) / len(ring)
    # The bore's wall loses a lens to each port: 2 |y| of every generator.
    lens = float(np.mean(2.0 * np.abs(y))) * 2.0 * pi * radius
    return volume, area - lens
