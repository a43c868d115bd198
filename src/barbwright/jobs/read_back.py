"""A record read back as a stranger's file: every field of its kind and within sense, or named.

A record may be years old, edited by hand, or made to do harm. Nothing in it is worked with before
it is known to be what it must be, and whoever reads the refusal is told the field.
"""

from __future__ import annotations

import dataclasses
import types
import typing
from collections.abc import Iterator, Mapping
from math import isfinite, nan
from pathlib import Path
from typing import Any

from barbwright import catalog
from barbwright.catalog.material import is_rising
from barbwright.catalog.validate import LARGEST, beyond_sense
from barbwright.design.part import FORCED_SIZES
from barbwright.errors import ODD_LETTERS, Fault, has_odd_letters, quoted
from barbwright.job.reading import is_service_temperature
from barbwright.job.record import INPUT_NAMES, Job

_LONGEST_TEXT = 10_000
_SERIES = ("fractional", "number", "letter", "metric", "custom")
_KINDS = {dict: "a table", list: "a list", str: "text", bool: "true or false"}


class DamagedError(ValueError):
    """A field of a record that is not what it must be.

    Parameters
    ----------
    fault : Fault
        The field and what is wrong with it, without the file's name.
    """

    def __init__(self, fault: Fault) -> None:
        super().__init__(str(fault))
        self.fault = fault


def wrong(field: str, problem: str, given: Any = "", limit: str = "") -> Fault:
    """Return what is wrong with a field of a record.

    Parameters
    ----------
    field : str
        Where it stands, such as ``job.material.strength_z_mpa``.
    problem : str
        What is wrong.
    given : object
        What stands there.
    limit : str
        What may.
    """
    shown = quoted(given if isinstance(given, str) else str(given))
    return Fault(f"{field}: {problem}", "" if given == "" else shown, limit)


def damage(path: Path, error: Exception) -> Fault:
    """Return why a record cannot be used, with its file and field.

    Parameters
    ----------
    path : Path
        The file.
    error : Exception
        What reading it raised.
    """
    what = f"{path}: this is no part.json of ours, or it is damaged"
    do = "make the part anew from its measurements"
    if isinstance(error, DamagedError):
        return Fault(f"{what}: {error.fault.what}", error.fault.given, error.fault.limit, do)
    if isinstance(error, RecursionError):
        return Fault(f"{what}: tables or lists nested too deep", do=do)
    return Fault(f"{what}: {error}", do=do)


def require_plain(value: Any, at: str = "") -> None:
    """Refuse letters that could play tricks on a terminal or a page, and numbers past any of ours.

    Parameters
    ----------
    value : object
        What JSON gave.
    at : str
        Where it stands.

    Raises
    ------
    DamagedError
        When a text holds a control or direction letter, or is longer than any of ours, or a
        number is beyond all sense or none.
    """
    if isinstance(value, dict):
        for key, item in value.items():
            require_plain(key, f"a key in {at}" if at else "a key")
            require_plain(item, f"{at}.{key}" if at else key)
    elif isinstance(value, list):
        for place, item in enumerate(value, 1):
            require_plain(item, f"{at}[{place}]")
    elif isinstance(value, str):
        if len(value) > _LONGEST_TEXT:
            raise DamagedError(wrong(at, "too long", value, f"{_LONGEST_TEXT} letters"))
        if has_odd_letters(value):
            raise DamagedError(wrong(at, ODD_LETTERS, value))
    # Compared, not converted: a whole number may be too long to become a float.
    elif isinstance(value, (int, float)) and not abs(value) <= LARGEST:
        shown = f"{value:g}" if isinstance(value, float) else f"{len(str(value)[:400])} digits"
        problem = "no number that means anything"
        raise DamagedError(wrong(at, problem, shown, f"up to {LARGEST:g}"))


def member(body: Any, name: str, kind: type, at: str) -> Any:
    """Return a field of a table, which must be there and of its kind.

    Parameters
    ----------
    body : object
        The table, as JSON gave it.
    name : str
        The field.
    kind : type
        dict, list or str.
    at : str
        Where the table stands; empty for the document.

    Raises
    ------
    DamagedError
        When it is not.
    """
    field = f"{at}.{name}" if at else name
    if not isinstance(body, Mapping):
        raise DamagedError(wrong(at or "the document", "of the wrong type", body, "a table"))
    if name not in body:
        raise DamagedError(wrong(field, "missing"))
    if not isinstance(body[name], kind):
        raise DamagedError(wrong(field, "of the wrong type", body[name], _KINDS[kind]))
    return body[name]


