"""From a part's sizes to its shape: outlines, cuts, the mark, and where to measure."""

from __future__ import annotations

from math import cos, degrees, pi, sin

import numpy as np

from barbwright.design.barb import Barb
from barbwright.design.mark import CAP_HEIGHT_EM, text_width
from barbwright.design.outline import (
    Vertex,
    back_faces,
    ball_to_neck,
    barb_run,
    comb,
    half_ball,
    mirrored,
    outline,
    pad_run,
    rectangle,
    revolved_volume,
    tip_run,
)
from barbwright.design.part import Design
from barbwright.design.shape import (
    X_AXIS,
    Y_AXIS,
    Z_AXIS,
    Engraving,
    Extruded,
    Point,
    Probe,
    Revolved,
    Shape,
    WallProbe,
)
from barbwright.design.tip import Tip

MINUS_X: Point = (-1.0, 0.0, 0.0)
MINUS_Z: Point = (0.0, 0.0, -1.0)
ORIGIN: Point = (0.0, 0.0, 0.0)
_OVERSHOOT_MM = 1.0


def shape_of(design: Design, name: str) -> Shape:
    """Return the geometry of a part, ready to be built and measured.

    Parameters
    ----------
    design : Design
        A single part (no arrays).
    name : str
        ASCII name of the product.

    Returns
    -------
    Shape
        Bodies, cuts, engravings and probes [mm].
    """
    if design.hub is not None:
        return _hub_shape(design, name)
    if design.ring is not None:
        return _inline_shape(design, name)
    return _barb_shape(design, name)


# --- the kinds ------------------------------------------------------------------------------


def _hub_shape(design: Design, name: str) -> Shape:
    hub, tip, barb = design.hub, design.tip, design.barbs[0]
    assert hub is not None
    assert tip is not None
    ball, blend = float(hub.ball_mm), float(hub.blend_mm)
    bore = float(design.bore_mm)
    start, end = float(design.arm_start_mm), float(design.arm_length_mm)
    neck = float(barb.neck_mm)
    arm = outline(
        [
            *ball_to_neck(ball, neck, blend),
            *barb_run(barb, start, neck, design.conditions.rules["back_face_radius_mm"]),
        ]
    )
    seat_root = float(design.seat_root_mm)
    seat_end = seat_root + float(tip.seat_mm)
    tip_arm = outline([*ball_to_neck(ball, float(tip.root_mm), blend), *tip_run(tip, seat_root)])
    face, crown = float(hub.pad_height_mm), float(hub.crown_mm)
    pad = outline(
        [
            *ball_to_neck(ball, float(hub.stem_mm), blend),
            *pad_run(
                face - float(hub.pad_thickness_mm),
                float(hub.stem_mm),
                float(hub.pad_mm),
                face,
                crown,
                min(0.5, float(hub.pad_thickness_mm) / 4.0),
            ),
        ]
    )
    directions = [X_AXIS, MINUS_X][: design.kind.arms]
    adds: list[Revolved | Extruded] = [
        # Its poles lie inside the tip and the pad, where no sliver can be left of them.
        Revolved("hub ball", half_ball(ball), axis=Z_AXIS),
        Revolved("tip", tip_arm, axis=MINUS_Z),
        Revolved("strike pad", pad, axis=Z_AXIS),
    ]
    adds += [
        Revolved(f"arm {index + 1}", arm, axis=axis, towards=Y_AXIS)
        for index, axis in enumerate(directions)
    ]
    low = -end - _OVERSHOOT_MM if design.kind.arms == 2 else 0.0
    cuts: list[Revolved | Extruded] = [
        Revolved("relief ball", half_ball(float(hub.relief_mm)), axis=X_AXIS, towards=Y_AXIS),
        Revolved(
            "run bore",
            rectangle(low, end + _OVERSHOOT_MM, 0.0, bore),
            axis=X_AXIS,
            towards=Y_AXIS,
        ),
        Revolved(
            "tip bore",
            rectangle(0.0, seat_end + _OVERSHOOT_MM, 0.0, float(tip.bore_mm)),
            axis=MINUS_Z,
        ),
        *_ticks(tip, seat_root, MINUS_Z, design),
        *_side_ports(design, seat_end),
    ]
    probes: list[Probe] = []
    walls: list[WallProbe] = []
    for index, axis in enumerate(directions):
        arm_probes, arm_walls = _barb_probes(
            barb, f"arm{index + 1}", ORIGIN, axis, end, bore, neck, start
        )
        probes += arm_probes
        walls += arm_walls
    tip_probes, tip_walls = _tip_probes(tip, ORIGIN, MINUS_Z, seat_root)
    probes += tip_probes
    probes.append(
        # Across the ball, where neither arm, tip nor pad stands.
        Probe(
            "hub_ball_diameter_mm",
            ORIGIN,
            Z_AXIS,
            0.0,
            ball,
            "outer",
            reach_mm=ball / 2.0 + 2.0,
            towards=Y_AXIS,
            fan_deg=20.0,
        )
    )
    probes.append(
        Probe(
            "relief_ball_diameter_mm",
            ORIGIN,
            Z_AXIS,
            0.0,
            float(hub.relief_mm),
            "inner",
            towards=Y_AXIS,
            fan_deg=20.0,
        )
    )
    probes.append(
        Probe(
            "strike_pad_diameter_mm",
            ORIGIN,
            Z_AXIS,
            face - crown - (float(hub.pad_thickness_mm) - crown) / 2.0,
            float(hub.pad_mm),
            "outer",
        )
    )
    walls.append(
        WallProbe(
            "hub_wall_mm",
            ORIGIN,
            Z_AXIS,
            0.0,
            (ball - float(hub.relief_mm)) / 2.0,
            towards=Y_AXIS,
            fan_deg=20.0,
        )
    )
    engravings = _pad_mark(design, face, crown, float(hub.pad_mm))
    return _shape(name, adds, cuts, engravings, probes, walls, design)


