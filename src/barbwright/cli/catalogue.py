"""`barbwright catalogue`: every combination judged, those that pass made, a page of them."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from barbwright.cli import flags
from barbwright.cli.door import echo
from barbwright.cli.terminal import (
    kept_where_stopped,
    paragraph,
    print_json,
    progress_of,
    warn,
)
from barbwright.errors import BuildError, Fault, InputError
from barbwright.jobs.record import SCHEMA_VERSION
from barbwright.report.notices import NOT_RATED

if TYPE_CHECKING:
    from barbwright.farm.run import Catalogue

# A terminal shows this many parts that are not there; the rest is in the files.
_MOST_TOLD = 10


def catalogue(
    spec: Annotated[str, typer.Argument(help="A catalogue file, or the name of one.")],
    output: Annotated[Path, flags.OUTPUT] = Path("out/catalogue"),
    scheduler: Annotated[
        str | None,
        flags.text(
            "--scheduler",
            "A dask scheduler that is there, tcp://host:8786, whose workers have one thread "
            "each and see this folder; without it this machine's cores are used.",
            "ADDRESS",
        ),
    ] = None,
    workers: Annotated[
        int | None,
        typer.Option(
            "--workers",
            help="Processes to start on this machine; one a core unless given.",
            min=1,
            max=512,
            show_default=False,
        ),
    ] = None,
    dry_run: Annotated[
        bool, typer.Option("-n", "--dry-run", help="Judge, write tables and page; make nothing.")
    ] = False,
    json_: Annotated[bool, flags.JSON] = False,
    quiet: Annotated[bool, flags.QUIET] = False,
    debug: Annotated[bool, flags.DEBUG] = False,
) -> None:
    """Judge every part on every tube, bit, pressure, material and wood, and make what passes.

    Writes index.html to browse, catalogue.parquet and catalogue.csv, and a folder a part. Run
    again, it makes only what is missing: stopped at any moment, nothing is lost or half made.
    """
    from barbwright.farm.run import run_catalogue
    from barbwright.farm.spec import load_catalogue

    del debug
    if scheduler is not None and workers is not None:
        fault = Fault(
            "--workers starts processes here, --scheduler has its own", do="leave one out"
        )
        raise InputError(fault)
    read = load_catalogue(spec)
    if not quiet:
        warn(read.warnings)
    with kept_where_stopped():
        found = run_catalogue(
            read,
            output,
            judge_only=dry_run,
            scheduler=scheduler,
            workers=workers,
            judging=None if quiet else progress_of("judged"),
            making=_making(quiet),
            said=lambda words: echo(words, err=True),
        )
    if json_:
        print_json(_document(found))
    else:
        _print(found)
    if found.refused:
        raise BuildError(
            Fault(
                f"{len(found.refused)} of the parts that pass could not be made",
                do="their reasons stand in catalogue.csv; the same command tries them again",
            )
        )


def _document(found: Catalogue) -> dict[str, Any]:
    spec = found.judged.spec
    return {
        "schema_version": SCHEMA_VERSION,
        "command": "catalogue",
        "catalogue": spec.name,
        "notice": NOT_RATED,
        "folder": str(found.folder),
        "combinations": spec.count,
        "verdicts": found.judged.counts(),
        "pass_once_proved_in_field": found.judged.once_proved(),
        "made": len(found.made),
        "kept": found.kept,
        "not_made": [
            {"combination": index, "because": because} for index, because in found.refused.items()
        ],
        "left_over": list(found.left_over),
        "peak_worker_mib": round(found.peak_kib / 1024) or None,
        "warnings": list(spec.warnings),
    }


def _print(found: Catalogue) -> None:
    from barbwright.checks.reasons import ONCE_PROVED

    spec, counts = found.judged.spec, found.judged.counts()
    echo(spec.title)
    if spec.invented:
        echo("(an invented scenario, for demonstration)")
    words = {word: f"{number:,} {word.replace('_', ' ')}" for word, number in counts.items()}
    if (leaning := found.judged.once_proved()) and "pass" in words:
        words["pass"] += f" ({leaning:,} of them {ONCE_PROVED})"
    said = ", ".join(words.values())
    echo(paragraph(f"{spec.count:,} combinations judged: {said}", "", "  "))
    if found.made or found.refused:
        echo(f"{len(found.made):,} parts made and verified, {found.kept:,} of them before")
    for index, because in list(found.refused.items())[:_MOST_TOLD]:
        echo(paragraph(f"not made, {index}: {because}", "  ", "    "))
    if found.left_over:
        echo(f"{len(found.left_over):,} parts of an earlier catalogue left as they are")
    echo("\n" + paragraph(NOT_RATED))
    if found.folder is not None:
        echo(f"open first: {found.folder / 'index.html'}")


def _making(quiet: bool) -> Callable[[int, int], None]:
    """Return a progress: one line that changes on a terminal, else a line a tenth."""
    if quiet:
        return lambda _done, _all: None
    shown = [-1]

    def show(done: int, every: int) -> None:
        if sys.stderr.isatty():
            end = "\n" if done >= every else ""
            echo(f"\rmade {done:,} of {every:,}{end}", nl=False, err=True)
        elif (tenth := 10 * done // max(every, 1)) != shown[0]:
            shown[0] = tenth
            echo(f"made {done:,} of {every:,}", err=True)

    return show


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("catalogue")(catalogue)
