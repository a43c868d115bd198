"""Drawn parts: faces by name, sharp edges, meshes, balance and superposition."""

import subprocess
import sys
from importlib.util import find_spec

import numpy as np
import pytest
from made import made

from barbwright import prove
from barbwright.checks.driving import drive_squash, twist_out
from barbwright.design.draw import shape_of
from barbwright.design.single import single
from barbwright.errors import BuildError, InputError
from barbwright.prove import mesh, require_engine
from barbwright.prove.analysis import (
    ASKED_SHARE,
    finer_sizes,
    first_size_mm,
    first_sizes,
    local_sizes,
    solve_units,
)
from barbwright.prove.cases import cases_of, drawn_case, supports_of, unit_loads
from barbwright.prove.edges import floor_points, letters, sharp_edges
from barbwright.prove.elastic import Elastic
from barbwright.prove.mesh import (
    LEAST_JACOBIAN,
    least_jacobian,
    mesh_part,
    planes_of,
    read_step,
)
from barbwright.solid.build import build
from barbwright.solid.mesh import mesh_solid
from example_job import design_of

if find_spec("ngsolve") is None:
    pytest.skip("needs the extra fe", allow_module_level=True)
require_engine()  # before netgen: it loads our CAD kernel first

ARM = {"nose_1", "ramp_1", "barb_1", "outer", "wetted"}
TIP = {"lead", "seat", "tick"}
HUB = {"hub", "pad", "shoulder_1", "pad_side"}
NAMES = {
    "tee": ARM | TIP | HUB,
    "elbow": ARM | TIP | HUB,
    "tip": ARM | TIP | {"ring"},
    "barb": ARM | {"shoulder_1", "nose_2", "ramp_2", "barb_2", "shoulder_2"},
    "cap": ARM | {"shoulder_1"},
}
MESHES = {}


def meshed_part(kind, settings=()):
    if (kind, settings) not in MESHES:
        design, shape, path = made(kind, settings)
        MESHES[kind, settings] = mesh_part(
            design,
            shape,
            read_step(path),
            order=2,
            maxh_mm=first_size_mm(design),
            sizes=first_sizes(design),
        )
    return MESHES[kind, settings]


@pytest.mark.parametrize(
    "kind",
    [k if k == "barb" else pytest.param(k, marks=pytest.mark.slow) for k in sorted(NAMES)],
)
def test_every_face_is_named_and_volume_and_wetted_area_are_the_design_s(kind):
    """mesh_part itself compares both with the closed form, to 0.1 and 0.2 %."""
    part = meshed_part(kind)
    planes = {f"plane_{'xyz'[axis]}" for axis in planes_of(made(kind)[0])}
    assert set(part.names) == NAMES[kind] | planes


@pytest.mark.parametrize(
    ("settings", "more"),
    [
        ((), {}),
        # Bores that meet in a cone longer than the ring is thick, the wider on either side.
        (("taper=0.01",), {"bit": "23/32", "tube_id": "4mm", "tube_od": "6mm"}),
        ((), {"bit": "5/16", "tube_id": "16mm", "tube_od": "20mm"}),
    ],
)
def test_an_in_line_tips_wetted_area_is_what_of_its_solid_faces_the_axis(settings, more):
    design = single(design_of("tip", settings, **more))
    shape = shape_of(design, "tip")
    drawn = mesh_solid("tip", build(shape).unmarked)
    corners = drawn.vertices.astype(float)[drawn.triangles]
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    out = corners.mean(axis=1) * (1.0, 1.0, 0.0)
    out /= np.linalg.norm(out, axis=1, keepdims=True)
    size = np.linalg.norm(across, axis=1)
    inward = np.einsum("ij,ij->i", across, out) < -0.3 * size
    assert mesh.wetted_area_mm2(design, shape) == pytest.approx(size[inward].sum() / 2.0, rel=1e-3)


@pytest.mark.slow
def test_side_ports_are_wetted():
    part = meshed_part("tip", ("side_ports=1",))
    assert part.wetted_mm2 > meshed_part("tip").wetted_mm2 + 10.0


@pytest.mark.slow
def test_another_part_s_file_is_refused():
    """A quarter of a tee is half of an elbow: only the whole tells them apart."""
    design, shape, _ = made("tee")
    _, _, other = made("elbow")
    with pytest.raises(BuildError, match="symmetric"):
        mesh_part(design, shape, read_step(other), order=2, maxh_mm=2.5)


