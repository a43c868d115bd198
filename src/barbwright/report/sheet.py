"""The job sheet: one self-contained page with the part to turn, its verdict and its cards."""

from __future__ import annotations

import base64
import importlib.util
import json
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from barbwright import catalog, say
from barbwright.checks.fit import FIT_ONLY
from barbwright.checks.proof import largest_twist, proof_test
from barbwright.checks.result import CHECKS
from barbwright.design.grades import batch_words, how_to_choose
from barbwright.design.part import dimensions
from barbwright.design.tapping import how_to_use, tap_window
from barbwright.errors import BuildError, Fault
from barbwright.job.numbers import printed_inputs
from barbwright.report import cards, words
from barbwright.report.acts import acts_of
from barbwright.report.in_use import in_use
from barbwright.report.notices import NOT_RATED
from barbwright.report.pages import Filters, page, wide_mm
from barbwright.report.pointed import for_viewer, pointed_sizes
from barbwright.report.printing_advice import printing_advice
from barbwright.report.stackup import stack_up
from barbwright.report.words import PartReport

if TYPE_CHECKING:
    from barbwright.prove.result import ProveResult

# Facets of one round meet flatter than this; every edge of a part is sharper.
CREASE_DEG = 32.0
_VIEWER_FILE = "viewer.html.template"
_OWN_SETUP = "var camera,"
# The library's address of a remark about itself; a page without addresses is easier to trust.
_REMARK = "https://github.com/mrdoob/three.js/pull/23228"


@dataclass(frozen=True, kw_only=True)
class ViewerMesh:
    """A part's surface for the viewer, rounded to what an eye can see.

    Attributes
    ----------
    points : (n, 3) ndarray of uint16
        Positions from the low corner in steps of ``step_mm``.
    normals : (n, 3) ndarray of int8
        Directions, 127 for one.
    triangles, edges : (m, 3), (k, 2) ndarray of uint32
        Indices of points.
    low_mm, step_mm : tuple of float
        Low corner and step on each axis [mm].
    """

    points: NDArray[np.uint16]
    normals: NDArray[np.int8]
    triangles: NDArray[np.uint32]
    edges: NDArray[np.uint32]
    low_mm: tuple[float, float, float]
    step_mm: tuple[float, float, float]


def read_stl(data: bytes) -> NDArray[np.float64]:
    """Return the triangles of a binary STL.

    Parameters
    ----------
    data : bytes
        The verified file.

    Returns
    -------
    (m, 3, 3) ndarray
        Corners [mm].

    Raises
    ------
    BuildError
        When it is no binary STL.
    """
    kind = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("rest", "<u2")])
    count = int.from_bytes(data[80:84], "little") if len(data) >= 84 else 0
    if count == 0 or len(data) != 84 + count * kind.itemsize:
        raise BuildError(Fault("the mesh for the sheet is no binary STL"))
    return np.frombuffer(data, kind, count, 84)["corners"].astype(np.float64)


