"""Does the wall hold: barb, tip, crossing bores, side load."""

from __future__ import annotations

import numpy as np

from barbwright import catalog
from barbwright.checks.contact import squeeze_mpa, unknown_contact, wall_at
from barbwright.checks.corners import Array, WorstCase, seated
from barbwright.checks.result import CAUTION, Finding, check, not_checked, single, together
from barbwright.checks.wood import NO_WOOD, wood_hold
from barbwright.design.draw import side_port_from_lead_mm
from barbwright.equations import Number
from barbwright.equations.column import bending_stress
from barbwright.equations.crossing import (
    crossing_factor,
    hub_factor,
    small_bore_factor,
    unequal_bores_factor,
)
from barbwright.equations.cylinder import (
    external_hoop_at_bore,
    lame_axial,
    lame_hoop,
    lame_von_mises,
)
from barbwright.equations.seat import rocking_force


@check(
    title="barb wall under pressure",
    meaning="The stress the printed material may carry for a long time, against the stress in "
    "the barb's thinnest wall.",
    stage="service",
    unit="MPa",
    needs="barb",
    equation="max(p (k2+1)/(k2-1), sqrt(3) p k2/(k2-1)) at the thinnest of root and neck",
    sources=("lame", "shigley", "design_record"),
    basis="judgement",
    remedy="a smaller bore (--set bore=...), a stronger material or less pressure",
)
def barb_wall(case: WorstCase) -> Finding:
    """Return the barb root's wall stress against the long-term allowable.

    The tube outside helps and is not counted. The nose is wet on both sides and
    carries nothing.

    Source: lame, shigley
    """
    findings = []
    for barb in case.barbs:
        # A neck is wider than the root unless it was forced; an in-line tip's is the ring.
        outer = barb.root_mm
        if case.design.ring is None:
            outer = np.minimum(outer, barb.neck_mm)
        findings.append(_wall(case, case.bore_mm, outer))
    return together(*findings)


def _wall(case: WorstCase, bore_mm: Array, outer_mm: Array) -> Finding:
    """Return the larger of hoop and von Mises stress in a round wall against the allowable."""
    pressure, allowable = case.conditions.highest_mpa, case.conditions.material.allowable_mpa
    stress = np.maximum(
        lame_hoop(pressure, bore_mm, outer_mm), lame_von_mises(pressure, bore_mm, outer_mm)
    )
    return single(
        allowable * np.ones_like(stress),
        _sound(stress, bore_mm, outer_mm),
        case.rules["design_factor_wall"],
    )


@check(
    title="tip wall under pressure",
    meaning="The stress the printed material may carry for a long time, against the stress in "
    "the tip's thinnest wall.",
    stage="service",
    unit="MPa",
    needs="tip",
    equation="max(p (k2+1)/(k2-1), sqrt(3) p k2/(k2-1)) at the lead end, k = lead/bore",
    sources=("lame", "shigley", "design_record"),
    basis="judgement",
    remedy="a larger bit, a stronger material or less pressure",
)
def tip_wall(case: WorstCase) -> Finding:
    """Return the tip's thinnest wall stress against the long-term allowable.

    The wood outside helps and is not counted.

    Source: lame, shigley
    """
    _, corner = seated(case)
    return _wall(case, corner.bore_mm, corner.lead_mm)


