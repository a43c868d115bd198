"""What would cure a part that fails or has no size, computed by the checks themselves.

Every candidate is drawn and judged anew, in arrays. Only when no single change
passes are pairs tried; what is named has passed. A lower pressure is offered first;
a larger hole in the tree is offered up to a sixteenth of an inch, and no further.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from barbwright import catalog, units
from barbwright.catalog import Bit
from barbwright.checks.result import NOT_CHECKED
from barbwright.design.part import Kind
from barbwright.equations import Number
from barbwright.errors import InputError
from barbwright.job import numbers
from barbwright.job.record import BIT_RANGE_MM, Job
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
    with_wood,
    without_setting,
)
from barbwright.rating.judging import CHUNK, BoolArray, FloatArray, IntArray
from barbwright.rating.limits import at_pressure
from barbwright.rating.search import grade, passing
from barbwright.rating.stack import stack, take
from barbwright.say import one_of

# A lower pressure than the one uptake was published at (10 psi) is no remedy, it is a refusal.
LEAST_USEFUL_MPA = 0.068
# A tree pays for each hole: a wider one than this beyond what was asked is no advice (judgement).
MOST_LARGER_MM = 25.4 / 16.0
# Bits that come with other changes: so far apart, and so far from the job's own.
_BIT_GAP_MM = 0.34
_BIT_REACH_MM = 4.0
# How many of each input's choices are tried where so many inputs change at once.
_TRIED = {3: 24, 4: 12, 5: 5}
# Inputs whose change makes no check worse.
_EASE = ("pressure", "clamp")
_PAIRS_NAMED = 3
# Pressures tried together with another change, from just lower to the least that is of use.
_NEAR_PRESSURES = 10
_MOST_STEPS = 2000
# Steps that a pressure in a unit is rounded down to.
_STEPS = {"psi": 1.0, "bar": 0.05, "kPa": 5.0, "MPa": 0.005}
_CLOSE_MM = 1e-6


@dataclass(frozen=True)
class Change:
    """One change of an input, or several that only work together.

    Attributes
    ----------
    option : str
        Input, as on the command line without its dashes; ``set`` leaves a setting out.
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


@dataclass(frozen=True)
class Cures:
    """What would cure a part, and what is only worth knowing.

    Attributes
    ----------
    changes : tuple of Change
        Each passes, a lower pressure first; empty where none does.
    larger_bit : Bit or None
        The smallest bit that passes with all else as asked, where no bit does that is
        at most `MOST_LARGER_MM` larger than the job's own.
    """

    changes: tuple[Change, ...]
    larger_bit: Bit | None = None

    def __str__(self) -> str:
        """Return what to do, as the start of a sentence."""
        return cure(self.changes, self.larger_bit)


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
        "set": without_setting,
        "wood": lambda one, value: with_wood(one, catalog.find_wood(value)),
    }
    for one in (change, *change.also):
        job = readers[one.option](job, one.value)
    return job


def cures(job: Job, kind: Kind) -> Cures:
    """Return what makes a part pass that fails or has no size.

    Parameters
    ----------
    job : Job
        What fails.
    kind : Kind
        Kind of part.
    """
    changes = nearest_changes(job, kind)
    if not kind.tip or any(change.option == "bit" for change in changes):
        return Cures(changes)
    return Cures(changes, _larger_bit(job, _Part(kind, _judged(job, kind))))


def cured_too(job: Job, kind: Kind, found: Cures) -> bool:
    """Return whether what cures one part of a job cures another, each change by itself.

    Parameters
    ----------
    job : Job
        What fails.
    kind : Kind
        Kind of the other part.
    found : Cures
        What cures the first.
    """
    if not found.changes or found.larger_bit is not None:
        return False
    part = _Part(kind, _judged(job, kind))
    return all(_passes(apply(job, change), part) for change in found.changes)


