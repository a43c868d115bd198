"""A designed part's drawing in each form it is written in."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from barbwright.design.part import Design
    from barbwright.jobs.plan import Plan
    from barbwright.report.drawing import DrawingInfo

FILES, ON_SHEET = ("dxf", "svg", "pdf"), "on the sheet"


class PartDrawing:
    """A part's drawing, laid out once, when the first of its forms is asked for.

    Parameters
    ----------
    plan : Plan
        A designed part.
    """

    def __init__(self, plan: Plan) -> None:
        self._plan = plan

    def content(self, form: str) -> bytes:
        """Return the bytes of a file of it, or of the SVG without frame that its sheet holds.

        Parameters
        ----------
        form : str
            One of `FILES`, or `ON_SHEET`.
        """
        from barbwright.report.drawing import dxf_bytes, pdf_bytes, svg_bytes, svg_for_sheet

        if form == ON_SHEET:
            return svg_for_sheet(*self._subject)
        return {"dxf": dxf_bytes, "svg": svg_bytes, "pdf": pdf_bytes}[form](self._document)

    @cached_property
    def _document(self) -> Any:
        from barbwright.report.drawing import drawing

        return drawing(*self._subject)

    @cached_property
    def _subject(self) -> tuple[Design, DrawingInfo]:
        """What is drawn, and the words of its title block."""
        from barbwright.design.compensate import graded
        from barbwright.report.drawing import DrawingInfo

        plan = self._plan
        assert plan.design is not None
        material = plan.job.material
        return graded(plan.design), DrawingInfo(
            part_number=plan.number,
            revision=plan.revision.upper(),
            title=plan.kind.title,
            material=material.name,
            process=f"{material.process_52900} ({material.trade_name})",
            mark=plan.design.mark.text,
            passed=plan.passed,
            compensation=plan.job.service.models_sentence if plan.job.service is not None else "",
        )
