"""A piece of a solved mesh, solved once more with elements an order higher.

It is held where it was cut as the whole mesh moved, so that what is coarse is only what lies
near a peak. Stresses there settle far earlier with the order than with a finer mesh, and
nothing is meshed again.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from barbwright.prove.elastic import Elastic, Points, Traction

Array = NDArray[np.float64]
Index = NDArray[np.int64]
# Elements round the one that holds a point: the outer layer carries what was cut, and its own
# stresses are not reported.
LAYERS = 2
CUT = "cut"
# A tetrahedron's faces by its corners.
FACES = ((0, 1, 2), (0, 1, 3), (0, 2, 3), (1, 2, 3))


class Near(Elastic):
    """The elements round some points of a solved body, an order higher.

    Parameters
    ----------
    whole : Elastic
        The solved body.
    points_mm : (n, 3) ndarray
        On its modelled side [mm].

    Attributes
    ----------
    reported : (n,) ndarray of int
        Elements of the whole, counted there, whose stresses are to be believed here [-].
    """

    def __init__(self, whole: Elastic, points_mm: Array) -> None:
        import ngsolve as ng

        nodes = _corners_of(whole.mesh)
        inner, chosen = _around(nodes, whole.mesh, points_mm)
        mesh, vertices = _piece(whole.mesh, nodes, chosen)
        # Monotonic: an edge or face keeps the direction its functions are counted in.
        self._vertices, self._chosen = vertices, chosen
        bent = ng.GridFunction(ng.VectorH1(mesh, order=whole.order))
        self._carry(whole.place(), bent, mesh, flat=True)
        mesh.SetDeformation(bent)
        super().__init__(
            mesh,
            whole.order + 1,
            whole.modulus_mpa,
            whole.poisson,
            whole.supports,
            np.flatnonzero(np.isin(chosen, whole.left_out)),
            planes=whole.planes,
            held=CUT,
        )
        self.reported: Index = chosen[inner[chosen]]
        self._inner = np.repeat(inner[chosen], len(self._weights))

    def points(self) -> Points:
        """Return the stress points; those of the outer layer are not sound."""
        points = super().points()
        return replace(points, sound=points.sound & self._inner)

    def solve_as(self, parity: tuple[int, ...], loads: Sequence[Traction], whole: Any) -> Any:
        """Return the displacement that fits the whole's where the piece was cut.

        Parameters
        ----------
        parity : tuple of int
            +1 or -1 for each plane of symmetry [-].
        loads : sequence of Traction
            What acts on the whole.
        whole : ngsolve.GridFunction
            How the whole moves under them [mm].

        Returns
        -------
        ngsolve.GridFunction
            Displacement [mm].
        """
        import ngsolve as ng

        start = ng.GridFunction(self._assembled()[0])
        self._carry(whole, start, self.mesh)
        return self.solve(parity, loads, start)

    def _carry(self, whole: Any, here: Any, mesh: Any, *, flat: bool = False) -> None:
        """Copy a field of the whole: bases are hierarchical, so the rest of it is zero.

        Parameters
        ----------
        whole, here : ngsolve.GridFunction
            From, to.
        mesh : ngsolve.Mesh
            The piece.
        flat : bool
            Leave the corners out: the field is how the mesh is bent.
        """
        from_space, to_space = whole.space.components[0], here.space.components[0]
        pairs = [] if flat else [(int(v), n) for n, v in enumerate(self._vertices)]
        for mine, other in _nodes(mesh, whole.space.mesh, self._chosen):
            # Of an edge or face both count the lower orders first.
            pairs += zip(from_space.GetDofNrs(other), to_space.GetDofNrs(mine), strict=False)
        take, put = np.array(pairs, dtype=np.int64).T
        source, target = whole.vec.FV().NumPy(), here.vec.FV().NumPy()
        for axis in range(3):
            target[put + axis * to_space.ndof] = source[take + axis * from_space.ndof]


def _nodes(mesh: Any, whole: Any, chosen: Index) -> Iterator[tuple[Any, Any]]:
    """Yield each edge and face of a piece with the whole's, once."""
    import ngsolve as ng

    seen = set()
    for row, number in enumerate(chosen):
        mine = mesh[ng.ElementId(ng.VOL, row)]
        other = whole[ng.ElementId(ng.VOL, int(number))]
        for pair in (*zip(mine.edges, other.edges, strict=True),
                     *zip(mine.faces, other.faces, strict=True)):  # fmt: skip
            if pair[0] not in seen:
                seen.add(pair[0])
                yield pair


