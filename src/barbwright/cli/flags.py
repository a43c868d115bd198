"""The flags that commands share; what stands here loads at once, for it loads nothing."""

from __future__ import annotations

import typer

DEBUG = typer.Option("--debug", help="Show where an unexpected error came from.")
JSON = typer.Option("--json", help="One JSON document on stdout.")
QUIET = typer.Option("-q", "--quiet", help="No messages, only results.")
OUTPUT = typer.Option("-o", "--output", help="Folder to write into.", metavar="DIR")
FORCE = typer.Option("--force", help="Remake a folder that is there.")
ANYWAY = typer.Option(
    "--anyway", help="Write a part that fails a check, marked NOT PASSED; still exits 3."
)
FORMATS = typer.Option(
    "--formats", help="Only these, comma-separated.", metavar="LIST", show_default=False
)
FOR_PART = typer.Option(
    "--for",
    help="The part a driver, fork or collar is made for: the folder or part.json of one that was "
    "made, or tip, elbow or tee beside the same inputs.",
    metavar="PART",
    show_default=False,
)
LANGUAGE = typer.Option(
    "--language",
    help="Write cards and rules for the hands in this language as well: es for Spanish.",
    metavar="LANG",
    show_default=False,
)
DRY_RUN = typer.Option("-n", "--dry-run", help="Judge, but write nothing.")
