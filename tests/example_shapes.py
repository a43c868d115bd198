"""Hand-made shapes of the four kinds, for tests of solid, export and reread.

They follow the demo kit's sizes but come from no sizing rule: these tests must
not depend on the design code.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np

from barbwright.design.letters import Letters
from barbwright.design.shape import (
    X_AXIS,
    Z_AXIS,
    Engraving,
    Probe,
    Revolved,
    Shape,
    WallProbe,
)
from barbwright.solid.build import Built, build
from barbwright.solid.mesh import TriangleMesh, mesh_solid

DOWN = (0.0, 0.0, -1.0)
LEFT = (-1.0, 0.0, 0.0)

LETTERS = Letters(0.25, 0.15)


@dataclass(frozen=True)
class Sizes:
    """Drawn sizes of one hand-made part [mm]."""

    bore: float = 2.5
    tip_bore: float = 2.0
    root: float = 4.5
    crest: float = 5.1
    nose: float = 4.0
    neck: float = 6.5
    hub: float = 10.5
    lead: float = 5.65
    taper: float = 0.05
    seat: float = 37.0
    blend: float = 0.6
    pad: float = 10.0
    mark: str = "15/64 A"

    @property
    def relief(self) -> float:
        return 1.6 * self.bore

    @property
    def tip_root(self) -> float:
        return self.lead + self.taper * self.seat


def hub_blend(hub: float, neck: float, blend: float) -> tuple[list, float]:
    """Outline from the ball's equator along its own arc and the blend to a neck."""
    ball, arm = hub / 2, neck / 2
    angle = math.asin((arm + blend) / (ball + blend))
    tangent = (ball * math.cos(angle), ball * math.sin(angle))
    end = ((ball + blend) * math.cos(angle), arm)
    points = [
        (0.0, 0.0, 0.0),
        (0.0, ball, -math.tan((math.pi / 2 - angle) / 4)),
        (*tangent, math.tan((math.pi / 2 - angle) / 4)),
        (*end, 0.0),
    ]
    return points, end[0]


def barbs(start: float, sizes: Sizes) -> tuple[list, list[float], float]:
    """Outline of three barbs from a shoulder outward; crests' middles; end."""
    root, crest, nose = sizes.root / 2, sizes.crest / 2, sizes.nose / 2
    slope = math.tan(math.radians(13.5))
    fillet, land, pitch = 0.2, 0.8, 3.4
    points, crests = [], []
    for number in range(3):
        back = start + 1.5 + number * pitch
        foot = nose if number == 2 else root
        points += [
            (back - fillet, root, math.tan(math.pi / 8)),
            (back, root + fillet, 0.0),
            (back, crest, 0.0),
            (back + land, crest, 0.0),
            (back + land + (crest - foot) / slope, foot, 0.0),
        ]
        crests.append(back + land / 2)
    end = points[-1][0]
    return points, crests, end


def cylinder(name, start, end, diameter, axis, towards=X_AXIS) -> Revolved:
    radius = diameter / 2
    outline = [(start, 0, 0), (start, radius, 0), (end, radius, 0), (end, 0, 0)]
    return Revolved(name=name, outline=np.array(outline, float), axis=axis, towards=towards)


def ball(name, diameter, axis=Z_AXIS, towards=X_AXIS) -> Revolved:
    radius = diameter / 2
    outline = [(-radius, 0, -1.0), (radius, 0, 0)]
    return Revolved(name=name, outline=np.array(outline, float), axis=axis, towards=towards)


