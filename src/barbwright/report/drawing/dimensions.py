"""Where a view's dimensions stand at one scale: lines tier by tier, texts where nothing runs."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from math import atan2, cos, degrees, hypot, radians, sin

import numpy as np

from barbwright.design.outline import polyline
from barbwright.design.view import (
    DIAMETER,
    Across,
    Along,
    Angle,
    Ball,
    Note,
    Path,
    Sign,
    Spot,
    Stack,
    View,
    two,
)
from barbwright.report.drawing.placed import (
    DIMS,
    Angular,
    Arrow,
    Box,
    Disc,
    Item,
    Linear,
    Lines,
    Stroke,
    Words,
    crossing,
    run_through,
)
from barbwright.report.drawing.views import Faces, lines_of, straight
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


# A circled number: its circle and its figures, on the paper [mm].
BALLOON_MM, BALLOON_TEXT_MM = 4.2, TEXT_MM
# How far a leader may turn from its own direction to find its text a place.
_SWING_DEG = 40.0
# Once it has a place, in how many steps outward a text still looks for a better one [-].
_PATIENCE = 6
_SHARES = (0.0, *(sign * share / 8.0 for share in (1, 2, 3, 4, 5, 6, 8) for sign in (1.0, -1.0)))
# The letter of another view, and its arrow, on the paper [mm].
LETTER_MM, ARROW_LINE_MM, _ARROW_OFF_MM = 3.5, 7.0, 2.0


@dataclass(frozen=True, kw_only=True)
class Marking:
    """Which sizes are numbered, and how far sizes may be off.

    Attributes
    ----------
    numbers : mapping of str to int
        By the name of the size [-].
    off : callable
        From a size's name and length to how much less and how much more it may be [mm].
    """

    numbers: Mapping[str, int]
    off: Callable[[str, float], tuple[float, float]]


@dataclass(frozen=True, kw_only=True)
class Label:
    """A text with its circled number, if it has one.

    Attributes
    ----------
    text : str
        What it says.
    number : int
        0 for none [-].
    """

    text: str
    number: int = 0

    @property
    def balloon_mm(self) -> float:
        """What the circle adds to the text's length, on the paper [mm]."""
        return BALLOON_MM + 0.8 if self.number else 0.0

    @property
    def long_mm(self) -> float:
        """Length of text and circle, on the paper [mm]."""
        return text_width(self.text) * TEXT_MM + self.balloon_mm

    @property
    def tall_mm(self) -> float:
        """Height of text and circle, on the paper [mm]."""
        return BALLOON_MM if self.number else _TALL_MM


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
    marking : Marking
        Numbers and tolerances.
    """

    def __init__(self, view: View, paper_mm: float, marking: Marking) -> None:
        self.view, self.p, self._marking = view, paper_mm, marking
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
        self.polygons = [polyline(path, steps=8) for path in (*view.visible, *view.sections)]
        self._faces = Faces(self.polygons)
        for sign in view.signs:
            self._draw_sign(sign)
        for number, stack in enumerate(view.stacks):
            self._place_stack(number, stack)
        for angle in view.angles:
            self._place_angle(angle)
        for ball in view.balls:
            self._place_ball(ball)
        for sign in view.signs:
            self._name_sign(sign)
        for note in view.notes:
            self._place_note(note)
        self._place_heading()

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
        strokes = Lines(self.strokes)
        return sum(strokes.cross(box) for box in self.boxes)

    def _stroke(self, segments: Path) -> None:
        self._strokes.append(segments)

    @property
    def strokes(self) -> Path:
        """Every straight piece that is drawn [mm]."""
        return np.vstack(self._strokes)

    def _label(
        self,
        name: str,
        size_mm: float,
        *,
        sign: str,
        times: int = 1,
        more: str = "",
        reference: bool = False,
    ) -> Label:
        """Return a size's text: the numbered say their tolerance, the rest has the general one."""
        number = self._marking.numbers.get(name, 0)
        text = f"{sign}{two(size_mm)}{more}"
        if number:
            less, more_mm = map(two, self._marking.off(name, size_mm))
            text += f"±{less}" if less == more_mm else f"+{more_mm}/-{less}"
        if times > 1:
            text = f"{times}x {text}"
        return Label(text=f"({text})" if reference else text, number=number)

    def _settle(self, label: Label, centre: Spot, *, upright: bool = False) -> Spot:
        """Draw a label's circle behind its text; return the text's own middle."""
        p = self.p
        if not label.number:
            return centre
        way = (0.0, 1.0) if upright else (1.0, 0.0)
        half = label.long_mm / 2.0
        behind, before = (half - BALLOON_MM / 2.0) * p, label.balloon_mm / 2.0 * p
        middle = (centre[0] + way[0] * behind, centre[1] + way[1] * behind)
        figure = str(label.number)
        wide = text_width(figure) * BALLOON_TEXT_MM * p
        low = (middle[0] - wide / 2.0, middle[1] - BALLOON_TEXT_MM * p / 2.0)
        self.items.append(Disc(at=middle, radius_mm=BALLOON_MM / 2.0 * p))
        self.items.append(Words(text=figure, at=low, height_mm=BALLOON_TEXT_MM * p))
        return (centre[0] - way[0] * before, centre[1] - way[1] * before)

    def _box(self, centre: Spot, wide: float, tall: float) -> Box:
        u, v = centre
        return (u - wide / 2.0, v - tall / 2.0, u + wide / 2.0, v + tall / 2.0)

    def _runs(self) -> Lines:
        """Return every line that is there or still to come."""
        return Lines(np.vstack([*self._strokes, *self._pending.values()]))

    def _free(self, box: Box, runs: Lines) -> bool:
        gap = _MARGIN_MM * self.p
        left, bottom, right, top = box[0] - gap, box[1] - gap, box[2] + gap, box[3] + gap
        meets = any(
            other[0] < right and other[2] > left and other[1] < top and other[3] > bottom
            for other in self.boxes
        )
        return not meets and not runs.cross((left, bottom, right, top))

    def _clear(self, segments: Path) -> bool:
        """Return whether a line would run through no text."""
        return not self.boxes or not bool(
            run_through(np.array(self.boxes)[:, None, :], segments[None, :, :]).any()
        )

    def _inside(self, spot: Spot) -> bool:
        return self._faces.hold(spot)

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
            # What stands outside the lengths runs out through them.
            self._pending[number, -1] = np.vstack([
                np.empty((0, 4)),
                *(frame.line((one.at_mm, one.size_mm / 2.0), (one.at_mm, _FAR_MM * self.p))
                  for one in cramped),
            ])  # fmt: skip
            if roomy:
                out = self._place_across(frame, stack, roomy, out)
            if along:
                out = self._place_along(frame, along, out)
        self._pending.pop((number, -1), None)
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
            half = one.size_mm / 2.0
            label = self._label(one.name, one.size_mm, sign=DIAMETER, reference=one.reference)
            wide, tall = label.long_mm * p, label.tall_mm * p
            middle = start + GAP_MM * p + wide / 2.0
            sides = (tall, wide) if frame.axis == "u" else (wide, tall)
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
                    centre=self._settle(label, centre, upright=frame.axis == "u"),
                    angle_deg=90.0 if frame.axis == "u" else 0.0,
                    upright=frame.axis == "u",
                    text=label.text,
                    off_mm=self._marking.off(one.name, one.size_mm),
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
            label = self._label(
                one.name,
                high - low,
                sign=one.sign,
                times=one.times,
                more="x45°" if one.chamfer else "",
                reference=one.reference,
            )
            wide, tall = label.long_mm * p, label.tall_mm * p
            along = tall if one.level else wide
            if high - low < along + 5.0 * p:
                # Its arrows point inward from outside.
                tail = 2.5 * ARROW_MM * p
                self._stroke(frame.line((low - tail, line), (high + tail, line)))
            flat = one.level or frame.axis == "u"
            sides = (wide, tall) if flat else (tall, wide)
            places = [*_texts_along(frame, one, low, high, line, (wide, tall), p)]
            ends = (low, high, line)
            led = [spot for spot in places if self._clear(_line_to_text(frame, ends, spot, along))]
            centre = self._choose((frame.spot(*spot) for spot in led or places), *sides)
            stands = frame.seen(centre)
            if len(on := _line_to_text(frame, ends, stands, along)):
                self._stroke(on)
                path = np.array([(*on[0, :2], 0.0), (*on[0, 2:], 0.0)])
                self.items.append(Stroke(layer=DIMS, path=path))
            far = max(far, stands[1] + (wide if one.level else tall) / 2.0)
            self.items.append(
                Linear(
                    name=one.name,
                    ends=(one.start, one.end),
                    base=frame.spot(low, line),
                    centre=self._settle(label, centre, upright=not flat),
                    angle_deg=0.0 if frame.axis == "u" else 90.0,
                    upright=not flat,
                    text=label.text,
                    off_mm=self._marking.off(one.name, high - low),
                )
            )
        return far

    # --- what stands free

    def _place_angle(self, angle: Angle) -> None:
        p, corner = self.p, angle.corner
        turn = angle.along[0] * angle.aslant[1] - angle.along[1] * angle.aslant[0]
        dot = angle.along[0] * angle.aslant[0] + angle.along[1] * angle.aslant[1]
        text = f"{two(degrees(abs(atan2(turn, dot))))}°"
        if angle.times > 1:
            text = f"{angle.times}x {text}"
        wide, tall = text_width(text) * TEXT_MM * p, _TALL_MM * p
        first = atan2(angle.along[1], angle.along[0])
        second = first + atan2(turn, dot)
        # Between the rays where they are long on the paper, or else past their ends.
        least = 0.8 * hypot(*angle.aslant)
        if least < 11.0 * p:
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
                        if not self._inside(spot):
                            yield spot

        sweep = np.linspace(first, second, 6)
        arc = np.column_stack(
            [corner[0] + least * np.cos(sweep), corner[1] + least * np.sin(sweep)]
        )
        longest = max(hypot(*angle.along), hypot(*angle.aslant), least + EXTENSION_MM * p)
        for ray in (first, second):
            away = np.array([cos(ray), sin(ray)])
            ends = [np.array(corner) + away * reach for reach in (0.0, longest)]
            self._stroke(np.hstack(ends)[None, :])
        self._stroke(np.hstack([arc[:-1], arc[1:]]))
        # An extension line close beside it would read as its own.
        centre = self._choose(centres(), wide + CLEAR_MM * p, tall)
        rays = [(corner[0] + u, corner[1] + v) for u, v in (angle.along, angle.aslant)]
        lesser, greater = rays if turn > 0.0 else rays[::-1]
        base = (corner[0] + least * cos(first), corner[1] + least * sin(first))
        self.items.append(
            Angular(name=angle.name, corner=corner, first=lesser, second=greater, base=base,
                    centre=centre, text=text)
        )  # fmt: skip

    def _place_ball(self, ball: Ball) -> None:
        half = ball.size_mm / 2.0
        label = self._label(ball.name, ball.size_mm, sign=f"S{DIAMETER}")
        centre, tip = self._lead_out(
            label,
            (ball.towards_deg, ball.swing_deg),
            lambda way: (_polar(half, way), _polar(-half, way)),
        )
        self.items.append(
            Linear(
                name=ball.name,
                ends=((-tip[0], -tip[1]), tip),
                base=(0.0, 0.0),
                centre=self._settle(label, centre),
                angle_deg=degrees(atan2(tip[1], tip[0])),
                text=label.text,
                off_mm=self._marking.off(ball.name, ball.size_mm),
                extended=False,
            )
        )

    def _lead_out(
        self,
        label: Label,
        towards: tuple[float, float],
        ends: Callable[[float], tuple[Spot, Spot]],
    ) -> tuple[Spot, Spot]:
        """Find a place for a text at the end of a line, and draw the line.

        Parameters
        ----------
        label : Label
            What is written.
        towards : (float, float)
            Direction in which the place is looked for, and how far to either side [degree].
        ends : callable
            From a direction [radian] to where the line leaves the part, and to where
            what it measures begins [mm].

        Returns
        -------
        tuple of (float, float)
            The text's middle, and where the line leaves the part [mm].
        """
        p = self.p
        wide, tall = label.long_mm * p, label.tall_mm * p
        runs = self._runs()
        left, bottom, right, top = self.reach
        first: tuple[Spot, Spot, float] | None = None
        best: tuple[Spot, Spot, float] | None = None
        beside = wide / 2.0 + GAP_MM * p
        patience = _PATIENCE
        for far in np.arange(6.0, 90.0, 2.0) * p:
            patience -= 1 if best else 0
            if not patience:
                break
            for share in _SHARES:
                way = radians(towards[0] + share * towards[1])
                tip, _ = ends(way)
                end = (tip[0] + far * cos(way), tip[1] + far * sin(way))
                leader = np.array([[*tip, *end]])
                if not self._clear(leader):
                    continue
                outward = -1.0 if cos(way) < 0.0 else 1.0
                for side in (outward, -outward):
                    centre = (end[0] + side * beside, end[1])
                    box = self._box(centre, wide, tall)
                    first = first or (centre, end, way)
                    if (
                        not self._free(box, runs)
                        or len(crossing(self._box(centre, wide + p, tall + p), leader))
                        or self._inside(centre)
                    ):
                        continue
                    best = best or (centre, end, way)
                    # Better still where the view grows no wider by it.
                    if box[0] >= left and box[2] <= right and bottom <= box[1] and box[3] <= top:
                        return self._led_out((centre, end, way), (wide, tall), ends)
        best = best or first
        assert best is not None
        return self._led_out(best, (wide, tall), ends)

    def _led_out(
        self,
        best: tuple[Spot, Spot, float],
        sides: tuple[float, float],
        ends: Callable[[float], tuple[Spot, Spot]],
    ) -> tuple[Spot, Spot]:
        """Draw a line to a text's place; return the text's middle and the line's beginning."""
        centre, end, way = best
        tip, begin = ends(way)
        self.boxes.append(self._box(centre, *sides))
        self._stroke(np.array([[*begin, *tip], [*tip, *end]]))
        self.items.append(Stroke(layer=DIMS, path=np.array([(*tip, 0.0), (*end, 0.0)])))
        return centre, tip

    def _place_note(self, note: Note) -> None:
        p = self.p
        label = Label(text=note.words, number=self._marking.numbers.get(note.name, 0))
        wide, tall = label.long_mm * p, label.tall_mm * p
        if note.towards_deg is not None:
            centre, tip = self._lead_out(
                label, (note.towards_deg, _SWING_DEG), lambda _: (note.at, note.at)
            )
            self.items.append(self._arrow(tip, note.towards_deg))
        else:

            def centres() -> Iterator[Spot]:
                for far in (30.0, 150.0):
                    for up in np.arange(2.0, 60.0, 1.0) * p:
                        for back in np.arange(0.0, far, 3.0) * p:
                            yield (note.at[0] - back - wide / 2.0, note.at[1] + up + tall / 2.0)

            centre = self._choose(centres(), wide, tall)
        u, v = self._settle(label, centre)
        long = text_width(note.words) * TEXT_MM * p
        self.items.append(
            Words(
                text=note.words, at=(u - long / 2.0, v - TEXT_MM * p / 2.0), height_mm=TEXT_MM * p
            )
        )

    def _arrow(self, point: Spot, from_deg: float) -> Arrow:
        way = _polar(ARROW_MM * self.p, radians(from_deg))
        return Arrow(point=point, tail=(point[0] + way[0], point[1] + way[1]))

    # --- further views

    def _draw_sign(self, sign: Sign) -> None:
        """Draw another view's arrow, or the ring round what it enlarges."""
        p = self.p
        if sign.ring_mm:
            turns = np.linspace(0.0, 2.0 * np.pi, 25)
            ring = np.column_stack([np.cos(turns), np.sin(turns)]) * sign.ring_mm + sign.at
            self._stroke(np.hstack([ring[:-1], ring[1:]]))
            self.items.append(Disc(at=sign.at, radius_mm=sign.ring_mm))
            return
        out = _polar(1.0, radians(sign.towards_deg))
        point, tail, end = (
            (sign.at[0] + far * p * out[0], sign.at[1] + far * p * out[1])
            for far in (_ARROW_OFF_MM, _ARROW_OFF_MM + 3.0, _ARROW_OFF_MM + ARROW_LINE_MM)
        )
        self._stroke(np.array([[*point, *end]]))
        self.items.append(Stroke(layer=DIMS, path=np.array([(*point, 0.0), (*end, 0.0)])))
        self.items.append(Arrow(point=point, tail=tail))

    def _name_sign(self, sign: Sign) -> None:
        """Write the letter of another view beside its arrow or ring."""
        p, way = self.p, radians(sign.towards_deg)
        wide, tall = text_width(sign.letter) * LETTER_MM * p, LETTER_MM * p
        start = sign.ring_mm or (_ARROW_OFF_MM + ARROW_LINE_MM) * p

        def centres() -> Iterator[Spot]:
            for far in np.arange(1.2, 12.0, 0.6) * p:
                for swing in range(0, 181, 15):
                    for turn in (1.0, -1.0):
                        at = way + turn * radians(swing)
                        reach = start + far + wide / 2.0 * abs(cos(at)) + tall / 2.0 * abs(sin(at))
                        spot = (sign.at[0] + reach * cos(at), sign.at[1] + reach * sin(at))
                        if not self._inside(spot):
                            yield spot

        centre = self._choose(centres(), wide + 2.0 * p, tall + p)
        self._words_at(sign.letter, centre, LETTER_MM)

    def _place_heading(self) -> None:
        """Write a further view's name above it."""
        view, p = self.view, self.p
        if not view.letter:
            return
        text = f"{view.letter} ({view.scale:g}:1)" if view.scale else view.letter
        left, _, right, top = self.reach
        wide = text_width(text) * LETTER_MM * p
        centre = ((left + right) / 2.0, top + (3.0 + LETTER_MM / 2.0) * p)
        self.boxes.append(self._box(centre, wide, LETTER_MM * p))
        self._words_at(text, centre, LETTER_MM)

    def _words_at(self, text: str, centre: Spot, height_mm: float) -> None:
        wide, tall = text_width(text) * height_mm * self.p, height_mm * self.p
        at = (centre[0] - wide / 2.0, centre[1] - tall / 2.0)
        self.items.append(Words(text=text, at=at, height_mm=tall))


