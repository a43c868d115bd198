"""How warm it may get before a part that was drawn for one temperature stops being good enough."""

from __future__ import annotations

from dataclasses import dataclass, replace
from weakref import WeakKeyDictionary

import numpy as np

from barbwright.checks.result import CHECKS, FAIL, NOT_CHECKED
from barbwright.design.kind import Design
from barbwright.job import numbers
from barbwright.job.record import Job
from barbwright.rating.judging import grade_design
from barbwright.rating.stack import stack

# Warmer than this nobody works, and no record goes far beyond it [degree C].
_MOST_C = 60


@dataclass(frozen=True, kw_only=True)
class Warmest:
    """Up to which temperature a part keeps its verdict, its sizes held.

    Attributes
    ----------
    highest_c : float
        Whole degrees up to which every check is no worse than the verdict it was drawn with
        [degree C].
    check : str
        The check that lowers it a degree above; empty where none does up to the last that is tried.
    """

    highest_c: float
    check: str


# A part's sheet, its cards and the terminal all ask; a design is drawn for one job.
_FOUND: WeakKeyDictionary[Design, tuple[Job, Warmest | None]] = WeakKeyDictionary()


def warmest(job: Job, design: Design) -> Warmest | None:
    """Return up to which temperature a part keeps its verdict.

    Parameters
    ----------
    job : Job
        What it was drawn for.
    design : Design
        A single part as it is judged; its sizes stay [mm].

    Returns
    -------
    Warmest or None
        At least the job's own temperature [degree C]; None for a tool, and for a part that fails.

    Source: own_derivation
    """
    if design not in _FOUND or _FOUND[design][0] is not job:
        _FOUND[design] = job, _warmest(job, design)
    return _FOUND[design][1]


def _warmest(job: Job, design: Design) -> Warmest | None:
    if not design.kind.carries:
        return None
    own = numbers.temperature_c(job)
    degrees = np.array([own, *range(int(np.floor(own)) + 1, max(_MOST_C, int(own)) + 1)])
    each = [numbers.conditions(replace(job, temperature_c=float(one))) for one in degrees]
    # The tube's stretch is drawn; how its stuff holds follows the heat.
    conditions = stack(each)
    tubes = tuple(
        replace(warm, expansion=drawn.expansion, expansion_most=drawn.expansion_most)
        for warm, drawn in zip(conditions.tubes, design.conditions.tubes, strict=True)
    )
    warm = replace(design, conditions=replace(conditions, tubes=tubes))
    with np.errstate(all="ignore"):
        graded = grade_design(warm, degrees.shape)
    if graded.code[0] >= FAIL:
        return None
    worse = np.flatnonzero(graded.code > graded.code[0])
    if not worse.size:
        return Warmest(highest_c=float(degrees[-1]), check="")
    at = int(worse[0])
    rows = np.flatnonzero(graded.verdicts[:, at] > graded.verdicts[:, at - 1])
    counts = [row for row in rows if CHECKS[graded.ids[row]].stage != "handling"]
    # A fail says more than what is only no longer known, and the least margin most.
    row = min(
        counts or rows, key=lambda r: (graded.verdicts[r, at] == NOT_CHECKED, graded.use[r, at])
    )
    return Warmest(highest_c=float(degrees[at - 1]), check=graded.ids[int(row)])