@pytest.mark.parametrize(
    "kind",
    [k if k in ("barb", "cap") else pytest.param(k, marks=pytest.mark.slow) for k in sorted(NAMES)],
)
def test_only_ticks_and_shoulder_faces_stay_sharp(kind):
    design, shape, _ = made(kind)
    part = meshed_part(kind)
    found = sharp_edges(part.mesh, part.planes, design, shape).edges
    names = {edge.name.split(" ")[0] for edge in found}
    assert names <= {"tick", "shoulder", "back", "letters", "cone"}, names
    # An in-line tip's bore narrows from the arm's 2.3 mm to the tip's 2.0 mm, at 45 degrees.
    assert ("cone" in names) == (kind == "tip")
    assert ("tick" in names) == (design.tip is not None)
    assert ("letters" in names) == bool(design.mark.lines)
    for edge in found:
        assert edge.angle_deg > 20.0
        if edge.name.startswith("cone"):
            assert edge.angle_deg == pytest.approx(45.0, abs=1.0)
            assert edge.from_wetted_mm < 1e-4
        else:
            assert edge.from_wetted_mm > 1.0


def test_letters_stand_in_the_list_with_their_distance_though_the_model_has_none():
    """On a pad the floor lies the pad's height less the depth over the hub's centre."""
    design, shape, _ = made("elbow")
    found = letters(design, shape)
    assert found.name == f"letters of the mark {design.mark.text}, engraved after this model"
    assert found.length_mm == 0.0
    least = min(float(np.dot(e.origin, (0.0, 0.0, 1.0))) for e in shape.engravings)
    highest = least - float(design.hub.relief_mm) / 2.0
    # The middle line stands over the ball's top; the outer ones are further from it.
    assert highest - 1e-9 <= found.from_wetted_mm < highest + 0.5
    deep = [e for e in shape.engravings if e.origin[2] == least]
    corner = floor_points(deep[0])
    assert np.ptp(corner[:, 2]) < 1e-9
    # Lines run from corner to corner of the hexagon, across the arms.
    assert np.ptp(corner[:, 1]) > deep[0].letters.cap_mm


@pytest.mark.slow
def test_a_collar_s_back_is_found_and_named():
    """A neck slimmer than the tube's stop leaves a square collar: a sharp inner corner."""
    design, shape, _ = made("tee", ("neck=4.7mm",))
    part = meshed_part("tee", ("neck=4.7mm",))
    found = sharp_edges(part.mesh, part.planes, design, shape).edges
    collar = [edge for edge in found if "collar" in edge.name]
    assert len(collar) == 1
    assert collar[0].angle_deg == pytest.approx(90.0, abs=5.0)
    assert collar[0].from_wetted_mm == pytest.approx((4.7 - 2.3) / 2.0, abs=0.01)


def model_of(kind):
    design, _, _ = made(kind)
    return design, Elastic(meshed_part(kind).mesh, 2, 1256.0, 0.4, supports_of(design))


@pytest.mark.slow
def test_forces_balance_and_pieces_add_up():
    """Loads plus reactions under 0.1 %; a sum of loads solved at once is the sum of solutions."""
    design, model = model_of("tee")
    loads = unit_loads(design, model)
    solved = solve_units(model, loads, sorted(loads))
    assert max(solved.out_of_balance.values()) < 1e-3
    even = (1, 1)
    both = [*loads["pressure"][even], *loads["drive"][even]]
    at_once = model.stresses(model.solve(even, both))
    summed = solved.stress["pressure"][even] + solved.stress["drive"][even]
    assert np.abs(at_once - summed).max() < 1e-8 * np.abs(summed).max()


@pytest.mark.slow
def test_the_seat_carries_the_thrust_on_the_tip():
    """The wet lead end and the bore push the tip out: the seat's reaction is their sum."""
    design, model = model_of("tee")
    loads = unit_loads(design, model)["pressure"][1, 1]
    reaction = 4.0 * model.forces(model.solve((1, 1), loads))[0][2]
    tip = design.tip
    # Pressure acts up on the whole end, out to where the rounded lead meets the taper.
    half = np.arctan(float(tip.taper) / 2.0)
    inner = float(tip.lead_mm) / 2.0 + tip.lead_round_mm * (np.tan(half) - 1.0 / np.cos(half))
    edge = inner + tip.lead_round_mm * np.cos(half)
    assert -reaction == pytest.approx(np.pi * edge**2, rel=0.005)


