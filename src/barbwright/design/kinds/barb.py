"""Tube-to-tube barb: two barbs back to back, of one tube or two."""

from __future__ import annotations

from collections.abc import Mapping

from barbwright.design.barb import size_arms
from barbwright.design.conditions import Conditions
from barbwright.design.draw import MINUS_X, ORIGIN, OVERSHOOT_MM, assembled, measure_barb
from barbwright.design.kind import Design, Kind
from barbwright.design.mark import Mark
from barbwright.design.outline import barb_run, mirrored, outline, rectangle
from barbwright.design.shape import X_AXIS, Y_AXIS, Revolved, Shape
from barbwright.equations import Number


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
        "bore",
        rectangle(-ends[1] - OVERSHOOT_MM, ends[0] + OVERSHOOT_MM, 0.0, bore),
        axis=X_AXIS,
        towards=Y_AXIS,
    )
    return assembled(
        name,
        [Revolved("body", body, axis=X_AXIS, towards=Y_AXIS)],
        [cut],
        (),
        probes + more_probes,
        walls + more_walls,
        design,
    )


BARB = Kind(
    name="barb",
    title="tube-to-tube barb",
    arms=2,
    mark="none",
    openings=2,
    size=size_barb_part,
    draw=draw_barb,
    single=Design,
)
