"""A part's papers: drawing, picture and sheet, written beside its model files."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from barbwright import catalog
from barbwright.jobs.plan import Plan
from barbwright.jobs.record import laying_of, versions
from barbwright.say import voice_of

if TYPE_CHECKING:
    from barbwright.design.part import Design
    from barbwright.export.door import WrittenFile
    from barbwright.prove import ContactResult
    from barbwright.prove.result import ProveResult
    from barbwright.report.drawing import DrawingInfo
    from barbwright.report.sheet import SealPage
    from barbwright.report.words import PartReport

PAPER_FORMATS = ("dxf", "svg", "pdf", "png", "html")
Paper = Callable[[Path, "tuple[WrittenFile, ...]"], bytes]


@dataclass(frozen=True, kw_only=True)
class StressPapers:
    """What finite elements found, and which of it is drawn.

    Attributes
    ----------
    result : ProveResult
        With a surface that holds these cases.
    cases : tuple of str
        Ids of the load cases to draw.
    contacts : tuple of ContactResult
        The tube on each different barb.
    lines : tuple of tuple of str
        What was found there, in words, a paragraph each.
    unsolved : str
        Why that is not known; empty where it is, or where the part has no barb.
    """

    result: ProveResult
    cases: tuple[str, ...]
    contacts: tuple[ContactResult, ...] = ()
    lines: tuple[tuple[str, ...], ...] = ()
    unsolved: str = ""

    def names(self, suffix: str) -> dict[str, str]:
        """Return each case's picture by name; the working pressure's is the plain one."""
        return {
            case: f"stress{'' if case == 'working' else '_' + case}{suffix}.png"
            for case in self.cases
        }

    def contact_names(self, suffix: str) -> tuple[str, ...]:
        """Return the name of each barb's picture."""
        return tuple(
            f"contact{end}{suffix}.png"
            for end, _ in zip(("", "_second"), self.contacts, strict=False)
        )


def papers(
    plan: Plan, formats: Collection[str], suffix: str, stress: StressPapers | None = None
) -> dict[str, Paper]:
    """Return the papers of a part by file name, each as a function that gives its bytes.

    Parameters
    ----------
    plan : Plan
        A designed part.
    formats : collection of str
        Which of `PAPER_FORMATS` are wanted, and in which of `catalog.languages()` the sheet is
        wanted as well; a picture and a sheet need the STL.
    suffix : str
        Put behind the names (``_not_passed``).
    stress : StressPapers, optional
        For the pictures of stress and the sheet's section.

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
        found[f"part{suffix}.png"] = lambda folder, _files: _picture(plan, folder, suffix)
        if stress is not None:
            for case, name in stress.names(suffix).items():
                found[name] = _stress_picture(plan, stress, case)
            for name, seated in zip(stress.contact_names(suffix), stress.contacts, strict=True):
                found[name] = _contact_picture(plan, seated)
    if "html" in formats:
        found[f"sheet{suffix}.html"] = lambda folder, files: _sheet(
            plan, folder, files, suffix, stress
        )
        for language in sorted({*formats} & {*catalog.languages()}):
            found[f"sheet{suffix}.{language}.html"] = _crew_sheet(plan, suffix, language)
    return found


def _once(document: Callable[[], Any], writer: Callable[[Any], bytes]) -> Paper:
    return lambda _folder, _files: writer(document())


def drawing_svg(plan: Plan) -> str:
    """Return a designed part's drawing as SVG text; nothing is written."""
    from barbwright.report.drawing import svg_bytes

    return svg_bytes(_drawing(plan)).decode()


def _drawing(plan: Plan) -> Any:
    from barbwright.report.drawing import drawing

    return drawing(*_drawn(plan))


def _drawn(plan: Plan) -> tuple[Design, DrawingInfo]:
    """Return what is drawn, and the words of its title block."""
    from barbwright.design.compensate import graded
    from barbwright.report.drawing import DrawingInfo

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


def part_report(plan: Plan) -> PartReport:
    """Return a plan as the objects that the sheet and the cards speak from.

    Parameters
    ----------
    plan : Plan
        A designed part.
    """
    from barbwright.jobs.proofs import proof_sentences
    from barbwright.report.words import PartReport

    assert plan.design is not None
    voice = voice_of(plan.job.inputs)
    measured = [f"Measured by you: {one.sentence}." for one in plan.measured]
    return PartReport(
        notes=(*measured, *proof_sentences(plan.number, voice)),
        tapers=plan.tapers,
        job=plan.job,
        design=plan.design,
        outcomes=plan.results,
        part_number=plan.number,
        revision=plan.revision.upper(),
        passed=plan.passed,
        versions=versions(),
    )


