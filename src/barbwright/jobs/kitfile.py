"""Kit files: one job, the parts to print for it, and its chain."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from barbwright.catalog import nearest_names, profile_files, profile_folders
from barbwright.catalog.validate import faults_in, load_schema
from barbwright.design.part import KINDS
from barbwright.errors import Fault, InputError


@dataclass(frozen=True)
class PartOrder:
    """How many of a part to print.

    Attributes
    ----------
    kind : str
        Kind of part.
    quantity, spares : int
        Wanted, and on top of that [-].
    note : str
        The user's own words.
    """

    kind: str
    quantity: int
    spares: int
    note: str


@dataclass(frozen=True)
class KitFile:
    """A kit as its file says.

    Attributes
    ----------
    name : str
        Name of the kit's folder.
    title, note : str
        Words for people.
    invented : bool
        Whether the scenario is a demonstration.
    job : dict
        Inputs by name, as text.
    parts : tuple of PartOrder
        What to print.
    chain : dict
        The chain's inputs, as text.
    path : Path
        The file.
    """

    name: str
    title: str
    note: str
    invented: bool
    job: dict[str, Any]
    parts: tuple[PartOrder, ...]
    chain: dict[str, Any]
    path: Path


@dataclass(frozen=True)
class _Word:
    name: str


def kit_files() -> dict[str, Path]:
    """Return every kit of the shipped and the user's profiles, by name."""
    found: dict[str, Path] = {}
    for folder in profile_folders():
        found.update({path.stem: path for path in profile_files("kits", folder)})
    return found


def load_kit(where: Path | str) -> KitFile:
    """Read a kit file, all its faults at once.

    Parameters
    ----------
    where : Path or str
        A file, or the name of a kit in the profiles.

    Returns
    -------
    KitFile
        The kit.

    Raises
    ------
    InputError
        When it is missing or anything in it is wrong.
    """
    path = Path(where)
    if not path.is_file():
        known = kit_files()
        if str(where) in known:
            path = known[str(where)]
        else:
            near = nearest_names({name: _Word(name) for name in known}, Path(where).stem)
            raise InputError(
                Fault("no such kit file", given=str(where), do=f"known kits: {', '.join(near)}")
            )
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise InputError(Fault(f"{path}: not readable as TOML: {error}", do="mend it")) from None
    faults = faults_in(data, load_schema("kits"), str(path))
    parts = data.get("parts", {})
    faults += [
        Fault(f"{path}: parts.{name} is no part", limit=", ".join(KINDS), do="name one of these")
        for name in (parts if isinstance(parts, dict) else {})
        if name not in KINDS
    ]
    if isinstance(parts, dict) and not parts:
        faults.append(Fault(f"{path}: parts is empty", do="say what to print"))
    if faults:
        raise InputError(faults)
    return KitFile(
        name=data["name"],
        title=data.get("title", data["name"]),
        note=data.get("note", ""),
        invented=data.get("invented", False),
        job=data["job"],
        parts=tuple(
            PartOrder(name, row["quantity"], row.get("spares", 0), row.get("note", ""))
            for name, row in parts.items()
        ),
        chain=data.get("chain", {}),
        path=path,
    )
