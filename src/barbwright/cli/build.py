"""`barbwright build`: a whole kit."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer

from barbwright.cli import options as shared
from barbwright.cli.output import colour, print_json, verdict_line, warn
from barbwright.errors import CheckFailedError
from barbwright.jobs.build import KitPlan, build_kit, plan_kit
from barbwright.jobs.kitfile import load_kit
from barbwright.jobs.make import MODEL_FORMATS, failure, read_formats
from barbwright.jobs.record import NOTICE


def build(
    kit: Annotated[str, typer.Argument(help="A kit file, or the name of a kit (`list kits`).")],
    output: Annotated[Path, shared.OUTPUT] = Path("out"),
    formats: Annotated[str | None, shared.FORMATS] = None,
    settings: Annotated[
        list[str] | None,
        typer.Option(
            "--set",
            help="Force a size or figure, name=value; repeatable.",
            metavar="NAME=VALUE",
            show_default=False,
        ),
    ] = None,
    force: Annotated[bool, shared.FORCE] = False,
    anyway: Annotated[bool, shared.ANYWAY] = False,
    dry_run: Annotated[bool, shared.DRY_RUN] = False,
    json_: Annotated[bool, shared.JSON] = False,
    quiet: Annotated[bool, shared.QUIET] = False,
    debug: Annotated[bool, shared.DEBUG] = False,
) -> None:
    """Make a whole kit: every part sized, checked, built and verified."""
    del debug
    wanted = read_formats(formats, MODEL_FORMATS)
    plan = plan_kit(load_kit(kit), {}, tuple(settings or ()))
    if not quiet:
        warn(dict.fromkeys(w for _, part in plan.parts for w in part.job.warnings))
    bodies: list[dict[str, object]] = []
    folder = None
    if not dry_run:
        with _progress(len(plan.parts), quiet) as tick:
            folder, made = build_kit(
                plan, output, wanted, force=force, anyway=anyway, progress=tick
            )
            bodies = list(made)
    if json_:
        print_json({"schema_version": 1, "command": "build", "kit": plan.kit.name, "parts": bodies})
    else:
        _print_kit(plan)
        if folder is not None:
            typer.echo(f"\nwritten and verified: {folder}")
    if any(not part.passed for _, part in plan.parts):
        raise CheckFailedError(
            [fault for _, part in plan.parts if not part.passed for fault in failure(part).faults]
        )


def _print_kit(plan: KitPlan) -> None:
    typer.echo(plan.kit.title)
    if plan.kit.invented:
        typer.echo("(an invented scenario, for demonstration)")
    for order, part in plan.parts:
        typer.echo(f"\n{order.quantity} + {order.spares} spare  {part.number}")
        typer.echo(f"  {verdict_line(part)}")
        if not part.passed:
            typer.echo("  " + colour("NOT PASSED: not for use under pressure", "fail"))
    rules = dict.fromkeys(rule.rule for _, part in plan.parts for rule in part.handling_rules)
    if rules:
        typer.echo("\nHandling rules")
        for index, rule in enumerate(rules, 1):
            typer.echo(f"  {index}. {rule}")
    typer.echo("\n" + NOTICE)


@contextmanager
def _progress(total: int, quiet: bool) -> Iterator[Callable[[str], None]]:
    """Show a bar on a terminal, a line a part elsewhere, nothing when quiet."""
    if quiet:
        yield lambda _: None
        return
    if not sys.stderr.isatty():
        yield lambda number: typer.echo(f"making {number}", err=True)
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("making", total=total)
        started = False

        def tick(number: str) -> None:
            nonlocal started
            bar.update(task, description=number, advance=1 if started else 0)
            started = True

        yield tick


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("build")(build)
