"""Real parts, tubes, holes and trees drawn at random, instead of corners.

The part is drawn once, for the corners, as always. Then each sample has its own
printed sizes, its own hole, tube and tree, and is judged by the same checks.
How often parts fail, and which spread is to blame, is what comes out; the
distributions are stated with their status, and most of them are judgement.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from barbwright.checks.corners import Offsets, case_at
from barbwright.checks.result import FAIL, NOT_CHECKED, PASS, judge
from barbwright.checks.table import wanted
from barbwright.design.conditions import Conditions, TubeConditions
from barbwright.design.part import Design, Kind
from barbwright.design.refusals import refusals
from barbwright.equations import Number, square
from barbwright.errors import Fault, NoSizeError
from barbwright.inference.products import NINE_IN_TEN
from barbwright.job import numbers
from barbwright.job.record import Job
from barbwright.rating.judging import CHUNK, BoolArray, FloatArray, IntArray
from barbwright.rating.search import designed

# A stated tolerance is taken as two standard deviations, and a sample stays within three.
_SPREADS_A_TOLERANCE = 2.0
_CUT = 3.0
_LEAST_SHARE = 0.15
# The travel is drawn up to this limit in the smallest hole: its margin is one by design.
_BY_DESIGN = {"interference"}


@dataclass(frozen=True, kw_only=True)
class Spread:
    """One thing that scatters.

    Attributes
    ----------
    id, title : str
        Key and words.
    distribution : str
        How it is drawn, in words.
    status, source : str
        How far the distribution is known, and where from.
    advice : str
        How to make it scatter less.
    """

    id: str
    title: str
    distribution: str
    status: str
    source: str
    advice: str


_NORMAL = "normal, the stated tolerance two standard deviations, cut at three"
SPREADS = (
    Spread(
        id="print_outside",
        title="printed outside sizes",
        distribution=_NORMAL + "; all outsides of a part move together",
        status="judgement",
        source="judgement",
        advice="calibrate the process with the coupon, or choose one with a closer tolerance",
    ),
    Spread(
        id="print_bore",
        title="printed bores",
        distribution=_NORMAL + "; all bores of a part move together, apart from its outsides",
        status="judgement",
        source="judgement",
        advice="calibrate the process with the coupon, and rod-test the bores",
    ),
    Spread(
        id="hole",
        title="hole that the bit leaves",
        distribution="uniform between the smallest and the largest hole",
        status="judgement",
        source="judgement",
        advice="measure the hole (--hole), use a sharp bit and a steady drill",
    ),
    Spread(
        id="tube_bore",
        title="tube's bore",
        distribution=_NORMAL,
        status="judgement",
        source="judgement",
        advice="measure each coil of tube, and refuse one that is off",
    ),
    Spread(
        id="tube_stiffness",
        title="tube's stiffness and yield",
        distribution="uniform between the low and the high figure of its record",
        status="judgement",
        source="judgement",
        advice="name the tube (--tube) or its hardness (--shore), or use a clamp",
    ),
    Spread(
        id="wood_strength",
        title="wood's strength across the grain",
        distribution="normal about the species' mean, coefficient of variation from its 5th "
        "percentile (0.28), cut at 15 % of the mean",
        status="seen",
        source="astm_d2555",
        advice="a tree cannot be chosen: less pressure, or more contact",
    ),
)


@dataclass(frozen=True)
class CheckShare:
    """How many samples pass one check.

    Attributes
    ----------
    id : str
        The check.
    share_pass, share_not_fail : float or None
        Samples that pass outright, and that do not fail: they keep the design factor
        with their own strength; None where it is not made [-].
    share_hold : float or None
        Samples whose capacity covers the expected demand at all, without any design
        factor [-].
    """

    id: str
    share_pass: float | None
    share_not_fail: float | None
    share_hold: float | None


@dataclass(frozen=True)
class Influence:
    """How much one spread matters.

    Attributes
    ----------
    spread : Spread
        What scatters.
    rank_correlation : float
        Spearman's, of the spread with the least margin; positive where more is better [-].
    share : float
        Its square over the sum of all: the spread's share of what moves the margin [-].
    share_fail_without : float
        Samples that would fail if only this did not scatter [-].
    """

    spread: Spread
    rank_correlation: float
    share: float
    share_fail_without: float


@dataclass(frozen=True, kw_only=True)
class Scatter:
    """Samples of one part, judged.

    Attributes
    ----------
    count, seed : int
        Samples, and the seed they were drawn with [-].
    share_not_fail : float
        Samples that fail no check [-].
    share_hold : float
        Samples that leak, slip or break nowhere: every capacity covers its demand [-].
    checks : tuple of CheckShare
        By check, in table order.
    influences : tuple of Influence
        What matters most first.
    tightest : str
        The check that fails most often, or is nearest to failing.
    margin_percentiles : dict of int to float
        Least margin over the checks that fail, or of the tightest, at 1, 5, 50 percent of
        samples; 1 is the limit; empty where that is a check of yes or no [-].
    """

    count: int
    seed: int
    share_not_fail: float
    share_hold: float
    checks: tuple[CheckShare, ...]
    influences: tuple[Influence, ...]
    tightest: str
    margin_percentiles: dict[int, float]

    @property
    def matters_most(self) -> Influence | None:
        """The spread that moves the least margin most."""
        return self.influences[0] if self.influences else None

    @property
    def tolerance(self) -> Influence | None:
        """The tolerance that matters most, of those that are in somebody's hands."""
        return next((one for one in self.influences if one.spread.id != "wood_strength"), None)