@check(
    title="stress where bores cross",
    meaning="The stress the printed material may carry for a long time, against the peak "
    "where the bores meet.",
    stage="service",
    unit="MPa",
    needs="crossing",
    equation="1.10 max(f p, m f p + (1 - m) 1.10 (2 s + 2 p)), s = p (2 + k3)/(2 (k3 - 1)), k = "
    "hub ball/relief ball; side ports: table factor x 1.10 x Lame hoop",
    sources=(
        "hub_crossing_fe",
        "own_derivation",
        "roark",
        "crossing_bores_fe",
        "makulsawatudom2004",
        "nziu_masu2019",
    ),
    basis="judgement",
    judgement=("crossing_table_uncertainty",),
    remedy="a larger hub ball (--set hub_ball=...), a relief ball of 1.5 to 2 bores as "
    "printed (--set relief_ball=...), a stronger material or less pressure",
)
def crossing_bores(case: WorstCase) -> Finding:
    """Return the peak stress where bores cross against the allowable.

    The larger of von Mises and largest principal stress in a tee with bores as
    wide as the widest, which an elbow stays under; a narrower bore's lip comes
    nearer to a small hole's. Outside the table nothing is known, as where a relief
    ball under 1.45 bores leaves the crossing's edge standing: the stress is
    infinite. The necks are judged by barb_wall and tip_wall. Across layers is
    assumed, because in a tee one arm always is. A pair of side ports crosses the
    tip's bore without a relief ball and has a table of its own.

    Source: hub_crossing_fe, own_derivation, roark, crossing_bores_fe
    """
    pressure = case.conditions.highest_mpa
    allowable = case.conditions.material.allowable_mpa
    factor = case.rules["design_factor_crossing_bores"]
    findings = []
    if case.ball_mm is not None and case.relief_mm is not None:
        peak = hub_peak(case.bore_mm, seated(case)[1].bore_mm, case.relief_mm, case.ball_mm)
        peak = _known(case.rules["crossing_table_uncertainty"] * peak * pressure)
        findings.append(single(allowable * np.ones_like(peak), peak, factor))
    if case.design.forced.get("side_ports") and case.tip is not None:
        tip, corner = seated(case)
        bore, outer = corner.bore_mm, corner.lead_mm + tip.taper * side_port_from_lead_mm(tip)
        ratios, factors = crossing_table()
        concentration = crossing_factor(outer / bore, ratios, factors)
        concentration = case.rules["crossing_table_uncertainty"] * concentration
        peak = _known(concentration * lame_hoop(pressure, bore, outer))
        findings.append(single(allowable * np.ones_like(peak), peak, factor))
    return together(*findings)


def hub_peak(bore_mm: Number, tip_bore_mm: Number, relief_mm: Number, ball_mm: Number) -> Array:
    """Return the peak stress over the pressure where bores cross in a ball hub.

    Parameters
    ----------
    bore_mm, tip_bore_mm : float or array
        Bores of the arms and of the tip [mm].
    relief_mm, ball_mm : float or array
        Diameters of the relief ball and of the hub ball [mm].

    Returns
    -------
    ndarray
        Larger of von Mises and largest principal, without any uncertainty; NaN
        outside the table [-].

    Source: hub_crossing_fe, own_derivation, roark
    """
    table = catalog.hub_crossing()
    wide, narrow = np.maximum(bore_mm, tip_bore_mm), np.minimum(bore_mm, tip_bore_mm)
    thick = ball_mm / relief_mm
    equal = hub_factor(
        relief_mm / wide, thick, table.relief_over_bore, table.hub_over_relief, table.larger
    )
    # A thinner hub is outside the table, and one without a wall has no stress to divide.
    small = small_bore_factor(np.maximum(thick, table.hub_over_relief[0]))
    return np.asarray(unequal_bores_factor(equal, small, narrow / wide))


