"""The nearest change that passes, computed by the checks themselves.

Every candidate is drawn and judged anew, in arrays. Only when no single change
passes are pairs tried; what is named has passed.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from barbwright import catalog, kit, units
from barbwright.design.part import Kind
from barbwright.kit import Job
from barbwright.rating.choices import (
    Axis,
    bit_axis,
    clamp_axis,
    combined,
    material_axis,
    tube_axis,
    with_bit,
    with_clamp,
    with_material,
    with_tube,
)
from barbwright.rating.judging import BoolArray, grade
from barbwright.rating.limits import highest_pressures

# A lower pressure than the one uptake was published at (10 psi) is no remedy, it is a refusal.
LEAST_USEFUL_MPA = 0.068
_LEAST_C = 5
# Bits of a pair are looked for among these nearest of the job's own series.
_NEAR_BITS = 24
_PAIRS_NAMED = 3
# Steps that a pressure in a unit is rounded down to.
_STEPS = {"psi": 1.0, "bar": 0.05, "kPa": 5.0, "MPa": 0.005}


@dataclass(frozen=True)
class Change:
    """One change of an input, or several that only work together.

    Attributes
    ----------
    option : str
        Input, as on the command line without its dashes; ``set`` drops a forced size.
    value : str
        What to give it.
    text : str
        In words.
    also : tuple of Change
        Further changes that belong to it.
    """

    option: str
    value: str
    text: str
    also: tuple[Change, ...] = ()


def apply(job: Job, change: Change) -> Job:
    """Return a job with a change made, as the command line would read it.

    Parameters
    ----------
    job : Job
        As it was asked.
    change : Change
        From `nearest_changes`.
    """
    readers: dict[str, Callable[[Job, str], Job]] = {
        "bit": lambda one, value: with_bit(one, catalog.parse_bit(value)),
        "material": lambda one, value: with_material(one, catalog.find_material(value)),
        "clamp": lambda one, _value: with_clamp(one, True),
        "tube": lambda one, value: with_tube(one, catalog.find_tube(value)),
        "tube2": lambda one, value: with_tube(one, catalog.find_tube(value), 1),
        "pressure": lambda one, value: replace(one, pressure_mpa=units.parse_pressure(value)),
        "relief": lambda one, value: replace(one, relief_mpa=units.parse_pressure(value)),
        "temperature": lambda one, value: replace(
            one, temperature_c=units.parse_temperature(value)
        ),
        "set": lambda one, value: replace(
            one, forced={name: size for name, size in one.forced.items() if name != value}
        ),
    }
    for one in (change, *change.also):
        job = readers[one.option](job, one.value)
    return job


def nearest_changes(job: Job, kind: Kind) -> tuple[Change, ...]:
    """Return the nearest changes each of which makes a failing part pass.

    Parameters
    ----------
    job : Job
        What fails.
    kind : Kind
        Kind of part.

    Returns
    -------
    tuple of Change
        One of each input that can cure it alone: bit, material, clamp, pressure,
        tube, a forced size left out, temperature. Where none can, up to three
        pairs. Empty where no pair passes either.

    Source: own_derivation
    """
    if _passes(job, kind):
        return ()
    singles = [
        *_bit(job, kind),
        *_material(job, kind),
        *_clamp(job, kind),
        *_pressure(job, kind),
        *_tubes(job, kind),
        *_forced(job, kind),
    ]
    if not singles:
        singles = _temperature(job, kind)
    return tuple(singles) or _pairs(job, kind)


def cure(changes: Sequence[Change]) -> str:
    """Return changes as the start of a sentence: what passes, by computation."""
    if not changes:
        return "no one change of bit, tube, material, clamp or pressure passes, nor any two"
    texts = [change.text for change in changes]
    text = texts[0] if len(texts) == 1 else f"{', '.join(texts[:-1])} or {texts[-1]}"
    return f"{text} (computed: {'it' if len(texts) == 1 else 'each'} passes)"


# --- one change ------------------------------------------------------------------------------


def _passing(job: Job, kind: Kind, made: Axis) -> BoolArray:
    return ~grade(kind, made.stacked, job.forced, (len(made),)).fails


def _bits(job: Job) -> list[catalog.Bit]:
    """Return other bits, the nearest of the job's own series first."""
    own = job.bit
    series = own.series if own.series != "custom" else "metric"
    others = [bit for bit in catalog.bits().values() if bit.diameter_mm != own.diameter_mm]
    return sorted(
        others, key=lambda bit: (bit.series != series, abs(bit.diameter_mm - own.diameter_mm))
    )


