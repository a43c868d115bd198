"""Driver: a sleeve over the barb, or over the hub, through which a tip is tapped.

It bears on the shoulder ring of an in-line tip; with arms it bears on the strike
pad, and slots let it pass them. Its bearing face is struck nowhere else, so a
blow never bends an arm.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import pi, sqrt

import numpy as np

from barbwright.design.conditions import Conditions
from barbwright.design.draw import ORIGIN, OVERSHOOT_MM, assembled, rim_letters
from barbwright.design.forced import ForcedSize, by_name
from barbwright.design.half_section import HALF, Seen, half_section
from barbwright.design.kind import Design, Fit, Impossible, Kind, Own
from barbwright.design.kinds.hub import TEE
from barbwright.design.kinds.inline import TIP
from barbwright.design.mark import Mark, rim_mark
from barbwright.design.outline import QUARTER, Vertex, outline
from barbwright.design.rounding import round_up
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
from barbwright.design.sizes import Size
from barbwright.design.view import Across, Along, Line, Stack, Tier, View
from barbwright.equations import N, Number

_FOOT_EDGE_MM = 0.3
_TOP_EDGE_MM = 1.0
_OWN_SIZES = by_name(
    (
        ForcedSize(name="socket"),
        ForcedSize(name="sleeve"),
        ForcedSize(name="driver_length"),
        ForcedSize(name="arms", unit="-", least=0.0, most=2.0, whole=True),
    )
)


@dataclass(frozen=True, eq=False)
class Driver(Own[N]):
    """A driver's own sizes.

    Attributes
    ----------
    host : Design
        The tip or connector it drives.
    arms : int
        Arms it has slots for; none for an in-line tip [-].
    socket_mm, sleeve_mm : float or array
        Inner and outer diameter of the sleeve [mm].
    depth_mm, length_mm : float or array
        From the foot to the socket's roof, and to the struck face [mm].
    slot_mm, slot_height_mm : float or array
        Width and height of the slots for the arms; zero without [mm].
    bearing_mm : float or array
        Diameter of what it bears on: the ring, or the pad's stem [mm].
    passes_mm, arm_mm : float or array
        What goes through the socket, and through a slot [mm].
    crown_mm : float
        Rise of the struck face [mm].
    """

    host: Design[N]
    arms: int
    socket_mm: N
    sleeve_mm: N
    depth_mm: N
    length_mm: N
    slot_mm: N
    slot_height_mm: N
    bearing_mm: N
    passes_mm: N
    arm_mm: N
    crown_mm: float

    @property
    def envelope_mm(self) -> tuple[N, N, N]:
        """Bounding box of the drawn part [mm]."""
        return self.sleeve_mm, self.sleeve_mm, self.length_mm

    @property
    def walls_mm(self) -> tuple[Number, ...]:
        """The sleeve's wall [mm]."""
        return ((self.sleeve_mm - self.socket_mm) / 2.0,)

    @property
    def fits(self) -> tuple[Fit, ...]:
        """The socket passes the barb or the hub, the slots the arms with their tube."""
        inside = Fit("pad and ball" if self.arms else "barb", self.socket_mm, self.passes_mm)
        if not self.arms:
            return (inside,)
        return inside, Fit("arm with its tube", self.slot_mm, self.arm_mm)

    @property
    def notes(self) -> tuple[str, ...]:
        """How it is used, in sentences with their numbers."""
        if self.arms:
            return (
                "set its roof on the strike pad with the arms in the slots, and tap its crowned "
                "face: it never touches an arm",
            )
        return (
            "slip it over the bare barb down to the shoulder ring before the tube is on, and tap "
            "its crowned face",
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
                "sleeve",
                np.logical_not(self.sleeve_mm > self.socket_mm + 0.4),
                "a sleeve of {sleeve:.2f} mm leaves no wall round a socket of {socket:.2f} mm",
                {"sleeve": self.sleeve_mm, "socket": self.socket_mm},
            ),
            Impossible(
                "driver_length",
                np.logical_not(self.length_mm >= self.depth_mm + 3.0),
                "a driver of {length:.1f} mm has no head over a socket {depth:.1f} mm deep",
                {"length": self.length_mm, "depth": self.depth_mm},
            ),
            Impossible(
                "arms",
                np.asarray(self.arms not in (0, 1, 2)),
                "a part with {arms:.0f} arms is none of ours: 0, 1 or 2",
                {"arms": self.arms},
            ),
        )

    def compensated(self, outside_mm: N, bore_mm: N) -> Driver[N]:
        """Return its sizes drawn off the other way from what a service prints off [mm]."""
        return replace(
            self,
            socket_mm=self.socket_mm - bore_mm,
            sleeve_mm=self.sleeve_mm - outside_mm,
            slot_mm=self.slot_mm - bore_mm if self.arms else self.slot_mm,
        )

    @property
    def sizes(self) -> tuple[Size, ...]:
        """Its rows of the table of sizes."""
        rows: tuple[Size, ...] = (
            Size(
                name="socket_diameter_mm",
                title="driver's socket",
                reads="socket_mm",
                feature="bore",
                where="pin from the open end",
            ),
            Size(
                name="sleeve_diameter_mm",
                title="driver's sleeve",
                reads="sleeve_mm",
                feature="outside",
            ),
            Size(
                name="socket_depth_mm",
                title="depth of the socket",
                reads="depth_mm",
                feature="length",
            ),
            Size(
                name="driver_length_mm",
                title="driver's length",
                reads="length_mm",
                feature="length",
            ),
            Size(
                name="driver_crown_mm",
                title="rise of its crown",
                reads="crown_mm",
                feature="length",
            ),
        )
        if self.arms:
            rows = (
                *rows,
                Size(
                    name="arm_slot_mm",
                    title="slot for an arm",
                    reads="slot_mm",
                    feature="length",
                    where="between its faces, inside jaws",
                ),
                Size(
                    name="arm_slot_height_mm",
                    title="height of the slot",
                    reads="slot_height_mm",
                    feature="length",
                ),
            )
        return rows


