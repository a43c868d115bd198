"""A second process that draws: ``python -m barbwright.jobs.drafter``.

A drawing needs no model, so it is laid out while the first process loads the CAD kernel. Where
the second cannot run, or falls, the first draws by itself: the bytes are the same.
"""

from __future__ import annotations

import base64
import contextlib
import json
import pickle
import subprocess
import sys
import zlib
from collections.abc import Collection
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from barbwright.errors import BarbwrightError
from barbwright.jobs.drawing import PartDrawing
from barbwright.reread import child

if TYPE_CHECKING:
    from barbwright.jobs.plan import Plan

# What pickle raises, by what it meets.
_UNSENDABLE = (pickle.PicklingError, AttributeError, TypeError)


class Drafter:
    """A process that draws one part; close it, best by ``with``.

    Parameters
    ----------
    plan : Plan
        A designed part.
    forms : collection of str
        Of its drawing, as `PartDrawing.content` names them.
    folder : Path
        Where it may leave things aside; for whoever owns it to throw away.
    """

    def __init__(self, plan: Plan, forms: Collection[str], folder: Path) -> None:
        self._process: subprocess.Popen[str] | None = None
        self._drawn: dict[str, bytes] = {}
        # A kind of part that was made in a notebook has no name to be found by elsewhere.
        with contextlib.suppress(OSError, *_UNSENDABLE):
            # Small, it goes into the pipe whole: no writing waits for the other to begin reading.
            sent = base64.b64encode(zlib.compress(pickle.dumps(plan))).decode()
            job = {"plan": sent, "forms": list(forms)}
            self._process = child.start("barbwright.jobs.drafter", TMPDIR=str(folder))
            assert self._process.stdin is not None
            with self._process.stdin as jobs:
                jobs.write(json.dumps(job) + "\n")

    def content(self, form: str) -> bytes | None:
        """Return what was drawn, waiting for it; none where it was not.

        Parameters
        ----------
        form : str
            One of those asked for [-].
        """
        if self._process is not None:
            drawn = child.answer(self._process) or {}
            # What is no page in base64 is drawn here.
            with contextlib.suppress(TypeError, ValueError):
                self._drawn = {name: base64.b64decode(text) for name, text in drawn.items()}
            self.close()
        return self._drawn.get(form)

    def __enter__(self) -> Drafter:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """End the process."""
        process, self._process = self._process, None
        if process is not None:
            child.end(process)


def serve(jobs: TextIO, answers: TextIO) -> None:
    """Answer the one JSON line of a job with one JSON line of what was drawn.

    Parameters
    ----------
    jobs, answers : TextIO
        Lines in and out.
    """
    job = json.loads(jobs.readline())
    drawn, found = PartDrawing(pickle.loads(zlib.decompress(base64.b64decode(job["plan"])))), {}
    # What cannot be drawn is left to the first process, which says why.
    with contextlib.suppress(BarbwrightError):
        for form in job["forms"]:
            found[form] = base64.b64encode(drawn.content(form)).decode()
    answers.write(json.dumps(found) + "\n")
    answers.flush()


if __name__ == "__main__":
    own = child.own_answers()
    child.end_with_parent()
    serve(sys.stdin, own)
