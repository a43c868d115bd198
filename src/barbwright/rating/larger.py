"""What would carry more flow and still hold: a wider bore, or the next larger tube."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from barbwright import catalog
from barbwright.catalog import Tube
from barbwright.design.part import FORCED_SIZES, Design, Kind
from barbwright.equations import Number
from barbwright.job import numbers
from barbwright.job.record import Job
from barbwright.rating.choices import tube_axis, with_tube
from barbwright.rating.judging import BoolArray
from barbwright.rating.search import designed, grade

_STEP_MM = 0.1
_STEPS_TRIED = 40


def widest_bore(kind: Kind, job: Job, name: str, now_mm: float) -> float:
    """Return the widest bore a part can be drawn with and judged no worse than it is now [mm].

    Parameters
    ----------
    kind : Kind
        Kind of part.
    job : Job
        What it is made from.
    name : str
        Which bore: ``bore`` or ``tip_bore`` [-].
    now_mm : float
        That bore as it is drawn [mm].

    Returns
    -------
    float
        In steps of 0.1 mm; only an unbroken run from the present bore counts, as beyond
        a gap it is another part [mm].

    Source: own_derivation
    """
    tried = now_mm + _STEP_MM * np.arange(_STEPS_TRIED + 1.0)
    sizes: dict[str, Number] = {**job.forced, name: tried}
    code = grade(kind, numbers.conditions(job), sizes, tried.shape).code
    now = int(grade(kind, numbers.conditions(job), job.forced).code)
    worse = code[1:] > now
    steps = int(np.argmax(worse)) if worse.any() else _STEPS_TRIED
    return round(now_mm + _STEP_MM * steps, 6)


@dataclass(frozen=True, eq=False)
class LargerTube:
    """The next larger tube that parts can be drawn for, else the next that holds the pressure.

    Attributes
    ----------
    tube : Tube or None
        A row of the table; None where no larger one holds the pressure.
    designs : tuple of Design
        The parts drawn for it; empty where they cannot be, or do not hold.
    """

    tube: Tube | None
    designs: tuple[Design, ...] = ()


def next_larger_tube(kinds: Sequence[Kind], job: Job) -> LargerTube:
    """Return the next larger tube of the same kind that holds the pressure and takes the parts.

    A tube holds by its stated rating at the job's temperature, lowered as its kind's own
    `rating_factor_at` says.

    Parameters
    ----------
    kinds : sequence of Kind
        The parts that go on it.
    job : Job
        What they are made for.

    Source: own_derivation
    """
    larger = _larger_rated(job)
    if not larger:
        return LargerTube(None)
    made = tube_axis(job, larger)
    # A size forced for the present tube's barb would not fit another.
    forced = {name: size for name, size in job.forced.items() if not FORCED_SIZES[name].of_one_tube}
    rating = np.broadcast_to(made.stacked.tubes[0].rating_mpa, len(larger))
    holds = rating >= made.stacked.highest_mpa
    takes: BoolArray = holds.copy()
    for kind in kinds:
        takes &= ~grade(kind, made.stacked, forced, holds.shape).fails
    if not holds.any():
        return LargerTube(None)
    if not takes.any():
        return LargerTube(larger[int(np.argmax(holds))])
    tube = larger[int(np.argmax(takes))]
    conditions = numbers.conditions(replace(with_tube(job, tube), forced=forced))
    return LargerTube(tube, tuple(designed(kind, conditions, forced) for kind in kinds))


def _larger_rated(job: Job) -> list[Tube]:
    """Return the rated tubes of the job's own kind with a larger bore, the smallest first."""
    tube, kind = job.tubes[0], job.tubes[0].kind
    # Nearer in bore than a measured tube is told apart is the same size.
    found = [
        row
        for row in catalog.tubes().values()
        if row.od_mm is not None
        and row.rating_mpa is not None
        and row.id_mm > tube.inner_mm + job.rules["tube_match_mm"]
        and (kind is None or row.kind.name == kind.name)
    ]
    return sorted(found, key=lambda row: (row.id_mm, row.id))
