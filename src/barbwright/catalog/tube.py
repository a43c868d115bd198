"""Tubes on the market, their kinds, and which of them a measured tube may be."""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

from barbwright.catalog.folders import load_table, profile_folders
from barbwright.catalog.lookup import find, find_all, name_one, several
from barbwright.catalog.material import Curve, temperature_curve
from barbwright.errors import Fault, InputError, quoted
from barbwright.units import parse_pressure

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

RATING_TEMPERATURE_C = 23.0
_LISTED = "`barbwright list tubes`"


@dataclass(frozen=True, kw_only=True)
class TubeKind:
    """A kind of tube material: density, softening with heat, scatter of its sizes.

    `words` name the whole kind ("polyethylene"), `grades` only those tubes that say so
    ("LLDPE"). `temperature_factor` are (C, factor) points on modulus, yield and rating.
    """

    name: str
    words: tuple[str, ...]
    grades: tuple[str, ...]
    density_g_cm3: float
    temperature_factor: Curve
    id_tolerance_mm: float
    od_tolerance_mm: float
    status: str
    source: str

    def temperature_factor_at(self, temperature_c: ArrayLike) -> NDArray[np.float64]:
        """Return the factor on modulus, yield and rating at a temperature.

        Parameters
        ----------
        temperature_c : float or array
            Tube temperature [C].

        Returns
        -------
        array
            Linear between points, flat below the first, not a number beyond the last [-].
        """
        # Late: a list of names must not wait for it.
        import numpy as np

        points = np.asarray(self.temperature_factor)
        t = np.asarray(temperature_c, dtype=float)
        factor = np.interp(t, points[:, 0], points[:, 1])
        return np.where(t <= points[-1, 0], factor, np.nan)[()]

    def rating_factor_at(self, temperature_c: ArrayLike, rating_c: float) -> NDArray[np.float64]:
        """Return the factor on a rating that is stated at a temperature.

        The fall starts where the rating is stated; a rating stated hot is never
        raised for a cooler day.

        Parameters
        ----------
        temperature_c : float or array
            Tube temperature [C].
        rating_c : float
            Temperature of the stated rating [C].

        Returns
        -------
        array
            At most 1; not a number beyond the last known point [-].
        """
        # Late: a list of names must not wait for it.
        import numpy as np

        points = np.asarray(self.temperature_factor)
        stated = np.interp(rating_c, points[:, 0], points[:, 1])
        later = points[points[:, 0] > rating_c]
        t = np.asarray(temperature_c, dtype=float)
        known = (t <= points[-1, 0]) & (rating_c <= points[-1, 0])
        if rating_c < points[0, 0]:
            # Rated in the cool: the fall to the next point begins there.
            later, stated = later[1:], np.float64(1.0)
        factor = np.interp(t, [rating_c, *later[:, 0]], [1.0, *(later[:, 1] / stated)])
        return np.where(known, factor, np.nan)[()]

    @property
    def max_temperature_c(self) -> float:
        """Hottest temperature the factor is known for [C]."""
        return self.temperature_factor[-1][0]


@dataclass(frozen=True, kw_only=True)
class Tube:
    """One tube of a table: sizes [mm], stiffness, yield, hardening [MPa], rating [MPa].

    None stands for what the table does not say. `rating_mpa` holds at `rating_c` [C];
    hardening is the slope of true stress over log strain past yield.
    """

    id: str
    name: str
    material: str
    kind: TubeKind
    basis: str
    id_mm: float
    od_mm: float | None
    wall_mm: float | None
    status: str
    stated_rating: str
    rating_psi: float | None
    rating_mpa: float | None
    rating_c: float
    shore_a: float | None
    modulus_low_mpa: float | None
    modulus_high_mpa: float | None
    yield_low_mpa: float | None
    yield_high_mpa: float | None
    mechanical_status: str
    source: str
    path: str
    hardening_low_mpa: float | None = None
    hardening_high_mpa: float | None = None
    rating_status: str = ""
    rating_source: str = ""

    def measures(self, id_mm: float, od_mm: float | None, within_mm: float) -> bool:
        """Return whether a tube measured so, or by its bore alone, may be this one [mm]."""
        slack = within_mm + 1e-9
        if abs(self.id_mm - id_mm) > slack:
            return False
        return od_mm is None or (self.od_mm is not None and abs(self.od_mm - od_mm) <= slack)


@dataclass(frozen=True, kw_only=True)
class TubeMaterial:
    """What a material word alone says: the kind, and the widest range of the rows it names.

    Lowest low and highest high over those rows, so a tube of this material lies inside; the
    hardness likewise. `rows` counts them.
    """

    word: str
    kind: TubeKind
    shore_a_low: float | None
    shore_a_high: float | None
    modulus_low_mpa: float | None
    modulus_high_mpa: float | None
    yield_low_mpa: float | None
    yield_high_mpa: float | None
    rows: int
    is_grade_without_rows: bool
    hardening_low_mpa: float | None = None
    hardening_high_mpa: float | None = None


