"""A job designed and judged: all that can be said without the CAD kernel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from barbwright.catalog import Material
from barbwright.checks.field import proved_in_field
from barbwright.checks.fit import NOT_ASKED, fit_verdict, ruled
from barbwright.checks.result import FAIL, Verdict
from barbwright.checks.table import (
    NOT_KNOWN,
    Outcome,
    governing,
    judge_all,
    judge_before,
    outcomes,
    overall,
)
from barbwright.design.part import Design, Kind
from barbwright.design.refusals import Refusal, refusals
from barbwright.errors import Fault, NoSizeError
from barbwright.job import numbers
from barbwright.job.measured import MeasuredShare, measured_shares
from barbwright.job.record import Job
from barbwright.jobs.naming import mark_words, part_number
from barbwright.rating.search import drawn_as, searched
from barbwright.rating.stretch import stretched
from barbwright.say import voice_of

if TYPE_CHECKING:
    from barbwright.rating.remedy import Cures
    from barbwright.rating.search import Tried


@dataclass(frozen=True, kw_only=True)
class Plan:
    """A part in numbers, with its verdict.

    Attributes
    ----------
    job : Job
        What it is made from.
    kind : Kind
        Kind of part.
    design : Design or None
        Drawn sizes; None where the material is refused and no size exists.
    results : tuple of Outcome
        All checks, or those made before sizing.
    revision, number : str
        Revision letter and part number.
    refusals : tuple of Fault
        Why no size exists, where the material is refused as well.
    tapers : tuple of Tried
        What each taper would have given; empty where one is forced or none is searched.
    """

    job: Job
    kind: Kind
    design: Design | None
    results: tuple[Outcome, ...]
    revision: str
    number: str
    refusals: tuple[Fault, ...] = ()
    tapers: tuple[Tried, ...] = ()

    @property
    def verdict(self) -> Verdict:
        """Verdict over all checks."""
        return overall(self.results)

    @property
    def passed(self) -> bool:
        """Whether no check fails."""
        return self.verdict != "fail"

    @property
    def governing(self) -> Outcome | None:
        """The check that governs."""
        return governing(self.results)

    @property
    def handling_rules(self) -> tuple[Outcome, ...]:
        """Handling cautions, each of which is a rule for the field."""
        return ruled(self.results, fit_only=self.job.fit_only)

    @property
    def measured(self) -> tuple[MeasuredShare, ...]:
        """What its checks take from the user's own bench days."""
        part = self.design
        if part is not None and part.own is not None and part.own.made_for is not None:
            # A tool has no tip: its checks ask that of the part it is made for.
            part = part.own.made_for
        tip = None if part is None else part.tip
        checks = {one.info.id for one in self.results}
        return measured_shares(self.job, checks, 0.0 if tip is None else float(tip.taper))

    @property
    def proved_in_field(self) -> tuple[Outcome, ...]:
        """Checks whose pass leans on what is observed in the field."""
        return proved_in_field(self.results)

    @property
    def fit_verdict(self) -> Verdict | None:
        """Verdict over what a part for the bench must hold; None of any other."""
        return fit_verdict(self.results) if self.job.fit_only else None

    @property
    def may_be_made(self) -> bool:
        """Whether it passes, or is for the bench alone and fits."""
        fits = self.design is not None and self.fit_verdict in {"pass", "caution"}
        return self.passed or fits

    @cached_property
    def cures(self) -> Cures:
        """What makes a failing part pass, computed; nothing where it passes."""
        # Late: a check that passes must not pay for what would cure it.
        from barbwright.rating.remedy import Cures, cures

        return Cures(()) if self.passed else cures(self.job, self.kind)

    def remedy(self, result: Outcome) -> str:
        """Return what to do about a fail or a caution; of a fail, first what was computed."""
        if result.verdict not in {"fail", "caution"}:
            return ""
        if result.verdict == "caution":
            return result.info.remedy
        return f"{self.cures}; in general: {result.info.remedy}"

    @property
    def not_checked(self) -> tuple[Outcome, ...]:
        """What could not be checked."""
        return tuple(result for result in self.results if result.verdict == "not_checked")


