"""A chain's inputs: read from a kit's `[chain]` table and from options, all faults at once."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from barbwright import catalog, units
from barbwright.catalog import Tree, Uptake, find
from barbwright.chain.plan import MAX_PORTS
from barbwright.errors import Fault, InputError, quoted
from barbwright.job.record import Input
from barbwright.job.texts import FromFile, is_plain
from barbwright.say import IMPERIAL, one_of, voice_for
from barbwright.units import FaultCollector


class Sense(NamedTuple):
    """A quantity, and the range outside which only a slipped unit can explain it.

    Attributes
    ----------
    kind : str
        As `units` knows it.
    least, most : float
        In the kind's inside unit; a quantity from 0 may be zero.
    words : str
        The range in words; empty of a pressure, which is told in the unit that was typed.
    """

    kind: str
    least: float
    most: float
    words: str = ""

    def said_of(self, text: str) -> str:
        """Return the range in words to whoever typed a text outside it."""
        if self.words:
            return self.words
        voice = voice_for(text) or IMPERIAL
        return f"{voice.demand(self.least)} to {voice.limit(self.most)}"


@dataclass(frozen=True)
class ChainInput:
    """One input a chain can be asked for.

    Attributes
    ----------
    name : str
        In a kit's `[chain]` table; with dashes, the option.
    help : str
        What `--help` says of it.
    sense : Sense or None
        What it measures, where it is one quantity.
    yes_or_no : bool
        Whether it is told by yes or no, and not by a text.
    """

    name: str
    help: str
    sense: Sense | None = None
    yes_or_no: bool = False


# Every input of a chain, in the order in which they are printed.
CHAIN_INPUTS = (
    ChainInput("ports", "Number of ports; else from the girth and the spacing."),
    ChainInput(
        "girth", "Girth of the trunk at the ports.", Sense("length", 50.0, 30000.0, "50 mm to 30 m")
    ),
    ChainInput(
        "trunk_diameter",
        "Diameter of the trunk at the ports.",
        Sense("length", 15.0, 10000.0, "15 mm to 10 m"),
    ),
    ChainInput(
        "spacing",
        "Port to port along the bark, at most; default 150 mm.",
        Sense("length", 20.0, 5000.0, "20 mm to 5 m"),
    ),
    ChainInput(
        "line_length",
        "Tube cut between two tees; default the spacing and 5 % slack.",
        Sense("length", 5.0, 10000.0, "5 mm to 10 m"),
    ),
    ChainInput(
        "supply_length",
        "Tube from the vessel to the first tee; default 2 m.",
        Sense("length", 0.0, 200000.0, "0 to 200 m"),
    ),
    ChainInput(
        "supply_tube_id",
        "Bore of that tube, where it is another.",
        Sense("length", 1.0, 60.0, "1 to 60 mm"),
    ),
    ChainInput("supply_loss", "Loss coefficient of valves and couplers in it."),
    ChainInput(
        "heights", "Height of the ports above the vessel's gauge: one, or one a port, with commas."
    ),
    ChainInput(
        "tree", "A tree of your own field logs, by its name; else --species says what it takes."
    ),
    ChainInput("species", "Tree whose uptake was measured, such as `red oak`."),
    ChainInput("measured", 'Better: your own, one port, "450 mL, 6 min, 40 psi".'),
    ChainInput(
        "measured_temperature",
        "Water's temperature at that; default 20C.",
        Sense("temperature", 0.0, 50.0, "0 to 50 C"),
    ),
    ChainInput(
        "water_temperature",
        "Temperature of the water; default 20C.",
        Sense("temperature", 0.0, 50.0, "0 to 50 C"),
    ),
    ChainInput(
        "viscosity",
        "Of another liquid, such as 1.6mPas.",
        Sense("viscosity", 0.1, 2000.0, "0.1 to 2000 mPa s"),
    ),
    ChainInput(
        "density",
        "Of another liquid, such as 1.05kg/L.",
        Sense("density", 500.0, 2500.0, "500 to 2500 kg/m3"),
    ),
    ChainInput(
        "volume_per_tree",
        "Volume you want to deliver; it only sets the times.",
        Sense("volume", 1.0, 1000000.0, "1 mL to 1000 L"),
    ),
    ChainInput(
        "vessel_volume",
        "Whole volume of the vessel.",
        Sense("volume", 50.0, 2000000.0, "50 mL to 2000 L"),
    ),
    ChainInput("fill", "Liquid filled in.", Sense("volume", 1.0, 2000000.0, "1 mL to 2000 L")),
    ChainInput("air_head", "Or the air above it.", Sense("volume", 0.0, 2000000.0, "0 to 2000 L")),
    ChainInput(
        "reserve",
        "Liquid that must stay in; default 5 %, at least 100 mL.",
        Sense("volume", 0.0, 2000000.0, "0 to 2000 L"),
    ),
    ChainInput(
        "regulated",
        "A regulator holds the pressure, or the air head runs down (default).",
        yes_or_no=True,
    ),
    ChainInput("vessel_rating", "Rating of the vessel.", Sense("pressure", 0.02, 10.0)),
    ChainInput(
        "recharge_at",
        "Pressure at which you pump up again; default 75 % of the start.",
        Sense("pressure", 0.001, 2.0),
    ),
    ChainInput(
        "vessel_temperature",
        "Temperature when filled; default 20C.",
        Sense("temperature", -10.0, 60.0, "-10 to 60 C"),
    ),
)
CHAIN_INPUT_NAMES = tuple(one.name for one in CHAIN_INPUTS)
_HEIGHT_LIMIT_MM = 20000.0
# Answers to the same question: one given as an option drops all the kit says of its group.
_GROUPS = (
    ("ports", "girth", "trunk_diameter"),
    ("species", "measured", "tree"),
    ("water_temperature", "viscosity", "density"),
    ("fill", "air_head"),
)
_EXCLUSIVE = (
    ("girth", "trunk_diameter"),
    ("species", "measured"),
    ("tree", "measured"),
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
    measured_kpa : float or None
        Pressure it was measured at, gauge [kPa].
    tree : Tree or None
        A tree whose own conductance a field log told.
    regulated : bool
        Whether a regulator holds the pressure.
    """

    inputs: dict[str, Input]
    values: dict[str, float]
    ports: int | None
    heights_mm: tuple[float, ...]
    species: Uptake | None
    measured_ml_min_kpa: float | None
    measured_kpa: float | None
    tree: Tree | None
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
    told = _Told(options, _unanswered(kit or {}, options))
    values = _values(told)
    ports = told.read("ports", _whole_number)
    heights = told.read("heights", _heights)
    species = told.read("species", _species)
    measured = told.read("measured", _measured)
    tree = told.read("tree", catalog.find_tree)
    regulated = told.given("regulated")
    if not isinstance(regulated, (bool, type(None))):
        fault = Fault("kit: chain: regulated is of the wrong type", quoted(repr(regulated)),
                      "true or false")  # fmt: skip
        told.faults.add(fault)
    _together(told)
    _vessel(told, values, regulated=bool(regulated))
    if isinstance(kit, FromFile):
        told.faults.faults = kit.in_its_words(told.faults.faults, options)
    told.faults.raise_if_any(InputError)
    inputs = told.inputs
    return ChainInputs(
        inputs={name: inputs[name] for name in CHAIN_INPUT_NAMES if name in inputs},
        values=values,
        ports=ports,
        heights_mm=heights or (),
        species=species,
        measured_ml_min_kpa=None if measured is None else measured[0],
        measured_kpa=None if measured is None else measured[1],
        tree=tree,
        regulated=bool(regulated),
    )


