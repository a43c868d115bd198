"""A second process that makes parts: ``python -m barbwright.jobs.worker``.

Two of them make a kit on two cores. Each part's folder is put in place whole, so a process that
is stopped leaves nothing half made.
"""

from __future__ import annotations

import base64
import contextlib
import json
import pickle
import signal
import subprocess
import sys
from collections.abc import Collection
from pathlib import Path
from typing import Any, TextIO

from barbwright import errors
from barbwright.errors import BarbwrightError, BuildError, Fault
from barbwright.jobs.make import make_part
from barbwright.jobs.plan import Plan
from barbwright.reread import child

GRACE_S = 10.0


class PartWorker:
    """A process that makes one part after another."""

    def __init__(self) -> None:
        self._process = child.start("barbwright.jobs.worker")

    def make(
        self, plan: Plan, output: Path, formats: Collection[str], *, force: bool, anyway: bool
    ) -> tuple[Path, dict[str, Any]]:
        """Make a part there; see `make_part`.

        Parameters
        ----------
        plan : Plan
            Design and verdict.
        output : Path
            Folder that holds the part's own folder.
        formats : collection of str
            Which files to write.
        force, anyway : bool
            As for `make_part`.

        Returns
        -------
        tuple of Path and dict
            The part's folder and the document of what was made.
        """
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        job = {
            "plan": base64.b64encode(pickle.dumps(plan)).decode(),
            "output": str(output),
            "formats": list(formats),
            "force": force,
            "anyway": anyway,
        }
        try:
            self._process.stdin.write(json.dumps(job) + "\n")
            self._process.stdin.flush()
            line = self._process.stdout.readline()
        except OSError:
            line = ""
        if not line:
            given = f"{plan.number}; exit status {self._process.poll()}"
            raise BuildError(Fault("the process that made this part ended without a word", given))
        answer = json.loads(line)
        if "unexpected" in answer:
            raise RuntimeError(answer["unexpected"])
        if "faults" in answer:
            kind: type[BarbwrightError] = getattr(errors, answer["error"])
            raise kind([Fault(**fault) for fault in answer["faults"]])
        return Path(answer["folder"]), answer["body"]

    def interrupt(self) -> None:
        """Ask it to stop and to clean up what it was at."""
        if self._process.poll() is None:
            self._process.send_signal(signal.SIGINT)

    def close(self, seconds: float = GRACE_S) -> None:
        """End it, at once where it is idle.

        Parameters
        ----------
        seconds : float
            How long it may take to clean up [s].
        """
        process = self._process
        if process.stdin is not None:
            # Where it is gone already, that is what was wanted.
            with contextlib.suppress(OSError):
                process.stdin.close()
        try:
            process.wait(seconds)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        if process.stdout is not None:
            process.stdout.close()


def serve(jobs: TextIO, answers: TextIO) -> None:
    """Make a part for each JSON line and answer with one, until there are no more.

    Parameters
    ----------
    jobs, answers : TextIO
        Lines in and out.
    """
    from barbwright.reread.worker import Rereader

    # Measuring in a process of its own pays here too: it works while STEP is written.
    with Rereader() as rereader:
        for line in jobs:
            job = json.loads(line)
            answer: dict[str, Any]
            try:
                folder, body = make_part(
                    pickle.loads(base64.b64decode(job["plan"])),
                    Path(job["output"]),
                    job["formats"],
                    force=job["force"],
                    anyway=job["anyway"],
                    rereader=rereader,
                )
                answer = {"folder": str(folder), "body": body}
            except BarbwrightError as error:
                faults = [vars(fault) for fault in error.faults]
                answer = {"error": type(error).__name__, "faults": faults}
            except Exception as error:
                answer = {"unexpected": f"{type(error).__name__}: {error}"}
            answers.write(json.dumps(answer) + "\n")
            answers.flush()


def _main() -> None:
    answers = child.own_answers()
    child.end_with_parent(signal.SIGINT)
    # Stopped by the first process: what it was at has cleaned up after itself.
    with contextlib.suppress(KeyboardInterrupt):
        serve(sys.stdin, answers)


if __name__ == "__main__":
    _main()
