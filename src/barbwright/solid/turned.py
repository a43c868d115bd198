"""Facets of turned faces, brought back within the chord tolerance.

The kernel's mesher keeps the tolerance along edges, but on a cylinder or cone
with ticks or letters in it, facets reach from one edge far around the axis to
another: 0.02 mm deep for a tolerance of 0.005. Turning the shared edge of two
such facets lets them run along the axis instead, and needs no more of them.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

ROUNDS = 60


def turn_sagging_edges(
    points: NDArray[np.float64],
    triangles: NDArray[np.int64],
    origin: NDArray[np.float64],
    axis: NDArray[np.float64],
    chord_mm: float,
) -> NDArray[np.int64]:
    """Turn inner edges that run deeper under a turned face than the tolerance.

    Parameters
    ----------
    points : (n, 3) ndarray
        The face's points, all on a cylinder or cone [mm].
    triangles : (m, 3) ndarray
        Indices of points.
    origin, axis : (3,) ndarray
        A point on the face's axis [mm] and the axis' unit vector.
    chord_mm : float
        Largest depth of an edge's middle under the face [mm].

    Returns
    -------
    (m, 3) ndarray
        As many triangles; no edge is deeper than before.
    """
    relative = points - origin
    along = relative @ axis
    across = relative - np.outer(along, axis)
    first = across[int(np.argmax(np.linalg.norm(across, axis=1)))]
    first = first / np.linalg.norm(first)
    second = np.cross(axis, first)
    flat = np.column_stack([across @ first, across @ second])
    radius = np.linalg.norm(flat, axis=1)
    angle = np.arctan2(flat[:, 1], flat[:, 0])

    def depth(a: NDArray[np.int64] | int, b: NDArray[np.int64] | int) -> NDArray[np.float64]:
        middle = np.linalg.norm((flat[a] + flat[b]) / 2, axis=-1)
        return np.asarray((radius[a] + radius[b]) / 2 - middle)

    def area(corners: tuple[int, int, int]) -> float:
        """Signed area in the unrolled face, so that no turn folds it."""
        a, b, c = corners
        turn_b, turn_c = (
            (angle[other] - angle[a] + np.pi) % (2 * np.pi) - np.pi for other in (b, c)
        )
        return float(turn_b * (along[c] - along[a]) - turn_c * (along[b] - along[a]))

    result = [tuple(int(corner) for corner in triangle) for triangle in triangles]
    sense = np.sign(np.median([area(triangle) for triangle in result]))  # type: ignore[arg-type]
    owner = {
        (triangle[k], triangle[(k + 1) % 3]): index
        for index, triangle in enumerate(result)
        for k in range(3)
    }
    for _ in range(ROUNDS):
        edges = np.array([edge for edge in owner if edge[0] < edge[1]])
        deep = edges[depth(edges[:, 0], edges[:, 1]) > chord_mm]
        turned = False
        for a, b in deep.tolist():
            one, other = owner.get((a, b)), owner.get((b, a))
            if one is None or other is None:
                continue
            c = next(corner for corner in result[one] if corner not in (a, b))
            d = next(corner for corner in result[other] if corner not in (a, b))
            if (c, d) in owner or (d, c) in owner or depth(c, d) >= depth(a, b):
                continue
            pair = ((a, d, c), (d, b, c))
            if any(area(corners) * sense <= 1e-12 for corners in pair):
                continue
            for index, corners in zip((one, other), pair, strict=True):
                for k in range(3):
                    owner.pop((result[index][k], result[index][(k + 1) % 3]), None)
                result[index] = corners
            for index, corners in zip((one, other), pair, strict=True):
                for k in range(3):
                    owner[(corners[k], corners[(k + 1) % 3])] = index
            turned = True
        if not turned:
            break
    return np.array(result, dtype=np.int64)
