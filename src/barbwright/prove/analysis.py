"""Finite elements on a part as drawn: mesh, solve, refine near the peaks, report."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import ceil, cos, sin, sqrt
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from barbwright.design.draw import shape_of
from barbwright.design.part import Design, has_arrays
from barbwright.design.shape import Revolved, Shape
from barbwright.design.single import single
from barbwright.errors import Fault, InputError
from barbwright.prove.cases import (
    Case,
    KeepOut,
    cases_of,
    contact_range,
    keep_outs,
    plain_barb_mpa,
    supports_of,
    unit_loads,
)
from barbwright.prove.edges import EdgeSet, sharp_edges
from barbwright.prove.elastic import (
    Elastic,
    Points,
    Traction,
    full_stress,
    largest_principal,
    places_of,
    von_mises,
)
from barbwright.prove.mesh import (
    AXES,
    CURVATURE_SAFETY,
    MeshSize,
    PartMesh,
    arms_of,
    barb_on,
    in_body,
    is_cap,
    is_tube_to_tube,
    mesh_part,
    profile_distance,
    read_step,
)
from barbwright.prove.near import Near
from barbwright.prove.result import CaseResult, PartSurface, ProveResult
from barbwright.solid.kernel import load_kernel

Array = NDArray[np.float64]
Parity = tuple[int, ...]
Pictured = Callable[[Sequence[CaseResult]], Sequence[str]]

CONVERGED_SHARE = 0.03
MOST_DEGREES_OF_FREEDOM = 150_000
# A mesh refined once more must stay under the limit.
ENOUGH_SHARE = 0.8
MOST_ROUNDS = 4
# Elements along a bore and on its round end, in bores (at 0.4 an elbow's bore comes out 3.7 % low);
# at a lip, in relief balls; in the radius before a shoulder, in that; at the end of the wood's
# keep-out, in the tip's width there.
BORE_SHARE, LIP_SHARE, SHOULDER_SHARE, RIM_SHARE = 0.2, 0.05, 0.22, 0.07
# Under an in-line tip's ring: where along its blend, from the neck [rad], and in blends.
RING_BLEND_TURNS, RING_BLEND_SHARE = (0.25, 0.75), 0.2
# Points round a ring, in the sizes they ask for.
RING_STEP = 1.5
# How many places of one case are solved an order higher on one mesh, where the first turns out
# lower than another that nearly reached it.
MOST_PLACES = 4
# How many elements tell the size of a mesh at a point, and what the next one is asked for there,
# over that size: the mesh keeps to it only in part.
NEAREST, ASKED_SHARE = 6, 0.35
# Where a mesh is looked at closer: the peak, and a few places that nearly reach it.
HOT_SPOTS, HOT_SHARE, HOT_APART_MM, MOST_RANKED = 6, 0.9, 0.4, 2000
# Into how many pieces a triangle's edge is cut for a picture, so that rounds look round.
PICTURE_PIECES = 3
# How many tick widths round a sharp edge are kept out of a peak.
SHARP_REACH = 2.0
POISSON_DEFAULT = 0.4
INSTALL = "pip install 'barbwright[fe]'"


def require_engine() -> None:
    """Fail with one line when the extra that holds the engine is not installed.

    Raises
    ------
    InputError
        Naming the command that installs it.
    """
    # Ours first: with the engine's CAD kernel in the process before it, ours finds no font.
    load_kernel()
    try:
        import ngsolve  # noqa: F401
    except ImportError as error:
        raise InputError(
            Fault("prove needs the finite-element engine, which is not installed", do=INSTALL)
        ) from error


@dataclass(kw_only=True)
class _Peak:
    """One case's largest stresses on one mesh, and where: on the modelled side [mm]."""

    von_mises: float
    principal: float
    percentile: float
    place: Array
    side: Parity
    variant: int
    refine_at: Array

    @property
    def larger(self) -> float:
        return max(self.von_mises, self.principal)


@dataclass(frozen=True, kw_only=True)
class Solved:
    """Unit loads solved on one mesh.

    Attributes
    ----------
    model : Elastic
        The meshed part with its supports.
    points : Points
        Where stresses stand.
    stress : mapping of unit load to mapping of parity to (n, 6) ndarray
        Stresses [MPa per unit].
    moved : mapping of unit load to mapping of parity to ngsolve.GridFunction
        Displacements [mm per unit].
    out_of_balance : mapping of unit load to float
        Out-of-balance force over the largest force of the load [-].
    seconds : mapping of unit load to float
        Time to solve it [s].
    """

    model: Elastic
    points: Points
    stress: Mapping[str, Mapping[Parity, Array]]
    moved: Mapping[str, Mapping[Parity, Any]]
    out_of_balance: Mapping[str, float]
    seconds: Mapping[str, float]


