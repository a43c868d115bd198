"""A tube by name or by measurement: what is known of it, and what must be said loudly."""

from __future__ import annotations

import re

from barbwright import catalog, say, units
from barbwright.catalog import Tube, TubeMaterial
from barbwright.catalog.tube import RATING_TEMPERATURE_C
from barbwright.errors import Fault, InputError, quoted
from barbwright.job.record import Input, TubeInput
from barbwright.job.texts import Texts


def read_tube(texts: Texts, end: str, match_mm: float) -> TubeInput:
    """Return what is known of one tube, by name or by measurement.

    Parameters
    ----------
    texts : Texts
        What was given; faults and warnings are kept there.
    end : str
        "" for the first tube, "2" for the second.
    match_mm : float
        How near a measured tube must be to a row of the table to be that row [mm].

    Returns
    -------
    TubeInput
        Sizes [mm] and records.
    """
    prefix = f"tube{end}"
    named = texts.given(prefix)
    row = texts.collect.read(catalog.find_tube, named) if named is not None else None
    inner = texts.read(f"{prefix}_id", units.parse_length)
    outer = texts.read(f"{prefix}_od", units.parse_length)
    word = texts.given(f"{prefix}_material")
    material = texts.collect.read(catalog.find_tube_material, word) if word is not None else None
    rating = texts.read(f"{prefix}_rating", _read_rating)
    shore = texts.read(f"shore{end}", _read_shore)
    tolerance = None
    if row is not None:
        if inner is None:
            inner, tolerance = row.id_mm, row.kind.id_tolerance_mm
        inner, outer = _sizes_of_row(texts, prefix, row, inner, outer)
        material = material or texts.collect.read(catalog.find_tube_material, row.kind.name)
    elif inner is None:
        _refuse_missing(texts, prefix, named)
    elif outer is not None and word is not None:
        row = _match(texts, prefix, inner, outer, word, match_mm)
    else:
        texts.warnings.append(_size_warning(inner, outer, match_mm))
    _warn_of_bare_grade(texts, word, material, row)
    rating_mpa, rating_c = _rating(texts, prefix, rating, row, material)
    return TubeInput(
        inner_mm=inner if inner is not None else float("nan"),
        outer_mm=outer,
        inner_tolerance_mm=tolerance,
        row=row,
        material=material,
        shore_a=row.shore_a if shore is None and row is not None else shore,
        rating_mpa=rating_mpa,
        rating_c=rating_c,
    )


def stated(tube: Tube) -> str:
    """Return a tube's stated rating with its unit, as people read it."""
    found = re.match(r"\d+(?:-\d+)?", tube.stated_rating)
    if found is None:
        return f"{tube.stated_rating} (psi)"
    return f"{found[0]} psi{tube.stated_rating[found.end() :]}"


def rated(tube: Tube) -> str:
    """Return a tube's rating in both units, to know it by [-].

    Parameters
    ----------
    tube : Tube
        Of the table; one without a rating is told by nothing.
    """
    if tube.rating_mpa is None:
        return ""
    psi, bar = (
        say.figure(tube.rating_mpa, "pressure", unit, decimals=decimals)
        for unit, decimals in (("psi", 0), ("bar", 1))
    )
    return f"{psi} psi ({bar} bar)"


def _sizes_of_row(
    texts: Texts, prefix: str, row: Tube, inner_mm: float, outer_mm: float | None
) -> tuple[float, float | None]:
    """Return both diameters, from the row where they were not measured."""
    origin = f"tubing table: {row.name}"
    if f"{prefix}_id" not in texts.inputs:
        texts.found(f"{prefix}_id", f"{row.id_mm:g} mm", origin)
    if outer_mm is None and row.od_mm is not None:
        texts.found(f"{prefix}_od", f"{row.od_mm:g} mm", origin)
        return inner_mm, row.od_mm
    return inner_mm, outer_mm


def _refuse_missing(texts: Texts, prefix: str, named: str | None) -> None:
    if f"{prefix}_id" not in texts.inputs and named is None:
        texts.refuse(
            f"--{prefix}-id is missing",
            do=f"measure the tube's bore, such as --{prefix}-id 1/4in, or name the tube with "
            f"--{prefix}",
        )


