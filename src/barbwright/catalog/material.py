"""Print materials: what a service prints, derated from published figures."""

from __future__ import annotations

import dataclasses
import functools
import itertools
import math
import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from barbwright.catalog.folders import load_table, profile_folders
from barbwright.catalog.lookup import find
from barbwright.errors import Fault, InputError, quoted

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    FloatArray = NDArray[np.float64]
Curve = tuple[tuple[float, float], ...]

FLUID_CLASSES = (
    "water",
    "dilute_acid",
    "strong_mineral_acid",
    "alkali",
    "alcohol",
    "oil",
    "oxidiser",
    "solvent",
    "chloride_brine",
    "unknown",
)


@dataclass(frozen=True)
class Provenance:
    """Where a shipped figure comes from: its status and its source key."""

    status: str
    source: str


@dataclass(frozen=True)
class Published:
    """A figure as a document prints it, beside the derated one we ship."""

    property: str
    value: float | str
    document: str
    status: str


@dataclass(frozen=True, kw_only=True)
class Material:
    """A print material and process: strengths [MPa], process limits [mm], heat [C], fluids.

    `strength_z_mpa` already holds the knock-down across layers. `min_wall_exposed_mm` is for
    a wall wet inside and open to air, `min_wall_covered_mm` inside tube, wood or bark,
    `min_wall_mm` for any wall; `min_gap_mm` is the smallest detail, `min_text_line_mm` an
    engraved stroke. `provenance` gives status and source of each figure by its name. A figure
    that no public source gives is not a number, and so is every check that needs it; `unknown`
    names them. `hole_tolerance_mm` is how far a hole may come out larger and smaller, where
    that is published; `finish` is what the limits hold for, where it is not the process' own.
    """

    id: str
    name: str
    trade_name: str
    process_52900: str
    process_status: str
    basis: str
    pressure_use: str
    tapping: bool
    pressure: bool
    field: bool
    prototype_only: bool
    use_status: str
    refuse: tuple[str, ...]
    refused_fluids: tuple[str, ...]
    cautioned_fluids: tuple[str, ...]
    fluid_status: str
    strength_xy_mpa: float
    strength_z_mpa: float
    modulus_mpa: float
    poisson: float
    elongation_xy_pct: float
    elongation_z_pct: float
    wet_factor: float
    temperature_factor: Curve
    long_term_factor: float
    max_temperature_c: float
    thermal_expansion_per_k: float
    tolerance_mm: float
    tolerance_pct: float
    min_wall_exposed_mm: float
    min_wall_covered_mm: float
    min_wall_mm: float
    min_bore_mm: float
    min_gap_mm: float
    min_text_line_mm: float
    build_box_mm: tuple[float, float, float]
    density_g_cm3: float
    rounded_down_allowable_mpa: Curve
    rounded_down_short_term_mpa: Curve
    published: tuple[Published, ...]
    path: str
    provenance: dict[str, Provenance] = dataclasses.field(compare=False, repr=False)
    finish: str = ""
    hole_tolerance_mm: tuple[float, float] | None = None

    @property
    def unknown(self) -> tuple[str, ...]:
        """Figures that no public source gives."""
        numbers = ("wet_factor", "long_term_factor")
        missing = [name for name in numbers if math.isnan(getattr(self, name))]
        return tuple(missing if self.temperature_factor else [*missing, "temperature_factor"])

    def temperature_factor_at(self, temperature_c: ArrayLike) -> FloatArray:
        """Return the factor on strength and stiffness at a temperature.

        Parameters
        ----------
        temperature_c : float or array
            Part temperature [C].

        Returns
        -------
        array
            Linear between the record's points, 1 below the first, not a number above
            `max_temperature_c` or beyond the last point [-].
        """
        # Late: a list of names must not wait for it.
        import numpy as np

        t = np.asarray(temperature_c, dtype=float)
        if not self.temperature_factor:
            return np.full(t.shape, np.nan)[()]
        points = np.asarray(self.temperature_factor)
        factor = np.interp(t, points[:, 0], points[:, 1])
        limit = min(self.max_temperature_c, points[-1, 0])
        return np.where(t <= limit, factor, np.nan)[()]

    def short_term_mpa(
        self, temperature_c: ArrayLike, direction: Literal["z", "xy"] = "z"
    ) -> FloatArray:
        """Return the wet short-term strength, for handling loads.

        Parameters
        ----------
        temperature_c : float or array
            Part temperature [C].
        direction : {"z", "xy"}
            "xy" only where the stress truly lies in the layers, and in compression [-].

        Returns
        -------
        array
            strength x wet_factor x temperature factor, not rounded [MPa].
        """
        strength = {"z": self.strength_z_mpa, "xy": self.strength_xy_mpa}[direction]
        return strength * self.wet_factor * self.temperature_factor_at(temperature_c)

    def wet_short_term_compressive_mpa(self, temperature_c: ArrayLike) -> FloatArray:
        """Return the wet short-term strength in compression, from strength_xy.

        Parameters
        ----------
        temperature_c : float or array
            Part temperature [C].

        Returns
        -------
        array
            Not rounded [MPa].
        """
        return self.short_term_mpa(temperature_c, "xy")

    def allowable_mpa(
        self, temperature_c: ArrayLike, design_factor: float, cap_ratio: float
    ) -> FloatArray:
        """Return the long-term allowable stress under pressure.

        Parameters
        ----------
        temperature_c : float or array
            Part temperature [C].
        design_factor : float
            On the long-term strength [-].
        cap_ratio : float
            Dry strength over the largest allowable [-].

        Returns
        -------
        array
            min(strength_z x wet x temperature x long-term factor x design factor,
            strength_z / cap ratio), not rounded; only its print is [MPa].
        """
        lasting = self.short_term_mpa(temperature_c) * self.long_term_factor
        import numpy as np

        return np.minimum(lasting * design_factor, self.strength_z_mpa / cap_ratio)

    def modulus_at_mpa(self, temperature_c: ArrayLike) -> FloatArray:
        """Return Young's modulus at a temperature.

        Parameters
        ----------
        temperature_c : float or array
            Part temperature [C].

        Returns
        -------
        array
            modulus x temperature factor [MPa].
        """
        return self.modulus_mpa * self.temperature_factor_at(temperature_c)


