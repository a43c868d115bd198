"""What a check says: numbers, verdict, and how checks are declared and judged."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from math import prod
from string import Formatter
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from barbwright.checks.corners import WorstCase
from barbwright.equations import Number, spread_to
from barbwright.say import IMPERIAL, Voice, bare

Stage = Literal["service", "handling", "making"]
Rounds = Literal["down", "up"]
Verdict = Literal["pass", "caution", "fail", "not_checked", "no_size"]
# One word and one code each, whether of a check or of a part: arrays hold the codes. A check
# cannot say `no_size`, nor a part `not_checked`; what is FAIL or above ends `check` with 2 or 3.
VERDICTS: tuple[Verdict, ...] = ("pass", "caution", "fail", "not_checked", "no_size")
PASS, CAUTION, FAIL, NOT_CHECKED, NO_SIZE = range(5)
# A torque is told in N m, and is N mm inside.
N_MM_PER_N_M = 1000.0
# Sizes compare with this slack; it is rounding, not tolerance.
_SLACK = 1e-6


@dataclass(frozen=True, eq=False, kw_only=True)
class Finding:
    """The numbers of one check, before they are judged.

    Every array has the cases the check looked at (corners, sections, ends) on
    its first axis.

    Attributes
    ----------
    capacity, capacity_expected : (n, ...) ndarray
        Lower and expected capacity, never divided by a design factor.
    demand, demand_upper : (n, ...) ndarray
        Expected and upper demand.
    design_factor : float or array
        What is demanded of capacity over demand [-].
    verdict : (n, ...) ndarray of int or None
        Overrides the general rule where a check has one of its own.
    at_worst : int
        The worst verdict this check may give (a caution at most, for some).
    proved : (n, ...) ndarray of bool or None
        Where a pass leans on something that is proved in the field.
    because : str
        Why the check could not be made; of one that was, on what lower bound alone.
    advice : mapping
        Values for the handling rule or remedy: name to number [unit in name].
    more_advice : callable or None
        Returns more of them, which cost more than the verdict: only who tells them asks.
    """

    capacity: Number
    capacity_expected: Number
    demand: Number
    demand_upper: Number
    design_factor: Number = 1.0
    verdict: NDArray[np.int64] | None = None
    at_worst: int = FAIL
    proved: NDArray[np.bool_] | None = None
    because: str = ""
    advice: Mapping[str, Number] = field(default_factory=dict)
    more_advice: Callable[[], Mapping[str, Number]] | None = None


def not_checked(because: str) -> Finding:
    """Return the finding of a check that could not be made, with the reason.

    Parameters
    ----------
    because : str
        The reason, in words [-].

    Source: judgement
    """
    nan = np.array([np.nan])
    return Finding(
        capacity=nan, capacity_expected=nan, demand=nan, demand_upper=nan, because=because
    )


def single(
    capacity: Number,
    demand: Number,
    design_factor: Number = 1.0,
    *,
    upper: Number | None = None,
    **rest: object,
) -> Finding:
    """Return a finding with one capacity, and one demand or an upper one as well.

    Parameters
    ----------
    capacity, demand : (n, ...) ndarray
        Both in the check's own unit [-].
    design_factor : float or array
        What is demanded of capacity over demand [-].
    upper : (n, ...) ndarray, optional
        Upper demand, where the expected one is not all there is [unit of the check].
    rest : object
        Other fields of `Finding` [-].

    Source: judgement
    """
    return Finding(
        capacity=capacity,
        capacity_expected=capacity,
        demand=demand,
        demand_upper=demand if upper is None else upper,
        design_factor=design_factor,
        **rest,  # type: ignore[arg-type]
    )


def outright_or_proved(
    finding: Finding, proved_capacity: Number, proved_factor: Number, *, else_: int = FAIL
) -> Finding:
    """Return a finding that passes outright, or on what the field then proves.

    Outright by the lower capacity over the upper demand, as any check; else where
    another capacity, the expected one or one a proof test is trusted with, covers
    its own factor of the expected demand.

    Parameters
    ----------
    finding : Finding
        The numbers a pass outright asks for [unit of the check].
    proved_capacity : (n, ...) ndarray
        What counts where the field proves it [unit of the check].
    proved_factor : float or array
        What is demanded of it over the expected demand [-].
    else_ : int
        The verdict where neither holds [-].

    Returns
    -------
    Finding
        The same numbers with verdicts and what is proved.

    Source: peck1969, judgement
    """
    lower, upper = np.asarray(finding.capacity), finding.design_factor * finding.demand_upper
    able, asked = np.asarray(proved_capacity), proved_factor * finding.demand
    outright = lower + _SLACK * np.maximum(np.abs(lower), 1.0) >= upper
    proved = ~outright & (able + _SLACK * np.maximum(np.abs(able), 1.0) >= asked)
    verdict = np.where(outright | proved, PASS, else_)
    return replace(finding, verdict=verdict.astype(np.int64), proved=proved)


def together(*findings: Finding) -> Finding:
    """Return several findings of one check as one, the worst of which counts.

    Parameters
    ----------
    findings : Finding
        Cases of the same check: sections, ends, loads. Unlike units must have
        been turned into ratios first [-].

    Returns
    -------
    Finding
        All cases on the first axis.

    Source: judgement
    """
    made = [finding for finding in findings if not finding.because]
    if not made:
        return findings[0]
    if len(made) == 1:
        return made[0]
    shape = np.broadcast_shapes(
        *(np.shape(getattr(f, name))[1:] for f in made for name in ("capacity", "demand_upper"))
    )

    def stack(name: str) -> NDArray[np.float64]:
        return np.concatenate(
            [
                _cases(np.asarray(getattr(finding, name), dtype=float), finding, shape)
                for finding in made
            ]
        )

    advice: dict[str, Number] = {}
    for finding in made:
        advice.update(finding.advice)
    verdict = proved = None
    if any(finding.verdict is not None for finding in made):
        own = [_cases(verdicts(finding), finding, shape) for finding in made]
        verdict = np.concatenate(own).astype(np.int64)
        proved = np.concatenate(
            [_cases(leans_on_field(finding), finding, shape) for finding in made]
        )
    return Finding(
        capacity=stack("capacity"),
        capacity_expected=stack("capacity_expected"),
        demand=stack("demand"),
        demand_upper=stack("demand_upper"),
        design_factor=stack("design_factor"),
        verdict=verdict,
        proved=proved,
        at_worst=max(finding.at_worst for finding in made),
        advice=advice,
    )


def _cases(value: NDArray[Any], finding: Finding, shape: tuple[int, ...]) -> NDArray[Any]:
    """Return one of a finding's numbers at all its cases and the designs' own shape."""
    count = max(
        np.shape(getattr(finding, key))[0]
        for key in ("capacity", "capacity_expected", "demand", "demand_upper")
    )
    # The cases come first; what does not vary from design to design lacks axes behind them.
    missing = (1,) * (1 + len(shape) - value.ndim)
    value = value.reshape(*value.shape[:1], *missing, *value.shape[1:])
    return spread_to(value, (count, *shape))


def leans_on_field(finding: Finding) -> NDArray[np.bool_]:
    """Return where a finding's pass is one that is proved in the field [-].

    Parameters
    ----------
    finding : Finding
        Numbers with the cases on the first axis [unit of the check].

    Source: judgement
    """
    return np.zeros((), dtype=bool) if finding.proved is None else finding.proved


def verdicts(finding: Finding) -> NDArray[np.int64]:
    """Return the verdict at each case: the check's own, or by the general rule [-].

    Parameters
    ----------
    finding : Finding
        Numbers with the cases on the first axis [unit of the check].

    Source: judgement
    """
    if finding.verdict is not None:
        return np.asarray(np.minimum(finding.verdict, finding.at_worst))
    told = (np.asarray(value) for value in _told(finding))
    return _by_the_rule(*told, at_worst=finding.at_worst)


def _told(finding: Finding) -> tuple[Number, ...]:
    """Return a finding's numbers in the order in which they are judged."""
    return (
        finding.capacity,
        finding.capacity_expected,
        finding.demand,
        finding.demand_upper,
        finding.design_factor,
    )


