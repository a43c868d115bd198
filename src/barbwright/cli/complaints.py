"""Errors on stderr: what stands here must load fast, since each command needs it."""

from __future__ import annotations

from barbwright.cli.door import echo
from barbwright.errors import BarbwrightError


def complain(error: BarbwrightError) -> None:
    """Print every fault of an error on stderr, one a line."""
    for fault in error.faults:
        echo(f"barbwright: {fault}", err=True)
