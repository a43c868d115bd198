"""A 3MF file read back by lib3mf in strict mode."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from barbwright.errors import BuildError, Fault


@dataclass(frozen=True, kw_only=True)
class ThreeMfBody:
    """One object of a 3MF file.

    Attributes
    ----------
    name, part_number, material : str
        As the object says; empty where it does not.
    pieces : int
        Build items that show it [-].
    at_mm : tuple of (float, float, float)
        Where each piece is moved to [mm].
    vertices : (n, 3) ndarray
        Points [mm].
    triangles : (m, 3) ndarray
        Indices of points.
    volume_mm3 : float
        Enclosed volume [mm3].
    """

    name: str
    part_number: str
    material: str
    pieces: int
    at_mm: tuple[tuple[float, float, float], ...]
    vertices: NDArray[np.float64]
    triangles: NDArray[np.int64]
    volume_mm3: float


@dataclass(frozen=True)
class ThreeMfContent:
    """What a 3MF file holds.

    Attributes
    ----------
    title : str
        Title of the whole.
    bodies : tuple of ThreeMfBody
        Its objects, in the file's order.
    """

    title: str
    bodies: tuple[ThreeMfBody, ...]

    @property
    def only(self) -> ThreeMfBody:
        """The one object of one piece that a part's own file holds.

        Raises
        ------
        BuildError
            When there is more, or none.
        """
        pieces = sum(body.pieces for body in self.bodies)
        if len(self.bodies) != 1 or pieces != 1:
            given = f"{pieces} build items, {len(self.bodies)} objects"
            raise BuildError(Fault("3MF: not one object", given=given, limit="1 and 1"))
        return self.bodies[0]


def read_3mf(path: Path) -> ThreeMfContent:
    """Read a 3MF file strictly: manifold objects, millimetres, no warning.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    ThreeMfContent
        Its objects.

    Raises
    ------
    BuildError
        When lib3mf refuses it or warns, or anything else than manifold objects
        in millimetres is inside.
    """
    import lib3mf

    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    try:
        reader.ReadFromFile(str(path))
    except Exception as error:  # lib3mf raises its own kinds, by version
        fault = Fault("3MF: lib3mf refuses the file", given=f"{path.name}: {error}")
        raise BuildError(fault) from error
    faults = [
        Fault("3MF: lib3mf warns", given=str(reader.GetWarning(number)))
        for number in range(reader.GetWarningCount())
    ]
    if model.GetUnit() != lib3mf.ModelUnit.MilliMeter:
        faults.append(Fault("3MF: unit", given=str(model.GetUnit()), limit="millimetre"))
    places: dict[int, list[tuple[float, float, float]]] = {}
    items = model.GetBuildItems()
    while items.MoveNext():
        item = items.GetCurrent()
        *turn, moved = item.GetObjectTransform().Fields
        if not np.array_equal(np.array([list(row) for row in turn]), np.eye(3)):
            # What a printer gets is the object as its item shows it, not as its mesh stands.
            given = "; ".join(" ".join(f"{one:g}" for one in row) for row in turn)
            limit = "1 0 0; 0 1 0; 0 0 1"
            faults.append(Fault("3MF: a build item is scaled, turned or mirrored", given, limit))
        shown = places.setdefault(item.GetObjectResourceID(), [])
        shown.append((float(moved[0]), float(moved[1]), float(moved[2])))
    bodies = []
    objects = model.GetMeshObjects()
    while objects.MoveNext():
        mesh = objects.GetCurrentMeshObject()
        if not mesh.IsManifoldAndOriented():
            faults.append(Fault("3MF: the object is not a closed, oriented surface"))
        bodies.append(_body(model, mesh, tuple(places.get(mesh.GetResourceID(), ()))))
        if not bodies[-1].pieces:
            faults.append(Fault("3MF: no build item shows an object", given=bodies[-1].name))
    if not bodies:
        faults.append(Fault("3MF: the file holds no object"))
    if faults:
        raise BuildError(faults)
    titles = model.GetMetaDataGroup()
    found = titles.GetMetaDataByKey("", "Title") if _has(titles, "Title") else None
    return ThreeMfContent("" if found is None else str(found.GetValue()), tuple(bodies))


def _has(group: Any, name: str) -> bool:
    count = range(group.GetMetaDataCount())
    return any(group.GetMetaData(number).GetName() == name for number in count)


def _body(model: Any, mesh: Any, at_mm: tuple[tuple[float, float, float], ...]) -> ThreeMfBody:
    vertices = _array(mesh.GetVertices(), np.float32).astype(np.float64)
    triangles = _array(mesh.GetTriangleIndices(), np.uint32).astype(np.int64)
    corners = vertices[triangles]
    volume = np.einsum("ij,ij->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6
    group, number, said = mesh.GetObjectLevelProperty()
    shelf = model.GetBaseMaterialGroupByID(group) if said else None
    return ThreeMfBody(
        name=str(mesh.GetName()),
        part_number=str(mesh.GetPartNumber()),
        material="" if shelf is None else str(shelf.GetName(number)),
        pieces=len(at_mm),
        at_mm=at_mm,
        vertices=vertices,
        triangles=triangles,
        volume_mm3=float(volume),
    )


def _array(structures: list[Any], kind: type[np.generic]) -> NDArray[Any]:
    """Turn lib3mf's list of three-number records into an (n, 3) array."""
    joined = b"".join(bytes(one) for one in structures)
    return np.frombuffer(joined, dtype=kind).reshape(-1, 3)
