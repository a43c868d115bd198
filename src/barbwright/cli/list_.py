"""`barbwright list`: the tables, with status and source."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from typing import Annotated

import typer

from barbwright.catalog.folders import unread_profiles
from barbwright.cli import flags
from barbwright.cli.door import echo
from barbwright.cli.terminal import READABLE, columns, paragraph, print_json, warn, width, widths_of
from barbwright.jobs.tables import TABLES, table_rows

_HOLDS = {
    "bits": "drill bits by name, with their diameter",
    "tubes": "tubing by what is printed on it: inner and outer diameter, rating",
    "materials": "what a print service prints: strength, tolerance, walls, heat",
    "woods": "trees by their timber's name: how hard, how strong across the grain",
    "species": "trees whose uptake of water was measured, for `chain --species`",
    "kits": "kits that can be built by name",
}


def list_(
    table: Annotated[
        str | None,
        typer.Argument(
            help="bits, tubes, materials, woods, species or kits; none says what each holds.",
            show_default=False,
        ),
    ] = None,
    words: Annotated[
        list[str] | None,
        typer.Argument(
            help="Only rows that hold all these words; a size such as 1/4in is a tube's.",
            show_default=False,
        ),
    ] = None,
    json_: Annotated[bool, flags.JSON] = False,
    debug: Annotated[bool, flags.DEBUG] = False,
) -> None:
    """List bits, tubes, materials, woods, species or kits, filtered by words."""
    del debug
    if table is None:
        _tables(json_=json_)
        return
    rows = table_rows(table, words or [])
    warn(unread_profiles())
    if json_:
        print_json({"schema_version": 1, "command": "list", "table": table, "rows": rows})
        return
    if not rows:
        echo("no row holds these words", err=True)
        return
    most = shutil.get_terminal_size((80, 24)).columns
    shown = [tuple(rows[0]), *(tuple(map(_text, row.values())) for row in rows)]
    kept = fitting(shown, most)
    for line in columns([[row[column] for column in kept] for row in shown], most):
        echo(line)
    left = [name for column, name in enumerate(shown[0]) if column not in kept]
    if left:
        text = f"Left out for width: {', '.join(left)}. --json has all, and a wider terminal."
        echo("\n" + paragraph(text))


def _tables(*, json_: bool) -> None:
    held = [{"table": name, "rows": len(rows()), "holds": _HOLDS[name]}
            for name, rows in TABLES.items()]  # fmt: skip
    if json_:
        print_json({"schema_version": 1, "command": "list", "tables": held})
        return
    shown = [("table", "rows", "holds"), *(tuple(map(str, one.values())) for one in held)]
    for line in columns(shown, width()):
        echo(line)
    echo("\n" + paragraph("Such as: barbwright list tubes LLDPE, barbwright list woods maple"))


def fitting(rows: Sequence[Sequence[str]], most: int) -> list[int]:
    """Return which columns fit beside each other without being cut to a word a line.

    Parameters
    ----------
    rows : sequence of sequence of str
        The header first.
    most : int
        Width to keep to [characters].
    """
    kept = list(range(len(rows[0])))
    widths, least = widths_of(rows)
    wide = [max(min(own, READABLE), word) for own, word in zip(widths, least, strict=True)]
    wide[0] = least[0]
    while len(kept) > 1 and sum(wide[column] + 2 for column in kept) - 2 > most:
        # How far a figure is known is the last to go; else the columns to the right are.
        spare = [column for column in kept[1:] if rows[0][column] != "status"]
        kept.remove(spare[-1] if spare else kept[-1])
    return kept


def _text(value: object) -> str:
    if value is None:
        return ""
    return f"{value:.4g}" if isinstance(value, float) else str(value)


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("list")(list_)
