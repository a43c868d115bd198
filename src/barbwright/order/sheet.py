"""The purchase sheet as PDF: one page for the order, one for each part; prints on A4 and Letter."""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from barbwright.order.documents import bit_words, count, limits
from barbwright.order.picture import load_matplotlib
from barbwright.order.quote import label, quote_rows
from barbwright.order.record import Order, OrderedPart, requirements, warnings
from barbwright.report.notices import NOT_PASSED

PAGE_MM = (210.0, 297.0)
# Inside both A4 and Letter, when a reader centres the page.
LEFT_MM, RIGHT_MM, TOP_MM, BOTTOM_MM = 18.0, 192.0, 20.0, 272.0
POINT_MM = 25.4 / 72.0
BLUE, GREY, RED, PALE = "#1f4e79", "#5b6670", "#b3261e", "#eef2f6"


@cache
def _font(bold: bool) -> Any:
    from matplotlib.font_manager import FontProperties, findfont, get_font

    properties = FontProperties(family="DejaVu Sans", weight="bold" if bold else "normal")
    return get_font(findfont(properties))


def _shown(text: str) -> str:
    """Return a text with what the font has no letter for replaced."""
    load_matplotlib()
    known = _font(False)
    return "".join(c if known.get_char_index(ord(c)) else "?" for c in text)


@cache
def width_mm(text: str, size_pt: float, bold: bool = False) -> float:
    """Return how long a line is [mm] at a font size [pt]."""
    load_matplotlib()
    font = _font(bold)
    font.set_size(100.0, 72.0)
    font.set_text(text, 0.0)
    return float(font.get_width_height()[0]) / 64.0 * size_pt / 100.0 * POINT_MM


def wrap(text: str, room_mm: float, size_pt: float, bold: bool = False) -> list[str]:
    """Return a text broken into lines that fit [mm], inside a word where it must be."""
    lines = [""]
    for word in text.split(" "):
        joined = f"{lines[-1]} {word}" if lines[-1] else word
        if width_mm(joined, size_pt, bold) <= room_mm:
            lines[-1] = joined
            continue
        if lines[-1]:
            lines.append("")
        for piece in _pieces(word, room_mm, size_pt, bold):
            if lines[-1] and width_mm(lines[-1] + piece, size_pt, bold) > room_mm:
                lines.append("")
            lines[-1] += piece
    return lines


def _pieces(word: str, room_mm: float, size_pt: float, bold: bool) -> list[str]:
    """Break a word behind its hyphens, and letter by letter where that is not enough."""
    pieces = []
    for piece in re.findall(r"[^-]+-?|-", word):
        fits = width_mm(piece, size_pt, bold) <= room_mm
        pieces += [piece] if fits else list(piece)
    return pieces


