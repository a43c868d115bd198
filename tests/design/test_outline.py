"""Outlines: closed, no self-crossing, tangent where an arc joins; volumes by closed form."""

from math import pi, sqrt

import numpy as np
import pytest

from barbwright.design.draw import shape_of
from barbwright.design.kinds import CONNECTORS
from barbwright.design.outline import (
    QUARTER,
    ball_to_neck,
    blend_end,
    half_ball,
    mirrored,
    outline,
    polyline,
    rectangle,
    revolved_volume,
)
from barbwright.design.shape import Extruded, Revolved
from example_job import DRIP, NYLON_68, SOFT_PVC, design_of

CASES = [(kind, more) for kind in CONNECTORS for more in ({}, NYLON_68, SOFT_PVC, DRIP)]
CASES += [("tip", {"bit": "10mm"}), ("elbow", {"hole": "6.2mm", "bark": "0mm"})]


def bodies():
    for kind, more in CASES:
        shape = shape_of(design_of(kind, **more), kind)
        for body in (*shape.adds, *shape.cuts):
            if isinstance(body, Revolved):
                yield pytest.param(body, id=f"{kind}-{len(more)}-{body.name}")


def crosses(points):
    """Whether any two segments that do not touch each other cross."""
    start, end = points, np.roll(points, -1, axis=0)
    count = len(points)

    def side(a, b, c):
        return (b[..., 0] - a[..., 0]) * (c[..., 1] - a[..., 1]) - (b[..., 1] - a[..., 1]) * (
            c[..., 0] - a[..., 0]
        )

    a, b = start[:, None], end[:, None]
    c, d = start[None], end[None]
    hit = (side(a, b, c) * side(a, b, d) < -1e-15) & (side(c, d, a) * side(c, d, b) < -1e-15)
    index = np.arange(count)
    apart = np.abs(index[:, None] - index[None])
    return bool(np.any(hit & (apart > 1) & (apart < count - 1)))


@pytest.mark.parametrize("body", list(bodies()))
def test_profile_is_sound(body):
    points = polyline(body.outline)
    assert np.all(np.isfinite(points))
    assert np.all(points[:, 1] >= -1e-9)
    steps = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    assert np.min(steps) > 1e-6
    assert not crosses(points)
    assert revolved_volume(body.outline) > 0.0


def test_the_crossing_test_sees_a_bow_tie():
    assert crosses(np.array([(0.0, 0.0), (2.0, 2.0), (2.0, 0.0), (0.0, 2.0)]))
    assert not crosses(np.array([(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)]))


def directions(profile):
    """Unit direction into and out of every vertex, arcs by their tangents."""
    after = np.roll(profile, -1, axis=0)
    turn = 4.0 * np.arctan(profile[:, 2])
    chord = np.arctan2(after[:, 1] - profile[:, 1], after[:, 0] - profile[:, 0])
    return chord - turn / 2.0, np.roll(chord + turn / 2.0, 1)


@pytest.mark.parametrize("kind", ["elbow", "tee"])
def test_ball_blend_and_neck_are_tangent(kind):
    shape = shape_of(design_of(kind), kind)
    for body in shape.adds:
        # The pad is a prism; nothing of it is blended into the ball.
        if body.name == "hub ball" or isinstance(body, Extruded):
            continue
        leaving, arriving = directions(body.outline)
        # Vertex 1 starts the ball's arc at its top, 2 joins the blend, 3 joins the neck.
        assert leaving[1] == pytest.approx(0.0, abs=1e-9)
        for vertex in (2, 3):
            assert leaving[vertex] == pytest.approx(arriving[vertex], abs=1e-6), body.name


def test_rounded_lead_edge_is_tangent_to_taper_and_end_face():
    shape = shape_of(design_of("elbow"), "elbow")
    tip = next(body for body in shape.adds if body.name == "tip")
    leaving, arriving = directions(tip.outline)
    arcs = [i for i in range(4, len(tip.outline)) if abs(tip.outline[i, 2]) > 1e-9]
    assert len(arcs) == 1
    (edge,) = arcs
    assert leaving[edge] == pytest.approx(arriving[edge], abs=1e-6)
    assert leaving[edge] == pytest.approx(-np.arctan(1.0 / 30.0), abs=1e-6)
    assert arriving[edge + 1] == pytest.approx(-pi / 2.0, abs=1e-6)
    # Its radius from the chord and the turn.
    chord = np.hypot(*(tip.outline[edge + 1, :2] - tip.outline[edge, :2]))
    turn = 4.0 * np.arctan(abs(tip.outline[edge, 2]))
    assert chord / 2.0 / np.sin(turn / 2.0) == pytest.approx(0.5)


