"""A judged design to verified files in its folder."""

from __future__ import annotations

from collections.abc import Callable, Collection
from pathlib import Path
from typing import TYPE_CHECKING, Any

from barbwright.errors import Fault, InputError, quoted
from barbwright.jobs.ahead import Ahead
from barbwright.jobs.papers import PAPER_FORMATS, StressPapers, papers
from barbwright.jobs.plan import Plan
from barbwright.jobs.prove import (
    contact_lines,
    finite_elements,
    prove_part,
    require_provable,
    sealed,
    worst_cases,
)
from barbwright.jobs.record import document, failure, file_row, laying_of, part_record

if TYPE_CHECKING:
    from barbwright.design.limits import Limited
    from barbwright.export.door import WrittenFile
    from barbwright.export.part import Extra, WrittenPart
    from barbwright.reread.worker import Rereader

MODEL_FORMATS = ("step", "stl", "3mf")
ALL_FORMATS = (*MODEL_FORMATS, *PAPER_FORMATS)
NOT_PASSED = "_not_passed"
FIT_ONLY = "_fit_only"


def folder_name(plan: Plan) -> str:
    """Return the name of a part's folder: its number, marked when it is not for a tree."""
    return plan.number + name_suffix(plan)


def name_suffix(plan: Plan) -> str:
    """Return what stands behind every name of a part that is not for a tree."""
    if plan.job.fit_only:
        return FIT_ONLY
    return "" if plan.passed else NOT_PASSED


def make_part(
    plan: Plan,
    output: Path,
    formats: Collection[str] = ALL_FORMATS,
    *,
    force: bool = False,
    anyway: bool = False,
    rereader: Rereader | None = None,
    prove: bool = False,
    progress: Callable[[str], None] | None = None,
) -> tuple[Path, dict[str, Any]]:
    """Build, write and verify a part.

    Parameters
    ----------
    plan : Plan
        Design and verdict.
    output : Path
        Folder that holds the part's own folder.
    formats : collection of str
        Which files to write.
    force : bool
        Remake a folder that is there.
    anyway : bool
        Write a part that fails a check, marked as not passed.
    rereader : Rereader, optional
        A measuring process that is already running.
    prove : bool
        Judge the written unmarked STEP by finite elements; record, pictures and
        sheet say what they find.
    progress : callable, optional
        Told in one line what finite elements are doing.

    Returns
    -------
    tuple of Path and dict
        The part's folder and the document of what was made.

    Raises
    ------
    CheckFailedError
        When a check fails and ``anyway`` was not given; nothing is written.
    BuildError
        When it cannot be built, written or verified.
    InputError
        When it is to be proved and cannot be.
    """
    if prove:
        require_provable(plan.kind)
    if plan.design is None or not (plan.may_be_made or anyway):
        raise failure(plan)
    # The CAD kernel is loaded from here on, and not before.
    from barbwright.design.compensate import compensated
    from barbwright.design.draw import shape_of
    from barbwright.export.part import write_part

    suffix = name_suffix(plan)
    folder = Path(output) / folder_name(plan)
    proved: dict[str, Any] = {}

    def extras(staged: Path, ahead: Ahead) -> dict[str, Extra]:
        stress = None
        if prove:
            # Compensated models are off their sizes: then the part as wanted is drawn and judged.
            step = staged / f"part{suffix}_unmarked.step" if plan.job.service is None else None
            result = prove_part(plan, step, pictured=worst_cases, progress=progress)
            contacts, unsolved = sealed(plan, progress=progress)
            proved["finite_elements"] = finite_elements(plan, result, contacts)
            stress = StressPapers(
                result=result,
                cases=worst_cases(result.cases),
                contacts=contacts,
                lines=tuple(tuple(contact_lines(plan, found)) for found in contacts),
                unsolved=unsolved,
            )

        def record(_folder: Path, files: tuple[WrittenFile, ...]) -> bytes:
            rows = [file_row(file, Path(file.path).name) for file in files]
            return part_record(plan, rows, proved)

        return {**papers(plan, formats, suffix, stress, ahead), f"part{suffix}.json": record}

    # Alone it has a second core for what needs no model yet; with others each has its own.
    with Ahead(plan, formats if rereader is None else ()) as ahead:
        written = write_part(
            # Drawn as its service must be given it; every size in the papers is the one wanted.
            shape_of(compensated(plan.design), plan.number + suffix),
            folder,
            [name for name in formats if name in MODEL_FORMATS],
            suffix=suffix,
            extras=lambda staged: extras(staged, ahead),
            replace=force,
            rereader=rereader,
            laying=laying_of(plan),
            material=plan.job.material.name,
            sizes=_said_in_step(plan),
            meshed=ahead.meshed,
        )
    body = document(plan, "make", [file_row(file, str(file.path)) for file in written.files])
    return folder, {**body, **proved}


def in_language(formats: Collection[str], language: str) -> tuple[str, ...]:
    """Return the formats, with a language in which the sheet is wanted as well.

    Parameters
    ----------
    formats : collection of str
        Which files to write.
    language : str
        One of `catalog.languages()`; empty for none.
    """
    return (*formats, language) if language and "html" in formats else tuple(formats)


def made_again(plan: Plan, output: Path, formats: Collection[str]) -> WrittenPart:
    """Make what is ordered of a part anew, to hold a made part's files to it.

    Parameters
    ----------
    plan : Plan
        A designed part, passed or not.
    output : Path
        Folder to make it in.
    formats : collection of str
        Models and drawings; no picture, no sheet, no unmarked solid, which nobody orders.

    Raises
    ------
    BuildError
        When it cannot be built, written or verified.
    """
    from barbwright.design.compensate import compensated
    from barbwright.design.draw import shape_of
    from barbwright.export.part import write_part

    assert plan.design is not None
    suffix = name_suffix(plan)
    return write_part(
        shape_of(compensated(plan.design), plan.number + suffix),
        Path(output) / folder_name(plan),
        [name for name in formats if name in MODEL_FORMATS],
        suffix=suffix,
        extras=papers(plan, formats, suffix),
        laying=laying_of(plan),
        material=plan.job.material.name,
        sizes=_said_in_step(plan),
        again=True,
    )


def _said_in_step(plan: Plan) -> tuple[Limited, ...]:
    """Return the sizes a STEP says with their limits.

    Drawn off for a service, a model's diameters are not those wanted: it says none.
    """
    from barbwright.design.limits import critical_limits

    if plan.design is None or plan.job.service is not None:
        return ()
    return critical_limits(plan.design)


def read_formats(
    text: str | None, known: Collection[str], *, prove: bool = False
) -> tuple[str, ...]:
    """Return the formats a comma-separated text names.

    Parameters
    ----------
    text : str or None
        None is all.
    known : collection of str
        What there is.
    prove : bool
        Whether the part is to be proved, which reads its STEP.

    Raises
    ------
    InputError
        With every unknown one.
    """
    if text is None:
        return tuple(known)
    wanted = tuple(word.strip().casefold() for word in text.split(",") if word.strip())
    faults = [
        Fault("--formats knows no such format", given=quoted(word), limit=", ".join(known))
        for word in wanted
        if word not in known
    ]
    if {"png", "html"} & set(wanted) and "stl" not in wanted:
        faults.append(
            Fault("--formats: png and html are made from the STL", do="add stl to the list")
        )
    if prove and "step" not in wanted:
        faults.append(
            Fault("--formats: --prove judges the unmarked STEP", do="add step to the list")
        )
    if not wanted:
        faults = [Fault("--formats is empty", limit=", ".join(known), do="leave it out for all")]
    if faults:
        raise InputError(faults)
    return wanted
