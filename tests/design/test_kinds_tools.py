"""Driver, fork and drill stop: sized from the tip they serve, judged by checks of their own."""

import itertools
from dataclasses import replace

import numpy as np
import pytest

from barbwright.checks.table import judge_all, overall, wanted
from barbwright.design.draw import shape_of
from barbwright.design.foot import foot_height
from barbwright.design.kinds import CONNECTORS, KINDS, TOOLS
from barbwright.design.kinds.fork import cup_rim, step_numbers, stepped_side
from barbwright.design.part import FORCED_SIZES, design_part, dimensions
from barbwright.design.refusals import refusals, refused
from barbwright.design.tip import hand_travel
from barbwright.job import numbers
from example_job import (
    conditions_of,
    design_of,
    job_of,
    outcomes_of,
    with_conditions,
    with_material,
)

FOOTED = ("arms=2",)


def test_a_fork_counts_no_tick_past_the_window_and_leaves_the_rest_to_a_rule():
    for settings, told in ((), "Tap until 4 fewer go under"), (
        ("contact=9mm",), "Tap until 4 fewer go under, and the rest to 9 mm by a rule",
    ):  # fmt: skip
        fork = design_of("fork", ("arms=2", *settings))
        assert fork.own.notes[0].endswith(told)
        tip = fork.own.host.tip
        assert tip.ticks * tip.tick_pitch_mm <= tip.window_high_mm


def test_every_tool_tells_which_kind_of_part_it_is_made_for():
    """The search for a taper asks that kind; a tool without it would get no seat to fit."""
    assert all((kind.host is not None) == (not kind.carries) for kind in KINDS.values())


def test_the_registry_tells_what_carries_liquid_from_what_does_not():
    assert set(CONNECTORS) == {"barb", "tip", "elbow", "tee", "cap"}
    assert set(TOOLS) == {"driver", "fork", "collar"}
    assert set(KINDS) == set(CONNECTORS) | set(TOOLS)
    for kind in KINDS.values():
        assert set(kind.sizes) <= set(FORCED_SIZES)
        assert kind.needs_bit or not kind.tip


@pytest.mark.parametrize("kind", TOOLS)
def test_demo_tools_pass(kind):
    outcomes = outcomes_of(kind)
    assert overall(outcomes.values()) == "pass"
    assert not [n for n, one in outcomes.items() if one.verdict == "not_checked"]
    assert not {"barb_seal", "side_load", "fluid", "exposed_wall", "tip_wall"} & set(outcomes)


@pytest.mark.parametrize(
    ("kind", "settings", "euler"),
    [
        ("driver", (), 2),
        ("driver", FOOTED, 2),
        ("fork", (), -2),
        ("fork", FOOTED, -2),
        ("collar", (), -2),
    ],
)
def test_euler_numbers(kind, settings, euler):
    assert shape_of(design_of(kind, settings), "tool").euler_number == euler


# --- driver -----------------------------------------------------------------------------------


def test_the_driver_goes_over_the_barb_and_bears_on_the_ring():
    tip, driver = design_of("tip"), design_of("driver").own
    # Crest 5.10, twice 0.3 for two prints, and the smallest detail of 0.5.
    assert driver.socket_mm == pytest.approx(6.20)
    assert driver.sleeve_mm >= tip.ring.ring_mm
    assert driver.depth_mm > tip.barbs[0].insertion_mm + 0.6
    assert driver.length_mm - driver.depth_mm >= 8.0


def test_the_footed_driver_passes_the_arms_and_bears_on_the_pad():
    tee, driver = design_of("tee"), design_of("driver", FOOTED).own
    assert driver.socket_mm > max(tee.hub.ball_mm, tee.hub.pad_mm) + 0.6
    assert driver.slot_mm > max(tee.neck_mm, tee.barbs[0].tube_on_crest_mm) + 0.6
    # From its roof on the pad down past the arms' axis, and no lower than the necks.
    arms_at = driver.depth_mm - tee.hub.pad_height_mm
    assert arms_at == pytest.approx(tee.neck_mm / 2.0, abs=0.1)
    assert driver.slot_height_mm - arms_at == pytest.approx(driver.slot_mm / 2.0)
    # Its legs end above the bark even where the neck stands on it.
    assert arms_at < tee.seat_root_mm


