"""A part in its hole, its driver on it, its fork under it, and pulled: seen in millimetres."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from barbwright.design.barb import Barb
from barbwright.design.foot import foot_height
from barbwright.design.kind import Design, Kind, Own
from barbwright.design.kinds.driver import DRIVER, Driver, fit_driver
from barbwright.design.kinds.fork import FORK, Fork, fit_fork, stepped_side
from barbwright.design.mark import Mark
from barbwright.design.outline import polyline
from barbwright.design.shape import Extruded, Revolved, Shape
from barbwright.design.single import single
from barbwright.design.tip import proving_pull
from barbwright.equations import square
from barbwright.say import millimetres, newtons

Points = NDArray[np.float64]

# So large that numbers and titles print at 7 points and more where sheet and card show them at
# about half size; words stand in the key below, where they are as large as the page's own.
TEXT_MM = 7.8
# What is shown of the wood to either side of the hole.
_WOOD_MM = 13.0
# What is shown of it where the hole does not matter.
_SHOWN_MM = 8.0
# Colours of sound wood, bark, nothing (or the part itself), and of a tool.
_WOOD, _BARK, _NONE, _TOOL = "#e9dcc3", "#c9b48f", "#fff", "#d5e0ea"
_STEEL, _TUBE = "#aab2ba", "#d9e6f2"


def text_mm(text: str) -> float:
    """Return how wide a line of the pictures' text is, about [mm].

    Parameters
    ----------
    text : str
        Without line breaks [-].

    Source: own_arithmetic
    """
    return 0.58 * TEXT_MM * len(text)


@dataclass(kw_only=True, eq=False)
class Panel:
    """One picture, up is up, while it is put together and when it is drawn.

    Attributes
    ----------
    title : str
        What it shows.
    blocks : list of (points, str)
        Flat areas and their colour, from the back to the front [mm].
    bodies : list of (list of points, str)
        Bodies joined of several outlines and their colour, from the back to the front [mm].
    lines : list of (float, float, float, float)
        From and to [mm].
    words : list of (float, float, str)
        What the key says, in its order, and where its number stands in the middle [mm].
    centred : list of (float, float, str)
        Figures that are read in their place, about their middle [mm].
    """

    title: str
    blocks: list[tuple[Points, str]] = field(default_factory=list)
    bodies: list[tuple[list[Points], str]] = field(default_factory=list)
    lines: list[tuple[float, float, float, float]] = field(default_factory=list)
    words: list[tuple[float, float, str]] = field(default_factory=list)
    centred: list[tuple[float, float, str]] = field(default_factory=list)
    least: Points = field(default_factory=lambda: np.array([np.inf, np.inf]))
    most: Points = field(default_factory=lambda: np.array([-np.inf, -np.inf]))

    def _reach(self, points: Iterable[Sequence[float]]) -> None:
        rows = np.array([list(point)[:2] for point in points])
        self.least = np.minimum(self.least, rows.min(axis=0))
        self.most = np.maximum(self.most, rows.max(axis=0))

    def _block(self, left: float, low: float, right: float, high: float, fill: str) -> None:
        corners = np.array([(left, low), (right, low), (right, high), (left, high)])
        self._reach(corners)
        self.blocks.append((corners, fill))

    def _body(self, outlines: Iterable[Points], fill: str = _NONE) -> None:
        self.bodies.append((list(outlines), fill))
        for points in self.bodies[-1][0]:
            self._reach(points)

    def _line(self, x0: float, y0: float, x1: float, y1: float) -> None:
        self._reach([(x0, y0), (x1, y1)])
        self.lines.append((x0, y0, x1, y1))

    def _words(self, x: float, y: float, text: str, from_x: float) -> None:
        """Set a number right of what it stands for, with a thin line to it."""
        at = x + TEXT_MM / 2.0
        taken = [other for place, other, _ in self.words if abs(place - at) < TEXT_MM]
        away = 0.25 * TEXT_MM * np.arange(40)
        # As near as no other number stands, above before below.
        free = next(
            height
            for height in np.stack([y + away, y - away], axis=1).ravel()
            if all(abs(height - other) >= TEXT_MM for other in taken)
        )
        self._line(from_x, y, x - 0.8, float(free))
        self._number(at, float(free), text)

    def _number(self, x: float, y: float, text: str) -> None:
        """Set a number at a point, with nothing to it."""
        half = TEXT_MM / 2.0
        self._reach([(x - half, y - half), (x + half, y + half)])
        self.words.append((x, y, text))

    def _inside(self, x: float, y: float, text: str) -> None:
        """Write about a point, with nothing to it."""
        half = text_mm(text) / 2.0
        self._reach([(x - half, y - TEXT_MM / 2.0), (x + half, y + TEXT_MM / 2.0)])
        self.centred.append((x, y, text))

    def _arrow(self, x: float, start: float, end: float) -> None:
        self._line(x, start, x, end)
        back = 2.4 if end < start else -2.4
        for way in (-1.2, 1.2):
            self._line(x, end, x + way, end + back)

    def _arrow_right(self, start: float, end: float, y: float) -> None:
        self._line(start, y, end, y)
        for way in (-1.2, 1.2):
            self._line(end, y, end - 2.4, y + way)

    def _rectangle(
        self, left: float, low: float, right: float, high: float, fill: str = _TOOL
    ) -> None:
        self._body([np.array([(left, low), (right, low), (right, high), (left, high)])], fill)


def panels_in_use(design: Design) -> tuple[Panel, ...]:
    """Return the pictures of a part as it is tapped, gauged and pulled.

    Parameters
    ----------
    design : Design
        A single part with a tip, or the driver or the fork made for one [mm].

    Returns
    -------
    tuple of Panel
        In its hole, under its driver, its fork under it, and the pull that proves its seat.
        None for a part that is none of these.

    Source: own_derivation
    """
    own = design.own
    host = own.host if isinstance(own, (Driver, Fork)) else design
    if host.tip is None or (host.hub is None and host.ring is None):
        return ()
    part = single(host)
    driver = _tool(DRIVER, host, own if isinstance(own, Driver) else fit_driver(host, {}))
    fork = _tool(FORK, host, own if isinstance(own, Fork) else fit_fork(host, {}))
    return (
        _in_its_hole(part),
        _under_its_driver(part, driver),
        _over_its_fork(part, fork),
        _pulled(part, fork, float(proving_pull(host.conditions, host.tip))),
    )


def _tool(kind: Kind, host: Design, own: Own) -> Design[float]:
    return single(
        Design(
            kind=kind,
            conditions=host.conditions,
            forced={},
            bore_mm=0.0,
            neck_length_mm=0.0,
            mark=Mark.none(()),
            own=own,
        )
    )


@dataclass(frozen=True)
class _Standing:
    """A part tapped to its asked contact in the middle of its hole's spread [mm].

    Attributes
    ----------
    hole_mm : float
        Diameter of the hole.
    wood_mm, bark_mm, floor_mm : float
        Heights over the part's origin: sound wood's face, the bark's, the hole's floor.
    """

    hole_mm: float
    wood_mm: float
    bark_mm: float
    floor_mm: float


def _standing(part: Design[float]) -> _Standing:
    tip, conditions = part.tip, part.conditions
    assert tip is not None
    hole = float(conditions.hole_low_mm + conditions.hole_high_mm) / 2.0
    by_hand = max((hole - tip.lead_mm) / tip.taper, 0.0)
    # From the origin down: the taper's root, then what of the taper stays outside sound wood.
    wood = -(part.seat_root_mm + tip.seat_mm - by_hand - tip.contact_mm)
    bark = wood + float(conditions.bark_mm)
    return _Standing(hole, wood, bark, bark - tip.hole_depth_mm)


def _planted(
    panel: Panel, part: Design[float], left: float, right: float, *, across_arms: bool, whole: bool
) -> _Standing:
    """Draw the wood round a part that stands in it, and the part; not whole, cut off below."""
    at = _standing(part)
    deep = at.floor_mm - 4.0 if whole else at.wood_mm - _SHOWN_MM
    panel._block(left, deep, right, at.wood_mm, _WOOD)
    panel._block(left, at.wood_mm, right, at.bark_mm, _BARK)
    floor = max(at.floor_mm, deep)
    panel._block(-at.hole_mm / 2.0, floor, at.hole_mm / 2.0, at.bark_mm, _NONE)
    seen = _silhouette(part.kind.draw(part, "part"), across_arms=across_arms)
    panel._body([_above(points, deep) for points in seen])
    return at


def _above(points: Points, low: float) -> Points:
    """Return what of an outline lies above a height."""
    kept: list[Points] = []
    for start, end in zip(points, np.roll(points, -1, axis=0), strict=True):
        if start[1] >= low:
            kept.append(start)
        if (start[1] >= low) != (end[1] >= low):
            share = (low - start[1]) / (end[1] - start[1])
            kept.append(start + share * (end - start))
    return np.array(kept)


def _in_its_hole(part: Design[float]) -> Panel:
    """Return the part tapped to its asked contact in the middle of its hole's spread."""
    tip = part.tip
    assert tip is not None
    panel = Panel(title="In its hole")
    wide = max(_WOOD_MM, _standing(part).hole_mm)
    at = _planted(panel, part, -wide, wide, across_arms=False, whole=True)
    bark = at.bark_mm - at.wood_mm
    words = panel.most[0] + 4.0
    panel._words(words, at.wood_mm - tip.contact_mm, "sound wood", wide)
    panel._words(words, at.wood_mm + bark / 2.0, f"bark, {millimetres(bark)} mm", wide)
    under = -part.seat_root_mm + tip.neck_mm
    gap = under - at.bark_mm
    if gap > 1.0:
        panel._words(words, under - gap / 2.0, f"gap, about {gap:.0f} mm when tapped", 3.0)
    return panel


