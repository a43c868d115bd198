"""A made part looked at anew: each file must be the one that was verified when it was made.

Every file is read once; its checksum, its own re-reading and the zip all see the
same bytes, so nothing can be exchanged in between.
"""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from barbwright.aside import scratch_folder
from barbwright.design.laying import lift_mm, placed
from barbwright.errors import BarbwrightError, BuildError, Fault, InputError
from barbwright.order.subject import Subject, subject_of
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
_REMAKE = "make it anew, with --force"
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
        Content by format: ``step``, ``stl``, ``3mf``, and ``pdf``, ``dxf``
        where it has drawings.
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
    volume_mm3: float
    measured: MeshReport
    vertices: NDArray[np.float64]
    triangles: NDArray[np.int64]


def verify_parts(folders: list[Path]) -> list[VerifiedPart]:
    """Verify parts, all faults of all of them at once.

    Parameters
    ----------
    folders : list of Path
        One a part.

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
                parts.append(_reread(subject, sha256, files, rereader))
            except BarbwrightError as error:
                name = subject.record.parent.name
                faults += [
                    Fault(f"{name}: {fault.what}", fault.given, fault.limit, fault.do)
                    for fault in error.faults
                ]
    if faults:
        raise BuildError(faults)
    return parts


_Read = tuple[Subject, str, dict[str, bytes]]


def _read(folder: Path) -> _Read:
    """Read a part's record and files, and hold each to the record's checksum."""
    subject = subject_of(folder)
    content = subject.record.read_bytes()
    if json.loads(content) != subject.body:
        what = f"{subject.record}: changed while it was read"
        raise BuildError(Fault(what, do=_REMAKE))
    try:
        rows = [dict(row) for row in subject.body["files"]]
    except (KeyError, TypeError, ValueError) as error:
        what = f"{subject.record}: its list of files is damaged: {str(error)[:200]}"
        raise BuildError(Fault(what, do=_REMAKE)) from None
    sha256 = hashlib.sha256(content).hexdigest()
    return subject, sha256, _contents(subject.record.parent, rows)


def _contents(folder: Path, rows: list[dict[str, Any]]) -> dict[str, bytes]:
    files: dict[str, bytes] = {}
    faults = []
    for row in rows:
        name = row.get("path")
        kind = next((k for k, names in _NAMES.items() if names.fullmatch(str(name))), None)
        if kind is None:
            # Its record may list pages and pictures; none is ordered, and none is opened.
            continue
        path = folder / str(name)
        if path.is_symlink() or not path.is_file():
            what = "a link, not a file" if path.is_symlink() else "missing"
            faults.append(Fault(f"{path}: {what}", do=_REMAKE))
            continue
        try:
            content = path.read_bytes()
        except OSError as error:
            faults.append(Fault(f"{path}: cannot be read: {error.strerror}", do=_REMAKE))
            continue
        if len(content) != row.get("bytes") or hashlib.sha256(content).hexdigest() != row.get(
            "sha256"
        ):
            faults.append(Fault(f"{path}: changed since it was verified", do=_REMAKE))
        elif kind == "pdf" and not content.startswith(b"%PDF-"):
            faults.append(Fault(f"{path}: is no PDF", do=_REMAKE))
        files[kind] = content
    if faults:
        raise BuildError(faults)
    lacking = [kind for kind in MODELS if kind not in files]
    if lacking:
        raise InputError(
            Fault(f"{folder}: made without {', '.join(lacking)}",
                  do="make the part anew with all formats, with --force")
        )  # fmt: skip
    return files


def _reread(
    subject: Subject, sha256: str, files: dict[str, bytes], rereader: Rereader
) -> VerifiedPart:
    """Import the files as a stranger would, and measure the meshes against the drawn sizes."""
    from barbwright.export.step import read_step
    from barbwright.reread.mesh import Expected
    from barbwright.reread.threemf import read_3mf

    shape = subject.shape
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
                faults += [Fault(f"{kind}: {f.what}", f.given, f.limit, f.do) for f in error.faults]
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
        volume_mm3=volume,
        measured=measured,
        vertices=model.vertices,
        triangles=model.triangles,
    )
