"""Where no size satisfies all limits: which two collide, for one design or many."""

from __future__ import annotations

from collections.abc import Callable, Container
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from barbwright.design.compensate import compensated
from barbwright.design.flats import between_spanners, nearest_spanner
from barbwright.design.hub import PAD_OVER_STEM_MM, least_ball
from barbwright.design.part import Design
from barbwright.design.rounding import round_up
from barbwright.design.tip import proud_wall
from barbwright.equations import Number

# What no rule of the process asks for, but without which there is no such part (judgement).
LEAST_WALL_MM = 0.1
LONGEST_SEAT_MM = 150.0
TAPER_RANGE = (0.01, 0.2)
# Two equal bores meet in an edge at sqrt(2) bores, which a smaller ball leaves standing.
LEAST_RELIEF_OVER_BORE = 1.45


@dataclass(frozen=True, kw_only=True, eq=False)
class Refusal:
    """A pair of limits that no size satisfies together.

    Attributes
    ----------
    id : str
        Key of the collision.
    limits : tuple of str
        The two that collide (check ids or sizing rules).
    where : (...) ndarray of bool
        True for each design that is refused.
    what : str
        The message, with {numbers} still to be filled in.
    numbers : dict
        Numbers of the message, floats or arrays [mm or -].
    change : str
        Which input most likely cures it: bit, tube, material or set.
    bound : str
        The limit in words, with {numbers}; empty where the message says it.
    """

    id: str
    limits: tuple[str, ...]
    where: NDArray[np.bool_]
    what: str
    numbers: dict[str, Number]
    change: str
    bound: str = ""

    def message(self) -> str:
        """Return the message for a single design."""
        return self._filled(self.what)

    def limit(self) -> str:
        """Return the limit for a single design."""
        return self._filled(self.bound) if self.bound else " against ".join(self.limits)

    def _filled(self, text: str) -> str:
        return text.format(
            **{name: float(np.ravel(value)[0]) for name, value in self.numbers.items()}
        )


def refusals(design: Design, not_asked: Container[str] = ()) -> list[Refusal]:
    """Return every collision of limits a design runs into.

    A size the user forces is not refused for a process limit: the checks judge
    it. What cannot be built at all is refused either way.

    Parameters
    ----------
    design : Design
        Drawn sizes, floats or arrays [mm].
    not_asked : container of str
        Collisions that a part for the bench is not asked for, by id [-].

    Returns
    -------
    list of Refusal
        Those that hold for at least one design.

    Source: judgement
    """
    host = design.own.made_for if design.own is not None else None
    if host is not None and (theirs := refusals(host, not_asked)):
        # A tool for a part that has no size has none either, for the part's own reason.
        return theirs
    # Left out before they are looked at, for one collision hides what cannot be built.
    collisions = [
        refusal
        for refusal in _collisions(design)
        if np.any(refusal.where) and refusal.id not in not_asked
    ]
    if collisions:
        # One message a cause: no tip at all says more than no window on it.
        first = {refusal.change: refusal for refusal in reversed(collisions)}
        return [refusal for refusal in collisions if refusal is first[refusal.change]]
    drawn = compensated(design)
    # A service's offset must not draw what cannot be built; what fits is asked of the print.
    both = _impossible(design) + (_unbuildable(drawn) if drawn is not design else [])
    return [refusal for refusal in both if np.any(refusal.where)]


def refused(design: Design) -> NDArray[np.bool_]:
    """Return which designs are refused [-].

    Parameters
    ----------
    design : Design
        Drawn sizes, floats or arrays [mm].

    Source: judgement
    """
    where: NDArray[np.bool_] = np.zeros(np.shape(design.bore_mm), dtype=bool)
    host = design.own.made_for if design.own is not None else None
    if host is not None:
        where = where | refused(host)
    drawn = compensated(design)
    sent = _unbuildable(drawn) if drawn is not design else []
    for refusal in (*_collisions(design), *_impossible(design), *sent):
        where = where | refusal.where
    return where