def _over_its_fork(part: Design[float], tool: Design[float]) -> Panel:
    """Return the part in its hole seen along the arms, the fork's steps under it from the left."""
    own, tip = tool.own, part.tip
    assert isinstance(own, Fork)
    assert tip is not None
    panel = Panel(title="Its fork under it: gauge, and wedge")
    stands = _standing(part)
    free = -part.seat_root_mm + foot_height(part, own.slot_mm) - stands.bark_mm
    under = min(max(int(free / own.rise_mm), 1), int(own.steps))
    shift = _goes_under(part, own, free)
    fork = np.array([(shift - u, v + stands.bark_mm) for u, v in stepped_side(own)])
    right = max(float(fork[:, 0].max()), _WOOD_MM) + 3.0
    _planted(panel, part, float(fork[:, 0].min()) - 3.0, right, across_arms=True, whole=False)
    _arms_end_on(panel, part)
    panel._body([fork], _TOOL)
    back, middle = shift - own.block_end_mm, stands.bark_mm + own.thick_mm * 0.6
    panel._arrow_right(back - 13.0, back - 1.0, middle)
    panel._number(back - 13.0 - TEXT_MM / 2.0, middle, "to free: tap the block lightly")
    words = panel.most[0] + 4.0
    top = stands.bark_mm + under * own.rise_mm
    panel._words(words, top + 1.0, f"count the steps that go under: {under}", own.step_mm / 2.0)
    panel._words(words, top - 4.5, f"home: {tip.ticks:.0f} fewer than by hand", own.step_mm * 2.0)
    panel._words(words, stands.wood_mm + 1.0, "lies flat on the bark", right)
    return panel