@dataclass
class _Pages:
    """Pages that are filled from the top; positions in millimetres from the upper left corner."""

    warning: str
    figures: list[Any] = field(default_factory=list)
    y: float = TOP_MM

    def new(self) -> None:
        from matplotlib.backends.backend_pdf import FigureCanvasPdf
        from matplotlib.figure import Figure

        figure = Figure(figsize=(PAGE_MM[0] / 25.4, PAGE_MM[1] / 25.4))
        FigureCanvasPdf(figure)
        self.figures.append(figure)
        self.y = TOP_MM
        if self.warning:
            self.box(LEFT_MM, self.y, RIGHT_MM - LEFT_MM, 8.0, RED)
            self.text(self.warning, LEFT_MM + 3.0, self.y + 5.6, 11, bold=True, colour="white")
            self.y += 12.0

    def place(self, x: float, y: float) -> tuple[float, float]:
        return x / PAGE_MM[0], 1.0 - y / PAGE_MM[1]

    def text(
        self,
        text: str,
        x: float,
        y: float,
        size: float,
        *,
        bold: bool = False,
        colour: str = "black",
        align: str = "left",
    ) -> None:
        """Write one line with its base line at y."""
        self.figures[-1].text(
            *self.place(x, y), _shown(text), size=size, color=colour, ha=align, va="baseline",
            family="DejaVu Sans", weight="bold" if bold else "normal",
            parse_math=False,
        )  # fmt: skip

    def box(self, x: float, y: float, w: float, h: float, colour: str) -> None:
        from matplotlib.patches import Rectangle

        corner = self.place(x, y + h)
        self.figures[-1].add_artist(
            Rectangle(corner, w / PAGE_MM[0], h / PAGE_MM[1], facecolor=colour, linewidth=0)
        )

    def rule(self, y: float, left: float = LEFT_MM, right: float = RIGHT_MM) -> None:
        from matplotlib.lines import Line2D

        ends = [self.place(left, y), self.place(right, y)]
        xs, ys = zip(*ends, strict=True)
        self.figures[-1].add_artist(Line2D(xs, ys, linewidth=0.5, color=GREY))

    def picture(self, png: bytes, x: float, y: float, side: float) -> None:
        from matplotlib.image import imread

        left, low = self.place(x, y + side)
        axes = self.figures[-1].add_axes((left, low, side / PAGE_MM[0], side / PAGE_MM[1]))
        axes.imshow(imread(io.BytesIO(png)), interpolation="none", aspect="auto")
        axes.set_axis_off()

    def room(self, height: float) -> None:
        """Begin a new page where a block of this height does not fit."""
        if self.y + height > BOTTOM_MM:
            self.new()

    def heading(self, text: str, least: float = 22.0) -> None:
        self.room(least)
        self.y += 7.0
        self.text(text, LEFT_MM, self.y, 10.5, bold=True, colour=BLUE)
        self.y += 2.0
        self.rule(self.y)
        self.y += 2.0

    def paragraph(
        self,
        text: str,
        *,
        left: float = LEFT_MM,
        right: float = RIGHT_MM,
        size: float = 8.5,
        bullet: str = "",
        bold: bool = False,
        colour: str = "black",
    ) -> None:
        step = size * POINT_MM * 1.35
        indent = width_mm(bullet + "  ", size) if bullet else 0.0
        lines = wrap(_shown(text), right - left - indent, size, bold)
        self.room(step * min(len(lines), 3))
        for index, line in enumerate(lines):
            self.room(step)
            self.y += step
            if bullet and not index:
                self.text(bullet, left, self.y, size)
            self.text(line, left + indent, self.y, size, bold=bold, colour=colour)
        self.y += 0.25 * step

    def table(
        self,
        head: tuple[str, ...],
        rows: Sequence[tuple[str, ...]],
        widths: tuple[float, ...],
        size: float = 8.0,
    ) -> None:
        """Set a table; cells wrap, and the head is repeated on a new page."""
        step, pad = size * POINT_MM * 1.3, 1.4
        edges = [LEFT_MM]
        for width in widths:
            edges.append(edges[-1] + width)

        def row(cells: tuple[str, ...], bold: bool) -> None:
            broken = [
                wrap(_shown(text), width - 2 * pad, size, bold)
                for text, width in zip(cells, widths, strict=True)
            ]
            height = max(map(len, broken)) * step + 2.0
            if self.y + height > BOTTOM_MM:
                self.new()
                if not bold:
                    row(head, True)
            if bold:
                self.box(LEFT_MM, self.y, edges[-1] - LEFT_MM, height, PALE)
            for left, lines in zip(edges, broken, strict=False):
                for index, line in enumerate(lines):
                    base = self.y + 0.6 + (index + 0.85) * step
                    self.text(line, left + pad, base, size, bold=bold)
            self.y += height
            self.rule(self.y, right=edges[-1])

        row(head, True)
        for cells in rows:
            row(cells, False)
        self.y += 2.0


