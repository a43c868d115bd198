"""A job's inputs: read from options and kit files, each with where it came from.

Text becomes numbers here and nowhere else. Precedence: option over kit over
default. All faults are collected and reported together.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from barbwright import catalog, units
from barbwright.catalog import Bit, Material, Service, Tube, TubeMaterial, Wood
from barbwright.design.conditions import (
    Conditions,
    MaterialConditions,
    Suitability,
    TubeConditions,
    WoodConditions,
)
from barbwright.design.part import FORCED_SIZES
from barbwright.equations import Number
from barbwright.equations.grip import gent_modulus, ruess_modulus
from barbwright.equations.seat import (
    crush_from_gravity,
    hole_edge_factor,
    splitting_pressure,
    tension_from_gravity,
)
from barbwright.errors import Fault, InputError
from barbwright.units import FaultCollector

# Every input a part can be asked for, by its name in a kit file and in part.json.
INPUT_NAMES = (
    "tube", "tube_id", "tube_od", "tube_material", "tube_rating", "shore",
    "tube2", "tube2_id", "tube2_od", "tube2_material", "tube2_rating", "shore2",
    "bit", "hole", "pressure", "relief", "material", "wood", "bark", "temperature",
    "fluid", "clamp", "service",
)  # fmt: skip
_DEFAULT_MATERIAL = "mjf_pa12"
_DEFAULT_FLUID = "water"
_RUBBERS = {"PVC", "PU", "silicone"}
# Beyond these a forced size can only be a slip; whether it can be built is for the refusals.
_FORCED_SENSE: dict[str, tuple[float, float]] = {
    "barb_angle": (3.0, 45.0),
    "expansion": (0.01, 1.0),
    "taper": (0.01, 0.2),
    "side_ports": (0.0, 1.0),
    "arms": (0.0, 2.0),
}
_FORCED_LENGTH = (0.1, 200.0)
_WHOLE = {"barb_count"}


@dataclass(frozen=True)
class Input:
    """One input as it was given and where it came from.

    Attributes
    ----------
    text : str
        As given, or the default in words.
    origin : str
        option, kit, default, or the table it was matched in.
    """

    text: str
    origin: str


@dataclass(frozen=True)
class TubeInput:
    """What is known of one tube.

    Attributes
    ----------
    inner_mm : float
        Inner diameter [mm].
    outer_mm : float or None
        Outer diameter [mm].
    inner_tolerance_mm : float
        How far the inner diameter may be off [mm].
    row : Tube or None
        The row of the tubing table it is, or matches.
    material : TubeMaterial or None
        What its material word alone says.
    shore_a : float or None
        Hardness [Shore A].
    rating_mpa, rating_c : float or None
        Stated rating and its temperature [MPa], [degree C].
    """

    inner_mm: float
    outer_mm: float | None
    inner_tolerance_mm: float
    row: Tube | None
    material: TubeMaterial | None
    shore_a: float | None
    rating_mpa: float | None
    rating_c: float


@dataclass(frozen=True)
class WoodInput:
    """Green wood by name or by density.

    Attributes
    ----------
    name : str
        Species, or the density in words.
    specific_gravity : float
        Green [-].
    hardwood : bool
        Group.
    record : Wood or None
        The species' record.
    """

    name: str
    specific_gravity: float
    hardwood: bool
    record: Wood | None


@dataclass(frozen=True)
class Job:
    """All that a part is made from.

    Attributes
    ----------
    inputs : dict of str to Input
        Every input with its origin, as printed.
    tubes : tuple of TubeInput
        One, or two for a barb of two sizes.
    bit : Bit
        Drill bit.
    hole_mm : float or None
        Measured hole [mm].
    pressure_mpa, relief_mpa : float, float or None
        Working pressure and relief setting, gauge [MPa].
    material : Material
        Print material.
    wood : WoodInput or None
        None when nobody named one.
    bark_mm, temperature_c : float
        Bark [mm] and service temperature [degree C].
    fluid : str
        Fluid class.
    clamp : bool
        Whether each barb carries a clamp.
    forced : dict of str to float
        Sizes forced with --set, by name.
    rules : dict of str to float
        Judgement numbers.
    user_rules : dict of str to str
        Those the user has overridden, with their origin.
    warnings : tuple of str
        What must be said loudly.
    service : Service or None
        The calibrated print service.
    """

    inputs: dict[str, Input]
    tubes: tuple[TubeInput, ...]
    bit: Bit
    hole_mm: float | None
    pressure_mpa: float
    relief_mpa: float | None
    material: Material
    wood: WoodInput | None
    bark_mm: float
    temperature_c: float
    fluid: str
    clamp: bool
    forced: dict[str, float] = field(default_factory=dict)
    rules: dict[str, float] = field(default_factory=dict)
    user_rules: dict[str, str] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()
    service: Service | None = None


def read_job(
    options: Mapping[str, str | bool | None],
    kit: Mapping[str, Any] | None = None,
    *,
    settings: tuple[str, ...] = (),
    needs_tip: bool = True,
    two_ends: bool = False,
    usable: frozenset[str] | None = None,
) -> Job:
    """Return a job from texts, all faults at once.

    Parameters
    ----------
    options : mapping
        Input name to text as given on the command line; None where not given.
    kit : mapping, optional
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

    Returns
    -------
    Job
        Records and numbers (mm, MPa, degree C).

    Raises
    ------
    InputError
        With every fault found.
    """
    collect = FaultCollector()
    inputs: dict[str, Input] = {}
    kit = kit or {}
    for name in kit:
        if name not in INPUT_NAMES and name != "set":
            near = difflib.get_close_matches(name, INPUT_NAMES, 1)
            collect.add(
                Fault(
                    f"kit: unknown input {name!r}",
                    do=f"use {near[0]!r}" if near else f"use one of {', '.join(INPUT_NAMES)}",
                )
            )

    def given(name: str) -> str | None:
        for origin, source in (("option", options), ("kit", kit)):
            value = source.get(name)
            if value is None or value is False:
                continue
            text = "yes" if value is True else str(value).strip()
            inputs[name] = Input(text, origin)
            return text
        return None

    def label(name: str) -> str:
        return "--" + name.replace("_", "-")

    def read(name: str, reader: Callable[..., Any], **more: Any) -> Any:
        text = given(name)
        return None if text is None else collect.read(reader, text, name=label(name), **more)

    rules, user_rules, forced = _rules_and_sizes(
        kit.get("set", {}), settings, collect, usable=usable
    )
    warnings: list[str] = []
    tubes = [_read_tube("", given, read, inputs, rules, warnings, collect)]
    second = any(options.get(n) or kit.get(n) for n in INPUT_NAMES if "2" in n)
    if second and two_ends:
        tubes.append(_read_tube("2", given, read, inputs, rules, warnings, collect))
    elif second and any(options.get(n) for n in INPUT_NAMES if "2" in n):
        collect.add(
            Fault("--tube2: only a `barb` has a second tube", do="leave out the --tube2 options")
        )
    bit = read("bit", catalog.parse_bit)
    if bit is None and "bit" not in inputs:
        if needs_tip:
            collect.add(
                Fault("--bit is missing", do="give the drill bit, such as --bit 15/64 or --bit 6mm")
            )
        bit = Bit("none", "custom", 6.0, "own", "user_profile")
    hole = read("hole", units.parse_length)
    pressure = read("pressure", units.parse_pressure)
    if pressure is None and "pressure" not in inputs:
        collect.add(Fault("--pressure is missing", do="give it, such as --pressure 45psi"))
    relief = read("relief", units.parse_pressure)
    bark = read("bark", units.parse_length, zero_allowed=True)
    temperature = read("temperature", units.parse_temperature)
    if temperature is not None and not -40.0 <= temperature <= 200.0:
        collect.add(
            Fault(
                "--temperature is no service temperature",
                given=inputs["temperature"].text,
                limit="-40 to 200 C",
                do="check the unit",
            )
        )
    if bark is None:
        bark = rules["bark_mm"]
        inputs.setdefault("bark", Input(units.format_length(bark), "default (judgement)"))
    if temperature is None:
        temperature = rules["temperature_c"]
        inputs.setdefault("temperature", Input(f"{temperature:g} C", "default"))
    material_text = given("material") or _DEFAULT_MATERIAL
    inputs.setdefault("material", Input(_DEFAULT_MATERIAL, "default"))
    material = collect.read(catalog.find_material, material_text)
    service = _read_service(given("service"), material, inputs, collect)
    wood = read("wood", _read_wood)
    if "wood" not in inputs:
        inputs["wood"] = Input(
            f"a green hardwood of specific gravity {rules['wood_specific_gravity_default']:g}",
            "default (judgement), for sizing alone",
        )
    fluid = _read_fluid(given("fluid"), collect)
    inputs.setdefault("fluid", Input(_DEFAULT_FLUID, "default"))
    clamp = given("clamp")
    inputs.setdefault("clamp", Input("no", "default"))
    if pressure is not None and relief is not None and relief < pressure - 1e-12:
        collect.add(
            Fault(
                "--relief is below --pressure, so it would always blow",
                given=inputs["relief"].text,
                limit=f"at least {inputs['pressure'].text}",
                do="raise the relief or lower the pressure",
            )
        )
    if (
        hole is not None
        and bit is not None
        and needs_tip
        and not (bit.diameter_mm - 0.1 <= hole <= bit.diameter_mm + 1.0)
    ):
        collect.add(
            Fault(
                "--hole does not belong to this bit",
                given=inputs["hole"].text,
                limit=f"{bit.name}: {bit.diameter_mm - 0.1:.2f} to {bit.diameter_mm + 1.0:.2f} mm",
                do="measure again, or name the bit that drilled it",
            )
        )
    _sane(pressure, "pressure", inputs, collect)
    _sane(relief, "relief", inputs, collect)
    _sane_lengths(tubes, bit, bark, inputs, collect)
    collect.raise_if_any(InputError)
    assert material is not None
    assert bit is not None
    return Job(
        inputs={name: inputs[name] for name in INPUT_NAMES if name in inputs},
        tubes=tuple(tubes),
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
        forced=forced,
        rules=rules,
        user_rules=user_rules,
        warnings=tuple(warnings),
        service=service,
    )


def _sane(
    pressure_mpa: float | None, name: str, inputs: dict[str, Input], collect: FaultCollector
) -> None:
    if pressure_mpa is not None and pressure_mpa > 2.0:
        collect.add(
            Fault(
                f"--{name} is far beyond trunk watering",
                given=inputs[name].text,
                limit="2 MPa (290 psi)",
                do="check the unit",
            )
        )


def _sane_lengths(
    tubes: list[TubeInput],
    bit: Bit | None,
    bark_mm: float,
    inputs: dict[str, Input],
    collect: FaultCollector,
) -> None:
    """Refuse sizes that only a slipped unit can explain."""
    for tube, end in zip(tubes, ("", "2"), strict=False):
        text = inputs.get(f"tube{end}_id", inputs.get(f"tube{end}"))
        shown = text.text if text else ""
        if np.isfinite(tube.inner_mm) and not 1.0 <= tube.inner_mm <= 30.0:
            collect.add(
                Fault(
                    f"--tube{end}-id is no small tubing",
                    given=shown,
                    limit="1 to 30 mm",
                    do="check the unit",
                )
            )
        if tube.outer_mm is not None and np.isfinite(tube.inner_mm):
            wall = (tube.outer_mm - tube.inner_mm) / 2.0
            if wall < 0.2:
                collect.add(
                    Fault(
                        f"--tube{end}-od leaves no wall",
                        given=inputs[f"tube{end}_od"].text if f"tube{end}_od" in inputs else shown,
                        limit=f"at least {tube.inner_mm + 0.4:.2f} mm on this inner diameter",
                        do="measure both again",
                    )
                )
            elif tube.outer_mm > 3.0 * tube.inner_mm:
                collect.add(
                    Fault(
                        f"--tube{end}-od is over three times the inner diameter",
                        given=f"{tube.outer_mm:.2f} mm",
                        limit=f"{3.0 * tube.inner_mm:.2f} mm",
                        do="check the unit",
                    )
                )
    if bit is not None and not 1.0 <= bit.diameter_mm <= 25.0:
        collect.add(
            Fault(
                "--bit is no bit for a trunk",
                given=bit.name,
                limit="1 to 25 mm",
                do="check the unit",
            )
        )
    if bark_mm > 60.0:
        collect.add(
            Fault(
                "--bark is thicker than any tip reaches",
                given=f"{bark_mm:g} mm",
                limit="60 mm",
                do="cut the bark back to sound bark, or check the unit",
            )
        )


def _read_tube(
    end: str,
    given: Callable[[str], str | None],
    read: Callable[..., Any],
    inputs: dict[str, Input],
    rules: Mapping[str, float],
    warnings: list[str],
    collect: FaultCollector,
) -> TubeInput:
    """Return what is known of one tube, by name or by measurement."""
    prefix = f"tube{end}"
    shore_name = f"shore{end}"
    named = given(prefix)
    row = collect.read(catalog.find_tube, named) if named is not None else None
    inner = read(f"{prefix}_id", units.parse_length)
    outer = read(f"{prefix}_od", units.parse_length)
    word = given(f"{prefix}_material")
    material = collect.read(catalog.find_tube_material, word) if word is not None else None
    rating = read(f"{prefix}_rating", _read_rating)
    shore = read(shore_name, _read_shore)
    tolerance = rules["measured_tube_tolerance_mm"]
    if row is not None:
        if inner is None:
            inner, tolerance = row.id_mm, row.kind.id_tolerance_mm
            inputs[f"{prefix}_id"] = Input(f"{row.id_mm:g} mm", f"tubing table: {row.name}")
        if outer is None and row.od_mm is not None:
            outer = row.od_mm
            inputs[f"{prefix}_od"] = Input(f"{row.od_mm:g} mm", f"tubing table: {row.name}")
        material = material or collect.read(catalog.find_tube_material, row.kind.name)
    elif inner is None and f"{prefix}_id" not in inputs and named is None:
        collect.add(
            Fault(
                f"--{prefix}-id is missing",
                do=f"measure the tube's bore, such as --{prefix}-id 0.170in, or name the tube with "
                f"--{prefix}",
            )
        )
    elif inner is not None and outer is not None and word is not None:
        row = _match(inner, outer, word, prefix, inputs, warnings)
    elif inner is not None:
        warnings.append(_size_warning(inner, outer))
    if material is not None and row is None and material.is_grade_without_rows:
        warnings.append(
            f"{word}: no tube of this grade is in the table; the range over all of its kind is "
            "used, and a stiffer grade pushes on harder than said"
        )
    rating_mpa, rating_c = (row.rating_mpa, row.rating_c) if row is not None else (None, 23.0)
    if rating is not None:
        rating_mpa, rating_c = rating
        kind = row.kind if row is not None else material.kind if material is not None else None
        if kind is not None and rating_c > kind.max_temperature_c:
            collect.add(
                Fault(
                    f"--{prefix}-rating is stated hotter than {kind.name} tube is known for",
                    given=inputs[f"{prefix}_rating"].text,
                    limit=f"{kind.max_temperature_c:g} C",
                    do="give a rating at a lower temperature",
                )
            )
    elif row is not None and rating_mpa is not None:
        inputs[f"{prefix}_rating"] = Input(stated(row), f"tubing table: {row.name}")
    if shore is None and row is not None:
        shore = row.shore_a
    return TubeInput(
        inner_mm=inner if inner is not None else float("nan"),
        outer_mm=outer,
        inner_tolerance_mm=tolerance,
        row=row,
        material=material,
        shore_a=shore,
        rating_mpa=rating_mpa,
        rating_c=rating_c,
    )


def stated(tube: Tube) -> str:
    """Return a tube's stated rating with its unit, as people read it."""
    found = re.match(r"\d+(?:-\d+)?", tube.stated_rating)
    if found is None:
        return f"{tube.stated_rating} (psi)"
    return f"{found[0]} psi{tube.stated_rating[found.end() :]}"


