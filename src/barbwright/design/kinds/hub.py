"""Elbow and tee: barbed arms and a tip on a hub ball with a strike pad."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise
from math import acos, atan2, degrees, inf, sqrt

import numpy as np

from barbwright.design.barb import size_arms
from barbwright.design.conditions import Conditions
from barbwright.design.draw import (
    OVERSHOOT_MM,
    assembled,
    face_mark,
    measure_barb,
    measure_tip,
    pad_chamfers,
    pad_hexagon,
    pad_section,
    pad_stem_of,
    side_ports,
    ticks,
)
from barbwright.design.half_section import (
    HALF,
    Seen,
    barb_detail,
    barb_sizes,
    body_of,
    lead_corner,
    left_out,
    mark_paths,
    port_axis,
    port_edges,
    port_hidden,
    port_sizes,
    step_notes,
    taper_radius,
    tick_edges,
    tip_ends,
    tip_lengths,
    tip_notes,
)
from barbwright.design.hub import Hub, blend_end, size_hub
from barbwright.design.kind import Design, Kind
from barbwright.design.mark import LETTER_GAP_MM, fit_mark
from barbwright.design.outline import (
    ball_to_neck,
    barb_run,
    half_ball,
    hexagon,
    outline,
    rectangle,
    tip_run,
)
from barbwright.design.paths import (
    DOWN,
    LEFT,
    RIGHT,
    UP,
    arc_to,
    backwards,
    closed,
    joined,
    placed,
    sharp,
)
from barbwright.design.shape import (
    MINUS_X,
    MINUS_Z,
    ORIGIN,
    X_AXIS,
    Y_AXIS,
    Z_AXIS,
    Extruded,
    Probe,
    Revolved,
    Shape,
    WallProbe,
)
from barbwright.design.tip import Tip, size_tip
from barbwright.design.view import (
    ACROSS_FLATS,
    Across,
    Along,
    Ball,
    Note,
    Path,
    Sign,
    Stack,
    Tier,
    View,
)
from barbwright.equations import Number, square


@dataclass(frozen=True, eq=False, kw_only=True)
class HubPart(Design[float]):
    """A single elbow or tee."""

    tip: Tip[float]
    hub: Hub[float]


def size_hub_part(
    kind: Kind, conditions: Conditions, forced: Mapping[str, Number], words: tuple[str, ...]
) -> Design:
    """Return an elbow's or a tee's drawn sizes [mm].

    Source: judgement
    """
    rules = conditions.rules
    bore, barbs = size_arms(conditions, forced)
    tip = size_tip(conditions, forced)
    mark = fit_mark(
        words,
        conditions,
        largest_mm=rules["pad_largest_mm"],
        edge_mm=rules["pad_chamfer_mm"] + LETTER_GAP_MM,
        six_sided=True,
    )
    hub = size_hub(
        conditions,
        # Whichever bore is the wider must end in the ball.
        bore_mm=np.maximum(bore, tip.bore_mm),
        neck_mm=np.maximum(barbs[0].neck_mm, barbs[-1].neck_mm),
        tube_on_crest_mm=np.maximum(barbs[0].tube_on_crest_mm, barbs[-1].tube_on_crest_mm),
        # The thickest grade of a set needs its room on the ball as well.
        tip_root_mm=tip.root_mm + np.maximum(conditions.grade_shift_mm, 0.0),
        mark_pad_mm=mark.span_mm,
        given=forced,
    )
    return Design(
        kind=kind,
        conditions=conditions,
        forced=forced,
        bore_mm=bore,
        barbs=barbs,
        tip=tip,
        hub=hub,
        neck_length_mm=rules["neck_length_mm"],
        mark=mark,
    )


def draw_hub(design: HubPart, name: str) -> Shape:
    """Return an elbow or a tee: ball, tip below, pad above, arms to the sides."""
    hub, tip, barb = design.hub, design.tip, design.barbs[0]
    ball, blend = hub.ball_mm, hub.blend_mm
    bore = design.bore_mm
    start, end = design.arm_start_mm, design.arm_length_mm
    neck = barb.neck_mm
    arm = outline(
        [
            *ball_to_neck(ball, neck, blend),
            *barb_run(barb, start, neck, design.conditions.rules["back_face_radius_mm"]),
        ]
    )
    seat_root = design.seat_root_mm
    seat_end = seat_root + tip.seat_mm
    tip_arm = outline([*ball_to_neck(ball, tip.root_mm, blend), *tip_run(tip, seat_root)])
    face = hub.pad_height_mm
    directions = [X_AXIS, MINUS_X][: design.kind.arms]
    adds: list[Revolved | Extruded] = [
        # Its poles lie inside the tip and the pad's stem, where no sliver can be left of them.
        Revolved(name="hub ball", outline=half_ball(ball), axis=Z_AXIS),
        Revolved(name="tip", outline=tip_arm, axis=MINUS_Z),
        Revolved(name="pad stem", outline=pad_stem_of(hub), axis=Z_AXIS),
        pad_hexagon(hub),
    ]
    adds += [
        Revolved(name=f"arm {index + 1}", outline=arm, axis=axis, towards=Y_AXIS)
        for index, axis in enumerate(directions)
    ]
    low = -end - OVERSHOOT_MM if design.kind.arms == 2 else 0.0
    cuts: list[Revolved | Extruded] = [
        Revolved(name="relief ball", outline=half_ball(hub.relief_mm), axis=X_AXIS, towards=Y_AXIS),
        Revolved(
            name="run bore",
            outline=rectangle(low, end + OVERSHOOT_MM, 0.0, bore),
            axis=X_AXIS,
            towards=Y_AXIS,
        ),
        Revolved(
            name="tip bore",
            outline=rectangle(0.0, seat_end + OVERSHOOT_MM, 0.0, tip.bore_mm),
            axis=MINUS_Z,
        ),
        *ticks(tip, seat_root, MINUS_Z, design),
        *side_ports(design, seat_end),
        *pad_chamfers(hub),
    ]
    probes: list[Probe] = []
    walls: list[WallProbe] = []
    for index, axis in enumerate(directions):
        arm_probes, arm_walls = measure_barb(
            barb, f"arm{index + 1}", ORIGIN, axis, end, bore, neck, start
        )
        probes += arm_probes
        walls += arm_walls
    tip_probes, tip_walls = measure_tip(tip, ORIGIN, MINUS_Z, seat_root)
    probes += tip_probes
    walls += tip_walls
    probes.append(
        # Across the ball, where neither arm, tip nor pad stands.
        Probe(
            name="hub_ball_diameter_mm",
            origin=ORIGIN,
            axis=Z_AXIS,
            at_mm=0.0,
            diameter_mm=ball,
            side="outer",
            reach_mm=ball / 2.0 + 2.0,
            towards=Y_AXIS,
            fan_deg=20.0,
        )
    )
    probes.append(
        Probe(
            name="relief_ball_diameter_mm",
            origin=ORIGIN,
            axis=Z_AXIS,
            at_mm=0.0,
            diameter_mm=hub.relief_mm,
            side="inner",
            towards=Y_AXIS,
            fan_deg=20.0,
        )
    )
    # Over the flats that face the arms: a fan so narrow that a flat is as good as round.
    probes.append(
        Probe(
            name="strike_pad_flats_mm",
            origin=ORIGIN,
            axis=Z_AXIS,
            at_mm=face - (hub.pad_thickness_mm + hub.chamfer_mm) / 2.0,
            diameter_mm=hub.pad_mm,
            side="outer",
            fan_deg=2.0,
        )
    )
    walls.append(
        WallProbe(
            name="hub_wall_mm",
            origin=ORIGIN,
            axis=Z_AXIS,
            at_mm=0.0,
            wall_mm=(ball - hub.relief_mm) / 2.0,
            towards=Y_AXIS,
            fan_deg=20.0,
        )
    )
    # From corner to corner, where a line has most room.
    engravings = face_mark(design, (0.0, 0.0, face), Z_AXIS, Y_AXIS)
    return assembled(name, adds, cuts, engravings, probes, walls, design)


def views_of_hub(part: HubPart) -> tuple[View, ...]:
    """Return the main view, tip to the right and first arm up, the pad's face, and one barb."""
    seen = _seen(part)
    both = "; both arms alike" if part.kind.arms == 2 else ""
    hub, tip, barb = part.hub, part.tip, part.barbs[0]
    seat_root = part.seat_root_mm
    ring, detail = barb_detail(part, barb, part.arm_start_mm, 1, "Z", upright=True)
    face = Sign(letter="A", at=(-hub.pad_height_mm, 0.0), towards_deg=180.0)
    return (
        seen.on(
            View(
                title=f"{HALF}{both}",
                plane=("-z", "x"),
                left_out=left_out(part),
                stacks=(*_beside_the_arm(part), *_below(part), *_ports(part)),
                balls=_balls(part),
                notes=tip_notes(part, tip, seat_root),
                signs=(face, ring),
            )
        ),
        _pad_face(part),
        replace(detail, notes=(*detail.notes, *_step_below(part, detail))),
    )


