"""`barbwright list`: the tables, with status and source."""

from __future__ import annotations

import io
from typing import Annotated

import typer

from barbwright.catalog.folders import unread_profiles
from barbwright.cli import options as shared
from barbwright.cli.door import echo
from barbwright.cli.output import print_json, warn
from barbwright.jobs.tables import table_rows


def list_(
    table: Annotated[str, typer.Argument(help="bits, tubes, materials, woods or kits.")],
    words: Annotated[
        list[str] | None,
        typer.Argument(help="Only rows that hold all these words.", show_default=False),
    ] = None,
    json_: Annotated[bool, shared.JSON] = False,
    debug: Annotated[bool, shared.DEBUG] = False,
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
    # rich only where a table is asked for: check must start fast.
    from rich.console import Console
    from rich.table import Table

    shown = Table(box=None, pad_edge=False, header_style="bold")
    for name in rows[0]:
        shown.add_column(name)
    for row in rows:
        shown.add_row(*("" if value is None else _text(value) for value in row.values()))
    console = Console(soft_wrap=False)
    wide = console.width if console.is_terminal else 200
    written = io.StringIO()
    styled = console.is_terminal and not console.no_color
    Console(file=written, width=wide, force_terminal=styled).print(shown, markup=False)
    echo(written.getvalue(), nl=False)


def _text(value: object) -> str:
    return f"{value:.4g}" if isinstance(value, float) else str(value)


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("list")(list_)
