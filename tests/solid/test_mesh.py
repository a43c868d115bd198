import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import example_shapes as ex
from barbwright.design.shape import X_AXIS, Z_AXIS
from barbwright.errors import BuildError
from barbwright.solid import mesh as meshes
from barbwright.solid.build import body, volume
from barbwright.solid.mesh import (
    count_open_edges,
    heights,
    mesh_solid,
    remove_flat_triangles,
    weld,
)

CUBE = np.array([(x, y, z) for x in (0, 1) for y in (0, 1) for z in (0, 1)], float)
CUBE_FACES = np.array(
    [
        (0, 1, 3), (0, 3, 2), (4, 6, 7), (4, 7, 5), (0, 4, 5), (0, 5, 1),
        (2, 3, 7), (2, 7, 6), (0, 2, 6), (0, 6, 4), (1, 5, 7), (1, 7, 3),
    ]
)  # fmt: skip


@pytest.mark.parametrize("kind", ex.ALL)
def test_each_kind_meshes_closed_without_flat_triangles(kind):
    solid, mesh = ex.built(kind)
    assert count_open_edges(mesh.triangles) == 0
    assert heights(mesh.vertices.astype(float), mesh.triangles).min() > 1e-5
    assert mesh.volume_mm3 == pytest.approx(solid.volume_mm3, rel=0.003)


def test_volume_error_falls_in_proportion_to_the_chord_tolerance():
    cylinder = body(ex.cylinder("rod", 0, 10, 6, X_AXIS, Z_AXIS))
    exact = volume(cylinder)
    tolerances = [0.04, 0.01, 0.0025]
    errors = [1 - mesh_solid("rod", cylinder, chord).volume_mm3 / exact for chord in tolerances]
    slope = np.polyfit(np.log(tolerances), np.log(errors), 1)[0]
    assert 0.8 < slope < 1.2


def test_a_second_mesh_at_a_finer_tolerance_is_not_the_kept_one():
    ball = body(ex.ball("ball", 10))
    coarse, fine = mesh_solid("ball", ball, 0.05), mesh_solid("ball", ball, 0.005)
    again = mesh_solid("ball", ball, 0.05)
    assert len(fine.triangles) > 2 * len(coarse.triangles)
    assert np.array_equal(again.vertices, coarse.vertices)


def test_a_pole_in_open_surface_leaves_no_degenerate_triangle():
    mesh = mesh_solid("ball", body(ex.ball("ball", 4)))
    assert count_open_edges(mesh.triangles) == 0
    assert heights(mesh.vertices.astype(float), mesh.triangles).min() > 1e-4


@given(st.floats(-40, 40), st.floats(-4e-6, 4e-6), st.floats(-4e-6, 4e-6))
@settings(max_examples=50)
def test_neighbours_are_welded_wherever_they_lie(place, off_x, off_z):
    soup = CUBE[CUBE_FACES].reshape(-1, 3) + place
    soup[::2] += np.array([off_x, 0, off_z])
    points, triangles = weld(soup, np.arange(36).reshape(-1, 3))
    assert len(points) == 8
    assert count_open_edges(triangles) == 0


def test_a_needle_collapses_and_its_neighbours_close():
    points = np.vstack([CUBE, CUBE[0] + [0, 0, 5e-6]])
    # Point 8 splits the edge 0-1 next to 0: the facets on both sides get a needle each.
    needles = [(8, 1, 3), (0, 8, 3), (0, 5, 8), (8, 5, 1)]
    faces = np.vstack([np.delete(CUBE_FACES, [0, 5], axis=0), needles])
    assert count_open_edges(faces) == 0
    _, triangles = weld(points, faces)
    assert len(faces) == 14
    assert len(triangles) == 12
    assert count_open_edges(triangles) == 0


def test_a_cap_is_turned_away_and_the_mesh_stays_closed():
    # A point on the edge 0-3 between the two triangles of one side makes two caps.
    points = np.vstack([CUBE, (CUBE[0] + CUBE[3]) / 2 + [0, 1e-7, 0]])
    faces = np.vstack([CUBE_FACES[2:], [(0, 1, 8), (8, 1, 3), (0, 8, 3), (0, 3, 2)]])
    assert count_open_edges(faces) == 0
    assert heights(points, faces).min() < 1e-6
    mended = remove_flat_triangles(points, faces)
    assert count_open_edges(mended) == 0
    assert heights(points, mended).min() > 0.1


def test_holes_and_doubled_facets_are_counted():
    assert count_open_edges(CUBE_FACES) == 0
    assert count_open_edges(CUBE_FACES[1:]) == 3
    assert count_open_edges(np.vstack([CUBE_FACES, CUBE_FACES[:1]])) > 0


def test_a_mesh_that_does_not_close_is_refused(monkeypatch):
    monkeypatch.setattr(meshes, "_triangulate", lambda *_: (CUBE, CUBE_FACES[1:]))
    with pytest.raises(BuildError, match="not closed"):
        mesh_solid("cube", body(ex.ball("ball", 4)))