def run(
    design: Design,
    step_path: Path,
    *,
    poisson: float = POISSON_DEFAULT,
    order: int = 2,
    only: Sequence[str] = (),
    planes: Sequence[int] | None = None,
    most_rounds: int = MOST_ROUNDS,
    most_degrees_of_freedom: int = MOST_DEGREES_OF_FREEDOM,
    pictured: Pictured | None = None,
    progress: Callable[[str], None] | None = None,
) -> ProveResult:
    """Judge a drawn part by finite elements.

    Parameters
    ----------
    design : Design
        The part's numbers [mm], [MPa].
    step_path : Path
        Its unmarked STEP file.
    poisson : float
        Poisson's ratio of the material [-].
    order : int
        Order of the curved elements, 2 or 3 [-].
    only : sequence of str
        Ids of the cases to work; all when empty.
    planes : sequence of int, optional
        Planes of symmetry to use; those of the kind when not given, none for the
        whole part [-].
    most_rounds : int
        Meshes at most: one, then refined near the peaks that an order more still moves [-].
    most_degrees_of_freedom : int
        No refinement beyond this [-].
    pictured : callable, optional
        Told the cases' results; returns the ids of those whose stresses on the
        surface are kept, for pictures.
    progress : callable, optional
        Told in one line what is being done.

    Returns
    -------
    ProveResult
        All cases.

    Raises
    ------
    InputError
        When the engine is not installed or the design holds many parts.
    BuildError
        When the file is not this design's part.

    Source: own_derivation, judgement
    """
    require_engine()
    if has_arrays(design):
        raise InputError(Fault("prove works on one part at a time"))
    cases = [case for case in cases_of(design) if not only or case.id in only]
    unknown = sorted(set(only) - {case.id for case in cases})
    if unknown:
        raise InputError(Fault("no such load case for this part", given=", ".join(unknown)))
    # One thread: the engine's own workers spin while they wait, and on a busy two-core machine
    # that costs more than they bring; a run is also repeatable.
    return _run(
        single(design),
        step_path,
        cases,
        poisson=poisson,
        order=order,
        planes=planes,
        most_rounds=most_rounds,
        most_degrees_of_freedom=most_degrees_of_freedom,
        pictured=pictured,
        tell=progress or (lambda _text: None),
    )


def _run(
    design: Design[float],
    step_path: Path,
    cases: list[Case],
    *,
    poisson: float,
    order: int,
    planes: Sequence[int] | None,
    most_rounds: int,
    most_degrees_of_freedom: int,
    pictured: Pictured | None,
    tell: Callable[[str], None],
) -> ProveResult:
    began = time.perf_counter()
    shape = shape_of(design, "prove")
    tell("reading and meshing")
    solid = read_step(step_path)
    first = first_sizes(design)
    asked: list[MeshSize] = []
    part = _mesh(design, shape, solid, first, order, planes)
    regions = keep_outs(design)
    modulus = float(design.conditions.material.handling_modulus_mpa)
    found: dict[str, CaseResult] = {}
    peaks: dict[str, _Peak] = {}
    working = cases
    meshing = time.perf_counter() - began
    solved: Solved | None = None
    for turn in range(most_rounds):
        if turn:
            working = [case for case in cases if not found[case.id].converged]
            if not working or found[working[0].id].degrees_of_freedom > ENOUGH_SHARE * (
                most_degrees_of_freedom
            ):
                break
            at = time.perf_counter()
            near = np.concatenate([peaks[case.id].refine_at for case in working])
            asked += finer_sizes(part.mesh, near, asked)
            safety = part.curvature_safety
            part = _mesh(design, shape, solid, [*first, *asked], order, planes, safety)
            meshing = time.perf_counter() - at
        edges = sharp_edges(part.mesh, part.planes, design, shape)
        tell(f"mesh {turn + 1}: {part.mesh.ne} elements, {len(working)} load cases")
        model = Elastic(part.mesh, order, modulus, poisson, supports_of(design), part.straight)
        needed = sorted({name for case in working for row in case.variants for name in row})
        loads = unit_loads(design, model)
        solved = solve_units(model, loads, needed)
        tell("an order higher near each peak")
        judged = _Judged(regions, edges, design)
        known: dict[tuple[str, ...], tuple[float, _Peak, float]] = {}
        for case in working:
            at = time.perf_counter()
            peak, change = _settled_once(case, solved, loads, judged, known)
            peaks[case.id] = peak
            seconds = meshing / len(working) + _share_of(case, working, solved)
            seconds += time.perf_counter() - at
            if case.id in found:
                seconds += found[case.id].seconds
            found[case.id] = _case_result(case, peak, change, seconds, solved, shape)
    assert solved is not None
    results = [found[case.id] for case in cases]
    surface = None
    if pictured is not None:
        shown = set(pictured(results))
        drawn = [case for case in cases if case.id in shown]
        # A case that converged early lacks its unit loads on the last mesh.
        lacking = sorted(
            {name for case in drawn for name in case.variants[peaks[case.id].variant]}
            - set(solved.stress)
        )
        if lacking:
            tell("stresses for the picture")
            more = solve_units(solved.model, unit_loads(design, solved.model), lacking)
            solved = replace(solved, stress={**solved.stress, **more.stress})
        surface = surface_of(solved, drawn, peaks, regions, edges, design)
    return ProveResult(
        kind=design.kind.name,
        cases=tuple(results),
        lame_von_mises_mpa=plain_barb_mpa(design),
        sharp_edges=edges.edges,
        pressure_mpa=float(design.conditions.highest_mpa),
        modulus_mpa=modulus,
        poisson=poisson,
        planes=" ".join(AXES[axis] for axis in part.planes),
        order=order,
        volume_mm3=part.volume_mm3,
        wetted_mm2=part.wetted_mm2,
        seconds=time.perf_counter() - began,
        notes=_notes(design, regions),
        surface=surface,
    )