def _kind(entry: dict[str, Any], path: str) -> TubeKind:
    curve = temperature_curve(entry["temperature_factor"], f"{path}: kind.temperature_factor")
    entry = {**entry, "temperature_factor": curve}
    for key in ("words", "grades"):
        entry[key] = tuple(entry.get(key, ()))
    return TubeKind(**entry)


def _make_kinds(data: dict[str, Any], path: str) -> list[tuple[str, TubeKind]]:
    return [(data["kind"]["name"], _kind(data["kind"], path))] if "kind" in data else []


_NUMBERS = (
    "od_mm", "wall_mm", "rating_psi", "shore_a", "modulus_low_mpa", "modulus_high_mpa",
    "yield_low_mpa", "yield_high_mpa", "hardening_low_mpa", "hardening_high_mpa",
)  # fmt: skip


def _tube(
    row: dict[str, Any], file_kind: str, kinds: Mapping[str, TubeKind], path: str
) -> Tube | Fault:
    where = f"{path}: tube {row['id']}"
    name = row.get("kind", file_kind)
    if name not in kinds:
        return Fault(f"{where}: kind unknown", given=name, limit="one of " + ", ".join(kinds))
    inner, outer, wall = row["id_mm"], row.get("od_mm"), row.get("wall_mm")
    if outer is not None and outer <= inner:
        return Fault(f"{where}: outside not above bore", given=f"{outer} mm", limit=f"{inner} mm")
    if outer is not None and wall is not None and abs((outer - inner) / 2 - wall) > 0.01:
        return Fault(
            f"{where}: wall_mm disagrees with bore and outside",
            given=f"{wall} mm",
            limit=f"{(outer - inner) / 2:g} mm",
        )
    for what in ("modulus", "yield", "hardening"):
        low, high = row.get(f"{what}_low_mpa"), row.get(f"{what}_high_mpa")
        if (low is None) != (high is None) or (low is not None and low > high):
            return Fault(f"{where}: {what} needs a low and a high, low first")
    values: dict[str, Any] = {
        key: None if row.get(key) is None else float(row[key]) for key in _NUMBERS
    }
    rating = values["rating_psi"]
    return Tube(
        id=row["id"],
        name=row["name"],
        material=row["material"],
        kind=kinds[name],
        basis=row["basis"],
        id_mm=float(inner),
        status=row["status"],
        stated_rating=row.get("stated_rating", ""),
        rating_mpa=None if rating is None else parse_pressure(f"{rating} psi"),
        rating_c=float(row.get("rating_c", RATING_TEMPERATURE_C)),
        mechanical_status=row.get("mechanical_status", row["status"]),
        rating_status=row.get("rating_status", row["status"]),
        rating_source=row.get("rating_source", row["source"]),
        source=row["source"],
        path=path,
        **values,
    )


@functools.cache
def _load_kinds(folders: tuple[Path, ...]) -> dict[str, TubeKind]:
    return load_table("tubing", folders, _make_kinds)


@functools.cache
def tubes_in(folders: tuple[Path, ...]) -> dict[str, Tube]:
    """Return the tubes of some profile folders, the later ones on top [-]."""
    kinds = _load_kinds(folders)

    def make(data: dict[str, Any], path: str) -> list[tuple[str, Tube]]:
        file_kind = data.get("kind", {}).get("name", "")
        made = [_tube(row, file_kind, kinds, path) for row in data.get("tube", ())]
        faults = [one for one in made if isinstance(one, Fault)]
        if faults:
            raise InputError(faults)
        return [(one.id, one) for one in made if isinstance(one, Tube)]

    return load_table("tubing", folders, make)


def tube_kinds() -> dict[str, TubeKind]:
    """Return the kinds of tube material by name, the user's own included [-]."""
    return _load_kinds(profile_folders())


def tubes() -> dict[str, Tube]:
    """Return all tubes by id, the user's own included [-]."""
    return tubes_in(profile_folders())


def find_tube(text: str) -> Tube:
    """Return the tube of an id, a name or a row's own words, any case, in any order [-]."""
    measured = ", or measure yours: --tube-id, --tube-od, --tube-material"
    if not find_all(tubes(), text):
        for with_sizes in (False, True):
            told = [one for one in tubes().values() if _is_told_by(one, text, sizes=with_sizes)]
            if len(told) == 1:
                return told[0]
            if told:
                raise several(text, [one.name for one in told], "tube", _LISTED)
    return find(tubes(), text, "tube", where=_LISTED, more=measured)


_SAYS_NOTHING = frozenset({"x", "by", "in", "inch", "mm", "tube", "tubing", "id", "od"})