def _inline_shape(design: Design, name: str) -> Shape:
    """Tip below, ring at the origin, barb above: one outline about Z."""
    tip, ring, barb = design.tip, design.ring, design.barbs[0]
    assert tip is not None
    assert ring is not None
    thick, wide = float(ring.thickness_mm), float(ring.ring_mm) / 2.0
    neck, root = float(tip.neck_mm), float(tip.root_mm) / 2.0
    blend, edge = 0.5, 0.3
    below: list[Vertex] = [
        (0.0, root + blend, 0.4142135623730951),
        (blend, root, 0.0),
        *tip_run(tip, neck),
    ]
    barb_above = barb_run(
        barb, thick, float(barb.neck_mm), design.conditions.rules["back_face_radius_mm"]
    )
    # The ring itself is the stop: its face runs straight down to the root.
    faced = [
        vertex
        for vertex in barb_above
        if vertex[1] <= float(barb.root_mm) / 2.0 + 0.21 or vertex[0] > thick + 0.5
    ]
    body = outline(
        [
            *mirrored(below),
            (0.0, wide - edge, -0.4142135623730951),
            (edge, wide, 0.0),
            (thick - edge, wide, -0.4142135623730951),
            (thick, wide - edge, 0.0),
            *faced,
        ]
    )
    end = thick + float(barb.insertion_mm)
    seat_end = neck + float(tip.seat_mm)
    bore, tip_bore = float(design.bore_mm), float(tip.bore_mm)
    cone = abs(bore - tip_bore) / 2.0
    middle = thick / 2.0
    bores = outline(
        [
            (-seat_end - _OVERSHOOT_MM, 0.0, 0.0),
            (-seat_end - _OVERSHOOT_MM, tip_bore / 2.0, 0.0),
            (middle - cone / 2.0, tip_bore / 2.0, 0.0),
            (middle + cone / 2.0, bore / 2.0, 0.0),
            (end + _OVERSHOOT_MM, bore / 2.0, 0.0),
            (end + _OVERSHOOT_MM, 0.0, 0.0),
        ]
    )
    probes, walls = _barb_probes(barb, "arm1", ORIGIN, Z_AXIS, end, bore, None, thick)
    tip_probes, tip_walls = _tip_probes(tip, ORIGIN, MINUS_Z, neck)
    probes += tip_probes
    walls += tip_walls
    if not design.mark.lines:
        probes.append(
            Probe("shoulder_ring_diameter_mm", ORIGIN, Z_AXIS, middle, 2.0 * wide, "outer")
        )
    cuts: list[Revolved | Extruded] = [
        Revolved("bore", bores, axis=Z_AXIS),
        *_ticks(tip, neck, MINUS_Z, design),
        *_side_ports(design, seat_end),
    ]
    return _shape(
        name,
        [Revolved("body", body, axis=Z_AXIS)],
        cuts,
        _rim_mark(design, wide, middle),
        probes,
        walls,
        design,
    )