def _corners_of(mesh: Any) -> Index:
    """Return the corners of every element, shape (n, 4) [-]."""
    return np.asarray(mesh.ngmesh.Elements3D().NumPy()["nodes"], dtype=np.int64)[:, :4] - 1


def _around(nodes: Index, mesh: Any, points_mm: Array) -> tuple[NDArray[np.bool_], Index]:
    """Return which elements lie within the cut's layer, and the numbers of all that are taken."""
    middle = np.asarray(mesh.ngmesh.Coordinates(), dtype=float)[nodes].mean(axis=1)
    taken: NDArray[np.bool_] = np.zeros(len(nodes), dtype=bool)
    for point in points_mm:
        taken[np.argmin(np.linalg.norm(middle - point, axis=1))] = True
    inner = taken
    for _ in range(LAYERS):
        inner = taken
        touched = np.zeros(nodes.max() + 1, dtype=bool)
        touched[nodes[taken]] = True
        taken = np.asarray(touched[nodes].any(axis=1))
    return inner, np.flatnonzero(taken)


def _piece(mesh: Any, nodes: Index, chosen: Index) -> tuple[Any, Index]:
    """Return chosen elements as a straight mesh of their own, and the whole's vertices in it.

    The whole's boundaries keep their names; where it was cut is `CUT`.
    """
    import ngsolve as ng
    from netgen.meshing import FaceDescriptor
    from netgen.meshing import Mesh as NetgenMesh

    whole = mesh.ngmesh
    vertices, corners = np.unique(nodes[chosen], return_inverse=True)
    corners = corners.reshape(-1, 4)
    number = np.full(nodes.max() + 1, -1)
    number[vertices] = np.arange(len(vertices))
    faces = np.concatenate([corners[:, face] for face in FACES])
    _, first, count = np.unique(np.sort(faces, axis=1), axis=0, return_index=True,
                                return_counts=True)  # fmt: skip
    bare = {tuple(sorted(row)): row for row in faces[first[count == 1]].tolist()}
    skin = whole.Elements2D().NumPy()
    triangles = number[np.asarray(skin["nodes"], dtype=np.int64)[:, :3] - 1]
    within = (triangles >= 0).all(axis=1)
    descriptors = whole.FaceDescriptors()
    names = [whole.GetBCName(descriptor.bc - 1) for descriptor in descriptors]
    groups: dict[str, list[list[int]]] = {}
    for row, index in zip(triangles[within].tolist(), skin["index"][within], strict=True):
        # Corners of three elements may span a triangle of the skin that belongs to none of them.
        if bare.pop(tuple(sorted(row)), None) is not None:
            groups.setdefault(names[index - 1], []).append(row)
    if bare:
        groups[CUT] = list(bare.values())
    piece = NetgenMesh()
    piece.dim = 3
    piece.AddPoints(np.ascontiguousarray(np.asarray(whole.Coordinates(), dtype=float)[vertices]))
    piece.AddElements(dim=3, index=1, data=corners.astype(np.int32), base=0)
    for index, (name, rows) in enumerate(groups.items()):
        piece.Add(FaceDescriptor(surfnr=index + 1, domin=1, domout=0, bc=index + 1))
        piece.AddElements(dim=2, index=index + 1, data=np.array(rows, dtype=np.int32), base=0)
        piece.SetBCName(index, name)
    return ng.Mesh(piece), vertices