def _match(
    inner_mm: float,
    outer_mm: float,
    word: str,
    prefix: str,
    inputs: dict[str, Input],
    warnings: list[str],
) -> Tube | None:
    """Return the row a measured tube is; of several, the one with the lowest stated rating."""
    rows = catalog.match_tube(inner_mm, outer_mm, word)
    if not rows:
        warnings.append(
            f"no row of the tubing table is {inner_mm:.2f} x {outer_mm:.2f} mm {word}: its "
            "stiffness is that of the material alone and its rating is not known (--tube-rating)"
        )
        return None
    rated = [row for row in rows if row.rating_mpa is not None]
    row = (rated or rows)[0]
    if len(rated) > 1:
        warnings.append(
            f"WATCH OUT: {word} {inner_mm:.2f} x {outer_mm:.2f} mm is sold with different ratings ("
            + "; ".join(f"{tube.name}: {stated(tube)}" for tube in rated)
            + f"). The lowest counts. Name yours with --{prefix}, or its grade with "
            f"--{prefix}-material"
        )
    inputs[prefix] = Input(row.name, "matched in the tubing table within 0.05 mm")
    # Drip tubing of the same size goes on the same barb and holds a fifth of the pressure.
    twins = [
        tube
        for tube in catalog.tubes().values()
        if tube.od_mm is not None
        and tube.kind.name == row.kind.name
        and abs(tube.id_mm - inner_mm) <= 0.05
        and abs(tube.od_mm - outer_mm) <= 0.05
        and tube.rating_mpa is not None
        and row.rating_mpa is not None
        and tube.rating_mpa < 0.5 * row.rating_mpa
    ]
    if twins and len(rated) == 1:
        warnings.append(
            f"WATCH OUT: {twins[0].name} has the same size but is only stated for "
            f"{stated(twins[0])}: the barb fits both. Read the print on the tube"
        )
    return row


