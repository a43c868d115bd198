"""The door for every number with a unit: text in, bare floats in our inside units out.

Our own pattern reads sign, number, fraction and unit, and units of our table convert by exact
fractions. pint misreads "1 1/4 in", "4,3 mm", "35C" and lets "nan mm" through, so it never sees the
user's text: it is asked about a unit that is not in the table, and says what to write instead.
Inside: mm, MPa (gauge), degrees C, N, N mm, mL, s, mPa s, kg/m3, mL/min, g.
"""

from __future__ import annotations

import functools
import math
import re
import unicodedata
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any, TypeVar

from barbwright.errors import BarbwrightError, Fault, InputError, quoted

if TYPE_CHECKING:
    import pint

T = TypeVar("T")

LONGEST_TEXT = 60

# One of each unit in its kind's inside unit, exactly: parse(format(x)) = x holds to the last bit. A
# test holds each equal to pint's; a text of ours needs no registry, which takes longer to load than
# a part to check.
_EXACT = {
    "millimeter": "1", "centimeter": "10", "meter": "1000", "inch": "25.4", "foot": "304.8",
    "pascal": "0.000001", "kilopascal": "0.001", "megapascal": "1", "bar": "0.1",
    "psi": "4.4482216152605 / 645.16",
    "degC": "1", "degF": "5 / 9",
    "newton": "1", "kilonewton": "1000", "pound_force": "4.4482216152605",
    "kilogram_force": "9.80665",
    "newton_meter": "1000", "newton_millimeter": "1",
    "inch_pound_force": "112.9848290276167", "foot_pound_force": "1355.8179483314004",
    "milliliter": "1", "liter": "1000", "gallon": "3785.411784", "fluid_ounce": "29.5735295625",
    "second": "1", "minute": "60", "hour": "3600", "day": "86400",
    "millipascal_second": "1", "pascal_second": "1000",
    "kilogram_per_cubic_meter": "1", "gram_per_milliliter": "1000",
    "milliliter_per_minute": "1", "milliliter_per_second": "60", "liter_per_minute": "1000",
    "liter_per_hour": "50 / 3", "gallon_per_hour": "3785.411784 / 60",
    "gallon_per_minute": "3785.411784",
    "gram": "1", "kilogram": "1000", "ounce": "28.349523125", "pound": "453.59237",
}  # fmt: skip
# A scale of temperature has its nought elsewhere.
_NOUGHT = {"degF": "-160 / 9"}


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """A kind of quantity: its inside unit, the spellings we read, and what a bare one may mean.

    Parameters
    ----------
    name : str
        What a message calls it, "length" [-].
    inside : str
        pint's name of the unit used inside [-].
    spellings : dict
        Spelling in the user's text to pint's name [-].
    readings : tuple of str
        The units named when the user gave none [-].
    example : str
        One right text, for messages [-].
    """

    name: str
    inside: str
    spellings: dict[str, str]
    readings: tuple[str, ...]
    example: str


def _spell(**units: str) -> dict[str, str]:
    """Turn ``inch='in inch "'`` into {'in': 'inch', ...}; "_" stands for a space."""
    return {
        spelling.replace("_", " "): unit
        for unit, text in units.items()
        for spelling in text.split()
    }


