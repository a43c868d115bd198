"""A catalogue's file: what is combined with what, what all parts share, what of it is made."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np

from barbwright import catalog, units
from barbwright.catalog import Bit, Material, Tube, Wood
from barbwright.catalog.folders import read_toml
from barbwright.catalog.validate import faults_in, load_schema
from barbwright.design.part import FORCED_SIZES, KINDS, Kind
from barbwright.errors import Fault, InputError, quoted
from barbwright.job.reading import DEFAULT_MATERIAL, read_job_for
from barbwright.job.record import BIT_RANGE_MM, INPUT_NAMES, Job
from barbwright.jobs.kitfile import find_file
from barbwright.jobs.make import ALL_FORMATS, read_formats
from barbwright.rating.choices import (
    Axis,
    bit_axis,
    material_axis,
    pressure_axis,
    tube_axis,
    wood_axis,
)
from barbwright.rating.spans import read_bits, read_names, read_pressures
from barbwright.rating.sweep import MOST_POINTS

# What the file itself combines, or what belongs to one of its choices alone.
_NOT_SHARED = {
    "tube": "tubes",
    "tube_id": "tubes",
    "tube_od": "tubes",
    "tube_material": "tubes",
    "tube_rating": "tubes",
    "shore": "tubes",
    "bit": "bits",
    "hole": "bits",
    "pressure": "pressures",
    "relief": "pressures",
    "material": "materials",
    "wood": "woods",
    "service": "materials",
    "use": "parts",
    "grade": "parts",
}
# What a farm of one machine makes in a day or two; more is asked for by name.
MOST_PARTS = 10_000


@dataclass(frozen=True, kw_only=True)
class Grid:
    """All combinations of one kind of part.

    Attributes
    ----------
    kind : Kind
        Kind of part.
    job : Job
        What no axis sets; at the first choice of each.
    axes : tuple of Axis
        What varies, the last one fastest.
    shared : dict of str to str or bool
        Options that all of them have.
    settings : tuple of str
        ``name=value`` texts of --set.
    """

    kind: Kind
    job: Job
    axes: tuple[Axis, ...]
    shared: dict[str, str | bool]
    settings: tuple[str, ...]

    @cached_property
    def shape(self) -> tuple[int, ...]:
        """Lengths of the axes [-]."""
        return tuple(len(one) for one in self.axes)

    @property
    def count(self) -> int:
        """How many combinations there are [-]."""
        return int(np.prod(self.shape, dtype=np.int64))

    def options(self, row: int) -> dict[str, str | bool]:
        """Return one combination as the options of `make`.

        Parameters
        ----------
        row : int
            Its number, the last axis fastest [-].
        """
        place = np.unravel_index(row, self.shape)
        own = {one.name: one.labels[int(at)] for one, at in zip(self.axes, place, strict=True)}
        return {**self.shared, **own}


@dataclass(frozen=True, kw_only=True)
class CatalogueSpec:
    """A catalogue as its file says.

    Attributes
    ----------
    name, title, note : str
        Name of its folder, and words for people.
    invented : bool
        Whether the scenario is a demonstration.
    grids : tuple of Grid
        The combinations, a kind of part each.
    verdicts : tuple of str
        Which of them are made: pass, caution, or both.
    formats : tuple of str
        Files of a part.
    most : int
        More parts than this are refused [-].
    warnings : tuple of str
        What must be said loudly.
    path : Path
        The file.
    """

    name: str
    title: str
    note: str
    invented: bool
    grids: tuple[Grid, ...]
    verdicts: tuple[str, ...]
    formats: tuple[str, ...]
    most: int
    warnings: tuple[str, ...]
    path: Path

    @property
    def count(self) -> int:
        """How many combinations there are [-]."""
        return sum(grid.count for grid in self.grids)


def load_catalogue(where: str) -> CatalogueSpec:
    """Read a catalogue's file, all its faults at once.

    Parameters
    ----------
    where : str
        A file, or the name of a catalogue in the profiles.

    Returns
    -------
    CatalogueSpec
        With every combination's choices looked up.

    Raises
    ------
    InputError
        When it is missing or anything in it is wrong.
    """
    path = find_file(where, "catalogues")
    data = read_toml(path)
    faults = faults_in(data, load_schema("catalogues"), str(path))
    if faults:
        # What is of the wrong shape can't be read for more.
        raise InputError(faults)
    return _Reader(data, path).read()


class _Reader:
    """One file being read: faults are kept until all is read."""

    def __init__(self, data: Mapping[str, Any], path: Path) -> None:
        self._data, self._path = data, path
        self._collect = units.FaultCollector()

    def read(self) -> CatalogueSpec:
        """Return what the file says."""
        data, make = self._data, self._data.get("make", {})
        kinds = self._kinds()
        tubes = self._tubes()
        bits = self._bits() if "bits" in data else []
        pressures = self._pressures()
        materials = self._names(
            "materials", catalog.materials(), catalog.find_material, [DEFAULT_MATERIAL]
        )
        woods = self._names("woods", catalog.woods(), catalog.find_wood, [])
        formats = self._formats(make)
        shared, settings, warnings = self._shared()
        if any(kind.tip for kind in kinds) and "bits" not in data:
            named = ", ".join(kind.name for kind in kinds if kind.tip)
            self._refuse("bits is missing", given=named, do='add bits = ["1/4"]')
        bare = len(tubes) * len(pressures) * len(materials)
        count = sum(bare * (len(bits) * max(len(woods), 1) if k.tip else 1) for k in kinds)
        if count > MOST_POINTS:
            self._refuse(
                "the catalogue is too large",
                given=f"{count:,} combinations",
                limit=f"{MOST_POINTS:,}",
                do="name fewer choices, or make two files of it",
            )
        self._collect.raise_if_any(InputError)
        grids = self._grids(kinds, tubes, bits, pressures, materials, woods, shared, settings)
        self._collect.raise_if_any(InputError)
        return CatalogueSpec(
            name=data["name"],
            title=data.get("title", data["name"]),
            note=data.get("note", ""),
            invented=data.get("invented", False),
            grids=grids,
            verdicts=tuple(make.get("verdicts", ("pass", "caution"))),
            formats=formats,
            most=make.get("most", MOST_PARTS),
            warnings=tuple(dict.fromkeys([*warnings, *(w for g in grids for w in g.job.warnings)])),
            path=self._path,
        )

    def _refuse(self, what: str, given: str = "", limit: str = "", do: str = "") -> None:
        self._collect.add(Fault(f"{self._path}: {what}", given, limit, do))

    def _words(self, name: str) -> list[str]:
        """Return a list's entries, or the one text; each may be a range, or `all`."""
        value = self._data[name]
        return [value] if isinstance(value, str) else list(value)

    def _list(self, name: str, reader: Callable[..., Sequence[Any]], *more: Any) -> list[Any]:
        """Return all that a list's entries name, each once, in order."""
        found: list[Any] = []
        for word in self._words(name):
            for one in self._collect.read(reader, word, *more, name=name) or ():
                if one not in found:
                    found.append(one)
        return found

    def _names(
        self, name: str, table: Mapping[str, Any], find: Callable[[str], Any], otherwise: list[str]
    ) -> list[Any]:
        if name not in self._data:
            return [find(word) for word in otherwise]
        return self._list(name, read_names, table, find)

    def _kinds(self) -> list[Kind]:
        carrying = {name: kind for name, kind in KINDS.items() if kind.carries}
        for name in self._data["parts"]:
            if name not in carrying:
                limit = ", ".join(carrying)
                self._refuse("parts: no part of a catalogue", quoted(name), limit, "name one")
        return [kind for name, kind in carrying.items() if name in self._data["parts"]]

    def _tubes(self) -> list[Tube]:
        tubes: list[Tube] = self._names("tubes", catalog.tubes(), catalog.find_tube, [])
        # Of one whose outside nobody publishes little can be judged; it counts where it is named.
        return [one for one in tubes if one.od_mm is not None or not self._all("tubes")]

    def _bits(self) -> list[Bit]:
        least, most = BIT_RANGE_MM
        bits = self._list("bits", read_bits)
        return [one for one in bits if least <= one.diameter_mm <= most or not self._all("bits")]

    def _all(self, name: str) -> bool:
        return any(word.strip().casefold() == "all" for word in self._words(name))

    def _pressures(self) -> list[tuple[float, str]]:
        steps = self._data.get("steps", 13)
        found: dict[float, str] = {}
        for word in self._words("pressures"):
            read = self._collect.read(read_pressures, word, steps, name="pressures")
            for label in read[1] if read else ():
                # Of a range the rounded word is what is judged, so that what is made says it.
                found.setdefault(units.parse_pressure(label, name="pressures"), label)
        return sorted(found.items())

    def _formats(self, make: Mapping[str, Any]) -> tuple[str, ...]:
        text = ",".join(make["formats"]) if "formats" in make else None
        return self._collect.read(read_formats, text, ALL_FORMATS) or ()

    def _shared(self) -> tuple[dict[str, str | bool], dict[str, Any], list[str]]:
        job = dict(self._data.get("job", {}))
        table, warnings = job.pop("set", {}), []
        for name in job:
            if name in _NOT_SHARED or name.endswith("2") or "2_" in name:
                where = _NOT_SHARED.get(name, "tubes")
                self._refuse(f"job.{name} is not shared by all parts", do=f"say it by {where}")
            elif name not in INPUT_NAMES:
                shared = [one for one in INPUT_NAMES if one not in _NOT_SHARED]
                do = catalog.name_one(shared, name, "`barbwright make --help`, with _ for -,")
                self._refuse(f"job.{name} is no input", do=do)
        job = {name: value for name, value in job.items() if name not in _NOT_SHARED}
        if "without" not in job and catalog.measured_records():
            # One bench day belongs to one wood, material and tube; here all vary.
            job["without"] = "measured"
            warnings.append("judged without what your bench days measured: it belongs to one tree")
        return job, table, warnings

    def _grids(
        self,
        kinds: list[Kind],
        tubes: list[Tube],
        bits: list[Bit],
        pressures: list[tuple[float, str]],
        materials: list[Material],
        woods: list[Wood],
        shared: dict[str, str | bool],
        table: dict[str, Any],
    ) -> tuple[Grid, ...]:
        found = []
        for kind in kinds:
            # As in a kit: what a kind of part does not have is not forced on it.
            settings = tuple(f"{name}={value}" for name, value in table.items()
                             if _usable(name, kind))  # fmt: skip
            choices = {
                "tube": [tube.name for tube in tubes],
                "bit": [bit.name for bit in bits] if kind.tip else [],
                "pressure": [label for _, label in pressures],
                "material": [material.id for material in materials],
                "wood": [wood.name for wood in woods] if kind.tip else [],
            }
            first = {name: words[0] for name, words in choices.items() if words}
            job = self._job(kind, {**shared, **first}, settings)
            # Arrays know no sense: each choice is read once as `make` reads it.
            for name, words in choices.items():
                # Of the pressures the least and the most tell.
                for word in (words[0], words[-1]) if name == "pressure" else words:
                    self._job(kind, {**shared, **first, name: word}, settings)
            if job is None or self._collect.faults:
                continue
            axes = [tube_axis(job, tubes)]
            if kind.tip:
                axes.append(bit_axis(job, bits))
            axes.append(pressure_axis(job, *zip(*pressures, strict=True)))
            axes.append(material_axis(job, materials))
            if kind.tip and woods:
                axes.append(wood_axis(job, woods))
            found.append(
                Grid(kind=kind, job=job, axes=tuple(axes), shared=shared, settings=settings)
            )
        return tuple(found)

    def _job(
        self, kind: Kind, options: dict[str, str | bool], settings: tuple[str, ...]
    ) -> Job | None:
        """Return a combination as `make` reads it; each of its faults is kept once."""
        try:
            return read_job_for(kind, options, settings=settings)
        except InputError as error:
            self._collect.add([one for one in error.faults if one not in self._collect.faults])
        return None


def _usable(name: str, kind: Kind) -> bool:
    """Return whether a setting concerns a kind of part; unknown ones are left to be refused."""
    key = name.casefold().replace("-", "_")
    return key not in FORCED_SIZES or key in kind.usable_sizes
