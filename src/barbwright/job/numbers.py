"""A job as the numbers that the sizing and the checks work on: records become floats here."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np

from barbwright import units
from barbwright.catalog import Material, Service, Tube, TubeMaterial, profile_folders, woods_in
from barbwright.design.conditions import (
    UNPUBLISHED,
    Conditions,
    MaterialConditions,
    Suitability,
    TubeConditions,
    WoodConditions,
)
from barbwright.design.measured import Figures
from barbwright.equations import Number
from barbwright.equations.grip import gent_modulus, ruess_modulus
from barbwright.equations.seat import (
    crush_from_gravity,
    hole_edge_factor,
    splitting_pressure,
    tension_from_gravity,
)
from barbwright.job.record import INPUT_NAMES, Input, Job, TubeInput, WoodInput

# Kinds of tube whose stiffness follows from their hardness.
RUBBERS = frozenset({"PVC", "PU", "silicone"})


def conditions(job: Job) -> Conditions:
    """Return a job as the numbers the sizing and the checks work on.

    Parameters
    ----------
    job : Job
        Records and numbers.

    Returns
    -------
    Conditions
        Floats [mm], [MPa], [degree C].
    """
    rules, temperature = job.rules, temperature_c(job)
    low, high = hole_range(job.bit.diameter_mm, rules)
    if job.hole_mm is not None:
        spread = rules["measured_hole_tolerance_mm"]
        low, high = job.hole_mm - spread, job.hole_mm + spread
    return Conditions(
        highest_mpa=job.highest_mpa,
        temperature_c=temperature,
        tubes=tuple(tube_conditions(tube, temperature, rules) for tube in job.tubes),
        bit_mm=job.bit.diameter_mm,
        hole_low_mm=low,
        hole_high_mm=high,
        bark_mm=bark_mm(job),
        bark_least_mm=bark_mm(job) if job.bark_least_mm is None else job.bark_least_mm,
        wood=wood_conditions(job.wood, rules),
        material=_as_calibrated(material_conditions(job.material, temperature, rules), job.service),
        suitability=suitability(job.material, job.fluid),
        clamp=job.clamp,
        rules=rules,
        outside_offset_mm=job.service.outside_offset_mm if job.service is not None else 0.0,
        bore_offset_mm=job.service.bore_offset_mm if job.service is not None else 0.0,
        grade=job.grade,
        measured={
            one.product: Figures(
                lower=one.lower, expected=one.expected, upper=one.upper, taper=one.taper
            )
            for one in job.measured
        },
    )


def temperature_c(job: Job) -> float:
    """Return the service temperature, the rule's where none was given [degree C]."""
    return job.rules["temperature_c"] if job.temperature_c is None else job.temperature_c


def bark_mm(job: Job) -> float:
    """Return the bark over sound wood, the rule's where none was given [mm]."""
    return job.rules["bark_mm"] if job.bark_mm is None else job.bark_mm


def inner_tolerance_mm(tube: TubeInput, rules: Mapping[str, float]) -> float:
    """Return how far a tube's bore may be off, the rule's where it was measured [mm]."""
    if tube.inner_tolerance_mm is None:
        return rules["measured_tube_tolerance_mm"]
    return tube.inner_tolerance_mm


def hole_range(bit_mm: Number, rules: Mapping[str, float]) -> tuple[Number, Number]:
    """Return the smallest and the largest hole that a bit leaves in wood [mm].

    Parameters
    ----------
    bit_mm : float or array
        Diameter of the bit [mm].
    rules : mapping
        Judgement numbers.

    Source: judgement
    """
    return bit_mm + rules["hole_oversize_low_mm"], bit_mm + rules["hole_oversize_high_mm"]


def printed_inputs(job: Job) -> dict[str, Input]:
    """Return every input as printed: as given, else what stands in for it and why.

    Parameters
    ----------
    job : Job
        What was given.

    Returns
    -------
    dict of str to Input
        In the order in which they are printed.
    """
    gravity = job.rules["wood_specific_gravity_default"]
    taken = {
        "material": Input(job.material.id, "default"),
        "wood": Input(
            f"a green hardwood of specific gravity {gravity:g}",
            "default (judgement), for sizing alone",
        ),
        "bark": Input(units.format_quantity(bark_mm(job), "length"), "default (judgement)"),
        "temperature": Input(f"{temperature_c(job):g} C", "default"),
        "fluid": Input(job.fluid, "default"),
        "clamp": Input("yes" if job.clamp else "no", "default"),
    }
    said = {**taken, **job.inputs}
    return {name: said[name] for name in INPUT_NAMES if name in said}


def _as_calibrated(material: MaterialConditions, service: Service | None) -> MaterialConditions:
    """Return a material with the tolerance its service was found to hold."""
    if service is None:
        return material
    # Measured, a service's own spread counts, either way.
    return replace(material, tolerance_mm=service.tolerance_mm, hole_tolerance_mm=UNPUBLISHED)


