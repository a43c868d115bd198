"""From sizes to a shape: openings, probes that ask for drawn sizes, bounds of volume."""

import numpy as np
import pytest

from barbwright.design.draw import shape_of
from barbwright.design.kinds import CONNECTORS
from barbwright.design.part import dimensions
from barbwright.design.shape import Extruded, Revolved
from example_job import NYLON_68, design_of


@pytest.mark.parametrize(("kind", "euler"), [("barb", 0), ("tip", 0), ("elbow", 0), ("tee", -2)])
def test_euler_number_of_the_table(kind, euler):
    assert shape_of(design_of(kind), kind).euler_number == euler


def test_a_pair_of_side_ports_lowers_the_euler_number_by_four():
    shape = shape_of(design_of("elbow", settings=("side_ports=1",)), "elbow")
    assert shape.euler_number == -4
    assert "side ports" in [cut.name for cut in shape.cuts]


@pytest.mark.parametrize("kind", CONNECTORS)
@pytest.mark.parametrize("tube", [{}, NYLON_68])
def test_every_probe_asks_for_a_size_the_outline_really_has(kind, tube):
    """The outline's own radius at the probe's place, by interpolation."""
    shape = shape_of(design_of(kind, **tube), kind)
    found = 0
    for probe in shape.probes:
        if probe.side != "outer" or "ball" in probe.name or "pad" in probe.name:
            continue
        for body in shape.adds:
            if not isinstance(body, Revolved):
                continue
            sign = float(np.dot(body.axis, probe.axis))
            reach = body.outline[:, 0]
            at = probe.at_mm * sign
            if abs(sign) < 0.5 or not reach.min() <= at <= reach.max():
                continue
            radius = outer_radius(body.outline, at)
            if radius == pytest.approx(probe.diameter_mm / 2.0, abs=1e-6):
                found += 1
                break
        else:
            pytest.fail(f"{probe.name}: no body has {probe.diameter_mm} at {probe.at_mm}")
    assert found >= 3


def outer_radius(profile, at):
    after = np.roll(profile, -1, axis=0)
    radii = []
    for (x0, r0, bulge), (x1, r1, _) in zip(profile, after, strict=True):
        if abs(bulge) < 1e-12 and min(x0, x1) <= at <= max(x0, x1) and abs(x1 - x0) > 1e-12:
            radii.append(r0 + (r1 - r0) * (at - x0) / (x1 - x0))
    return max(radii, default=float("nan"))


@pytest.mark.parametrize("kind", CONNECTORS)
def test_volume_bounds_enclose_something(kind):
    low, high = shape_of(design_of(kind), kind).volume_bounds_mm3
    assert 0.0 <= low < high


def test_a_mark_takes_from_the_least_volume_what_its_letters_rectangle_holds():
    shape = shape_of(design_of("cap"), "cap")
    (low, high), (marked, same) = shape.volume_bounds_mm3, shape.marked_bounds_mm3
    assert shape.engravings
    box = sum(
        one.letters.width(one.text) * one.letters.cap_mm * one.depth_mm for one in shape.engravings
    )
    assert same == high
    assert low - marked == pytest.approx(box)
    assert 0.0 < box < 0.2 * low


def test_the_in_line_tip_is_one_outline_and_its_volume_is_the_sum_of_its_pieces():
    design = design_of("tip")
    low, high = shape_of(design, "tip").volume_bounds_mm3
    tip, ring, barb = design.tip, design.ring, design.barbs[0]
    a, b = float(tip.lead_mm) / 2.0, float(tip.root_mm) / 2.0
    taper = np.pi / 3.0 * float(tip.seat_mm) * (a * a + a * b + b * b)
    neck = np.pi * b * b * 3.0
    disc = np.pi / 4.0 * float(ring.ring_mm) ** 2 * 3.0
    least = np.pi / 4.0 * float(barb.nose_mm) ** 2 * float(barb.insertion_mm)
    most = np.pi / 4.0 * float(barb.crest_mm) ** 2 * float(barb.insertion_mm)
    assert 0.99 * (taper + neck + disc + least) < high < 1.01 * (taper + neck + disc + most)
    assert low < high


@pytest.mark.parametrize("kind", CONNECTORS)
def test_dimensions_name_their_units_and_are_plain(kind):
    sizes = dimensions(design_of(kind))
    plain = {"barb_count", "expansion", "taper"}
    for name, value in sizes.items():
        assert name.endswith("_mm") or name.removeprefix("second_") in plain, name
        assert np.isfinite(value), name
    assert sizes["bore_diameter_mm"] == 2.3
    assert len(str(sizes["insertion_mm"])) < 12


def test_an_envelope_holds_every_outline():
    for kind in CONNECTORS:
        design = design_of(kind)
        shape = shape_of(design, kind)
        spans = {}
        for body in shape.adds:
            prism = isinstance(body, Extruded)
            way = body.normal if prism else body.axis
            along = np.array([0.0, body.depth_mm]) if prism else body.outline[:, 0]
            axis = int(np.argmax(np.abs(way)))
            places = body.origin[axis] + way[axis] * along
            ends = (float(places.min()), float(places.max()))
            low, high = spans.get(axis, (0.0, 0.0))
            spans[axis] = (min(low, ends[0]), max(high, ends[1]))
        long = max(high - low for low, high in spans.values())
        assert long <= max(float(side) for side in design.envelope_mm) + 1e-6, kind
        assert long >= max(float(side) for side in design.envelope_mm) - 1e-6, kind
