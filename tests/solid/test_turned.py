import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import example_shapes as ex
from barbwright.design.shape import X_AXIS, Revolved, Shape
from barbwright.solid import mesh as meshes
from barbwright.solid.build import build
from barbwright.solid.mesh import count_open_edges, mesh_solid
from barbwright.solid.turned import turn_sagging_edges


def ticked_cone(lead: float, taper: float, length: float, ticks: int, width: float) -> Shape:
    root = lead + taper * length
    outline = [(0, 0, 0), (0, root / 2, 0), (length, lead / 2, 0), (length, 0, 0)]
    cuts = []
    for number in range(ticks):
        at = 2.0 + 2.0 * number
        radius = (root - taper * at) / 2
        cut = [
            (at - 0.25, radius - 0.5, 0),
            (at + 0.25, radius - 0.5, 0),
            (at + 0.25, radius + 1, 0),
            (at - 0.25, radius + 1, 0),
        ]
        for side in (X_AXIS, ex.LEFT):
            sweep = math.degrees(width / radius)
            cuts.append(
                Revolved(
                    name="tick",
                    outline=np.array(cut, float),
                    origin=(0, 0, 0),
                    axis=ex.DOWN,
                    towards=side,
                    sweep_deg=sweep,
                )
            )
    body = Revolved(name="cone", outline=np.array(outline, float), axis=ex.DOWN)
    return Shape(
        name="cone",
        adds=(body,),
        cuts=tuple(cuts),
        engravings=(),
        probes=(),
        walls=(),
        openings=2,
        volume_bounds_mm3=(0.0, 1e5),
    )


def deepest_edge(mesh, lead: float, taper: float, length: float) -> float:
    """How far the middle of any edge on the cone lies under it [mm]."""
    points = mesh.vertices.astype(float)
    drawn = (lead + taper * (length + points[:, 2])) / 2
    radius = np.hypot(points[:, 0], points[:, 1])
    inside = (points[:, 2] < -1e-4) & (points[:, 2] > -length + 1e-4)
    on_cone = np.abs(radius - drawn) < 1e-4
    triangles = mesh.triangles[on_cone[mesh.triangles].all(axis=1)]
    triangles = triangles[inside[triangles].any(axis=1)]
    depths = []
    for k in range(3):
        a, b = triangles[:, k], triangles[:, (k + 1) % 3]
        middle = (points[a] + points[b]) / 2
        depths.append((radius[a] + radius[b]) / 2 - np.hypot(middle[:, 0], middle[:, 1]))
    return float(np.concatenate(depths).max())


CONE = (5.65, 0.05, 30.0)


def test_without_turning_a_ticked_cone_breaks_the_tolerance_and_with_it_it_is_kept(monkeypatch):
    solid = build(ticked_cone(*CONE, ticks=6, width=2.0)).marked
    turned = mesh_solid("cone", solid)
    assert deepest_edge(turned, *CONE) < 0.0055
    monkeypatch.setattr(meshes, "turn_sagging_edges", lambda points, triangles, *_: triangles)
    plain = mesh_solid("cone", solid)
    assert deepest_edge(plain, *CONE) > 0.008, "the kernel has got better: turned.py can go"
    assert len(turned.triangles) == len(plain.triangles)


@pytest.mark.slow
@given(
    lead=st.floats(4, 8),
    taper=st.floats(0.02, 0.08),
    length=st.floats(14, 40),
    ticks=st.integers(1, 5),
    width=st.floats(1.0, 3.0),
)
@settings(max_examples=15)
def test_random_ticked_cones_keep_the_tolerance_and_never_fold(lead, taper, length, ticks, width):
    built = build(ticked_cone(lead, taper, length, ticks, width))
    mesh = mesh_solid("cone", built.marked)
    assert count_open_edges(mesh.triangles) == 0
    assert mesh.volume_mm3 == pytest.approx(built.volume_mm3, rel=0.004)
    assert deepest_edge(mesh, lead, taper, length) < 0.0075
    # Every facet on the cone looks away from the axis: none was folded over.
    corners = mesh.vertices.astype(float)[mesh.triangles]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    middle = corners.mean(axis=1)
    drawn = (lead + taper * (length + corners[..., 2])) / 2
    on_cone = (np.abs(np.hypot(corners[..., 0], corners[..., 1]) - drawn) < 1e-4).all(axis=1)
    on_cone &= (corners[..., 2].max(axis=1) - corners[..., 2].min(axis=1)) > 1e-3
    assert ((middle[:, :2] * normal[:, :2]).sum(axis=1)[on_cone] > 0).all()


def test_two_facets_across_a_quarter_turn_are_turned_to_run_along_the_axis():
    angles = np.radians([0, 30, 0, 30])
    heights = [0, 0, 10, 10]
    points = np.column_stack([np.cos(angles), np.sin(angles), heights])
    # Nothing to gain: both diagonals of an even strip are equally deep.
    strip = np.array([(0, 1, 3), (0, 3, 2)])
    axis = (np.zeros(3), np.array([0.0, 0.0, 1.0]))
    assert np.array_equal(turn_sagging_edges(points, strip, *axis, 0.001), strip)
    # Shear the upper ring by 20 degrees: one diagonal is deep, the other short.
    angles[2:] -= np.radians(20)
    points = np.column_stack([np.cos(angles), np.sin(angles), heights])
    deep = np.array([(0, 1, 2), (1, 3, 2)])
    turned = turn_sagging_edges(points, deep, *axis, 0.001)
    assert {frozenset(t) for t in turned.tolist()} == {frozenset((0, 1, 3)), frozenset((0, 3, 2))}
