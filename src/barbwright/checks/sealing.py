"""Does the tube hold on its barb: rating, seal, grip, push-on."""

from __future__ import annotations

import numpy as np

from barbwright.checks.corners import TOO_HOT, Array, BarbCorner, WorstCase
from barbwright.checks.result import CAUTION, FAIL, PASS, Finding, check, not_checked, together
from barbwright.equations import Number
from barbwright.equations.cylinder import barlow_pressure, end_thrust
from barbwright.equations.grip import friction_grip, push_on_force


def _relaxed(case: WorstCase, barb: BarbCorner) -> tuple[Array, Array]:
    """Return the lower and the expected contact that stays [MPa]."""
    tube, heat = barb.tube, barb.tube.temperature_factor
    low = barb.least_contact(tube.modulus_low_mpa * heat, tube.yield_low_mpa * heat)
    mean = barb.least_contact(
        (tube.modulus_low_mpa + tube.modulus_high_mpa) / 2.0 * heat,
        (tube.yield_low_mpa + tube.yield_high_mpa) / 2.0 * heat,
    )
    keep = case.rules["relaxation_tube"]
    return keep * low, keep * mean


@check(
    title="tube's own rating",
    stage="service",
    unit="MPa",
    needs="barb",
    equation="stated rating x temperature factor; without one 2 s t/Do against 4 p",
    sources=("en_iso_8029", "barlow", "hose_practice"),
    basis="from_memory",
    judgement=("burst_ratio",),
    remedy="a tube with a higher stated rating, or less pressure",
)
def tube_rating(case: WorstCase) -> Finding:
    """Return the tube's rating at service temperature against the pressure.

    Without a stated rating, burst by Barlow on the outer diameter with the
    matched row's lower yield; with neither, nothing can be said.

    Source: en_iso_8029, barlow, hose_practice
    """
    pressure = case.conditions.highest_mpa
    findings = []
    for barb in case.barbs:
        tube = barb.tube
        ones = np.ones((1, *np.shape(case.bore_mm)[1:]))
        wall = (tube.outer_mm - tube.inner_mm) / 2.0
        burst = barlow_pressure(tube.burst_strength_mpa, wall, tube.outer_mm)
        stated = np.isfinite(tube.rating_mpa)
        capacity = np.where(stated, tube.rating_mpa, burst) * ones
        factor = (
            np.where(stated, case.rules["design_factor_tube_rating"], case.rules["burst_ratio"])
            * ones
        )
        if np.all(np.isnan(capacity)) and np.all(np.isnan(tube.temperature_factor)):
            return not_checked(TOO_HOT)
        if np.all(np.isnan(capacity)):
            return not_checked(
                "the tube states no rating and no strength: --tube-rating with its temperature"
            )
        demand = pressure * ones
        findings.append(Finding(capacity, capacity, demand, demand, factor, single_capacity=True))
    return together(*findings)


@check(
    title="seal of tube on barb",
    stage="service",
    unit="MPa",
    needs="barb",
    equation="0.5 min(neo-Hookean contact, (2/sqrt 3) sy ln(b/a)) + clamp, over p",
    sources=("own_derivation", "gent1958", "ruess", "hearn"),
    basis="judgement",
    judgement=("relaxation_tube", "clamp_pressure_mpa"),
    remedy="a clamp (--clamp), a stiffer tube, more expansion (--set crest=...) or less pressure",
)
def barb_seal(case: WorstCase) -> Finding:
    """Return the contact that stays after relaxation against the pressure.

    Lower with the low modulus and yield, expected with the mean of the range.

    Source: own_derivation, gent1958, ruess, hearn
    """
    conditions = case.conditions
    clamp = np.where(conditions.clamp, case.rules["clamp_pressure_mpa"], 0.0)
    findings = []
    for barb in case.barbs:
        if unknown := barb.unknown:
            return not_checked(unknown)
        low, mean = _relaxed(case, barb)
        pressure = conditions.highest_mpa * np.ones_like(low)
        findings.append(
            Finding(
                low + clamp,
                mean + clamp,
                pressure,
                pressure,
                case.rules["design_factor_barb_seal"],
            )
        )
    return together(*findings)