def _collisions(design: Design) -> list[Refusal]:
    slack = design.conditions.rules["limit_slack_mm"]
    conditions, forced = design.conditions, design.forced
    rules, material = conditions.rules, conditions.material
    covered = material.min_wall_covered_mm
    found = []
    for barb, tube in zip(design.barbs, conditions.tubes, strict=bool(design.barbs)):
        if not forced.keys() & {"bore", "root", "crest", "expansion"}:
            found.append(
                Refusal(
                    id="expansion",
                    limits=("print_bore", "print_wall"),
                    where=np.asarray(barb.expansion > rules["expansion_limit"] + slack),
                    what="no barb fits this tube: a bore of {bore:.2f} mm and walls "
                    "of {wall:.2f} mm "
                    "make a root of {root:.2f} mm and a crest of {crest:.2f} mm, which stretches "
                    "the tube's {inner:.2f} mm by {share:.0%}; the limit is {limit:.0%}",
                    numbers={
                        "bore": design.bore_mm,
                        "wall": covered,
                        "root": barb.root_mm,
                        "crest": barb.crest_mm,
                        "inner": tube.inner_mm,
                        "share": round_up(barb.expansion, 0.01),
                        "limit": rules["expansion_limit"],
                    },
                    change="tube",
                )
            )
    tip = design.tip
    if tip is None:
        return found
    if not forced.keys() & {"lead", "tip_bore"}:
        found.append(
            Refusal(
                id="tip_bore",
                limits=("print_wall", "print_bore"),
                where=np.asarray(tip.lead_mm - 2.0 * covered < tip.bore_mm - slack),
                what="no tip fits this bit: its lead end may be {lead:.2f} mm, but a bore of "
                "{bore:.2f} mm (print_bore) between walls of {wall:.2f} mm (print_wall) asks for "
                "{need:.2f} mm",
                numbers={
                    "lead": tip.lead_mm,
                    "bore": tip.bore_mm,
                    "wall": covered,
                    "need": tip.bore_mm + 2.0 * covered,
                },
                change="bit",
            )
        )
    if not forced.keys() & {"lead", "tip_bore", "taper", "contact", "seat"}:
        # Where the fattest part that enters first stops; bark and contact lie above it.
        fat = tip.lead_mm + conditions.tip_tolerance_mm
        start = np.maximum((conditions.hole_low_mm - fat) / tip.taper, 0.0)
        at_tick = tip.lead_mm + tip.taper * (start + conditions.bark_least_mm)
        tick_need = tip.bore_mm + 2.0 * (covered + tip.tick_depth_mm)
        found.append(
            Refusal(
                id="tick_wall",
                limits=("print_wall", "print_bore"),
                where=np.asarray(at_tick < tick_need - slack),
                what="no ticks fit this bit's tip: it is {at:.2f} mm wide at the "
                "lowest tick, but a "
                "bore of {bore:.2f} mm (print_bore), walls of {wall:.2f} mm (print_wall) and the "
                "ticks ask for {need:.2f} mm",
                numbers={"at": at_tick, "bore": tip.bore_mm, "wall": covered, "need": tick_need},
                change="bit",
            )
        )
        exposed = proud_wall(conditions)
        proud = np.minimum(start + tip.contact_mm + conditions.bark_least_mm, tip.seat_mm)
        at_bark = tip.lead_mm + tip.taper * proud
        need = tip.bore_mm + 2.0 * exposed
        found.append(
            Refusal(
                id="proud_wall",
                limits=("exposed_wall", "print_bore"),
                where=np.asarray(at_bark < need - slack),
                what="no tip fits this bit: where it may stand proud of the bark it is {at:.2f} mm "
                "wide, but a bore of {bore:.2f} mm (print_bore) between walls of {wall:.2f} mm "
                "(exposed_wall) asks for {need:.2f} mm",
                numbers={"at": at_bark, "bore": tip.bore_mm, "wall": exposed, "need": need},
                change="bit",
            )
        )
    if design.ring is not None and design.barbs:
        barb = design.barbs[0]
        stop = barb.root_mm + 2.0 * rules["back_face_radius_mm"] + 1.0
        found.append(
            Refusal(
                id="ring_stop",
                limits=("tip root", "barb root"),
                where=np.asarray(design.ring.ring_mm < stop - slack),
                what="the shoulder ring of {ring:.2f} mm that this bit's tip allows "
                "gives the tube no "
                "stop: its barb's root is {root:.2f} mm, which asks for {stop:.2f} mm",
                numbers={"ring": design.ring.ring_mm, "root": barb.root_mm, "stop": stop},
                change="bit",
            )
        )
    if not forced.keys() & {"contact", "seat"}:
        least = round_up(rules["contact_over_hole"] * conditions.hole_high_mm, 1.0)
        found.append(
            Refusal(
                id="window",
                limits=("wood_hold", "interference"),
                where=np.asarray(np.nan_to_num(tip.most_contact_mm, nan=0.0) + slack < least),
                what="no tap-depth window: a seat asks for {least:.0f} mm of contact "
                "(one hole) and one "
                "tick more to tap, but the wood is spread too far beyond {high:.0f} mm",
                numbers={"least": least, "high": tip.most_contact_mm},
                change="bit",
            )
        )
    return found


