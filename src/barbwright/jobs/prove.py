"""A part, made or only asked for, judged by finite elements on its unmarked STEP."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Sequence
from importlib import metadata
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

from barbwright.design.part import Kind
from barbwright.errors import CheckFailedError, Fault, InputError
from barbwright.jobs.papers import titled_number
from barbwright.jobs.plan import Plan, plan_part
from barbwright.jobs.record import NOTICE, SCHEMA_VERSION, failure, file_row, inputs, load_record

if TYPE_CHECKING:
    from barbwright.export.door import WrittenFile
    from barbwright.prove import CaseResult, Pictured, ProveResult


def made_part(folder: Path) -> tuple[Plan, Path | None]:
    """Return a made part's plan and its unmarked STEP.

    A part drawn off its sizes for a calibrated print service is judged as wanted,
    not as sent: there is no file to read then.

    Parameters
    ----------
    folder : Path
        The part's folder, or its part.json.

    Raises
    ------
    InputError
        When it holds no part, or the unmarked STEP is gone or changed.
    """
    import hashlib

    folder = folder if folder.is_dir() else folder.parent
    kind, job, revision, body = load_record(folder)
    if job.service is not None:
        return plan_part(kind, job, revision), None
    found = sorted(folder.glob("part*_unmarked.step"))
    if not found:
        raise InputError(
            Fault("no unmarked STEP there", given=str(folder), do="make the part again")
        )
    known = {file["path"]: file["sha256"] for file in body["files"]}
    if hashlib.sha256(found[0].read_bytes()).hexdigest() != known.get(found[0].name):
        raise InputError(
            Fault(f"{found[0].name} is not the file that part.json records",
                  given=str(folder), do="make the part again")
        )  # fmt: skip
    return plan_part(kind, job, revision), found[0]


def require_provable(kind: Kind) -> None:
    """Fail before anything is begun where a part cannot be proved.

    Parameters
    ----------
    kind : Kind
        The kind of part.

    Raises
    ------
    InputError
        When the engine is not installed, or the kind carries no pressure.
    """
    # Looked for, not imported: the engine's own CAD kernel must come after ours has drawn.
    if find_spec("ngsolve") is None:
        from barbwright.prove import require_engine

        require_engine()
    if not kind.carries:
        raise InputError(
            Fault("prove judges parts that carry pressure", given=kind.name,
                  do="name a barb, tip, elbow, tee or cap")
        )  # fmt: skip


def prove_part(
    plan: Plan,
    step: Path | None = None,
    *,
    pictured: Pictured | None = None,
    progress: Callable[[str], None] | None = None,
) -> ProveResult:
    """Return what finite elements find on a part as drawn.

    Parameters
    ----------
    plan : Plan
        A designed part.
    step : Path, optional
        Its unmarked STEP; drawn into a temporary folder when not given.
    pictured : callable, optional
        Told the cases' results; returns the ids of those to be drawn.
    progress : callable, optional
        Told in one line what is being done.

    Raises
    ------
    InputError
        When the engine is not installed, or the kind carries no pressure.
    CheckFailedError
        When no size exists because the material is refused.
    """
    require_provable(plan.kind)
    if plan.design is None:
        raise CheckFailedError(failure(plan).faults)
    if step is None:
        if progress is not None:
            progress("drawing the part")
        with tempfile.TemporaryDirectory(prefix="barbwright-prove-") as folder:
            return _run(plan, _drawn(plan, Path(folder)), pictured, progress)
    return _run(plan, step, pictured, progress)


def worst_cases(cases: Sequence[CaseResult]) -> tuple[str, ...]:
    """Return the cases that a made part is drawn in: at work, and with the least safety factor.

    Parameters
    ----------
    cases : sequence of CaseResult
        All of a part.
    """
    least = min(cases, key=lambda case: case.safety_factor)
    return tuple(dict.fromkeys(("working", least.id)))


def require_picture(plan: Plan, png_path: Path, case_id: str) -> None:
    """Fail with all faults at once where a stress picture could not be drawn or written.

    Parameters
    ----------
    plan : Plan
        A designed part that carries pressure.
    png_path : Path
        The picture that is asked for.
    case_id : str
        The load case that is asked for.

    Raises
    ------
    InputError
        When the part has no such case, or the file cannot stand there.
    """
    from barbwright.prove.cases import cases_of

    faults = []
    if plan.design is not None:
        known = [case.id for case in cases_of(plan.design)]
        if case_id not in known:
            faults.append(
                Fault(f"--case: a {plan.kind.name} has no such load case", given=case_id[:20],
                      limit=", ".join(known), do="name one of these")
            )  # fmt: skip
    given, folder = str(png_path), png_path.parent
    if png_path.suffix.casefold() != ".png":
        do = "end the name in .png"
        faults.append(Fault("--png: the picture is a PNG file", given=given, do=do))
    elif png_path.is_dir():
        faults.append(Fault("--png: that is a folder", given=given, do="name a file in it"))
    elif not folder.is_dir() or not os.access(folder, os.W_OK | os.X_OK):
        what = "is not there" if not folder.is_dir() else "cannot be written"
        do = "name a file in a folder that exists and can be written"
        faults.append(Fault(f"--png: the folder {what}", given=given, do=do))
    elif _is_recorded(png_path):
        faults.append(
            Fault("--png: that is a made part's own file", given=given, do="choose another name")
        )
    if faults:
        raise InputError(faults)


def _is_recorded(path: Path) -> bool:
    """Return whether a part's record beside a file names it: its checksum would be false."""
    import json

    for record in path.parent.glob("part*.json"):
        try:
            files = json.loads(record.read_text(encoding="utf-8"))["files"]
            if path.name in {Path(file["path"]).name for file in files}:
                return True
        except (OSError, ValueError, KeyError, TypeError):
            continue
    return False


