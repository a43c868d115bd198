"""A drawing read as a stranger reads it: from its words, and from what an eye sees.

Every coordinate of the drawn outlines is an unknown, and every arc's bend. Numbers come from texts
alone. What an eye sees besides: what stands at one distance from an axis, what is mirrored, what
runs on without a corner, a regular hexagon, and the alike features that "3x" speaks of. Names in
the extended data serve for messages and for nothing else.
"""

import math
import re
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

# Coordinates nearer than this are one; a point nearer than this to a line lies on it [mm].
SAME = 2e-4
# A drawn turn below this is none: the eye sees a line run on [radian].
SMOOTH = 1e-4
ANYWHERE = -1
LINEAR = re.compile(
    r"(?P<open>\()?(?:(?P<times>\d+)x )?(?P<sign>SØ|Ø|AF)?(?P<size>\d+(?:\.\d+)?)"
    r"(?P<chamfer>x45°)?(?:±\d+(?:\.\d+)?|\+\d+(?:\.\d+)?/-\d+(?:\.\d+)?)?\)?"
)
ANGLE = re.compile(r"(?:(?P<times>\d+)x )?(?P<size>\d+(?:\.\d+)?)°")
TICKS = re.compile(r"(\d+) ticks front and back, [\d.]+ deep, over ([\d.]+)°")


@dataclass(frozen=True)
class Frame:
    """Where a view stands on the sheet, how far enlarged, and which axes it shows."""

    letter: str
    plane: tuple[str, str]
    origin: np.ndarray
    times: float

    def own(self, spot):
        return (np.array([spot[0], spot[1]]) - self.origin) / self.times


@dataclass(frozen=True)
class Segment:
    """A drawn line or arc of a view, in the part's millimetres."""

    view: int
    start: tuple[float, float]
    end: tuple[float, float]
    bulge: float = 0.0

    @property
    def run(self):
        return np.array(self.end) - np.array(self.start)


@dataclass(frozen=True)
class Dimension:
    """A dimension's words and its two points; for an angle, its corner and both rays' ends."""

    name: str
    view: int
    text: str
    spots: tuple[tuple[float, float], ...]
    along: int = -1


@dataclass
class Drawing:
    """A drawing as read from its file."""

    frames: list[Frame]
    segments: list[Segment] = field(default_factory=list)
    breaks: list[Segment] = field(default_factory=list)
    axes: list[Segment] = field(default_factory=list)
    dimensions: list[Dimension] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def read(document):
    """Read a DXF document's views, strokes, dimensions and notes."""
    frames = []
    for index in range(99):
        text = document.header.custom_vars.get(f"View {index}")
        if text is None:
            break
        letter, right, up, u, v, times = text.split()
        frames.append(Frame(letter, (right, up), np.array([float(u), float(v)]), float(times)))
    drawing = Drawing(frames)
    layers = {
        "outline": drawing.segments, "edges": drawing.segments, "hidden": drawing.segments,
        "breaks": drawing.breaks, "break": drawing.breaks, "axis": drawing.axes,
    }  # fmt: skip
    for entity in document.modelspace():
        kind, layer = entity.dxftype(), entity.dxf.layer
        if kind in {"TEXT", "MTEXT"}:
            drawing.notes.append(entity.plain_text())
            continue
        if not entity.has_xdata("BARBWRIGHT"):
            continue
        name, view = (tag.value for tag in entity.get_xdata("BARBWRIGHT")[:2])
        frame = frames[view]
        if kind == "DIMENSION":
            drawing.dimensions.append(_dimension(entity, name, view, frame))
        elif kind == "LINE" and layer in layers:
            start, end = (tuple(frame.own(s)) for s in (entity.dxf.start, entity.dxf.end))
            layers[layer].append(Segment(view, start, end))
        elif kind == "LWPOLYLINE" and layer in layers:
            points = [(*frame.own((x, y)), b) for x, y, b in entity.get_points("xyb")]
            for (u0, v0, bulge), (u1, v1, _) in pairwise(points):
                if math.hypot(u1 - u0, v1 - v0) > SAME:
                    layers[layer].append(Segment(view, (u0, v0), (u1, v1), bulge))
    return drawing