def scatter(kind: Kind, job: Job, count: int, seed: int = 0) -> Scatter:
    """Return how many of many random parts pass, and which spread matters most.

    Parameters
    ----------
    kind : Kind
        Kind of part.
    job : Job
        What it is made from.
    count : int
        Samples [-].
    seed : int
        The same seed gives the same digits [-].

    Returns
    -------
    Scatter
        Shares and a ranking.

    Raises
    ------
    NoSizeError
        When there is no part to scatter.

    Source: judgement, astm_d2555
    """
    conditions = numbers.conditions(job)
    with np.errstate(all="ignore"):
        design = designed(kind, conditions, job.forced)
        refused_for = refusals(design)
    if refused_for:
        raise NoSizeError([Fault(refusal.message()) for refusal in refused_for])
    draws = _draws(count, seed)
    ids, verdicts, margins, holds = _judged(design, draws)
    made = verdicts[:, 0] != NOT_CHECKED
    fails = (verdicts == FAIL).any(axis=0)
    tight = _tight(verdicts, margins)
    least = margins[tight].min(axis=0)
    used = [one for one in SPREADS if _scatters(one, kind, job)]
    correlations = [_spearman(draws[one.id], least) for one in used]
    total = sum(square(value) for value in correlations) or 1.0
    influences = []
    for one, value in zip(used, correlations, strict=True):
        still = {**draws, one.id: np.full(count, 0.5)}
        without = (_judged(design, still)[1] == FAIL).any(axis=0)
        influences.append(Influence(one, value, square(value) / total, float(without.mean())))
    influences.sort(key=lambda one: -one.share)
    return Scatter(
        count=count,
        seed=seed,
        share_not_fail=float(1.0 - fails.mean()),
        share_hold=float(holds.all(axis=0).mean()),
        checks=tuple(
            CheckShare(
                name,
                float((verdicts[row] == PASS).mean()) if made[row] else None,
                float((verdicts[row] != FAIL).mean()) if made[row] else None,
                float(holds[row].mean()) if made[row] else None,
            )
            for row, name in enumerate(ids)
        ),
        influences=tuple(influences),
        tightest=ids[int(tight[0])],
        # A part of yes-or-no checks alone keeps no margin that could be told.
        margin_percentiles={percent: float(np.percentile(least, percent)) for percent in (1, 5, 50)}
        if np.isfinite(least).all()
        else {},
    )


def summary(result: Scatter) -> str:
    """Return what a scatter says, in plain words."""
    fails = 1.0 - result.share_not_fail
    count = round(fails * result.count)
    broken = round((1.0 - result.share_hold) * result.count)
    text = (
        f"Of {result.count:,} parts with their own sizes, tubes, holes and trees, "
        + ("all keep" if count == 0 else f"{count:,} ({fails:.2%}) do not keep")
        + " the design factor of every check"
        + (
            ", and none leaks, slips or breaks. "
            if broken == 0
            else f"; {broken:,} leak, slip or break at the pressure asked. "
        )
        + f"The tightest check is {result.tightest}; "
        + (
            f"one part in twenty keeps less than {result.margin_percentiles[5]:.2f} times what is "
            "asked. "
            if result.margin_percentiles
            else "it is a matter of yes or no, without a margin. "
        )
    )
    most = result.matters_most
    if most is None or most.share == 0.0:
        return text + "No spread moves the margin."
    text += (
        f"What matters most is the {most.spread.title}: {most.share:.0%} of what moves the margin"
    )
    if count:
        text += f"; without it {most.share_fail_without:.2%} would fail"
    text += f". To do: {most.spread.advice}."
    own = result.tolerance
    if own is not None and own is not most and own.share > 0.0:
        text += (
            f" Of the tolerances in your hands it is the {own.spread.title} ({own.share:.0%}): "
            f"{own.spread.advice}."
        )
    return text


def _tight(verdicts: IntArray, margins: FloatArray) -> IntArray:
    """Return the checks that fail anywhere, most often first; else the one nearest to it."""
    often = np.where(np.isfinite(margins).all(axis=1), (verdicts == FAIL).mean(axis=1), 0.0)
    failing = np.flatnonzero(often > 0.0)
    if failing.size:
        return np.asarray(failing[np.argsort(-often[failing], kind="stable")])
    with np.errstate(all="ignore"):
        # How many of its own standard deviations a margin keeps from the limit.
        spread = margins.std(axis=1)
        distance = (margins.mean(axis=1) - 1.0) / spread
    distance = np.where(np.isfinite(distance) & (spread > 1e-9), distance, np.inf)
    return np.array([int(np.argmin(distance))])


