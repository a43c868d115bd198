"""The command line: the only folder that imports typer and rich, prints, or exits."""

import atexit
import gc
import sys

# Start-up makes many objects and no garbage; looking for it so often is a tenth of `check`, and
# looking through all of them once more at the end is another.
gc.set_threshold(50_000, 20, 20)
atexit.register(gc.freeze)


def main() -> None:
    """Run the command line; an interrupt that meets it while it loads ends it like any other."""
    try:
        from barbwright.cli.app import main as run
    except KeyboardInterrupt:
        sys.stderr.write("stopped: nothing is half made\n")
        sys.exit(130)
    run()


__all__ = ["main"]