class _Told:
    """What options and a kit's table say, asked name by name; an option goes before the kit."""

    def __init__(self, options: Mapping[str, Any], kit: Mapping[str, Any]) -> None:
        self._sources = (("option", options), ("kit", kit))
        self.inputs: dict[str, Input] = {}
        self.faults = FaultCollector()
        for name in kit:
            if name not in CHAIN_INPUT_NAMES:
                near = difflib.get_close_matches(name, CHAIN_INPUT_NAMES, 1)
                do = f"use {near[0]!r}" if near else "see `barbwright chain --help`, with _ for -"
                self.faults.add(Fault(f"kit: chain: unknown input {quoted(name)!r}", do=do))

    def label(self, name: str) -> str:
        """Return what an input is called where it was given."""
        if name in self.inputs and self.inputs[name].origin == "kit":
            return f"kit: chain.{name}"
        return "--" + name.replace("_", "-")

    def given(self, name: str) -> Any:
        """Return what was given, and keep it as it is printed; None where nothing was."""
        for origin, source in self._sources:
            value = source.get(name)
            if value is None:
                continue
            if isinstance(value, bool):
                text = "yes" if value else "no"
            elif isinstance(value, (list, tuple)):
                text = ", ".join(map(str, value))
            else:
                text = str(value).strip()
            self.inputs[name] = Input(text, origin)
            return value if is_plain(text, self.label(name), self.faults) else None
        return None

    def read(self, name: str, reader: Callable[..., Any], **more: Any) -> Any:
        """Return what a reader makes of an input; None where nothing was given, or a fault."""
        if self.given(name) is None:
            return None
        return self.faults.read(reader, self.inputs[name].text, name=self.label(name), **more)