def write_picture(plan: Plan, result: ProveResult, case_id: str, png_path: Path) -> WrittenFile:
    """Draw a case's stress picture, verify it, and put it in its place.

    Parameters
    ----------
    plan : Plan
        The part.
    result : ProveResult
        With a surface that holds the case.
    case_id : str
        Which load case.
    png_path : Path
        The picture; a file of that name is replaced once the new one is complete.

    Raises
    ------
    BuildError
        When it cannot be drawn or written.
    """
    from barbwright.export.door import record, verified_file
    from barbwright.report.stress import stress_picture

    with verified_file(png_path) as temporary:
        stress_picture(result, case_id, titled_number(plan), temporary)
    return record(png_path, "png", "")


def _drawn(plan: Plan, folder: Path) -> Path:
    """Return the unmarked STEP of a part, drawn into a folder."""
    from barbwright.design.draw import shape_of
    from barbwright.export.step import write_step
    from barbwright.solid.build import build

    assert plan.design is not None
    built = build(shape_of(plan.design, plan.number))
    path = folder / "part_unmarked.step"
    write_step(path, built.unmarked, plan.number, built.unmarked_volume_mm3)
    return path


def _run(
    plan: Plan,
    step: Path,
    pictured: Pictured | None,
    progress: Callable[[str], None] | None,
) -> ProveResult:
    from barbwright.prove import run

    assert plan.design is not None
    poisson = float(plan.job.material.poisson)
    return run(plan.design, step, poisson=poisson, pictured=pictured, progress=progress)


def finite_elements(result: ProveResult) -> dict[str, Any]:
    """Return what part.json keeps of a result: no times, so that bytes can be the same.

    Parameters
    ----------
    result : ProveResult
        What was found.
    """
    from barbwright.prove import to_json

    body = to_json(result)
    del body["seconds"]
    for case in body["cases"]:
        del case["seconds"]
    return {"engine": f"ngsolve {metadata.version('ngsolve')}", **body}


def prove_document(
    plan: Plan, result: ProveResult, files: Sequence[WrittenFile] = ()
) -> dict[str, Any]:
    """Return a result as one JSON document.

    Parameters
    ----------
    plan : Plan
        The part.
    result : ProveResult
        What was found.
    files : sequence of WrittenFile
        Pictures that were written.
    """
    from barbwright.prove import to_json

    return {
        "schema_version": SCHEMA_VERSION,
        "command": "prove",
        "part": plan.kind.name,
        "part_number": plan.number,
        "notice": NOTICE,
        "inputs": inputs(plan.job),
        **to_json(result),
        "files": [file_row(file, str(file.path)) for file in files],
    }
