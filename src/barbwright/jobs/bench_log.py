"""A bench day judged: what each reading says of its product, and the user's profile after it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from barbwright import catalog
from barbwright.catalog import BenchReading, Judgement, Measured, MeasuredRecord
from barbwright.checks import driving, sealing, wood
from barbwright.checks.corners import WorstCase, worst_case
from barbwright.design.measured import PRODUCTS, Product
from barbwright.design.part import Design
from barbwright.errors import Fault, InputError, quoted
from barbwright.inference.products import (
    NINE_IN_TEN,
    Array,
    Interval,
    Posterior,
    Prior,
    Readings,
    Spreads,
    posterior,
)
from barbwright.job import numbers
from barbwright.job.measured import tube_word
from barbwright.job.record import Job, WoodInput
from barbwright.jobs.record import SCHEMA_VERSION
from barbwright.logs.bench import BenchRow
from barbwright.logs.slips import Slip, both_ways, logs_and_shares, slips_of

# A reading this likely to be wrong is named; one this likely to be in another unit is worth a
# second look: kg and lb lie no further apart than good readings of two seats may. At 0.06 four in
# five such slips are told from five readings on, and one good reading in eighteen is looked at.
_DOUBTED, _PERHAPS = 0.5, 0.06


@dataclass(frozen=True, kw_only=True)
class Doubt:
    """A reading that looks wrong.

    Attributes
    ----------
    line, row : int
        Line of the file, number of the reading.
    why : str
        What it looks like.
    chance : float
        Of being wrong; of being in another unit, where it only may be [-].
    sure : bool
        Whether it looks wrong, or only may be.
    """

    line: int
    row: int
    why: str
    chance: float
    sure: bool


@dataclass(frozen=True, kw_only=True, eq=False)
class Learned:
    """What a bench day says of one product.

    Attributes
    ----------
    product : Product
        Which.
    record : MeasuredRecord
        As kept.
    prior : Prior
        What was believed before.
    found : Posterior
        What is believed now, of all readings kept.
    logs : tuple of (str, Interval)
        Each log with what it says.
    judged : float
        The product by judgement numbers [-].
    fresh : int
        Readings that were new [-].
    replaced : int
        Readings kept before whose place these took [-].
    told : bool
        Whether it told anything.
    """

    product: Product
    record: MeasuredRecord
    prior: Prior
    found: Posterior
    logs: tuple[tuple[str, Interval], ...]
    judged: float
    fresh: int
    replaced: int
    told: bool

    @property
    def where(self) -> str:
        """What it was measured on, in words."""
        one = self.record.measured
        place = one.wood or (f"{one.tube} tube" if one.tube else "")
        taper = f", taper 1:{1.0 / one.taper:.0f}" if one.taper else ""
        return f"{place}, {one.material}{taper}".lstrip(", ")


@dataclass(frozen=True, kw_only=True, eq=False)
class BenchDay:
    """A bench day as judged.

    Attributes
    ----------
    learned : tuple of Learned
        By product.
    doubtful : tuple of Doubt
        Readings that look wrong, by line.
    warnings : tuple of str
        What must be said.
    """

    learned: tuple[Learned, ...]
    doubtful: tuple[Doubt, ...]
    warnings: tuple[str, ...]


def prior_of(product: Product, judgements: Mapping[str, Judgement], taper: float) -> Prior:
    """Return what is believed of a product before any reading.

    Parameters
    ----------
    product : Product
        Which.
    judgements : mapping
        Judgement numbers with their priors.
    taper : float
        Of the tips [-].

    Source: own_derivation
    """
    medians = {}
    for name in product.rules:
        median = judgements[name].prior_median
        assert median is not None, name
        medians[name] = median
    middle = float(product.value(medians, taper))
    variance = 0.0
    for name in product.rules:
        factor = judgements[name].prior_factor
        assert factor is not None, name
        # How far one number alone moves the product, each way; they are believed independently.
        up, down = (
            float(product.value({**medians, name: medians[name] * by}, taper))
            for by in (1.02, 1.0 / 1.02)
        )
        slope = math.log(up / down) / (2.0 * math.log(1.02))
        variance += (slope * math.log(factor) / NINE_IN_TEN) ** 2
    return Prior(median=middle, factor=math.exp(NINE_IN_TEN * math.sqrt(variance)))


def spreads_of(product: Product, rules: Mapping[str, float]) -> Spreads:
    """Return how far readings of a product scatter.

    Parameters
    ----------
    product : Product
        Which.
    rules : mapping
        All judgement numbers.

    Source: astm_d2555, judgement
    """
    variation = (1.0 - rules["wood_fifth_percentile"]) / NINE_IN_TEN
    # The published variation is that of trees and places in them together: half of its variance
    # each is our judgement.
    whole = math.sqrt(math.log1p(variation**2))
    half = whole / math.sqrt(2.0)
    reading, wrong = rules["log_reading_spread"], rules["log_wrong_share"]
    if product.id == "relaxation":
        own = rules["log_relaxation_spread"]
        return Spreads(reading=rules["log_ratio_spread"], hole=own, log=own, wrong=wrong,
                       unread=whole)  # fmt: skip
    if product.on == "wood" and product.unit != "length":
        return Spreads(reading=reading, hole=half, log=half, wrong=wrong)
    # Tubes and prints: from piece to piece, and from roll to roll or batch to batch.
    own = rules["log_relaxation_spread"]
    return Spreads(reading=reading, hole=own, log=own, wrong=wrong)


def predicted(product: Product, design: Design, travel_mm: float) -> float:
    """Return what a check's own function predicts of a reading, over the product [inside unit].

    Parameters
    ----------
    product : Product
        Which.
    design : Design
        The part that was tested, with the wood it was tested in.
    travel_mm : float
        Its travel from hand-tight [mm].

    Source: own_derivation
    """
    conditions = replace(design.conditions, measured={})
    design = replace(design, conditions=conditions)
    if product.id in {"step", "oversize", "relaxation"}:
        return 1.0
    if product.id == "hold":
        assert design.tip is not None
        tip = replace(design.tip, contact_mm=travel_mm)
        found = wood.wood_hold(worst_case(replace(design, tip=tip))).capacity_expected
    elif product.id in {"drive", "twist"}:
        case = worst_case(design)
        assert case.tip is not None
        corner = replace(case.tip, travel_mm=np.full_like(case.tip.travel_mm, travel_mm))
        case = replace(case, tip=corner)
        found = _of_driving(product, case, travel_mm)
    elif product.id == "push":
        found = sealing.push_on(worst_case(design)).demand
    else:
        case = worst_case(design)
        found = sealing.grip(case, case.barbs[0])[1]
    taper = 0.0 if design.tip is None else float(design.tip.taper)
    return float(np.mean(found)) / float(product.value(conditions.rules, taper))


def _of_driving(product: Product, case: WorstCase, travel_mm: float) -> Any:
    if product.id == "drive":
        return driving.drive_forces(case, travel_mm, case.hole_mm)[0]
    return driving.freeing_forces(case, "expected")[0]


@dataclass(frozen=True, kw_only=True)
class BenchPart:
    """A part that a bench day tests.

    Attributes
    ----------
    label : str
        As the form numbers it; empty stands for any label.
    job : Job
        What it is made from.
    design : Design
        As drawn.
    """

    label: str
    job: Job
    design: Design


def judge_bench(
    rows: Sequence[BenchRow],
    parts: Sequence[BenchPart],
    kept: Mapping[str, MeasuredRecord],
) -> BenchDay:
    """Return what a bench day says, with all that was measured before.

    Parameters
    ----------
    rows : sequence of BenchRow
        Readings of the day.
    parts : sequence of BenchPart
        The parts they were made on; one without a label stands for any.
    kept : mapping of str to MeasuredRecord
        The user's profile so far.

    Raises
    ------
    InputError
        When there is no reading, or a wood or part is not known.
    """
    if not rows:
        raise InputError(Fault("the log has no reading", do="fill in the column `reading`"))
    judgements = catalog.judgements()
    rules = catalog.judged_values()
    groups, warnings = _grouped(rows, parts, rules)
    learned, doubts = [], list[Doubt]()
    for key, group in groups.items():
        one, doubted = _learn(key, group, judgements, rules, kept)
        learned.append(one)
        doubts += doubted
    return BenchDay(
        learned=tuple(learned),
        doubtful=tuple(sorted(doubts, key=lambda one: one.line)),
        warnings=tuple(dict.fromkeys(warnings)),
    )


@dataclass(frozen=True, kw_only=True)
class _Key:
    """What readings must share to be of one product: wood or tube, material, taper."""

    product: str
    wood: str
    material: str
    tube: str
    taper: float


@dataclass(frozen=True)
class _Row:
    """A row with what it says of its product."""

    row: BenchRow
    reading: BenchReading
    slips: tuple[Slip, ...]


def _once(rows: Iterable[BenchRow], warnings: list[str]) -> Iterable[BenchRow]:
    """Return rows without those that say the same of one hole again, as a pasted line does."""
    seen: dict[BenchRow, int] = {}
    for row in rows:
        same = replace(row, line=0, row=0)
        if row.hole and same in seen:
            warnings.append(f"lines {seen[same]} and {row.line} say the same of one hole: counted "
                            "once")  # fmt: skip
            continue
        seen[same] = row.line
        yield row


def _grouped(
    rows: Sequence[BenchRow], parts: Sequence[BenchPart], rules: Mapping[str, float]
) -> tuple[dict[_Key, list[_Row]], list[str]]:
    by_label = {part.label: part for part in parts}
    faults, warnings = list[Fault](), list[str]()
    groups: dict[_Key, list[_Row]] = {}
    woods: dict[str, WoodInput | None] = {}
    scale: dict[tuple[str, str, str, float], float] = {}
    for row in _once(rows, warnings):
        part = by_label.get(row.part) or by_label.get("")
        if part is None:
            known = ", ".join(label for label in by_label if label)
            faults.append(
                Fault(f"line {row.line}: this part is none of the planned bench day's",
                      given=quoted(row.part), limit=known,
                      do="write one of these, or log it alone with --part"))  # fmt: skip
            continue
        product = row.product
        if product.id == "relaxation":
            continue
        wood_name = ""
        design = part.design
        if product.on == "wood":
            if row.wood not in woods:
                try:
                    woods[row.wood] = _wood(row.wood)
                except InputError as error:
                    faults += [fault.at(f"line {row.line}") for fault in error.faults]
                    woods[row.wood] = None
            named = woods[row.wood]
            if named is None:
                continue
            wood_name = named.name
            design = _in_wood(part, named)
        if (fault := _unfit(row, design)) is not None:
            faults.append(fault)
            continue
        travel = row.travel_mm or 0.0
        place = (product.id, part.label, wood_name, travel)
        if place not in scale:
            scale[place] = predicted(product, design, travel)
        if not math.isfinite(scale[place]) or scale[place] <= 0.0:
            faults.append(
                Fault(f"line {row.line}: the check predicts nothing for this row",
                      given=f"{product.test}, travel {travel:g} mm",
                      do="write the travel from hand-tight; for a tube, name its material in bench")
            )  # fmt: skip
            continue
        groups.setdefault(_key(product, part, design, wood_name), []).append(
            _Row(row, _reading(row, scale[place]), slips_of(product.unit, row.unit, rules))
        )
    if faults:
        raise InputError(faults)
    for pair in _weep_pairs(rows, warnings):
        named = _wood(pair[0].wood)
        part = by_label.get(pair[0].part) or by_label[""]
        ratio = pair[1].low / pair[0].low
        key = _key(pair[0].product, part, _in_wood(part, named), named.name)
        row = replace(pair[1], low=ratio, high=ratio)
        slips = both_ways(slips_of(row.product.unit, row.unit, rules))
        groups.setdefault(key, []).append(_Row(row, _reading(row, 1.0), slips))
    if not groups:
        raise InputError(
            Fault("no reading of this log says anything by itself", do="a weep pressure needs its "
                  "fellow: the same log and hole, wait_min 0 and 10"))  # fmt: skip
    return groups, warnings


def _unfit(row: BenchRow, design: Design) -> Fault | None:
    needs_tip = row.product.id in {"hold", "drive", "twist"}
    if needs_tip and design.tip is None:
        return Fault(f"line {row.line}: this part has no tip", given=quoted(row.part),
                     do="write the number of a part with a tip")  # fmt: skip
    if row.product.on == "tube" and not design.barbs:
        return Fault(f"line {row.line}: this part has no barb", given=quoted(row.part),
                     do="write the number of a part with a barb")  # fmt: skip
    if row.product.id == "hold" and row.travel_mm is not None:
        least = design.conditions.rules["tap_reading_mm"]
        if row.travel_mm <= least:
            return Fault(f"line {row.line}: the travel is too short to count",
                         given=f"{row.travel_mm:g} mm", limit=f"above {least:g} mm",
                         do="travel is read from hand-tight")  # fmt: skip
    return None


def _wood(text: str) -> WoodInput:
    return WoodInput.species(catalog.find_wood(text))


def _in_wood(part: BenchPart, named: WoodInput) -> Design:
    conditions = part.design.conditions
    figures = numbers.wood_conditions(named, conditions.rules)
    return replace(part.design, conditions=replace(conditions, wood=figures))


def _key(product: Product, part: BenchPart, design: Design, wood_name: str) -> _Key:
    taper = 0.0
    if product.slope and design.tip is not None:
        taper = round(float(design.tip.taper), 5)
    tube = tube_word(part.job.tubes[0]) if product.on == "tube" else ""
    return _Key(
        product=product.id,
        wood=wood_name,
        material=part.job.material.id,
        tube=tube,
        taper=taper,
    )


def _reading(row: BenchRow, scale: float) -> BenchReading:
    return BenchReading(
        date=row.date,
        log=row.log,
        hole=row.hole,
        part=row.part,
        low=float(f"{row.low / scale:.9g}"),
        high=float(f"{row.high / scale:.9g}"),
        unit=row.unit,
    )


def _weep_pairs(
    rows: Iterable[BenchRow], warnings: list[str]
) -> Iterable[tuple[BenchRow, BenchRow]]:
    """Return fresh and relaxed weep pressures of the same seat."""
    seats: dict[tuple[str, str, str], list[BenchRow]] = {}
    for row in rows:
        if row.product.id == "relaxation":
            seats.setdefault((row.date, row.log, row.hole), []).append(row)
    for seat in seats.values():
        timed = sorted((one for one in seat if one.wait_min is not None),
                       key=lambda one: one.wait_min or 0.0)  # fmt: skip
        if len(timed) >= 2 and (timed[0].wait_min or 0.0) < (timed[-1].wait_min or 0.0):
            yield timed[0], timed[-1]
        else:
            warnings.append(
                f"line {seat[0].line}: a weep pressure alone told nothing of relaxation; the same "
                "seat is read fresh and after 10 minutes (wait_min)"
            )


def _learn(
    key: _Key,
    group: Sequence[_Row],
    judgements: Mapping[str, Judgement],
    rules: Mapping[str, float],
    kept: Mapping[str, MeasuredRecord],
) -> tuple[Learned, list[Doubt]]:
    product = PRODUCTS[key.product]
    blank = Measured(
        product=key.product, wood=key.wood, material=key.material, tube=key.tube, taper=key.taper,
        lower=1.0, expected=1.0, upper=1.0, n=1, logs=1, date="",
    )  # fmt: skip
    earlier = kept.get(catalog.measured_key(blank))
    before = () if earlier is None else earlier.readings
    # What is read again of a place on a day takes its place, so that the same file adds nothing
    # and a mended one takes its mistake away.
    mine = [one.reading for one in group]
    places = {one.place for one in mine}
    kept_on = [one for one in before if one.place not in places]
    replaced = [one for one in before if one.place in places and one not in mine]
    readings = [*kept_on, *mine]
    fresh = [one for one in mine if one not in before]
    slips = [*(slips_of(product.unit, one.unit, rules) for one in kept_on),
             *(one.slips for one in group)]  # fmt: skip
    prior = prior_of(product, judgements, key.taper)
    names = list(dict.fromkeys(reading.of_log for reading in readings))
    found = posterior(
        Readings(
            low=np.array([one.low for one in readings]),
            high=np.array([one.high for one in readings]),
            log=np.array([names.index(one.of_log) for one in readings]),
            **dict(zip(("slips", "shares"), logs_and_shares(slips), strict=True)),
        ),
        prior,
        spreads_of(product, rules),
    )
    date = max((one.date for one in readings), default="")
    measured = replace(
        blank,
        lower=float(f"{found.seat_low:.6g}"),
        expected=float(f"{found.species.median:.6g}"),
        upper=float(f"{found.seat_high:.6g}"),
        n=len(readings),
        logs=len(names),
        date=date,
    )
    doubts = []
    for index, one in enumerate(group, len(kept_on)):
        as_slip = found.as_slip[index, : len(one.slips)]
        of_unit = [slip.of_unit for slip in one.slips]
        chance, in_unit = float(found.wrong[index]), float(as_slip[of_unit].sum())
        sure = chance > _DOUBTED
        if sure or in_unit > _PERHAPS:
            why = _looks(one, product, float(found.log_off[index]), as_slip, sure=sure)
            doubts.append(Doubt(line=one.row.line, row=one.row.row, why=why, sure=sure,
                                chance=chance if sure else in_unit))  # fmt: skip
    learned = Learned(
        product=product,
        record=MeasuredRecord(measured=measured, readings=tuple(readings)),
        prior=prior,
        found=found,
        logs=tuple(zip(names, found.logs, strict=True)),
        judged=float(product.value(rules, key.taper)),
        fresh=len(fresh),
        replaced=len(replaced),
        told=found.species.over_prior <= rules["log_told_nothing"],
    )
    return learned, doubts


def _looks(one: _Row, product: Product, off: float, as_slip: Array, *, sure: bool) -> str:
    """Return what a doubtful reading looks like."""
    times = math.exp(off)
    size = f"{times:.2g} times" if times >= 0.95 else f"1/{1.0 / times:.2g} of"
    text = f"{one.row.given} is {size} what its fellows say ({product.title})"
    # What is a tenth as likely as the likeliest slip is not named beside it.
    shown = [(chance, slip.looks_like) for chance, slip in zip(as_slip, one.slips, strict=True)
             if chance > max(0.1 * as_slip.max(), 0.02)]  # fmt: skip
    if shown:
        text += f"; looks like {' or '.join(name for _, name in sorted(shown, reverse=True))}"
    text += ". It is kept, and counts for little" if sure else ". It is kept: look at it again"
    if (off < 0.0) == product.rises:
        # What the model calls a slip may be the one seat that matters.
        text += ". If it was read right it is the one to be careful of: read that place again"
    return text


def bench_document(day: BenchDay, source: str) -> dict[str, Any]:
    """Return a bench day as a JSON document.

    Parameters
    ----------
    day : BenchDay
        As judged.
    source : str
        The file's name.
    """
    return {
        "schema_version": SCHEMA_VERSION,
        "command": "log",
        "kind": "bench",
        "source": source,
        "verdict": "pass" if any(one.told for one in day.learned) else "cannot_tell",
        "posteriors": [_posterior(one) for one in day.learned],
        "doubtful": [
            {
                "line": one.line,
                "row": one.row,
                "why": one.why,
                "chance": _round(one.chance),
                "looks_wrong": one.sure,
            }
            for one in day.doubtful
        ],
        "warnings": list(day.warnings),
        "files": [],
    }


def _posterior(one: Learned) -> dict[str, Any]:
    measured = one.record.measured
    return {
        "product": one.product.id,
        "title": one.product.title,
        "formula": one.product.formula,
        "wood": measured.wood or None,
        "tube": measured.tube or None,
        "material": measured.material,
        "taper": measured.taper or None,
        "judged": _round(one.judged),
        "prior": {"median": _round(one.prior.median), "factor": _round(one.prior.factor)},
        "species": _interval(one.found.species, one.judged),
        "logs": [{"log": name, **_interval(found, one.judged)} for name, found in one.logs],
        "new_seat": {
            "lower": _round(measured.lower),
            "upper": _round(measured.upper),
            "lower_over_judged": _round(measured.lower / one.judged),
            "upper_over_judged": _round(measured.upper / one.judged),
        },
        "n": measured.n,
        "new_readings": one.fresh,
        "replaced_readings": one.replaced,
        "log_count": measured.logs,
        "date": measured.date,
        "status": measured.status,
        "told": one.told,
        "checks": list(one.product.checks),
    }


def _interval(found: Interval, judged: float) -> dict[str, float]:
    return {
        "low": _round(found.low),
        "median": _round(found.median),
        "high": _round(found.high),
        "over_judged": _round(found.median / judged),
        "low_over_judged": _round(found.low / judged),
        "high_over_judged": _round(found.high / judged),
        "width_over_prior": _round(found.over_prior),
    }


def _round(value: float) -> float:
    return float(f"{value:.5g}")
