"""Half profiles as (n, 3) arrays: position [mm], radius [mm], bulge [-].

All radii that a finite-element model must see are drawn here, into the
outline, because an edge fillet made by the CAD kernel can return an invalid
body without an error.
"""

from __future__ import annotations

from math import atan, atan2, hypot, pi, sqrt, tan

import numpy as np
from numpy.typing import NDArray

from barbwright.design.barb import Barb
from barbwright.design.hub import blend_end
from barbwright.design.tip import Tip
from barbwright.equations import square

Vertex = tuple[float, float, float]
Outline = NDArray[np.float64]

# Where a neck is slimmer than the stop, a collar this thick carries it [mm].
COLLAR_MM = 1.0
QUARTER = tan(pi / 8.0)  # bulge of a quarter turn, counter-clockwise


def outline(vertices: list[Vertex], *, turned: bool = True) -> Outline:
    """Return vertices as an array, without those that repeat the one before.

    Parameters
    ----------
    vertices : list of (float, float, float)
        Position [mm], radius [mm], bulge [-].
    turned : bool
        A full body of revolution, whose profile begins and ends on its axis; not
        so the profile of a prism, or of a comb that stands off the axis.

    Returns
    -------
    (n, 3) ndarray
        The profile.

    Raises
    ------
    ValueError
        When a turned profile leaves the axis open: the kernel would build no body of it.
    """
    if turned:
        for where, (position, radius, _) in (("begin", vertices[0]), ("end", vertices[-1])):
            if abs(radius) > 1e-9:
                message = (
                    f"a turned outline must {where} on its axis (given radius {radius:.3g} mm at "
                    f"position {position:.3g} mm): add a point of radius 0 there"
                )
                raise ValueError(message)
    kept: list[Vertex] = []
    for vertex in vertices:
        if kept and hypot(vertex[0] - kept[-1][0], vertex[1] - kept[-1][1]) < 1e-7:
            # The later vertex carries the bulge of the segment that follows.
            kept[-1] = (kept[-1][0], kept[-1][1], vertex[2])
            continue
        kept.append(vertex)
    return np.array(kept, dtype=float)


def mirrored(vertices: list[Vertex]) -> list[Vertex]:
    """Return a run of vertices mirrored in position, in rising order again."""
    flipped: list[Vertex] = []
    for index in range(len(vertices) - 1, -1, -1):
        # A segment keeps its bulge: mirrored once and walked backwards once.
        bulge = vertices[index - 1][2] if index else 0.0
        flipped.append((-vertices[index][0], vertices[index][1], bulge))
    return flipped


def ball_to_neck(ball_mm: float, neck_mm: float, blend_mm: float) -> list[Vertex]:
    """Return the run from the hub's centre over the ball and its blend to a neck.

    The ball's own arc is part of the arm, up to the tangent point: a neck that
    only touches a separate ball has failed every boolean tried.

    Parameters
    ----------
    ball_mm, neck_mm, blend_mm : float
        Diameters of ball and neck, and the blend's radius [mm].

    Returns
    -------
    list of Vertex
        Ends on the neck, at its first cylindrical position.
    """
    ball, neck = ball_mm / 2.0, neck_mm / 2.0
    centre = blend_end(ball_mm, neck_mm, blend_mm)
    turn = pi / 2.0 - atan2(neck + blend_mm, centre)
    share = ball / (ball + blend_mm)
    return [
        (0.0, 0.0, 0.0),
        (0.0, ball, -tan(turn / 4.0)),
        (centre * share, (neck + blend_mm) * share, tan(turn / 4.0)),
        (centre, neck, 0.0),
    ]


def barb_run(
    barb: Barb[float], start_mm: float, neck_mm: float, back_round_mm: float
) -> list[Vertex]:
    """Return the run from the neck over shoulder and barbs to the nose's end.

    Parameters
    ----------
    barb : Barb
        Drawn sizes [mm].
    start_mm : float
        Position of the face the tube stops at [mm].
    neck_mm : float
        Diameter of the arm before that face [mm].
    back_round_mm : float
        Radius between a back face and the root [mm].

    Returns
    -------
    list of Vertex
        From the neck's diameter at the shoulder to the axis at the nose.
    """
    root, crest = barb.root_mm / 2.0, barb.crest_mm / 2.0
    shoulder = max(barb.shoulder_mm, neck_mm) / 2.0
    r, foot = back_round_mm, barb.shoulder_radius_mm
    run: list[Vertex] = []
    if shoulder > neck_mm / 2.0:
        # A collar carries the stop where the neck alone is too slim for one.
        back = start_mm - COLLAR_MM
        run += [(back, neck_mm / 2.0, 0.0), (back, shoulder, 0.0)]
    run += [
        (start_mm, shoulder, 0.0),
        (start_mm, root + foot, QUARTER),
        (start_mm + foot, root, 0.0),
    ]
    end = start_mm + barb.insertion_mm
    for back in reversed(back_faces(barb)):
        at = end - back
        last = back == back_faces(barb)[0]
        run += [
            (at - r, root, QUARTER),
            (at, root + r, 0.0),
            (at, crest, 0.0),
            (at + barb.land_mm, crest, 0.0),
        ]
        if not last:
            run.append((at + barb.land_mm + barb.ramp_mm, root, 0.0))
    run += [(end, barb.nose_mm / 2.0, 0.0), (end, 0.0, 0.0)]
    return run


