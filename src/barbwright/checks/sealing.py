"""Does the tube hold on its barb: rating, seal, grip, push-on."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal, NamedTuple

import numpy as np

from barbwright.checks.contact import (
    Stiffness,
    least_land,
    pull_off_n,
    reading,
    unknown_contact,
    wall_at,
)
from barbwright.checks.corners import TOO_HOT, Array, BarbCorner, WorstCase
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
from barbwright.design.measured import shares
from barbwright.equations import Number
from barbwright.equations.column import ring_area
from barbwright.equations.cylinder import barlow_pressure, end_thrust
from barbwright.equations.grip import friction_grip


@check(
    title="tube's own rating",
    of_line=True,
    meaning="The pressure the tube itself may carry at this temperature, against the highest "
    "pressure it can see.",
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
        findings.append(single(capacity, demand, factor))
    return together(*findings)


@check(
    title="seal of tube on barb",
    of_line=True,
    meaning="How hard the tube still squeezes the barb after it has settled, against the "
    "liquid's pressure. Under it the joint weeps.",
    stage="service",
    unit="MPa",
    needs="barb",
    from_table="capacity",
    equation="0.5 x mean pressure on the best land behind the first (contact table less its error) "
    "+ clamp, over p",
    sources=("barb_contact_fe", "gent1958", "ruess"),
    basis="judgement",
    judgement=("relaxation_tube", "grip_friction", "clamp_pressure_mpa"),
    remedy="a clamp (--clamp), a stiffer tube, more stretch (--set crest=...) or less pressure",
)
def barb_seal(case: WorstCase) -> Finding:
    """Return the contact that stays after relaxation against the pressure.

    Lower with the low modulus and yield, less the table's own error; expected with
    the mean of the range. At whatever size between lean and fat presses least. Outside the
    table a clamp that is enough by itself counts alone, and the contact as nothing.

    Source: barb_contact_fe, gent1958, ruess
    """
    conditions = case.conditions
    clamped = np.where(conditions.clamp, case.rules["clamp_pressure_mpa"], 0.0)
    factor, findings = case.rules["design_factor_barb_seal"], []
    for barb in case.barbs:
        if unknown := _unknown(case, barb):
            return not_checked(unknown)
        tube, heat = barb.tube, barb.tube.temperature_factor
        keep, mu = case.rules["relaxation_tube"], case.rules["grip_friction"]
        low = keep * least_land(case, barb, wall_at(tube, "low", heat), mu).lower
        mean = keep * least_land(case, barb, wall_at(tube, "mean", heat), mu).value
        pressure, clamp = conditions.highest_mpa * np.ones_like(low), clamped * np.ones_like(low)
        findings.append(
            _with_clamp(
                low=low + clamp, mean=np.maximum(low, mean) + clamp, clamp=clamp, asked=pressure,
                factor=factor, known=not unknown_contact(case, barb),
            )
        )  # fmt: skip
    return _together(findings)


def _unknown(case: WorstCase, barb: BarbCorner) -> str:
    """Return why neither contact nor clamp says anything of a tube; empty where one does."""
    unknown = unknown_contact(case, barb)
    return unknown if barb.unknown or not np.any(case.conditions.clamp) else ""


BY_CLAMP = (
    "by the clamp alone, which is a lower bound: the contact under it is outside the table and "
    "counts as nothing"
)


def _with_clamp(
    *, low: Array, mean: Array, clamp: Array, asked: Array, factor: Number, known: bool
) -> Finding:  # fmt: skip
    """Return contact and clamp against what is asked; outside the table, the clamp alone.

    A contact presses, so a clamp that is enough by itself is a lower bound. One that is not says
    nothing: there the check stays unmade.
    """
    if not known:
        low, mean = np.full_like(low, np.nan), np.full_like(mean, np.nan)
    alone = np.isnan(low) & (clamp >= factor * asked)
    return Finding(
        capacity=np.where(alone, clamp, low),
        capacity_expected=np.where(alone, clamp, mean),
        demand=asked,
        demand_upper=asked,
        design_factor=factor,
        because=BY_CLAMP if np.all(np.any(alone, axis=0)) else "",
    )


def _together(parts: list[Finding]) -> Finding:
    """Return one finding that keeps the word of the clamp, which is no reason to leave one out."""
    because = next((part.because for part in parts if part.because), "")
    return replace(together(*(replace(part, because="") for part in parts)), because=because)


@check(
    title="grip of tube on barb",
    meaning="What holds the tube on the barb, against the liquid pushing it off and a tug on "
    "the line.",
    stage="service",
    unit="N",
    needs="barb",
    from_table="capacity",
    equation="0.5 mu N + 0.35 sy pi/4 (D2 - d2) bite, at most the fresh pull-off, >= 2 p pi/4 Dc2 "
    "(N, pull-off: contact table); the bite grows from nothing at a printed step of 0.2 mm to all "
    "of it at 0.6 mm",
    sources=("barb_contact_fe", "wedge_friction"),
    basis="judgement",
    judgement=(
        "grip_friction",
        "bite_factor",
        "bite_from_mm",
        "bite_full_mm",
        "step_loss_mm",
        "grip_thrust_factor",
        "relaxation_tube",
        "land_mm",
        "clamp_pressure_mpa",
        "clamp_length_mm",
        "elastomer_yield_factor",
    ),
    remedy="a clamp (--clamp), a stiffer tube or less pressure",
)
def barb_grip(case: WorstCase) -> Finding:
    """Return what holds the tube on against what the pressure pushes it off with.

    Friction and the bite of the crests, no more than a pull-off over square backs
    finds, at one corner, against two thrusts. Outside the table a clamp that is enough by
    itself counts alone.

    Source: barb_contact_fe, wedge_friction
    """
    rules, findings = case.rules, []
    for barb in case.barbs:
        if unknown := _unknown(case, barb):
            return not_checked(unknown)
        (lower, mean), clamp = grip(case, barb), _clamped(case, barb)
        thrust = end_thrust(case.conditions.highest_mpa, barb.crest_mm)
        asked = np.asarray(rules["grip_thrust_factor"] * thrust)
        findings.append(
            _with_clamp(
                low=lower, mean=mean, clamp=clamp, asked=asked,
                factor=rules["design_factor_barb_grip"], known=not unknown_contact(case, barb),
            )
        )  # fmt: skip
    return _together(findings)


@check(
    title="tug on the line at the barb",
    meaning="The force that holds the tube beyond the pressure's push, against a tug on the line.",
    stage="handling",
    unit="N",
    needs="barb",
    from_table="capacity",
    equation="friction and bite less one thrust >= 1.25 x the tug expected, and the upper",
    sources=("wedge_friction", "own_derivation"),
    basis="judgement",
    judgement=(
        "tug_expected_n",
        "tug_upper_n",
        "grip_friction",
        "bite_factor",
        "bite_from_mm",
        "bite_full_mm",
        "step_loss_mm",
        "relaxation_tube",
        "clamp_pressure_mpa",
        "clamp_length_mm",
        "elastomer_yield_factor",
    ),
    remedy="tie the line; or a clamp (--clamp), a stiffer tube or less pressure",
    rule="tie the line before pressure: a tug of more than {tug_n:force} may pull a tube off its "
    "barb",
    rule_value="tug_n",
    rule_unit="N",
    said_by="line_pull",
)
def barb_tug(case: WorstCase) -> Finding:
    """Return what holds the tube beyond the thrust against a tug on the line.

    A caution at worst: the line is tied, so the tug is kept from the barb.

    Source: wedge_friction, own_derivation
    """
    rules, findings = case.rules, []
    for barb in case.barbs:
        if unknown := _unknown(case, barb):
            return not_checked(unknown)
        thrust = end_thrust(case.conditions.highest_mpa, barb.crest_mm)
        held, clamp = grip(case, barb), _clamped(case, barb)
        # Outside the table a clamp alone counts: a lower bound, and so is the rule's number.
        alone = (clamp > 0.0) & (np.isnan(held[0]) | bool(unknown_contact(case, barb)))
        lower, mean = (np.where(alone, clamp, one) for one in held)
        findings.append((np.maximum(lower - thrust, 0.0), np.maximum(mean - thrust, 0.0)))
    lower, mean = (np.concatenate([row[i] for row in findings]) for i in range(2))
    factor = rules["design_factor_barb_tug"]
    return Finding(
        capacity=lower,
        capacity_expected=mean,
        demand=rules["tug_expected_n"] * np.ones_like(lower),
        demand_upper=rules["tug_upper_n"] * np.ones_like(lower),
        design_factor=factor,
        at_worst=CAUTION,
        advice={"tug_n": lower / factor},
    )


class GripParts(NamedTuple):
    """What holds a tube on its barb at one end of its range [N].

    Attributes
    ----------
    rubs : (n, ...) ndarray
        Friction times the normal force, fresh [N].
    bite : float or array
        Of the square back faces [N].
    pull_off : (n, ...) ndarray
        The most a fresh pull under pressure finds [N].
    clamped : (n, ...) ndarray
        What a clamp adds [N].
    """

    rubs: Array
    bite: Number
    pull_off: Array
    clamped: Array

    def after(self, keep: Number) -> Array:
        """Return what holds where a share of the contact stays [N]."""
        return np.asarray(np.minimum(keep * self.rubs + self.bite, self.pull_off) + self.clamped)


def grip_parts(case: WorstCase, barb: BarbCorner, end: Literal["low", "mean"]) -> GripParts:
    """Return what holds a tube on its barb, part by part.

    Parameters
    ----------
    case : WorstCase
        For the clamp and judgement numbers.
    barb : BarbCorner
        The barb with its tube [mm].
    end : str
        ``low``, less the table's error, or ``mean`` [-].

    Source: wedge_friction, own_derivation
    """
    mu, clamped = case.rules["grip_friction"], _clamped(case, barb)
    wall = wall_at(barb.tube, end, barb.tube.temperature_factor)
    normal = reading("normal", barb, wall, mu)
    rubs = mu * (normal.lower if end == "low" else normal.value)
    # A pull-off over square backs has their bite in it already.
    most = pull_off_n(case, barb, wall, mu, case.conditions.highest_mpa)
    return GripParts(rubs, _bite(case, barb)[end == "mean"], most, clamped)


def grip(case: WorstCase, barb: BarbCorner) -> tuple[Array, Array]:
    """Return the lower and the expected force that holds a tube on its barb [N].

    Parameters
    ----------
    case : WorstCase
        For the clamp and judgement numbers.
    barb : BarbCorner
        The barb with its tube [mm].

    Source: wedge_friction, own_derivation
    """
    rules = case.rules
    keep = rules["relaxation_tube"]
    lower, mean = (grip_parts(case, barb, end).after(keep) for end in ("low", "mean"))
    found = shares(case.conditions.measured, "grip", rules)
    if found is not None:
        lower, mean = found[0] * mean, found[1] * mean
    return lower, np.maximum(lower, mean)


def _clamped(case: WorstCase, barb: BarbCorner) -> Array:
    """Return what a clamp's own friction holds; nothing without one [N]."""
    rules = case.rules
    force = friction_grip(
        rules["clamp_pressure_mpa"], barb.crest_mm, rules["clamp_length_mm"], rules["grip_friction"]
    )
    return np.asarray(np.where(case.conditions.clamp, force, 0.0))


