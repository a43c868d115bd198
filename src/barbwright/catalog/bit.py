"""Drill bits by designation, and reading what a person calls one."""

from __future__ import annotations

import difflib
import functools
import re
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from barbwright.catalog.folders import load_table, profile_folders
from barbwright.errors import Fault, InputError, quoted
from barbwright.say import one_of
from barbwright.units import parse_length

NAMED_WITHIN_MM = 0.005


@dataclass(frozen=True, kw_only=True)
class Bit:
    """A drill bit: the designation on its shank, its series, its diameter [mm].

    `series` is fractional, number, letter, metric, or custom for a size no series has.
    """

    designation: str
    series: str
    diameter_mm: float
    status: str = "own"
    source: str = "user_profile"

    @property
    def name(self) -> str:
        """What a person reads: "15/64 in", "#7", "F", "6.1 mm" [-]."""
        return f"{self.designation} in" if self.series == "fractional" else self.designation


def _make(data: dict[str, Any], _path: str) -> list[tuple[str, Bit]]:
    return [
        (
            designation,
            Bit(
                designation=designation,
                series=series,
                diameter_mm=float(mm),
                status=table["status"],
                source=table["source"],
            ),
        )
        for series, table in data.items()
        for designation, mm in table["diameter_mm"].items()
    ]


@functools.cache
def bits_in(folders: tuple[Path, ...]) -> dict[str, Bit]:
    """Return the bits of some profile folders, the later ones on top [-]."""
    return load_table("bits", folders, _make)


def bits() -> dict[str, Bit]:
    """Return all bits by designation: "15/64", "#7", "F", "6.1 mm" [-]."""
    return bits_in(profile_folders())


def _by_spelling() -> dict[str, Bit]:
    return {designation.casefold(): bit for designation, bit in bits().items()}


def _nearest_bits(diameter_mm: float, n: int, series: str | None = None) -> list[Bit]:
    """Return so many bits nearest to a diameter, the smaller first of two equally near."""
    some = [bit for bit in bits().values() if series is None or bit.series == series]
    return sorted(some, key=lambda bit: (abs(bit.diameter_mm - diameter_mm), bit.diameter_mm))[:n]


def _list(found: list[Bit]) -> str:
    return ", ".join(f"{bit.name} ({bit.diameter_mm:.2f} mm)" for bit in found)


def _unknown(name: str, problem: str, text: str, diameter_mm: float, series: str) -> InputError:
    near = _nearest_bits(diameter_mm, 3, series=series)
    return InputError(Fault(f"{name}: {problem}", given=quoted(text), do=f"nearest: {_list(near)}"))


_FRACTION = re.compile(
    r'(?:([0-9]{1,3})[ -]+)?([0-9]{1,4}) ?/ ?([0-9]{1,4}) ?(?:in\.?|inch|inches|")?', re.I
)
_NUMBER = re.compile(r"(?:#|no\.?|number) ?([0-9]{1,3})", re.I)
_LETTER = re.compile(r"(?:letter )?([a-z])", re.I)
_BARE = re.compile(r"[0-9]*\.?[0-9]+")


