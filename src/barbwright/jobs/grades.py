"""A graded set of one part: three jobs that differ in their lead alone."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from barbwright.design.conditions import GRADES
from barbwright.design.part import KINDS, Kind
from barbwright.errors import Fault, InputError
from barbwright.job.record import Input, Job


def graded_set(kind: Kind, job: Job) -> list[Job]:
    """Return a part's job once for each of three leads.

    Parameters
    ----------
    kind : Kind
        What is made.
    job : Job
        Its inputs.

    Raises
    ------
    InputError
        When the part has no tip, or a grade is named already.
    """
    if not kind.tip:
        tips = ", ".join(name for name, one in KINDS.items() if one.tip)
        raise InputError(
            Fault("--grades: this part has no tip", given=kind.name, limit=tips, do="leave it out")
        )
    if job.grade:
        raise InputError(
            Fault(
                "--grades makes all three, --grade one of them",
                given=f"--grade {job.grade}",
                do="give one of the two",
            )
        )
    return [
        replace(job, grade=grade, inputs={**job.inputs, "grade": Input(str(grade), "option")})
        for grade in range(1, GRADES + 1)
    ]


def grade_set(parts: list[dict[str, Any]]) -> dict[str, Any]:
    """Return the documents of a graded set as one, for --json.

    Parameters
    ----------
    parts : list of dict
        The document of each part, thinnest lead first.
    """
    first = parts[0]
    return {
        "schema_version": first["schema_version"],
        "command": first["command"],
        "part": first["part"],
        "grades": parts,
    }