def test_back_faces_have_their_root_radius():
    body = shape_of(design_of("barb"), "barb").adds[0]
    arcs = body.outline[np.abs(body.outline[:, 2]) > 1e-9]
    assert len(arcs) == 8  # three barbs and a shoulder on each side
    following = np.roll(body.outline, -1, axis=0)[np.abs(body.outline[:, 2]) > 1e-9]
    chords = np.hypot(*(following[:, :2] - arcs[:, :2]).T)
    turns = 4.0 * np.arctan(np.abs(arcs[:, 2]))
    each = [0.5, 0.2, 0.2, 0.2]  # the shoulder's is larger: a side force peaks there
    assert chords / 2.0 / np.sin(turns / 2.0) == pytest.approx([*each[::-1], *each])


def test_a_shoulder_s_radius_leaves_its_face_and_a_slim_step_takes_the_back_faces_radius():
    barb = design_of("barb").barbs[0]
    assert barb.shoulder_radius_mm == pytest.approx(0.5)
    slim = design_of("barb", ("root=5.1mm", "crest=5.7mm")).barbs[0]
    step = (max(slim.shoulder_mm, slim.neck_mm) - slim.root_mm) / 2.0
    assert slim.shoulder_radius_mm == pytest.approx(max(step - 0.3, 0.2))
    assert 0.2 <= slim.shoulder_radius_mm < 0.5


# --- volumes ---------------------------------------------------------------------------------


def test_volume_of_a_ball_a_tube_and_a_cone():
    assert revolved_volume(half_ball(10.0)) == pytest.approx(pi / 6.0 * 1000.0, rel=1.2e-3)
    tube = rectangle(1.0, 6.0, 2.5, 4.0)
    assert revolved_volume(tube) == pytest.approx(pi / 4.0 * (16.0 - 6.25) * 5.0, rel=1e-12)
    cone = np.array([(0.0, 0.0, 0.0), (0.0, 3.0, 0.0), (7.0, 0.0, 0.0)])
    assert revolved_volume(cone) == pytest.approx(pi / 3.0 * 9.0 * 7.0, rel=1e-12)


def test_volume_of_a_ring_of_round_section_by_pappus():
    ring = np.array([(-1.0, 5.0, 1.0), (1.0, 5.0, 1.0)])
    assert revolved_volume(ring) == pytest.approx(2.0 * pi**2 * 5.0, rel=3e-3)


def test_bulge_of_a_quarter_turn():
    arc = polyline(np.array([(1.0, 0.0, QUARTER), (0.0, 1.0, 0.0), (0.0, 0.0, 0.0)]))
    on_arc = arc[:25]
    assert np.hypot(on_arc[:, 0], on_arc[:, 1]) == pytest.approx(np.ones(25))


def test_where_the_blend_ends():
    run = ball_to_neck(10.0, 6.0, 0.5)
    assert run[-1][0] == pytest.approx(sqrt(5.5**2 - 3.5**2))
    assert blend_end(10.0, 6.0, 0.5) == pytest.approx(run[-1][0])
    # The junction lies on the ball.
    assert np.hypot(run[2][0], run[2][1]) == pytest.approx(5.0)


def test_mirrored_run_is_the_same_curve():
    run = [(0.0, 2.0, QUARTER), (1.0, 3.0, 0.0), (4.0, 3.0, 0.0), (4.0, 0.0, 0.0), (0.0, 0.0, 0.0)]
    there, back = (revolved_volume(outline(path, turned=False)) for path in (run, mirrored(run)))
    assert there == pytest.approx(back)
    assert mirrored(run)[0][0] == 0.0


def test_repeated_vertices_are_dropped_and_the_later_bulge_stays():
    kept = outline([(0.0, 1.0, 0.0), (0.0, 1.0, 0.3), (2.0, 1.0, 0.0)], turned=False)
    assert kept.shape == (2, 3)
    assert kept[0, 2] == 0.3


@pytest.mark.parametrize(
    ("run", "where"),
    [
        ([(0.0, 0.0, 0.0), (0.0, 2.0, 0.0), (5.0, 2.0, 0.0)], "end"),
        ([(0.0, 2.0, 0.0), (5.0, 2.0, 0.0), (5.0, 0.0, 0.0)], "begin"),
    ],
)
def test_a_turned_outline_that_leaves_its_axis_open_says_where(run, where):
    with pytest.raises(ValueError, match=f"must {where} on its axis .*given radius 2 mm"):
        outline(run)
    assert len(outline(run, turned=False)) == 3
