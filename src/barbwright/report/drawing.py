"""The dimensioned drawing: a half section with real DXF dimensions, as DXF, SVG and PDF.

The part stands at its true size in model space, so whoever measures the DXF reads
millimetres; the sheet's frame is what is scaled. Above the axis the part is cut
open, below it is seen from outside. Every dimension carries its name in extended
data, by which a test reads it back.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache
from math import atan2, cos, degrees, hypot, pi, sin, sqrt, tan
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from barbwright.design.draw import shape_of, side_port_from_lead_mm, tick_positions
from barbwright.design.kinds.cap import Cap
from barbwright.design.kinds.collar import Collar
from barbwright.design.kinds.driver import Driver
from barbwright.design.kinds.fork import Fork
from barbwright.design.outline import QUARTER, back_faces, blend_end
from barbwright.design.part import Design
from barbwright.design.shape import Revolved
from barbwright.design.single import single
from barbwright.errors import BuildError, Fault

Path2 = NDArray[np.float64]
Box = tuple[float, float, float, float]

FONT_FILE = "DejaVuSans.ttf"
APP_ID = "BARBWRIGHT"
PAGE_MM = (297.0, 210.0)
# The frame keeps clear of the edges of both A4 and Letter when centred at full size.
FRAME_MM = (262.0, 190.0)
TITLE_MM, TITLE_ROW_MM = 27.0, 9.0
SCALES = (10.0, 5.0, 4.0, 3.0, 2.5, 2.0, 1.5, 1.0, 0.75, 0.5)
TEXT_MM, SMALL_MM = 2.2, 1.8
GAP_MM = 1.2
PITCH_MM = 4.6
NOT_PRESSURE_RATED = "Not pressure rated: proof-test with water"

OUTLINE, THIN, AXIS, DIMS, HATCH, TEXT = "outline", "edges", "axis", "dims", "hatch", "text"
_LAYERS = {
    OUTLINE: (7, 50, "CONTINUOUS"),
    THIN: (7, 25, "CONTINUOUS"),
    AXIS: (1, 18, "BARB_CENTRE"),
    DIMS: (5, 18, "CONTINUOUS"),
    HATCH: (8, 13, "CONTINUOUS"),
    TEXT: (7, 25, "CONTINUOUS"),
}


@dataclass(frozen=True)
class DrawingInfo:
    """What the title block says beyond the sizes.

    Attributes
    ----------
    part_number, revision : str
        As in the folder's name, and the letter.
    title : str
        What the part is, in words.
    material, process : str
        As ordered.
    mark : str
        What is engraved; empty for nothing.
    passed : bool
        A part that did not pass is marked so, in words.
    compensation : str
        How the model files differ from the drawing on purpose; empty where they do not.
    """

    part_number: str
    revision: str
    title: str
    material: str
    process: str
    mark: str = ""
    passed: bool = True
    compensation: str = ""


# --- libraries without traces in the user's home -----------------------------------------------


def _font_folder() -> Path:
    import importlib.util

    found = importlib.util.find_spec("matplotlib")
    folder = (
        Path(found.origin).parent / "mpl-data" / "fonts" / "ttf" if found and found.origin else None
    )
    if folder is None or not (folder / FONT_FILE).is_file():
        raise BuildError(
            Fault("the font for the drawing is missing", do="install matplotlib again with pip")
        )
    return folder


@contextmanager
def homeless() -> Iterator[None]:
    """Point the drawing libraries' caches at a folder that is thrown away.

    Both scan the system's fonts on import and keep the list in the user's home;
    neither may leave anything there, and nothing drawn may depend on it.
    """
    names = ("XDG_CACHE_HOME", "XDG_CONFIG_HOME", "EZDXF_CONFIG_FILE", "MPLCONFIGDIR")
    kept = {name: os.environ.get(name) for name in names}
    folder = tempfile.mkdtemp(prefix="barbwright-")
    try:
        os.environ["XDG_CACHE_HOME"] = os.environ["XDG_CONFIG_HOME"] = folder
        os.environ.pop("EZDXF_CONFIG_FILE", None)
        # A list that matplotlib has already made may be read: it saves a second.
        if kept["MPLCONFIGDIR"] is None:
            listed = [
                place
                for place in (Path.home() / ".cache" / "matplotlib", Path.home() / ".matplotlib")
                if any(place.glob("fontlist-*.json"))
            ]
            os.environ["MPLCONFIGDIR"] = str(listed[0]) if listed else folder
        listing = Path(folder) / "ezdxf" / "font_manager_cache.json"
        listing.parent.mkdir()
        listing.write_text(_one_font(), encoding="utf-8")
        yield
    finally:
        for name, value in kept.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value
        shutil.rmtree(folder, ignore_errors=True)


def _one_font() -> str:
    """Return ezdxf's list of fonts with the drawing's own font alone."""
    face = [str(_font_folder() / FONT_FILE), "DejaVu Sans", "Book", 400, 5]
    return json.dumps({"version": 2, "font-faces": [face]})


@cache
def load_ezdxf() -> Any:
    """Import ezdxf with the drawing's own font and nothing else.

    Returns
    -------
    module
        ezdxf.

    Raises
    ------
    BuildError
        When the font file is missing.
    """
    with homeless():
        import ezdxf
        from ezdxf.fonts import fonts
    # Whoever imported ezdxf before us may have filled its list from the system.
    fonts.font_manager.loads(_one_font())
    return ezdxf


# --- paths: (n, 3) of u, v and the bulge of the segment to the next point ----------------------


def _placed(profile: Path2, along: tuple[float, float], across: tuple[float, float]) -> Path2:
    turn = along[0] * across[1] - along[1] * across[0]
    return np.column_stack(
        [
            profile[:, 0] * along[0] + profile[:, 1] * across[0],
            profile[:, 0] * along[1] + profile[:, 1] * across[1],
            profile[:, 2] * turn,
        ]
    )


def _reversed(path: Path2) -> Path2:
    back = path[::-1].copy()
    back[:, 2] = np.append(-path[:-1, 2][::-1], 0.0)
    return back


def _joined(*parts: Path2 | list[tuple[float, float, float]]) -> Path2:
    return np.vstack([np.atleast_2d(np.asarray(part, dtype=float)) for part in parts])


def _arc_to(path: Path2, target: Path2, *, clockwise: bool) -> Path2:
    """Give a path's last point the bulge of an arc about the origin to the next path's first."""
    path = path.copy()
    start = atan2(path[-1, 1], path[-1, 0])
    end = atan2(target[0, 1], target[0, 0])
    turn = (start - end if clockwise else end - start) % (2.0 * pi)
    path[-1, 2] = tan(turn / 4.0) * (-1.0 if clockwise else 1.0)
    return path


def _sharp(path: Path2) -> list[tuple[float, float]]:
    """Return the points where a profile turns by more than 15 degrees."""
    points = []
    for before, here, after in zip(path[:-2], path[1:-1], path[2:], strict=True):
        enter = atan2(here[1] - before[1], here[0] - before[0]) + 2.0 * np.arctan(before[2])
        leave = atan2(after[1] - here[1], after[0] - here[0]) - 2.0 * np.arctan(here[2])
        turn = (leave - enter + pi) % (2.0 * pi) - pi
        if abs(turn) > 0.26:
            points.append((float(here[0]), float(here[1])))
    return points


@dataclass
class _View:
    """What is drawn of a part before it is dimensioned, in model millimetres."""

    sections: list[Path2] = field(default_factory=list)
    visible: list[Path2] = field(default_factory=list)
    edges: list[tuple[float, float, float, float]] = field(default_factory=list)
    hidden: list[tuple[float, float, float, float]] = field(default_factory=list)
    axes: list[tuple[float, float, float, float]] = field(default_factory=list)


@dataclass(frozen=True)
class _Across:
    """A diameter across an axis: where it is, and how far its line stands off the part."""

    name: str
    at_mm: float
    size_mm: float
    beyond: int = 0


# --- the sheet ----------------------------------------------------------------------------------


class _Sheet:
    """One drawing at one scale; records the box of every text for the fit."""

    def __init__(self, ezdxf: Any, design: Design, info: DrawingInfo, scale: float) -> None:
        from ezdxf.fonts import fonts

        self.doc = _new_document(ezdxf, scale)
        self.space = self.doc.modelspace()
        self.design, self.info, self.scale = design, info, scale
        self.p = 1.0 / scale
        self._font = fonts.make_font(FONT_FILE, TEXT_MM)
        self.boxes: list[Box] = []
        self.low = np.array([np.inf, np.inf])
        self.high = -self.low

    # placing

    def reach(self, *points: tuple[float, float]) -> None:
        for point in points:
            self.low = np.minimum(self.low, point)
            self.high = np.maximum(self.high, point)

    def width(self, text: str, height_mm: float = TEXT_MM) -> float:
        """Return a text's width in model millimetres."""
        return float(self._font.text_width(text)) * height_mm / TEXT_MM * self.p

    def _claim(self, centre: tuple[float, float], width: float, height: float) -> None:
        u, v = centre
        box = (u - width / 2.0, v - height / 2.0, u + width / 2.0, v + height / 2.0)
        self.boxes.append(box)
        self.reach(box[:2], box[2:])

    def claimed(self, text: str, centre: tuple[float, float], *, upright: bool) -> None:
        wide, tall = self.width(text), TEXT_MM * self.p
        self._claim(centre, *((tall, wide) if upright else (wide, tall)))

    def line(self, layer: str, u0: float, v0: float, u1: float, v1: float) -> None:
        self.space.add_line((u0, v0), (u1, v1), dxfattribs={"layer": layer})
        self.reach((u0, v0), (u1, v1))

    def path(self, layer: str, path: Path2, *, close: bool = False) -> None:
        self.space.add_lwpolyline(
            path.tolist(), format="xyb", close=close, dxfattribs={"layer": layer}
        )
        for u, v, _ in path:
            self.reach((u, v))

    def hatch(self, path: Path2) -> None:
        hatch = self.space.add_hatch(dxfattribs={"layer": HATCH})
        gap = 1.5 * self.p / sqrt(2.0)
        hatch.set_pattern_fill("BARB45", definition=[[45.0, (0.0, 0.0), (-gap, gap), []]])
        hatch.paths.add_polyline_path(path.tolist(), is_closed=True)

    def text(self, text: str, left: float, base: float, height_mm: float = TEXT_MM) -> None:
        """Write a note with its left lower corner at a place."""
        height = height_mm * self.p
        self.space.add_text(
            text, height=height, dxfattribs={"layer": TEXT, "style": "BARB"}
        ).set_placement((left, base))
        wide = self.width(text, height_mm)
        self._claim((left + wide / 2.0, base + height / 2.0), wide, height)

    # dimensions

    def label(self, name: str, size_mm: float, *, round_: bool) -> tuple[str, float]:
        """Return a dimension's text as it will be drawn, and its tolerance [mm]."""
        tolerance = float(self.design.conditions.material.tolerance_at(size_mm))
        shown = f"{_two(size_mm)}±{_two(tolerance)}"
        return ("⌀" if round_ else "") + shown, tolerance

    def _dimension(
        self,
        name: str,
        ends: tuple[tuple[float, float], tuple[float, float]],
        base: tuple[float, float],
        centre: tuple[float, float],
        *,
        angle: float,
        upright: bool,
        round_: bool,
        extended: bool,
    ) -> None:
        size = abs(ends[1][1] - ends[0][1]) if angle else abs(ends[1][0] - ends[0][0])
        text, tolerance = self.label(name, size, round_=round_)
        override = {
            "dimpost": "⌀<>" if round_ else "",
            "dimse1": 0 if extended else 1,
            "dimse2": 0 if extended else 1,
        }
        made = self.space.add_linear_dim(
            base=base,
            p1=ends[0],
            p2=ends[1],
            location=centre,
            angle=angle,
            text_rotation=90.0 if upright else 0.0,
            dimstyle="BARB",
            override=override,
            dxfattribs={"layer": DIMS},
        )
        made.set_tolerance(tolerance, hfactor=1.0, dec=2)
        made.render()
        made.dimension.set_xdata(APP_ID, [(1000, name)])
        self.claimed(text, centre, upright=upright)
        self.reach(base)

    def across(self, items: list[_Across], *, upright_axis: bool, side: float, clear_mm: float,
               lowest: float = -np.inf, turned: float = 1.0) -> float:  # fmt: skip
        """Draw diameters across an axis, their texts in a row on one side of it.

        ``side`` is the sign of the side; ``clear_mm`` is how far from the axis the
        texts begin; ``turned`` is +1 where positions grow to the right (or up).
        Returns how far from the axis the texts end.
        """
        p = self.p
        order = sorted(items, key=lambda item: item.at_mm + item.beyond * turned * 7.0 * p)
        lines = [item.at_mm + item.beyond * turned * 7.0 * p for item in order]
        places = _spread(lines, PITCH_MM * p, lowest)
        far = clear_mm
        for item, line, place in zip(order, lines, places, strict=True):
            half = item.size_mm / 2.0
            text, _ = self.label(item.name, item.size_mm, round_=True)
            wide = self.width(text)
            start = clear_mm + 2.0 * p
            middle = side * (start + GAP_MM * p + wide / 2.0)
            end = start + GAP_MM * p + wide
            far = max(far, end)
            bend = [(line, side * half), (line, side * max(clear_mm, half)), (place, side * start)]
            if upright_axis:
                ends = ((-half, item.at_mm), (half, item.at_mm))
                base, centre = (0.0, line), (middle, place)
                points = [(across, along) for along, across in bend]
            else:
                ends = ((item.at_mm, -half), (item.at_mm, half))
                base, centre = (line, 0.0), (place, middle)
                points = bend
            self._dimension(
                item.name, ends, base, centre,
                angle=0.0 if upright_axis else 90.0, upright=not upright_axis,
                round_=True, extended=item.beyond != 0,
            )  # fmt: skip
            self.space.add_lwpolyline(points, dxfattribs={"layer": DIMS})
        return far

    def along(self, name: str, start: tuple[float, float], end: tuple[float, float],
              line: float, *, upright: bool = False, horizontal_text: bool = False,
              before: bool = False, round_: bool = False) -> None:  # fmt: skip
        """Draw a length parallel to an axis; a text that does not fit stands beside it.

        ``line`` is where the dimension line stands across the axis; ``before`` puts a
        text that does not fit at the low end.
        """
        p, axis = self.p, 1 if upright else 0
        low, high = sorted((start[axis], end[axis]))
        size = high - low
        text, _ = self.label(name, size, round_=round_)
        wide = self.width(text)
        lift = (TEXT_MM / 2.0 + GAP_MM) * p
        fits = wide + 5.0 * p <= size
        if horizontal_text:
            centre = (line + 2.0 * p + wide / 2.0, (low + high) / 2.0)
        elif fits:
            middle = (low + high) / 2.0
            centre = (line - lift, middle) if upright else (middle, line + lift)
        else:
            away = 4.2 * p + wide / 2.0
            place = low - away if before else high + away
            centre = (line, place) if upright else (place, line)
        ends = (start, end)
        base = (line, low) if upright else (low, line)
        self._dimension(
            name, ends, base, centre,
            angle=90.0 if upright else 0.0, upright=upright and not horizontal_text,
            round_=round_, extended=True,
        )  # fmt: skip

    def slanted(self, name: str, size_mm: float, degrees: float, far: tuple[float, float],
                *, left: bool) -> None:  # fmt: skip
        """Draw a ball's diameter through its centre, the text at the end of a leader."""
        p, half, angle = self.p, size_mm / 2.0, degrees * pi / 180.0
        tip = (half * cos(angle), half * sin(angle))
        text, tolerance = self.label(name, size_mm, round_=True)
        wide = self.width(text)
        sign = -1.0 if left else 1.0
        centre = (far[0] + sign * (wide / 2.0 + 1.2 * p), far[1])
        made = self.space.add_linear_dim(
            base=(0.0, 0.0), p1=(-tip[0], -tip[1]), p2=tip, location=centre, angle=degrees,
            text_rotation=0.0, dimstyle="BARB",
            override={"dimpost": "⌀<>", "dimse1": 1, "dimse2": 1},
            dxfattribs={"layer": DIMS},
        )  # fmt: skip
        made.set_tolerance(tolerance, hfactor=1.0, dec=2)
        made.render()
        made.dimension.set_xdata(APP_ID, [(1000, name)])
        self.claimed(text, centre, upright=False)
        self.space.add_lwpolyline([tip, far], dxfattribs={"layer": DIMS})

    def angle(
        self,
        name: str,
        corner: tuple[float, float],
        along: tuple[float, float],
        aslant: tuple[float, float],
        reach_mm: float,
        centre: tuple[float, float],
    ) -> None:
        """Draw the angle between two rays from a corner, its text where there is room.

        ``along`` and ``aslant`` are the rays' directions; ``reach_mm`` is the arc's
        radius, ``centre`` the left middle of the text, or its right middle where the
        first ray points to the left.
        """
        turn = along[0] * aslant[1] - along[1] * aslant[0]
        rays = [(corner[0] + u, corner[1] + v) for u, v in (along, aslant)]
        first, second = rays if turn > 0.0 else rays[::-1]
        size = degrees(abs(atan2(turn, along[0] * aslant[0] + along[1] * aslant[1])))
        text = f"{_two(size)}°"
        wide = self.width(text)
        centre = (centre[0] + (-wide if along[0] < 0.0 else wide) / 2.0, centre[1])
        length = hypot(*along)
        base = (corner[0] + along[0] / length * reach_mm, corner[1] + along[1] / length * reach_mm)
        made = self.space.add_angular_dim_3p(
            base=base, center=corner, p1=first, p2=second, location=centre, text_rotation=0.0,
            dimstyle="BARB", dxfattribs={"layer": DIMS},
        )  # fmt: skip
        made.render()
        made.dimension.set_xdata(APP_ID, [(1000, name)])
        self.claimed(text, centre, upright=False)
        self.reach(base)

    # the picture

    def view(self, view: _View) -> None:
        for section in view.sections:
            self.hatch(section)
        for path in view.visible:
            self.path(OUTLINE, path)
        for edge in view.edges:
            self.line(THIN, *edge)
        for edge in view.hidden:
            self.space.add_line(
                edge[:2], edge[2:], dxfattribs={"layer": THIN, "linetype": "BARB_HIDDEN"}
            )
        for axis in view.axes:
            self.line(AXIS, *axis)

    @property
    def title_mm(self) -> float:
        """Height of the title block: one row more where the models differ [mm of paper]."""
        return TITLE_MM + (TITLE_ROW_MM if self.info.compensation else 0.0)

    def fits(self) -> bool:
        """Return whether the drawing fits its field without one text on another."""
        head = 6.0 if self.info.passed else 18.0
        room = np.array([FRAME_MM[0] - 6.0, FRAME_MM[1] - self.title_mm - head]) * self.p
        return bool(np.all(self.high - self.low <= room)) and not overlapping(
            self.boxes, 0.4 * self.p
        )

    def frame(self) -> None:
        """Draw frame and title block around what stands there."""
        p = self.p
        middle = (self.low + self.high) / 2.0
        width, height, title = FRAME_MM[0] * p, FRAME_MM[1] * p, self.title_mm * p
        left = middle[0] - width / 2.0
        bottom = middle[1] - (height - title) / 2.0 - title
        right, top = left + width, bottom + height
        corners = [(left, bottom), (right, bottom), (right, top), (left, top)]
        self.space.add_lwpolyline(corners, close=True, dxfattribs={"layer": OUTLINE})
        self.line(OUTLINE, left, bottom + title, right, bottom + title)
        self._title_block(left, bottom)
        if not self.info.passed:
            self.text("NOT PASSED - do not use", left + 4.0 * p, top - 7.5 * p, 5.0)
        # The page's corners, for whoever plots it: the frame sits in the middle of A4.
        margin = (np.array(PAGE_MM) - np.array(FRAME_MM)) / 2.0 * p
        self.page: Box = (left - margin[0], bottom - margin[1], right + margin[0], top + margin[1])
        self.space.reset_extents((*self.page[:2], 0.0), (*self.page[2:], 0.0))
        self.doc.set_modelspace_vport(
            height=self.page[3] - self.page[1],
            center=((self.page[0] + self.page[2]) / 2.0, (self.page[1] + self.page[3]) / 2.0),
        )

    def _title_block(self, left: float, bottom: float) -> None:
        p, info = self.p, self.info
        title = TITLE_MM * p
        columns = (0.0, 104.0, 182.0, FRAME_MM[0])
        for column in columns[1:-1]:
            self.line(OUTLINE, left + column * p, bottom, left + column * p, bottom + title)
        status = NOT_PRESSURE_RATED if info.passed else f"NOT PASSED. {NOT_PRESSURE_RATED}"
        cells = (
            [
                ("part number", info.part_number),
                ("part", info.title),
                ("status", status),
            ],
            [
                ("material", info.material),
                ("process", info.process),
                ("engraved", info.mark or "nothing"),
            ],
            [
                ("revision / scale / units", f"{info.revision} / {scale_text(self.scale)} / mm"),
                ("view", self._view()),
                ("not dimensioned", self._radii()),
            ],
        )  # fmt: skip
        if info.compensation:
            self.line(OUTLINE, left, bottom + title, left + FRAME_MM[0] * p, bottom + title)
            top = bottom + self.title_mm * p
            self.text("model files", left + 1.5 * p, top - 3.2 * p, 1.4)
            room, lines = (FRAME_MM[0] - 3.0) * p, [info.compensation]
            if self.width(info.compensation, 1.6) > room:
                # A long name takes two lines: nothing of this may be cut off.
                head, _, rest = info.compensation.partition("; ")
                lines = [f"{head};", rest]
            for number, line in enumerate(lines):
                low = 7.2 if len(lines) == 1 else 5.7 + 2.4 * number
                self.note(line, left + 1.5 * p, top - low * p, room)
        for start, end, rows in zip(columns[:-1], columns[1:], cells, strict=True):
            for number, (head, body) in enumerate(rows):
                top = bottom + title - (TITLE_ROW_MM * number) * p
                if number:
                    self.line(THIN, left + start * p, top, left + end * p, top)
                self.text(head, left + (start + 1.5) * p, top - 3.2 * p, 1.4)
                self.note(body, left + (start + 1.5) * p, top - 7.2 * p, (end - start - 3.0) * p)

    def _view(self) -> str:
        text = "half section: cut above the axis"
        if self.design.own is not None and self.design.own.drawing_note:
            flat = isinstance(self.design.own, Fork)
            note = self.design.own.drawing_note
            return note if flat else f"half section; {note}"
        if self.design.kind.arms == 2 and len(self.design.barbs) == 1:
            text += "; both arms alike"
        return text

    def _radii(self) -> str:
        rules = self.design.conditions.rules
        if not self.design.barbs:
            return "corners and edges" if isinstance(self.design.own, Fork) else "rounded edges"
        text = f"back faces R{_two(rules['back_face_radius_mm'])}"
        feet = dict.fromkeys(_two(float(barb.shoulder_radius_mm)) for barb in self.design.barbs)
        text += f", shoulder R{' and R'.join(feet)}"
        if self.design.tip is not None:
            text += f", lead edge R{_two(self.design.tip.lead_round_mm)}"
        if self.design.hub is not None:
            text = f"blends R{_two(float(self.design.hub.blend_mm))}, {text}"
        return text

    def note(self, text: str, left: float, base: float, room: float) -> None:
        """Write a text no wider than its cell: smaller first, then cut off with dots."""
        height = TEXT_MM
        wide = self.width(text)
        if wide > room:
            height = max(1.6, TEXT_MM * room / wide)
        while self.width(text, height) > room and len(text) > 4:
            text = text[:-4] + "..."
        self.text(text, left, base, height)