def _warn_of_bare_grade(
    texts: Texts, word: str | None, material: TubeMaterial | None, row: Tube | None
) -> None:
    if material is not None and row is None and material.is_grade_without_rows:
        texts.warnings.append(
            f"{quoted(word or '')}: no tube of this grade is in the table; the range over all of "
            "its kind is used, and a stiffer grade pushes on harder than said"
        )


def _rating(
    texts: Texts,
    prefix: str,
    given: tuple[float, float] | None,
    row: Tube | None,
    material: TubeMaterial | None,
) -> tuple[float | None, float]:
    """Return the stated rating [MPa], as given before that of the row, and at what heat."""
    if given is None:
        if row is None:
            return None, RATING_TEMPERATURE_C
        if row.rating_mpa is not None:
            texts.inputs[f"{prefix}_rating"] = Input(stated(row), f"tubing table: {row.name}")
        return row.rating_mpa, row.rating_c
    kind = row.kind if row is not None else material.kind if material is not None else None
    if kind is not None and given[1] > kind.max_temperature_c:
        texts.refuse(
            f"--{prefix}-rating is stated hotter than {kind.name} tube is known for",
            given=texts.shown(f"{prefix}_rating"),
            limit=f"{kind.max_temperature_c:g} C",
            do="give a rating at a lower temperature",
        )
    return given


def _match(
    texts: Texts, prefix: str, inner_mm: float, outer_mm: float, word: str, match_mm: float
) -> Tube | None:
    """Return the row a measured tube is; of several, the one with the lowest stated rating."""
    rows = catalog.match_tube(inner_mm, outer_mm, word, match_mm)
    if not rows:
        texts.warnings.append(
            f"no row of the tubing table is {inner_mm:.2f} x {outer_mm:.2f} mm {quoted(word)}: its "
            "stiffness is that of the material alone and its rating is not known (--tube-rating)"
        )
        return None
    rated = [row for row in rows if row.rating_mpa is not None]
    row = (rated or rows)[0]
    if len(rated) > 1:
        texts.warnings.append(
            f"WATCH OUT: {quoted(word)} {inner_mm:.2f} x {outer_mm:.2f} mm is sold with different "
            "ratings ("
            + "; ".join(f"{tube.name}: {stated(tube)}" for tube in rated)
            + f"). The lowest counts. Name yours with --{prefix}, or its grade with "
            f"--{prefix}-material"
        )
    texts.inputs[prefix] = Input(row.name, f"matched in the tubing table within {match_mm:g} mm")
    twins = _weak_twins(row, inner_mm, outer_mm, match_mm)
    if twins and len(rated) == 1:
        texts.warnings.append(
            f"WATCH OUT: {twins[0].name} has the same size but is only stated for "
            f"{stated(twins[0])}: the barb fits both. Read the print on the tube"
        )
    return row


def _weak_twins(row: Tube, inner_mm: float, outer_mm: float, match_mm: float) -> list[Tube]:
    """Return tubes of the same size and kind that are stated for under half of this one.

    Drip tubing of the same size goes on the same barb and holds a fifth of the pressure.
    """
    return [
        tube
        for tube in catalog.tubes().values()
        if tube.kind.name == row.kind.name
        and tube.measures(inner_mm, outer_mm, match_mm)
        and tube.rating_mpa is not None
        and row.rating_mpa is not None
        and tube.rating_mpa < 0.5 * row.rating_mpa
    ]


def _size_warning(inner_mm: float, outer_mm: float | None, match_mm: float) -> str:
    ratings = sorted(
        {
            (tube.rating_mpa, tube.name, stated(tube))
            for tube in catalog.tubes().values()
            if tube.measures(inner_mm, None, match_mm) and tube.rating_mpa is not None
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
    temperature = RATING_TEMPERATURE_C
    if len(parts) == 2:
        temperature = units.parse_temperature(parts[1], name=name)
    return pressure, temperature


def _read_shore(text: str, name: str = "--shore") -> float:
    found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*A?\s*", text, re.IGNORECASE)
    if found is None or not 20.0 <= float(found[1]) <= 95.0:
        raise InputError(
            Fault(
                f"{name} is no Shore A hardness",
                given=quoted(text),
                limit="20 to 95",
                do="above 95A give --tube-material instead",
            )
        )
    return float(found[1])
