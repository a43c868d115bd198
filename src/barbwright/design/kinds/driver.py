"""Driver: a sleeve over the barb, or over the hub, through which a tip is tapped.

It bears on the shoulder ring of an in-line tip; with arms it bears on the strike
pad, and slots let it pass them. Its bearing face is struck nowhere else, so a
blow never bends an arm. Over a pad it also turns the part: a hexagon under its
roof, and two wings for two fingertips, whose necks give way before the tip does.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import pi, sqrt

import numpy as np

from barbwright.design.conditions import Conditions
from barbwright.design.draw import OVERSHOOT_MM, assembled, rim_letters
from barbwright.design.forced import ForcedSize, by_name
from barbwright.design.half_section import HALF, Seen, half_section
from barbwright.design.kind import Design, Fit, Impossible, Kind, Own, Sleeve, Wings
from barbwright.design.kinds.hosts import host_kind, host_of
from barbwright.design.mark import rim_mark
from barbwright.design.outline import QUARTER, Vertex, hexagon, outline
from barbwright.design.paths import circle, closed
from barbwright.design.rounding import round_down, round_up
from barbwright.design.shape import (
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
from barbwright.design.sizes import Size
from barbwright.design.view import (
    ACROSS_FLATS,
    Across,
    Along,
    Angle,
    Line,
    Sign,
    Stack,
    Tier,
    View,
    two,
)
from barbwright.equations import N, Number, square
from barbwright.equations.column import torsion_capacity

_FOOT_EDGE_MM = 0.3
_TOP_EDGE_MM = 1.0
# Over what both may print off, so that no flat has to be pressed on.
FLATS_OVER_MM = 0.1
# A wing's paddle: as long as a fingertip finds, thick and tall enough never to be what breaks.
WING_LONG_MM = 7.0
WING_THICK_MM = 5.0
WING_TALL_MM = 10.0
WING_NECK_LEAST_MM = 1.0
_WING_ENTERS_MM = 1.5
_WINGS_TAKE_MM = WING_TALL_MM + 14.0
_OWN_SIZES = by_name(
    (
        ForcedSize(name="socket"),
        ForcedSize(name="sleeve"),
        ForcedSize(name="driver_length"),
    )
)


@dataclass(frozen=True, kw_only=True, eq=False)
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
    flats_mm, flats_height_mm : float or array
        Hexagon under the roof, over its flats, and how far down it reaches; zero
        without [mm].
    head_mm : float or array
        Diameter of the head over the roof [mm].
    span_mm, neck_mm : float or array
        Wings from tip to tip, and the side of their square necks; zero without [mm].
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
    flats_mm: N
    flats_height_mm: N
    head_mm: N
    span_mm: N
    neck_mm: N
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
        return self.sleeve_mm, np.maximum(self.sleeve_mm, self.span_mm), self.length_mm

    @property
    def walls_mm(self) -> tuple[Number, ...]:
        """The sleeve's wall, and the necks of wings [mm]."""
        sleeve = (self.sleeve_mm - self.socket_mm) / 2.0
        return (sleeve, self.neck_mm) if self.arms else (sleeve,)

    @property
    def fits(self) -> tuple[Fit, ...]:
        """The socket passes the barb or the hub, the slots the arms with their tube."""
        if not self.arms:
            return (Fit("barb", self.socket_mm, self.passes_mm),)
        assert self.host.hub is not None
        return (
            Fit("ball and the pad's corners", self.socket_mm, self.passes_mm),
            Fit("pad over its flats", self.flats_mm, self.host.hub.pad_mm),
            Fit("arm with its tube", self.slot_mm, self.arm_mm),
        )

    @property
    def shoulder_mm(self) -> N:
        """Where the sleeve ends and its cone to the head begins, from the foot [mm]."""
        return self.depth_mm + self.roof_mm

    @property
    def roof_mm(self) -> N:
        """From the socket's roof to where the cone begins: as thick as the wall [mm]."""
        return (self.sleeve_mm - self.socket_mm) / 2.0

    @property
    def wings_at_mm(self) -> N:
        """Height of the wings' middle over the foot, clear of tubes and hammer [mm]."""
        return self.shoulder_mm + (self.sleeve_mm - self.head_mm + WING_TALL_MM) / 2.0 + 1.0

    @property
    def paddle_mm(self) -> tuple[float, float, float]:
        """A wing's paddle: out from its neck, along the pull, and up [mm]."""
        return WING_LONG_MM, WING_THICK_MM, WING_TALL_MM

    @property
    def sleeve(self) -> Sleeve[N]:
        """What is struck and presses: on a pad with its roof, on a ring with its foot."""
        return Sleeve(
            socket_mm=self.socket_mm,
            outer_mm=self.sleeve_mm,
            head_mm=self.head_mm,
            length_mm=self.length_mm,
            bearing_mm=self.bearing_mm,
            on_roof=self.arms > 0,
        )

    @property
    def wings(self) -> Wings[N] | None:
        """Its wings and hexagon, over a pad."""
        far: N = self.span_mm / 2.0
        return (
            Wings(
                root_mm=self.head_mm / 2.0,
                near_mm=far - WING_LONG_MM,
                far_mm=far,
                neck_mm=self.neck_mm,
                flats_mm=self.flats_mm,
            )
            if self.arms
            else None
        )

    @property
    def needs(self) -> frozenset[str]:
        """Only over a pad has it wings and a hexagon."""
        return frozenset({"wings"} if self.arms else ())

    @property
    def notes(self) -> tuple[str, ...]:
        """How it is used, in sentences with their numbers."""
        if self.arms:
            return (
                "set its roof on the strike pad with the arms in the slots, and tap its crowned "
                "face: it never touches an arm",
                "to free a tip: line vented, tubes off; turn the wings to and fro with two "
                "fingertips, no spanner on it; if it does not turn or a wing bends off, use the "
                "fork",
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
                "wings",
                np.logical_and(self.arms > 0, np.logical_not(self.neck_mm > WING_NECK_LEAST_MM)),
                "this tip takes so little torque that wings' necks of {neck:.2f} mm cannot be "
                "printed",
                {"neck": self.neck_mm},
            ),
        )

    def compensated(self, outside_mm: N, bore_mm: N) -> Driver[N]:
        """Return its sizes drawn off the other way from what a service prints off [mm]."""
        return replace(
            self,
            socket_mm=self.socket_mm - bore_mm,
            sleeve_mm=self.sleeve_mm - outside_mm,
            flats_mm=self.flats_mm - bore_mm if self.arms else self.flats_mm,
            head_mm=self.head_mm - outside_mm,
            neck_mm=self.neck_mm - outside_mm if self.arms else self.neck_mm,
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
                    name="socket_flats_mm",
                    title="hexagon under its roof, over its flats",
                    reads="flats_mm",
                    feature="bore",
                    where="between two flats, inside jaws",
                ),
                Size(
                    name="socket_flats_height_mm",
                    title="height of that hexagon",
                    reads="flats_height_mm",
                    feature="length",
                ),
                Size(
                    name="head_diameter_mm",
                    title="driver's head",
                    reads="head_mm",
                    feature="outside",
                ),
                Size(
                    name="wing_span_mm",
                    title="wings from tip to tip",
                    reads="span_mm",
                    feature="length",
                ),
                Size(
                    name="wing_neck_mm",
                    title="side of the wings' square necks, which give way first",
                    reads="neck_mm",
                    feature="outside",
                    where="over each neck, both ways",
                ),
                Size(
                    name="wings_from_foot_mm",
                    title="middle of the wings over the foot",
                    reads="wings_at_mm",
                    feature="length",
                ),
                Size(
                    name="roof_thickness_mm",
                    title="roof of the socket, up to its cone",
                    reads="roof_mm",
                    feature="length",
                ),
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