def _two(size_mm: float) -> str:
    return f"{size_mm:.2f}".rstrip("0").rstrip(".")


def scale_text(scale: float) -> str:
    """Return a scale as drawings write it, such as ``3:1``."""
    return f"{scale:g}:1" if scale >= 1.0 else f"1:{_two(1.0 / scale)}"


def _spread(wanted: list[float], gap: float, lowest: float) -> list[float]:
    """Return places in the same order, at least a gap apart, none below the lowest."""
    places: list[float] = []
    for want in wanted:
        place = max(want, lowest)
        if places:
            place = max(place, places[-1] + gap)
        places.append(place)
    # Slide back what was pushed further than it had to be.
    for index in range(len(places) - 1, -1, -1):
        least = places[index - 1] + gap if index else lowest
        places[index] = max(min(places[index], max(wanted[index], least)), least)
    return places


def overlapping(boxes: list[Box], gap: float = 0.0) -> list[tuple[Box, Box]]:
    """Return the pairs of text boxes that lie on each other.

    Parameters
    ----------
    boxes : list of (left, bottom, right, top)
        Any unit.
    gap : float
        Least distance [same unit].

    Returns
    -------
    list of pairs
        Empty when all texts stand clear.
    """
    pairs = []
    for index, one in enumerate(boxes):
        for other in boxes[index + 1 :]:
            apart = (
                one[2] + gap <= other[0]
                or other[2] + gap <= one[0]
                or one[3] + gap <= other[1]
                or other[3] + gap <= one[1]
            )
            if not apart:
                pairs.append((one, other))
    return pairs


