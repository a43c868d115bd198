"""The tables a user may list, as plain rows with status and source."""

from __future__ import annotations

from collections.abc import Callable
from math import inf, isnan
from typing import Any

from barbwright import catalog, units
from barbwright.errors import Fault, InputError, quoted
from barbwright.job.tube import rated, stated
from barbwright.say import one_of

Row = dict[str, Any]
# Tables give a size to a hundredth, people to a fraction.
_SAME_MM = 0.05


def _bits() -> list[Row]:
    return [
        {
            "bit": bit.name, "series": bit.series, "diameter_mm": round(bit.diameter_mm, 4),
            "diameter_in": round(bit.diameter_mm / one_of("length", "in"), 5), "status": bit.status,
            "source": bit.source,
        }
        for bit in catalog.bits().values()
    ]  # fmt: skip


def _tubes() -> list[Row]:
    return [
        {
            # What a tube is known by comes first: a narrow terminal leaves out from the right.
            "tube": tube.name, "outer_mm": tube.od_mm, "inner_mm": tube.id_mm,
            "rating": rated(tube),
            "stated_rating": stated(tube) if tube.stated_rating else "", "material": tube.material,
            "kind": tube.kind.name, "shore_a": tube.shore_a,
            "modulus_low_mpa": tube.modulus_low_mpa,
            "modulus_high_mpa": tube.modulus_high_mpa, "status": tube.status,
            "mechanical_status": tube.mechanical_status, "source": tube.source,
        }
        # As the trade sorts them: fittings and cutters go by the outside.
        for tube in sorted(
            catalog.tubes().values(), key=lambda one: (one.od_mm or inf, one.id_mm, one.name)
        )
    ]  # fmt: skip


def _known(value: Any) -> float | None:
    """Return a figure, and nothing where nobody publishes what it needs."""
    return None if isnan(value) else float(value)


def _materials() -> list[Row]:
    rules = catalog.judgements()
    factors = (rules["long_term_design_factor"].value, rules["strength_cap_ratio"].value)
    rows = [
        {
            "material": material.id, "name": material.name,
            "strength_z_mpa": material.strength_z_mpa,
            "allowable_30c_mpa": _known(material.allowable_mpa(30.0, *factors)),
            "tolerance_mm": material.tolerance_mm,
            "min_wall_exposed_mm": material.min_wall_exposed_mm,
            "min_bore_mm": material.min_bore_mm, "max_temperature_c": material.max_temperature_c,
            "tapping": "yes" if material.tapping else "no",
            "pressure": material.pressure_use,
            "status": material.provenance["strength_z_mpa"].status,
            "source": material.provenance["strength_z_mpa"].source,
        }
        for material in catalog.materials().values()
    ]  # fmt: skip
    refused = [
        {
            "material": one.id, "name": one.name, "pressure": f"refused: {one.reason}",
            "status": one.status, "source": one.source,
        }
        for one in catalog.refused_materials().values()
    ]  # fmt: skip
    return rows + [{**dict.fromkeys(rows[0]), **row} for row in refused]


def _woods() -> list[Row]:
    return [
        {
            "wood": wood.name, "group": wood.group,
            "specific_gravity_green": wood.specific_gravity_green,
            "compression_perpendicular_mpa": wood.compression_perpendicular_mpa,
            "tension_perpendicular_mpa": wood.tension_perpendicular_mpa,
            "elastic_ratios": "none: judgement" if wood.et_over_el is None else "table 5-1",
            "status": wood.status, "source": wood.source,
        }
        for wood in catalog.woods().values()
    ]  # fmt: skip


def _species() -> list[Row]:
    return [
        {
            "species": row.name, "scientific_name": row.scientific_name,
            "mean_ml_min_per_hole": row.mean_ml_min_per_hole,
            "september_ml_min_per_hole": row.september_ml_min_per_hole,
            "june_ml_min_per_hole": row.june_ml_min_per_hole,
            "pressure_kpa": row.pressure_kpa,
            "wood": "ring-porous" if row.ring_porous else "",
            "status": row.status, "source": row.source,
        }
        for row in catalog.uptakes().values()
    ]  # fmt: skip


def _kits() -> list[Row]:
    # Late: a kit names kinds of part, which bring numpy; no other table does.
    from barbwright.jobs.kitfile import kit_files, load_kit

    rows = []
    for name, path in kit_files().items():
        kit = load_kit(path)
        words = [
            f"{part.quantity}+{part.spares or 0} {part.kind}"
            for part in kit.parts
            if part.quantity is not None
        ]
        if kit.chain:
            words.append("tees and an elbow for its chain")
        rows.append(
            {
                "kit": name, "title": kit.title, "parts": ", ".join(words),
                "status": "invented, for the demo" if kit.invented else "user",
                "source": path.name,
            }
        )  # fmt: skip
    return rows


TABLES: dict[str, Callable[[], list[Row]]] = {
    "bits": _bits,
    "tubes": _tubes,
    "materials": _materials,
    "woods": _woods,
    "species": _species,
    "kits": _kits,
}


def table_rows(table: str, words: list[str]) -> list[Row]:
    """Return a table's rows that hold all of some words, any case.

    Parameters
    ----------
    table : str
        One of `TABLES`.
    words : list of str
        Filter; empty keeps all. A length is a tube's outside or bore.

    Raises
    ------
    InputError
        When there is no such table.
    """
    if table not in TABLES:
        raise InputError(
            Fault(
                "no such table",
                given=quoted(table),
                limit=", ".join(TABLES),
                do="name one of these",
            )
        )
    return [row for row in TABLES[table]() if all(_holds(row, word) for word in words)]


def _holds(row: Row, word: str) -> bool:
    """Return whether a row has a word, or a tube the size that a word is."""
    if word.casefold() in " ".join(str(value) for value in row.values()).casefold():
        return True
    if "outer_mm" not in row:
        return False
    try:
        size_mm = units.parse_length(word)
    except InputError:
        return False
    ends = (row["outer_mm"], row["inner_mm"])
    return any(end is not None and abs(end - size_mm) < _SAME_MM for end in ends)
