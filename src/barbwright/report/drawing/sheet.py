"""The sheet: views at a scale that fits, in a frame with its title block."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barbwright.design.draw import views_of
from barbwright.design.part import Design
from barbwright.design.view import Path, Spot, View, two
from barbwright.errors import BuildError, Fault
from barbwright.report.drawing.dimensions import TEXT_MM, Placing
from barbwright.report.drawing.placed import OUTLINE, THIN, Box, Item, Stroke, Words, overlapping
from barbwright.report.fonts import text_width

PAGE_MM = (297.0, 210.0)
# The frame keeps clear of the edges of both A4 and Letter when centred at full size.
FRAME_MM = (262.0, 190.0)
TITLE_MM, TITLE_ROW_MM = 27.0, 9.0
SCALES = (10.0, 5.0, 4.0, 3.0, 2.5, 2.0, 1.5, 1.0, 0.75, 0.5)
VIEW_GAP_MM = 8.0
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


def laid_out(design: Design, info: DrawingInfo) -> Sheet:
    """Return a part's sheet at the largest scale at which all has room.

    Parameters
    ----------
    design : Design
        A single part (no arrays).
    info : DrawingInfo
        Words of the title block.

    Returns
    -------
    Sheet
        With frame and title block.

    Raises
    ------
    BuildError
        When no scale brings the part onto the sheet without overlapping texts.
    """
    views = views_of(design)
    longest = max(float(side) for side in design.envelope_mm)

    def tolerance(size_mm: float) -> float:
        return float(design.conditions.material.tolerance_at(size_mm))

    crossed: list[Sheet] = []
    for scale in SCALES:
        if longest * scale > FRAME_MM[0]:
            continue
        sheet = Sheet(views, info, scale)
        sheet.place([Placing(view, sheet.paper_mm, tolerance) for view in views])
        if sheet.fits and not sheet.crossed:
            break
        if sheet.fits:
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
    sheet.frame()
    return sheet


class Sheet:
    """One drawing at one scale.

    Parameters
    ----------
    views : tuple of View
        What is drawn.
    info : DrawingInfo
        Words of the title block.
    scale : float
        Paper over part [-].
    """

    def __init__(self, views: tuple[View, ...], info: DrawingInfo, scale: float) -> None:
        self.views, self.info, self.scale = views, info, scale
        self.paper_mm = 1.0 / scale
        self.items: list[Item] = []
        self.boxes: list[Box] = []
        self.crossed = 0
        self.reach: Box = (0.0, 0.0, 0.0, 0.0)
        self.page: Box = (0.0, 0.0, 0.0, 0.0)

    def place(self, placings: list[Placing]) -> None:
        """Put the first view where it is, and each further one below the one before [mm]."""
        gap = VIEW_GAP_MM * self.paper_mm
        for placing in placings:
            low = self.reach[1] if self.items else placing.reach[3] + gap
            by = (0.0, low - gap - placing.reach[3])
            self.items += [item.moved(by) for item in placing.items]
            boxes = [_moved(box, by) for box in placing.boxes]
            around = [_moved(placing.reach, by), *([self.reach] if self.boxes else [])]
            self.boxes += boxes
            self.crossed += placing.crossed
            corners = np.array(around)
            self.reach = (
                *corners[:, :2].min(axis=0).tolist(),
                *corners[:, 2:].max(axis=0).tolist(),
            )

    @property
    def title(self) -> str:
        """What the page is called."""
        return f"{self.info.part_number}, {self.info.title}, revision {self.info.revision}"

    @property
    def title_mm(self) -> float:
        """Height of the title block: one row more where the models differ [mm of paper]."""
        return TITLE_MM + (TITLE_ROW_MM if self.info.compensation else 0.0)

    @property
    def fits(self) -> bool:
        """Whether the drawing fits its field without one text on another."""
        head = 6.0 if self.info.passed else 18.0
        wide = self.reach[2] - self.reach[0]
        tall = self.reach[3] - self.reach[1]
        return (
            wide <= (FRAME_MM[0] - 6.0) * self.paper_mm
            and tall <= (FRAME_MM[1] - self.title_mm - head) * self.paper_mm
            and not overlapping(self.boxes, 0.4 * self.paper_mm)
        )

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
        self.items.append(Stroke(layer=OUTLINE, path=corners, closed=True))
        self._line(OUTLINE, left, bottom + title, right, bottom + title)
        self._title_block(left, bottom)
        if not self.info.passed:
            self._text("NOT PASSED - do not use", left + 4.0 * p, top - 7.5 * p, 5.0)
        # The page's corners, for whoever plots it: the frame sits in the middle of A4.
        margin = (np.array(PAGE_MM) - np.array(FRAME_MM)) / 2.0 * p
        self.page = (left - margin[0], bottom - margin[1], right + margin[0], top + margin[1])

    def _line(self, layer: str, u0: float, v0: float, u1: float, v1: float) -> None:
        path: Path = np.array([(u0, v0, 0.0), (u1, v1, 0.0)])
        self.items.append(Stroke(layer=layer, path=path, single=True))

    def _text(self, text: str, left: float, base: float, height_mm: float = TEXT_MM) -> None:
        """Write words with their left lower corner at a place."""
        height = height_mm * self.paper_mm
        self.items.append(Words(text=text, at=(left, base), height_mm=height))
        self.boxes.append((left, base, left + self._width(text, height_mm), base + height))

    def _width(self, text: str, height_mm: float = TEXT_MM) -> float:
        return text_width(text) * height_mm * self.paper_mm

    def _title_block(self, left: float, bottom: float) -> None:
        p, info = self.paper_mm, self.info
        title = TITLE_MM * p
        columns = (0.0, 104.0, 182.0, FRAME_MM[0])
        for column in columns[1:-1]:
            self._line(OUTLINE, left + column * p, bottom, left + column * p, bottom + title)
        if info.compensation:
            self._compensation(left, bottom)
        for start, end, rows in zip(columns[:-1], columns[1:], self._cells(), strict=True):
            for number, (head, body) in enumerate(rows):
                top = bottom + title - (TITLE_ROW_MM * number) * p
                if number:
                    self._line(THIN, left + start * p, top, left + end * p, top)
                self._text(head, left + (start + 1.5) * p, top - 3.2 * p, 1.4)
                self._note(body, (left + (start + 1.5) * p, top - 7.2 * p), (end - start - 3.0) * p)

    def _cells(self) -> tuple[tuple[tuple[str, str], ...], ...]:
        """Return each column's cells: head and body."""
        info = self.info
        status = NOT_PRESSURE_RATED if info.passed else f"NOT PASSED. {NOT_PRESSURE_RATED}"
        return (
            (
                ("part number", info.part_number),
                ("part", info.title),
                ("status", status),
            ),
            (
                ("material", info.material),
                ("process", info.process),
                ("engraved", info.mark or "nothing"),
            ),
            (
                ("revision / scale / units", f"{info.revision} / {scale_text(self.scale)} / mm"),
                ("view", " and ".join(view.title for view in self.views)),
                ("not dimensioned", ", ".join(v.left_out for v in self.views if v.left_out)),
            ),
        )

    def _compensation(self, left: float, bottom: float) -> None:
        """Say above the title block how the model files differ."""
        p, info = self.paper_mm, self.info
        title, top = TITLE_MM * p, bottom + self.title_mm * p
        self._line(OUTLINE, left, bottom + title, left + FRAME_MM[0] * p, bottom + title)
        self._text("model files", left + 1.5 * p, top - 3.2 * p, 1.4)
        room, lines = (FRAME_MM[0] - 3.0) * p, [info.compensation]
        if self._width(info.compensation, 1.6) > room:
            # A long name takes two lines: nothing of this may be cut off.
            head, _, rest = info.compensation.partition("; ")
            lines = [f"{head};", rest]
        for number, line in enumerate(lines):
            low = 7.2 if len(lines) == 1 else 5.7 + 2.4 * number
            self._note(line, (left + 1.5 * p, top - low * p), room)

    def _note(self, text: str, at: Spot, room: float) -> None:
        """Write a text no wider than its cell: smaller first, then cut off with dots."""
        height, wide = TEXT_MM, self._width(text)
        if wide > room:
            height = max(1.6, 0.999 * TEXT_MM * room / wide)
        while self._width(text, height) > room and len(text) > 4:
            text = text[:-4] + "..."
        self._text(text, *at, height)


def _moved(box: Box, by: Spot) -> Box:
    return (box[0] + by[0], box[1] + by[1], box[2] + by[0], box[3] + by[1])