def plan_part(kind: Kind, job: Job, revision: str = "a") -> Plan:
    """Return a part designed and judged.

    Parameters
    ----------
    kind : Kind
        Kind of part.
    job : Job
        What it is made from.
    revision : str
        Revision letter.

    Returns
    -------
    Plan
        Design and verdict. A part that does not pass is drawn with an X.

    Raises
    ------
    NoSizeError
        When no size satisfies all limits, naming the two that collide and the
        nearest input that works.
    """
    conditions = stretched(kind, numbers.conditions(job), job.forced)
    number, voice = part_number(kind, job, revision), voice_of(job.inputs)
    before = judge_before(kind, conditions)
    unsuitable = any(int(np.ravel(result.verdict)[0]) == FAIL for result in before.values())
    words = mark_words(kind, job, revision)
    with np.errstate(all="ignore"):
        found = searched(kind, conditions, job.forced)
        design = drawn_as(kind, conditions, job.forced, found, words=words)
        refused_for = refusals(design, NOT_ASKED if job.fit_only else ())
    tapers = found.tried() if found is not None and kind.tip else ()
    if refused_for:
        faults = _explained(refused_for, kind, job, unsuitable=unsuitable)
        if not unsuitable:
            raise NoSizeError(faults)
        results = _explaining(outcomes(before, voice), job.material)
        return Plan(
            job=job,
            kind=kind,
            design=None,
            results=results,
            revision=revision,
            number=number,
            refusals=faults,
            tapers=tapers,
        )
    results = _explaining(outcomes(judge_all(design), voice), job.material)
    plan = Plan(
        job=job,
        kind=kind,
        design=design,
        results=results,
        revision=revision,
        number=number,
        tapers=tapers,
    )
    if plan.passed and not job.fit_only:
        return plan
    # Marked as not passed, or not for a tree, wherever it goes: an X in place of the words.
    marked = drawn_as(kind, conditions, job.forced, found, words=words, passed=False)
    return replace(plan, design=marked)


def plan_recorded(record: Path | None, kind: Kind, job: Job, revision: str) -> Plan:
    """Return a part designed and judged; where no size exists, its record is named.

    Parameters
    ----------
    record : Path or None
        The part.json that the job was read from, or its folder; None where all was typed.
    kind, job, revision : Kind, Job, str
        As for `plan_part`.

    Raises
    ------
    NoSizeError
        As `plan_part` does.
    """
    try:
        return plan_part(kind, job, revision)
    except NoSizeError as error:
        if record is None:
            raise
        raise NoSizeError(fault.at(str(record)) for fault in error.faults) from None


def _explaining(results: Sequence[Outcome], material: Material) -> tuple[Outcome, ...]:
    """Return outcomes; one that lacks a figure nobody publishes of its material says so."""
    if not material.unknown:
        return tuple(results)
    lacking = ", ".join(material.unknown)
    because = f"no public source gives {material.name} its {lacking}; its record leaves them out"
    return tuple(
        replace(one, because=because) if one.because == NOT_KNOWN else one for one in results
    )


def _explained(
    refused_for: Sequence[Refusal], kind: Kind, job: Job, *, unsuitable: bool
) -> tuple[Fault, ...]:
    """Return why no size exists, each reason with what was found to cure them all."""
    if unsuitable:
        remedy = "choose a material that suits the use first"
        return tuple(_fault(refusal, job, remedy) for refusal in refused_for)
    from barbwright.rating.remedy import Cures, cures

    found = cures(job, kind)
    own = Cures(tuple(change for change in found.changes if change.option == "set"))
    return tuple(
        _fault(refusal, job, _out_of_the_way(own) if refusal.change == "set" else str(found))
        for refusal in refused_for
    )


def _out_of_the_way(own: Cures) -> str:
    """Return what to do about a size of the user's own that cannot be built."""
    return f"{own}, or keep it within the limit" if own.changes else "keep within the limit"


def _fault(refusal: Refusal, job: Job, remedy: str) -> Fault:
    given = {
        "set": "",
        "bit": f"bit {job.bit.name}",
    }.get(refusal.change, f"tube {job.tubes[0].inner_mm:.2f} mm inside")
    return Fault(refusal.message(), given=given, limit=refusal.limit(), do=remedy)
