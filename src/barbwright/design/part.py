"""A whole part in numbers: which features its kind has, and their sizes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Literal

import numpy as np

from barbwright.design.barb import Barb, run_bore, size_barb
from barbwright.design.conditions import Conditions
from barbwright.design.hub import Hub, size_hub
from barbwright.design.mark import NOT_PASSED, Mark, fit_mark, rim_mark
from barbwright.design.rounding import round_up
from barbwright.design.tip import Tip, size_tip
from barbwright.equations import Number


@dataclass(frozen=True)
class Kind:
    """The features a kind of part has.

    Attributes
    ----------
    name : str
        The word on the command line.
    title : str
        The words in a report.
    arms : int
        Barbed arms [-].
    tip, hub, ring : bool
        Whether it has a tapered tip, a hub ball with strike pad, a shoulder ring.
    mark : {"pad", "rim", "none"}
        Where the mark is engraved.
    openings : int
        Openings of the bores to the outside [-].
    """

    name: str
    title: str
    arms: int
    tip: bool
    hub: bool
    ring: bool
    mark: Literal["pad", "rim", "none"]
    openings: int


KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind("barb", "tube-to-tube barb", 2, False, False, False, "none", 2),
        Kind("tip", "in-line tap-in tip", 1, True, False, True, "rim", 2),
        Kind("elbow", "chain-end elbow", 1, True, True, False, "pad", 2),
        Kind("tee", "chain tee", 2, True, True, False, "pad", 3),
    )
}

# Sizes a user may force with --set, and the unit each is read in.
FORCED_SIZES: dict[str, str] = {
    "bore": "mm",
    "root": "mm",
    "crest": "mm",
    "nose": "mm",
    "neck": "mm",
    "land": "mm",
    "pitch": "mm",
    "barb_angle": "deg",
    "expansion": "-",
    "tip_bore": "mm",
    "taper": "-",
    "lead": "mm",
    "contact": "mm",
    "seat": "mm",
    "tip_neck": "mm",
    "relief_ball": "mm",
    "hub_ball": "mm",
    "pad": "mm",
    "side_ports": "-",
}


@dataclass(frozen=True)
class Ring:
    """The shoulder ring of an in-line tip, where its driver bears.

    Attributes
    ----------
    ring_mm, thickness_mm : float or array
        Diameter and thickness [mm].
    driver_bore_mm : float or array
        Bore of the sleeve that goes over the barb [mm].
    """

    ring_mm: Number
    thickness_mm: Number
    driver_bore_mm: Number


@dataclass(frozen=True)
class Design:
    """A part's drawn sizes with the conditions they were drawn for.

    Attributes
    ----------
    kind : Kind
        What it is.
    conditions : Conditions
        What it is designed for.
    forced : mapping
        Sizes the user forced.
    bore_mm : float or array
        Bore through the arms [mm].
    barbs : tuple of Barb
        One, or two where the ends differ.
    tip, hub, ring : Tip, Hub, Ring or None
        As the kind has them.
    neck_length_mm : float or array
        From the hub ball's surface (or between shoulders) to the shoulder [mm].
    mark : Mark
        What is engraved.
    """

    kind: Kind
    conditions: Conditions
    forced: Mapping[str, Number]
    bore_mm: Number
    barbs: tuple[Barb, ...]
    tip: Tip | None
    hub: Hub | None
    ring: Ring | None
    neck_length_mm: Number
    mark: Mark

    @property
    def arm_start_mm(self) -> Number:
        """Position of the shoulder from the hub's centre, or from the barb's middle [mm]."""
        if self.hub is not None:
            return self.hub.ball_mm / 2.0 + self.neck_length_mm
        return self.neck_length_mm / 2.0

    @property
    def arm_length_mm(self) -> Number:
        """From the hub's centre (or the barb's middle) to the first nose's end [mm]."""
        return self.arm_start_mm + self.barbs[0].insertion_mm

    @property
    def neck_mm(self) -> Number:
        """Return the widest neck of the arms [mm]."""
        return np.maximum(self.barbs[0].neck_mm, self.barbs[-1].neck_mm)

    @property
    def seat_root_mm(self) -> Number:
        """Distance from the hub's centre, or from the ring, to the taper's root [mm]."""
        assert self.tip is not None
        if self.hub is None:
            return self.tip.neck_mm
        ball, neck, blend = self.hub.ball_mm, self.tip.root_mm, self.hub.blend_mm
        ends = np.sqrt((ball / 2.0 + blend) ** 2 - (neck / 2.0 + blend) ** 2)
        return ends + self.tip.neck_mm

    @property
    def driven_length_mm(self) -> Number:
        """From the taper's root to the face that is struck [mm]."""
        assert self.tip is not None
        if self.hub is not None:
            return self.seat_root_mm + self.hub.pad_height_mm
        assert self.ring is not None
        return self.tip.neck_mm + self.ring.thickness_mm

    @property
    def envelope_mm(self) -> tuple[Number, Number, Number]:
        """Bounding box of the drawn part [mm]."""
        barb = self.barbs[0]
        wide = np.maximum(barb.crest_mm, self.neck_mm)
        if self.hub is not None:
            assert self.tip is not None
            across = np.maximum(self.hub.ball_mm, self.hub.pad_mm)
            reach = self.arm_length_mm
            other = reach if self.kind.arms == 2 else across / 2.0
            tall = self.hub.pad_height_mm + self.seat_root_mm + self.tip.seat_mm
            return reach + other, across, tall
        if self.ring is not None:
            assert self.tip is not None
            tall = self.tip.seat_mm + self.driven_length_mm + barb.insertion_mm
            return self.ring.ring_mm, self.ring.ring_mm, tall
        long = self.neck_length_mm + barb.insertion_mm + self.barbs[-1].insertion_mm
        wide = np.maximum(wide, self.barbs[-1].crest_mm)
        return long, wide, wide