KINDS: dict[str, Quantity] = {
    "length": Quantity(
        name="length",
        inside="millimeter",
        spellings=_spell(
            millimeter="mm millimeter millimetre millimeters millimetres",
            centimeter="cm centimeter centimetre",
            meter="m meter metre meters metres",
            inch='in in. inch inches "',
            foot="ft ft. foot feet",
        ),
        readings=("mm", "in"),
        example="4.3 mm or 0.25in",
    ),
    "pressure": Quantity(
        name="pressure",
        inside="megapascal",
        spellings=_spell(
            psi="psi psig psi_g lbf/in2 lb/in2",
            bar="bar barg bar_g bar(g)",
            pascal="Pa",
            kilopascal="kPa kPag kPa_g",
            megapascal="MPa",
        ),
        readings=("psi", "bar"),
        example="60psi or 4 bar",
    ),
    "temperature": Quantity(
        name="temperature",
        inside="degC",
        spellings=_spell(
            degC="C °C degC deg_C degreeC celsius degrees_C degree_C",
            degF="F °F degF deg_F degreeF fahrenheit degrees_F degree_F",
        ),
        readings=("C", "F"),
        example="35C or 95F",
    ),
    "force": Quantity(
        name="force",
        inside="newton",
        spellings=_spell(
            newton="N newton newtons",
            kilonewton="kN",
            pound_force="lbf lb_f",
            kilogram_force="kgf kg_f",
        ),
        readings=("N", "lbf"),
        example="10 N or 2.2 lbf",
    ),
    "torque": Quantity(
        name="torque",
        inside="newton_millimeter",
        spellings=_spell(
            newton_meter="N_m Nm N*m N.m N-m",
            newton_millimeter="N_mm Nmm N*mm N.mm N-mm",
            inch_pound_force="in_lbf in-lbf in*lbf in_lb in-lb lbf_in lbf-in",
            foot_pound_force="ft_lbf ft-lbf ft*lbf ft_lb ft-lb lbf_ft lbf-ft",
        ),
        readings=("N m", "in lbf"),
        example="1 N m or 9 in lbf",
    ),
    "volume": Quantity(
        name="volume",
        inside="milliliter",
        spellings=_spell(
            milliliter="mL ml cm3 cc milliliter millilitre milliliters millilitres",
            liter="L l liter litre liters litres",
            gallon="gal gallon gallons US_gal",
            fluid_ounce="fl_oz fl._oz. floz US_fl_oz",
        ),
        readings=("mL", "fl oz"),
        example="500 mL, 4 L or 1 gal (US)",
    ),
    "time": Quantity(
        name="time",
        inside="second",
        spellings=_spell(
            second="s sec second seconds",
            minute="min mins minute minutes",
            hour="h hr hrs hour hours",
            day="d day days",
        ),
        readings=("min", "s"),
        example="10 min or 600 s",
    ),
    "viscosity": Quantity(
        name="viscosity",
        inside="millipascal_second",
        spellings=_spell(
            millipascal_second="mPa_s mPas mPa*s mPa-s mPa.s cP cp centipoise",
            pascal_second="Pa_s Pas Pa*s Pa-s Pa.s",
        ),
        readings=("mPa s", "Pa s"),
        example="1.0 mPa s or 1.0 cP",
    ),
    "density": Quantity(
        name="density",
        inside="kilogram_per_cubic_meter",
        spellings=_spell(
            kilogram_per_cubic_meter="kg/m3 kg/m^3 kg/m**3",
            gram_per_milliliter="g/cm3 g/cm^3 g/cc g/mL g/ml kg/L kg/l",
        ),
        readings=("kg/m3", "g/cm3"),
        example="998 kg/m3 or 0.998 g/cm3",
    ),
    "flow": Quantity(
        name="flow",
        inside="milliliter_per_minute",
        spellings=_spell(
            milliliter_per_minute="mL/min ml/min cm3/min cc/min",
            milliliter_per_second="mL/s ml/s",
            liter_per_minute="L/min l/min",
            liter_per_hour="L/h l/h L/hr l/hr",
            gallon_per_hour="gal/h gal/hr gph",
            gallon_per_minute="gal/min gpm",
        ),
        readings=("mL/min", "L/h"),
        example="80 mL/min or 4.8 L/h",
    ),
    "mass": Quantity(
        name="mass",
        inside="gram",
        spellings=_spell(gram="g gram grams", kilogram="kg", ounce="oz", pound="lb lbs"),
        readings=("g", "oz"),
        example="200 g or 7 oz",
    ),
}

# Spellings that a reader could take for a unit of ours, with what to write instead.
_REFUSED_SPELLINGS: dict[tuple[str, str], tuple[str, str]] = {
    ("length", "'"): ("' (feet) is not read beside inches", "write 5 ft or 60 in"),
    ("length", "mil"): ("a mil is 0.001 in or, to some, a millimetre", "write mm or in"),
    ("length", "mils"): ("a mil is 0.001 in or, to some, a millimetre", "write mm or in"),
    ("pressure", "psia"): ("psia is absolute; pressures here are gauge", "give the gauge reading"),
    ("pressure", "bara"): ("bara is absolute; pressures here are gauge", "give the gauge reading"),
    ("pressure", "mPa"): ("mPa is a millipascal", "write MPa for megapascal"),
    ("viscosity", "MPa s"): ("MPa is a megapascal", "write mPa s for millipascal second"),
    ("volume", "oz"): ("oz is a mass", "write fl oz for a volume"),
    ("force", "lb"): ("lb is a mass", "write lbf for a force"),
    ("force", "kg"): ("kg is a mass", "write kgf for a force"),
}