def _goes_under(part: Design[float], own: Fork[float], free_mm: float) -> float:
    """Return how far right of its middle the slot's round end stays when steps meet the part [mm].

    Ring or ball rest on the slot's edges, as long as they reach over it.
    """
    reach = float(np.sqrt(max(square(own.foot_mm) - square(own.slot_mm), 0.0))) / 2.0
    along = np.linspace(-reach, reach, 201)
    rounded = reach - np.sqrt(np.maximum(square(reach) - square(along), 0.0))
    foot = free_mm + (rounded if part.hub is not None else 0.0 * along)
    stairs = np.array(stepped_side(own)[:4:-1])
    for shift in np.arange(0.0, -own.tines_mm, -0.05):
        thick = np.interp(shift - along, stairs[:, 0], stairs[:, 1], left=0.0)
        if np.all(thick <= foot + 1e-9):
            return float(shift)
    return -own.tines_mm


def _arms_end_on(panel: Panel, part: Design[float]) -> None:
    """Draw the nearer arm, which points at whoever looks."""
    if part.hub is None:
        return
    turn = np.linspace(0.0, 2.0 * np.pi, 48)
    for size in (part.barbs[0].crest_mm, part.bore_mm):
        panel._body([size / 2.0 * np.column_stack([np.cos(turn), np.sin(turn)])])