@dataclass(frozen=True, eq=False, kw_only=True)
class DriverPart(Design[float]):
    """A single driver."""

    own: Driver[float]


def fit_driver(host: Design, arms: int, forced: Mapping[str, Number]) -> Driver:
    """Return the driver that belongs to a part.

    Parameters
    ----------
    host : Design
        The tip or connector it drives [mm].
    arms : int
        Arms it has slots for; none for an in-line tip [-].
    forced : mapping
        Sizes of the driver that the user forces [mm].

    Source: judgement
    """
    rules, material = host.conditions.rules, host.conditions.material
    barb, gap = host.barbs[0], material.min_gap_mm
    slot: Number = 0.0
    slot_height: Number = 0.0
    arm: Number = 0.0
    if arms:
        assert host.hub is not None
        passes = np.maximum(host.hub.ball_mm, host.hub.pad_mm)
        widest = np.maximum(host.neck_mm, barb.shoulder_mm)
        arm = np.maximum(widest, barb.tube_on_crest_mm)
        slot = round_up(arm + 2.0 * material.tolerance_at(arm) + gap, 0.1)
        # The legs reach down beside the arms, and stay clear of the bark below the ball.
        depth = round_up(host.hub.pad_height_mm + host.neck_mm / 2.0, 0.1)
        slot_height = depth - host.hub.pad_height_mm + slot / 2.0
        bearing = host.hub.stem_mm
        socket = round_up(passes + 2.0 * material.tolerance_at(passes) + gap, 0.1)
    else:
        assert host.ring is not None
        passes, bearing = barb.crest_mm, host.ring.ring_mm
        insertion = barb.insertion_mm
        depth = round_up(
            insertion + 2.0 * material.tolerance_at(insertion) + rules["driver_roof_gap_mm"], 0.1
        )
        socket = host.ring.driver_bore_mm
    socket = forced.get("socket", socket)
    thick = np.maximum(rules["driver_wall_mm"], material.min_wall_mm)
    sleeve = round_up(socket + 2.0 * thick, 0.1)
    if not arms:
        sleeve = np.maximum(sleeve, bearing)
    sleeve = forced.get("sleeve", sleeve)
    length = np.maximum(rules["driver_length_mm"], depth + rules["driver_head_least_mm"])
    return Driver(
        host=host,
        arms=arms,
        socket_mm=socket,
        sleeve_mm=sleeve,
        depth_mm=depth,
        length_mm=forced.get("driver_length", length),
        slot_mm=slot,
        slot_height_mm=slot_height,
        bearing_mm=bearing,
        passes_mm=passes,
        arm_mm=arm,
        crown_mm=rules["driver_crown_mm"],
    )


def reach_beyond(own: Driver) -> Number:
    """Return how far a driver's struck face stands beyond the face it bears on [mm].

    Parameters
    ----------
    own : Driver
        It bears on a pad with its roof, on a ring with its foot [mm].

    Source: own_derivation
    """
    return own.length_mm - own.depth_mm if own.arms else own.length_mm


