"""3MF by lib3mf: millimetres, welded objects, their pieces, ids that never change."""

from __future__ import annotations

import ctypes
import io
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
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
# A light grey, opaque: it only tells slicers that the pieces share one material.
MATERIAL_COLOUR = (230, 230, 225, 255)


@dataclass(frozen=True, kw_only=True)
class Body:
    """One object of a 3MF file, and its pieces.

    Attributes
    ----------
    name : str
        ASCII name of the object, which is its part number.
    mesh : TriangleMesh
        As it lies on the plate [mm].
    material : str
        In words; empty where none is said.
    at_mm : tuple of (float, float)
        Where each of its pieces is moved to along X and Y [mm].
    """

    name: str
    mesh: TriangleMesh
    material: str = ""
    at_mm: tuple[tuple[float, float], ...] = ((0.0, 0.0),)


def write_3mf(path: Path, title: str, bodies: Sequence[Body]) -> ThreeMfContent:
    """Write meshes as 3MF, read it back strictly, then give it its name.

    Parameters
    ----------
    path : Path
        The file.
    title : str
        ASCII title of the whole: a part's or an order's number.
    bodies : sequence of Body
        Objects and their pieces.

    Returns
    -------
    ThreeMfContent
        What the file holds.

    Raises
    ------
    BuildError
        When it cannot be written, or does not read back as manifold bodies in
        millimetres with the same triangles and volume and without a warning.
    """
    with verified_file(path) as temporary:
        put_3mf(temporary, title, bodies)
        content = read_3mf(temporary)
        require_same(content, title, bodies)
        return content


def put_3mf(temporary: Path, title: str, bodies: Sequence[Body]) -> None:
    """Write a 3MF file under a temporary name.

    Parameters
    ----------
    temporary : Path
        File inside a `verified_file` block.
    title : str
        ASCII title of the whole.
    bodies : sequence of Body
        Objects and their pieces.
    """
    temporary.write_bytes(bytes_3mf(title, bodies))


def bytes_3mf(title: str, bodies: Sequence[Body]) -> bytes:
    """Return a 3MF file: objects named and numbered, with their material, each piece an item.

    Parameters
    ----------
    title : str
        ASCII title of the whole.
    bodies : sequence of Body
        Objects and their pieces.

    Returns
    -------
    bytes
        The same for the same meshes.

    Raises
    ------
    BuildError
        When lib3mf cannot write it, or warns.
    """
    import lib3mf

    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    model.SetUnit(lib3mf.ModelUnit.MilliMeter)
    told = model.GetMetaDataGroup()
    pieces = sum(len(body.at_mm) for body in bodies)
    for word, text in (
        ("Title", title),
        ("Designer", "barbwright"),
        ("Description", f"{pieces} piece{'s' * (pieces > 1)}, millimetres, Z is built upward"),
    ):
        told.AddMetaData("", word, text, "xs:string", True)
    shelf: dict[str, tuple[int, int]] = {}
    materials = [text for text in dict.fromkeys(body.material for body in bodies) if text]
    if materials:
        group = model.AddBaseMaterialGroup()
        for text in materials:
            colour = wrapper.RGBAToColor(*MATERIAL_COLOUR)
            shelf[text] = (group.GetResourceID(), group.AddMaterial(text, colour))
    for body in bodies:
        solid = model.AddMeshObject()
        solid.SetName(body.name)
        solid.SetPartNumber(body.name)
        solid.SetGeometry(
            _records(body.mesh.vertices, lib3mf.Position, np.float32),
            _records(body.mesh.triangles, lib3mf.Triangle, np.uint32),
        )
        if body.material:
            solid.SetObjectLevelProperty(*shelf[body.material])
        solid.SetUUID(str(uuid.uuid5(NAMESPACE, f"object {body.name}")))
        for piece, (x, y) in enumerate(body.at_mm):
            place = wrapper.GetIdentityTransform()
            place.Fields[3][0], place.Fields[3][1] = x, y
            item = model.AddBuildItem(solid, place)
            item.SetPartNumber(body.name)
            item.SetUUID(str(uuid.uuid5(NAMESPACE, f"item {body.name} {piece}")))
    model.SetBuildUUID(str(uuid.uuid5(NAMESPACE, f"build {title}")))
    return _written(model)


def _written(model: Any) -> bytes:
    """Return a model's file, through memory."""
    import lib3mf

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
    return stream.getvalue()


def require_same(content: ThreeMfContent, title: str, bodies: Sequence[Body]) -> None:
    """Compare a 3MF file read back with the meshes that went in.

    Parameters
    ----------
    content : ThreeMfContent
        What the file holds.
    title : str
        Title that was written.
    bodies : sequence of Body
        What was written.
    """
    faults = []
    if content.title != title:
        faults.append(Fault("3MF: title", given=content.title, limit=title))
    if len(content.bodies) != len(bodies):
        given = str(len(content.bodies))
        faults.append(Fault("3MF: number of objects", given, str(len(bodies))))
    for found, body in zip(content.bodies, bodies, strict=False):
        for what, given, limit in (
            ("name of the object", found.name, body.name),
            ("part number of the object", found.part_number, body.name),
            ("material of the object", found.material, body.material),
            ("pieces", str(found.pieces), str(len(body.at_mm))),
            ("number of triangles", str(len(found.triangles)), str(len(body.mesh.triangles))),
        ):
            if given != limit:
                faults.append(Fault(f"3MF: {what}", given=given, limit=limit))
        drawn = body.mesh.volume_mm3
        if not abs(found.volume_mm3 - drawn) <= VOLUME_SHARE * drawn:
            given = f"{found.volume_mm3:.4f} mm3"
            faults.append(Fault("3MF: volume", given=given, limit=f"{drawn:.4f} mm3"))
    if faults:
        raise BuildError(faults)


def _records(values: NDArray[Any], record: Any, kind: type[np.generic]) -> Any:
    """View an (n, 3) array as lib3mf's records, without a Python loop."""
    packed = np.ascontiguousarray(values, dtype=kind)
    return (record * len(packed)).from_buffer_copy(packed)
