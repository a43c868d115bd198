"""The dimensioned drawing of any part, as DXF, SVG and PDF.

`views` and `dimensions` place what a kind says of itself, `sheet` finds the scale
and draws the frame, `writers` writes the document, `pages` its SVG and PDF. No kind
of part is known in here: a kind hands over its views (`barbwright.design.view`) as
plain data.
"""

from __future__ import annotations

from typing import Any

from barbwright.design.part import Design
from barbwright.report.drawing.pages import pdf_bytes, svg_bytes
from barbwright.report.drawing.placed import overlapping
from barbwright.report.drawing.sheet import DrawingInfo, laid_out
from barbwright.report.drawing.writers import APP_ID, document_of, dxf_bytes

__all__ = ["APP_ID", "DrawingInfo", "drawing", "dxf_bytes", "overlapping", "pdf_bytes", "svg_bytes"]


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
