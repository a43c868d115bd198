"""A second process of our own: the same package, nothing of the user's folder."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path


def start(module: str) -> subprocess.Popen[str]:
    """Start a module as a process that reads lines and answers with lines.

    Parameters
    ----------
    module : str
        Such as ``barbwright.reread`` [-].

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
        env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, known))},
        # An interrupt at the terminal is for the first process, which ends this one.
        start_new_session=True,
    )