@contextmanager
def _fixed_metadata(ezdxf: Any) -> Iterator[None]:
    """Keep the clock out of a document; it is written when made and when saved."""
    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before


def _new_document(ezdxf: Any, scale: float) -> Any:
    with _fixed_metadata(ezdxf):
        doc = ezdxf.new("R2010", setup=False, units=4)
    # Their order would otherwise follow the hash seed.
    for name in ("LAYOUT", "ACDBPLACEHOLDER"):
        doc.classes.add_class(name)
    doc.appids.add(APP_ID)
    doc.styles.add("BARB", font=FONT_FILE)
    p = 1.0 / scale
    doc.linetypes.add("BARB_CENTRE", pattern=[8.5 * p, 6.0 * p, -1.0 * p, 0.5 * p, -1.0 * p])
    doc.linetypes.add("BARB_HIDDEN", pattern=[2.0 * p, 1.3 * p, -0.7 * p])
    for name, (colour, weight, linetype) in _LAYERS.items():
        doc.layers.add(name, color=colour, lineweight=weight, linetype=linetype)
    doc.dimstyles.add(
        "BARB",
        dxfattribs={
            "dimtxsty": "BARB",
            "dimtxt": TEXT_MM * p,
            "dimasz": 1.8 * p,
            "dimexe": 1.0 * p,
            "dimexo": 0.8 * p,
            "dimgap": 0.6 * p,
            "dimdec": 2,
            "dimzin": 8,
            "dimtzin": 8,
            "dimadec": 2,
            "dimazin": 2,
            "dimtad": 0,
            "dimtih": 0,
            "dimtoh": 0,
            "dimtmove": 2,
            "dimclrd": 256,
            "dimclre": 256,
            "dimclrt": 256,
            "dimdsep": ord("."),
            "dimlunit": 2,
            "dimscale": 1.0,
            "dimlfac": 1.0,
        },
    )
    return doc


