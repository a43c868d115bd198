"""`barbwright log`: judge a bench day, a proof test or a field log."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from barbwright import units
from barbwright.cli import flags
from barbwright.cli.door import echo
from barbwright.cli.terminal import paragraph, print_json, warn
from barbwright.errors import CheckFailedError, Fault, InputError
from barbwright.report.notices import NOT_RATED

if TYPE_CHECKING:
    from barbwright.jobs.chain import ChainJob


def log(
    file: Annotated[Path, typer.Argument(help="A CSV file; its header says which kind it is.")],
    part: Annotated[
        Path | None,
        flags.text("--part", "Folder or part.json of the made part that was tested.", "PART"),
    ] = None,
    kit: Annotated[
        str | None,
        flags.text("--kit", "Kit whose chain was used at the trees; a field log needs it.", "KIT"),
    ] = None,
    batch: Annotated[
        str,
        flags.text("--batch", "Print batch that was tested."),
    ] = "",
    zero: Annotated[
        str | None,
        flags.text("--zero", "What the gauge shows vented, such as 1.5psi or 0.1bar."),
    ] = None,
    output: Annotated[
        Path | None,
        flags.text(
            "-o --output",
            "Folder for record and page, log-KIND-NAME after the log's kind and file.",
            "DIR",
        ),
    ] = None,
    force: Annotated[bool, flags.FORCE] = False,
    dry_run: Annotated[
        bool, typer.Option("-n", "--dry-run", help="Judge, but keep and write nothing.")
    ] = False,
    json_: Annotated[bool, flags.JSON] = False,
    quiet: Annotated[bool, flags.QUIET] = False,
    debug: Annotated[bool, flags.DEBUG] = False,
) -> None:
    """Judge a log: what a bench day, a proof test or a day at the trees says.

    `explain log` lists the columns. What is learned is kept in your profile, and later checks and
    chains take it (`check --without measured` shows the difference).
    """
    del debug
    from barbwright.jobs.log import tell_bench, tell_field, tell_proof
    from barbwright.jobs.written import write_log
    from barbwright.logs.table import read_table

    zero_mpa = 0.0
    if zero is not None:
        zero_mpa = units.parse_pressure(
            zero, name="--zero", zero_allowed=True, negative_allowed=True
        )
    with _naming(file):
        table = read_table(file)
        if table.kind.name == "proof":
            told = tell_proof(table, file, part, batch, zero_mpa)
        elif table.kind.name == "field":
            told = tell_field(table, file, _chain_of(kit), zero_mpa)
        else:
            told = tell_bench(table, file, part)
    document = told.document
    if not dry_run:
        document["kept"] = [str(path) for path in told.keep()]
        if output is not None:
            document["files"] = write_log(output, file.stem, told, force=force)
    if json_:
        print_json(document)
    else:
        for line in told.lines:
            echo(paragraph(line, "", "    "))
        if table.kind.name != "proof" and not quiet:
            warn(document["warnings"])
        for path in document.get("kept", ()):
            echo(f"kept: {path}")
        for row in document["files"]:
            echo(f"written: {row['path']}")
        if not quiet:
            echo("\n" + paragraph(NOT_RATED))
    if told.failed:
        raise CheckFailedError(
            Fault("FAIL proof test", given=document["because"], do="do not use this batch")
        )


@contextmanager
def _naming(file: Path) -> Iterator[None]:
    """Let each fault that is found in a log name the log."""
    try:
        yield
    except InputError as error:
        raise InputError(
            fault if file.name in str(fault) else fault.at(str(file)) for fault in error.faults
        ) from None


def _chain_of(kit: str | None) -> ChainJob:
    """Return the chain of a kit."""
    from barbwright.job.reading import read_job
    from barbwright.jobs.chain import plan_chain
    from barbwright.jobs.kitfile import load_kit

    if kit is None:
        fault = Fault("which chain was used at the trees is not known",
                      do="name its kit, such as --kit park_oaks")  # fmt: skip
        raise InputError(fault)
    loaded = load_kit(kit)
    return plan_chain(read_job({}, loaded.job), {}, loaded.chain)


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("log")(log)
