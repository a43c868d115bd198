"""`barbwright coupon`: a fit gauge to print first."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from barbwright.catalog import read_language
from barbwright.cli import flags
from barbwright.cli import options as shared
from barbwright.cli.door import echo
from barbwright.cli.terminal import paragraph, print_json, warn
from barbwright.job.reading import read_job
from barbwright.job.record import Job
from barbwright.jobs.coupon import MODEL_FORMATS, coupon_document, make_coupon, plan_coupon
from barbwright.jobs.make import read_formats


@shared.with_job_options
def coupon(
    output: Annotated[Path, flags.OUTPUT] = Path("out"),
    formats: Annotated[str | None, flags.FORMATS] = None,
    force: Annotated[bool, flags.FORCE] = False,
    dry_run: Annotated[bool, flags.DRY_RUN] = False,
    language: Annotated[str | None, flags.LANGUAGE] = None,
    json_: Annotated[bool, flags.JSON] = False,
    quiet: Annotated[bool, flags.QUIET] = False,
    debug: Annotated[bool, flags.DEBUG] = False,
    *,
    options: dict[str, Any],
) -> None:
    """Make a fit gauge: stepped barbs and tips, posts, bores, walls, gaps, letters.

    Print it before the parts, try it on your own tube and hole, and give the answers to
    `barbwright calibrate`. --pressure only sets how far a rubber tube's barb
    stretches it, as on the part itself.
    """
    del debug
    wanted = read_formats(formats, MODEL_FORMATS)
    other = read_language(language)
    job = read_coupon_job(options)
    number, sizes = plan_coupon(job)
    if not quiet:
        warn(job.said)
    if dry_run and json_:
        print_json(coupon_document(job, number, sizes))
        return
    if dry_run:
        echo(f"{number}: barbs {sizes.crests_mm[0]:.2f} to {sizes.crests_mm[-1]:.2f} mm, "
                   f"tips {sizes.tips_mm[0]:.2f} to {sizes.tips_mm[-1]:.2f} mm")  # fmt: skip
        return
    folder, body = make_coupon(job, output, wanted, force=force, language=other)
    if json_:
        print_json(body)
        return
    echo(f"written and verified: {folder}")
    if not quiet:
        echo(
            paragraph(
                "print it, follow sheet.html, then: barbwright calibrate --service NAME "
                f"--material {job.material.id} --barb N --tip N --bore 3mm:2.9mm --post 8mm:7.95mm"
            )
        )


def read_coupon_job(options: dict[str, Any]) -> Job:
    """Return the job of a fit gauge: a tube and a bit; a pressure need not be given."""
    kit, settings = shared.kit_and_settings(options)
    table = None if kit is None else kit.job
    if not options.get("pressure") and not (table is not None and table.get("pressure")):
        options["pressure"] = "45psi"
    options["service"] = "none"
    return read_job(options, table, settings=settings)


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("coupon")(coupon)
