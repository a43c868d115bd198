"""`barbwright order`: made parts packed for a print service."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from barbwright.cli import flags
from barbwright.cli.door import echo
from barbwright.cli.terminal import colour, print_json, warn
from barbwright.errors import CheckFailedError, Fault
from barbwright.jobs.record import SCHEMA_VERSION
from barbwright.report.notices import NOT_PASSED


def order(
    parts: Annotated[
        list[str],
        typer.Argument(
            help="Folders of made parts or of a fit gauge, a kit's folder, or a kit file.",
            metavar="DIR",
        ),
    ],
    output: Annotated[Path, flags.OUTPUT] = Path("out"),
    number: Annotated[
        str | None,
        flags.text("--number", "The order's number; default a checksum of what is ordered."),
    ] = None,
    quantity: Annotated[
        list[str] | None,
        flags.text("--quantity", "Pieces, such as 3, or tee=7; repeatable.", "[PART=]COUNT"),
    ] = None,
    spares: Annotated[
        list[str] | None,
        flags.text("--spares", "Pieces on top, such as tee=1; repeatable.", "[PART=]COUNT"),
    ] = None,
    note: Annotated[
        list[str] | None,
        flags.text(
            "--note", "Your own words for a part, such as tee=TEXT; repeatable.", "[PART=]TEXT"
        ),
    ] = None,
    finish: Annotated[
        str | None, flags.text("--finish", "Finish in words, instead of the default.")
    ] = None,
    buyer: Annotated[
        str | None,
        flags.text("--buyer", "A kit file whose [buyer] table says who orders.", "KIT"),
    ] = None,
    repeat: Annotated[
        bool,
        typer.Option("--repeat", help="A batch tried before: no pieces for the breaking test."),
    ] = False,
    made: Annotated[
        Path,
        typer.Option("--made", help="Where a kit file's parts were built.", metavar="DIR"),
    ] = Path("out"),
    force: Annotated[bool, typer.Option("--force", help="Replace a zip of this name.")] = False,
    anyway: Annotated[
        bool,
        typer.Option(
            "--anyway", help="Order a part that did not pass, marked NOT PASSED; still exits 3."
        ),
    ] = False,
    dry_run: Annotated[
        bool, typer.Option("-n", "--dry-run", help="Verify, but write nothing.")
    ] = False,
    json_: Annotated[bool, flags.JSON] = False,
    quiet: Annotated[bool, flags.QUIET] = False,
    debug: Annotated[bool, flags.DEBUG] = False,
) -> None:
    """Verify made parts again and pack them for a print service, with an inspection page.

    The zip holds STEP, STL, 3MF and drawing of each part, the purchase sheet as PDF, HTML and
    CSV, a note to the technician and a list of checksums.
    """
    del debug
    # With all that reads STEP and draws pages behind it: loaded only when it is asked for.
    from barbwright.jobs.kitfile import load_kit
    from barbwright.order.buyer import Buyer
    from barbwright.order.choose import choose_parts
    from barbwright.order.documents import count
    from barbwright.order.pack import write_order
    from barbwright.order.record import plan_order

    chosen = choose_parts(parts, made, quantity or (), spares or (), note or ())
    if not quiet:
        warn(chosen.said)
    who = Buyer.of(load_kit(buyer).buyer if buyer is not None else chosen.buyer)
    planned = plan_order(
        chosen.lines,
        number=number,
        anyway=anyway,
        title=chosen.title,
        finish=finish,
        buyer=replace(who, first_batch=False) if repeat else who,
    )
    own = dict.fromkeys(text for part in planned.parts for text in part.subject.own_figures)
    if not quiet:
        warn(own)
    packed = None if dry_run else write_order(planned, output, force=force)
    body = {
        "schema_version": SCHEMA_VERSION,
        "command": "order",
        "order": planned.number,
        "passed": planned.passed,
        "pieces": planned.pieces,
        "mass_g": round(planned.mass_g, 3),
        "parts": [
            {
                "part_number": part.number,
                "revision": part.revision,
                "grade": part.subject.grade or None,
                "quantity": part.quantity,
                "spares": part.spares,
                "to_break": part.broken,
                "measure": part.sample,
            }
            for part in planned.parts
        ],
        "own_figures": list(own),
        "left_out": [{"path": str(path), "because": because} for path, because in chosen.left_out],
        "files": [
            {"path": str(path), "format": path.suffix[1:], "unit": "", "bytes": path.stat().st_size}
            for path in ((packed.path, packed.inspection) if packed else ())
        ],
    }
    if json_:
        print_json(body)
    else:
        for part in planned.parts:
            grade = f"  {part.grade}" if part.grade else ""
            echo(f"{part.counted}  {part.number}{grade}")
        if not planned.passed:
            echo(colour(NOT_PASSED, "fail"))
        echo(f"{count(planned.pieces)}, {planned.mass_g:.1f} g; every file verified again")
        if packed is not None:
            echo(f"\nwritten: {packed.path}  {packed.path.stat().st_size} bytes")
            echo(f"measure what arrives by: {packed.inspection}")
    if not planned.passed:
        failed = [part.number for part in planned.parts if not part.passed]
        raise CheckFailedError([Fault(f"ordered although NOT PASSED: {name}") for name in failed])


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("order")(order)