def test_the_footed_driver_turns_the_pad_by_a_hexagon_that_goes_over_it_and_cannot_slip():
    tee, driver = design_of("tee"), design_of("driver", FOOTED).own
    pad = tee.hub.pad_mm
    assert driver.flats_mm >= pad + 0.6
    # Lean pad, wide hexagon: the corners still stand in its way.
    assert 2.0 / np.sqrt(3.0) * (pad - 0.3) > driver.flats_mm + 0.3
    assert driver.flats_height_mm == pytest.approx(tee.hub.pad_thickness_mm)
    # Over the pad's corners the sleeve goes as well.
    assert driver.socket_mm > 2.0 / np.sqrt(3.0) * pad + 0.6


@pytest.mark.parametrize("bit", ["7/32", "15/64", "1/4"])
def test_the_wings_give_way_before_the_weakest_tip_breaks(bit):
    """By how much: the torque itself is worked out anew in checks/test_tools."""
    one = outcomes_of("driver", FOOTED, bit=bit)["driver_wings"]
    tee = outcomes_of("tee", bit=bit)["twist_out"]
    assert one.verdict == "pass"
    assert 0.8 * tee.capacity < one.demand <= 0.9 * tee.capacity + 1e-6
    # As drawn they stay under the torque that is safe by hand.
    assert one.advice["wings_nm"] * 1000.0 < tee.capacity / 1.5


@pytest.mark.parametrize("wood", ["oak northern red", "maple sugar", "ash white"])
def test_each_tool_frees_what_is_expected_with_its_factor(wood):
    """By the program's own numbers no tool did: wings gave way first, and the fork spread."""
    turns = outcomes_of("driver", FOOTED, wood=wood)["driver_turns"]
    assert turns.capacity < turns.capacity_expected
    assert turns.verdict == "caution"
    for settings in ((), ("arms=1",), FOOTED):
        fork = outcomes_of("fork", settings, wood=wood)
        for check in ("fork_bearing", "fork_bend"):
            assert fork[check].capacity >= 1.5 * fork[check].demand
        part = outcomes_of(design_of("fork", settings).own.host.kind.name, wood=wood)["pull_out"]
        lifts = min(fork[check].capacity for check in ("fork_bearing", "fork_bend")) / 1.5
        assert part.advice["lift_n"] == pytest.approx(lifts)
        assert part.safety_factor >= 1.0
    if wood == "oak northern red":
        assert turns.capacity_expected >= 1.25 * turns.demand


def test_wings_with_stronger_necks_fail():
    design = design_of("driver", FOOTED)
    own = replace(design.own, neck_mm=design.own.neck_mm + 0.4)
    judged = judge_all(replace(design, own=own))["driver_wings"]
    assert float(np.ravel(judged.safety_factor)[0]) < 1.0


@pytest.mark.parametrize("host", ["tip", "elbow", "tee"])
def test_a_tool_is_made_for_the_part_that_was_made_its_searched_taper_too(host, tmp_path):
    from barbwright.jobs.made_for import for_kind
    from barbwright.jobs.plan import plan_part

    job = job_of(host)
    part = plan_part(KINDS[host], job).design
    for name in ("driver", "fork", "collar"):
        tool = plan_part(KINDS[name], for_kind(job, host)).design.own.made_for
        assert tool.kind.name == host
        assert dimensions(tool) == dimensions(part)


def test_a_thin_driver_fails_under_the_blow():
    thin = outcomes_of("driver", ("sleeve=7mm",))
    assert thin["driver_bearing"].verdict == "fail"
    assert thin["print_wall"].verdict == "fail"


# --- fork -------------------------------------------------------------------------------------


def gaps(host):
    """Own arithmetic of what stands free: tapped a tick too far, lean in a wide hole; and before
    tapping, fat in a narrow one."""
    tip, conditions = host.tip, host.conditions
    travel = tip.contact_mm + tip.tick_pitch_mm + float(
        hand_travel(conditions, tip.taper, conditions.hole_low_mm)
    )  # fmt: skip
    deep = min((conditions.hole_high_mm - tip.lead_mm + 0.3) / tip.taper, float(tip.scatter_mm))
    high = max((conditions.hole_low_mm - tip.lead_mm - 0.3) / tip.taper, 0.0)
    over_bark = tip.seat_mm - conditions.bark_mm
    return over_bark - deep - travel, over_bark - high


