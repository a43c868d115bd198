"""The pictures in use: drawn from the design's outlines, the same on sheet and card."""

import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from barbwright.design.foot import foot_height
from barbwright.design.in_use import TEXT_MM
from barbwright.report.in_use import in_use, on_the_rig
from barbwright.say import newtons
from example_job import design_of, outcomes_of

NS = "{http://www.w3.org/2000/svg}"


def points_of(polygon):
    return np.array([[float(x) for x in pair.split(",")] for pair in polygon.get("points").split()])


def panels(kind, settings=(), **more):
    root = ET.fromstring(in_use(design_of(kind, settings, **more))).find(f"{NS}svg")
    return root, root.findall(f"{NS}g")


def key_of(kind):
    return ET.fromstring(in_use(design_of(kind))).findall("p")


def keys(kind):
    """What the numbers of each picture mean, as the page says it below them."""
    return ["".join(one.itertext()) for one in key_of(kind)]


@pytest.mark.parametrize("kind", ["elbow", "tee", "tip"])
def test_a_part_stands_in_its_hole_as_wide_as_the_drawing_says(kind):
    design = design_of(kind)
    _, (hole, *_) = panels(kind)
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
    _, (_, under, *_) = panels(kind)
    polygons = [points_of(one) for one in under.findall(f"{NS}polygon")]
    highest = -min(points[:, 1].min() for points in polygons)
    roof = float(design.hub.pad_height_mm)
    assert highest == pytest.approx(roof - float(own.depth_mm) + float(own.length_mm), abs=0.02)
    widest = max(points[:, 0].max() for points in polygons)
    assert 2.0 * widest == pytest.approx(float(own.span_mm), abs=0.02)
    assert "fingertips" in keys(kind)[1]


def test_a_drivers_own_sheet_shows_the_part_it_is_for():
    assert in_use(design_of("driver", ("arms=2",))) == in_use(design_of("tee"))


def test_a_forks_own_sheet_shows_the_part_it_is_for_and_other_sizes_by_hand():
    assert in_use(design_of("fork", ("arms=2",))) == in_use(design_of("tee"))
    assert in_use(design_of("fork", ("arms=2", "tine=20mm"))) != in_use(design_of("tee"))


def tool_of(panel):
    """The largest body in the tools' colour, and how far up its foot stands."""
    found = [one for one in panel.findall(f"{NS}polygon") if one.get("fill") == "#d5e0ea"]
    return max((points_of(one) for one in found), key=lambda points: np.ptp(points[:, 1]))


@pytest.mark.parametrize("kind", ["elbow", "tee", "tip"])
def test_the_forks_steps_lie_flat_on_the_bark_and_meet_the_part_from_below(kind):
    arms = {"elbow": ("arms=1",), "tee": ("arms=2",), "tip": ()}[kind]
    own, design = design_of("fork", arms).own, design_of(kind)
    _, (_, _, fork, _) = panels(kind)
    tool = tool_of(fork)
    polygons = [points_of(one) for one in fork.findall(f"{NS}polygon")]
    bark = polygons[1]
    # Down is positive here.
    assert tool[:, 1].max() == pytest.approx(bark[:, 1].min(), abs=0.02)
    assert np.ptp(tool[:, 1]) == pytest.approx(float(own.thick_mm), abs=0.02)
    assert np.ptp(tool[:, 0]) == pytest.approx(float(own.length_mm), abs=0.02)
    # So many steps go under as the gap holds, and the picture says so.
    foot = float(foot_height(design, own.slot_mm)) - float(design.seat_root_mm)
    free = bark[:, 1].min() + foot
    said = keys(kind)[2]
    assert f"count the steps that go under: {int(free / 2.0)}" in said
    assert "home: 4 fewer than by hand" in said
    # What stands left of the part is the block, over no more than the gap at its middle.
    under = [-v for u, v in tool if abs(u) < 1.0]
    assert max(under, default=0.0) <= foot + 1e-6


@pytest.mark.parametrize("kind", ["elbow", "tee", "tip"])
def test_the_pull_goes_up_from_eye_to_eye_in_line_with_the_tip(kind):
    arms = {"elbow": ("arms=1",), "tee": ("arms=2",), "tip": ()}[kind]
    own = design_of("fork", arms).own
    _, (*_, pull) = panels(kind)
    lines = [
        [float(line.get(key)) for key in ("x1", "y1", "x2", "y2")]
        for line in pull.findall(f"{NS}line")
    ]
    strands = sorted(x for x, low, end, high in lines if x == end != 0.0 and abs(low - high) > 10)
    assert len(strands) == 2
    assert strands[1] - strands[0] == pytest.approx(float(own.eyes_mm), abs=0.02)
    assert sum(strands) == pytest.approx(0.0, abs=0.02)
    said = [text.text for text in pull.findall(f"{NS}text")]
    assert newtons(outcomes_of(kind)["wood_hold"].advice["pull_n"], "up") in said
    assert ("never by an arm or tube" in keys(kind)[3]) == (kind != "tip")