def _pulled(part: Design[float], tool: Design[float], pull_n: float) -> Panel:
    """Return the part over the hook, a cord from eye to eye, and a scale in line with its tip."""
    own = tool.own
    assert isinstance(own, Fork)
    panel = Panel(title="The pull that proves it")
    foot = -part.seat_root_mm + foot_height(part, own.slot_mm)
    low, half = foot - own.hook_mm + own.cup_mm, own.width_mm / 2.0
    panel._rectangle(-half, low, half, low + own.thick_mm)
    at = _planted(panel, part, -half - 4.0, half + 4.0, across_arms=True, whole=False)
    _arms_end_on(panel, part)
    panel._rectangle(-own.wide_mm / 2.0, low, own.wide_mm / 2.0, low + own.hook_mm)
    top = float(panel.most[1])
    hook = top + 11.0
    for way in (-1.0, 1.0):
        eye = way * own.eyes_mm / 2.0
        panel._line(eye, low + own.hook_mm / 2.0, eye, top + 2.0)
        panel._line(eye, top + 2.0, 0.0, hook)
    scale = _scale(panel, hook, newtons(pull_n, "up"))
    words = panel.most[0] + 4.0
    panel._words(words, float(panel.most[1]) - 3.0, "slowly, in line with the tip", 1.5)
    panel._words(words, hook + 8.0, "luggage scale", scale)
    panel._words(words, top + 2.0, "cord from eye to eye", own.eyes_mm / 2.0)
    if part.hub is not None:
        panel._words(words, 0.0, "never by an arm or tube", part.barbs[0].crest_mm / 2.0)
    panel._words(words, low + own.hook_mm / 2.0, "hook end of its fork", own.wide_mm / 2.0)
    middle = (at.wood_mm + at.bark_mm) / 2.0
    panel._words(words, middle, "valve shut, line vented, tube slack", half + 4.0)
    return panel


def _scale(panel: Panel, hook: float, said: str) -> float:
    """Draw a luggage scale, its hook and which way a hand draws it; return half its width [mm]."""
    turn = np.linspace(-np.pi, np.pi / 2.0, 24)
    bend = np.column_stack([1.5 * np.cos(turn), hook + 1.5 * np.sin(turn)])
    for start, end in pairwise(bend):
        panel._line(*start, *end)
    panel._line(0.0, hook + 1.5, 0.0, hook + 4.0)
    half = max(7.0, text_mm(said) / 2.0 + 1.5)
    panel._rectangle(-half, hook + 4.0, half, hook + 13.0, _NONE)
    panel._inside(0.0, hook + 8.5, said)
    panel._arrow(0.0, hook + 14.0, hook + 21.0)
    return half