def _size_warning(inner_mm: float, outer_mm: float | None) -> str:
    ratings = sorted(
        {
            (tube.rating_mpa, tube.name, stated(tube))
            for tube in catalog.tubes().values()
            if abs(tube.id_mm - inner_mm) <= 0.05 and tube.rating_mpa is not None
        }
    )
    if len(ratings) > 1:
        low, high = ratings[0], ratings[-1]
        return (
            f"WATCH OUT: a bore of {inner_mm:.2f} mm fits both {low[1]} ({low[2]}) and "
            f"{high[1]} ({high[2]}): name the tube (--tube-od and --tube-material)"
        )
    missing = "--tube-od and --tube-material" if outer_mm is None else "--tube-material"
    return f"the tube is known by its bore alone: {missing} would let its checks be made"


def _read_rating(text: str, name: str = "--tube-rating") -> tuple[float, float]:
    """Return a stated rating [MPa] and its temperature [degree C], 23 unless said."""
    parts = re.split(r"\s*(?:@|\bat\b)\s*", text, maxsplit=1)
    pressure = units.parse_pressure(parts[0], name=name)
    temperature = units.parse_temperature(parts[1], name=name) if len(parts) == 2 else 23.0
    return pressure, temperature


def _read_shore(text: str, name: str = "--shore") -> float:
    found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*A?\s*", text, re.IGNORECASE)
    if found is None or not 20.0 <= float(found[1]) <= 95.0:
        raise InputError(
            Fault(
                f"{name} is no Shore A hardness",
                given=text[:40],
                limit="20 to 95",
                do="above 95A give --tube-material instead",
            )
        )
    return float(found[1])