# --- the views ----------------------------------------------------------------------------------

RIGHT, LEFT, UP, DOWN = (1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)


def _body(shape_adds: tuple[Any, ...], name: str) -> Path2:
    for body in shape_adds:
        if isinstance(body, Revolved) and body.name == name:
            return body.outline
    message = f"no body {name!r} in the shape"
    raise KeyError(message)


def _taper_radius(design: Design, from_root_mm: float) -> float:
    tip = design.tip
    assert tip is not None
    return (float(tip.root_mm) - float(tip.taper) * from_root_mm) / 2.0


def _hub_view(design: Design, over: float) -> _View:
    """Return the view: tip to the right, pad to the left, first arm up, a second down."""
    hub, tip = design.hub, design.tip
    assert hub is not None
    assert tip is not None
    shape = shape_of(design, "drawing")
    view = _View()
    tip_out = _body(shape.adds, "tip")[2:-1]
    pad_out = _body(shape.adds, "strike pad")[2:]
    arm_out = _body(shape.adds, "arm 1")[2:-1]
    relief = float(hub.relief_mm) / 2.0
    bore, tip_bore = float(design.bore_mm) / 2.0, float(tip.bore_mm) / 2.0
    tip_end, arm_end = float(tip_out[-1, 0]), float(arm_out[-1, 0])
    arm_at, tip_at = sqrt(relief**2 - bore**2), sqrt(relief**2 - tip_bore**2)

    upper_tip = _reversed(_placed(tip_out, RIGHT, UP))
    arm_right = _placed(arm_out, UP, RIGHT)
    ports = bool(design.forced.get("side_ports"))
    if ports:
        # The cut runs through both ports: the wall ends at the first and goes on behind it.
        middle = tip_end - float(side_port_from_lead_mm(tip))
        root_at = float(design.seat_root_mm)
        near, far = middle - tip_bore, middle + tip_bore
        near_r, far_r = (_taper_radius(design, at - root_at) for at in (near, far))
        lead = _joined(
            [(far, tip_bore, 0.0), (tip_end, tip_bore, 0.0)], upper_tip[:2], [(far, far_r, 0.0)]
        )
        view.sections.append(lead)
        view.visible.append(np.vstack([lead, lead[:1]]))
        seat = int(np.argmin(np.abs(upper_tip[:, 0] - root_at)))
        upper_tip = _joined([(near, near_r, 0.0)], upper_tip[seat:])
        start = (near, tip_bore, 0.0)
        for at in (near, far):
            at_r = _taper_radius(design, at - root_at)
            view.hidden.append((at, -tip_bore, at, -at_r))
    else:
        start = (tip_end, tip_bore, 0.0)
    arm_in = np.array([(bore, arm_end, 0.0), (bore, arm_at, 0.0)])
    tip_in = np.array([(tip_at, tip_bore, 0.0)])
    first = _joined(
        [start],
        _arc_to(upper_tip, arm_right, clockwise=False),
        arm_right,
        _arc_to(arm_in, tip_in, clockwise=True),
        tip_in,
    )
    arm_left = _reversed(_placed(arm_out, UP, LEFT))
    pad_up = _placed(pad_out, LEFT, UP)
    wall_end = np.array([(-relief, 0.0, 0.0)])
    bore_left = np.array([(-bore, arm_at, 0.0)])
    second = _joined(
        _arc_to(wall_end, bore_left, clockwise=True),
        bore_left,
        [(-bore, arm_end, 0.0)],
        _arc_to(arm_left, pad_up, clockwise=False),
        pad_up,
    )
    view.sections += [first, second]
    view.visible += [np.vstack([first, first[:1]]), second]

    lower_tip = _reversed(_placed(tip_out, RIGHT, DOWN))
    pad_down = _placed(pad_out, LEFT, DOWN)
    outside = [np.array([(tip_end, 0.0, 0.0)])]
    if design.kind.arms == 2:
        right, left = _placed(arm_out, DOWN, RIGHT), _reversed(_placed(arm_out, DOWN, LEFT))
        outside += [
            _arc_to(lower_tip, right, clockwise=True),
            right,
            _arc_to(left, pad_down, clockwise=True),
        ]
        view.edges += [(-r, -at, r, -at) for at, r in _sharp(arm_out)]
        view.axes.append((0.0, arm_end + over, 0.0, -arm_end - over))
    else:
        outside.append(_arc_to(lower_tip, pad_down, clockwise=True))
        view.axes.append((0.0, arm_end + over, 0.0, -float(hub.ball_mm) / 2.0 - over))
    view.visible.append(_joined(*outside, pad_down))
    view.edges += [(at, 0.0, at, -r) for at, r in _sharp(tip_out)]
    view.edges += [(-at, 0.0, -at, -r) for at, r in _sharp(pad_out)]
    # Bore edges that are seen behind the cut.
    view.edges += [
        (tip_end, 0.0, tip_end, tip_bore), (-bore, arm_end, bore, arm_end),
        (tip_at, 0.0, tip_at, tip_bore), (-bore, arm_at, bore, arm_at),
    ]  # fmt: skip
    view.axes.append((-float(hub.pad_height_mm) - over, 0.0, tip_end + over, 0.0))
    _tick_marks(design, view, float(design.seat_root_mm))
    return view


def _tick_marks(design: Design, view: _View, seat_root: float) -> None:
    tip = design.tip
    assert tip is not None
    width = float(tip.tick_mm)
    for below in tick_positions(single(design)):
        radius = _taper_radius(design, below + width / 2.0)
        depth = radius * sin(float(tip.tick_arc_mm) / float(tip.root_mm))
        low, high = seat_root + below, seat_root + below + width
        view.edges += [(low, 0.0, low, -depth), (low, -depth, high, -depth),
                       (high, -depth, high, 0.0)]  # fmt: skip


