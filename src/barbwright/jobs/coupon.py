"""A fit gauge for a tube, a bit and a process: built, verified, with its page."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Collection, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from barbwright.catalog.folders import read_text
from barbwright.design.coupon import Coupon, coupon_sizes, size_coupon
from barbwright.design.part import KINDS
from barbwright.errors import BuildError, Fault, InputError
from barbwright.job import numbers
from barbwright.job.record import Job
from barbwright.jobs.naming import bit_word, tube_word
from barbwright.jobs.read_back import damage, member, require_plain
from barbwright.jobs.record import SCHEMA_VERSION, dump, encode, file_row, inputs, job_in, versions
from barbwright.rating.stretch import stretched

if TYPE_CHECKING:
    from barbwright.export.part import WrittenPart

MODEL_FORMATS = ("step", "stl", "3mf")
COUPON = "coupon"
_RECORD = "coupon.json"


def plan_coupon(job: Job) -> tuple[str, Coupon]:
    """Return a fit gauge's number and sizes.

    Parameters
    ----------
    job : Job
        Tube, bit and material; its service is left out: a gauge shows what comes out.
    """
    bare = replace(job, service=None)
    inner = f"{job.tubes[0].inner_mm:.2f} mm inside"
    row = job.tubes[0].row
    # Its middle barb is the one a part for this tube gets, whose stretch is searched.
    conditions = stretched(KINDS["barb"], numbers.conditions(bare), {})
    coupon = size_coupon(conditions, job.bit.name, row.name if row is not None else inner)
    words = [
        "coupon",
        "t" + tube_word(job.tubes[0].inner_mm),
        "b" + bit_word(job),
        re.sub(r"[^a-z0-9_]", "", job.material.id)[:20],
    ]
    # All that shapes it and stands in no word above.
    key = json.dumps([coupon_sizes(coupon), coupon.letters.cap_mm], sort_keys=True)
    return "-".join([*words, hashlib.sha256(key.encode()).hexdigest()[:6]])[:60], coupon


def make_coupon(
    job: Job,
    output: Path,
    formats: Collection[str] = MODEL_FORMATS,
    *,
    force: bool = False,
    language: str = "",
) -> tuple[Path, dict[str, Any]]:
    """Build, write and verify a fit gauge.

    Parameters
    ----------
    job : Job
        Tube, bit and material.
    output : Path
        Folder that holds the gauge's own folder.
    formats : collection of str
        Which model files to write.
    force : bool
        Remake a folder that is there.
    language : str
        In which its sheet is written beside English, one of `catalog.languages()`; empty for none.

    Returns
    -------
    tuple of Path and dict
        The folder and the document of what was made.

    Raises
    ------
    BuildError
        When it cannot be built, written or verified.
    """
    from barbwright.design.coupon import coupon_shape
    from barbwright.export.door import WrittenFile
    from barbwright.export.part import write_part
    from barbwright.report.coupon_sheet import coupon_html, coupon_html_in

    number, coupon = plan_coupon(job)
    folder = Path(output) / number

    def listed(files: tuple[WrittenFile, ...], *, whole: bool) -> list[dict[str, Any]]:
        return [file_row(file, str(file.path) if whole else file.path.name) for file in files]

    def body(files: list[dict[str, Any]]) -> dict[str, Any]:
        return coupon_document(job, number, coupon, files, lost)

    lost: list[str] = []

    shown = (coupon, number, job.material.name, job.material.id)

    # Once for the sheet in both languages.
    picture = cache(lambda folder: _picture(folder, lost))

    def page(folder: Path, _files: tuple[WrittenFile, ...]) -> bytes:
        return coupon_html(*shown, picture(folder))

    def other(folder: Path, _files: tuple[WrittenFile, ...]) -> bytes:
        return coupon_html_in(language, *shown, picture(folder))

    def record(_folder: Path, files: tuple[WrittenFile, ...]) -> bytes:
        told = body(listed(files, whole=False))
        # Without its service, as its inputs are: a gauge is never compensated.
        return dump({**told, "job": encode(replace(job, service=None)), "versions": versions()})

    written = write_part(
        coupon_shape(coupon, number),
        folder,
        [name for name in formats if name in MODEL_FORMATS],
        extras={
            "sheet.html": page,
            **({f"sheet.{language}.html": other} if language else {}),
            _RECORD: record,
        },
        replace=force,
        material=job.material.name,
    )
    return folder, body(listed(written.files, whole=True))


def coupon_again(job: Job, output: Path, formats: Collection[str]) -> WrittenPart:
    """Make a fit gauge's models anew, to hold a made gauge's files to them.

    Parameters
    ----------
    job : Job
        As its record holds it.
    output : Path
        Folder to make it in.
    formats : collection of str
        Which model files.

    Raises
    ------
    BuildError
        When it cannot be built, written or verified.
    """
    from barbwright.design.coupon import coupon_shape
    from barbwright.export.part import write_part

    number, coupon = plan_coupon(job)
    return write_part(
        coupon_shape(coupon, number),
        Path(output) / number,
        [name for name in formats if name in MODEL_FORMATS],
        material=job.material.name,
        again=True,
    )


def coupon_document(
    job: Job,
    number: str,
    coupon: Coupon,
    files: Sequence[dict[str, Any]] = (),
    lost: Sequence[str] = (),
) -> dict[str, Any]:
    """Return everything about a fit gauge as one JSON document.

    Parameters
    ----------
    job : Job
        Tube, bit and material.
    number : str
        Its number.
    coupon : Coupon
        Its sizes.
    files : sequence of dict
        Files that were written; none of a dry run.
    lost : sequence of str
        What could not be drawn on its page, in words.
    """
    given = {name: one for name, one in job.inputs.items() if name != "service"}
    return {
        "schema_version": SCHEMA_VERSION,
        "command": COUPON,
        "part": COUPON,
        "part_number": number,
        "inputs": inputs(replace(job, inputs=given)),
        "dimensions": coupon_sizes(coupon),
        "files": list(files),
        "warnings": [*job.said, *lost],
    }


def is_coupon(path: Path) -> bool:
    """Return whether a folder, or a record in it, is a fit gauge's.

    Parameters
    ----------
    path : Path
        A folder, or a file in it.
    """
    return path.name == _RECORD or (path / _RECORD).is_file()


def load_coupon(path: Path) -> tuple[Job, dict[str, Any], Path]:
    """Read a fit gauge's record back.

    Parameters
    ----------
    path : Path
        Its folder, or its record.

    Returns
    -------
    tuple of Job, dict and Path
        Its job, the whole document, and where that stands.

    Raises
    ------
    InputError
        When it cannot be read, or holds no job, as those of older versions.
    """
    path = Path(path)
    record = path / _RECORD if path.is_dir() else path
    try:
        body = json.loads(read_text(record))
        require_plain(body)
        for name, kind in (("dimensions", dict), ("part_number", str)):
            member(body, name, kind, "")
        return job_in(body), body, record
    except OSError as error:
        do = "name the folder of a gauge that `coupon` wrote"
        fault = Fault(f"cannot read {record}: {error.strerror or error}", do=do)
        raise InputError(fault) from None
    except (ValueError, RecursionError) as error:
        because = damage(record, error)
        what = f"{because.what.replace('no part.json', 'no gauge.json')}, or an older version's"
        do = "make the gauge anew, with --force"
        raise InputError(Fault(what, because.given, because.limit, do)) from None


def _picture(folder: Path, lost: list[str]) -> bytes | None:
    """Render the gauge's mesh; what stands in the way goes into ``lost``."""
    from barbwright.report.picture import render

    mesh, aside = folder / "part_mm.stl", folder / ".part.aside.png"
    if not mesh.exists():
        return None
    try:
        render(mesh, aside)
        return aside.read_bytes()
    except BuildError as error:
        # A gauge without its picture is still a gauge.
        lost += [f"the sheet has no picture: {fault}" for fault in error.faults]
        return None
    finally:
        aside.unlink(missing_ok=True)
