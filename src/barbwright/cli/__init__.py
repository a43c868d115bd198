"""The command line: the only folder that imports typer and rich, prints, or exits."""

import atexit
import gc

# Start-up makes many objects and no garbage; looking for it so often is a tenth of `check`, and
# looking through all of them once more at the end is another.
gc.set_threshold(50_000, 20, 20)
atexit.register(gc.freeze)

from barbwright.cli.app import main  # noqa: E402

__all__ = ["main"]
