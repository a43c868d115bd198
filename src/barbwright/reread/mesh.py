"""What a written mesh file really measures, judged without the CAD kernel.

Every drawn diameter and wall is measured by rays on the file as read back; the
report carries measured beside drawn, and one error names all that deviates.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from barbwright.design.shape import Probe, Shape, WallProbe
from barbwright.errors import BuildError, Fault

if TYPE_CHECKING:
    from trimesh import Trimesh

# Largest deviation of a diameter or a wall.
TOLERANCE_MM = 0.03
VOLUME_TOLERANCE = 0.005
DEGENERATE_HEIGHT_MM = 1e-6
RAYS_PER_TURN = 32
LEAST_RAYS = 7
# Fans start at an odd fraction of a step, or rays run along the seam where facets meet.
FAN_OFFSET = 0.377
SAME_HIT_MM = 1e-5

Arrays = tuple[NDArray[Any], NDArray[Any]]


@dataclass(frozen=True, kw_only=True)
class MeasuredSize:
    """One drawn size and what the mesh shows of it.

    Attributes
    ----------
    name : str
        Key of the dimension.
    drawn_mm : float
        Drawn size [mm].
    measured_mm : float
        Mean over the rays [mm].
    least_mm, largest_mm : float
        Smallest and largest over the rays [mm].
    rays, missed : int
        Rays cast, and those that met no surface [-].
    """

    name: str
    drawn_mm: float
    measured_mm: float
    least_mm: float
    largest_mm: float
    rays: int
    missed: int

    @property
    def deviation_mm(self) -> float:
        """Largest distance of any ray's reading from the drawn size [mm]."""
        return max(abs(self.least_mm - self.drawn_mm), abs(self.largest_mm - self.drawn_mm))