def _impossible(design: Design) -> list[Refusal]:
    """Return sizes that cannot be built or make no sense, whoever asked for them."""
    found: list[Refusal] = []

    def refuse(key: str, sound: Number, what: str, bound: str, **numbers: Number) -> None:
        where = np.logical_not(np.asarray(sound, dtype=bool))
        found.append(
            Refusal(
                id=key,
                limits=(key,),
                where=where,
                what=what,
                numbers=dict(numbers),
                change="set",
                bound=bound,
            )
        )

    for fault in design.own.impossible if design.own is not None else ():
        refuse(fault.id, np.logical_not(fault.where), fault.what, "", **fault.numbers)
    _impossible_barbs(design, refuse)
    _impossible_tip(design, refuse)
    _impossible_hub(design, refuse)
    return found


# Whether a part fits tube, hole or spanner is asked of what is printed, not of what is drawn.
_FITS = {"crest_lean", "crest_stretch", "nose_starts", "lead_enters", "pad_spanner"}


def _unbuildable(drawn: Design) -> list[Refusal]:
    """Return sizes that cannot be built as they are sent."""
    return [refusal for refusal in _impossible(drawn) if refusal.id not in _FITS]


def _impossible_barbs(design: Design, refuse: Callable[..., None]) -> None:
    slack = design.conditions.rules["limit_slack_mm"]
    rules, material = design.conditions.rules, design.conditions.material
    radius = rules["back_face_radius_mm"]
    for barb, tube in zip(design.barbs, design.conditions.tubes, strict=bool(design.barbs)):
        for place, size in (("nose", barb.nose_mm), ("root", barb.root_mm), ("neck", barb.neck_mm)):
            refuse(
                f"{place}_wall",
                size > design.bore_mm + LEAST_WALL_MM,
                f"the bore of {{bore:.2f}} mm leaves no wall at the {place} of {{size:.2f}} mm",
                f"{place} over {{least:.2f}} mm",
                bore=design.bore_mm,
                size=size,
                least=design.bore_mm + LEAST_WALL_MM,
            )
        step = barb.root_mm + 2.0 * radius
        refuse(
            "crest_step",
            barb.crest_mm >= step - slack,
            "a crest of {crest:.2f} mm is no barb on a root of {root:.2f} mm",
            "crest at least {least:.2f} mm",
            crest=barb.crest_mm,
            root=barb.root_mm,
            least=step,
        )
        lean = barb.crest_mm - material.tolerance_at(barb.crest_mm)
        refuse(
            "crest_lean",
            lean + 0.01 >= rules["lean_crest_over_bore"] * tube.inner_mm,
            "a crest of {crest:.2f} mm may print {lean:.2f} mm, which hardly stretches the tube's "
            "{inner:.2f} mm",
            "printed at least {least:.2f} mm, so drawn at least {drawn:.2f} mm",
            crest=barb.crest_mm,
            lean=lean,
            inner=tube.inner_mm,
            least=rules["lean_crest_over_bore"] * tube.inner_mm,
            drawn=rules["lean_crest_over_bore"] * tube.inner_mm
            + material.tolerance_at(barb.crest_mm),
        )
        refuse(
            "crest_stretch",
            barb.expansion <= rules["expansion_limit"] + slack,
            "a crest of {crest:.2f} mm stretches the tube's {inner:.2f} mm by {share:.0%}",
            "{limit:.0%}, a crest of {most:.2f} mm",
            crest=barb.crest_mm,
            inner=tube.inner_mm,
            share=round_up(barb.expansion, 0.01),
            limit=rules["expansion_limit"],
            most=tube.inner_mm * (1.0 + rules["expansion_limit"]),
        )
        refuse(
            "nose_starts",
            barb.nose_mm <= tube.inner_mm + slack,
            "a nose of {nose:.2f} mm does not start in a tube of {inner:.2f} mm by hand",
            "{inner:.2f} mm",
            nose=barb.nose_mm,
            inner=tube.inner_mm,
        )
        room = barb.land_mm + np.maximum(barb.nose_ramp_mm, barb.ramp_mm + 2.0 * radius)
        refuse(
            "pitch_room",
            barb.pitch_mm + slack >= room,
            "a pitch of {pitch:.2f} mm has no room for ramp and land",
            "at least {room:.2f} mm",
            pitch=barb.pitch_mm,
            room=room,
        )
        refuse(
            "shoulder_step",
            np.maximum(barb.shoulder_mm, design.neck_mm) > step,
            "a neck of {neck:.2f} mm gives the tube no stop over a root of {root:.2f} mm",
            "over {least:.2f} mm",
            neck=barb.neck_mm,
            root=barb.root_mm,
            least=step,
        )


