"""A job designed and judged: all that can be said without the CAD kernel."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from barbwright import catalog
from barbwright.checks.result import FAIL, Judged, Verdict
from barbwright.checks.table import (
    Outcome,
    governing,
    judge_all,
    judge_before,
    outcomes,
    overall,
    overall_code,
)
from barbwright.design.conditions import Conditions
from barbwright.design.part import Design, Kind, design_part
from barbwright.design.refusals import Refusal, refusals, refused
from barbwright.errors import Fault, NoSizeError
from barbwright.job import numbers
from barbwright.job.record import Job, TubeInput
from barbwright.jobs.naming import mark_words, part_number

if TYPE_CHECKING:
    from barbwright.rating.remedy import Change


@dataclass(frozen=True)
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
    """

    job: Job
    kind: Kind
    design: Design | None
    results: tuple[Outcome, ...]
    revision: str
    number: str
    refusals: tuple[Fault, ...] = ()

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
        return tuple(result for result in self.results if result.rule)

    @cached_property
    def changes(self) -> tuple[Change, ...]:
        """The nearest changes that make a failing part pass, computed; none where it passes."""
        if self.passed:
            return ()
        # Late: the solver brings scipy, which a check that passes must not pay for.
        from barbwright.rating.remedy import nearest_changes

        return nearest_changes(self.job, self.kind)

    def remedy(self, result: Outcome) -> str:
        """Return what to do about a fail or a caution; of a fail, first what was computed."""
        if result.verdict not in {"fail", "caution"}:
            return ""
        if result.verdict == "caution":
            return result.info.remedy
        from barbwright.rating.remedy import cure

        return f"{cure(self.changes)}; in general: {result.info.remedy}"

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
    conditions = numbers.conditions(job)
    number = part_number(kind, job, revision)
    before = judge_before(kind, conditions)
    unsuitable = any(int(np.ravel(result.verdict)[0]) == FAIL for result in before.values())
    words = mark_words(kind, job, revision)
    with np.errstate(all="ignore"):
        design = design_part(kind, conditions, job.forced, words=words)
        refused_for = refusals(design)
    if refused_for:
        faults = tuple(
            _explained(refusal, kind, job, conditions, unsuitable=unsuitable)
            for refusal in refused_for
        )
        if not unsuitable:
            raise NoSizeError(faults)
        return Plan(job, kind, None, tuple(outcomes(before)), revision, number, faults)
    plan = Plan(job, kind, design, tuple(outcomes(judge_all(design))), revision, number)
    if plan.passed:
        return plan
    # Marked as not passed wherever it goes: an X in place of the words.
    return replace(
        plan, design=design_part(kind, conditions, job.forced, words=words, passed=False)
    )


def _explained(
    refusal: Refusal, kind: Kind, job: Job, conditions: Conditions, *, unsuitable: bool
) -> Fault:
    given = "" if refusal.change == "set" else _given(refusal, job)
    if unsuitable:
        remedy = "choose a material that suits the use first"
    else:
        remedy = _left_out(kind, job)
        if not remedy and refusal.change != "set":
            remedy = _nearest(refusal, kind, job, conditions)
    return Fault(
        refusal.message(),
        given=given,
        limit=refusal.limit(),
        do=remedy
        or (
            "keep within the limit"
            if refusal.change == "set"
            else "no single bit, tube or material of the tables cures it: change two at once, or "
            "lower the pressure"
        ),
    )


def _left_out(kind: Kind, job: Job) -> str:
    """Return which of the user's own sizes or figures stands in the way, in words."""
    shipped = {name: float(number.value) for name, number in catalog.judgements().items()}
    for name in (*job.forced, *job.user_rules):
        without = replace(
            job,
            forced={key: value for key, value in job.forced.items() if key != name},
            rules={**job.rules, name: shipped[name]} if name in shipped else job.rules,
        )
        with np.errstate(all="ignore"):
            design = design_part(kind, numbers.conditions(without), without.forced)
            if not np.any(refused(design)):
                return f"leave out --set {name}, or keep it within the limit"
    return ""


def _given(refusal: Refusal, job: Job) -> str:
    if refusal.change == "bit":
        return f"bit {job.bit.name}"
    return f"tube {job.tubes[0].inner_mm:.2f} mm inside"


def _nearest(refusal: Refusal, kind: Kind, job: Job, conditions: Conditions) -> str:
    """Return the nearest bit, tube or material that works, in words."""
    if refusal.change == "bit":
        bit, works = nearest_bit(kind, job, conditions)
        if bit is not None and works:
            return f"use bit {bit.name} ({bit.diameter_mm:.2f} mm), the nearest that works"
        if bit is not None:
            return (
                f"bit {bit.name} ({bit.diameter_mm:.2f} mm) is the nearest that has a size, but a "
                "check fails with it too: see `check` with that bit"
            )
    if refusal.change == "tube":
        tubes = sorted(
            (tube for tube in catalog.tubes().values() if tube.od_mm is not None),
            key=lambda tube: abs(tube.id_mm - job.tubes[0].inner_mm),
        )
        for tube in tubes:
            known = TubeInput(
                tube.id_mm,
                tube.od_mm,
                tube.kind.id_tolerance_mm,
                tube,
                None,
                tube.shore_a,
                tube.rating_mpa,
                tube.rating_c,
            )
            if _works(kind, replace(job, tubes=(known,))):
                return f"use tube {tube.name}, the nearest that works"
    for material in catalog.materials().values():
        if material.id != job.material.id and _works(kind, replace(job, material=material)):
            return f"use material {material.id}"
    return ""


def _works(kind: Kind, job: Job) -> bool:
    """Return whether a job has a size and no check fails."""
    with np.errstate(all="ignore"):
        design = design_part(kind, numbers.conditions(job), job.forced)
        return not np.any(refused(design)) and int(np.ravel(_code(design))[0]) != FAIL


def _code(design: Design) -> NDArray[np.int64]:
    judged: Mapping[str, Judged] = judge_all(design)
    return np.asarray(overall_code(dict(judged)))


def nearest_bit(kind: Kind, job: Job, conditions: Conditions) -> tuple[catalog.Bit | None, bool]:
    """Return the bit nearest to a job's own that has a size and fails no check.

    Of the job's own series if it has one that works, else of any. All bits are
    tried in one vectorised run.

    Parameters
    ----------
    kind : Kind
        Kind of part.
    job : Job
        What it is made from; a measured hole is left out.
    conditions : Conditions
        The job as numbers.

    Returns
    -------
    tuple of Bit or None, and bool
        None when no bit has a size; False where it has one but fails a check.
    """
    bits = list(catalog.bits().values())
    sizes = np.array([bit.diameter_mm for bit in bits])
    rules = conditions.rules
    tried = replace(
        conditions,
        bit_mm=sizes,
        hole_low_mm=sizes + rules["hole_oversize_low_mm"],
        hole_high_mm=sizes + rules["hole_oversize_high_mm"],
    )
    with np.errstate(all="ignore"):
        design = design_part(kind, tried, job.forced)
        sized = ~refused(design)
        works = sized & (_code(design) != FAIL)
    # Where every bit fails some check, the nearest that can be made at all is still an answer.
    for passes, choice in ((True, works), (False, sized)):
        ranked = sorted(
            (bit.series != job.bit.series, abs(bit.diameter_mm - job.bit.diameter_mm), index)
            for index, bit in enumerate(bits)
            if choice[index]
        )
        if ranked:
            return bits[ranked[0][2]], passes
    return None, False
