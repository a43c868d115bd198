"""A part in its hole, and under its driver: what is to be seen, in millimetres."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from barbwright.design.kind import Design
from barbwright.design.kinds.driver import DRIVER, Driver, fit_driver
from barbwright.design.mark import Mark
from barbwright.design.outline import polyline
from barbwright.design.shape import Extruded, Revolved, Shape
from barbwright.design.single import single
from barbwright.say import millimetres

Points = NDArray[np.float64]

TEXT_MM = 2.6
_WORDS_MM = 34.0
# What is shown of the wood to either side of the hole.
_WOOD_MM = 13.0
# Colours of sound wood, bark and nothing.
_WOOD, _BARK, _NONE = "#e9dcc3", "#c9b48f", "#fff"


@dataclass(kw_only=True, eq=False)
class Panel:
    """One picture, up is up, while it is put together and when it is drawn.

    Attributes
    ----------
    title : str
        What it shows.
    blocks : list of (points, str)
        Flat areas and their colour, from the back to the front [mm].
    bodies : list of list of points
        Bodies joined of several outlines, from the back to the front [mm].
    lines : list of (float, float, float, float)
        From and to [mm].
    words : list of (float, float, str)
        Where they begin, at half their height [mm].
    """

    title: str
    blocks: list[tuple[Points, str]] = field(default_factory=list)
    bodies: list[list[Points]] = field(default_factory=list)
    lines: list[tuple[float, float, float, float]] = field(default_factory=list)
    words: list[tuple[float, float, str]] = field(default_factory=list)
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

    def _body(self, outlines: Iterable[Points]) -> None:
        self.bodies.append(list(outlines))
        for points in self.bodies[-1]:
            self._reach(points)

    def _line(self, x0: float, y0: float, x1: float, y1: float) -> None:
        self._reach([(x0, y0), (x1, y1)])
        self.lines.append((x0, y0, x1, y1))

    def _words(self, x: float, y: float, text: str, from_x: float) -> None:
        """Write to the right of a point, with a thin line to it."""
        self._line(from_x, y, x - 0.8, y)
        self._reach([(x, y - TEXT_MM), (x + _WORDS_MM, y + TEXT_MM)])
        self.words.append((x, y, text))

    def _arrow(self, x: float, high: float, low: float) -> None:
        self._line(x, high, x, low)
        for way in (-1.2, 1.2):
            self._line(x, low, x + way, low + 2.4)


def panels_in_use(design: Design) -> tuple[Panel, ...]:
    """Return the pictures of a part in its hole as it is tapped, and of the same under its driver.

    Parameters
    ----------
    design : Design
        A single part with a tip, or the driver made for one [mm].

    Returns
    -------
    tuple of Panel
        None for a part that is neither.

    Source: own_derivation
    """
    own = design.own
    host = own.host if isinstance(own, Driver) else design
    if host.tip is None or (host.hub is None and host.ring is None):
        return ()
    part = single(host)
    slots = host.kind.arms if host.hub is not None else 0
    driver = single(
        Design(
            kind=DRIVER,
            conditions=host.conditions,
            forced={},
            bore_mm=0.0,
            neck_length_mm=0.0,
            mark=Mark.none(()),
            own=own if isinstance(own, Driver) else fit_driver(host, slots, {}),
        )
    )
    return _in_its_hole(part), _under_its_driver(part, driver)


def _in_its_hole(part: Design[float]) -> Panel:
    """Return the part tapped to its asked contact in the middle of its hole's spread."""
    tip, conditions = part.tip, part.conditions
    assert tip is not None
    hole = float(conditions.hole_low_mm + conditions.hole_high_mm) / 2.0
    by_hand = max((hole - tip.lead_mm) / tip.taper, 0.0)
    # From the origin down: the taper's root, then what of the taper stays outside sound wood.
    wood = -(part.seat_root_mm + tip.seat_mm - by_hand - tip.contact_mm)
    bark = float(conditions.bark_mm)
    panel = Panel(title="In its hole")
    wide, floor = max(_WOOD_MM, hole), wood + bark - tip.hole_depth_mm
    deep = floor - 4.0
    panel._block(-wide, deep, wide, wood, _WOOD)
    panel._block(-wide, wood, wide, wood + bark, _BARK)
    panel._block(-hole / 2.0, floor, hole / 2.0, wood + bark, _NONE)
    panel._body(_silhouette(part.kind.draw(part, "part"), across_arms=False))
    words = panel.most[0] + 4.0
    panel._words(words, wood - tip.contact_mm, "sound wood", wide)
    panel._words(words, wood + bark / 2.0, f"bark, {millimetres(bark)} mm", wide)
    under = -part.seat_root_mm + tip.neck_mm
    gap = under - wood - bark
    if gap > 1.0:
        panel._words(words, under - gap / 2.0, f"gap, about {gap:.0f} mm when tapped", 3.0)
    return panel


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
    panel._body([points + np.array([0.0, foot]) for points in _silhouette(shape, across_arms=True)])
    if part.hub is not None:
        half, high = own.slot_mm / 2.0, foot + own.slot_height_mm
        turns = np.linspace(0.0, np.pi, 24)
        top = np.column_stack([half * np.cos(turns), high - half + half * np.sin(turns)])
        panel._body([np.vstack([[(half, foot)], top, [(-half, foot)]])])
        for size in (part.barbs[0].crest_mm, part.bore_mm):
            ring = np.linspace(0.0, 2.0 * np.pi, 48)
            panel._body([size / 2.0 * np.column_stack([np.cos(ring), np.sin(ring)])])
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