def _read_wood(text: str, name: str = "--wood") -> WoodInput:
    """Return wood by species, or by group and green specific gravity ("hardwood 0.55")."""
    found = re.fullmatch(
        r"\s*(?:(hardwood|softwood)\s*)?(?:G\s*=?\s*)?(\d*\.\d+|\d+)\s*(hardwood|softwood)?\s*",
        text,
        re.IGNORECASE,
    )
    if found is None:
        record = catalog.find_wood(text)
        return WoodInput(record.name, record.specific_gravity_green, record.is_hardwood, record)
    gravity = float(found[2])
    group = (found[1] or found[3] or "").casefold()
    faults = []
    if not 0.2 <= gravity <= 1.0:
        faults.append(
            Fault(
                f"{name} is no green specific gravity",
                given=text[:40],
                limit="0.2 to 1.0",
                do="name a species, or give a specific gravity such as `hardwood 0.55`",
            )
        )
    if not group:
        faults.append(
            Fault(
                f"{name} needs its group: `hardwood {found[2]}` or `softwood {found[2]}`?",
                given=text[:40],
                do="write the group before the specific gravity",
            )
        )
    if faults:
        raise InputError(faults)
    return WoodInput(f"{group} of specific gravity {gravity:g}", gravity, group == "hardwood", None)


