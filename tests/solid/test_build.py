import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import example_shapes as ex
from barbwright.design.shape import X_AXIS, Y_AXIS, Z_AXIS, Engraving, Extruded, Revolved, Shape
from barbwright.errors import BuildError
from barbwright.solid.build import arc_middle, body, build, volume
from barbwright.solid.mesh import mesh_solid
from oracles import measure_mesh


def simple(*adds, cuts=(), bounds=(0.0, 1e6)) -> Shape:
    return Shape(
        name="plain",
        adds=adds,
        cuts=tuple(cuts),
        engravings=(),
        probes=(),
        walls=(),
        openings=2,
        volume_bounds_mm3=bounds,
    )


@pytest.mark.parametrize("kind", ex.ALL)
def test_each_kind_builds_as_one_valid_solid_with_and_without_its_mark(kind):
    solid, _ = ex.built(kind)
    assert solid.volume_mm3 > 0
    if solid.shape.engravings:
        assert solid.volume_mm3 < solid.unmarked_volume_mm3
        assert solid.volume_mm3 > solid.unmarked_volume_mm3 * 0.995
    else:
        assert solid.marked is solid.unmarked


@given(
    radius=st.floats(0.2, 30),
    length=st.floats(0.2, 60),
    inner_share=st.floats(0.1, 0.9),
    sweep=st.floats(5, 360),
    axis=st.sampled_from([(X_AXIS, Y_AXIS), (Y_AXIS, Z_AXIS), (Z_AXIS, (-1.0, 0.0, 0.0))]),
)
@settings(max_examples=40)
def test_a_revolved_ring_has_the_volume_of_a_ring_and_stands_towards_its_direction(
    radius, length, inner_share, sweep, axis
):
    inner = radius * inner_share
    outline = np.array([(0, inner, 0), (length, inner, 0), (length, radius, 0), (0, radius, 0)])
    ring = Revolved(
        name="ring",
        outline=outline,
        origin=(1.0, 2.0, 3.0),
        axis=axis[0],
        towards=axis[1],
        sweep_deg=sweep,
    )
    solid = body(ring)
    expected = math.pi * (radius**2 - inner**2) * length * sweep / 360
    assert volume(solid) == pytest.approx(expected, rel=1e-6)
    centre = centre_of(solid) - np.array(ring.origin)
    assert centre @ np.array(ring.axis) == pytest.approx(length / 2, rel=1e-6)
    half = math.radians(sweep) / 2
    arm = 2 / 3 * (radius**3 - inner**3) / (radius**2 - inner**2) * math.sin(half) / half
    assert centre @ np.array(ring.towards) == pytest.approx(arm, rel=1e-6, abs=1e-6 * radius)
    sideways = np.cross(ring.axis, ring.towards)
    assert centre @ sideways == pytest.approx(0, abs=1e-6 * radius)


@given(radius=st.floats(0.5, 20), share=st.floats(-0.9, 0.9))
@settings(max_examples=25)
def test_bulges_are_true_arcs_a_ball_cut_at_any_height_has_the_volume_of_a_cap(radius, share):
    cut = radius * share
    edge = math.sqrt(radius**2 - cut**2)
    # From the pole at -radius clockwise to the cut at `cut`.
    angle = math.pi - math.atan2(edge, cut)
    outline = np.array([(-radius, 0, -math.tan(angle / 4)), (cut, edge, 0), (cut, 0, 0)])
    height = cut + radius
    expected = math.pi * height**2 * (3 * radius - height) / 3
    assert volume(body(Revolved(name="cap", outline=outline))) == pytest.approx(expected, rel=1e-6)


@given(angle=st.floats(-6, 6).filter(lambda a: abs(a) > 0.01), turn=st.floats(0, 6))
def test_the_middle_of_an_arc_lies_on_its_circle(angle, turn):
    centre = np.array([3.0, -2.0])
    start, middle, end = (
        centre + 5 * np.array([math.cos(a), math.sin(a)])
        for a in (turn, turn + angle / 2, turn + angle)
    )
    assert np.allclose(arc_middle(start, end, math.tan(angle / 4))[:2], middle, atol=1e-6)


def test_a_prism_stands_on_its_plane_along_its_normal():
    outline = np.array([(0, 0, 0), (4, 0, 0), (4, 2, 1.0), (0, 2, 0)])
    prism = Extruded(
        name="slot",
        outline=outline,
        depth_mm=3.0,
        origin=(1.0, 1.0, 1.0),
        normal=Y_AXIS,
        x_direction=X_AXIS,
    )
    solid = body(prism)
    # The bulge of 1 from (4, 2) to (0, 2) adds half a disc of radius 2.
    assert volume(solid) == pytest.approx((8 + 2 * math.pi) * 3, rel=1e-6)
    centre = centre_of(solid)
    assert centre[1] == pytest.approx(2.5, abs=1e-6)
    assert centre[0] == pytest.approx(3.0, abs=1e-6)
    assert centre[2] < 1.0  # normal x x-direction: y of the plane is -Z here


