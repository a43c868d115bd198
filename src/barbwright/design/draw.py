"""From a part's sizes to its shape: outlines, cuts, the mark, and where to measure."""

from __future__ import annotations

from math import cos, degrees, pi, sin
from typing import Any

import numpy as np
from numpy.typing import NDArray

from barbwright.design.barb import Barb
from barbwright.design.hub import Hub
from barbwright.design.kind import Design
from barbwright.design.outline import (
    Outline,
    back_faces,
    comb,
    hexagon,
    pad_stem,
    prism_volume,
    rectangle,
    revolved_volume,
)
from barbwright.design.shape import (
    MINUS_Y,
    X_AXIS,
    Y_AXIS,
    Engraving,
    Extruded,
    Point,
    Probe,
    Revolved,
    Shape,
    WallProbe,
)
from barbwright.design.single import single
from barbwright.design.tip import Tip
from barbwright.design.view import View
from barbwright.equations import N, square

OVERSHOOT_MM = 1.0
# The taper's lead stays plain for so far: it is measured there, and no bark ends so near it.
_PLAIN_LEAD_MM = 1.0


def shape_of(design: Design[Any], name: str) -> Shape:
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
    return design.kind.draw(single(design), name)


def pad_stem_of(hub: Hub[float]) -> Outline:
    """Return what carries the strike pad, from the hub's centre to inside the pad [mm]."""
    return pad_stem(
        hub.ball_mm,
        hub.stem_mm,
        hub.pad_mm,
        hub.pad_height_mm - hub.pad_thickness_mm,
        hub.pad_thickness_mm / 2.0,
        hub.blend_mm,
    )


def pad_section(hub: Hub[float]) -> Outline:
    """Return stem and strike pad cut through two of its flats, from the hub's centre [mm]."""
    half, face, chamfer = hub.pad_mm / 2.0, hub.pad_height_mm, hub.chamfer_mm
    rim = [
        (face - hub.pad_thickness_mm, half, 0.0),
        (face - chamfer, half, 0.0),
        (face, half - chamfer, 0.0),
        (face, 0.0, 0.0),
    ]
    return np.vstack([pad_stem_of(hub)[:-2], rim])


def pad_hexagon(hub: Hub[float]) -> Extruded:
    """Return the strike pad, a prism whose flats face the arms, its corners beside them [mm]."""
    low = hub.pad_height_mm - hub.pad_thickness_mm
    return Extruded(
        name="strike pad",
        outline=hexagon(hub.pad_mm),
        depth_mm=hub.pad_thickness_mm,
        origin=(0.0, 0.0, low),
    )


def pad_chamfers(hub: Hub[float]) -> list[Extruded]:
    """Return the six cuts that break the edge of the pad's top, each along its flat [mm]."""
    half, face, chamfer = hub.pad_mm / 2.0, hub.pad_height_mm, hub.chamfer_mm
    far = OVERSHOOT_MM
    profile = np.array([
        (half + far, face - chamfer - far, 0.0),
        (half + far, face + far, 0.0),
        (half - chamfer - far, face + far, 0.0),
    ])  # fmt: skip
    cuts = []
    for flat in range(6):
        turn = pi / 3.0 * flat
        out: Point = (cos(turn), sin(turn), 0.0)
        along: Point = (sin(turn), -cos(turn), 0.0)
        start: Point = (-hub.pad_mm * along[0], -hub.pad_mm * along[1], 0.0)
        cuts.append(
            Extruded(
                name=f"pad chamfer {flat + 1}",
                outline=profile,
                depth_mm=2.0 * hub.pad_mm,
                origin=start,
                normal=along,
                x_direction=out,
            )
        )
    return cuts


def views_of(design: Design) -> tuple[View, ...]:
    """Return what a part's drawing shows.

    Parameters
    ----------
    design : Design
        A single part (no arrays).

    Returns
    -------
    tuple of View
        The main view first, each with its dimensions [mm].
    """
    return design.kind.views(single(design))


# --- pieces ---------------------------------------------------------------------------------


def tick_positions(design: Design[float]) -> list[float]:
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
    fat = float(conditions.tip_tolerance_mm)
    first = (float(conditions.hole_low_mm) - tip.lead_mm - fat) / tip.taper
    span = tip.seat_mm - max(first, 0.0) - float(conditions.bark_least_mm)
    # Without bark the first tick would be cut into the lead's edge, where the lead is measured.
    span = min(span, tip.seat_mm - tip.lead_round_mm - _PLAIN_LEAD_MM - tip.tick_mm)
    count = max(int(span / tip.tick_pitch_mm), 0)
    # The last tick ends where the taper does, so that it is cut into the seat.
    return [index * tip.tick_pitch_mm for index in range(count + 1)]


