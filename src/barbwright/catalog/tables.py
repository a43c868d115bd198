"""Small tables: water uptake of trees, stress at crossing bores, and the judgement numbers."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from barbwright.catalog.folders import load_table, profile_folders, shipped_folder
from barbwright.errors import Fault, InputError

if TYPE_CHECKING:
    from barbwright.equations.contact import Surface


@dataclass(frozen=True, kw_only=True)
class Uptake:
    """Water taken up by one hole of a species: flows [mL/min], conductance [mL/min/kPa]."""

    name: str
    scientific_name: str
    trunk_diameter_cm: tuple[float, float]
    mean_ml_min_per_hole: float
    conductance_ml_min_per_kpa: float
    september_ml_min_per_hole: float | None
    september_sd: float | None
    june_ml_min_per_hole: float | None
    june_sd: float | None
    pressure_kpa: float
    status: str
    source: str
    ring_porous: bool = False


@dataclass(frozen=True, kw_only=True)
class CrossingBores:
    """Stress ratios at crossing bores, one entry a ratio of outer to inner diameter [-]."""

    outer_to_inner_ratio: tuple[float, ...]
    equal_tee_scf: tuple[float, ...]
    half_branch_tee_scf: tuple[float, ...]
    elbow_inner_scf: tuple[float, ...]
    equal_tee_von_mises_ratio: tuple[float, ...]
    elbow_inner_von_mises_ratio: tuple[float, ...]
    status: str
    source: str


@dataclass(frozen=True, kw_only=True)
class HubCrossing:
    """Peak stress over pressure where bores open into a ball in a ball hub [-].

    Both tables have a row a ratio of relief ball to bore and a column a ratio of
    hub ball to relief ball.
    """

    relief_over_bore: tuple[float, ...]
    hub_over_relief: tuple[float, ...]
    von_mises: tuple[tuple[float, ...], ...]
    principal: tuple[tuple[float, ...], ...]
    status: str
    source: str

    @property
    def larger(self) -> tuple[tuple[float, ...], ...]:
        """The larger of the two in every cell [-]."""
        return tuple(
            tuple(map(max, *rows)) for rows in zip(self.von_mises, self.principal, strict=True)
        )


# Told apart by identity: answers read from a table are kept under the table itself.
@dataclass(frozen=True, kw_only=True, eq=False)
class TubeContact:
    """Contact of a tube on a row of barbs, by kind of wall and reading.

    Attributes
    ----------
    surfaces : mapping
        (``rubber`` or ``plastic``, ``push``, ``normal`` or ``land``) to its surface.
    pull_off_by_expansion, pull_off_by_pressure : float
        What a pull under pressure finds less than friction's own: a share of it times the
        expansion, and the pressure on a bending length of crest times the pressure over the
        land's [-].
    status, source : str
        How far it is known.
    """

    surfaces: Mapping[tuple[str, str], Surface]
    pull_off_by_expansion: float
    pull_off_by_pressure: float
    status: str
    source: str


@dataclass(frozen=True, kw_only=True)
class Judgement:
    """A number no standard hands us: its value, unit, sensible range, meaning and status.

    What a bench day may measure has a prior as well: nine in ten lie within its median over and
    times its factor, for the reason given.
    """

    name: str
    value: float
    unit: str
    least: float
    most: float
    meaning: str
    status: str
    source: str
    prior_median: float | None = None
    prior_factor: float | None = None
    prior_reason: str = ""

    @property
    def whole(self) -> bool:
        """Whether it counts something: its value and both bounds are written without a point."""
        return all(isinstance(one, int) for one in (self.value, self.least, self.most))


def _make_uptake(data: dict[str, Any], _path: str) -> list[tuple[str, Uptake]]:
    shared = {key: data[key] for key in ("pressure_kpa", "status", "source")}
    empty: dict[str, Any] = dict.fromkeys(
        ("september_ml_min_per_hole", "september_sd", "june_ml_min_per_hole", "june_sd")
    )
    found = []
    for row in data["species"]:
        values = {**empty, **shared, **row}
        values["trunk_diameter_cm"] = tuple(map(float, row["trunk_diameter_cm"]))
        found.append((row["scientific_name"], Uptake(**values)))
    return found


def _make_crossing(data: dict[str, Any], path: str) -> list[tuple[str, CrossingBores]]:
    rows = data["row"]
    ratios = [row["outer_to_inner_ratio"] for row in rows]
    if ratios != sorted(set(ratios)):
        raise InputError(Fault(f"{path}: row: ratios do not rise", given=str(ratios)))
    columns = {key: tuple(float(row[key]) for row in rows) for key in rows[0]}
    return [
        ("crossing_bores", CrossingBores(**columns, status=data["status"], source=data["source"]))
    ]


def _make_hub(data: dict[str, Any], path: str) -> list[tuple[str, HubCrossing]]:
    hubs, rows = tuple(map(float, data["hub_over_relief"])), data["row"]
    reliefs = tuple(float(row["relief_over_bore"]) for row in rows)
    faults = [
        Fault(f"{path}: {name}: ratios do not rise", given=str(list(ratios)))
        for name, ratios in (("hub_over_relief", hubs), ("row", reliefs))
        if list(ratios) != sorted(set(ratios))
    ]
    for number, row in enumerate(rows, 1):
        for name in ("von_mises", "principal"):
            at, values = f"{path}: row[{number}].{name}: ", row[name]
            if len(values) != len(hubs):
                limit = f"{len(hubs)}, one a hub_over_relief"
                faults.append(Fault(f"{at}has the wrong length", str(len(values)), limit))
            # A thicker hub is never worse: its last column stands for all thicker ones.
            elif values != sorted(values, reverse=True):
                faults.append(Fault(f"{at}rises with a thicker hub", given=str(values)))
    if faults:
        raise InputError(faults)
    mises, principal = (
        tuple(tuple(map(float, row[name])) for row in rows) for name in ("von_mises", "principal")
    )
    table = HubCrossing(
        relief_over_bore=reliefs,
        hub_over_relief=hubs,
        von_mises=mises,
        principal=principal,
        status=data["status"],
        source=data["source"],
    )
    return [("hub_crossing", table)]


def _make_contact(data: dict[str, Any], path: str) -> list[tuple[str, TubeContact]]:
    # Late: equations bring numpy, which a list of names must not wait for.
    from barbwright.equations.contact import Surface

    surfaces, faults = {}, []
    for number, row in enumerate(data["surface"], 1):
        count = len(row["names"])
        asked = {"terms": 1 + count, "weights": len(row["centres"])}
        asked |= dict.fromkeys(("middle", "spread", "least", "most", "lengths"), count)
        faults += [
            Fault(f"{path}: surface[{number}].{name}: has the wrong length",
                  given=str(len(row[name])), limit=str(length))
            for name, length in asked.items() if len(row[name]) != length
        ]  # fmt: skip
        faults += [
            Fault(f"{path}: surface[{number}].centres[{place}]: has the wrong length",
                  given=str(len(centre)), limit=str(count))
            for place, centre in enumerate(row["centres"], 1) if len(centre) != count
        ]  # fmt: skip
        values = {name: tuple(row[name]) for name in ("names", *asked)}
        surfaces[row["kind"], row["reading"]] = Surface(
            **values, centres=tuple(map(tuple, row["centres"])), error=float(row["error"])
        )
    if faults:
        raise InputError(faults)
    shares = float(data["pull_off_by_expansion"]), float(data["pull_off_by_pressure"])
    table = TubeContact(
        surfaces=surfaces,
        pull_off_by_expansion=shares[0],
        pull_off_by_pressure=shares[1],
        status=data["status"],
        source=data["source"],
    )
    return [("tube_contact", table)]


def _make_judgement(data: dict[str, Any], path: str) -> list[tuple[str, Judgement]]:
    found = [(name, Judgement(name=name, **entry)) for name, entry in data.items()]
    faults = [
        Fault(f"{path}: {name}: outside its own range", str(j.value), f"{j.least} to {j.most}")
        for name, j in found
        if not j.least <= j.value <= j.most
    ]
    faults += [
        Fault(f"{path}: {name}: a prior needs prior_median, prior_factor and prior_reason")
        for name, j in found
        if len({j.prior_median is None, j.prior_factor is None, not j.prior_reason}) > 1
    ]
    if faults:
        raise InputError(faults)
    return found


@functools.cache
def uptakes_in(folders: tuple[Path, ...]) -> dict[str, Uptake]:
    """Return water uptake by scientific name of some profile folders [-]."""
    return load_table("uptake", folders, _make_uptake)


@functools.cache
def crossing_bores_in(folders: tuple[Path, ...]) -> CrossingBores:
    """Return the table of stress at crossing bores of some profile folders [-]."""
    return load_table("crossing_bores", folders, _make_crossing)["crossing_bores"]


@functools.cache
def hub_crossing_in(folders: tuple[Path, ...]) -> HubCrossing:
    """Return the table of stress in a ball hub of some profile folders [-]."""
    return load_table("hub_crossing", folders, _make_hub)["hub_crossing"]


@functools.cache
def tube_contact_in(folders: tuple[Path, ...]) -> TubeContact:
    """Return the table of a tube's contact of some profile folders [-]."""
    return load_table("tube_contact", folders, _make_contact)["tube_contact"]