def order_pdf(order: Order, pictures: dict[str, bytes]) -> bytes:
    """Return the purchase sheet as PDF, without dates.

    Parameters
    ----------
    order : Order
        What is ordered.
    pictures : dict of str to bytes
        PNG by part number.

    Returns
    -------
    bytes
        The file; the same for the same order under one matplotlib version.
    """
    mpl = load_matplotlib()
    from matplotlib.backends.backend_pdf import PdfPages

    with mpl.rc_context():
        mpl.rcdefaults()
        # Outlines of letters as such: the other kind names its fonts by Python's hash.
        mpl.rcParams["pdf.fonttype"] = 3
        pages = _Pages("" if order.passed else NOT_PASSED)
        _summary(pages, order)
        _quote(pages, order)
        for position, part in enumerate(order.parts, 1):
            pages.warning = "" if part.passed else NOT_PASSED
            _part(pages, position, part, pictures[part.number])
        for index, figure in enumerate(pages.figures, 1):
            pages_of = f"page {index} of {len(pages.figures)}"
            _foot(figure, pages, f"{order.name}   all lengths in mm   {pages_of}")
        stream = io.BytesIO()
        metadata = {
            "CreationDate": None,
            "ModDate": None,
            "Creator": "barbwright",
            "Producer": "barbwright",
            "Title": order.name,
        }
        with PdfPages(stream, metadata=metadata) as book:
            for figure in pages.figures:
                book.savefig(figure)
    return stream.getvalue()


def _foot(figure: Any, pages: _Pages, text: str) -> None:
    figure.text(
        *pages.place(RIGHT_MM, BOTTOM_MM + 6.0), text, size=7.5, color=GREY, ha="right",
        family="DejaVu Sans", parse_math=False,
    )  # fmt: skip


