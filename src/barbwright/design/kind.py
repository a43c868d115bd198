"""What a kind of part is, and a part of it in numbers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import reduce
from math import sqrt
from typing import Any, Generic, Literal

import numpy as np

from barbwright.design.barb import Barb
from barbwright.design.conditions import Conditions
from barbwright.design.forced import SHARED_SIZES, ForcedSize
from barbwright.design.hub import Hub, blend_end
from barbwright.design.mark import Mark
from barbwright.design.shape import Shape
from barbwright.design.sizes import Size
from barbwright.design.tip import Tip
from barbwright.design.view import View
from barbwright.equations import N, Number, cube, square


@dataclass(frozen=True, kw_only=True)
class Kind:
    """A kind of part: the features it has, and how it is sized and drawn.

    Attributes
    ----------
    name : str
        The word on the command line.
    title : str
        The words in a report.
    letter : str
        The one letter its mark begins with, after the bit; no two kinds share one.
    arms : int
        Barbed arms [-].
    tip, hub, ring : bool
        Whether it has a tapered tip, a hub ball with strike pad, a shoulder ring.
    mark : {"pad", "rim", "face", "none"}
        Where the mark is engraved.
    openings : int
        Openings of the bores to the outside; a body without any counts as one [-].
    size : callable
        From kind, conditions, forced sizes and words of the mark to a `Design`.
    draw : callable
        From a single part, as `single` gives it, and a product's name to its `Shape`.
    views : callable
        From such a single part to the views of its drawing, with their dimensions.
    single : type of Design
        A single part of this kind in plain numbers, with the features it always has.
    carries : bool
        Whether it carries liquid under pressure; a tool does not.
    needs : frozenset of str
        Features of its own that checks ask for, beside those above.
    sizes : mapping of str to ForcedSize
        Sizes of its own that --set may force.
    host : callable
        From a tool's sizes to the kind of part it is made for; None for what is no tool.
    needs_bit : bool
        Whether the drill bit matters to it; always with a tip.
    """

    name: str
    title: str
    letter: str
    arms: int = 0
    tip: bool = False
    hub: bool = False
    ring: bool = False
    mark: Literal["pad", "rim", "face", "none"]
    openings: int
    size: Sizer = field(compare=False, repr=False)
    draw: Drawer = field(compare=False, repr=False)
    views: Viewer = field(compare=False, repr=False)
    single: type[Design[float]] = field(compare=False, repr=False)
    carries: bool = True
    needs: frozenset[str] = frozenset()
    sizes: Mapping[str, ForcedSize] = field(default_factory=dict, compare=False)
    needs_bit: bool = False
    host: Callable[[Mapping[str, Number]], Kind] | None = field(
        default=None, compare=False, repr=False
    )

    def __post_init__(self) -> None:
        """Make a tip need its bit."""
        object.__setattr__(self, "needs_bit", self.needs_bit or self.tip)

    @property
    def two_ends(self) -> bool:
        """Whether its two ends may take two tubes; the arms of a hub share one."""
        return self.arms == 2 and not self.hub

    @property
    def usable_sizes(self) -> frozenset[str]:
        """Sizes that --set may force on it; a tool follows those of the part it is made for."""
        has = {"barb": bool(self.arms), "tip": self.tip, "hub": self.hub}
        shared = {name for name, one in SHARED_SIZES.items() if not self.carries or has.get(one.of)}
        return frozenset(shared | set(self.sizes))


@dataclass(frozen=True, eq=False)
class Ring(Generic[N]):
    """The shoulder ring of an in-line tip, where its driver bears.

    Attributes
    ----------
    ring_mm, thickness_mm : float or array
        Diameter and thickness [mm].
    driver_bore_mm : float or array
        Bore of the sleeve that goes over the barb [mm].
    """

    ring_mm: N
    thickness_mm: N
    driver_bore_mm: N


@dataclass(frozen=True, eq=False)
class Fit:
    """Something that must go through a hole of ours, whatever either prints like.

    Attributes
    ----------
    name : str
        What goes through.
    hole_mm, through_mm : float or array
        Drawn hole or slot, and what goes through it [mm].
    printed : bool
        Whether the latter is printed as well; a bit or a shank is not.
    """

    name: str
    hole_mm: Number
    through_mm: Number
    printed: bool = True


@dataclass(frozen=True, eq=False)
class ClosedEnd(Generic[N]):
    """The closed end of a bore with a round bottom.

    Attributes
    ----------
    wall_mm : float or array
        From the bottom of the bore to the nearest place outside along it [mm].
    rim_mm : float or array
        Diameter of what stands round it [mm].
    """

    wall_mm: N
    rim_mm: N


@dataclass(frozen=True, eq=False, kw_only=True)
class Sleeve(Generic[N]):
    """What is struck at one end and presses with its other.

    Attributes
    ----------
    socket_mm, outer_mm, head_mm : float or array
        Inner and outer diameter, and that of its solid head [mm].
    length_mm : float or array
        From the foot to the struck face [mm].
    bearing_mm : float or array
        Diameter of what it bears on [mm].
    on_roof : bool
        Whether it bears with the socket's roof, on the whole of that, and not with its foot.
    """

    socket_mm: N
    outer_mm: N
    head_mm: N
    length_mm: N
    bearing_mm: N
    on_roof: bool

    def pressed_mm2(self, outer_mm: Number, socket_mm: Number, bearing_mm: Number) -> Number:
        """Return the area it presses with at a corner: its foot's ring, or what the roof is on."""
        if self.on_roof:
            return np.pi / 4.0 * square(bearing_mm)
        outer = np.minimum(outer_mm, bearing_mm)
        return np.maximum(np.pi / 4.0 * (square(outer) - square(socket_mm)), 0.0)


