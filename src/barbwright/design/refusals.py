"""Where no size satisfies all limits: which two collide, for one design or many."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from barbwright.design.part import Design
from barbwright.equations import Number

_SLACK = 1e-6


@dataclass(frozen=True)
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
    """

    id: str
    limits: tuple[str, ...]
    where: NDArray[np.bool_]
    what: str
    numbers: dict[str, Number]
    change: str

    def message(self) -> str:
        """Return the message for a single design."""
        return self.what.format(
            **{name: float(np.ravel(value)[0]) for name, value in self.numbers.items()}
        )


def refusals(design: Design) -> list[Refusal]:
    """Return every collision of limits a design runs into.

    A size the user forces is not refused for a process limit: the checks judge
    it. What cannot be built at all is refused either way.

    Parameters
    ----------
    design : Design
        Drawn sizes, floats or arrays [mm].

    Returns
    -------
    list of Refusal
        Those that hold for at least one design.

    Source: judgement
    """
    host = design.own.made_for if design.own is not None else None
    if host is not None and (theirs := refusals(host)):
        # A tool for a part that has no size has none either, for the part's own reason.
        return theirs
    collisions = [refusal for refusal in _collisions(design) if np.any(refusal.where)]
    if collisions:
        # One message a cause: no tip at all says more than no window on it.
        first = {refusal.change: refusal for refusal in reversed(collisions)}
        return [refusal for refusal in collisions if refusal is first[refusal.change]]
    return [refusal for refusal in _impossible(design) if np.any(refusal.where)]


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
    for refusal in (*_collisions(design), *_impossible(design)):
        where = where | refusal.where
    return where


def _collisions(design: Design) -> list[Refusal]:
    conditions, forced = design.conditions, design.forced
    rules, material = conditions.rules, conditions.material
    covered = material.min_wall_covered_mm
    found = []
    for barb, tube in zip(design.barbs, conditions.tubes, strict=bool(design.barbs)):
        if not forced.keys() & {"bore", "root", "crest", "expansion"}:
            found.append(
                Refusal(
                    "expansion",
                    ("print_bore", "print_wall"),
                    np.asarray(barb.expansion > rules["expansion_limit"] + _SLACK),
                    "no barb fits this tube: a bore of {bore:.2f} mm and walls of {wall:.2f} mm "
                    "make a root of {root:.2f} mm and a crest of {crest:.2f} mm, which stretches "
                    "the tube's {inner:.2f} mm by {share:.0%}; the limit is {limit:.0%}",
                    {
                        "bore": design.bore_mm,
                        "wall": covered,
                        "root": barb.root_mm,
                        "crest": barb.crest_mm,
                        "inner": tube.inner_mm,
                        "share": barb.expansion,
                        "limit": rules["expansion_limit"],
                    },
                    "tube",
                )
            )
    tip = design.tip
    if tip is None:
        return found
    if not forced.keys() & {"lead", "tip_bore"}:
        found.append(
            Refusal(
                "tip_bore",
                ("print_wall", "print_bore"),
                np.asarray(tip.lead_mm - 2.0 * covered < tip.bore_mm - _SLACK),
                "no tip fits this bit: its lead end may be {lead:.2f} mm, but a bore of "
                "{bore:.2f} mm (print_bore) between walls of {wall:.2f} mm (print_wall) asks for "
                "{need:.2f} mm",
                {
                    "lead": tip.lead_mm,
                    "bore": tip.bore_mm,
                    "wall": covered,
                    "need": tip.bore_mm + 2.0 * covered,
                },
                "bit",
            )
        )
    if design.ring is not None:
        barb = design.barbs[0]
        stop = barb.root_mm + 2.0 * rules["back_face_radius_mm"] + 1.0
        found.append(
            Refusal(
                "ring_stop",
                ("tip root", "barb root"),
                np.asarray(design.ring.ring_mm < stop - _SLACK),
                "the shoulder ring of {ring:.2f} mm that this bit's tip allows gives the tube no "
                "stop: its barb's root is {root:.2f} mm, which asks for {stop:.2f} mm",
                {"ring": design.ring.ring_mm, "root": barb.root_mm, "stop": stop},
                "bit",
            )
        )
    if not forced.keys() & {"contact", "seat"}:
        least = rules["contact_over_hole"] * conditions.hole_high_mm
        found.append(
            Refusal(
                "window",
                ("drive_squash", "interference"),
                np.asarray(np.nan_to_num(tip.window_high_mm, nan=0.0) + _SLACK < least),
                "no tap-depth window: a seat asks for {least:.1f} mm of contact (1.5 holes), but "
                "driving may squash the tip or spread the wood beyond {high:.1f} mm",
                {"least": least, "high": tip.window_high_mm},
                "bit",
            )
        )
    return found