def _sheet(
    plan: Plan,
    folder: Path,
    files: tuple[WrittenFile, ...],
    suffix: str,
    stress: StressPapers | None,
) -> bytes:
    from barbwright.report.drawing import svg_for_sheet
    from barbwright.report.sheet import sheet_html

    def beside(name: str) -> bytes | None:
        path = folder / name
        return path.read_bytes() if path.exists() else None

    stl = beside(f"part{suffix}_mm.stl")
    return sheet_html(
        part_report(plan),
        stl=None if stl is None else _standing(plan, stl),
        svg=svg_for_sheet(*_drawn(plan)) if beside(f"drawing{suffix}.svg") else None,
        png=beside(f"part{suffix}.png"),
        proved=stress.result if stress is not None else None,
        stress_pngs={
            case: content
            for case, name in (stress.names(suffix) if stress is not None else {}).items()
            if (content := beside(name)) is not None
        },
        contacts=_contacts(stress, suffix, beside) if stress is not None else (),
        unsolved=stress.unsolved if stress is not None else "",
        files={Path(file.path).name: file.bytes for file in files},
    )


def _crew_sheet(plan: Plan, suffix: str, language: str) -> Paper:
    """Return what a crew needs of the sheet, in its language."""
    from barbwright.report.sheet import sheet_html
    from barbwright.report.translated import own_words, translated

    report = part_report(plan)
    marked = replace(report, notes=tuple(map(own_words, report.notes)))

    def paper(folder: Path, _files: tuple[WrittenFile, ...]) -> bytes:
        picture = folder / f"part{suffix}.png"
        png = picture.read_bytes() if picture.exists() else None
        return translated(sheet_html(marked, png=png, crew=True), language)

    return paper


def _contacts(
    stress: StressPapers, suffix: str, beside: Callable[[str], bytes | None]
) -> tuple[SealPage, ...]:
    """Return what the sheet shows of the tube on each barb."""
    from barbwright.report.sheet import SealPage

    return tuple(
        SealPage(lines=lines, png=beside(name))
        for name, lines in zip(stress.contact_names(suffix), stress.lines, strict=True)
    )


def _standing(plan: Plan, stl: bytes) -> bytes:
    """Return the mesh in the design's frame, in which pictures look at it and cut it."""
    from barbwright.design.compensate import compensated
    from barbwright.design.draw import shape_of
    from barbwright.design.laying import lift_mm
    from barbwright.export.stl import as_drawn

    assert plan.design is not None
    laying = laying_of(plan)
    shape = shape_of(compensated(plan.design), plan.number)
    return as_drawn(stl, laying, lift_mm(shape, laying))


def _picture(plan: Plan, folder: Path, suffix: str) -> bytes:
    """Show the part as it is held and used, whichever way its STL lies on the plate."""
    from barbwright.report.picture import render

    standing = folder / ".standing.stl"
    try:
        content = (folder / f"part{suffix}_mm.stl").read_bytes()
        standing.write_bytes(_standing(plan, content))
        return _aside(folder, lambda aside: render(standing, aside))
    finally:
        standing.unlink(missing_ok=True)


def _stress_picture(plan: Plan, stress: StressPapers, case: str) -> Paper:
    from barbwright.report.stress import stress_picture

    def draw(aside: Path) -> None:
        stress_picture(
            stress.result, case, titled_number(plan), aside, otherwise="leave --prove out"
        )

    return lambda folder, _files: _aside(folder, draw)


def _contact_picture(plan: Plan, found: ContactResult) -> Paper:
    from barbwright.report.contact_plot import contact_png

    return lambda _folder, _files: contact_png(found, titled_number(plan))


def titled_number(plan: Plan) -> str:
    """Return a part's number as a picture's title says it."""
    return plan.number if plan.passed else f"{plan.number}, NOT PASSED"


def _aside(folder: Path, draw: Callable[[Path], None]) -> bytes:
    """Return a picture's bytes; its own door verifies it, the part's door gives it its name."""
    aside = folder / ".aside.png"
    try:
        draw(aside)
        return aside.read_bytes()
    finally:
        aside.unlink(missing_ok=True)