def _unanswered(kit: Mapping[str, Any], options: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return a kit's table without what an option answers in another way."""
    answered: set[str] = set()
    for group in _GROUPS:
        asked = {name for name in group if options.get(name) is not None}
        # Another number of ports goes round the same trunk.
        if asked and not (group == _GROUPS[0] and asked == {"ports"}):
            answered |= set(group)
    if isinstance(kit, FromFile):
        return kit.without(answered)
    return {name: value for name, value in kit.items() if name not in answered}


def _values(told: _Told) -> dict[str, float]:
    """Return every quantity that makes sense, in its inside unit."""
    values: dict[str, float] = {}
    for one in CHAIN_INPUTS:
        name, sense = one.name, one.sense
        if sense is None:
            continue
        number = told.read(name, _quantity, kind=sense.kind, zero_allowed=sense.least == 0.0)
        if number is None:
            continue
        if sense.least <= number <= sense.most:
            values[name] = number
        else:
            fault = Fault(f"{told.label(name)} is outside sense", told.inputs[name].text,
                          sense.said_of(told.inputs[name].text), "check the unit")  # fmt: skip
            told.faults.add(fault)
    loss = told.read("supply_loss", _plain_number)
    if loss is not None:
        values["supply_loss"] = loss
    return values


def _together(told: _Told) -> None:
    """Add a fault for what says the same thing twice, and for one half of another liquid."""
    inputs, label = told.inputs, told.label
    for first, second in _EXCLUSIVE:
        if first in inputs and second in inputs:
            told.faults.add(
                Fault(
                    f"{label(first)} and {label(second)} both say the same thing",
                    given=f"{quoted(inputs[first].text)}; {quoted(inputs[second].text)}",
                    do="leave one of them out",
                )
            )
    if ("viscosity" in inputs) != ("density" in inputs):
        missing = "density" if "viscosity" in inputs else "viscosity"
        told.faults.add(
            Fault(
                f"{label(missing)} is missing",
                do="give viscosity and density together, or --water-temperature for water",
            )
        )


def _vessel(told: _Told, values: Mapping[str, float], *, regulated: bool) -> None:
    """Add a fault for what is told of a vessel that is not there, or does not fit in it."""
    inputs, label = told.inputs, told.label
    for name in ("fill", "air_head", "reserve", "regulated", "vessel_rating", "recharge_at"):
        needless = name in inputs and "vessel_volume" not in inputs
        if needless and not (name == "regulated" and regulated):
            told.faults.add(
                Fault(
                    f"{label(name)} needs the vessel",
                    given=quoted(inputs[name].text),
                    do="give --vessel-volume as well",
                )
            )
    if "vessel_volume" in inputs and not {"fill", "air_head"} & set(inputs):
        told.faults.add(
            Fault(
                "the vessel's filling is missing",
                do="give --fill (the liquid) or --air-head (the air above it)",
            )
        )
    if "air_head" in values and "vessel_volume" in values:
        air_ml, whole_ml = values["air_head"], values["vessel_volume"]
        if air_ml >= whole_ml:
            told.faults.add(
                Fault(
                    f"{label('air_head')} leaves no liquid in the vessel",
                    given=quoted(inputs["air_head"].text),
                    limit=f"under the vessel's {quoted(inputs['vessel_volume'].text)}",
                    do="give less air, or --fill (the liquid) instead",
                )
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
    more = "; or --measured, one port of your own"
    return find(catalog.uptakes(), text, name, where="`barbwright list species`", more=more)


def _measured(text: str, name: str) -> tuple[float, float]:
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
    pressure_kpa = pressure_mpa / one_of("pressure", "kPa")
    value = volume_ml / (seconds / 60.0) / pressure_kpa
    if not 1e-6 <= value <= 1e4:
        raise InputError(
            Fault(
                f"{name} is outside sense",
                given=f"{quoted(text)}: {value:.3g} mL/min per kPa",
                limit="1e-6 to 1e4 mL/min per kPa",
                do="check the units",
            )
        )
    return value, pressure_kpa
