"""Part numbers, the words of the mark, and the words for sizes."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any

from barbwright.catalog.own import own_tables
from barbwright.design.part import Kind
from barbwright.job.numbers import bark_mm, inner_tolerance_mm, temperature_c
from barbwright.job.record import Job
from barbwright.say import one_of

LONGEST = 60


def decimal(value: float) -> str:
    """Return a number to thousandths for a file name: no dot, no trailing zeros."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return text.replace(".", "_")


def _thousandths(size_mm: float) -> int | None:
    """Return a size in thousandths of an inch, where it is a whole number of them."""
    count = size_mm / one_of("length", "in") * 1000.0
    return round(count) if abs(count - round(count)) < 1e-6 else None


def tube_word(size_mm: float) -> str:
    """Return a tube's bore for a part number: ``0170in`` or ``4_3mm``."""
    count = _thousandths(size_mm)
    return f"{count:04d}in" if count is not None else f"{decimal(size_mm)}mm"


def bit_word(job: Job) -> str:
    """Return a bit for a part number: ``15_64``, ``no7``, ``f``, ``6_1mm``."""
    bit = job.bit
    if bit.series == "fractional":
        return re.sub(r"[^a-z0-9]+", "_", bit.designation.casefold())
    if bit.series == "number":
        return "no" + re.sub(r"\D", "", bit.designation)
    if bit.series == "letter":
        return re.sub(r"[^a-z]", "", bit.designation.casefold())
    return f"{decimal(bit.diameter_mm)}mm"


def figures_of(kind: Kind, job: Job) -> Any:
    """Return every figure a part is made from: its inputs, and the records they name.

    Two jobs that size, judge and print alike have the same ones, whichever way they were
    written; a record of the user's own that stands in for a shipped one has others.

    Parameters
    ----------
    kind : Kind
        Kind of part.
    job : Job
        What it is made from.

    Returns
    -------
    dict
        Field to figure, nested as the records are.
    """
    # A default that is typed out makes no other part; nor does where the bore's tolerance is from.
    tubes = tuple(
        replace(tube, inner_tolerance_mm=inner_tolerance_mm(tube, job.rules)) for tube in job.tubes
    )
    known = replace(job, tubes=tubes, bark_mm=bark_mm(job), temperature_c=temperature_c(job))
    left_out = _NOT_HASHED if kind.needs_bit else _NOT_HASHED | {"bit"}
    if kind.host is not None and job.grade:
        # A part's grade stands behind its number; a tool is made for the graded seat.
        left_out -= {"grade"}
    found: dict[str, Any] = _plain(known)
    if not job.measured:
        left_out |= {"measured"}
    # What checks read whole stands in no job; as shipped it is in no number.
    if own := own_tables():
        found["own_tables"] = _plain(own)
    return {name: figure for name, figure in found.items() if name not in left_out}


# How a job was written, and what stands in the number as a word of its own.
_NOT_HASHED = frozenset({"fit_only", "inputs", "warnings", "user_rules", "grade"})
# What a record says of its figures, and is none.
_ABOUT_FIGURES = frozenset({"path", "provenance", "published", "answers", "finish"})
# A figure that came later, and is none where a record does not give it: numbers stay as they were.
_LATER = frozenset({"hole_tolerance_mm"})


def _plain(value: Any) -> Any:
    """Return a record as what JSON holds: its figures and keys, without where they are from."""
    if is_dataclass(value):
        return {
            field.name: _plain(getattr(value, field.name))
            for field in fields(value)
            if field.name not in _ABOUT_FIGURES and not field.name.endswith(("status", "source"))
            if field.name not in _LATER or getattr(value, field.name) is not None
        }
    if isinstance(value, Mapping):
        return {str(name): _plain(one) for name, one in value.items()}
    if isinstance(value, (tuple, list)):
        return [_plain(one) for one in value]
    # Other units must not tell in the last digit; nor must 8 beside 8.0 after a trip through JSON.
    return value if value is None or isinstance(value, (str, bool)) else round(float(value), 9)


def part_number(kind: Kind, job: Job, revision: str) -> str:
    """Return a part's number: ASCII, at most 60 characters.

    Kind, tube, bit, material, revision; then a short hash of all other inputs, of the
    pressure, and of the figures of every record and judgement number used.

    Parameters
    ----------
    kind : Kind
        Kind of part.
    job : Job
        What it is made from.
    revision : str
        Letter or letters.

    Returns
    -------
    str
        Such as ``elbow-t0170in-b15_64-mjf_pa12-a-3f09c1``.
    """
    words = [kind.name, "t" + tube_word(job.tubes[0].inner_mm)]
    if kind.host is not None and job.forced.get("arms"):
        # A tool for an in-line tip needs no word more.
        words.insert(1, kind.host(job.forced).name)
    if kind.needs_bit:
        words.append("b" + bit_word(job))
    words.append(re.sub(r"[^a-z0-9_]", "", job.material.id))
    canonical = json.dumps(figures_of(kind, job), sort_keys=True)
    tail = f"-{revision.casefold()}-{hashlib.sha256(canonical.encode()).hexdigest()[:6]}"
    # The three leads of a set differ in this alone.
    tail += f"-g{job.grade}" if job.grade and kind.tip else ""
    # Of a long material id of the user's own its start: the hash tells it apart.
    return "-".join(words)[: LONGEST - len(tail)].rstrip("-_") + tail


def next_revision(revision: str) -> str:
    """Return the revision letter after another: a, b, ... z, aa."""
    letters = list(revision.casefold())
    place = len(letters) - 1
    while place >= 0:
        if letters[place] != "z":
            letters[place] = chr(ord(letters[place]) + 1)
            return "".join(letters)
        letters[place] = "a"
        place -= 1
    return "a" + "".join(letters)


def mark_words(kind: Kind, job: Job, revision: str) -> tuple[str, ...]:
    """Return the words to engrave, in order: bit, kind and revision, tube.

    Parameters
    ----------
    kind : Kind
        Kind of part.
    job : Job
        What it is made from.
    revision : str
        Letter or letters.
    """
    bit = job.bit
    if bit.series == "number":
        bit_text = "#" + re.sub(r"\D", "", bit.designation)
    elif bit.series in {"fractional", "letter"}:
        bit_text = bit.designation.upper().replace(" ", "-")
    else:
        bit_text = f"{bit.diameter_mm:g}"[:5]
    inner = job.tubes[0].inner_mm
    count = _thousandths(inner)
    tube_text = f"T.{count:03d}" if count is not None and count < 1000 else f"T{inner:.1f}"
    # One to three dots tell the leads of a graded set apart.
    dots = "." * job.grade if kind.tip else ""
    words = (bit_text, f"{kind.letter}-{revision.upper()}{dots}", tube_text)
    return words if kind.needs_bit else words[1:]