def _scatters(one: Spread, kind: Kind, job: Job) -> bool:
    """Return whether a spread touches this part at all."""
    if one.id in {"hole", "wood_strength"}:
        return kind.tip
    if one.id == "tube_stiffness":
        tube = numbers.tube_conditions(job.tubes[0], numbers.temperature_c(job), job.rules)
        return bool(np.all(tube.modulus_high_mpa > tube.modulus_low_mpa))
    return True


def _draws(count: int, seed: int) -> dict[str, FloatArray]:
    """Return a number between 0 and 1 for every spread and sample [-]."""
    # Uniform draws of a named generator are stable between versions; normal ones are not promised.
    generator = np.random.Generator(np.random.PCG64(seed))
    return {one.id: generator.random(count) for one in SPREADS}


def _normal(share: FloatArray) -> FloatArray:
    from scipy.special import ndtri

    deviations: FloatArray = np.clip(np.asarray(ndtri(share), dtype=float), -_CUT, _CUT)
    return deviations


def _judged(
    design: Design, draws: dict[str, FloatArray]
) -> tuple[tuple[str, ...], IntArray, FloatArray, BoolArray]:
    """Return verdicts and margins of every sample; a margin of 1 is where a check fails.

    Last comes whether the capacity covers the demand at all.
    """
    count = len(draws["hole"])
    parts = [
        _judged_chunk(
            design, {name: values[begin : begin + CHUNK] for name, values in draws.items()}
        )
        for begin in range(0, count, CHUNK)
    ]
    ids, *found = zip(*parts, strict=True)
    verdicts, margins, holds = (np.concatenate(one, axis=1) for one in found)
    return ids[0], verdicts, margins, holds


def _judged_chunk(
    design: Design, draws: dict[str, FloatArray]
) -> tuple[tuple[str, ...], IntArray, FloatArray, BoolArray]:
    sampled = replace(design, conditions=_sampled(design.conditions, draws))
    outside, bore, tube = (
        _normal(draws[name])[None] / _SPREADS_A_TOLERANCE
        for name in ("print_outside", "print_bore", "tube_bore")
    )
    case = case_at(
        sampled,
        Offsets(
            outside=outside, bore=bore, tube_wide=tube, tube_narrow=tube, hole=draws["hole"][None]
        ),
    )
    infos = wanted(design.kind, design)
    count = len(draws["hole"])
    verdicts = np.empty((len(infos), count), dtype=np.int64)
    margins = np.full((len(infos), count), np.inf)
    holds = np.ones((len(infos), count), dtype=bool)
    with np.errstate(all="ignore"):
        for row, info in enumerate(infos):
            finding = info.function(case)
            one = judge(finding, advised=False)
            verdicts[row] = one.verdict
            if info.stage == "making" or finding.at_worst < FAIL or finding.because:
                continue
            # Expected capacity over expected demand falls below one exactly where a check fails,
            # also for the two that have a rule of their own.
            ratio = one.capacity_expected / one.demand
            holds[row] = ~(ratio < 1.0)
            if info.id not in _BY_DESIGN:
                margin = ratio / one.design_factor
                margins[row] = np.where(np.isnan(margin), np.inf, margin)
    return tuple(info.id for info in infos), verdicts, margins, holds


def _sampled(conditions: Conditions, draws: dict[str, FloatArray]) -> Conditions:
    rules = conditions.rules
    variation = (1.0 - rules["wood_fifth_percentile"]) / NINE_IN_TEN
    share = np.maximum(1.0 + variation * _normal(draws["wood_strength"]), _LEAST_SHARE)
    wood = replace(
        conditions.wood,
        crush_mpa=conditions.wood.crush_mpa * share,
        splitting_mpa=conditions.wood.splitting_mpa * share,
    )
    return replace(
        conditions,
        wood=wood,
        tubes=tuple(_sampled_tube(tube, draws["tube_stiffness"]) for tube in conditions.tubes),
        # This tree's own strength is known here: no lower percentile of its species on top.
        rules={**rules, "wood_fifth_percentile": 1.0},
    )


def _sampled_tube(tube: TubeConditions, share: FloatArray) -> TubeConditions:
    def between(low: Number, high: Number) -> FloatArray:
        return np.asarray(low + share * (high - low))

    modulus = between(tube.modulus_low_mpa, tube.modulus_high_mpa)
    yielding = between(tube.yield_low_mpa, tube.yield_high_mpa)
    return replace(
        tube,
        modulus_low_mpa=modulus,
        modulus_high_mpa=modulus,
        yield_low_mpa=yielding,
        yield_high_mpa=yielding,
    )


def _spearman(first: FloatArray, second: FloatArray) -> float:
    """Return Spearman's rank correlation; ties share their mean rank [-]."""
    from scipy.stats import rankdata

    ranks = [rankdata(values) for values in (first, second)]
    if any(np.ptp(rank) == 0.0 for rank in ranks):
        return 0.0
    return float(np.corrcoef(*ranks)[0, 1])
