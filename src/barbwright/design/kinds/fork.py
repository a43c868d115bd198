"""Fork: a two-tined wedge that lifts a seated tip by its shoulder.

Its tines go on either side of the plain neck that stands between bark and hub or
ring, thin end first. A wedge is pressed through its thickness; a flat lever, no
thicker than that neck is long, would be bent.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import sqrt

import numpy as np

from barbwright.design.conditions import Conditions
from barbwright.design.draw import ORIGIN, OVERSHOOT_MM, assembled, face_mark
from barbwright.design.forced import ForcedSize, by_name
from barbwright.design.kind import Design, Fit, Impossible, Kind, Own, Tines
from barbwright.design.kinds.inline import TIP
from barbwright.design.mark import Mark, fit_mark
from barbwright.design.outline import QUARTER, Vertex, outline
from barbwright.design.paths import closed
from barbwright.design.rounding import round_down, round_up
from barbwright.design.shape import (
    X_AXIS,
    Y_AXIS,
    Z_AXIS,
    Extruded,
    Probe,
    Shape,
    WallProbe,
)
from barbwright.design.sizes import Size
from barbwright.design.view import Along, Angle, Stack, View
from barbwright.equations import N, Number, square

_CORNER_MM = 3.0
_HANDLE_CORNER_MM = 8.0
_ENTRY_MM = 1.5
_OWN_SIZES = by_name(
    (
        ForcedSize(name="slot"),
        ForcedSize(name="tine"),
        ForcedSize(name="tine_end"),
        ForcedSize(name="lift"),
        ForcedSize(name="handle"),
    )
)


@dataclass(frozen=True, kw_only=True, eq=False)
class Fork(Own[N]):
    """A fork's own sizes.

    Attributes
    ----------
    host : Design
        An in-line tip of the same job; its root is that of the elbow and tee too.
    slot_mm, tine_mm : float or array
        Width of the slot and of each tine [mm].
    thin_mm, thick_mm : float or array
        Thickness at the tines' ends and of the handle [mm].
    slope : float
        Rise of the wedge over its length [-].
    tines_mm, wedge_end_mm, handle_mm : float or array
        From the slot's end: to the tines' ends, to where the wedge is full, to
        the handle's end [mm].
    """

    host: Design[N]
    slot_mm: N
    tine_mm: N
    thin_mm: N
    thick_mm: N
    slope: float
    tines_mm: N
    wedge_end_mm: N
    handle_mm: N

    @property
    def width_mm(self) -> N:
        """Width over both tines [mm]."""
        return self.slot_mm + 2.0 * self.tine_mm

    @property
    def envelope_mm(self) -> tuple[N, N, N]:
        """Bounding box of the drawn part [mm]."""
        return self.tines_mm + self.handle_mm, self.width_mm, self.thick_mm

    @property
    def walls_mm(self) -> tuple[Number, ...]:
        """Thickness of the tines' ends, and their width [mm]."""
        return self.thin_mm, self.tine_mm

    @property
    def tines(self) -> Tines[N]:
        """Its two tines, and the slot between them."""
        return Tines(self.slot_mm, self.tine_mm)

    @property
    def fits(self) -> tuple[Fit, ...]:
        """The slot passes the tip's root; the thin ends go under the shoulder."""
        tip = self.host.tip
        assert tip is not None
        return (
            Fit("tip's plain neck", self.slot_mm, tip.root_mm),
            Fit("tines' ends under the shoulder", tip.neck_mm, self.thin_mm),
        )

    @property
    def notes(self) -> tuple[str, ...]:
        """How it is used, in sentences with their numbers."""
        tip = self.host.tip
        assert tip is not None
        lift = float(self.thick_mm - tip.neck_mm)
        return (
            "vent to zero and stand out of the tip's line; push the tines in flat on the bark, on "
            "either side of the tip's plain neck, and tap the handle's end: the wedge lifts the "
            f"tip by {lift:.1f} mm, then it pulls out by hand",
        )

    @property
    def made_for(self) -> Design[N] | None:
        """The part it is made for."""
        return self.host

    @property
    def impossible(self) -> tuple[Impossible, ...]:
        """What of its sizes cannot be built."""
        return (
            Impossible(
                "tine",
                np.logical_not(self.tine_mm >= 1.0),
                "a tine of {tine:.2f} mm is none: at least 1 mm",
                {"tine": self.tine_mm},
            ),
            Impossible(
                "tine_end",
                np.logical_not((self.thin_mm >= 0.2) & (self.thick_mm >= self.thin_mm + 0.5)),
                "a wedge from {thin:.2f} to {thick:.2f} mm lifts nothing, or has no end",
                {"thin": self.thin_mm, "thick": self.thick_mm},
            ),
            Impossible(
                "handle",
                np.logical_not(self.handle_mm >= self.wedge_end_mm + 5.0),
                "a handle of {handle:.1f} mm ends under the shoulder: at least {least:.1f} mm",
                {"handle": self.handle_mm, "least": self.wedge_end_mm + 5.0},
            ),
        )

    def compensated(self, outside_mm: N, bore_mm: N) -> Fork[N]:
        """Return its sizes drawn off the other way from what a service prints off [mm]."""
        return replace(
            self,
            slot_mm=self.slot_mm - bore_mm,
            # Over both tines an outside, between them a bore.
            tine_mm=self.tine_mm + (bore_mm - outside_mm) / 2.0,
            thin_mm=self.thin_mm - outside_mm,
            thick_mm=self.thick_mm - outside_mm,
        )

    @property
    def sizes(self) -> tuple[Size, ...]:
        """Its rows of the table of sizes."""
        return (
            Size(
                name="fork_slot_mm",
                title="fork's slot",
                reads="slot_mm",
                feature="length",
                where="between its faces, inside jaws",
            ),
            Size(name="tine_width_mm", title="width of a tine", reads="tine_mm", feature="length"),
            Size(
                name="tine_end_mm",
                title="tines, thin end",
                reads="thin_mm",
                feature="length",
                where="at the very end",
            ),
            Size(
                name="fork_thickness_mm",
                title="fork's thickness",
                reads="thick_mm",
                feature="length",
            ),
            Size(name="fork_slope", title="slope of the wedge", reads="slope", feature="number"),
            Size(
                name="tine_length_mm",
                title="length of the tines",
                reads="tines_mm",
                feature="length",
            ),
            Size(
                name="handle_length_mm",
                title="length of the handle",
                reads="handle_mm",
                feature="length",
            ),
        )