@pytest.mark.parametrize("kind", ["barb", "cap", "collar"])
def test_what_is_not_tapped_in_has_no_picture(kind):
    assert in_use(design_of(kind)) == ""


def test_it_is_plain_svg_that_needs_nothing_from_outside():
    text = in_use(design_of("tee"))
    assert not re.search(r"href|url\(|<script|<image", text)
    assert text == in_use(design_of("tee"))


@pytest.mark.parametrize("kind", ["elbow", "tee", "tip"])
def test_no_number_lies_on_another_and_each_is_in_the_key(kind):
    root, groups = panels(kind)
    for group, key in zip(groups, key_of(kind), strict=True):
        texts = group.findall(f"{NS}text")
        places = [(float(one.get("x")), float(one.get("y"))) for one in texts]
        for index, (x, y) in enumerate(places):
            for u, v in places[:index]:
                assert abs(x - u) >= TEXT_MM - 0.01 or abs(y - v) >= TEXT_MM - 0.01
        numbers = [one.text for one in texts if one.text.isdigit()]
        assert numbers == [one.text for one in key.iter("b")]
    assert root.get("role") == "img"


@pytest.mark.parametrize("kind", ["elbow", "tee", "tip"])
def test_on_the_rig_a_plate_lies_on_what_the_tip_would_fly_with(kind):
    design = design_of(kind)
    held = ET.fromstring(on_the_rig([design])).find(f"{NS}svg").findall(f"{NS}g")[0]
    polygons = [points_of(one) for one in held.findall(f"{NS}polygon")]
    over = float(design.hub.pad_height_mm if design.hub else design.ring.thickness_mm)
    # Up is negative: some flat area has its underside on the pad or ring, and spans past it.
    plates = [p for p in polygons if abs(p[:, 1].max() + over) < 0.02 and np.ptp(p[:, 0]) > 10.0]
    assert plates
    wood, bored = polygons[:2]
    lead = float(design.seat_root_mm + design.tip.seat_mm)
    # The hole ends inside the block, below the tip.
    assert lead < bored[:, 1].max() < wood[:, 1].max()


def rigs(*kinds):
    """Titles of the rig's pictures and the words under them, in order."""
    root = ET.fromstring(on_the_rig([design_of(kind) for kind in kinds]))
    keys = [[one.text for one in key.iter("i")] for key in root.findall("p")]
    titles = [key.find("strong").text for key in root.findall("p")]
    return dict(zip(titles, keys, strict=True)), root.find(f"{NS}svg").findall(f"{NS}g")


def test_the_rig_shows_how_every_open_end_of_every_connector_is_closed_and_held():
    shown, _ = rigs("tee", "elbow", "driver", "tip", "barb", "cap", "fork", "tee")
    assert list(shown) == [
        "Tee, elbow: held", "Tee: closed", "Elbow: fed", "Tip: held, fed", "Barb: closed",
        "Cap: fed",
    ]  # fmt: skip
    for title, words in shown.items():
        held_down = "held" in title
        assert ("hardwood block" in words) == held_down
        # What closes an end is never without what keeps it there.
        assert held_down or any("stop" in one for one in words)
        assert not held_down or any("plate" in one for one in words)
        assert ("stub, cap, stop" in words) == (title in {"Tee: closed", "Barb: closed"})
    assert "bar over the feed's connector" in shown["Tip: held, fed"]
    assert on_the_rig([design_of("driver"), design_of("fork")]) == ""


@pytest.mark.parametrize("kind", ["tee", "elbow", "barb", "cap"])
def test_a_stop_stands_close_behind_every_tube_and_on_what_carries_it(kind):
    design, (_, panels) = design_of(kind), rigs(kind)
    polygons = [points_of(one) for one in panels[-1].findall(f"{NS}polygon")]
    half = max(float(barb.tube_on_crest_mm) for barb in design.barbs) / 2.0
    ground = max(polygons, key=lambda p: np.ptp(p[:, 0]))
    floor = ground[:, 1].min()
    stops = [p for p in polygons if abs(p[:, 1].max() - floor) < 0.02 and p[:, 1].min() < -half]
    # A cap's own head is at one end, and has its stop too.
    assert len(stops) == (2 if kind == "cap" else design.kind.arms)
    solid = [p for p in polygons if not any(p is one for one in (*stops, ground))]
    for stop in stops:
        middle = stop[:, 0].mean()
        face = stop[:, 0].min() if middle > 0.0 else stop[:, 0].max()
        ends = [p[:, 0].max() if middle > 0.0 else p[:, 0].min() for p in solid
                if p[:, 1].min() < 0.0 < p[:, 1].max()]  # fmt: skip
        gap = min(abs(face - end) for end in ends)
        assert 0.0 < gap < 1.5


def test_a_proof_test_names_the_piece_that_is_soaked_and_then_broken():
    from barbwright.checks.proof import ProofTest
    from barbwright.report.cards import proof_steps

    (told,) = [one for one in proof_steps(ProofTest(0.3, 1.5, 4.0), 30.0) if "soak" in one]
    assert "the one piece more of each part number, ordered for it, for 24 hours" in told
    assert told.index("soak") < told.index("breaks")
