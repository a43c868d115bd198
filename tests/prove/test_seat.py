"""A tip in its hole: against bonded bodies, Lame's press fit, and what friction and crush allow."""

from dataclasses import replace
from math import hypot, pi

import numpy as np
import pytest

from barbwright.equations.seat import holding_force, rocking_force, seat_area
from barbwright.prove.seat import FACE_N_MM3, Orthotropic, Seat, SeatModel, _isotropic, _mesh
from barbwright.prove.seated import RED_OAK, wood_elasticity
from example_job import job_of

OAK = Orthotropic(el_mpa=9160.0, **RED_OAK)
SEAT = Seat(
    mouth_mm=6.4, taper=1 / 12, contact_mm=8.0, bore_mm=2.0, lever_mm=18.0, lead_mm=4.0,
    modulus_mpa=1100.0, poisson=0.4, rest_mpa=2.1, cap_mpa=5.4, friction=0.2,
)  # fmt: skip
COARSE = 0.7


def test_the_stiffness_of_wood_is_symmetric_positive_and_gives_back_its_moduli():
    for axes in ("TLR", "LTR", "RTL"):
        stiffness = OAK.stiffness(axes)
        assert np.allclose(stiffness, stiffness.T, rtol=1e-10)
        assert np.linalg.eigvalsh(stiffness)[0] > 0.0
        give = np.linalg.inv(stiffness)
        along = {"L": 1.0, "R": OAK.er, "T": OAK.et}
        for place, axis in enumerate(axes):
            assert 1.0 / give[place, place] == pytest.approx(9160.0 * along[axis])


def test_a_wood_with_ratios_of_its_own_has_them_and_one_without_has_red_oaks():
    ash, own = wood_elasticity(job_of(wood="ash white").wood)
    assert own
    assert (ash.et, ash.glt, ash.nu_lt) == (0.08, 0.077, 0.44)
    assert ash.er == RED_OAK["er"]
    plain, own = wood_elasticity(job_of(wood="hardwood 0.55").wood)
    assert not own
    assert plain.el_mpa == ash.el_mpa
    assert plain.et == RED_OAK["et"]


@pytest.fixture(scope="module")
def oak():
    pytest.importorskip("ngsolve")
    return SeatModel(SEAT, OAK.stiffness(), COARSE)


@pytest.fixture(scope="module")
def stiff():
    pytest.importorskip("ngsolve")
    seat = replace(SEAT, taper=0.0, modulus_mpa=1e8, poisson=0.0)
    # Both far stiffer than their face: the formula knows no give of the wood under the drag.
    return SeatModel(seat, _isotropic(3e7, 0.0), COARSE)


@pytest.mark.slow
def test_a_load_the_seat_holds_is_in_balance_and_one_twice_what_tips_it_is_not_held(oak):
    held = oak.answer((10.0, 3.0, 20.0))
    assert held.solved
    assert held.balance < 0.01
    assert 0.0 < held.crushed_share < 0.5
    assert not oak.answer((80.0, 0.0, 0.0)).solved


@pytest.mark.slow
def test_a_face_that_neither_opens_nor_slips_is_two_bonded_bodies(oak, monkeypatch):
    import ngsolve as ng

    from barbwright.prove import seat as module

    monkeypatch.setattr(module, "FACE_N_MM3", 1e6)

    glued = SeatModel.__new__(SeatModel)
    glued.__dict__.update(oak.__dict__)
    glued.seat = replace(SEAT, rest_mpa=1e4, cap_mpa=1e6, friction=1.0)
    found = glued.answer((5.0, 0.0, 0.0))
    # The same mesh as one body, solved by the engine alone.
    space = ng.VectorH1(oak.mesh, order=2, dirichlety="plane", dirichlet="base|rim")
    u, v = space.TnT()
    form = ng.BilinearForm(space)
    for body in (oak._tip, oak._wood):
        law = ng.CoefficientFunction(tuple(body.stiffness.ravel()), dims=(6, 6))

        def strain(w):
            g = ng.Grad(w)
            return ng.CoefficientFunction(
                (g[0, 0], g[1, 1], g[2, 2], g[1, 2] + g[2, 1], g[0, 2] + g[2, 0], g[0, 1] + g[1, 0])
            )

        form += ng.InnerProduct(law * strain(u), strain(v)) * ng.dx(body.name)
    area = np.pi * ((SEAT.diameter_mm(18.0) / 2) ** 2 - 1.0)
    right = ng.LinearForm(space)
    pull = ng.CoefficientFunction((5.0 / area, 0.0, 0.0))
    right += ng.InnerProduct(pull, v.Trace()) * ng.ds("top")
    form.Assemble()
    right.Assemble()
    moved = ng.GridFunction(space)
    moved.vec.data = form.mat.Inverse(space.FreeDofs()) * right.vec
    place = oak._place
    sideways = [moved(oak.mesh(*(0.999 * x, 0.999 * y, z)))[0] for x, y, z in place]
    slope = np.polyfit(place[:, 2], sideways, 1, w=np.sqrt(oak._area))[0]
    assert found.tilt_deg == pytest.approx(np.degrees(slope), rel=0.02)


