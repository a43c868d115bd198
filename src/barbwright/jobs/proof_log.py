"""A proof test judged: steps reached, hold kept, creep or leak, what the batch may be used at."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

import numpy as np

from barbwright.checks.proof import ProofTest, proof_test
from barbwright.inference.decay import Fall, Hold, fall, told_by
from barbwright.jobs.record import SCHEMA_VERSION
from barbwright.logs.proof import ProofRecord, read_to, steps_reached
from barbwright.say import IMPERIAL, Voice, one_of

Verdict = Literal["pass", "fail", "cannot_tell"]
# The pattern of the test: a minute a step, ten minutes at the proof pressure (B31.3).
STEP_S, HOLD_MIN = 60.0, 10.0
STEPS_MISSED = (
    "tight at full pressure, but a step on the way up was not held for a minute, as the proof card "
    "asks: vent, go up again step by step, and write down a reading at either end of each"
)
# Gauge and pump settle; a hold within this of the proof pressure counts as reaching it.
_REACHED = 0.97
# No pump is led so far past the proof pressure by mistake: the unit is another.
_PAST_PROOF = 1.5
_WARMED_K = 0.5
# A jump is a unit's where it is so near to its factor.
_UNIT_JUMP = 0.03


@dataclass(frozen=True, kw_only=True, eq=False)
class ProofVerdict:
    """What a proof test says.

    Attributes
    ----------
    verdict : {"pass", "fail", "cannot_tell"}
        Of the batch.
    because : str
        Why, in one sentence.
    record : ProofRecord
        What was read.
    fall : Fall
        The leak and its chance, in MPa and minutes.
    over : float
        Chance that the leak is one [-].
    least_mpa_min : float
        Least leak that counts as one [MPa/min].
    usable_mpa : float or None
        The most this batch may be used at, gauge; None where it may not be used [MPa].
    steps : tuple of (float, bool)
        Steps of the test [MPa] and whether each was held; empty where the part is not known.
    until_min : float or None
        How long the hold should go on, counted from its start [min].
    leak_ml_min : tuple of float or None
        Low, median and high where a pumped volume was written [mL/min].
    compliance_ml_mpa : float or None
        What raises the line by one MPa [mL/MPa].
    part_number, batch : str
        Whose test it is; empty where nobody said.
    usable_because : str
        Why it may be used at no more, as the end of a sentence.
    said : tuple of str
        What must be known beside the verdict.
    """

    verdict: Verdict
    because: str
    record: ProofRecord
    fall: Fall
    over: float
    least_mpa_min: float
    usable_mpa: float | None
    steps: tuple[tuple[float, bool], ...] = ()
    until_min: float | None = None
    leak_ml_min: tuple[float, float, float] | None = None
    compliance_ml_mpa: float | None = None
    part_number: str = ""
    batch: str = ""
    usable_because: str = ""
    said: tuple[str, ...] = field(default_factory=tuple)


def judge_proof(
    record: ProofRecord,
    rules: Mapping[str, float],
    *,
    highest_mpa: float | None = None,
    part_number: str = "",
    batch: str = "",
    voice: Voice = IMPERIAL,
) -> ProofVerdict:
    """Return what a proof test says.

    Parameters
    ----------
    record : ProofRecord
        As read.
    rules : mapping
        Judgement numbers.
    highest_mpa : float, optional
        Highest pressure in use of the part that was tested, gauge [MPa].
    part_number, batch : str
        Whose test it is.
    voice : Voice
        Which unit of pressure leads.

    Returns
    -------
    ProofVerdict
        Deterministic.
    """
    at_rest = record.pressure_mpa[record.hold]
    minutes = (record.seconds[record.hold] - record.seconds[record.hold][0]) / 60.0
    warmth, warmed = _warmth(record)
    least = rules["log_leak_least_mpa"]
    found = fall(
        Hold(minutes=minutes, pressure=at_rest, warmth=warmth),
        rules["log_leak_most_mpa"],
        rules["log_warmth_most_mpa"] if warmed is not None and warmed > _WARMED_K else 0.0,
    )
    over = found.over(least)
    test = None if highest_mpa is None else proof_test(highest_mpa, rules)
    steps = _steps(record, test)
    lowest = float(at_rest.min())
    said = [*record.notes, *_said(record, warmed, rules, test, batch, voice)]
    verdict, because, until = _decide(record, found, over, rules, test, voice)
    if verdict == "pass" and not all(held for _, held in steps):
        # The card asks for each step with a look at each. A record begun at the hold shows none of
        # them, skipped or not: that is said beside its verdict.
        verdict, because = "cannot_tell", STEPS_MISSED
    usable = None
    if verdict != "fail":
        usable = lowest / rules["proof_ratio"]
        if highest_mpa is not None:
            usable = min(usable, highest_mpa)
    compliance = _compliance(record)
    flow = None
    if compliance is not None:
        flow = (found.low * compliance, found.median * compliance, found.high * compliance)
    return ProofVerdict(
        verdict=verdict,
        because=because,
        record=record,
        fall=found,
        over=over,
        least_mpa_min=least,
        usable_mpa=usable if verdict == "pass" else None,
        usable_because=because_of(lowest, highest_mpa, rules["proof_ratio"], voice),
        steps=steps,
        until_min=until,
        leak_ml_min=flow,
        compliance_ml_mpa=compliance,
        part_number=part_number,
        batch=batch,
        said=tuple(said),
    )


def because_of(lowest: float, highest: float | None, ratio: float, voice: Voice) -> str:
    """Return why a batch may be used at no more than it may, as the end of a sentence.

    Parameters
    ----------
    lowest : float
        The lowest the hold fell to, gauge [MPa].
    highest : float or None
        Highest pressure in use that the part was made for, gauge [MPa].
    ratio : float
        Proof pressure over the highest in use [-].
    voice : Voice
        Which unit leads.
    """
    if highest is not None and highest <= lowest / ratio:
        return ", the highest it was made for"
    text = f": the lowest the hold fell to, {voice.plain(lowest)}, over {ratio:g}"
    if highest is not None:
        text += f"; topped up in the hold it would be the {voice.limit(highest)} it was made for"
    return text


def _warmth(record: ProofRecord) -> tuple[Any, float | None]:
    if record.temperature_c is None:
        return None, None
    warm = record.temperature_c[record.hold]
    known = np.isfinite(warm)
    if known.sum() < 2:
        return None, None
    seconds = record.seconds[record.hold]
    warm = np.interp(seconds, seconds[known], warm[known])
    return warm - warm[0], float(np.ptp(warm))


def _steps(record: ProofRecord, test: ProofTest | None) -> tuple[tuple[float, bool], ...]:
    if test is None or not record.whole_way:
        return ()
    steps = np.array(test.steps_mpa)
    return tuple(zip(steps.tolist(), steps_reached(record, steps, STEP_S), strict=True))


def _decide(
    record: ProofRecord,
    found: Fall,
    over: float,
    rules: Mapping[str, float],
    test: ProofTest | None,
    voice: Voice,
) -> tuple[Verdict, str, float | None]:
    """Return verdict, reason and until when to go on."""
    least, certain = rules["log_leak_least_mpa"], rules["log_certain"]
    held, start = record.hold_min, float(record.pressure_mpa[record.hold][0])
    chance = f"{100.0 * over:.0f} %" if 0.005 < over < 0.995 else f"{100.0 * over:.1f} %"
    limit = f"{voice.plain(least)} a minute"
    if test is not None and start > _PAST_PROOF * test.proof_mpa:
        return (
            "cannot_tell",
            f"the hold is read at {voice.plain(start)}, {start / test.proof_mpa:.1f} times the "
            f"proof pressure of {voice.gauge(test.proof_mpa)}: is the unit the header's, and the "
            "same to the end? Where it changes, write the header again above that line",
            None,
        )
    if over >= certain:
        middle = voice.rate(found.median)
        return "fail", f"it leaks, about {middle} a minute (chance of over {limit}: {chance})", None
    if record.let_go_s is not None and held < HOLD_MIN:
        return (
            "cannot_tell",
            f"the pressure fell away at once after {held:.1f} min: a part burst (then the batch "
            "fails) or the valve was opened; test again and hold",
            HOLD_MIN,
        )
    if over <= 1.0 - certain:
        if held < HOLD_MIN - 0.05:
            return (
                "cannot_tell",
                f"tight so far, but held {held:.1f} of {HOLD_MIN:g} min: go on until "
                f"{HOLD_MIN:g} min",
                HOLD_MIN,
            )
        if test is not None and start < _REACHED * test.proof_mpa:
            return (
                "cannot_tell",
                f"tight, but at {voice.limit(start)} and not at the proof pressure of "
                f"{voice.gauge(test.proof_mpa)}: pump up and hold again",
                None,
            )
        return "pass", f"tight: what falls is creep (chance of over {limit}: {chance})", None
    cap = rules["log_hold_most_min"]
    ends = np.arange(2.0 * np.floor(held / 2.0) + 2.0, cap + 0.1, 2.0)
    step = read_to(record.pressure_mpa[record.hold])
    most = rules["log_leak_most_mpa"]
    until: float | None = None
    if held < cap - 0.1:
        told = told_by(found, least, certain, step, ends, most) if len(ends) else None
        until = max(told or cap, HOLD_MIN)
        go_on = f"go on until {until:.0f} min after the hold's start"
    else:
        go_on = (
            f"{cap:g} min do not tell: top up, let the line creep out for an hour, and hold again "
            "with a finer gauge"
        )
    return (
        "cannot_tell",
        f"creep and leak cannot be told apart yet (chance of over {limit}: {chance}): {go_on}",
        until,
    )


def _said(
    record: ProofRecord,
    warmed: float | None,
    rules: Mapping[str, float],
    test: ProofTest | None,
    batch: str,
    voice: Voice,
) -> list[str]:
    said = []
    most = voice.plain(rules["log_warmth_most_mpa"])
    if warmed is None:
        said.append(
            "the temperature is not in the record: each degree (C) may move the pressure of a line "
            f"of hard tube by up to {most}, of soft tube by less; write it down"
        )
    elif warmed > _WARMED_K:
        said.append(
            f"the temperature moved by {warmed:.1f} C in the hold: what that may do to the "
            f"pressure, nothing to {most} a degree, widens the leak's range"
        )
    if not record.whole_way:
        said.append("the record starts at full pressure: judged on its hold, steps not seen")
    jump = _jump(record)
    if jump is not None:
        said.append(jump)
    if test is not None and not batch:
        said.append("no batch is named (--batch): the verdict is kept for this part number alone")
    if test is None:
        said.append("which part was tested is not said (--part): steps and pressure are its own")
    if record.pumped_ml is None:
        said.append(
            "no pumped volume in the record, so the leak is in pressure a minute alone: how many "
            "millilitres that is depends on trapped air and tube"
        )
    return said


def _jump(record: ProofRecord) -> str | None:
    """Return where the pressure multiplies at once by what another unit would, in words."""
    before, after = record.pressure_mpa[:-1], record.pressure_mpa[1:]
    low, high = np.minimum(before, after), np.maximum(before, after)
    # A pump and a valve do as much: only a jump between two pressures that stand is odd.
    stands = np.concatenate([[False], low > (1.0 - 2.0 * _UNIT_JUMP) * high, [False]])
    stood = (low > 0.0) & stands[:-2] & stands[2:]
    ratio = np.where(stood, high / np.where(stood, low, 1.0), 1.0)
    per = {"psi": one_of("pressure", "psi"), "kPa": one_of("pressure", "kPa"),
           "bar": one_of("pressure", "bar")}  # fmt: skip
    for one, two in (("psi", "kPa"), ("bar", "psi"), ("bar", "kPa")):
        factor = per[one] / per[two]
        odd = np.flatnonzero(np.abs(ratio / factor - 1.0) < _UNIT_JUMP)
        if len(odd):
            minute = record.seconds[int(odd[0]) + 1] / 60.0
            return (
                f"at {minute:.1f} min the pressure jumps {factor:.3g} times at once, as from {one} "
                f"to {two} or back: where the unit changes, write the header again"
            )
    return None


def _compliance(record: ProofRecord) -> float | None:
    """Return what raises the line by one MPa, from pumped volume on the upper half of the way."""
    if record.pumped_ml is None:
        return None
    top = float(record.pressure_mpa[record.hold][0])
    way = np.arange(len(record.seconds)) <= record.hold.start
    known = way & np.isfinite(record.pumped_ml) & (record.pressure_mpa > 0.4 * top)
    if known.sum() < 3 or np.ptp(record.pressure_mpa[known]) < 0.1 * top:
        return None
    slope = float(np.polyfit(record.pressure_mpa[known], record.pumped_ml[known], 1)[0])
    return slope if slope > 0.0 else None


def proof_document(found: ProofVerdict, source: Path | str) -> dict[str, Any]:
    """Return a proof test's verdict as a JSON document.

    Parameters
    ----------
    found : ProofVerdict
        What it says.
    source : Path or str
        The file's name.
    """
    record, held = found.record, found.record.pressure_mpa[found.record.hold]

    def per_min(value: float) -> dict[str, float]:
        return {"psi": _round(value * IMPERIAL_PER_MPA), "kpa": _round(value * 1000.0)}

    warm = record.temperature_c
    return {
        "schema_version": SCHEMA_VERSION,
        "command": "log",
        "kind": "proof",
        "source": Path(source).name,
        "part_number": found.part_number or None,
        "batch": found.batch or None,
        "verdict": found.verdict,
        "because": found.because,
        "usable_kpa": None if found.usable_mpa is None else _round(found.usable_mpa * 1e3, down=1),
        "hold_minutes": _round(record.hold_min),
        "hold_start_kpa": _round(float(held[0]) * 1000.0),
        "hold_end_kpa": _round(float(held[-1]) * 1000.0),
        "go_on_until_minutes": found.until_min,
        "leak_per_minute": {
            "low": per_min(found.fall.low),
            "median": per_min(found.fall.median),
            "high": per_min(found.fall.high),
            "least_that_counts": per_min(found.least_mpa_min),
            "chance": _round(found.over),
        },
        "leak_ml_min": None
        if found.leak_ml_min is None
        else dict(zip(("low", "median", "high"), map(_round, found.leak_ml_min), strict=True)),
        "compliance_ml_per_kpa": None
        if found.compliance_ml_mpa is None
        else _round(found.compliance_ml_mpa / 1000.0),
        "creep_kpa": _round(found.fall.creep * 1000.0),
        "creep_families": {name: _round(w) for name, w in found.fall.families.items()},
        "steps": [
            {"pressure_kpa": _round(mpa * 1000.0), "held": reached} for mpa, reached in found.steps
        ],
        "temperature_c": None
        if warm is None or not np.isfinite(warm).any()
        else {"low": _round(float(np.nanmin(warm))), "high": _round(float(np.nanmax(warm)))},
        "posteriors": [],
        "doubtful": [],
        "warnings": list(found.said),
        "files": [],
    }


IMPERIAL_PER_MPA = 1.0 / one_of("pressure", "psi")


def _round(value: float, down: int | None = None) -> float:
    if down is not None:
        return float(np.floor(value * 10**down + 1e-9) / 10**down)
    return float(f"{value:.5g}")
