"""One part of a catalogue, made by whoever works for it: looked up first, put in place whole."""

from __future__ import annotations

import json
import os
import shutil
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from barbwright.catalog import profile_folders
from barbwright.design.part import KINDS
from barbwright.errors import BarbwrightError, Fault
from barbwright.farm.parts import Done, Made, Wanted
from barbwright.farm.record import files_of, key_of, load, save, stamp_of
from barbwright.job.reading import read_job_for
from barbwright.jobs.make import folder_name, make_part
from barbwright.jobs.plan import plan_part
from barbwright.jobs.record import versions

if TYPE_CHECKING:
    from barbwright.reread.worker import Rereader

WORK = ".work"
PARTS = "parts"
# Says to each worker which catalogue's folder this is, and to whom it belongs.
STAMP_FILE = "stamp.txt"


@cache
def own_stamp() -> str:
    """Return one word for this process's versions, profiles and source: equal ones, equal bytes."""
    package = Path(__file__).resolve().parents[1]
    files = {str(path.relative_to(package)): path for path in package.rglob("*.py")}
    for number, folder in enumerate(profile_folders()):
        files |= {f"{number}/{p.relative_to(folder)}": p for p in folder.rglob("*.toml")}
    # A catalogue's own file is told by its parts' inputs.
    read = {name: path.read_bytes() for name, path in sorted(files.items())
            if "catalogues/" not in name}  # fmt: skip
    return stamp_of(versions(), read)


def make_one(home: Path, part: Wanted, formats: tuple[str, ...], stamp: str) -> Done:
    """Return a part of a catalogue: the one that is there, or made now.

    Nothing of it is seen under its own name before it is whole and its record stands, so
    that a process ended at any moment leaves no more than a folder of work to be swept.

    Parameters
    ----------
    home : Path
        The catalogue's folder, as this process sees it.
    part : Wanted
        What is to be made.
    formats : tuple of str
        Which files.
    stamp : str
        Versions and profiles of whoever asks.
    """
    if fault := misfit(home, stamp):
        return Done(index=part.index, because=fault, stop=True)
    key = key_of(part, formats, stamp)
    known = load(home, key)
    if known is not None:
        return Done(index=part.index, made=known, kept=True)
    try:
        made = _make(home, part, formats, key)
    except BarbwrightError as error:
        because = "; ".join(str(fault) for fault in error.faults)
        disk = any(isinstance(one, OSError) for one in _causes(error))
        return Done(index=part.index, because=because, elsewhere=disk)
    except (OSError, MemoryError) as error:
        because = f"{type(error).__name__}: {error}"
        return Done(index=part.index, because=because, elsewhere=True)
    return Done(index=part.index, made=made, peak_kib=_peak_kib())


def misfit(home: Path, stamp: str) -> str:
    """Return why this process can't work for a catalogue; empty where it can.

    Parameters
    ----------
    home : Path
        The catalogue's folder.
    stamp : str
        Versions and profiles of whoever asks.
    """
    if own_stamp() != stamp:
        return "this worker has other versions, profiles or source of barbwright than was asked"
    try:
        there = (home / "record" / STAMP_FILE).read_text(encoding="utf-8")
    except OSError as error:
        return f"this worker does not see the catalogue's folder {home}: {error.strerror}"
    return "" if there.strip() == stamp else f"another catalogue's folder lies here at {home}"


def _causes(error: BaseException) -> Iterator[BaseException]:
    found: BaseException | None = error
    while found is not None:
        yield found
        found = found.__cause__ or found.__context__


def _make(home: Path, part: Wanted, formats: tuple[str, ...], key: str) -> Made:
    kind = KINDS[part.kind]
    job = read_job_for(kind, part.options, settings=part.settings)
    plan = plan_part(kind, job)
    proofs = tuple(one.info.id for one in plan.proved_in_field) if plan.verdict == "pass" else ()
    if (plan.verdict, proofs) != (part.verdict, part.proofs):
        what = "judged by itself it comes out otherwise than among all: please report it"
        mine, theirs = (
            " ".join((verdict, *checks))
            for verdict, checks in ((plan.verdict, proofs), (part.verdict, part.proofs))
        )
        raise BarbwrightError(Fault(what, given=f"{mine}; {theirs} among all"))
    with _workshop(home, key) as work:
        folder, _ = make_part(plan, work, formats, rereader=_rereader())
        name = folder_name(plan)
        made = Made(
            number=plan.number,
            folder=f"{PARTS}/{name}",
            verdict=plan.verdict,
            files=files_of(folder),
        )
        # The record first: a folder in its place always has one.
        save(home, key, made)
        _put(folder, home / PARTS / name, work)
    return made


@contextmanager
def _workshop(home: Path, key: str) -> Iterator[Path]:
    """Lend a folder of this process's own, on the disk of the catalogue."""
    work = home / WORK / f"{socket.gethostname()}-{os.getpid()}-{key[:8]}"
    shutil.rmtree(work, ignore_errors=True)
    work.mkdir(parents=True)
    try:
        yield work
    finally:
        shutil.rmtree(work, ignore_errors=True)


def _put(folder: Path, place: Path, work: Path) -> None:
    """Give a finished folder its name, in one step.

    Raises
    ------
    BarbwrightError
        When another combination's part has this number.
    """
    place.parent.mkdir(parents=True, exist_ok=True)
    try:
        os.rename(folder, place)
    except OSError:
        if not place.is_dir():
            raise
        if not _same_combination(folder, place):
            what = "two combinations have one part number: make one of them by itself"
            raise BarbwrightError(Fault(what, given=place.name)) from None
        # Damaged, of older versions, or another worker's of this minute: this one is whole.
        os.rename(place, work / "old")
        os.rename(folder, place)


def _same_combination(new: Path, old: Path) -> bool:
    told = []
    for folder in (new, old):
        try:
            body = json.loads((folder / "part.json").read_text(encoding="utf-8"))
            told.append([body["part"], body["inputs"]])
        except (OSError, ValueError, KeyError, TypeError):
            # Damaged: it is no part any more.
            return True
    return bool(told[0] == told[1])


@cache
def _rereader() -> Rereader:
    """Return what measures meshes, in this process: one worker is one core's work."""
    from barbwright.reread.worker import Rereader

    return Rereader(in_process=True)


def _peak_kib() -> int:
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