def _turned_view(design: Design, over: float) -> _View:
    """Return the view of a part of one axis: the tip (or the first barb) to the right."""
    shape = shape_of(design, "drawing")
    along = LEFT if design.ring is not None else RIGHT
    body, bore = _body(shape.adds, "body"), _body(shape.cuts, "bore")
    low, high = float(body[:, 0].min()), float(body[:, 0].max())
    # A closed end keeps its points on the axis; an open one has none.
    blind = (bore[:, 0] > low + 1e-6) & (bore[:, 0] < high - 1e-6)
    shut = ((body[:, 0] < low + 1e-6) & (bore[:, 0].min() > low + 1e-6)) | (
        (body[:, 0] > high - 1e-6) & (bore[:, 0].max() < high - 1e-6)
    )
    body = body[(body[:, 1] > 1e-9) | shut]
    bore = bore[(bore[:, 1] > 1e-9) | blind].copy()
    bore[:, 0] = np.clip(bore[:, 0], low, high)
    view = _View()
    upper = _placed(body, along, UP)
    inner = _placed(bore, along, UP)
    rim = [(float(body[0, 0]), float(body[0, 1])), *_sharp(body)]
    ends = (float(upper[:, 0].min()), float(upper[:, 0].max()))
    sections = [_joined(upper, _reversed(inner))]
    if design.forced.get("side_ports") and design.tip is not None:
        sections = _cut_by_port(design, sections[0], view)
    if isinstance(design.own, Collar):
        sections = _cut_by_screw(design.own, upper, inner, view)
    view.sections += sections
    view.visible += [np.vstack([section, section[:1]]) for section in sections]
    lower = _placed(body, along, DOWN)
    view.visible.append(_joined([(lower[0, 0], 0.0, 0.0)], lower, [(lower[-1, 0], 0.0, 0.0)]))
    view.edges += [(at * along[0], 0.0, at * along[0], -r) for at, r in rim[1:]]
    view.edges += [(u, 0.0, u, v) for u, v, _ in inner]
    view.axes.append((ends[0] - over, 0.0, ends[1] + over, 0.0))
    if design.tip is not None:
        _tick_marks(design, view, float(design.tip.neck_mm))
    if isinstance(design.own, Driver) and design.own.arms:
        _arm_slots(design.own, view)
    if isinstance(design.own, Cap) and design.mark.lines:
        # Letters are not drawn; how deep they go is, because the end wall begins there.
        floor = ends[0] + design.mark.depth_mm
        view.hidden.append((floor, 0.0, floor, -float(design.mark.span_mm) / 2.0))
    return view


def _cut_by_screw(own: Collar, upper: Path2, inner: Path2, view: _View) -> list[Path2]:
    """Split a collar's section where its cut runs through the screw's hole."""
    outside, bore = float(own.collar_mm) / 2.0, float(own.bore_mm) / 2.0
    middle, hole = float(own.length_mm) / 2.0, float(own.screw_hole_mm) / 2.0
    near, far = middle - hole, middle + hole
    # The hole's edges on both round faces, as they are seen behind the cut.
    turns = np.linspace(0.0, pi, 25)
    for radius in (outside, bore):
        drop = np.sqrt(np.maximum(radius**2 - (hole * np.sin(turns)) ** 2, 0.0))
        view.visible.append(
            np.column_stack([middle - hole * np.cos(turns), drop, np.zeros_like(turns)])
        )
    view.axes.append((middle, bore * 0.5, middle, outside + bore * 0.5))
    return [
        _joined(upper[upper[:, 0] < near], [(near, outside, 0.0), (near, bore, 0.0)],
                _reversed(inner)[inner[::-1, 0] < near]),
        _joined([(far, bore, 0.0), (far, outside, 0.0)], upper[upper[:, 0] > far],
                _reversed(inner)[inner[::-1, 0] > far]),
    ]  # fmt: skip


def _arm_slots(own: Driver, view: _View) -> None:
    """Draw a driver's slots, seen along the arms: one in front, a second behind the cut."""
    half, high = float(own.slot_mm) / 2.0, float(own.slot_height_mm)
    front = np.array([(0.0, -half, 0.0), (high - half, -half, QUARTER), (high, 0.0, 0.0)])
    view.visible.append(front)
    if own.arms < 2:
        return
    behind = front * np.array([1.0, -1.0, -1.0])
    view.visible.append(behind)
    # Through both slots nothing is seen: no foot, and no roof's corner within them.
    kept = []
    for u0, v0, u1, v1 in view.edges:
        if u0 == u1 and u0 < high:
            clear = half if u0 <= high - half else sqrt(half**2 - (u0 - high + half) ** 2)
            if abs(v1) > clear:
                kept.append((u0, clear if v1 > 0.0 else -clear, u1, v1))
        else:
            kept.append((u0, v0, u1, v1))
    view.edges[:] = kept
    for path in view.visible:
        if abs(path[0, 0]) < 1e-9 and path[0, 1] == 0.0 and path[1, 1] < 0.0:
            path[0, 1] = -half


def _cut_by_port(design: Design, section: Path2, view: _View) -> list[Path2]:
    """Split a turned section where its cut runs through a side port near the lead end."""
    tip = design.tip
    assert tip is not None
    root_at, bore = float(tip.neck_mm), float(tip.bore_mm) / 2.0
    end = root_at + float(tip.seat_mm)
    middle = end - float(side_port_from_lead_mm(tip))
    near, far = middle - bore, middle + bore
    near_r, far_r = (_taper_radius(design, at - root_at) for at in (near, far))
    for at, r in ((near, near_r), (far, far_r)):
        view.hidden.append((at, -bore, at, -r))
    lead = section[section[:, 0] > far + 1e-9]
    outer, inner = lead[lead[:, 1] > bore + 1e-9], lead[lead[:, 1] <= bore + 1e-9]
    rest = section[section[:, 0] < near - 1e-9]
    # The body runs from the lead end (right) to the barb and back along the bore.
    return [
        _joined([(far, bore, 0.0)], inner[:1], outer, [(far, far_r, 0.0)]),
        _joined([(near, near_r, 0.0)], rest, [(near, bore, 0.0)]),
    ]


# --- the dimensions -----------------------------------------------------------------------------


def _barb_places(design: Design, index: int) -> dict[str, float]:
    """Return where a barb's diameters are read, as distances from its shoulder [mm]."""
    barb = single(design).barbs[index]
    backs = back_faces(barb)
    insertion, land = float(barb.insertion_mm), float(barb.land_mm)
    return {
        "root": (insertion - backs[-1]) / 2.0,
        "crest": insertion - backs[-1] + land / 2.0,
        "pitch_low": insertion - backs[1] if len(backs) > 1 else insertion - backs[0],
        "pitch_high": insertion - backs[0],
        "land_low": insertion - backs[-1],
        "land_high": insertion - backs[-1] + land,
        "end": insertion,
    }


def _barb_angle(sheet: _Sheet, end_mm: float, way: tuple[float, float]) -> None:
    """Dimension the slope of the first barb's nose: its ramps all have the same."""
    p, barb = sheet.p, sheet.design.barbs[0]
    ramp, crest = float(barb.nose_ramp_mm), float(barb.crest_mm) / 2.0
    drop = crest - float(barb.nose_mm) / 2.0
    reach = max(hypot(ramp, drop) + 3.0 * p, 9.0 * p)
    if way == UP:
        corner, aslant = (crest, end_mm - ramp), (-drop, ramp)
        text = (crest + 3.0 * p, max(end_mm, corner[1] + reach) + 2.0 * p)
    else:
        corner, aslant = (end_mm - way[0] * ramp, crest), (way[0] * ramp, -drop)
        text = (corner[0] + way[0] * (reach + 3.0 * p), crest + 1.8 * p)
    along = (way[0] * ramp, way[1] * ramp)
    sheet.angle("barb_angle_deg", corner, along, aslant, reach, text)


def _taper_note(sheet: _Sheet, seat_root: float, right_of: float = -np.inf) -> None:
    design = sheet.design
    tip = design.tip
    assert tip is not None
    text = (
        f"taper {_two(100.0 * float(tip.taper))} % on diameter (1:{_two(1.0 / float(tip.taper))})"
    )
    end = seat_root + float(tip.seat_mm)
    at = max(seat_root + float(tip.seat_mm) * 0.97 - sheet.width(text), right_of)
    if design.forced.get("side_ports"):
        p, half = sheet.p, float(tip.bore_mm) / 2.0
        middle = end - float(side_port_from_lead_mm(tip))
        high = _taper_radius(design, middle - seat_root)
        row = float(tip.root_mm) / 2.0 + 10.0 * p
        sheet.along("side_port_diameter_mm", (middle - half, high), (middle + half, high), row,
                    round_=True)  # fmt: skip
        sheet.along("side_port_from_lead_mm", (middle, high), (end, high), row + 6.0 * p)
        at = middle - half - 4.0 * p - sheet.width(text)
    line = float(tip.root_mm) / 2.0 + 2.0 * sheet.p
    sheet.text(text, at, line)
    # Ticks face whoever looks, so that no view shows how deep they are.
    deep, _ = sheet.label("tick_depth_mm", float(tip.tick_mm), round_=False)
    sheet.text(f"ticks {deep} deep", at, line + 3.3 * sheet.p)