@pytest.mark.slow
def test_a_tube_pressed_into_a_ring_has_lames_pressure():
    # Lame's thick cylinders, any text on strength of materials; the ring held at its rim, nu 0.
    inner, outer, rim, modulus, wood = 1.0, 3.0, 30.0, 1100.0, 700.0
    seat = replace(
        SEAT, mouth_mm=6.0, taper=0.0, contact_mm=24.0, bore_mm=2.0, modulus_mpa=modulus,
        poisson=0.0, friction=0.0, rest_mpa=1.0, cap_mpa=1e6,
    )  # fmt: skip
    model = SeatModel(seat, _isotropic(wood, 0.0), 0.6)
    over = 0.01
    points = model._area.size
    normal = model._jump[:points]
    face = normal.T @ (normal.multiply((FACE_N_MM3 * model._area)[:, None])).tocsr()
    force = -normal.T @ (FACE_N_MM3 * model._area * over)
    gap = np.linalg.solve(model._series + face.toarray() + 1e-6 * np.eye(len(force)), force)
    pressure = FACE_N_MM3 * (normal @ gap + over)
    middle = abs(model._place[:, 2] + 12.0) < 3.0
    found = np.average(pressure[middle], weights=model._area[middle])
    tube = outer / modulus * (outer**2 + inner**2) / (outer**2 - inner**2)
    ring = (1 / outer - outer / rim**2) / wood / (1 / outer**2 + 1 / rim**2)
    assert found == pytest.approx(over / (tube + ring + 1 / FACE_N_MM3), rel=0.02)


@pytest.mark.slow
def test_a_stiff_cylinder_is_drawn_at_friction_times_pressure_times_area(stiff):
    area = np.pi * 6.4 * 8.0
    assert 2.0 * stiff._area.sum() == pytest.approx(area, rel=1e-3)
    assert stiff.limit("pull", 0.004) == pytest.approx(0.2 * 2.1 * area, rel=0.01)


@pytest.mark.slow
def test_a_taper_is_drawn_near_the_closed_form_which_leaves_its_own_give_out(oak):
    area = seat_area(6.4 - 8.0 / 12.0, 1 / 12, 8.0)
    closed = holding_force(2.1, area, 1 / 12, 0.2)
    # Drawn, a tip grows thinner and lets some of its pressure go: elements lie lower.
    assert 0.75 * closed < oak.limit("pull", 0.004) < closed


@pytest.mark.slow
def test_without_friction_a_stiff_tip_tips_where_broms_says_and_friction_helps():
    pytest.importorskip("ngsolve")
    # Broms' form for one strength everywhere (from memory); the tip far stiffer than its bed.
    seat = replace(SEAT, taper=0.0, modulus_mpa=1e5, friction=0.0, lever_mm=22.0)
    model = SeatModel(seat, OAK.stiffness(), COARSE)
    closed = rocking_force(5.4, 6.4, 8.0, 22.0)
    bare = model.limit("rock", 0.2, 20)
    assert bare == pytest.approx(closed, rel=0.06)
    model.seat = replace(seat, friction=0.2)
    assert model.limit("rock", 0.2, 20) > 1.1 * bare


def test_the_face_that_touches_is_the_cone_alone():
    """By a rounding the ring of wood below it was taken in, and nothing could be solved."""
    ng = pytest.importorskip("ngsolve")
    seat = Seat(
        mouth_mm=6.716666666666667, taper=1 / 15, contact_mm=7.0, bore_mm=2.0,
        lever_mm=22.803198922830813, lead_mm=6.750000000000003, modulus_mpa=1255.9, poisson=0.4,
        rest_mpa=1.24, cap_mpa=3.224, friction=0.2,
    )  # fmt: skip
    mesh = _mesh(seat, 0.15)
    above, below = seat.diameter_mm(0.0) / 2.0, seat.diameter_mm(-seat.contact_mm) / 2.0
    half = pi * (above + below) * hypot(above - below, seat.contact_mm) / 2.0
    assert ng.Integrate(1.0, mesh, ng.BND, definedon=mesh.Boundaries("seat")) == pytest.approx(
        half, rel=1e-3
    )
