"""Numbers into words: the one place that rounds what a person or a program will read.

Whatever must not be exceeded is a `limit` and is rounded down, whatever must be reached is a
`demand` and is rounded up, in every unit printed: each figure of a line, typed back in, keeps the
promise by itself. Anything else is `plain`, to the nearest. Inside stay MPa, N, N mm, mm and mL.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Literal

from barbwright import units

Way = Literal["down", "up", "nearest"]
Kind = Literal["pressure", "force", "torque", "length"]

# The unit to lead with and the one in brackets, with the decimals that are worth reading.
_PAIRS: dict[Kind, tuple[str, str]] = {
    "force": ("N", "lbf"),
    "torque": ("N m", "in lbf"),
    "length": ("mm", "in"),
}
# Of a pressure the unit that was typed leads, and the other country's stands in brackets.
Gauge = Literal["psi", "kPa", "bar"]
_BESIDE_GAUGE: dict[Gauge, str] = {"psi": "kPa", "kPa": "psi", "bar": "psi"}
_DECIMALS = {
    "psi": 1, "kPa": 0, "bar": 2, "N": 0, "lbf": 1, "N m": 2, "in lbf": 1, "mm": 0, "in": 2,
}  # fmt: skip
# Decimals of what a gauge is brought to, of a table's cell, and of a change in a minute.
_TO_SET, _IN_CELL, _A_MINUTE = (
    {"psi": 0, "kPa": 0, "bar": 1},
    {"psi": 1, "kPa": 1, "bar": 2},
    {"psi": 2, "kPa": 2, "bar": 4},
)
_MOST_DECIMALS = 6
# What a product of two numbers may be off by itself: 60 psi reached as 1.5 x 40 psi is 60 psi.
_LAST_BITS = Fraction(1, 10**14)


def figure(
    value: float, kind: Kind, unit: str, way: Way = "nearest", decimals: int | None = None
) -> str:
    """Return one number in one unit, without the unit and without idle zeros.

    Parameters
    ----------
    value : float
        In the inside unit of its kind [MPa, N, N mm or mm].
    kind : {"pressure", "force", "torque", "length"}
        Kind of quantity [-].
    unit : str
        Such as "psi" [-].
    way : {"down", "up", "nearest"}
        Down for a limit, up for what must be reached [-].
    decimals : int, optional
        How many, where the usual ones of the unit do not do [-].

    Returns
    -------
    str
        Such as "119.8"; "any" where there is no bound [-].
    """
    if not math.isfinite(value):
        return "any"
    if decimals is None:
        decimals = _DECIMALS[unit]
        # A tenth of a kPa counts where a whole one is more than a hundredth; of a newton too.
        decimals += int(unit in {"kPa", "bar"} and abs(value) < 0.1)
        decimals += int(unit == "N" and abs(value) < 1.0)
    return _text(_count(Fraction(value) / units.factor(kind, unit), way, decimals), decimals)


def number(value: float, kind: Kind, unit: str, way: Way, decimals: int = 2) -> float:
    """Return what `figure` says as a number, for a document a program reads.

    Parameters
    ----------
    value : float
        In the inside unit of its kind [MPa, N, N mm or mm].
    kind, unit, way, decimals
        As in `figure`; finer, for a program reads more digits than a person [-].

    Returns
    -------
    float
        In that unit; infinite where there is no bound.
    """
    return float(figure(value, kind, unit, way, decimals)) if math.isfinite(value) else value


def cell(pressure_mpa: float, unit: str, decimals: int | None = None) -> str:
    """Return a pressure for a column of a table: to the nearest, with all its decimals.

    Parameters
    ----------
    pressure_mpa : float
        Gauge pressure [MPa].
    unit : str
        What the column's head says [-].
    decimals : int, optional
        The same down the column, where the usual ones of the unit do not do [-].

    Returns
    -------
    str
        Such as "45.0" [-].
    """
    decimals = _IN_CELL[unit] if decimals is None else decimals
    exact = Fraction(pressure_mpa) / units.factor("pressure", unit)
    return _digits(_count(exact, "nearest", decimals), decimals)


def to_set(pressure_mpa: float, unit: str) -> str:
    """Return a pressure [MPa] to bring a gauge to, rounded up, without its unit [-].

    Parameters
    ----------
    pressure_mpa : float
        Gauge pressure [MPa].
    unit : str
        Of the gauge; whole ones, of a bar tenths [-].
    """
    return figure(pressure_mpa, "pressure", unit, "up", _TO_SET[unit])


# What a table of checks is told in besides, by the unit a check counts in.
_BESIDE: dict[str, tuple[Kind, str]] = {"N": ("force", "lbf"), "N mm": ("torque", "in lbf")}


def leading(value: float | Fraction, way: Way, digits: int = 3) -> str:
    """Return a number that is in its unit already, by its leading digits.

    Parameters
    ----------
    value : float or Fraction
        In the unit it will be read in [-].
    way : {"down", "up", "nearest"}
        Down for what is there, up for what is asked of it [-].
    digits : int
        How many; of a small number the millionth is the last, of a large one the one [-].

    Returns
    -------
    str
        Such as "20.4", without idle zeros, never in powers of ten; "any" where there is no
        bound [-].
    """
    if not math.isfinite(value):
        return "any"
    decimals = min(max(_last_of(value, digits), 0), _MOST_DECIMALS) if value else 0
    return _text(_count(Fraction(value), way, decimals), decimals)


def digits(value: float, way: Way) -> float:
    """Return a number with six leading digits, for a document a program reads.

    Parameters
    ----------
    value : float
        In the unit it will be read in [-].
    way : {"down", "up", "nearest"}
        As in `leading`, and however small the number is [-].

    Returns
    -------
    float
        In that unit; as it is where it has no digits.
    """
    if not value or not math.isfinite(value):
        return value
    scale = Fraction(10) ** _last_of(value, 6)
    return float(_count(Fraction(value) * scale, way, 0) / scale)


def _last_of(value: float | Fraction, digits: int) -> int:
    """Return at which decimal the last of so many leading digits stands; of tens -1."""
    return digits - 1 - math.floor(math.log10(abs(float(value))))


def beside(value: float, unit: str, way: Way = "nearest") -> tuple[str, str]:
    """Return a force or torque once more, in the unit that stands beside its own.

    Parameters
    ----------
    value : float
        What is compared [N or N mm].
    unit : str
        "N" or "N mm"; any other has none beside it [-].
    way : {"down", "up", "nearest"}
        As in `leading` [-].

    Returns
    -------
    tuple of str
        Three leading digits and the unit; both empty where it has none [-].
    """
    if unit not in _BESIDE or not math.isfinite(value):
        return "", ""
    kind, other = _BESIDE[unit]
    return leading(Fraction(value) / units.factor(kind, other), way), other


def with_beside(words: str, value: float, unit: str, way: Way = "nearest") -> str:
    """Return a figure in words with its unit, and the unit that stands beside it in brackets.

    Parameters
    ----------
    words : str
        The figure as it was rounded, without its unit [-].
    value : float
        What it says [N or N mm; any other unit stands alone].
    unit : str
        Its unit; "-" has none [-].
    way : {"down", "up", "nearest"}
        The way the words were rounded [-].

    Returns
    -------
    str
        Such as "20 N (4.5 lbf)" [-].
    """
    other, its_unit = beside(value, unit, way)
    told = words if unit in {"", "-"} else f"{words} {unit}"
    return f"{told} ({other} {its_unit})" if other else told


def newtons(force_n: float, way: Way = "nearest", decimals: int = 0) -> str:
    """Return a force [N], with pounds force in brackets, both rounded the same way [-].

    Parameters
    ----------
    force_n : float
        The force [N].
    way : {"down", "up", "nearest"}
        Down for what holds, up for what is asked [-].
    decimals : int
        Of the newtons; the pounds force have one more [-].
    """
    first = figure(force_n, "force", "N", way, decimals)
    return f"{first} N ({figure(force_n, 'force', 'lbf', way, decimals + 1)} lbf)"


def bare(value: float, way: Way, decimals: int) -> str:
    """Return a number that is in its unit already, with all its decimals.

    Parameters
    ----------
    value : float
        In the unit it will be read in [-].
    way : {"down", "up", "nearest"}
        Down for a limit, up for what must be reached [-].
    decimals : int
        How many [-].

    Returns
    -------
    str
        Such as "0.30"; "any" where there is no bound [-].
    """
    if not math.isfinite(value):
        return "any"
    return _digits(_count(Fraction(value), way, decimals), decimals)


def factor(value: float) -> str:
    """Return a safety factor that is there [-]: to a hundredth, rounded down."""
    return bare(value, "down", 2)


def _count(exact: Fraction, way: Way, decimals: int) -> int:
    """Return how many of the last decimal place a number is."""
    scaled = exact * Fraction(10**decimals)
    noise = abs(scaled) * _LAST_BITS
    if way == "down":
        return math.floor(scaled + noise)
    if way == "up":
        return math.ceil(scaled - noise)
    # Halves go up, as people round; round() would send them to the even neighbour.
    return math.floor(scaled + Fraction(1, 2) + noise)


def _text(count: int, decimals: int) -> str:
    text = _digits(count, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def _digits(count: int, decimals: int) -> str:
    """Return a count of last places as a decimal number: no float comes between."""
    whole = f"{abs(count):0{decimals + 1}d}"
    text = f"{whole[:-decimals]}.{whole[-decimals:]}" if decimals else whole
    return f"-{text}" if count < 0 else text


@dataclass(frozen=True)
class Voice:
    """How one user is spoken to: the unit of pressure they think in comes first.

    Attributes
    ----------
    leads : {"psi", "kPa", "bar"}
        Unit of pressure that leads; psi stand in brackets behind the other two, kPa behind psi.
    """

    leads: Gauge = "psi"

    @property
    def metric(self) -> bool:
        """Whether another unit than psi leads."""
        return self.leads != "psi"

    def pair(self, kind: Kind) -> tuple[str, str]:
        """Return the unit that leads and the one in brackets [-]."""
        return (self.leads, _BESIDE_GAUGE[self.leads]) if kind == "pressure" else _PAIRS[kind]

    def gauge(self, pressure_mpa: float) -> str:
        """Say a pressure to bring a gauge to [MPa]: what it shows, rounded up in both units."""
        return self._both("pressure", lambda unit: to_set(pressure_mpa, unit))

    def shown_mpa(self, pressure_mpa: float) -> float:
        """Return the highest pressure that `gauge` names for one [MPa], for it is rounded up."""
        return max(
            float(Fraction(to_set(pressure_mpa, unit)) * units.factor("pressure", unit))
            for unit in self.pair("pressure")
        )

    def limit(self, value: float, kind: Kind = "pressure") -> str:
        """Say what must not be exceeded [MPa, N, N mm or mm]: rounded down in both units."""
        return self._said(value, kind, "down")

    def demand(self, value: float, kind: Kind = "pressure") -> str:
        """Say what must be reached [MPa, N, N mm or mm]: rounded up in both units."""
        return self._said(value, kind, "up")

    def plain(self, value: float, kind: Kind = "pressure") -> str:
        """Say what simply is [MPa, N, N mm or mm]: to the nearest in both units."""
        return self._said(value, kind, "nearest")

    def rate(self, value_mpa: float) -> str:
        """Say a change of pressure in a minute [MPa]: hundredths, which a leak is told by."""
        return self._both(
            "pressure",
            lambda unit: figure(value_mpa, "pressure", unit, decimals=_A_MINUTE[unit]),
        )

    def _said(self, value: float, kind: Kind, way: Way) -> str:
        return self._both(kind, lambda unit: figure(value, kind, unit, way))

    def _both(self, kind: Kind, told: Callable[[str], str]) -> str:
        first, second = (f"{told(unit)} {unit}" for unit in self.pair(kind))
        return f"{first} ({second})"


def one_of(kind: Kind, unit: str) -> float:
    """Return one of a unit in the inside unit of its kind, for the axis of a plot.

    Parameters
    ----------
    kind : {"pressure", "force", "torque", "length"}
        Kind of quantity [-].
    unit : str
        Such as "psi" [-].

    Returns
    -------
    float
        In the inside unit [MPa, N, N mm or mm].
    """
    return float(units.factor(kind, unit))


IMPERIAL, METRIC, IN_BAR = Voice(), Voice("kPa"), Voice("bar")


def voice_for(text: str, kind: Kind = "pressure") -> Voice | None:
    """Return how to speak to whoever typed a pressure or a length; None where it is none.

    Parameters
    ----------
    text : str
        One number with its unit, as typed [-].
    kind : {"pressure", "length"}
        What it counts [-].
    """
    spelled = units.unit_of(text, kind)
    known = {"psi": IMPERIAL, "inch": IMPERIAL, "bar": IN_BAR}
    return None if spelled is None else known.get(spelled, METRIC)


def voice_of(inputs: Mapping[str, Any]) -> Voice:
    """Return how to speak to whoever gave these inputs.

    Parameters
    ----------
    inputs : mapping of str to Input
        A job's inputs, each with the text that was typed [-].

    Returns
    -------
    Voice
        After the unit of the pressure, else of the relief, else of the tube's bore; psi first
        where none of them tells.
    """
    asked: tuple[tuple[str, Kind], ...] = (
        ("pressure", "pressure"), ("relief", "pressure"), ("tube_id", "length"),
    )  # fmt: skip
    for name, kind in asked:
        voice = voice_for(inputs[name].text, kind) if name in inputs else None
        if voice is not None:
            return voice
    return IMPERIAL


def millimetres(size_mm: float) -> str:
    """Return a size [mm] to a hundredth, without idle zeros and without its unit [-]."""
    return _text(_count(Fraction(size_mm), "nearest", 2), 2)


def warmth(temperature_c: float) -> str:
    """Return a temperature that must not be exceeded, in both units, each rounded down [-].

    Parameters
    ----------
    temperature_c : float
        The temperature [degree C].
    """
    return f"{math.floor(temperature_c)} °C ({math.floor(temperature_c * 9.0 / 5.0 + 32.0)} °F)"


def volume(volume_ml: float) -> str:
    """Return a volume [mL] a person can measure [-]."""
    return f"{volume_ml / 1000.0:.2f} L" if volume_ml >= 1000.0 else f"{volume_ml:.0f} mL"


def minutes(time_min: float, *, at_latest: bool = False) -> str:
    """Return a time [min] without its unit, or that it has no end [-].

    Parameters
    ----------
    time_min : float
        The time [min].
    at_latest : bool
        Whether it must not be exceeded: rounded down [-].
    """
    if not math.isfinite(time_min):
        return "without end"
    if at_latest:
        time_min = math.floor(time_min) if time_min >= 10.0 else math.floor(10.0 * time_min) / 10.0
    return f"{time_min:.0f}" if time_min >= 10.0 else f"{time_min:.1f}"
