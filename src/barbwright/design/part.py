"""A whole part in numbers: sized by its kind, and its sizes by name."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields

import numpy as np

from barbwright.design.compensate import compensated
from barbwright.design.conditions import Conditions
from barbwright.design.kind import Design, Kind, Ring
from barbwright.design.kinds import KINDS
from barbwright.design.mark import NOT_PASSED
from barbwright.equations import Number

__all__ = ["FORCED_SIZES", "KINDS", "SEARCHED", "Design", "Kind", "Ring", "design_part",
           "dimensions", "has_arrays"]  # fmt: skip

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
    **{name: unit for kind in KINDS.values() for name, unit in kind.sizes.items()},
}

# Tapers that are tried where none is forced; with none here the rule's own taper is drawn.
SEARCHED: tuple[float, ...] = ()


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
    return kind.size(kind, conditions, dict(forced or {}), words if passed else (NOT_PASSED,))


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
    out: dict[str, float] = {}
    if design.barbs:
        out["bore_diameter_mm"] = _number(design.bore_mm)
    for index, barb in enumerate(design.barbs):
        end = "" if index == 0 else "second_"
        out |= {
            f"{end}root_diameter_mm": _number(barb.root_mm),
            f"{end}crest_diameter_mm": _number(barb.crest_mm),
            f"{end}nose_diameter_mm": _number(barb.nose_mm),
            f"{end}neck_diameter_mm": _number(barb.neck_mm),
            f"{end}land_mm": _number(barb.land_mm),
            f"{end}barb_pitch_mm": _number(barb.pitch_mm),
            f"{end}shoulder_radius_mm": _number(barb.shoulder_radius_mm),
            f"{end}insertion_mm": _number(barb.insertion_mm),
            f"{end}barb_count": float(barb.barb_count),
            f"{end}expansion": _number(barb.expansion),
            f"{end}friction_length_mm": _number(barb.friction_length_mm),
            f"{end}tube_on_crest_diameter_mm": _number(barb.tube_on_crest_mm),
        }
    if design.barbs:
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
    if design.own is not None:
        out |= {name: _number(size) for name, size in design.own.dimensions().items()}
    drawn = compensated(design)
    if drawn is not design:
        # The sizes above are those wanted; these are what the files hold.
        theirs = dimensions(drawn)
        out |= {f"compensated_{name}": theirs[name] for name in out if theirs[name] != out[name]}
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
