"""Words on the terminal: results on stdout, everything else on stderr; loads no check."""

from __future__ import annotations

import json
import os
import shutil
import sys
import textwrap
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

import typer

from barbwright.cli.door import echo

WORDS = {"pass": "PASS", "caution": "CAUTION", "fail": "FAIL", "not_checked": "not checked"}
# A longer cell is read as well on several lines [characters].
READABLE = 12
_COLOURS = {"pass": "green", "caution": "yellow", "fail": "red"}


def colour(text: str, verdict: str, stream: Any = None) -> str:
    """Return a verdict's word in colour, where a terminal wants it; the word itself says it."""
    stream = stream or sys.stdout
    if os.environ.get("NO_COLOR") or not stream.isatty() or verdict not in _COLOURS:
        return text
    return typer.style(text, fg=_COLOURS[verdict], bold=True)


def warn(warnings: Iterable[str]) -> None:
    """Print warnings on stderr, one a line; on a terminal wrapped to it."""
    for warning in warnings:
        text = f"barbwright: {warning}"
        echo(paragraph(text, "", "  ") if sys.stderr.isatty() else text, err=True)


def progress_of(what: str) -> Callable[[float], None] | None:
    """Return a one-line progress on stderr, on a terminal alone."""
    if not sys.stderr.isatty():
        return None

    def show(share: float) -> None:
        end = "\n" if share >= 1.0 else ""
        echo(f"\r{what} {share:4.0%}{end}", nl=False, err=True)

    return show


@contextmanager
def kept_where_stopped() -> Iterator[None]:
    """Say what stays where the work is interrupted."""
    try:
        yield
    except KeyboardInterrupt:
        echo(
            "interrupted: finished parts are kept, nothing is half made; run again to go on",
            err=True,
        )
        raise


def print_json(body: dict[str, Any]) -> None:
    """Print one JSON document on stdout."""
    # What `echo` would write out is escaped in JSON's own way, so it reads back the same.
    echo(json.dumps(body, indent=1, ensure_ascii=False, allow_nan=False))


def width() -> int:
    """Return the width to write in [characters]."""
    return max(60, min(shutil.get_terminal_size((80, 24)).columns, 120))


def paragraph(text: str, indent: str = "", hanging: str | None = None) -> str:
    """Return a text wrapped to the terminal; a path or an option is never cut in two."""
    return textwrap.fill(
        text,
        width(),
        initial_indent=indent,
        subsequent_indent=indent if hanging is None else hanging,
        break_long_words=False,
        break_on_hyphens=False,
    )


def print_rows(rows: Sequence[Sequence[str]]) -> None:
    """Print rows in columns, the header first; a row wider than the terminal as a paragraph."""
    widths, _ = widths_of(rows)
    for row in rows:
        cells = [cell.ljust(size) for cell, size in zip(row, widths, strict=True)]
        line = "  " + "  ".join(cells).rstrip()
        echo(line if len(line) <= width() else paragraph(line.strip(), "  ", "      "))


def widths_of(rows: Sequence[Sequence[str]]) -> tuple[list[int], list[int]]:
    """Return each column's widest cell, and its longest word; a name, first, is one [characters].

    Parameters
    ----------
    rows : sequence of sequence of str
        The header first.
    """
    cells = list(zip(*rows, strict=True))
    longest = [max(len(word) for text in one for word in [*text.split(), ""]) for one in cells]
    widest = [max(map(len, one)) for one in cells]
    return widest, [widest[0], *longest[1:]]


def columns(rows: Sequence[Sequence[str]], most: int) -> list[str]:
    """Return rows in columns, no wider than the terminal: what is too long goes on below.

    Parameters
    ----------
    rows : sequence of sequence of str
        The header first.
    most : int
        Width to keep to [characters].
    """
    widths, least = widths_of(rows)
    while sum(widths) + 2 * len(widths) - 2 > most:
        # A letter at a time, while it can without cutting a word: what a row is known by stands
        # left, so the rightmost gives way while it can be read, and then the widest.
        room = [own - floor for own, floor in zip(widths, least, strict=True)]
        if max(room) <= 0:
            break
        readable = [column for column, own in enumerate(widths) if room[column] and own > READABLE]
        widest = max(range(len(widths)), key=lambda column: (room[column] > 0, widths[column]))
        widths[readable[-1] if readable else widest] -= 1
    lines = []
    for row in rows:
        cells = [textwrap.wrap(text, max(own, 1), break_long_words=False) or [""]
                 for text, own in zip(row, widths, strict=True)]  # fmt: skip
        for line in range(max(len(cell) for cell in cells)):
            told = [
                (cell[line] if line < len(cell) else "").ljust(own)
                for cell, own in zip(cells, widths, strict=True)
            ]
            lines.append("  ".join(told).rstrip())
    return lines