def _barb_shape(design: Design, name: str) -> Shape:
    """Two barbs back to back along X, one outline."""
    first, second = design.barbs[0], design.barbs[-1]
    half = float(design.neck_length_mm) / 2.0
    neck = float(design.neck_mm)
    radius = design.conditions.rules["back_face_radius_mm"]
    bore = float(design.bore_mm)
    body = outline(
        [*mirrored(barb_run(second, half, neck, radius)), *barb_run(first, half, neck, radius)]
    )
    ends = (half + float(first.insertion_mm), half + float(second.insertion_mm))
    probes, walls = _barb_probes(first, "arm1", ORIGIN, X_AXIS, ends[0], bore, neck, half)
    more_probes, more_walls = _barb_probes(
        second, "arm2", ORIGIN, MINUS_X, ends[1], bore, None, half
    )
    cut = Revolved(
        "bore",
        rectangle(-ends[1] - _OVERSHOOT_MM, ends[0] + _OVERSHOOT_MM, 0.0, bore),
        axis=X_AXIS,
        towards=Y_AXIS,
    )
    return _shape(
        name,
        [Revolved("body", body, axis=X_AXIS, towards=Y_AXIS)],
        [cut],
        (),
        probes + more_probes,
        walls + more_walls,
        design,
    )


# --- pieces ---------------------------------------------------------------------------------


def tick_positions(design: Design) -> list[float]:
    """Return each tick's distance below the taper's root, the last tick (0) first.

    Ticks stand wherever the bark's surface can be at hand-tight or later, from
    the fat part in the smallest hole to the last tick at the seat's end.

    Parameters
    ----------
    design : Design
        A single part with a tip.

    Returns
    -------
    list of float
        Distances [mm].
    """
    tip, conditions = design.tip, design.conditions
    assert tip is not None
    fat = float(conditions.material.tolerance_at(tip.lead_mm))
    first = (float(conditions.hole_low_mm) - float(tip.lead_mm) - fat) / float(tip.taper)
    span = float(tip.seat_mm) - max(first, 0.0) - float(conditions.bark_mm)
    count = max(int(span / tip.tick_pitch_mm), 0)
    # The last tick ends where the taper does, so that it is cut into the seat.
    return [index * tip.tick_pitch_mm for index in range(count + 1)]


def _ticks(tip: Tip, seat_root_mm: float, axis: Point, design: Design) -> list[Revolved]:
    width = float(tip.tick_mm)
    taper = float(tip.taper)
    positions, floors = [], []
    for below in tick_positions(design):
        middle = below + width / 2.0
        positions.append(seat_root_mm + middle)
        floors.append(float(tip.root_mm) - taper * middle - 2.0 * width)
    profile = comb(positions, floors, width, float(tip.root_mm) + 0.4)
    # A tick's arc is its full length where the taper is thickest, a little less below.
    sweep = degrees(2.0 * float(tip.tick_arc_mm) / float(tip.root_mm))
    return [
        Revolved(f"ticks {side}", profile, axis=axis, towards=towards, sweep_deg=sweep)
        for side, towards in (("front", (0.0, -1.0, 0.0)), ("back", Y_AXIS))
    ]