def parse_bit(text: str, name: str = "--bit") -> Bit:
    """Read what a person calls a drill bit.

    Parameters
    ----------
    text : str
        A fraction of an inch ("15/64"), a number ("#7", "no7", "No. 7"), a letter ("F"), or a
        size with its unit ("6.1 mm", "0.234in") [-].
    name : str
        What to call it in a message [-].

    Returns
    -------
    Bit
        Of the table; a size with a unit takes the designation within 0.005 mm (that unit's
        own series first), else series "custom" [-].

    Raises
    ------
    InputError
        A bare number, with its two readings; an unknown one, with the three nearest.
    """
    # A line break is not a space between words: leave it for parse_length to refuse.
    plain = re.sub(r"[ \t\u00a0]+", " ", text[:200]).strip(" ")
    plain = plain.replace("″", '"').replace("”", '"').replace("⁄", "/")
    fraction = _FRACTION.fullmatch(plain)
    if fraction:
        return _fraction(fraction, text, name)
    number = _NUMBER.fullmatch(plain)
    if number:
        designation = f"#{int(number[1])}"
        if designation in bits():
            return bits()[designation]
        # Above #80 drills go on getting smaller; "#0" does not exist and #1 is nearest.
        end = "#80" if int(number[1]) > 1 else "#1"
        size = bits()[end].diameter_mm
        raise _unknown(name, f"no number drill {designation} (#80 to #1)", text, size, "number")
    letter = _LETTER.fullmatch(plain)
    if letter:
        return bits()[letter[1].upper()]
    if _BARE.fullmatch(plain):
        raise _bare(plain, name)
    try:
        diameter_mm = parse_length(text, name=name)
    except InputError as error:
        fault = error.faults[0]
        do = 'write it like 15/64, no7 or "#7", F, 6.1 mm or 0.234in'
        if "comma" in fault.what:
            do = fault.do
        elif "not understood" in fault.what:
            near = difflib.get_close_matches(plain.casefold(), _by_spelling(), 3, 0.0)
            do += "; nearest: " + _list([_by_spelling()[spelling] for spelling in near])
        raise InputError(Fault(fault.what, fault.given, "a bit", do)) from None
    return _sized(diameter_mm, text.strip(), name)


def _fraction(found: re.Match[str], text: str, name: str) -> Bit:
    whole, top, bottom = int(found[1] or 0), int(found[2]), int(found[3])
    written = f"{whole} {top}/{bottom}" if whole else f"{top}/{bottom}"
    if bottom == 0 or top == 0:
        raise InputError(
            Fault(f"{name}: {written} is no size", quoted(text), do="write it like 15/64")
        )
    value = whole + Fraction(top, bottom)
    size_mm = float(value * Fraction(254, 10))
    lowest = f"{value.numerator}/{value.denominator}"
    if bottom not in (2, 4, 8, 16, 32, 64):
        problem = f"{written} is no drill fraction: they are halves to 64ths of an inch"
        raise _unknown(name, problem, text, size_mm, "fractional")
    if lowest in bits() and lowest == written:
        return bits()[lowest]
    if lowest in bits():
        do = f"write {lowest} if that is meant"
        raise InputError(
            Fault(f"{name}: {written} is {lowest} in lowest terms", quoted(text), do=do)
        )
    raise _unknown(name, f"no fractional drill {written}", text, size_mm, "fractional")


def _bare(plain: str, name: str) -> InputError:
    plain = quoted(plain)
    designation = f"#{plain}"
    if designation in bits():
        problem = f"{plain} has no unit: number drill {designation} or {plain} mm?"
        do = f'write no{plain} (or "{designation}") or {plain} mm'
    else:
        problem = f"{plain} has no unit: {plain} mm or {plain} in?"
        do = f"write {plain} mm or {plain} in"
    return InputError(Fault(f"{name}: {problem}", given=plain, do=do))


def _sized(diameter_mm: float, text: str, name: str) -> Bit:
    sizes = [bit.diameter_mm for bit in bits().values()]
    if not min(sizes) - NAMED_WITHIN_MM <= diameter_mm <= max(sizes) + NAMED_WITHIN_MM:
        near = _list(_nearest_bits(diameter_mm, 3))
        limit = f"{min(sizes):.2f} to {max(sizes):.2f} mm"
        raise InputError(
            Fault(f"{name}: no drill of this size", quoted(text), limit, f"nearest: {near}")
        )
    is_metric = text.casefold().endswith("m")
    found = [
        bit for bit in _nearest_bits(diameter_mm, 8)
        if abs(bit.diameter_mm - diameter_mm) <= NAMED_WITHIN_MM + 1e-9
    ]  # fmt: skip
    own = [bit for bit in found if (bit.series == "metric") == is_metric]
    if own:
        return own[0]
    size, unit = (diameter_mm, "mm") if is_metric else (diameter_mm / one_of("length", "in"), "in")
    shown = f"{size:.4f}".rstrip("0").rstrip(".")
    return Bit(designation=f"{shown} {unit}", series="custom", diameter_mm=diameter_mm)
