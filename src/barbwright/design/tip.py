"""A tapered tip's sizes from the hole, the wood and the pressure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Generic

import numpy as np
from numpy.typing import NDArray

from barbwright.design.conditions import Conditions, SeatChoice
from barbwright.design.measured import shares
from barbwright.design.rounding import GRID_MM, round_down, round_up
from barbwright.equations import N, Number, square
from barbwright.equations.cylinder import end_thrust
from barbwright.equations.seat import taper_half_angle

# From a seat's end on to the room its bore opens into: neck and a part of the hub (judgement).
_BEYOND_SEAT_MM = 6.0
# Tapers on the diameter that are tried, steepest first: 1:10 to 1:30.
TAPERS = (1 / 10, 1 / 12, 1 / 15, 1 / 20, 1 / 25, 1 / 30)
# Contacts that are tried at each: what a pull in the field proves, what the weakest wood holds,
# and all that the wood takes.
CONTACTS = 3
# Contact is asked for in whole millimetres.
CONTACT_STEP_MM = 1.0


@dataclass(frozen=True, eq=False, kw_only=True)
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
        The tap-depth window, from hand-tight [mm]: what hold and walls ask for, and
        where the wood would be spread too far.
    most_contact_mm : float or array
        The longest contact that leaves one tick more to tap, in whole millimetres;
        under one hole diameter there is no window [mm].
    hold_length_mm : float or array
        Travel that holding alone asks for; infinite when none does [mm].
    scatter_mm : float or array
        Part of the seat that print and hole scatter cost [mm].
    seat_mm : float or array
        Taper's length: scatter, contact, one tick and bark [mm].
    neck_mm : float or array
        Length of the plain neck behind the seat, for the fork [mm].
    tick_mm, tick_depth_mm, tick_arc_mm : float or array
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
    most_contact_mm: N
    hold_length_mm: N
    scatter_mm: N
    seat_mm: N
    neck_mm: N
    tick_mm: N
    tick_depth_mm: N
    tick_arc_mm: N
    tick_pitch_mm: float
    lead_round_mm: float
    hole_depth_mm: N

    @property
    def drop_mm(self) -> N:
        """Plain neck less lead end: what the taper takes off over its length [mm]."""
        drop: N = self.root_mm - self.lead_mm
        return drop

    @property
    def in_ticks(self) -> NDArray[np.bool_]:
        """Whether its contact can be counted in ticks: the next whole one lies in the window."""
        return np.asarray(self._next_tick * self.tick_pitch_mm <= self.window_high_mm + 1e-9)

    @property
    def ticks(self) -> Number:
        """Whole ticks of its contact: to the next one, or short of it past the window [-]."""
        before = np.maximum(np.floor(self.contact_mm / self.tick_pitch_mm + 1e-9), 1.0)
        return np.where(self.in_ticks, self._next_tick, before)

    @property
    def _next_tick(self) -> Number:
        return np.asarray(np.ceil(self.contact_mm / self.tick_pitch_mm - 1e-9))


@dataclass(frozen=True, kw_only=True, eq=False)
class SeatAsked:
    """What a taper is asked for: travels from hand-tight, before any is rounded.

    Attributes
    ----------
    hole_mm : float or array
        One hole diameter, the shortest contact [mm].
    hold_outright_mm, hold_proved_mm : float or array
        Travel at which the lower hold covers three thrusts, and the expected one
        two; infinite where no length does [mm].
    wall_proved_mm : float or array
        Travel from which what stands proud keeps its wall, as far as a proof test is
        trusted [mm].
    most_mm : float or array
        Longest contact that leaves one tick and the hand's own travel inside the
        interference the wood takes [mm].
    window_high_mm : float or array
        Upper end of the tap-depth window [mm].
    """

    hole_mm: Number
    hold_outright_mm: Number
    hold_proved_mm: Number
    wall_proved_mm: Number
    most_mm: Number
    window_high_mm: Number

    def contact_mm(self, *, outright: bool) -> Number:
        """Return the contact that meets what is asked, or all there is, in whole mm."""
        hold = self.hold_outright_mm if outright else self.hold_proved_mm
        asked = np.maximum(np.maximum(self.hole_mm, hold), self.wall_proved_mm)
        least = round_up(np.minimum(asked, 1e6), CONTACT_STEP_MM)
        return np.minimum(least, self.most_whole_mm)

    @property
    def most_whole_mm(self) -> Number:
        """The longest contact in whole millimetres, at least none [mm]."""
        return np.maximum(round_down(self.most_mm, CONTACT_STEP_MM), 0.0)


def _positive_root(a: Number, b: Number, c: Number) -> Number:
    """Return the least positive root of a x2 + b x + c, infinite when there is none."""
    a, b, c = (np.asarray(v, dtype=float) for v in (a, b, c))
    with np.errstate(all="ignore"):
        root = np.sqrt(square(b) - 4.0 * a * c)
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
        per_area * taper / 2.0 - asked * square(taper),
        per_area * hole_mm - 2.0 * asked * wide * taper,
        -asked * square(wide),
    )
    return length + reading_mm


def travel_by_hand(
    push_n: Number, contact_mpa: Number, hole_mm: Number, taper: Number, friction: Number
) -> Number:
    """Return how far a push of the hand drives a taper beyond first contact.

    Parameters
    ----------
    push_n : float or array
        Force of the hand [N].
    contact_mpa : float or array
        Crushing pressure of the wood while driving [MPa].
    hole_mm : float or array
        Hole diameter [mm].
    taper : float or array
        Taper on the diameter [-].
    friction : float or array
        Coefficient of friction while driving [-].

    Returns
    -------
    float or array
        Travel at which the driving force has grown to the push [mm].

    Source: own_derivation, wedge_friction
    """
    a = taper_half_angle(taper)
    per_area = np.pi * contact_mpa * (friction * np.cos(a) + np.sin(a)) / np.cos(a)
    return _positive_root(per_area * taper / 2.0, per_area * hole_mm, -push_n)


def spread(hole_low_mm: Number, hole_high_mm: Number, tolerance_mm: Number) -> Number:
    """Return the spread of fits between hole and lead that a taper has to cover.

    Hole and print vary by themselves: their ranges add as squares do. What lies
    outside is found by hand, before the hammer.

    Parameters
    ----------
    hole_low_mm, hole_high_mm : float or array
        Smallest and largest hole [mm].
    tolerance_mm : float or array
        How far the lead may print off, either way [mm].

    Returns
    -------
    float or array
        sqrt((high - low)2 + (2 t)2) [mm].

    Source: own_derivation, judgement
    """
    return np.hypot(hole_high_mm - hole_low_mm, 2.0 * tolerance_mm)


def lead_diameter(
    hole_low_mm: Number, hole_high_mm: Number, spread_mm: Number, clearance_mm: Number
) -> Number:
    """Return the lead end's diameter that stands in the middle of the spread.

    Parameters
    ----------
    hole_low_mm, hole_high_mm : float or array
        Smallest and largest hole [mm].
    spread_mm : float or array
        From `spread` [mm].
    clearance_mm : float or array
        How much thinner still, so that the thickest fit enters [mm].

    Returns
    -------
    float or array
        Mean hole less half the spread less the clearance [mm].

    Source: own_derivation
    """
    return (hole_low_mm + hole_high_mm) / 2.0 - spread_mm / 2.0 - clearance_mm


def hand_travel(conditions: Conditions, taper: Number, hole_mm: Number) -> Number:
    """Return how far the hand's own push drives a tip before the hammer does [mm].

    Parameters
    ----------
    conditions : Conditions
        For the wood and the push [MPa], [N].
    taper : float or array
        Taper on the diameter [-].
    hole_mm : float or array
        Hole diameter [mm].

    Source: own_derivation, judgement
    """
    rules = conditions.rules
    return travel_by_hand(
        rules["hand_push_n"],
        rules["drive_crush_expected"] * conditions.wood.soft_mpa,
        hole_mm,
        taper,
        rules["drive_friction_expected"],
    )


@dataclass(frozen=True, eq=False)
class _Fit:
    """Lead, the fits its taper covers, how far it may be driven, and its bore [mm]."""

    lead: Number
    reach: Number
    most: Number
    bore: Number


def _fit(conditions: Conditions, given: Mapping[str, Number], taper: Number) -> _Fit:
    rules, low, high = conditions.rules, conditions.hole_low_mm, conditions.hole_high_mm
    off, clearance = conditions.tip_tolerance_mm, rules["lead_clearance_mm"]
    covered = spread(low, high, off)
    wanted, reach = lead_diameter(low, high, covered, clearance), covered + clearance
    beyond = rules["tick_spacing_mm"] + np.maximum(
        hand_travel(conditions, taper, low), rules["tap_reading_mm"]
    )
    most = rules["interference_limit"] * low / taper - beyond
    longest = reach / taper + most + rules["tick_spacing_mm"] + conditions.bark_mm
    bore = _tip_bore(conditions, given, longest)
    if "side_ports" in given:
        # Ports must stand below all contact, or they would open inside the seal: for them the
        # worst corner counts, which no hand can feel.
        ports = 2.0 * bore + rules["lead_edge_radius_mm"]
        corner = low - off - clearance - taper * ports
        ported = np.asarray(given["side_ports"], dtype=bool)
        wanted, reach = (
            np.where(ported, corner, wanted),
            np.where(ported, high + off - corner, reach),
        )
    # What the lead loses to its rounding the taper must cover too.
    lead = given.get("lead", round_down(wanted, GRID_MM))
    return _Fit(lead, reach + (wanted - lead), most, bore)


def _tip_bore(conditions: Conditions, given: Mapping[str, Number], longest_mm: Number) -> Number:
    """Return the tip's bore: the least the process clears of the longest tip of its taper."""
    if "tip_bore" in given:
        return given["tip_bore"]
    # From the middle of a bore open at both ends it is half its length to an opening.
    clear = (longest_mm + _BEYOND_SEAT_MM) / 2.0 / conditions.rules["bore_length_over_diameter"]
    return np.maximum(round_up(conditions.material.min_bore_mm, GRID_MM), round_up(clear, 0.1))