def default_expansion(kind: str | None, shore_a: float | None, rules: Mapping[str, float]) -> float:
    """Return how far a barb stretches a tube by default [-].

    Parameters
    ----------
    kind : str or None
        Kind of tube; None is taken as polyethylene [-].
    shore_a : float or None
        Hardness of an elastomer [Shore A].
    rules : mapping
        Judgement numbers.

    Source: judgement
    """
    if kind == "nylon":
        return rules["expansion_nylon"]
    if kind in RUBBERS and shore_a is not None:
        ends = (rules["expansion_soft_up_to_shore_a"], rules["expansion_hard_from_shore_a"])
        return float(
            np.interp(shore_a, ends, (rules["expansion_soft"], rules["expansion_hard_rubber"]))
        )
    return rules["expansion_pe"]


def tube_conditions(
    tube: TubeInput, temperature_c: Number, rules: Mapping[str, float]
) -> TubeConditions:
    """Return one tube as numbers at a service temperature.

    Parameters
    ----------
    tube : TubeInput
        What is known of it.
    temperature_c : float or array
        Service temperature [degree C].
    rules : mapping
        Judgement numbers.

    Source: gent1958, ruess, en_iso_8029
    """
    nan = float("nan")
    row, word, kind = tube.row, tube.material, tube.kind
    heat: Number = 1.0
    if kind is not None:
        heat = kind.temperature_factor_at(temperature_c)
    record = row if row is not None and row.modulus_low_mpa is not None else word
    shore_low = shore_high = tube.shore_a
    if tube.shore_a is None and word is not None:
        shore_low, shore_high = word.shore_a_low, word.shore_a_high
    low: float | None = nan
    high: float | None = nan
    yields: tuple[float | None, float | None] = (None, None)
    elastomer = kind is not None and kind.name in RUBBERS and shore_low is not None
    if elastomer and shore_low is not None and shore_high is not None:
        low = float(np.minimum(gent_modulus(shore_low), ruess_modulus(shore_low)))
        high = float(np.maximum(gent_modulus(shore_high), ruess_modulus(shore_high)))
    elif record is not None:
        low, high = record.modulus_low_mpa, record.modulus_high_mpa
        yields = record.yield_low_mpa, record.yield_high_mpa
    rating: Number = nan
    if tube.rating_mpa is not None and kind is not None:
        rating = tube.rating_mpa * kind.rating_factor_at(temperature_c, tube.rating_c)
    elif tube.rating_mpa is not None:
        rating = tube.rating_mpa
    burst: Number = nan
    # A row's own strength may stand in for a rating; that of a material word alone may not.
    if tube.rating_mpa is None and row is not None and row.yield_low_mpa is not None:
        burst = row.yield_low_mpa * heat
    return TubeConditions(
        inner_mm=tube.inner_mm,
        outer_mm=_or_nan(tube.outer_mm),
        inner_tolerance_mm=inner_tolerance_mm(tube, rules),
        modulus_low_mpa=_or_nan(low),
        modulus_high_mpa=_or_nan(high),
        yield_low_mpa=_or_nan(yields[0]),
        yield_high_mpa=_or_nan(yields[1]),
        elastomer=elastomer,
        # A tube that yields gains little by more stretch, and keeps that of its kind.
        expansion_most=rules["arm_expansion_limit"] if elastomer else 0.0,
        temperature_factor=heat,
        rating_mpa=rating,
        burst_strength_mpa=burst,
        expansion=default_expansion(kind.name if kind else None, shore_low, rules),
        max_temperature_c=kind.max_temperature_c if kind is not None else float("inf"),
        hardening_over_yield=_hardening(record),
    )


def _hardening(record: Tube | TubeMaterial | None) -> float:
    """Return a tube's hardening over its yield; a level pull curve's 1 where none is stated."""
    if record is None or record.hardening_low_mpa is None or not record.yield_low_mpa:
        return 1.0
    return record.hardening_low_mpa / record.yield_low_mpa


def _or_nan(value: float | None) -> float:
    return float("nan") if value is None else float(value)