@dataclass(frozen=True, kw_only=True)
class MeshReport:
    """All that was measured on one mesh.

    Attributes
    ----------
    watertight, winding_consistent : bool
        Every edge has two facets; neighbours turn the same way.
    bodies, euler_number, drawn_euler_number : int
        Separate bodies, and vertices - edges + faces, measured and drawn [-].
    facets, degenerate_facets : int
        Triangles, and those without height [-].
    volume_mm3, solid_volume_mm3 : float
        Volume of the mesh and of the solid it was cut from [mm3].
    extents_mm : tuple of float
        Size of the box around it [mm].
    measured : tuple of MeasuredSize
        Diameters and walls, in the order of the shape's probes.
    """

    watertight: bool
    winding_consistent: bool
    bodies: int
    euler_number: int
    drawn_euler_number: int
    facets: int
    degenerate_facets: int
    volume_mm3: float
    solid_volume_mm3: float
    extents_mm: tuple[float, float, float]
    measured: tuple[MeasuredSize, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return plain dictionaries, for JSON."""
        return asdict(self)

    @classmethod
    def from_dict(cls, values: dict[str, Any]) -> MeshReport:
        """Build a report from what `as_dict` gave."""
        sizes = tuple(MeasuredSize(**size) for size in values["measured"])
        extents = tuple(values["extents_mm"])
        return cls(**{**values, "measured": sizes, "extents_mm": extents})


@dataclass(frozen=True, kw_only=True)
class Expected:
    """What a mesh must come up to: the part of a `Shape` that measuring needs.

    Attributes
    ----------
    name : str
        The part's name.
    euler_number : int
        Euler number of the drawn surface [-].
    solid_volume_mm3 : float
        Volume of the solid [mm3].
    probes, walls : tuple
        Where to measure.
    """

    name: str
    euler_number: int
    solid_volume_mm3: float
    probes: tuple[Probe, ...]
    walls: tuple[WallProbe, ...]

    @classmethod
    def of(cls, shape: Shape, solid_volume_mm3: float) -> Expected:
        """Take what measuring needs out of a shape."""
        return cls(
            name=shape.name,
            euler_number=shape.euler_number,
            solid_volume_mm3=solid_volume_mm3,
            probes=shape.probes,
            walls=shape.walls,
        )

    def as_dict(self) -> dict[str, Any]:
        """Return plain dictionaries, for JSON."""
        return asdict(self)

    @classmethod
    def from_dict(cls, values: dict[str, Any]) -> Expected:
        """Build from what `as_dict` gave."""
        probes = tuple(Probe(**probe) for probe in values["probes"])
        walls = tuple(WallProbe(**wall) for wall in values["walls"])
        return cls(**{**values, "probes": probes, "walls": walls})


def measure_expected(source: Path | str | Arrays, expected: Expected) -> MeshReport:
    """Measure a mesh and refuse it when anything deviates from what is expected.

    Parameters
    ----------
    source : Path or (vertices, triangles)
        An STL or 3MF file, or arrays of points [mm] and indices.
    expected : Expected
        What was drawn.

    Returns
    -------
    MeshReport
        Measured values beside drawn ones.
    """
    report = describe_mesh(load_mesh(source), expected)
    faults = deviations(report, expected.name)
    if faults:
        raise BuildError(faults)
    return report


def load_mesh(source: Path | str | Arrays) -> Trimesh:
    """Read a mesh, joining only points that are equal to the last digit.

    Parameters
    ----------
    source : Path or (vertices, triangles)
        An STL or 3MF file, or arrays of points [mm] and indices.

    Returns
    -------
    Trimesh
        The mesh.

    Raises
    ------
    BuildError
        When the file cannot be read as a mesh.
    """
    import trimesh

    if isinstance(source, tuple):
        vertices, triangles = source
    elif Path(source).suffix.lower() == ".3mf":
        from barbwright.reread.threemf import read_3mf

        content = read_3mf(Path(source)).only
        vertices, triangles = content.vertices, content.triangles
    else:
        try:
            with Path(source).open("rb") as file:
                loaded = trimesh.load(file, file_type="stl", process=False)
            vertices, triangles = loaded.vertices, loaded.faces
        except Exception as error:  # trimesh's readers raise whatever they trip over
            fault = Fault("the mesh file cannot be read", given=f"{source}: {error}")
            raise BuildError(fault) from error
    if len(triangles) == 0:
        raise BuildError(Fault("the mesh file holds no triangles", given=str(source)))
    mesh = trimesh.Trimesh(vertices, triangles, process=False)
    mesh.merge_vertices()
    return mesh


def describe_mesh(mesh: Trimesh, expected: Expected) -> MeshReport:
    """Measure everything there is to measure, without judging it.

    Parameters
    ----------
    mesh : Trimesh
        The mesh.
    expected : Expected
        What was drawn, and where to measure it.

    Returns
    -------
    MeshReport
        Measured values beside drawn ones.
    """
    full = mesh.nondegenerate_faces(height=DEGENERATE_HEIGHT_MM)
    extents = mesh.extents
    return MeshReport(
        watertight=bool(mesh.is_watertight),
        winding_consistent=bool(mesh.is_winding_consistent),
        bodies=int(mesh.body_count),
        euler_number=int(mesh.euler_number),
        drawn_euler_number=expected.euler_number,
        facets=len(mesh.faces),
        degenerate_facets=int((~full).sum()),
        volume_mm3=float(mesh.volume),
        solid_volume_mm3=expected.solid_volume_mm3,
        extents_mm=(float(extents[0]), float(extents[1]), float(extents[2])),
        measured=tuple(_measure(mesh, [*expected.probes, *expected.walls])),
    )


def deviations(report: MeshReport, name: str) -> list[Fault]:
    """Name everything on a mesh that is not as drawn.

    Parameters
    ----------
    report : MeshReport
        What was measured.
    name : str
        The part's name.

    Returns
    -------
    list of Fault
        Empty for a sound mesh.
    """
    faults = []

    def add(what: str, given: object, limit: object) -> None:
        faults.append(Fault(f"{name} mesh: {what}", given=str(given), limit=str(limit)))

    if not report.watertight:
        add("not watertight", "open edges", "every edge has two facets")
    if not report.winding_consistent:
        add("facets turned the wrong way", "mixed", "all point outward")
    if report.bodies != 1:
        add("not one body", report.bodies, 1)
    if report.euler_number != report.drawn_euler_number:
        add("wrong number of openings: Euler number", report.euler_number,
            report.drawn_euler_number)  # fmt: skip
    if report.degenerate_facets:
        add("degenerate facets", report.degenerate_facets, 0)
    share = report.volume_mm3 / report.solid_volume_mm3 - 1
    if not abs(share) <= VOLUME_TOLERANCE:
        add("volume off the solid's", f"{report.volume_mm3:.3f} mm3",
            f"{report.solid_volume_mm3:.3f} mm3 within {VOLUME_TOLERANCE:.1%}")  # fmt: skip
    for size in report.measured:
        if size.missed:
            add(f"{size.name}: no surface met", f"{size.missed} of {size.rays} rays", "every ray")
        elif not size.deviation_mm <= TOLERANCE_MM:
            add(f"{size.name} off the drawn value",
                f"{size.least_mm:.4f} to {size.largest_mm:.4f} mm",
                f"{size.drawn_mm:.4f} mm within {TOLERANCE_MM} mm")  # fmt: skip
    return faults


def fan(probe: Probe | WallProbe) -> NDArray[np.float64]:
    """Directions of the rays of a probe.

    Parameters
    ----------
    probe : Probe or WallProbe
        Axis, middle and angle of the fan.

    Returns
    -------
    (n, 3) ndarray
        Unit vectors across the axis [-].
    """
    axis = np.asarray(probe.axis, dtype=float)
    towards = np.asarray(probe.towards, dtype=float)
    sideways = np.cross(axis, towards)
    count = max(LEAST_RAYS, round(RAYS_PER_TURN * probe.fan_deg / 360))
    steps = (np.arange(count) + FAN_OFFSET) / count - 0.5
    angles = np.radians(probe.fan_deg) * steps
    return np.outer(np.cos(angles), towards) + np.outer(np.sin(angles), sideways)


def _measure(mesh: Trimesh, probes: Sequence[Probe | WallProbe]) -> list[MeasuredSize]:
    """Cast the rays of all probes at once and read each probe's hits."""
    if not probes:
        return []
    starts, directions, owners = [], [], []
    for number, probe in enumerate(probes):
        rays = fan(probe)
        middle = np.asarray(probe.origin, dtype=float) + probe.at_mm * np.asarray(probe.axis)
        if isinstance(probe, Probe) and probe.side == "outer":
            starts.append(middle + rays * probe.reach_mm)
            directions.append(-rays)
        else:
            starts.append(np.tile(middle, (len(rays), 1)))
            directions.append(rays)
        owners.append(np.full(len(rays), number))
    start = np.concatenate(starts)
    points, ray_numbers, _ = mesh.ray.intersects_location(
        start, np.concatenate(directions), multiple_hits=True
    )
    distances = np.linalg.norm(points - start[ray_numbers], axis=1)
    owner = np.concatenate(owners)
    hits = [np.sort(distances[ray_numbers == ray]) for ray in range(len(start))]
    result = []
    for number, probe in enumerate(probes):
        own = [hits[ray] for ray in np.flatnonzero(owner == number)]
        readings = [_read(probe, hit) for hit in own]
        found = np.array([reading for reading in readings if reading is not None])
        drawn = probe.wall_mm if isinstance(probe, WallProbe) else probe.diameter_mm
        none = found.size == 0
        result.append(
            MeasuredSize(
                name=probe.name,
                drawn_mm=float(drawn),
                measured_mm=0.0 if none else float(found.mean()),
                least_mm=0.0 if none else float(found.min()),
                largest_mm=0.0 if none else float(found.max()),
                rays=len(own),
                missed=len(own) - len(found),
            )
        )
    return result


def _read(probe: Probe | WallProbe, hits: NDArray[np.float64]) -> float | None:
    """Turn one ray's hits into a diameter or a wall [mm]."""
    if isinstance(probe, Probe):
        if hits.size == 0:
            return None
        radius = probe.reach_mm - hits[0] if probe.side == "outer" else hits[0]
        return 2 * float(radius)
    # A ray through an edge meets both its facets: count such a pair once.
    apart = hits[np.concatenate([[True], np.diff(hits) > SAME_HIT_MM])] if hits.size else hits
    if apart.size < 2:
        return None
    return float(apart[1] - apart[0]) * math.cos(math.atan(probe.slope))