def _has_default(field: dataclasses.Field[Any]) -> bool:
    missing = dataclasses.MISSING
    return field.default is not missing or field.default_factory is not missing


def decode(kind: Any, value: Any, at: str = "record") -> Any:
    """Return plain JSON values as the record a type hint names.

    Parameters
    ----------
    kind : type
        The hint.
    value : object
        What `encode` made of a record.
    at : str
        Where it stands, for the message.

    Raises
    ------
    DamagedError
        When the value is not such a record, or a number is beyond sense.
    """
    origin, given = typing.get_origin(kind), typing.get_args(kind)
    if origin in (typing.Union, types.UnionType):
        return _either(given, value, at)
    if dataclasses.is_dataclass(kind) and isinstance(kind, type):
        return _record(kind, value, at)
    if origin is tuple:
        if not isinstance(value, list):
            raise DamagedError(wrong(at, "of the wrong type", value, "a list"))
        if len(given) == 2 and given[1] is Ellipsis:
            return tuple(decode(given[0], one, f"{at}[{n}]") for n, one in enumerate(value, 1))
        if len(value) != len(given):
            raise DamagedError(wrong(at, "of the wrong length", len(value), str(len(given))))
        return tuple(
            decode(hint, one, f"{at}[{n}]")
            for n, (hint, one) in enumerate(zip(given, value, strict=True), 1)
        )
    if origin in (dict, Mapping):
        if not isinstance(value, dict):
            raise DamagedError(wrong(at, "of the wrong type", value, "a table"))
        return {key: decode(given[1], one, f"{at}.{key}") for key, one in value.items()}
    if kind is float:
        return _number(value, at)
    if kind in (str, int, bool) and type(value) is not kind:
        raise DamagedError(
            wrong(at, "of the wrong type", value, _KINDS.get(kind, "a whole number"))
        )
    return value


def _either(choices: tuple[Any, ...], value: Any, at: str) -> Any:
    if value is None:
        return None
    real = [choice for choice in choices if choice is not type(None)]
    if len(real) == 1:
        return decode(real[0], value, at)
    # A number or a text, as a document printed it.
    if not isinstance(value, (int, float, str)) or isinstance(value, bool):
        raise DamagedError(wrong(at, "of the wrong type", value, "a number or text"))
    return value


def _record(kind: type, value: Any, at: str) -> Any:
    if not isinstance(value, dict):
        raise DamagedError(wrong(at, "of the wrong type", value, "a table"))
    hints = typing.get_type_hints(kind)
    found = {}
    for field in dataclasses.fields(kind):
        if field.name in value:
            found[field.name] = decode(hints[field.name], value[field.name], f"{at}.{field.name}")
        # What a field is when an older version of ours did not know it yet.
        elif not _has_default(field):
            raise DamagedError(wrong(f"{at}.{field.name}", "missing"))
    return kind(**found)


def _number(value: Any, at: str) -> float:
    if value is None:
        return nan
    if type(value) not in (int, float):
        raise DamagedError(wrong(at, "of the wrong type", value, "a number"))
    if not isfinite(value) or abs(value) > LARGEST:
        raise DamagedError(wrong(at, "no number that means anything", value, f"up to {LARGEST:g}"))
    name = at.rpartition(".")[2].partition("[")[0]
    # Curves hold temperatures and factors side by side: their points are looked at below.
    limit = "" if "[" in at.rpartition(".")[2] else beyond_sense(name, value)
    if limit:
        raise DamagedError(wrong(at, "outside sense", value, limit))
    return float(value)


def require_sense(job: Job) -> None:
    """Refuse a job that no reader of inputs would have given.

    Parameters
    ----------
    job : Job
        As decoded.

    Raises
    ------
    DamagedError
        With the first field that is not as it must be.
    """
    if not 1 <= len(job.tubes) <= 2:
        raise DamagedError(wrong("job.tubes", "of the wrong length", len(job.tubes), "1 or 2"))
    for at, value in _positive(job):
        # None and not a number stand for what is not known, where that may be.
        if value is not None and not value > 0.0:
            raise DamagedError(wrong(at, "must be above zero", value))
    if job.temperature_c is not None and not is_service_temperature(job.temperature_c):
        limit = "-40 to 200"
        raise DamagedError(
            wrong("job.temperature_c", "no service temperature", job.temperature_c, limit)
        )
    for at, curve, empty in _curves(job):
        if (not curve and not empty) or not is_rising([list(point) for point in curve]):
            raise DamagedError(
                wrong(at, "temperatures do not rise", [list(point) for point in curve])
            )
        for temperature, factor in curve:
            if beyond_sense("_c", temperature) or beyond_sense("_factor", factor):
                raise DamagedError(wrong(at, "outside sense", [temperature, factor]))
    for at, word, words in (
        ("job.bit.series", job.bit.series, _SERIES),
        ("job.fluid", job.fluid, catalog.FLUID_CLASSES),
        ("job.grade", job.grade, (0, 1, 2, 3)),
    ):
        if word not in words:
            raise DamagedError(wrong(at, "unknown", word, ", ".join(map(str, words))))
    for name in job.inputs:
        if name not in INPUT_NAMES:
            raise DamagedError(wrong(f"job.inputs.{name}", "no input", "", ", ".join(INPUT_NAMES)))
    _require_settings(job)