def _bit_change(bit: catalog.Bit) -> Change:
    # "#7" would start a comment in a shell.
    value = re.sub(r"^#", "no", bit.name)
    return Change("bit", value, f"bit {bit.name}")


def _bit(job: Job, kind: Kind) -> list[Change]:
    if not kind.tip:
        return []
    bits = _bits(job)
    works = _passing(job, kind, bit_axis(job, bits))
    return [_bit_change(bits[int(np.argmax(works))])] if works.any() else []


def _materials(job: Job) -> list[catalog.Material]:
    """Return other print materials, the nearest in strength first."""
    own = job.material
    others = [one for one in catalog.materials().values() if one.id != own.id]
    return sorted(others, key=lambda one: abs(one.strength_z_mpa - own.strength_z_mpa))


def _material_change(material: catalog.Material) -> Change:
    return Change("material", material.id, f"material {material.id}")


def _material(job: Job, kind: Kind) -> list[Change]:
    materials = _materials(job)
    if not materials:
        return []
    works = _passing(job, kind, material_axis(job, materials))
    return [_material_change(materials[int(np.argmax(works))])] if works.any() else []


_CLAMP = Change("clamp", "yes", "clamp")


def _clamp(job: Job, kind: Kind) -> list[Change]:
    if job.clamp:
        return []
    return [_CLAMP] if _passing(job, kind, clamp_axis(job, [True]))[0] else []


def _tube_list(job: Job, end: int) -> list[catalog.Tube]:
    """Return the tubes of the table, the nearest in size first."""
    own = job.tubes[end]
    outer = own.outer_mm if own.outer_mm is not None else own.inner_mm
    row = own.row.id if own.row is not None else ""
    return sorted(
        (tube for tube in catalog.tubes().values() if tube.od_mm is not None and tube.id != row),
        key=lambda tube: (
            round(abs(tube.id_mm - own.inner_mm), 1),
            abs((tube.od_mm or 0.0) - outer),
        ),
    )


def _tube_change(tube: catalog.Tube, end: int) -> Change:
    option = "tube2" if end else "tube"
    other = "the other " if end else ""
    return Change(option, tube.name, f"{other}tube {tube.name}")


def _tubes(job: Job, kind: Kind) -> list[Change]:
    found = []
    for end in range(len(job.tubes)):
        tubes = _tube_list(job, end)
        works = _passing(job, kind, _tube_axis(job, tubes, end))
        if works.any():
            found.append(_tube_change(tubes[int(np.argmax(works))], end))
    return found


def _tube_axis(job: Job, tubes: Sequence[catalog.Tube], end: int) -> Axis:
    if end == 0:
        return tube_axis(job, tubes)
    # The axis sets the first tube: turn the part round, and back.
    turned = tube_axis(replace(job, tubes=job.tubes[::-1]), tubes)
    return replace(turned, stacked=replace(turned.stacked, tubes=turned.stacked.tubes[::-1]))


def _forced(job: Job, kind: Kind) -> list[Change]:
    singles = [Change("set", name, f"leaving out --set {name}") for name in job.forced]
    tried = list(singles)
    if len(singles) > 1:
        texts = ", ".join(job.forced)
        tried.append(
            replace(singles[0], text=f"leaving out --set {texts}", also=tuple(singles[1:]))
        )
    for change in tried:
        if _passes(apply(job, change), kind):
            return [change]
    return []


def _passes(job: Job, kind: Kind) -> bool:
    return not bool(np.any(grade(kind, kit.conditions(job), job.forced).fails))


def _unit(job: Job) -> tuple[str, float]:
    """Return the unit the user thinks of pressure in, and one of it [MPa]."""
    given = job.inputs.get("relief" if job.relief_mpa is not None else "pressure")
    text = given.text.casefold() if given is not None else ""
    for unit in _STEPS:
        if unit.casefold() in text:
            return unit, units.parse_pressure(f"1 {unit}")
    return "psi", units.parse_pressure("1 psi")


def _pressure_change(job: Job, pressure_mpa: float, unit: str, one: float) -> Change:
    step = _STEPS[unit]
    text = f"{np.floor(pressure_mpa / one / step + 1e-9) * step:.6g}"
    if job.relief_mpa is None:
        return Change("pressure", f"{text}{unit}", f"{text} {unit}")
    relief = Change("relief", f"{text}{unit}", f"relief at {text} {unit}")
    if units.parse_pressure(relief.value) >= job.pressure_mpa:
        return relief
    pressure = Change("pressure", f"{text}{unit}", f"{text} {unit}, relief and all")
    return replace(pressure, also=(relief,))