FORKS = [pytest.param((), id="tip"), pytest.param(("arms=1",), id="elbow"),
         pytest.param(FOOTED, id="tee")]  # fmt: skip


@pytest.mark.parametrize("settings", FORKS)
def test_the_forks_steps_are_the_tips_ticks_from_the_first_to_the_largest_gap(settings):
    own = design_of("fork", settings).own
    assert own.rise_mm == own.host.tip.tick_pitch_mm == 2.0
    _, most = gaps(own.host)
    most += float(foot_height(own.host, own.slot_mm))
    # The tallest is the last that goes under; one more would not.
    assert own.thick_mm <= min(most, 24.0) < own.thick_mm + own.rise_mm
    # So much less free is so many steps fewer that go under, whatever it is that they meet.
    assert f"Tap until {np.ceil(float(own.host.tip.contact_mm) / 2.0):.0f} fewer" in own.notes[0]


@pytest.mark.parametrize("settings", FORKS)
def test_the_forks_hook_goes_under_the_part_that_was_tapped_a_tick_too_far(settings):
    own = design_of("fork", settings).own
    least, _ = gaps(own.host)
    assert own.hook_mm + 0.3 <= least + float(foot_height(own.host, own.slot_mm)) + 1e-9
    assert outcomes_of("fork", settings)["fork_reach"].verdict == "pass"
    assert own.slot_mm >= own.host.tip.root_mm + 0.6
    # What it hooks is wider than its slot, even a lean part over a wide slot.
    assert own.foot_mm - 0.3 > own.slot_mm + 0.3


@pytest.mark.parametrize("material", ["mjf_pa12", "fff_petg", "sla_tough"])
@pytest.mark.parametrize("settings", [(), FOOTED])
def test_every_second_step_carries_its_number_under_itself_on_the_side(settings, material):
    design = design_of("fork", settings, material=material)
    own, mark = design.own, design.mark
    found = step_numbers(own, mark)
    assert own.numbered
    assert any("numbered on its side" in note for note in own.notes)
    assert len(found) >= own.steps // 2 - 1
    side = np.array(stepped_side(own)[::-1])
    boxes = []
    for text, along, up in found:
        # Whoever sees the step sees its number: it begins there and hangs from it.
        wide, cap = mark.letters.width(text), mark.letters.cap_mm
        left, top = along - wide / 2.0, up + cap / 2.0
        assert left == pytest.approx(-own.tines_mm + (int(text) - 1) * own.step_mm)
        assert 0.3 < int(text) * own.rise_mm - top < 1.0
        assert up - cap / 2.0 > 0.3
        for u in np.linspace(left, left + wide, 9):
            assert top < np.interp(u, *side[: 2 * int(own.steps)].T) - 0.3
        boxes.append((left, left + wide, up - cap / 2.0, top))
    middle = (own.block_end_mm - own.step_mm) / 2.0, own.thick_mm / 2.0
    boxes.append(tuple(at + way * mark.span_mm / 2.0 for at in middle for way in (-1.0, 1.0)))
    for one, other in itertools.combinations(boxes, 2):
        apart = max(one[0] - other[1], other[0] - one[1], one[2] - other[3], other[2] - one[3])
        assert apart >= (0.0 if other is boxes[-1] else 0.3)
    assert {e.text for e in shape_of(design, "fork").engravings} >= {one[0] for one in found}


def test_a_fork_without_a_mark_says_nothing_of_numbers():
    job = job_of("fork")
    own = design_part(KINDS["fork"], numbers.conditions(job), job.forced).own
    assert not own.numbered
    assert not any("numbered" in note for note in own.notes)


def test_a_hub_rests_on_the_forks_slot_where_its_ball_is_as_wide_or_on_its_tube():
    tee, own = design_of("tee"), design_of("fork", FOOTED).own
    ball = np.sqrt(tee.hub.ball_mm**2 - own.slot_mm**2) / 2.0
    tube = tee.barbs[0].tube_on_crest_mm / 2.0
    lowest = max(ball, tube)
    assert float(foot_height(tee, own.slot_mm)) == pytest.approx(tee.seat_root_mm - lowest)
    narrow = replace(tee, hub=replace(tee.hub, ball_mm=own.slot_mm + 1.0))
    assert float(foot_height(narrow, own.slot_mm)) == pytest.approx(narrow.seat_root_mm - tube)
    tip = design_of("tip")
    assert float(foot_height(tip, own.slot_mm)) == tip.tip.neck_mm