def _by_the_rule(
    lower: NDArray[np.float64],
    expected: NDArray[np.float64],
    demand: NDArray[np.float64],
    upper: NDArray[np.float64],
    factor: NDArray[np.float64],
    *,
    at_worst: Any,
) -> NDArray[np.int64]:
    """Return verdicts by the general rule, of one finding or of several on a first axis."""
    slack = _SLACK * np.maximum(np.abs(lower), 1.0)
    good = lower + slack >= factor * upper
    fair = (expected + slack >= factor * demand) & (lower + slack >= demand)
    found = np.where(good, PASS, np.where(fair, CAUTION, FAIL))
    return np.asarray(np.minimum(found, at_worst))


def said_figure(value: float, form: str, rounds: Rounds = "down", voice: Voice = IMPERIAL) -> str:
    """Return one figure of a handling rule in words.

    Parameters
    ----------
    value : float
        As it was advised [unit of its name].
    form : str
        ``force``, ``torque`` or ``pressure`` for both units in words, or the digits to print of a
        bare number, such as ``.1f`` [-].
    rounds : {"down", "up"}
        As the check declares it [-].
    voice : Voice
        Which unit leads [-].

    Source: judgement
    """
    said = voice.limit if rounds == "down" else voice.demand
    if form == "force":
        return said(value, "force")
    if form == "pressure":
        return said(value)
    if form == "torque":
        return said(value * N_MM_PER_N_M, "torque")
    return bare(value, rounds, int((form or ".0f").strip(".f")))


