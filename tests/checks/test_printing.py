"""Process limits at the sizes a part shall have, and heat, fluid and use before any size."""

from dataclasses import replace

import numpy as np
import pytest

from barbwright.checks import printing
from barbwright.checks.corners import worst_case
from barbwright.checks.table import judge_all, judge_before
from barbwright.design.kinds import CONNECTORS
from barbwright.design.part import KINDS
from example_job import conditions_of, design_of, outcomes_of, with_conditions, with_material


@pytest.mark.parametrize(
    ("name", "capacity", "demand"),
    [
        ("exposed_wall", (6.3 - 2.3) / 2.0, 2.0),
        ("print_wall", (4.35 - 2.3) / 2.0, 1.0),
        ("print_nose", (4.00 - 2.3) / 2.0, 0.6),
        ("print_bore", 2.0, 2.0),
        ("print_detail", 0.5, 0.5),
    ],
)
def test_demo_elbow(name, capacity, demand):
    one = outcomes_of("elbow")[name]
    assert (one.capacity, one.demand) == (pytest.approx(capacity), pytest.approx(demand))
    assert one.verdict == "pass"


@pytest.mark.parametrize(
    ("setting", "name"),
    [
        ("neck=6.2mm", "exposed_wall"),
        ("hub_ball=7.6mm", "exposed_wall"),
        ("root=4.2mm", "print_wall"),
        ("tip_bore=3.8mm", "print_wall"),
        ("nose=3.4mm", "print_nose"),
        ("bore=1.9mm", "print_bore"),
        ("tip_bore=1.9mm", "print_bore"),
        ("land=0.4mm", "print_detail"),
    ],
)
def test_a_size_forced_under_its_limit_fails_that_limit(setting, name):
    one = outcomes_of("elbow", settings=(setting,))[name]
    assert one.verdict == "fail"
    assert one.capacity < one.demand


def test_taper_that_can_stand_proud_of_the_bark_keeps_the_exposed_wall():
    """The fattest part that enters the smallest hole begins at its lead end and stands proudest."""
    # Neck and hub are made wide, so that the taper alone is looked at.
    design = design_of("elbow", settings=("neck=9mm", "hub_ball=20mm"))
    # The fattest, 6.05 mm, begins 0.003 mm under the hole.
    proud = float(design.tip.seat_mm) - 7.0 - 8.0 - (6.053125 - 6.05) * 15.0
    assert proud == pytest.approx(13.9, abs=0.05)
    wall = (float(design.tip.root_mm) - proud / 15.0 - 2.0) / 2.0

    def judged(limit):
        return judge_all(with_material(design, min_wall_exposed_mm=limit))["exposed_wall"]

    assert judged(wall - 0.001).capacity == pytest.approx(wall)
    assert (judged(wall - 0.001).verdict, judged(wall - 0.001).proved) == (0, False)
    # 0.9 of the limit, where the proof test of the batch is watched.
    assert (judged(wall / 0.9 - 0.001).verdict, judged(wall / 0.9 - 0.001).proved) == (0, True)
    assert judged(wall / 0.9 + 0.001).verdict == 2


def test_a_neck_and_a_hub_are_not_proved_in_the_field():
    design = design_of("elbow")
    judged = judge_all(with_material(design, min_wall_exposed_mm=2.01))["exposed_wall"]
    assert judged.verdict == 2


def test_the_wall_under_a_tick_that_stands_proud_keeps_three_quarters_of_the_limit():
    """What is left at the bark under a tick, against 0.75 x 2 mm."""
    design = design_of("elbow", settings=("neck=9mm", "hub_ball=20mm"))
    deep = replace(design, tip=replace(design.tip, tick_depth_mm=(5.76 + 1.0 - 2.0) / 2.0 - 1.49))
    assert judge_all(design)["exposed_wall"].verdict == 0
    assert judge_all(deep)["exposed_wall"].verdict == 2
    assert judge_all(deep)["exposed_wall"].demand == pytest.approx(1.5)


def test_thin_bark_counts_for_walls_and_thick_bark_for_length():
    both = design_of("elbow", bark="5..12mm").conditions
    assert (both.bark_least_mm, both.bark_mm) == (5.0, 12.0)
    thin, thick, mixed = (design_of("elbow", bark=bark) for bark in ("5mm", "12mm", "5..12mm"))
    assert mixed.tip.seat_mm == thick.tip.seat_mm > thin.tip.seat_mm
    wall = {
        name: judge_all(with_material(one, min_wall_exposed_mm=3.0))["exposed_wall"].capacity
        for name, one in (("thin", thin), ("mixed", mixed))
    }
    assert wall["mixed"] == pytest.approx(wall["thin"], abs=0.001)


def test_a_long_thin_bore_keeps_its_powder():
    """Half the way from the lead end to the relief ball is at most 12 bores."""
    short, long = (
        outcomes_of("elbow")["print_bore"],
        outcomes_of("elbow", bark="40mm")["print_bore"],
    )
    assert short.demand == 2.0
    design = design_of("elbow", bark="40mm")
    length = design.tip.seat_mm + design.seat_root_mm - design.hub.relief_mm / 2.0
    assert long.demand == pytest.approx(length / 24.0)
    # The bore grows with the longest tip of its taper, so that it can be cleared.
    assert design.tip.bore_mm > 2.0
    assert long.verdict == "pass"
    assert (
        outcomes_of("elbow", settings=("seat=60mm", "tip_bore=2mm"))["print_bore"].verdict == "fail"
    )


