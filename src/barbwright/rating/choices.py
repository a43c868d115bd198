"""Jobs with one input changed, and many of them as one axis of a sweep."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

import numpy as np

from barbwright import catalog
from barbwright.catalog import Bit, Material, Tube, TubeMaterial, Wood
from barbwright.design.conditions import Conditions
from barbwright.job import numbers
from barbwright.job.record import Job, TubeInput, WoodInput
from barbwright.rating.judging import FloatArray, IntArray
from barbwright.rating.stack import stack, take
from barbwright.say import cell, one_of

Choice = TypeVar("Choice")


def with_pressure(job: Job, pressure_mpa: float) -> Job:
    """Return a job at a pressure that is the highest as well [MPa]."""
    return replace(job, pressure_mpa=pressure_mpa, relief_mpa=None)


def with_bit(job: Job, bit: Bit) -> Job:
    """Return a job with another bit; a hole measured after the old one no longer counts."""
    return replace(job, bit=bit, hole_mm=None)


def with_material(job: Job, material: Material) -> Job:
    """Return a job printed of another material, by the service that it takes unasked, if any."""
    if material.id == job.material.id:
        return job
    return replace(job, material=material, service=catalog.default_service(material.id))


def with_clamp(job: Job, clamp: bool) -> Job:
    """Return a job with or without a clamp on each barb."""
    return replace(job, clamp=clamp)


def without_setting(job: Job, name: str) -> Job:
    """Return a job without a size or a figure of the user's own: as sized, as shipped."""
    forced = {key: size for key, size in job.forced.items() if key != name}
    user_rules = {key: origin for key, origin in job.user_rules.items() if key != name}
    rules = job.rules
    if name in job.user_rules:
        rules = {**rules, name: float(catalog.shipped_judgements()[name].value)}
    return replace(job, forced=forced, rules=rules, user_rules=user_rules)


def with_wood(job: Job, wood: Wood) -> Job:
    """Return a job in another wood."""
    return replace(job, wood=WoodInput.species(wood))


def named_tube(tube: Tube, word: TubeMaterial | None = None) -> TubeInput:
    """Return a tube of the table as `--tube` reads it: what was measured no longer counts."""
    return TubeInput(
        inner_mm=tube.id_mm,
        outer_mm=tube.od_mm,
        inner_tolerance_mm=tube.kind.id_tolerance_mm,
        row=tube,
        material=word or catalog.find_tube_material(tube.kind.name),
        shore_a=tube.shore_a,
        rating_mpa=tube.rating_mpa,
        rating_c=tube.rating_c,
    )


def with_tube(job: Job, tube: Tube, end: int = 0) -> Job:
    """Return a job with a tube of the table on one end."""
    tubes = list(job.tubes)
    tubes[end] = named_tube(tube)
    return replace(job, tubes=tuple(tubes))


@dataclass(frozen=True, kw_only=True)
class Axis:
    """One input's choices, as arrays.

    Attributes
    ----------
    name, unit : str
        Input, and the unit of ``numbers`` (empty for names).
    labels : tuple of str
        Each choice in words.
    numbers : ndarray or None
        Each choice as a number, where it is one.
    stacked : Conditions
        All choices in one record.
    fields : tuple of str
        Which fields of `Conditions` the input sets.
    """

    name: str
    unit: str
    labels: tuple[str, ...]
    numbers: FloatArray | None
    stacked: Conditions
    fields: tuple[str, ...]

    def __len__(self) -> int:
        """Return how many choices there are [-]."""
        return len(self.labels)


def axis(
    name: str,
    job: Job,
    choices: Sequence[Choice],
    change: Callable[[Job, Choice], Job],
    fields: tuple[str, ...],
    label: Callable[[Choice], str],
) -> Axis:
    """Return one input's choices as arrays.

    Parameters
    ----------
    name : str
        Input [-].
    job : Job
        All other inputs.
    choices : sequence
        What the input may be.
    change : callable
        From a job and a choice to the changed job.
    fields : tuple of str
        Fields of `Conditions` that the input sets.
    label : callable
        A choice in words.
    """
    stacked = stack([numbers.conditions(change(job, choice)) for choice in choices])
    return Axis(
        name=name,
        unit="",
        labels=tuple(label(choice) for choice in choices),
        numbers=None,
        stacked=stacked,
        fields=fields,
    )


