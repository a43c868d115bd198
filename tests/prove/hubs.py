"""A bare hub by finite elements: relief ball in a hub ball, necks with blends, nothing else.

Sizes are in bores of the arms, pressure is 1. The necks are cut off two bores from the ball and
pulled there so that each is in balance: a long closed neck's own stress, which disturbs nothing.
A tee is worked as a quarter, an elbow as a half.
"""

import tempfile
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
from bodies import Test, ball, flat, meshed, piece, plane_names, tube

from barbwright.design.hub import least_ball
from barbwright.design.outline import ball_to_neck, blend_end, half_ball, outline, rectangle
from barbwright.design.shape import (
    MINUS_X,
    MINUS_Z,
    X_AXIS,
    Y_AXIS,
    Z_AXIS,
    Revolved,
    Shape,
)
from barbwright.export.step import write_step
from barbwright.prove.elastic import Elastic, Support, Traction, largest_principal, von_mises
from barbwright.prove.mesh import CURVATURE_SAFETY, MeshSize, folded, read_step
from barbwright.solid.build import build

RUN_BORES = 2.0
# Hardly anything: it only keeps the piece from drifting.
BED = 1e-4
# Elements at the lips of the table's hubs: 0.1 bores times this.
TABLE_FINE = 0.35


@dataclass(frozen=True)
class Hub:
    """Ratios of a hub: relief over bore, hub over relief, necks, bore of the tip, blend."""

    relief: float
    hub: float
    neck: float = 2.5
    root: float | None = None
    tip_bore: float = 1.0
    blend: float = 0.15
    kind: str = "tee"

    @cached_property
    def ball(self) -> float:
        return self.hub * self.relief

    @property
    def arm_neck(self) -> float:
        return min(self.neck, self._room)

    @property
    def tip_neck(self) -> float:
        return min(self.neck if self.root is None else self.root, self._room)

    @property
    def _room(self) -> float:
        """The widest necks whose blends stay apart on this ball."""
        return (self.ball - 0.02 - float(least_ball(0.0, 0.0, self.blend))) / 2.0**0.5


@dataclass(frozen=True)
class Peaks:
    """Largest von Mises and principal stress over the pressure, where, and unknowns."""

    von_mises: float
    principal: float
    unknowns: int
    at_mises: tuple[float, float, float]
    at_principal: tuple[float, float, float]


def shape_of_hub(hub: Hub) -> tuple[Shape, float, float]:
    """The hub as outlines, and where its necks are cut."""
    across = blend_end(hub.ball, hub.arm_neck, hub.blend) + RUN_BORES
    down = blend_end(hub.ball, hub.tip_neck, hub.blend) + RUN_BORES

    def neck(name: str, end: float, width: float, axis, towards) -> Revolved:
        run = [*ball_to_neck(hub.ball, width, hub.blend)]
        run += [(end + 1.0, width / 2.0, 0.0), (end + 1.0, 0.0, 0.0)]
        return Revolved(name=name, outline=outline(run), axis=axis, towards=towards)

    arms = (X_AXIS, MINUS_X) if hub.kind == "tee" else (X_AXIS,)
    adds = [
        Revolved(name="hub ball", outline=half_ball(hub.ball), axis=Z_AXIS),
        neck("tip", down, hub.tip_neck, MINUS_Z, X_AXIS),
        *(neck(f"arm {i + 1}", across, hub.arm_neck, axis, Y_AXIS) for i, axis in enumerate(arms)),
    ]
    low = -across - 2.0 if hub.kind == "tee" else 0.0
    cuts = [
        Revolved(name="relief ball", outline=half_ball(hub.relief), axis=X_AXIS, towards=Y_AXIS),
        Revolved(
            name="run bore",
            outline=rectangle(low, across + 2.0, 0.0, 1.0),
            axis=X_AXIS,
            towards=Y_AXIS,
        ),
        Revolved(
            name="tip bore", outline=rectangle(0.0, down + 2.0, 0.0, hub.tip_bore), axis=MINUS_Z
        ),
    ]
    return (
        Shape(
            name="hub",
            adds=tuple(adds),
            cuts=tuple(cuts),
            engravings=(),
            probes=(),
            walls=(),
            openings=3,
            volume_bounds_mm3=(0.0, 1e9),
        ),
        across,
        down,
    )