def nearest_changes(job: Job, kind: Kind) -> tuple[Change, ...]:
    """Return the nearest changes each of which makes a part pass.

    Parameters
    ----------
    job : Job
        What fails, or has no size.
    kind : Kind
        Kind of part.

    Returns
    -------
    tuple of Change
        One of each input that can cure it alone: pressure, a setting of the user's own
        left out, the one wood meant by a common name, bit, clamp, tube, material, else
        temperature. Where none can without naming a wood, up to three pairs as well; else the
        least of several changes. Empty where none of these passes, or where nothing fails.

    Source: own_derivation
    """
    return _nearest(job, _Part(kind, _judged(job, kind)))


class _Part(NamedTuple):
    """A kind of part, and which of its checks are made as it is asked for.

    A change that leaves one of these unchecked cures nothing: what failed is then only not known.
    """

    kind: Kind
    judged: frozenset[str]


def _judged(job: Job, kind: Kind) -> frozenset[str]:
    found = grade(kind, numbers.conditions(job), job.forced)
    rows = zip(found.ids, found.verdicts, strict=True)
    return frozenset(name for name, verdict in rows if np.all(verdict != NOT_CHECKED))


def _nearest(job: Job, part: _Part) -> tuple[Change, ...]:
    if _passes(job, part):
        return ()
    every = _all_choices(job, part.kind)
    singles = [change for one in every for change in _first(job, part, one)]
    # Right after the pressure, which is the first of the choices wherever it cures.
    place = int(bool(singles) and singles[0].option in {"pressure", "relief"})
    singles[place:place] = _settings(job, part)
    if not singles:
        singles = _temperature(job, part)
    named = _named_wood(job, part)
    singles[place:place] = named
    # Who cannot tell the tree still needs a way out, so a wood's name alone is not all.
    if len(singles) > len(named):
        return tuple(singles)
    few = [one.nearest() for one in every]
    others = _pairs(job, part, few) or _several(job, part, few) or _without_settings(job, part)
    return (*named, *others)


def cure(changes: Sequence[Change], larger_bit: Bit | None = None) -> str:
    """Return changes as the start of a sentence: what passes, by computation.

    Parameters
    ----------
    changes : sequence of Change
        From `nearest_changes`.
    larger_bit : Bit or None
        What passes beyond `MOST_LARGER_MM`: told, not advised.
    """
    if changes:
        texts = [change.text for change in changes]
        text = texts[0] if len(texts) == 1 else f"{', '.join(texts[:-1])} or {texts[-1]}"
        text = f"{text} (computed: {'it' if len(texts) == 1 else 'each'} passes)"
    else:
        text = (
            "no change of pressure, bit, tube, material and clamp that was tried passes, not even "
            "together"
        )
    if larger_bit is not None:
        text += (
            "; for information alone: the smallest bit that passes is "
            f"{_said_bit(larger_bit)}, more than 1/16 in larger"
        )
    return text


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

    def last(self) -> _Choices:
        """Return only the farthest."""
        return replace(self, few=self.few[-1:]).nearest()


def _all_choices(job: Job, kind: Kind) -> list[_Choices]:
    """Return every input that may change, in the order they are offered."""
    choices = []

    def add(made: Axis, changes: Sequence[Change], few: Sequence[int] | None = None) -> None:
        places = tuple(range(len(changes)) if few is None else few)
        choices.append(_Choices(made, tuple(changes), places))

    pressures, steps = _lower_pressures(job)
    if pressures:
        stacked = at_pressure(numbers.conditions(job), steps)
        labels = tuple(change.text for change in pressures)
        fields = ("highest_mpa",)
        made = Axis(
            name="pressure", unit="", labels=labels, numbers=None, stacked=stacked, fields=fields
        )
        spread = np.unique(np.linspace(0, len(pressures) - 1, _NEAR_PRESSURES).round().astype(int))
        add(made, pressures, [int(place) for place in spread])
    bits = _bits(job) if kind.tip else []
    if bits:
        changes = [_bit_change(job, bit) for bit in bits]
        add(bit_axis(job, bits), changes, _spaced(bits, job.bit.diameter_mm))
    if not job.clamp and kind.arms:
        add(clamp_axis(job, [True]), [_CLAMP])
    for end in range(len(job.tubes) if kind.arms else 0):
        tubes = _tube_list(job, end)
        add(tube_axis(job, tubes, end), [_tube_change(tube, end) for tube in tubes])
    materials = _materials(job)
    if materials:
        add(material_axis(job, materials), [_material_change(job, one) for one in materials])
    return choices