_NUMBER = r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3}(?![0-9]))?"
_PATTERN = re.compile(
    rf"(?P<sign>[+-]?) ?(?:(?:(?P<whole>[0-9]+)(?: ?- ?| ))?(?P<top>[0-9]+) ?/ ?(?P<bottom>[0-9]+)"
    rf"|(?P<number>{_NUMBER})) ?(?P<unit>[^0-9 ,+-][^,]*)?"
)
_COMMA = re.compile(r"([+-]?[0-9]*),([0-9]+)(?: ?([^0-9,]*))?")
_LOOKALIKES = {
    "″": '"', "”": '"', "“": '"', "''": '"', "′′": '"', "′": "'", "’": "'", "‘": "'",
    "−": "-", "–": "-", "º": "°", "˚": "°", "℃": "°C", "℉": "°F", "·": "*", "⋅": "*", "×": "*",
    "²": "2", "³": "3", "⁄": "/", "µ": "u", "μ": "u",
}  # fmt: skip


@functools.cache
def registry() -> pint.UnitRegistry[Any]:
    """Return pint's registry, which knows the units that are not in our table.

    Returns
    -------
    pint.UnitRegistry
        Built at the first call: it takes 0.3 s, and only a unit that is refused asks for it [-].
    """
    import pint

    return pint.UnitRegistry()


@functools.cache
def _line(unit: str) -> tuple[Fraction, Fraction]:
    """Return (factor, offset) with inside value = factor x value + offset."""

    def exact(text: str) -> Fraction:
        top, _, bottom = text.partition(" / ")
        return Fraction(top) / Fraction(bottom or 1)

    return exact(_EXACT[unit]), exact(_NOUGHT.get(unit, "0"))


def _elsewhere(kind: Quantity, number: Fraction, spelling: str) -> str:
    """Return a number in a unit that pint knows, as it would be written here; "" if it is none."""
    if not re.fullmatch(r"[A-Za-z]{1,24}", spelling) or kind.inside not in registry():
        return ""
    if kind.name == "temperature" or not registry().parse_unit_name(spelling):
        return ""
    quantity = registry().Quantity(float(number), spelling)
    if not quantity.is_compatible_with(kind.inside):
        return ""
    reading = kind.readings[0]
    inside = float(quantity.to(kind.inside).magnitude)
    return f"{inside / float(_line(kind.spellings[reading])[0]):.6g} {reading}"


def factor(kind: str, unit: str) -> Fraction:
    """Return one of a unit in the kind's inside unit, exactly.

    Parameters
    ----------
    kind : str
        A key of `KINDS`, not a temperature: its scale has no one factor [-].
    unit : str
        A spelling of it [-].

    Returns
    -------
    Fraction
        Inside value = factor x value.
    """
    is_a = KINDS[kind]
    return _line(is_a.spellings[unit])[0]


def unit_of(text: str, kind: str) -> str | None:
    """Return pint's name of the unit that a text is in.

    Parameters
    ----------
    text : str
        One number with its unit, as typed [-].
    kind : str
        A key of `KINDS` [-].

    Returns
    -------
    str or None
        Such as "psi"; None where the text is no such quantity [-].
    """
    read = read_number(_plain(text))
    return None if read is None else _unit_name(KINDS[kind], read[2])


def _plain(text: str) -> str:
    """Return text with typographic quotes, signs, spaces and fractions made plain."""
    out = ""
    for letter in text:
        if unicodedata.decomposition(letter).startswith("<fraction>"):
            # "1½" must become "1 1/2": plain NFKC would join it to "11/2".
            out += " " + unicodedata.normalize("NFKC", letter).replace("⁄", "/")
        elif unicodedata.category(letter) == "Zs":
            out += " "
        else:
            out += letter
    for odd, plain in _LOOKALIKES.items():
        out = out.replace(odd, plain)
    return re.sub(r" +", " ", out).strip()


def _refuse(name: str, problem: str, text: str, limit: str, do: str) -> InputError:
    return InputError(Fault(f"{name}: {problem}", given=quoted(text), limit=limit, do=do))


def _unit_name(kind: Quantity, spelling: str) -> str | None:
    if spelling in kind.spellings:
        return kind.spellings[spelling]
    folded = spelling.casefold()
    names = {unit for known, unit in kind.spellings.items() if known.casefold() == folded}
    return names.pop() if len(names) == 1 else None


def _owner(spelling: str) -> str | None:
    return next((k.name for k in KINDS.values() if _unit_name(k, spelling)), None)