def _blanks(pages: _Pages, words: tuple[str, ...]) -> None:
    """Leave lines to write on, two side by side."""
    half = (RIGHT_MM - LEFT_MM) / 2.0
    pages.room(9.0 * ((len(words) + 1) // 2))
    for index, word in enumerate(words):
        left = LEFT_MM + half * (index % 2)
        if index % 2 == 0:
            pages.y += 8.5
        pages.text(word, left, pages.y, 8, colour=GREY)
        start = left + width_mm(word, 8) + 2.0
        pages.rule(pages.y + 0.6, start, left + half - 4.0)


def _summary(pages: _Pages, order: Order) -> None:
    pages.new()
    pages.y += 6.0
    pages.text("Order for additive manufacturing", LEFT_MM, pages.y, 17, bold=True, colour=BLUE)
    pages.y += 7.5
    pages.text(order.name, LEFT_MM, pages.y, 11, bold=True)
    pages.y += 1.5
    if order.title:
        pages.paragraph(order.title, size=9)
    who = order.buyer
    given = {"Ordered by": who.name, "Deliver to": who.deliver_to, "Wanted by": who.wanted_by}
    for word, text in given.items():
        if text:
            pages.paragraph(f"{word}: {text}")
    blank = ("Ordered by", "Date", "Print service", "Quotation", "Deliver to", "Wanted by")
    _blanks(pages, tuple(word for word in blank if not given.get(word)))
    pages.heading("Parts")
    rows = [
        (
            str(position),
            ", ".join(
                filter(None, [part.number, part.grade, "" if part.passed else "(NOT PASSED)"])
            ),
            part.revision,
            part.counted,
            f"{part.process}: {part.material_name}",
            f"{part.volume_mm3 / 1000.0:.2f}",
            f"{part.mass_g:.2f}",
        )
        for position, part in enumerate(order.parts, 1)
    ]
    rows.append(
        ("", "All", "", count(order.pieces), "", f"{order.volume_cm3:.1f}",
         f"{order.mass_g:.1f}")
    )  # fmt: skip
    pages.table(
        ("", "Part number", "Rev", "Pieces", "Process (ISO/ASTM 52900, trade name): material",
         "cm³ each", "g each"),
        rows,
        (7.0, 55.0, 10.0, 26.0, 46.0, 15.0, 15.0),
    )  # fmt: skip
    pages.paragraph(
        "Last line: all pieces. Mass is volume times the material record's density.",
        size=7.5,
        colour=GREY,
    )
    pages.heading("For every piece")
    for index, text in enumerate(requirements(order), 1):
        pages.paragraph(text, bullet=f"{index}.")
    pages.y += 2.0
    for text in warnings(order):
        failed = text.startswith("NOT PASSED")
        pages.paragraph(text, size=8.5, bold=True, colour=RED if failed else "black")
    _blanks(pages, ("Signed, buyer", "Signed, service"))


def _quote(pages: _Pages, order: Order) -> None:
    pages.new()
    pages.heading("Quote card: what is asked before a quotation")
    pages.table(("Asked", "Answer"), quote_rows(order), (40.0, 134.0))
    pages.heading("Labels, one a bag")
    rows = [(f"{label(part)}, batch ____", part.mark or "nothing") for part in order.parts]
    pages.table(("Label", "Engraved"), rows, (134.0, 40.0))


def _part(pages: _Pages, position: int, part: OrderedPart, png: bytes) -> None:
    pages.new()
    pages.y += 5.0
    pages.text(f"Part {position}: {part.title}", LEFT_MM, pages.y, 13, bold=True, colour=BLUE)
    pages.y += 6.0
    pages.text(part.number, LEFT_MM, pages.y, 9.5, bold=True)
    pages.y += 3.0
    pages.rule(pages.y)
    top, side = pages.y + 2.0, 68.0
    pages.picture(png, RIGHT_MM - side, top, side)
    lies = "as it is built, and lies in STL and 3MF"
    pages.text(lies, RIGHT_MM - side / 2, top + side + 2.5, 7.5, colour=GREY, align="center")
    x, y, z = part.box_mm
    facts = [
        ("Revision", part.revision),
        ("Pieces", part.counted),
        ("Checks", part.status),
        ("Process", f"{part.process}, ISO/ASTM 52900 term"),
        ("Material", part.material_name),
        ("Finish", part.finish),
        *([("Its limits", part.finish_limits)] if part.finish_limits else []),
        ("Build", f"{part.build_direction}; notation of ISO 17295"),
        ("Solidity", part.solidity),
        ("Box X, Y, Z", f"{x:.2f} x {y:.2f} x {z:.2f} mm"),
        ("Volume", f"{part.volume_mm3:.0f} mm³"),
        ("Mass", f"{part.mass_g:.2f} g at {part.material.density_g_cm3:g} g/cm³"),
        ("Engraved", part.mark or "nothing"),
    ]
    column, right = LEFT_MM + 23.0, RIGHT_MM - side - 3.0
    page = len(pages.figures)
    for word, text in facts:
        before = pages.y
        pages.paragraph(text, left=column, right=right)
        pages.text(word, LEFT_MM, before + 8.5 * POINT_MM * 1.35, 8.5, colour=GREY)
    if len(pages.figures) == page:
        pages.y = max(pages.y, top + side + 4.0)
    if part.compensation:
        pages.paragraph(f"Files: {part.compensation}", bold=True)
    if part.note:
        pages.paragraph(f"Note: {part.note}", bold=True)
    if part.sizes:
        pages.heading("Critical dimensions [mm]")
        spread = "drawn (least to most)"
        pages.table(
            ("Feature", spread, "Measured at"),
            [(f"{one.number}  {one.title}", limits(one), one.size.where) for one in part.sizes],
            (56.0, 52.0, 66.0),
        )
    if part.pins:
        pages.heading("Rod test of the bores")
        pages.table(
            ("Bore", "This shank passes", "This one does not"),
            [
                (pin.bore.title, bit_words(pin.go) or "no drill so small", bit_words(pin.no_go))
                for pin in part.pins
            ],
            (56.0, 62.0, 56.0),
        )
    pages.heading("Files")
    for path, content in sorted(part.files().items()):
        pages.paragraph(f"{path}   {len(content):,} bytes".replace(",", " "), size=7.5)
