"""A part, made or only asked for, judged by finite elements on its unmarked STEP."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

from barbwright.errors import CheckFailedError, Fault, InputError
from barbwright.jobs.make import failure
from barbwright.jobs.plan import Plan, plan_part
from barbwright.jobs.record import NOTICE, SCHEMA_VERSION, inputs, load_record

if TYPE_CHECKING:
    from barbwright.prove import ProveResult


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


def prove_part(
    plan: Plan,
    step: Path | None = None,
    *,
    with_surface: bool = False,
    progress: Callable[[str], None] | None = None,
) -> ProveResult:
    """Return what finite elements find on a part as drawn.

    Parameters
    ----------
    plan : Plan
        A designed part.
    step : Path, optional
        Its unmarked STEP; drawn into a temporary folder when not given.
    with_surface : bool
        Whether to keep the surface with its stresses.
    progress : callable, optional
        Told in one line what is being done.

    Raises
    ------
    InputError
        When the engine is not installed, or the kind carries no pressure.
    CheckFailedError
        When no size exists because the material is refused.
    """
    # Looked for, not imported: the engine's own CAD kernel must come after ours has drawn.
    if find_spec("ngsolve") is None:
        from barbwright.prove import require_engine

        require_engine()
    if plan.design is None:
        raise CheckFailedError(failure(plan).faults)
    if not plan.kind.carries:
        raise InputError(
            Fault("prove judges parts that carry pressure", given=plan.kind.name,
                  do="name a barb, tip, elbow, tee or cap")
        )  # fmt: skip
    poisson = float(plan.job.material.poisson)
    if step is None:
        if progress is not None:
            progress("drawing the part")
        with tempfile.TemporaryDirectory(prefix="barbwright-prove-") as folder:
            drawn = _drawn(plan, Path(folder))
            return _run(plan, drawn, poisson, with_surface, progress)
    return _run(plan, step, poisson, with_surface, progress)


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
    poisson: float,
    with_surface: bool,
    progress: Callable[[str], None] | None,
) -> ProveResult:
    from barbwright.prove import run

    assert plan.design is not None
    return run(plan.design, step, poisson=poisson, with_surface=with_surface, progress=progress)


def prove_document(plan: Plan, result: ProveResult) -> dict[str, Any]:
    """Return a result as one JSON document.

    Parameters
    ----------
    plan : Plan
        The part.
    result : ProveResult
        What was found.
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
    }
