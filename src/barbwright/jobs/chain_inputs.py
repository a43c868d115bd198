"""A chain's inputs: read from a kit's `[chain]` table and from options, all faults at once."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from barbwright import catalog, units
from barbwright.catalog import Uptake, find
from barbwright.chain.plan import MAX_PORTS
from barbwright.errors import Fault, InputError, quoted
from barbwright.job.record import Input
from barbwright.say import one_of
from barbwright.units import FaultCollector

# Name, kind of quantity, and the range outside which only a slipped unit can explain it.
_QUANTITIES: dict[str, tuple[str, float, float, str]] = {
    "girth": ("length", 50.0, 30000.0, "50 mm to 30 m"),
    "trunk_diameter": ("length", 15.0, 10000.0, "15 mm to 10 m"),
    "spacing": ("length", 20.0, 5000.0, "20 mm to 5 m"),
    "line_length": ("length", 5.0, 10000.0, "5 mm to 10 m"),
    "supply_length": ("length", 0.0, 200000.0, "0 to 200 m"),
    "supply_tube_id": ("length", 1.0, 60.0, "1 to 60 mm"),
    "measured_temperature": ("temperature", 0.0, 50.0, "0 to 50 C"),
    "water_temperature": ("temperature", 0.0, 50.0, "0 to 50 C"),
    "viscosity": ("viscosity", 0.1, 2000.0, "0.1 to 2000 mPa s"),
    "density": ("density", 500.0, 2500.0, "500 to 2500 kg/m3"),
    "volume_per_tree": ("volume", 1.0, 1e6, "1 mL to 1000 L"),
    "vessel_volume": ("volume", 50.0, 2e6, "50 mL to 2000 L"),
    "fill": ("volume", 1.0, 2e6, "1 mL to 2000 L"),
    "air_head": ("volume", 0.0, 2e6, "0 to 2000 L"),
    "reserve": ("volume", 0.0, 2e6, "0 to 2000 L"),
    "vessel_rating": ("pressure", 0.02, 10.0, "20 kPa to 10 MPa"),
    "recharge_at": ("pressure", 0.001, 2.0, "1 kPa to 2 MPa"),
    "vessel_temperature": ("temperature", -10.0, 60.0, "-10 to 60 C"),
}
_ZERO_ALLOWED = {"supply_length", "air_head", "reserve"}
_HEIGHT_LIMIT_MM = 20000.0
CHAIN_INPUT_NAMES = (
    "ports", "girth", "trunk_diameter", "spacing", "line_length", "supply_length",
    "supply_tube_id", "supply_loss", "heights", "species", "measured", "measured_temperature",
    "water_temperature", "viscosity", "density", "volume_per_tree", "vessel_volume", "fill",
    "air_head", "reserve", "regulated", "vessel_rating", "recharge_at", "vessel_temperature",
)  # fmt: skip
# Answers to the same question: one given as an option drops all the kit says of its group.
_GROUPS = (
    ("ports", "girth", "trunk_diameter"),
    ("species", "measured"),
    ("water_temperature", "viscosity", "density"),
    ("fill", "air_head"),
)
_EXCLUSIVE = (
    ("girth", "trunk_diameter"),
    ("species", "measured"),
    ("water_temperature", "viscosity"),
    ("water_temperature", "density"),
    ("fill", "air_head"),
)


@dataclass(frozen=True, kw_only=True)
class ChainInputs:
    """What was said of a chain, as numbers; None where nothing was.

    Attributes
    ----------
    inputs : dict of str to Input
        Every input with its origin, as printed.
    values : dict of str to float
        Quantities by name: lengths [mm], pressures [MPa], volumes [mL], temperatures [C],
        viscosity [mPa s], density [kg/m3]; `supply_loss` [-].
    ports : int or None
        Number of ports [-].
    heights_mm : tuple of float
        Height of each port above the vessel's gauge [mm].
    species : Uptake or None
        Row of the uptake table.
    measured_ml_min_kpa : float or None
        Conductance of one port as measured [mL/(min kPa)].
    regulated : bool
        Whether a regulator holds the pressure.
    """

    inputs: dict[str, Input]
    values: dict[str, float]
    ports: int | None
    heights_mm: tuple[float, ...]
    species: Uptake | None
    measured_ml_min_kpa: float | None
    regulated: bool


def read_chain_inputs(
    options: Mapping[str, Any], kit: Mapping[str, Any] | None = None
) -> ChainInputs:
    """Return a chain's inputs as numbers, all faults at once.

    Parameters
    ----------
    options : mapping
        Input name to text as given on the command line; None where not given.
    kit : mapping, optional
        The `[chain]` table of a kit file, same names.

    Returns
    -------
    ChainInputs
        Numbers, each with where it came from.

    Raises
    ------
    InputError
        With every fault found.
    """
    collect = FaultCollector()
    kit = dict(kit or {})
    for name in kit:
        if name not in CHAIN_INPUT_NAMES:
            near = difflib.get_close_matches(name, CHAIN_INPUT_NAMES, 1)
            do = f"use {near[0]!r}" if near else f"use one of {', '.join(CHAIN_INPUT_NAMES)}"
            collect.add(Fault(f"kit: chain: unknown input {quoted(name)!r}", do=do))
    for group in _GROUPS:
        asked = {name for name in group if options.get(name) is not None}
        # Another number of ports goes round the same trunk.
        if asked and not (group == _GROUPS[0] and asked == {"ports"}):
            for name in group:
                kit.pop(name, None)
    inputs: dict[str, Input] = {}

    def label(name: str) -> str:
        if name in inputs and inputs[name].origin == "kit":
            return f"kit: chain.{name}"
        return "--" + name.replace("_", "-")

    def given(name: str) -> Any:
        for origin, source in (("option", options), ("kit", kit)):
            value = source.get(name)
            if value is None:
                continue
            if isinstance(value, bool):
                text = "yes" if value else "no"
            elif isinstance(value, (list, tuple)):
                text = ", ".join(map(str, value))
            else:
                text = str(value).strip()
            inputs[name] = Input(text, origin)
            return value
        return None

    def read(name: str, reader: Callable[..., Any], **more: Any) -> Any:
        if given(name) is None:
            return None
        return collect.read(reader, inputs[name].text, name=label(name), **more)

    values: dict[str, float] = {}
    for name, (kind, least, most, limit) in _QUANTITIES.items():
        number = read(name, _quantity, kind=kind, zero_allowed=name in _ZERO_ALLOWED)
        if number is None:
            continue
        if not least <= number <= most:
            fault = Fault(f"{label(name)} is outside sense", inputs[name].text, limit,
                          "check the unit")  # fmt: skip
            collect.add(fault)
            continue
        values[name] = number
    loss = read("supply_loss", _plain_number)
    if loss is not None:
        values["supply_loss"] = loss
    ports = read("ports", _whole_number)
    heights = read("heights", _heights)
    species = read("species", _species)
    measured = read("measured", _measured)
    regulated = given("regulated")
    if not isinstance(regulated, (bool, type(None))):
        fault = Fault("kit: chain: regulated is of the wrong type", quoted(repr(regulated)),
                      "true or false")  # fmt: skip
        collect.add(fault)
    for first, second in _EXCLUSIVE:
        if first in inputs and second in inputs:
            collect.add(
                Fault(
                    f"{label(first)} and {label(second)} both say the same thing",
                    given=f"{quoted(inputs[first].text)}; {quoted(inputs[second].text)}",
                    do="leave one of them out",
                )
            )
    if ("viscosity" in inputs) != ("density" in inputs):
        missing = "density" if "viscosity" in inputs else "viscosity"
        collect.add(
            Fault(
                f"{label(missing)} is missing",
                do="give viscosity and density together, or --water-temperature for water",
            )
        )
    for name in ("fill", "air_head", "reserve", "regulated", "vessel_rating", "recharge_at"):
        needless = name in inputs and "vessel_volume" not in inputs
        if needless and not (name == "regulated" and regulated):
            collect.add(
                Fault(
                    f"{label(name)} needs the vessel",
                    given=quoted(inputs[name].text),
                    do="give --vessel-volume as well",
                )
            )
    if "vessel_volume" in inputs and not {"fill", "air_head"} & set(inputs):
        collect.add(
            Fault(
                "the vessel's filling is missing",
                do="give --fill (the liquid) or --air-head (the air above it)",
            )
        )
    if "air_head" in values and "vessel_volume" in values:
        air_ml, whole_ml = values["air_head"], values["vessel_volume"]
        if air_ml >= whole_ml:
            collect.add(
                Fault(
                    f"{label('air_head')} leaves no liquid in the vessel",
                    given=quoted(inputs["air_head"].text),
                    limit=f"under the vessel's {quoted(inputs['vessel_volume'].text)}",
                    do="give less air, or --fill (the liquid) instead",
                )
            )
    collect.raise_if_any(InputError)
    return ChainInputs(
        inputs={name: inputs[name] for name in CHAIN_INPUT_NAMES if name in inputs},
        values=values,
        ports=ports,
        heights_mm=heights or (),
        species=species,
        measured_ml_min_kpa=measured,
        regulated=bool(regulated),
    )


def _quantity(text: str, name: str, kind: str, zero_allowed: bool) -> float:
    return units.parse_quantity(text, kind, name=name, zero_allowed=zero_allowed)


def _plain_number(text: str, name: str) -> float:
    """Return a plain number, 0 to 10 000."""
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    # A digit check keeps out nan, inf, and python's 1_000.
    if not re.fullmatch(r"\+?[0-9.eE+-]{1,20}", text) or not 0.0 <= value <= 1e4:
        do = "write it like 12.5"
        raise InputError(Fault(f"{name} is no number", quoted(text), "0 to 10000, no unit", do))
    return value


def _whole_number(text: str, name: str) -> int:
    if not re.fullmatch(r"[0-9]{1,4}", text) or not 1 <= int(text) <= MAX_PORTS:
        limit = f"a whole number, 1 to {MAX_PORTS}"
        raise InputError(Fault(f"{name} is no number of ports", quoted(text), limit))
    return int(text)


def _heights(text: str, name: str) -> tuple[float, ...]:
    """Return heights, one for all ports or one a port, from a comma-separated text."""
    collect = FaultCollector()
    found = []
    for part in text.split(",")[: MAX_PORTS + 1]:
        height = collect.read(units.parse_length, part, name=name, negative_allowed=True)
        if height is not None and abs(height) > _HEIGHT_LIMIT_MM:
            collect.add(Fault(f"{name} is outside sense", quoted(part.strip()), "within 20 m"))
        found.append(height)
    collect.raise_if_any(InputError)
    return tuple(height for height in found if height is not None)


def _species(text: str, name: str) -> Uptake:
    """Return a row of the uptake table by common or scientific name."""
    rows = catalog.uptakes()
    try:
        return find(rows, text, name)
    except InputError as error:
        known = ", ".join(row.name for row in rows.values())
        raise InputError(
            [Fault(f.what, f.given, f"measured: {known}", f"{f.do}; or --measured")
             for f in error.faults]
        ) from None  # fmt: skip


def _measured(text: str, name: str) -> float:
    """Return one port's conductance from "volume, time, pressure" [mL/(min kPa)]."""
    parts: Sequence[str] = text.split(",")
    if len(parts) != 3:
        raise InputError(
            Fault(
                f"{name} needs volume, time and pressure of one port",
                given=quoted(text),
                do='write it like "450 mL, 6 min, 40 psi"',
            )
        )
    collect = FaultCollector()
    volume_ml = collect.read(units.parse_volume, parts[0], name=name)
    seconds = collect.read(units.parse_time, parts[1], name=name)
    pressure_mpa = collect.read(units.parse_pressure, parts[2], name=name)
    collect.raise_if_any(InputError)
    assert volume_ml is not None
    assert seconds is not None
    assert pressure_mpa is not None
    value = volume_ml / (seconds / 60.0) / (pressure_mpa / one_of("pressure", "kPa"))
    if not 1e-6 <= value <= 1e4:
        raise InputError(
            Fault(
                f"{name} is outside sense",
                given=f"{quoted(text)}: {value:.3g} mL/min per kPa",
                limit="1e-6 to 1e4 mL/min per kPa",
                do="check the units",
            )
        )
    return value