def _bite(case: WorstCase, barb: BarbCorner) -> tuple[Number, Number]:
    """Return the lower and the expected bite of the square back faces [N]."""
    rules, tube, heat = case.rules, barb.tube, barb.tube.temperature_factor
    section = ring_area(barb.tube_wide_mm, tube.outer_mm)
    rubber = rules["elastomer_yield_factor"] * tube.modulus_low_mpa
    low = np.where(tube.elastomer, rubber, tube.yield_low_mpa)
    mean = np.where(tube.elastomer, rubber, (tube.yield_low_mpa + tube.yield_high_mpa) / 2.0)
    printed = barb.drawn.crest_mm - barb.drawn.root_mm - rules["step_loss_mm"]
    # A low step slides over what the tube's creep has filled in behind it.
    span = rules["bite_full_mm"] - rules["bite_from_mm"]
    free = np.clip((printed - rules["bite_from_mm"]) / span, 0.0, 1.0)
    factor = free * rules["bite_factor"] * heat * section
    return factor * low, factor * mean


@check(
    title="pushing the tube on",
    meaning="The force a hand or a tool can push with, against what the tube takes.",
    stage="handling",
    unit="N",
    needs="barb",
    from_table="demand",
    equation="largest push of the contact table: warm (half the low modulus, mu 0.5), cold and dry "
    "(high modulus, mu 1.0); not over 1.1 sy pi/4 (D2 - d2), where the tube yields along its axis "
    "before it is on",
    sources=("barb_contact_fe", "gent1958", "ruess"),
    basis="judgement",
    judgement=(
        "push_on_friction_expected",
        "push_on_friction_upper",
        "hot_water_softening",
        "push_on_by_hand_n",
        "push_on_limit_n",
        "push_on_over_yield",
    ),
    remedy="a softer tube or less stretch (--set crest=...)",
    rule="warm the tube's end in hot water and push with a tool: up to {push_on_warm_n:force} warm",
    rule_value="push_on_warm_n",
    rule_unit="N",
    rule_rounds="up",
)
def push_on(case: WorstCase) -> Finding:
    """Return the force that pushes the tube on against a hand and a tool.

    Passes where even a cold dry tube goes on by hand; asks for hot water and a
    tool where only the warm one does; fails where even the warm one crumples.

    Source: barb_contact_fe
    """
    rules = case.rules
    by_hand, limit = rules["push_on_by_hand_n"], rules["push_on_limit_n"]
    soft, findings = rules["hot_water_softening"], []
    for barb in case.barbs:
        if unknown := unknown_contact(case, barb):
            return not_checked(unknown)
        warm, cold = wall_at(barb.tube, "low", soft), wall_at(barb.tube, "high")
        expected = reading(
            "push", barb, warm, rules["push_on_friction_expected"], narrowest=True
        ).value
        upper = reading("push", barb, cold, rules["push_on_friction_upper"], narrowest=True).upper
        found = shares(case.conditions.measured, "push", rules)
        if found is not None:
            # A cold, dry tube was not pushed: its number stays, unless a warm one needs more.
            expected, upper = found[1] * expected, np.maximum(upper, found[2] * expected)
        findings.append(
            (
                expected,
                np.maximum(expected, upper),
                expected > _crumples(case, barb, warm),
                upper > _crumples(case, barb, cold),
            )
        )
    expected, upper, crumples, may_crumple = (
        np.concatenate([row[i] for row in findings]) for i in range(4)
    )
    by_tool = (expected <= limit) & ~crumples
    verdict = np.where((upper <= by_hand) & ~may_crumple, PASS, np.where(by_tool, CAUTION, FAIL))
    return Finding(
        capacity=by_hand * np.ones_like(expected),
        capacity_expected=limit * np.ones_like(expected),
        demand=expected,
        demand_upper=upper,
        verdict=verdict,
        advice={"push_on_warm_n": expected, "push_on_cold_n": upper},
    )


def _crumples(case: WorstCase, barb: BarbCorner, wall: Stiffness) -> Array:
    """Return the push at which the tube yields along its axis [N]; none for a rubber."""
    section = ring_area(barb.tube_narrow_mm, barb.tube.outer_mm)
    force = case.rules["push_on_over_yield"] * wall.yield_mpa * section
    return np.asarray(np.where(np.isnan(force), np.inf, force))
