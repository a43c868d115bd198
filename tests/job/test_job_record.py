"""What a job says of its pressures, and that nobody else says it again."""

import ast
from dataclasses import replace
from pathlib import Path

from barbwright.job import numbers
from example_job import job_of

PACKAGE = Path(__file__).parents[2] / "src" / "barbwright"


def test_the_highest_pressure_is_the_relief_s_where_there_is_one():
    job = replace(job_of(), pressure_mpa=0.3, relief_mpa=None)
    assert job.highest_mpa == 0.3
    assert numbers.conditions(job).highest_mpa == 0.3
    relieved = replace(job, relief_mpa=0.4)
    assert relieved.highest_mpa == 0.4
    assert numbers.conditions(relieved).highest_mpa == 0.4


def chooses_between_relief_and_working(source):
    """Whether an expression anywhere picks one of a job's two pressures."""
    picks = (ast.IfExp, ast.BoolOp)
    return any(
        {"relief_mpa", "pressure_mpa"}
        <= {part.attr for part in ast.walk(node) if isinstance(part, ast.Attribute)}
        for node in ast.walk(ast.parse(source))
        if isinstance(node, picks) and not isinstance(getattr(node, "op", None), ast.And)
    )


def test_only_the_job_s_own_property_says_which_pressure_is_the_highest():
    assert chooses_between_relief_and_working("a = job.relief_mpa or job.pressure_mpa")
    owners = [
        str(path.relative_to(PACKAGE))
        for path in sorted(PACKAGE.rglob("*.py"))
        if chooses_between_relief_and_working(path.read_text())
    ]
    assert owners == ["job/record.py"]
