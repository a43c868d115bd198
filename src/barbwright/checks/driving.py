"""Can the tip be driven in and freed without breaking it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from barbwright.checks import blows
from barbwright.checks.corners import Array, WorstCase, parts_between, seated
from barbwright.checks.freed import fork_lifts, tools_of, wings_pass
from barbwright.checks.result import (
    CAUTION,
    Finding,
    check,
    not_checked,
    single,
    together,
)
from barbwright.checks.wood import NO_WOOD, holding_contacts
from barbwright.design.measured import shares
from barbwright.design.tip import proving_pull
from barbwright.equations import Number
from barbwright.equations.blow import blow_travel, hammer_energy, leaning_of_offset
from barbwright.equations.column import (
    bending_stress,
    ring_area,
    torsion_capacity,
)
from barbwright.equations.seat import driving_force, freeing_torque, holding_force, seat_area

# Times what is asked: as good as endless.
_MANY_TIMES = 1e6


def drive_forces(case: WorstCase, travel_mm: Number, hole_mm: Number) -> tuple[Array, Array]:
    """Return the expected and the upper driving force at a travel.

    Parameters
    ----------
    case : WorstCase
        For wood, taper and judgement numbers.
    travel_mm : float or array
        Travel from hand-tight [mm].
    hole_mm : float or array
        Hole diameter [mm].

    Returns
    -------
    tuple of ndarray
        Forces [N].

    Source: wedge_friction, wood_handbook
    """
    tip, rules = seated(case)[0], case.rules
    crush = case.conditions.wood.hard_mpa
    area = seat_area(hole_mm, tip.taper, travel_mm)
    expected, upper = (
        driving_force(
            rules[f"drive_crush_{name}"] * crush, area, tip.taper, rules[f"drive_friction_{name}"]
        )
        for name in ("expected", "upper")
    )
    found = shares(case.conditions.measured, "drive", rules, tip.taper)
    if found is not None:
        expected, upper = found[1] * expected, found[2] * expected
    return np.asarray(expected), np.asarray(upper)


@check(
    title="tip squashed by driving",
    meaning="The force that crushes the tip's section, against the force it takes to drive it.",
    stage="handling",
    unit="N",
    needs="tip",
    equation="A s_c >= 1.5 F, F = q Ac (mu cos a + sin a) on contact, one tick more and the "
    "hand's own travel, ticks taken off A; "
    "A s_c >= 2.15 F for the spot that finite elements find beside the arms' bores, 1.55 F under "
    "a ring",
    sources=("wedge_friction", "wood_handbook", "design_record", "own_trial_fe"),
    basis="judgement",
    judgement=(
        "drive_spot_hub",
        "drive_spot_ring",
        "drive_crush_expected",
        "drive_crush_upper",
        "drive_friction_expected",
        "drive_friction_upper",
        "hand_push_n",
    ),
    remedy="a larger bit, or a stronger material",
    rule="drill with the bit as named, tap straight with light blows, and stop at "
    "{travel_mm:.1f} mm from hand-tight",
    rule_value="travel_mm",
    rule_unit="mm",
)
def drive_squash(case: WorstCase) -> Finding:
    """Return the section's squash load against the driving force.

    Also the bearing of the driver's sleeve on the shoulder ring of an in-line tip.

    Source: wedge_friction, wood_handbook
    """
    if not case.conditions.wood.known:
        return not_checked(NO_WOOD)
    tip, corner = seated(case)
    rules, travel = case.rules, corner.travel_mm
    expected, upper = drive_forces(case, travel, case.hole_mm)
    strength = case.conditions.material.handling_short_xy_mpa
    ticks = 2.0 * tip.tick_arc_mm * tip.tick_depth_mm
    area = np.maximum(ring_area(corner.bore_mm, case.hole_mm + tip.taper * travel) - ticks, 0.0)
    factor = rules["design_factor_drive_squash"]
    spot = rules["drive_spot_hub" if case.design.hub is not None else "drive_spot_ring"]
    pressed = [(area, factor), (area / spot, 1.0)]
    if case.ring_mm is not None and case.driver_bore_mm is not None:
        bearing = np.maximum(ring_area(case.driver_bore_mm, case.ring_mm), 0.0)
        pressed.append((bearing, factor))
    found = together(
        *(single(strength * one, expected, asked, upper=upper) for one, asked in pressed)
    )
    # Only whole ticks can be read: to the next one, where the window reaches that far.
    stop = np.where(tip.in_ticks, tip.ticks * tip.tick_pitch_mm, tip.contact_mm)
    return replace(found, advice={"travel_mm": stop * np.ones_like(found.capacity)})


@check(
    title="tip under the hammer",
    meaning="The stress that breaks the material at once, against the stress while the "
    "lightest hammer bends and presses the tip, bare or through its driver.",
    stage="handling",
    unit="MPa",
    needs="tip",
    equation="1.35 max(F (e + x), S L max(x, x_m))/Z + F/A and - F/A at the wood's mouth, along "
    "the travel; x'' = omega2 ((r - 1) x + r e) for M v/F, r = F/(pi2 E I/(2 L)2); the lightest "
    "hammer at the expected force, bare or through the driver; the heaviest, bare, at the upper",
    sources=("own_derivation", "pulse_buckling", "euler_johnson", "wedge_friction"),
    basis="judgement",
    judgement=(
        "crooked_expected_mm",
        "crooked_upper_mm",
        "hammer_speed_m_s",
        "hammer_step_g",
        "hammer_most_g",
        "driver_hammer_most_g",
        "drive_friction_upper",
        "drive_friction_expected",
        "drive_crush_expected",
        "drive_crush_upper",
        "column_free_factor",
        "hand_push_n",
    ),
    remedy="a larger bit, less bark over the seat (--bark), a measured hole (--hole)",
    rule="tap through its driver with a hammer of at most {driver_hammer_g:.0f} g, lightly "
    "({speed_m_s:.1f} m/s): about {driver_blow_mm:.2f} mm a blow; a bare tip takes at most "
    "{hammer_g:.0f} g, {blow_mm:.2f} mm a blow",
    rule_value="hammer_g",
    rule_unit="g",
    rule_else="never tap on the bare tip: use its driver and a hammer of at most "
    "{driver_hammer_g:.0f} g, lightly ({speed_m_s:.1f} m/s); a blow should move it about "
    "{driver_blow_mm:.2f} mm",
    rule_else_value="driver_hammer_g",
    rule_none="never tap on the bare tip: use its driver and the lightest hammer, lightly; stop "
    "where a blow does not move it: in the hardest woods any hammer may break the tip",
)
def drive_buckle(case: WorstCase) -> Finding:
    """Return the stress of a blow at the wood's mouth against short-term strength.

    A blow lasts half a millisecond: the hub's own mass holds the tip straight
    meanwhile, and it swings on afterwards. Free length and force belong together:
    the tip stands farthest out when the force is least. Passes where the bare tip
    takes the heaviest hammer at the upper force; asks for a hammer, or for the
    driver, where the expected force allows the lightest.

    Source: own_derivation, pulse_buckling, euler_johnson, wedge_friction
    """
    if not case.conditions.wood.known:
        return not_checked(NO_WOOD)
    rules, factor = case.rules, case.rules["design_factor_drive_buckle"]
    crooked = rules["crooked_expected_mm"]
    found = _bare(case)
    parts, bare, expected, upper = found.parts, found.column, found.expected_n, found.upper_n
    ways = [blows.both_sides(bare, expected, found.lightest_nmm)]
    # Through the driver the column is so long and slow that force alone decides: the last blow.
    whole = np.broadcast_to(seated(case)[1].travel_mm, case.hole_mm.shape)[None]
    resisted, _ = drive_forces(case, whole, case.hole_mm[None])
    driven = blows.column_at(case, whole, through_driver=True)
    moment = blows.lightest_moment(case, driven, resisted, crooked, through_driver=True)
    ways.append(blows.both_sides(driven, resisted, moment))

    worst = blows.moment_at(
        parts, bare, upper, blows.hammers_g(case)[-1] / 1000.0, rules["crooked_upper_mm"]
    )
    cases = case.hole_mm.shape[0]
    one_way, other_way, demand_upper = (
        blows.at_corners(stress, cases) for stress in (*ways, blows.both_sides(bare, upper, worst))
    )
    capacity = blows.strengths(case, one_way)
    used, other_used = (np.max(way / capacity, axis=(0, 1)) for way in (one_way, other_way))
    demand = np.where(used <= other_used, one_way, other_way)
    capacity, demand, demand_upper = (_flat(row) for row in (capacity, demand, demand_upper))

    def hammers() -> dict[str, Number]:
        by_hand = blows.heaviest_g(parts, bare, expected, crooked, factor)
        through_driver = blows.heaviest_g(
            case, driven, resisted, crooked, factor, through_driver=True
        )
        # The last blow moves a tip least.
        last, speed = np.max(resisted[-1], axis=0), rules["hammer_speed_m_s"]
        advice = {
            "hammer_g": by_hand,
            "driver_hammer_g": np.maximum(through_driver, by_hand),
            "speed_m_s": speed,
            **{
                name: blow_travel(hammer_energy(mass / 1000.0, speed), last)
                for name, mass in (("blow_mm", by_hand), ("driver_blow_mm", through_driver))
            },
        }
        return {name: np.broadcast_to(value, demand.shape) for name, value in advice.items()}

    return single(capacity, demand, factor, upper=demand_upper, more_advice=hammers)


@dataclass(frozen=True, eq=False, kw_only=True)
class Bare:
    """A bare tip under the hammers on offer, from lean to fat along its travel.

    Attributes
    ----------
    parts : WorstCase
        The parts [mm].
    column : StruckColumn
        The tip at points of its travel.
    expected_n, upper_n : ndarray
        What the wood resists there [N].
    lightest_nmm : ndarray
        The moment of the lightest at it [N mm].
    """

    parts: WorstCase
    column: blows.StruckColumn
    expected_n: Array
    upper_n: Array
    lightest_nmm: Array


def _bare(case: WorstCase) -> Bare:
    """Return the bare tip under its hammers, worked out once for both checks of a blow."""
    if "bare" not in case.kept:
        rules = case.rules
        parts = parts_between(case, blows.PARTS_BETWEEN)
        travel = blows.travels(parts, seated(parts)[1].travel_mm)
        expected, upper = drive_forces(parts, travel, np.broadcast_to(parts.hole_mm, travel.shape))
        column = blows.column_at(parts, travel, through_driver=False)
        lightest = blows.lightest_moment(parts, column, expected, rules["crooked_expected_mm"])
        case.kept["bare"] = Bare(
            parts=parts,
            column=column,
            expected_n=expected,
            upper_n=upper,
            lightest_nmm=lightest,
        )
    kept: Bare = case.kept["bare"]
    return kept


def _flat(values: Array) -> Array:
    """Return sides and corners on one first axis."""
    return values.reshape(-1, *values.shape[2:])


@check(
    title="blow off the axis",
    meaning="The stress that breaks the material at once, against a blow that lands off the "
    "middle.",
    stage="handling",
    unit="MPa",
    needs="tip",
    equation="the blow's bending and F e pi2/8 over Z less F/A at the wood's mouth, e 0.15 of the "
    "pad (1 mm on a ring) and 2 mm, F the expected driving force, the lightest hammer",
    sources=("beam_theory", "own_derivation", "wedge_friction"),
    basis="judgement",
    judgement=(
        "bare_offset_over_pad",
        "blow_offset_expected_mm",
        "blow_offset_upper_mm",
        "crooked_expected_mm",
        "hammer_step_g",
        "hammer_speed_m_s",
        "drive_crush_expected",
        "drive_friction_expected",
        "column_free_factor",
    ),
    remedy="tap on the middle, through a driver",
    rule="hit the middle: a blow {upper_offset_mm:.0f} mm off the axis may crack the tip",
    rule_value="upper_offset_mm",
    rule_unit="mm",
)
def drive_offset(case: WorstCase) -> Finding:
    """Return the tension on the far side of a blow off the axis against strength.

    Source: beam_theory, own_derivation, wedge_friction
    """
    if not case.conditions.wood.known:
        return not_checked(NO_WOOD)
    rules, hub = case.rules, case.design.hub
    bare = _bare(case)
    column, force, moment = bare.column, bare.expected_n, bare.lightest_nmm
    # A ring is struck through the driver's crown, a bare pad anywhere near its middle.
    aimed = rules["blow_offset_expected_mm"]
    expected = aimed if hub is None else rules["bare_offset_over_pad"] * hub.pad_mm
    worst = np.maximum(rules["blow_offset_upper_mm"], expected)
    demand, upper = (
        blows.at_corners(
            blows.both_sides(column, force, moment + force * leaning_of_offset(offset))[1:],
            case.hole_mm.shape[0],
        )[0]
        for offset in (expected, worst)
    )
    capacity = case.conditions.material.handling_short_z_mpa * np.ones_like(demand)
    return single(
        capacity,
        demand,
        rules["design_factor_drive_offset"],
        upper=upper,
        at_worst=CAUTION,
        advice={"upper_offset_mm": worst * np.ones_like(demand)},
    )


def freeing_forces(case: WorstCase, name: str) -> tuple[Array, Array]:
    """Return torque [N mm] and pull [N] that free the tip.

    Parameters
    ----------
    case : WorstCase
        For wood, taper and judgement numbers.
    name : str
        "expected" or "upper" [-].

    Source: wedge_friction
    """
    (tip, corner), rules = seated(case), case.rules
    length = corner.travel_mm
    contact = rules[f"removal_crush_{name}"] * case.conditions.wood.hard_mpa
    mu = rules[f"removal_friction_{name}"]
    area = seat_area(case.hole_mm, tip.taper, length)
    mean = case.hole_mm + tip.taper * length / 2.0
    torque = freeing_torque(contact, area, mean, mu)
    found = shares(case.conditions.measured, "twist", rules)
    if found is not None:
        share = found[1] if name == "expected" else found[2]
        torque = share * freeing_torque(
            rules["removal_crush_expected"] * case.conditions.wood.hard_mpa,
            area,
            mean,
            rules["removal_friction_expected"],
        )
    pull = np.maximum(holding_force(contact, area, tip.taper, mu), 0.0)
    return np.asarray(torque), np.asarray(pull)


def torque_capacity(case: WorstCase) -> Array:
    """Return the torque that breaks the tip at the wood's mouth [N mm].

    Parameters
    ----------
    case : WorstCase
        A part with a tip.

    Source: shigley
    """
    _, corner = seated(case)
    shear = case.rules["shear_over_tension"] * case.conditions.material.handling_short_z_mpa
    sound = corner.mouth_mm > corner.bore_mm
    return np.where(sound, torsion_capacity(shear, corner.bore_mm, corner.mouth_mm), 0.0)


@check(
    title="twisting the tip out",
    meaning="The torque that shears the tip, against the torque that frees it from the wood.",
    stage="handling",
    unit="N mm",
    needs="tip",
    equation="0.577 s J/(D/2) >= 1.5 mu q Ac D/2",
    sources=("shigley", "wedge_friction", "design_record"),
    basis="judgement",
    judgement=(
        "removal_crush_expected",
        "removal_crush_upper",
        "removal_friction_expected",
        "removal_friction_upper",
        "shear_over_tension",
    ),
    remedy="a larger bit, a stronger material, or free it with the fork",
    rule="free it, line vented, tubes off, by two fingertips on its driver's wings: it takes at "
    "most {by_wings_nm:torque}",
    rule_value="by_wings_nm",
    rule_unit="N m",
    rule_else="no tool turns it, and no spanner may: it takes at most {safe_torque_nm:torque}",
    rule_else_value="safe_torque_nm",
)
def twist_out(case: WorstCase) -> Finding:
    """Return the torsion the tip takes against the torque that frees it.

    Source: shigley, wedge_friction
    """
    if not case.conditions.wood.known:
        return not_checked(NO_WOOD)
    expected, upper = freeing_forces(case, "expected")[0], freeing_forces(case, "upper")[0]
    capacity = torque_capacity(case)
    factor = case.rules["design_factor_twist_out"]
    safe = capacity / factor
    return single(
        capacity,
        expected,
        factor,
        upper=upper,
        advice={
            "safe_torque_nm": safe / 1000.0,
            "by_wings_nm": safe / 1000.0 if case.design.hub is not None else 0.0 * safe,
        },
    )


@check(
    title="freeing the tip",
    meaning="Whether the tools made for the part free its tip, by turning or by lifting: 1 or "
    "more means one of them does, with its own factor.",
    stage="handling",
    unit="-",
    needs="tip",
    equation="the better of (what its driver's wings are expected to pass)/(1.25 x freeing torque) "
    "and (what its fork carries)/(1.5 x freeing pull)",
    sources=("wedge_friction", "shigley", "own_derivation"),
    basis="judgement",
    judgement=(
        "removal_friction_expected",
        "removal_friction_upper",
        "wing_gives_way",
        "removal_crush_expected",
        "removal_crush_upper",
        "shear_over_tension",
        "wing_strength_expected",
        "fork_sinks_mm",
        "fork_span_over_foot",
    ),
    remedy="a larger bit",
    rule="where it does not turn, tap the fork in under it, flat on the bark, lightly: it lifts "
    "with up to {lift_after_turning_n:force}; a tip that does not follow stays in the tree, its "
    "line cut off",
    rule_value="lift_after_turning_n",
    rule_unit="N",
    rule_else="free it by its fork, line vented, tube off: tapped in under the ring, flat on the "
    "bark, lightly, it lifts with up to {lift_n:force}; a tip that does not follow stays in the "
    "tree, its line cut off",
    rule_else_value="lift_n",
)
def pull_out(case: WorstCase) -> Finding:
    """Return the better of turning and lifting by the part's own tools against what it takes.

    Both are what the tools carry, not what a hand could: nothing is told to a hand that its
    tool does not carry with its factor.

    Source: wedge_friction, shigley, own_derivation
    """
    if not case.conditions.wood.known:
        return not_checked(NO_WOOD)
    rules, host = case.rules, case.design
    wings, tines = tools_of(host)
    lifts = fork_lifts(tines, host)
    turns: Array = np.zeros_like(lifts)
    if wings is not None:
        safe = np.min(torque_capacity(case), axis=0) / rules["design_factor_twist_out"]
        turns = np.minimum(wings_pass(wings, case.conditions).expected_nmm, safe)
    ratios = []
    for name in ("expected", "upper"):
        torque, force = freeing_forces(case, name)
        turned = _over(turns, rules["design_factor_driver_turns"] * torque)
        # A taper so steep that it backs out by itself asks no tool for any pull.
        ratios.append(np.maximum(turned, _over(lifts, force)))
    expected, upper = ratios
    endless = np.isinf(upper)
    # Endless where little is expected and not at worst, it needs a number the worst is a part of.
    expected = np.where(endless, expected, np.minimum(expected, _MANY_TIMES))
    less = _over(np.where(endless, 1.0, expected), np.where(endless, 1.0, upper))
    # As a ratio the demand is one; the upper demand is how much less the upper case leaves.
    return single(
        expected,
        np.ones_like(expected),
        rules["design_factor_pull_out"],
        upper=less,
        # A tip that no tool frees harms nobody: it stays in the tree, as its rule says.
        at_worst=CAUTION,
        advice={
            "lift_n": lifts * np.ones_like(expected),
            "lift_after_turning_n": (lifts if wings is not None else 0.0) * np.ones_like(expected),
        },
    )


def _over(there: Number, asked: Number) -> Array:
    """Return what is there over what is asked, endless where nothing is."""
    there, asked = np.broadcast_arrays(there, asked)
    ratio = np.full(asked.shape, np.inf)
    np.divide(there, asked, out=ratio, where=asked != 0.0)
    return ratio


@check(
    title="pull that proves a seat, off the axis",
    meaning="The stress that breaks the material at once, against the pull that proves a "
    "seat, acting a little off the axis.",
    stage="handling",
    unit="MPa",
    needs="tip",
    equation="P (e/Z + 1/A) at the wood's mouth and at the plain neck, P three thrusts, e 6 mm",
    sources=("beam_theory", "judgement"),
    basis="judgement",
    judgement=("pull_proof_thrusts", "pull_offset_mm"),
    remedy="less pressure, or a larger bit",
    rule="pull in line with the tip, never aside: {pull_n:force} at {pull_offset_mm:.0f} mm off "
    "its axis is near what it takes",
    rule_value="pull_n",
    rule_unit="N",
)
def pull_check(case: WorstCase) -> Finding:
    """Return the stress of the proving pull, somewhat off the axis, against strength.

    Source: beam_theory, judgement
    """
    tip, corner = seated(case)
    pull, offset = proving_pull(case.conditions, tip), case.rules["pull_offset_mm"]
    findings = []
    for outer in (corner.mouth_mm, corner.root_mm):
        sound = outer > corner.bore_mm
        # Where no wall is left its stress is endless: that of any other wall is put aside.
        wall = np.where(sound, outer, 2.0 * corner.bore_mm)
        bent = bending_stress(pull * offset, corner.bore_mm, wall)
        stress = np.where(sound, bent + pull / ring_area(corner.bore_mm, wall), np.inf)
        strength = case.conditions.material.handling_short_z_mpa * np.ones_like(stress)
        findings.append(single(strength, stress, case.rules["design_factor_pull_check"]))
    both = together(*findings)
    one = np.ones_like(both.demand)
    return replace(both, advice={"pull_n": pull * one, "pull_offset_mm": offset * one})


@check(
    title="arm turned by the tube",
    meaning="The torque at which the tip turns in its hole, against a line pulling an arm.",
    stage="handling",
    unit="N mm",
    needs="hub",
    equation="mu pc Ac D/2 (lower contact) >= side force, expected and upper, x arm",
    sources=("wedge_friction", "wood_handbook"),
    basis="judgement",
    judgement=(
        "side_force_expected_n",
        "side_force_upper_n",
        "wood_friction_hold",
        "wood_relaxation",
        "wood_fifth_percentile",
    ),
    remedy="hold the connector while pushing a tube on",
    rule="tie the line so that no more than {turn_n:force} pulls an arm round",
    rule_value="turn_n",
    rule_unit="N",
    said_by="side_load",
)
def side_turn(case: WorstCase) -> Finding:
    """Return the seat's friction torque against a side force at an arm's nose.

    Source: wedge_friction, wood_handbook
    """
    if not case.conditions.wood.known:
        return not_checked(NO_WOOD)
    tip, rules = seated(case)[0], case.rules
    # Turned, it slides along no slope; a measured hold counts at its worse reading for that.
    lower, _ = holding_contacts(case, 0.0)
    area = seat_area(case.hole_mm, tip.taper, tip.contact_mm)
    mean = case.hole_mm + tip.taper * tip.contact_mm / 2.0
    capacity = np.asarray(freeing_torque(lower, area, mean, rules["wood_friction_hold"]))
    arm = case.design.arm_length_mm * np.ones_like(capacity)
    return single(
        capacity,
        rules["side_force_expected_n"] * arm,
        rules["design_factor_side_turn"],
        upper=rules["side_force_upper_n"] * arm,
        at_worst=CAUTION,
        advice={"turn_n": capacity / arm},
    )
