"""Driver, fork and drill stop: sized from the tip they serve, judged by checks of their own."""

from dataclasses import replace

import numpy as np
import pytest

from barbwright.checks.corners import worst_case
from barbwright.checks.driving import drive_forces
from barbwright.checks.table import judge_all, overall, wanted
from barbwright.design.draw import shape_of
from barbwright.design.kinds import CONNECTORS, KINDS, TOOLS
from barbwright.design.part import FORCED_SIZES, design_part, dimensions
from barbwright.design.refusals import refusals, refused
from example_job import (
    conditions_of,
    design_of,
    job_of,
    outcomes_of,
    with_conditions,
    with_material,
)

FOOTED = ("arms=2",)


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
    [("driver", (), 2), ("driver", FOOTED, 2), ("fork", (), 2), ("collar", (), -2)],
)
def test_euler_numbers(kind, settings, euler):
    assert shape_of(design_of(kind, settings), "tool").euler_number == euler


# --- driver -----------------------------------------------------------------------------------


def test_the_driver_goes_over_the_barb_and_bears_on_the_ring():
    tip, driver = design_of("tip"), design_of("driver").own
    # Crest 5.12, twice 0.3 for two prints, and the smallest detail of 0.5.
    assert driver.socket_mm == pytest.approx(6.22)
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
def test_the_wings_give_way_before_the_tip_feels_its_largest_safe_torque(bit):
    """Own arithmetic: each neck a cantilever that yields right through, a finger on its paddle."""
    outcomes = outcomes_of("driver", FOOTED, bit=bit)
    own = design_of("driver", FOOTED, bit=bit).own
    strength = conditions_of().material.handling_short_z_mpa
    wings = own.wings
    root, near, far, neck = wings.root_mm, wings.near_mm, wings.far_mm, wings.neck_mm
    fat = neck + 0.3
    passed_on = [
        # Moment at the neck's root, and the torque of two such pushes.
        2.0 * r * (2.0 * strength * fat**3 / 6.0) / (r - root)
        for r in np.linspace(near, far, 50)
    ]
    tee = outcomes_of("tee", bit=bit)["twist_out"]
    safe = tee.capacity / 1.5
    assert max(passed_on) <= 0.9 * safe + 1e-6
    assert max(passed_on) > 0.7 * safe
    one = outcomes["driver_wings"]
    assert one.verdict == "pass"
    assert one.demand == pytest.approx(max(passed_on))
    # Two fingertips of 20 N at the very ends are no more than that torque.
    assert own.span_mm * 20.0 <= safe + 1e-6
    assert own.span_mm * 20.0 > safe - 0.5 * 20.0 or own.span_mm == 34.0


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
    tool = plan_part(KINDS["driver"], for_kind(job, host)).design.own.made_for
    assert tool.kind.name == host
    assert dimensions(tool) == dimensions(part)


def test_the_drivers_foot_presses_with_the_lean_ring_of_material():
    one = outcomes_of("driver")["driver_bearing"]
    own, material = design_of("driver").own, conditions_of().material
    outer = min(own.sleeve_mm, own.bearing_mm) - 0.3
    area = np.pi / 4.0 * (outer**2 - (own.socket_mm + 0.3) ** 2)
    assert one.capacity == pytest.approx(area * material.handling_short_xy_mpa)
    # The force that drives its tip one tick too far in the largest hole, the hand's push with it.
    tip = design_of("tip")
    case = worst_case(tip)
    force, _ = drive_forces(case, case.tip.travel_mm, case.hole_mm)
    assert one.demand == pytest.approx(np.max(force))
    assert one.demand >= outcomes_of("tip")["drive_squash"].demand


def test_a_thin_driver_fails_under_the_blow():
    thin = outcomes_of("driver", ("sleeve=7mm",))
    assert thin["driver_bearing"].verdict == "fail"
    assert thin["print_wall"].verdict == "fail"


# --- fork -------------------------------------------------------------------------------------


def test_the_fork_goes_under_a_shoulder_whose_neck_printed_short():
    tip, fork = design_of("tip").tip, design_of("fork").own
    assert fork.slot_mm > tip.root_mm + 0.6
    assert fork.thin_mm + 0.3 <= tip.neck_mm - 0.3
    assert fork.thick_mm - tip.neck_mm == pytest.approx(3.0)
    # The wedge is full where the shoulder's far edge stands with the tip at the slot's end.
    rise = fork.slope * (fork.tines_mm + fork.wedge_end_mm)
    assert fork.thin_mm + rise >= fork.thick_mm - 1e-9


def test_the_fork_bears_on_the_shoulder_outside_its_slot():
    own = design_of("fork").own
    ring, slot = own.host.ring.ring_mm - 0.3, own.slot_mm + 0.3
    # Own arithmetic by counting: a grid over the ring, less the slot.
    grid = np.linspace(-ring / 2, ring / 2, 4001)
    x, y = np.meshgrid(grid, grid)
    inside = (x**2 + y**2 < ring**2 / 4) & (np.abs(y) > slot / 2)
    area = inside.mean() * ring**2
    strength = conditions_of().material.handling_short_xy_mpa
    assert outcomes_of("fork")["fork_bearing"].capacity == pytest.approx(strength * area, rel=2e-3)


def test_the_forks_tines_bend_at_most_to_a_caution_with_the_force_in_its_rule():
    one = outcomes_of("fork", ("tine=4mm",))["fork_bend"]
    assert one.verdict == "caution"
    # A limit is printed rounded down.
    assert f"{int(one.advice['tine_n'])} N" in one.rule
    assert one.advice["tine_n"] == pytest.approx(one.capacity / 1.5)
    # Two tines 3.7 wide and 2.7 thick, over a ring: 4 s b h2/6/L.
    ring = design_of("fork").own.host.ring.ring_mm
    s = conditions_of().material.handling_short_z_mpa
    assert one.capacity == pytest.approx(4.0 * s * 7.4 * 2.7**2 / 6.0 / ring)


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
        ("fork", ("tine_end=6mm",), "tine_end"),
        ("fork", ("handle=6mm",), "handle"),
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


@pytest.mark.parametrize("kind", TOOLS)
def test_without_a_wood_the_forces_are_not_checked(kind):
    outcomes = outcomes_of(kind, wood=None)
    forces = {"driver_bearing", "driver_buckle", "fork_bearing", "fork_bend"} & set(outcomes)
    assert all(outcomes[name].verdict == "not_checked" for name in forces)
    assert bool(forces) == (kind != "collar")


@pytest.mark.parametrize(
    ("kind", "settings"), [("driver", ()), ("driver", FOOTED), ("fork", ()), ("collar", ())]
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
        with_conditions(
            design, wood=type(wood)(wood.crush_mpa * 1.3, wood.splitting_mpa, True)
        ).conditions,
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
