"""`barbwright list`: the tables, with status and source."""

from __future__ import annotations

import shutil
import sys
from typing import Annotated

import typer

from barbwright.catalog.folders import unread_profiles
from barbwright.cli import flags
from barbwright.cli.door import echo
from barbwright.cli.terminal import columns, print_json, warn
from barbwright.jobs.tables import table_rows

# Where no terminal says how wide it is.
_PIPED = 200


def list_(
    table: Annotated[str, typer.Argument(help="bits, tubes, materials, woods or kits.")],
    words: Annotated[
        list[str] | None,
        typer.Argument(help="Only rows that hold all these words.", show_default=False),
    ] = None,
    json_: Annotated[bool, flags.JSON] = False,
    debug: Annotated[bool, flags.DEBUG] = False,
) -> None:
    """List bits, tubes, materials, woods or kits, filtered by words."""
    del debug
    rows = table_rows(table, words or [])
    warn(unread_profiles())
    if json_:
        print_json({"schema_version": 1, "command": "list", "table": table, "rows": rows})
        return
    if not rows:
        echo("no row holds these words", err=True)
        return
    shown = [tuple(rows[0]), *(tuple(map(_text, row.values())) for row in rows)]
    most = shutil.get_terminal_size().columns if sys.stdout.isatty() else _PIPED
    for line in columns(shown, most):
        echo(line)


def _text(value: object) -> str:
    if value is None:
        return ""
    return f"{value:.4g}" if isinstance(value, float) else str(value)


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("list")(list_)
