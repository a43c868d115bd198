"""In-line tip: one barb and one tip on a shoulder ring, where its driver bears."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from barbwright.design.barb import size_arms
from barbwright.design.conditions import Conditions
from barbwright.design.draw import (
    OVERSHOOT_MM,
    assembled,
    measure_barb,
    measure_tip,
    rim_letters,
    side_ports,
    ticks,
)
from barbwright.design.half_section import (
    HALF,
    BarbSizes,
    barb_detail,
    barb_sizes,
    cut_by_port,
    half_section,
    lead_corner,
    left_out,
    port_axis,
    port_hidden,
    port_sizes,
    step_notes,
    tick_edges,
    tip_ends,
    tip_lengths,
    tip_notes,
)
from barbwright.design.kind import Design, Kind, Ring
from barbwright.design.mark import rim_mark
from barbwright.design.outline import QUARTER, Vertex, barb_run, mirrored, outline, tip_run
from barbwright.design.paths import LEFT, backwards, joined
from barbwright.design.rounding import GRID_MM, round_up
from barbwright.design.shape import (
    MINUS_Z,
    ORIGIN,
    Z_AXIS,
    Extruded,
    Probe,
    Revolved,
    Shape,
)
from barbwright.design.tip import Tip, size_tip
from barbwright.design.view import Across, Along, Note, Path, Stack, Tier, View, two
from barbwright.equations import Number


@dataclass(frozen=True, eq=False, kw_only=True)
class InlinePart(Design[float]):
    """A single in-line tip."""

    tip: Tip[float]
    ring: Ring[float]


# Radius on the ring's four edges [mm].
RING_EDGE_MM = 0.3


def size_inline(
    kind: Kind, conditions: Conditions, forced: Mapping[str, Number], words: tuple[str, ...]
) -> Design:
    """Return an in-line tip's drawn sizes [mm].

    Source: judgement
    """
    rules, material = conditions.rules, conditions.material
    bore, barbs = size_arms(conditions, forced)
    tip = size_tip(conditions, forced)
    crest = barbs[0].crest_mm
    # The driver's sleeve passes over the barb, and still has a face of the ring to bear on.
    driver = round_up(crest + 2.0 * material.tolerance_at(crest) + material.min_gap_mm, GRID_MM)
    ring = Ring(
        ring_mm=round_up(tip.root_mm + rules["shoulder_ring_over_root_mm"], 0.1),
        thickness_mm=rules["shoulder_ring_thickness_mm"],
        driver_bore_mm=driver,
    )
    mark = rim_mark(words, conditions, ring_mm=ring.ring_mm, height_mm=ring.thickness_mm)
    return Design(
        kind=kind,
        conditions=conditions,
        forced=forced,
        bore_mm=bore,
        barbs=barbs,
        tip=tip,
        ring=ring,
        neck_length_mm=rules["neck_between_shoulders_mm"],
        mark=mark,
    )


def draw_inline(design: InlinePart, name: str) -> Shape:
    """Return an in-line tip: tip below, ring at the origin, barb above, one outline about Z."""
    tip, ring, barb = design.tip, design.ring, design.barbs[0]
    thick, wide = ring.thickness_mm, ring.ring_mm / 2.0
    neck, root = tip.neck_mm, tip.root_mm / 2.0
    blend, edge = design.conditions.rules["ring_blend_mm"], RING_EDGE_MM
    below: list[Vertex] = [
        (0.0, root + blend, QUARTER),
        (blend, root, 0.0),
        *tip_run(tip, neck),
    ]
    radius = design.conditions.rules["back_face_radius_mm"]
    foot = barb.root_mm / 2.0 + barb.shoulder_radius_mm + 1e-9
    # The ring itself is the stop: its face runs straight down to the root.
    faced = [
        vertex
        for vertex in barb_run(barb, thick, barb.neck_mm, radius)
        if vertex[0] > thick or (vertex[0] == thick and vertex[1] <= foot)
    ]
    body = outline(
        [
            *mirrored(below),
            (0.0, wide - edge, -QUARTER),
            (edge, wide, 0.0),
            (thick - edge, wide, -QUARTER),
            (thick, wide - edge, 0.0),
            *faced,
        ]
    )
    end = thick + barb.insertion_mm
    seat_end = neck + tip.seat_mm
    bore, tip_bore = design.bore_mm, tip.bore_mm
    middle = thick / 2.0
    cone_low, cone_high, _ = _cone(design)
    bores = outline(
        [
            (-seat_end - OVERSHOOT_MM, 0.0, 0.0),
            (-seat_end - OVERSHOOT_MM, tip_bore / 2.0, 0.0),
            (cone_low, tip_bore / 2.0, 0.0),
            (cone_high, bore / 2.0, 0.0),
            (end + OVERSHOOT_MM, bore / 2.0, 0.0),
            (end + OVERSHOOT_MM, 0.0, 0.0),
        ]
    )
    probes, walls = measure_barb(barb, "arm1", ORIGIN, Z_AXIS, end, bore, None, thick)
    tip_probes, tip_walls = measure_tip(tip, ORIGIN, MINUS_Z, neck)
    probes += tip_probes
    walls += tip_walls
    if not design.mark.lines:
        probes.append(
            Probe(
                name="shoulder_ring_diameter_mm",
                origin=ORIGIN,
                axis=Z_AXIS,
                at_mm=middle,
                diameter_mm=2.0 * wide,
                side="outer",
            )
        )
    cuts: list[Revolved | Extruded] = [
        Revolved(name="bore", outline=bores, axis=Z_AXIS),
        *ticks(tip, neck, MINUS_Z, design),
        *side_ports(design, seat_end),
    ]
    return assembled(
        name,
        [Revolved(name="body", outline=body, axis=Z_AXIS)],
        cuts,
        rim_letters(design, wide, middle),
        probes,
        walls,
        design,
    )


def views_of_inline(part: InlinePart) -> tuple[View, ...]:
    """Return the view: the tip to the right, the barb to the left."""
    tip, ring, barb, seat_root = part.tip, part.ring, part.barbs[0], part.tip.neck_mm
    ports = bool(part.forced.get("side_ports"))

    def split(upper: Path, inner: Path) -> list[Path]:
        section = joined(upper, backwards(inner))
        return cut_by_port(tip, seat_root, section) if ports else [section]

    seen = half_section(draw_inline(part, "drawing"), LEFT, split)
    if ports:
        seen.hidden += port_hidden(tip, seat_root)
        seen.axes.append(port_axis(tip, seat_root))
    seen.edges += tick_edges(part, tip, seat_root)
    seen.edges += lead_corner(tip, seat_root)
    sizes = barb_sizes(barb, -ring.thickness_mm, -1)
    sign, detail = barb_detail(part, barb, -ring.thickness_mm, -1, "Z")
    rules = part.conditions.rules
    return (
        seen.on(
            View(
                title=HALF,
                plane=("-z", "x"),
                left_out=f"{left_out(part)}, ring to neck R{two(rules['ring_blend_mm'])}, "
                f"ring's edges R{two(RING_EDGE_MM)}; the mark in the middle of the ring",
                stacks=(*_below(part, sizes), *_above(part, sizes)),
                notes=(
                    *tip_notes(part, tip, seat_root),
                    *step_notes(part, (-ring.thickness_mm, _widest(part))),
                    *_bores_meet(part),
                ),
                signs=(sign,),
            )
        ),
        detail,
    )


def _cone(part: InlinePart) -> tuple[float, float, str]:
    """Return where the bores' cone of 90° begins and ends, from the ring's lower face up [mm].

    And the same in words. One longer than the ring is thick ends at the ring's face on the narrower
    bore's side, whose wall was chosen for the narrower bore, and reaches into the other.
    """
    thick, widens = part.ring.thickness_mm, (part.bore_mm - part.tip.bore_mm) / 2.0
    cone = abs(widens)
    low, where = (thick - cone) / 2.0, "in the middle of the ring"
    if cone > thick:
        low, side = (0.0, "tip") if widens > 0.0 else (thick - cone, "barb")
        where = f"ending at the ring's face on the {side}'s side"
    return low, low + cone, where


def _bores_meet(part: InlinePart) -> tuple[Note, ...]:
    """Return where a wider bore goes over into a narrower one, if they differ."""
    if part.bore_mm == part.tip.bore_mm:
        return ()
    low, high, where = _cone(part)
    middle = (-(low + high) / 2.0, (part.bore_mm + part.tip.bore_mm) / 4.0)
    return (Note(words=f"bores meet in a cone of 90°, {where}", at=middle, towards_deg=60.0),)


def _widest(part: InlinePart) -> float:
    barb = part.barbs[0]
    return max(barb.shoulder_mm, barb.crest_mm, part.ring.ring_mm, part.tip.root_mm) / 2.0


def _below(part: InlinePart, sizes: BarbSizes) -> tuple[Stack, ...]:
    tip, ring, seat_root = part.tip, part.ring, part.tip.neck_mm
    end = -ring.thickness_mm - part.barbs[0].insertion_mm
    across = (
        *sizes.across,
        Across(name="bore_diameter_mm", at_mm=end, size_mm=part.bore_mm, beyond=-2),
        Across(
            name="shoulder_ring_diameter_mm", at_mm=-ring.thickness_mm / 2.0, size_mm=ring.ring_mm
        ),
        *tip_ends(tip, seat_root),
        Across(
            name="tip_root_diameter_mm",
            at_mm=seat_root / 2.0,
            size_mm=tip.root_mm,
            room_mm=seat_root,
            reference=True,
        ),
    )
    whole = Along(
        name="envelope_z_mm",
        start=(end, -part.barbs[0].nose_mm / 2.0),
        end=(seat_root + tip.seat_mm, -tip.lead_mm / 2.0),
        reference=True,
    )
    # The neck begins at the ring's face, where its round meets it.
    foot = (0.0, -tip.root_mm / 2.0 - part.conditions.rules["ring_blend_mm"])
    tiers: tuple[Tier, ...] = (across, *tip_lengths(part, tip, seat_root, foot), (whole,))
    return (Stack(clear_mm=_widest(part), tiers=tiers),)


def _above(part: InlinePart, sizes: BarbSizes) -> tuple[Stack, ...]:
    ring, rim = part.ring, part.ring.ring_mm / 2.0
    thickness = Along(
        name="shoulder_ring_thickness_mm",
        start=(-ring.thickness_mm, rim - RING_EDGE_MM),
        end=(0.0, rim - RING_EDGE_MM),
    )
    tiers = ((sizes.insertion,), (thickness,))
    stacks = [Stack(side=1, clear_mm=_widest(part), tiers=tiers)]
    if part.forced.get("side_ports"):
        ports = port_sizes(part.tip, part.tip.neck_mm)
        stacks.append(Stack(side=1, clear_mm=part.tip.root_mm / 2.0, tiers=ports))
    return tuple(stacks)


TIP = Kind(
    name="tip",
    title="in-line tap-in tip",
    letter="I",
    arms=1,
    tip=True,
    ring=True,
    mark="rim",
    openings=2,
    size=size_inline,
    draw=draw_inline,
    views=views_of_inline,
    single=InlinePart,
)
