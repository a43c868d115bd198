"""A second process that measures meshes while the first one builds and writes.

It imports trimesh while the first process imports the CAD kernel, so measuring
costs little waiting. Where it cannot run, the same function measures here.
"""

from __future__ import annotations

import json
import subprocess
from pathlib import Path
from typing import Any, TextIO

from barbwright.errors import BuildError, Fault
from barbwright.reread import child
from barbwright.reread.mesh import Expected, MeshReport, measure_expected


class Rereader:
    """Measures written meshes, in a second process where that is possible.

    Start one early (before the kernel is imported), use it for as many parts as
    there are, and close it, best by ``with``. Jobs are answered in their order.

    Parameters
    ----------
    in_process : bool
        Measure in this process and start no other.
    """

    def __init__(self, *, in_process: bool = False) -> None:
        self._jobs: list[tuple[Path, Expected]] = []
        self._process = None if in_process else _start()

    def submit(self, path: Path, expected: Expected) -> None:
        """Hand over a written file; its measuring begins at once.

        Parameters
        ----------
        path : Path
            STL or 3MF file, which must stay until `result` returns.
        expected : Expected
            What it must measure.
        """
        self._jobs.append((path, expected))
        if self._process is None or self._process.stdin is None:
            return
        job = {"path": str(path.absolute()), "expected": expected.as_dict()}
        try:
            self._process.stdin.write(json.dumps(job) + "\n")
            self._process.stdin.flush()
        except OSError:
            self.close()

    def result(self) -> MeshReport:
        """Wait for the oldest job's report.

        Returns
        -------
        MeshReport
            What the file measures.

        Raises
        ------
        BuildError
            When the file is not as drawn.
        """
        path, expected = self._jobs.pop(0)
        answer = self._answer()
        if answer is None:
            return measure_expected(path, expected)
        if "faults" in answer:
            raise BuildError([Fault(**fault) for fault in answer["faults"]])
        return MeshReport.from_dict(answer["report"])

    def close(self) -> None:
        """End the second process."""
        process, self._process = self._process, None
        if process is not None:
            child.end(process)

    def __enter__(self) -> Rereader:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _answer(self) -> dict[str, Any] | None:
        """Read one answer; none when the second process has none to give."""
        answer = child.answer(self._process) if self._process is not None else None
        if answer is None or not {"report", "faults"} & answer.keys():
            self.close()
            return None
        return answer


def _start() -> subprocess.Popen[str] | None:
    """Start the second process; none where the machine allows no second one."""
    try:
        return child.start("barbwright.reread")
    except OSError:
        return None


def serve(jobs: TextIO, answers: TextIO) -> None:
    """Answer one JSON line for each JSON line, until there are no more.

    Parameters
    ----------
    jobs, answers : TextIO
        Lines in and out.
    """
    import rtree  # noqa: F401  # imported now, while the first process is busy elsewhere
    import trimesh.ray.ray_triangle  # noqa: F401

    for line in jobs:
        job = json.loads(line)
        answer: dict[str, Any]
        try:
            report = measure_expected(Path(job["path"]), Expected.from_dict(job["expected"]))
            answer = {"report": report.as_dict()}
        except BuildError as error:
            answer = {"faults": [vars(fault) for fault in error.faults]}
        answers.write(json.dumps(answer) + "\n")
        answers.flush()
