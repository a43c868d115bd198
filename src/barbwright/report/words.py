"""A part's report in words: verdict, checks and numbers as a person would say them."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import floor, isfinite
from typing import TYPE_CHECKING

from barbwright.checks.field import Derated, derating, proved_in_field
from barbwright.checks.reasons import least_margin, verdict_reason
from barbwright.checks.table import Outcome, governing, overall
from barbwright.design.part import Design
from barbwright.job.record import Job
from barbwright.say import Voice, bare, voice_of

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

# What each check's two numbers are, for someone who has never seen a stress.
MEANINGS = {
    "tube_rating": "The pressure the tube itself may carry at this temperature, against the "
    "highest pressure it can see.",
    "barb_seal": "How hard the tube still squeezes the barb after it has settled, against the "
    "liquid's pressure. Under it the joint weeps.",
    "barb_grip": "What holds the tube on the barb, against the liquid pushing it off and a tug "
    "on the line.",
    "push_on": "The force a hand or a tool can push with, against what the tube takes.",
    "barb_wall": "The stress the printed material may carry for a long time, against the stress "
    "in the barb's thinnest wall.",
    "tip_wall": "The stress the printed material may carry for a long time, against the stress "
    "in the tip's thinnest wall.",
    "crossing_bores": "The stress the printed material may carry for a long time, against the "
    "peak where the bores meet.",
    "side_load": "The stress that breaks the material at once, against the stress when a line "
    "snags and pulls an arm sideways.",
    "root_crush": "What crushes the material, against the squeeze of a fresh tube on the root.",
    "wood_seal": "How hard the wood still squeezes the tip after it has relaxed, against the "
    "liquid's pressure.",
    "wood_hold": "What the wood's friction holds, against the pressure that pushes the tip out.",
    "wood_split": "The pressure on the hole at which the wood starts to split, against the "
    "pressure of driving.",
    "interference": "How much wider than its hole a tip may be driven, against how much it is. "
    "More splits wood.",
    "self_holding": "The wood's friction against the slope of the taper: above it, a tip does not "
    "slide out by itself.",
    "tip_crush": "What crushes the material, against the wood's squeeze on the tip.",
    "drive_squash": "The force that crushes the tip's section, against the force it takes to "
    "drive it.",
    "drive_buckle": "The stress that breaks the material at once, against the stress while the "
    "lightest hammer bends and presses the tip, bare or through its driver.",
    "drive_offset": "The stress that breaks the material at once, against a blow that lands off "
    "the middle.",
    "pull_check": "The stress that breaks the material at once, against the pull that proves a "
    "seat, acting a little off the axis.",
    "barb_tug": "The force that holds the tube beyond the pressure's push, against a tug on the "
    "line.",
    "twist_out": "The torque that shears the tip, against the torque that frees it from the wood.",
    "pull_out": "Whether the tip comes free by twisting or by the fork: 1 or more means it does.",
    "side_turn": "The torque at which the tip turns in its hole, against a line pulling an arm.",
    "end_wall": "The stress the printed material may carry for a long time, against the stress "
    "in a cap's closed end.",
    "tool_fit": "The room drawn between a tool and what goes through it, against what both may "
    "print too large or too small.",
    "driver_bearing": "The force the driver's foot can press with, against the force that "
    "drives the tip.",
    "driver_buckle": "The force under which the driver's sleeve folds, against the force that "
    "drives the tip.",
    "fork_bearing": "The force the tines' faces can carry under the shoulder, against the pull "
    "that frees the tip.",
    "fork_bend": "The force that breaks the tines over uneven bark, against the pull that frees "
    "the tip.",
    "exposed_wall": "The drawn wall that drips if it leaks, against the least the print service "
    "calls watertight.",
    "print_wall": "The drawn wall inside tube or wood, against the least that prints sound.",
    "print_nose": "The drawn wall at the barb's nose, against the least that prints at all.",
    "print_bore": "The drawn bore, against the narrowest channel that can be cleared of powder.",
    "print_detail": "The smallest drawn detail, against the smallest the process can show.",
    "build_box": "The machine's room, against the part's size.",
    "heat": "The warmest the material's record allows, against the temperature in use.",
    "fluid": "Whether the material's record allows this class of liquid.",
    "use": "Whether the material's record allows tapping, pressure and work in the field.",
}


@dataclass(frozen=True)
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
        return list(dict.fromkeys(outcome.rule for outcome in self.outcomes if outcome.rule))

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
    def least_margin(self) -> Outcome | None:
        """Return the check that leaves the least to spare."""
        return least_margin(self.outcomes)

    @property
    def not_checked(self) -> list[Outcome]:
        """Return the checks that could not be made."""
        return [outcome for outcome in self.outcomes if outcome.verdict == "not_checked"]


def verdict_sentence(report: PartReport) -> str:
    """Return the verdict with what it asks of whoever uses the part."""
    if not report.passed or report.verdict == "fail":
        reason = verdict_reason(report.outcomes) if report.verdict == "fail" else ""
        said = "NOT PASSED. Do not use this part under pressure or in a tree."
        return f"{said} {reason[:1].upper()}{reason[1:]}." if reason else said
    reason = verdict_reason(report.outcomes)
    if report.verdict == "caution":
        return f"CAUTION: {reason}. Read about it below before you use the part."
    return f"PASS, {reason}." if reason else "PASS."


def number(value: float | None, digits: int = 3) -> str:
    """Return a number with so many leading digits, never in powers of ten."""
    if value is None or not isfinite(value):
        return "-"
    if value == 0.0:
        return "0"
    places = max(digits - 1 - floor(_log10(abs(value))), 0)
    text = f"{value:.{min(places, 6)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _log10(value: float) -> float:
    from math import log10

    return log10(value)


def unit_word(unit: str) -> str:
    """Return a unit as people write it; a plain number has none."""
    return {"-": "", "degC": "°C"}.get(unit, unit)


def check_sentence(outcome: Outcome) -> str:
    """Return a check's numbers in one sentence."""
    if outcome.verdict == "not_checked":
        return f"Not checked: {outcome.because}."
    if outcome.info.yes_no and outcome.info.unit == "-":
        return {
            "pass": "The record allows it.",
            "caution": "The record allows it with caution.",
            "fail": "The record refuses it.",
        }[outcome.verdict]
    unit = unit_word(outcome.info.unit)
    spare = f" {unit}" if unit else ""
    can, must = number(outcome.capacity), number(outcome.demand)
    text = f"Can {can}{spare}, must {must}{spare}"
    if outcome.demand_upper is not None and outcome.demand_upper != outcome.demand:
        text += f" (at worst {number(outcome.demand_upper)}{spare})"
    if outcome.safety_factor is not None and outcome.design_factor is not None:
        text += f": {outcome.safety_factor:.2f} times, {number(outcome.design_factor)} wanted"
    return text + "."


def hammer(report: PartReport) -> str:
    """Return which hammer drives a part's tip, in a sentence; empty without a tip or wood."""
    for outcome in report.outcomes:
        if outcome.info.id == "drive_buckle" and "hammer_g" in outcome.advice:
            if outcome.rule:
                return f"{outcome.rule[:1].upper()}{outcome.rule[1:]}."
            heaviest = bare(outcome.advice["hammer_g"], "down", 0)
            return f"Any hammer up to {heaviest} g will do, on the bare tip too."
    return ""
