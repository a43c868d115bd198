"""One part's folder: every file verified aside, then the whole folder put in place."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass
from fnmatch import fnmatch
from pathlib import Path

import numpy as np

from barbwright.aside import clear_left, own_prefix, writing
from barbwright.design.laying import AS_DRAWN, Laying, placed
from barbwright.design.limits import Limited
from barbwright.design.shape import Shape
from barbwright.errors import Fault, InputError
from barbwright.export.door import WrittenFile, record, verified_file, write_bytes
from barbwright.export.step import write_step
from barbwright.export.stl import put_stl
from barbwright.export.threemf import Body, put_3mf, require_same, write_3mf
from barbwright.reread.mesh import Expected, MeshReport
from barbwright.reread.threemf import read_3mf
from barbwright.reread.worker import Rereader
from barbwright.solid.build import Built, build
from barbwright.solid.mesh import TriangleMesh, mesh_solid

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
    laying: Laying = AS_DRAWN,
    material: str = "",
    sizes: Sequence[Limited] = (),
    again: bool = False,
    meshed: Callable[[Path], None] | None = None,
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
    laying : Laying
        How STL and 3MF lie, on Z = 0; STEP stays in the design's frame.
    material : str
        Said in the 3MF.
    sizes : sequence of Limited
        Of these the diameters are said in the STEP, with their limits.
    again : bool
        To be compared with files that are there: no mesh is measured, and no second STEP holds
        the part without its mark, which is for finite elements alone.
    meshed : callable, optional
        Called with the STL under a name that it has for a while, as soon as it is written and
        before it is verified: what needs it can begin.

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
    with _alone_in(folder.parent):
        _restore(folder)
    if not replace:
        require_free(folder)
    with ExitStack() as stack:
        reader = rereader or stack.enter_context(Rereader(in_process=again))
        staged = stack.enter_context(staged_folder(folder))
        solid = built or build(shape)
        models = _Models(
            built=solid,
            staged=staged,
            formats=formats,
            suffix=suffix,
            laying=laying,
            material=material,
            sizes=tuple(one for one in sizes if one.is_diameter),
            again=again,
            meshed=meshed,
        )
        written, report = models.write(reader)
        files = [record(staged / file, kind, final=folder / file) for file, kind in written]
        more = extras(staged) if callable(extras) else extras or {}
        for name, extra in more.items():
            write_bytes(staged / name, extra(staged, tuple(files)))
            kind = Path(name).suffix.lstrip(".")
            files.append(record(staged / name, kind, "", final=folder / name))
    return WrittenPart(folder, tuple(files), report)


def require_free(*folders: Path) -> None:
    """Refuse folders that are there and hold anything, all of them at once.

    Parameters
    ----------
    folders : Path
        Folders of parts that are to be written, none of them before all are free.

    Raises
    ------
    InputError
        When some are there.
    """
    taken = []
    for folder in folders:
        with _alone_in(folder.parent):
            _restore(folder)
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            taken.append(folder)
    if taken:
        one = len(folders) == 1
        what = "the part's folder is" if one else f"{len(taken)} of {len(folders)} folders are"
        do = f"--force to remake {'it' if one else 'them'}, or another folder with -o"
        raise InputError(Fault(f"{what} already there", given=", ".join(map(str, taken)), do=do))


@dataclass(frozen=True, kw_only=True)
class _Models:
    """The model files of one part, while its folder is being filled."""

    built: Built
    staged: Path
    formats: Collection[str]
    suffix: str
    laying: Laying
    material: str
    sizes: tuple[Limited, ...]
    again: bool
    meshed: Callable[[Path], None] | None

    def write(self, reader: Rereader) -> tuple[list[tuple[str, str]], MeshReport | None]:
        """Write what is asked for; the measuring process works while STEP is written."""
        written: list[tuple[str, str]] = []
        report = None
        with ExitStack() as meshes:
            meshed = {"stl", "3mf"} & set(self.formats)
            if meshed:
                written = self._meshes(meshes, reader)
            if "step" in self.formats:
                written = [*self._steps(), *written]
            if meshed and not self.again:
                report = reader.result()
        return written, report

    def _meshes(self, meshes: ExitStack, reader: Rereader) -> list[tuple[str, str]]:
        """Write STL and 3MF of one mesh, and hand one of them to the measuring process."""
        name, built = self.built.shape.name, self.built
        mesh, lift = laid(mesh_solid(name, built.marked), self.laying)
        shape = placed(built.shape, self.laying, lift)
        expected = Expected.of(shape, built.volume_mm3)
        body = Body(name=name, material=self.material, mesh=mesh)
        written = []
        if "stl" in self.formats:
            stl_name = f"part{self.suffix}_mm.stl"
            temporary = meshes.enter_context(verified_file(self.staged / stl_name))
            put_stl(temporary, mesh, name)
            if not self.again:
                reader.submit(temporary, expected)
            if self.meshed is not None:
                self.meshed(temporary)
            written.append((stl_name, "stl"))
        if "3mf" in self.formats:
            model_name = f"part{self.suffix}.3mf"
            if "stl" in self.formats:
                write_3mf(self.staged / model_name, name, (body,))
            else:
                temporary = meshes.enter_context(verified_file(self.staged / model_name))
                put_3mf(temporary, name, (body,))
                if not self.again:
                    reader.submit(temporary, expected)
                require_same(read_3mf(temporary), name, (body,))
            written.append((model_name, "3mf"))
        return written

    def _steps(self) -> list[tuple[str, str]]:
        built, name = self.built, self.built.shape.name
        solids = (
            (f"part{self.suffix}.step", built.marked, name, built.volume_mm3),
            (f"part{self.suffix}_unmarked.step", built.unmarked, f"{name}_unmarked",
             built.unmarked_volume_mm3),
        )  # fmt: skip
        asked = solids[:1] if self.again else solids
        for step_name, solid, product, volume_mm3 in asked:
            said = self.sizes if step_name == solids[0][0] else ()
            write_step(self.staged / step_name, solid, product, volume_mm3, said)
        return [(step_name, "step") for step_name, *_ in asked]


def laid(mesh: TriangleMesh, laying: Laying) -> tuple[TriangleMesh, float]:
    """Return a mesh as it is built: turned, and lifted onto Z = 0.

    Parameters
    ----------
    mesh : TriangleMesh
        In the design's frame [mm].
    laying : Laying
        How it is to lie.

    Returns
    -------
    tuple of TriangleMesh and float
        The mesh and its lift [mm].
    """
    turned = mesh.vertices.astype(np.float64) @ laying.turn.T
    lift = -float(turned[:, 2].min())
    turned[:, 2] += lift
    # Adding nothing makes a zero of every negative zero.
    return TriangleMesh((turned + 0.0).astype(np.float32), mesh.triangles), lift


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
    staged, do = None, "choose a place that can be written, with -o"
    try:
        with writing("cannot write the part's folder", folder, do):
            folder.parent.mkdir(parents=True, exist_ok=True)
            clear_left(folder.parent, f".{folder.name}-new")
            prefix = own_prefix(f".{folder.name}-new")
            staged = Path(tempfile.mkdtemp(prefix=prefix, dir=folder.parent))
            yield staged
            staged.chmod(0o755)
            with _alone_in(folder.parent):
                _keep_foreign_files(folder, staged)
                _swap(staged, folder)
            staged = None
    finally:
        if staged is not None:
            shutil.rmtree(staged, ignore_errors=True)


@contextmanager
def _alone_in(place: Path) -> Iterator[None]:
    """Keep other processes of ours from swapping folders in a place at the same moment.

    Where the place is not there yet, or cannot be locked, nobody else's swap is waited for.
    """
    try:
        import fcntl

        lock = os.open(place, os.O_RDONLY)
    except (ImportError, OSError, ValueError):
        yield
        return
    try:
        with suppress(OSError):
            fcntl.flock(lock, fcntl.LOCK_EX)
        yield
    finally:
        os.close(lock)


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