@dataclass(frozen=True, eq=False, kw_only=True)
class ForkPart(Design[float]):
    """A single fork."""

    own: Fork[float]


def size_fork(
    kind: Kind, conditions: Conditions, forced: Mapping[str, Number], words: tuple[str, ...]
) -> Design:
    """Return a fork's drawn sizes, from those of the tip it frees [mm].

    Source: judgement
    """
    rules, material = conditions.rules, conditions.material
    theirs = {name: size for name, size in forced.items() if name not in _OWN_SIZES}
    host = TIP.size(TIP, conditions, theirs, words)
    tip, ring = host.tip, host.ring
    assert tip is not None
    assert ring is not None
    root, neck = tip.root_mm, tip.neck_mm
    slot = round_up(root + 2.0 * material.tolerance_at(root) + material.min_gap_mm, 0.1)
    slot = forced.get("slot", slot)
    least = material.min_wall_mm + np.maximum(conditions.outside_offset_mm, 0.0)
    # Fat tines must still go under a shoulder whose neck printed short.
    room: Number = neck - 2.0 * material.tolerance_at(neck)
    thin: Number = np.minimum(np.maximum(rules["fork_tine_end_mm"], least), room)
    thin = forced.get("tine_end", round_down(np.maximum(thin, 0.0), 0.1))
    thick = round_up(neck + forced.get("lift", rules["fork_lift_mm"]), 0.1)
    slope = rules["fork_slope"]
    # The shoulder's far edge meets the wedge first, half a ring behind the tip's axis.
    wedge_end = round_up(ring.ring_mm / 2.0, 0.1)
    tines = round_up((thick - thin) / slope - wedge_end, 0.1)
    own = Fork(
        host=host,
        slot_mm=slot,
        tine_mm=forced.get("tine", rules["fork_tine_width_mm"]),
        thin_mm=thin,
        thick_mm=thick,
        slope=slope,
        tines_mm=tines,
        wedge_end_mm=wedge_end,
        handle_mm=forced.get("handle", rules["fork_handle_mm"]),
    )
    mark = Mark.none(words)
    if words and np.ndim(slot) == 0:
        room_mm = min(float(own.handle_mm - wedge_end), float(own.width_mm)) - 2.0
        mark = fit_mark(
            words,
            min_text_line_mm=float(np.max(np.asarray(material.min_text_line_mm))),
            largest_mm=room_mm,
            depth_mm=rules["mark_depth_mm"],
            gap_mm=rules["mark_gap_mm"],
        )
    return Design(
        kind=kind,
        conditions=conditions,
        forced=forced,
        bore_mm=slot,
        neck_length_mm=0.0,
        mark=mark,
        own=own,
    )


