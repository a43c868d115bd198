"""What acts on a part, how large it is, and the formula it is compared with."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import pi, sqrt
from typing import Any

import numpy as np

from barbwright.checks.corners import WorstCase, worst_case
from barbwright.checks.driving import drive_forces, freeing_forces
from barbwright.checks.strength import barb_wall, crossing_bores, side_load, tip_wall
from barbwright.design.part import Design
from barbwright.design.single import single
from barbwright.equations.column import bending_stress, ring_area, ring_inertia
from barbwright.equations.cylinder import lame_von_mises
from barbwright.prove.elastic import Elastic, Support, Traction
from barbwright.prove.mesh import arms_of, barb_on, is_cap, is_tube_to_tube

# Wood, and a tube on its barb, as an elastic bed; normal and tangential alike (judgement).
FOUNDATION_N_MM3 = 50.0
HARDLY_N_MM3 = 1e-3
# A blow stays within this share of the pad's diameter of its axis (design rule).
BLOW_SHARE = 0.15

Parity = tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class Case:
    """One load case: which unit loads it is made of, and what it is compared with.

    Attributes
    ----------
    id, title : str
        Key and words.
    load, load_upper : float
        Expected and upper size of the load.
    load_unit : str
        MPa, N or N mm.
    variants : tuple of dict
        Directions to try, each a mapping of unit load to its factor; the worst counts.
    allowable_mpa : float
        Allowable in the weakest direction [MPa].
    closed_form_mpa : float
        Formula's stress at the drawn sizes [MPa].
    closed_form : str
        Which check's formula.
    """

    id: str
    title: str
    load: float
    load_upper: float
    load_unit: str
    variants: tuple[dict[str, float], ...]
    allowable_mpa: float
    closed_form_mpa: float
    closed_form: str


@dataclass(frozen=True, kw_only=True)
class KeepOut:
    """Where stresses are not reported: next to supports and loaded patches.

    Attributes
    ----------
    why : str
        Words.
    axis : int
        Axis along which the region extends, or is a ball's centre line [-].
    low_mm, high_mm : float
        Range along that axis [mm].
    within_mm : float
        Distance from the axis that the region reaches [mm].
    cases : tuple of str
        Cases it applies to; all when empty.
    """

    why: str
    axis: int
    low_mm: float
    high_mm: float
    within_mm: float
    cases: tuple[str, ...] = ()


def drawn_case(design: Design[Any]) -> WorstCase:
    """Return the checks' view of the part as drawn: no tolerance, the middle hole.

    Parameters
    ----------
    design : Design
        The part [mm].

    Source: own_derivation
    """
    conditions = design.conditions
    middle = (conditions.hole_low_mm + conditions.hole_high_mm) / 2.0
    exact = replace(
        conditions,
        material=replace(conditions.material, tolerance_mm=0.0, tolerance_pct=0.0),
        tubes=tuple(replace(tube, inner_tolerance_mm=0.0) for tube in conditions.tubes),
        hole_low_mm=middle,
        hole_high_mm=middle,
    )
    return worst_case(replace(design, conditions=exact))


def contact_range(design: Design[float]) -> tuple[float, float]:
    """Return where the seat touches sound wood, on the z axis [mm].

    Parameters
    ----------
    design : Design
        A part with a tip [mm].

    Source: own_derivation
    """
    tip, conditions = design.tip, design.conditions
    assert tip is not None
    hole = float(conditions.hole_low_mm + conditions.hole_high_mm) / 2.0
    end = -design.seat_root_mm - tip.seat_mm
    start = max((hole - tip.lead_mm) / tip.taper, 0.0)
    return end + start, end + min(start + tip.contact_mm, tip.seat_mm)


def supports_of(design: Design[float]) -> tuple[Support, ...]:
    """Return what holds the part: wood on the seat, or the other arm's tube.

    Parameters
    ----------
    design : Design
        The part [mm].

    Source: judgement
    """
    if design.tip is not None:
        return (
            Support(
                boundary="seat",
                stiffness_n_mm3=FOUNDATION_N_MM3,
                along=contact_range(design),
                axis=2,
            ),
        )
    if is_cap(design):
        # Bore and tube are in balance: this only keeps the body from drifting.
        return (Support(boundary="outer|barb_1", stiffness_n_mm3=HARDLY_N_MM3),)
    _, _, start, end = arms_of(design)[1]
    return (
        Support(
            boundary="barb_2|ramp_2", stiffness_n_mm3=FOUNDATION_N_MM3, along=(-end, -start), axis=0
        ),
    )


def keep_outs(design: Design[float]) -> tuple[KeepOut, ...]:
    """Return the regions within one local wall of a support or a loaded patch.

    Parameters
    ----------
    design : Design
        The part [mm].

    Source: judgement
    """
    out = []
    far = 1e3
    if design.tip is not None:
        low, high = contact_range(design)
        tip = design.tip
        mouth = float(design.conditions.hole_high_mm) + tip.taper * tip.contact_mm
        wall = (mouth - tip.bore_mm) / 2.0
        out.append(
            KeepOut(
                why="wood on the seat",
                axis=2,
                low_mm=low - wall,
                high_mm=high + wall,
                within_mm=tip.root_mm / 2.0 + 0.1,
            )
        )
    elif not is_cap(design):
        barb = design.barbs[-1]
        wall = (barb.root_mm - design.bore_mm) / 2.0
        _, _, start, _ = arms_of(design)[1]
        out.append(
            KeepOut(
                why="tube on the other arm",
                axis=0,
                low_mm=-far,
                high_mm=-start + wall,
                within_mm=far,
            )
        )
    for index, (sign, axis, _, end) in enumerate(arms_of(design)):
        barb = barb_on(design, index)
        wall = (barb.nose_mm - design.bore_mm) / 2.0
        span = sorted((sign * (end - wall), sign * far))
        words = f"side force on nose {index + 1}"
        out.append(
            KeepOut(
                why=words,
                axis=axis,
                low_mm=span[0],
                high_mm=span[1],
                within_mm=far,
                cases=("side",),
            )
        )
    if design.hub is not None:
        hub = design.hub
        reach = 2.0 * BLOW_SHARE * hub.pad_mm
        face = hub.pad_height_mm
        out.append(
            KeepOut(
                why="blow on the pad",
                axis=2,
                low_mm=face - reach,
                high_mm=far,
                within_mm=reach,
                cases=("driving",),
            )
        )
    if design.ring is not None:
        thick = design.ring.thickness_mm
        out.append(
            KeepOut(
                why="driver on the ring",
                axis=2,
                low_mm=thick - 0.5,
                high_mm=thick + 0.5,
                within_mm=far,
                cases=("driving",),
            )
        )
        out.append(
            KeepOut(
                why="torque on the ring",
                axis=2,
                low_mm=thick - 0.5,
                high_mm=thick + 0.5,
                within_mm=far,
                cases=("twist",),
            )
        )
    return tuple(out)


# --- unit loads -----------------------------------------------------------------------------


def unit_loads(design: Design[float], model: Elastic) -> dict[str, dict[Parity, list[Traction]]]:
    """Return each unit load as tractions of one parity in each plane of symmetry.

    ``pressure``: 1 MPa on every wetted face, noses inside and out, with each arm
    pulled by its tube;
    ``release``: what a tube that let go of arm 1 takes away, per 1 MPa;
    ``side_x``, ``side_y``, ``side_z``: 1 N on arm 1's nose; ``drive``: 1 N on
    the pad or ring; ``twist``: 1 N mm about the tip, on the ball or ring.

    Parameters
    ----------
    design : Design
        The part [mm].
    model : Elastic
        The meshed part.

    Returns
    -------
    dict of str to dict of parity to list of Traction
        Unit loads.

    Source: own_derivation
    """
    planes = model.planes
    even = (1,) * len(planes)
    arms = arms_of(design)
    names = set(model.mesh.GetBoundaries())
    pressure = [Traction(boundary="wetted|lead", pressure_mpa=1.0)]
    for index in range(len(arms)):
        if f"nose_{index + 1}" in names:
            pressure += _tube(design, model, index, 1.0)
    loads: dict[str, dict[Parity, list[Traction]]] = {
        "pressure": {even: pressure},
        "release": _one_arm(planes, arms[0][1], arms[0][1], lambda s: _tube(design, model, 0, -s)),
    }
    barb = design.barbs[0]
    area = pi / 4.0 * float(barb.nose_mm**2 - design.bore_mm**2)
    for axis, name in enumerate(("side_x", "side_y", "side_z")):
        if axis == arms[0][1]:
            continue
        unit = [0.0, 0.0, 0.0]
        unit[axis] = 1.0 / area

        def push(share: float, vector: list[float] = unit) -> list[Traction]:
            x, y, z = (share * value for value in vector)
            return [Traction(boundary="nose_1", vector_mpa=(x, y, z))]

        loads[name] = _one_arm(planes, arms[0][1], axis, push)
    if design.tip is not None:
        share = 2 ** len(planes)
        blow, grip = _drive_patch(design)
        size, _, _ = model.patch(blow)
        loads["drive"] = {even: [replace(blow, vector_mpa=(0.0, 0.0, -1.0 / (share * size)))]}
        area, first, polar = model.patch(grip)
        # An elbow's ball lacks the arm's side: without a pure couple it would be bent as well.
        middle = 0.0 if 0 in planes else first / area
        turn = 1.0 / (share * (polar - middle**2 * area))
        couple = replace(grip, torsion_mpa_mm=turn, vector_mpa=(0.0, -turn * middle, 0.0))
        loads["twist"] = {tuple(-1 for _ in planes): [couple]}
    return loads


def _drive_patch(design: Design[float]) -> tuple[Traction, Traction]:
    if design.hub is not None:
        reach = BLOW_SHARE * design.hub.pad_mm
        # A hand turns the part by its ball, arms and pad together.
        return Traction(boundary="pad", within_mm=reach), Traction(boundary="hub")
    assert design.ring is not None
    sleeve = design.ring.driver_bore_mm / 2.0
    return Traction(boundary="ring", beyond_mm=sleeve), Traction(boundary="ring", beyond_mm=sleeve)


def _tube(design: Design[float], model: Elastic, index: int, factor: float) -> list[Traction]:
    """Return what a full tube does to an arm at 1 MPa.

    Its liquid wets the nose's end and outside up to the first crest, and the tube,
    which that crest seals, pulls at the barbs with the pressure on the crest's area:
    together they balance the pressure in the bore.
    """
    sign, axis, _, _ = arms_of(design)[index]
    barb = barb_on(design, index)
    number = index + 1
    grip = Traction(boundary=f"barb_{number}")
    # A plane along the arm leaves half of it in the model, one across it the whole.
    share = 2.0 ** sum(plane != axis for plane in model.planes)
    area, _, _ = model.patch(grip)
    vector = [0.0, 0.0, 0.0]
    vector[axis] = factor * sign * pi / 4.0 * barb.crest_mm**2 / (share * area)
    x, y, z = vector
    return [
        replace(grip, vector_mpa=(x, y, z)),
        Traction(boundary=f"nose_{number}|ramp_{number}", pressure_mpa=factor),
    ]


def _one_arm(
    planes: tuple[int, ...],
    arm_axis: int,
    force_axis: int,
    load: Callable[[float], list[Traction]],
) -> dict[Parity, list[Traction]]:
    """Return a load on arm 1 alone as a sum of even and odd loads on the piece."""
    parities: list[list[int]] = [[]]
    for plane in planes:
        # An arm with a twin beyond the plane: half even, half odd.
        signs = [1, -1] if plane == arm_axis else [-1 if plane == force_axis else 1]
        parities = [[*row, sign] for row in parities for sign in signs]
    share = 1.0 / len(parities)
    return {tuple(row): load(share) for row in parities}


# --- cases ----------------------------------------------------------------------------------


def cases_of(design: Design) -> tuple[Case, ...]:
    """Return the load cases of a part with their loads, allowables and closed forms.

    Loads are the checks' own: working pressure, the expected side force, driving
    force and freeing torque after the farthest travel, at the drawn sizes in the middle hole.

    Parameters
    ----------
    design : Design
        A single part [mm], [MPa].

    Returns
    -------
    tuple of Case
        Those the kind has.

    Source: lame, shigley, wedge_friction, judgement
    """
    conditions = design.conditions
    material, rules = conditions.material, conditions.rules
    drawn, part = drawn_case(design), single(design)
    pressure = float(conditions.highest_mpa)
    proof = float(rules["proof_ratio"])
    short = float(material.short_z_mpa)
    handling = float(material.handling_short_z_mpa)
    walls = {"barb_wall": _worst(barb_wall(drawn).demand)}
    if part.tip is not None:
        walls["tip_wall"] = _worst(tip_wall(drawn).demand)
    if part.hub is not None or part.forced.get("side_ports"):
        walls["crossing_bores"] = _worst(crossing_bores(drawn).demand)
    service = max(walls, key=lambda name: walls[name])
    bent = _bent_by_thrust(part, drawn, pressure)
    let_go = ("side_load", bent) if bent > walls[service] else (service, walls[service])
    arm = arms_of(part)[0][1]
    side = float(rules["side_force_expected_n"])
    directions = {0: ("side_y", "side_z"), 2: ("side_x",)}[arm]
    if is_tube_to_tube(part):
        directions = ("side_z",)
    variants = tuple(
        {"pressure": pressure, name: sign * side} for name in directions for sign in (1.0, -1.0)
    )
    cases = [
        Case(
            id="working",
            title="working pressure, tubes pulling in balance",
            load=pressure,
            load_upper=pressure,
            load_unit="MPa",
            variants=({"pressure": pressure},),
            allowable_mpa=float(material.allowable_mpa),
            closed_form_mpa=walls[service],
            closed_form=service,
        ),
        Case(
            id="proof",
            title=f"proof pressure, {proof:g} x working",
            load=proof * pressure,
            load_upper=proof * pressure,
            load_unit="MPa",
            variants=({"pressure": proof * pressure},),
            allowable_mpa=short,
            closed_form_mpa=proof * walls[service],
            closed_form=service,
        ),
        Case(
            id="let_go",
            title="working pressure, the tube of arm 1 let go",
            load=pressure,
            load_upper=pressure,
            load_unit="MPa",
            variants=({"pressure": pressure, "release": pressure},),
            allowable_mpa=short,
            closed_form_mpa=let_go[1],
            closed_form=let_go[0],
        ),
        Case(
            id="side",
            title="side force at an arm's nose, under working pressure",
            load=side,
            load_upper=float(rules["side_force_upper_n"]),
            load_unit="N",
            variants=variants,
            allowable_mpa=short,
            closed_form_mpa=_worst(side_load(drawn).demand),
            closed_form="side_load",
        ),
    ]
    if is_cap(part):
        # Without its tube a cap is off, and its arm ends in the line it closes.
        cases = cases[:2]
    if part.tip is not None:
        force, force_upper, torque, torque_upper = _tip_loads(drawn)
        mouth, bore = _worst(drawn.tip.mouth_mm), part.tip.bore_mm  # type: ignore[union-attr]
        lost = 2.0 * part.tip.tick_arc_mm * part.tip.tick_depth_mm
        squash = force / (float(ring_area(bore, mouth)) - lost)
        shear = torque * mouth / 2.0 / (2.0 * float(ring_inertia(bore, mouth)))
        cases += [
            Case(
                id="driving",
                title="driving force on the strike pad or ring",
                load=force,
                load_upper=force_upper,
                load_unit="N",
                variants=({"drive": force},),
                allowable_mpa=handling,
                closed_form_mpa=squash,
                closed_form="drive_squash",
            ),
            Case(
                id="twist",
                title="freeing torque about the tip",
                load=torque,
                load_upper=torque_upper,
                load_unit="N mm",
                variants=({"twist": torque},),
                allowable_mpa=handling,
                closed_form_mpa=sqrt(3.0) * shear,
                closed_form="twist_out",
            ),
        ]
    return tuple(cases)


def plain_barb_mpa(design: Design[float]) -> float:
    """Return the largest von Mises stress of the plain barb roots at pressure [MPa].

    Parameters
    ----------
    design : Design
        The part [mm].

    Source: lame
    """
    pressure, bore = float(design.conditions.highest_mpa), design.bore_mm
    return max(float(lame_von_mises(pressure, bore, b.root_mm)) for b in design.barbs)


def _tip_loads(drawn: WorstCase) -> tuple[float, float, float, float]:
    """Return driving force [N] and freeing torque [N mm], expected and upper each."""
    assert drawn.tip is not None
    force, upper = drive_forces(drawn, drawn.tip.travel_mm, drawn.hole_mm)
    torque, most = (freeing_forces(drawn, name)[0] for name in ("expected", "upper"))
    return _worst(force), _worst(upper), _worst(torque), _worst(most)


def _bent_by_thrust(design: Design[float], drawn: WorstCase, pressure_mpa: float) -> float:
    """Return the tip's bending and axial stress under one arm's unbalanced thrust."""
    if design.hub is None or drawn.tip is None or design.tip is None:
        return 0.0
    thrust = pressure_mpa * pi / 4.0 * design.bore_mm**2
    lever = _worst(drawn.tip.free_mm) - design.hub.pad_height_mm
    bore, mouth = design.tip.bore_mm, _worst(drawn.tip.mouth_mm)
    axial = pressure_mpa * bore**2 / (mouth**2 - bore**2)
    return float(bending_stress(thrust * lever, bore, mouth)) + axial


def _worst(values: object) -> float:
    return float(np.max(np.asarray(values, dtype=float)))
