"""The pictures in use: drawn from the design's outlines, the same on sheet and card."""

import re
import xml.etree.ElementTree as ET
from itertools import pairwise

import numpy as np
import pytest

from barbwright.report.in_use import in_use
from example_job import design_of

NS = "{http://www.w3.org/2000/svg}"


def points_of(polygon):
    return np.array([[float(x) for x in pair.split(",")] for pair in polygon.get("points").split()])


def panels(kind, settings=(), **more):
    root = ET.fromstring(in_use(design_of(kind, settings, **more)))
    return root, root.findall(f"{NS}g")


@pytest.mark.parametrize("kind", ["elbow", "tee", "tip"])
def test_a_part_stands_in_its_hole_as_wide_as_the_drawing_says(kind):
    design = design_of(kind)
    _, (hole, _) = panels(kind)
    polygons = [points_of(one) for one in hole.findall(f"{NS}polygon")]
    wood, bark, bored = polygons[:3]
    conditions, tip = design.conditions, design.tip
    assert np.ptp(bark[:, 1]) == pytest.approx(float(conditions.bark_mm), abs=0.02)
    assert bored[:, 0].max() * 2.0 == pytest.approx(
        float(conditions.hole_low_mm + conditions.hole_high_mm) / 2.0, abs=0.02
    )
    assert np.ptp(bored[:, 1]) == pytest.approx(float(tip.hole_depth_mm), abs=0.02)
    # Down is positive here: the lead end lies in the wood, above the floor of the hole.
    lead = float(design.seat_root_mm + tip.seat_mm)
    drawn = max(points[:, 1].max() for points in polygons[3:])
    assert drawn == pytest.approx(lead, abs=0.02)
    assert wood[:, 1].min() < lead < bored[:, 1].max()


@pytest.mark.parametrize("kind", ["elbow", "tee"])
def test_the_driver_stands_with_its_roof_on_the_pad_and_its_wings_are_as_wide_as_drawn(kind):
    own = design_of("driver", ("arms=1" if kind == "elbow" else "arms=2",)).own
    design = design_of(kind)
    _, (_, under) = panels(kind)
    polygons = [points_of(one) for one in under.findall(f"{NS}polygon")]
    highest = -min(points[:, 1].min() for points in polygons)
    roof = float(design.hub.pad_height_mm)
    assert highest == pytest.approx(roof - float(own.depth_mm) + float(own.length_mm), abs=0.02)
    widest = max(points[:, 0].max() for points in polygons)
    assert 2.0 * widest == pytest.approx(float(own.span_mm), abs=0.02)
    said = " ".join(text.text for text in under.findall(f"{NS}text"))
    assert "fingertips" in said


def test_a_drivers_own_sheet_shows_the_part_it_is_for():
    assert in_use(design_of("driver", ("arms=2",))) == in_use(design_of("tee"))


@pytest.mark.parametrize("kind", ["barb", "cap", "collar"])
def test_what_is_not_tapped_in_has_no_picture(kind):
    assert in_use(design_of(kind)) == ""


def test_it_is_plain_svg_that_needs_nothing_from_outside():
    text = in_use(design_of("tee"))
    assert not re.search(r"href|url\(|<script|<image", text)
    assert text == in_use(design_of("tee"))


def test_no_word_lies_on_another():
    for kind in ("elbow", "tip"):
        root, groups = panels(kind)
        for group in groups:
            heights = sorted(float(text.get("y")) for text in group.findall(f"{NS}text"))
            assert all(b - a > 2.8 for a, b in pairwise(heights))
        assert root.get("role") == "img"