def test_build_box_side_by_side_largest_to_largest():
    design = design_of("tee")
    sides = sorted(float(side) for side in design.envelope_mm)
    just = with_material(design, build_box_mm=tuple(sides[::-1]))
    assert judge_all(just)["build_box"].verdict == 0
    for index in range(3):
        small = list(sides)
        small[index] -= 0.01
        assert judge_all(with_material(design, build_box_mm=tuple(small)))["build_box"].verdict == 2


@pytest.mark.parametrize(
    ("temperature", "verdict"),
    [("4C", "not_checked"), ("5C", "pass"), ("55C", "pass"), ("56C", "fail"), ("61C", "fail")],
)
def test_heat(temperature, verdict):
    # MJF PA12 is known up to 60 C, polyethylene tube up to 55 C: the lower is the limit.
    one = outcomes_of("barb", temperature=temperature)["heat"]
    assert one.verdict == verdict
    assert one.safety_factor is None


@pytest.mark.parametrize(
    ("fluid", "verdict"),
    [
        ("water", "pass"),
        ("alcohol", "caution"),
        ("strong_mineral_acid", "fail"),
        ("chloride_brine", "fail"),
        ("unknown", "not_checked"),
    ],
)
def test_fluid_by_the_record_of_mjf_pa12(fluid, verdict):
    assert outcomes_of("barb", fluid=fluid)["fluid"].verdict == verdict


@pytest.mark.parametrize("kind", CONNECTORS)
@pytest.mark.parametrize("flag", ["tapping", "pressure", "field"])
def test_use_by_the_flags_of_the_record(kind, flag):
    base = conditions_of()
    none = replace(base, suitability=replace(base.suitability, **{flag: False}))
    judged = judge_before(KINDS[kind], none)
    needed = flag != "tapping" or KINDS[kind].tip
    assert int(np.ravel(judged["use"].verdict)[0]) == (2 if needed else 0)


def test_before_sizing_only_what_needs_no_size():
    assert set(judge_before(KINDS["elbow"], conditions_of())) == {"heat", "fluid", "use"}


def test_an_in_line_tips_bore_is_cleared_from_its_end_and_its_ring_is_a_wall():
    """No relief ball stands in the way, and half of the bore's length is at most 12 bores."""
    design = design_of("tip", settings=("seat=60mm",))
    found = printing.print_bore(worst_case(design))
    length = float(design.tip.seat_mm + design.seat_root_mm)
    assert np.ravel(found.demand)[-1] == pytest.approx(length / 24.0)
    ring = (float(design.ring.ring_mm) - max(float(design.bore_mm), float(design.tip.bore_mm))) / 2
    assert np.ravel(printing.exposed_wall(worst_case(design)).capacity)[0] == pytest.approx(ring)


def test_the_hub_round_its_relief_and_the_taper_at_its_end_are_walls():
    """Half of what a diameter leaves beside the one inside it: 10 mm about 4 leave 3 mm."""
    design = design_of("elbow", settings=("hub_ball=10mm",))
    design = replace(
        design,
        hub=replace(design.hub, relief_mm=np.full_like(design.hub.relief_mm, 4.0)),
        tip=replace(design.tip, lead_mm=np.full_like(design.tip.lead_mm, 5.0)),
    )
    case = worst_case(design)
    assert 3.0 in np.ravel(printing.exposed_wall(case).capacity)
    bore = float(np.ravel(design.tip.bore_mm)[0])
    assert np.min(abs(np.ravel(printing.print_wall(case).capacity) - (5.0 - bore) / 2.0)) < 1e-12


@pytest.mark.parametrize(
    ("fluid", "capacity"), [("water", 1.0), ("alcohol", 1.0), ("strong_mineral_acid", 0.0)]
)
def test_what_a_record_allows_or_cautions_is_one_and_what_it_refuses_nought(fluid, capacity):
    assert outcomes_of("barb", fluid=fluid)["fluid"].capacity == capacity


def test_an_unknown_liquid_is_asked_for_by_its_option():
    assert "--fluid" in outcomes_of("barb", fluid="unknown")["fluid"].because


def test_below_5_c_it_says_why_nothing_is_known():
    assert outcomes_of("barb", temperature="4C")["heat"].because.startswith("below 5 C")


def test_the_lowest_tick_stands_no_higher_than_the_plain_neck_begins():
    """Under bark thicker than the tip is long, it is the last of the taper's own length."""
    design = with_conditions(design_of("elbow"), bark_least_mm=1000.0)
    tip = design.tip
    found = np.ravel(printing.print_wall(worst_case(design)).capacity)[-1]
    top = float(tip.root_mm) - float(tip.tick_mm) / 15.0
    assert found == pytest.approx((top - float(tip.bore_mm)) / 2.0 - float(tip.tick_depth_mm))
