"""A tapered tip's sizes from the hole, the wood and the pressure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Generic

import numpy as np

from barbwright.design.conditions import Conditions
from barbwright.design.rounding import round_down, round_up
from barbwright.equations import N, Number
from barbwright.equations.seat import taper_half_angle


@dataclass(frozen=True, eq=False)
class Tip(Generic[N]):
    """Drawn sizes of a tap-in tip, from its lead end to the plain neck.

    Attributes
    ----------
    bore_mm, lead_mm, root_mm : float or array
        Bore, and the taper's diameters at its lead end and its root [mm].
    taper : float or array
        Growth of the diameter per length [-].
    contact_mm : float or array
        Travel from hand-tight that is asked for, in sound wood [mm].
    window_low_mm, window_high_mm : float or array
        The tap-depth window, from hand-tight [mm]. ``window_low_mm`` is what
        holding asks for; the two cross where no travel fits.
    hold_length_mm : float or array
        Travel that holding alone asks for; infinite when none does [mm].
    scatter_mm : float or array
        Part of the seat that print and hole scatter cost [mm].
    seat_mm : float or array
        Taper's length: scatter, contact and bark [mm].
    neck_mm : float or array
        Length of the plain neck behind the seat, for the fork [mm].
    tick_mm, tick_arc_mm : float or array
        Width and depth of a tick; its length on the arc [mm].
    tick_pitch_mm : float
        Distance between ticks [mm].
    lead_round_mm : float
        Radius on the lead edge [mm].
    hole_depth_mm : float or array
        Depth to drill from the bark's surface [mm].
    """

    bore_mm: N
    lead_mm: N
    root_mm: N
    taper: N
    contact_mm: N
    window_low_mm: N
    window_high_mm: N
    hold_length_mm: N
    scatter_mm: N
    seat_mm: N
    neck_mm: N
    tick_mm: N
    tick_arc_mm: N
    tick_pitch_mm: float
    lead_round_mm: float
    hole_depth_mm: N


def _positive_root(a: Number, b: Number, c: Number) -> Number:
    """Return the least positive root of a x2 + b x + c, infinite when there is none."""
    a, b, c = (np.asarray(v, dtype=float) for v in (a, b, c))
    with np.errstate(all="ignore"):
        root = np.sqrt(b**2 - 4.0 * a * c)
        first, second = 2.0 * c / (-b - root), 2.0 * c / (-b + root)
    first = np.where(np.isfinite(first) & (first > 0.0), first, np.inf)
    second = np.where(np.isfinite(second) & (second > 0.0), second, np.inf)
    return np.minimum(first, second)


def length_to_hold(
    contact_mpa: Number,
    pressure_mpa: Number,
    hole_mm: Number,
    taper: Number,
    friction: Number,
    design_factor: Number,
    reading_mm: Number,
) -> Number:
    """Return the travel at which holding first covers the thrust.

    Holding is counted on the travel less the reading error, thrust on all of it.

    Parameters
    ----------
    contact_mpa : float or array
        Relaxed contact pressure [MPa].
    pressure_mpa : float or array
        Pressure behind the tip [MPa].
    hole_mm : float or array
        Hole diameter [mm].
    taper : float or array
        Taper on the diameter [-].
    friction : float or array
        Coefficient of friction that holds [-].
    design_factor : float or array
        Holding over thrust [-].
    reading_mm : float or array
        How far a travel may be misread [mm].

    Returns
    -------
    float or array
        Travel, reading error included; infinite when no length holds [mm].

    Source: own_derivation, wedge_friction
    """
    a = taper_half_angle(taper)
    per_area = contact_mpa * (friction * np.cos(a) - np.sin(a)) / np.cos(a)
    asked = 0.75 * design_factor * pressure_mpa / 3.0
    wide = hole_mm + taper * reading_mm
    # pi cancels: per_area (h L + t L2/2) = 3/4 (n/3) p (wide + t L)2
    length = _positive_root(
        per_area * taper / 2.0 - asked * taper**2,
        per_area * hole_mm - 2.0 * asked * wide * taper,
        -asked * wide**2,
    )
    return length + reading_mm


def length_to_squash(
    contact_mpa: Number,
    strength_mpa: Number,
    hole_mm: Number,
    bore_mm: Number,
    lost_area_mm2: Number,
    taper: Number,
    friction: Number,
    design_factor: Number,
) -> Number:
    """Return the travel at which the driving force uses up the section.

    Parameters
    ----------
    contact_mpa : float or array
        Crushing pressure of the wood while driving [MPa].
    strength_mpa : float or array
        Compressive strength of the part [MPa].
    hole_mm, bore_mm : float or array
        Hole and bore diameter [mm].
    lost_area_mm2 : float or array
        Section lost to ticks [mm2].
    taper : float or array
        Taper on the diameter [-].
    friction : float or array
        Coefficient of friction while driving [-].
    design_factor : float or array
        Strength over driving force [-].

    Returns
    -------
    float or array
        Travel; infinite when no travel squashes it [mm].

    Source: own_derivation, wedge_friction
    """
    a = taper_half_angle(taper)
    per_area = np.pi * contact_mpa * (friction * np.cos(a) + np.sin(a)) / np.cos(a)
    able = strength_mpa / design_factor
    quarter = np.pi / 4.0
    return _positive_root(
        per_area * taper / 2.0 - able * quarter * taper**2,
        per_area * hole_mm - able * quarter * 2.0 * hole_mm * taper,
        -able * (quarter * (hole_mm**2 - bore_mm**2) - lost_area_mm2),
    )


def size_tip(conditions: Conditions, given: Mapping[str, Number]) -> Tip:
    """Return the tip for a hole in green wood.

    Parameters
    ----------
    conditions : Conditions
        What the part is designed for [mm], [MPa].
    given : mapping
        Sizes forced by the user [mm].

    Returns
    -------
    Tip
        Drawn sizes [mm].

    Source: taper_pins, small_bore_conical, judgement
    """
    rules, material, wood = conditions.rules, conditions.material, conditions.wood
    low, high = conditions.hole_low_mm, conditions.hole_high_mm
    bore = given.get("tip_bore", round_up(conditions.wanted_limits.min_bore_mm, 0.01))
    taper = given.get("taper", rules["tip_taper"])
    t_lead = material.tolerance_at(low)
    # Side ports must stand below all contact, or they would open inside the seal.
    ports = np.where(given.get("side_ports", 0.0), 2.0 * bore + rules["lead_edge_radius_mm"], 0.0)
    clear = low - t_lead - rules["lead_clearance_mm"] - taper * ports
    lead = given.get("lead", round_down(clear, 0.01))
    tick = material.min_gap_mm * np.ones_like(lead)
    tick_arc = rules["tick_length_mm"]
    reading = rules["tap_reading_mm"]

    crush = wood.crush_mpa
    relaxed = rules["wood_relaxation"] * np.minimum(crush, wood.splitting_mpa)
    hold = length_to_hold(
        rules["wood_fifth_percentile"] * relaxed,
        conditions.highest_mpa,
        high,
        taper,
        rules["wood_friction_hold"],
        rules["design_factor_wood_hold"],
        reading,
    )
    squash = length_to_squash(
        rules["drive_crush_expected"] * crush,
        material.handling_short_xy_mpa,
        low,
        bore + material.tolerance_at(bore),
        2.0 * tick_arc * tick,
        taper,
        rules["drive_friction_expected"],
        rules["design_factor_drive_squash"],
    )
    least = rules["contact_over_hole"] * high
    window_low = np.maximum(hold, least)
    window_high = np.minimum(squash, rules["interference_limit"] * low / taper) - reading
    fitting = np.where(
        round_up(window_low, 0.1) <= window_high + rules["limit_slack_mm"],
        round_up(np.minimum(window_low, 1e6), 0.1),
        # Where holding asks for more than the part or the wood can take, give all there is.
        np.maximum(round_down(window_high, 0.1), 0.0),
    )
    contact = given.get("contact", fitting)
    scatter = round_up((high + t_lead - lead) / taper, 0.1)
    seat = given.get("seat", scatter + contact + conditions.bark_mm)
    root = np.round(lead + taper * seat, 4)
    return Tip(
        bore_mm=bore,
        lead_mm=lead,
        root_mm=root,
        taper=taper,
        contact_mm=contact,
        window_low_mm=window_low,
        window_high_mm=window_high,
        hold_length_mm=hold,
        scatter_mm=scatter,
        seat_mm=seat,
        neck_mm=given.get("tip_neck", rules["fork_neck_mm"]),
        tick_mm=tick,
        tick_arc_mm=tick_arc,
        tick_pitch_mm=rules["tick_spacing_mm"],
        lead_round_mm=rules["lead_edge_radius_mm"],
        hole_depth_mm=seat + rules["hole_beyond_seat_mm"],
    )