def ticks(
    tip: Tip[float], seat_root_mm: float, axis: Point, design: Design[float]
) -> list[Revolved]:
    """Return the two combs that cut a tip's ticks, front and back."""
    width = tip.tick_mm
    taper = tip.taper
    positions, floors = [], []
    for below in tick_positions(design):
        middle = below + width / 2.0
        positions.append(seat_root_mm + middle)
        floors.append(tip.root_mm - taper * middle - 2.0 * tip.tick_depth_mm)
    profile = comb(positions, floors, width, tip.root_mm + 0.4)
    # A tick's arc is its full length where the taper is thickest, a little less below.
    sweep = degrees(2.0 * tip.tick_arc_mm / tip.root_mm)
    return [
        Revolved(name=f"ticks {side}", outline=profile, axis=axis, towards=towards, sweep_deg=sweep)
        for side, towards in (("front", MINUS_Y), ("back", Y_AXIS))
    ]


def side_ports(design: Design[float], seat_end_mm: float) -> list[Revolved]:
    """Return the cut of a pair of side ports, where they are asked for."""
    if not design.forced.get("side_ports"):
        return []
    tip = design.tip
    assert tip is not None
    bore, across = tip.bore_mm, tip.lead_mm + 4.0
    at = (0.0, 0.0, -(seat_end_mm - side_port_from_lead_mm(tip)))
    profile = rectangle(-across, across, 0.0, bore)
    return [Revolved(name="side ports", outline=profile, origin=at, axis=X_AXIS, towards=Y_AXIS)]


def side_port_from_lead_mm(tip: Tip[N]) -> N:
    """Return how far from the lead end a pair of side ports stands [mm]."""
    return 1.5 * tip.bore_mm + tip.lead_round_mm


def rim_letters(design: Design[float], radius_mm: float, middle_mm: float) -> tuple[Engraving, ...]:
    """One letter at a time round the ring, each on its own tangent plane."""
    mark = design.mark
    if not mark.lines:
        return ()
    text = mark.lines[0].text
    floor = radius_mm - mark.depth_mm
    engravings = []
    run = -mark.letters.width(text) / 2.0
    for letter in text:
        angle = -pi / 2.0 + (run + mark.letters.width(letter) / 2.0) / radius_mm
        run += mark.letters.advance(letter)
        if letter == " ":
            continue
        out: Point = (cos(angle), sin(angle), 0.0)
        along: Point = (-sin(angle), cos(angle), 0.0)
        origin: Point = (floor * out[0], floor * out[1], middle_mm)
        engravings.append(
            Engraving(
                text=letter,
                letters=mark.letters,
                origin=origin,
                normal=out,
                x_direction=along,
                depth_mm=mark.depth_mm + 0.5,
            )
        )
    return tuple(engravings)


def measure_barb(
    barb: Barb[float],
    arm: str,
    origin: Point,
    axis: Point,
    end_mm: float,
    bore_mm: float,
    neck_mm: float | None,
    start_mm: float,
) -> tuple[list[Probe], list[WallProbe]]:
    """Return where a barb is measured on the written mesh."""
    towards = Y_AXIS
    root, crest = barb.root_mm, barb.crest_mm
    land, insertion = barb.land_mm, barb.insertion_mm
    backs = back_faces(barb)
    root_at = end_mm - (backs[-1] + insertion) / 2.0
    crest_at = end_mm - backs[-1] + land / 2.0
    nose_back = 0.3
    slope = (crest - barb.nose_mm) / barb.nose_ramp_mm
    nose = barb.nose_mm + slope * nose_back
    reach = crest / 2.0 + 1.0
    probes = [
        Probe(
            name=f"{arm}_bore_diameter_mm",
            origin=origin,
            axis=axis,
            at_mm=root_at,
            diameter_mm=bore_mm,
            side="inner",
            towards=towards,
        ),
        Probe(
            name=f"{arm}_root_diameter_mm",
            origin=origin,
            axis=axis,
            at_mm=root_at,
            diameter_mm=root,
            side="outer",
            reach_mm=reach,
            towards=towards,
        ),
        Probe(
            name=f"{arm}_crest_diameter_mm",
            origin=origin,
            axis=axis,
            at_mm=crest_at,
            diameter_mm=crest,
            side="outer",
            reach_mm=reach,
            towards=towards,
        ),
        Probe(
            name=f"{arm}_nose_diameter_mm",
            origin=origin,
            axis=axis,
            at_mm=end_mm - nose_back,
            diameter_mm=nose,
            side="outer",
            reach_mm=reach,
            towards=towards,
        ),
    ]
    if neck_mm is not None:
        # Behind the collar, where the stop has one.
        collar = barb.shoulder_mm > neck_mm
        neck_at = start_mm - (1.25 if collar else 0.5)
        probes.append(
            Probe(
                name=f"{arm}_neck_diameter_mm",
                origin=origin,
                axis=axis,
                at_mm=neck_at,
                diameter_mm=neck_mm,
                side="outer",
                reach_mm=neck_mm / 2.0 + 0.8,
                towards=towards,
            )
        )
    lean = (slope / 2.0) / float(np.hypot(1.0, slope / 2.0))
    walls = [
        WallProbe(
            name=f"{arm}_root_wall_mm",
            origin=origin,
            axis=axis,
            at_mm=root_at,
            wall_mm=(root - bore_mm) / 2.0,
            towards=towards,
        ),
        WallProbe(
            name=f"{arm}_nose_wall_mm",
            origin=origin,
            axis=axis,
            at_mm=end_mm - nose_back,
            wall_mm=(nose - bore_mm) / 2.0 * float(np.sqrt(1.0 - square(lean))),
            slope=slope / 2.0,
            towards=towards,
        ),
    ]
    return probes, walls


