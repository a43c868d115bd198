"""One triangle mesh of a solid, welded and free of degenerate facets.

STL and 3MF are both written from it, so the file that is measured and the file
that is sliced are the same body.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from barbwright.errors import BuildError, Fault
from barbwright.solid.kernel import each, load_kernel
from barbwright.solid.turned import turn_sagging_edges

if TYPE_CHECKING:
    from OCP.TopoDS import TopoDS_Face, TopoDS_Shape

CHORD_MM = 0.005
ANGLE_RAD = 0.5
WELD_MM = 1e-5
# A facet this flat tells nothing about the surface and upsets slicers; single precision
# coordinates of a 60 mm part are 4e-6 mm apart.
LEAST_HEIGHT_MM = 2e-5
FLIP_ROUNDS = 8


@dataclass(frozen=True)
class TriangleMesh:
    """A closed mesh, with its vertices already in the files' single precision.

    Attributes
    ----------
    vertices : (n, 3) ndarray of float32
        Points [mm].
    triangles : (m, 3) ndarray of int32
        Indices of points, counter-clockwise seen from outside.
    """

    vertices: NDArray[np.float32]
    triangles: NDArray[np.int32]

    @property
    def volume_mm3(self) -> float:
        """Enclosed volume [mm3]."""
        corners = self.vertices.astype(np.float64)[self.triangles]
        cross = np.cross(corners[:, 1], corners[:, 2])
        return float(np.einsum("ij,ij->", corners[:, 0], cross) / 6)


def mesh_solid(name: str, solid: TopoDS_Shape, chord_mm: float = CHORD_MM) -> TriangleMesh:
    """Cut a solid's surface into triangles.

    Parameters
    ----------
    name : str
        The part's name, for messages.
    solid : TopoDS_Shape
        The solid.
    chord_mm : float
        Largest distance of a facet from the true surface [mm].

    Returns
    -------
    TriangleMesh
        Welded, closed, without degenerate facets.

    Raises
    ------
    BuildError
        When a face got no triangles, or the welded mesh is not closed.
    """
    load_kernel()
    vertices, triangles = _triangulate(name, solid, chord_mm)
    points, triangles = weld(vertices, triangles)
    single = points.astype(np.float32)
    # The smallest steps vanish in single precision: weld once more on what is written.
    points, triangles = weld(single.astype(np.float64), triangles)
    triangles = remove_flat_triangles(points, triangles)
    used, triangles = np.unique(triangles, return_inverse=True)
    mesh = TriangleMesh(points[used].astype(np.float32), triangles.reshape(-1, 3).astype(np.int32))
    open_edges = count_open_edges(mesh.triangles)
    if open_edges:
        raise BuildError(
            Fault(f"{name}: the mesh is not closed", given=f"{open_edges} open edges", limit="0")
        )
    return mesh


def _triangulate(
    name: str, solid: TopoDS_Shape, chord_mm: float
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    from OCP.BRep import BRep_Tool
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.BRepTools import BRepTools
    from OCP.TopAbs import TopAbs_FACE, TopAbs_REVERSED
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import TopoDS

    # A kept mesh of another tolerance would be handed out again.
    BRepTools.Clean_s(solid)
    BRepMesh_IncrementalMesh(solid, chord_mm, False, ANGLE_RAD, False)
    patches: list[NDArray[np.float64]] = []
    facets: list[NDArray[np.int64]] = []
    base = 0
    for face in map(TopoDS.Face, each(solid, TopAbs_FACE)):
        location = TopLoc_Location()
        patch = BRep_Tool.Triangulation_s(face, location)
        if patch is None or patch.NbTriangles() == 0:
            raise BuildError(Fault(f"{name}: a face of the solid got no triangles"))
        nodes = [patch.Node(number) for number in range(1, patch.NbNodes() + 1)]
        if not location.IsIdentity():
            nodes = [node.Transformed(location.Transformation()) for node in nodes]
        points = np.array([(node.X(), node.Y(), node.Z()) for node in nodes])
        triangles = np.array(
            [patch.Triangle(number).Get() for number in range(1, patch.NbTriangles() + 1)],
            dtype=np.int64,
        )
        triangles -= 1
        axis = _turning_axis(face)
        if axis is not None:
            triangles = turn_sagging_edges(points, triangles, *axis, chord_mm)
        if face.Orientation() == TopAbs_REVERSED:
            triangles = triangles[:, ::-1]
        patches.append(points)
        facets.append(triangles + base)
        base += len(points)
    return np.concatenate(patches), np.concatenate(facets)


def _turning_axis(face: TopoDS_Face) -> tuple[NDArray[np.float64], NDArray[np.float64]] | None:
    """Axis of a cylinder or cone, as a point [mm] and a unit vector; none for other faces."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_Cone, GeomAbs_Cylinder

    surface = BRepAdaptor_Surface(face)
    kind = surface.GetType()
    if kind not in (GeomAbs_Cone, GeomAbs_Cylinder):
        return None
    line = (surface.Cone() if kind == GeomAbs_Cone else surface.Cylinder()).Axis()
    point, direction = line.Location(), line.Direction()
    return (
        np.array([point.X(), point.Y(), point.Z()]),
        np.array([direction.X(), direction.Y(), direction.Z()]),
    )