def _positive(job: Job) -> Iterator[tuple[str, float | None]]:
    """Yield what must be above zero where it is known at all, and what must be known as well."""
    material, wood = job.material, job.wood
    yield "job.pressure_mpa", job.pressure_mpa
    yield "job.relief_mpa", job.relief_mpa
    yield "job.hole_mm", job.hole_mm
    yield "job.bit.diameter_mm", job.bit.diameter_mm
    for name in ("strength_xy_mpa", "strength_z_mpa", "modulus_mpa", "density_g_cm3",
                 "tolerance_mm", "min_wall_mm", "min_wall_exposed_mm", "min_wall_covered_mm",
                 "min_bore_mm", "min_gap_mm", "min_text_line_mm", "elongation_xy_pct",
                 "elongation_z_pct", "max_temperature_c"):  # fmt: skip
        yield f"job.material.{name}", getattr(material, name)
    for name in ("wet_factor", "long_term_factor"):
        figure = getattr(material, name)
        yield f"job.material.{name}", None if figure != figure else figure
    for axis in range(len(material.build_box_mm)):
        yield "job.material.build_box_mm", material.build_box_mm[axis]
    if wood is not None:
        yield "job.wood.specific_gravity", wood.specific_gravity
        for name in ("compression_perpendicular_mpa", "shear_parallel_mpa",
                     "tension_perpendicular_mpa", "side_hardness_n"):  # fmt: skip
            yield (
                f"job.wood.record.{name}",
                None if wood.record is None else getattr(wood.record, name),
            )
    for number, tube in enumerate(job.tubes, 1):
        at = f"job.tubes[{number}]"
        yield f"{at}.inner_mm", tube.inner_mm
        yield f"{at}.outer_mm", tube.outer_mm
        yield f"{at}.rating_mpa", tube.rating_mpa
        for holder in (tube.row, tube.material):
            for name in ("modulus_low_mpa", "modulus_high_mpa", "yield_low_mpa", "yield_high_mpa"):
                yield f"{at}: {name}", None if holder is None else getattr(holder, name)


def _curves(job: Job) -> Iterator[tuple[str, Any, bool]]:
    """Yield each curve by temperature, and whether it may be empty, as of what nobody publishes."""
    yield "job.material.temperature_factor", job.material.temperature_factor, True
    for number, tube in enumerate(job.tubes, 1):
        for holder in (tube.row, tube.material):
            if holder is not None:
                at = f"job.tubes[{number}]: temperature_factor"
                yield at, holder.kind.temperature_factor, False


def _require_settings(job: Job) -> None:
    """Refuse judgement numbers and forced sizes that --set would not take."""
    numbers = catalog.shipped_judgements()
    for name, value in job.rules.items():
        known = numbers.get(name)
        if known is not None and not known.least <= value <= known.most:
            limit = f"{known.least:g} to {known.most:g}"
            raise DamagedError(wrong(f"job.rules.{name}", "outside sense", value, limit))
    for name in numbers:
        if name not in job.rules and not name.startswith("log_"):
            # An older version may not have known it: the figures of today stand in.
            job.rules[name] = float(numbers[name].value)
    for name in job.user_rules:
        if name not in job.rules:
            raise DamagedError(wrong(f"job.user_rules.{name}", "of no judgement number"))
    for name, size in job.forced.items():
        one = FORCED_SIZES.get(name)
        if one is None:
            raise DamagedError(wrong(f"job.forced.{name}", "no size that can be forced"))
        if not one.least <= size <= one.most or (one.whole and not float(size).is_integer()):
            raise DamagedError(wrong(f"job.forced.{name}", "outside sense", size, one.sense))
