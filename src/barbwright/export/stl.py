"""Binary STL, from our own mesh, with our own header."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np

from barbwright.design.laying import Laying
from barbwright.errors import BuildError, Fault
from barbwright.export.door import verified_file
from barbwright.reread.mesh import Expected, MeshReport, measure_expected
from barbwright.solid.mesh import TriangleMesh

# "solid" as the first word would make readers take the file for a text STL.
HEADER = "barbwright binary STL, unit millimetre, part "
FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def stl_bytes(mesh: TriangleMesh, name: str) -> bytes:
    """Encode a mesh as binary STL.

    Parameters
    ----------
    mesh : TriangleMesh
        Points [mm] and triangles.
    name : str
        ASCII name of the part, for the header.

    Returns
    -------
    bytes
        The file: the same for the same mesh and name.
    """
    corners = mesh.vertices[mesh.triangles]
    wide = corners.astype(np.float64)
    normals = np.cross(wide[:, 1] - wide[:, 0], wide[:, 2] - wide[:, 0])
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    facets = np.zeros(len(corners), dtype=FACET)
    facets["normal"] = normals / np.maximum(lengths, 1e-30)
    facets["corners"] = corners
    header = (HEADER + name).encode("ascii")[:80].ljust(80, b" ")
    return header + struct.pack("<I", len(corners)) + facets.tobytes()


def as_drawn(content: bytes, laying: Laying, lift_mm: float) -> bytes:
    """Return a binary STL of ours turned back into the design's frame.

    Parameters
    ----------
    content : bytes
        As it lies on the plate.
    laying : Laying
        How it was turned.
    lift_mm : float
        How far it was lifted onto the plate [mm].

    Returns
    -------
    bytes
        The same facets.
    """
    facets = np.frombuffer(content[84:], dtype=FACET).copy()
    facets["corners"][..., 2] -= lift_mm
    for field in ("normal", "corners"):
        # A turn's inverse is its transpose; a signed permutation moves no digit.
        facets[field] = facets[field].astype(np.float64) @ laying.turn
    return content[:84] + facets.tobytes()


def write_stl(path: Path, mesh: TriangleMesh, expected: Expected) -> MeshReport:
    """Write a mesh as binary STL, measure the file, then give it its name.

    Parameters
    ----------
    path : Path
        The file.
    mesh : TriangleMesh
        Points [mm] and triangles.
    expected : Expected
        What the file must measure.

    Returns
    -------
    MeshReport
        What the file measures.

    Raises
    ------
    BuildError
        When it cannot be written, or does not measure what was drawn.
    """
    with verified_file(path) as temporary:
        put_stl(temporary, mesh, expected.name)
        return measure_expected(temporary, expected)


def put_stl(temporary: Path, mesh: TriangleMesh, name: str) -> None:
    """Write STL bytes under a temporary name and compare their number.

    Parameters
    ----------
    temporary : Path
        File inside a `verified_file` block.
    mesh : TriangleMesh
        Points [mm] and triangles.
    name : str
        ASCII name of the part.
    """
    content = stl_bytes(mesh, name)
    temporary.write_bytes(content)
    if temporary.stat().st_size != len(content):
        raise BuildError(Fault("the STL file is cut short", given=str(temporary)))
