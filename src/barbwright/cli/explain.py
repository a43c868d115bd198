"""`barbwright explain`: a check with its equation and sources, or a word of the output."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from barbwright.cli import flags
from barbwright.cli.door import echo
from barbwright.cli.terminal import paragraph, print_json
from barbwright.jobs.explaining import explain_check, explain_log, explain_term, list_checks
from barbwright.jobs.glossary import TERMS
from barbwright.say import with_beside


def explain(
    words: Annotated[
        list[str] | None,
        typer.Argument(
            help="A check (wood_hold), a word (safety factor), or `log`; none lists all.",
            show_default=False,
        ),
    ] = None,
    json_: Annotated[bool, flags.JSON] = False,
    debug: Annotated[bool, flags.DEBUG] = False,
) -> None:
    """Explain a check or a word of the output, or list them all."""
    del debug
    # Two words need no quotes: explain safety factor.
    check = " ".join(words or ())
    if not check:
        rows = list_checks()
        if json_:
            words_of = list(TERMS)
            print_json(
                {"schema_version": 1, "command": "explain", "checks": rows, "words": words_of}
            )
            return
        wide = max(len(row["id"]) for row in rows)
        for row in rows:
            echo(f"{row['id'].ljust(wide)}  {row['stage'].ljust(8)}  {row['title']}")
        echo("\n" + paragraph("Words: " + ", ".join(TERMS)))
        return
    if check.casefold() == "log":
        page, shown = explain_log(), _print_log
    elif (term := explain_term(check)) is not None:
        page, shown = term, _print_term
    else:
        page, shown = explain_check(check), _print_page
    if json_:
        print_json({"schema_version": 1, "command": "explain", **page})
    else:
        shown(page)


def _print_term(page: dict[str, Any]) -> None:
    echo(paragraph(f"{page['id']}: {page['means']}", "", "  "))
    echo(paragraph(f"See also: {', '.join(page['see'])}", "", "  "))


def _print_log(page: dict[str, Any]) -> None:
    for kind in page["kinds"]:
        told = ", ".join(kind["told_by"])
        echo(f"{kind['kind']}: {kind['title']} (told by its columns {told})")
        for column in kind["columns"]:
            need = " (needed)" if column["needed"] else ""
            text = f"{column['heading']}{need}: {column['meaning']}."
            echo(paragraph(text, "  ", "      "))
        # As a file has it: a line that is wrapped would be copied so.
        for line in ("  Such as", *(f"    {line}" for line in kind["example"])):
            echo(line)
        echo("")
    echo("Tests of a bench day")
    for one in page["tests"]:
        text = f"{one['test']}: {one['how']}. Tells {one['tells']}, for {', '.join(one['checks'])}"
        if one["else_checks"]:
            text += f"; where no pull was read, for {', '.join(one['else_checks'])} too"
        echo(paragraph(f"{text}.", "  ", "      "))
    echo("\nWhat none of them tells, by the checks that lean on it")
    for one in page["untold"]:
        text = f"{', '.join(one['checks'])}: {one['why']}."
        echo(paragraph(text, "  ", "      "))
    text = (
        "Comma, semicolon or tab, decimal point or comma. What stands in brackets is the unit of "
        "a column, in the header: [bar] does as well as [psi], [mL] as [L]. A cell may carry its "
        "own unit; a clock (10:05:30) does for a time. Rows may be out of order. Nothing is "
        "guessed: what cannot be read is named by its line. Write each reading with the unit "
        "that the scale shows: kg and lb are read as the force that pulled it; one taken for the "
        "other is off by 2.2 only, which five readings and more tell, or bid you look at, in "
        "four days of five. The same file logged again, mended or not, takes its own place."
    )
    echo("\n" + paragraph(text))


def _print_page(page: dict[str, Any]) -> None:
    echo(f"{page['id']}: {page['title']} ({page['stage']})\n")
    echo(paragraph(page["asks"]))
    echo("\n" + paragraph(f"Equation: {page['equation']}", "", "  "))
    echo(f"Unit: {page['unit']}")
    if page["symbols"]:
        echo("\nSymbols")
        for symbol in page["symbols"]:
            echo(paragraph(f"{symbol['symbol']}: {symbol['meaning']}", "  ", "      "))
    echo(f"\nDesign factor: {page['design_factor']}")
    echo("\nSources")
    for source in page["sources"]:
        echo(
            paragraph(f"{source['key']}: {source['citation']} [{source['status']}]", "  ", "      ")
        )
    if page["judgement"]:
        echo("\nJudgement (override with --set or in a profile)")
        for number in page["judgement"]:
            value = with_beside(f"{number['value']:g}", number["value"], number["unit"])
            echo(
                paragraph(
                    f"{number['name']} = {value}: {number['meaning']} [{number['status']}]",
                    "  ",
                    "      ",
                )
            )
    echo("\n" + paragraph(f"When it fails: {page['remedy']}"))
    if page["rule"]:
        echo(paragraph(f"As a caution it becomes a handling rule: {page['rule']}", "", "  "))


def register(app: typer.Typer) -> None:
    """Add the command."""
    # An option is a word as well: `explain --fill` asks what it means.
    app.command("explain", context_settings={"ignore_unknown_options": True})(explain)