def _share_of(case: Case, working: Sequence[Case], solved: Solved) -> float:
    """Return a case's share of the time its unit loads took [s]."""
    users = [{name for row in other.variants for name in row} for other in working]
    return sum(
        solved.seconds[name] / sum(name in user for user in users)
        for name in {name for row in case.variants for name in row}
    )


def _mesh(
    design: Design[float],
    shape: Shape,
    solid: Any,
    sizes: Sequence[MeshSize],
    order: int,
    planes: Sequence[int] | None,
    first_safety: float = CURVATURE_SAFETY[0],
) -> PartMesh:
    return mesh_part(
        design,
        shape,
        solid,
        order=order,
        maxh_mm=first_size_mm(design),
        sizes=sizes,
        planes=planes,
        first_safety=first_safety,
    )


def first_size_mm(design: Design[float]) -> float:
    """Return the largest element of the first mesh [mm].

    Parameters
    ----------
    design : Design
        The part [mm].

    Source: judgement
    """
    return 0.8 * design.bore_mm


def first_sizes(design: Design[float]) -> list[MeshSize]:
    """Return where the first mesh is finer: every place that may hold a peak.

    Bores, relief ball and its lips, the radius before each arm's shoulder, and the tip where the
    wood's keep-out ends.

    Parameters
    ----------
    design : Design
        The part [mm].

    Source: judgement
    """
    sizes: list[MeshSize] = []

    def ring(axis: int, at: float, radius: float, size: float) -> None:
        # Between two points the mesh grows again: as many as keep to the size all round.
        count = max(12, ceil(2.0 * np.pi * radius / (RING_STEP * size)))
        for turn in np.linspace(0.0, 2.0 * np.pi, count, endpoint=False):
            across = radius * np.cos(turn), radius * np.sin(turn)
            x, y, z = np.insert(across, axis, at)
            sizes.append(MeshSize((float(x), float(y), float(z)), float(size)))

    def ball(at: float, radius: float, size: float) -> None:
        for index in range(100):
            z = 1.0 - 2.0 * (index + 0.5) / 100
            turn, across = index * 2.399963, np.sqrt(1.0 - z * z)
            x, y = across * np.cos(turn), across * np.sin(turn)
            sizes.append(MeshSize((radius * x, radius * y, at + radius * z), float(size)))

    bore, tip = design.bore_mm, design.tip
    bores = [(axis, sign, end, bore) for sign, axis, _, end in arms_of(design)]
    if tip is not None:
        end = design.seat_root_mm + tip.seat_mm
        bores.append((2, -1.0, end, tip.bore_mm))
        _, high = contact_range(design)
        rim = high + (tip.root_mm - tip.bore_mm) / 2.0
        for at in (rim, rim + RIM_SHARE * tip.root_mm):
            ring(2, at, tip.root_mm / 2.0, RIM_SHARE * tip.root_mm)
    for axis, sign, end, across in bores:
        for at in np.arange(0.0, end, BORE_SHARE * across):
            # Inside the seat no peak is reported.
            if axis != 2 or tip is None or sign * at > rim:
                ring(axis, sign * float(at), across / 2.0, BORE_SHARE * across)
    for index, (sign, axis, start, _) in enumerate(arms_of(design)):
        barb = barb_on(design, index)
        radius = barb.shoulder_radius_mm
        if is_cap(design) or not radius:
            continue
        for share in (0.5, 1.0):
            away = radius * (1.0 - sqrt(1.0 - (1.0 - share) ** 2))
            ring(
                axis, sign * (start + share * radius), barb.root_mm / 2.0 + away,
                SHOULDER_SHARE * radius,
            )  # fmt: skip
    if design.ring is not None and tip is not None:
        # From the ring's underside into the neck, where driving presses.
        blend = float(design.conditions.rules["ring_blend_mm"])
        for turn in RING_BLEND_TURNS:
            ring(
                2, -blend * (1.0 - sin(turn)), tip.root_mm / 2.0 + blend * (1.0 - cos(turn)),
                RING_BLEND_SHARE * blend,
            )  # fmt: skip
    if design.hub is not None:
        relief = design.hub.relief_mm
        for axis, sign, _, across in bores:
            # The lips, where bores open into the relief ball and the peak is expected.
            ring(axis, sign * sqrt(relief**2 - across**2) / 2.0, across / 2.0, LIP_SHARE * relief)
        ball(0.0, relief / 2.0, 0.12 * relief)
    if is_cap(design):
        # The bore's round end; its upper half lies in the bore and asks for no more there.
        ball(arms_of(design)[0][2], bore / 2.0, BORE_SHARE * bore)
    return sizes