def _balls(part: HubPart) -> tuple[Ball, ...]:
    """Return both balls, told out through the corners beside the pad, where they are drawn."""
    hub = part.hub
    relief = degrees(acos(part.bore_mm / hub.relief_mm)) / 2.0
    at, radius, _ = pad_stem_of(hub)[2]
    stem = degrees(atan2(radius, at))
    at, radius, _ = ball_to_neck(hub.ball_mm, part.barbs[0].neck_mm, hub.blend_mm)[2]
    arm = 90.0 - degrees(atan2(radius, at))
    return (
        Ball(name="relief_ball_diameter_mm", size_mm=hub.relief_mm,
             towards_deg=180.0 - relief, swing_deg=0.9 * relief),
        Ball(name="hub_ball_diameter_mm", size_mm=hub.ball_mm,
             towards_deg=180.0 + (stem + arm) / 2.0, swing_deg=0.45 * max(arm - stem, 0.0)),
    )  # fmt: skip


def _step_below(part: HubPart, detail: View) -> tuple[Note, ...]:
    """Return what is asked of the step, over the detail that shows it."""
    top = max(float(path[:, 1].max()) for path in detail.visible)
    right = max(float(path[:, 0].max()) for path in detail.visible)
    # Its lengths stand to the right of it: the words may reach over them.
    return step_notes(part, (right + 28.0 / detail.scale, top))