def _side_ports(design: Design, seat_end_mm: float) -> list[Revolved]:
    if not design.forced.get("side_ports"):
        return []
    tip = design.tip
    assert tip is not None
    bore, across = float(tip.bore_mm), float(tip.lead_mm) + 4.0
    at = (0.0, 0.0, -(seat_end_mm - side_port_from_lead_mm(tip)))
    profile = rectangle(-across, across, 0.0, bore)
    return [Revolved("side ports", profile, origin=at, axis=X_AXIS, towards=Y_AXIS)]


def side_port_from_lead_mm(tip: Tip) -> float:
    """Return how far from the lead end a pair of side ports stands [mm]."""
    return 1.5 * float(tip.bore_mm) + tip.lead_round_mm


def _pad_mark(
    design: Design, face_mm: float, crown_mm: float, pad_mm: float
) -> tuple[Engraving, ...]:
    mark = design.mark
    if not mark.lines:
        return ()
    # Measured from the crown's surface at the farthest letter, so no stroke is shallower.
    reach = max(
        np.hypot(
            text_width(line.text, mark.size_mm) / 2.0,
            abs(line.at_mm) + CAP_HEIGHT_EM * mark.size_mm / 2.0,
        )
        for line in mark.lines
    )
    radius = ((pad_mm / 2.0) ** 2 + crown_mm**2) / (2.0 * crown_mm)
    drop = radius - np.sqrt(radius**2 - reach**2)
    floor = face_mm - float(drop) - mark.depth_mm
    return tuple(
        Engraving(
            line.text,
            mark.size_mm,
            (0.0, line.at_mm, floor),
            Z_AXIS,
            X_AXIS,
            mark.depth_mm + crown_mm + 0.5,
        )
        for line in mark.lines
    )


def _rim_mark(design: Design, radius_mm: float, middle_mm: float) -> tuple[Engraving, ...]:
    """One letter at a time round the ring, each on its own tangent plane."""
    mark = design.mark
    if not mark.lines:
        return ()
    text = mark.lines[0].text
    floor = radius_mm - mark.depth_mm
    engravings = []
    run = -text_width(text, mark.size_mm) / 2.0
    for letter in text:
        width = text_width(letter, mark.size_mm)
        angle = -pi / 2.0 + (run + width / 2.0) / radius_mm
        run += width
        if letter == " ":
            continue
        out: Point = (cos(angle), sin(angle), 0.0)
        along: Point = (-sin(angle), cos(angle), 0.0)
        origin: Point = (floor * out[0], floor * out[1], middle_mm)
        engravings.append(Engraving(letter, mark.size_mm, origin, out, along, mark.depth_mm + 0.5))
    return tuple(engravings)


def _barb_probes(
    barb: Barb,
    arm: str,
    origin: Point,
    axis: Point,
    end_mm: float,
    bore_mm: float,
    neck_mm: float | None,
    start_mm: float,
) -> tuple[list[Probe], list[WallProbe]]:
    towards = Y_AXIS
    root, crest = float(barb.root_mm), float(barb.crest_mm)
    land, insertion = float(barb.land_mm), float(barb.insertion_mm)
    backs = back_faces(barb)
    root_at = end_mm - (backs[-1] + insertion) / 2.0
    crest_at = end_mm - backs[-1] + land / 2.0
    nose_back = 0.3
    slope = (crest - float(barb.nose_mm)) / float(barb.nose_ramp_mm)
    nose = float(barb.nose_mm) + slope * nose_back
    reach = crest / 2.0 + 1.0
    probes = [
        Probe(f"{arm}_bore_diameter_mm", origin, axis, root_at, bore_mm, "inner", towards=towards),
        Probe(f"{arm}_root_diameter_mm", origin, axis, root_at, root, "outer", reach, towards),
        Probe(f"{arm}_crest_diameter_mm", origin, axis, crest_at, crest, "outer", reach, towards),
        Probe(
            f"{arm}_nose_diameter_mm",
            origin,
            axis,
            end_mm - nose_back,
            nose,
            "outer",
            reach,
            towards,
        ),
    ]
    if neck_mm is not None:
        neck_at = start_mm - 0.5
        probes.append(
            Probe(
                f"{arm}_neck_diameter_mm",
                origin,
                axis,
                neck_at,
                neck_mm,
                "outer",
                neck_mm / 2.0 + 0.8,
                towards,
            )
        )
    lean = (slope / 2.0) / float(np.hypot(1.0, slope / 2.0))
    walls = [
        WallProbe(
            f"{arm}_root_wall_mm", origin, axis, root_at, (root - bore_mm) / 2.0, towards=towards
        ),
        WallProbe(
            f"{arm}_nose_wall_mm",
            origin,
            axis,
            end_mm - nose_back,
            (nose - bore_mm) / 2.0 * float(np.sqrt(1.0 - lean**2)),
            slope / 2.0,
            towards,
        ),
    ]
    return probes, walls