def solve_units(
    model: Elastic,
    loads: Mapping[str, Mapping[Parity, Sequence[Traction]]],
    needed: Sequence[str],
) -> Solved:
    """Solve unit loads on one mesh.

    Parameters
    ----------
    model : Elastic
        The meshed part.
    loads : mapping of str to mapping of parity to sequence of Traction
        Unit loads.
    needed : sequence of str
        Those to solve.

    Returns
    -------
    Solved
        Stresses [MPa per unit].
    """
    found: dict[tuple[str, Parity], Array] = {}
    displaced: dict[tuple[str, Parity], Any] = {}
    balance = dict.fromkeys(needed, 0.0)
    seconds = dict.fromkeys(needed, 0.0)
    for parity in dict.fromkeys(parity for name in needed for parity in loads[name]):
        began = time.perf_counter()
        users = [name for name in needed if parity in loads[name]]
        for name in users:
            tractions = loads[name][parity]
            moved = displaced[name, parity] = model.solve(parity, tractions)
            found[name, parity] = model.stresses(moved)
            worst = out_of_balance(model, parity, tractions, moved)
            balance[name] = max(balance[name], worst)
        taken = time.perf_counter() - began
        for name in users:
            seconds[name] += taken / len(users)
    # Kept until the next mesh's, it would double what is held at a time.
    model.drop_factor()
    # In the loads' own order, which sums of stresses follow, whichever was solved first.
    stress, moves = (
        {name: {parity: kind[name, parity] for parity in loads[name]} for name in needed}
        for kind in (found, displaced)
    )
    return Solved(
        model=model,
        points=model.points(),
        stress=stress,
        moved=moves,
        out_of_balance=balance,
        seconds=seconds,
    )


def out_of_balance(
    model: Elastic, parity: Parity, loads: Sequence[Traction], displacement: Any
) -> float:
    """Return loads plus reactions over the largest single load, planes left out [-].

    Parameters
    ----------
    model : Elastic
        The meshed part.
    parity : tuple of int
        Parity of the solution [-].
    loads : sequence of Traction
        What acts.
    displacement : ngsolve.GridFunction
        Solution [mm].

    Source: own_derivation
    """
    total = model.applied(loads) + model.forces(displacement).sum(axis=0)
    # A plane of symmetry carries what crosses it (even) or slides along it (odd).
    free = [
        all((axis == plane) == (sign < 0) for plane, sign in zip(model.planes, parity, strict=True))
        for axis in range(3)
    ]
    size = max(float(np.abs(model.applied([load])).max()) for load in loads)
    if size < 1e-9:
        size = max(model.patch(load)[2] * abs(load.torsion_mpa_mm) for load in loads)
    return float(np.abs(total[free]).max(initial=0.0)) / max(size, 1e-12)


def finer_sizes(mesh: Any, points_mm: Array, asked: Sequence[MeshSize] = ()) -> list[MeshSize]:
    """Return sizes that make elements at some points in the next mesh much smaller.

    Splitting elements in place puts new vertices beside small fillets, and the
    curved elements fold; a new mesh does not.

    Parameters
    ----------
    mesh : ngsolve.Mesh
        The last mesh.
    points_mm : (n, 3) ndarray
        Where [mm].
    asked : sequence of MeshSize
        What earlier rounds asked for: near one of them, a share of that.

    Returns
    -------
    list of Size
        One a point.
    """
    sizes = []
    for point, local in zip(points_mm, local_sizes(mesh, points_mm), strict=True):
        # An element may come out longer than asked: asking the same again changes nothing.
        least = min(
            [float(local)]
            + [
                size.size_mm
                for size in asked
                if np.linalg.norm(np.subtract(size.position_mm, point)) < local
            ]
        )
        x, y, z = (float(value) for value in point)
        sizes.append(MeshSize((x, y, z), ASKED_SHARE * least))
    return sizes


