"""A made part looked at anew: each file must be the one that its own job gives.

A checksum stands beside its file and can be written anew with it, so it proves nothing but that
the disk is sound. Files are therefore re-read as a stranger would, and then made again from the
job and compared; what was made again is what goes into the zip.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from barbwright.aside import scratch_folder
from barbwright.design.laying import lift_mm, placed
from barbwright.errors import BarbwrightError, BuildError, Fault, InputError
from barbwright.jobs.record import dump
from barbwright.order.again import difference
from barbwright.order.subject import REMAKE, Subject, subject_of
from barbwright.reread.mesh import MeshReport
from barbwright.reread.worker import Rereader

# A part's file as ordered; the unmarked solid is for `prove` and is never among them.
_NAMES = {
    "step": re.compile(r"part(_not_passed)?\.step"),
    "stl": re.compile(r"part(_not_passed)?_mm\.stl"),
    "3mf": re.compile(r"part(_not_passed)?\.3mf"),
    "pdf": re.compile(r"drawing(_not_passed)?\.pdf"),
    "dxf": re.compile(r"drawing(_not_passed)?\.dxf"),
}
MODELS = ("step", "stl", "3mf")
_VOLUME_SHARE = 1e-3


@dataclass(frozen=True, kw_only=True)
class VerifiedPart:
    """A part whose files are what its record says, and what its numbers say.

    Attributes
    ----------
    subject : Subject
        What it is, designed and judged anew from its own record.
    record_sha256 : str
        Checksum of its record.
    files : dict of str to bytes
        Content by format, as made again: ``step``, ``stl``, ``3mf``, and ``pdf``, ``dxf``
        where it has drawings.
    names : dict of str to str
        Name in its folder of each of them.
    volume_mm3 : float
        Volume of the STEP file's solid [mm3].
    measured : MeshReport
        What the STL file measures.
    vertices, triangles : ndarray
        The 3MF file's mesh [mm].
    """

    subject: Subject
    record_sha256: str
    files: dict[str, bytes]
    names: dict[str, str]
    volume_mm3: float
    measured: MeshReport
    vertices: NDArray[np.float64]
    triangles: NDArray[np.int64]


Sums = Mapping[Path, Mapping[str, str]]


def verify_parts(folders: list[Path], just_made: Sums | None = None) -> list[VerifiedPart]:
    """Verify parts, all faults of all of them at once.

    Parameters
    ----------
    folders : list of Path
        One a part.
    just_made : mapping of Path to mapping, optional
        By folder, the checksum of each file by its name, as this very process has just made
        and verified them; these are not made a second time.

    Returns
    -------
    list of VerifiedPart
        In the order given.

    Raises
    ------
    InputError
        When a folder holds no part of ours, or lacks a format.
    BuildError
        When a file is missing, changed, or not what its numbers say.
    """
    read: list[_Read] = []
    input_faults: list[Fault] = []
    faults: list[Fault] = []
    for folder in folders:
        try:
            read.append(_read(folder))
        except InputError as error:
            input_faults += error.faults
        except BuildError as error:
            faults += error.faults
    if input_faults:
        raise InputError([*input_faults, *faults])
    if faults:
        raise BuildError(faults)
    parts = []
    with Rereader() as rereader:
        for subject, sha256, files in read:
            try:
                known = (just_made or {}).get(subject.record.parent, {})
                part = _reread(subject, sha256, files, rereader)
                parts.append(part if _all_known(part, known) else _held_to_its_job(part))
            except BarbwrightError as error:
                name = subject.record.parent.name
                faults += [replace(fault.at(name), do=fault.do or REMAKE) for fault in error.faults]
    if faults:
        raise BuildError(faults)
    return parts


_Files = dict[str, tuple[str, bytes]]
_Read = tuple[Subject, str, _Files]


def _read(folder: Path) -> _Read:
    """Read a part's record and files, and hold each to the record's checksum."""
    subject = subject_of(folder)
    content = subject.record.read_bytes()
    if json.loads(content) != subject.body:
        what = f"{subject.record}: changed while it was read"
        raise BuildError(Fault(what, do=REMAKE))
    try:
        rows = [dict(row) for row in subject.body["files"]]
    except (KeyError, TypeError, ValueError) as error:
        what = f"{subject.record}: its list of files is damaged: {str(error)[:200]}"
        raise BuildError(Fault(what, do=REMAKE)) from None
    # Of what it says, however it is laid out.
    sha256 = hashlib.sha256(dump(subject.body)).hexdigest()
    return subject, sha256, _contents(subject.record.parent, rows)


def _kind_of(name: str) -> str | None:
    """Return which of the files that are ordered has this name, if any."""
    return next((kind for kind, names in _NAMES.items() if names.fullmatch(name)), None)


def _contents(folder: Path, rows: list[dict[str, Any]]) -> _Files:
    files: _Files = {}
    faults = []
    for row in rows:
        name = row.get("path")
        kind = _kind_of(str(name))
        if kind is None:
            # Its record may list pages and pictures; none is ordered, and none is opened.
            continue
        path = folder / str(name)
        if path.is_symlink() or not path.is_file():
            what = "a link, not a file" if path.is_symlink() else "missing"
            faults.append(Fault(f"{path}: {what}", do=REMAKE))
            continue
        try:
            content = path.read_bytes()
        except OSError as error:
            faults.append(Fault(f"{path}: cannot be read: {error.strerror}", do=REMAKE))
            continue
        if len(content) != row.get("bytes") or hashlib.sha256(content).hexdigest() != row.get(
            "sha256"
        ):
            faults.append(Fault(f"{path}: changed since it was verified", do=REMAKE))
        elif kind == "pdf" and not content.startswith(b"%PDF-"):
            faults.append(Fault(f"{path}: is no PDF", do=REMAKE))
        if (row.get("format"), row.get("unit")) != (kind, "mm" if kind in MODELS else ""):
            given = f"{row.get('format')}, {row.get('unit')}"
            faults.append(Fault(f"{path}: not so in any record of ours", given, do=REMAKE))
        if kind in files:
            faults.append(Fault(f"{path}: a second {kind} in its record", do=REMAKE))
        files[kind] = str(name), content
    if faults:
        raise BuildError(faults)
    lacking = [kind for kind in MODELS if kind not in files]
    if lacking:
        raise InputError(
            Fault(f"{folder}: made without {', '.join(lacking)}",
                  do="make the part anew with all formats, with --force")
        )  # fmt: skip
    listed = {name for name, _ in files.values()}
    stray = [
        Fault(f"{path}: is in no record", do=REMAKE)
        for path in sorted(folder.iterdir())
        if _kind_of(path.name) and path.name not in listed
    ]
    if stray:
        raise BuildError(stray)
    return files


def _reread(subject: Subject, sha256: str, named: _Files, rereader: Rereader) -> VerifiedPart:
    """Import the files as a stranger would, and measure the meshes against the drawn sizes."""
    from barbwright.export.step import read_step
    from barbwright.reread.mesh import Expected
    from barbwright.reread.threemf import read_3mf

    shape = subject.shape
    files = {kind: content for kind, (_, content) in named.items()}
    with scratch_folder("order") as place:
        paths = {kind: place / f"part.{kind}" for kind in MODELS}
        for kind, path in paths.items():
            path.write_bytes(files[kind])
        volume = read_step(paths["step"]).volume_mm3
        low, high = shape.marked_bounds_mm3
        if not low <= volume <= high:
            raise BuildError(
                Fault("STEP: volume", f"{volume:.1f} mm3", f"{low:.1f} to {high:.1f} mm3")
            )
        lies = placed(shape, subject.laying, lift_mm(shape, subject.laying))
        expected = Expected.of(lies, volume)
        model = read_3mf(paths["3mf"]).only
        for kind in ("stl", "3mf"):
            rereader.submit(paths[kind], expected)
        reports, faults = [], []
        for kind in ("STL", "3MF"):
            try:
                reports.append(rereader.result())
            except BuildError as error:
                # Both answers are fetched, or the next part would be told this one's.
                faults += [fault.at(kind) for fault in error.faults]
    if faults:
        raise BuildError(faults)
    measured, second = reports
    if not abs(second.volume_mm3 / measured.volume_mm3 - 1.0) <= _VOLUME_SHARE:
        given = f"{second.volume_mm3:.2f} mm3"
        raise BuildError(Fault("3MF and STL differ", given, f"{measured.volume_mm3:.2f} mm3"))
    low_mm = float(model.vertices[:, 2].min())
    if low_mm != 0.0:
        raise BuildError(Fault("3MF: does not stand on Z = 0", f"lowest point at {low_mm:g} mm"))
    return VerifiedPart(
        subject=subject,
        record_sha256=sha256,
        files=files,
        names={kind: name for kind, (name, _) in named.items()},
        volume_mm3=volume,
        measured=measured,
        vertices=model.vertices,
        triangles=model.triangles,
    )


def _all_known(part: VerifiedPart, known: Mapping[str, str]) -> bool:
    """Return whether every file of a part is one that this process has just made."""
    names = part.names
    return all(
        known.get(names[kind]) == hashlib.sha256(content).hexdigest()
        for kind, content in part.files.items()
    )


def _held_to_its_job(part: VerifiedPart) -> VerifiedPart:
    """Make a part's files again and compare; return it with those that were made again."""
    with scratch_folder("order") as place:
        written = part.subject.again(place, tuple(part.files))
        made = {file.format: (file.path.name, file.path.read_bytes()) for file in written.files}
    faults = []
    for kind, found in part.files.items():
        name, content = made[kind]
        if part.names[kind] != name:
            faults.append(Fault("named otherwise than its job", part.names[kind], name, REMAKE))
        elif differs := difference(kind, found, content):
            faults.append(Fault(f"{name}: not the file its job gives", differs, do=REMAKE))
    if faults:
        raise BuildError(faults)
    return replace(part, files={kind: made[kind][1] for kind in part.files})
