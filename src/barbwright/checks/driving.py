"""Can the tip be driven in and freed without breaking it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from barbwright.checks.corners import Array, TipCorner, WorstCase
from barbwright.checks.result import (
    CAUTION,
    FAIL,
    PASS,
    Finding,
    check,
    not_checked,
    single,
    together,
)
from barbwright.checks.wood import NO_WOOD, proving_pull, relaxed_contacts
from barbwright.design.tip import Tip
from barbwright.equations import Number
from barbwright.equations.column import (
    column_load,
    ring_area,
    ring_inertia,
    torsion_capacity,
)
from barbwright.equations.seat import driving_force, freeing_torque, holding_force, seat_area

# Where along the travel force and free length are looked at together [-].
_TRAVEL = np.linspace(0.1, 1.0, 10)


def _parts(case: WorstCase) -> tuple[Tip, TipCorner]:
    tip = case.design.tip
    assert tip is not None
    assert case.tip is not None
    return tip, case.tip


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
    tip, rules = _parts(case)[0], case.rules
    crush = case.conditions.wood.crush_mpa
    area = seat_area(hole_mm, tip.taper, travel_mm)
    expected, upper = (
        driving_force(
            rules[f"drive_crush_{name}"] * crush, area, tip.taper, rules[f"drive_friction_{name}"]
        )
        for name in ("expected", "upper")
    )
    return np.asarray(expected), np.asarray(upper)


@check(
    title="tip squashed by driving",
    stage="handling",
    unit="N",
    needs="tip",
    equation="A s_c >= 1.5 F, F = q Ac (mu cos a + sin a) on contact, one tick "
    "more and the hand's own travel, ticks taken off A; "
    "finite elements find twice F/A in spots at the relief ball's lip and the neck, in compression",
    sources=("wedge_friction", "wood_handbook", "design_record"),
    basis="judgement",
    judgement=(
        "drive_crush_expected",
        "drive_crush_upper",
        "drive_friction_expected",
        "drive_friction_upper",
    ),
    remedy="a larger bit, a stronger material or a softer wood",
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
    tip, corner = _parts(case)
    expected, upper = drive_forces(case, corner.travel_mm, case.hole_mm)
    strength = case.conditions.material.handling_short_xy_mpa
    ticks = 2.0 * tip.tick_arc_mm * tip.tick_depth_mm
    area = ring_area(corner.bore_mm, case.hole_mm + tip.taper * corner.travel_mm) - ticks
    factor = case.rules["design_factor_drive_squash"]
    capacity = strength * np.maximum(area, 0.0)
    # What every finding of this check needs for its rule.
    ticks_up = np.ceil(tip.contact_mm / tip.tick_pitch_mm - 1e-9) * tip.tick_pitch_mm
    # Only whole ticks can be read: to the next one, where the window reaches that far.
    stop = np.where(ticks_up <= tip.window_high_mm + 1e-9, ticks_up, tip.contact_mm)
    advice = {"travel_mm": stop * np.ones_like(capacity)}
    section = Finding(
        capacity, capacity, expected, upper, factor, single_capacity=True, advice=advice
    )
    if case.ring_mm is None or case.driver_bore_mm is None:
        return section
    bearing = strength * np.maximum(ring_area(case.driver_bore_mm, case.ring_mm), 0.0)
    ring = Finding(bearing, bearing, expected, upper, factor, single_capacity=True)
    both = together(section, ring)
    return Finding(
        both.capacity,
        both.capacity_expected,
        both.demand,
        both.demand_upper,
        both.design_factor,
        single_capacity=True,
        advice={"travel_mm": np.concatenate([advice["travel_mm"]] * 2)},
    )


@check(
    title="tip buckling under the hammer",
    stage="handling",
    unit="N",
    needs="tip",
    equation="Johnson or Euler with K 2.0 (free) and 0.7 (guided), section at the wood's mouth, "
    "along the travel",
    sources=("euler_johnson", "wedge_friction"),
    basis="judgement",
    judgement=("column_free_factor", "column_guided_factor", "drive_friction_upper"),
    remedy="a larger bit, less bark over the seat (--bark), a measured hole (--hole)",
    rule="never tap on the bare tip, which takes {free_n:force}: guide it by a driver that stands "
    "on the bark, where it takes {guided_n:force}; in a socket held by hand it takes "
    "{socket_n:force}",
    rule_value="guided_n",
    rule_unit="N",
)
def drive_buckle(case: WorstCase) -> Finding:
    """Return the buckling load against the driving force, at each point of the travel.

    Free length and force belong together: the tip stands farthest out when the
    force is least. Passes where a free tip takes the upper force; asks for the
    driver where only a guided one takes the expected force.

    Source: euler_johnson, wedge_friction
    """
    if not case.conditions.wood.known:
        return not_checked(NO_WOOD)
    tip, corner = _parts(case)
    rules, material = case.rules, case.conditions.material
    share = _TRAVEL.reshape((-1,) + (1,) * case.hole_mm.ndim)
    travel = share * corner.travel_mm
    hole = np.broadcast_to(case.hole_mm, travel.shape)
    expected, upper = drive_forces(case, travel, hole)
    length = corner.free_mm + tip.contact_mm - travel
    mouth = hole + tip.taper * travel
    bore = np.broadcast_to(corner.bore_mm, mouth.shape)
    free, guided, socket = (
        column_load(
            material.handling_modulus_mpa,
            material.handling_short_xy_mpa,
            bore,
            mouth,
            rules[name] * length,
        )
        for name in ("column_free_factor", "column_guided_factor", "column_socket_factor")
    )
    factor = rules["design_factor_drive_buckle"]
    verdict = np.where(
        free >= factor * upper, PASS, np.where(guided >= factor * expected, CAUTION, FAIL)
    )

    def flat(values: Number) -> Array:
        return np.reshape(values, (-1, *np.shape(values)[2:]))

    return Finding(
        flat(free),
        flat(guided),
        flat(expected),
        flat(upper),
        factor,
        verdict=flat(verdict).astype(np.int64),
        advice={"guided_n": flat(guided), "free_n": flat(free), "socket_n": flat(socket)},
    )


@check(
    title="blow off the axis",
    stage="handling",
    unit="MPa",
    needs="tip",
    equation="F (e/Z - 1/A) at the wood's mouth, e 1 and 2 mm, F the expected driving force",
    sources=("beam_theory", "wedge_friction"),
    basis="judgement",
    judgement=("blow_offset_expected_mm", "blow_offset_upper_mm"),
    remedy="tap on the middle, through a driver",
    rule="hit the middle: a blow {upper_offset_mm:.0f} mm off the axis may crack the tip",
    rule_value="upper_offset_mm",
    rule_unit="mm",
)
def drive_offset(case: WorstCase) -> Finding:
    """Return the tension on the far side of a blow off the axis against strength.

    Source: beam_theory, wedge_friction
    """
    if not case.conditions.wood.known:
        return not_checked(NO_WOOD)
    tip, corner = _parts(case)
    force, _ = drive_forces(case, tip.contact_mm, case.hole_mm)
    area = ring_area(corner.bore_mm, corner.mouth_mm)
    modulus = ring_inertia(corner.bore_mm, corner.mouth_mm) / (corner.mouth_mm / 2.0)
    demand, upper = (
        np.maximum(force * (case.rules[f"blow_offset_{name}_mm"] / modulus - 1.0 / area), 0.0)
        for name in ("expected", "upper")
    )
    capacity = case.conditions.material.handling_short_z_mpa * np.ones_like(demand)
    return Finding(
        capacity,
        capacity,
        demand,
        upper,
        case.rules["design_factor_drive_offset"],
        at_worst=CAUTION,
        single_capacity=True,
        advice={"upper_offset_mm": case.rules["blow_offset_upper_mm"] * np.ones_like(demand)},
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
    (tip, corner), rules = _parts(case), case.rules
    length = corner.travel_mm
    contact = rules[f"removal_crush_{name}"] * case.conditions.wood.crush_mpa
    mu = rules[f"removal_friction_{name}"]
    area = seat_area(case.hole_mm, tip.taper, length)
    mean = case.hole_mm + tip.taper * length / 2.0
    torque = freeing_torque(contact, area, mean, mu)
    pull = np.maximum(holding_force(contact, area, tip.taper, mu), 0.0)
    return np.asarray(torque), np.asarray(pull)


def _torque_capacity(case: WorstCase) -> Array:
    """Return the torque that breaks the tip at the wood's mouth [N mm]."""
    _, corner = _parts(case)
    shear = case.rules["shear_over_tension"] * case.conditions.material.handling_short_z_mpa
    sound = corner.mouth_mm > corner.bore_mm
    return np.where(sound, torsion_capacity(shear, corner.bore_mm, corner.mouth_mm), 0.0)