def fit_driver(host: Design, forced: Mapping[str, Number]) -> Driver:
    """Return the driver that belongs to a part.

    Parameters
    ----------
    host : Design
        The tip or connector it drives, which has no arms to the sides without a hub [mm].
    forced : mapping
        Sizes of the driver that the user forces [mm].

    Source: judgement
    """
    rules, material = host.conditions.rules, host.conditions.material
    barb, gap = host.barbs[0], material.min_gap_mm
    arms = host.kind.arms if host.hub is not None else 0
    slot: Number = 0.0
    slot_height: Number = 0.0
    arm: Number = 0.0
    flats: Number = 0.0
    flats_height: Number = 0.0
    if host.hub is not None:
        pad = host.hub.pad_mm
        flats = round_up(pad + 2.0 * material.tolerance_at(pad) + FLATS_OVER_MM, 0.05)
        flats_height = host.hub.pad_thickness_mm
        # The sleeve below goes over the pad's corners, and its own hexagon ends in it.
        passes = np.maximum(host.hub.ball_mm, 2.0 / sqrt(3.0) * pad)
        widest = np.maximum(host.neck_mm, barb.shoulder_mm)
        arm = np.maximum(widest, barb.tube_on_crest_mm)
        slot = round_up(arm + 2.0 * material.tolerance_at(arm) + gap, 0.1)
        # The legs reach down beside the arms, and stay clear of the bark below the ball.
        depth = round_up(host.hub.pad_height_mm + host.neck_mm / 2.0, 0.1)
        slot_height = depth - host.hub.pad_height_mm + slot / 2.0
        bearing = host.hub.stem_mm
        socket = round_up(
            np.maximum(
                passes + 2.0 * material.tolerance_at(passes) + gap,
                2.0 / sqrt(3.0) * flats + FLATS_OVER_MM,
            ),
            0.1,
        )
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
    head, span, neck = sleeve, 0.0 * sleeve, 0.0 * sleeve
    if arms:
        head = np.minimum(rules["driver_head_mm"], sleeve)
        # Room for the cone from sleeve to head, for wings, and for fingers off the hammer.
        least = depth + (sleeve - head) / 2.0 + rules["driver_head_least_mm"] + _WINGS_TAKE_MM
        length = np.maximum(length, least)
        span, neck = size_wings(host, head)
    return Driver(
        host=host,
        arms=arms,
        socket_mm=socket,
        sleeve_mm=sleeve,
        flats_mm=flats,
        flats_height_mm=flats_height,
        head_mm=head,
        span_mm=span,
        neck_mm=neck,
        depth_mm=depth,
        length_mm=forced.get("driver_length", length),
        slot_mm=slot,
        slot_height_mm=slot_height,
        bearing_mm=bearing,
        passes_mm=passes,
        arm_mm=arm,
        crown_mm=rules["driver_crown_mm"],
    )