def says_nought(figure: str) -> bool:
    """Return whether a figure in words is nought in one of its units: nothing is told by it.

    Parameters
    ----------
    figure : str
        Such as "0.3 N (0 lbf)" [-].

    Source: own_arithmetic
    """
    return any(float(number) == 0.0 for number in re.findall(r"\d+(?:\.\d+)?", figure))


@dataclass(frozen=True, kw_only=True)
class CheckInfo:
    """A check's declaration: what `explain` prints and the registry holds.

    Attributes
    ----------
    id, title : str
        Key and words.
    meaning : str
        What its two numbers are, for someone who has never seen a stress.
    stage : {"service", "handling", "making"}
        When it matters.
    unit : str
        Unit of capacity and demand.
    equation : str
        In words and symbols.
    sources : tuple of str
        Bibliography keys.
    basis : str
        published, from_memory, judgement, user or own: the weakest link.
    judgement : tuple of str
        Names of the judgement numbers it leans on.
    remedy : str
        What to do when it fails, one line.
    rule : str
        The handling rule a caution becomes, with {names} of its advice.
    rule_value, rule_unit : str
        Which advice the handling rule's number is, and its unit.
    rule_else, rule_else_value : str
        The rule and its advice where the first rule's number is told as nought: another way of
        working. Where there is none, "a tug of 0 N" is told as "any tug".
    rule_none : str
        The rule where the other's number is told as nought too.
    rule_always : bool
        Whether the rule is said of a pass too, because what passes hangs on it.
    said_by : str
        The check whose rule bounds the same force, and says the least number of both.
    from_table : str
        Which of its numbers, "capacity" or "demand", is read from a table of ours; where that
        one is not a number, the sizes lie outside the table.
    rule_rounds : {"down", "up"}
        How the rule's numbers are rounded: down where they must not be exceeded, up where
        they must be reached.
    observation, otherwise : str
        What is observed where a pass is proved in the field, and what is done when it
        shows, with {names} of its advice.
    proof_force, proof_pressure : str
        Which advice is the force or the pressure of that proof [N], [MPa].
    of_line : bool
        Whether its two numbers are pressures of the liquid, which a page says as its reader
        does; else a pressure of its unit is a stress.
    needs : str
        Which parts have it: any, tip, barb, hub, crossing, open (carries liquid), or
        a word of a kind's own `needs`.
    function : callable
        From a `WorstCase` to a `Finding`.
    before_sizing : bool
        Judged before sizing, so that an unsuitable material is told first.
    yes_no : bool
        A limit without a safety factor.
    """

    id: str
    title: str
    meaning: str
    stage: Stage
    unit: str
    equation: str
    sources: tuple[str, ...]
    basis: str
    remedy: str
    function: Callable[[WorstCase], Finding]
    judgement: tuple[str, ...] = ()
    rule: str = ""
    rule_value: str = ""
    rule_unit: str = ""
    rule_rounds: Rounds = "down"
    observation: str = ""
    otherwise: str = ""
    proof_force: str = ""
    proof_pressure: str = ""
    rule_else: str = ""
    rule_else_value: str = ""
    rule_none: str = ""
    said_by: str = ""
    from_table: str = ""
    rule_always: bool = False
    of_line: bool = False
    needs: str = "any"
    before_sizing: bool = False
    yes_no: bool = False

    def rule_for(self, advice: Mapping[str, float]) -> tuple[str, str]:
        """Return the handling rule that fits, and which advice its number is [-]."""
        if self.rule_else and self._nought(self.rule, self.rule_value, advice):
            last = self.rule_none and self._nought(self.rule_else, self.rule_else_value, advice)
            return (self.rule_none if last else self.rule_else), self.rule_else_value
        return self.rule, self.rule_value

    def _nought(self, rule: str, name: str, advice: Mapping[str, float]) -> bool:
        """Return whether a rule's number is told as nought."""
        forms = (form for _, one, form, _ in Formatter().parse(rule) if one == name)
        form = next(forms, None)
        if form is None:
            return False
        return says_nought(said_figure(advice.get(name, 0.0), form, self.rule_rounds))

    @property
    def explanation(self) -> str:
        """What the check asks, from its function's docstring."""
        return (self.function.__doc__ or "").strip()


