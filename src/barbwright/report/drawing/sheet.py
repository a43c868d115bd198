"""The sheet: views at a scale that fits, in a frame with its title block."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barbwright.design.draw import views_of
from barbwright.design.limits import critical_limits
from barbwright.design.part import Design, limits_of, sizes_of
from barbwright.design.view import Path, Spot, View, two
from barbwright.errors import BuildError, Fault
from barbwright.report.drawing.dimensions import TEXT_MM, Marking, Placing
from barbwright.report.drawing.placed import (
    AXIS,
    FRAME,
    Box,
    Disc,
    Item,
    Stroke,
    Words,
    overlapping,
)
from barbwright.report.drawing.room import Room
from barbwright.report.fonts import text_width

PAGE_MM = (297.0, 210.0)
# The frame keeps clear of the edges of both A4 and Letter when centred at full size.
FRAME_MM = (262.0, 190.0)
# Notes stand left of the title block's cells.
NOTES_MM, NOTE_MM, NOTE_STEP_MM = 120.0, 1.7, 2.95
TITLE_ROW_MM, _ROWS = 8.5, 4
SCALES = (10.0, 5.0, 4.0, 3.0, 2.5, 2.0, 1.5, 1.0, 0.75, 0.5)
VIEW_GAP_MM = 5.0
# Clear paper round views that stand without a frame.
_RIM_MM = 1.5
# Side of a square of paper that is free or taken [mm].
_CELL_MM = 1.5
_WHERE = {
    "pad": "in the middle of the pad", "rim": "once round the rim", "face": "on the face",
    "none": "",
}  # fmt: skip
NOT_PRESSURE_RATED = "Not pressure rated: proof-test with water"


@dataclass(frozen=True, kw_only=True)
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


def scale_text(scale: float) -> str:
    """Return a scale as drawings write it, such as ``3:1``."""
    return f"{scale:g}:1" if scale >= 1.0 else f"1:{two(1.0 / scale)}"


def laid_out(
    design: Design, info: DrawingInfo, bare_mm: tuple[float, float] | None = None
) -> Sheet:
    """Return a part's sheet at the largest scale at which all has room.

    Parameters
    ----------
    design : Design
        A single part (no arrays).
    info : DrawingInfo
        Words of the title block.
    bare_mm : (float, float), optional
        A field for views and sizes alone, for a page that has the words already [mm].

    Returns
    -------
    Sheet
        With frame and title block, unless bare.

    Raises
    ------
    BuildError
        When no scale brings the part onto the sheet without overlapping texts.
    """
    views = views_of(design)
    longest = max(float(side) for side in design.envelope_mm)
    sizes = sizes_of(design)

    def off(name: str, size_mm: float) -> tuple[float, float]:
        if name in sizes:
            least, most = limits_of(design, sizes[name][0], size_mm)
            return size_mm - least, most - size_mm
        either = float(design.conditions.material.tolerance_at(size_mm))
        return either, either

    numbers = {one.name: one.number for one in critical_limits(design)}
    marking = Marking(numbers=numbers, off=off)
    crossed: list[Sheet] = []
    for scale in SCALES:
        if longest * scale > (bare_mm or FRAME_MM)[0]:
            continue
        notes = () if bare_mm else notes_of(design, info, views)
        sheet = Sheet(views, info, notes, scale, bare_mm)
        fits = sheet.place([Placing(view, 1.0 / (view.scale or scale), marking) for view in views])
        if fits and not sheet.crossed:
            break
        if fits:
            crossed.append(sheet)
    else:
        if not crossed:
            raise BuildError(
                Fault(
                    "the part cannot be drawn on A4 without overlapping texts",
                    given=info.part_number,
                    do="leave out the drawing with --formats, and tell us",
                )
            )
        sheet = min(crossed, key=lambda one: one.crossed)
    if bare_mm:
        sheet.cut_out()
    else:
        sheet.frame()
    return sheet


def notes_of(design: Design, info: DrawingInfo, views: tuple[View, ...]) -> tuple[str, ...]:
    """Return what is said of the whole part, beside the title block.

    Parameters
    ----------
    design : Design
        A single part [mm].
    info : DrawingInfo
        Words of the title block.
    views : tuple of View
        What is drawn.

    Returns
    -------
    tuple of str
        A sentence or two each.
    """
    material, mark = design.conditions.material, design.mark
    off, share = float(material.tolerance_mm), float(material.tolerance_pct)
    general = f"Sizes without a tolerance of their own: ±{two(off)} mm"
    if share > 0.0:
        general += f", from {two(100.0 * off / share)} mm on ±{two(share)} %"
    engraved = "Engraved: nothing."
    if mark.lines:
        apart = ""
        if len(mark.lines) > 1:
            apart = f", lines {two(mark.lines[0].at_mm - mark.lines[1].at_mm)} apart"
        engraved = (
            f"Engraved {_WHERE[design.kind.mark]}: {info.mark}; capitals "
            f"{two(mark.letters.cap_mm)} tall of strokes {two(mark.stroke_mm)} wide{apart}, "
            f"{two(mark.depth_mm)} deep."
        )
    radii = "; ".join(view.left_out for view in views if view.left_out)
    seen = "; ".join(
        f"{view.letter or ('below' if view.below else 'main view')}: {view.title}" for view in views
    )
    status = NOT_PRESSURE_RATED if info.passed else f"NOT PASSED. {NOT_PRESSURE_RATED}"
    return (
        f"{status}.",
        f"{general}. In brackets: follows from the other sizes.",
        "Circled numbers: sizes to check, as in order, inspection and first-article form.",
        *((f"Not drawn out: {radii}.",) if radii else ()),
        engraved,
        "Tolerancing ISO 8015. Edges ISO 13715: outside -0.3, inside +0.3. Surfaces as built and "
        "cleaned of powder, none machined; bores clear.",
        f"{seen[:1].upper()}{seen[1:]}.",
        *((f"Model files: {info.compensation}.",) if info.compensation else ()),
    )


def wrapped(text: str, room_mm: float, height_mm: float) -> list[str]:
    """Return a text in lines no wider than a room on the paper [mm]."""
    lines: list[str] = []
    for word in (piece for whole in text.split() for piece in _pieces(whole, room_mm, height_mm)):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer) * height_mm <= room_mm:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def _pieces(word: str, room_mm: float, height_mm: float) -> list[str]:
    """Return a word in as few pieces as fit a line each."""
    pieces = [""]
    for letter in word:
        if text_width(pieces[-1] + letter) * height_mm > room_mm:
            pieces.append("")
        pieces[-1] += letter
    return pieces


class Sheet:
    """One drawing at one scale.

    Parameters
    ----------
    views : tuple of View
        What is drawn.
    info : DrawingInfo
        Words of the title block.
    notes : tuple of str
        What is said of the whole part.
    scale : float
        Paper over part [-].
    bare_mm : (float, float), optional
        A field without frame and words [mm of paper].
    """

    def __init__(
        self,
        views: tuple[View, ...],
        info: DrawingInfo,
        notes: tuple[str, ...],
        scale: float,
        bare_mm: tuple[float, float] | None = None,
    ) -> None:
        self.views, self.info, self.scale = views, info, scale
        wide, tall = bare_mm or (FRAME_MM[0] - 6.0, 0.0)
        self.paper_mm = 1.0 / scale
        self.lines = [line for note in notes for line in _hanging(note)]
        # What views may take of the paper.
        self.field_mm = (wide, tall or FRAME_MM[1] - self.head_mm)
        self.items: list[Item] = []
        # Which view each item belongs to, and where each view's origin stands, how far enlarged.
        self.owners: list[int] = []
        self.frames: list[tuple[float, float, float]] = []
        self.boxes: list[Box] = []
        self.crossed = 0
        self.reach: Box = (0.0, 0.0, 0.0, 0.0)
        self.page: Box = (0.0, 0.0, 0.0, 0.0)

    def place(self, placings: list[Placing]) -> bool:
        """Place every view, the first where it is, each further one where it has room [mm].

        Returns
        -------
        bool
            Whether all stand in the field without one text on another.
        """
        self.reach = placings[0].reach
        wide, tall = self.reach[2] - self.reach[0], self.reach[3] - self.reach[1]
        field = (self.field_mm[0] * self.paper_mm, self.field_mm[1] * self.paper_mm)
        if wide > field[0] or tall > field[1]:
            return False
        room = Room(field, _CELL_MM * self.paper_mm, VIEW_GAP_MM * self.paper_mm)
        for number, placing in enumerate(placings):
            times = placing.view.scale / self.scale if placing.view.scale else 1.0
            at: Spot | None = (0.0, 0.0)
            if number:
                at = room.place_for(_moved(placing.reach, (0.0, 0.0), times), placing.view.below)
            if at is None:
                return False
            by = at
            self.frames.append((*by, times))
            self.items += [item.moved(by, times) for item in placing.items]
            self.owners += [number] * len(placing.items)
            boxes = [_moved(box, by, times) for box in placing.boxes]
            self.boxes += boxes
            self.crossed += placing.crossed
            strokes = placing.strokes * times + np.array([*by, *by])
            polygons = [polygon * times + np.array(by) for polygon in placing.polygons]
            room.take(boxes, strokes, polygons)
        self.reach = room.reach
        return room.fits and not overlapping(self.boxes, 0.4 * self.paper_mm)

    @property
    def title(self) -> str:
        """What the page is called."""
        return f"{self.info.part_number}, {self.info.title}, revision {self.info.revision}"

    @property
    def title_mm(self) -> float:
        """Height of the title block, as tall as the notes beside it [mm of paper]."""
        return max(TITLE_ROW_MM * _ROWS, len(self.lines) * NOTE_STEP_MM + 2.4)

    @property
    def head_mm(self) -> float:
        """What title block and a warning above take of the frame's height [mm of paper]."""
        return self.title_mm + (6.0 if self.info.passed else 18.0)

    def cut_out(self) -> None:
        """Let the page end where its views do."""
        rim = _RIM_MM * self.paper_mm
        left, bottom, right, top = self.reach
        self.page = (left - rim, bottom - rim, right + rim, top + rim)

    # --- frame and title block

    def frame(self) -> None:
        """Draw frame and title block around what stands there."""
        p = self.paper_mm
        middle = ((self.reach[0] + self.reach[2]) / 2.0, (self.reach[1] + self.reach[3]) / 2.0)
        width, height, title = FRAME_MM[0] * p, FRAME_MM[1] * p, self.title_mm * p
        left = middle[0] - width / 2.0
        bottom = middle[1] - (height - title) / 2.0 - title
        right, top = left + width, bottom + height
        corners = np.array(
            [(left, bottom, 0.0), (right, bottom, 0.0), (right, top, 0.0), (left, top, 0.0)]
        )
        self.items.append(Stroke(layer=FRAME, path=corners, closed=True))
        self._line(left, bottom + title, right, bottom + title)
        self._title_block(left, bottom)
        if not self.info.passed:
            self._text("NOT PASSED - do not use", left + 4.0 * p, top - 7.5 * p, 5.0)
        # The page's corners, for whoever plots it: the frame sits in the middle of A4.
        margin = (np.array(PAGE_MM) - np.array(FRAME_MM)) / 2.0 * p
        self.page = (left - margin[0], bottom - margin[1], right + margin[0], top + margin[1])

    def _line(self, u0: float, v0: float, u1: float, v1: float) -> None:
        path: Path = np.array([(u0, v0, 0.0), (u1, v1, 0.0)])
        self.items.append(Stroke(layer=FRAME, path=path, single=True))

    def _text(self, text: str, left: float, base: float, height_mm: float = TEXT_MM) -> None:
        """Write words with their left lower corner at a place."""
        height = height_mm * self.paper_mm
        self.items.append(Words(text=text, at=(left, base), height_mm=height))
        self.boxes.append((left, base, left + self._width(text, height_mm), base + height))

    def _width(self, text: str, height_mm: float = TEXT_MM) -> float:
        return text_width(text) * height_mm * self.paper_mm

    def _title_block(self, left: float, bottom: float) -> None:
        """Draw the notes on the left and the fields of ISO 7200 on the right."""
        p, top = self.paper_mm, bottom + self.title_mm * self.paper_mm
        start = left + NOTES_MM * p
        self._line(start, bottom, start, top)
        for number, line in enumerate(self.lines):
            base = top - (NOTE_STEP_MM * (number + 1) + 0.2) * p
            self._text(line, left + 2.0 * p, base, NOTE_MM)
        step = (top - bottom) / _ROWS
        for row, cells in enumerate(self._cells()):
            high, at = top - step * row, start
            if row:
                self._line(start, high, left + FRAME_MM[0] * p, high)
            for number, (head, body, wide) in enumerate(cells):
                if number:
                    self._line(at, high, at, high - step)
                self._text(head, at + 1.2 * p, high - 2.6 * p, 1.4)
                if body:
                    self._fitted(body, (at + 1.2 * p, high - step + 1.7 * p), (wide - 2.4) * p)
                at += wide * p
        self._projection((left + (FRAME_MM[0] - 13.5) * p, bottom + step * 0.45))

    def _cells(self) -> tuple[tuple[tuple[str, str, float], ...], ...]:
        """Return each row's cells: head, body, and width on the paper [mm]."""
        info = self.info
        return (
            (("legal owner", "", 46.0), ("material", info.material, 38.0),
             ("process", info.process, 58.0)),
            (("title", info.title, 84.0), ("document type", "part drawing", 34.0),
             ("sheet", "1/1", 24.0)),
            (("identification number", info.part_number, 84.0),
             ("revision", info.revision, 18.0), ("date of issue", "", 40.0)),
            (("created by", "barbwright", 30.0), ("approved by", "", 30.0),
             ("scale", scale_text(self.scale), 24.0), ("units", "mm", 18.0),
             ("projection", "", 40.0)),
        )  # fmt: skip

    def _projection(self, at: Spot) -> None:
        """Draw the sign of third angle projection: a cone's end on the left of its side."""
        p, half = self.paper_mm, 2.4
        ends, cone = (at[0] - 5.0 * p, at[1]), at[0] + 1.0 * p
        for radius in (half, half / 2.0):
            self.items.append(Disc(at=ends, radius_mm=radius * p, layer=FRAME))
        shape = [(0.0, -half / 2.0), (6.0, -half), (6.0, half), (0.0, half / 2.0)]
        path = np.array([(cone + u * p, at[1] + v * p, 0.0) for u, v in shape])
        self.items.append(Stroke(layer=FRAME, path=path, closed=True))
        for u0, u1 in ((-8.2, -1.8), (0.2, 7.8)):
            line = np.array([(at[0] + u0 * p, at[1], 0.0), (at[0] + u1 * p, at[1], 0.0)])
            self.items.append(Stroke(layer=AXIS, path=line, single=True))

    def _fitted(self, text: str, at: Spot, room: float) -> None:
        """Write a text no wider than its cell: smaller first, then cut off with dots."""
        height, wide = TEXT_MM, self._width(text)
        if wide > room:
            height = max(1.4, 0.999 * TEXT_MM * room / wide)
        while self._width(text, height) > room and len(text) > 4:
            text = text[:-4] + "..."
        self._text(text, *at, height)


def _hanging(note: str) -> list[str]:
    """Return a note's lines, all but the first set in."""
    lines = wrapped(note, NOTES_MM - 6.0, NOTE_MM)
    return [lines[0], *(f"   {line}" for line in lines[1:])]


def _moved(box: Box, by: Spot, times: float) -> Box:
    low, high = (box[0] * times + by[0], box[1] * times + by[1]), (box[2] * times, box[3] * times)
    return (*low, high[0] + by[0], high[1] + by[1])
