"""Tube-to-tube barb: two barbs back to back, of one tube or two."""

from __future__ import annotations

from collections.abc import Mapping

from barbwright.design.barb import size_arms
from barbwright.design.conditions import Conditions
from barbwright.design.draw import OVERSHOOT_MM, assembled, measure_barb
from barbwright.design.half_section import (
    HALF,
    barb_detail,
    barb_sizes,
    half_section,
    left_out,
    step_notes,
)
from barbwright.design.kind import Design, Kind
from barbwright.design.mark import Mark
from barbwright.design.outline import barb_run, mirrored, outline, rectangle
from barbwright.design.shape import (
    MINUS_X,
    ORIGIN,
    X_AXIS,
    Y_AXIS,
    Revolved,
    Shape,
)
from barbwright.design.sizes import SECOND
from barbwright.design.view import Across, Along, Stack, View
from barbwright.equations import Number

# Drawn along X, its cut across Y.
PLANE = ("x", "y")


def size_barb_part(
    kind: Kind, conditions: Conditions, forced: Mapping[str, Number], words: tuple[str, ...]
) -> Design:
    """Return a tube-to-tube barb's drawn sizes [mm].

    Source: judgement
    """
    bore, barbs = size_arms(conditions, forced)
    return Design(
        kind=kind,
        conditions=conditions,
        forced=forced,
        bore_mm=bore,
        barbs=barbs,
        neck_length_mm=conditions.rules["neck_between_shoulders_mm"],
        mark=Mark.none(words),
    )


def draw_barb(design: Design[float], name: str) -> Shape:
    """Return two barbs back to back along X, one outline."""
    first, second = design.barbs[0], design.barbs[-1]
    half = design.neck_length_mm / 2.0
    neck = design.neck_mm
    radius = design.conditions.rules["back_face_radius_mm"]
    bore = design.bore_mm
    body = outline(
        [*mirrored(barb_run(second, half, neck, radius)), *barb_run(first, half, neck, radius)]
    )
    ends = (half + first.insertion_mm, half + second.insertion_mm)
    probes, walls = measure_barb(first, "arm1", ORIGIN, X_AXIS, ends[0], bore, neck, half)
    more_probes, more_walls = measure_barb(
        second, "arm2", ORIGIN, MINUS_X, ends[1], bore, None, half
    )
    cut = Revolved(
        name="bore",
        outline=rectangle(-ends[1] - OVERSHOOT_MM, ends[0] + OVERSHOOT_MM, 0.0, bore),
        axis=X_AXIS,
        towards=Y_AXIS,
    )
    return assembled(
        name,
        [Revolved(name="body", outline=body, axis=X_AXIS, towards=Y_AXIS)],
        [cut],
        (),
        probes + more_probes,
        walls + more_walls,
        design,
    )


def views_of_barb(part: Design[float]) -> tuple[View, ...]:
    """Return the view, the first barb to the right, and one barb of each size enlarged."""
    first, second = part.barbs[0], part.barbs[-1]
    half, neck = part.neck_length_mm / 2.0, part.neck_mm
    seen = half_section(draw_barb(part, "drawing"))
    sizes = [barb_sizes(first, half, 1, neck_mm=neck)]
    details = [barb_detail(part, first, half, 1, "Z", plane=PLANE)]
    if len(part.barbs) > 1:
        sizes.append(barb_sizes(second, -half, -1, neck_mm=neck, prefix=SECOND))
        details.append(barb_detail(part, second, -half, -1, "Y", prefix=SECOND, plane=PLANE))
    widest = max(neck, *(max(barb.shoulder_mm, barb.crest_mm) for barb in part.barbs)) / 2.0
    left, right = -half - second.insertion_mm, half + first.insertion_mm
    across = (
        *(one for barb in sizes for one in barb.across),
        Across(name="neck_diameter_mm", at_mm=0.0, size_mm=neck),
        Across(name="bore_diameter_mm", at_mm=right, size_mm=part.bore_mm, beyond=2),
    )
    nose = min(first.nose_mm, second.nose_mm) / 2.0
    whole = Along(name="envelope_x_mm", start=(left, -nose), end=(right, -nose), reference=True)
    stop = (max(first.shoulder_mm, neck) / 2.0, max(second.shoulder_mm, neck) / 2.0)
    between = Along(name="neck_length_mm", start=(-half, stop[1]), end=(half, stop[0]))
    lengths: tuple[tuple[Along, ...], ...] = (
        tuple(one for barb in sizes for one in barb.collar),
        tuple(barb.insertion for barb in sizes),
        (between,),
    )
    return (
        seen.on(
            View(
                title=HALF if len(part.barbs) > 1 else f"{HALF}; both ends alike",
                plane=PLANE,
                left_out=left_out(part),
                stacks=(
                    Stack(clear_mm=widest, tiers=(across, (whole,))),
                    Stack(side=1, clear_mm=widest, tiers=tuple(tier for tier in lengths if tier)),
                ),
                notes=step_notes(part, (part.arm_length_mm, widest)),
                signs=tuple(ring for ring, _ in details),
            )
        ),
        *(view for _, view in details),
    )


BARB = Kind(
    name="barb",
    title="tube-to-tube barb",
    letter="B",
    arms=2,
    mark="none",
    openings=2,
    size=size_barb_part,
    draw=draw_barb,
    views=views_of_barb,
    single=Design,
)