def arm(name, sizes: Sizes, axis) -> tuple[Revolved, list[Probe], list[WallProbe], float]:
    points, neck_start = hub_blend(sizes.hub, sizes.neck, sizes.blend)
    shoulder = neck_start + 1.5
    points += [(shoulder, sizes.neck / 2, 0.0), (shoulder, sizes.root / 2, 0.0)]
    more, crests, end = barbs(shoulder, sizes)
    points += [*more, (end, 0.0, 0.0)]
    origin = (0.0, 0.0, 0.0)
    probes = [
        Probe(
            name=f"{name}_crest_diameter_mm",
            origin=origin,
            axis=axis,
            at_mm=crests[1],
            diameter_mm=sizes.crest,
            side="outer",
            reach_mm=8,
            towards=Z_AXIS,
        ),
        Probe(
            name=f"{name}_root_diameter_mm",
            origin=origin,
            axis=axis,
            at_mm=shoulder + 0.6,
            diameter_mm=sizes.root,
            side="outer",
            reach_mm=8,
            towards=Z_AXIS,
        ),
        Probe(
            name=f"{name}_bore_diameter_mm",
            origin=origin,
            axis=axis,
            at_mm=crests[1],
            diameter_mm=sizes.bore,
            side="inner",
            reach_mm=8,
            towards=Z_AXIS,
        ),
    ]
    wall = (sizes.root - sizes.bore) / 2
    walls = [
        WallProbe(
            name=f"{name}_wall_mm",
            origin=origin,
            axis=axis,
            at_mm=shoulder + 0.6,
            wall_mm=wall,
            slope=0.0,
            towards=Z_AXIS,
        )
    ]
    return (
        Revolved(name=name, outline=np.array(points), axis=axis, towards=Z_AXIS),
        probes,
        walls,
        end,
    )


def tip(
    sizes: Sizes, start_points, neck_start
) -> tuple[Revolved, list, list, float, list[Revolved]]:
    seat_end = neck_start + 3.0
    lead_end = seat_end + sizes.seat
    edge = 0.5
    lead = sizes.lead / 2
    points = [
        *start_points,
        (seat_end, sizes.tip_root / 2, 0.0),
        (lead_end - edge, lead + sizes.taper / 2 * edge, -math.tan(math.pi / 8)),
        (lead_end, lead + sizes.taper / 2 * edge - edge, 0.0),
        (lead_end, 0.0, 0.0),
    ]
    origin = (0.0, 0.0, 0.0)
    slope = sizes.taper / 2

    def diameter_at(position: float) -> float:
        return sizes.lead + sizes.taper * (lead_end - position)

    at = (seat_end + lead_end) / 2 + 0.7
    radial = (diameter_at(at) - sizes.tip_bore) / 2
    wall = radial * math.cos(math.atan(slope))
    near_lead = lead_end - 1.0
    probes = [
        Probe(
            name="tip_middle_diameter_mm",
            origin=origin,
            axis=DOWN,
            at_mm=at,
            diameter_mm=diameter_at(at),
            side="outer",
            reach_mm=8,
            towards=(0, 1, 0),
            fan_deg=120,
        ),
        Probe(
            name="lead_diameter_mm",
            origin=origin,
            axis=DOWN,
            at_mm=near_lead,
            diameter_mm=diameter_at(near_lead),
            side="outer",
            reach_mm=8,
        ),
        Probe(
            name="tip_bore_diameter_mm",
            origin=origin,
            axis=DOWN,
            at_mm=at,
            diameter_mm=sizes.tip_bore,
            side="inner",
            reach_mm=8,
        ),
    ]
    walls = [
        WallProbe(
            name="tip_wall_mm",
            origin=origin,
            axis=DOWN,
            at_mm=at,
            wall_mm=wall,
            slope=slope,
            towards=(0, 1, 0),
            fan_deg=120,
        )
    ]
    ticks = []
    for number in range(3):
        position = seat_end + 2.0 * number + 1.0
        surface = diameter_at(position) / 2
        for side in (X_AXIS, LEFT):
            low, high = position - 0.25, position + 0.25
            outline = [
                (low, surface - 0.5, 0),
                (high, surface - 0.5, 0),
                (high, surface + 1, 0),
                (low, surface + 1, 0),
            ]
            ticks.append(
                Revolved(
                    name=f"tick {number}",
                    outline=np.array(outline, float),
                    axis=DOWN,
                    towards=side,
                    sweep_deg=math.degrees(2.0 / surface),
                )
            )
    body = Revolved(name="tip", outline=np.array(points), axis=DOWN, towards=X_AXIS)
    return body, probes, walls, lead_end, ticks