def test_a_soft_woods_long_taper_asks_for_the_ticks_beyond_the_tallest_step():
    one = outcomes_of("fork", ("taper=0.04",))["fork_reach"]
    assert one.verdict == "caution"
    assert "where more than 24 mm stand free before tapping, read the ticks" in one.rule
    assert outcomes_of("fork", ("taper=0.04", "tallest=40mm", "hook=1.8mm"))[
        "fork_reach"
    ].safety_factor > one.safety_factor  # fmt: skip


@pytest.mark.parametrize("settings", FORKS)
@pytest.mark.parametrize("pressure", ["45psi", "60psi"])
def test_the_forks_hook_takes_twice_the_pull_that_proves_a_seat(settings, pressure):
    one = outcomes_of("fork", settings, pressure=pressure)["fork_pull"]
    host = design_of("fork", settings, pressure=pressure).own.host.kind.name
    pull = outcomes_of(host, pressure=pressure)["wood_hold"].advice["pull_n"]
    assert one.verdict == "pass"
    assert one.safety_factor >= 2.0
    # What it takes is said of a pass too, rounded down.
    assert one.advice["hook_n"] == pytest.approx(pull * one.safety_factor / 2.0)
    assert f"at most {int(one.advice['hook_n'])} N" in one.rule


def test_a_thin_hook_fails_under_the_pull_and_a_thick_one_does_not_go_under():
    assert outcomes_of("fork", (*FOOTED, "hook=1.4mm"))["fork_pull"].verdict == "fail"
    thick = outcomes_of("fork", (*FOOTED, "hook=4mm"))
    assert thick["fork_pull"].verdict == "pass"
    assert thick["fork_reach"].verdict == "caution"
    # A cord round the neck needs no gap.
    assert "pull by a cord round the plain neck instead" in thick["fork_reach"].rule


@pytest.mark.parametrize("settings", [(), FOOTED, ("contact=109mm",)])
def test_the_hooks_thickness_is_measured_between_block_and_cup(settings):
    fork = design_of("fork", settings)
    (probe,) = [one for one in shape_of(fork, "tool").walls if one.name == "hook_thickness_mm"]
    cup = fork.own.seat_at_mm - cup_rim(fork.own) / 2.0
    assert fork.own.block_end_mm + 1.0 < probe.origin[0] < cup - 1.0


def test_a_ball_spreads_the_tines_and_a_ring_does_not():
    """Own arithmetic in steps: a tine bent sideways, thicker from step to step."""
    own, material = design_of("fork", FOOTED).own, conditions_of().material
    least, _ = gaps(own.host)
    step = int((least + float(foot_height(own.host, own.slot_mm))) // 2.0)
    ball, slot, tine = (own.foot_mm - 0.3) / 2.0, (own.slot_mm + 0.3) / 2.0, own.tine_mm - 0.3
    out = np.linspace(0.0, (own.steps - step + 0.5) * own.step_mm, 20001)
    inertia = tine**3 * (2.0 * step - 0.3 + out / 2.0) / 12.0
    give = np.trapezoid(out**2 / (material.handling_modulus_mpa * inertia), out)
    force = (ball - slot) / 2.0 / give
    spread = 2.0 * force * np.sqrt(ball**2 - slot**2) / slot
    tee = outcomes_of("fork", FOOTED)["fork_bend"]
    # Two tines 15.7 wide and 1.7 thick over a hollow as wide as the ball: 4 s b h2/6/L. What is
    # less governs, and narrow tines are spread first.
    over = 4.0 * material.handling_short_z_mpa * 31.4 * 1.7**2 / 6.0 / own.foot_mm
    assert tee.capacity == pytest.approx(min(spread, over), rel=1e-4)
    narrow = outcomes_of("fork", (*FOOTED, "tine=10mm"))["fork_bend"]
    assert narrow.capacity < 0.5 * tee.capacity


def test_one_rule_says_the_least_force_that_the_forks_steps_and_tines_lift_with():
    outcomes = outcomes_of("fork", FOOTED)
    bearing, bend = outcomes["fork_bearing"], outcomes["fork_bend"]
    assert bearing.verdict == bend.verdict == "caution"
    assert bend.rule == ""
    # A limit is printed rounded down.
    least = min(bearing.capacity, bend.capacity) / 1.5
    assert f"at most {int(least)} N" in bearing.rule


# --- collar -----------------------------------------------------------------------------------


@pytest.mark.parametrize("more", [{}, {"hole": "6.2mm"}, {"bark": "15mm"}, {"bit": "8mm"}])
def test_the_stop_leaves_the_hole_depth_of_the_tip_exposed(more):
    depth = dimensions(design_of("tip", **more))["hole_depth_mm"]
    collar = design_of("collar", **more)
    assert dimensions(collar)["exposed_bit_mm"] == pytest.approx(depth)
    assert f"{depth:.1f} mm" in collar.own.notes[0]


def test_the_bit_goes_through_a_lean_collar():
    own = design_of("collar").own
    assert own.bore_mm - 0.3 >= own.bit_mm + 0.1 - 1e-9


def test_a_coarser_process_takes_a_larger_screw():
    assert design_of("collar").own.screw == "M3"
    coarse = design_of("collar", material="fff_petg")
    assert coarse.own.screw_hole_mm >= coarse.conditions.material.min_bore_mm


# --- all of them ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "settings", "key"),
    [
        ("driver", ("sleeve=6mm",), "sleeve"),
        ("driver", ("driver_length=10mm",), "driver_length"),
        ("fork", ("tine=0.5mm",), "tine"),
        ("fork", ("slot=12mm",), "slot"),
        ("fork", ("tallest=3mm",), "tallest"),
        ("fork", ("hook=0.4mm",), "hook"),
        ("fork", ("eye=0.5mm",), "eye"),
        ("collar", ("collar=7mm",), "collar"),
        ("collar", ("collar_length=3mm",), "collar_length"),
        ("cap", ("head=4mm",), "head"),
    ],
)
def test_what_cannot_be_built_is_refused_by_name(kind, settings, key):
    found = refusals(design_of(kind, settings))
    assert [one.id for one in found] == [key]
    assert "{" not in found[0].message()


