"""Cap: one barb on a head that closes a tube's end; a blind bore with a round bottom."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from barbwright.design.barb import size_arms
from barbwright.design.conditions import Conditions
from barbwright.design.draw import (
    OVERSHOOT_MM,
    assembled,
    face_mark,
    measure_barb,
)
from barbwright.design.forced import ForcedSize, by_name
from barbwright.design.half_section import (
    barb_detail,
    barb_sizes,
    half_section,
    left_out,
    mark_paths,
    step_notes,
)
from barbwright.design.kind import ClosedEnd, Design, Impossible, Kind, Own
from barbwright.design.mark import fit_mark
from barbwright.design.outline import QUARTER, Vertex, barb_run, outline
from barbwright.design.paths import circle
from barbwright.design.rounding import round_up
from barbwright.design.shape import (
    MINUS_Z,
    ORIGIN,
    X_AXIS,
    Y_AXIS,
    Z_AXIS,
    Revolved,
    Shape,
    WallProbe,
)
from barbwright.design.sizes import Size
from barbwright.design.view import Across, Along, Sign, Stack, Tier, View, two
from barbwright.equations import N, Number

_EDGE_MM = 0.5
PLANE = ("z", "y")


@dataclass(frozen=True, kw_only=True, eq=False)
class Cap(Own[N]):
    """A cap's own sizes.

    Attributes
    ----------
    head_mm, head_thickness_mm : float or array
        Diameter and thickness of the head the tube stops on [mm].
    end_wall_mm : float or array
        From the bottom of the bore to the floor of the mark [mm].
    length_mm : float or array
        From the end face to the nose [mm].
    least_head_mm : float or array
        The least head that stops the tube [mm].
    """

    head_mm: N
    head_thickness_mm: N
    end_wall_mm: N
    length_mm: N
    least_head_mm: N

    @property
    def envelope_mm(self) -> tuple[N, N, N]:
        """Bounding box of the drawn part [mm]."""
        return self.head_mm, self.head_mm, self.length_mm

    @property
    def exposed_walls_mm(self) -> tuple[Number, ...]:
        """The end wall is wet inside and open to air [mm]."""
        return (self.end_wall_mm,)

    @property
    def closed_end(self) -> ClosedEnd[N]:
        """The end wall under the mark, and the head round it."""
        return ClosedEnd(self.end_wall_mm, self.head_mm)

    @property
    def impossible(self) -> tuple[Impossible, ...]:
        """What of its sizes cannot be built."""
        return (
            Impossible(
                "end_wall",
                np.logical_not(self.end_wall_mm > 0.1),
                "an end wall of {wall:.2f} mm closes nothing",
                {"wall": self.end_wall_mm},
            ),
            Impossible(
                "head",
                np.logical_not(self.head_mm >= self.least_head_mm - 1e-6),
                "a head of {head:.2f} mm gives the tube no stop: at least {least:.2f} mm",
                {"head": self.head_mm, "least": self.least_head_mm},
            ),
        )

    def compensated(self, outside_mm: N, bore_mm: N) -> Cap[N]:
        """Return its sizes drawn off the other way from what a service prints off [mm]."""
        return replace(
            self,
            head_mm=self.head_mm - outside_mm,
            least_head_mm=self.least_head_mm - outside_mm,
            # The round bottom moves with the bore's radius.
            end_wall_mm=self.end_wall_mm + bore_mm / 2.0,
        )

    @property
    def sizes(self) -> tuple[Size, ...]:
        """Its rows of the table of sizes."""
        return (
            Size(name="head_diameter_mm", title="head", reads="head_mm", feature="outside"),
            Size(
                name="head_thickness_mm",
                title="head's thickness",
                reads="head_thickness_mm",
                feature="length",
            ),
            Size(name="end_wall_mm", title="end wall", reads="end_wall_mm", feature="length"),
        )


@dataclass(frozen=True, eq=False, kw_only=True)
class CapPart(Design[float]):
    """A single cap."""

    own: Cap[float]


def size_cap(
    kind: Kind, conditions: Conditions, forced: Mapping[str, Number], words: tuple[str, ...]
) -> Design:
    """Return a cap's drawn sizes [mm].

    Source: judgement
    """
    rules, material = conditions.rules, conditions.material
    bore, barbs = size_arms(conditions, forced)
    barbs = barbs[:1]
    mark = fit_mark(words, conditions, largest_mm=rules["pad_largest_mm"])
    # A bore drawn wider for its service reaches half of that deeper into the end.
    deeper = np.maximum(-conditions.bore_offset_mm / 2.0, 0.0)
    wall = forced.get("end_wall", material.min_wall_exposed_mm + deeper)
    sunk = mark.depth_mm if mark.lines else 0.0
    # The bore's round bottom ends half a bore inside the head, then the wall, then the mark.
    thick = round_up(bore / 2.0 + wall + sunk, 0.1)
    least = np.maximum(barbs[0].neck_mm, barbs[0].shoulder_mm)
    widest = np.maximum(least, np.maximum(mark.span_mm, rules["cap_head_least_mm"]))
    head = forced.get("head", round_up(widest, 0.1))
    own = Cap(
        head_mm=head,
        head_thickness_mm=thick,
        end_wall_mm=thick - bore / 2.0 - sunk,
        length_mm=thick + barbs[0].insertion_mm,
        least_head_mm=least,
    )
    return Design(
        kind=kind,
        conditions=conditions,
        forced=forced,
        bore_mm=bore,
        barbs=barbs,
        neck_length_mm=thick,
        mark=mark,
        own=own,
    )


def draw_cap(design: CapPart, name: str) -> Shape:
    """Return a cap: head about the origin, barb towards +Z, the mark on the face towards -Z."""
    own, barb = design.own, design.barbs[0]
    head, half = own.head_mm, own.head_thickness_mm / 2.0
    bore, end = design.bore_mm, design.arm_length_mm
    face: list[Vertex] = [
        (-half, 0.0, 0.0),
        (-half, head / 2.0 - _EDGE_MM, -QUARTER),
        (-half + _EDGE_MM, head / 2.0, 0.0),
    ]
    radius = design.conditions.rules["back_face_radius_mm"]
    body = outline([*face, *barb_run(barb, half, head, radius)])
    blind = outline(
        [
            (half - bore / 2.0, 0.0, -QUARTER),
            (half, bore / 2.0, 0.0),
            (end + OVERSHOOT_MM, bore / 2.0, 0.0),
            (end + OVERSHOOT_MM, 0.0, 0.0),
        ]
    )
    probes, walls = measure_barb(barb, "arm1", ORIGIN, Z_AXIS, end, bore, head, half)
    probes = [
        replace(probe, name="head_diameter_mm") if "neck" in probe.name else probe
        for probe in probes
    ]
    lines = design.mark.lines
    if len(lines) % 2 == 0:
        # Straight down from the round bottom's centre; a middle line of the mark would be met.
        wall = own.end_wall_mm + (design.mark.depth_mm if lines else 0.0)
        walls.append(
            WallProbe(
                name="end_wall_mm",
                origin=(0.0, 0.0, half),
                axis=Y_AXIS,
                at_mm=0.0,
                wall_mm=wall,
                towards=MINUS_Z,
                fan_deg=0.5,
            )
        )
    return assembled(
        name,
        [Revolved(name="body", outline=body, axis=Z_AXIS)],
        [Revolved(name="bore", outline=blind, axis=Z_AXIS)],
        face_mark(design, (0.0, 0.0, -half), MINUS_Z, X_AXIS),
        probes,
        walls,
        design,
    )


def views_of_cap(part: CapPart) -> tuple[View, ...]:
    """Return the main view, the head to the left and its face at the origin, face, and one barb."""
    own, barb, thick = part.own, part.barbs[0], part.own.head_thickness_mm
    seen = half_section(draw_cap(part, "drawing"), start_mm=-thick / 2.0)
    floor, bore = 0.0, part.bore_mm / 2.0
    if part.mark.lines:
        # How deep the letters go is drawn, because the end wall begins there.
        floor = part.mark.depth_mm
        seen.hidden += [(floor, -bore, floor, bore)]
    sizes = barb_sizes(barb, thick, 1)
    sign, detail = barb_detail(part, barb, thick, 1, "Z", plane=PLANE)
    head, end, bottom = own.head_mm / 2.0, thick + barb.insertion_mm, thick - bore
    widest = max(barb.shoulder_mm / 2.0, barb.crest_mm / 2.0, head)
    across = (
        *sizes.across,
        Across(name="head_diameter_mm", at_mm=thick / 4.0, size_mm=own.head_mm),
        Across(name="bore_diameter_mm", at_mm=end, size_mm=part.bore_mm, beyond=2),
    )
    whole_head = Along(name="head_thickness_mm", start=(0.0, head - _EDGE_MM), end=(thick, head),
                       before=True, reference=True)  # fmt: skip
    wall = Along(name="end_wall_mm", start=(floor, 0.0), end=(bottom, 0.0), before=True)
    nose = barb.nose_mm / 2.0
    whole = Along(
        name="envelope_z_mm", start=(0.0, _EDGE_MM - head), end=(end, -nose), reference=True
    )
    deep = Along(name="mark_depth_mm", start=(0.0, 0.0), end=(floor, bore), before=True)
    sunk: tuple[Tier, ...] = ((deep,),) if part.mark.lines else ()
    return (
        seen.on(
            View(
                title="half section; the bore's bottom is a half ball"
                + ("; dashed: floor of the mark" if part.mark.lines else ""),
                plane=PLANE,
                left_out=f"{left_out(part)}, face's edge R{two(_EDGE_MM)}",
                stacks=(
                    Stack(clear_mm=widest, tiers=(across, (whole,))),
                    Stack(
                        side=1,
                        clear_mm=widest,
                        tiers=(*sunk, (sizes.insertion, wall), (whole_head,)),
                    ),
                ),
                notes=step_notes(part, (end, widest)),
                signs=(Sign(letter="A", at=(0.0, 0.0), towards_deg=180.0), sign),
            )
        ),
        _face(part),
        detail,
    )


def _face(part: CapPart) -> View:
    """Return the end face with its mark."""
    radius = part.own.head_mm / 2.0
    return View(
        title="the face",
        letter="A",
        plane=("x", "y"),
        visible=(circle(radius), circle(radius - _EDGE_MM)),
        axes=((-radius, 0.0, radius, 0.0), (0.0, -radius, 0.0, radius)),
        mark=mark_paths(part, (0.0, 0.0), (1.0, 0.0)),
    )


CAP = Kind(
    name="cap",
    title="cap for a tube's end",
    letter="C",
    arms=1,
    mark="face",
    openings=1,
    size=size_cap,
    draw=draw_cap,
    views=views_of_cap,
    single=CapPart,
    needs=frozenset({"cap"}),
    sizes=by_name((ForcedSize(name="end_wall"), ForcedSize(name="head"))),
)
