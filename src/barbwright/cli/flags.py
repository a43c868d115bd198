"""The flags that commands share; what stands here loads at once, for it loads nothing."""

from __future__ import annotations

from typing import Any

import typer


def text(names: str, words: str, metavar: str = "TEXT") -> Any:
    """Return an option that takes a text; where it was not given nothing is shown for it.

    Parameters
    ----------
    names : str
        Such as "-o --output".
    words : str
        Its help.
    metavar : str
        What stands for the text in its help.
    """
    return typer.Option(*names.split(), help=words, metavar=metavar, show_default=False)


DEBUG = typer.Option("--debug", help="Show where an unexpected error came from.")
JSON = typer.Option("--json", help="One JSON document on stdout.")
QUIET = typer.Option("-q", "--quiet", help="No messages, only results.")
OUTPUT = typer.Option("-o", "--output", help="Folder to write into.", metavar="DIR")
FORCE = typer.Option("--force", help="Remake a folder that is there.")
ANYWAY = typer.Option(
    "--anyway", help="Write a part that fails a check, marked NOT PASSED; still exits 3."
)
FORMATS = text("--formats", "Only these, comma-separated.", "LIST")
FOR_PART = text(
    "--for",
    "The part a driver, fork or collar is made for: the folder or part.json of one that was "
    "made, or tip, elbow or tee beside the same inputs.",
    "PART",
)
LANGUAGE = text(
    "--language",
    "Write cards and rules for the hands in this language as well: es for Spanish.",
    "LANG",
)
SET = text("--set", "Force a size or figure, name=value; repeatable.", "NAME=VALUE")
DRY_RUN = typer.Option("-n", "--dry-run", help="Judge, but write nothing.")