def bit_axis(job: Job, bits: Sequence[Bit]) -> Axis:
    """Return bits as an axis [mm]; a hole measured after another bit no longer counts."""
    base = numbers.conditions(with_bit(job, bits[0]))
    sizes = np.array([bit.diameter_mm for bit in bits])
    low, high = numbers.hole_range(sizes, job.rules)
    stacked = replace(base, bit_mm=sizes, hole_low_mm=low, hole_high_mm=high)
    fields = ("bit_mm", "hole_low_mm", "hole_high_mm")
    return Axis(
        name="bit",
        unit="mm",
        labels=tuple(bit.name for bit in bits),
        numbers=sizes,
        stacked=stacked,
        fields=fields,
    )


def pressure_axis(job: Job, pressures_mpa: Sequence[float], labels: Sequence[str]) -> Axis:
    """Return pressures as an axis [kPa]."""
    made = axis(
        "pressure",
        job,
        [float(p) for p in pressures_mpa],
        with_pressure,
        ("highest_mpa",),
        lambda pressure: f"{cell(pressure, 'kPa')} kPa",
    )
    shown = np.asarray(pressures_mpa, dtype=float) / one_of("pressure", "kPa")
    return replace(made, unit="kpa", numbers=shown, labels=tuple(labels))


def material_axis(job: Job, materials: Sequence[Material]) -> Axis:
    """Return print materials as an axis."""
    return axis(
        "material",
        job,
        materials,
        with_material,
        ("material", "suitability", "outside_offset_mm", "bore_offset_mm"),
        lambda material: material.id,
    )


def tube_axis(job: Job, tubes: Sequence[Tube], end: int = 0) -> Axis:
    """Return tubes of the table on one end as an axis."""
    kinds = {tube.kind.name for tube in tubes}
    words = {name: catalog.find_tube_material(name) for name in kinds}
    known = [
        numbers.tube_conditions(
            named_tube(tube, words[tube.kind.name]), numbers.temperature_c(job), job.rules
        )
        for tube in tubes
    ]
    base = numbers.conditions(job)
    ends = list(base.tubes)
    ends[end] = stack(known)
    stacked = replace(base, tubes=tuple(ends))
    name = "tube2" if end else "tube"
    return Axis(
        name=name,
        unit="",
        labels=tuple(tube.name for tube in tubes),
        numbers=None,
        stacked=stacked,
        fields=("tubes",),
    )


def wood_axis(job: Job, woods: Sequence[Wood]) -> Axis:
    """Return woods as an axis."""
    return axis("wood", job, woods, with_wood, ("wood",), lambda wood: wood.name)


def clamp_axis(job: Job, choices: Sequence[bool]) -> Axis:
    """Return with and without a clamp as an axis."""
    return axis(
        "clamp", job, choices, with_clamp, ("clamp",), lambda clamp: "clamp" if clamp else "bare"
    )


def combined(base: Conditions, axes: Sequence[Axis], index: Sequence[IntArray]) -> Conditions:
    """Return the conditions of points of a grid of choices.

    Parameters
    ----------
    base : Conditions
        All that no axis sets.
    axes : sequence of Axis
        The inputs that vary.
    index : sequence of ndarray of int
        For each axis which choice each point takes [-].

    Returns
    -------
    Conditions
        Arrays of the points' shape.
    """
    changed: dict[str, Any] = {}
    for one, rows in zip(axes, index, strict=True):
        for field in one.fields:
            value = _taken(getattr(one.stacked, field), rows)
            if field == "tubes" and field in changed:
                # Both ends vary: each axis has a say over its own end alone.
                own = 1 if one.name == "tube2" else 0
                value = tuple(
                    value[end] if end == own else tube for end, tube in enumerate(changed[field])
                )
            changed[field] = value
    return replace(base, **changed)


def _taken(value: Any, rows: IntArray) -> Any:
    if isinstance(value, tuple):
        return tuple(take(tube, rows) for tube in value)
    if hasattr(value, "__dataclass_fields__"):
        return take(value, rows)
    return value[rows] if isinstance(value, np.ndarray) and value.ndim else value