@dataclass(frozen=True, eq=False, kw_only=True)
class Wings(Generic[N]):
    """Two wings on square necks that fingers turn, and the flats they turn with.

    Attributes
    ----------
    root_mm, near_mm, far_mm : float or array
        From the axis: where the necks begin, and where fingers press from and to [mm].
    neck_mm : float or array
        Side of the necks [mm].
    flats_mm : float or array
        Hexagon over its flats [mm].
    """

    root_mm: N
    near_mm: N
    far_mm: N
    neck_mm: N
    flats_mm: N

    def torque_nmm(self, side_mm: Number, finger_mm: Number, strength_mpa: Number) -> Number:
        """Return the torque that bends necks of a side off, 2 r s a3/6/(r - root) [N mm]."""
        lever = finger_mm - self.root_mm
        return 2.0 * finger_mm * strength_mpa * cube(side_mm) / 6.0 / lever


@dataclass(frozen=True, eq=False, kw_only=True)
class Tines(Generic[N]):
    """Two stepped tines that go under a shoulder on either side of a neck.

    Attributes
    ----------
    slot_mm, tine_mm : float or array
        Width of the slot, and of each tine [mm].
    rise_mm, step_mm : float
        Rise of a step, and of the first over nothing; from step to step [mm].
    steps : float or array
        How many there are [-].
    """

    slot_mm: N
    tine_mm: N
    rise_mm: float
    step_mm: float
    steps: N


@dataclass(frozen=True, eq=False, kw_only=True)
class Hook(Generic[N]):
    """A flat fork with a cup for what it pulls, and an eye for a cord on either side.

    Attributes
    ----------
    thick_mm, cup_mm : float or array
        Its thickness, and how deep the cup is sunk [mm].
    slot_mm, eyes_mm, wall_mm : float or array
        Width of its slot, from eye to eye, and what stands beside an eye [mm].
    """

    thick_mm: N
    cup_mm: N
    slot_mm: N
    eyes_mm: N
    wall_mm: N


@dataclass(frozen=True, eq=False)
class Impossible:
    """A size that cannot be built, whoever asked for it.

    Attributes
    ----------
    id : str
        Key of the fault.
    where : bool or array
        Whether it is so [-].
    what : str
        The message, with {numbers} still to be filled in.
    numbers : dict
        Numbers of the message.
    """

    id: str
    where: Number
    what: str
    numbers: dict[str, Number]


class Own(Generic[N]):
    """What only one kind has: its own sizes, as checks, drawing and report need them.

    A kind's record derives from this and says what of it applies.
    """

    @property
    def envelope_mm(self) -> tuple[N, N, N]:
        """Bounding box of the drawn part [mm]."""
        raise NotImplementedError

    @property
    def walls_mm(self) -> tuple[Number, ...]:
        """Drawn walls that carry no liquid, against the least the process prints [mm]."""
        return ()

    @property
    def exposed_walls_mm(self) -> tuple[Number, ...]:
        """Drawn walls that are wet inside and open to air [mm]."""
        return ()

    @property
    def bores_mm(self) -> tuple[Number, ...]:
        """Drawn bores beside the design's own [mm]."""
        return ()

    @property
    def fits(self) -> tuple[Fit, ...]:
        """What must go through it."""
        return ()

    @property
    def needs(self) -> frozenset[str]:
        """Features of this one that checks ask for, beside its kind's."""
        return frozenset()

    @property
    def notes(self) -> tuple[str, ...]:
        """How it is used, in sentences with their numbers."""
        return ()

    @property
    def made_for(self) -> Design[N] | None:
        """The part a tool is made for; without its sizes the tool has none."""
        return None

    @property
    def closed_end(self) -> ClosedEnd[N] | None:
        """The closed end of its bore, where it has one."""
        return None

    @property
    def sleeve(self) -> Sleeve[N] | None:
        """What is struck and presses, where it is a driver of some sort."""
        return None

    @property
    def wings(self) -> Wings[N] | None:
        """Wings to turn it by, where it has some."""
        return None

    @property
    def tines(self) -> Tines[N] | None:
        """Stepped tines to gauge and lift with, where it has some."""
        return None

    @property
    def hook(self) -> Hook[N] | None:
        """A hook to pull with, where it has one."""
        return None

    @property
    def impossible(self) -> tuple[Impossible, ...]:
        """What of its sizes cannot be built."""
        return ()

    def compensated(self, outside_mm: N, bore_mm: N) -> Own[N]:
        """Return its sizes drawn off the other way from what a service prints off [mm]."""
        raise NotImplementedError

    @property
    def sizes(self) -> tuple[Size, ...]:
        """Rows of the table of sizes that only this kind has."""
        raise NotImplementedError

    def dimensions(self) -> dict[str, N]:
        """Return its sizes by name, each name ending in its unit."""
        return {size.name: getattr(self, size.reads) for size in self.sizes}


