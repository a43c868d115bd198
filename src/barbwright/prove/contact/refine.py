"""Two cases solved side by side, each at one mesh and again at its half.

``python -m barbwright.prove.contact.refine`` is the second process: one case in, its answer out.
"""

from __future__ import annotations

import base64
import pickle
import sys
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from barbwright.prove.contact.drive import NotConvergedError
from barbwright.prove.contact.seat import Fineness, Seated, TubeFit, seat
from barbwright.reread import child
from barbwright.reread.child import end_with_parent

if TYPE_CHECKING:
    from subprocess import Popen

CONVERGED_SHARE = 0.03


@dataclass(frozen=True, kw_only=True)
class RefinedCase:
    """What one process solves.

    Attributes
    ----------
    fit : TubeFit
        What meets what.
    pull : bool
        Whether to find the pull-off.
    """

    fit: TubeFit
    pull: bool


@dataclass(frozen=True, kw_only=True, eq=False)
class Refined:
    """A case's best answer.

    Attributes
    ----------
    best : Seated or None
        At the finer mesh, else at the one that found a balance; None where none did.
    peak, land, pull : float
        By how much the finer mesh moved the largest push, the sealing land's pressure and the
        pull-off; nan where one found no balance or was not asked for [-].
    refused : str
        Why a mesh gave no answer; empty where both did.
    """

    best: Seated | None
    refused: str = ""
    peak: float = float("nan")
    land: float = float("nan")
    pull: float = float("nan")


def meshes(fit: TubeFit) -> tuple[Fineness, Fineness]:
    """Return how finely a case is worked, and its half.

    Parameters
    ----------
    fit : TubeFit
        What meets what.
    """
    return fit.fineness, fit.fineness.halved()


def refined(case: RefinedCase) -> Refined:
    """Return the finer of two solutions, and by how much they differ.

    Parameters
    ----------
    case : RefinedCase
        What is solved.
    """
    coarse, fine = meshes(case.fit)
    try:
        first = _worked(case, coarse)
    except NotConvergedError as error:
        return Refined(best=None, refused=str(error))
    try:
        second = _worked(case, fine)
    except NotConvergedError as error:
        return Refined(best=first, refused=str(error))
    return Refined(
        best=second,
        peak=abs(first.peak_n / second.peak_n - 1.0),
        land=abs(sealing_mpa(first) / sealing_mpa(second) - 1.0),
        pull=abs(first.pull_off_n / second.pull_off_n - 1.0),
    )


def _worked(case: RefinedCase, fineness: Fineness) -> Seated:
    """Return a case at one mesh: where it finds no rest, once more by half the step."""
    try:
        return seat(case.fit, fineness, pull=case.pull)
    except NotConvergedError:
        shorter = replace(fineness, step_mm=fineness.step_mm / 2.0)
        return seat(case.fit, shorter, pull=case.pull)


def sealing_mpa(seated: Seated) -> float:
    """Return the mean pressure on the best land behind the first, let go and fresh [MPa].

    Barbs seal in series. The first one's land is read apart: the tube bends over its ramp, and
    its pressure moves by a tenth with the mesh.
    """
    lands = seated.released.lands_mpa
    return float(lands[1:].max() if len(lands) > 1 else lands[0])


def both(first: RefinedCase, second: RefinedCase) -> tuple[Refined, Refined]:
    """Return two cases' answers, the second solved by a process beside this one.

    Parameters
    ----------
    first, second : RefinedCase
        What is solved.
    """
    beside = None
    with suppress(OSError):
        beside = begun(second)
    try:
        here = refined(first)
        # Where no other process runs, or it ended without a word, it is solved here.
        there = None if beside is None else ended(beside)
    finally:
        if beside is not None:
            child.end(beside)
    return here, there or refined(second)


def begun(case: RefinedCase) -> Popen[str]:
    """Start a process that solves a case.

    Parameters
    ----------
    case : RefinedCase
        What is solved.

    Raises
    ------
    OSError
        When no process can be started.
    """
    process = child.start("barbwright.prove.contact.refine")
    assert process.stdin is not None
    process.stdin.write(_packed(case))
    process.stdin.close()
    return process


def ended(process: Popen[str]) -> Refined | None:
    """Return what a process found; None where it ended without a word.

    Parameters
    ----------
    process : subprocess.Popen
        From `begun`.
    """
    assert process.stdout is not None
    with process.stdout:
        line = process.stdout.read()
    return pickle.loads(base64.b64decode(line)) if line else None


def _packed(what: RefinedCase | Refined) -> str:
    return base64.b64encode(pickle.dumps(what)).decode() + "\n"


if __name__ == "__main__":
    end_with_parent()
    # Pickled by its importable name, not by that of the program.
    from barbwright.prove.contact import refine

    sys.stdout.write(_packed(refine.refined(pickle.loads(base64.b64decode(sys.stdin.read())))))
