"""Textbook bodies for the tests of prove/: netgen's own primitives, boundaries named by place."""

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from barbwright.prove.elastic import Elastic, Support, Traction, largest_principal, von_mises
from barbwright.prove.mesh import (
    AXES,
    CURVATURE_SAFETY,
    MeshSize,
    mesh_solid,
    name_boundaries,
    surface_mesh_points,
)

Test = Callable[[np.ndarray], bool]


def flat(axis: int, at: float) -> Test:
    return lambda points: bool(np.all(np.abs(points[:, axis] - at) < 1e-6))


def tube(axis: int, radius: float) -> Test:
    others = [other for other in range(3) if other != axis]
    return lambda points: bool(
        np.all(np.abs(np.linalg.norm(points[:, others], axis=1) - radius) < 1e-5)
    )


def ball(radius: float) -> Test:
    return lambda points: bool(np.all(np.abs(np.linalg.norm(points, axis=1) - radius) < 1e-5))


def meshed(
    solid,
    names: Mapping[str, Sequence[Test]],
    maxh: float,
    order: int,
    sizes=(),
    grading=0.5,
    safety=CURVATURE_SAFETY[0],
):
    ngmesh = mesh_solid(solid, maxh_mm=maxh, sizes=sizes, grading=grading, curvature_safety=safety)
    points, _ = surface_mesh_points(ngmesh)
    found = []
    for face in points:
        hits = [name for name, tests in names.items() if any(test(face) for test in tests)]
        found.append(hits[0] if hits else "outer")
    return name_boundaries(ngmesh, found, order)


def piece(planes: Sequence[int], high: float = 100.0):
    from netgen.occ import Box, Pnt

    return Box(Pnt(*[0.0 if axis in planes else -high for axis in range(3)]), Pnt(*[high] * 3))


def plane_names(planes: Sequence[int]) -> dict[str, list[Test]]:
    return {f"plane_{AXES[axis]}": [flat(axis, 0.0)] for axis in planes}


def sphere_of_sizes(radius: float, size: float, count: int = 200) -> list[MeshSize]:
    index = np.arange(count) + 0.5
    z, turn = 1.0 - 2.0 * index / count, index * 2.399963
    across = np.sqrt(1.0 - z * z)
    rows = radius * np.column_stack([across * np.cos(turn), across * np.sin(turn), z])
    return [MeshSize((abs(x), abs(y), abs(w)), size) for x, y, w in rows]


def peak_over_wetted(model: Elastic, moved, wetted: Callable[[np.ndarray], np.ndarray]):
    """Largest principal and von Mises stress at the points that stand on the wetted wall."""
    place, stress = model.points().position_mm, model.stresses(moved)
    on = wetted(place)
    return float(largest_principal(stress[on]).max()), float(von_mises(stress[on]).max())


def solve(mesh, order, loads, *, poisson=0.3, modulus=1000.0, supports=(), parity=None):
    model = Elastic(mesh, order, modulus, poisson, supports)
    signs = (1,) * len(model.planes) if parity is None else parity
    return model, model.solve(signs, loads)


__all__ = ["Elastic", "Support", "Traction"]