def crossing_table() -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return the equal-tee column of the crossing-bores table: ratios, factors [-].

    Source: crossing_bores_fe
    """
    table = catalog.crossing_bores()
    return table.outer_to_inner_ratio, table.equal_tee_scf


@check(
    title="side force on an arm",
    meaning="The stress that breaks the material at once, against the stress when a line "
    "snags and pulls an arm sideways.",
    stage="handling",
    unit="MPa",
    needs="barb",
    equation="1.8 F L (D/2)/I + p a2/(b2 - a2), or hoop if larger, at barb root, neck and tip: "
    "finite elements find 1.8 to 1.9 x the beam's stress at the shoulder's radius",
    sources=("shigley", "lame", "design_record", "own_trial_fe"),
    basis="judgement",
    judgement=("side_spot_factor", "side_force_expected_n", "side_force_upper_n"),
    remedy="a stiffer arm: wider root (--set root=...), or a stronger material",
    rule="tie the line: no more than {side_force_n:force} sideways at a barb's end; it breaks near "
    "{breaking_n:force}",
    rule_value="side_force_n",
    rule_unit="N",
)
def side_load(case: WorstCase) -> Finding:
    """Return the stress of a snagged line against short-term strength.

    The force acts at an arm's nose, in the direction that is worst for each
    section: barb root, neck, and the tip where sound wood lets go of it.

    Source: shigley, lame
    """
    conditions, rules, design = case.conditions, case.rules, case.design
    pressure = conditions.highest_mpa
    strength = conditions.material.short_z_mpa
    forces = rules["side_force_expected_n"], rules["side_force_upper_n"]
    factor = rules["design_factor_side_load"]
    sections: list[tuple[Number, Array, Array]] = []
    for barb in case.barbs:
        insertion = barb.drawn.insertion_mm
        sections.append((insertion, case.bore_mm, barb.root_mm))
        if case.ball_mm is not None:
            sections.append((insertion + design.neck_length_mm, case.bore_mm, barb.neck_mm))
    if case.tip is not None:
        tip = case.tip
        # From the arm's axis (or, in line, the nose) down to where sound wood holds.
        if design.hub is not None:
            # Square to the line from nose to section, in the plane of arm and tip, is the worst.
            reach = np.hypot(tip.free_mm - design.hub.pad_height_mm, design.arm_length_mm)
        else:
            reach = tip.free_mm + design.insertion_mm
        sections.append((reach, tip.bore_mm, tip.mouth_mm))
    findings = []
    for lever, bore, outer in sections:
        axial = lame_axial(pressure, bore, outer)
        hoop = lame_hoop(pressure, bore, outer)
        per_newton = rules["side_spot_factor"] * bending_stress(1.0 * lever, bore, outer)
        demand, upper = (
            _sound(np.maximum(force * per_newton + axial, hoop), bore, outer) for force in forces
        )
        capacity = strength * np.ones_like(demand)
        breaking = np.maximum(strength - axial, 0.0) / per_newton
        findings.append((capacity, demand, upper, breaking))
    stacked = [np.concatenate([row[i] for row in findings]) for i in range(4)]
    capacity, demand, upper, breaking = stacked
    return single(
        capacity,
        demand,
        factor,
        upper=upper,
        advice={
            "side_force_n": breaking / factor,
            "breaking_n": breaking,
        },
    )


@check(
    title="tug along the line on a seated tip",
    stage="handling",
    unit="N",
    needs="tip",
    equation="hub: the least of s Z/(1.3 e) and q D L/(sqrt(m2 + 1) + m), m = 1 + 2 e/L, q 1.3 "
    "C90, e from the wood to the arm's axis; in line: what holds the tip less one thrust; >= 1.25 "
    "x the tug expected, and the upper",
    sources=("beam_theory", "broms1964", "wedge_friction", "own_trial_fe"),
    basis="judgement",
    judgement=(
        "tug_expected_n",
        "tug_upper_n",
        "mouth_spot_factor",
        "drive_crush_expected",
        "wood_fifth_percentile",
        "tap_reading_mm",
        "wood_relaxation",
        "wood_friction_hold",
    ),
    remedy="tie the line to the trunk on both sides of each connector",
    meaning="The tug along the line that tilts a seated tip in its wood, or breaks it. A line that "
    "is tied never pulls at the tip.",
    rule="tie the line before pressure: a tug of {tug_n:force} along it may tilt a seated tip, "
    "break it or pull a tube off",
    rule_value="tug_n",
    rule_unit="N",
)
def line_pull(case: WorstCase) -> Finding:
    """Return the tug along the line that a seated tip stands.

    On a hub the tug bends the tip at the wood's mouth and tilts it in wood that crushes; in
    line it draws the tip. A caution at worst: the line is tied, so the tug stays off the tip.

    Source: beam_theory, broms1964, wedge_friction, own_trial_fe
    """
    rules, wood = case.rules, case.conditions.wood
    if not wood.known:
        return not_checked(NO_WOOD)
    factor = rules["design_factor_line_pull"]
    held = _held_in_line(case) if case.design.hub is None else _held_across(case)
    lower, expected = (np.concatenate([row[i] for row in held]) for i in range(2))
    return Finding(
        capacity=lower,
        capacity_expected=expected,
        demand=np.full_like(lower, rules["tug_expected_n"]),
        demand_upper=np.full_like(lower, rules["tug_upper_n"]),
        design_factor=factor,
        at_worst=CAUTION,
        advice={"tug_n": lower / factor},
    )


def _held_across(case: WorstCase) -> list[tuple[Array, Array]]:
    """Return the tugs across a tip that break it and that tilt it: lower, expected [N]."""
    (tip, corner), rules = seated(case), case.rules
    assert case.design.hub is not None
    lever, bore, mouth = (
        corner.free_mm - case.design.hub.pad_height_mm,
        corner.bore_mm,
        corner.mouth_mm,
    )
    axial = lame_axial(case.conditions.highest_mpa, bore, mouth)
    per_newton = rules["mouth_spot_factor"] * bending_stress(1.0 * lever, bore, mouth)
    breaking = np.maximum(case.conditions.material.short_z_mpa - axial, 0.0) / per_newton
    breaking = np.where(mouth > bore, breaking, 0.0)
    length = np.maximum(tip.contact_mm - rules["tap_reading_mm"], 0.0)
    mean = mouth - tip.taper * length / 2.0
    crush = rules["drive_crush_expected"] * case.conditions.wood.soft_mpa
    tilting = rocking_force(crush, mean, length, lever) * np.ones_like(breaking)
    return [(breaking, breaking), (rules["wood_fifth_percentile"] * tilting, tilting)]


def _held_in_line(case: WorstCase) -> list[tuple[Array, Array]]:
    """Return the tug that draws a tip out of its hole, beyond one thrust: lower, expected [N]."""
    held = wood_hold(case)
    lower, expected = (
        np.maximum(np.asarray(value) - held.demand, 0.0)
        for value in (held.capacity, held.capacity_expected)
    )
    return [(lower, expected)]


@check(
    title="root squeezed by the tube",
    meaning="What crushes the material, against the squeeze of a fresh tube on the root.",
    stage="service",
    unit="MPa",
    needs="barb",
    from_table="demand",
    equation="2 po b2/(b2 - a2) at the root, po = N/(pi Dr pitches), N the fresh normal force of "
    "the contact table",
    sources=("lame", "barb_contact_fe", "design_record"),
    basis="judgement",
    judgement=("grip_friction",),
    remedy="a smaller bore, or a softer tube",
)
def root_crush(case: WorstCase) -> Finding:
    """Return the hoop compression of the root under a fresh tube against strength.

    What the lands take is meant over the pitch, about the length over which the
    barb's own wall bends.

    Source: lame, barb_contact_fe
    """
    conditions = case.conditions
    strength = conditions.material.short_xy_mpa
    findings = []
    for barb in case.barbs:
        if unknown := unknown_contact(case, barb):
            return not_checked(unknown)
        heat, mu = barb.tube.temperature_factor, case.rules["grip_friction"]
        demand, upper = (
            _sound(
                -external_hoop_at_bore(
                    squeeze_mpa(case, barb, wall, mu), case.bore_mm, barb.root_mm
                ),
                case.bore_mm,
                barb.root_mm,
            )
            for wall in (wall_at(barb.tube, "mean", heat), wall_at(barb.tube, "high", heat))
        )
        upper = np.maximum(demand, upper)
        capacity = strength * np.ones_like(demand)
        findings.append(
            single(capacity, demand, case.rules["design_factor_root_crush"], upper=upper)
        )
    return together(*findings)


def _known(stress_mpa: Number) -> Array:
    """Return a stress, infinite where its table knows nothing: a refusal, not a pass."""
    return np.asarray(np.where(np.isnan(stress_mpa), np.inf, stress_mpa))


def _sound(stress_mpa: Number, bore_mm: Array, outer_mm: Array) -> Array:
    """Return a stress, infinite where the corner has no wall left."""
    return np.asarray(np.where(outer_mm > bore_mm, stress_mpa, np.inf))