CHECKS: dict[str, CheckInfo] = {}


def check(**info: object) -> Callable[[Callable[[WorstCase], Finding]], Callable[..., Finding]]:
    """Declare a function as a check; its docstring becomes its page in `explain`.

    Parameters
    ----------
    info : object
        Fields of `CheckInfo` but its id and function [-].

    Source: judgement
    """

    def register(function: Callable[[WorstCase], Finding]) -> Callable[[WorstCase], Finding]:
        name = function.__name__
        CHECKS[name] = CheckInfo(id=name, function=function, **info)  # type: ignore[arg-type]
        return function

    return register


@dataclass(frozen=True, eq=False, kw_only=True)
class Judged:
    """A check's outcome for each design: the case that governs it.

    Attributes
    ----------
    verdict : (...) ndarray of int
        0 pass, 1 caution, 2 fail, 3 not checked [-].
    capacity, capacity_expected, demand, demand_upper : (...) ndarray
        Numbers of the worst case.
    safety_factor, design_factor : (...) ndarray
        Lower capacity over expected demand, and what is asked of it [-].
    case : (...) ndarray of int
        Index of the worst case [-].
    cases : int
        How many cases were looked at [-].
    because : str
        Why it was not checked; of one that was, on what lower bound alone.
    advice : mapping
        Values for rule and remedy, at the worst case.
    proved : (...) ndarray of bool
        Whether it passes on what is proved in the field.
    """

    verdict: NDArray[np.int64]
    capacity: NDArray[np.float64]
    capacity_expected: NDArray[np.float64]
    demand: NDArray[np.float64]
    demand_upper: NDArray[np.float64]
    safety_factor: NDArray[np.float64]
    design_factor: NDArray[np.float64]
    case: NDArray[np.int64]
    cases: int
    because: str
    advice: Mapping[str, NDArray[np.float64]]
    proved: NDArray[np.bool_]


# Numbers of some checks judged at once: so many stay near the processor, and a few designs cost
# little more than the interpreter.
_AT_ONCE = 8192


def judge(finding: Finding, *, advised: bool = True) -> Judged:
    """Return the verdict of a finding, worst case first.

    Pass: lower capacity covers design factor times upper demand. Caution: the
    expected capacity covers design factor times expected demand and the lower
    one at least the expected demand. Fail otherwise. A number that cannot be had is
    not checked.

    Parameters
    ----------
    finding : Finding
        Numbers with the cases on the first axis, in the check's own unit [-].
    advised : bool
        Whether rule and remedy will be told, so that their values are worked out [-].

    Returns
    -------
    Judged
        One outcome a design.

    Source: judgement
    """
    return judge_each([finding], advised=advised)[0]


