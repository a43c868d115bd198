"""The command line: the only folder that imports typer and rich, prints, or exits."""

from barbwright.cli.app import main

__all__ = ["main"]