def _tip_lengths(sheet: _Sheet, seat_root: float, clear: float, neck_start: float) -> float:
    """Draw ticks, plain neck and seat under the tip; return where the next row stands."""
    p, design = sheet.p, sheet.design
    tip = design.tip
    assert tip is not None
    width = float(tip.tick_mm)
    ticks = tick_positions(single(design))
    row = clear - 6.0 * p
    under = -float(tip.root_mm) / 2.0 * 0.3
    if len(ticks) > 1:
        sheet.along("tick_spacing_mm", (seat_root, under), (seat_root + ticks[1], under), row)
        row -= 6.0 * p
    sheet.along("tick_width_mm", (seat_root, under), (seat_root + width, under), row)
    row -= 6.0 * p
    edge = -float(tip.root_mm) / 2.0
    sheet.along("fork_neck_mm", (neck_start, edge), (seat_root, edge), row)
    row -= 6.0 * p
    end = seat_root + float(tip.seat_mm)
    sheet.along("seat_length_mm", (seat_root, edge), (end, -float(tip.lead_mm) / 2.0), row)
    return row - 6.0 * p


def _hub_dimensions(sheet: _Sheet) -> None:
    p, design = sheet.p, sheet.design
    hub, tip, barb = design.hub, design.tip, design.barbs[0]
    assert hub is not None
    assert tip is not None
    seat_root = float(design.seat_root_mm)
    neck_start = blend_end(float(hub.ball_mm), float(tip.root_mm), float(hub.blend_mm))
    end = seat_root + float(tip.seat_mm)
    start, arm_end = float(design.arm_start_mm), float(design.arm_length_mm)
    pad, face = float(hub.pad_mm), float(hub.pad_height_mm)
    two_arms = design.kind.arms == 2
    arm_half = max(float(barb.crest_mm), float(barb.shoulder_mm), float(barb.neck_mm)) / 2.0
    clear = float(tip.root_mm) / 2.0 + 1.5 * p

    # Under the tip. On a neck too short for a text between its own extension lines, the
    # lengths come first and the text stands below them.
    narrow = (seat_root - neck_start) * sheet.scale < 7.0
    beside = arm_half + 3.0 * p if two_arms else -np.inf
    far = sheet.across(
        [
            _Across("lead_diameter_mm", end, float(tip.lead_mm), 1),
            _Across("tip_bore_diameter_mm", end, float(tip.bore_mm), 2),
        ],
        upright_axis=False,
        side=-1.0,
        clear_mm=clear,
    )
    next_row = _tip_lengths(sheet, seat_root, -clear, neck_start) if narrow else 0.0
    far = max(far, sheet.across(
        [_Across("tip_root_diameter_mm", (neck_start + seat_root) / 2.0, float(tip.root_mm))],
        upright_axis=False, side=-1.0, clear_mm=-next_row if narrow else clear, lowest=beside,
    ))  # fmt: skip
    if not narrow:
        next_row = _tip_lengths(sheet, seat_root, -far, neck_start)
    lower = -(arm_end if two_arms else max(float(hub.ball_mm), pad) / 2.0)
    row = min(next_row, lower - 8.0 * p, -far - 8.0 * p)

    # Left of the pad.
    pad_far = sheet.across(
        [_Across("strike_pad_diameter_mm", -face, pad, 1)],
        upright_axis=False, side=-1.0, clear_mm=pad / 2.0 + 1.5 * p, turned=-1.0,
    )  # fmt: skip
    row = min(row, -pad_far - 4.0 * p)
    crown = float(hub.crown_mm)
    sheet.along(
        "strike_pad_crown_mm", (-face, 0.0), (-face + crown, pad / 2.0), pad / 2.0 + 6.0 * p,
        before=True,
    )  # fmt: skip
    sheet.along("strike_pad_height_mm", (-face, -pad / 4.0), (0.0, lower), row, before=True)
    total = row - 7.0 * p
    sheet.along("envelope_z_mm", (-face, -pad / 4.0), (end, -float(tip.lead_mm) / 2.0), total)

    # The arm that points up: diameters to the left, lengths to the right.
    places = _barb_places(design, 0)
    items = [
        _Across("neck_diameter_mm", (start + _neck_start(design)) / 2.0, float(barb.neck_mm)),
        _Across("root_diameter_mm", start + places["root"], float(barb.root_mm)),
        _Across("crest_diameter_mm", start + places["crest"], float(barb.crest_mm)),
        _Across("nose_diameter_mm", arm_end, float(barb.nose_mm), 1),
        _Across("bore_diameter_mm", arm_end, float(design.bore_mm), 2),
    ]
    lowest = max(pad / 2.0 + 11.0 * p, float(hub.ball_mm) / 2.0 + 3.0 * p)
    sheet.across(items, upright_axis=True, side=-1.0, clear_mm=arm_half + 1.5 * p, lowest=lowest)
    column = arm_half + 5.0 * p
    crest = float(barb.crest_mm) / 2.0
    sheet.along("land_mm", (crest, start + places["land_low"]),
                (crest, start + places["land_high"]), column, upright=True,
                horizontal_text=True)  # fmt: skip
    sheet.along("barb_pitch_mm", (crest, start + places["pitch_low"]),
                (crest, start + places["pitch_high"]), column, upright=True,
                horizontal_text=True)  # fmt: skip
    column += 24.0 * p
    sheet.along("insertion_mm", (arm_half, start), (float(barb.nose_mm) / 2.0, arm_end), column,
                upright=True)  # fmt: skip
    sheet.along("neck_length_mm", (float(hub.ball_mm) / 2.0 * 0.7, float(hub.ball_mm) / 2.0),
                (arm_half, start), column + 7.0 * p, upright=True,
                horizontal_text=True)  # fmt: skip
    sheet.along("arm_length_mm", (end * 0.2, 0.0), (float(barb.nose_mm) / 2.0, arm_end),
                column + 28.0 * p, upright=True)  # fmt: skip
    _barb_angle(sheet, arm_end, UP)
    _taper_note(sheet, seat_root, column + 30.0 * p)

    # The two balls, out through the corners beside the pad.
    pad_side = -face - 12.0 * p
    sheet.slanted("relief_ball_diameter_mm", float(hub.relief_mm), 155.0,
                  (pad_side, pad / 2.0 * 0.55), left=True)  # fmt: skip
    sheet.slanted("hub_ball_diameter_mm", float(hub.ball_mm), 205.0,
                  (pad_side, -pad / 2.0 * 0.55), left=True)  # fmt: skip


def _neck_start(design: Design) -> float:
    hub = design.hub
    assert hub is not None
    return blend_end(float(hub.ball_mm), float(design.barbs[0].neck_mm), float(hub.blend_mm))


def _wedge_end_mm(fork: Fork) -> float:
    """Return where a fork's wedge is full, from the slot's round end [mm]."""
    return -float(fork.tines_mm) + float(fork.thick_mm - fork.thin_mm) / fork.slope


def _side_base_mm(fork: Fork, p: float) -> float:
    """Return where a fork's flat side stands in its side view, clear of the plan."""
    return -float(fork.width_mm) / 2.0 - 22.0 * p - float(fork.thick_mm)


def _plan_view(design: Design, p: float) -> _View:
    """Return a flat part seen from above, and from its side below that."""
    fork = design.own
    assert isinstance(fork, Fork)
    plan = np.asarray(shape_of(design, "drawing").adds[0].outline)
    view = _View()
    view.visible.append(np.vstack([plan, plan[:1]]))
    ends = float(plan[:, 0].min()) - 3.0, float(plan[:, 0].max()) + 3.0
    view.axes.append((ends[0], 0.0, ends[1], 0.0))
    full, half, slot = _wedge_end_mm(fork), float(fork.width_mm) / 2.0, float(fork.slot_mm) / 2.0
    open_mm = sqrt(max(slot**2 - max(full, 0.0) ** 2, 0.0))
    view.edges += [(full, open_mm, full, half), (full, -half, full, -open_mm)]
    low, thick = _side_base_mm(fork, p), float(fork.thick_mm)
    tines, handle = float(fork.tines_mm), float(fork.handle_mm)
    corners = [(-tines, 0.0), (handle, 0.0), (handle, thick), (full, thick),
               (-tines, float(fork.thin_mm)), (-tines, 0.0)]  # fmt: skip
    view.visible.append(np.array([(u, low + v, 0.0) for u, v in corners]))
    return view