def size_wings(host: Design, head_mm: Number) -> tuple[Number, Number]:
    """Return a driver's wings: their span, and the side of the square necks that give way first.

    A fat neck as strong as it may be bends off at 0.9 of the torque that breaks the weakest
    tip, wherever on the paddle a finger lies: pressed nearest it holds most. Both are bounds
    already, so no factor of a hand's is put between them. The wings reach so far out that it
    hardly matters where a finger lies, and that their necks are bent by nearly half of the
    torque: the stouter a neck, the less a print's tolerance changes what it passes on.

    Parameters
    ----------
    host : Design
        The part that is turned, with its tip [mm].
    head_mm : float or array
        Diameter of the head the wings stand on [mm].

    Returns
    -------
    tuple of float or array
        Span and side [mm].

    Source: beam_theory, own_derivation, judgement
    """
    conditions, tip = host.conditions, host.tip
    rules, material = conditions.rules, conditions.material
    assert tip is not None
    bore = tip.bore_mm + material.tolerance_at(tip.bore_mm)
    mouth = conditions.hole_low_mm + tip.taper * tip.contact_mm
    # By the strength across layers, which tip and neck share: what nobody publishes is not asked.
    broken = torsion_capacity(rules["shear_over_tension"], bore, mouth)
    broken = np.where(mouth > bore, broken, 0.0)
    span = rules["wing_span_mm"] * np.ones_like(broken)
    root, near = head_mm / 2.0, span / 2.0 - WING_LONG_MM
    moment = rules["wing_gives_way"] * broken * np.maximum(near - root, 0.0) / (2.0 * near)
    fat = np.cbrt(6.0 * moment / rules["wing_strength_upper"])
    side = round_down(np.maximum(fat - material.tolerance_at(fat), 0.0), 0.05)
    return span, side


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
    ring = pi / 4.0 * (square(own.sleeve_mm) - square(own.socket_mm))
    lost = own.arms * own.slot_mm * (own.sleeve_mm - own.socket_mm) / 2.0
    head = pi / 4.0 * square(own.head_mm) * (own.length_mm - own.depth_mm)
    return np.maximum(ring - lost, 0.0) * own.depth_mm + head


