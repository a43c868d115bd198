"""One part's folder: every file verified aside, then the whole folder put in place."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from fnmatch import fnmatch
from pathlib import Path

from barbwright.design.shape import Shape
from barbwright.errors import BuildError, Fault, InputError
from barbwright.export.door import WrittenFile, record, verified_file, write_bytes
from barbwright.export.step import write_step
from barbwright.export.stl import put_stl
from barbwright.export.threemf import put_3mf, require_same, write_3mf
from barbwright.reread.mesh import Expected, MeshReport
from barbwright.reread.threemf import read_3mf
from barbwright.reread.worker import Rereader
from barbwright.solid.build import Built, build
from barbwright.solid.mesh import mesh_solid

FORMATS = ("step", "stl", "3mf")
# Files that a remake replaces or drops; anything else in the folder is the user's own.
OWN_FILES = ("part*.step", "part*_mm.stl", "part*.3mf", "part*.json", "part*.png",
             "stress*.png", "drawing*.dxf", "drawing*.svg", "drawing*.pdf",
             "sheet*.html")  # fmt: skip

Extra = Callable[[Path, tuple[WrittenFile, ...]], bytes]
Extras = Mapping[str, Extra] | Callable[[Path], Mapping[str, Extra]]


@dataclass(frozen=True)
class WrittenPart:
    """One part on disk.

    Attributes
    ----------
    folder : Path
        Where its files stand.
    files : tuple of WrittenFile
        In the order they were written.
    measured : MeshReport or None
        What the written mesh measures; none when no mesh was asked for.
    """

    folder: Path
    files: tuple[WrittenFile, ...]
    measured: MeshReport | None


def write_part(
    shape: Shape,
    folder: Path,
    formats: Collection[str] = FORMATS,
    *,
    suffix: str = "",
    extras: Extras | None = None,
    replace: bool = False,
    rereader: Rereader | None = None,
    built: Built | None = None,
) -> WrittenPart:
    """Build a part, write and verify its files, and put the folder in place.

    An interrupt or an error at any moment leaves the old folder, or none.

    Parameters
    ----------
    shape : Shape
        The part as plain geometry.
    folder : Path
        The part's folder; folders above it are made.
    formats : collection of {"step", "stl", "3mf"}
        What to write; other names are left to `extras`.
    suffix : str
        Put behind ``part`` in the files' names (``_not_passed``).
    extras : mapping of str to callable, or callable, optional
        More files for the same folder, by name. Each is called, in order, with
        the folder as it stands so far and the files recorded so far (with
        their final paths), and returns the file's bytes. Where their names
        follow from the models: a function that gives the mapping, called with
        the folder once the models stand in it.
    replace : bool
        Whether a folder that exists may be remade. The user's own files in it
        are kept.
    rereader : Rereader, optional
        A measuring process that is already running.
    built : Built, optional
        The solid, where it is already there.

    Returns
    -------
    WrittenPart
        Files with size and checksum, and what the mesh measures.

    Raises
    ------
    InputError
        When the folder exists and may not be remade.
    BuildError
        When anything cannot be built, written or verified.
    """
    folder = Path(folder)
    _restore(folder)
    if not replace and folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise InputError(
            Fault("the part's folder is already there", given=str(folder),
                  do="--force to remake it, or another folder with -o")
        )  # fmt: skip
    with ExitStack() as stack:
        reader = rereader or stack.enter_context(Rereader())
        staged = stack.enter_context(staged_folder(folder))
        solid = built or build(shape)
        files, report = _write_models(solid, staged, folder, formats, suffix, reader)
        more = extras(staged) if callable(extras) else extras or {}
        for name, extra in more.items():
            write_bytes(staged / name, extra(staged, tuple(files)))
            kind = Path(name).suffix.lstrip(".")
            files.append(record(staged / name, kind, "", final=folder / name))
    return WrittenPart(folder, tuple(files), report)


def _write_models(
    built: Built,
    staged: Path,
    folder: Path,
    formats: Collection[str],
    suffix: str,
    reader: Rereader,
) -> tuple[list[WrittenFile], MeshReport | None]:
    """Write the model files; the measuring process works while STEP is written."""
    name = built.shape.name
    expected = Expected.of(built.shape, built.volume_mm3)
    written: list[tuple[str, str]] = []
    report = None
    with ExitStack() as meshes:
        measuring = {"stl", "3mf"} & set(formats)
        if measuring:
            mesh = mesh_solid(name, built.marked)
        if "stl" in formats:
            stl_name = f"part{suffix}_mm.stl"
            temporary = meshes.enter_context(verified_file(staged / stl_name))
            put_stl(temporary, mesh, name)
            reader.submit(temporary, expected)
            written.append((stl_name, "stl"))
        if "3mf" in formats:
            model_name = f"part{suffix}.3mf"
            if "stl" in formats:
                write_3mf(staged / model_name, mesh, name)
            else:
                temporary = meshes.enter_context(verified_file(staged / model_name))
                put_3mf(temporary, mesh, name)
                reader.submit(temporary, expected)
                require_same(read_3mf(temporary), mesh, name)
            written.append((model_name, "3mf"))
        if "step" in formats:
            solids = [(f"part{suffix}.step", built.marked, name, built.volume_mm3)]
            solids.append((f"part{suffix}_unmarked.step", built.unmarked, f"{name}_unmarked",
                           built.unmarked_volume_mm3))  # fmt: skip
            for number, (step_name, solid, product, volume_mm3) in enumerate(solids):
                write_step(staged / step_name, solid, product, volume_mm3)
                written.insert(number, (step_name, "step"))
        if measuring:
            report = reader.result()
    files = [record(staged / file, kind, final=folder / file) for file, kind in written]
    return files, report


@contextmanager
def staged_folder(folder: Path) -> Iterator[Path]:
    """Lend a new folder beside the target; put it in the target's place if all went well.

    Parameters
    ----------
    folder : Path
        The folder to make or remake.

    Yields
    ------
    Path
        The new folder, to be filled inside the ``with`` block.

    Raises
    ------
    BuildError
        When the place cannot be written.
    """
    staged = None
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        staged = Path(tempfile.mkdtemp(prefix=f".{folder.name}-new-", dir=folder.parent))
        yield staged
        staged.chmod(0o755)
        _keep_foreign_files(folder, staged)
        _swap(staged, folder)
        staged = None
    except OSError as error:
        given = f"{folder}: {error.strerror or error}"
        do = "choose a place that can be written, with -o"
        fault = Fault("cannot write the part's folder", given=given, do=do)
        raise BuildError(fault) from error
    finally:
        if staged is not None:
            shutil.rmtree(staged, ignore_errors=True)


def _keep_foreign_files(folder: Path, staged: Path) -> None:
    """Carry over what we never wrote: remaking a part must not eat a user's notes."""
    if not folder.is_dir():
        return
    for entry in sorted(folder.iterdir()):
        target = staged / entry.name
        if target.exists() or any(fnmatch(entry.name, pattern) for pattern in OWN_FILES):
            continue
        if entry.is_dir():
            shutil.copytree(entry, target, symlinks=True)
        else:
            shutil.copy2(entry, target, follow_symlinks=False)


def _aside(folder: Path) -> Path:
    return folder.parent / f".{folder.name}-old"


def _swap(staged: Path, folder: Path) -> None:
    """Put one folder in another's place; no system call does it in one step everywhere."""
    aside = _aside(folder)
    if aside.exists():
        shutil.rmtree(aside)
    try:
        if folder.exists():
            os.replace(folder, aside)
        os.replace(staged, folder)
    except BaseException:
        _restore(folder)
        raise
    shutil.rmtree(aside, ignore_errors=True)


def _restore(folder: Path) -> None:
    """Put the old folder back, where a swap was cut off between its two steps."""
    aside = _aside(folder)
    if aside.exists() and not folder.exists():
        os.replace(aside, folder)