def _read_service(
    text: str | None,
    material: Material | None,
    inputs: dict[str, Input],
    collect: FaultCollector,
) -> Service | None:
    """Return the calibrated service that is named, or the one its material takes unasked."""
    if material is None or (text is not None and text.casefold() == "none"):
        return None
    if text is None:
        service = collect.read(catalog.default_service, material.id)
        if service is not None:
            inputs["service"] = Input(service.sentence, f"user profile: default for {material.id}")
        return service
    service = collect.read(catalog.find_service, text)
    if service is None:
        return None
    if service.material != material.id:
        collect.add(
            Fault(
                "--service was calibrated with another material",
                given=f"{service.name}: {service.material}",
                limit=material.id,
                do=f"use --material {service.material}, or calibrate it with this one",
            )
        )
    inputs["service"] = Input(service.sentence, inputs["service"].origin)
    return service


def _read_fluid(text: str | None, collect: FaultCollector) -> str:
    if text is None:
        return _DEFAULT_FLUID
    word = re.sub(r"[\s-]+", "_", text.strip().casefold())
    if word not in catalog.FLUID_CLASSES:
        near = difflib.get_close_matches(word, catalog.FLUID_CLASSES, 3, 0.3)
        collect.add(
            Fault(
                "--fluid is no class of liquid",
                given=text[:40],
                limit=", ".join(catalog.FLUID_CLASSES),
                do="use " + " or ".join(near) if near else "use `unknown` if you cannot tell",
            )
        )
        return _DEFAULT_FLUID
    return word