def local_sizes(mesh: Any, points_mm: Array) -> Array:
    """Return how large the elements of a mesh are at some points, shape (n,) [mm].

    Parameters
    ----------
    mesh : ngsolve.Mesh
        The mesh.
    points_mm : (n, 3) ndarray
        Where [mm].

    Source: own_derivation
    """
    nodes = np.asarray(mesh.ngmesh.Elements3D().NumPy()["nodes"], dtype=np.int64)[:, :4] - 1
    corners = np.asarray(mesh.ngmesh.Coordinates())[nodes]
    middle = corners.mean(axis=1)
    longest = np.zeros(len(corners))
    for first in range(4):
        for second in range(first):
            length = np.linalg.norm(corners[:, first] - corners[:, second], axis=1)
            longest = np.maximum(longest, length)
    nearest = [
        np.argpartition(np.linalg.norm(middle - point, axis=1), NEAREST)[:NEAREST]
        for point in points_mm
    ]
    return np.array([longest[rows].mean() for rows in nearest])


def case_stress(case_factors: Mapping[str, float], solved: Solved, side: Parity) -> Array:
    """Return a case's stress on one side of the planes, summed over its unit loads [MPa].

    Parameters
    ----------
    case_factors : mapping of unit load to float
        How much of each.
    solved : Solved
        Unit loads.
    side : tuple of int
        +1 for the modelled side of each plane, -1 for the other [-].

    Source: own_derivation
    """
    total: Array | None = None
    for name, factor in case_factors.items():
        part = factor * full_stress(solved.stress[name], side)
        total = part if total is None else total + part
    assert total is not None
    return total


def kept(
    case_id: str,
    solved: Solved,
    regions: Sequence[KeepOut],
    edges: EdgeSet,
    design: Design[float],
    side: Parity,
) -> NDArray[np.bool_]:
    """Return which points may carry a reported peak.

    Parameters
    ----------
    case_id : str
        The case.
    solved : Solved
        Where the points are.
    regions : sequence of KeepOut
        Supports and loaded patches.
    edges : EdgeSet
        Sharp edges.
    design : Design
        For the width of a tick [mm].
    side : tuple of int
        Which side of the planes [-].

    Returns
    -------
    (n,) ndarray of bool
        True where a stress may be reported.

    Source: judgement
    """
    place = actual(solved.points.position_mm, solved.model.planes, side)
    good = np.ones(len(place), dtype=bool)
    for region in regions:
        if region.cases and case_id not in region.cases:
            continue
        along = place[:, region.axis]
        others = [axis for axis in range(3) if axis != region.axis]
        away = np.linalg.norm(place[:, others], axis=1)
        good &= ~((along > region.low_mm) & (along < region.high_mm) & (away < region.within_mm))
    reach = SHARP_REACH * float(design.conditions.material.min_gap_mm)
    return good & solved.points.sound & (edges.distance(solved.points) > reach)


def actual(points_mm: Array, planes: Sequence[int], side: Parity) -> Array:
    """Return points mirrored to the side of the planes they are looked at on [mm]."""
    out = np.array(points_mm, dtype=float)
    for plane, sign in zip(planes, side, strict=True):
        out[:, plane] *= sign
    return out


@dataclass(frozen=True)
class _Judged:
    """What says where a stress may be reported."""

    regions: Sequence[KeepOut]
    edges: EdgeSet
    design: Design[float]


View = tuple[Parity, int]


def _settled_once(
    case: Case,
    solved: Solved,
    loads: Mapping[str, Any],
    judged: _Judged,
    known: dict[tuple[str, ...], tuple[float, _Peak, float]],
) -> tuple[_Peak, float]:
    """Return a case's peak; where it is another's times a number, that one's times it."""
    single_load = len(case.variants) == 1 and len(case.variants[0]) == 1
    if not single_load:
        return _settled(case, solved, loads, judged)
    ((name, factor),) = case.variants[0].items()
    key = (name, *(region.why for region in judged.regions if case.id in region.cases))
    if key not in known:
        known[key] = (factor, *_settled(case, solved, loads, judged))
    unit, peak, change = known[key]
    times = factor / unit
    scaled = replace(
        peak,
        von_mises=times * peak.von_mises,
        principal=times * peak.principal,
        percentile=times * peak.percentile,
    )
    return scaled, change