def strike_pad(sizes: Sizes) -> tuple[Revolved, list[Engraving]]:
    """Stem and crowned head on +Z, and the mark on its face."""
    stem = min(sizes.tip_root, sizes.pad) / 2
    base = math.sqrt((sizes.hub / 2) ** 2 - stem**2) - 0.5
    rim = sizes.hub / 2 + 1.2
    crown = 0.4
    half = sizes.pad / 2
    outline = [
        (0.0, 0.0, 0.0),
        (0.0, stem, 0.0),
        (base + 0.2, stem, 0.0),
        (rim - 0.8, half, 0.0),
        (rim, half, -math.tan(math.atan2(crown, half) / 2)),
        (rim + crown, 0.0, 0.0),
    ]
    pad = Revolved(name="strike pad", outline=np.array(outline), axis=Z_AXIS, towards=X_AXIS)
    marks = []
    if sizes.mark:
        floor = (0.0, 0.0, rim + crown - 0.5)
        marks = [
            Engraving(
                text=sizes.mark,
                letters=LETTERS,
                origin=floor,
                normal=Z_AXIS,
                x_direction=X_AXIS,
                depth_mm=2.0,
            )
        ]
    return pad, marks


def elbow(sizes: Sizes | None = None, *, tee: bool = False) -> Shape:
    """An elbow (or a tee): tip down, arm to +X (and -X), ball hub, pad up."""
    sizes = sizes or Sizes()
    start, neck_start = hub_blend(sizes.hub, sizes.tip_root, sizes.blend)
    tip_body, probes, walls, lead_end, ticks = tip(sizes, start, neck_start)
    pad, marks = strike_pad(sizes)
    adds = [ball("hub", sizes.hub), tip_body, pad]
    cuts = [ball("relief ball", sizes.relief, X_AXIS, Z_AXIS), *ticks]
    cuts.append(cylinder("tip bore", 0.0, lead_end + 1, sizes.tip_bore, DOWN))
    for name, axis in (("right", X_AXIS), ("left", LEFT))[: 2 if tee else 1]:
        body, arm_probes, arm_walls, end = arm(name, sizes, axis)
        adds.append(body)
        cuts.append(cylinder(f"{name} bore", 0.0, end + 1, sizes.bore, axis, Z_AXIS))
        probes += arm_probes
        walls += arm_walls
    hub_wall = (sizes.hub - sizes.relief) / 2
    walls.append(
        WallProbe(
            name="hub_wall_mm",
            origin=(0, 0, 0),
            axis=Z_AXIS,
            at_mm=0.0,
            wall_mm=hub_wall,
            slope=0.0,
            towards=(0, 1, 0),
            fan_deg=40,
        )
    )
    volume = sum(revolved_volume(add) for add in adds)
    return Shape(
        name="tee" if tee else "elbow",
        adds=tuple(adds),
        cuts=tuple(cuts),
        engravings=tuple(marks),
        probes=tuple(probes),
        walls=tuple(walls),
        openings=3 if tee else 2,
        volume_bounds_mm3=(0.3 * volume, volume),
    )


def tee(sizes: Sizes | None = None) -> Shape:
    return elbow(sizes, tee=True)


def barb(sizes: Sizes | None = None) -> Shape:
    """A straight connector: two barbed ends, no hub, no tip."""
    sizes = sizes or Sizes()
    half = 1.5
    points = [(0.0, 0.0, 0.0), (0.0, sizes.neck / 2, 0.0), (half, sizes.neck / 2, 0.0)]
    more, crests, end = barbs(half, sizes)
    points += [(half, sizes.root / 2, 0.0), *more, (end, 0.0, 0.0)]
    outline = np.array(points)
    adds, probes, walls = [], [], []
    wall = (sizes.root - sizes.bore) / 2
    for name, axis in (("right", X_AXIS), ("left", LEFT)):
        adds.append(Revolved(name=name, outline=outline, axis=axis, towards=Z_AXIS))
        probes.append(
            Probe(
                name=f"{name}_crest_diameter_mm",
                origin=(0, 0, 0),
                axis=axis,
                at_mm=crests[0],
                diameter_mm=sizes.crest,
                side="outer",
            )
        )
        walls.append(
            WallProbe(
                name=f"{name}_wall_mm", origin=(0, 0, 0), axis=axis, at_mm=half + 0.6, wall_mm=wall
            )
        )
    probes = [
        Probe(
            name=p.name,
            origin=p.origin,
            axis=p.axis,
            at_mm=p.at_mm,
            diameter_mm=p.diameter_mm,
            side=p.side,
            reach_mm=8,
            towards=Z_AXIS,
        )
        for p in probes
    ]
    walls = [
        WallProbe(
            name=w.name,
            origin=w.origin,
            axis=w.axis,
            at_mm=w.at_mm,
            wall_mm=w.wall_mm,
            slope=0,
            towards=Z_AXIS,
        )
        for w in walls
    ]
    probes.append(
        Probe(
            name="bore_diameter_mm",
            origin=(0, 0, 0),
            axis=X_AXIS,
            at_mm=0.3,
            diameter_mm=sizes.bore,
            side="inner",
            reach_mm=8,
            towards=Z_AXIS,
        )
    )
    volume = 2 * revolved_volume(adds[0])
    return Shape(
        name="barb",
        adds=tuple(adds),
        cuts=(cylinder("bore", -end - 1, end + 1, sizes.bore, X_AXIS, Z_AXIS),),
        engravings=(),
        probes=tuple(probes),
        walls=tuple(walls),
        openings=2,
        volume_bounds_mm3=(0.4 * volume, volume),
    )


