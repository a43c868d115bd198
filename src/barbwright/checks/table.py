"""The whole table applied to a design: every check, the verdict, what governs."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from string import Formatter

import numpy as np
from numpy.typing import NDArray

from barbwright.checks import driving, printing, sealing, strength, tools, wood
from barbwright.checks.corners import CORNERS, BeforeSizing, worst_case
from barbwright.checks.result import (
    CAUTION,
    CHECKS,
    FAIL,
    PASS,
    VERDICTS,
    CheckInfo,
    Judged,
    Rounds,
    Verdict,
    judge,
    judge_each,
    said_figure,
    says_nought,
)
from barbwright.design.conditions import Conditions
from barbwright.design.part import Design, Kind
from barbwright.say import IMPERIAL, Voice, Way, leading, with_beside

# Importing a module declares its checks; this is the order of the table, whoever imported first.
MODULES = (sealing, strength, wood, driving, tools, printing)
_PLACE = {module.__name__: place for place, module in enumerate(MODULES)}
for _info in sorted(CHECKS.values(), key=lambda info: _PLACE[info.function.__module__]):
    CHECKS[_info.id] = CHECKS.pop(_info.id)

# What stands before a limit that may be left out: a tug of, a tug of more than.
_UP_TO = re.compile(r"\ba (\w+) of (?:more than )?$")


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """One check's outcome on one design, as numbers and words.

    Attributes
    ----------
    info : CheckInfo
        The check.
    verdict : {"pass", "caution", "fail", "not_checked"}
        What it says.
    capacity, capacity_expected, demand, demand_upper : float or None
        Numbers of the worst case, in the check's unit.
    safety_factor, design_factor : float or None
        Lower capacity over expected demand, and what is asked of it [-].
    corner : str
        Which corner governs, where corners are what differs.
    because : str
        Why it was not checked; of one that was, on what lower bound alone.
    rule : str
        The handling rule a caution becomes, or that a pass hangs on.
    advice : dict
        Values of the rule and remedy.
    proved : bool
        Whether it passes on what is proved in the field.
    voice : Voice
        Which unit leads in its words.
    """

    info: CheckInfo
    verdict: Verdict
    capacity: float | None
    capacity_expected: float | None
    demand: float | None
    demand_upper: float | None
    safety_factor: float | None
    design_factor: float | None
    corner: str
    because: str
    rule: str
    advice: dict[str, float]
    proved: bool = False
    voice: Voice = IMPERIAL

    @property
    def observation(self) -> str:
        """What is observed in the field, where that is what a pass leans on."""
        told = self.info.observation
        return fill_rule(told, self.advice, "up", self.voice) if self.proved else ""

    @property
    def otherwise(self) -> str:
        """What is done when the observation fails."""
        told = self.info.otherwise
        return fill_rule(told, self.advice, voice=self.voice) if self.proved else ""

    @property
    def proof_force_n(self) -> float | None:
        """Force of the proof in the field; None where it has none [N]."""
        return self.advice.get(self.info.proof_force) if self.proved else None

    @property
    def proof_pressure_mpa(self) -> float | None:
        """Pressure of the proof in the field; None where it has none [MPa]."""
        return self.advice.get(self.info.proof_pressure) if self.proved else None

    @property
    def use(self) -> float:
        """Safety factor over design factor; infinite where there is none [-]."""
        if self.safety_factor is None or not self.design_factor:
            return float("inf")
        return self.safety_factor / self.design_factor


def wanted(kind: Kind, design: Design | None = None) -> list[CheckInfo]:
    """Return the checks that a kind of part has, in table order.

    Parameters
    ----------
    kind : Kind
        The kind of part [-].
    design : Design, optional
        Tells whether side ports were forced, and what a tool has of its own [-].

    Source: judgement
    """
    has = {
        "any": True,
        "tip": kind.tip,
        "barb": kind.arms > 0,
        "hub": kind.hub,
        "open": kind.carries,
        "crossing": kind.hub
        or bool(design is not None and kind.tip and design.forced.get("side_ports")),
        **dict.fromkeys(kind.needs, True),
    }
    if design is not None and design.own is not None:
        has |= dict.fromkeys(design.own.needs, True)
    return [info for info in CHECKS.values() if has.get(info.needs)]


def judge_before(kind: Kind, conditions: Conditions) -> dict[str, Judged]:
    """Return heat, fluid and use, which need no sizes.

    Parameters
    ----------
    kind : Kind
        The kind of part.
    conditions : Conditions
        Floats or arrays.

    Returns
    -------
    dict of str to Judged
        By check id.

    Source: judgement
    """
    case = BeforeSizing(kind, conditions, conditions.rules)
    return {
        info.id: judge(info.function(case))  # type: ignore[arg-type]
        for info in wanted(kind)
        if info.before_sizing
    }


def judge_all(design: Design, *, advised: bool = True) -> dict[str, Judged]:
    """Return every check of a design at its worst case.

    Parameters
    ----------
    design : Design
        One design or arrays of them.
    advised : bool
        Whether rules and remedies will be told, beside verdicts [-].

    Returns
    -------
    dict of str to Judged
        By check id, in table order.

    Source: judgement
    """
    case = worst_case(design)
    with np.errstate(all="ignore"):
        infos = wanted(design.kind, design)
        judged = judge_each((info.function(case) for info in infos), advised=advised)
        found = {info.id: one for info, one in zip(infos, judged, strict=True)}
        return found | _ruled_by_any_wood(design, found) if advised else found


def _ruled_by_any_wood(design: Design, found: Mapping[str, Judged]) -> dict[str, Judged]:
    """Return the handling checks that nobody named a wood for, not made, with the worst's rules.

    Who does not know the wood is told no less, and nothing looser, than who does.
    """
    worst = design.conditions.wood.worst
    if worst is None or not design.kind.carries:
        return {}
    conditions = replace(design.conditions, wood=worst)
    case = worst_case(replace(design, conditions=conditions))
    return {
        name: replace(one, because=wood.ANY_WOOD, advice=judge(CHECKS[name].function(case)).advice)
        for name, one in found.items()
        if one.because == wood.NO_WOOD and CHECKS[name].rule
    }


def outcomes(judged: dict[str, Judged], voice: Voice = IMPERIAL) -> list[Outcome]:
    """Return the outcomes of one design (no arrays), in table order.

    Parameters
    ----------
    judged : dict of str to Judged
        By check id [-].
    voice : Voice
        Which unit leads in their words [-].

    Source: judgement
    """
    return _merged([_outcome(CHECKS[name], result, voice) for name, result in judged.items()])


def _merged(found: list[Outcome]) -> list[Outcome]:
    """Return outcomes of whose rules on one force only one is left, with the least number.

    Nobody is told two different limits of the same force.
    """
    said = {one.info.id: one for one in found}
    for one in found:
        speaker = said.get(one.info.said_by)
        if not one.rule or speaker is None or not speaker.rule:
            continue
        number, rounds = speaker.info.rule_value, speaker.info.rule_rounds
        least = min(speaker.advice[number], one.advice[one.info.rule_value])
        advice = {**speaker.advice, number: least}
        rule = fill_rule(speaker.info.rule_for(advice)[0], advice, rounds, speaker.voice)
        said[speaker.info.id] = replace(speaker, advice=advice, rule=rule)
        said[one.info.id] = replace(one, rule="")
    return list(said.values())


# Why a check was not made, where the check itself does not say.
NOT_KNOWN = "an input it needs is not known"
OUTSIDE = "its sizes lie outside what the contact table was computed for: `prove` solves them"


def _outcome(info: CheckInfo, result: Judged, voice: Voice) -> Outcome:
    verdict = VERDICTS[int(np.ravel(result.verdict)[0])]
    because = result.because
    if verdict == "not_checked" and not because:
        read = np.ravel(getattr(result, info.from_table))[0] if info.from_table else 0.0
        because = OUTSIDE if np.isnan(read) else NOT_KNOWN
    advice = {name: float(np.ravel(value)[0]) for name, value in result.advice.items()}
    rule = ""
    said = {"caution", "pass"} if info.rule_always else {"caution"}
    told = verdict in said or because == wood.ANY_WOOD
    if info.stage == "handling" and told and info.rule:
        rule = fill_rule(info.rule_for(advice)[0], advice, info.rule_rounds, voice)
    made = verdict != "not_checked"
    number = {
        name: _float(getattr(result, name)) if made else None
        for name in (
            "capacity",
            "capacity_expected",
            "demand",
            "demand_upper",
            "safety_factor",
            "design_factor",
        )
    }
    if info.yes_no:
        number["safety_factor"] = None
    index = int(np.ravel(result.case)[0])
    # A check that looked at one case has no corners to name.
    cornered = made and info.stage != "making" and result.cases % len(CORNERS) == 0
    corner = CORNERS[index % len(CORNERS)] if cornered else ""
    return Outcome(
        info=info,
        verdict=verdict,
        corner=corner,
        because=because,
        rule=rule,
        advice=advice,
        proved=bool(np.ravel(result.proved)[0]),
        voice=voice,
        **number,
    )


def fill_rule(
    rule: str, advice: Mapping[str, float], rounds: Rounds = "down", voice: Voice = IMPERIAL
) -> str:
    """Return a handling rule with its numbers, rounded so that none promises too much.

    What a part can take is rounded down; what somebody must bring up to it
    (pushing a tube on) is rounded up. "A tug of 0 N" is told as "any tug".

    Parameters
    ----------
    rule : str
        With {names}: after the colon ``force``, ``torque`` or ``pressure`` for both units in
        words, or the digits to print of a bare number [-].
    advice : mapping
        Numbers by name [unit in name].
    rounds : {"down", "up"}
        As the check declares it [-].
    voice : Voice
        Which unit leads [-].

    Source: judgement
    """
    text = []
    for literal, name, form, _ in Formatter().parse(rule):
        figure = said_figure(advice[name], form or "", rounds, voice) if name else ""
        unbounded = _UP_TO.search(literal)
        if name and unbounded and says_nought(figure):
            # A limit that is told as nought is none to keep to: any such is too much.
            text += [literal[: unbounded.start()], f"any {unbounded[1]}"]
        else:
            text += [literal, figure]
    return "".join(text)


def _float(value: object) -> float | None:
    number = float(np.ravel(np.asarray(value))[0])
    return number if np.isfinite(number) else None


def shortfall(result: Outcome) -> str:
    """Return what a failing check asked for and what is there, in one phrase.

    A pressure of the liquid is said as its reader counts it, a force with pounds beside it; a
    stress stays in MPa.

    Parameters
    ----------
    result : Outcome
        A check that was judged [unit of the check].

    Source: judgement
    """
    asks = result.design_factor
    if result.info.yes_no or result.capacity is None or result.demand is None or asks is None:
        return ""
    info, voice = result.info, result.voice

    def told(way: Way, value: float) -> str:
        if info.of_line:
            return voice.demand(value) if way == "up" else voice.limit(value)
        return with_beside(leading(value, way), value, info.unit, way)

    needed, found = partial(told, "up"), partial(told, "down")

    # Where the field can prove it, a pass needs less than one outright.
    factor = result.advice.get("proved_factor", asks)
    there = result.capacity_expected if result.capacity_expected is not None else result.capacity
    if there >= factor * result.demand:
        # The expected part would do; the weakest one does not even carry the plain demand.
        return f"{needed(result.demand)} needed, {found(result.capacity)} at its weakest"
    asked = needed(result.demand)
    if factor != 1.0:
        asked += f" x {factor:g} = {needed(result.demand * factor)}"
    # The table shows what is there at least: both, or the two would seem to disagree.
    least = found(result.capacity)
    weakest = f", {least} at its weakest" if least != found(there) else ""
    return f"{asked} needed, {found(there)} there{weakest}"


def overall(results: Iterable[Outcome]) -> Verdict:
    """Return the verdict over all checks, in words.

    Parameters
    ----------
    results : iterable of Outcome
        All checks of a design [-].

    Returns
    -------
    {"pass", "caution", "fail"}
        The verdict, as `overall_code` has it.

    Source: judgement
    """
    results = list(results)
    codes = np.array([VERDICTS.index(one.verdict) for one in results], dtype=np.int64)
    return VERDICTS[int(overall_code([one.info for one in results], codes))]


def overall_code(infos: Sequence[CheckInfo], verdicts: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the verdict over all checks of each design: 0 pass, 1 caution, 2 fail [-].

    A handling caution is an instruction, not an alarm: it does not lower the
    verdict. A service or making check that is not passed or not made does.

    Parameters
    ----------
    infos : sequence of CheckInfo
        The checks [-].
    verdicts : (k, ...) ndarray of int
        Verdict codes [-].

    Source: judgement
    """
    lowers = [info.stage != "handling" for info in infos]
    code = np.where((verdicts[lowers] != PASS).any(axis=0), CAUTION, PASS)
    return np.where((verdicts == FAIL).any(axis=0), FAIL, code)


