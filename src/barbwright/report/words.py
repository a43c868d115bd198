"""A part's report in words: verdict, checks and numbers as a person would say them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from barbwright.checks.field import Derated, derating, proved_in_field
from barbwright.checks.fit import fit_verdict, ruled
from barbwright.checks.reasons import least_margin, marked, verdict_reason
from barbwright.checks.table import Outcome, governing, overall
from barbwright.design.part import Design
from barbwright.job.record import Job
from barbwright.rating.warmest import Warmest, warmest
from barbwright.say import Voice, Way, bare, factor, leading, voice_of, with_beside

if TYPE_CHECKING:
    from barbwright.rating.search import Tried

VERDICT_WORDS = {
    "pass": "PASS",
    "caution": "CAUTION",
    "fail": "FAIL",
    "not_checked": "NOT CHECKED",
}
STAGE_WORDS = {"service": "in use", "handling": "while handling", "making": "while printing"}
BASIS_WORDS = {
    "published": "published",
    "from_memory": "from memory",
    "judgement": "our judgement",
    "user": "yours",
    "own": "our own derivation",
}


@dataclass(frozen=True, kw_only=True)
class PartReport:
    """Everything a part's sheet and drawing say, as the objects that know it.

    Attributes
    ----------
    job : Job
        Inputs with their origins.
    design : Design
        Drawn sizes.
    outcomes : tuple of Outcome
        All checks, in table order.
    part_number, revision : str
        As in the folder's name, and the letter.
    passed : bool
        False for a part that was only made because the user insisted.
    versions : mapping of str to str
        Packages that wrote the files.
    notes : tuple of str
        Notes of a kit or profile, printed as they are.
    tapers : tuple
        What each taper that was tried would have given (`rating.search.Tried`).
    """

    job: Job
    design: Design
    outcomes: tuple[Outcome, ...]
    part_number: str
    revision: str
    passed: bool = True
    versions: dict[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    tapers: tuple[Tried, ...] = ()

    @property
    def voice(self) -> Voice:
        """How to speak to whoever gave the inputs."""
        return voice_of(self.job.inputs)

    @property
    def verdict(self) -> str:
        """Return the verdict over all checks."""
        return overall(self.outcomes)

    @property
    def governing(self) -> Outcome | None:
        """Return the check that governs."""
        return governing(self.outcomes)

    @property
    def ordered(self) -> list[Outcome]:
        """Return the checks, the governing one first, then by severity and margin."""
        first = self.governing
        rank = {"fail": 0, "caution": 1, "not_checked": 2, "pass": 3}
        rest = [outcome for outcome in self.outcomes if outcome is not first]
        rest.sort(key=lambda outcome: (rank[outcome.verdict], outcome.use))
        return ([first] if first is not None else []) + rest

    @property
    def handling_rules(self) -> list[str]:
        """Return the handling rules, each said once."""
        told = ruled(self.outcomes, fit_only=self.job.fit_only)
        return list(dict.fromkeys(outcome.rule for outcome in told))

    @property
    def proved_in_field(self) -> tuple[Outcome, ...]:
        """Return the checks whose pass leans on what is observed in the field."""
        return proved_in_field(self.outcomes)

    @property
    def derating(self) -> tuple[Derated, ...]:
        """Return what the line may run at where a seat held less than the proving pull."""
        pulled = any(one.info.id == "wood_hold" for one in self.proved_in_field)
        return derating(self.design) if pulled else ()

    @property
    def least_pulls(self) -> str:
        """Return the table of `derating` in one line; empty without it."""
        return pulls_in_words(self.derating, self.voice)

    @property
    def warmest(self) -> Warmest | None:
        """Return up to which temperature a part that passes stays good; None of any other."""
        return warmest(self.job, self.design)

    @property
    def least_margin(self) -> Outcome | None:
        """Return the check that leaves the least to spare."""
        return least_margin(self.outcomes)

    @property
    def not_checked(self) -> list[Outcome]:
        """Return the checks that could not be made."""
        return [outcome for outcome in self.outcomes if outcome.verdict == "not_checked"]


def verdict_word(verdict: str, *, proved: bool) -> str:
    """Return the verdict of a check or a part in a word, marked where it is proved in the field.

    Parameters
    ----------
    verdict : str
        Of a check or a part [-].
    proved : bool
        Whether it leans on what is observed in the field [-].
    """
    return marked(VERDICT_WORDS[verdict], proved=proved and verdict == "pass")


def pulls_in_words(rows: Iterable[Derated], voice: Voice) -> str:
    """Return which pull that held allows which pressure, in one line for every page.

    Parameters
    ----------
    rows : iterable of Derated
        Pulls [N] and pressures of the whole line [MPa].
    voice : Voice
        Which units lead.
    """
    return "; ".join(
        f"{voice.demand(row.pull_n, 'force')} held: {voice.limit(row.highest_mpa)}" for row in rows
    )


def verdict_sentence(report: PartReport) -> str:
    """Return what a verdict leans on or asks for; the word itself stands above it.

    Parameters
    ----------
    report : PartReport
        The part.

    Returns
    -------
    str
        Empty for a pass that leans on nothing.
    """
    reason = verdict_reason(report.outcomes)
    # A check's name stays as it is written everywhere.
    named = "_" in reason.partition(" ")[0]
    begun = reason if named else f"{reason[:1].upper()}{reason[1:]}"
    said = f"{begun}." if reason else ""
    if not report.passed or report.verdict == "fail":
        first = "Do not use this part under pressure or in a tree."
        if report.job.fit_only:
            fits = VERDICT_WORDS[fit_verdict(report.outcomes)]
            first = (
                f"Fit, seal and print: {fits}. For a tree NOT PASSED: never use it in one. "
                "Pressure only of water, at the bench, held and behind a shield."
            )
        return f"{first} {said}" if report.verdict == "fail" and said else first
    if report.verdict == "caution":
        return f"{begun}. Read about it below before you use the part."
    return said


def unit_word(unit: str) -> str:
    """Return a unit as people write it; a plain number has none."""
    return {"-": "", "degC": "°C"}.get(unit, unit)


def check_sentence(outcome: Outcome, voice: Voice) -> str:
    """Return a check's numbers in one sentence, pressures of the line in the reader's unit."""
    if outcome.verdict == "not_checked":
        return f"Not checked: {outcome.because}."
    if outcome.info.yes_no and outcome.info.unit == "-":
        return {
            "pass": "The record allows it.",
            "caution": "The record allows it with caution.",
            "fail": "The record refuses it.",
        }[outcome.verdict]
    unit = unit_word(outcome.info.unit)

    def said(value: float | None, way: Way) -> str:
        if value is None:
            return "-"
        if outcome.info.of_line:
            return voice.limit(value) if way == "down" else voice.demand(value)
        return with_beside(leading(value, way), value, unit, way)

    can, must = said(outcome.capacity, "down"), said(outcome.demand, "up")
    text = f"Can {can}, must {must}"
    if outcome.demand_upper is not None and outcome.demand_upper != outcome.demand:
        text += f", at worst {said(outcome.demand_upper, 'up')}"
    if outcome.safety_factor is not None and outcome.design_factor is not None:
        text += f": {times_wanted(outcome.safety_factor, outcome.design_factor)}"
    if outcome.because:
        text += f"; judged {outcome.because}"
    return text + "."


def times_wanted(safety_factor: float, design_factor: float) -> str:
    """Return how often a check is met and how often it must be: down the one, up the other."""
    return f"{factor(safety_factor)} times, {leading(design_factor, 'up')} wanted"


def load_words(value: float, unit: str, voice: Voice) -> str:
    """Return what a part is loaded with, as its reader counts it [-].

    Parameters
    ----------
    value : float
        A pressure of the line, a force or a torque [MPa, N or N mm].
    unit : str
        Which of them [-].
    voice : Voice
        Who reads [-].
    """
    return (
        voice.plain(value) if unit == "MPa" else with_beside(leading(value, "nearest"), value, unit)
    )


def hammer(report: PartReport) -> str:
    """Return which hammer drives a part's tip, in a sentence; empty without a tip or wood."""
    for outcome in report.outcomes:
        if outcome.info.id == "drive_buckle" and "hammer_g" in outcome.advice:
            if outcome.rule:
                return f"{outcome.rule[:1].upper()}{outcome.rule[1:]}."
            heaviest = bare(outcome.advice["hammer_g"], "down", 0)
            return f"Any hammer up to {heaviest} g will do, on the bare tip too."
    return ""