def _told(text: str) -> list[str]:
    """Return the words and the sizes of a text, "4x6" as two sizes."""
    return re.findall(r"[a-z]+|[0-9./]+|[a-z0-9]+", re.sub(r"[^a-z0-9./]+", " ", text.casefold()))


def _is_told_by(tube: Tube, text: str, *, sizes: bool) -> bool:
    """Return whether each word of a text stands in a tube's row, or is one of its sizes."""
    own = {*_told(tube.name), *_told(tube.material), *(w.casefold() for w in tube.kind.words)}
    sizes_mm = [size for size in (tube.id_mm, tube.od_mm) if size is not None]

    def is_own(word: str) -> bool:
        if word in own or word in _SAYS_NOTHING:
            return True
        try:
            size = float(Fraction(word))
        except (ValueError, ZeroDivisionError, OverflowError):
            return False
        return sizes and any(abs(size * unit - one) < 0.03 for unit in (1.0, 25.4)
                             for one in sizes_mm)  # fmt: skip

    words = _told(text)
    told = [word for word in words if word not in _SAYS_NOTHING]
    return bool(told) and all(is_own(word) for word in words)


def _words(text: str) -> list[str]:
    return re.findall(r"[a-z0-9]+", text.casefold())


def _is_of(tube: Tube, word: str) -> bool:
    """Return whether all words of a material word fit a tube: its kind's or its own text's."""
    kind = {w.casefold() for w in tube.kind.words}
    own = {*_words(tube.material), *_words(tube.name)}
    return all(part in kind or part in own for part in _words(word))


def match_tube(
    id_mm: float,
    od_mm: float,
    material_word: str,
    within_mm: float,
) -> list[Tube]:
    """Return every tube of the table that a measured tube may be.

    Parameters
    ----------
    id_mm, od_mm : float
        Measured inner and outer diameter [mm].
    material_word : str
        "LLDPE" names only tubes that say LLDPE; "PE" or "polyethylene" all of that kind [-].
    within_mm : float
        Largest difference of each diameter [mm].

    Returns
    -------
    list of Tube
        All matches, lowest rating first and unrated ones before it: several with the same
        sizes may hold 30 or 150 psi, so the caller must warn [-].
    """
    found = [
        tube
        for tube in tubes().values()
        if tube.measures(id_mm, od_mm, within_mm)
        and _words(material_word)
        and _is_of(tube, material_word)
    ]
    return sorted(found, key=lambda tube: (tube.rating_mpa or 0.0, tube.id))


def find_tube_material(word: str) -> TubeMaterial:
    """Return what a tube's material word alone says.

    Parameters
    ----------
    word : str
        Such as "LLDPE", "vinyl", "TPU", "PA12", "polyethylene", any case [-].

    Returns
    -------
    TubeMaterial
        The kind with the widest range over the rows of this grade; where the table has no
        row of the grade, over all rows of the kind (`is_grade_without_rows`), which for a
        stiffer grade than any of them, such as HDPE, is not conservative for pushing on [-].

    Raises
    ------
    InputError
        Unknown word: with all there are.
    """
    return tube_material_in(word, profile_folders())


def tube_material_in(word: str, folders: tuple[Path, ...]) -> TubeMaterial:
    """Return what a material word says by the tables of some profile folders [-]."""
    parts = _words(word)
    kinds = _load_kinds(folders)
    general = {w.casefold(): kind for kind in kinds.values() for w in kind.words}
    grades = {w.casefold(): kind for kind in kinds.values() for w in kind.grades}
    kind = next((grades[p] for p in parts if p in grades), None) or next(
        (general[p] for p in parts if p in general), None
    )
    if kind is None:
        # By kinds, and by no grade that is only spelled alike: teflon is no nylon.
        do = name_one(kinds, word)
        more = ", or a grade that `barbwright list tubes` shows; leave it out where you do not know"
        raise InputError(Fault("tube material: unknown", given=quoted(word), do=do + more))
    of_kind = [tube for tube in tubes_in(folders).values() if tube.kind.name == kind.name]
    of_word = [tube for tube in of_kind if _is_of(tube, word)]
    used = of_word or of_kind

    def end(key: str, pick: Any) -> float | None:
        values = [getattr(tube, key) for tube in used if getattr(tube, key) is not None]
        return pick(values) if values else None

    return TubeMaterial(
        word=word,
        kind=kind,
        shore_a_low=end("shore_a", min),
        shore_a_high=end("shore_a", max),
        modulus_low_mpa=end("modulus_low_mpa", min),
        modulus_high_mpa=end("modulus_high_mpa", max),
        yield_low_mpa=end("yield_low_mpa", min),
        yield_high_mpa=end("yield_high_mpa", max),
        hardening_low_mpa=end("hardening_low_mpa", min),
        hardening_high_mpa=end("hardening_high_mpa", max),
        rows=len(used),
        is_grade_without_rows=not of_word,
    )