def weld(
    vertices: NDArray[np.float64], triangles: NDArray[np.int64]
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Join points nearer than `WELD_MM` along every axis, and drop what collapses.

    Parameters
    ----------
    vertices : (n, 3) ndarray
        Points [mm].
    triangles : (m, 3) ndarray
        Indices of points.

    Returns
    -------
    vertices : (k, 3) ndarray
        Points left [mm].
    triangles : (l, 3) ndarray
        Triangles left, with three different points each.
    """
    # Per axis, a new group starts at every gap: rounding to a grid would part neighbours
    # that straddle a grid line.
    groups = np.empty(vertices.shape, dtype=np.int64)
    for axis in range(3):
        order = np.argsort(vertices[:, axis], kind="stable")
        gaps = np.diff(vertices[order, axis]) > WELD_MM
        groups[order, axis] = np.concatenate([[0], np.cumsum(gaps)])
    size = groups.max(axis=0) + 1
    keys = (groups[:, 0] * size[1] + groups[:, 1]) * size[2] + groups[:, 2]
    _, first, inverse = np.unique(keys, return_index=True, return_inverse=True)
    joined = inverse[triangles]
    whole = (
        (joined[:, 0] != joined[:, 1])
        & (joined[:, 1] != joined[:, 2])
        & (joined[:, 2] != joined[:, 0])
    )
    return vertices[first], joined[whole]


def heights(vertices: NDArray[np.float64], triangles: NDArray[np.int64]) -> NDArray[np.float64]:
    """Least height of each triangle: twice its area over its longest edge [mm]."""
    corners = vertices[triangles]
    edges = corners - np.roll(corners, -1, axis=1)
    longest = np.linalg.norm(edges, axis=2).max(axis=1)
    doubled = np.linalg.norm(np.cross(edges[:, 0], edges[:, 1]), axis=1)
    return np.asarray(doubled / np.maximum(longest, 1e-30))


def remove_flat_triangles(
    vertices: NDArray[np.float64], triangles: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Remove triangles lower than `LEAST_HEIGHT_MM` by turning their longest edge.

    A flat triangle whose corners differ has a corner on its longest edge;
    dropping it would leave a slit, so the edge that it shares with its
    neighbour is turned to join the two opposite corners instead.

    Parameters
    ----------
    vertices : (n, 3) ndarray
        Points [mm].
    triangles : (m, 3) ndarray
        Indices of points of a closed mesh.

    Returns
    -------
    (m, 3) ndarray
        As many triangles, none flat where a turn could mend it.
    """
    result = triangles.copy()
    for _ in range(FLIP_ROUNDS):
        flat = np.flatnonzero(heights(vertices, result) < LEAST_HEIGHT_MM)
        if flat.size == 0:
            break
        turned = [_turn_longest_edge(vertices, result, int(index)) for index in flat]
        if not any(turned):
            break
    return result


def _turn_longest_edge(
    vertices: NDArray[np.float64], triangles: NDArray[np.int64], index: int
) -> bool:
    corners = triangles[index]
    lengths = [
        float(np.linalg.norm(vertices[corners[k]] - vertices[corners[(k + 1) % 3]]))
        for k in range(3)
    ]
    start = int(np.argmax(lengths))
    a, b, c = (int(corners[(start + k) % 3]) for k in range(3))
    # The neighbour runs along the shared edge the other way round.
    for k in range(3):
        hits = np.flatnonzero((triangles[:, k] == b) & (triangles[:, (k + 1) % 3] == a))
        if hits.size:
            neighbour, d = int(hits[0]), int(triangles[hits[0], (k + 2) % 3])
            break
    else:
        return False
    if d == c or ((triangles == c).any(axis=1) & (triangles == d).any(axis=1)).any():
        return False
    pair = np.array([[a, d, c], [d, b, c]])
    before = heights(vertices, triangles[[index, neighbour]]).min()
    if heights(vertices, pair).min() <= before:
        return False
    triangles[index], triangles[neighbour] = pair
    return True


def count_open_edges(triangles: NDArray[np.int32]) -> int:
    """Count edges that do not belong to exactly two opposite triangles.

    Parameters
    ----------
    triangles : (m, 3) ndarray
        Indices of points.

    Returns
    -------
    int
        Edges without their one partner [-].
    """
    edges = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    size = np.int64(triangles.max()) + 1
    forward = edges[:, 0].astype(np.int64) * size + edges[:, 1]
    backward = edges[:, 1].astype(np.int64) * size + edges[:, 0]
    keys, counts = np.unique(forward, return_counts=True)
    return int((~np.isin(backward, keys)).sum() + (counts > 1).sum())
