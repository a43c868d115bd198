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

from barbwright import catalog, units
from barbwright.design.part import Kind
from barbwright.job import numbers
from barbwright.job.record import Job
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
from barbwright.rating.judging import CHUNK, FloatArray, grade
from barbwright.rating.limits import at_pressure
from barbwright.rating.stack import stack, take

# A lower pressure than the one uptake was published at (10 psi) is no remedy, it is a refusal.
LEAST_USEFUL_MPA = 0.068
_LEAST_C = 5
# Bits that come with other changes: so far apart, and so far from the job's own.
_BIT_GAP_MM = 0.34
_BIT_REACH_MM = 4.0
# How many of each input's choices are tried where so many inputs change at once.
_TRIED = {3: 24, 4: 12, 5: 5}
_PAIRS_NAMED = 3
# Pressures tried together with another change, from just lower to the least that is of use.
_NEAR_PRESSURES = 10
_MOST_STEPS = 2000
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
        tube, a forced size left out, else temperature. Where none can, up to three
        pairs; else the least of several changes. Empty where none of these passes,
        or where nothing fails.

    Source: own_derivation
    """
    if _passes(job, kind):
        return ()
    every = _all_choices(job, kind)
    singles = [change for one in every for change in _first(job, kind, one)]
    singles += _forced(job, kind)
    if not singles:
        singles = _temperature(job, kind)
    if singles:
        return tuple(singles)
    few = [one.nearest() for one in every]
    return _pairs(job, kind, few) or _several(job, kind, few) or _without_forced(job, kind)


def cure(changes: Sequence[Change]) -> str:
    """Return changes as the start of a sentence: what passes, by computation."""
    if not changes:
        return (
            "no change of bit, tube, material, clamp and pressure that was tried passes, "
            "not even together"
        )
    texts = [change.text for change in changes]
    text = texts[0] if len(texts) == 1 else f"{', '.join(texts[:-1])} or {texts[-1]}"
    return f"{text} (computed: {'it' if len(texts) == 1 else 'each'} passes)"


# --- one change ------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Choices:
    """What one input may become, the nearest first, and the change that each is."""

    made: Axis
    changes: tuple[Change, ...]
    few: tuple[int, ...]

    def nearest(self, most: int | None = None) -> _Choices:
        """Return only the nearest, for changes that come with others."""
        index = np.array(self.few[:most])
        made = replace(
            self.made,
            labels=tuple(self.made.labels[place] for place in index),
            stacked=take(self.made.stacked, index),
        )
        changes = tuple(self.changes[place] for place in index)
        return _Choices(made, changes, tuple(range(len(index))))


def _all_choices(job: Job, kind: Kind) -> list[_Choices]:
    """Return every input that may change: bit, material, clamp, pressure, tubes."""
    choices = []

    def add(made: Axis, changes: Sequence[Change], few: Sequence[int] | None = None) -> None:
        places = tuple(range(len(changes)) if few is None else few)
        choices.append(_Choices(made, tuple(changes), places))

    if kind.tip:
        bits = _bits(job)
        changes = [_bit_change(bit) for bit in bits]
        add(bit_axis(job, bits), changes, _spaced(bits, job.bit.diameter_mm))
    materials = _materials(job)
    if materials:
        add(material_axis(job, materials), [_material_change(one) for one in materials])
    if not job.clamp and kind.arms:
        add(clamp_axis(job, [True]), [_CLAMP])
    pressures, steps = _lower_pressures(job)
    if pressures:
        stacked = at_pressure(numbers.conditions(job), steps)
        labels = tuple(change.text for change in pressures)
        fields = ("highest_mpa",)
        made = Axis("pressure", "", labels, None, stacked, fields)
        spread = np.unique(np.linspace(0, len(pressures) - 1, _NEAR_PRESSURES).round().astype(int))
        add(made, pressures, [int(place) for place in spread])
    for end in range(len(job.tubes) if kind.arms else 0):
        tubes = _tube_list(job, end)
        add(tube_axis(job, tubes, end), [_tube_change(tube, end) for tube in tubes])
    return choices


def _first(job: Job, kind: Kind, choices: _Choices) -> list[Change]:
    """Return the nearest choice that passes by itself."""
    shape = (len(choices.changes),)
    works = ~grade(kind, choices.made.stacked, job.forced, shape).fails
    for place in np.flatnonzero(works)[:3]:
        change = choices.changes[int(place)]
        # What is typed is read back by the parser, for a pressure a hair off the step.
        if choices.made.name != "pressure" or _passes(apply(job, change), kind):
            return [change]
    return []


def _bits(job: Job) -> list[catalog.Bit]:
    """Return other bits, the nearest of the job's own series first."""
    own = job.bit
    series = own.series if own.series != "custom" else "metric"
    others = [bit for bit in catalog.bits().values() if bit.diameter_mm != own.diameter_mm]
    return sorted(
        others, key=lambda bit: (bit.series != series, abs(bit.diameter_mm - own.diameter_mm))
    )