def _rules_and_sizes(
    kit_set: Mapping[str, Any],
    settings: tuple[str, ...],
    collect: FaultCollector,
    *,
    usable: frozenset[str] | None = None,
) -> tuple[dict[str, float], dict[str, str], dict[str, float]]:
    """Return judgement numbers, which of them are the user's, and forced sizes.

    A kit serves all its parts, so a size that one has no use for is left out; asked for
    by option it is refused.
    """
    judgements = catalog.judgements()
    rules = {name: float(number.value) for name, number in judgements.items()}
    shipped = catalog.shipped_judgements()
    user_rules = {
        name: "user profile"
        for name, number in judgements.items()
        if name not in shipped or number.value != shipped[name].value
    }
    forced: dict[str, float] = {}
    pairs: list[tuple[str, str, str]] = []
    if not isinstance(kit_set, Mapping):
        collect.add(Fault("kit: `set` must be a table of name = value"))
        kit_set = {}
    pairs += [(str(name), str(value), "kit") for name, value in kit_set.items()]
    for setting in settings:
        name, separator, value = setting.partition("=")
        if not separator:
            collect.add(
                Fault("--set needs name=value", given=setting[:60], do="such as --set land=1mm")
            )
            continue
        pairs.append((name.strip(), value.strip(), "option"))
    for name, text, origin in pairs:
        key = name.casefold().replace("-", "_")
        if key in FORCED_SIZES:
            if usable is not None and key not in usable:
                if origin == "option":
                    collect.add(
                        Fault(f"--set {key}: this part has no such size", given=text,
                              limit=", ".join(sorted(usable)), do="leave it out")
                    )  # fmt: skip
                continue
            size = collect.read(_read_forced, text, key)
            if size is not None:
                forced[key] = size
        elif key in judgements:
            number = judgements[key]
            figure = collect.read(_read_set, text, number.unit, f"--set {key}")
            if figure is None:
                continue
            if not number.least <= figure <= number.most:
                collect.add(
                    Fault(
                        f"--set {key} is outside sense",
                        given=text,
                        limit=f"{number.least:g} to {number.most:g} {number.unit}",
                        do=f"it means: {number.meaning}",
                    )
                )
                continue
            if key in _WHOLE and figure != int(figure):
                collect.add(
                    Fault(f"--set {key} is no whole number", given=text, do="give a whole number")
                )
                continue
            rules[key] = figure
            user_rules[key] = origin
        else:
            every = [*FORCED_SIZES, *judgements]
            near = difflib.get_close_matches(key, every, 3, 0.4)
            collect.add(
                Fault(
                    f"--set knows no {name[:40]!r}",
                    do=f"did you mean {' or '.join(near)}?"
                    if near
                    else f"sizes: {', '.join(FORCED_SIZES)}",
                )
            )
    return rules, user_rules, forced