def _settled(
    case: Case, solved: Solved, loads: Mapping[str, Any], judged: _Judged
) -> tuple[_Peak, float]:
    """Return a case's peak, solved an order higher where it is, and by how much that moved it.

    Where it then is lower than another place on the mesh, that one is solved too.
    """
    best: _Peak | None = None
    change = np.inf
    hidden: dict[View, NDArray[np.bool_]] = {}
    tops = {view: _highest(case, solved, judged, view) for view in _views(case, solved)}
    first = max(map(max, tops.values()))
    for _ in range(MOST_PLACES):
        view = max(tops, key=lambda one: max(tops[one]))
        top = _peak(case, solved, judged, view, hidden.get(view))
        piece = Near(solved.model, top.refine_at)
        found = _peak(case, _solved_near(piece, case, view, solved, loads), judged, view)
        if best is None or found.larger > best.larger:
            # A share of the whole's volume stays what the whole mesh says.
            best, seen = replace(found, percentile=top.percentile), view
            change = max(abs(found.larger / row - 1.0) for row in (top.larger, first))
        covered = np.isin(solved.points.element, piece.reported)
        hidden[view] = hidden.get(view, np.zeros(len(covered), dtype=bool)) | covered
        tops[view] = _highest(case, solved, judged, view, hidden[view])
        if max(map(max, tops.values())) <= best.larger:
            break
    else:
        change = np.inf
    assert best is not None
    # The stress that is not the larger one may be at its highest elsewhere.
    mises, principal = tops[seen]
    higher = max(best.von_mises, mises), max(best.principal, principal)
    return replace(best, von_mises=higher[0], principal=higher[1]), change


def _solved_near(
    piece: Near, case: Case, view: View, solved: Solved, loads: Mapping[str, Any]
) -> Solved:
    """Return one direction of a case solved on a piece, for each parity it is made of."""
    names = case.variants[view[1]]
    stress: dict[str, dict[Parity, Array]] = {name: {} for name in names}
    for parity in dict.fromkeys(parity for name in names for parity in loads[name]):
        for name in names:
            if parity in loads[name]:
                moved = piece.solve_as(parity, loads[name][parity], solved.moved[name][parity])
                stress[name][parity] = piece.stresses(moved)
    return replace(solved, model=piece, points=piece.points(), stress=stress)


def _views(case: Case, solved: Solved) -> list[View]:
    """Return the sides of the planes and the directions of a load that may differ."""
    even = all(
        all(sign > 0 for sign in parity)
        for row in case.variants
        for name in row
        for parity in solved.stress[name]
    )
    count = len(solved.model.planes)
    sides = [(1,) * count] if even else list(product((1, -1), repeat=count))
    return list(product(sides, range(len(case.variants))))


