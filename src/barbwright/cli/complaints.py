"""Errors on stderr: what stands here must load fast, since each command needs it."""

from __future__ import annotations

import sys

from barbwright.cli.door import echo
from barbwright.errors import BarbwrightError


def complain(error: BarbwrightError) -> None:
    """Print every fault of an error on stderr, one a line; on a terminal wrapped to it."""
    for fault in error.faults:
        text = f"barbwright: {fault}"
        if sys.stderr.isatty():
            # Late: a message is rare, and each command loads this file.
            from barbwright.cli.terminal import paragraph

            text = paragraph(text, "", "  ")
        echo(text, err=True)