def lips(hub: Hub, fine: float) -> list[MeshSize]:
    """Where the peak is expected: the lips of the bores, and the relief ball."""
    sizes = []
    turns = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)
    for axis, bore in ((0, 1.0), (2, hub.tip_bore)):
        at = np.sqrt(hub.relief**2 - bore**2) / 2.0
        for turn in turns:
            side = bore / 2.0 * np.array([np.cos(turn), np.sin(turn)])
            x, y, z = np.insert(side, axis, at if axis == 0 else -at)
            sizes.append(MeshSize((float(x), float(y), float(z)), 0.1 * fine * min(bore, 1.0)))
    index = np.arange(150) + 0.5
    z, turn = 1.0 - 2.0 * index / 150, index * 2.399963
    wide = np.sqrt(1.0 - z * z)
    for row in hub.relief / 2.0 * np.column_stack([wide * np.cos(turn), wide * np.sin(turn), z]):
        sizes.append(MeshSize((float(row[0]), float(row[1]), float(row[2])), 0.18 * fine))
    return sizes


def wetted(place: np.ndarray, hub: Hub) -> np.ndarray:
    """Which points stand on the wetted wall inside the hub ball; the rest has closed forms."""
    x, y, z = place.T
    run = (np.abs(np.hypot(y, z) - 0.5) < 1e-5) & (np.abs(x) < hub.ball / 2.0)
    down = (np.abs(np.hypot(x, y) - hub.tip_bore / 2.0) < 1e-5) & (z > -hub.ball / 2.0) & (z < 0.0)
    away = np.linalg.norm(place, axis=1)
    return run | down | (np.abs(away - hub.relief / 2.0) < 1e-5)


def peaks_of(hub: Hub, *, poisson: float = 0.4, fine: float = TABLE_FINE, order: int = 2) -> Peaks:
    """Work one hub: pressure 1 on every wetted face, closed necks."""
    shape, across, down = shape_of_hub(hub)
    built = build(shape)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "hub.step"
        write_step(path, built.unmarked, "hub", built.unmarked_volume_mm3)
        solid = read_step(path)
    from netgen.occ import Box, Pnt

    planes = (0, 1) if hub.kind == "tee" else (1,)
    solid = solid * piece(planes) * Box(Pnt(-99, -99, -down), Pnt(across, 99, 99))
    names: dict[str, list[Test]] = plane_names(planes) | {
        "cut_x": [flat(0, across)],
        "cut_z": [flat(2, -down)],
        "wetted": [ball(hub.relief / 2.0), tube(0, 0.5), tube(2, hub.tip_bore / 2.0)],
    }
    signs = [0.0 if axis in planes else -np.inf for axis in range(3)]
    sizes = [s for s in lips(hub, fine) if np.all(np.array(s.position_mm) >= signs)]
    for safety in CURVATURE_SAFETY:
        mesh = meshed(solid, names, max(0.8, 0.1 * hub.ball), order, sizes, 0.3, safety)
        if not folded(mesh):
            break
    else:
        raise AssertionError(hub)
    loads = [Traction(boundary="wetted", pressure_mpa=1.0)]
    loads.append(Traction(boundary="cut_x", vector_mpa=(1.0 / (hub.arm_neck**2 - 1.0), 0.0, 0.0)))
    tip2 = hub.tip_bore**2
    loads.append(
        Traction(boundary="cut_z", vector_mpa=(0.0, 0.0, -tip2 / (hub.tip_neck**2 - tip2)))
    )
    model = Elastic(mesh, order, 1000.0, poisson, [Support(boundary="outer", stiffness_n_mm3=BED)])
    stress = model.stresses(model.solve((1,) * len(planes), loads))
    place = model.points().position_mm
    read = wetted(place, hub)
    stress, place = stress[read], place[read]
    mises, principal = von_mises(stress), largest_principal(stress)
    most, pulled = int(np.argmax(mises)), int(np.argmax(principal))
    return Peaks(
        float(mises[most]),
        float(principal[pulled]),
        model.degrees_of_freedom,
        tuple(map(float, place[most])),
        tuple(map(float, place[pulled])),
    )
