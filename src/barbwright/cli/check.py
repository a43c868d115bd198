"""`barbwright check`: the numbers and verdicts only."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from barbwright.cli import options as shared
from barbwright.cli.output import print_json, print_plan, warn
from barbwright.jobs.plan import plan_part
from barbwright.jobs.record import document, failure


@shared.with_job_options
def check(
    part: Annotated[str, typer.Argument(help=shared.PART_WORDS)],
    for_part: Annotated[str | None, shared.FOR_PART] = None,
    json_: Annotated[bool, shared.JSON] = False,
    quiet: Annotated[bool, shared.QUIET] = False,
    debug: Annotated[bool, shared.DEBUG] = False,
    *,
    options: dict[str, Any],
) -> None:
    """Size and check a part without building it.

    Such as `check elbow --tube-id 0.170in --bit 15/64 --pressure 45psi`, `check tee --tube-id
    1/4in --bit 5/16 --pressure 40psi`, `check tip --tube-id 4mm --bit 6mm --pressure 3bar`.
    """
    del debug
    kind = shared.read_kind(part)
    job, revision = shared.read_options_for(kind, options, for_part)
    plan = plan_part(kind, job, revision)
    if not quiet:
        warn(job.warnings)
    if json_:
        print_json(document(plan, "check"))
    else:
        print_plan(plan, full=not quiet)
    if not plan.passed:
        raise failure(plan)


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("check")(check)
