"""The command line: the only folder that imports typer and rich, prints, or exits."""

import gc

# Start-up makes many objects and no garbage; looking for it so often is a tenth of `check`.
gc.set_threshold(50_000, 20, 20)

from barbwright.cli.app import main  # noqa: E402

__all__ = ["main"]
