"""A part's papers: drawing, picture and sheet, written beside its model files."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from barbwright import catalog
from barbwright.jobs.ahead import Ahead, Picture, standing
from barbwright.jobs.drawing import FILES, ON_SHEET, PartDrawing
from barbwright.jobs.plan import Plan
from barbwright.jobs.record import versions
from barbwright.say import voice_of

if TYPE_CHECKING:
    from barbwright.export.door import WrittenFile
    from barbwright.prove import ContactResult
    from barbwright.prove.result import ProveResult
    from barbwright.report.sheet import SealPage
    from barbwright.report.words import PartReport

PAPER_FORMATS = (*FILES, "png", "html")
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
    plan: Plan,
    formats: Collection[str],
    suffix: str,
    stress: StressPapers | None = None,
    ahead: Ahead | None = None,
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
    ahead : Ahead, optional
        What was begun before.

    Returns
    -------
    dict of str to callable
        In the order they must be written: the sheet holds the others.
    """
    here = PartDrawing(plan)

    def drawn(form: str) -> bytes:
        content = ahead.drawn(form) if ahead is not None else None
        return here.content(form) if content is None else content

    found: dict[str, Paper] = {}
    for form in FILES:
        if form in formats:
            found[f"drawing{suffix}.{form}"] = _as_paper(partial(drawn, form))
    if "png" in formats:
        found[f"part{suffix}.png"] = lambda folder, _files: _picture(plan, folder, suffix, ahead)
        if stress is not None:
            for case, name in stress.names(suffix).items():
                found[name] = _stress_picture(plan, stress, case)
            for name, seated in zip(stress.contact_names(suffix), stress.contacts, strict=True):
                found[name] = _contact_picture(plan, seated)
    if "html" in formats:
        found[f"sheet{suffix}.html"] = lambda folder, files: _sheet(
            plan, folder, files, suffix, stress, drawn
        )
        for language in sorted({*formats} & {*catalog.languages()}):
            found[f"sheet{suffix}.{language}.html"] = _crew_sheet(plan, suffix, language)
    return found


def _as_paper(content: Callable[[], bytes]) -> Paper:
    return lambda _folder, _files: content()


def drawing_svg(plan: Plan) -> str:
    """Return a designed part's drawing as SVG to fill a page's width; nothing is written."""
    from barbwright.report.pages import as_wide_as_its_page, inline_svg

    return as_wide_as_its_page(inline_svg(PartDrawing(plan).content("svg"), "drawing-"))


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
    drawn: Callable[[str], bytes],
) -> bytes:
    from barbwright.report.sheet import sheet_html

    def beside(name: str) -> bytes | None:
        path = folder / name
        return path.read_bytes() if path.exists() else None

    stl = beside(f"part{suffix}_mm.stl")
    return sheet_html(
        part_report(plan),
        stl=None if stl is None else standing(plan, stl),
        svg=drawn(ON_SHEET) if beside(f"drawing{suffix}.svg") else None,
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


def _picture(plan: Plan, folder: Path, suffix: str, ahead: Ahead | None) -> bytes:
    """Return the part's picture; drawn now where it was not begun before."""
    content = ahead.pictured() if ahead is not None else None
    if content is None:
        with Picture(plan, folder / f"part{suffix}_mm.stl", folder) as picture:
            return picture.content()
    return content


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