def _plan_dimensions(sheet: _Sheet) -> None:
    """Dimension a fork's plan (the slot's round end is at the origin) and its side."""
    p, fork = sheet.p, sheet.design.own
    assert isinstance(fork, Fork)
    half, slot = float(fork.width_mm) / 2.0, float(fork.slot_mm) / 2.0
    tines, handle = float(fork.tines_mm), float(fork.handle_mm)
    sheet.along("tine_length_mm", (-tines, half), (0.0, half), half + 9.0 * p)
    sheet.along("handle_length_mm", (0.0, half), (handle, half), half + 9.0 * p)
    sheet.along("envelope_x_mm", (-tines, -half), (handle, -half), -half - 9.0 * p)
    sheet.along("fork_slot_mm", (-tines, -slot), (-tines, slot), -tines - 9.0 * p, upright=True)
    sheet.along("tine_width_mm", (-tines, -half), (-tines, -slot), -tines - 18.0 * p,
                upright=True, before=True)  # fmt: skip
    sheet.along("envelope_y_mm", (handle, -half), (handle, half), handle + 11.0 * p, upright=True)

    low, thick, full = _side_base_mm(fork, p), float(fork.thick_mm), _wedge_end_mm(fork)
    sheet.along("tine_end_mm", (-tines, low), (-tines, low + float(fork.thin_mm)),
                -tines - 9.0 * p, upright=True, before=True)  # fmt: skip
    sheet.along("fork_thickness_mm", (handle, low), (handle, low + thick), handle + 7.0 * p,
                upright=True, horizontal_text=True)  # fmt: skip
    # The slope against the flat of the handle, above it where nothing else stands.
    reach, ray = 24.0 * p, 5.0 * p
    text = (full + reach + 3.0 * p, low + thick + 2.4 * p)
    corner = (full, low + thick)
    sheet.angle("fork_slope_deg", corner, (ray, 0.0), (ray, ray * fork.slope), reach, text)


def _own_dimensions(sheet: _Sheet) -> None:
    """Dimension a turned tool from what its own sizes say is shown."""
    p, own = sheet.p, sheet.design.own
    assert own is not None
    slotted = isinstance(own, Driver) and own.arms > 0
    shown = [one for one in own.shown if one.diameter_mm]
    widest = max(one.diameter_mm for one in shown)
    clear, edge = widest / 2.0 + 1.5 * p, widest / 2.0
    # The slots are narrower than the socket, so their width stands nearer to the foot.
    items = [
        _Across(one.name, one.low_mm, one.diameter_mm, one.beyond * (2 if slotted else 1))
        for one in shown
    ]
    lengths = [one for one in own.shown if not one.diameter_mm]
    if isinstance(own, Driver) and slotted:
        half, high = float(own.slot_mm) / 2.0, float(own.slot_height_mm)
        lengths = [one for one in lengths if one.name != "arm_slot_height_mm"]
        sheet.along("arm_slot_mm", (0.0, -half), (0.0, half), -7.0 * p, upright=True)
        sheet.along("arm_slot_height_mm", (0.0, -half), (high, 0.0), -edge - 7.0 * p)
    sheet.across(items, upright_axis=False, side=-1.0, clear_mm=clear)
    spans = [(one.name, one.low_mm, one.high_mm) for one in lengths]
    if isinstance(own, Collar):
        # Below the whole length, whose text its line would cross.
        spans.insert(1, ("screw_from_face_mm", 0.0, float(own.length_mm) / 2.0))
    for index, (name, low, high) in enumerate(spans):
        sheet.along(name, (low, edge), (high, edge), edge + 7.0 * (index + 1) * p,
                    round_="diameter" in name)  # fmt: skip
    if isinstance(own, Driver):
        end, crown = float(own.length_mm), own.crown_mm
        sheet.along("driver_crown_mm", (end - crown, edge), (end, 0.0), edge + 7.0 * p)


def _turned_dimensions(sheet: _Sheet) -> None:
    if not sheet.design.barbs:
        _own_dimensions(sheet)
        return
    p, design = sheet.p, sheet.design
    tip, ring = design.tip, design.ring
    ends: list[tuple[int, float, float]] = []  # index of the barb, shoulder, direction
    if ring is not None:
        ends.append((0, -float(ring.thickness_mm), -1.0))
    else:
        half = float(design.neck_length_mm) / 2.0
        ends.append((0, half, 1.0))
        if len(design.barbs) > 1 and design.kind.arms > 1:
            ends.append((1, -half, -1.0))
    widest = max(
        [float(b.shoulder_mm) for b in design.barbs]
        + [float(b.crest_mm) for b in design.barbs]
        + [float(design.neck_mm) if ring is None else float(ring.ring_mm)]
        + [one.diameter_mm for one in (design.own.shown if design.own is not None else ())]
        + ([float(tip.root_mm)] if tip is not None else [])
    )
    clear = widest / 2.0 + 1.5 * p
    items: list[_Across] = []
    left_end = right_end = 0.0
    above = widest / 2.0 + 7.0 * p
    for index, shoulder, way in ends:
        barb, places = design.barbs[index], _barb_places(design, index)
        second = "second_" if index else ""
        end = shoulder + way * places["end"]
        left_end, right_end = min(left_end, end), max(right_end, end)
        items += [
            _Across(f"{second}root_diameter_mm", shoulder + way * places["root"],
                    float(barb.root_mm)),
            _Across(f"{second}crest_diameter_mm", shoulder + way * places["crest"],
                    float(barb.crest_mm)),
            _Across(f"{second}nose_diameter_mm", end, float(barb.nose_mm), int(way)),
        ]  # fmt: skip
        if not index:
            _barb_angle(sheet, end, RIGHT if way > 0.0 else LEFT)
        crest = float(barb.crest_mm) / 2.0
        before = way < 0.0
        sheet.along(f"{second}land_mm", (shoulder + way * places["land_low"], crest),
                    (shoulder + way * places["land_high"], crest), above,
                    before=before)  # fmt: skip
        sheet.along(f"{second}barb_pitch_mm", (shoulder + way * places["pitch_low"], crest),
                    (shoulder + way * places["pitch_high"], crest), above + 7.0 * p,
                    before=not before)  # fmt: skip
        sheet.along(f"{second}insertion_mm", (shoulder, crest),
                    (end, float(barb.nose_mm) / 2.0), above + 14.0 * p)  # fmt: skip
    if design.own is not None:
        items += [_Across(one.name, one.low_mm, one.diameter_mm, one.beyond)
                  for one in design.own.shown if one.diameter_mm]  # fmt: skip
        items.append(_Across("bore_diameter_mm", right_end, float(design.bore_mm), 2))
        far = sheet.across(items, upright_axis=False, side=-1.0, clear_mm=clear)
        lengths = [one for one in design.own.shown if not one.diameter_mm]
        for one in lengths:
            sheet.along(one.name, (one.low_mm, clear), (one.high_mm, clear), above + 21.0 * p,
                        before=True)  # fmt: skip
        left_end = min(one.low_mm for one in lengths)
        if isinstance(design.own, Cap):
            bottom = float(design.own.head_thickness_mm) / 2.0 - float(design.bore_mm) / 2.0
            floor = left_end + (design.mark.depth_mm if design.mark.lines else 0.0)
            sheet.along("end_wall_mm", (floor, 0.0), (bottom, 0.0), above + 14.0 * p, before=True)
        sheet.along("envelope_z_mm", (left_end, -clear / 2.0), (right_end, -clear / 2.0),
                    -far - 8.0 * p)  # fmt: skip
        return
    if ring is None:
        half = float(design.neck_length_mm) / 2.0
        items.append(_Across("neck_diameter_mm", 0.0, float(design.neck_mm)))
        items.append(_Across("bore_diameter_mm", right_end, float(design.bore_mm), 2))
        far = sheet.across(items, upright_axis=False, side=-1.0, clear_mm=clear)
        sheet.along("neck_length_mm", (-half, clear), (half, clear), above + 21.0 * p)
        if len(design.barbs) == 1:
            left_end = -right_end
        sheet.along("envelope_x_mm", (left_end, -clear / 2.0), (right_end, -clear / 2.0),
                    -far - 8.0 * p)  # fmt: skip
        return
    assert tip is not None
    seat_root = float(tip.neck_mm)
    right_end = seat_root + float(tip.seat_mm)
    items += [
        _Across("bore_diameter_mm", left_end, float(design.bore_mm), -2),
        _Across("shoulder_ring_diameter_mm", -float(ring.thickness_mm) / 2.0, float(ring.ring_mm)),
        _Across("lead_diameter_mm", right_end, float(tip.lead_mm), 1),
        _Across("tip_bore_diameter_mm", right_end, float(tip.bore_mm), 2),
    ]
    tip_root = _Across("tip_root_diameter_mm", seat_root / 2.0, float(tip.root_mm))
    narrow = seat_root * sheet.scale < 7.0
    if not narrow:
        items.append(tip_root)
    far = sheet.across(items, upright_axis=False, side=-1.0, clear_mm=clear)
    row = _tip_lengths(sheet, seat_root, -clear if narrow else -far, 0.0)
    if narrow:
        far = max(far, sheet.across([tip_root], upright_axis=False, side=-1.0, clear_mm=-row))
        row = min(row, -far - 4.0 * p)
    rim = float(ring.ring_mm) / 2.0
    sheet.along("shoulder_ring_thickness_mm", (-float(ring.thickness_mm), rim), (0.0, rim),
                above + 21.0 * p)  # fmt: skip
    root = float(tip.root_mm) / 2.0
    sheet.along("envelope_z_mm", (left_end, -root / 2.0), (right_end, -root / 2.0), row - 1.0 * p)
    _taper_note(sheet, seat_root)