@functools.cache
def _load_judgement(folders: tuple[Path, ...]) -> dict[str, Judgement]:
    return load_table("judgement", folders, _make_judgement)


def uptakes() -> dict[str, Uptake]:
    """Return water uptake by scientific name [-]."""
    return uptakes_in(profile_folders())


def crossing_bores() -> CrossingBores:
    """Return the table of stress at crossing bores [-]."""
    return crossing_bores_in(profile_folders())


def hub_crossing() -> HubCrossing:
    """Return the table of stress at the crossing in a ball hub [-]."""
    return hub_crossing_in(profile_folders())


def tube_contact() -> TubeContact:
    """Return the table of a tube's contact on its barbs [-]."""
    return tube_contact_in(profile_folders())


def judgements() -> dict[str, Judgement]:
    """Return the judgement numbers by name; the user's own profile overrides each [-]."""
    return _load_judgement(profile_folders())


def judged_values(table: Mapping[str, Judgement] | None = None) -> dict[str, float]:
    """Return the values alone of judgement numbers by name; without a table those of the profiles.

    Parameters
    ----------
    table : mapping of str to Judgement, optional
        Numbers already read [-].
    """
    return {name: float(one.value) for name, one in (table or judgements()).items()}


def shipped_judgements() -> dict[str, Judgement]:
    """Return the judgement numbers as shipped, whatever the user's own profile says [-]."""
    return _load_judgement((shipped_folder(),))