def judge_each(findings: Iterable[Finding], *, advised: bool = True) -> list[Judged]:
    """Return the verdict of each of several findings, as `judge` does of one.

    Parameters
    ----------
    findings : iterable of Finding
        Each with its cases on the first axis, in its check's own unit [-].
    advised : bool
        Whether rules and remedies will be told, so that their values are worked out [-].

    Returns
    -------
    list of Judged
        One a finding.

    Source: judgement
    """
    # Those of one shape are judged in one run of arrays, as many as stay near the processor.
    waiting: dict[tuple[int, ...], dict[int, Finding]] = {}
    found: dict[int, Judged] = {}

    def judged(shape: tuple[int, ...]) -> None:
        run = waiting.pop(shape)
        done = _judged_together(list(run.values()), shape, advised=advised)
        found.update(zip(run, done, strict=True))

    for place, finding in enumerate(findings):
        shape = np.broadcast_shapes((1,), *(np.shape(value) for value in _told(finding)))
        run = waiting.setdefault(shape, {})
        run[place] = finding
        if (len(run) + 1) * prod(shape) > _AT_ONCE:
            judged(shape)
    for shape in list(waiting):
        judged(shape)
    return [found[place] for place in range(len(found))]


def _judged_together(
    findings: list[Finding], shape: tuple[int, ...], *, advised: bool
) -> list[Judged]:
    """Return the verdicts of findings whose numbers come to one shape, cases first."""
    # All figures in one block: what is picked of one case is picked of all at once.
    figures = np.empty((6, len(findings), *shape))
    for row, finding in enumerate(findings):
        for own, value in zip(figures, _told(finding), strict=False):
            own[row] = value
    lower, _, demand, _, factor, safety = figures
    with np.errstate(all="ignore"):
        verdict, proved = _verdicts_together(findings, figures[:5], shape)
        unknown = np.asarray(np.isnan(figures[:4]).any(axis=0))
        safety[...] = np.where(demand > 0.0, lower / demand, np.inf)
        # A case that cannot be judged must not hide one that fails, but hides one that passes.
        rank = np.where(unknown, 1.5, np.where(proved & (verdict == PASS), 0.5, verdict))
        use = safety / factor
        order = rank * 1e6 - np.where(np.isnan(use), 0.0, np.minimum(1e5, use))
    case = np.argmax(order, axis=1)
    check, *others = np.indices(case.shape, sparse=True)
    place = (check, case, *others)
    picked = figures[(slice(None), *place)]
    worst = np.where(unknown[place], NOT_CHECKED, verdict[place]).astype(np.int64)
    passed_in_field = proved[place] & (worst == PASS)
    return [
        Judged(
            verdict=worst[row],
            capacity=picked[0, row],
            capacity_expected=picked[1, row],
            demand=picked[2, row],
            demand_upper=picked[3, row],
            design_factor=picked[4, row],
            safety_factor=picked[5, row],
            case=case[row],
            cases=shape[0],
            because=finding.because,
            advice=_advice(finding, case[row], shape) if advised else {},
            proved=passed_in_field[row],
        )
        for row, finding in enumerate(findings)
    ]


def _verdicts_together(
    findings: list[Finding], told: NDArray[np.float64], shape: tuple[int, ...]
) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Return the verdict of each finding at each case, and where it leans on the field."""
    if len(findings) == 1:
        # Its own numbers may be fewer than its shape has places.
        (finding,) = findings
        own, leans = verdicts(finding), leans_on_field(finding)
        return spread_to(own, shape)[None], spread_to(leans, shape)[None]
    verdict = np.empty((len(findings), *shape), dtype=np.int64)
    proved = np.zeros((len(findings), *shape), dtype=bool)
    by_rule = [row for row, finding in enumerate(findings) if finding.verdict is None]
    if by_rule:
        column = (-1, *(1 for _ in shape))
        verdict[by_rule] = _by_the_rule(
            *told[:, by_rule],
            at_worst=np.reshape([findings[k].at_worst for k in by_rule], column),
        )
    for row, finding in enumerate(findings):
        if finding.verdict is not None:
            verdict[row] = verdicts(finding)
        if finding.proved is not None:
            proved[row] = finding.proved
    return verdict, proved


def _advice(
    finding: Finding, case: NDArray[np.int64], shape: tuple[int, ...]
) -> dict[str, NDArray[np.float64]]:
    """Return the values of a finding's rule and remedy at the case that counts."""
    place = (case, *np.indices(case.shape, sparse=True))
    told = dict(finding.advice)
    if finding.more_advice is not None:
        told |= finding.more_advice()
    return {
        name: np.asarray(np.broadcast_to(np.asarray(value, dtype=float), shape)[place])
        if np.shape(value)[:1] == shape[:1]
        else np.asarray(value)
        for name, value in told.items()
    }