def drawing(design: Design, info: DrawingInfo) -> Any:
    """Return the dimensioned drawing of a part as a DXF document.

    Parameters
    ----------
    design : Design
        A single part (no arrays).
    info : DrawingInfo
        Words of the title block.

    Returns
    -------
    ezdxf.document.Drawing
        Millimetres at true size; the frame is scaled to A4.

    Raises
    ------
    BuildError
        When no scale brings the part onto the sheet without overlapping texts.
    """
    ezdxf = load_ezdxf()
    longest = max(float(side) for side in design.envelope_mm)
    for scale in SCALES:
        if longest * scale > FRAME_MM[0]:
            continue
        sheet = _Sheet(ezdxf, design, info, scale)
        over = 3.0 * sheet.p
        if design.hub is not None:
            sheet.view(_hub_view(design, over))
            _hub_dimensions(sheet)
        elif isinstance(design.own, Fork):
            sheet.view(_plan_view(design, sheet.p))
            _plan_dimensions(sheet)
        else:
            sheet.view(_turned_view(design, over))
            _turned_dimensions(sheet)
        if sheet.fits():
            sheet.frame()
            return sheet.doc
    raise BuildError(
        Fault("the part cannot be drawn on A4 without overlapping texts",
              given=info.part_number, do="leave out the drawing with --formats, and tell us")
    )  # fmt: skip


# --- writing ------------------------------------------------------------------------------------


def dxf_bytes(document: Any) -> bytes:
    """Return a drawing as DXF; equal drawings give equal bytes.

    Parameters
    ----------
    document : ezdxf.document.Drawing
        The drawing.

    Returns
    -------
    bytes
        ASCII DXF R2010.

    Raises
    ------
    BuildError
        When ezdxf's own audit finds an error.
    """
    import io

    import ezdxf

    audit = document.audit()
    if audit.errors:
        raise BuildError(
            Fault("the drawing does not pass its audit", given=str(audit.errors[0].message))
        )
    stream = io.StringIO()
    with _fixed_metadata(ezdxf):
        document.write(stream)
    return stream.getvalue().encode("utf-8")


def _page_box(document: Any) -> Box:
    layout = document.modelspace().dxf
    low, high = layout.extmin, layout.extmax
    return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))


@contextmanager
def _same_hatch() -> Iterator[None]:
    """Seed the jitter of hatch lines, and give the generator back as it was."""
    state = random.getstate()
    random.seed(0)
    try:
        yield
    finally:
        random.setstate(state)


def _configuration() -> Any:
    from ezdxf.addons.drawing.config import (
        BackgroundPolicy,
        ColorPolicy,
        Configuration,
        HatchPolicy,
        LinePolicy,
        TextPolicy,
    )

    return Configuration(
        background_policy=BackgroundPolicy.WHITE,
        color_policy=ColorPolicy.BLACK,
        hatch_policy=HatchPolicy.NORMAL,
        line_policy=LinePolicy.ACCURATE,
        text_policy=TextPolicy.FILLING,
        min_lineweight=0.1,
    )


def svg_bytes(document: Any) -> bytes:
    """Return a drawing as one SVG, A4 landscape, its texts as outlines.

    Parameters
    ----------
    document : ezdxf.document.Drawing
        From `drawing`.

    Returns
    -------
    bytes
        UTF-8, no outside address but the SVG namespace.
    """
    from ezdxf.addons.drawing import Frontend, RenderContext
    from ezdxf.addons.drawing import layout as page_layout
    from ezdxf.addons.drawing.svg import SVGBackend
    from ezdxf.math import BoundingBox2d

    load_ezdxf()
    backend = SVGBackend()
    with _same_hatch():
        Frontend(RenderContext(document), backend, config=_configuration()).draw_layout(
            document.modelspace()
        )
    left, bottom, right, top = _page_box(document)
    text = backend.get_string(
        page_layout.Page(*PAGE_MM, page_layout.Units.mm, page_layout.Margins.all(0)),
        settings=page_layout.Settings(fit_page=True, output_coordinate_space=100_000),
        render_box=BoundingBox2d([(left, bottom), (right, top)]),
        xml_declaration=False,
    )
    return str(text).encode("utf-8")


def pdf_bytes(document: Any) -> bytes:
    """Return a drawing as one PDF page, A4 landscape; no dates in it.

    Parameters
    ----------
    document : ezdxf.document.Drawing
        From `drawing`.

    Returns
    -------
    bytes
        The file.
    """
    import io

    load_ezdxf()
    # Through matplotlib: ezdxf's other way to PDF needs a library under the AGPL.
    with homeless():
        import matplotlib as mpl
        from ezdxf.addons.drawing import Frontend, RenderContext
        from ezdxf.addons.drawing.matplotlib import MatplotlibBackend
        from ezdxf.npshapes import to_matplotlib_path
        from matplotlib.backends.backend_pdf import FigureCanvasPdf
        from matplotlib.figure import Figure
        from matplotlib.patches import PathPatch

    class Backend(MatplotlibBackend):  # type: ignore[misc]
        """Fill letters as the font winds them: guessing holes fills half a diameter sign."""

        def draw_filled_paths(self, paths: Any, properties: Any) -> None:
            paths = [path for path in paths if len(path)]
            if paths:
                path = to_matplotlib_path(paths, detect_holes=False)
                self.ax.add_patch(
                    PathPatch(path, color=properties.color, linewidth=0, zorder=self._get_z())
                )

    with mpl.rc_context():
        mpl.rcdefaults()
        figure = Figure(figsize=(PAGE_MM[0] / 25.4, PAGE_MM[1] / 25.4))
        FigureCanvasPdf(figure)
        axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        left, bottom, right, top = _page_box(document)
        backend = Backend(axes, adjust_figure=False)
        with _same_hatch():
            Frontend(RenderContext(document), backend, config=_configuration()).draw_layout(
                document.modelspace(), finalize=False
            )
        axes.set_aspect("auto")
        axes.set_xlim(left, right)
        axes.set_ylim(bottom, top)
        stream = io.BytesIO()
        figure.savefig(
            stream,
            format="pdf",
            metadata={"CreationDate": None, "ModDate": None, "Creator": "barbwright"},
        )
    return stream.getvalue()


def write_dxf(document: Any, path: Path) -> None:
    """Write a drawing as DXF (see `dxf_bytes`)."""
    Path(path).write_bytes(dxf_bytes(document))


def write_svg(document: Any, path: Path) -> None:
    """Write a drawing as SVG (see `svg_bytes`)."""
    Path(path).write_bytes(svg_bytes(document))


def write_pdf(document: Any, path: Path) -> None:
    """Write a drawing as PDF (see `pdf_bytes`)."""
    Path(path).write_bytes(pdf_bytes(document))
