"""Trees whose uptake the user's own field logs told."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from typing import Any

from barbwright.catalog.folders import (
    load_table,
    profile_files,
    save_user_file,
    toml_text,
    user_folder,
)
from barbwright.catalog.lookup import find
from barbwright.errors import Fault, InputError, quoted

_TABLE = "trees"
_FIGURES = ("low", "expected", "high", "viscosity_mpa_s", "pressure_kpa")


@dataclass(frozen=True, kw_only=True)
class Tree:
    """A tree as it drank.

    Attributes
    ----------
    name, species : str
        As the log names them; the species may be empty.
    low, expected, high : float
        Conductance of one port, nine in ten [mL/(min kPa)].
    viscosity_mpa_s : float
        Of the liquid it was told with [mPa s].
    pressure_kpa : float
        Highest pressure in its holes, gauge [kPa].
    runs : int
        How often it was told [-].
    date : str
        The last time.
    """

    name: str
    species: str
    low: float
    expected: float
    high: float
    viscosity_mpa_s: float
    pressure_kpa: float
    runs: int
    date: str

    @property
    def status(self) -> str:
        """How far it is known, in words."""
        runs = "1 run" if self.runs == 1 else f"{self.runs} runs"
        return f"measured, {runs}, {self.date or 'no date'}"


def _make(data: dict[str, Any], path: str) -> list[tuple[str, Tree]]:
    figures = {name: float(data[name]) for name in _FIGURES}
    return [(path, Tree(**{**data, **figures}))]


def trees() -> dict[str, Tree]:
    """Return the trees that field logs told, by file; read anew each time [-]."""
    folder = user_folder()
    if not profile_files(_TABLE, folder):
        return {}
    return load_table(_TABLE, (folder,), _make)


def find_tree(text: str, name: str = "--tree") -> Tree:
    """Return the tree of a name.

    Parameters
    ----------
    text : str
        Its name, any case [-].
    name : str
        What a message calls the input [-].
    """
    known = trees()
    same = [one for one in known.values() if one.name.casefold() == text.strip().casefold()]
    if len(same) == 1:
        return same[0]
    if not known:
        do = "give --species, or log a day at the trees with `barbwright log`"
        raise InputError(Fault(f"{name}: no field log has told a tree yet", quoted(text), do=do))
    return find(known, text, name, alike=False)


def save_tree(tree: Tree) -> str:
    """Write a tree into the user's profile, in place of what was kept of it before.

    Parameters
    ----------
    tree : Tree
        As it drank.

    Returns
    -------
    str
        The file.
    """
    word = re.sub(r"[^a-z0-9]+", "_", tree.name.casefold()).strip("_")[:40]
    key = hashlib.sha256(tree.name.casefold().encode()).hexdigest()[:6]
    lines = [
        "# Written by `barbwright log` from a field log.",
        f"name = {toml_text(tree.name)}",
        f"species = {toml_text(tree.species)}",
        *(f"{name} = {float(getattr(tree, name))!r}" for name in _FIGURES),
        f"runs = {tree.runs}",
        f"date = {toml_text(tree.date)}",
    ]
    return str(save_user_file(_TABLE, f"{word}-{key}.toml", "\n".join(lines) + "\n"))