def _impossible(design: Design) -> list[Refusal]:
    """Return sizes that cannot be built, whoever asked for them."""
    found = []

    def refuse(key: str, where: Number, what: str, **numbers: Number) -> None:
        found.append(
            Refusal(key, (key,), np.asarray(where, dtype=bool), what, dict(numbers), "set")
        )

    for fault in design.own.impossible if design.own is not None else ():
        refuse(fault.id, fault.where, fault.what, **fault.numbers)
    for barb in design.barbs:
        refuse(
            "nose_wall",
            np.logical_not(barb.nose_mm > design.bore_mm + 0.1),
            "the bore of {bore:.2f} mm leaves no wall at the nose of {nose:.2f} mm",
            bore=design.bore_mm,
            nose=barb.nose_mm,
        )
        refuse(
            "root_wall",
            np.logical_not(barb.root_mm > design.bore_mm + 0.1),
            "the bore of {bore:.2f} mm leaves no wall at the root of {root:.2f} mm",
            bore=design.bore_mm,
            root=barb.root_mm,
        )
        refuse(
            "neck_wall",
            np.logical_not(barb.neck_mm > design.bore_mm + 0.1),
            "the bore of {bore:.2f} mm leaves no wall at the neck of {neck:.2f} mm",
            bore=design.bore_mm,
            neck=barb.neck_mm,
        )
        radius = design.conditions.rules["back_face_radius_mm"]
        refuse(
            "crest_step",
            np.logical_not(barb.crest_mm >= barb.root_mm + 2.0 * radius),
            "a crest of {crest:.2f} mm is no barb on a root of {root:.2f} mm",
            crest=barb.crest_mm,
            root=barb.root_mm,
        )
        refuse(
            "nose_over_crest",
            np.logical_not(barb.nose_mm < barb.crest_mm),
            "a nose of {nose:.2f} mm is no lead-in to a crest of {crest:.2f} mm",
            nose=barb.nose_mm,
            crest=barb.crest_mm,
        )
        room = barb.land_mm + np.maximum(barb.nose_ramp_mm, barb.ramp_mm + 2.0 * radius)
        refuse(
            "pitch_room",
            np.logical_not(barb.pitch_mm + _SLACK >= room),
            "a pitch of {pitch:.2f} mm has no room for ramp and land, {room:.2f} mm",
            pitch=barb.pitch_mm,
            room=room,
        )
        refuse(
            "shoulder_step",
            np.logical_not(
                np.maximum(barb.shoulder_mm, design.neck_mm) > barb.root_mm + 2.0 * radius
            ),
            "a neck of {neck:.2f} mm gives the tube no stop over a root of {root:.2f} mm",
            neck=barb.neck_mm,
            root=barb.root_mm,
        )
    tip, hub = design.tip, design.hub
    if tip is not None:
        widest = tip.lead_mm + design.conditions.material.tolerance_at(tip.lead_mm)
        refuse(
            "lead_enters",
            np.logical_not(widest <= design.conditions.hole_low_mm + _SLACK),
            "a lead end of {lead:.2f} mm may print {widest:.2f} mm and then never enters the "
            "smallest hole of {hole:.2f} mm",
            lead=tip.lead_mm,
            widest=widest,
            hole=design.conditions.hole_low_mm,
        )
        refuse(
            "lead_wall",
            np.logical_not(tip.lead_mm > tip.bore_mm + 0.2),
            "the tip's bore of {bore:.2f} mm leaves no wall at its lead end of {lead:.2f} mm",
            bore=tip.bore_mm,
            lead=tip.lead_mm,
        )
        refuse(
            "taper_range",
            np.logical_not((tip.taper >= 0.01) & (tip.taper <= 0.2)),
            "a taper of {taper:.3f} on the diameter is no tip: 0.01 to 0.2",
            taper=tip.taper,
        )
        refuse(
            "seat_short",
            np.logical_not((tip.contact_mm > 0.0) & (tip.seat_mm >= tip.contact_mm + 1.0)),
            "a seat of {seat:.1f} mm cannot hold a contact of {contact:.1f} mm",
            seat=tip.seat_mm,
            contact=tip.contact_mm,
        )
        refuse(
            "seat_long",
            np.logical_not(tip.seat_mm <= 150.0),
            "a seat of {seat:.1f} mm is longer than any tip: 150 mm",
            seat=tip.seat_mm,
        )
    if hub is not None and tip is not None:
        blend = hub.blend_mm
        edge = np.sqrt(2.0) * np.maximum(design.bore_mm, tip.bore_mm)
        refuse(
            "relief_small",
            np.logical_not(hub.relief_mm >= edge - _SLACK),
            "a relief ball of {relief:.2f} mm leaves the crossing's edge standing: at least "
            "{edge:.2f} mm",
            relief=hub.relief_mm,
            edge=edge,
        )
        refuse(
            "hub_wall",
            np.logical_not(hub.ball_mm >= hub.relief_mm + 1.0),
            "a hub of {hub:.2f} mm leaves no wall round a relief ball of {relief:.2f} mm",
            hub=hub.ball_mm,
            relief=hub.relief_mm,
        )
        apart = np.hypot(design.neck_mm / 2.0 + blend, tip.root_mm / 2.0 + blend)
        refuse(
            "hub_blends",
            np.logical_not(hub.ball_mm / 2.0 + blend > apart),
            "on a hub of {hub:.2f} mm the blends of neck ({neck:.2f} mm) and tip ({tip:.2f} mm) "
            "run into each other",
            hub=hub.ball_mm,
            neck=design.neck_mm,
            tip=tip.root_mm,
        )
        refuse(
            "pad_small",
            np.logical_not(hub.pad_mm >= hub.stem_mm + 2.0),
            "a pad of {pad:.2f} mm is no wider than its stem of {stem:.2f} mm",
            pad=hub.pad_mm,
            stem=hub.stem_mm,
        )
        arm = design.conditions.rules["arm_limit_mm"]
        refuse(
            "arm_long",
            np.logical_not(design.neck_length_mm <= arm + _SLACK),
            "an arm of {arm:.1f} mm from the ball to the barb's root is over {limit:.0f} mm",
            arm=design.neck_length_mm,
            limit=arm,
        )
    return found
