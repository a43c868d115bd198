"""The dimensioned drawing of any part, as DXF, SVG and PDF.

`views` and `dimensions` place what a kind says of itself, `sheet` finds the scale
and draws the frame, `writers` writes the document, `pages` its SVG and PDF. No kind
of part is known in here: a kind hands over its views (`barbwright.design.view`) as
plain data.
"""

from __future__ import annotations

from typing import Any

from barbwright.design.part import Design
from barbwright.errors import BuildError
from barbwright.report.drawing.pages import pdf_bytes, svg_bytes, svg_inside
from barbwright.report.drawing.placed import overlapping
from barbwright.report.drawing.sheet import DrawingInfo, laid_out
from barbwright.report.drawing.writers import APP_ID, document_of, dxf_bytes

__all__ = [
    "APP_ID",
    "DrawingInfo",
    "drawing",
    "dxf_bytes",
    "overlapping",
    "pdf_bytes",
    "svg_bytes",
    "svg_for_sheet",
]

# What views and sizes may take where a page says the words of the title block itself, in the
# drawing's own millimetres, the flatter first; and by how much that is printed smaller: so that its
# letters, 3 mm as a font's size is told, are 7 pt on paper and the widest fills Letter's width.
_FIELDS_MM, _ON_SHEET = ((229.0, 152.0), (229.0, 190.0)), 0.82


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
    return document_of(laid_out(design, info))


def svg_for_sheet(design: Design, info: DrawingInfo) -> bytes:
    """Return views and sizes of a part without frame, notes and title block, as SVG.

    Parameters
    ----------
    design : Design
        A single part (no arrays).
    info : DrawingInfo
        As of the whole drawing.

    Returns
    -------
    bytes
        Its own size is the one on paper, at which letters are 7 pt; the whole drawing where
        no such field takes the part.
    """
    for field in _FIELDS_MM:
        try:
            sheet = laid_out(design, info, field)
        except BuildError:
            continue
        left, _, right, _ = sheet.page
        return svg_inside(document_of(sheet), (right - left) * sheet.scale * _ON_SHEET)
    return svg_inside(drawing(design, info))