def _first(job: Job, part: _Part, choices: _Choices) -> list[Change]:
    """Return the nearest choice that passes by itself."""
    works = _works(part, choices.made, job.forced)
    for place in np.flatnonzero(works)[:3]:
        change = choices.changes[int(place)]
        # What is typed is read back by the parser, for a pressure a hair off the step.
        if choices.made.name != "pressure" or _passes(apply(job, change), part):
            return [change]
    return []


def _bits(job: Job) -> list[Bit]:
    """Return other bits at most `MOST_LARGER_MM` larger, the nearest of the job's own series first.

    Of two that are equally near, the smaller one wounds the tree less.
    """
    own = job.bit
    series = own.series if own.series != "custom" else "metric"
    return sorted(
        (bit for bit in _readable_bits() if abs(_larger(bit, own)) > _CLOSE_MM and _near(bit, own)),
        key=lambda bit: (bit.series != series, abs(_larger(bit, own)), _larger(bit, own)),
    )


def _readable_bits() -> list[Bit]:
    """Return the bits that `--bit` takes."""
    least, most = BIT_RANGE_MM
    return [bit for bit in catalog.bits().values() if least <= bit.diameter_mm <= most]


def _larger(bit: Bit, own: Bit) -> float:
    return bit.diameter_mm - own.diameter_mm


def _near(bit: Bit, own: Bit) -> bool:
    return _larger(bit, own) <= MOST_LARGER_MM + _CLOSE_MM


def _larger_bit(job: Job, part: _Part) -> Bit | None:
    """Return the smallest bit that passes beyond those that are advised."""
    bits = [bit for bit in _readable_bits() if not _near(bit, job.bit)]
    bits.sort(key=lambda bit: (bit.series != job.bit.series, bit.diameter_mm))
    if not bits:
        return None
    works = _works(part, bit_axis(job, bits), job.forced)
    return bits[int(np.argmax(works))] if works.any() else None


def _works(part: _Part, made: Axis, forced: Mapping[str, Number]) -> BoolArray:
    return passing(part.kind, made.stacked, forced, len(made), part.judged)


def _spaced(bits: Sequence[Bit], own_mm: float) -> list[int]:
    """Return the places of bits that are worth trying with other changes, the nearest first."""
    places: list[int] = []
    for place, bit in enumerate(bits):
        far = abs(bit.diameter_mm - own_mm)
        gaps = [abs(bit.diameter_mm - bits[other].diameter_mm) for other in places]
        if far <= _BIT_REACH_MM and min(gaps, default=1.0) > _BIT_GAP_MM:
            places.append(place)
    return sorted(places, key=lambda place: abs(bits[place].diameter_mm - own_mm))


def _bit_change(job: Job, bit: Bit) -> Change:
    # "#7" would start a comment in a shell.
    value = re.sub(r"^#", "no", bit.name)
    hole = " (without --hole, which belongs to the other bit)" if job.hole_mm is not None else ""
    return Change("bit", value, f"use bit {_said_bit(bit)}{hole}")


def _said_bit(bit: Bit) -> str:
    return f"{bit.name} ({bit.diameter_mm:.2f} mm)"


def _materials(job: Job) -> list[catalog.Material]:
    """Return other print materials, the nearest in strength first."""
    own = job.material
    others = [one for one in catalog.materials().values() if one.id != own.id and _served(one)]
    return sorted(others, key=lambda one: abs(one.strength_z_mpa - own.strength_z_mpa))


def _served(material: catalog.Material) -> bool:
    """Return whether a material can be asked for without naming a service."""
    try:
        catalog.default_service(material.id)
    except InputError:
        return False
    return True


def _material_change(job: Job, material: catalog.Material) -> Change:
    named = job.service is not None and job.inputs["service"].origin in {"option", "kit"}
    service = " (without --service, which is another material's)" if named else ""
    return Change("material", material.id, f"use material {material.id}{service}")