def _polar(reach: float, way: float) -> Spot:
    return (reach * cos(way), reach * sin(way))


def _line_to_text(frame: Frame, ends: tuple[float, float, float], text: Spot, long: float) -> Path:
    """Return what a dimension line lacks to run on beside a text that stands past its ends.

    Parameters
    ----------
    frame : Frame
        The stack's directions.
    ends : (float, float, float)
        From where to where the line runs along, and how far out [mm].
    text : (float, float)
        The text's middle, along and outward [mm].
    long : float
        How far the text reaches along [mm].

    Returns
    -------
    array of shape (1, 4) or (0, 4)
        Nothing beside a text that stands between the ends or over one of them [mm].
    """
    low, high, line = ends
    if text[0] - long / 2.0 >= high:
        return frame.line((high, line), (text[0] + long / 2.0, line))
    if text[0] + long / 2.0 <= low:
        return frame.line((low, line), (text[0] - long / 2.0, line))
    return np.empty((0, 4))


def _texts_along(
    frame: Frame,
    one: Along,
    low: float,
    high: float,
    line: float,
    sides: tuple[float, float],
    p: float,
) -> Iterator[Spot]:
    """Yield where a length's text may stand, the best first, along and outward [mm]."""
    wide, tall = sides
    middle, lift = (low + high) / 2.0, tall / 2.0 + 0.85 * p
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
