"""A job read from options and kit files: texts become records and numbers here.

Precedence: option over kit over default. All faults are collected and reported together.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from barbwright import catalog, units
from barbwright.catalog import Bit, Material, Service, Wood
from barbwright.catalog.folders import unread_profiles
from barbwright.errors import Fault, InputError, quoted
from barbwright.job.measured import read_measured
from barbwright.job.numbers import holds_mpa, wood_conditions
from barbwright.job.record import (
    BIT_RANGE_MM,
    MOST_MPA,
    TUBE_INPUTS,
    Input,
    Job,
    TubeInput,
    WoodInput,
)
from barbwright.job.settings import Settings, read_settings
from barbwright.job.texts import Texts
from barbwright.job.tube import read_tube
from barbwright.say import IMPERIAL, voice_for

if TYPE_CHECKING:
    from barbwright.design.kind import Kind

DEFAULT_MATERIAL = "mjf_pa12"
_DEFAULT_FLUID = "water"
_NAME_A_WOOD = "name a species, or give a specific gravity such as `hardwood 0.55`"


def read_job_for(
    kind: Kind,
    options: Mapping[str, str | bool | None],
    table: Mapping[str, Any] | None = None,
    *,
    settings: tuple[str, ...] = (),
    recorded: Settings | None = None,
) -> Job:
    """Return the job of one kind of part from texts, all faults at once.

    Parameters
    ----------
    kind : Kind
        Says what must be given, what may, and which sizes can be forced.
    options, table, settings, recorded
        As in `read_job`.

    Raises
    ------
    InputError
        With every fault found.
    """
    return read_job(
        options,
        table,
        settings=settings,
        needs_tip=kind.needs_bit,
        two_ends=kind.two_ends,
        usable=kind.usable_sizes,
        recorded=recorded,
    )


def read_job(
    options: Mapping[str, str | bool | None],
    table: Mapping[str, Any] | None = None,
    *,
    settings: tuple[str, ...] = (),
    needs_tip: bool = True,
    two_ends: bool = False,
    usable: frozenset[str] | None = None,
    recorded: Settings | None = None,
) -> Job:
    """Return a job from texts, all faults at once.

    Parameters
    ----------
    options : mapping
        Input name to text as given on the command line; None where not given.
    table : mapping, optional
        The `[job]` table of a kit file, same names; its `set` table holds forced
        sizes and judgement numbers.
    settings : tuple of str
        ``name=value`` texts of --set.
    needs_tip : bool
        Whether the part has a tip, hence needs a bit.
    two_ends : bool
        Whether a second tube may be given.
    usable : frozenset of str, optional
        Sizes that --set may force on this kind of part; None is all.
    recorded : Settings, optional
        Figures of an earlier part, which stand before those of the profiles.

    Returns
    -------
    Job
        Records and numbers (mm, MPa, degree C).

    Raises
    ------
    InputError
        With every fault found.
    """
    texts = Texts(options, table)
    texts.refuse_unknown_names()
    chosen = read_settings(texts, settings, usable, recorded)
    tubes = _read_tubes(texts, chosen.rules["tube_match_mm"], two_ends=two_ends)
    bit = _read_bit(texts, needed=needs_tip)
    hole = texts.read("hole", units.parse_length)
    pressure, relief = _read_pressure(texts), texts.read("relief", units.parse_pressure)
    bark_least, bark = texts.read("bark", _bark_range) or (None, None)
    grade = _read_grade(texts)
    fit_only = _read_use(texts)
    temperature = _read_temperature(texts)
    material = _read_material(texts)
    service = _read_service(texts, material)
    wood = _read_wood(texts, chosen.rules)
    fluid = _read_fluid(texts)
    clamp = texts.given("clamp")
    measured = read_measured(texts, chosen, wood, material, tubes, as_recorded=recorded is not None)
    texts.warnings += unread_profiles()
    _refuse_low_relief(texts, pressure, relief)
    if needs_tip:
        _refuse_other_hole(texts, hole, bit)
    _refuse_beyond_sense(texts, pressure, relief)
    _refuse_slipped_units(texts, tubes, bit, bark)
    inputs = texts.in_order()
    assert material is not None
    assert bit is not None
    return Job(
        inputs=inputs,
        tubes=tubes,
        bit=bit,
        hole_mm=hole,
        pressure_mpa=pressure,
        relief_mpa=relief,
        material=material,
        wood=wood,
        bark_mm=bark,
        temperature_c=temperature,
        fluid=fluid,
        clamp=clamp == "yes",
        forced=chosen.forced,
        rules=chosen.rules,
        user_rules=chosen.user_rules,
        warnings=tuple(texts.warnings),
        service=service,
        bark_least_mm=bark_least,
        grade=grade,
        measured=measured,
        fit_only=fit_only,
    )


def _read_tubes(texts: Texts, match_mm: float, *, two_ends: bool) -> tuple[TubeInput, ...]:
    """Return one tube, or two for a barb of two sizes."""
    first = read_tube(texts, "", match_mm)
    second = TUBE_INPUTS["2"]
    by_option = any(texts.options.get(name) for name in second)
    if two_ends and (by_option or any(texts.table.get(name) for name in second)):
        return first, read_tube(texts, "2", match_mm)
    if by_option:
        texts.refuse("--tube2: only a `barb` has a second tube", do="leave out the --tube2 options")
    return (first,)


def _read_bit(texts: Texts, *, needed: bool) -> Bit | None:
    bit: Bit | None = texts.read("bit", catalog.parse_bit)
    if bit is not None or "bit" in texts.inputs:
        return bit
    if needed:
        texts.refuse("--bit is missing", do="give the drill bit, such as --bit 1/4 or --bit 7mm")
    return Bit(
        designation="none", series="custom", diameter_mm=6.0, status="own", source="user_profile"
    )


def _read_pressure(texts: Texts) -> Any:
    """Return the working pressure [MPa]; None only with a fault kept."""
    pressure = texts.read("pressure", units.parse_pressure)
    if pressure is None and "pressure" not in texts.inputs:
        texts.refuse("--pressure is missing", do="give it, such as --pressure 40psi or 3bar")
    return pressure


def _bark_range(text: str, name: str = "--bark") -> tuple[float | None, float]:
    """Return one bark, or the ends of a range such as ``5..12mm`` [mm]."""
    ends = re.split(r"\s*(?:\.\.|\bto\b)\s*", text.strip())
    if len(ends) == 1:
        return None, units.parse_length(text, name=name, zero_allowed=True)
    if re.fullmatch(r"[\d.,/ ]+", ends[0]):
        # The unit at the end is meant for both.
        ends[0] += re.sub(r"^[\d.,/ ]+", "", ends[1])
    low, high = (units.parse_length(end, name=name, zero_allowed=True) for end in ends[:2])
    if len(ends) != 2 or low > high:
        raise InputError(
            Fault(
                f"{name} is no range", given=quoted(text), do="such as --bark 5..12mm, least first"
            )
        )
    return low, high


def _read_grade(texts: Texts) -> int:
    """Return which of three graded leads is asked for; 0 for none."""
    text = texts.given("grade")
    if text is None:
        return 0
    if text not in {"1", "2", "3"}:
        texts.refuse(
            "--grade is no grade of lead",
            given=quoted(text),
            limit="1, 2 or 3",
            do="1 is the thinnest lead, 3 the thickest; leave it out for an ungraded tip",
        )
        return 0
    return int(text)


def _read_use(texts: Texts) -> bool:
    """Return whether the part is for the bench alone."""
    text = texts.given("use")
    if text is None or text.casefold() == "field":
        return False
    if text.casefold() != "fit":
        texts.refuse(
            "--use is none that is known",
            given=quoted(text),
            limit="field or fit",
            do="leave it out for a part that goes to a tree; fit is for the bench alone",
        )
    return True


def is_service_temperature(temperature_c: float) -> bool:
    """Return whether a part may be asked about at a temperature.

    Parameters
    ----------
    temperature_c : float
        Of the part [C].
    """
    return -40.0 <= temperature_c <= 200.0


def _read_temperature(texts: Texts) -> float | None:
    temperature: float | None = texts.read("temperature", units.parse_temperature)
    if temperature is not None and not is_service_temperature(temperature):
        texts.refuse(
            "--temperature is no service temperature",
            given=texts.shown("temperature"),
            limit="-40 to 200 C",
            do="check the unit",
        )
    return temperature


def _read_material(texts: Texts) -> Material | None:
    return texts.collect.read(catalog.find_material, texts.given("material") or DEFAULT_MATERIAL)


def _read_service(texts: Texts, material: Material | None) -> Service | None:
    """Return the calibrated service that is named, or the one its material takes unasked."""
    text = texts.given("service")
    if material is None or (text is not None and text.casefold() == "none"):
        return None
    if text is None:
        service = texts.collect.read(catalog.default_service, material.id)
        if service is not None:
            texts.found("service", service.sentence, f"user profile: default for {material.id}")
        return service
    service = texts.collect.read(catalog.find_service, text)
    if service is None:
        return None
    if service.material != material.id:
        texts.refuse(
            "--service was calibrated with another material",
            given=f"{service.name}: {service.material}",
            limit=material.id,
            do=f"use --material {service.material}, or calibrate it with this one",
        )
    texts.inputs["service"] = Input(service.sentence, texts.inputs["service"].origin)
    return service


def _read_wood(texts: Texts, rules: Mapping[str, float]) -> WoodInput | None:
    """Return the wood that is named; None where it is unknown, or nobody named one."""
    text = texts.given("wood")
    if text is None or text.casefold() == "unknown":
        return None
    if re.search(r"\d", text):
        gravity: WoodInput | None = texts.collect.read(_wood_by_gravity, text, name="--wood")
        return gravity
    found: list[Wood] | None = texts.collect.read(catalog.find_woods, text)
    if not found:
        return None
    named = [WoodInput.species(one) for one in found]

    def resists(wood: WoodInput) -> float:
        return float(wood_conditions(wood, rules).crush_mpa)

    weakest, hardest = min(named, key=lambda one: holds_mpa(one, rules)), max(named, key=resists)
    if len(named) == 1:
        return weakest
    worst = f"{weakest.name} holds and seals least, {hardest.name} is hardest to drive and to free"
    if weakest is hardest:
        worst = f"{weakest.name} holds and seals least and is hardest to drive and to free"
    texts.warnings.append(
        f"--wood {quoted(text)}: {len(named)} woods have this name, and each check takes the worst "
        f"of them: {worst}. Name yours if you know it, or give its green specific gravity, such as "
        f"`{'hardwood 0.55' if weakest.hardwood else 'softwood 0.4'}`"
    )
    return replace(weakest, also=tuple(one for one in named if one is not weakest))


def _wood_by_gravity(text: str, name: str = "--wood") -> WoodInput:
    """Return wood by group and green specific gravity ("hardwood 0.55")."""
    found = re.fullmatch(
        r"\s*(?:(hardwood|softwood)\s*)?(?:G\s*=?\s*)?(\d*\.\d+|\d+)\s*(hardwood|softwood)?\s*",
        text,
        re.IGNORECASE,
    )
    if found is None:
        raise InputError(
            Fault(
                f"{name} is neither a wood nor a specific gravity",
                given=quoted(text),
                do=_NAME_A_WOOD,
            )
        )
    gravity, number = float(found[2]), quoted(found[2])
    group = (found[1] or found[3] or "").casefold()
    faults = []
    if not 0.2 <= gravity <= 1.0:
        faults.append(
            Fault(
                f"{name} is no green specific gravity",
                given=quoted(text),
                limit="0.2 to 1.0",
                do=_NAME_A_WOOD,
            )
        )
    if not group:
        faults.append(
            Fault(
                f"{name} needs its group: `hardwood {number}` or `softwood {number}`?",
                given=quoted(text),
                do="write the group before the specific gravity",
            )
        )
    if faults:
        raise InputError(faults)
    return WoodInput(
        name=f"{group} of specific gravity {gravity:g}",
        specific_gravity=gravity,
        hardwood=group == "hardwood",
    )


def _read_fluid(texts: Texts) -> str:
    text = texts.given("fluid")
    if text is None:
        return _DEFAULT_FLUID
    word = re.sub(r"[\s-]+", "_", text.strip().casefold())
    if word in catalog.FLUID_CLASSES:
        return word
    # What is spelled alike may be another liquid altogether: no class is proposed.
    texts.refuse(
        "--fluid is no class of liquid",
        given=quoted(text),
        limit=", ".join(catalog.FLUID_CLASSES),
        do="name the class its label or safety sheet says, or `unknown`, which is not checked",
    )
    return _DEFAULT_FLUID


def _refuse_low_relief(texts: Texts, pressure: float | None, relief: float | None) -> None:
    if pressure is not None and relief is not None and relief < pressure - 1e-12:
        texts.refuse(
            "--relief is below --pressure, so it would always blow",
            given=texts.shown("relief"),
            limit=f"at least {texts.shown('pressure')}",
            do="raise the relief or lower the pressure",
        )


def _refuse_other_hole(texts: Texts, hole_mm: float | None, bit: Bit | None) -> None:
    if hole_mm is None or bit is None:
        return
    least, most = bit.diameter_mm - 0.1, bit.diameter_mm + 1.0
    if not least <= hole_mm <= most:
        texts.refuse(
            "--hole does not belong to this bit",
            given=texts.shown("hole"),
            limit=f"{bit.name}: {least:.2f} to {most:.2f} mm",
            do="measure again, or name the bit that drilled it",
        )


def _refuse_beyond_sense(texts: Texts, pressure: float | None, relief: float | None) -> None:
    for name, asked in (("pressure", pressure), ("relief", relief)):
        if asked is not None and asked > MOST_MPA:
            texts.refuse(
                f"--{name} is far beyond trunk watering",
                given=texts.shown(name),
                limit=(voice_for(texts.inputs[name].text) or IMPERIAL).limit(MOST_MPA),
                do="check the unit",
            )


def _refuse_slipped_units(
    texts: Texts, tubes: tuple[TubeInput, ...], bit: Bit | None, bark_mm: float | None
) -> None:
    """Refuse sizes that only a slipped unit can explain."""
    for tube, end in zip(tubes, ("", "2"), strict=False):
        if np.isfinite(tube.inner_mm):
            _refuse_slipped_tube(texts, tube, f"tube{end}")
    least, most = BIT_RANGE_MM
    if bit is not None and not least <= bit.diameter_mm <= most:
        texts.refuse(
            "--bit is no bit for a trunk",
            given=bit.name,
            limit=f"{least:g} to {most:g} mm",
            do="check the unit",
        )
    if bark_mm is not None and bark_mm > 60.0:
        texts.refuse(
            "--bark is thicker than any tip reaches",
            given=f"{bark_mm:g} mm",
            limit="60 mm",
            do="cut the bark back to sound bark, or check the unit",
        )


def _refuse_slipped_tube(texts: Texts, tube: TubeInput, prefix: str) -> None:
    inner, outer = tube.inner_mm, tube.outer_mm
    if not 1.0 <= inner <= 30.0:
        texts.refuse(
            f"--{prefix}-id is no small tubing",
            given=texts.shown(f"{prefix}_id", prefix),
            limit="1 to 30 mm",
            do="check the unit",
        )
    if outer is None:
        return
    if (outer - inner) / 2.0 < 0.2:
        texts.refuse(
            f"--{prefix}-od leaves no wall",
            given=texts.shown(f"{prefix}_od", f"{prefix}_id", prefix),
            limit=f"at least {inner + 0.4:.2f} mm on this inner diameter",
            do="measure both again",
        )
    elif outer > 3.0 * inner:
        texts.refuse(
            f"--{prefix}-od is over three times the inner diameter",
            given=f"{outer:.2f} mm",
            limit=f"{3.0 * inner:.2f} mm",
            do="check the unit",
        )