def _pad_face(part: HubPart) -> View:
    """Return the pad as the hammer sees it, its flats across the arms, with its mark."""
    hub = part.hub
    half, corner = hub.pad_mm / 2.0, hub.pad_mm / sqrt(3.0)
    sides = hexagon(hub.pad_mm)
    # Arms run up here as in the main view, so x stands up and y to the left.
    turned = np.column_stack([-sides[:, 1], sides[:, 0], sides[:, 2]])
    inner = turned * np.array([1.0, 1.0, 0.0]) * (1.0 - hub.chamfer_mm / half)
    across = Along(
        name="strike_pad_flats_mm", start=(0.0, -half), end=(0.0, half), sign=ACROSS_FLATS
    )
    return View(
        title="the pad, a hexagon",
        letter="A",
        plane=("-y", "x"),
        visible=(closed(turned), closed(inner)),
        axes=((-corner, 0.0, corner, 0.0), (0.0, -half, 0.0, half)),
        mark=mark_paths(part, (0.0, 0.0), (-1.0, 0.0)),
        stacks=(Stack(axis="v", side=-1, clear_mm=corner, tiers=((across,),)),),
    )


def _below(part: HubPart) -> tuple[Stack, ...]:
    """Return what stands under tip, pad and hub."""
    hub, tip = part.hub, part.tip
    seat_root, pad, face = part.seat_root_mm, hub.pad_mm / 2.0, hub.pad_height_mm
    neck_from = blend_end(hub.ball_mm, tip.root_mm, hub.blend_mm)
    end, root = seat_root + tip.seat_mm, tip.root_mm / 2.0
    neck = Across(
        name="tip_root_diameter_mm",
        at_mm=(neck_from + seat_root) / 2.0,
        size_mm=tip.root_mm,
        room_mm=seat_root - neck_from,
        reference=True,
    )
    two_arms = part.kind.arms == 2
    low = part.arm_length_mm if two_arms else max(hub.ball_mm / 2.0, pad)
    centre = -part.arm_length_mm if two_arms else 0.0
    edge = pad - hub.chamfer_mm
    height = Along(
        name="strike_pad_height_mm", start=(-face, -edge), end=(0.0, centre), before=True
    )
    whole = Along(
        name="envelope_z_mm", start=(-face, -edge), end=(end, -tip.lead_mm / 2.0), reference=True
    )
    return (
        Stack(name="lead end", clear_mm=root, tiers=(tip_ends(tip, seat_root),)),
        Stack(
            name="tip",
            clear_mm=root,
            tiers=((neck,), *tip_lengths(part, tip, seat_root, (neck_from, -root))),
            lowest_mm=_arm_half(part) if two_arms else -inf,
            lowest_lines=1.0,
        ),
        _under_the_pad(part),
        Stack(clear_mm=low, after=("lead end", "tip", "pad"), tiers=((height,), (whole,))),
    )