def back_faces(barb: Barb[float]) -> list[float]:
    """Return each back face's distance from the nose's end, nearest first [mm]."""
    first = barb.nose_ramp_mm + barb.land_mm
    return [first + barb.pitch_mm * index for index in range(barb.barb_count)]


def tip_run(tip: Tip[float], start_mm: float) -> list[Vertex]:
    """Return the run from the taper's root to the axis at the lead end.

    Parameters
    ----------
    tip : Tip
        Drawn sizes [mm].
    start_mm : float
        Position of the taper's root, where the plain neck ends [mm].

    Returns
    -------
    list of Vertex
        With the rounded lead edge.
    """
    lead, end = tip.lead_mm / 2.0, start_mm + tip.seat_mm
    half = atan((tip.root_mm - tip.lead_mm) / 2.0 / tip.seat_mm)
    r = tip.lead_round_mm
    inner = lead + r * tan(half) - r / np.cos(half)
    return [
        (start_mm, tip.root_mm / 2.0, 0.0),
        (end - r + r * np.sin(half), inner + r * np.cos(half), -tan((pi / 2.0 - half) / 4.0)),
        (end, inner, 0.0),
        (end, 0.0, 0.0),
    ]


def pad_stem(
    ball_mm: float,
    stem_mm: float,
    pad_mm: float,
    underside_mm: float,
    sunk_mm: float,
    blend_mm: float,
) -> Outline:
    """Return what carries a strike pad, from the hub's centre to inside the pad.

    On a large ball the underside lies so close to it that no stem has room
    between them: then one fillet, tangent to both, takes its place; and where
    that is wider than the pad, the pad stands on the ball as it is.

    Parameters
    ----------
    ball_mm, stem_mm, pad_mm : float
        Diameters of ball and stem, the pad's width over its flats [mm].
    underside_mm : float
        Position of the pad's underside [mm].
    sunk_mm : float
        How far it reaches into the pad [mm].
    blend_mm : float
        Radius between ball and stem [mm].

    Returns
    -------
    (n, 3) ndarray
        Closed profile; its last but two vertex lies in the underside.
    """
    round_mm = min(0.5, sunk_mm)
    top = underside_mm + sunk_mm

    def ended(run: list[Vertex], reach: float) -> Outline:
        return outline([*run, (underside_mm, reach, 0.0), (top, reach, 0.0), (top, 0.0, 0.0)])

    if blend_end(ball_mm, stem_mm, blend_mm) < underside_mm - round_mm - 0.05:
        stem = stem_mm / 2.0
        run = [*ball_to_neck(ball_mm, stem_mm, blend_mm), (underside_mm - round_mm, stem, QUARTER)]
        return ended(run, stem + round_mm)
    # A circle outside the ball that touches the plane of the underside from below.
    radius, middle = ball_mm / 2.0, underside_mm - blend_mm
    reach = sqrt(square(radius + blend_mm) - square(middle))
    if reach > pad_mm / 2.0 - 0.5:
        wide = pad_mm / 2.0 - 0.2
        return ended([(0.0, 0.0, 0.0), (0.0, wide, 0.0)], wide)
    share = radius / (radius + blend_mm)
    turn = pi / 2.0 - atan2(reach, middle)
    run = [
        (0.0, 0.0, 0.0),
        (0.0, radius, -tan(turn / 4.0)),
        (middle * share, reach * share, tan((turn + pi / 2.0) / 4.0)),
    ]
    return ended(run, reach)


def hexagon(across_mm: float) -> Outline:
    """Return a hexagon over its flats, two of them square to x [mm]."""
    reach = across_mm / sqrt(3.0)
    turns = [pi / 6.0 + pi / 3.0 * corner for corner in range(6)]
    return np.array([(reach * np.cos(turn), reach * np.sin(turn), 0.0) for turn in turns])