def _under_its_driver(part: Design[float], driver: Design[float]) -> Panel:
    """Return part and driver seen along the arms, which stand in the driver's slots."""
    own = driver.own
    assert isinstance(own, Driver)
    panel = Panel(title="Under its driver")
    panel._body(_silhouette(part.kind.draw(part, "part"), across_arms=True))
    if part.hub is not None:
        foot = part.hub.pad_height_mm - own.depth_mm
    else:
        assert part.ring is not None
        foot = part.ring.thickness_mm
    shape = driver.kind.draw(driver, "driver")
    seen = _silhouette(shape, across_arms=True)
    panel._body([points + np.array([0.0, foot]) for points in seen], _TOOL)
    if part.hub is not None:
        half, high = own.slot_mm / 2.0, foot + own.slot_height_mm
        turns = np.linspace(0.0, np.pi, 24)
        top = np.column_stack([half * np.cos(turns), high - half + half * np.sin(turns)])
        panel._body([np.vstack([[(half, foot)], top, [(-half, foot)]])])
    _arms_end_on(panel, part)
    top_mm = foot + own.length_mm
    panel._arrow(0.0, top_mm + 11.0, top_mm + 1.0)
    words = panel.most[0] + 4.0
    panel._words(words, top_mm + 6.0, "light blows, in line with it", 1.5)
    if own.arms:
        at = foot + own.wings_at_mm
        panel._words(words, at, "two fingertips turn it", own.span_mm / 2.0)
        panel._words(words, foot + own.slot_height_mm / 3.0, "arms stand free in the slots",
                    own.slot_mm / 2.0)  # fmt: skip
    return panel


def _silhouette(shape: Shape, *, across_arms: bool) -> list[Points]:
    """Return what is seen of each body from the side: along the arms, or square to them."""
    seen = 1 if across_arms else 0
    out = []
    for body in shape.adds:
        if isinstance(body, Extruded):
            plan = body.outline[:, :2]
            low, high = float(plan[:, seen].min()), float(plan[:, seen].max())
            z = body.origin[2]
            corners = [(low, z), (high, z), (high, z + body.depth_mm), (low, z + body.depth_mm)]
            out.append(np.array(corners))
        elif isinstance(body, Revolved):
            out += _turned(body, seen)
    return out


def _turned(body: Revolved, seen: int) -> list[Points]:
    points = polyline(body.outline)
    ring = np.vstack([points, points[::-1] * (1.0, -1.0)])
    along, radius = ring.T
    up, out = body.axis[2], body.axis[seen]
    if abs(up) > 0.5:
        return [np.column_stack([radius, along * up])]
    if abs(out) > 0.5:
        return [np.column_stack([along * out, radius])]
    # It points at whoever looks.
    return []


# The rig of a proof test: plate and what is seen of the block; a bolt; a stub, its cap, its stop;
# from a part that lies to the board below it.
_PLATE_MM, _BOLT_MM, _CAP_MM, _STOP_MM = 6.0, 3.0, 5.0, 6.0
_REACH_MM, _UNDER_MM, _STUB_MM, _BOARD_MM = 22.0, 12.0, 10.0, 8.0
_CLOSED = "stub, cap, stop"
_FEED = "feed, its connector, stop"


def panels_on_the_rig(designs: Iterable[Design]) -> tuple[Panel, ...]:
    """Return the pictures of a kit's parts closed and held for their proof test.

    Parameters
    ----------
    designs : iterable of Design
        Single parts, tools among them [mm].

    Returns
    -------
    tuple of Panel
        What holds tees and elbows down, seen along their arms, drawn once; then each kind's open
        ends, closed or fed. None for a tool.

    Source: own_derivation
    """
    parts: dict[str, Design[float]] = {}
    for design in designs:
        if design.kind.carries:
            parts.setdefault(design.kind.name, single(design))
    hubs = {name: part for name, part in parts.items() if part.hub is not None}
    panels = []
    if hubs:
        panels.append(_held_down(next(iter(hubs.values())), f"{_listed(hubs)}: held"))
    for name, part in parts.items():
        title = name.capitalize()
        if part.hub is not None:
            panels.append(_arms_closed(part, f"{title}: {_ends(part)}"))
        elif part.tip is not None:
            panels.append(_held_down(part, f"{title}: held, {_ends(part)}"))
        else:
            panels.append(_lying(part, f"{title}: {_ends(part)}"))
    return tuple(panels)


def _ends(part: Design[float]) -> str:
    """Return what is done with a part's tubes: where it has one, that is the feed."""
    return "fed" if part.kind.arms == 1 else "closed"


def _listed(names: Iterable[str]) -> str:
    return ", ".join(names).capitalize()


def _over_mm(part: Design[float]) -> float:
    """Return the height that a plate lies on: the pad's top, or the shoulder ring's."""
    if part.hub is not None:
        return part.hub.pad_height_mm
    assert part.ring is not None
    return part.ring.thickness_mm