def proud_wall(conditions: Conditions) -> Number:
    """Return the least wall of what may stand proud of the bark, with and without a tick [mm].

    Parameters
    ----------
    conditions : Conditions
        For the material and judgement numbers [mm].

    Source: judgement
    """
    rules, exposed = conditions.rules, conditions.material.min_wall_exposed_mm
    under_tick = rules["tick_wall_share"] * exposed + rules["tick_depth_mm"]
    return np.maximum(rules["proved_share_exposed_wall"] * exposed, under_tick)


def asked_of(conditions: Conditions, given: Mapping[str, Number], taper: Number) -> SeatAsked:
    """Return what holding, walls and the wood ask of a taper, as travels from hand-tight.

    Parameters
    ----------
    conditions : Conditions
        What the part is designed for [mm], [MPa].
    given : mapping
        Sizes forced by the user [mm].
    taper : float or array
        Taper on the diameter [-].

    Returns
    -------
    SeatAsked
        Travels [mm].

    Source: own_derivation, judgement
    """
    rules, wood = conditions.rules, conditions.wood
    low, high = conditions.hole_low_mm, conditions.hole_high_mm
    relaxed = rules["wood_relaxation"] * np.minimum(wood.crush_mpa, wood.splitting_mpa)
    found = shares(conditions.measured, "hold", rules, taper)
    lower, expected = (rules["wood_fifth_percentile"], 1.0) if found is None else found[:2]

    def hold(share: Number, factor: float) -> Number:
        # Small holes have less flank, large ones more thrust: neither end is worst for all.
        small, large = (
            length_to_hold(
                share * relaxed,
                conditions.highest_mpa,
                hole,
                taper,
                rules["wood_friction_hold"],
                factor,
                rules["tap_reading_mm"],
            )
            for hole in (low, high)
        )
        return np.maximum(small, large)

    fit = _fit(conditions, given, taper)
    first = np.maximum((low - fit.lead - conditions.tip_tolerance_mm) / taper, 0.0)
    wide = fit.bore + 2.0 * proud_wall(conditions)
    proud = (wide - fit.lead) / taper - first - conditions.bark_least_mm
    return SeatAsked(
        hole_mm=rules["contact_over_hole"] * high,
        hold_outright_mm=hold(lower, rules["design_factor_wood_hold"]),
        hold_proved_mm=hold(expected, rules["proved_factor_wood_hold"]),
        wall_proved_mm=proud,
        most_mm=fit.most,
        window_high_mm=rules["interference_limit"] * low / taper - rules["tap_reading_mm"],
    )


