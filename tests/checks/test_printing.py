"""Process limits at drawn sizes, and heat, fluid and use before any size."""

from dataclasses import replace

import numpy as np
import pytest

from barbwright.checks.table import judge_all, judge_before
from barbwright.design.kinds import CONNECTORS
from barbwright.design.part import KINDS
from example_job import conditions_of, design_of, outcomes_of, with_material


@pytest.mark.parametrize(
    ("name", "capacity", "demand"),
    [
        ("exposed_wall", (6.5 - 2.5) / 2.0, 2.0),
        ("print_wall", (4.5 - 2.5) / 2.0, 1.0),
        ("print_nose", (4.01 - 2.5) / 2.0, 0.6),
        ("print_bore", 2.5, 2.5),
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
        ("neck=6.4mm", "exposed_wall"),
        ("hub_ball=7.9mm", "exposed_wall"),
        ("root=4.4mm", "print_wall"),
        ("tip_bore=3.8mm", "print_wall"),
        ("nose=3.6mm", "print_nose"),
        ("bore=2.4mm", "print_bore"),
        ("tip_bore=2.4mm", "print_bore"),
        ("land=0.4mm", "print_detail"),
    ],
)
def test_a_size_forced_under_its_limit_fails_that_limit(setting, name):
    one = outcomes_of("elbow", settings=(setting,))[name]
    assert one.verdict == "fail"
    assert one.capacity < one.demand


def test_taper_that_can_stand_proud_of_the_bark_keeps_the_exposed_wall():
    """Fat in the smallest hole: contact begins early and the rest of the seat stands out."""
    design = design_of("elbow")
    proud = float(design.tip.seat_mm) - (6.053125 - 5.95) / 0.05 - 9.6 - 8.0
    at_bark = float(design.tip.root_mm) - 0.05 * proud
    assert proud == pytest.approx(18.0, abs=0.1)
    wall = (at_bark - 2.5) / 2.0
    strict = with_material(design, min_wall_exposed_mm=wall + 0.001)
    assert judge_all(strict)["exposed_wall"].verdict == 2
    # Neck and hub were drawn for 2 mm, so the taper alone is looked at with a wide neck.
    roomy = design_of("elbow", settings=("neck=9mm", "hub_ball=20mm"))
    judged = judge_all(with_material(roomy, min_wall_exposed_mm=0.5))["exposed_wall"]
    assert judged.capacity == pytest.approx(min(wall, (9.0 - 2.5) / 2.0))


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
    [("4C", "not_checked"), ("5C", "pass"), ("60C", "pass"), ("61C", "fail")],
)
def test_heat(temperature, verdict):
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