def size_driver(
    kind: Kind, conditions: Conditions, forced: Mapping[str, Number], words: tuple[str, ...]
) -> Design:
    """Return a driver's drawn sizes, from those of the part it drives [mm].

    Source: judgement
    """
    own = fit_driver(host_of(kind, conditions, forced, words), forced)
    low, high = _mark_room(own)
    mark = rim_mark(words, conditions, ring_mm=own.sleeve_mm, height_mm=high - low)
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
    head = own.head_mm / 2.0
    top = head - _TOP_EDGE_MM
    dome = (square(top) + square(crown)) / (2.0 * crown)
    turn = float(np.arctan2(top, dome - crown))
    body: list[Vertex] = [
        (0.0, 0.0, 0.0),
        (0.0, radius - _FOOT_EDGE_MM, -QUARTER),
        (_FOOT_EDGE_MM, radius, 0.0),
        # Down to the head under 45 degrees, over a roof that stays as thick as the wall.
        *(
            [(own.shoulder_mm, radius, 0.0), (own.shoulder_mm + radius - head, head, 0.0)]
            if own.arms
            else []
        ),
        (length - crown - _TOP_EDGE_MM, head, -QUARTER),
        (length - crown, top, -float(np.tan(turn / 4.0))),
        (length, 0.0, 0.0),
    ]
    # The roof's corner is round where nothing bears on it, so that it is no notch.
    corner = _corner_mm(own)
    end = depth - own.flats_height_mm
    hollow: list[Vertex] = [
        (-OVERSHOOT_MM, 0.0, 0.0),
        (-OVERSHOOT_MM, socket / 2.0, 0.0),
        (end - corner, socket / 2.0, -QUARTER),
        (end, socket / 2.0 - corner, 0.0),
        (end, 0.0, 0.0),
    ]
    cuts: list[Revolved | Extruded] = [Revolved(name="bore", outline=outline(hollow), axis=Z_AXIS)]
    adds: list[Revolved | Extruded] = [Revolved(name="body", outline=outline(body), axis=Z_AXIS)]
    if own.arms:
        adds += _wings(own)
        low = end - OVERSHOOT_MM
        # Its flats stand to the arms as the pad's do.
        cuts.append(
            Extruded(
                name="hexagon",
                outline=hexagon(own.flats_mm),
                depth_mm=depth - low,
                origin=(0.0, 0.0, low),
            )
        )
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
                name="arm slots",
                outline=outline(profile, turned=False),
                depth_mm=reach - start,
                origin=(start, 0.0, 0.0),
                normal=X_AXIS,
                x_direction=Y_AXIS,
            )
        )
    fan = 60.0 if own.arms else 360.0
    at = depth / 2.0
    probes = [
        Probe(
            name="socket_diameter_mm",
            origin=ORIGIN,
            axis=Z_AXIS,
            at_mm=at,
            diameter_mm=socket,
            side="inner",
            reach_mm=50.0,
            towards=Y_AXIS,
            fan_deg=fan,
        ),
        Probe(
            name="sleeve_diameter_mm",
            origin=ORIGIN,
            axis=Z_AXIS,
            at_mm=at,
            diameter_mm=2.0 * radius,
            side="outer",
            reach_mm=radius + 2.0,
            towards=Y_AXIS,
            fan_deg=fan,
        ),
    ]
    walls = [
        WallProbe(
            name="sleeve_wall_mm",
            origin=ORIGIN,
            axis=Z_AXIS,
            at_mm=at,
            wall_mm=radius - socket / 2.0,
            slope=0.0,
            towards=Y_AXIS,
            fan_deg=fan,
        ),
        # From inside the socket up through the head, off the crown's middle by nothing.
        WallProbe(
            name="driver_head_mm",
            origin=(0.0, 0.0, at),
            axis=Y_AXIS,
            at_mm=0.0,
            wall_mm=length - depth,
            slope=0.0,
            towards=Z_AXIS,
            fan_deg=0.2,
        ),
    ]
    low, high = _mark_room(own)
    middle = (low + high) / 2.0
    return assembled(
        name,
        adds,
        cuts,
        rim_letters(design, radius, middle),
        probes,
        walls,
        design,
    )


