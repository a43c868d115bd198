"""A catalogue from its file to its folder: judged, made, written; run again, it goes on."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

from barbwright.errors import BuildError, Fault, InputError
from barbwright.farm.judge import JudgedCatalogue, judge
from barbwright.farm.make import PARTS, STAMP_FILE, WORK, own_stamp
from barbwright.farm.parts import Done, Made, Wanted
from barbwright.farm.record import key_of, load
from barbwright.farm.spec import CatalogueSpec
from barbwright.farm.tables import FILES, write_tables

_OURS = {*FILES, PARTS, WORK, "record"}


@dataclass(frozen=True, kw_only=True)
class Catalogue:
    """A catalogue on disk.

    Attributes
    ----------
    judged : JudgedCatalogue
        Every verdict.
    folder : Path or None
        Where it stands; None where it was only judged.
    made : dict of int to Made
        What stands on disk, by the combination's number.
    refused : dict of int to str
        Why a part that was to be made is not there.
    kept : int
        How many of them were there already [-].
    left_over : tuple of str
        Parts in its folder that it no longer has.
    peak_kib : int
        Most memory that a worker ever had [KiB].
    """

    judged: JudgedCatalogue
    folder: Path | None = None
    made: dict[int, Made] = field(default_factory=dict)
    refused: dict[int, str] = field(default_factory=dict)
    kept: int = 0
    left_over: tuple[str, ...] = ()
    peak_kib: int = 0


def run_catalogue(
    spec: CatalogueSpec,
    output: Path,
    *,
    judge_only: bool = False,
    scheduler: str | None = None,
    workers: int | None = None,
    judging: Callable[[float], None] | None = None,
    making: Callable[[int, int], None] = lambda _done, _all: None,
    said: Callable[[str], None] = lambda _: None,
) -> Catalogue:
    """Judge a catalogue, make what passes, write its tables and its page.

    Parameters
    ----------
    spec : CatalogueSpec
        What is combined.
    output : Path
        Its folder.
    judge_only : bool
        Make nothing; the tables and the page are written.
    scheduler : str or None
        Address of a scheduler that is there; None works on this machine's cores.
    workers : int or None
        Processes to start here; None is one a core [-].
    judging : callable, optional
        Told the share of combinations that is judged.
    making : callable
        Told how many parts are done, and of how many.
    said : callable
        Told what the user should know while it goes on.

    Raises
    ------
    InputError
        When the folder is somebody else's, or the cluster does not fit.
    BuildError
        When it can't go on; what is finished stays, and the same command goes on from there.
    """
    home = Path(output).absolute()
    with _own(home):
        judged = judge(spec, judging)
        made: dict[int, Made] = {}
        refused: dict[int, str] = {}
        kept, peak = 0, 0
        wanted = [] if judge_only else list(judged.wanted())
        missing = []
        for part in wanted:
            # Looked up here first: of a finished catalogue no worker is asked.
            found = load(home, key_of(part, spec.formats, own_stamp()))
            if found is None:
                missing.append(part)
            else:
                made[part.index] = found
        kept = len(made)
        try:
            for done in _made(missing, home, spec, scheduler, workers, said):
                if done.made is not None:
                    made[done.index] = done.made
                    kept += done.kept
                else:
                    refused[done.index] = done.because
                peak = max(peak, done.peak_kib)
                making(len(made) + len(refused), len(wanted))
        finally:
            # Cut off as well: what is finished is told, and nothing else is left.
            shutil.rmtree(home / WORK, ignore_errors=True)
            write_tables(home, judged, made, refused)
        ours = {one.folder for one in made.values()}
        there = sorted(f"{PARTS}/{path.name}" for path in (home / PARTS).glob("*"))
        return Catalogue(
            judged=judged,
            folder=home,
            made=made,
            refused=refused,
            kept=kept,
            left_over=tuple(one for one in there if one not in ours) if not judge_only else (),
            peak_kib=peak,
        )


def _made(
    missing: list[Wanted],
    home: Path,
    spec: CatalogueSpec,
    scheduler: str | None,
    workers: int | None,
    said: Callable[[str], None],
) -> Iterator[Done]:
    if missing:
        from barbwright.farm.cluster import make_all

        yield from make_all(
            missing, home, spec.formats, scheduler=scheduler, workers=workers, said=said
        )


@contextmanager
def _own(home: Path) -> Iterator[None]:
    """Take a folder for one run; sweep what a run that was ended left in it."""
    foreign = [p.name for p in home.iterdir() if p.name not in _OURS] if home.is_dir() else []
    if foreign or (home.exists() and not home.is_dir()):
        given = f"{home}: {', '.join(sorted(foreign)[:3])}" if foreign else str(home)
        do = "name another folder with -o"
        raise InputError(Fault("this folder holds what is no catalogue's", given, do=do))
    try:
        (home / "record").mkdir(parents=True, exist_ok=True)
        with (home / "record" / "lock").open("w") as lock:
            if not _locked(lock):
                do = "wait for it, or name another folder with -o"
                raise InputError(Fault("another run is at this catalogue", str(home), do=do))
            shutil.rmtree(home / WORK, ignore_errors=True)
            (home / "record" / STAMP_FILE).write_text(own_stamp() + "\n", encoding="utf-8")
            yield
    except OSError as error:
        what, do = "cannot write the catalogue's folder", "name another with -o"
        raise BuildError(Fault.of_system(what, home, error, do)) from error


def _locked(lock: object) -> bool:
    """Return whether this run is alone; a lock is given back by whatever ends it."""
    with suppress(ImportError):
        import fcntl

        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)  # type: ignore[arg-type]
        except OSError:
            return False
    return True