def _under_the_pad(part: HubPart) -> Stack:
    """Return chamfer, thickness and stem of the pad, below it."""
    hub = part.hub
    edge, face = hub.pad_mm / 2.0 - hub.chamfer_mm, hub.pad_height_mm
    chamfer = Along(
        name="strike_pad_chamfer_mm",
        start=(-face, -edge),
        end=(-face + hub.chamfer_mm, -hub.pad_mm / 2.0),
        before=True,
        chamfer=True,
    )
    thick = Along(
        name="strike_pad_thickness_mm",
        start=(-face, -edge),
        end=(-face + hub.pad_thickness_mm, -hub.pad_mm / 2.0),
        before=True,
    )
    stem = _stem(hub)
    tiers: tuple[Tier, ...] = ((chamfer,), (thick,))
    return Stack(name="pad", clear_mm=hub.pad_mm / 2.0, tiers=((stem,), *tiers) if stem else tiers)


def _ports(part: HubPart) -> tuple[Stack, ...]:
    """Return the side ports over the tip, where they are asked for."""
    if not part.forced.get("side_ports"):
        return ()
    sizes = port_sizes(part.tip, part.seat_root_mm)
    return (Stack(side=1, clear_mm=part.tip.root_mm / 2.0, tiers=sizes),)


def _stem(hub: Hub[float]) -> Across | None:
    """Return the diameter of what stands between ball and pad, where it is straight."""
    run = pad_stem_of(hub)
    level = [
        (start, end)
        for start, end in pairwise(run[:-2])
        if start[2] == 0.0 and start[1] == end[1] > 0.0
    ]
    if not level:
        return None
    start, end = level[-1]
    low, high = sorted((max(float(start[0]), 0.0), float(end[0])))
    return Across(
        name="strike_pad_stem_diameter_mm",
        at_mm=-(low + high) / 2.0,
        size_mm=2.0 * float(start[1]),
        room_mm=0.0,
    )


def _arm_half(part: HubPart) -> float:
    barb = part.barbs[0]
    return max(barb.crest_mm, barb.shoulder_mm, barb.neck_mm) / 2.0


def _beside_the_arm(part: HubPart) -> tuple[Stack, ...]:
    """Return the arm's diameters, on its left, and its lengths, on its right."""
    hub, barb, half = part.hub, part.barbs[0], _arm_half(part)
    start, end = part.arm_start_mm, part.arm_length_mm
    sizes = barb_sizes(barb, start, 1, neck_mm=barb.neck_mm, upright=True)
    nose, ball = barb.nose_mm / 2.0, hub.ball_mm / 2.0
    neck_from = blend_end(hub.ball_mm, barb.neck_mm, hub.blend_mm)
    neck = Across(name="neck_diameter_mm", at_mm=(start + neck_from) / 2.0, size_mm=barb.neck_mm)
    bore = Across(name="bore_diameter_mm", at_mm=end, size_mm=part.bore_mm, beyond=2)
    tip_end = part.seat_root_mm + part.tip.seat_mm
    whole = Along(name="arm_length_mm", start=(tip_end * 0.2, 0.0), end=(nose, end))
    right: tuple[tuple[Along, ...], ...] = (sizes.collar, (sizes.insertion,), (whole,))
    return (
        Stack(
            axis="v",
            side=-1,
            clear_mm=half,
            tiers=((neck, *sizes.across, bore),),
            # Over the crown's line, and clear of the ball.
            lowest_mm=max(hub.pad_mm / 2.0, ball),
            lowest_lines=2.0,
        ),
        Stack(axis="v", side=1, clear_mm=half, tiers=tuple(tier for tier in right if tier)),
    )