def _mark_room(own: Driver[N]) -> tuple[N, N]:
    """Return between which heights the rim is free for the mark [mm]."""
    if own.arms:
        return own.slot_height_mm + _TOP_EDGE_MM / 2.0, own.shoulder_mm
    return own.depth_mm + _TOP_EDGE_MM, own.length_mm - own.crown_mm - _TOP_EDGE_MM


def _wings(own: Driver[float]) -> list[Revolved | Extruded]:
    """Return two necks and two paddles beside the arms, where fingers have room."""
    wings = own.wings
    assert wings is not None
    root, near, far, side = wings.root_mm, wings.near_mm, wings.far_mm, wings.neck_mm
    middle, inside = own.wings_at_mm, min(_WING_ENTERS_MM, root / 2.0)
    out: list[Revolved | Extruded] = []
    for number, way in enumerate((1.0, -1.0), 1):
        for name, low, high, thick, tall in (
            (f"wing neck {number}", root - inside, near + _WING_ENTERS_MM, side, side),
            (f"wing {number}", near, far, WING_THICK_MM, WING_TALL_MM),
        ):
            ends = sorted((way * low, way * high))
            plan = np.array([
                (-thick / 2.0, ends[0], 0.0), (thick / 2.0, ends[0], 0.0),
                (thick / 2.0, ends[1], 0.0), (-thick / 2.0, ends[1], 0.0),
            ])  # fmt: skip
            out.append(
                Extruded(
                    name=name, outline=plan, depth_mm=tall, origin=(0.0, 0.0, middle - tall / 2.0)
                )
            )
    return out


def views_of_driver(part: DriverPart) -> tuple[View, ...]:
    """Return the view, the foot to the left and the struck face to the right, and the foot's."""
    own, slotted = part.own, part.own.arms > 0
    shape = draw_driver(part, "drawing")
    seen = half_section(_through_corners(own, shape) if slotted else shape)
    if slotted:
        _slots(own, seen)
        _wing_edges(own, seen)
    radii = (
        f"edges R{two(_FOOT_EDGE_MM)} at the foot and R{two(_TOP_EDGE_MM)} at the head, "
        f"R{two(_corner_mm(own))} in the socket"
    )
    low, high = _mark_room(own)
    if part.mark.lines:
        radii += f"; middle of the mark {two((low + high) / 2.0)} from the foot"
    note = ("", "; one arm slot", "; two arm slots, opposite")[own.arms]
    main = seen.on(
        View(
            title=f"half section through the hexagon's corners{note}; necks of the wings square"
            if slotted
            else HALF,
            plane=("z", "y"),
            left_out=radii,
            stacks=_with_slots(own) if slotted else _plain(own),
            angles=_cone(own) if slotted else (),
            signs=(Sign(letter="A", at=(0.0, 0.0), towards_deg=180.0),) if slotted else (),
        )
    )
    return (main, _from_the_foot(own)) if slotted else (main,)