def _dimension(entity, name, view, frame):
    dxf = entity.dxf
    text = dxf.text
    for code, sign in (("%%c", "Ø"), ("%%p", "±"), ("%%d", "°")):
        text = text.replace(code, sign)
    if entity.dimtype == 2:
        spots = (dxf.defpoint2, dxf.defpoint3, dxf.defpoint)
        return Dimension(name, view, text, tuple(tuple(frame.own(s)) for s in spots))
    spots = tuple(tuple(frame.own(s)) for s in (dxf.defpoint2, dxf.defpoint3))
    angle = dxf.get("angle", 0.0) % 180.0
    along = {0.0: 0, 90.0: 1}.get(round(angle, 6), -1)
    return Dimension(name, view, text, spots, along)


class DrawingFaultError(AssertionError):
    """A drawing says something that no drawn point answers to."""


class Looked:
    """The unknowns, taking note of which are looked at."""

    def __init__(self, values):
        self.values, self.indices = values, set()

    def __getitem__(self, index):
        self.indices.add(index)
        return self.values[index]


class Freedom:
    """Unknowns and equations of one drawing."""

    def __init__(self, drawing):
        self.drawing = drawing
        self.values, self.index = [], {}
        self._found, self._placed, self._pairs, self._reads = {}, {}, {}, {}
        self._gather()
        self.arcs = {}
        for segment in drawing.segments:
            if abs(segment.bulge) > 1e-9:
                key = self._pair(segment)
                if key not in self.arcs:
                    self.arcs[key] = len(self.values)
                    self.values.append(abs(segment.bulge))
        self.values = np.array(self.values)
        self.seen = self._what_an_eye_sees()
        self.said = {}
        for number, one in enumerate(drawing.dimensions):
            found = self._of_angle(one) if "°" in one.text and "x45" not in one.text else None
            if found is None:
                found = self._of_length(one)
            self.said[number] = found

    # --- unknowns

    def _gather(self):
        """Give every drawn position along each axis of the part one unknown.

        A position and its mirror image are one where a point and its mirror image are drawn.
        """
        places, mirrored = {}, []
        corners = {}
        for segment in self.drawing.segments:
            for spot in (segment.start, segment.end):
                if not self._broken(segment.view, spot):
                    corners.setdefault(segment.view, {})[tuple(np.round(spot, 3))] = spot
        for view, spots in corners.items():
            plane = self.drawing.frames[view].plane
            for rounded, spot in spots.items():
                for axis, family in enumerate(plane):
                    places.setdefault(family, []).append(spot[axis])
                    other = list(rounded)
                    other[axis] = -other[axis]
                    if tuple(other) in spots:
                        mirrored.append((family, abs(spot[axis])))
        # A centre line off the part's own axes stands somewhere too.
        for one in self.drawing.axes:
            for axis in (0, 1):
                if abs(one.run[axis]) < SAME <= abs(one.start[axis]):
                    family = self.drawing.frames[one.view].plane[axis]
                    places.setdefault(family, []).append(one.start[axis])
        for family, values in places.items():
            last = None
            for value in sorted(values):
                if abs(value) >= SAME and (last is None or value - last > SAME):
                    self.index[family, value] = len(self.index)
                    last = value
        for family, value in mirrored:
            if value >= SAME:
                one, other = self._nearest(family, value), self._nearest(family, -value)
                self.index[other] = self.index[one]
        order = {old: new for new, old in enumerate(sorted(set(self.index.values())))}
        self.index = {key: order[old] for key, old in self.index.items()}
        self.values = [0.0] * len(order)
        for (_, value), index in self.index.items():
            self.values[index] = abs(value)

    def _nearest(self, family, value):
        return next(
            (key for key in self.index if key[0] == family and abs(key[1] - value) <= SAME), None
        )

    def _broken(self, view, spot):
        """Whether a point is only where a detail is broken off."""
        return any(one.view == view and _distance(spot, one) < SAME for one in self.drawing.breaks)

    def find(self, family, value):
        """Return the unknown that stands at a position; None on the axis."""
        if (family, value) not in self._found:
            self._found[family, value] = self._look_for(family, value)
        return self._found[family, value]

    def _look_for(self, family, value):
        if abs(value) < SAME:
            return None
        # A half section shows what its other half has as well.
        key = self._nearest(family, value) or self._nearest(family, -value)
        if key is None:
            message = f"nothing is drawn at {family} = {value:.4f}"
            raise DrawingFaultError(message)
        return self.index[key]

    def at(self, z, view, spot):
        """Return a drawn point as its unknowns have it.

        Where a detail is broken off, a line's end stands anywhere along the line.
        """
        key = (view, spot)
        if key not in self._placed:
            plane = self.drawing.frames[view].plane
            look = self._if_drawn if self._broken(view, spot) else self.find
            self._placed[key] = [look(*one) for one in zip(plane, spot, strict=True)]
        return np.array([
            value if index == ANYWHERE
            else 0.0 if index is None else math.copysign(z[index], value)
            for index, value in zip(self._placed[key], spot, strict=True)
        ])  # fmt: skip

    def _if_drawn(self, family, value):
        return ANYWHERE if self._nearest(family, value) is None else self.find(family, value)

    def _pair(self, segment):
        if segment not in self._pairs:
            plane = self.drawing.frames[segment.view].plane
            ends = [
                "broken" if self._broken(segment.view, spot) else tuple(
                    self.find(family, value) for family, value in zip(plane, spot, strict=True)
                )
                for spot in (segment.start, segment.end)
            ]  # fmt: skip
            self._pairs[segment] = tuple(sorted(ends, key=str)), round(abs(segment.bulge), 3)
        return self._pairs[segment]

    def bulge(self, z, segment):
        if abs(segment.bulge) <= 1e-9:
            return 0.0
        return math.copysign(z[self.arcs[self._pair(segment)]], segment.bulge)

    # --- geometry

    def circle(self, z, segment):
        """Return an arc's centre and radius."""
        start, end = (self.at(z, segment.view, spot) for spot in (segment.start, segment.end))
        return _circle(start, end, self.bulge(z, segment))

    def ways(self, z, segment):
        """Return the directions in which a segment begins and ends [radian]."""
        start, end = (self.at(z, segment.view, spot) for spot in (segment.start, segment.end))
        run = math.atan2(*(end - start)[::-1])
        turn = 2.0 * math.atan(self.bulge(z, segment))
        return run - turn, run + turn

    # --- what an eye sees

    def _what_an_eye_sees(self):
        out, z = [], self.values
        ends = {}
        for segment in self.drawing.segments:
            for spot, last in ((segment.start, False), (segment.end, True)):
                ends.setdefault((segment.view, round(spot[0], 3), round(spot[1], 3)), []).append(
                    (segment, last)
                )
        for (view, _, _), meeting in ends.items():
            for number, (one, one_last) in enumerate(meeting):
                for other, other_last in meeting[number + 1 :]:
                    if abs(one.bulge) <= 1e-9 and abs(other.bulge) <= 1e-9:
                        continue
                    if self._broken(view, one.end if one_last else one.start):
                        continue
                    turn = self._turn(z, one, one_last, other, other_last)
                    if abs(turn) < SMOOTH:
                        out.append(
                            lambda z, a=(one, one_last, other, other_last): self._turn(z, *a)
                        )
        out += self._going_on()
        # An arc that ends level or upright is seen to.
        for segment in self.drawing.segments:
            if abs(segment.bulge) > 1e-9:
                for last, way in enumerate(self.ways(z, segment)):
                    for flat in (math.sin, math.cos):
                        if abs(flat(way)) < SMOOTH and not self._cut_off(segment, last):
                            out.append(lambda z, s=segment, k=last, f=flat: f(self.ways(z, s)[k]))
        out += self._halved() + self._abutting()
        # An arc round the crossing of both axes is seen to be.
        for segment in self.drawing.segments:
            if abs(segment.bulge) > 1e-9 and self._round_the_axes(segment):
                out += [lambda z, s=segment, k=k: self.circle(z, s)[0][k] for k in (0, 1)]
        out += self._hexagons()
        return out

    def _halved(self):
        """A centre line off the axes halves what stands next to it on both sides."""
        out = []
        for one in self.drawing.axes:
            for axis in (0, 1):
                if not abs(one.run[axis]) < SAME <= abs(one.start[axis]):
                    continue
                at, reach = one.start[axis], sorted((one.start[1 - axis], one.end[1 - axis]))
                spots = {
                    tuple(np.round(spot, 3)): spot
                    for segment in self.drawing.segments if segment.view == one.view
                    for spot in (segment.start, segment.end)
                    if reach[0] - 3.0 <= spot[1 - axis] <= reach[1] + 3.0
                }  # fmt: skip
                pairs = []
                for spot in spots.values():
                    wanted = list(spot)
                    wanted[axis] = 2.0 * at - spot[axis]
                    other = next((o for o in spots.values() if math.dist(o, wanted) < SAME), None)
                    if spot[axis] < at - SAME and other is not None:
                        pairs.append((at - spot[axis], spot, other))
                crossed = [
                    (0.0, segment.start, segment.end)
                    for segment in self.drawing.segments
                    if segment.view == one.view and abs(segment.run[1 - axis]) < SAME
                    and not segment.bulge
                    and abs(segment.start[axis] + segment.end[axis] - 2.0 * at) < SAME
                    and reach[0] - SAME <= segment.start[1 - axis] <= reach[1] + SAME
                ]  # fmt: skip
                for _, low, high in [*crossed, *([min(pairs)] if pairs else [])]:
                    spot = one.start
                    out.append(
                        lambda z, v=one.view, low=low, high=high, spot=spot, k=axis: (
                            self._coordinate(z, v, low, k)
                            + self._coordinate(z, v, high, k)
                            - 2.0 * self._coordinate(z, v, spot, k)
                        )
                    )
        return out

    def _going_on(self):
        """Two arcs of one circle that meet are seen as one arc."""
        out = []
        arcs = [one for one in self.drawing.segments if abs(one.bulge) > 1e-9]
        circles = [self.circle(self.values, one) for one in arcs]
        for i, one in enumerate(arcs):
            for j, other in enumerate(arcs[:i]):
                meet = min(
                    math.dist(a, b)
                    for a in (one.start, one.end) for b in (other.start, other.end)
                )  # fmt: skip
                (middle, radius), (at, wide) = circles[i], circles[j]
                same = math.dist(middle, at) < SAME and abs(radius - wide) < SAME
                if one.view == other.view and same and meet < SAME:
                    out += [
                        lambda z, a=one, b=other, k=k: (
                            self.circle(z, a)[0][k] - self.circle(z, b)[0][k]
                        )
                        for k in (0, 1)
                    ]
        return out

    def _cut_off(self, segment, last):
        return self._broken(segment.view, segment.end if last else segment.start)

    def _abutting(self):
        """A line that ends on an arc is seen to end there."""
        out = []
        for arc in self.drawing.segments:
            if abs(arc.bulge) <= 1e-9:
                continue
            for one in self.drawing.segments:
                for spot in (one.start, one.end):
                    apart = min(math.dist(spot, arc.start), math.dist(spot, arc.end))
                    if one.view == arc.view and apart > 0.01 and _distance(spot, arc) < SAME:
                        out.append(
                            lambda z, arc=arc, v=one.view, spot=spot: (
                                math.dist(self.at(z, v, spot), self.circle(z, arc)[0])
                                - self.circle(z, arc)[1]
                            )
                        )
        return out

    def _round_the_axes(self, segment):
        centre, _ = self.circle(self.values, segment)
        crossing = [
            one for one in self.drawing.axes
            if one.view == segment.view and _distance(centre, one) < SAME
        ]  # fmt: skip
        ways = {int(abs(one.run[1]) > abs(one.run[0])) for one in crossing}
        return np.hypot(*centre) < SAME and len(ways) == 2

    def _turn(self, z, one, one_last, other, other_last):
        """Return by how much two segments that meet turn from one line [radian]."""
        first = self.ways(z, one)[1] if one_last else self.ways(z, one)[0] + math.pi
        second = self.ways(z, other)[1] + math.pi if other_last else self.ways(z, other)[0]
        return (second - first + math.pi) % (2.0 * math.pi) - math.pi

    def _run(self, z, one):
        return self.at(z, one.view, one.end) - self.at(z, one.view, one.start)

    def _hexagons(self):
        """A closed run of six equal sides is seen as a regular hexagon: its sides' directions."""
        out = []
        for segment in self.drawing.segments:
            way = math.degrees(math.atan2(*segment.run[::-1])) % 60.0
            leaning = abs(segment.run[0]) > SAME and abs(segment.run[1]) > SAME
            if segment.bulge or not leaning or min(way, abs(way - 30.0), 60.0 - way) > 1e-3:
                continue
            length = math.hypot(*segment.run)
            alike = [
                one for one in self.drawing.segments
                if one.view == segment.view and abs(math.hypot(*one.run) - length) < SAME
                and not one.bulge
            ]  # fmt: skip
            if len(alike) >= 6:
                slope = segment.run[1] / segment.run[0]
                out.append(
                    lambda z, s=segment, slope=slope: (lambda run: run[1] - slope * run[0])(
                        self._run(z, s)
                    )
                )
                level = next(one for one in alike if min(abs(one.run)) < SAME)
                out.append(
                    lambda z, s=segment, level=level: (
                        math.hypot(*self._run(z, s)) - math.hypot(*self._run(z, level))
                    )
                )
        return out

    # --- what the words say

    def _of_length(self, one):
        words = LINEAR.fullmatch(one.text)
        if words is None:
            message = f"{one.name}: cannot be read: {one.text!r}"
            raise DrawingFaultError(message)
        ball = words["sign"] == "SØ"
        for spot in one.spots:
            if not (self.drawn(one.view, spot) or (ball and self._mirrored(one.view, spot))):
                message = f"{one.name} ({one.text}) ends in air at {spot}"
                raise DrawingFaultError(message)
        if words["open"]:
            return []
        size, times = float(words["size"]), int(words["times"] or 1)
        if words["sign"] == "SØ":
            return self._of_ball(one, size)
        pairs = [one.spots] if times == 1 else self._alike(one, times)
        out = [self._length(one.view, pair, one.along, size) for pair in pairs]
        if words["chamfer"]:
            out += [self._length(one.view, pair, 1 - one.along, size) for pair in pairs]
        return out

    def _length(self, view, pair, along, size):
        for spot in pair:
            self.find(self.drawing.frames[view].plane[along], spot[along])
        return lambda z: (
            abs(
                self._coordinate(z, view, pair[0], along)
                - self._coordinate(z, view, pair[1], along)
            )
            - size
        )

    def _coordinate(self, z, view, spot, along):
        index = self.find(self.drawing.frames[view].plane[along], spot[along])
        return 0.0 if index is None else math.copysign(z[index], spot[along])

    def _of_ball(self, one, size):
        out = []
        for segment in self.drawing.segments:
            if abs(segment.bulge) > 1e-9 and segment.view == one.view:
                centre, radius = self.circle(self.values, segment)
                if np.hypot(*centre) < SAME and abs(radius - _apart(one.spots) / 2.0) < SAME:
                    out += [
                        lambda z, s=segment: self.circle(z, s)[1] - size / 2.0,
                        lambda z, s=segment: self.circle(z, s)[0][0],
                        lambda z, s=segment: self.circle(z, s)[0][1],
                    ]
        if not out:
            message = f"{one.name}: no ball is drawn of {one.text}"
            raise DrawingFaultError(message)
        return out

    def _alike(self, one, times):
        """Return the alike lengths "3x" speaks of: alike lines, or one behind the other."""
        first, second = np.array(one.spots)
        step = second - first
        lines = {}
        for segment in self.drawing.segments:
            if segment.bulge or not self._same_end(segment, one):
                continue
            for start, end in ((segment.start, segment.end), (segment.end, segment.start)):
                if np.allclose(np.array(end) - start, step, atol=SAME):
                    level = round(abs(start[1 - one.along]), 3)
                    lines[self._pair(segment)] = (level, segment.view, start, end)
        level = round(abs(first[1 - one.along]), 3)
        exact = [line for line in lines.values() if line[0] == level]
        for some in (list(lines.values()), exact):
            if len(some) == times:
                return [(start, end) for _, _, start, end in some]
        start = first
        while self._vertex(start - step):
            start = start - step
        row = [start]
        while self._vertex(row[-1] + step):
            row.append(row[-1] + step)
        if len(row) != times + 1:
            message = (
                f"{one.name} ({one.text}): {len(lines)} alike lines and a row of {len(row) - 1} "
                "spaces are drawn"
            )
            raise DrawingFaultError(message)
        return [(tuple(a), tuple(b)) for a, b in pairwise(row)]

    def _same_end(self, segment, one):
        """Whether a line stands on the same end of the part as a dimension does, in its plane."""
        frames = self.drawing.frames
        if frames[segment.view].plane != frames[one.view].plane:
            return False
        middle = (np.array(segment.start) + segment.end) / 2.0
        wanted = np.array(one.spots[:2]).mean(axis=0)
        return all(a * b > -SAME for a, b in zip(middle, wanted, strict=True))

    def _vertex(self, spot):
        return any(
            max(abs(np.array(end) - spot)) < SAME
            for segment in self.drawing.segments
            for end in (segment.start, segment.end)
        )

    def _of_angle(self, one):
        words = ANGLE.fullmatch(one.text)
        if words is None:
            return None
        size, times = math.radians(float(words["size"])), int(words["times"] or 1)
        corner, first, second = (np.array(spot) for spot in one.spots)
        rays = [first - corner, second - corner]
        level = min(rays, key=lambda ray: min(abs(ray)))
        along = int(abs(level[1]) > abs(level[0]))
        lines = {}
        for segment in self.drawing.segments:
            lean = abs(segment.run[1 - along]) / max(abs(segment.run[along]), 1e-12)
            alike = not segment.bulge and abs(math.atan(lean) - _between(*rays)) < 1e-5
            if alike and self._same_end(segment, one):
                lines[self._pair(segment)] = segment
        if len(lines) != times:
            message = f"{one.name} ({one.text}): {len(lines)} such slopes are drawn"
            raise DrawingFaultError(message)

        def slope(z, segment):
            run = self.at(z, segment.view, segment.end) - self.at(z, segment.view, segment.start)
            return abs(run[1 - along]) * math.cos(size) - abs(run[along]) * math.sin(size)

        return [lambda z, s=segment: slope(z, s) for segment in lines.values()]

    def drawn(self, view, spot):
        """Whether something drawn runs through a point."""
        every = [*self.drawing.segments, *self.drawing.axes]
        return any(one.view == view and _distance(spot, one) < 2e-3 for one in every)

    def _mirrored(self, view, spot):
        """Whether a point is drawn on the other side of an axis: a cut ball is seen as round."""
        return any(self.drawn(view, (spot[0] * u, spot[1] * v)) for u in (1, -1) for v in (1, -1))

    # --- notes

    def noted(self):
        """Return the equations of the notes: radii, the taper, ticks and where bores meet."""
        notes = " ".join(self.drawing.notes)
        out = []
        radii = sorted({float(text) for text in re.findall(r"\bR(\d+(?:\.\d+)?)", notes)})
        for segment in self.drawing.segments:
            if abs(segment.bulge) <= 1e-9:
                continue
            radius = self.circle(self.values, segment)[1]
            for said in radii:
                if abs(said - radius) < 0.006:
                    out.append(lambda z, s=segment, said=said: self.circle(z, s)[1] - said)
        taper = re.search(r"taper 1:([\d.]+)", notes)
        if taper:
            out += self._of_taper(1.0 / float(taper[1]) / 2.0)
        ticks = TICKS.search(notes)
        if ticks:
            out += self._of_ticks(int(ticks[1]), math.radians(float(ticks[2]) / 2.0))
        if "bores meet in a cone of 90°, in the middle of the ring" in notes:
            out += self._of_cone()
        elif "bores meet in a cone of 90°, ending at the ring's face" in notes:
            out += self._of_cone_at_face()
        return out

    def _tapering(self, half):
        found = [
            one for one in self.drawing.segments
            if not one.bulge and abs(one.run[0]) > SAME and one.view == 0
            and abs(abs(one.run[1] / one.run[0]) - half) < half * 1e-3
        ]  # fmt: skip
        if not found:
            message = "no line is drawn at the taper"
            raise DrawingFaultError(message)
        return found

    def _of_taper(self, half):
        def slope(z, one):
            run = self.at(z, one.view, one.end) - self.at(z, one.view, one.start)
            return abs(run[1]) - half * abs(run[0])

        self.taper_half = half
        return [lambda z, s=one: slope(z, s) for one in self._tapering(half)]

    def _of_ticks(self, count, turn):
        longest = max(self._tapering(self.taper_half), key=lambda one: abs(one.run[0]))
        root = min((longest.start, longest.end), key=lambda spot: abs(spot[0]))
        floors = {}
        for one in self.drawing.segments:
            level = abs(one.run[1]) < SAME and not one.bulge and one.view == 0
            middle = (one.start[0] + one.end[0]) / 2.0
            reach = abs(root[1]) - self.taper_half * (middle - root[0])
            if level and abs(abs(one.start[1]) - reach * math.sin(turn)) < 2e-3:
                floors[round(one.start[0], 3)] = one
        if len(floors) != count:
            message = f"{count} ticks are told of, {len(floors)} are drawn"
            raise DrawingFaultError(message)

        def reach(z, one):
            foot = self.at(z, 0, root)
            start, end = self.at(z, 0, one.start), self.at(z, 0, one.end)
            radius = abs(foot[1]) - self.taper_half * ((start[0] + end[0]) / 2.0 - foot[0])
            return abs(start[1]) - radius * math.sin(turn)

        return [lambda z, s=one: reach(z, s) for one in floors.values()]

    def _cone(self):
        """The line of the cone where the bores meet, and what it says: its sides slope by 45°."""
        cone = next(
            one for one in self.drawing.segments
            if not one.bulge and abs(abs(one.run[0]) - abs(one.run[1])) < SAME
            and abs(one.run[0]) > SAME
        )  # fmt: skip

        def slope(z):
            first, second = self._ends(z, cone)
            return abs(first[0] - second[0]) - abs(first[1] - second[1])

        return cone, slope

    def _ends(self, z, one):
        return self.at(z, 0, one.start), self.at(z, 0, one.end)

    def _of_cone(self):
        cone, slope = self._cone()
        rim = max(
            (one for one in self.drawing.segments if abs(one.run[1]) < SAME and one.view == 0),
            key=lambda one: abs(one.start[1]),
        )

        def middle(z):
            ends, sides = self._ends(z, cone), self._ends(z, rim)
            return sum(spot[0] for spot in ends) - sum(spot[0] for spot in sides)

        return [slope, middle]

    def _of_cone_at_face(self):
        cone, slope = self._cone()
        # Its narrow end, and the ring's face that stands there.
        narrow = min((cone.start, cone.end), key=lambda spot: abs(spot[1]))
        faces = [
            one for one in self.drawing.segments
            if not one.bulge and one.view == 0 and abs(one.run[0]) < SAME
            and abs(one.start[0] - narrow[0]) < SAME and abs(one.run[1]) > SAME
        ]  # fmt: skip
        if not faces:
            message = "no face of the ring stands where the cone of the bores ends"
            raise DrawingFaultError(message)

        def ends_there(z):
            end = min(self._ends(z, cone), key=lambda spot: abs(spot[1]))
            return end[0] - self.at(z, 0, faces[0].start)[0]

        return [slope, ends_there]

    # --- freedom

    def equations(self):
        """Return every equation, and the number of the dimension that each comes from, or -1."""
        alone = [*self.seen, *self.noted()]
        for one in [*alone, *(one for some in self.said.values() for one in some)]:
            if one not in self._reads:
                self._reads[one] = self.reads(one)
        said = [(one, number) for number, some in self.said.items() for one in some]
        return [*alone, *(one for one, _ in said)], [-1] * len(alone) + [of for _, of in said]

    def reads(self, equation):
        """Return which unknowns an equation looks at."""
        looked = Looked(self.values)
        equation(looked)
        return sorted(looked.indices)

    def jacobian(self, equations, z=None):
        z, step = self.values if z is None else z, 1e-6
        out = np.zeros((len(equations), len(z)))
        for row, equation in enumerate(equations):
            for column in self._reads[equation]:
                up, down = z.copy(), z.copy()
                up[column] += step
                down[column] -= step
                out[row, column] = (equation(up) - equation(down)) / (2.0 * step)
        return out

    def judged(self):
        """Return what stays free, with the unknowns that move, and the needless dimensions."""
        equations, owners = self.equations()
        jacobian, owners = self.jacobian(equations), np.array(owners)
        _, sizes, ways = np.linalg.svd(jacobian)
        rank, count = int(np.count_nonzero(sizes > 1e-5)), len(self.values)
        moving = np.abs(ways[rank:]).max(axis=0, initial=0.0) > 0.05
        names = [key for key, index in self.index.items() if moving[index]]
        names += [("arc", key) for key, index in self.arcs.items() if moving[index]]
        needless = [
            self.drawing.dimensions[number].name
            for number, some in self.said.items()
            if some and np.linalg.matrix_rank(jacobian[owners != number], tol=1e-5) == count
        ]
        return count - rank, names, needless

    def solved(self, off=0.01, seed=1):
        """Return the unknowns as the words have them, from a start that is off by a share."""
        from scipy.optimize import least_squares

        equations, _ = self.equations()
        start = self.values * (
            1.0 + off * np.random.default_rng(seed).uniform(-1, 1, len(self.values))
        )
        found = least_squares(
            lambda z: [one(z) for one in equations], start,
            jac=lambda z: self.jacobian(equations, z),
            x_scale=np.maximum(self.values, 0.05), xtol=1e-12, ftol=1e-14, gtol=1e-12,
        )  # fmt: skip
        return found.x, float(np.max(np.abs(found.fun)))