def seat_choice(
    conditions: Conditions, given: Mapping[str, Number], candidate: Number
) -> SeatChoice:
    """Return taper and contact of one of the seats that may be tried, by its number.

    Parameters
    ----------
    conditions : Conditions
        What the part is designed for [mm], [MPa].
    given : mapping
        Sizes forced by the user [mm].
    candidate : float or array
        Taper after taper, `CONTACTS` to each [-].

    Returns
    -------
    SeatChoice
        Taper and contact [-], [mm].

    Source: own_derivation, judgement
    """
    number = np.asarray(candidate, dtype=np.int64)
    taper = given.get("taper", np.asarray(TAPERS)[number // CONTACTS])
    asked = asked_of(conditions, given, taper)
    column = number % CONTACTS
    contact = np.where(
        column == 0,
        asked.contact_mm(outright=False),
        np.where(column == 1, asked.contact_mm(outright=True), asked.most_whole_mm),
    )
    return SeatChoice(taper, contact)


def size_tip(conditions: Conditions, given: Mapping[str, Number]) -> Tip:
    """Return the tip for a hole in green wood, at one taper.

    Taper and contact are those the search has chosen; without one the middle of
    the series and what proving in the field asks for.

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
    rules, material, chosen = conditions.rules, conditions.material, conditions.chosen
    taper = given.get("taper", chosen.taper if chosen is not None else TAPERS[2])
    fit = _fit(conditions, given, taper)
    asked = asked_of(conditions, given, taper)
    fitting = chosen.contact_mm if chosen is not None else asked.contact_mm(outright=False)
    contact = given.get("contact", fitting)
    scatter = round_up(fit.reach / taper, 0.1)
    asked_for = scatter + contact + rules["tick_spacing_mm"] + conditions.bark_mm
    seat = given.get("seat", round_up(asked_for, GRID_MM))
    least = np.maximum(asked.hole_mm, np.minimum(asked.hold_proved_mm, asked.most_mm))
    return Tip(
        bore_mm=fit.bore,
        lead_mm=fit.lead,
        root_mm=np.round(fit.lead + taper * seat, 4),
        taper=taper,
        contact_mm=contact,
        window_low_mm=np.minimum(least, asked.window_high_mm),
        window_high_mm=asked.window_high_mm,
        most_contact_mm=asked.most_whole_mm,
        hold_length_mm=asked.hold_proved_mm,
        scatter_mm=scatter,
        seat_mm=seat,
        neck_mm=given.get("tip_neck", rules["fork_neck_mm"]),
        tick_mm=material.min_gap_mm * np.ones_like(fit.lead),
        tick_depth_mm=rules["tick_depth_mm"],
        tick_arc_mm=rules["tick_length_mm"],
        tick_pitch_mm=rules["tick_spacing_mm"],
        lead_round_mm=rules["lead_edge_radius_mm"],
        hole_depth_mm=seat + rules["hole_beyond_seat_mm"],
    )


def widest_seat(conditions: Conditions, tip: Tip) -> Number:
    """Return the widest a seat gets: the largest hole, tapped as far as it may be misread [mm].

    Parameters
    ----------
    conditions : Conditions
        For holes and judgement numbers [mm].
    tip : Tip
        For contact and taper [mm].

    Source: judgement
    """
    reach = tip.contact_mm + conditions.rules["tap_reading_mm"]
    return conditions.hole_high_mm + tip.taper * reach


def proving_pull(conditions: Conditions, tip: Tip) -> Number:
    """Return the pull that proves a seat in the field, in whole newtons [N].

    Parameters
    ----------
    conditions : Conditions
        For pressure, holes and judgement numbers [MPa].
    tip : Tip
        For contact and taper [mm].

    Source: peck1969, judgement
    """
    thrust = end_thrust(conditions.highest_mpa, widest_seat(conditions, tip))
    return round_up(conditions.rules["pull_proof_thrusts"] * thrust, 1.0)
