"""A piece of a solved mesh, an order higher: the same where it is cut, better inside."""

from importlib.util import find_spec

import numpy as np
import pytest
from bodies import flat, meshed, piece, plane_names, tube
from made import made

from barbwright.prove import analysis, require_engine
from barbwright.prove.cases import cases_of, keep_outs, supports_of, unit_loads
from barbwright.prove.edges import sharp_edges
from barbwright.prove.elastic import Elastic, Traction
from barbwright.prove.mesh import mesh_part, read_step
from barbwright.prove.near import Near

if find_spec("ngsolve") is None:
    pytest.skip("needs the extra fe", allow_module_level=True)
require_engine()  # before netgen: it loads our CAD kernel first

PLANES, EVEN = (0, 1, 2), (1, 1, 1)
INNER, OUTER, LOAD = 2.0, 4.0, [Traction(boundary="wetted", pressure_mpa=1.0)]
SPOTS = np.array([[INNER * np.cos(0.7), INNER * np.sin(0.7), 1.0], [INNER, 0.0, 0.5]])


def solved_tube(order):
    """An eighth of a thick tube under pressure, held between plates: coarse on purpose."""
    from netgen.occ import Cylinder, Pnt, Z

    body = Cylinder(Pnt(0, 0, 0), Z, r=OUTER, h=2.0) - Cylinder(Pnt(0, 0, 0), Z, r=INNER, h=2.0)
    names = {**plane_names(PLANES), "wetted": [tube(2, INNER)], "lid": [flat(2, 2.0)]}
    mesh = meshed(body * piece((0, 1)), names, 1.0, order)
    model = Elastic(mesh, order, 1000.0, 0.3)
    return model, model.solve(EVEN, LOAD)


@pytest.mark.parametrize("order", [2, 3])
def test_a_piece_takes_the_whole_s_bends_and_displacements_over(order):
    """Edges and faces count their functions by their corners' numbers: these keep their order."""
    whole, moved = solved_tube(order)
    near = Near(whole, SPOTS)
    assert 0 < len(near.reported) < near.mesh.ne < whole.mesh.ne
    import ngsolve as ng

    start = ng.GridFunction(ng.VectorH1(near.mesh, order=order + 1))
    near._carry(moved, start, near.mesh)
    points = near.points()
    corners = np.flatnonzero(points.sound & (points.volume_mm3 == 0.0))
    there = whole.corner_index(points.position_mm[corners])
    assert whole.points().position_mm[there] == pytest.approx(points.position_mm[corners], abs=1e-9)
    found, exact = near.stresses(start)[corners], whole.stresses(moved)[there]
    assert found == pytest.approx(exact, abs=1e-8 * np.abs(exact).max())


def test_a_thick_tube_s_hoop_comes_out_nearer_to_lame_s():
    whole, moved = solved_tube(2)
    near = Near(whole, SPOTS)
    exact = (OUTER**2 + INNER**2) / (OUTER**2 - INNER**2)

    def worst(model, displacement):
        points = model.points()
        place, radius = points.position_mm, np.hypot(*points.position_mm.T[:2])
        # Where both report, on the wall.
        wall = points.sound & (np.abs(radius - INNER) < 1e-3)
        wall &= np.linalg.norm(place[:, None] - SPOTS, axis=2).min(axis=1) < 0.6
        xx, yy, _, _, _, xy = model.stresses(displacement)[wall].T
        c, s = place[wall, 0] / radius[wall], place[wall, 1] / radius[wall]
        hoop = s**2 * xx + c**2 * yy - 2.0 * s * c * xy
        assert len(hoop) > 10
        return np.abs(hoop / exact - 1.0).max()

    before, after = worst(whole, moved), worst(near, near.solve_as(EVEN, LOAD, moved))
    assert before > 0.01
    assert after < 0.5 * before


@pytest.mark.slow
def test_where_a_peak_turns_out_lower_the_next_place_is_looked_at(monkeypatch):
    """And a second case that is the first times a number is that peak times it."""
    design, shape, path = made("cap")
    part = mesh_part(design, shape, read_step(path), order=2, maxh_mm=2.5)
    model = Elastic(part.mesh, 2, 1256.0, 0.4, supports_of(design), part.straight)
    loads = unit_loads(design, model)
    solved = analysis.solve_units(model, loads, ["pressure"])
    judged = analysis._Judged(
        keep_outs(design), sharp_edges(part.mesh, part.planes, design, shape), design
    )
    working, proof = cases_of(design)
    known = {}
    peak, change = analysis._settled_once(working, solved, loads, judged, known)
    twin, same = analysis._settled_once(proof, solved, loads, judged, known)
    assert len(known) == 1
    assert same == change < np.inf
    assert twin.larger / peak.larger == pytest.approx(proof.load / working.load, rel=1e-12)

    near, places = analysis._solved_near, []

    def lowered(piece, *rest):
        """The first place alone comes out at half of it."""
        found = near(piece, *rest)
        places.append(piece.reported)
        if len(places) == 1:
            half = {
                name: {p: 0.5 * s for p, s in rows.items()} for name, rows in found.stress.items()
            }
            return analysis.replace(found, stress=half)
        return found

    monkeypatch.setattr(analysis, "_solved_near", lowered)
    second, moved = analysis._settled(working, solved, loads, judged)
    assert set(places[1]) - set(places[0])
    # The bore's wall is as much pressed elsewhere.
    assert 0.9 * peak.larger < second.larger <= 1.03 * peak.larger
    assert moved < np.inf
    monkeypatch.setattr(analysis, "MOST_PLACES", 1)
    places.clear()
    # Where the places run out with a larger one left, nothing has settled.
    assert analysis._settled(working, solved, loads, judged)[1] == np.inf
