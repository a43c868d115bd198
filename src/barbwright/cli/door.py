"""The terminal as a door: what goes out is plain, and a reader who leaves ends us quietly.

Records, profiles and typed text may hold letters that move the cursor, rename the window or turn
a line round; the readers refuse them, and here none passes even where a reader forgot.
"""

from __future__ import annotations

import contextlib
import os
import re
import select
import sys
from typing import Any

import typer

from barbwright.errors import BuildError, Fault, escaped

# Our own colours, as `colour` and the heads of tables write them; whoever is no terminal gets none.
_STYLES = re.compile("(\x1b\\[(?:0|1|3[1-3])m)")


def echo(text: object = "", *, err: bool = False, nl: bool = True) -> None:
    """Print one text; letters that a terminal would obey are shown as what they are.

    Parameters
    ----------
    text : object
        What to print.
    err : bool
        On stderr.
    nl : bool
        Whether the line ends.

    Raises
    ------
    SystemExit
        With 0, when the reader of stdout has gone (`| head`): nothing is left to say.
    BuildError
        When stdout cannot be written, such as on a full disk.
    """
    parts = _STYLES.split(str(text))
    plain = "".join(part if place % 2 else escaped(part) for place, part in enumerate(parts))
    try:
        typer.echo(plain, err=err, nl=nl)
    except BrokenPipeError:
        _mute(sys.stderr if err else sys.stdout)
        if not err:
            raise SystemExit(0) from None
    except OSError as error:
        if err:
            _mute(sys.stderr)
            return
        _mute(sys.stdout)
        raise _unwritten(error) from error


def _unwritten(error: OSError) -> BuildError:
    return BuildError(
        Fault(
            "cannot write what was found to stdout",
            given=error.strerror or str(error),
            do="print to a terminal, or into a file on a disk with room",
        )
    )


def _mute(stream: Any) -> None:
    """Lead a stream that cannot be written nowhere, or the interpreter complains at its end."""
    try:
        number = stream.fileno()
    except (OSError, ValueError, AttributeError):
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, number)
    os.close(nowhere)


def mute_stalled() -> bool:
    """Lead nowhere each stream whose reader takes nothing more for now; return whether any was."""
    found = False
    # Elsewhere only sockets can be asked.
    for stream in (sys.stdout, sys.stderr) if os.name == "posix" else ():
        with contextlib.suppress(OSError, ValueError, AttributeError):
            if not select.select([], [stream.fileno()], [], 0.0)[1]:
                _mute(stream)
                found = True
    return found


def open_closed_streams() -> None:
    """Let a stream that was closed by whoever started us (`>&-`) lead nowhere."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115


def settle(code: int) -> int:
    """Return the exit code once all that was printed has left.

    Parameters
    ----------
    code : int
        What the command ended with.
    """
    try:
        sys.stdout.flush()
    except BrokenPipeError:
        _mute(sys.stdout)
    except OSError as error:
        _mute(sys.stdout)
        fault = _unwritten(error)
        echo(f"barbwright: {fault}", err=True)
        code = code or fault.exit_code
    except ValueError:
        # Closed by whoever called us.
        pass
    try:
        sys.stderr.flush()
    except OSError:
        _mute(sys.stderr)
    except ValueError:
        pass
    return code
