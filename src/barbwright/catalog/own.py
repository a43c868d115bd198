"""Whose figures a verdict rests on: what is the user's own, or a record's, and not as shipped.

Asked of the records themselves and not of where they were read: a job that comes back from a
part's record, on another machine and years later, still tells what it was judged by.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping
from math import isnan
from pathlib import Path
from typing import Any

from barbwright.catalog.bit import Bit, bits_in
from barbwright.catalog.folders import (
    is_users_own,
    profile_files,
    shipped_folder,
    user_folder,
)
from barbwright.catalog.material import Material, materials_in
from barbwright.catalog.tables import (
    crossing_bores_in,
    hub_crossing_in,
    tube_contact_in,
    uptakes_in,
)
from barbwright.catalog.tube import Tube, TubeMaterial, tube_material_in, tubes_in
from barbwright.catalog.wood import Wood, woods_in
from barbwright.errors import InputError

# Read whole by checks; no job holds them.
_WHOLE = {
    "hub_crossing": hub_crossing_in,
    "crossing_bores": crossing_bores_in,
    "tube_contact": tube_contact_in,
}


def own_figures(
    material: Material,
    wood: Wood | None,
    rows: Iterable[Tube | None],
    words: Iterable[TubeMaterial | None],
    bit: Bit,
) -> tuple[str, ...]:
    """Return a sentence for each record that is not as shipped [-].

    Parameters
    ----------
    material : Material
        What a part is printed in.
    wood : Wood or None
        The tree's, where a species is named.
    rows : iterable of Tube
        Rows of the tubing table that its tubes are; None where there is none.
    words : iterable of TubeMaterial
        What its tubes' material words say; None likewise.
    bit : Bit
        The drill bit.
    """
    shipped = (shipped_folder(),)
    said = [_said(material, material.name, material.path, materials_in(shipped))]
    if wood is not None:
        said.append(_said(wood, wood.name, wood.path, woods_in(shipped)))
    said += [_said(one, one.name, one.path, tubes_in(shipped)) for one in rows if one is not None]
    # A word's figures are worked out from rows, which tell no file; nor does a bit.
    if not is_shipped(material.path) or _has_own("tubing"):
        said += [_word_said(one, shipped) for one in words if one is not None]
    if bit.series != "custom" and (not is_shipped(material.path) or _has_own("bits")):
        said.append(_bit_said(bit, shipped))
    said += [
        f"{table}: judged with figures of your own ({_names(table)}), not the shipped ones"
        for table in own_tables()
    ]
    return tuple(dict.fromkeys(filter(None, said)))


def own_tables() -> dict[str, Any]:
    """Return the tables that checks read whole and that are not as shipped, by name [-]."""
    found = {}
    for name, read in _WHOLE.items():
        if not _has_own(name):
            continue
        own = read((shipped_folder(), user_folder()))
        if not _same(own, read((shipped_folder(),))):
            found[name] = own
    return found


def is_shipped(path: str) -> bool:
    """Return whether a record's file is one of those installed with the program [-]."""
    return Path(path).is_absolute() and Path(path).is_relative_to(shipped_folder())


def own_uptake(scientific_name: str) -> str:
    """Return a sentence where a species' water uptake is the user's own; else nothing [-]."""
    if not _has_own("uptake"):
        return ""
    shipped = uptakes_in((shipped_folder(),)).get(scientific_name)
    own = uptakes_in((shipped_folder(), user_folder())).get(scientific_name)
    if own is None or (shipped is not None and _same(own, shipped)):
        return ""
    return _sentence(f"uptake of {own.name}", _names("uptake"), stands_in=shipped is not None)


def _has_own(table: str) -> bool:
    return bool(profile_files(table, user_folder()))


def _names(table: str) -> str:
    return ", ".join(path.name for path in profile_files(table, user_folder()))


def _sentence(name: str, file: str, *, stands_in: bool) -> str:
    tail = ", not the shipped ones" if stands_in else ""
    return f"{name}: judged with figures of your own ({file}){tail}"


def _said(record: Any, name: str, path: str, shipped: Mapping[str, Any]) -> str:
    if is_shipped(path):
        return ""
    ours = shipped.get(record.id)
    if is_users_own(path):
        return _sentence(name, Path(path).name, stands_in=ours is not None)
    if ours is not None and _same(record, ours):
        return ""
    if ours is None:
        return f"{name}: judged with figures of the part's record, of no shipped table"
    return f"{name}: judged with figures of the part's record, which are not the shipped ones"


def _word_said(material: TubeMaterial, shipped: tuple[Path, ...]) -> str:
    try:
        ours = tube_material_in(material.word, shipped)
    except InputError:
        ours = None
    if ours is not None and _same(material, ours):
        return ""
    return f"tube material {material.word}: judged with figures that are not the shipped ones"


def _bit_said(bit: Bit, shipped: tuple[Path, ...]) -> str:
    ours = bits_in(shipped).get(bit.designation)
    if ours is not None and _same(bit, ours):
        return ""
    return f"bit {bit.name}: {bit.diameter_mm:g} mm is not a size of the shipped table"


def _same(first: Any, second: Any) -> bool:
    """Return whether two records hold the same; where they are from is no figure."""
    if dataclasses.is_dataclass(first):
        return type(first) is type(second) and all(
            _same(getattr(first, field.name), getattr(second, field.name))
            for field in dataclasses.fields(first)
            if field.compare and field.name != "path"
        )
    if isinstance(first, Mapping):
        return first.keys() == second.keys() and all(_same(first[k], second[k]) for k in first)
    if isinstance(first, tuple):
        return len(first) == len(second) and all(map(_same, first, second))
    if isinstance(first, float) and isinstance(second, float) and isnan(first):
        return isnan(second)
    return bool(first == second)