def inline_tip(sizes: Sizes | None = None) -> Shape:
    """An in-line tip: barb up, shoulder ring, tip down, bore stepped by a cone."""
    sizes = sizes or Sizes()
    ring = sizes.tip_root / 2 + 2
    start = [(0.0, 0.0, 0.0), (0.0, ring, 0.0), (3.0, ring, 0.0), (3.0, sizes.tip_root / 2, 0.0)]
    tip_body, probes, walls, lead_end, ticks = tip(sizes, start, 3.0)
    more, crests, end = barbs(0.0, sizes)
    points = [(-1.0, 0.0, 0.0), (-1.0, sizes.root / 2, 0.0), *more, (end, 0.0, 0.0)]
    upper = Revolved(name="barb", outline=np.array(points), axis=Z_AXIS, towards=X_AXIS)
    step = (sizes.bore - sizes.tip_bore) / 2
    bore = [
        (-lead_end - 1, 0, 0),
        (-lead_end - 1, sizes.tip_bore / 2, 0),
        (-1.5, sizes.tip_bore / 2, 0),
        (-1.5 + step, sizes.bore / 2, 0),
        (end + 1, sizes.bore / 2, 0),
        (end + 1, 0, 0),
    ]
    probes.append(
        Probe(
            name="crest_diameter_mm",
            origin=(0, 0, 0),
            axis=Z_AXIS,
            at_mm=crests[1],
            diameter_mm=sizes.crest,
            side="outer",
            reach_mm=8,
        )
    )
    volume = revolved_volume(tip_body) + revolved_volume(upper)
    # The floor under a flank is narrow: a long mark is small.
    small = min(1.0, 4.0 / max(len(sizes.mark), 1))
    mark = Engraving(
        text=sizes.mark,
        letters=Letters(0.25 * small, 0.15 * small),
        origin=(0, ring - 0.4, -1.5),
        normal=(0, 1, 0),
        x_direction=(-1, 0, 0),
        depth_mm=2.0,
    )
    return Shape(
        name="tip",
        adds=(tip_body, upper),
        cuts=(Revolved(name="bore", outline=np.array(bore, float)), *ticks),
        engravings=(mark,) if sizes.mark else (),
        probes=tuple(probes),
        walls=tuple(walls),
        openings=2,
        volume_bounds_mm3=(0.4 * volume, volume),
    )


def revolved_volume(body: Revolved) -> float:
    """Volume of the polygon through the outline's vertices, arcs 12 % more [mm3]."""
    position, radius = body.outline[:, 0], body.outline[:, 1]
    nxt, r2 = np.roll(position, -1), np.roll(radius, -1)
    cones = math.pi / 3 * (nxt - position) * (radius**2 + radius * r2 + r2**2)
    bulging = 1.5 if np.any(body.outline[:, 2]) else 1.0
    if len(position) == 2:
        return 4 / 3 * math.pi * (abs(position[1] - position[0]) / 2) ** 3
    return abs(float(cones.sum())) * bulging * body.sweep_deg / 360


ALL = {"elbow": elbow, "tee": tee, "barb": barb, "tip": inline_tip}


@cache
def built(kind: str) -> tuple[Built, TriangleMesh]:
    """The solid and the mesh of a kind at demo sizes, built once per test run."""
    solid = build(ALL[kind]())
    return solid, mesh_solid(kind, solid.marked)