def _seen(part: HubPart) -> Seen:
    """Return hub, arms, tip and pad, cut open above the tip's axis."""
    hub, tip = part.hub, part.tip
    shape = draw_hub(part, "drawing")
    tip_out = body_of(shape, "tip")[2:-1]
    pad_out = pad_section(hub)[2:]
    arm_out = body_of(shape, "arm 1")[2:-1]
    relief, bore, tip_bore = hub.relief_mm / 2.0, part.bore_mm / 2.0, tip.bore_mm / 2.0
    tip_end, arm_end = float(tip_out[-1, 0]), float(arm_out[-1, 0])
    arm_at, tip_at = sqrt(square(relief) - square(bore)), sqrt(square(relief) - square(tip_bore))
    seen = Seen()

    upper_tip = backwards(placed(tip_out, RIGHT, UP))
    start = (tip_end, tip_bore, 0.0)
    if part.forced.get("side_ports"):
        start, upper_tip = _cut_by_port(part, upper_tip, seen)
    arm_right, arm_left = placed(arm_out, UP, RIGHT), backwards(placed(arm_out, UP, LEFT))
    arm_in = np.array([(bore, arm_end, 0.0), (bore, arm_at, 0.0)])
    tip_in = np.array([(tip_at, tip_bore, 0.0)])
    first = joined(
        [start],
        arc_to(upper_tip, arm_right, clockwise=False),
        arm_right,
        arc_to(arm_in, tip_in, clockwise=True),
        tip_in,
    )
    pad_up, pad_down = placed(pad_out, LEFT, UP), placed(pad_out, LEFT, DOWN)
    wall_end, bore_left = np.array([(-relief, 0.0, 0.0)]), np.array([(-bore, arm_at, 0.0)])
    second = joined(
        arc_to(wall_end, bore_left, clockwise=True),
        bore_left,
        [(-bore, arm_end, 0.0)],
        arc_to(arm_left, pad_up, clockwise=False),
        pad_up,
    )
    seen.cut(first)
    seen.sections.append(second)
    seen.visible += [
        second,
        joined([(tip_end, 0.0, 0.0)], *_outside(part, tip_out, arm_out, pad_down)),
    ]
    low = -arm_end
    if part.kind.arms == 2:
        seen.edges += [(-r, -at, r, -at) for at, r in sharp(arm_out)]
    else:
        low = -hub.ball_mm / 2.0
    seen.axes += [(0.0, arm_end, 0.0, low), (-hub.pad_height_mm, 0.0, tip_end, 0.0)]
    seen.edges += [(at, 0.0, at, -r) for at, r in sharp(tip_out)]
    seen.edges += [(-at, 0.0, -at, -r) for at, r in sharp(pad_out)]
    # Bore edges that are seen behind the cut.
    seen.edges += [
        (tip_end, 0.0, tip_end, tip_bore), (-bore, arm_end, bore, arm_end),
        (tip_at, 0.0, tip_at, tip_bore), (-bore, arm_at, bore, arm_at),
    ]  # fmt: skip
    seen.edges += tick_edges(part, tip, part.seat_root_mm)
    seen.edges += lead_corner(tip, part.seat_root_mm)
    return seen


def _outside(part: HubPart, tip_out: Path, arm_out: Path, pad_down: Path) -> list[Path]:
    """Return what is seen below the axis, from the lead end round to the pad's middle."""
    lower_tip = backwards(placed(tip_out, RIGHT, DOWN))
    if part.kind.arms == 1:
        return [arc_to(lower_tip, pad_down, clockwise=True), pad_down]
    right, left = placed(arm_out, DOWN, RIGHT), backwards(placed(arm_out, DOWN, LEFT))
    return [
        arc_to(lower_tip, right, clockwise=True),
        right,
        arc_to(left, pad_down, clockwise=True),
        pad_down,
    ]


def _cut_by_port(
    part: HubPart, upper_tip: Path, seen: Seen
) -> tuple[tuple[float, float, float], Path]:
    """Cut the tip's wall through its side port, and return where the wall behind it goes on."""
    tip, root_at, bore = part.tip, part.seat_root_mm, part.tip.bore_mm / 2.0
    near, far = port_edges(tip, root_at)
    near_r, far_r = (taper_radius(tip, at - root_at) for at in (near, far))
    end = root_at + tip.seat_mm
    seen.cut(joined([(far, bore, 0.0), (end, bore, 0.0)], upper_tip[:2], [(far, far_r, 0.0)]))
    seen.hidden += port_hidden(tip, root_at)
    seen.axes.append(port_axis(tip, root_at))
    seat = int(np.argmin(np.abs(upper_tip[:, 0] - root_at)))
    return (near, bore, 0.0), joined([(near, near_r, 0.0)], upper_tip[seat:])


ELBOW = Kind(
    name="elbow",
    title="chain-end elbow",
    letter="E",
    arms=1,
    tip=True,
    hub=True,
    mark="pad",
    openings=2,
    size=size_hub_part,
    draw=draw_hub,
    views=views_of_hub,
    single=HubPart,
)
TEE = replace(ELBOW, name="tee", title="chain tee", letter="T", arms=2, openings=3)
