"""`barbwright calibrate`: what fitted on a coupon becomes a service's offset."""

from __future__ import annotations

from typing import Annotated

import typer

from barbwright.catalog import clear_older_defaults, save_service
from barbwright.cli import flags
from barbwright.cli.door import echo
from barbwright.cli.terminal import paragraph, print_json, warn
from barbwright.jobs.calibrate import calibrated, document


def calibrate(
    service: Annotated[str, flags.text("--service", "Name of the print service.")],
    material: Annotated[str, typer.Option("--material", help="Print material.")] = "mjf_pa12",
    barb: Annotated[
        str | None,
        flags.text("--barb", "Number of the barb that fits the tube."),
    ] = None,
    tip: Annotated[
        str | None,
        flags.text("--tip", "Number of the tip whose ring stops at the hole."),
    ] = None,
    bore: Annotated[
        list[str] | None,
        flags.text(
            "--bore",
            "drawn:measured, such as 3mm:2.8mm (the widest shank that passes); repeatable.",
        ),
    ] = None,
    post: Annotated[
        list[str] | None,
        flags.text("--post", "drawn:measured by caliper, such as 8mm:7.92mm; repeatable."),
    ] = None,
    not_default: Annotated[
        bool, typer.Option("--not-default", help="Only where --service names it.")
    ] = False,
    force: Annotated[bool, typer.Option("--force", help="Replace an earlier calibration.")] = False,
    json_: Annotated[bool, flags.JSON] = False,
    quiet: Annotated[bool, flags.QUIET] = False,
    debug: Annotated[bool, flags.DEBUG] = False,
) -> None:
    """Keep what a print service prints off, from the answers of a coupon.

    Later parts of this material are drawn the other way by as much, and held to the tolerance
    that was found. Judgement: one coupon says little about the next batch.
    """
    del debug
    found, warnings = calibrated(
        service,
        material,
        barb=barb,
        tip=tip,
        bores=bore or (),
        posts=post or (),
        use_by_default=not not_default,
    )
    path = save_service(found, replace=force)
    older = clear_older_defaults(found)
    if not quiet:
        warn(warnings)
    if json_:
        print_json(dict(document(found, str(path), warnings, older)))
    elif not quiet:
        echo(paragraph(found.sentence))
        echo(f"written: {path}")
        asked = f"--service '{found.name}'"
        how = f"with {asked}" if not_default else f"unasked, unless --service none ({asked})"
        echo(paragraph(f"parts of {found.material} take it {how}"))
        for one in older:
            said = f"no longer the default for {one.material}: {one.name} (--service '{one.name}')"
            echo(paragraph(said))


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("calibrate")(calibrate)