def design_part(
    kind: Kind,
    conditions: Conditions,
    forced: Mapping[str, Number] | None = None,
    *,
    words: tuple[str, ...] = (),
    passed: bool = True,
) -> Design:
    """Return a part's drawn sizes.

    Parameters
    ----------
    kind : Kind
        What to draw.
    conditions : Conditions
        What it is for [mm], [MPa].
    forced : mapping
        Sizes the user forces [mm].
    words : tuple of str
        Words of the mark in order of importance.
    passed : bool
        A part that did not pass is engraved with a plain X.

    Returns
    -------
    Design
        Numbers only; whether they are sound is for `refusals` and the checks.

    Source: judgement
    """
    forced = dict(forced or {})
    rules, material = conditions.rules, conditions.material
    bores = [run_bore(tube, material, forced) for tube in conditions.tubes]
    bore = np.minimum(bores[0], bores[-1])
    barbs = tuple(size_barb(tube, bore, material, rules, forced) for tube in conditions.tubes)
    tip = size_tip(conditions, forced) if kind.tip else None
    marked = words if passed else (NOT_PASSED,)
    mark = Mark((), 0.0, 0.0, 0.0, 0.0, marked)
    stroke = float(np.max(np.asarray(material.min_text_line_mm)))
    depth, gap = rules["mark_depth_mm"], rules["mark_gap_mm"]
    if kind.mark == "pad" and marked:
        mark = fit_mark(
            marked,
            min_text_line_mm=stroke,
            largest_mm=rules["pad_largest_mm"],
            depth_mm=depth,
            gap_mm=gap,
        )
    hub = ring = None
    neck_length: Number = rules["neck_between_shoulders_mm"]
    if kind.hub:
        assert tip is not None
        hub = size_hub(
            conditions,
            bore_mm=bore,
            neck_mm=np.maximum(barbs[0].neck_mm, barbs[-1].neck_mm),
            tube_on_crest_mm=np.maximum(barbs[0].tube_on_crest_mm, barbs[-1].tube_on_crest_mm),
            tip_root_mm=tip.root_mm,
            mark_pad_mm=mark.span_mm,
            given=forced,
        )
        neck_length = rules["neck_length_mm"]
    if kind.ring:
        assert tip is not None
        crest = barbs[0].crest_mm
        # The driver's sleeve passes over the barb, and still has a face of the ring to bear on.
        driver = crest + 2.0 * material.tolerance_at(crest) + material.min_gap_mm
        ring = Ring(
            ring_mm=round_up(tip.root_mm + rules["shoulder_ring_over_root_mm"], 0.1),
            thickness_mm=rules["shoulder_ring_thickness_mm"],
            driver_bore_mm=driver,
        )
        if marked and np.ndim(tip.root_mm) == 0:
            mark = rim_mark(
                marked,
                min_text_line_mm=stroke,
                ring_mm=float(ring.ring_mm),
                height_mm=float(ring.thickness_mm),
                depth_mm=depth,
                gap_mm=gap,
            )
    return Design(kind, conditions, forced, bore, barbs, tip, hub, ring, neck_length, mark)