def draw_fork(design: ForkPart, name: str) -> Shape:
    """Return a fork: the slot's round end about Z, tines towards -X, flat side down."""
    own = design.own
    slot, half = own.slot_mm / 2.0, own.width_mm / 2.0
    tines, handle = own.tines_mm, own.handle_mm
    thick, thin, slope = own.thick_mm, own.thin_mm, own.slope
    tine = own.tine_mm
    corner, entry = min(_CORNER_MM, tine / 3.0), min(_ENTRY_MM, tine / 3.0)
    back = min(_HANDLE_CORNER_MM, half)
    plan: list[Vertex] = [
        (-tines, -half + corner, QUARTER),
        (-tines + corner, -half, 0.0),
        (handle - back, -half, QUARTER),
        (handle, -half + back, 0.0),
        (handle, half - back, QUARTER),
        (handle - back, half, 0.0),
        (-tines + corner, half, QUARTER),
        (-tines, half - corner, 0.0),
        (-tines, slot + entry, 0.0),
        (-tines + entry, slot, 0.0),
        (0.0, slot, -1.0),
        (0.0, -slot, 0.0),
        (-tines + entry, -slot, 0.0),
        (-tines, -slot - entry, 0.0),
    ]
    full = -tines + (thick - thin) / slope
    above: list[Vertex] = [
        (-tines - OVERSHOOT_MM, thin - slope * OVERSHOOT_MM, 0.0),
        (full + OVERSHOOT_MM, thick + slope * OVERSHOOT_MM, 0.0),
        (-tines - OVERSHOOT_MM, thick + slope * OVERSHOOT_MM, 0.0),
    ]
    wide = half + OVERSHOOT_MM
    probes = [
        # Only the slot's closed end is round: a fan of a third of a turn towards the handle.
        Probe(
            name="fork_slot_mm",
            origin=ORIGIN,
            axis=Z_AXIS,
            at_mm=thick / 4.0,
            diameter_mm=2.0 * slot,
            side="inner",
            reach_mm=50.0,
            towards=X_AXIS,
            fan_deg=120.0,
        )
    ]
    at = -tines / 2.0
    walls = [
        WallProbe(
            name="tine_thickness_mm",
            origin=(at, slot + tine / 2.0, -1.0),
            axis=Y_AXIS,
            at_mm=0.0,
            wall_mm=thin + slope * (at + tines),
            slope=0.0,
            towards=Z_AXIS,
            fan_deg=0.2,
        ),
        WallProbe(
            name="fork_thickness_mm",
            origin=(handle - 2.0, half - back - 1.0, -1.0),
            axis=Y_AXIS,
            at_mm=0.0,
            wall_mm=thick,
            slope=0.0,
            towards=Z_AXIS,
            fan_deg=0.2,
        ),
        WallProbe(
            name="tine_width_mm",
            origin=(at, 0.0, thin / 2.0),
            axis=Z_AXIS,
            at_mm=0.0,
            wall_mm=tine,
            slope=0.0,
            towards=Y_AXIS,
            fan_deg=0.2,
        ),
    ]
    middle = (own.wedge_end_mm + handle) / 2.0
    return assembled(
        name,
        [Extruded(name="plate", outline=outline(plan, turned=False), depth_mm=thick)],
        [
            Extruded(
                name="wedge",
                outline=outline(above, turned=False),
                depth_mm=2.0 * wide,
                origin=(0.0, wide, 0.0),
                normal=(0.0, -1.0, 0.0),
                x_direction=X_AXIS,
            )
        ],
        face_mark(design, (middle, 0.0, thick)),
        probes,
        walls,
        design,
    )