def measure_tip(
    tip: Tip[float], origin: Point, axis: Point, seat_root_mm: float
) -> tuple[list[Probe], list[WallProbe]]:
    """Return where a tip is measured on the written mesh."""
    end = seat_root_mm + tip.seat_mm
    taper, lead = tip.taper, tip.lead_mm
    bore = tip.bore_mm
    back = tip.lead_round_mm + 0.5
    lead_drawn = lead + taper * back
    middle = seat_root_mm + tip.tick_pitch_mm / 2.0 + tip.tick_mm / 2.0
    upper = tip.root_mm - taper * (middle - seat_root_mm)
    port_clear = end - 4.0 * bore - 2.0
    bore_at = max(min(seat_root_mm + 4.0, port_clear), seat_root_mm + 1.0)
    probes = [
        Probe(
            name="tip_bore_diameter_mm",
            origin=origin,
            axis=axis,
            at_mm=bore_at,
            diameter_mm=bore,
            side="inner",
        ),
        Probe(
            name="tip_lead_diameter_mm",
            origin=origin,
            axis=axis,
            at_mm=end - back,
            diameter_mm=lead_drawn,
            side="outer",
        ),
        # Between two ticks, where the taper's own surface stands.
        Probe(
            name="tip_upper_diameter_mm",
            origin=origin,
            axis=axis,
            at_mm=middle,
            diameter_mm=upper,
            side="outer",
        ),
        Probe(
            name="tip_root_diameter_mm",
            origin=origin,
            axis=axis,
            at_mm=seat_root_mm - tip.neck_mm / 2.0,
            diameter_mm=tip.root_mm,
            side="outer",
            reach_mm=tip.root_mm / 2.0 + 1.0,
        ),
    ]
    tilt = float(np.cos(np.arctan(taper / 2.0)))
    walls = [
        WallProbe(
            name="tip_lead_wall_mm",
            origin=origin,
            axis=axis,
            at_mm=end - back,
            wall_mm=(lead_drawn - bore) / 2.0 * tilt,
            slope=taper / 2.0,
        )
    ]
    return probes, walls


def assembled(
    name: str,
    adds: list[Revolved | Extruded],
    cuts: list[Revolved | Extruded],
    engravings: tuple[Engraving, ...],
    probes: list[Probe],
    walls: list[WallProbe],
    design: Design[float],
) -> Shape:
    """Return a part's bodies, cuts, mark and probes as one shape."""
    swept, away = [swept_volume(body) for body in adds], sum(swept_volume(body) for body in cuts)
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


def swept_volume(body: Revolved | Extruded) -> float:
    """Return a body's own volume [mm3], for the bounds of a boolean."""
    if isinstance(body, Extruded):
        return prism_volume(body.outline, body.depth_mm)
    return revolved_volume(body.outline) * body.sweep_deg / 360.0


def face_mark(
    design: Design[float], middle: Point, normal: Point, x_direction: Point
) -> tuple[Engraving, ...]:
    """Return the mark's lines on a flat face, about a point on its surface."""
    mark = design.mark
    out, along = np.asarray(normal), np.asarray(x_direction)
    up = np.cross(out, along)
    return tuple(
        Engraving(
            text=line.text,
            letters=mark.letters,
            origin=_point(np.asarray(middle) + line.at_mm * up - mark.depth_mm * out),
            normal=normal,
            x_direction=x_direction,
            depth_mm=mark.depth_mm + 0.5,
        )
        for line in mark.lines
    )


def _point(values: NDArray[np.float64]) -> Point:
    return float(values[0]), float(values[1]), float(values[2])