def _pressure(job: Job, kind: Kind) -> list[Change]:
    limits = highest_pressures(kind, kit.conditions(job), job.forced, each=False)
    highest = float(limits.overall_mpa[0])
    asked = job.relief_mpa if job.relief_mpa is not None else job.pressure_mpa
    if not LEAST_USEFUL_MPA <= highest < asked:
        return []
    change = _pressure_change(job, highest, *_unit(job))
    changed = apply(job, change)
    top = changed.relief_mpa if changed.relief_mpa is not None else changed.pressure_mpa
    if top < LEAST_USEFUL_MPA or not _passes(changed, kind):
        return []
    return [change]


def _temperature(job: Job, kind: Kind) -> list[Change]:
    cooler = np.arange(int(np.ceil(job.temperature_c)) - 1, _LEAST_C - 1, -1)
    for degrees in cooler:
        change = Change("temperature", f"{degrees}C", f"no warmer than {degrees} C")
        if _passes(apply(job, change), kind):
            return [change]
    return []


# --- two changes -----------------------------------------------------------------------------


@dataclass(frozen=True)
class _Choices:
    made: Axis
    changes: tuple[Change, ...]


def _pairs(job: Job, kind: Kind) -> tuple[Change, ...]:
    """Return up to three pairs, each the nearest of its two inputs."""
    base = kit.conditions(job)
    found: list[Change] = []
    for first, second in itertools.combinations(_all_choices(job, kind), 2):
        a, b = first.made, second.made
        rows_a, rows_b = (index.ravel() for index in np.indices((len(a), len(b))))
        points = combined(base, [a, b], [rows_a, rows_b])
        works = ~grade(kind, points, job.forced, rows_a.shape).fails
        if not works.any():
            continue
        # Choices stand nearest first: the pair that goes least far down both lists.
        order = np.where(works, rows_a / len(a) + rows_b / len(b), np.inf)
        at = int(np.argmin(order))
        one, other = first.changes[int(rows_a[at])], second.changes[int(rows_b[at])]
        text = f"{one.text} with {other.text}"
        found.append(replace(one, text=text, also=(*one.also, other, *other.also)))
        if len(found) == _PAIRS_NAMED:
            break
    if not found and job.forced:
        return _without_forced(job, kind)
    return tuple(found)


def _without_forced(job: Job, kind: Kind) -> tuple[Change, ...]:
    """Return single changes that pass once no size is forced."""
    dropped = [Change("set", name, f"leaving out --set {name}") for name in job.forced]
    names = ", ".join(job.forced)
    return tuple(
        replace(
            change,
            text=f"{change.text}, leaving out --set {names}",
            also=(*change.also, *dropped),
        )
        for change in nearest_changes(replace(job, forced={}), kind)
    )


def _all_choices(job: Job, kind: Kind) -> list[_Choices]:
    choices = []
    if not job.clamp:
        choices.append(_Choices(clamp_axis(job, [True]), (_CLAMP,)))
    materials = _materials(job)
    if materials:
        changes = tuple(_material_change(one) for one in materials)
        choices.append(_Choices(material_axis(job, materials), changes))
    pressures = _lower_pressures(job)
    if pressures:
        choices.append(_Choices(_changed_axis(job, pressures), tuple(pressures)))
    if kind.tip:
        bits = _bits(job)[:_NEAR_BITS]
        choices.append(_Choices(bit_axis(job, bits), tuple(_bit_change(bit) for bit in bits)))
    for end in range(len(job.tubes)):
        tubes = _tube_list(job, end)
        changes = tuple(_tube_change(tube, end) for tube in tubes)
        choices.append(_Choices(_tube_axis(job, tubes, end), changes))
    return choices


def _lower_pressures(job: Job) -> list[Change]:
    unit, one = _unit(job)
    asked = job.relief_mpa if job.relief_mpa is not None else job.pressure_mpa
    values = np.linspace(asked, LEAST_USEFUL_MPA, 13)[1:]
    changes = [_pressure_change(job, float(value), unit, one) for value in values if value < asked]
    return [change for change in changes if float(re.split(r"[a-zA-Z]", change.value)[0]) > 0.0]


def _changed_axis(job: Job, changes: Sequence[Change]) -> Axis:
    from barbwright.rating.stack import stack

    stacked = stack([kit.conditions(apply(job, change)) for change in changes])
    labels = tuple(change.text for change in changes)
    return Axis("pressure", "", labels, None, stacked, ("pressure_mpa", "working_mpa"))


__all__ = ["LEAST_USEFUL_MPA", "Change", "apply", "cure", "nearest_changes"]