def solid_volume(own: Driver) -> Number:
    """Return the least volume of a driver: its slots are counted as open all the way up.

    Parameters
    ----------
    own : Driver
        Its sizes [mm].

    Returns
    -------
    float or array
        Volume [mm3].

    Source: own_derivation
    """
    ring = pi / 4.0 * (own.sleeve_mm**2 - own.socket_mm**2)
    lost = own.arms * own.slot_mm * (own.sleeve_mm - own.socket_mm) / 2.0
    head = pi / 4.0 * own.sleeve_mm**2 * (own.length_mm - own.depth_mm)
    return np.maximum(ring - lost, 0.0) * own.depth_mm + head


def size_driver(
    kind: Kind, conditions: Conditions, forced: Mapping[str, Number], words: tuple[str, ...]
) -> Design:
    """Return a driver's drawn sizes, from those of the part it drives [mm].

    Source: judgement
    """
    rules, material = conditions.rules, conditions.material
    arms = int(np.max(forced.get("arms", 0)))
    theirs = {name: size for name, size in forced.items() if name not in _OWN_SIZES}
    host_kind = TEE if arms else TIP
    own = fit_driver(host_kind.size(host_kind, conditions, theirs, words), arms, forced)
    mark = Mark.none(words)
    if words and np.ndim(own.sleeve_mm) == 0:
        mark = rim_mark(
            words,
            min_text_line_mm=float(np.max(np.asarray(material.min_text_line_mm))),
            ring_mm=float(own.sleeve_mm),
            height_mm=float(own.length_mm - own.depth_mm - 2.0 * _TOP_EDGE_MM),
            depth_mm=rules["mark_depth_mm"],
            gap_mm=rules["mark_gap_mm"],
        )
    return Design(
        kind=kind,
        conditions=conditions,
        forced=forced,
        bore_mm=own.socket_mm,
        neck_length_mm=0.0,
        mark=mark,
        own=own,
    )


def draw_driver(design: DriverPart, name: str) -> Shape:
    """Return a driver: its foot at the origin, the struck face towards +Z."""
    own = design.own
    radius, length, crown = own.sleeve_mm / 2.0, own.length_mm, own.crown_mm
    socket, depth = own.socket_mm, own.depth_mm
    top = radius - _TOP_EDGE_MM
    dome = (top**2 + crown**2) / (2.0 * crown)
    turn = float(np.arctan2(top, dome - crown))
    body: list[Vertex] = [
        (0.0, 0.0, 0.0),
        (0.0, radius - _FOOT_EDGE_MM, -QUARTER),
        (_FOOT_EDGE_MM, radius, 0.0),
        (length - crown - _TOP_EDGE_MM, radius, -QUARTER),
        (length - crown, top, -float(np.tan(turn / 4.0))),
        (length, 0.0, 0.0),
    ]
    # The roof's corner is round where nothing bears on it, so that it is no notch.
    corner = 0.2 if own.arms else min(1.0, socket / 4.0)
    hollow: list[Vertex] = [
        (-OVERSHOOT_MM, 0.0, 0.0),
        (-OVERSHOOT_MM, socket / 2.0, 0.0),
        (depth - corner, socket / 2.0, -QUARTER),
        (depth, socket / 2.0 - corner, 0.0),
        (depth, 0.0, 0.0),
    ]
    cuts: list[Revolved | Extruded] = [Revolved("bore", outline(hollow), axis=Z_AXIS)]
    if own.arms:
        half, high = own.slot_mm / 2.0, own.slot_height_mm
        # Seen along X: across to Y, up to Z, with a round end.
        profile: list[Vertex] = [
            (-half, -OVERSHOOT_MM, 0.0),
            (half, -OVERSHOOT_MM, 0.0),
            (half, high - half, 1.0),
            (-half, high - half, 0.0),
        ]
        reach = radius + OVERSHOOT_MM
        start = -reach if own.arms > 1 else 0.0
        cuts.append(
            Extruded(
                "arm slots",
                outline(profile, turned=False),
                reach - start,
                origin=(start, 0.0, 0.0),
                normal=X_AXIS,
                x_direction=Y_AXIS,
            )
        )
    fan = 60.0 if own.arms else 360.0
    at = depth / 2.0
    probes = [
        Probe("socket_diameter_mm", ORIGIN, Z_AXIS, at, socket, "inner", 50.0, Y_AXIS, fan),
        Probe(
            "sleeve_diameter_mm",
            ORIGIN,
            Z_AXIS,
            at,
            2.0 * radius,
            "outer",
            radius + 2.0,
            Y_AXIS,
            fan,
        ),
    ]
    walls = [
        WallProbe("sleeve_wall_mm", ORIGIN, Z_AXIS, at, radius - socket / 2.0, 0.0, Y_AXIS, fan),
        # From inside the socket up through the head, off the crown's middle by nothing.
        WallProbe("driver_head_mm", (0.0, 0.0, at), Y_AXIS, 0.0, length - depth, 0.0, Z_AXIS, 0.2),
    ]
    middle = (depth + length - crown) / 2.0
    return assembled(
        name,
        [Revolved("body", outline(body), axis=Z_AXIS)],
        cuts,
        rim_letters(design, radius, middle),
        probes,
        walls,
        design,
    )