def centre_of(solid) -> np.ndarray:
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(solid, properties)
    centre = properties.CentreOfMass()
    return np.array([centre.X(), centre.Y(), centre.Z()])


def test_two_bodies_apart_are_refused():
    one = ex.cylinder("one", 0, 1, 2, X_AXIS, Z_AXIS)
    two = ex.cylinder("two", 5, 6, 2, X_AXIS, Z_AXIS)
    with pytest.raises(BuildError, match=r"not one body.*2"):
        build(simple(one, two))


def test_a_volume_out_of_bounds_is_refused():
    one = ex.cylinder("one", 0, 1, 2, X_AXIS, Z_AXIS)
    with pytest.raises(BuildError, match="volume cannot be right"):
        build(simple(one, bounds=(4.0, 5.0)))
    assert build(simple(one, bounds=(3.0, 4.0))).volume_mm3 == pytest.approx(math.pi)


def test_an_open_or_empty_result_is_refused():
    one = ex.cylinder("one", 0, 1, 2, X_AXIS, Z_AXIS)
    with pytest.raises(BuildError, match=r"not one body.*0"):
        build(simple(one, cuts=[ex.cylinder("all", -1, 2, 3, X_AXIS, Z_AXIS)]))


def line(text, origin, depth=0.4):
    return Engraving(text=text, letters=ex.LETTERS, origin=origin, normal=Z_AXIS,
                     x_direction=X_AXIS, depth_mm=depth)  # fmt: skip


def test_a_mark_that_misses_the_part_is_refused():
    with pytest.raises(BuildError, match="line A does not reach"):
        build(replace(ex.barb(), engravings=(line("A", (0, 0, 20), 1.0),)))


@pytest.mark.parametrize("away", [(0, 0, 10.1), (10, 0, 9.8)])
def test_a_line_that_floats_or_runs_off_is_refused_beside_one_that_reaches(away):
    """Together the two have half of their letters in the part."""
    block = simple(ex.cylinder("block", 0, 10, 20, Z_AXIS, X_AXIS), bounds=(0.0, 1e9))
    reaches = line("NEAR", (0, 0, 9.8))
    assert build(replace(block, engravings=(reaches,))).volume_mm3 < math.pi * 10**2 * 10
    with pytest.raises(BuildError, match=r"line FAR does not reach.*floor.*limit: 99%"):
        build(replace(block, engravings=(reaches, line("FAR", away))))


@pytest.mark.parametrize("floor", [5.0, 9.5])
def test_a_mark_that_lies_buried_is_refused(floor):
    """Its floor is whole, but its letters are a void that no eye and no powder gets out of."""
    block = simple(ex.cylinder("block", 0, 10, 20, Z_AXIS, X_AXIS), bounds=(0.0, 1e9))
    with pytest.raises(BuildError, match=r"line A lies buried .*100% of its letters.*limit: 1%"):
        build(replace(block, engravings=(line("A", (0, 0, floor)),)))
    flush = build(replace(block, engravings=(line("A", (0, 0, 9.6)),)))
    assert flush.volume_mm3 < flush.unmarked_volume_mm3


def test_a_mark_on_a_very_large_part_is_no_mark_that_misses():
    """Of 18 litres its letters are less than a millionth."""
    block = simple(ex.cylinder("block", 0, 200, 340, Z_AXIS, X_AXIS), bounds=(0.0, 1e9))
    built = build(replace(block, engravings=(line("A", (0, 0, 199.8)),)))
    removed = built.unmarked_volume_mm3 - built.volume_mm3
    assert 0.0 < removed < 1e-6 * built.unmarked_volume_mm3


SIZES = st.builds(
    ex.Sizes,
    bore=st.floats(1.5, 2.5),
    tip_bore=st.floats(1.2, 1.5),
    root=st.floats(4.5, 5.2),
    crest=st.floats(5.8, 6.4),
    nose=st.floats(4.0, 4.4),
    neck=st.floats(6.0, 7.0),
    hub=st.floats(11.5, 14.0),
    lead=st.floats(5.0, 6.0),
    seat=st.floats(25.0, 40.0),
    blend=st.floats(0.5, 0.8),
    pad=st.floats(9.0, 14.0),
    mark=st.sampled_from(["", "7", "15/64", "#7 0.170 B", "X"]),
)


@pytest.mark.slow
@given(kind=st.sampled_from(sorted(ex.ALL)), sizes=SIZES)
@settings(max_examples=6, suppress_health_check=[HealthCheck.too_slow])
def test_a_random_part_builds_meshes_and_measures_as_drawn(kind, sizes):
    shape = ex.ALL[kind](sizes)
    solid = build(shape)
    mesh = mesh_solid(kind, solid.marked)
    report = measure_mesh((mesh.vertices, mesh.triangles), shape, solid.volume_mm3)
    assert report.euler_number == shape.euler_number
    assert len(report.measured) == len(shape.probes) + len(shape.walls) > 0
