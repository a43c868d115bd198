"""Re-entrant edges without a radius: found on the surface mesh, named, kept out of peaks."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from barbwright.design.draw import tick_positions
from barbwright.design.part import Design
from barbwright.design.shape import Engraving, Shape
from barbwright.design.single import single
from barbwright.prove.elastic import Points, places_of
from barbwright.prove.mesh import (
    AXES,
    arms_of,
    as_bent,
    bores_of,
    in_body,
    profile_distance,
)
from barbwright.prove.result import SharpEdge

Array = NDArray[np.float64]
# A barb's ramp leaves its root at 13.5 degrees and a tip's neck at less than two; neither is
# sharp: the stress at an inward corner of 20 degrees rises by under 2 % per halved element.
LEAST_ANGLE_DEG = 20.0
# Points across and up a line of letters, for its distance from a wetted face.
FLOOR_STEPS = 25


@dataclass(frozen=True)
class EdgeSet:
    """Sharp re-entrant edges as points on the modelled piece.

    Attributes
    ----------
    points_mm : (n, 3) ndarray
        Points on them [mm].
    edges : tuple of SharpEdge
        One entry a name.
    """

    points_mm: Array
    edges: tuple[SharpEdge, ...]
    # By identity: points hold arrays. They are kept too, or another could take their number.
    _distances: dict[int, tuple[Points, Array]] = field(
        default_factory=dict, compare=False, repr=False
    )

    def distance(self, points: Points) -> Array:
        """Return each stress point's distance to the nearest sharp edge [mm]."""
        from scipy.spatial import cKDTree

        if not len(self.points_mm):
            return np.full(len(points.position_mm), np.inf)
        if id(points) not in self._distances:
            found, _ = cKDTree(self.points_mm).query(points.position_mm)
            self._distances[id(points)] = points, found
        return self._distances[id(points)][1]


def sharp_edges(mesh: Any, planes: Sequence[int], design: Design[float], shape: Shape) -> EdgeSet:
    """Return the edges where the surface turns into the material without a radius.

    Parameters
    ----------
    mesh : ngsolve.Mesh
        Curved mesh with named boundaries.
    planes : sequence of int
        Planes of symmetry; what lies in them is inside the part.
    design, shape : Design, Shape
        Drawn sizes [mm], for names and distances.

    Returns
    -------
    EdgeSet
        Points and named edges.

    Source: own_derivation
    """
    with as_bent(mesh):
        middles, turns, lengths, names = reentrant(mesh, planes)
    sharp = turns >= LEAST_ANGLE_DEG
    middles, turns, lengths = middles[sharp], turns[sharp], lengths[sharp]
    names = [pair for pair, kept in zip(names, sharp, strict=True) if kept]
    groups: dict[str, list[int]] = defaultdict(list)
    for index, pair in enumerate(names):
        groups[_name(middles[index], pair, design)].append(index)
    edges = []
    for name, members in sorted(groups.items(), key=lambda group: _in_order(group[0])):
        distance = from_wetted(middles[members], shape)
        nearest = members[int(np.argmin(distance))]
        x, y, z = (float(value) for value in middles[nearest])
        edges.append(
            SharpEdge(
                name=name,
                angle_deg=float(turns[members].max()),
                length_mm=float(lengths[members].sum()),
                from_wetted_mm=float(distance.min()),
                position_mm=(x, y, z),
            )
        )
    if shape.engravings:
        edges.append(letters(design, shape))
    return EdgeSet(middles.reshape(-1, 3), tuple(edges))


def letters(design: Design[float], shape: Shape) -> SharpEdge:
    """Return the mark's letters, which the unmarked model leaves out, as one entry.

    Parameters
    ----------
    design, shape : Design, Shape
        What is drawn, with at least one engraving [mm].

    Returns
    -------
    SharpEdge
        Of no length in the model; its distance is that of the nearest point of the
        rectangles round the letters' floors.

    Source: own_derivation
    """
    floors = np.concatenate([floor_points(engraving) for engraving in shape.engravings])
    distance = from_wetted(floors, shape)
    x, y, z = (float(value) for value in floors[int(np.argmin(distance))])
    return SharpEdge(
        name=f"letters of the mark {design.mark.text}, engraved after this model",
        angle_deg=90.0,
        length_mm=0.0,
        from_wetted_mm=float(distance.min()),
        position_mm=(x, y, z),
    )