def struck_area(own: Driver, sleeve_mm: Number, socket_mm: Number, bearing_mm: Number) -> Number:
    """Return the area through which a driver presses.

    Parameters
    ----------
    own : Driver
        Tells whether it bears on a ring or on a pad.
    sleeve_mm, socket_mm, bearing_mm : float or array
        Sizes at a corner [mm].

    Returns
    -------
    float or array
        Ring between socket and the smaller of sleeve and shoulder ring, or the
        section of the pad's stem [mm2].

    Source: own_derivation
    """
    if own.arms:
        return pi / 4.0 * bearing_mm**2
    outer = np.minimum(sleeve_mm, bearing_mm)
    return np.maximum(pi / 4.0 * (outer**2 - socket_mm**2), 0.0)


def views_of_driver(part: DriverPart) -> tuple[View, ...]:
    """Return the view: the foot to the left, the struck face to the right."""
    own, slotted = part.own, part.own.arms > 0
    seen = half_section(draw_driver(part, "drawing"))
    if slotted:
        _slots(own, seen)
    edge, length, at = own.sleeve_mm / 2.0, own.length_mm, (own.depth_mm + own.length_mm) / 2.0
    across = (
        # The slots are narrower than the socket, so their width stands nearer to the foot.
        Across(name="socket_diameter_mm", at_mm=0.0, size_mm=own.socket_mm,
               beyond=-2 if slotted else -1),
        Across(name="sleeve_diameter_mm", at_mm=at, size_mm=own.sleeve_mm),
    )  # fmt: skip

    def above(name: str, low: float, high: float) -> Along:
        return Along(name=name, start=(low, edge), end=(high, edge if high < length else 0.0))

    lengths = (
        (above("socket_depth_mm", 0.0, own.depth_mm),
         above("driver_crown_mm", length - own.crown_mm, length)),
        (above("driver_length_mm", 0.0, length),),
    )  # fmt: skip
    stacks = [Stack(side=1, clear_mm=edge, tiers=lengths)]
    below: list[Tier] = [across]
    if slotted:
        half, high = own.slot_mm / 2.0, own.slot_height_mm
        below.append((Along(name="arm_slot_height_mm", start=(0.0, -half), end=(high, 0.0)),))
        wide = Along(name="arm_slot_mm", start=(0.0, -half), end=(0.0, half))
        stacks.append(Stack(axis="v", side=-1, clear_mm=0.0, tiers=((wide,),)))
    note = ("", "; one arm slot", "; two arm slots, opposite")[own.arms]
    return (
        View(
            title=f"half section{note}" if slotted else HALF,
            left_out="rounded edges",
            sections=tuple(seen.sections),
            visible=tuple(seen.visible),
            edges=tuple(seen.edges),
            axes=tuple(seen.axes),
            stacks=(Stack(clear_mm=edge, tiers=tuple(below)), *stacks),
        ),
    )


def _slots(own: Driver[float], seen: Seen) -> None:
    """Draw the slots, seen along the arms: one in front, a second behind the cut."""
    half, high = own.slot_mm / 2.0, own.slot_height_mm
    front = np.array([(0.0, -half, 0.0), (high - half, -half, QUARTER), (high, 0.0, 0.0)])
    seen.visible.append(front)
    if own.arms < 2:
        return
    seen.visible.append(front * np.array([1.0, -1.0, -1.0]))
    # Through both slots nothing is seen: no foot, and no roof's corner within them.
    kept: list[Line] = []
    for u0, v0, u1, v1 in seen.edges:
        if u0 == u1 and u0 < high:
            clear = half if u0 <= high - half else sqrt(half**2 - (u0 - high + half) ** 2)
            if abs(v1) > clear:
                kept.append((u0, clear if v1 > 0.0 else -clear, u1, v1))
        else:
            kept.append((u0, v0, u1, v1))
    seen.edges[:] = kept
    for path in seen.visible:
        if abs(path[0, 0]) < 1e-9 and path[0, 1] == 0.0 and path[1, 1] < 0.0:
            path[0, 1] = -half


DRIVER = Kind(
    name="driver",
    title="driver for tapping a tip in",
    letter="D",
    mark="rim",
    openings=1,
    size=size_driver,
    draw=draw_driver,
    views=views_of_driver,
    single=DriverPart,
    carries=False,
    needs=frozenset({"tool", "driver"}),
    sizes=_OWN_SIZES,
    needs_bit=True,
)