def _curve(points: list[list[float]]) -> Curve:
    return tuple((float(x), float(y)) for x, y in points)


def temperature_curve(points: list[list[float]], at: str) -> Curve:
    """Return a curve over temperature [C] of the factors that a record states [-].

    Parameters
    ----------
    points : list of list of float
        As its file has them.
    at : str
        Where they stand, for the message.

    Raises
    ------
    InputError
        When temperatures do not rise.
    """
    if not is_rising(points):
        raise InputError(Fault(f"{at}: temperatures do not rise", given=str(points)))
    return _curve(points)


def is_rising(points: list[list[float]]) -> bool:
    """Return whether a curve's first column rises from point to point [-]."""
    return all(a[0] < b[0] for a, b in itertools.pairwise(points))


def _make(data: dict[str, Any], path: str) -> list[tuple[str, Material]]:
    data = dict(data)
    figures = data.pop("figures")
    rounded = data.pop("rounded_down", {})
    published = tuple(Published(**entry) for entry in data.pop("published", ()))
    # What is left out is no number, and takes every check that needs it along.
    values: dict[str, Any] = {
        "wet_factor": float("nan"), "long_term_factor": float("nan"), "temperature_factor": (),
    }  # fmt: skip
    for key, figure in figures.items():
        value = figure["value"]
        if key == "temperature_factor":
            values[key] = temperature_curve(value, f"{path}: figures.temperature_factor")
        elif isinstance(value, list):
            values[key] = tuple(map(float, value))
        else:
            values[key] = float(value)
    for key in ("refuse", "refused_fluids", "cautioned_fluids"):
        data[key] = tuple(data.get(key, ()))
    material = Material(
        **data,
        **values,
        rounded_down_allowable_mpa=_curve(rounded.get("allowable_mpa", [])),
        rounded_down_short_term_mpa=_curve(rounded.get("short_term_mpa", [])),
        published=published,
        path=path,
        provenance={k: Provenance(f["status"], f["source"]) for k, f in figures.items()},
    )
    return [(material.id, material)]


@functools.cache
def materials_in(folders: tuple[Path, ...]) -> dict[str, Material]:
    """Return the print materials of some profile folders, the later ones on top [-]."""
    return load_table("materials", folders, _make)


def materials() -> dict[str, Material]:
    """Return all print materials by id, the user's own included [-]."""
    return materials_in(profile_folders())


def find_material(text: str) -> Material:
    """Return the material of an id or name, any case, words in any order [-]."""
    for refused in refused_materials().values():
        if refused.named_by(text):
            raise InputError(
                Fault(f"{refused.name} is refused: {refused.reason}", quoted(text),
                      do="name a material with a record: `barbwright list materials`")
            )  # fmt: skip
    return find(materials(), text, "material", where="`barbwright list materials`")


@dataclass(frozen=True, kw_only=True)
class RefusedMaterial:
    """A material that a user will name and nothing should be made of.

    `words` are what it is named by, `reason` is said in full, with how far it was read.
    """

    id: str
    name: str
    words: tuple[str, ...]
    reason: str
    status: str
    source: str

    def named_by(self, text: str) -> bool:
        """Return whether a text names it: any of its words, as whole words [-]."""
        said = re.sub(r"[^a-z0-9]+", " ", text.casefold()).split()
        runs = (word.split() for word in self.words)
        return any(
            said[start : start + len(run)] == run
            for run in runs
            for start in range(len(said) - len(run) + 1)
        )


def _refused(data: dict[str, Any], _path: str) -> list[tuple[str, RefusedMaterial]]:
    rows = ({**row, "words": tuple(row["words"])} for row in data["refused"])
    return [(row["id"], RefusedMaterial(**row)) for row in rows]


@functools.cache
def _load_refused(folders: tuple[Path, ...]) -> dict[str, RefusedMaterial]:
    return load_table("refused_materials", folders, _refused)


def refused_materials() -> dict[str, RefusedMaterial]:
    """Return what is refused by id, the user's own included [-]."""
    return _load_refused(profile_folders())