def _judged_stress(
    case: Case,
    solved: Solved,
    judged: _Judged,
    view: View,
    hidden: NDArray[np.bool_] | None,
) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Return von Mises and largest principal stress, and where either may be reported."""
    side, variant = view
    good = kept(case.id, solved, judged.regions, judged.edges, judged.design, side)
    if hidden is not None:
        good &= ~hidden
    stress = case_stress(case.variants[variant], solved, side)
    mises, principal = von_mises(stress), largest_principal(stress)
    return np.where(good, mises, 0.0), np.where(good, principal, -np.inf), good


def _highest(
    case: Case,
    solved: Solved,
    judged: _Judged,
    view: View,
    hidden: NDArray[np.bool_] | None = None,
) -> tuple[float, float]:
    """Return the largest von Mises and principal stress of a view [MPa]."""
    mises, principal, _ = _judged_stress(case, solved, judged, view, hidden)
    return float(mises.max()), float(principal.max())


def _peak(
    case: Case,
    solved: Solved,
    judged: _Judged,
    view: View,
    hidden: NDArray[np.bool_] | None = None,
) -> _Peak:
    mises, principal, good = _judged_stress(case, solved, judged, view, hidden)
    larger = np.maximum(mises, principal)
    return _Peak(
        von_mises=float(mises.max()),
        principal=float(principal.max()),
        percentile=_percentile(mises, solved.points.volume_mm3 * good, 0.999),
        place=solved.points.position_mm[int(np.argmax(larger))],
        side=view[0],
        variant=view[1],
        refine_at=_hot_spots(solved.points, larger),
    )


def _hot_spots(points: Points, stress: Array) -> Array:
    """Return up to `HOT_SPOTS` points of nearly the largest stress, an element apart each."""
    ranked = np.argsort(stress)[::-1]
    ranked = ranked[stress[ranked] > HOT_SHARE * stress[ranked[0]]][:MOST_RANKED]
    # The edge of an even tetrahedron of the element's volume.
    volume = np.bincount(points.element, points.volume_mm3)[points.element[ranked]]
    apart = np.maximum(np.cbrt(6.0 * 2.0**0.5 * volume), HOT_APART_MM)
    chosen: list[Array] = []
    for index, least in zip(ranked, apart, strict=True):
        place = points.position_mm[index]
        if all(np.linalg.norm(place - other) > least for other in chosen):
            chosen.append(place)
        if len(chosen) == HOT_SPOTS:
            break
    return np.array(chosen)


def _percentile(values: Array, weight: Array, share: float) -> float:
    order = np.argsort(values)
    running = np.cumsum(weight[order])
    return float(values[order[np.searchsorted(running, share * running[-1])]])


def _case_result(
    case: Case, peak: _Peak, change: float, seconds: float, solved: Solved, shape: Shape
) -> CaseResult:
    place = actual(peak.place[None], solved.model.planes, peak.side)[0]
    x, y, z = (float(value) for value in place)
    names = case.variants[peak.variant]
    return CaseResult(
        id=case.id,
        title=case.title,
        load=case.load,
        load_upper=case.load_upper,
        load_unit=case.load_unit,
        peak_von_mises_mpa=peak.von_mises,
        peak_principal_mpa=peak.principal,
        percentile_von_mises_mpa=peak.percentile,
        closed_form_mpa=case.closed_form_mpa,
        closed_form=case.closed_form,
        ratio=peak.larger / case.closed_form_mpa if case.closed_form_mpa else float("inf"),
        allowable_mpa=case.allowable_mpa,
        safety_factor=case.allowable_mpa / peak.larger if peak.larger > 0 else float("inf"),
        position_mm=(x, y, z),
        place=place_name(place, shape),
        converged=change < CONVERGED_SHARE,
        last_change=change,
        elements=solved.model.mesh.ne,
        degrees_of_freedom=solved.model.degrees_of_freedom,
        seconds=seconds,
        force_balance=max(solved.out_of_balance[name] for name in names),
    )


def place_name(point: Array, shape: Shape) -> str:
    """Return which outline a point is nearest to, in words.

    Parameters
    ----------
    point : (3,) ndarray
        Where [mm].
    shape : Shape
        The part's outlines.

    Source: own_derivation
    """
    nearest, name = np.inf, ""
    for body in (*shape.cuts, *shape.adds):
        if not isinstance(body, Revolved) or body.name.startswith("ticks"):
            continue
        position, radius = in_body(body, np.atleast_2d(point))
        rows = profile_distance(body.outline, position, radius)[0]
        # Runs along the axis are inside the part.
        follow = np.roll(body.outline, -1, axis=0)
        rows = rows[(body.outline[:, 1] > 1e-9) | (follow[:, 1] > 1e-9)]
        if rows.min() < nearest - 1e-6:
            nearest, name = float(rows.min()), body.name
    return name


def surface_of(
    solved: Solved,
    cases: Sequence[Case],
    peaks: Mapping[str, _Peak],
    regions: Sequence[KeepOut],
    edges: EdgeSet,
    design: Design[float],
) -> PartSurface:
    """Return the part's surface, all sides of the planes, with each case's stress.

    Parameters
    ----------
    solved : Solved
        Unit loads on the last mesh.
    cases : sequence of Case
        Cases to keep.
    peaks : mapping of case id to peak
        Which direction of each case is the worst.
    regions : sequence of KeepOut
        Supports and loaded patches.
    edges : EdgeSet
        Sharp edges.
    design : Design
        The part [mm].

    Returns
    -------
    PartSurface
        Triangles with the judged stress at their corners [MPa].
    """
    planes = solved.model.planes
    points, skin, cut, corners, share = _fine_surface(solved)
    all_points, all_skin, all_cut = [], [], list[NDArray[np.int64]]()
    stresses: dict[str, list[Array]] = {case.id: [] for case in cases}
    reported: dict[str, list[NDArray[np.bool_]]] = {case.id: [] for case in cases}
    for number, side in enumerate(product((1, -1), repeat=len(planes))):
        first = number * len(points)
        all_points.append(actual(points, planes, side))
        mirrored = np.prod(side, initial=1) < 0
        all_skin.append(first + (skin[:, ::-1] if mirrored else skin))
        # The two sides of y = 0 meet there: one of them shows it.
        if 1 in planes and side[planes.index(1)] > 0:
            all_cut.append(first + cut)
        for case in cases:
            factors = case.variants[peaks[case.id].variant]
            stress = case_stress(factors, solved, side)
            judged = np.maximum(von_mises(stress), largest_principal(stress))
            good = kept(case.id, solved, regions, edges, design, side)
            stresses[case.id].append(np.einsum("ij,ij->i", judged[corners], share))
            reported[case.id].append(np.asarray(good[corners].all(axis=1)))
    return PartSurface(
        points_mm=np.concatenate(all_points),
        triangles=np.concatenate(all_skin),
        cut=np.concatenate([np.empty((0, 3), dtype=np.int64), *all_cut]),
        stress_mpa={name: np.concatenate(rows) for name, rows in stresses.items()},
        reported={name: np.concatenate(rows) for name, rows in reported.items()},
    )


def _fine_surface(
    solved: Solved,
) -> tuple[Array, NDArray[np.int64], NDArray[np.int64], NDArray[np.int64], Array]:
    """Return the modelled side's curved triangles, each cut into small flat ones.

    Returns
    -------
    points : (n, 3) ndarray
        On the curved surface [mm].
    skin, cut : (m, 3), (k, 3) ndarray of int
        Triangles of the part's skin, and of the plane y = 0 [-].
    corners : (n, 3) ndarray of int
        The stress points at the corners of the triangle that each point lies in [-].
    share : (n, 3) ndarray
        How near it is to each of them: its stress is their mean, weighted so [-].
    """
    import ngsolve as ng

    model, count = solved.model, PICTURE_PIECES
    grid = [(i, j) for i in range(count + 1) for j in range(count + 1 - i)]
    number = {place: index for index, place in enumerate(grid)}
    small = [(number[i, j], number[i + 1, j], number[i, j + 1]) for i, j in grid if i + j < count]
    small += [
        (number[i + 1, j], number[i + 1, j + 1], number[i, j + 1])
        for i, j in grid
        if i + j < count - 1
    ]
    rule = ng.IntegrationRule([(i / count, j / count) for i, j in grid], [0.0] * len(grid))
    mapped = model.mesh.MapToAllElements(rule, ng.BND)
    place = places_of(mapped).reshape(-1, len(grid), 3)
    ends = [number[0, 0], number[count, 0], number[0, count]]
    weights = np.array([(count - i - j, i, j) for i, j in grid], dtype=float) / count

    names = np.array([element.mat for element in model.mesh.Elements(ng.BND)])
    chosen = ~np.char.startswith(names, "plane_") | (names == "plane_y")
    place, in_cut = place[chosen], names[chosen] == "plane_y"
    corners = model.corner_index(place[:, ends].reshape(-1, 3)).reshape(-1, 3)
    # Seen from outside the body, whichever way round the mesher numbered an element.
    spans = place[:, ends]
    normal = np.cross(spans[:, 1] - spans[:, 0], spans[:, 2] - spans[:, 0])
    outward = np.array(ng.specialcf.normal(3)(mapped)).reshape(-1, len(grid), 3)[chosen]
    turned = np.einsum("ij,ij->i", normal, outward[:, ends[0]]) < 0.0
    pieces = np.repeat(np.array(small)[None], len(place), axis=0)
    pieces[turned] = pieces[turned][..., ::-1]
    pieces = (pieces + len(grid) * np.arange(len(place))[:, None, None]).reshape(-1, 3)

    flat = np.round(place.reshape(-1, 3), 5) + 0.0
    _, first, weld = np.unique(flat, axis=0, return_index=True, return_inverse=True)
    pieces = weld.reshape(-1)[pieces]
    cut = np.repeat(in_cut, len(small))
    return (
        place.reshape(-1, 3)[first],
        pieces[~cut],
        pieces[cut],
        np.repeat(corners, len(grid), axis=0)[first],
        np.tile(weights, (len(place), 1))[first],
    )


def _notes(design: Design[float], regions: Sequence[KeepOut]) -> tuple[str, ...]:
    notes = [
        "Linear elastic, as drawn, no print tolerance; supports are elastic beds of 50 N/mm3, and "
        "a tube pulls evenly from its first crest to the shoulder (judgement); its squeeze is "
        "left out.",
        "Not reported, each with what lies within a wall of it, the bore inside the seat too: "
        + "; ".join(region.why for region in regions)
        + ". A peak at the rim of such a region is the least there is.",
        "Safety factors are those of the expected loads, on strength in the weakest direction in "
        "tension; driving peaks in compression.",
    ]
    if is_tube_to_tube(design) and len(design.barbs) > 1:
        notes.append(
            "Only the first tube's end is judged, beside the formulas of the weaker end: name the "
            "tubes the other way round for the other."
        )
    if design.tip is not None and not design.conditions.wood.known:
        notes.append("No wood was named: driving and twist use the default green hardwood.")
    return tuple(notes)