_CLAMP = Change("clamp", "yes", "clamp each barb (--clamp)")


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
    other = "as the second " if end else ""
    return Change(option, tube.name, f"use {other}tube {tube.name}")


def _lower_pressures(job: Job) -> tuple[list[Change], FloatArray]:
    """Return lower pressures, the highest first, on steps a gauge can show [MPa]."""
    unit = _unit(job)
    step = one_of("pressure", unit) * _STEPS[unit]
    steps = np.arange(np.ceil(job.highest_mpa / step - 1e-9) - 1.0, 0.0, -1.0) * step
    steps = steps[steps >= LEAST_USEFUL_MPA][:_MOST_STEPS]
    return [_pressure_change(job, float(pressure), unit) for pressure in steps], steps


def _settings(job: Job, part: _Part) -> list[Change]:
    """Return which of the user's own sizes or figures stands in the way alone, else all of them."""
    singles = _left_out(job)
    tried = list(singles)
    if len(singles) > 1:
        tried.append(_all_of(singles))
    for change in tried:
        if _passes(apply(job, change), part):
            return [change]
    return []


def _named_wood(job: Job, part: _Part) -> list[Change]:
    """Return the naming of one wood, where a common name was given and some of its woods pass."""
    if job.wood is None or not job.wood.also:
        return []
    named = (replace(job.wood, also=()), *job.wood.also)
    conditions = stack([numbers.conditions(replace(job, wood=one)) for one in named])
    works = passing(part.kind, conditions, job.forced, len(named), part.judged)
    pass_, fall = (
        sorted(wood.name for wood, found in zip(named, works, strict=True) if found == wanted)
        for wanted in (True, False)
    )
    if not pass_:
        return []
    if not fall:
        said = "each of them passes"
    elif len(fall) <= len(pass_):
        said = f"all but {' and '.join(fall)} pass"
    else:
        said = f"{' and '.join(pass_)} pass{'es' if len(pass_) == 1 else ''}"
    return [Change("wood", pass_[0], f"name which of its {len(named)} woods yours is ({said})")]


def _left_out(job: Job) -> list[Change]:
    """Return each size and figure of the user's own as the change that leaves it out."""
    return [_setting_change(job, name) for name in (*job.forced, *job.user_rules)]


def _setting_change(job: Job, name: str) -> Change:
    origin = job.user_rules.get(name)
    if origin == "user profile":
        shipped = catalog.shipped_judgements()[name]
        unit = "" if shipped.unit == "-" else shipped.unit
        text = f"take {name} as shipped (--set {name}={float(shipped.value):.12g}{unit})"
    elif origin == "kit":
        text = f"leave {name} out of the kit's `set`"
    else:
        text = f"leave out --set {name}"
    return Change("set", name, text)


def _all_of(changes: Sequence[Change]) -> Change:
    """Return several changes as one."""
    first, *others = changes
    also = [*first.also, *(more for one in others for more in (one, *one.also))]
    return replace(first, text=" and ".join(one.text for one in changes), also=tuple(also))


def _passes(job: Job, part: _Part) -> bool:
    found = grade(part.kind, numbers.conditions(job), job.forced)
    return not bool(np.any(found.fails | found.left_unchecked(part.judged)))


def _unit(job: Job) -> str:
    """Return the unit the user thinks of pressure in."""
    given = job.inputs.get("relief" if job.relief_mpa is not None else "pressure")
    text = given.text.casefold() if given is not None else ""
    return next((unit for unit in _STEPS if unit.casefold() in text), "psi")


def _pressure_change(job: Job, pressure_mpa: float, unit: str) -> Change:
    step = _STEPS[unit]
    text = f"{np.floor(pressure_mpa / one_of('pressure', unit) / step + 1e-9) * step:.6g}"
    if job.relief_mpa is None:
        return Change("pressure", f"{text}{unit}", f"lower the pressure to {text} {unit}")
    relief = Change("relief", f"{text}{unit}", f"set the relief to {text} {unit}")
    if units.parse_pressure(relief.value) >= job.pressure_mpa:
        return relief
    pressure = Change("pressure", f"{text}{unit}", f"lower pressure and relief to {text} {unit}")
    return replace(pressure, also=(relief,))