def _read_forced(text: str, key: str) -> float:
    """Return a forced size within sense."""
    unit = FORCED_SIZES[key]
    size = _read_set(text, unit, f"--set {key}")
    least, most = _FORCED_SENSE.get(key, _FORCED_LENGTH)
    if not least <= size <= most or (key == "side_ports" and size not in (0.0, 1.0)):
        shown = "0 or 1" if key == "side_ports" else f"{least:g} to {most:g} {unit}".strip(" -")
        raise InputError(
            Fault(f"--set {key} is outside sense", given=text[:40], limit=shown, do="check it")
        )
    return size


def _read_set(text: str, unit: str, name: str) -> float:
    """Return a forced number; lengths and other dimensions need their unit."""
    if unit == "mm":
        return units.parse_length(text, name=name, zero_allowed=True)
    reader = {"MPa": units.parse_pressure, "N": units.parse_force, "C": units.parse_temperature}
    if unit in reader:
        return reader[unit](text, name=name)
    plain = re.sub(r"\s*(deg|degrees?|Shore A|A|m/s)$", "", text.strip())
    try:
        value = float(plain)
    except ValueError:
        value = float("nan")
    if not np.isfinite(value) or value < 0.0:
        raise InputError(
            Fault(
                f"{name} is no number",
                given=text[:40],
                limit="a plain number" if unit == "-" else f"a number in {unit}",
                do="write digits, such as 0.05 or 1",
            )
        )
    return value


# --- from records to numbers ----------------------------------------------------------------


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
    rules = job.rules
    if job.hole_mm is not None:
        spread = rules["measured_hole_tolerance_mm"]
        low, high = job.hole_mm - spread, job.hole_mm + spread
    else:
        low = job.bit.diameter_mm + rules["hole_oversize_low_mm"]
        high = job.bit.diameter_mm + rules["hole_oversize_high_mm"]
    return Conditions(
        pressure_mpa=job.relief_mpa if job.relief_mpa is not None else job.pressure_mpa,
        working_mpa=job.pressure_mpa,
        temperature_c=job.temperature_c,
        tubes=tuple(tube_conditions(tube, job.temperature_c, rules) for tube in job.tubes),
        bit_mm=job.bit.diameter_mm,
        hole_low_mm=low,
        hole_high_mm=high,
        bark_mm=job.bark_mm,
        wood=wood_conditions(job.wood, rules),
        material=_as_calibrated(
            material_conditions(job.material, job.temperature_c, rules), job.service
        ),
        suitability=suitability(job.material, job.fluid),
        clamp=job.clamp,
        rules=rules,
        outside_offset_mm=job.service.outside_offset_mm if job.service is not None else 0.0,
        bore_offset_mm=job.service.bore_offset_mm if job.service is not None else 0.0,
    )


def _as_calibrated(material: MaterialConditions, service: Service | None) -> MaterialConditions:
    """Return a material with the tolerance its service was found to hold."""
    return material if service is None else replace(material, tolerance_mm=service.tolerance_mm)


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
    if kind in _RUBBERS and shore_a is not None:
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
    row, word = tube.row, tube.material
    kind = row.kind if row is not None else (word.kind if word is not None else None)
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
    elastomer = kind is not None and kind.name in _RUBBERS and shore_low is not None
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
        inner_tolerance_mm=tube.inner_tolerance_mm,
        modulus_low_mpa=_or_nan(low),
        modulus_high_mpa=_or_nan(high),
        yield_low_mpa=_or_nan(yields[0]),
        yield_high_mpa=_or_nan(yields[1]),
        elastomer=elastomer,
        temperature_factor=heat,
        rating_mpa=rating,
        burst_strength_mpa=burst,
        expansion=default_expansion(kind.name if kind else None, shore_low, rules),
    )


def _or_nan(value: float | None) -> float:
    return float("nan") if value is None else float(value)


def wood_conditions(wood: WoodInput | None, rules: Mapping[str, float]) -> WoodConditions:
    """Return green wood as numbers; missing figures are regressed, never skipped.

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
        wood = WoodInput("default", rules["wood_specific_gravity_default"], True, None)
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
    return WoodConditions(crush, float(splitting_pressure(tension, edge)), known)


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
        allowable_mpa=material.allowable_mpa(temperature_c),
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
