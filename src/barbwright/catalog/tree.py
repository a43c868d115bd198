"""Trees whose uptake the user's own field logs told."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from barbwright.catalog.folders import (
    load_table,
    save_user_file,
    toml_text,
    user_folder,
)
from barbwright.catalog.lookup import find
from barbwright.errors import Fault, InputError, quoted

_TABLE = "trees"
_FIGURES = ("low", "expected", "high", "viscosity_mpa_s", "pressure_kpa")


@dataclass(frozen=True, kw_only=True)
class TreeRun:
    """One day's run of a tree.

    Attributes
    ----------
    date : str
        Its day.
    low, expected, high : float
        Conductance of one port, nine in ten [mL/(min kPa)].
    viscosity_mpa_s : float
        Of the liquid it was told with [mPa s].
    pressure_kpa : float
        Highest pressure at the vessel, gauge [kPa].
    """

    date: str
    low: float
    expected: float
    high: float
    viscosity_mpa_s: float
    pressure_kpa: float


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
        Highest pressure at the vessel, gauge [kPa].
    runs : int
        How often it was told [-].
    date : str
        The last time.
    each : tuple of TreeRun
        The runs one by one, a day each.
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
    each: tuple[TreeRun, ...] = ()

    @property
    def status(self) -> str:
        """How far it is known, in words."""
        runs = "1 run" if self.runs == 1 else f"{self.runs} runs"
        return f"measured, {runs}, {self.date or 'no date'}"


def _make(data: dict[str, Any], path: str) -> list[tuple[str, Tree]]:
    figures = {name: float(data[name]) for name in _FIGURES}
    rows = data.get("run") or [{"date": data["date"], **figures}]
    each = tuple(
        TreeRun(date=row["date"], **{name: float(row[name]) for name in _FIGURES}) for row in rows
    )
    values = {name: value for name, value in data.items() if name != "run"}
    return [(path, Tree(**{**values, **figures, "each": each}))]


def tree_of(name: str, species: str, each: Iterable[TreeRun]) -> Tree:
    """Return a tree as its runs have it.

    One tree's seasons differ: its runs are averaged, and the range holds them all.

    Parameters
    ----------
    name, species : str
        As the log names them.
    each : iterable of TreeRun
        A day each; a day given twice counts as it was given last.

    Source: own_derivation
    """
    by_day = {run.date: run for run in each}
    runs = sorted(by_day.values(), key=lambda run: run.date)
    last = runs[-1]
    # A liquid twice as thick passes half as well: all are told in the last one's.
    share = [run.viscosity_mpa_s / last.viscosity_mpa_s for run in runs]
    logs = [math.log(run.expected * by) for run, by in zip(runs, share, strict=True)]
    return Tree(
        name=name,
        species=species,
        low=min(run.low * by for run, by in zip(runs, share, strict=True)),
        expected=math.exp(math.fsum(logs) / len(logs)),
        high=max(run.high * by for run, by in zip(runs, share, strict=True)),
        viscosity_mpa_s=last.viscosity_mpa_s,
        pressure_kpa=max(run.pressure_kpa for run in runs),
        runs=len(runs),
        date=last.date,
        each=tuple(runs),
    )


def trees() -> dict[str, Tree]:
    """Return the trees that field logs told, by file; read anew each time [-]."""
    return load_table(_TABLE, (user_folder(),), _make)


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
    return find(known, text, name, where=f"the folder {user_folder() / _TABLE}")


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
    import hashlib

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
    for run in tree.each:
        lines += ["", "[[run]]", f"date = {toml_text(run.date)}"]
        lines += [f"{name} = {float(getattr(run, name))!r}" for name in _FIGURES]
    return str(save_user_file(_TABLE, f"{word}-{key}.toml", "\n".join(lines) + "\n"))
