"""Elbow and tee: barbed arms and a tip on a hub ball with a strike pad."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from barbwright.design.barb import size_arms
from barbwright.design.conditions import Conditions
from barbwright.design.draw import (
    MINUS_X,
    MINUS_Z,
    ORIGIN,
    OVERSHOOT_MM,
    assembled,
    measure_barb,
    measure_tip,
    pad_mark,
    pad_outline,
    side_ports,
    ticks,
)
from barbwright.design.hub import Hub, size_hub
from barbwright.design.kind import Design, Kind
from barbwright.design.mark import Mark, fit_mark
from barbwright.design.outline import (
    ball_to_neck,
    barb_run,
    half_ball,
    outline,
    rectangle,
    tip_run,
)
from barbwright.design.shape import (
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
from barbwright.equations import Number


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
    rules, material = conditions.rules, conditions.material
    bore, barbs = size_arms(conditions, forced)
    tip = size_tip(conditions, forced)
    mark = Mark.none(words)
    if words:
        mark = fit_mark(
            words,
            min_text_line_mm=float(np.max(np.asarray(material.min_text_line_mm))),
            largest_mm=rules["pad_largest_mm"],
            depth_mm=rules["mark_depth_mm"],
            gap_mm=rules["mark_gap_mm"],
        )
    hub = size_hub(
        conditions,
        bore_mm=bore,
        neck_mm=np.maximum(barbs[0].neck_mm, barbs[-1].neck_mm),
        tube_on_crest_mm=np.maximum(barbs[0].tube_on_crest_mm, barbs[-1].tube_on_crest_mm),
        tip_root_mm=tip.root_mm,
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
    face, crown = hub.pad_height_mm, hub.crown_mm
    pad = pad_outline(hub)
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
    low = -end - OVERSHOOT_MM if design.kind.arms == 2 else 0.0
    cuts: list[Revolved | Extruded] = [
        Revolved("relief ball", half_ball(hub.relief_mm), axis=X_AXIS, towards=Y_AXIS),
        Revolved(
            "run bore",
            rectangle(low, end + OVERSHOOT_MM, 0.0, bore),
            axis=X_AXIS,
            towards=Y_AXIS,
        ),
        Revolved(
            "tip bore",
            rectangle(0.0, seat_end + OVERSHOOT_MM, 0.0, tip.bore_mm),
            axis=MINUS_Z,
        ),
        *ticks(tip, seat_root, MINUS_Z, design),
        *side_ports(design, seat_end),
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
            hub.relief_mm,
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
            face - crown - (hub.pad_thickness_mm - crown) / 2.0,
            hub.pad_mm,
            "outer",
        )
    )
    walls.append(
        WallProbe(
            "hub_wall_mm",
            ORIGIN,
            Z_AXIS,
            0.0,
            (ball - hub.relief_mm) / 2.0,
            towards=Y_AXIS,
            fan_deg=20.0,
        )
    )
    engravings = pad_mark(design, face, crown, hub.pad_mm)
    return assembled(name, adds, cuts, engravings, probes, walls, design)


ELBOW = Kind(
    name="elbow",
    title="chain-end elbow",
    arms=1,
    tip=True,
    hub=True,
    mark="pad",
    openings=2,
    size=size_hub_part,
    draw=draw_hub,
    single=HubPart,
)
TEE = replace(ELBOW, name="tee", title="chain tee", arms=2, openings=3)
