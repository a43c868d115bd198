"""3MF by lib3mf: millimetres, one welded object, ids that never change."""

from __future__ import annotations

import ctypes
import io
import uuid
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from barbwright.errors import BuildError, Fault
from barbwright.export.door import verified_file
from barbwright.reread.threemf import ThreeMfContent, read_3mf
from barbwright.solid.mesh import TriangleMesh

# lib3mf draws random ids, which would make each file another one.
NAMESPACE = uuid.uuid5(uuid.NAMESPACE_DNS, "3mf.barbwright.invalid")
# Six decimals of a millimetre keep single precision below 10 mm and 1e-6 mm above.
DECIMALS = 6
VOLUME_SHARE = 1e-5


def write_3mf(path: Path, mesh: TriangleMesh, name: str) -> ThreeMfContent:
    """Write a mesh as 3MF, read it back strictly, then give it its name.

    Parameters
    ----------
    path : Path
        The file.
    mesh : TriangleMesh
        Points [mm] and triangles.
    name : str
        ASCII name of the part.

    Returns
    -------
    ThreeMfContent
        What the file holds.

    Raises
    ------
    BuildError
        When it cannot be written, or does not read back as one manifold body
        in millimetres with the same triangles and volume and without a warning.
    """
    with verified_file(path) as temporary:
        put_3mf(temporary, mesh, name)
        content = read_3mf(temporary)
        require_same(content, mesh, name)
        return content


def put_3mf(temporary: Path, mesh: TriangleMesh, name: str) -> None:
    """Write a 3MF file under a temporary name.

    Parameters
    ----------
    temporary : Path
        File inside a `verified_file` block.
    mesh : TriangleMesh
        Points [mm] and triangles.
    name : str
        ASCII name of the part.
    """
    import lib3mf

    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    model.SetUnit(lib3mf.ModelUnit.MilliMeter)
    body = model.AddMeshObject()
    body.SetName(name)
    body.SetGeometry(
        _records(mesh.vertices, lib3mf.Position, np.float32),
        _records(mesh.triangles, lib3mf.Triangle, np.uint32),
    )
    body.SetUUID(str(uuid.uuid5(NAMESPACE, f"object {name}")))
    item = model.AddBuildItem(body, wrapper.GetIdentityTransform())
    item.SetUUID(str(uuid.uuid5(NAMESPACE, f"item {name}")))
    model.SetBuildUUID(str(uuid.uuid5(NAMESPACE, f"build {name}")))
    writer = model.QueryWriter("3mf")
    writer.SetStrictModeActive(True)
    writer.SetDecimalPrecision(DECIMALS)
    # Through memory: lib3mf writing a file itself kills the process when the disk is full.
    stream = io.BytesIO()

    def write(address: int, size: int, _: object) -> None:
        stream.write(ctypes.string_at(address, size))

    def seek(position: int, _: object) -> None:
        stream.seek(position)

    try:
        writer.WriteToCallback(lib3mf.WriteCallback(write), lib3mf.SeekCallback(seek), None)
    except Exception as error:  # lib3mf raises its own kinds, by version
        fault = Fault("3MF: lib3mf cannot write the file", given=str(error))
        raise BuildError(fault) from error
    if writer.GetWarningCount():
        raise BuildError(
            [Fault("3MF: lib3mf warns while writing", given=str(writer.GetWarning(number)))
             for number in range(writer.GetWarningCount())]
        )  # fmt: skip
    temporary.write_bytes(stream.getvalue())


def require_same(content: ThreeMfContent, mesh: TriangleMesh, name: str) -> None:
    """Compare a 3MF file read back with the mesh that went in.

    Parameters
    ----------
    content : ThreeMfContent
        What the file holds.
    mesh : TriangleMesh
        What was written.
    name : str
        Name that was written.
    """
    faults = []
    if content.name != name:
        faults.append(Fault("3MF: name of the object", given=content.name, limit=name))
    if len(content.triangles) != len(mesh.triangles):
        faults.append(Fault("3MF: number of triangles", given=str(len(content.triangles)),
                            limit=str(len(mesh.triangles))))  # fmt: skip
    if not abs(content.volume_mm3 - mesh.volume_mm3) <= VOLUME_SHARE * mesh.volume_mm3:
        faults.append(Fault("3MF: volume", given=f"{content.volume_mm3:.4f} mm3",
                            limit=f"{mesh.volume_mm3:.4f} mm3"))  # fmt: skip
    if faults:
        raise BuildError(faults)


def _records(values: NDArray[Any], record: Any, kind: type[np.generic]) -> Any:
    """View an (n, 3) array as lib3mf's records, without a Python loop."""
    packed = np.ascontiguousarray(values, dtype=kind)
    return (record * len(packed)).from_buffer_copy(packed)