def _spaced(bits: Sequence[catalog.Bit], own_mm: float) -> list[int]:
    """Return the places of bits that are worth trying with other changes, the nearest first."""
    places: list[int] = []
    for place, bit in enumerate(bits):
        far = abs(bit.diameter_mm - own_mm)
        gaps = [abs(bit.diameter_mm - bits[other].diameter_mm) for other in places]
        if far <= _BIT_REACH_MM and min(gaps, default=1.0) > _BIT_GAP_MM:
            places.append(place)
    return sorted(places, key=lambda place: abs(bits[place].diameter_mm - own_mm))


def _bit_change(bit: catalog.Bit) -> Change:
    # "#7" would start a comment in a shell.
    value = re.sub(r"^#", "no", bit.name)
    return Change("bit", value, f"bit {bit.name}")


def _materials(job: Job) -> list[catalog.Material]:
    """Return other print materials, the nearest in strength first."""
    own = job.material
    others = [one for one in catalog.materials().values() if one.id != own.id]
    return sorted(others, key=lambda one: abs(one.strength_z_mpa - own.strength_z_mpa))


def _material_change(material: catalog.Material) -> Change:
    return Change("material", material.id, f"material {material.id}")


_CLAMP = Change("clamp", "yes", "clamp")


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


def _lower_pressures(job: Job) -> tuple[list[Change], FloatArray]:
    """Return lower pressures, the highest first, on steps a gauge can show [MPa]."""
    unit, one = _unit(job)
    asked = job.highest_mpa
    step = one * _STEPS[unit]
    steps = np.arange(np.ceil(asked / step - 1e-9) - 1.0, 0.0, -1.0) * step
    steps = steps[steps >= LEAST_USEFUL_MPA][:_MOST_STEPS]
    return [_pressure_change(job, float(pressure), unit, one) for pressure in steps], steps


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
    return not bool(np.any(grade(kind, numbers.conditions(job), job.forced).fails))


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


def _temperature(job: Job, kind: Kind) -> list[Change]:
    cooler = np.arange(np.ceil(job.temperature_c) - 1.0, _LEAST_C - 1.0, -1.0)
    if not cooler.size:
        return []
    changed = [replace(job, temperature_c=float(degrees)) for degrees in cooler]
    conditions = stack([numbers.conditions(one) for one in changed])
    works = ~grade(kind, conditions, job.forced, cooler.shape).fails
    return [
        Change("temperature", f"{degrees:.0f}C", f"no warmer than {degrees:.0f} C")
        for degrees in cooler[works][:1]
    ]


# --- several changes -------------------------------------------------------------------------


def _pairs(job: Job, kind: Kind, choices: Sequence[_Choices]) -> tuple[Change, ...]:
    """Return up to three pairs, each the nearest of its two inputs."""
    found: list[Change] = []
    for pair in itertools.combinations(choices, 2):
        change = _together(job, kind, pair)
        if change is not None:
            found.append(change)
        if len(found) == _PAIRS_NAMED:
            break
    return tuple(found)


def _several(job: Job, kind: Kind, choices: Sequence[_Choices]) -> tuple[Change, ...]:
    """Return the first three or more inputs that pass together."""
    for count in range(3, len(choices) + 1):
        for group in itertools.combinations(choices, count):
            # What stands far down a list is seldom the nearest, and the product grows fast.
            near = [one.nearest(_TRIED.get(count, 4)) for one in group]
            change = _together(job, kind, near)
            if change is not None:
                return (change,)
    return ()


def _together(job: Job, kind: Kind, group: Sequence[_Choices]) -> Change | None:
    """Return the nearest change of several inputs at once that passes."""
    axes = [one.made for one in group]
    shape = tuple(len(one) for one in axes)
    rows = [index.ravel() for index in np.indices(shape)]
    count = rows[0].size
    base = numbers.conditions(job)
    works = np.empty(count, dtype=bool)
    for begin in range(0, count, CHUNK):
        part = [index[begin : begin + CHUNK] for index in rows]
        points = combined(base, axes, part)
        works[begin : begin + CHUNK] = ~grade(kind, points, job.forced, part[0].shape).fails
    if not works.any():
        return None
    # Choices stand nearest first: the group that goes least far down its lists.
    far = np.sum([index / size for index, size in zip(rows, shape, strict=True)], axis=0)
    for at in np.argsort(np.where(works, far, np.inf), kind="stable")[:3]:
        if not works[at]:
            break
        chosen = [one.changes[int(index[at])] for one, index in zip(group, rows, strict=True)]
        first, *others = chosen
        also = [*first.also, *(more for one in others for more in (one, *one.also))]
        text = " with ".join(one.text for one in chosen)
        change = replace(first, text=text, also=tuple(also))
        if _passes(apply(job, change), kind):
            return change
    return None


def _without_forced(job: Job, kind: Kind) -> tuple[Change, ...]:
    """Return changes that pass once no size is forced."""
    if not job.forced:
        return ()
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


__all__ = ["LEAST_USEFUL_MPA", "Change", "apply", "cure", "nearest_changes"]