def dimensions(design: Design) -> dict[str, float]:
    """Return every drawn size by name, each name ending in its unit.

    Parameters
    ----------
    design : Design
        A single part (no arrays) [mm].

    Returns
    -------
    dict of str to float
        Names as in `part.json`.

    Source: own_derivation
    """
    out: dict[str, float] = {"bore_diameter_mm": _number(design.bore_mm)}
    for index, barb in enumerate(design.barbs):
        end = "" if index == 0 else "second_"
        out |= {
            f"{end}root_diameter_mm": _number(barb.root_mm),
            f"{end}crest_diameter_mm": _number(barb.crest_mm),
            f"{end}nose_diameter_mm": _number(barb.nose_mm),
            f"{end}neck_diameter_mm": _number(barb.neck_mm),
            f"{end}land_mm": _number(barb.land_mm),
            f"{end}barb_pitch_mm": _number(barb.pitch_mm),
            f"{end}insertion_mm": _number(barb.insertion_mm),
            f"{end}barb_count": float(barb.barb_count),
            f"{end}expansion": _number(barb.expansion),
            f"{end}friction_length_mm": _number(barb.friction_length_mm),
            f"{end}tube_on_crest_diameter_mm": _number(barb.tube_on_crest_mm),
        }
    out["neck_length_mm"] = _number(design.neck_length_mm)
    if design.hub is not None:
        hub = design.hub
        out |= {
            "hub_ball_diameter_mm": _number(hub.ball_mm),
            "relief_ball_diameter_mm": _number(hub.relief_mm),
            "hub_blend_radius_mm": _number(hub.blend_mm),
            "strike_pad_diameter_mm": _number(hub.pad_mm),
            "strike_pad_height_mm": _number(hub.pad_height_mm),
            "strike_pad_crown_mm": _number(hub.crown_mm),
            "arm_length_mm": _number(design.arm_length_mm),
        }
    if design.ring is not None:
        out |= {
            "shoulder_ring_diameter_mm": _number(design.ring.ring_mm),
            "shoulder_ring_thickness_mm": _number(design.ring.thickness_mm),
            "driver_bore_diameter_mm": _number(design.ring.driver_bore_mm),
        }
    if design.tip is not None:
        tip = design.tip
        out |= {
            "tip_bore_diameter_mm": _number(tip.bore_mm),
            "lead_diameter_mm": _number(tip.lead_mm),
            "tip_root_diameter_mm": _number(tip.root_mm),
            "taper": _number(tip.taper),
            "seat_length_mm": _number(tip.seat_mm),
            "contact_length_mm": _number(tip.contact_mm),
            "scatter_length_mm": _number(tip.scatter_mm),
            "fork_neck_mm": _number(tip.neck_mm),
            "tick_spacing_mm": tip.tick_pitch_mm,
            "tick_width_mm": _number(tip.tick_mm),
            "hole_depth_mm": _number(tip.hole_depth_mm),
            "window_low_mm": _number(tip.window_low_mm),
            "window_high_mm": _number(tip.window_high_mm),
        }
    box = design.envelope_mm
    out |= {f"envelope_{axis}_mm": _number(size) for axis, size in zip("xyz", box, strict=True)}
    return out


def _number(size: Number) -> float:
    # Nine digits keep a computed 37.6 from being written as 37.599999999999994.
    return round(float(size), 9)


def has_arrays(design: Design) -> bool:
    """Return whether a design holds many parts in one."""
    return any(
        np.ndim(getattr(part, field.name)) > 0
        for part in (*design.barbs, design.tip, design.hub)
        if part is not None
        for field in fields(part)
        if field.name not in {"lines"}
    )
