"""Plain crossings without a relief ball, recomputed against the shipped table within 6 %.

The table (profiles/crossing_bores.toml, own) is what side ports are judged by; its rows stand on
another mesh and another run. Sharp outer corners are left out: only the wetted wall is read.
"""

from importlib.util import find_spec

import numpy as np
import pytest
from bodies import ball, flat, meshed, peak_over_wetted, piece, plane_names, solve, tube

from barbwright.catalog import crossing_bores
from barbwright.equations.cylinder import lame_hoop, lame_von_mises
from barbwright.prove import require_engine
from barbwright.prove.elastic import Support, Traction
from barbwright.prove.mesh import MeshSize
from slow_bound import some_of

if find_spec("ngsolve") is None:
    pytest.skip("needs the extra fe", allow_module_level=True)
require_engine()


def on_a_bore(place):
    x, y, z = place.T
    run = (np.abs(np.hypot(y, z) - 1.0) < 1e-6) & (x > -1e-9)
    return run | ((np.abs(np.hypot(x, y) - 1.0) < 1e-6) & (z < 1e-9))


def crossing(ratio, kind, size):
    """Bores of radius 1 along x and down -z in tubes of radius `ratio`; scf and Mises ratio."""
    from netgen.occ import Cylinder, Pnt, Sphere, X, Z

    long = 2.0 * ratio + 2.0
    planes = (0, 1) if kind == "tee" else (1,)
    run = Cylinder(Pnt(0, 0, 0), X, ratio, long)
    down = Cylinder(Pnt(0, 0, -long), Z, ratio, long)
    bores = Cylinder(Pnt(0, 0, 0), X, 1.0, long) + Cylinder(Pnt(0, 0, -long), Z, 1.0, long)
    solid = run + down
    if kind == "elbow":
        solid, bores = solid + Sphere(Pnt(0, 0, 0), ratio), bores + Sphere(Pnt(0, 0, 0), 1.0)
    solid = (solid - bores) * piece(planes)
    names = plane_names(planes) | {
        "end_x": [flat(0, long)],
        "end_z": [flat(2, -long)],
        "wetted": [tube(0, 1.0), tube(2, 1.0), ball(1.0)],
    }
    # The bores' edge: equal cylinders meet where x = -z.
    turns = np.linspace(0.0, np.pi / 2.0, 16)
    edge = [MeshSize((float(np.cos(t)), float(np.sin(t)), -float(np.cos(t))), size) for t in turns]
    mesh = meshed(solid, names, 0.8, 2, edge)
    axial = 1.0 / (ratio**2 - 1.0)
    loads = [
        Traction(boundary="wetted", pressure_mpa=1.0),
        Traction(boundary="end_x", vector_mpa=(axial, 0.0, 0.0)),
        Traction(boundary="end_z", vector_mpa=(0.0, 0.0, -axial)),
    ]
    model, moved = solve(mesh, 2, loads, supports=[Support(boundary="outer", stiffness_n_mm3=1e-4)])
    assert model.degrees_of_freedom < 150_000
    principal, mises = peak_over_wetted(model, moved, on_a_bore)
    return (
        principal / float(lame_hoop(1.0, 2.0, 2.0 * ratio)),
        mises / float(lame_von_mises(1.0, 2.0, 2.0 * ratio)),
    )


SLOW = pytest.mark.slow
ROWS = [
    pytest.param(ratio, kind, marks=() if (ratio, kind) == (2.0, "tee") else SLOW)
    for ratio in (1.5, 2.0, 3.0)
    for kind in ("tee", "elbow")
]


# Where time is bounded: the middle tee, and the elbow with the thinnest wall.
@pytest.mark.parametrize(("ratio", "kind"), some_of(ROWS, 1, 2))
def test_the_table_is_recomputed_within_6_percent(ratio, kind):
    table = crossing_bores()
    row = table.outer_to_inner_ratio.index(ratio)
    name = "equal_tee" if kind == "tee" else "elbow_inner"
    scf, mises = crossing(ratio, kind, 0.12)
    assert scf == pytest.approx(getattr(table, f"{name}_scf")[row], rel=0.06)
    assert mises == pytest.approx(getattr(table, f"{name}_von_mises_ratio")[row], rel=0.06)