def test_a_finer_mesh_is_known_by_its_elements_at_the_peak():
    """What is asked for at a point is what a mesh with that size there is found to have."""
    design, shape, path = made("cap")
    at = np.array([[float(design.bore_mm) / 2.0, 0.0, 6.0]])
    before = local_sizes(meshed_part("cap").mesh, at)
    asked = finer_sizes(meshed_part("cap").mesh, at)
    assert [size.size_mm for size in asked] == pytest.approx(ASKED_SHARE * before)
    # An element may come out longer than asked, so a run asks again.
    asked += finer_sizes(meshed_part("cap").mesh, at, asked)
    assert asked[-1].size_mm == pytest.approx(ASKED_SHARE**2 * before[0])
    finer = mesh_part(
        design, shape, read_step(path), order=2, maxh_mm=first_size_mm(design),
        sizes=[*first_sizes(design), *asked],
    )  # fmt: skip
    assert local_sizes(finer.mesh, at) < 0.75 * before


@pytest.mark.slow
def test_folded_elements_are_made_straight_and_no_other_edge_is_moved(monkeypatch):
    """Taken for folded here: the most bent ones of a good mesh."""
    design, shape, path = made("cap")
    bent = mesh_part(design, shape, read_step(path), order=2, maxh_mm=first_size_mm(design)).mesh
    before = least_jacobian(bent)
    chosen = np.sort(before)[3] * 1.0001
    monkeypatch.setattr(mesh, "LEAST_JACOBIAN", chosen)
    straight = mesh.straightened(bent, 2)
    assert sorted(straight) == sorted(np.flatnonzero(before <= chosen))
    after = least_jacobian(bent)
    assert after[straight] == pytest.approx(np.ones(len(straight)))
    touched = {edge.nr for row in straight for edge in element(bent, row).edges}
    apart = [row for row in range(bent.ne)
             if touched.isdisjoint(edge.nr for edge in element(bent, row).edges)]  # fmt: skip
    assert len(apart) > 0.9 * bent.ne
    assert after[apart] == pytest.approx(before[apart], abs=1e-9)
    with mesh.as_bent(bent):
        assert least_jacobian(bent) == pytest.approx(before, abs=1e-9)
    assert least_jacobian(bent) == pytest.approx(after, abs=1e-12)


def element(meshed, row):
    import ngsolve as ng

    return meshed[ng.ElementId(ng.VOL, int(row))]


def test_an_element_s_evenness_is_that_of_its_jacobian():
    """One for straight elements; the part's curved ones lie between a fold and that."""
    meshed = meshed_part("barb").mesh
    assert LEAST_JACOBIAN < least_jacobian(meshed).min() < 0.9
    with mesh.as_bent(meshed):
        meshed.Curve(1)
        assert least_jacobian(meshed) == pytest.approx(np.ones(meshed.ne))
        meshed.Curve(2)


def test_cases_take_loads_and_formulas_from_the_checks():
    design = made("tee")[0]
    cases = {case.id: case for case in cases_of(design)}
    assert tuple(cases) == prove.CASE_IDS
    assert cases["proof"].load == pytest.approx(1.5 * cases["working"].load)
    assert cases["working"].allowable_mpa == pytest.approx(4.0)
    assert cases["side"].closed_form == "side_load"
    for name, check in (("driving", drive_squash), ("twist", twist_out)):
        asked = check(drawn_case(design))
        assert cases[name].load == pytest.approx(np.max(asked.demand))
        assert cases[name].load_upper == pytest.approx(np.max(asked.demand_upper))
    with pytest.raises(InputError, match="no such load case"):
        prove.run(design, made("tee")[2], only=("earthquake",))


def test_without_the_engine_one_line_says_how_to_install_it():
    code = (
        "import sys; sys.modules['ngsolve'] = None\n"
        "from barbwright.prove import require_engine\n"
        "from barbwright.errors import InputError\n"
        "try:\n    require_engine()\n"
        "except InputError as error:\n    print(error.exit_code, error)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.count("\n") == 1
    assert done.stdout.startswith("2 ")
    assert "pip install 'barbwright[fe]'" in done.stdout
