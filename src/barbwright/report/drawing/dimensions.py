"""Where a view's dimensions stand at one scale: lines tier by tier, texts where nothing runs."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from math import atan2, cos, degrees, hypot, radians, sin

import numpy as np

from barbwright.design.view import (
    DIAMETER,
    Across,
    Along,
    Angle,
    Ball,
    Note,
    Path,
    Spot,
    Stack,
    View,
    two,
)
from barbwright.report.drawing.placed import (
    DIMS,
    Angular,
    Box,
    Item,
    Linear,
    Stroke,
    Words,
    crossing,
    overlapping,
)
from barbwright.report.drawing.views import inside, lines_of, straight
from barbwright.report.fonts import text_width

# On the paper [mm]: heights of texts, gaps, and how far lines stand apart.
TEXT_MM = 2.2
GAP_MM = 1.2
PITCH_MM = 4.6
ROW_MM = 7.0
CLEAR_MM = 1.5
ARROW_MM = 1.8
EXTENSION_MM = 1.0
OFFSET_MM = 0.8
_MARGIN_MM = 0.4
# On a feature shorter than this, a diameter's text would stand on the lengths beside it.
_CRAMPED_MM = 7.0
# How far out the last line of a stack may stand.
_FAR_MM = 80.0
# A line of text from the foot of its brackets to the top of its signs.
_TALL_MM = 2.9


@dataclass(frozen=True)
class Frame:
    """A stack's own directions: along its axis, and outward from it.

    Attributes
    ----------
    axis : str
        Whether the axis runs to the right or up.
    side : int
        Which way is outward.
    """

    axis: str
    side: int

    def spot(self, along: float, out: float) -> Spot:
        """Return a place in the view [mm]."""
        across = self.side * out
        return (along, across) if self.axis == "u" else (across, along)

    def seen(self, spot: Spot) -> Spot:
        """Return how far along and how far outward a place is [mm]."""
        along, across = spot if self.axis == "u" else spot[::-1]
        return along, self.side * across

    def line(self, *spots: Spot) -> Path:
        """Return straight segments through places given along and outward."""
        points = np.array([self.spot(*spot) for spot in spots])
        return np.hstack([points[:-1], points[1:]])


class Placing:
    """One view at one scale: what is placed, and what no text may stand on.

    Parameters
    ----------
    view : View
        What is seen, and which sizes stand where [mm].
    paper_mm : float
        Length in the view of a millimetre of paper [mm].
    tolerance : callable
        From a size to its tolerance [mm].
    """

    def __init__(self, view: View, paper_mm: float, tolerance: Callable[[float], float]) -> None:
        self.view, self.p, self._tolerance = view, paper_mm, tolerance
        self.items: list[Item] = lines_of(view, paper_mm)
        self.boxes: list[Box] = []
        self._strokes: list[Path] = [
            straight(item.path) for item in self.items if isinstance(item, Stroke)
        ]
        self._ends: dict[str, float] = {}
        # Extension lines still to come: no text may stand where they will run.
        self._pending: dict[tuple[int, int], Path] = {
            (number, level): self._rays(stack, tier)
            for number, stack in enumerate(view.stacks)
            for level, tier in enumerate(stack.tiers)
        }
        for number, stack in enumerate(view.stacks):
            self._place_stack(number, stack)
        for angle in view.angles:
            self._place_angle(angle)
        for ball in view.balls:
            self._place_ball(ball)
        for note in view.notes:
            self._place_note(note)

    # --- what is there

    @property
    def reach(self) -> Box:
        """The box round all that is placed [mm]."""
        strokes = np.vstack(self._strokes).reshape(-1, 2)
        corners = np.array(self.boxes).reshape(-1, 2)
        every = np.vstack([strokes, corners])
        low, high = every.min(axis=0), every.max(axis=0)
        return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))

    @property
    def crossed(self) -> int:
        """How many texts a line runs through."""
        strokes = np.vstack(self._strokes)
        return sum(bool(len(crossing(box, strokes))) for box in self.boxes)

    def _stroke(self, segments: Path) -> None:
        self._strokes.append(segments)

    def _wide(self, text: str) -> float:
        return text_width(text) * TEXT_MM * self.p

    def _shown(self, size_mm: float, sign: str = "") -> str:
        return f"{sign}{two(size_mm)}±{two(self._tolerance(size_mm))}"

    def _box(self, centre: Spot, wide: float, tall: float) -> Box:
        u, v = centre
        return (u - wide / 2.0, v - tall / 2.0, u + wide / 2.0, v + tall / 2.0)

    def _runs(self) -> Path:
        """Return every line that is there or still to come."""
        return np.vstack([*self._strokes, *self._pending.values()])

    def _free(self, box: Box, runs: Path) -> bool:
        gap = _MARGIN_MM * self.p
        wider = (box[0] - gap, box[1] - gap, box[2] + gap, box[3] + gap)
        return not any(_meet(wider, one) for one in self.boxes) and not len(crossing(wider, runs))

    def _clear(self, segments: Path) -> bool:
        """Return whether a line would run through no text."""
        return not any(len(crossing(box, segments)) for box in self.boxes)

    def _choose(self, centres: Iterable[Spot], wide: float, tall: float) -> Spot:
        """Return the first place where a text stands free, or else the first of all."""
        first: Spot | None = None
        runs = self._runs()
        for centre in centres:
            if first is None:
                first = centre
            if self._free(self._box(centre, wide, tall), runs):
                first = centre
                break
        assert first is not None
        self.boxes.append(self._box(first, wide, tall))
        return first

    # --- stacks

    def _rays(self, stack: Stack, tier: tuple[Across, ...] | tuple[Along, ...]) -> Path:
        frame, rays, far = Frame(stack.axis, stack.side), [np.empty((0, 4))], _FAR_MM * self.p
        for one in tier:
            if isinstance(one, Along):
                for spot in (one.start, one.end):
                    along, out = frame.seen(spot)
                    rays.append(frame.line((along, out), (along, stack.clear_mm + far)))
        return np.vstack(rays)

    def _place_stack(self, number: int, stack: Stack) -> None:
        frame = Frame(stack.axis, stack.side)
        out = stack.clear_mm + CLEAR_MM * self.p
        for name in stack.after:
            out = max(out, self._ends[name] + CLEAR_MM * self.p)
        cramped: list[Across] = []
        for level, tier in enumerate(stack.tiers):
            across = [one for one in tier if isinstance(one, Across)]
            cramped += [one for one in across if one.room_mm / self.p < _CRAMPED_MM]
            roomy = [one for one in across if one not in cramped]
            along = [one for one in tier if isinstance(one, Along)]
            self._pending.pop((number, level))
            if roomy:
                out = self._place_across(frame, stack, roomy, out)
            if along:
                out = self._place_along(frame, along, out)
        if cramped:
            out = self._place_across(frame, stack, cramped, out)
        self._ends[stack.name] = out

    def _place_across(self, frame: Frame, stack: Stack, items: list[Across], clear: float) -> float:
        """Draw diameters, their texts in a row outside; return how far out they end."""
        p, far, last = self.p, clear, stack.lowest_mm + stack.lowest_lines * PITCH_MM * self.p
        lines = sorted(
            ((one.at_mm + one.beyond * ROW_MM * p, one) for one in items), key=lambda pair: pair[0]
        )
        for line, one in lines:
            half = one.size_mm / 2.0
            self._stroke(frame.line((line, -half), (line, half), (line, max(clear, half))))
            if one.beyond:
                over = line + (EXTENSION_MM * p if one.beyond > 0 else -EXTENSION_MM * p)
                for edge in (-half, half):
                    self._stroke(frame.line((one.at_mm, edge), (over, edge)))
        start = clear + 2.0 * p
        for line, one in lines:
            half, wide = one.size_mm / 2.0, self._wide(self._shown(one.size_mm, DIAMETER))
            middle = start + GAP_MM * p + wide / 2.0
            sides = (_TALL_MM * p, wide) if frame.axis == "u" else (wide, _TALL_MM * p)
            steps = sorted(np.arange(-40.0, 80.5, 0.5) * p, key=abs)
            wanted = [at for at in (line + step for step in steps) if at >= last] or [last]
            centre = self._choose((frame.spot(at, middle) for at in wanted), *sides)
            place = frame.seen(centre)[0]
            last = place + PITCH_MM * p
            bend = [(line, half), (line, max(clear, half)), (place, start)]
            self._stroke(frame.line(*bend))
            self.items.append(
                Linear(
                    name=one.name,
                    ends=(frame.spot(one.at_mm, -frame.side * half),
                          frame.spot(one.at_mm, frame.side * half)),
                    base=frame.spot(line, 0.0),
                    centre=centre,
                    angle_deg=90.0 if frame.axis == "u" else 0.0,
                    upright=frame.axis == "u",
                    text=self._shown(one.size_mm, DIAMETER),
                    tolerance_mm=self._tolerance(one.size_mm),
                    extended=one.beyond != 0,
                )
            )  # fmt: skip
            path = np.array([(*frame.spot(*spot), 0.0) for spot in bend])
            self.items.append(Stroke(layer=DIMS, path=path))
            far = max(far, middle + wide / 2.0)
        return far

    def _place_along(self, frame: Frame, items: list[Along], clear: float) -> float:
        """Draw lengths on one line; return how far out their texts end."""
        p = self.p
        level = any(one.level for one in items)
        line = clear + (3.5 if level else 6.0) * p
        for one in items:
            (low, low_out), (high, high_out) = sorted(map(frame.seen, (one.start, one.end)))
            for at, out in ((low, low_out), (high, high_out)):
                self._stroke(frame.line((at, out + OFFSET_MM * p), (at, line + EXTENSION_MM * p)))
            self._stroke(frame.line((low, line), (high, line)))
        far = line + EXTENSION_MM * p
        for one in items:
            low, high = sorted(frame.seen(spot)[0] for spot in (one.start, one.end))
            wide = self._wide(self._shown(high - low, one.sign))
            along = TEXT_MM * p if one.level else wide
            if high - low < along + 5.0 * p:
                # Its arrows point inward from outside.
                tail = 2.5 * ARROW_MM * p
                self._stroke(frame.line((low - tail, line), (high + tail, line)))
            flat = one.level or frame.axis == "u"
            sides = (wide, _TALL_MM * p) if flat else (_TALL_MM * p, wide)
            places = _texts_along(frame, one, low, high, line, wide, p)
            centre = self._choose((frame.spot(*spot) for spot in places), *sides)
            out = frame.seen(centre)[1] + (wide if one.level else TEXT_MM * p) / 2.0
            far = max(far, out)
            self.items.append(
                Linear(
                    name=one.name,
                    ends=(one.start, one.end),
                    base=frame.spot(low, line),
                    centre=centre,
                    angle_deg=0.0 if frame.axis == "u" else 90.0,
                    upright=not flat,
                    text=self._shown(high - low, one.sign),
                    tolerance_mm=self._tolerance(high - low),
                )
            )
        return far

    # --- what stands free

    def _place_angle(self, angle: Angle) -> None:
        p, corner = self.p, angle.corner
        turn = angle.along[0] * angle.aslant[1] - angle.along[1] * angle.aslant[0]
        dot = angle.along[0] * angle.aslant[0] + angle.along[1] * angle.aslant[1]
        text = f"{two(degrees(abs(atan2(turn, dot))))}°"
        wide, tall = self._wide(text), _TALL_MM * p
        first = atan2(angle.along[1], angle.along[0])
        second = first + atan2(turn, dot)
        least = max(hypot(*angle.aslant) + 3.0 * p, 9.0 * p)

        def centres() -> Iterator[Spot]:
            # Away from the part: past the first ray, or past the second.
            away_from = -1.0 if turn > 0.0 else 1.0
            for away in np.arange(1.5, 25.0, 1.5) * p:
                for swing in range(0, 75, 5):
                    for sign in (away_from, -away_from):
                        at = first + sign * radians(swing)
                        reach = least + away
                        reach += wide / 2.0 * abs(cos(at)) + tall / 2.0 * abs(sin(at))
                        spot = (corner[0] + reach * cos(at), corner[1] + reach * sin(at))
                        if not inside(spot, self.view):
                            yield spot

        sweep = np.linspace(first, second, 6)
        arc = np.column_stack(
            [corner[0] + least * np.cos(sweep), corner[1] + least * np.sin(sweep)]
        )
        for ray in (first, second):
            away = np.array([cos(ray), sin(ray)])
            ends = [np.array(corner) + away * reach for reach in (0.0, least + EXTENSION_MM * p)]
            self._stroke(np.hstack(ends)[None, :])
        self._stroke(np.hstack([arc[:-1], arc[1:]]))
        centre = self._choose(centres(), wide, tall)
        rays = [(corner[0] + u, corner[1] + v) for u, v in (angle.along, angle.aslant)]
        lesser, greater = rays if turn > 0.0 else rays[::-1]
        base = (corner[0] + least * cos(first), corner[1] + least * sin(first))
        self.items.append(
            Angular(name=angle.name, corner=corner, first=lesser, second=greater, base=base,
                    centre=centre, text=text)
        )  # fmt: skip

    def _place_ball(self, ball: Ball) -> None:
        p, half = self.p, ball.size_mm / 2.0
        wide, tall = self._wide(self._shown(ball.size_mm, f"S{DIAMETER}")), _TALL_MM * p
        best: tuple[Spot, Spot, float] | None = None
        runs = self._runs()
        for far in half + np.arange(6.0, 80.0, 2.0) * p:
            for swing in (0, 5, -5, 10, -10, 15, -15, 20, -20, 25, -25, 30, -30):
                way = radians(ball.towards_deg + swing)
                tip, end = _polar(half, way), _polar(far, way)
                sign = -1.0 if end[0] < 0.0 else 1.0
                centre = (end[0] + sign * (wide / 2.0 + GAP_MM * p), end[1])
                leader = np.array([[*tip, *end]])
                box = self._box(centre, wide, tall)
                if best is None:
                    best = (centre, end, way)
                if self._free(box, runs) and self._clear(leader) and not inside(centre, self.view):
                    best = (centre, end, way)
                    break
            else:
                continue
            break
        assert best is not None
        centre, end, way = best
        tip = _polar(half, way)
        self.boxes.append(self._box(centre, wide, tall))
        self._stroke(np.array([[-tip[0], -tip[1], *tip], [*tip, *end]]))
        self.items.append(
            Linear(
                name=ball.name,
                ends=((-tip[0], -tip[1]), tip),
                base=(0.0, 0.0),
                centre=centre,
                angle_deg=degrees(way),
                text=self._shown(ball.size_mm, f"S{DIAMETER}"),
                tolerance_mm=self._tolerance(ball.size_mm),
                extended=False,
            )
        )
        self.items.append(Stroke(layer=DIMS, path=np.array([(*tip, 0.0), (*end, 0.0)])))

    def _place_note(self, note: Note) -> None:
        p = self.p
        size = self._shown(note.size_mm) if note.name else ""
        if note.spread_mm:
            size = f"{two(note.size_mm)}±{two(note.spread_mm)}"
        text = note.words.format(size=size)
        wide, tall = self._wide(text), _TALL_MM * p

        def centres() -> Iterator[Spot]:
            for far in (30.0, 150.0):
                for up in np.arange(2.0, 60.0, 1.0) * p:
                    for back in np.arange(0.0, far, 3.0) * p:
                        yield (note.at[0] - back - wide / 2.0, note.at[1] + up + tall / 2.0)

        u, v = self._choose(centres(), wide, tall)
        self.items.append(
            Words(text=text, at=(u - wide / 2.0, v - TEXT_MM * p / 2.0), height_mm=TEXT_MM * p)
        )


def _meet(one: Box, other: Box) -> bool:
    """Return whether two boxes lie on each other."""
    return bool(overlapping([one, other]))


def _polar(reach: float, way: float) -> Spot:
    return (reach * cos(way), reach * sin(way))


def _texts_along(
    frame: Frame, one: Along, low: float, high: float, line: float, wide: float, p: float
) -> Iterator[Spot]:
    """Yield where a length's text may stand, the best first, along and outward [mm]."""
    middle, lift = (low + high) / 2.0, (TEXT_MM / 2.0 + GAP_MM) * p
    if one.level:
        out = line + 2.0 * p + wide / 2.0
        for step in np.arange(0.0, 16.0, 0.5) * p:
            yield from ((middle + step, out), (middle - step, out))
        return
    # Above a level line, left of an upright one.
    inward = 1.0 if (frame.axis == "u") == (frame.side > 0) else -1.0
    spare = (high - low - wide) / 2.0 - 2.5 * p
    if spare >= 0.0:
        for step in np.linspace(0.0, spare, 9):
            for out in (line + inward * lift, line + lift):
                yield from ((middle + step, out), (middle - step, out))
    away = (high - low) / 2.0 + 1.5 * p + wide / 2.0
    for step in np.arange(0.0, 30.0, 1.0) * p:
        for sign in (-1.0, 1.0) if one.before else (1.0, -1.0):
            for out in (line + lift, line + inward * lift):
                yield (middle + sign * (away + step), out)
        yield from ((middle + step, line + lift), (middle - step, line + lift))