@check(
    title="twisting the tip out",
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
    ),
    remedy="a larger bit, a stronger material, or free it with the fork",
    rule="free it by turning its body, with at most {safe_torque_nm:torque}; "
    "if it does not turn, push the fork in as a wedge",
    rule_value="safe_torque_nm",
    rule_unit="N m",
)
def twist_out(case: WorstCase) -> Finding:
    """Return the torsion the tip takes against the torque that frees it.

    Source: shigley, wedge_friction
    """
    if not case.conditions.wood.known:
        return not_checked(NO_WOOD)
    expected, upper = freeing_forces(case, "expected")[0], freeing_forces(case, "upper")[0]
    capacity = _torque_capacity(case)
    factor = case.rules["design_factor_twist_out"]
    safe = capacity / factor
    return Finding(
        capacity,
        capacity,
        expected,
        upper,
        factor,
        single_capacity=True,
        advice={"safe_torque_nm": safe / 1000.0},
    )


@check(
    title="freeing the tip",
    stage="handling",
    unit="-",
    needs="tip",
    equation="the better of (safe torque)/(freeing torque) and (250 N)/(freeing pull)",
    sources=("wedge_friction", "shigley"),
    basis="judgement",
    judgement=("pull_force_n", "removal_friction_expected", "removal_friction_upper"),
    remedy="a larger bit, or a softer wood",
    rule="if it is pulled, pull straight along the tip, with at most {pull_n:force} and no more "
    "than the fork's own sheet allows",
    rule_value="pull_n",
    rule_unit="N",
)
def pull_out(case: WorstCase) -> Finding:
    """Return the better of twisting and pulling against what the seat resists.

    Source: wedge_friction, shigley
    """
    if not case.conditions.wood.known:
        return not_checked(NO_WOOD)
    safe = _torque_capacity(case) / case.rules["design_factor_twist_out"]
    pull = case.rules["pull_force_n"]
    ratios = []
    for name in ("expected", "upper"):
        torque, force = freeing_forces(case, name)
        with np.errstate(divide="ignore"):
            ratios.append(np.maximum(safe / torque, pull / force))
    expected, upper = ratios
    # As a ratio the demand is one; the upper demand is how much less the upper case leaves.
    return Finding(
        expected,
        expected,
        np.ones_like(expected),
        expected / upper,
        case.rules["design_factor_pull_out"],
        single_capacity=True,
        advice={"pull_n": pull * np.ones_like(expected)},
    )


