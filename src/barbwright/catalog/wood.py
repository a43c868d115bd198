"""Woods, green, as in a living tree."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from barbwright.catalog.folders import load_table, profile_folders
from barbwright.catalog.lookup import find, find_all


@dataclass(frozen=True, kw_only=True)
class Wood:
    """Green values of a wood [MPa, N, -]; None where the table has none.

    `regressed` names figures that were computed from the specific gravity, not tabulated.
    `et_over_el`, `glt_over_el`, `nu_lt` are elastic ratios.
    """

    id: str
    name: str
    group: str
    specific_gravity_green: float
    compression_perpendicular_mpa: float | None
    shear_parallel_mpa: float | None
    tension_perpendicular_mpa: float | None
    side_hardness_n: float | None
    et_over_el: float | None
    glt_over_el: float | None
    nu_lt: float | None
    regressed: tuple[str, ...]
    status: str
    source: str
    elastic_status: str
    elastic_source: str
    path: str

    @property
    def is_hardwood(self) -> bool:
        """True for a hardwood [-]."""
        return self.group == "hardwood"


_OPTIONAL = (
    "compression_perpendicular_mpa", "shear_parallel_mpa", "tension_perpendicular_mpa",
    "side_hardness_n", "et_over_el", "glt_over_el", "nu_lt",
)  # fmt: skip


def _make(data: dict[str, Any], path: str) -> list[tuple[str, Wood]]:
    woods_found = []
    for row in data["wood"]:
        name = row["name"]
        values: dict[str, Any] = {
            key: None if row.get(key) is None else float(row[key]) for key in _OPTIONAL
        }
        wood = Wood(
            id=name.casefold().replace(" ", "-"),
            name=name,
            group=row.get("group", data["group"]),
            specific_gravity_green=float(row["specific_gravity_green"]),
            regressed=tuple(row.get("regressed", ())),
            status=row["status"],
            source=row["source"],
            elastic_status=row.get("elastic_status", ""),
            elastic_source=row.get("elastic_source", ""),
            path=path,
            **values,
        )
        woods_found.append((wood.id, wood))
    return woods_found


@functools.cache
def woods_in(folders: tuple[Path, ...]) -> dict[str, Wood]:
    """Return the woods of some profile folders, the later ones on top [-]."""
    return load_table("woods", folders, _make)


def woods() -> dict[str, Wood]:
    """Return all woods by id, the user's own included [-]."""
    return woods_in(profile_folders())


def find_wood(text: str) -> Wood:
    """Return the one wood of a name, any case, words in any order [-]."""
    return find(woods(), text, "wood", where="`barbwright list woods`")


def find_woods(text: str) -> list[Wood]:
    """Return the woods of a name, any case, words in any order; a common name has several.

    Parameters
    ----------
    text : str
        A species, a common name such as "maple", or a group: "hardwood", "softwood" [-].

    Returns
    -------
    list of Wood
        One for a species, all of a common name or of a group [-].

    Raises
    ------
    InputError
        Unknown: with the nearest in spelling, which may be another wood, and where all are.
    """
    group = [wood for wood in woods().values() if wood.group == text.strip().casefold()]
    if found := group or find_all(woods(), text):
        return found
    more = (
        "; or give group and green specific gravity such as `hardwood 0.5`, or `unknown`, which is "
        "not checked"
    )
    return [find(woods(), text, "wood", where="`barbwright list woods`", more=more)]