def read_number(text: str) -> tuple[Fraction, str, str] | None:
    """Read sign, number or mixed fraction, and the rest.

    Parameters
    ----------
    text : str
        Such as "1 1/4 in" [-].

    Returns
    -------
    tuple or None
        Exact value, its text, and the text of the unit ("" if none); None where it is no
        number. A zero denominator or an improper part of a mixed fraction is no number [-].
    """
    found = _PATTERN.fullmatch(text)
    if not found:
        return None
    sign, whole, top, bottom = found["sign"], found["whole"], found["top"], found["bottom"]
    if top is None:
        value = Fraction(found["number"])
        number = found["number"]
    else:
        if int(bottom) == 0 or (whole is not None and int(top) >= int(bottom)):
            return None
        value = Fraction(int(top), int(bottom)) + int(whole or 0)
        number = f"{whole} {top}/{bottom}" if whole else f"{top}/{bottom}"
    unit = (found["unit"] or "").strip()
    return (-value if sign == "-" else value), ("-" if sign == "-" else "") + number, unit


def parse_quantity(
    text: str,
    kind: str,
    *,
    name: str | None = None,
    zero_allowed: bool = False,
    negative_allowed: bool = False,
) -> float:
    """Read one number with its unit.

    Parameters
    ----------
    text : str
        What the user wrote [-].
    kind : str
        A key of `KINDS` [-].
    name : str, optional
        What to call it in a message, such as "--tube-id"; default the kind [-].
    zero_allowed, negative_allowed : bool
        Whether zero, or a value below it, has a meaning here; a temperature's always has [-].

    Returns
    -------
    float
        Value in the kind's inside unit (mm, MPa gauge, C, N, N mm, mL, s, mPa s, kg/m3,
        mL/min, g).

    Raises
    ------
    InputError
        With one fault: no unit, another kind's unit, not finite, not positive, not understood.
    """
    is_a = KINDS[kind]
    name = name or is_a.name
    example = f"write it like {is_a.example}"
    limit = f"one number and one unit of {is_a.name}"
    if not isinstance(text, str):
        text = str(text)
    if len(text) > LONGEST_TEXT:
        problem = f"{len(text)} characters are too many for one number"
        raise _refuse(name, problem, text, f"{LONGEST_TEXT} characters", example)
    if any(unicodedata.category(letter)[0] == "C" for letter in text.strip()):
        raise _refuse(name, "a line break or control character stands in it", text, limit, example)
    plain = _plain(text)
    if not plain:
        raise _refuse(name, "nothing was given", text, limit, example)
    comma = _COMMA.fullmatch(plain)
    if comma:
        unit = f" {comma[3]}" if comma[3] else ""
        do = f"write {comma[1] or 0}.{comma[2]}{unit} with a decimal point"
        if len(comma[2]) == 3:
            do += f", or {comma[1]}{comma[2]}{unit} without a separator"
        raise _refuse(name, "a comma is not read", text, "a decimal point, no separators", do)
    if re.match(r"[+-]? ?(nan|inf)", plain, re.IGNORECASE):
        raise _refuse(name, "not a finite number", text, limit, example)
    read = read_number(plain)
    if read is None:
        raise _refuse(name, "not understood as a number with a unit", text, limit, example)
    number, shown, spelling = read
    if not spelling:
        readings = " or ".join(f"{shown} {unit}" for unit in is_a.readings)
        raise _refuse(name, f"{shown} has no unit: {readings}?", text, limit, example)
    unit_name = _checked_unit(is_a, (number, spelling), name, text, limit, example)
    factor, offset = _line(unit_name)
    try:
        value = float(factor * number + offset)
    except OverflowError:
        value = math.inf
    if not math.isfinite(value):
        raise _refuse(name, "too large to be a size", text, limit, example)
    if kind == "temperature":
        if value < -273.15:
            raise _refuse(name, "colder than absolute zero", text, "-273.15 C", example)
    elif value < 0 and not negative_allowed:
        raise _refuse(name, "negative", text, "above zero", example)
    elif value == 0 and not (zero_allowed or negative_allowed):
        raise _refuse(name, "zero", text, "above zero", example)
    return value + 0.0


