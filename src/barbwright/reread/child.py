"""A second process of our own: the same package, nothing of the user's folder."""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any, TextIO

# linux/prctl.h
_PR_SET_PDEATHSIG = 1
# A drawing or a mesh takes a second or two, on a busy machine ten.
LONGEST_S = 60.0


def end_with_parent(number: int = 9) -> None:
    """Ask the system to end this process when the one that started it is gone, killed or not.

    Elsewhere than on Linux it ends when it finds nothing more to read.

    Parameters
    ----------
    number : int
        The signal it is to get; 9 (KILL) asks nothing of it [-].
    """
    if not sys.platform.startswith("linux"):
        return
    import ctypes

    # A system without it says so by a return value, and things stay as elsewhere.
    with contextlib.suppress(OSError, AttributeError):
        ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, int(number), 0, 0, 0)


def own_answers() -> TextIO:
    """Return a stream for a second process's answers; what a library prints goes elsewhere."""
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)
    return answers


def start(module: str, **environment: str) -> subprocess.Popen[str]:
    """Start a module as a process that reads lines and answers with lines.

    Parameters
    ----------
    module : str
        Such as ``barbwright.reread`` [-].
    environment : str
        Variables that are other there than here [-].

    Returns
    -------
    subprocess.Popen
        With pipes for text.

    Raises
    ------
    OSError
        When no process can be started.
    """
    package = str(Path(__file__).resolve().parents[2])
    known = [package, os.environ.get("PYTHONPATH", "")]
    return subprocess.Popen(
        # -P keeps a file named trimesh.py in the user's folder from being imported.
        [sys.executable, "-P", "-m", module],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        encoding="utf-8",
        env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, known)), **environment},
        # An interrupt at the terminal is for the first process, which ends this one.
        start_new_session=True,
    )


def answer(process: subprocess.Popen[str]) -> dict[str, Any] | None:
    """Wait for a process's next answer; one that stands still is ended and waited for no longer.

    Parameters
    ----------
    process : subprocess.Popen
        As `start` returned it.

    Returns
    -------
    dict or None
        What its line of JSON holds; none where it is gone or talks nonsense.
    """
    assert process.stdout is not None
    late = threading.Timer(LONGEST_S, process.kill)
    # Nor is the watch waited for, where an interrupt ends the waiting.
    late.daemon = True
    late.start()
    try:
        told = json.loads(process.stdout.readline())
    except (OSError, ValueError):
        return None
    finally:
        late.cancel()
    return told if isinstance(told, dict) else None


def end(process: subprocess.Popen[str]) -> None:
    """End a process, whatever it is at.

    Parameters
    ----------
    process : subprocess.Popen
        As `start` returned it.
    """
    process.kill()
    process.wait()
    for stream in (process.stdin, process.stdout):
        if stream is not None:
            # What was not read yet cannot be flushed any more.
            with contextlib.suppress(OSError):
                stream.close()