def views_of_fork(part: ForkPart) -> tuple[View, ...]:
    """Return the fork from above, the slot's round end at the origin, and from its side."""
    return _plan(part), _side(part.own)


def _full_mm(fork: Fork[float]) -> float:
    """Return where the wedge is full, from the slot's round end [mm]."""
    return -fork.tines_mm + (fork.thick_mm - fork.thin_mm) / fork.slope


def _plan(part: ForkPart) -> View:
    fork = part.own
    plan = draw_fork(part, "drawing").adds[0].outline
    full, half, slot = _full_mm(fork), fork.width_mm / 2.0, fork.slot_mm / 2.0
    tines, handle = fork.tines_mm, fork.handle_mm
    open_mm = sqrt(max(square(slot) - square(max(full, 0.0)), 0.0))
    above = (
        Along(name="tine_length_mm", start=(-tines, half), end=(0.0, half)),
        Along(name="handle_length_mm", start=(0.0, half), end=(handle, half)),
    )
    below = Along(name="envelope_x_mm", start=(-tines, -half), end=(handle, -half))
    left = (
        (Along(name="fork_slot_mm", start=(-tines, -slot), end=(-tines, slot)),),
        (Along(name="tine_width_mm", start=(-tines, -half), end=(-tines, -slot), before=True),),
    )
    right = Along(name="envelope_y_mm", start=(handle, -half), end=(handle, half))
    return View(
        title="from above",
        left_out="corners and edges",
        visible=(closed(plan),),
        edges=((full, open_mm, full, half), (full, -half, full, -open_mm)),
        axes=((-tines, 0.0, handle, 0.0),),
        stacks=(
            Stack(side=1, clear_mm=half, tiers=(above,)),
            Stack(clear_mm=half, tiers=((below,),)),
            Stack(axis="v", side=-1, clear_mm=tines, tiers=left),
            Stack(axis="v", side=1, clear_mm=handle, tiers=((right,),)),
        ),
    )


def _side(fork: Fork[float]) -> View:
    full, thick, thin = _full_mm(fork), fork.thick_mm, fork.thin_mm
    tines, handle = fork.tines_mm, fork.handle_mm
    corners = [(-tines, 0.0), (handle, 0.0), (handle, thick), (full, thick), (-tines, thin)]
    end = Along(name="tine_end_mm", start=(-tines, 0.0), end=(-tines, thin), before=True)
    whole = Along(name="fork_thickness_mm", start=(handle, 0.0), end=(handle, thick), level=True)
    ray = 0.3 * (handle - full)
    return View(
        title=f"from the side; rise of the wedge {fork.slope:g}",
        visible=(closed(np.array([(u, v, 0.0) for u, v in corners])),),
        stacks=(
            Stack(axis="v", side=-1, clear_mm=tines, tiers=((end,),)),
            Stack(axis="v", side=1, clear_mm=handle, tiers=((whole,),)),
        ),
        # The slope against the flat of the handle, above it where nothing else stands.
        angles=(
            Angle(
                name="fork_slope_deg",
                corner=(full, thick),
                along=(ray, 0.0),
                aslant=(ray, ray * fork.slope),
            ),
        ),
    )


FORK = Kind(
    name="fork",
    title="fork for freeing a tip",
    letter="F",
    mark="face",
    openings=1,
    size=size_fork,
    draw=draw_fork,
    views=views_of_fork,
    single=ForkPart,
    carries=False,
    needs=frozenset({"tool", "fork"}),
    sizes=_OWN_SIZES,
    needs_bit=True,
)
