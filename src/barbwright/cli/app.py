"""The commands put together, and the one place where errors become exit codes."""

from __future__ import annotations

import sys
import traceback
from collections.abc import Sequence
from importlib import import_module
from typing import Annotated

import typer

from barbwright import __version__
from barbwright.cli.output import complain
from barbwright.errors import BarbwrightError

# Each command's module, in the order that --help lists them.
COMMANDS = {
    "make": "make",
    "check": "check",
    "rate": "rate",
    "prove": "prove",
    "resize": "resize",
    "build": "build",
    "chain": "chain",
    "order": "order",
    "coupon": "coupon",
    "calibrate": "calibrate",
    "bench": "bench",
    "log": "log",
    "list": "list_",
    "explain": "explain",
}


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"barbwright {__version__}")
        raise typer.Exit


def _root(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_version, is_eager=True, help="Print the version."),
    ] = False,
) -> None:
    """Size, check and make printed barbed connectors for pressurised trunk watering.

    Parts can hurt people: stored pressure, hammering, drilling, chemicals. Printed parts are not
    pressure rated; proof-test each batch with water. Product labels, local codes and licensed
    practice prevail.
    """


def application(words: Sequence[str] = ()) -> typer.Typer:
    """Return the command line for some words; only the command they name is imported.

    Parameters
    ----------
    words : sequence of str
        What was typed. Where no command is named (--help, completion), all are there.
    """
    app = typer.Typer(
        name="barbwright",
        help="Printed barbed connectors for pressurised trunk watering: sized, checked, drawn, "
        "verified. Not pressure rated: proof-test with water.",
        context_settings={"help_option_names": ["-h", "--help"]},
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
        no_args_is_help=True,
    )
    app.callback()(_root)
    named = words[0] if words else ""
    for name in [named] if named in COMMANDS else COMMANDS:
        import_module(f"barbwright.cli.{COMMANDS[name]}").register(app)
    return app


def main() -> None:
    """Run the command line; exit 0 done, 1 unexpected, 2 input, 3 check fails, 4 not built."""
    debug = "--debug" in sys.argv[1:]
    try:
        application(sys.argv[1:])()
    except BarbwrightError as error:
        complain(error)
        if debug:
            traceback.print_exc()
        sys.exit(error.exit_code)
    except BrokenPipeError:
        # The reader has gone (`| head`): nothing is left to say, and nothing is wrong.
        sys.stderr.close()
        sys.exit(0)
    except Exception as error:
        if debug:
            traceback.print_exc()
        typer.echo(
            f"unexpected: {type(error).__name__}: {error}; --debug shows where. Please report it.",
            err=True,
        )
        sys.exit(1)