def _apart(spots):
    return math.hypot(spots[0][0] - spots[1][0], spots[0][1] - spots[1][1])


def _between(one, other):
    """Return the angle between two rays, as lines have it [radian]."""
    turn = abs(math.atan2(one[0] * other[1] - one[1] * other[0], one @ other))
    return min(turn, math.pi - turn)


def _circle(start, end, bulge):
    run = end - start
    chord = math.hypot(*run)
    turn = 4.0 * math.atan(bulge)
    radius = chord / 2.0 / math.sin(turn / 2.0)
    offset = chord / 2.0 / math.tan(turn / 2.0)
    middle = (start + end) / 2.0
    return middle + offset * np.array([-run[1], run[0]]) / chord, abs(radius)


def _distance(spot, segment):
    """Return how far a point lies from a line or an arc."""
    spot, start, end = (np.array(one) for one in (spot, segment.start, segment.end))
    if abs(segment.bulge) > 1e-9:
        turn = 4.0 * math.atan(segment.bulge)
        centre, radius = _circle(start, end, segment.bulge)
        way = spot - centre
        begin = math.atan2(*(start - centre)[::-1])
        at = (math.atan2(*way[::-1]) - begin) * math.copysign(1.0, turn) % (2.0 * math.pi)
        if at <= abs(turn):
            return abs(math.hypot(*way) - radius)
        return min(math.hypot(*(spot - start)), math.hypot(*(spot - end)))
    run = end - start
    share = np.clip((spot - start) @ run / max(run @ run, 1e-18), 0.0, 1.0)
    return math.hypot(*(start + share * run - spot))