def _temperature(job: Job, part: _Part) -> list[Change]:
    least = job.rules["temperature_least_c"]
    cooler = np.arange(np.ceil(numbers.temperature_c(job)) - 1.0, least - 1.0, -1.0)
    if not cooler.size:
        return []
    changed = [replace(job, temperature_c=float(degrees)) for degrees in cooler]
    conditions = stack([numbers.conditions(one) for one in changed])
    works = passing(part.kind, conditions, job.forced, cooler.size, part.judged)
    return [
        Change("temperature", f"{degrees:.0f}C", f"keep it no warmer than {degrees:.0f} C")
        for degrees in cooler[works][:1]
    ]


# --- several changes -------------------------------------------------------------------------


def _pairs(job: Job, part: _Part, choices: Sequence[_Choices]) -> tuple[Change, ...]:
    """Return up to three pairs, each the nearest of its two inputs."""
    found: list[Change] = []
    for pair in itertools.combinations(choices, 2):
        change = _together(job, part, pair)
        if change is not None:
            found.append(change)
        if len(found) == _PAIRS_NAMED:
            break
    return tuple(found)


def _several(job: Job, part: _Part, choices: Sequence[_Choices]) -> tuple[Change, ...]:
    """Return the first three or more inputs that pass together.

    No check is worse for a lower pressure or a clamp (`tests/rating/test_never_better.py`). So
    where other inputs fail with the lowest pressure and a clamp, groups of them are left out:
    what nothing cures would else be judged forty thousand times over.
    """
    eased = [one.last() for one in choices if one.made.name in _EASE]
    hopeless: set[tuple[int, ...]] = set()
    for count in range(3, len(choices) + 1):
        # What stands far down a list is seldom the nearest, and the product grows fast.
        tried = [one.nearest(_TRIED.get(count, 4)) for one in choices]
        for group in itertools.combinations(range(len(choices)), count):
            others = tuple(place for place in group if choices[place].made.name not in _EASE)
            if others in hopeless:
                continue
            if not _any_passes(job, part, [*eased, *(tried[place] for place in others)]):
                hopeless.add(others)
                continue
            change = _together(job, part, [tried[place] for place in group])
            if change is not None:
                return (change,)
    return ()


def _any_passes(job: Job, part: _Part, group: Sequence[_Choices]) -> bool:
    return bool(_each(job, part, group)[1].any())


def _each(job: Job, part: _Part, group: Sequence[_Choices]) -> tuple[list[IntArray], BoolArray]:
    """Return every combination, as places in each list, and which of them pass."""
    axes = [one.made for one in group]
    rows = [index.ravel() for index in np.indices(tuple(len(one) for one in axes))]
    count = rows[0].size
    base = numbers.conditions(job)
    works = np.empty(count, dtype=bool)
    for begin in range(0, count, CHUNK):
        some = [row[begin : begin + CHUNK] for row in rows]
        works[begin : begin + CHUNK] = passing(
            part.kind, combined(base, axes, some), job.forced, some[0].size, part.judged
        )
    return rows, works


def _together(job: Job, part: _Part, group: Sequence[_Choices]) -> Change | None:
    """Return the nearest change of several inputs at once that passes."""
    rows, works = _each(job, part, group)
    if not works.any():
        return None
    # Choices stand nearest first: the group that goes least far down its lists.
    far = np.sum([row / len(one.made) for row, one in zip(rows, group, strict=True)], axis=0)
    for at in np.argsort(np.where(works, far, np.inf), kind="stable")[:3]:
        if not works[at]:
            break
        chosen = [one.changes[int(row[at])] for one, row in zip(group, rows, strict=True)]
        change = _all_of(chosen)
        if _passes(apply(job, change), part):
            return change
    return None


def _without_settings(job: Job, part: _Part) -> tuple[Change, ...]:
    """Return changes that pass once nothing is set by hand."""
    dropped = _left_out(job)
    if not dropped:
        return ()
    bare = apply(job, _all_of(dropped))
    return tuple(_all_of((change, *dropped)) for change in _nearest(bare, part))