def _corner_mm(own: Driver[float]) -> float:
    """Return the radius in the roof's corner, where nothing bears on it [mm]."""
    return 0.2 if own.arms else min(1.0, own.socket_mm / 4.0)


def _lengths(own: Driver[float], edge: float) -> tuple[Tier, ...]:
    """Return the socket's depth, the crown's rise and the whole length, above the part."""
    foot, length = own.sleeve_mm / 2.0 - _FOOT_EDGE_MM, own.length_mm
    return (
        (Along(name="socket_depth_mm", start=(0.0, foot), end=(own.depth_mm, 0.0)),
         Along(name="driver_crown_mm", start=(length - own.crown_mm, edge - _TOP_EDGE_MM),
               end=(length, 0.0))),
        (Along(name="driver_length_mm", start=(0.0, foot), end=(length, 0.0)),),
    )  # fmt: skip


def _plain(own: Driver[float]) -> tuple[Stack, ...]:
    """Return the sizes of a driver without slots."""
    edge, at = own.sleeve_mm / 2.0, (own.depth_mm + own.length_mm) / 2.0
    across = (
        Across(name="socket_diameter_mm", at_mm=0.0, size_mm=own.socket_mm, beyond=-1),
        Across(name="sleeve_diameter_mm", at_mm=at, size_mm=own.sleeve_mm),
    )
    return (
        Stack(clear_mm=edge, tiers=(across,)),
        Stack(side=1, clear_mm=edge, tiers=_lengths(own, edge)),
    )


def _with_slots(own: Driver[float]) -> tuple[Stack, ...]:
    """Return the sizes of a driver with slots, hexagon and wings."""
    edge, head, length = own.sleeve_mm / 2.0, own.head_mm / 2.0, own.length_mm
    wings = own.wings
    assert wings is not None
    near, far, side = wings.near_mm, wings.far_mm, wings.neck_mm
    at, tall, half = own.wings_at_mm, WING_TALL_MM / 2.0, own.slot_mm / 2.0
    highest, end = max(edge, far), own.depth_mm - own.flats_height_mm
    across = (
        # The slots are narrower than the socket, so their width stands nearer to the foot.
        Across(name="socket_diameter_mm", at_mm=0.0, size_mm=own.socket_mm, beyond=-2),
        Across(name="sleeve_diameter_mm", at_mm=own.shoulder_mm, size_mm=own.sleeve_mm),
        Across(name="head_diameter_mm", at_mm=length - own.crown_mm - 3.0, size_mm=own.head_mm),
    )
    corner = own.flats_mm / sqrt(3.0)
    lengths: tuple[Tier, ...] = (
        (Along(name="socket_flats_height_mm", start=(end, corner), end=(own.depth_mm, corner)),
         Along(name="roof_thickness_mm", start=(own.depth_mm, corner),
               end=(own.shoulder_mm, edge)),
         Along(name="wing_neck_mm", start=(at - side / 2.0, near), end=(at + side / 2.0, near))),
        (Along(name="wing_height_mm", start=(at - tall, far), end=(at + tall, far)),),
        (Along(name="wings_from_foot_mm", start=(0.0, edge - _FOOT_EDGE_MM), end=(at, far)),),
        *_lengths(own, head),
    )  # fmt: skip
    high = own.slot_height_mm
    return (
        Stack(
            clear_mm=highest,
            tiers=(
                across,
                (Along(name="arm_slot_height_mm", start=(0.0, -half), end=(high, 0.0)),),
            ),
        ),
        Stack(side=1, clear_mm=highest, tiers=lengths),
        Stack(
            axis="v",
            side=-1,
            clear_mm=0.0,
            tiers=((Along(name="arm_slot_mm", start=(0.0, -half), end=(0.0, half)),),),
        ),
        Stack(
            axis="v",
            side=1,
            clear_mm=length,
            tiers=((Along(name="wing_length_mm", start=(at + tall, near), end=(at + tall, far)),),),
        ),
    )