@check(
    title="grip of tube on barb",
    stage="service",
    unit="N",
    needs="barb",
    equation="mu pc pi Dc L >= p pi/4 Dc2; with bite 0.35 sy pi/4 (D2 - d2) >= 2 thrusts + a tug",
    sources=("wedge_friction", "own_derivation"),
    basis="judgement",
    judgement=(
        "grip_friction",
        "bite_factor",
        "grip_thrust_factor",
        "tug_expected_n",
        "tug_upper_n",
        "land_mm",
    ),
    remedy="a clamp (--clamp), a stiffer tube or less pressure",
)
def barb_grip(case: WorstCase) -> Finding:
    """Return what holds the tube on against what pushes and pulls it off.

    Twice: friction alone must carry the thrust; friction and the bite of the
    square crests must carry two thrusts and a tug on the line.

    Source: wedge_friction, own_derivation
    """
    conditions, rules = case.conditions, case.rules
    mu = rules["grip_friction"]
    findings = []
    for barb in case.barbs:
        if unknown := barb.unknown:
            return not_checked(unknown)
        drawn = barb.drawn
        low, mean = _relaxed(case, barb)
        crest = barb.crest_mm
        clamped = np.where(
            conditions.clamp,
            friction_grip(rules["clamp_pressure_mpa"], crest, rules["clamp_length_mm"], mu),
            0.0,
        )
        friction, friction_mean = (
            friction_grip(contact, crest, drawn.friction_length_mm, mu) + clamped
            for contact in (low, mean)
        )
        thrust = end_thrust(conditions.highest_mpa, crest)
        findings.append(
            Finding(
                friction,
                friction_mean,
                rules["grip_bare_thrust_factor"] * thrust,
                rules["grip_bare_thrust_factor"] * thrust,
                rules["design_factor_barb_grip"],
            )
        )
        bite_low, bite_mean = _bite(case, barb)
        both = rules["grip_thrust_factor"] * thrust
        findings.append(
            Finding(
                friction + bite_low,
                friction_mean + bite_mean,
                both + rules["tug_expected_n"],
                both + rules["tug_upper_n"],
                rules["design_factor_barb_grip"],
            )
        )
    return together(*findings)


def _bite(case: WorstCase, barb: BarbCorner) -> tuple[Number, Number]:
    """Return the lower and the expected bite of the square back faces [N]."""
    rules, tube, heat = case.rules, barb.tube, barb.tube.temperature_factor
    section = np.pi / 4.0 * (tube.outer_mm**2 - barb.tube_wide_mm**2)
    rubber = rules["elastomer_yield_factor"] * tube.modulus_low_mpa
    low = np.where(tube.elastomer, rubber, tube.yield_low_mpa)
    mean = np.where(tube.elastomer, rubber, (tube.yield_low_mpa + tube.yield_high_mpa) / 2.0)
    step = barb.drawn.crest_mm - barb.drawn.root_mm
    # A step lower than this slides over what the tube's creep has filled in.
    square = step >= rules["crest_over_root_mm"] - rules["limit_slack_mm"]
    factor = np.where(square, rules["bite_factor"], 0.0) * heat * section
    return factor * low, factor * mean


@check(
    title="pushing the tube on",
    stage="handling",
    unit="N",
    needs="barb",
    equation="po pi Dc L (mu cos a + sin a): warm (half the low modulus, mu 0.5), cold and dry "
    "(high modulus, mu 1.0)",
    sources=("wedge_friction", "own_derivation", "gent1958", "ruess"),
    basis="judgement",
    judgement=(
        "push_on_friction_expected",
        "push_on_friction_upper",
        "hot_water_softening",
        "push_on_by_hand_n",
        "push_on_limit_n",
    ),
    remedy="a softer tube or less expansion (--set crest=...)",
    rule="warm the tube's end in hot water and push with a tool: up to {push_on_warm_n:force} warm",
    rule_value="push_on_warm_n",
    rule_unit="N",
    rule_rounds="up",
)
def push_on(case: WorstCase) -> Finding:
    """Return the force that pushes the tube on against a hand and a tool.

    Passes where even a cold dry tube goes on by hand; asks for hot water and a
    tool where only the warm one does.

    Source: wedge_friction, own_derivation
    """
    rules = case.rules
    by_hand, limit = rules["push_on_by_hand_n"], rules["push_on_limit_n"]
    angle = case.design.forced.get("barb_angle", rules["barb_angle_deg"])
    findings = []
    for barb in case.barbs:
        if unknown := barb.unknown:
            return not_checked(unknown)
        tube, drawn = barb.tube, barb.drawn
        soft = rules["hot_water_softening"]
        warm = barb.most_line_load(soft * tube.modulus_low_mpa, soft * tube.yield_low_mpa)
        cold = barb.most_line_load(tube.modulus_high_mpa, tube.yield_high_mpa)
        # Contact and crest come as their product, the most of which may lie between corners.
        expected, upper = (
            np.asarray(push_on_force(load, 1.0, drawn.friction_length_mm, mu, angle))
            for load, mu in (
                (warm, rules["push_on_friction_expected"]),
                (cold, rules["push_on_friction_upper"]),
            )
        )
        findings.append((expected, upper))
    expected = np.concatenate([row[0] for row in findings])
    upper = np.concatenate([row[1] for row in findings])
    verdict = np.where(upper <= by_hand, PASS, np.where(expected <= limit, CAUTION, FAIL))
    return Finding(
        by_hand * np.ones_like(expected),
        limit * np.ones_like(expected),
        expected,
        upper,
        verdict=verdict,
        advice={"push_on_warm_n": expected, "push_on_cold_n": upper},
    )
