"""`barbwright check`: the numbers and verdicts only."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from barbwright import say
from barbwright.checks.reasons import marked
from barbwright.cli import flags
from barbwright.cli import options as shared
from barbwright.cli.door import echo
from barbwright.cli.output import print_plan
from barbwright.cli.terminal import WORDS, paragraph, print_json, warn
from barbwright.design.part import find_kind
from barbwright.job.measured import with_measured
from barbwright.jobs.measured import difference
from barbwright.jobs.plan import plan_part, plan_recorded
from barbwright.jobs.record import document, failure


@shared.with_job_options
def check(
    part: Annotated[str, typer.Argument(help=shared.PART_WORDS)],
    for_part: Annotated[str | None, flags.FOR_PART] = None,
    json_: Annotated[bool, flags.JSON] = False,
    quiet: Annotated[bool, flags.QUIET] = False,
    debug: Annotated[bool, flags.DEBUG] = False,
    *,
    options: dict[str, Any],
) -> None:
    """Size and check a part without building it."""
    del debug
    kind = find_kind(part)
    job, revision = shared.read_options_for(kind, options, for_part)
    plan = plan_recorded(shared.record_of(for_part), kind, job, revision)
    if not quiet:
        warn(job.said)
    other = plan_part(kind, with_measured(job), revision) if "without" in job.inputs else None
    if json_:
        body = document(plan, "check")
        print_json(body if other is None else {**body, "with_measured": difference(plan, other)})
    else:
        print_plan(plan, full=not quiet)
        if other is not None:
            _print_difference(difference(plan, other))
    if not plan.may_be_made:
        raise failure(plan)


def _print_difference(rows: list[dict[str, Any]]) -> None:
    """Print what the user's own measurements change."""
    echo("\nWhat your measurements change")
    if not rows:
        echo("  nothing: none was made on this wood, material and tube, or no check moves")
    for row in rows:
        was, now = (_said(row[key]) for key in ("without", "with"))
        echo(paragraph(f"{row['what']}: {was} without, {now} with", "  ", "     "))


def _said(value: Any) -> str:
    if not isinstance(value, dict):
        return str(value)
    factor = value["safety_factor"]
    number = "" if factor is None else f", SF {say.factor(factor)}"
    return f"{marked(WORDS[value['verdict']], proved=value['proved'])}{number}"


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("check")(check)