def governing(results: Iterable[Outcome]) -> Outcome | None:
    """Return the check that governs, as `governing_index` has it; None where none can.

    Parameters
    ----------
    results : iterable of Outcome
        All checks of a design [-].

    Source: judgement
    """
    results = list(results)
    if not results:
        return None
    index = governing_index(
        [one.info for one in results],
        np.array([VERDICTS.index(one.verdict) for one in results]),
        np.array([one.use for one in results]),
    )
    return results[int(index)] if index >= 0 else None


def governing_index(
    infos: Sequence[CheckInfo], verdicts: NDArray[np.int64], use: NDArray[np.float64]
) -> NDArray[np.int64]:
    """Return which check governs each design: the worst verdict, then the least margin.

    Process limits sit at 1.00 by design, so a making check governs only if it fails.

    Parameters
    ----------
    infos : sequence of CheckInfo
        The checks [-].
    verdicts : (k, ...) ndarray of int
        Verdict codes [-].
    use : (k, ...) ndarray
        Safety factor over design factor [-].

    Returns
    -------
    ndarray of int
        Index of the check; -1 where none can govern [-].

    Source: judgement
    """
    making = np.array([info.stage == "making" for info in infos])
    making = making.reshape(len(infos), *(1,) * (verdicts.ndim - 1))
    can = (verdicts == FAIL) | (~making & (verdicts < FAIL))
    order = np.where(can, (FAIL - verdicts) * 1e6 + np.minimum(use, 1e5), np.inf)
    index = np.argmin(order, axis=0)
    return np.asarray(np.where(np.any(can, axis=0), index, -1))