def viewer_mesh(corners: NDArray[np.float64]) -> ViewerMesh:
    """Return a mesh with normals that are smooth on rounds and break at edges.

    Parameters
    ----------
    corners : (m, 3, 3) ndarray
        Triangles [mm].

    Returns
    -------
    ViewerMesh
        Welded, with its sharp edges.
    """
    points, index = np.unique(corners.reshape(-1, 3), axis=0, return_inverse=True)
    triangles = index.reshape(-1, 3)
    spans = points[triangles]
    face = np.cross(spans[:, 1] - spans[:, 0], spans[:, 2] - spans[:, 0])
    unit = face / np.maximum(np.linalg.norm(face, axis=1, keepdims=True), 1e-30)
    flat = np.cos(np.radians(CREASE_DEG))

    # Every corner takes the faces round its point that lie within the crease angle.
    vertex = triangles.ravel()
    order = np.argsort(vertex, kind="stable")
    count = np.bincount(vertex, minlength=len(points))
    first = np.concatenate([[0], np.cumsum(count)[:-1]])
    many = count[vertex]
    mine = np.repeat(np.arange(len(vertex)), many)
    step = np.arange(len(mine)) - np.repeat(np.cumsum(many) - many, many)
    other = order[first[vertex[mine]] + step] // 3
    near = np.einsum("ij,ij->i", unit[mine // 3], unit[other]) > flat
    normals = np.zeros((len(vertex), 3))
    for axis in range(3):
        weight = np.where(near, face[other, axis], 0.0)
        normals[:, axis] = np.bincount(mine, weight, minlength=len(vertex))
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-30)
    small = np.round(normals * 127.0).astype(np.int8)

    keys = np.column_stack([vertex, small.astype(np.int64)])
    unique, place = np.unique(keys, axis=0, return_inverse=True)
    low = points.min(axis=0)
    step_mm = np.maximum(points.max(axis=0) - low, 1e-9) / 65535.0
    fine = np.round((points[unique[:, 0]] - low) / step_mm).astype(np.uint16)
    place = place.reshape(-1)
    return ViewerMesh(
        points=fine,
        normals=unique[:, 1:].astype(np.int8),
        triangles=place.reshape(-1, 3).astype(np.uint32),
        edges=_sharp_edges(triangles, unit, flat, place),
        low_mm=(float(low[0]), float(low[1]), float(low[2])),
        step_mm=(float(step_mm[0]), float(step_mm[1]), float(step_mm[2])),
    )


def _sharp_edges(
    triangles: NDArray[np.int64],
    unit: NDArray[np.float64],
    flat: float,
    place: NDArray[np.int64],
) -> NDArray[np.uint32]:
    starts = triangles.ravel()
    ends = np.roll(triangles, -1, axis=1).ravel()
    corner_ends = np.roll(place.reshape(-1, 3), -1, axis=1).ravel()
    size = int(triangles.max()) + 1
    keys = np.minimum(starts, ends) * size + np.maximum(starts, ends)
    order = np.argsort(keys, kind="stable")
    pairs = order[: len(order) // 2 * 2].reshape(-1, 2)
    same = keys[pairs[:, 0]] == keys[pairs[:, 1]]
    bent = np.einsum("ij,ij->i", unit[pairs[:, 0] // 3], unit[pairs[:, 1] // 3]) < flat
    chosen = pairs[same & bent, 0]
    return np.column_stack([place[chosen], corner_ends[chosen]]).astype(np.uint32)


@cache
def viewer_library() -> str:
    """Return the 3D library and its mouse controls, from trimesh's package data.

    Returns
    -------
    str
        Script text with its licence line.

    Raises
    ------
    BuildError
        When the package's file is not there, or not as it was.
    """
    # Found, not imported: only the file is wanted.
    found = importlib.util.find_spec("trimesh")
    do = "install barbwright again with pip"
    if found is None or found.origin is None:
        raise BuildError(Fault("the viewer for the sheet is missing (trimesh)", do=do))
    archive = Path(found.origin).parent / "resources" / "templates" / "viewer.zip"
    try:
        with zipfile.ZipFile(archive) as stored:
            page = stored.read(_VIEWER_FILE).decode("utf-8")
    except (OSError, KeyError, zipfile.BadZipFile) as error:
        fault = Fault("the viewer for the sheet cannot be read", given=str(error), do=do)
        raise BuildError(fault) from error
    script = page.partition("<script>")[2].rpartition("</script>")[0]
    library, mark, _ = script.rpartition(_OWN_SETUP)
    parts = ("THREE.TrackballControls=", "SPDX-License-Identifier: MIT")
    if not mark or any(part not in library for part in parts) or "</script" in library:
        raise BuildError(
            Fault("the viewer inside trimesh is not the one this version knows", do=do)
        )
    return library.replace(_REMARK, "a change of the library")


def _packed(array: NDArray[Any]) -> str:
    return base64.b64encode(array.astype(array.dtype.newbyteorder("<")).tobytes()).decode("ascii")


def _geometry(stl: bytes, report: PartReport) -> str:
    corners = read_stl(stl)
    mesh = viewer_mesh(corners)
    wide = len(mesh.points) > 65535
    index = np.uint32 if wide else np.uint16
    return json.dumps(
        {
            "points": _packed(mesh.points),
            "normals": _packed(mesh.normals),
            "triangles": _packed(mesh.triangles.astype(index)),
            "edges": _packed(mesh.edges.astype(index)),
            "wide": wide,
            "low": [round(value, 6) for value in mesh.low_mm],
            "step": [round(value, 12) for value in mesh.step_mm],
            **for_viewer(report, corners),
        },
        sort_keys=True,
    )


@dataclass(frozen=True, kw_only=True)
class SealPage:
    """The tube on one barb, as the sheet shows it.

    Attributes
    ----------
    lines : tuple of str
        What finite elements found, a paragraph each.
    png : bytes or None
        Tube and barb coloured by pressure, and the push over its travel.
    """

    lines: tuple[str, ...]
    png: bytes | None

    @property
    def picture(self) -> str:
        """The picture as a page holds it; empty without one."""
        return base64.b64encode(self.png).decode("ascii") if self.png is not None else ""


def sheet_html(
    report: PartReport,
    *,
    stl: bytes | None = None,
    svg: bytes | None = None,
    png: bytes | None = None,
    files: Mapping[str, int] | None = None,
    proved: ProveResult | None = None,
    stress_pngs: Mapping[str, bytes] | None = None,
    contacts: Sequence[SealPage] = (),
    unsolved: str = "",
    crew: bool = False,
) -> bytes:
    """Return a part's sheet: one HTML page that needs nothing else.

    Parameters
    ----------
    report : PartReport
        The part.
    stl : bytes, optional
        The verified binary STL, for the part to turn [mm].
    svg : bytes, optional
        The drawing, from `drawing.svg_for_sheet`.
    png : bytes, optional
        The picture, from `picture.render`.
    files : mapping of str to int, optional
        Names of the files beside the sheet, and their size [byte].
    proved : ProveResult, optional
        What finite elements found, for a section of its own.
    stress_pngs : mapping of str to bytes, optional
        Pictures of stress by load case, from `stress.stress_picture`.
    contacts : sequence of SealPage
        The tube on each different barb, where it was solved.
    unsolved : str
        Why it was not.
    crew : bool
        Only what whoever works with the part must know: verdict, rules, tapping, cautions, field
        card and proof test. This much is translated.

    Returns
    -------
    bytes
        UTF-8; equal inputs give equal bytes.

    Raises
    ------
    BuildError
        When the viewer is missing or the mesh cannot be read.
    """
    filters: Filters = {
        "mm": say.millimetres,
        "leading": say.leading,
        "factor": say.factor,
        "unit": words.unit_word,
        "sentence": lambda outcome: words.check_sentence(outcome, report.voice),
        "limit": report.voice.limit,
        "load": lambda value, unit: words.load_words(value, unit, report.voice),
        "with_beside": say.with_beside,
    }
    design, conditions = report.design, report.design.conditions
    user = report.job.user_rules
    marked = report.passed and report.verdict != "fail"
    return page(
        "sheet.html",
        filters,
        report=report,
        job=report.job,
        inputs=printed_inputs(report.job),
        kind=design.kind,
        ok=marked,
        verdict_class="fail" if not marked else report.verdict,
        verdict_word=words.verdict_word(report.verdict, proved=bool(report.proved_in_field))
        if marked
        else "NOT PASSED",
        verdict_sentence=words.verdict_sentence(report),
        word_of=words.verdict_word,
        stage_words=words.STAGE_WORDS,
        basis_words=words.BASIS_WORDS,
        window=None if report.job.fit_only else tap_window(design),
        twist="" if report.job.fit_only else largest_twist(report.outcomes),
        stack=stack_up(design),
        arrival=cards.arrival(design),
        notes=how_to_use(design),
        batch=[text for text in (how_to_choose(design), batch_words(design)) if text],
        # Pictures of a part in a tree, and pulled there, are none of a part for the bench.
        in_use="" if report.job.fit_only else in_use(design),
        acts=() if report.job.fit_only else acts_of([report], report.voice),
        field_card=cards.field_card(report),
        printing=printing_advice(report),
        fit_words=FIT_ONLY,
        proof=cards.proof_steps(
            proof_test(float(conditions.highest_mpa), conditions.rules),
            float(conditions.temperature_c),
            report.voice,
            design,
        ),
        cautions=cards.CAUTIONS,
        not_rated=NOT_RATED,
        dimensions=dimensions(design),
        leaning={one.name: one.check for one in pointed_sizes(report)} if not crew else {},
        judgements=[
            (number, report.job.rules[name], user.get(name, ""))
            for name, number in catalog.judgements().items()
            # Those of a chain say nothing about one part.
            if name in report.job.rules and not name.startswith("chain_")
        ],
        files=files or {},
        proved=proved,
        least_case=min(proved.cases, key=lambda case: case.safety_factor).id if proved else "",
        check_titles={name: check.title for name, check in CHECKS.items()},
        stress_pngs={
            case: base64.b64encode(content).decode("ascii")
            for case, content in (stress_pngs or {}).items()
        },
        contacts=contacts,
        unsolved=unsolved,
        crew=crew,
        geometry=_geometry(stl, report) if stl is not None else "",
        library=viewer_library() if stl is not None else "",
        svg=svg.decode("utf-8") if svg is not None else "",
        svg_wide=wide_mm(svg) if svg is not None else 0.0,
        png=base64.b64encode(png).decode("ascii") if png is not None else "",
    )