def wood_conditions(wood: WoodInput | None, rules: Mapping[str, float]) -> WoodConditions:
    """Return green wood as numbers; missing figures are regressed, never skipped.

    Of a common name's woods the one that holds least, and beside it how much harder, softer and
    sooner to split another is: each check takes the worst.

    Parameters
    ----------
    wood : WoodInput or None
        None takes the default hardwood, for sizing alone.
    rules : mapping
        Judgement numbers.

    Source: wood_handbook, orthotropic_hole
    """
    known = wood is not None
    if wood is None:
        wood = WoodInput(
            name="default",
            specific_gravity=rules["wood_specific_gravity_default"],
            hardwood=True,
        )
    gravity, record = wood.specific_gravity, wood.record
    crush = record.compression_perpendicular_mpa if record is not None else None
    if crush is None:
        crush = float(crush_from_gravity(gravity, hardwood=wood.hardwood))
    tension = record.tension_perpendicular_mpa if record is not None else None
    if tension is None:
        tension = float(tension_from_gravity(gravity, hardwood=wood.hardwood))
    if record is not None and record.et_over_el is not None:
        assert record.glt_over_el is not None
        assert record.nu_lt is not None
        edge = float(hole_edge_factor(record.et_over_el, record.glt_over_el, record.nu_lt))
    else:
        edge = rules["split_ratio_hardwood" if wood.hardwood else "split_ratio_softwood"]
    splitting = float(splitting_pressure(tension, edge))
    others = [wood_conditions(one, rules) for one in wood.also]
    return WoodConditions(
        crush_mpa=crush,
        splitting_mpa=splitting,
        known=known,
        hardest=max([1.0, *(float(one.crush_mpa) / crush for one in others)]),
        softest=min([1.0, *(float(one.crush_mpa) / crush for one in others)]),
        splits=min(
            [1.0, *(float(one.splitting_mpa / one.crush_mpa) / (splitting / crush)
                    for one in others)]
        ),
        worst=None if known else _any_wood(profile_folders(), *(rules[one] for one in _WOOD_RULES)),
    )  # fmt: skip


def holds_mpa(wood: WoodInput, rules: Mapping[str, float]) -> float:
    """Return how hard a wood, by itself, can press on a tip before it crushes or splits [MPa].

    Parameters
    ----------
    wood : WoodInput
        The wood.
    rules : mapping
        Judgement numbers.

    Source: wood_handbook, orthotropic_hole
    """
    found = wood_conditions(replace(wood, also=()), rules)
    return float(np.minimum(found.crush_mpa, found.splitting_mpa))


# The judgement numbers that a wood's figures rest on.
_WOOD_RULES = (
    "wood_specific_gravity_default",
    "split_ratio_hardwood",
    "split_ratio_softwood",
)


@functools.lru_cache(maxsize=64)
def _any_wood(folders: tuple[Path, ...], *figures: float) -> WoodConditions:
    """Return the worst of all woods on file and of the default, for who named none.

    Each job without a wood asks for it, and it stays the same until a wood or a rule changes.
    """
    rules = dict(zip(_WOOD_RULES, figures, strict=True))
    default = WoodInput(name="default", specific_gravity=figures[0], hardwood=True)
    every = (default, *(WoodInput.species(one) for one in woods_in(folders).values()))
    weakest = min(every, key=lambda one: holds_mpa(one, rules))
    return wood_conditions(replace(weakest, also=every), rules)


def material_conditions(
    material: Material, temperature_c: Number, rules: Mapping[str, float]
) -> MaterialConditions:
    """Return a print material as numbers at a service temperature.

    Parameters
    ----------
    material : Material
        The record.
    temperature_c : float or array
        Service temperature [degree C].
    rules : mapping
        Judgement numbers.

    Source: design_record
    """
    # Factors only fall with heat, so of 23 C and min(service, limit) the hotter is the worse.
    handling = np.clip(temperature_c, 23.0, rules["handling_temperature_limit_c"])
    box = material.build_box_mm
    return MaterialConditions(
        allowable_mpa=material.allowable_mpa(
            temperature_c, rules["long_term_design_factor"], rules["strength_cap_ratio"]
        ),
        short_z_mpa=material.short_term_mpa(temperature_c),
        short_xy_mpa=material.wet_short_term_compressive_mpa(temperature_c),
        handling_short_z_mpa=material.short_term_mpa(handling),
        handling_short_xy_mpa=material.wet_short_term_compressive_mpa(handling),
        handling_modulus_mpa=material.modulus_at_mpa(handling),
        long_term_factor=material.long_term_factor,
        tolerance_mm=material.tolerance_mm,
        tolerance_pct=material.tolerance_pct,
        min_wall_exposed_mm=material.min_wall_exposed_mm,
        min_wall_covered_mm=material.min_wall_covered_mm,
        min_wall_mm=material.min_wall_mm,
        min_bore_mm=material.min_bore_mm,
        min_gap_mm=material.min_gap_mm,
        min_text_line_mm=material.min_text_line_mm,
        build_box_mm=(box[0], box[1], box[2]),
        max_temperature_c=material.max_temperature_c,
        density_g_cm3=material.density_g_cm3,
        hole_tolerance_mm=material.hole_tolerance_mm or UNPUBLISHED,
    )


def suitability(material: Material, fluid: str) -> Suitability:
    """Return what a material's record allows, as numbers.

    Parameters
    ----------
    material : Material
        The record.
    fluid : str
        Class of the liquid.

    Source: design_record
    """
    if fluid == "unknown":
        code = 3
    elif fluid in material.refused_fluids:
        code = 2
    elif fluid in material.cautioned_fluids:
        code = 1
    else:
        code = 0
    return Suitability(code, material.tapping, material.pressure, material.field)
