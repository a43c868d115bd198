"""Sizes as people say them, made into texts that `units` reads: `.170`, "quarter inch", "4,3 mm".

A command line refuses what has two readings. Here the answer is said back before it counts, so the
reading that makes sense for a small tube, a bit or a gauge may be taken.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

from barbwright.errors import Fault, InputError, quoted

_UNSURE = frozenset(
    {
        "", "?", "don't know", "dont know", "do not know", "i don't know", "i dont know",
        "not sure", "no idea", "unknown", "none", "no", "skip",
    }
)  # fmt: skip
_PARTS = {"half": 2, "third": 3, "quarter": 4, "fourth": 4, "eighth": 8, "sixteenth": 16,
          "thirty-second": 32, "sixty-fourth": 64}  # fmt: skip
_ONES = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_TEENS = ("ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen",
          "eighteen", "nineteen")  # fmt: skip
_COUNTS = {
    "a": 1, "an": 1,
    **{word: count for count, word in enumerate((*_ONES, *_TEENS), 1)},
    **{
        f"{word}-{one}": ten + count
        for word, ten in {"twenty": 20, "thirty": 30, "forty": 40, "fifty": 50, "sixty": 60}.items()
        for count, one in enumerate(_ONES, 1)
    },
}  # fmt: skip


def _any_of(words: Iterable[str]) -> str:
    """Return a pattern of these words, a hyphen or a space between their parts."""
    return "|".join(word.replace("-", "[ -]") for word in words)


_FRACTION = re.compile(
    rf"(?:(?P<whole>{_any_of(_COUNTS)}) and )?(?:(?P<top>{_any_of(_COUNTS)})[ -])?"
    rf"(?P<part>{_any_of(_PARTS)})s?(?: of)?(?: an?)?(?: (?P<unit>inch(?:es)?|in))?"
)
_WHOLE = re.compile(rf"(?P<count>{_any_of(_COUNTS)}) inch(?:es)?")
# Words of a size: a text that has another one is a name.
SIZE_WORDS = frozenset(
    {*_PARTS, *(f"{part}s" for part in _PARTS), *_COUNTS, "mm", "cm", "in", "inch", "inches",
     "halves", "by", "of", "and", "x", "twenty", "thirty", "forty", "fifty", "sixty", "second",
     "seconds", "fourths"}
)  # fmt: skip
# A gauge over a trunk reads less than this in bar, and more in psi.
_MOST_BAR = 10.0
_LEAST_PSI = 15.0


def unsure(text: str) -> bool:
    """Return whether an answer says that there is none, or that it is not known.

    Parameters
    ----------
    text : str
        As typed [-].
    """
    return tidy(text).casefold().rstrip(".!") in _UNSURE


def tidy(text: str) -> str:
    """Return an answer on one line with single spaces and plain quotes [-]."""
    plain = "".join(" " if unicodedata.category(one) in {"Zs", "Cc"} else one for one in text)
    for odd, usual in {"\u2019": "'", "\u2018": "'", "\u201d": '"', "\u201c": '"'}.items():
        plain = plain.replace(odd, usual)
    return " ".join(plain.split())


def spoken_length(text: str) -> str:
    """Return a length as `units` reads it.

    Parameters
    ----------
    text : str
        Such as `.170`, `15/64"`, "quarter inch", "4,3 mm", "6" [-].

    Returns
    -------
    str
        With its unit: below one or as a fraction, a bare number is of an inch; from 2 up it is of
        a millimetre [-].

    Raises
    ------
    InputError
        A bare number that may be either.
    """
    plain = _decimal_point(tidy(text))
    said = _in_words(plain)
    if said is not None:
        return said
    if re.fullmatch(r"(\d+[ -])?\d+ ?/ ?\d+", plain):
        return f"{plain} in"
    if not re.fullmatch(r"\d*\.?\d+", plain):
        return plain
    if float(plain) < 1.0:
        return f"{plain} in"
    if float(plain) >= 2.0:
        return f"{plain} mm"
    raise InputError(
        Fault(
            f"{plain} may be inches or millimetres",
            given=quoted(text),
            do=f"say {plain} mm or {plain} in",
        )
    )


def spoken_bit(text: str) -> str:
    """Return a drill bit as `parse_bit` reads it.

    Parameters
    ----------
    text : str
        Such as `15/64"`, "quarter inch", "6", "no 7", "letter F", "15/64 bit" [-].
    """
    plain = re.sub(r"(?i)\b(drill|bit|drill bit)\b", "", tidy(text)).strip()
    said = _in_words(_decimal_point(plain))
    if said is not None:
        return said.removesuffix(" in")
    if re.fullmatch(r"\d*[.,]?\d+", plain):
        return spoken_length(plain)
    return _decimal_point(plain)


def spoken_pressure(text: str) -> str:
    """Return a pressure as `units` reads it.

    Parameters
    ----------
    text : str
        Such as "45", "45 pounds", "3 bar", "3,1 bar" [-].

    Returns
    -------
    str
        With its unit: from 15 up a bare number is of a psi [-].

    Raises
    ------
    InputError
        A bare number that may be either.
    """
    plain = _decimal_point(tidy(text))
    plain = re.sub(r"(?i) ?(pounds|lbs?\.?|#)$", " psi", plain)
    plain = re.sub(r"(?i)(?<![a-z])bars$", "bar", plain)
    if not re.fullmatch(r"\d*\.?\d+", plain):
        return plain
    if float(plain) >= _LEAST_PSI:
        return f"{plain} psi"
    reading = f"{plain} bar or {plain} psi" if float(plain) <= _MOST_BAR else f"{plain} psi"
    raise InputError(Fault(f"{plain} has no unit", given=quoted(text), do=f"say {reading}"))


def spoken_sizes(text: str) -> tuple[str, ...]:
    """Return the lengths of an answer such as ".170 x 1/4 in", each as `units` reads it.

    Parameters
    ----------
    text : str
        One length, or two with x, by or * between them; a unit at the end is of both [-].
    """
    ends = re.split(r"(?i)\s*(?:\bx\b|\bby\b|\*|\u00d7|(?<=[\d\"])x(?=[\d.]))\s*", tidy(text))
    if len(ends) == 2:
        ends[0] = _with_unit_of(*ends)
    return tuple(spoken_length(end) for end in ends)


def spoken_range(text: str) -> str:
    """Return a thickness or its range as a job reads it, such as "5..12 mm".

    Parameters
    ----------
    text : str
        Such as "half an inch", "5 to 12 mm", "8" [-].
    """
    ends = re.split(r"\s*(?:\.\.|\bto\b|-(?=\d))\s*", tidy(text))
    if len(ends) != 2:
        return spoken_length(text)
    return " to ".join(map(spoken_length, (_with_unit_of(*ends), ends[1])))


def _with_unit_of(first: str, second: str) -> str:
    """Return a number with the unit that stands behind the second alone; else as it is."""
    unit = re.search(r"(?i)\s*(mm|cm|in\.?|inch(?:es)?|\")\s*$", second)
    bare = re.fullmatch(r"[\d.,/ -]+", first)
    return f"{first} {unit[1]}" if unit is not None and bare else first


def _decimal_point(plain: str) -> str:
    """Return a text with a decimal comma made a point: an answer has no thousands."""
    return re.sub(r"(?<![\d.])(\d*),(\d+)(?![\d,])", r"\1.\2", plain)


def _in_words(plain: str) -> str | None:
    """Return inches that are told in words, with their unit; None where none are."""
    whole = _WHOLE.fullmatch(plain.casefold())
    if whole is not None:
        return f"{_counted(whole['count'])} in"
    found = _FRACTION.fullmatch(plain.casefold())
    if found is None:
        return None
    top, bottom = _counted(found["top"] or "a"), _PARTS[found["part"].replace(" ", "-")]
    before = f"{_counted(found['whole'])} " if found["whole"] else ""
    return f"{before}{top}/{bottom} in"


def _counted(word: str) -> int:
    return _COUNTS[word.replace(" ", "-")]