def _in_a_block(part: Design[float], panel: Panel, wide: float, *, across: bool) -> float:
    """Draw a hardwood block with the part tapped into its blind hole; return its top [mm]."""
    at = _standing(part)
    assert part.tip is not None
    hole, top = at.hole_mm, at.wood_mm
    floor = -(part.seat_root_mm + part.tip.seat_mm) - 3.0
    panel._block(-wide, floor - _UNDER_MM, wide, top, _WOOD)
    panel._block(-hole / 2.0, floor, hole / 2.0, top, _NONE)
    panel._body(_silhouette(part.kind.draw(part, "part"), across_arms=across))
    return top


def _held_down(part: Design[float], title: str) -> Panel:
    """Return a tip under its plate; that of a tip in line has a slot, and a bar over the feed."""
    panel = Panel(title=title)
    top = _in_a_block(part, panel, _REACH_MM, across=True)
    over, low = _over_mm(part), float(panel.least[1])
    # An in-line tip's tube goes up through a slot in the plate.
    slot, bar = 0.0, over + _PLATE_MM
    if part.hub is not None:
        panel._block(-_REACH_MM, over, _REACH_MM, over + _PLATE_MM, _STEEL)
        _arms_end_on(panel, part)
    else:
        half = part.barbs[0].tube_on_crest_mm / 2.0
        slot = half + 0.5
        stub = float(panel.most[1]) + _STUB_MM
        bar = stub + _CAP_MM + 1.0 + _PLATE_MM
        panel._block(-half, stub - _STUB_MM - part.barbs[0].insertion_mm, half, stub, _TUBE)
        panel._block(-half - 1.0, stub, half + 1.0, stub + _CAP_MM, _STEEL)
        # The water comes from the side, so that the bar lies square on the connector.
        panel._block(half + 1.0, stub + 1.0, _REACH_MM - 8.0, stub + _CAP_MM - 1.0, _TUBE)
        panel._block(-_REACH_MM, bar - _PLATE_MM, _REACH_MM, bar, _STEEL)
    for side in (-1.0, 1.0):
        near, far = sorted((side * slot, side * _REACH_MM))
        if part.hub is None:
            panel._block(near, over, far, over + _PLATE_MM, _STEEL)
        at = side * (_REACH_MM - 5.0)
        for under, above in ((low, over), (over + _PLATE_MM, bar - _PLATE_MM)):
            if above > under:
                panel._block(at - _BOLT_MM / 2.0, under, at + _BOLT_MM / 2.0, above, _STEEL)
        for z in (bar, low - 2.5):
            panel._block(at - _BOLT_MM, z, at + _BOLT_MM, z + 2.5, _STEEL)
    words = float(panel.most[0]) + 4.0
    if part.hub is None:
        panel._words(words, bar - _PLATE_MM / 2.0, "bar over the feed's connector", _REACH_MM)
    panel._words(words, over + _PLATE_MM / 2.0, "plate over the pad" if part.hub is not None
                 else "plate, slot for the tube", _REACH_MM)  # fmt: skip
    panel._words(words, (over + top) / 2.0, "bolts through the block", _REACH_MM - 3.5)
    panel._words(words, top - 5.0, "hardwood block", _REACH_MM)
    panel._words(words, low + _UNDER_MM - 1.0, "hole ends inside", 2.0)
    return panel