def floor_points(engraving: Engraving) -> Array:
    """Return points over the rectangle round a line of letters, on its floor, shape (n, 3) [mm].

    Parameters
    ----------
    engraving : Engraving
        The line.

    Source: own_derivation
    """
    along = np.asarray(engraving.x_direction, dtype=float)
    up = np.cross(np.asarray(engraving.normal, dtype=float), along)
    half = engraving.letters.width(engraving.text) / 2.0
    high = engraving.letters.cap_mm / 2.0
    across = np.linspace(-half, half, FLOOR_STEPS)[:, None, None] * along
    upright = np.linspace(-high, high, FLOOR_STEPS)[None, :, None] * up
    floor = np.asarray(engraving.origin, dtype=float) + across + upright
    return np.asarray(floor.reshape(-1, 3))


def _in_order(name: str) -> list[tuple[int, str]]:
    """Return a key that puts tick 2 before tick 10."""
    return [(int(word), "") if word.isdecimal() else (0, word) for word in name.split()]


def reentrant(
    mesh: Any, planes: Sequence[int]
) -> tuple[Array, Array, Array, list[tuple[str, str]]]:
    """Return every inner edge of the surface mesh that turns into the material.

    Parameters
    ----------
    mesh : ngsolve.Mesh
        Curved mesh.
    planes : sequence of int
        Planes of symmetry, left out.

    Returns
    -------
    middles : (n, 3) ndarray
        Middle of each edge [mm].
    turns : (n,) ndarray
        Angle between the two outward normals there; 0 where the edge stands out [degree].
    lengths : (n,) ndarray
        Straight length [mm].
    names : list of (str, str)
        Names of the two boundaries.
    """
    import ngsolve as ng

    # The middles of a triangle's edges, its corners, and a point inside.
    corners = [(1.0, 0.0), (0.0, 1.0), (0.0, 0.0)]
    pairs = [(0, 1), (1, 2), (2, 0)]
    mids = [tuple((corners[a][i] + corners[b][i]) / 2.0 for i in range(2)) for a, b in pairs]
    places = [(*p, 0.0) for p in [*mids, *corners, (1.0 / 3.0, 1.0 / 3.0)]]
    rule = ng.IntegrationRule(places, [0.0] * len(places))
    mapped = mesh.MapToAllElements(rule, ng.BND)
    xyz = places_of(mapped).reshape(-1, 7, 3)
    normal = np.asarray(ng.specialcf.normal(3)(mapped)).reshape(-1, 7, 3)
    numbers = [element.mat for element in mesh.Elements(ng.BND)]
    flat = {f"plane_{AXES[axis]}" for axis in planes}
    seen: dict[tuple[float, ...], tuple[int, int]] = {}
    rows: list[tuple[Array, float, float, tuple[str, str]]] = []
    for element, name in enumerate(numbers):
        if name in flat:
            continue
        for side in range(3):
            key = tuple(np.round(xyz[element, side], 6) + 0.0)
            if key not in seen:
                seen[key] = (element, side)
                continue
            other, at = seen.pop(key)
            first, second = normal[other, at], normal[element, side]
            turn = float(np.degrees(np.arccos(np.clip(first @ second, -1.0, 1.0))))
            inside = xyz[element, 6] - xyz[element, side]
            a, b = pairs[side]
            length = float(np.linalg.norm(xyz[element, 3 + a] - xyz[element, 3 + b]))
            if inside @ first <= 0.0:
                continue
            rows.append((xyz[element, side], turn, length, (numbers[other], name)))
    return (
        np.array([row[0] for row in rows]).reshape(-1, 3),
        np.array([row[1] for row in rows]),
        np.array([row[2] for row in rows]),
        [row[3] for row in rows],
    )


def from_wetted(points: Array, shape: Shape) -> Array:
    """Return the distance of points to the nearest bore or relief ball [mm].

    Parameters
    ----------
    points : (n, 3) ndarray
        Points in the material [mm].
    shape : Shape
        The outlines that were cut away.

    Source: own_derivation
    """
    least = np.full(len(points), np.inf)
    for bore in bores_of(shape):
        position, radius = in_body(bore, points)
        least = np.minimum(least, profile_distance(bore.outline, position, radius).min(axis=1))
    return least


def _name(point: Array, pair: tuple[str, str], design: Design[float]) -> str:
    if "tick" in pair and design.tip is not None:
        below = -float(point[2]) - design.seat_root_mm
        ticks = tick_positions(single(design))
        nearest = min(range(len(ticks)), key=lambda index: abs(ticks[index] - below))
        return f"tick {nearest + 1} of {len(ticks)}"
    if any(name.startswith("shoulder") for name in pair):
        return "shoulder face, where the tube stops"
    if "ring" in pair:
        return "shoulder ring's face"
    if set(pair) == {"wetted"}:
        return "cone between the two bores"
    for _, axis, start, _ in arms_of(design):
        if start - 1.5 < abs(float(point[axis])) < start + 1e-3:
            return "back of the shoulder's collar"
    x, y, z = point
    return f"unnamed corner at {x:.2f}, {y:.2f}, {z:.2f} mm"
