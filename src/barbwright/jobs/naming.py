"""Part numbers, the words of the mark, and the words for sizes."""

from __future__ import annotations

import hashlib
import json
import re

from barbwright.design.part import Kind
from barbwright.job.numbers import bark_mm, inner_tolerance_mm, temperature_c
from barbwright.job.record import Job
from barbwright.say import one_of

LONGEST = 60


def decimal(value: float, digits: int = 3) -> str:
    """Return a number for a file name: no dot, no trailing zeros."""
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".")
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
        return bit.designation.casefold()
    return f"{decimal(bit.diameter_mm)}mm"


def pressure_word(pressure_mpa: float) -> str:
    """Return a pressure for a part number: ``45psi`` or ``310kpa``."""
    psi = pressure_mpa / one_of("pressure", "psi")
    if abs(psi - round(psi)) < 1e-6:
        return f"{round(psi)}psi"
    return f"{decimal(pressure_mpa / one_of('pressure', 'kPa'), 2)}kpa"


def _others(job: Job) -> dict[str, object]:
    """Return every input that is not in the part number and not the default, as numbers."""
    out: dict[str, object] = {}
    for index, tube in enumerate(job.tubes):
        end = "" if index == 0 else "second_"
        if index:
            out[f"{end}inner"] = round(tube.inner_mm, 9)
        row = tube.row.id if tube.row is not None else None
        material = tube.material.kind.name if tube.material is not None else None
        for name, value in (
            ("outer", tube.outer_mm),
            ("row", row),
            ("material", material),
            ("shore", tube.shore_a),
            ("rating", tube.rating_mpa),
            ("rating_c", tube.rating_c if tube.rating_mpa is not None else None),
            # A tube taken from its table and one measured differ in tolerance alone.
            ("tolerance", inner_tolerance_mm(tube, job.rules)),
        ):
            if value is not None and not (name == "tolerance" and "tube" not in job.inputs):
                out[end + name] = round(value, 9) if isinstance(value, float) else value
    if job.hole_mm is not None:
        out["hole"] = round(job.hole_mm, 9)
    if job.relief_mpa is not None:
        out["relief"] = round(job.relief_mpa, 9)
    if job.wood is not None:
        out["wood"] = job.wood.name
    # Against the default itself: one that is typed out makes no other part.
    for name, figure in (("bark_mm", bark_mm(job)), ("temperature_c", temperature_c(job))):
        if abs(figure - job.rules[name]) > 1e-9:
            out[name.rpartition("_")[0]] = round(figure, 9)
    if job.bark_least_mm is not None:
        out["bark least"] = round(job.bark_least_mm, 9)
    if job.fluid != "water":
        out["fluid"] = job.fluid
    if job.clamp:
        out["clamp"] = True
    if job.service is not None:
        service = job.service
        out["service"] = [service.id, service.outside_offset_mm, service.bore_offset_mm]
        out["service tolerance"] = round(service.tolerance_mm, 9)
    for name, value in sorted(job.forced.items()):
        out[f"set {name}"] = round(value, 9)
    for name in sorted(job.user_rules):
        out[f"rule {name}"] = round(job.rules[name], 9)
    return out


def part_number(kind: Kind, job: Job, revision: str) -> str:
    """Return a part's number: ASCII, at most 60 characters.

    Kind, tube, bit, pressure, material, revision; a short hash of all other
    inputs follows when any of them is not the default.

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
        Such as ``elbow-t0170in-b15_64-45psi-mjf_pa12-a``.
    """
    words = [kind.name, "t" + tube_word(job.tubes[0].inner_mm)]
    if kind.needs_bit:
        words.append("b" + bit_word(job))
    words += [pressure_word(job.pressure_mpa), re.sub(r"[^a-z0-9_]", "", job.material.id)]
    others = _others(job)
    tail = [revision.casefold()]
    if others:
        canonical = json.dumps(others, sort_keys=True)
        tail.append(hashlib.sha256(canonical.encode()).hexdigest()[:6])
    number = "-".join([*words, *tail])
    # The three leads of a set differ in this alone.
    grade = f"-g{job.grade}" if job.grade and kind.tip else ""
    longest = LONGEST - len(grade)
    if len(number) > longest:
        # A long material id of the user's own: its start, and a hash that tells it apart.
        mark = hashlib.sha256(number.encode()).hexdigest()[:6]
        room = longest - len(tail[0]) - 8
        number = f"{'-'.join(words)[:room].rstrip('-_')}-{tail[0]}-{mark}"
    return number + grade


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