def _checked_unit(
    kind: Quantity,
    given: tuple[Fraction, str],
    name: str,
    text: str,
    limit: str,
    example: str,
) -> str:
    number, spelling = given
    refused = _REFUSED_SPELLINGS.get((kind.name, spelling))
    if refused:
        raise _refuse(name, refused[0], text, limit, refused[1])
    unit_name = _unit_name(kind, spelling)
    if unit_name:
        return unit_name
    owner = _owner(spelling)
    problem = (
        f"{spelling} is a unit of {owner}, not of {kind.name}"
        if owner
        else f"{quoted(spelling)} is not a unit of {kind.name} that is read here"
    )
    known = "" if owner else _elsewhere(kind, number, spelling)
    raise _refuse(name, problem, text, limit, f"write {known}" if known else example)


def format_quantity(value: float, kind: str, unit: str | None = None) -> str:
    """Write a number so that reading it back gives the same float.

    Parameters
    ----------
    value : float
        In the kind's inside unit.
    kind : str
        A key of `KINDS` [-].
    unit : str, optional
        A spelling of `KINDS[kind]`; default the inside unit's first spelling [-].

    Returns
    -------
    str
        The fewest digits that read back the same, and the unit. In the rare case that no
        text of a readable length does (a temperature of 1e-30 C in F), the inside unit [-].
    """
    is_a = KINDS[kind]
    home = next(s for s, name in is_a.spellings.items() if name == is_a.inside)
    if not math.isfinite(value):
        raise _refuse(is_a.name, "not a finite number", str(value), "a finite number", "")
    spelling = unit or home
    unit_name = _checked_unit(is_a, (Fraction(1), spelling), is_a.name, spelling, "", is_a.example)
    factor, offset = _line(unit_name)
    exact = (Fraction(value) - offset) / factor
    for digits in (*range(1, 20), 22, 25, 30, 40):
        context = Context(prec=digits)
        number = context.divide(Decimal(exact.numerator), Decimal(exact.denominator))
        try:
            same = float(factor * Fraction(number) + offset) == value
        except OverflowError:
            same = False
        if same:
            text = _plain_decimal(number)
            return f"{text}{spelling}" if spelling == '"' else f"{text} {spelling}"
    return f"{value!r} {home}"


def _plain_decimal(number: Decimal) -> str:
    # Its own digits: the default context would round what took more than 28 of them.
    number = number.normalize(Context(prec=60))
    if number == 0:
        return "0"
    return f"{number:f}" if -8 < number.adjusted() < 17 else f"{number:E}"


def parse_length(text: str, **options: Any) -> float:
    """Read a length; see `parse_quantity`. Returns [mm]."""
    return parse_quantity(text, "length", **options)


def parse_pressure(text: str, **options: Any) -> float:
    """Read a gauge pressure; see `parse_quantity`. Returns [MPa]."""
    return parse_quantity(text, "pressure", **options)


def parse_temperature(text: str, **options: Any) -> float:
    """Read a temperature; see `parse_quantity`. Returns [C]."""
    return parse_quantity(text, "temperature", **options)


def parse_force(text: str, **options: Any) -> float:
    """Read a force; see `parse_quantity`. Returns [N]."""
    return parse_quantity(text, "force", **options)


def parse_volume(text: str, **options: Any) -> float:
    """Read a volume, gallons and fluid ounces being US ones; see `parse_quantity`. Returns [mL]."""
    return parse_quantity(text, "volume", **options)


def parse_time(text: str, **options: Any) -> float:
    """Read a time; see `parse_quantity`. Returns [s]."""
    return parse_quantity(text, "time", **options)


class FaultCollector:
    """Read several values and report every fault among them at once.

    Examples
    --------
    >>> collect = FaultCollector()
    >>> tube_id_mm = collect.read(parse_length, "0.170in", name="--tube-id")
    >>> collect.raise_if_any()
    """

    def __init__(self) -> None:
        self.faults: list[Fault] = []

    def read(self, reader: Callable[..., T], *given: Any, **options: Any) -> T | None:
        """Call a reader and keep its faults.

        Parameters
        ----------
        reader : callable
            Such as `parse_length`; may raise a `BarbwrightError` [-].
        *given, **options
            Passed on to it [-].

        Returns
        -------
        object or None
            What the reader returned; None where it refused [-].
        """
        try:
            return reader(*given, **options)
        except BarbwrightError as error:
            self.faults.extend(error.faults)
            return None

    def add(self, faults: Fault | Iterable[Fault]) -> None:
        """Keep a fault, or several, found by other means."""
        self.faults.extend([faults] if isinstance(faults, Fault) else faults)

    def raise_if_any(self, error: type[BarbwrightError] = InputError) -> None:
        """Raise one error with all faults kept so far, if there are any."""
        if self.faults:
            raise error(self.faults)
