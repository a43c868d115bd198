"""Kit files: one job, the parts to print for it, and its chain."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from barbwright.catalog import name_one, profile_files, profile_folders, shipped_folder
from barbwright.catalog.folders import is_users_own, read_toml
from barbwright.catalog.validate import faults_in, load_schema
from barbwright.design.part import KINDS
from barbwright.errors import Fault, InputError, quoted
from barbwright.job.texts import FromFile

# Parts whose number follows from a chain's ports.
CHAIN_PARTS = ("tee", "elbow")


@dataclass(frozen=True, kw_only=True)
class PartOrder:
    """How many of a part to print.

    Attributes
    ----------
    kind : str
        Kind of part.
    quantity, spares : int or None
        Wanted, and on top of that; None where the chain says [-].
    note : str
        The user's own words.
    grade : int
        Which of three graded leads, where the part's own row says; 0 leaves it to the job [-].
    grades : bool
        All three leads, each in this quantity.
    """

    kind: str
    quantity: int | None = None
    spares: int | None = None
    note: str = ""
    grade: int = 0
    grades: bool = False


@dataclass(frozen=True, kw_only=True)
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
    language : str
        In which its cards are wanted beside English; empty for English alone.
    job : FromFile
        Inputs by name, as text.
    parts : tuple of PartOrder
        What to print.
    chain : FromFile
        The chain's inputs, as text.
    buyer : dict
        Who orders, and what they answer to print services.
    path : Path
        The file.
    """

    name: str
    title: str
    note: str
    invented: bool
    language: str
    job: FromFile
    parts: tuple[PartOrder, ...]
    chain: FromFile
    buyer: dict[str, Any]
    path: Path


def named_files(table: str) -> dict[str, Path]:
    """Return every file of a table of the shipped and the user's profiles, by name.

    Parameters
    ----------
    table : str
        ``kits`` or ``catalogues``.
    """
    found: dict[str, Path] = {}
    for folder in profile_folders():
        found.update({path.stem: path for path in profile_files(table, folder)})
    return found


def kit_files() -> dict[str, Path]:
    """Return every kit of the shipped and the user's profiles, by name."""
    return named_files("kits")


def find_file(where: Path | str, table: str) -> Path:
    """Return a file that is there, or one of the profiles by its name.

    Parameters
    ----------
    where : Path or str
        A file, or a name.
    table : str
        ``kits`` or ``catalogues``.

    Raises
    ------
    InputError
        When there is neither.
    """
    path = Path(where)
    try:
        there = path.is_file()
    except (OSError, ValueError):
        # No name a file can have.
        there = False
    if there:
        return path
    known = named_files(table)
    if str(where) in known:
        return known[str(where)]
    listed = "`barbwright list kits`" if table == "kits" else ""
    do = name_one(known, path.stem, listed)
    what = f"no such {table.removesuffix('s')} file"
    raise InputError(Fault(what, given=quoted(str(where)), do=f"{do}, or a file's path"))


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
    path = find_file(where, "kits")
    data = read_toml(path)
    faults = faults_in(data, load_schema("kits"), str(path))
    parts = data.get("parts", {})
    faults += [
        Fault(f"{path}: parts.{name} is no part", limit=", ".join(KINDS), do="name one of these")
        for name in (parts if isinstance(parts, dict) else {})
        if name not in KINDS
    ]
    if isinstance(parts, dict) and not parts and not data.get("chain"):
        faults.append(Fault(f"{path}: neither parts nor chain", do="say what to print"))
    for name, row in parts.items() if isinstance(parts, dict) else ():
        derived = name in CHAIN_PARTS and data.get("chain")
        if isinstance(row, dict) and "quantity" not in row and not derived:
            do = f"write {name} = {{ quantity = 1 }}"
            faults.append(Fault(f"{path}: parts.{name}: quantity is missing", do=do))
    faults += _graded_wrongly(parts, str(path)) if isinstance(parts, dict) else []
    if faults:
        raise InputError(faults)
    # The name of a kit means the shipped one to whoever did not write another of that name.
    ours = {one.stem for one in profile_files("kits", shipped_folder())}
    said = (
        (f"kit {path.stem}: your own file stands in for the shipped one ({path})",)
        if is_users_own(str(path.absolute())) and path.stem in ours
        else ()
    )
    return KitFile(
        name=data["name"],
        title=data.get("title", data["name"]),
        note=data.get("note", ""),
        invented=data.get("invented", False),
        language=data.get("language", ""),
        job=FromFile(data["job"], str(path), "job", said),
        parts=tuple(PartOrder(kind=name, **row) for name, row in parts.items()),
        chain=FromFile(data.get("chain", {}), str(path), "chain"),
        buyer=data.get("buyer", {}),
        path=path,
    )


def _graded_wrongly(parts: dict[str, Any], path: str) -> list[Fault]:
    """Return a fault for each part that has no tip to grade, or asks for one grade and for all."""
    faults = []
    tips = ", ".join(name for name, kind in KINDS.items() if kind.tip)
    for name, row in parts.items():
        if not isinstance(row, dict) or name not in KINDS:
            continue
        asked = [word for word in ("grade", "grades") if row.get(word)]
        if asked and not KINDS[name].tip:
            what = f"{path}: parts.{name}: {asked[0]}: this part has no tip"
            faults.append(Fault(what, limit=tips, do="leave it out"))
        elif len(asked) > 1:
            what = f"{path}: parts.{name}: grades makes all three, grade one of them"
            faults.append(Fault(what, do="say one of the two"))
    return faults
