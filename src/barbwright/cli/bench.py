"""`barbwright bench`: plan an afternoon of measurements, with a form and an empty CSV."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from barbwright.catalog import read_language
from barbwright.cli import flags
from barbwright.cli import options as shared
from barbwright.cli.door import echo
from barbwright.cli.terminal import paragraph, print_json, warn
from barbwright.design.part import find_kind


@shared.with_job_options
def bench(
    part: Annotated[str, typer.Argument(help=shared.PART_WORDS)] = "tip",
    parts: Annotated[int, typer.Option("--parts", help="How many of it you have.", min=1)] = 3,
    gauges: Annotated[
        str | None,
        flags.text("--gauges", "Those you have of scale, lever, pump, calipers; default all."),
    ] = None,
    hours: Annotated[float, typer.Option("--hours", help="Time you have.", min=0.1)] = 3.0,
    output: Annotated[Path, flags.OUTPUT] = Path("out/bench"),
    force: Annotated[bool, flags.FORCE] = False,
    dry_run: Annotated[bool, flags.DRY_RUN] = False,
    language: Annotated[str | None, flags.LANGUAGE] = None,
    json_: Annotated[bool, flags.JSON] = False,
    quiet: Annotated[bool, flags.QUIET] = False,
    debug: Annotated[bool, flags.DEBUG] = False,
    *,
    options: dict[str, Any],
) -> None:
    """Plan a bench day: which readings change your own verdicts most by the hour.

    Give tube, bit, pressure and wood as for `check`. Writes a form to print and a CSV file to fill
    in; `barbwright log` then learns from it.
    """
    del debug
    from barbwright.jobs import bench as day_of
    from barbwright.jobs.bench_files import bench_files

    other = read_language(language)
    kind = find_kind(part)
    job = shared.read_options(kind, options)
    day = day_of.plan_bench(
        kind.name, job, parts=parts, gauges=day_of.read_gauges(gauges), hours=hours
    )
    if not quiet:
        warn(job.said)
    files = []
    if not dry_run:
        files = bench_files(day, output, force=force, language=other)
        day_of.keep_plan(day)
    if json_:
        print_json(day_of.bench_document(day, files))
        return
    echo(f"{day.plan.number}: {day.minutes:.0f} min of readings in {hours:g} h")
    if not day.sessions:
        echo("no reading there is time and gauge for would change a verdict of this part")
    for one in day.sessions:
        where = f" in log {one.log}" if one.log else ""
        text = (
            f"{one.count} x {one.product.test}{where}, {one.minutes:.0f} min: worth "
            f"{one.worth_per_hour:.2f} an hour; may change {', '.join(one.changes)}"
        )
        echo(paragraph(text, "  ", "    "))
    text = f"expected loss by wrong verdicts {day.loss:.2f} today, {day.left:.2f} after"
    echo(paragraph(f"{text} (a wrong pass counts 3, a wrong fail 1; judgement)", "", "  "))
    if not quiet:
        for line in day.idle:
            echo(paragraph(line, "  not asked for: ", "    "))
        if day.untold:
            names = ", ".join(line.partition(":")[0] for line in day.untold)
            text = f"{names} (the form and `explain log` say why)"
            echo(paragraph(text, "  no test tells all of: ", "    "))
    for row in files:
        echo(f"written: {row['path']}")


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("bench")(bench)