def _cone(own: Driver[float]) -> tuple[Angle, ...]:
    """Return the angle of the cone between sleeve and head."""
    edge, fall = own.sleeve_mm / 2.0, (own.sleeve_mm - own.head_mm) / 2.0
    if fall < 1e-6:
        return ()
    return (
        Angle(name="driver_cone_deg", corner=(own.shoulder_mm, -edge), along=(fall, 0.0),
              aslant=(fall, fall)),
    )  # fmt: skip


def _through_corners(own: Driver[float], shape: Shape) -> Shape:
    """Return a driver's shape whose bore is cut as the section through two corners shows it."""
    reach, end = own.flats_mm / sqrt(3.0), own.depth_mm - own.flats_height_mm
    bore = shape.cuts[0]
    assert isinstance(bore, Revolved)
    profile = np.vstack([
        bore.outline[bore.outline[:, 1] > 1e-9],
        [(end, reach, 0.0), (own.depth_mm, reach, 0.0), (own.depth_mm, 0.0, 0.0)],
    ])  # fmt: skip
    return replace(shape, cuts=(replace(bore, outline=profile),))


def _wing_edges(own: Driver[float], seen: Seen) -> None:
    """Draw both wings: the upper one cut, the lower one as it is seen."""
    wings = own.wings
    assert wings is not None
    root, near, far, side = wings.root_mm, wings.near_mm, wings.far_mm, wings.neck_mm
    at, tall = own.wings_at_mm, WING_TALL_MM / 2.0
    wing = np.array([
        (at - side / 2.0, root, 0.0), (at - side / 2.0, near, 0.0), (at - tall, near, 0.0),
        (at - tall, far, 0.0), (at + tall, far, 0.0), (at + tall, near, 0.0),
        (at + side / 2.0, near, 0.0), (at + side / 2.0, root, 0.0),
    ])  # fmt: skip
    seen.cut(wing)
    seen.axes.append((at, root, at, far))
    seen.visible.append(wing * np.array([1.0, -1.0, 1.0]))


def _from_the_foot(own: Driver[float]) -> View:
    """Return the view into the socket: wings to the sides, their necks left to the main view."""
    sleeve, socket, far = own.sleeve_mm / 2.0, own.socket_mm / 2.0, own.span_mm / 2.0
    half, near, wide = WING_THICK_MM / 2.0, far - WING_LONG_MM, max(far, own.sleeve_mm / 2.0)
    flats = hexagon(own.flats_mm)[:, [1, 0, 2]]
    visible, hidden = [circle(sleeve), circle(socket), closed(flats)], []
    behind = sqrt(square(sleeve) - square(half))
    for way in (1.0, -1.0):
        if far > behind:
            # Where the sleeve stands before a paddle, it hides the paddle's root.
            start = max(near, behind)
            out = [(start, -half), (far, -half), (far, half), (start, half)]
            path = np.array([(way * u, v, 0.0) for u, v in out])
            visible.append(closed(path) if near > behind else path)
        else:
            hidden += [(way * far, -half, way * far, half), (way * near, -half, way * far, -half),
                       (way * near, half, way * far, half)]  # fmt: skip
    across = Along(name="socket_flats_mm", start=(0.0, -own.flats_mm / 2.0),
                   end=(0.0, own.flats_mm / 2.0), sign=ACROSS_FLATS)  # fmt: skip
    span = Along(name="wing_span_mm", start=(-far, -half), end=(far, -half))
    thick = Along(name="wing_thickness_mm", start=(far, -half), end=(far, half), level=True)
    return View(
        title="from the foot",
        letter="A",
        plane=("y", "x"),
        visible=tuple(visible),
        hidden=tuple(hidden),
        axes=((-wide, 0.0, wide, 0.0), (0.0, -sleeve, 0.0, sleeve)),
        stacks=(
            Stack(axis="v", side=-1, clear_mm=wide, tiers=((across,),)),
            Stack(axis="v", side=1, clear_mm=wide, tiers=((thick,),)),
            Stack(clear_mm=sleeve, tiers=((span,),)),
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
            clear = half if u0 <= high - half else sqrt(square(half) - square(u0 - high + half))
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
    host=host_kind,
)