@dataclass(frozen=True, eq=False, kw_only=True)
class Design(Generic[N]):
    """A part's drawn sizes with the conditions they were drawn for.

    Attributes
    ----------
    kind : Kind
        What it is.
    conditions : Conditions
        What it is designed for.
    forced : mapping
        Sizes the user forced.
    bore_mm : float or array
        Bore through the arms [mm].
    barbs : tuple of Barb
        One, or two where the ends differ.
    tip, hub, ring : Tip, Hub, Ring or None
        As the kind has them.
    neck_length_mm : float or array
        From the hub ball's surface (or between shoulders) to the shoulder [mm].
    mark : Mark
        What is engraved.
    own : Own or None
        Sizes that only this kind has.
    """

    kind: Kind
    conditions: Conditions
    forced: Mapping[str, Number]
    bore_mm: N
    barbs: tuple[Barb[N], ...] = ()
    tip: Tip[N] | None = None
    hub: Hub[N] | None = None
    ring: Ring[N] | None = None
    neck_length_mm: N
    mark: Mark
    own: Own[N] | None = None

    @property
    def arm_start_mm(self) -> N:
        """Position of the shoulder from the hub's centre, or from the barb's middle [mm]."""
        if self.hub is not None:
            return self.hub.ball_mm / 2.0 + self.neck_length_mm
        return self.neck_length_mm / 2.0

    @property
    def arm_length_mm(self) -> N:
        """From the hub's centre (or the barb's middle) to the first nose's end [mm]."""
        return self.arm_start_mm + self.insertion_mm

    @property
    def insertion_mm(self) -> N:
        """From the first nose's end to its shoulder; zero on a part without a barb [mm]."""
        return self.barbs[0].insertion_mm if self.barbs else 0.0 * self.bore_mm

    @property
    def neck_mm(self) -> N:
        """Return the widest neck of the arms [mm]."""
        widest: N = np.maximum(self.barbs[0].neck_mm, self.barbs[-1].neck_mm)
        return widest

    @property
    def tube_on_crest_mm(self) -> N:
        """Outer diameter of the widest tube on its barb [mm]."""
        first, second = self.barbs[0], self.barbs[-1]
        widest: N = np.maximum(first.tube_on_crest_mm, second.tube_on_crest_mm)
        return widest

    @property
    def seat_root_mm(self) -> N:
        """Distance from the hub's centre, or from the ring, to the taper's root [mm]."""
        assert self.tip is not None
        if self.hub is None:
            return self.tip.neck_mm
        return blend_end(self.hub.ball_mm, self.tip.root_mm, self.hub.blend_mm) + self.tip.neck_mm

    @property
    def driven_length_mm(self) -> N:
        """From the taper's root to the face that is struck [mm]."""
        assert self.tip is not None
        if self.hub is not None:
            return self.seat_root_mm + self.hub.pad_height_mm
        assert self.ring is not None
        return self.tip.neck_mm + self.ring.thickness_mm

    @property
    def envelope_mm(self) -> tuple[N, N, N]:
        """Bounding box of the drawn part [mm]."""
        if self.own is not None:
            return self.own.envelope_mm
        if self.hub is not None:
            assert self.tip is not None
            # The pad's flats face the arms, and its corners stand beside them.
            along: N = np.maximum(self.hub.ball_mm, self.hub.pad_mm)
            across: N = np.maximum(self.hub.ball_mm, 2.0 / sqrt(3.0) * self.hub.pad_mm)
            reach = self.arm_length_mm
            other = reach if self.kind.arms == 2 else along / 2.0
            tall = self.hub.pad_height_mm + self.seat_root_mm + self.tip.seat_mm
            return reach + other, across, tall
        if self.ring is not None:
            assert self.tip is not None
            tall = self.tip.seat_mm + self.driven_length_mm + self.insertion_mm
            wide: N = np.maximum(self.ring.ring_mm, self.barbs[0].crest_mm)
            return wide, wide, tall
        long = self.neck_length_mm + self.insertion_mm + self.barbs[-1].insertion_mm
        ends = (np.maximum(barb.crest_mm, barb.shoulder_mm) for barb in self.barbs)
        wide = reduce(np.maximum, ends, self.neck_mm)
        return long, wide, wide


Sizer = Callable[[Kind, Conditions, Mapping[str, Number], tuple[str, ...]], Design]
# Each takes its own kind of single part, which `Kind.single` names.
Drawer = Callable[[Any, str], Shape]
Viewer = Callable[[Any], tuple[View, ...]]