def _tip_probes(
    tip: Tip, origin: Point, axis: Point, seat_root_mm: float
) -> tuple[list[Probe], list[WallProbe]]:
    end = seat_root_mm + float(tip.seat_mm)
    taper, lead = float(tip.taper), float(tip.lead_mm)
    bore = float(tip.bore_mm)
    back = tip.lead_round_mm + 0.5
    lead_drawn = lead + taper * back
    middle = seat_root_mm + tip.tick_pitch_mm / 2.0 + float(tip.tick_mm) / 2.0
    upper = float(tip.root_mm) - taper * (middle - seat_root_mm)
    port_clear = end - 4.0 * bore - 2.0
    bore_at = max(min(seat_root_mm + 4.0, port_clear), seat_root_mm + 1.0)
    probes = [
        Probe("tip_bore_diameter_mm", origin, axis, bore_at, bore, "inner"),
        Probe("tip_lead_diameter_mm", origin, axis, end - back, lead_drawn, "outer"),
        # Between two ticks, where the taper's own surface stands.
        Probe("tip_upper_diameter_mm", origin, axis, middle, upper, "outer"),
        Probe(
            "tip_root_diameter_mm",
            origin,
            axis,
            seat_root_mm - float(tip.neck_mm) / 2.0,
            float(tip.root_mm),
            "outer",
            float(tip.root_mm) / 2.0 + 1.0,
        ),
    ]
    tilt = float(np.cos(np.arctan(taper / 2.0)))
    walls = [
        WallProbe(
            "tip_lead_wall_mm",
            origin,
            axis,
            end - back,
            (lead_drawn - bore) / 2.0 * tilt,
            taper / 2.0,
        )
    ]
    return probes, walls


def _shape(
    name: str,
    adds: list[Revolved | Extruded],
    cuts: list[Revolved | Extruded],
    engravings: tuple[Engraving, ...],
    probes: list[Probe],
    walls: list[WallProbe],
    design: Design,
) -> Shape:
    swept = [
        revolved_volume(body.outline) * body.sweep_deg / 360.0
        for body in adds
        if isinstance(body, Revolved)
    ]
    away = sum(
        revolved_volume(body.outline) * body.sweep_deg / 360.0
        for body in cuts
        if isinstance(body, Revolved)
    )
    openings = design.kind.openings + (2 if design.forced.get("side_ports") else 0)
    return Shape(
        name=name,
        adds=tuple(adds),
        cuts=tuple(cuts),
        engravings=engravings,
        probes=tuple(probes),
        walls=tuple(walls),
        openings=openings,
        # Joined bodies overlap, and cuts reach beyond the part: both bounds are safe, not tight.
        volume_bounds_mm3=(max(max(swept) - away, 0.0), sum(swept)),
    )


def least_wall_mm(design: Design) -> float:
    """Return the least wall that is drawn between ticks [mm]."""
    barb = design.barbs[0]
    walls = [
        (float(barb.root_mm) - float(design.bore_mm)) / 2.0,
        (float(barb.nose_mm) - float(design.bore_mm)) / 2.0,
    ]
    if design.tip is not None:
        walls.append((float(design.tip.lead_mm) - float(design.tip.bore_mm)) / 2.0)
    return min(walls)