def rectangle(low_mm: float, high_mm: float, inner_mm: float, outer_mm: float) -> Outline:
    """Return a rectangular profile between two positions and two diameters [mm]."""
    return np.array(
        [
            (low_mm, inner_mm / 2.0, 0.0),
            (low_mm, outer_mm / 2.0, 0.0),
            (high_mm, outer_mm / 2.0, 0.0),
            (high_mm, inner_mm / 2.0, 0.0),
        ]
    )


def half_ball(diameter_mm: float) -> Outline:
    """Return the profile of a full ball about the origin [mm]."""
    r = diameter_mm / 2.0
    return np.array([(-r, 0.0, -QUARTER), (0.0, r, -QUARTER), (r, 0.0, 0.0)])


def comb(
    positions_mm: list[float], floors_mm: list[float], width_mm: float, spine_mm: float
) -> Outline:
    """Return a comb whose teeth reach down to floor diameters, for ticks.

    One comb, swept through a small angle, cuts a whole row of ticks: its spine
    lies outside the part.

    Parameters
    ----------
    positions_mm : list of float
        Middle of each tooth, rising [mm].
    floors_mm : list of float
        Diameter each tooth reaches down to [mm].
    width_mm : float
        Width of a tooth [mm].
    spine_mm : float
        Diameter where the spine begins, outside the part [mm].

    Returns
    -------
    (n, 3) ndarray
        Closed profile.
    """
    spine = spine_mm / 2.0
    vertices: list[Vertex] = [(positions_mm[0] - width_mm / 2.0, spine + 1.0, 0.0)]
    for at, floor in zip(positions_mm, floors_mm, strict=True):
        low, high = at - width_mm / 2.0, at + width_mm / 2.0
        vertices += [
            (low, spine, 0.0),
            (low, floor / 2.0, 0.0),
            (high, floor / 2.0, 0.0),
            (high, spine, 0.0),
        ]
    vertices.append((positions_mm[-1] + width_mm / 2.0, spine + 1.0, 0.0))
    return outline(vertices, turned=False)


def revolved_volume(profile: Outline) -> float:
    """Return the volume a closed profile sweeps about its axis, arcs included.

    Pappus on the polygon, with each arc cut into short chords: the result only
    bounds a boolean's outcome, so a part in ten thousand is near enough.

    Parameters
    ----------
    profile : (n, 3) ndarray
        Closed half profile [mm].

    Returns
    -------
    float
        Volume of a full turn [mm3].
    """
    points = polyline(profile)
    x, r = points[:, 0], points[:, 1]
    x2, r2 = np.roll(x, -1), np.roll(r, -1)
    # Signed volume under each segment, a frustum of a cone.
    return float(abs(np.sum(pi / 3.0 * (x2 - x) * (square(r) + r * r2 + square(r2)))))


def prism_volume(profile: Outline, depth_mm: float) -> float:
    """Return the volume of a straight prism, arcs included.

    Parameters
    ----------
    profile : (n, 3) ndarray
        Closed profile [mm].
    depth_mm : float
        Length along its normal [mm].

    Returns
    -------
    float
        Volume [mm3].
    """
    points = polyline(profile)
    x, y = points[:, 0], points[:, 1]
    return float(abs(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2.0 * depth_mm)


def polyline(profile: Outline, steps: int = 24) -> NDArray[np.float64]:
    """Return a profile as points, each arc cut into chords.

    Parameters
    ----------
    profile : (n, 3) ndarray
        Profile with bulges.
    steps : int
        Chords per arc [-].

    Returns
    -------
    (m, 2) ndarray
        Position and radius [mm].
    """
    points: list[tuple[float, float]] = []
    following = np.roll(profile, -1, axis=0)
    for (x0, r0, bulge), (x1, r1, _) in zip(profile, following, strict=True):
        points.append((x0, r0))
        if abs(bulge) < 1e-12:
            continue
        # Centre from the chord: the bulge is the tangent of a quarter of the turn.
        turn = 4.0 * atan(bulge)
        chord = hypot(x1 - x0, r1 - r0)
        offset = chord / 2.0 / tan(turn / 2.0) if abs(abs(turn) - pi) > 1e-12 else 0.0
        cx = (x0 + x1) / 2.0 - offset * (r1 - r0) / chord
        cr = (r0 + r1) / 2.0 + offset * (x1 - x0) / chord
        start, radius = atan2(r0 - cr, x0 - cx), hypot(x0 - cx, r0 - cr)
        for step in range(1, steps):
            angle = start + turn * step / steps
            points.append((cx + radius * np.cos(angle), cr + radius * np.sin(angle)))
    return np.array(points)