def _impossible_tip(design: Design, refuse: Callable[..., None]) -> None:
    slack = design.conditions.rules["limit_slack_mm"]
    tip, conditions = design.tip, design.conditions
    if tip is None:
        return
    refuse(
        "lead_enters",
        tip.lead_mm <= conditions.hole_low_mm + slack,
        "a lead end of {lead:.2f} mm does not enter the smallest hole of {hole:.2f} mm, even where "
        "it prints to size",
        "{most:.2f} mm",
        lead=tip.lead_mm,
        hole=conditions.hole_low_mm,
        most=conditions.hole_low_mm,
    )
    refuse(
        "lead_wall",
        tip.lead_mm > tip.bore_mm + 2.0 * LEAST_WALL_MM,
        "the tip's bore of {bore:.2f} mm leaves no wall at its lead end of {lead:.2f} mm",
        "a lead end over {least:.2f} mm",
        bore=tip.bore_mm,
        lead=tip.lead_mm,
        least=tip.bore_mm + 2.0 * LEAST_WALL_MM,
    )
    low, high = TAPER_RANGE
    refuse(
        "taper_range",
        np.logical_and(tip.taper >= low, tip.taper <= high),
        "a taper of {taper:.3f} on the diameter is no tip",
        f"{low:g} to {high:g}",
        taper=tip.taper,
    )
    refuse(
        "seat_short",
        np.logical_and(tip.contact_mm > 0.0, tip.seat_mm >= tip.contact_mm + 1.0),
        "a seat of {seat:.1f} mm cannot hold a contact of {contact:.1f} mm",
        "a contact over 0 and a seat of at least {least:.1f} mm",
        seat=tip.seat_mm,
        contact=tip.contact_mm,
        least=tip.contact_mm + 1.0,
    )
    refuse(
        "seat_long",
        tip.seat_mm <= LONGEST_SEAT_MM,
        "a seat of {seat:.1f} mm is longer than any tip",
        f"{LONGEST_SEAT_MM:g} mm",
        seat=tip.seat_mm,
    )


def _impossible_hub(design: Design, refuse: Callable[..., None]) -> None:
    slack = design.conditions.rules["limit_slack_mm"]
    hub, tip = design.hub, design.tip
    if hub is None or tip is None:
        return
    rules = design.conditions.rules
    least = LEAST_RELIEF_OVER_BORE * np.maximum(design.bore_mm, tip.bore_mm)
    refuse(
        "relief_small",
        hub.relief_mm >= least - slack,
        "a relief ball of {relief:.2f} mm leaves the crossing's edge standing",
        "at least {least:.2f} mm, 1.45 bores",
        relief=hub.relief_mm,
        least=least,
    )
    refuse(
        "hub_wall",
        hub.ball_mm >= hub.relief_mm + 1.0,
        "a hub of {hub:.2f} mm leaves no wall round a relief ball of {relief:.2f} mm",
        "at least {least:.2f} mm",
        hub=hub.ball_mm,
        relief=hub.relief_mm,
        least=hub.relief_mm + 1.0,
    )
    apart = least_ball(design.neck_mm, tip.root_mm, hub.blend_mm)
    refuse(
        "hub_blends",
        hub.ball_mm > apart,
        "on a hub of {hub:.2f} mm the blends of neck ({neck:.2f} mm) and tip ({tip:.2f} mm) run "
        "into each other",
        "over {least:.2f} mm",
        hub=hub.ball_mm,
        neck=design.neck_mm,
        tip=tip.root_mm,
        least=apart,
    )
    no_pad_under = hub.stem_mm + PAD_OVER_STEM_MM
    refuse(
        "pad_small",
        hub.pad_mm >= no_pad_under,
        "a pad of {pad:.2f} mm is no wider than its stem of {stem:.2f} mm",
        "at least {least:.2f} mm",
        pad=hub.pad_mm,
        stem=hub.stem_mm,
        least=no_pad_under,
    )
    # A wide bit asks for a wide pad by itself; beyond that a pad only gets in the way.
    apart_mm = rules["pad_off_spanner_mm"]
    wide = np.maximum(rules["pad_over_bit"] * design.conditions.bit_mm, no_pad_under)
    most = np.maximum(rules["pad_largest_mm"], between_spanners(wide, apart_mm))
    refuse(
        "pad_large",
        hub.pad_mm <= most + slack,
        "a pad of {pad:.2f} mm is wider than any mark or hammer needs",
        "{most:.2f} mm",
        pad=hub.pad_mm,
        most=most,
    )
    spanner = nearest_spanner(hub.pad_mm)
    refuse(
        "pad_spanner",
        np.abs(hub.pad_mm - spanner) >= apart_mm - slack,
        "a pad of {pad:.2f} mm over its flats takes a spanner of {spanner:.2f} mm, whose end "
        "breaks the tip",
        "{apart:.2f} mm off any spanner",
        pad=hub.pad_mm,
        spanner=spanner,
        apart=apart_mm,
    )
    refuse(
        "arm_long",
        design.neck_length_mm <= rules["arm_limit_mm"] + slack,
        "an arm of {arm:.1f} mm from the ball to the barb's root is too long a lever",
        "{limit:.0f} mm",
        arm=design.neck_length_mm,
        limit=rules["arm_limit_mm"],
    )