def _arms_closed(part: Design[float], title: str) -> Panel:
    """Return the arms with their tubes: one fed, another closed by a cap, each with its stop."""
    panel, middle = Panel(title=title), Panel(title="")
    middle._body(_silhouette(part.kind.draw(part, "part"), across_arms=False))
    left, right = float(middle.least[0]), float(middle.most[0])
    ends = [right] if part.kind.arms == 1 else [right, left]
    wide = max(abs(left), abs(right)) + _STUB_MM + _CAP_MM + _STOP_MM + 2.0
    top = _in_a_block(part, panel, wide, across=False)
    over = _over_mm(part)
    panel._block(-6.0, over, 6.0, over + _PLATE_MM, _STEEL)
    for index, end in enumerate(ends):
        fed = index == len(ends) - 1
        roof = over + _PLATE_MM if fed else 0.0
        fed_at = _tube_end(panel, part.barbs[0], end, board=top, feed_to=roof)
    if len(ends) == 2:
        panel._words(float(panel.most[0]) + 4.0, 0.0, _CLOSED, wide - _STOP_MM)
    # Beside what it names: a line from the far side would cross the part.
    way = 1.0 if fed_at > 0.0 else -1.0
    for at, y, text in (
        (-6.0 * way, over + _PLATE_MM / 2.0, "plate"),
        (fed_at, over + _PLATE_MM - TEXT_MM / 2.0, _FEED),
    ):
        out = 1.0 if at > 0.0 else -1.0
        panel._line(at, y, at + 5.0 * out, y)
        panel._number(at + out * (5.8 + TEXT_MM / 2.0), y, text)
    return panel


def _lying(part: Design[float], title: str) -> Panel:
    """Return a part without a tip on its board: a barb's two tubes, or a cap on the one it closes.

    A cap takes the place of every other closure: what it is tested for is to stay on.
    """
    panel, middle = Panel(title=title), Panel(title="")
    outlines = _silhouette(part.kind.draw(part, "part"), across_arms=False)
    closes = part.kind.arms == 1
    if closes:
        # Drawn standing on its head: laid down, its barb to the left.
        outlines = [np.column_stack([-points[:, 1], points[:, 0]]) for points in outlines]
    middle._body(outlines)
    (left, low), (right, high) = middle.least, middle.most
    board = float(min(low, -max(barb.tube_on_crest_mm for barb in part.barbs) / 2.0)) - _BOARD_MM
    wide = float(max(-left, right)) + _STUB_MM + _CAP_MM + _STOP_MM + 2.0
    panel._block(-wide, board - _UNDER_MM, wide, board, _WOOD)
    panel._body(outlines)
    roof = float(high) + _BOARD_MM
    if closes:
        stop = float(right) + 1.0
        panel._block(stop, board, stop + _STOP_MM, float(high) + 2.0, _WOOD)
        panel._line(stop, board, stop, float(high) + 2.0)
        panel._words(wide + 4.0, 0.0, "stop behind its head", stop + _STOP_MM)
    else:
        _tube_end(panel, part.barbs[-1], float(right), board=board)
        panel._words(wide + 4.0, 0.0, _CLOSED, wide - _STOP_MM)
    fed_at = _tube_end(panel, part.barbs[0], float(left), board=board, feed_to=roof)
    panel._words(wide + 4.0, roof - 1.0, _FEED, fed_at + 1.5)
    panel._words(wide + 4.0, board - _UNDER_MM / 2.0, "board", wide)
    return panel


def _tube_end(
    panel: Panel, barb: Barb[float], end: float, *, board: float, feed_to: float = 0.0
) -> float:
    """Draw a tube on a barb that ends there, its cap or connector and its stop on the board.

    Returns where the feed comes in; it comes from above, as far as ``feed_to`` [mm].
    """
    half, way = barb.tube_on_crest_mm / 2.0, 1.0 if end > 0.0 else -1.0
    # From where it stops on the arm, over the barb, to its own end.
    start, stub = end - way * barb.insertion_mm, end + way * _STUB_MM
    panel._block(*_between(start, stub, -half, half), _TUBE)
    panel._block(*_between(stub, stub + way * _CAP_MM, -half - 1.0, half + 1.0), _STEEL)
    stop = stub + way * (_CAP_MM + 1.0)
    panel._block(*_between(stop, stop + way * _STOP_MM, board, half + 4.0), _WOOD)
    panel._line(stop, board, stop, half + 4.0)
    fed_at = stub + way * _CAP_MM / 2.0
    if feed_to:
        panel._block(fed_at - 1.5, half + 1.0, fed_at + 1.5, feed_to, _TUBE)
    return fed_at


def _between(x0: float, x1: float, low: float, high: float) -> tuple[float, float, float, float]:
    return min(x0, x1), low, max(x0, x1), high
