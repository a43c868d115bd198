"""Solved parts: quarters against halves, and what a run reports.

Beside test_parts, whose meshes nothing here needs, so that two processes share the longest file.
"""

import json
from importlib.util import find_spec
from itertools import product

import numpy as np
import pytest
from made import made

from barbwright import prove
from barbwright.prove import require_engine
from barbwright.prove.analysis import first_size_mm, first_sizes, solve_units
from barbwright.prove.cases import contact_range, supports_of, unit_loads
from barbwright.prove.elastic import Elastic, full_stress, largest_principal, von_mises
from barbwright.prove.mesh import mesh_part, read_step

if find_spec("ngsolve") is None:
    pytest.skip("needs the extra fe", allow_module_level=True)
require_engine()  # before netgen: it loads our CAD kernel first


def coarse_model_of(kind, planes):
    """A piece on a mesh that resolves its necks, and no more: a quarter of the time."""
    design, shape, path = made(kind)
    mesh = mesh_part(
        design, shape, read_step(path), order=2, maxh_mm=1.5 * first_size_mm(design),
        sizes=first_sizes(design), planes=planes, first_safety=1.4,
    ).mesh  # fmt: skip
    return design, Elastic(mesh, 2, 1256.0, 0.4, supports_of(design))


@pytest.mark.slow
def test_quarter_pieces_give_the_whole_part_s_stress():
    """A side force on one arm from even and odd quarters, against half the part at once."""
    design, quarter = coarse_model_of("tee", (0, 1))
    _, half = coarse_model_of("tee", (1,))
    for name in ("side_z", "release"):
        pieces = solve_units(quarter, unit_loads(design, quarter), [name])
        whole = solve_units(half, unit_loads(design, half), [name])
        low, high = contact_range(design)
        for side in product((1, -1), repeat=2):
            if side[1] < 0:
                continue
            found = von_mises(full_stress(pieces.stress[name], side))
            place = pieces.points.position_mm
            there = whole.points.position_mm * np.array([side[0], 1.0, 1.0])
            exact = von_mises(full_stress(whole.stress[name], (1,)))

            def middle(values, at):
                """Mean stress in the neck of the arm: a section both meshes resolve."""
                near = (np.abs(at[:, 0] - 6.2) < 0.8) & (np.abs(at[:, 2]) < 3.3)
                return values[near].mean()

            assert middle(found, place) == pytest.approx(middle(exact, there), rel=0.05, abs=0.02)
        assert low < high < 0.0


def check_surface(result, design):
    """The surface for a picture: closed, facing outward, cut through its middle, stressed."""
    surface = result.surface
    assert set(surface.stress_mpa) == set(surface.reported) == {"working"}
    points, skin = surface.points_mm, surface.triangles
    a, b, c = (points[skin[:, corner]] for corner in range(3))
    volume = float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum()) / 6.0
    assert volume == pytest.approx(result.volume_mm3, rel=0.01)
    a, b, c = (points[surface.cut[:, corner]] for corner in range(3))
    assert np.abs(points[surface.cut][..., 1]).max() < 1e-9
    section = float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum()) / 2.0
    # Pappus: a body of revolution is its half section swept round by its centroid.
    centroid = np.abs((a + b + c)[:, 0]) / 3.0
    areas = np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2.0
    swept = np.pi * float((centroid * areas).sum())
    assert section > 0.0
    assert swept == pytest.approx(result.volume_mm3, rel=0.01)
    # The bore's wall carries the peak; the head, far from the bore, next to nothing.
    stress, good = surface.stress_mpa["working"], surface.reported["working"]
    assert stress[good].max() == pytest.approx(result.case("working").peak_mpa, rel=0.1)
    away = np.linalg.norm(points[:, :2], axis=1) > 0.45 * float(design.own.head_mm)
    assert stress[away].max() < 0.1 * stress[good].max()


def test_a_run_reports_what_the_json_promises():
    design, _, path = made("cap")
    result = prove.run(design, path, pictured=lambda cases: [case.id for case in cases[:1]])
    document = json.loads(json.dumps(prove.to_json(result), allow_nan=False))
    assert [case["id"] for case in document["cases"]] == ["working", "proof"]
    for case in document["cases"]:
        assert {
            "peak_von_mises_mpa", "peak_principal_mpa", "closed_form_mpa", "ratio",
            "allowable_mpa", "safety_factor", "position_mm", "converged", "elements",
            "degrees_of_freedom", "seconds",
        } <= set(case)  # fmt: skip
        assert case["converged"]
        assert case["force_balance"] < 1e-3
        assert case["degrees_of_freedom"] < 150_000
    # Between the plain barb, pulled at its far end, and one whose nose the liquid pushes with the
    # whole area of the crest before any of the tube's pull has come in.
    p, bore, barb = float(design.conditions.highest_mpa), float(design.bore_mm), design.barbs[0]
    root, crest = float(barb.root_mm), float(barb.crest_mm)
    hoop = p * (root**2 + bore**2) / (root**2 - bore**2)
    axial = -p * (crest**2 - bore**2) / (root**2 - bore**2)
    pushed = np.sqrt(((hoop + p) ** 2 + (axial + p) ** 2 + (hoop - axial) ** 2) / 2.0)
    lame = document["lame_von_mises_mpa"]
    assert lame < document["cases"][0]["peak_von_mises_mpa"] < pushed < 1.3 * lame
    check_surface(result, design)
    assert largest_principal(np.zeros((1, 6))) == pytest.approx([0.0])
