"""A part's papers: drawing, picture and sheet, written beside its model files."""

from __future__ import annotations

from collections.abc import Callable, Collection
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from barbwright.jobs.plan import Plan

if TYPE_CHECKING:
    from barbwright.export.door import WrittenFile

PAPER_FORMATS = ("dxf", "svg", "pdf", "png", "html")
Paper = Callable[[Path, "tuple[WrittenFile, ...]"], bytes]


def papers(plan: Plan, formats: Collection[str], suffix: str) -> dict[str, Paper]:
    """Return the papers of a part by file name, each as a function that gives its bytes.

    Parameters
    ----------
    plan : Plan
        A designed part.
    formats : collection of str
        Which of `PAPER_FORMATS` are wanted; a picture and a sheet need the STL.
    suffix : str
        Put behind the names (``_not_passed``).

    Returns
    -------
    dict of str to callable
        In the order they must be written: the sheet holds the others.
    """
    from barbwright.report.drawing import dxf_bytes, pdf_bytes, svg_bytes

    # Laid out once, when the first of its three files is asked for.
    document = cache(lambda: _drawing(plan))
    found: dict[str, Paper] = {}
    for kind, writer in (("dxf", dxf_bytes), ("svg", svg_bytes), ("pdf", pdf_bytes)):
        if kind in formats:
            found[f"drawing{suffix}.{kind}"] = _once(document, writer)
    if "png" in formats:
        found[f"part{suffix}.png"] = lambda folder, _files: _picture(folder, suffix)
    return found


def _once(document: Callable[[], Any], writer: Callable[[Any], bytes]) -> Paper:
    return lambda _folder, _files: writer(document())


def _drawing(plan: Plan) -> Any:
    from barbwright.report.drawing import DrawingInfo, drawing

    assert plan.design is not None
    material = plan.job.material
    return drawing(
        plan.design,
        DrawingInfo(
            part_number=plan.number,
            revision=plan.revision.upper(),
            title=plan.kind.title,
            material=material.name,
            process=f"{material.process_52900} ({material.trade_name})",
            mark=plan.design.mark.text,
            passed=plan.passed,
        ),
    )


def _picture(folder: Path, suffix: str) -> bytes:
    from barbwright.report.picture import render

    # The picture's own door verifies it; it is renamed into the folder by the part's door.
    aside = folder / f".part{suffix}.aside.png"
    try:
        render(folder / f"part{suffix}_mm.stl", aside)
        return aside.read_bytes()
    finally:
        aside.unlink(missing_ok=True)
