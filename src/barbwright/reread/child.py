"""A second process of our own: the same package, nothing of the user's folder."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
from pathlib import Path
from typing import TextIO

# linux/prctl.h
_PR_SET_PDEATHSIG = 1


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
