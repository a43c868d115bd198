"""A 3MF file read back by lib3mf in strict mode."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from barbwright.errors import BuildError, Fault


@dataclass(frozen=True)
class ThreeMfContent:
    """What a 3MF file holds.

    Attributes
    ----------
    name : str
        Name of the one object.
    vertices : (n, 3) ndarray
        Points [mm].
    triangles : (m, 3) ndarray
        Indices of points.
    volume_mm3 : float
        Enclosed volume [mm3].
    """

    name: str
    vertices: NDArray[np.float64]
    triangles: NDArray[np.int64]
    volume_mm3: float


def read_3mf(path: Path) -> ThreeMfContent:
    """Read a 3MF file strictly: one manifold object, millimetres, no warning.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    ThreeMfContent
        The mesh.

    Raises
    ------
    BuildError
        When lib3mf refuses it or warns, or anything else than one manifold
        object in millimetres is inside.
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
    items, objects = model.GetBuildItems().Count(), model.GetMeshObjects()
    if items != 1 or objects.Count() != 1:
        given = f"{items} build items, {objects.Count()} objects"
        faults.append(Fault("3MF: not one object", given=given, limit="1 and 1"))
        raise BuildError(faults)
    objects.MoveNext()
    mesh = objects.GetCurrentMeshObject()
    if not mesh.IsManifoldAndOriented():
        faults.append(Fault("3MF: the object is not a closed, oriented surface"))
    if faults:
        raise BuildError(faults)
    vertices = _array(mesh.GetVertices(), np.float32).astype(np.float64)
    triangles = _array(mesh.GetTriangleIndices(), np.uint32).astype(np.int64)
    corners = vertices[triangles]
    volume = np.einsum("ij,ij->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6
    return ThreeMfContent(str(mesh.GetName()), vertices, triangles, float(volume))


def _array(structures: list[Any], kind: type[np.generic]) -> NDArray[Any]:
    """Turn lib3mf's list of three-number records into an (n, 3) array."""
    joined = b"".join(bytes(one) for one in structures)
    return np.frombuffer(joined, dtype=kind).reshape(-1, 3)
