"""`barbwright explain`: equation, symbols, sources, what is judgement, what to do."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from barbwright.cli import options as shared
from barbwright.cli.output import paragraph, print_json
from barbwright.jobs.explaining import explain_check, explain_log, list_checks


def explain(
    check: Annotated[
        str | None,
        typer.Argument(
            help="A check's id, or `log` for the columns of logs; none lists the checks.",
            show_default=False,
        ),
    ] = None,
    json_: Annotated[bool, shared.JSON] = False,
    debug: Annotated[bool, shared.DEBUG] = False,
) -> None:
    """Explain a check, or list them all."""
    del debug
    if check is None:
        rows = list_checks()
        if json_:
            print_json({"schema_version": 1, "command": "explain", "checks": rows})
            return
        wide = max(len(row["id"]) for row in rows)
        for row in rows:
            typer.echo(f"{row['id'].ljust(wide)}  {row['stage'].ljust(8)}  {row['title']}")
        return
    if check.casefold() == "log":
        page = explain_log()
        if json_:
            print_json({"schema_version": 1, "command": "explain", **page})
        else:
            _print_log(page)
        return
    page = explain_check(check)
    if json_:
        print_json({"schema_version": 1, "command": "explain", **page})
        return
    _print_page(page)


def _print_log(page: dict[str, Any]) -> None:
    for kind in page["kinds"]:
        told = ", ".join(kind["told_by"])
        typer.echo(f"{kind['kind']}: {kind['title']} (told by its columns {told})")
        for column in kind["columns"]:
            need = " (needed)" if column["needed"] else ""
            unit = f" Its unit stands in the header, such as {column['name']} [...]."
            text = f"{column['name']}{need}: {column['meaning']}."
            typer.echo(paragraph(text + (unit if column["quantity"] else ""), "  ", "      "))
        typer.echo("")
    typer.echo("Tests of a bench day")
    for one in page["tests"]:
        text = f"{one['test']}: {one['how']}. Tells {one['tells']}, for {', '.join(one['checks'])}."
        typer.echo(paragraph(text, "  ", "      "))
    text = (
        "Comma, semicolon or tab, decimal point or comma. A cell may carry its own unit; a clock "
        "(10:05:30) does for a time. Rows may be out of order. Nothing is guessed: what cannot be "
        "read is named by its line."
    )
    typer.echo("\n" + paragraph(text))


def _print_page(page: dict[str, Any]) -> None:
    typer.echo(f"{page['id']}: {page['title']} ({page['stage']})\n")
    typer.echo(paragraph(page["asks"]))
    typer.echo("\n" + paragraph(f"Equation: {page['equation']}", "", "  "))
    typer.echo(f"Unit: {page['unit']}")
    if page["symbols"]:
        typer.echo("\nSymbols")
        for symbol in page["symbols"]:
            typer.echo(paragraph(f"{symbol['symbol']}: {symbol['meaning']}", "  ", "      "))
    typer.echo(f"\nDesign factor: {page['design_factor']}")
    typer.echo("\nSources")
    for source in page["sources"]:
        typer.echo(
            paragraph(f"{source['key']}: {source['citation']} [{source['status']}]", "  ", "      ")
        )
    if page["judgement"]:
        typer.echo("\nJudgement (override with --set or in a profile)")
        for number in page["judgement"]:
            typer.echo(
                paragraph(
                    f"{number['name']} = {number['value']:g} {number['unit']}: "
                    f"{number['meaning']} [{number['status']}]",
                    "  ",
                    "      ",
                )
            )
    typer.echo("\n" + paragraph(f"When it fails: {page['remedy']}"))
    if page["rule"]:
        typer.echo(paragraph(f"As a caution it becomes a handling rule: {page['rule']}", "", "  "))


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("explain")(explain)