@pytest.mark.parametrize("kind", TOOLS)
def test_a_tool_for_a_tip_that_has_no_size_has_none(kind):
    design = design_of(kind, bit="1/8")
    assert {one.id for one in refusals(design)} == {
        one.id for one in refusals(design_of("tip", bit="1/8"))
    }
    assert refused(design)


@pytest.mark.parametrize(
    ("kind", "settings"),
    [("driver", ()), ("driver", FOOTED), ("fork", ()), ("fork", FOOTED), ("collar", ())],
)
def test_a_worse_print_never_looks_better(kind, settings):
    design = design_of(kind, settings)
    judged = [judge_all(with_material(design, tolerance_mm=t)) for t in (0.05, 0.2, 0.3, 0.4)]
    for name in judged[0]:
        factors = [float(np.ravel(one[name].safety_factor)[0]) for one in judged]
        assert factors == sorted(factors, reverse=True), name


@pytest.mark.parametrize("kind", ["driver", "fork"])
def test_harder_wood_asks_more_of_them(kind):
    design = design_of(kind)
    wood = design.conditions.wood
    hard = design_part(
        KINDS[kind],
        with_conditions(design, wood=replace(wood, crush_mpa=wood.crush_mpa * 1.3)).conditions,
    )
    for name in {"driver_bearing", "driver_buckle", "fork_bearing"} & {
        i.id for i in wanted(KINDS[kind])
    }:
        assert judge_all(hard)[name].demand >= judge_all(design)[name].demand


@pytest.mark.parametrize("kind", TOOLS)
def test_many_bits_at_once_give_the_same_as_one_by_one(kind):
    base = conditions_of()
    bits = np.array([5.5, 6.0, 6.5])

    def at(values):
        return replace(base, bit_mm=values, hole_low_mm=values + 0.1, hole_high_mm=values + 0.4)

    many = judge_all(design_part(KINDS[kind], at(bits)))
    for index, bit in enumerate(bits):
        one = judge_all(design_part(KINDS[kind], at(float(bit))))
        for name, result in one.items():
            got = np.broadcast_to(many[name].safety_factor, bits.shape)[index]
            assert got == pytest.approx(float(np.ravel(result.safety_factor)[0]), nan_ok=True), name


def test_a_driver_needs_a_material_that_may_be_tapped():
    assert outcomes_of("driver", material="pa12_gf")["use"].verdict == "fail"
    assert outcomes_of("collar", material="pa12_gf")["use"].verdict == "pass"