@check(
    title="pull that proves a seat, off the axis",
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
    corner = _parts(case)[1]
    pull, offset = proving_pull(case), case.rules["pull_offset_mm"]
    findings = []
    for outer in (corner.mouth_mm, corner.root_mm):
        area, inertia = ring_area(corner.bore_mm, outer), ring_inertia(corner.bore_mm, outer)
        stress = pull * (offset * outer / 2.0 / inertia + 1.0 / area)
        stress = np.where(outer > corner.bore_mm, stress, np.inf)
        strength = case.conditions.material.handling_short_z_mpa * np.ones_like(stress)
        findings.append(
            single(
                strength,
                stress,
                case.rules["design_factor_pull_check"],
                advice={
                    "pull_n": pull * np.ones_like(stress),
                    "pull_offset_mm": offset * np.ones_like(stress),
                },
            )
        )
    both = together(*findings)
    advice = {name: np.concatenate([value] * 2) for name, value in findings[0].advice.items()}
    return replace(both, advice=advice)


@check(
    title="arm turned by the tube",
    stage="handling",
    unit="N mm",
    needs="hub",
    equation="mu pc Ac D/2 (lower contact) >= 5 and 10 N x arm",
    sources=("wedge_friction", "wood_handbook"),
    basis="judgement",
    judgement=("side_force_expected_n", "side_force_upper_n", "wood_friction_hold"),
    remedy="hold the connector while pushing a tube on",
    rule="tie the line so that no more than {turn_n:force} pulls an arm round",
    rule_value="turn_n",
    rule_unit="N",
)
def side_turn(case: WorstCase) -> Finding:
    """Return the seat's friction torque against a side force at an arm's nose.

    Source: wedge_friction, wood_handbook
    """
    if not case.conditions.wood.known:
        return not_checked(NO_WOOD)
    tip, rules = _parts(case)[0], case.rules
    lower, _ = relaxed_contacts(case)
    area = seat_area(case.hole_mm, tip.taper, tip.contact_mm)
    mean = case.hole_mm + tip.taper * tip.contact_mm / 2.0
    capacity = np.asarray(freeing_torque(lower, area, mean, rules["wood_friction_hold"]))
    arm = case.design.arm_length_mm * np.ones_like(capacity)
    return Finding(
        capacity,
        capacity,
        rules["side_force_expected_n"] * arm,
        rules["side_force_upper_n"] * arm,
        rules["design_factor_side_turn"],
        at_worst=CAUTION,
        single_capacity=True,
        advice={"turn_n": capacity / arm},
    )
