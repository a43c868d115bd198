"""`barbwright resize`: an earlier part with what changed."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from barbwright.catalog import read_language
from barbwright.checks.reasons import marked
from barbwright.cli import flags
from barbwright.cli import options as shared
from barbwright.cli.door import echo
from barbwright.cli.output import may_be_written, print_mark, print_own_figures, verdict_line
from barbwright.cli.terminal import WORDS, paragraph, print_json, print_rows, warn
from barbwright.errors import CheckFailedError, Fault, InputError
from barbwright.jobs.make import ALL_FORMATS, in_language, make_part, read_formats
from barbwright.jobs.record import SCHEMA_VERSION, document, failure, load_record
from barbwright.jobs.resize import Held, Resized, concerns, parts_in, resize_part, side_by_side
from barbwright.say import leading


@shared.with_job_options
def resize(
    part: Annotated[Path, typer.Argument(help="A part.json, its folder, or a kit's folder.")],
    output: Annotated[
        Path | None,
        flags.text(
            "-o --output", "Folder to write into; default beside the old part's folder.", "DIR"
        ),
    ] = None,
    formats: Annotated[str | None, flags.FORMATS] = None,
    force: Annotated[bool, flags.FORCE] = False,
    dry_run: Annotated[bool, flags.DRY_RUN] = False,
    anyway: Annotated[bool, flags.ANYWAY] = False,
    language: Annotated[str | None, flags.LANGUAGE] = None,
    json_: Annotated[bool, flags.JSON] = False,
    quiet: Annotated[bool, flags.QUIET] = False,
    debug: Annotated[bool, flags.DEBUG] = False,
    *,
    options: dict[str, Any],
) -> None:
    """Remake an earlier part with what you change, one revision on; the old one stays.

    Give only what is new, such as --bit 1/4in.
    """
    del debug
    wanted = in_language(read_formats(formats, ALL_FORMATS), read_language(language))
    if options.pop("kit_file") is not None:
        raise InputError(
            Fault("--kit cannot change a made part", do="give the options that change")
        )
    settings = tuple(options.pop("settings") or ())
    # A whole kit's folder holds parts; every one that the change concerns is remade.
    whole = part.is_dir() and not list(part.glob("part*.json"))
    held = parts_in(part) if whole else Held((part,), ())
    folders = held.taken
    if not folders:
        do = "name a part.json, or a kit's folder"
        raise InputError(Fault("no part there", given=held.without(part), do=do))
    chosen = [
        folder
        for folder in folders
        if len(folders) == 1 or concerns(load_record(folder)[0], options, settings)
    ]
    untouched = "not concerned by the change; it stays as it is"
    held += Held((), tuple((folder, untouched) for folder in folders if folder not in chosen))
    resized = [resize_part(folder, options, settings) for folder in chosen]
    bodies = []
    for one in resized:
        plan = one.plan
        if not quiet:
            warn(plan.job.said)
        body = document(plan, "resize")
        folder = None
        if not dry_run and may_be_written(plan, anyway):
            where = output if output is not None else one.old_folder.parent
            folder, body = make_part(plan, where, wanted, force=force, anyway=anyway)
            body["command"] = "resize"
        bodies.append({**body, "changes": side_by_side(one)})
        if not json_:
            _print(one)
            if folder is not None:
                print_mark(plan)
                echo(f"\nwritten and verified: {folder}")
    if len(folders) > 1 and not dry_run and not quiet:
        echo(
            "\ncards, chain and order in the kit's folder are still for the old parts: put the "
            "change into the kit file and build again",
            err=True,
        )
    if not quiet:
        warn(held.words())
    if json_:
        left = [{"path": str(path), "because": because} for path, because in held.left_out]
        several = {"schema_version": SCHEMA_VERSION, "command": "resize", "parts": bodies}
        print_json({**(bodies[0] if len(folders) == 1 else several), "left_out": left})
    failed = [one.plan for one in resized if not one.plan.may_be_made]
    if failed:
        raise CheckFailedError([fault for plan in failed for fault in failure(plan).faults])


def _print(resized: Resized) -> None:
    changes = side_by_side(resized)
    echo(f"{changes['old_part_number']}\n  -> {changes['new_part_number']}")
    echo(paragraph(verdict_line(resized.plan), "", "  "))
    print_own_figures(resized.plan)
    rows = [(row["name"], _size(row["old"]), _size(row["new"])) for row in changes["dimensions"]]
    echo("\nChanged dimensions")
    print_rows([("dimension", "old", "new"), *rows])
    echo(f"\n{len(changes['unchanged'])} dimensions unchanged to the last digit")
    echo("\nChecks")
    print_rows(
        [
            ("check", "old", "new"),
            *(
                (
                    row["id"],
                    *(
                        marked(WORDS.get(row[f"{age}_verdict"], "-"), proved=row[f"{age}_proved"])
                        + f" {_safety(row[f'{age}_safety_factor'])}"
                        for age in ("old", "new")
                    ),
                )
                for row in changes["checks"]
            ),
        ]
    )


def _size(value: float | None) -> str:
    return "" if value is None else f"{value:.4g}"


def _safety(factor: float | None) -> str:
    return "" if factor is None else leading(factor, "down", 4)


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("resize")(resize)
