"""Errors on stderr: what stands here must load fast, since each command needs it."""

from __future__ import annotations

from barbwright.errors import BarbwrightError


def complain(error: BarbwrightError) -> None:
    """Print every fault of an error on stderr, one a line; on a terminal wrapped to it."""
    # Late: a message is rare, and each command loads this file.
    from barbwright.cli.terminal import warn

    warn(map(str, error.faults))
