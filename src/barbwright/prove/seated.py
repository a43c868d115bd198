"""The drawn tip in its hole: what a tug, a side force and a pull do to it, and what it shows.

Green wood as the checks take it; elastic ratios the tables do not hold are northern red oak's.
Solved on two meshes; what moves by 3 % or more is said to be not converged.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from math import hypot, pi
from typing import Any

import numpy as np

from barbwright.checks.wood import relaxed_contacts
from barbwright.design.part import Design
from barbwright.design.single import single
from barbwright.design.tip import proving_pull
from barbwright.equations.column import bending_stress
from barbwright.equations.cylinder import end_thrust
from barbwright.equations.seat import holding_force, modulus_from_gravity, rocking_force, seat_area
from barbwright.errors import Fault, InputError
from barbwright.job.record import WoodInput
from barbwright.prove.analysis import POISSON_DEFAULT, require_engine
from barbwright.prove.cases import drawn_case
from barbwright.prove.seat import Answer, Orthotropic, Seat, SeatModel
from barbwright.say import newtons

CONVERGED_SHARE = 0.03
FINER = 1.25
# How far the seat is drawn, and tipped, to find what it holds at most [mm].
DRAWN_MM, TIPPED_MM = 0.004, 0.2
# What table 5-1 and 5-2 of the Wood Handbook give for northern red oak (from memory), for what a
# wood's own row does not hold. No GRT stands there: 0.02 is judgement.
RED_OAK = {"er": 0.154, "et": 0.082, "glr": 0.089, "glt": 0.081, "grt": 0.02,
           "nu_lr": 0.350, "nu_lt": 0.448, "nu_rt": 0.560}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Loaded:
    """One load on the seated tip.

    Attributes
    ----------
    id, title : str
        Key and words.
    answer : Answer
        At the finer mesh.
    beam_mpa : float
        The beam's bending stress at the wood's surface [MPa].
    change : float
        By how much the finer mesh moved the peak [-].
    """

    id: str
    title: str
    answer: Answer
    beam_mpa: float
    change: float

    @property
    def converged(self) -> bool:
        """Return whether both meshes held the load, with peaks within 3 %."""
        return self.answer.solved and self.change < CONVERGED_SHARE


@dataclass(frozen=True, kw_only=True)
class SeatedResult:
    """What elements find of a tip in its hole.

    Attributes
    ----------
    seat : Seat
        What was solved.
    wood : Orthotropic
        The wood's elasticity.
    loads : tuple of Loaded
        A load each.
    pull_out_n, pull_closed_n, field_proof_n : float
        Axial force that draws the tip: elements, closed form; and the field's proving pull [N].
    tilting_n, tilting_closed_n : float
        Force along the line that tips it: elements, within a small travel; closed form [N].
    pull_change : float
        By how much the finer mesh moved the pull [-].
    seconds : float
        All of it [s].
    notes : tuple of str
        What a reader must know.
    """

    seat: Seat
    wood: Orthotropic
    loads: tuple[Loaded, ...]
    pull_out_n: float
    pull_closed_n: float
    field_proof_n: float
    tilting_n: float
    tilting_closed_n: float
    pull_change: float
    seconds: float
    notes: tuple[str, ...]

    @property
    def converged(self) -> bool:
        """Return whether every load the wood stands, and the pull, converged."""
        moved = [load.change for load in self.loads if load.answer.solved]
        return bool(max([*moved, self.pull_change]) < CONVERGED_SHARE)


def wood_elasticity(wood: WoodInput) -> tuple[Orthotropic, bool]:
    """Return a green wood's elastic constants, and whether its own ratios are among them.

    Parameters
    ----------
    wood : WoodInput
        By name or by density.

    Source: wood_handbook_regression, wood_elastic_ratios, judgement
    """
    modulus = float(modulus_from_gravity(wood.specific_gravity, hardwood=wood.hardwood))
    ratios = dict(RED_OAK)
    record = wood.record
    own = record is not None and record.et_over_el is not None
    if own:
        assert record is not None
        assert record.et_over_el is not None
        assert record.glt_over_el is not None
        assert record.nu_lt is not None
        ratios |= {"et": record.et_over_el, "glt": record.glt_over_el, "nu_lt": record.nu_lt}
    return Orthotropic(el_mpa=modulus, **ratios), own


def seated_of(
    design: Design, wood: WoodInput | None, *, progress: Callable[[str], None] | None = None
) -> SeatedResult:
    """Return what loads do to the drawn tip in its hole.

    Parameters
    ----------
    design : Design
        A part with a tip below a hub [mm].
    wood : WoodInput or None
        The wood it sits in.
    progress : callable, optional
        Told in one line what is being done.

    Raises
    ------
    InputError
        When the engine is missing, the part has no tip below a hub, or no wood is named.

    Source: own_derivation, judgement
    """
    require_engine()
    if design.tip is None or design.hub is None:
        raise InputError(
            Fault(
                "a tip in its hole is judged below a hub: an in-line tip is struck and pulled "
                "along its axis, and no load of this model bends it",
                do="name an elbow or a tee",
            )
        )
    if wood is None:
        raise InputError(
            Fault("a tip in its hole needs a wood", do='name one: `--wood "oak northern red"`')
        )
    part = single(design)
    began = time.perf_counter()
    tell = progress or (lambda _words: None)
    elastic, own = wood_elasticity(wood)
    seat = _seat(part)
    loads = _loads(part, seat)
    found: list[tuple[list[Answer], float]] = []
    for finer in (1.0, FINER):
        tell(f"tip in its hole: mesh {len(found) + 1} of 2")
        model = SeatModel(seat, elastic.stiffness(), finer)
        answers = [model.answer(load) for _, _, load in loads]
        found.append((answers, model.limit("pull", DRAWN_MM)))
    tilting = model.limit("rock", TIPPED_MM, 20)
    (coarse, pull_coarse), (fine, pull) = found
    told = tuple(
        Loaded(
            id=name, title=title, answer=after, beam_mpa=_beam_mpa(seat, load),
            change=_change(before, after),
        )
        for (name, title, load), before, after in zip(loads, coarse, fine, strict=True)
    )  # fmt: skip
    assert design.tip is not None
    area = seat_area(seat.diameter_mm(-seat.contact_mm), seat.taper, seat.contact_mm)
    mean = seat.diameter_mm(-seat.contact_mm / 2.0)
    return SeatedResult(
        seat=seat,
        wood=elastic,
        loads=told,
        pull_out_n=pull,
        pull_closed_n=float(holding_force(seat.rest_mpa, area, seat.taper, seat.friction)),
        field_proof_n=float(np.max(proving_pull(design.conditions, design.tip))),
        tilting_n=tilting,
        tilting_closed_n=float(rocking_force(seat.cap_mpa, mean, seat.contact_mm, seat.lever_mm)),
        pull_change=abs(pull / pull_coarse - 1.0),
        seconds=time.perf_counter() - began,
        notes=_notes(own),
    )


def _seat(design: Design[float]) -> Seat:
    case = drawn_case(design)
    tip, rules = case.tip, case.rules
    assert tip is not None
    assert design.tip is not None
    assert design.hub is not None
    contact = design.tip.contact_mm
    _, relaxed = relaxed_contacts(case)
    start = float(np.max(tip.start_mm))
    return Seat(
        mouth_mm=float(case.hole_mm.ravel()[0] + design.tip.taper * contact),
        taper=design.tip.taper,
        contact_mm=contact,
        bore_mm=design.tip.bore_mm,
        lever_mm=float(np.max(tip.free_mm)) - design.hub.pad_height_mm,
        lead_mm=max(start, 0.5),
        modulus_mpa=float(design.conditions.material.handling_modulus_mpa),
        poisson=POISSON_DEFAULT,
        rest_mpa=float(np.max(relaxed)),
        cap_mpa=float(rules["drive_crush_expected"] * design.conditions.wood.crush_mpa),
        friction=float(rules["wood_friction_hold"]),
    )


def _loads(design: Design[float], seat: Seat) -> list[tuple[str, str, tuple[float, float, float]]]:
    rules, conditions = design.conditions.rules, design.conditions
    pressure = float(conditions.highest_mpa)
    lift = float(end_thrust(pressure, seat.mouth_mm))
    gone = float(end_thrust(pressure, design.barbs[0].crest_mm))
    arm = design.arm_length_mm
    reach = hypot(seat.lever_mm, arm)
    side = float(rules["side_force_expected_n"])
    rows = [
        (f"tug_{tug:g}_n", f"{newtons(tug)} along the line", (float(tug), 0.0, 0.0))
        for tug in (rules["tug_expected_n"], rules["tug_upper_n"])
    ]
    # Square to the line from the nose to the wood's mouth: the longest lever.
    turned = (side * seat.lever_mm / reach, side * arm / reach, side * arm * arm / reach)
    return [
        *rows,
        ("let_go", "one tube gone, the other and the water still push", (gone, lift, 0.0)),
        ("side", f"{newtons(side)} at an arm's nose, its worst way", turned),
    ]


def _beam_mpa(seat: Seat, load: tuple[float, float, float]) -> float:
    moment = abs(load[0]) * seat.lever_mm + abs(load[2])
    area = pi / 4.0 * (seat.mouth_mm**2 - seat.bore_mm**2)
    return float(bending_stress(moment, seat.bore_mm, seat.mouth_mm)) + max(load[1], 0.0) / area


def _change(before: Answer, after: Answer) -> float:
    if not (before.solved and after.solved):
        return float("nan")
    return abs(after.peak_mpa / before.peak_mpa - 1.0)


def _notes(own: bool) -> tuple[str, ...]:
    words = "its own ET, GLT and nu LT" if own else "no elastic ratios of its own: red oak's"
    return (
        f"Wood: EL regressed on its gravity; {words}; the rest northern red oak's (from memory; "
        "GRT judgement). The line runs across the grain, the tip along R.",
        "From the seated tip at rest: its squeeze by the wood and stresses of the water in its "
        "bore are not in these peaks; the shoulder and the hub are not in this model.",
        "Peaks at the wood's surface lie where the other cases of prove keep peaks out. A twist is "
        "not solved: the model is half a tip, symmetric to the plane of its loads, and a twist is "
        "not.",
        "Contact at rest, crush and friction are judgement: a bench pull says more.",
    )


def seated_json(result: SeatedResult) -> dict[str, Any]:
    """Return a seated tip's result as plain JSON types, units in the keys.

    Parameters
    ----------
    result : SeatedResult
        What was found.

    Source: own_arithmetic
    """
    held = {load.id: load for load in result.loads}
    stood = {name: load for name, load in held.items() if load.answer.solved}

    def each(what: str, digits: int) -> dict[str, float | None]:
        return {
            name: round(float(getattr(load.answer, what)), digits) if name in stood else None
            for name, load in held.items()
        }

    return {
        "peaks_mpa": each("peak_mpa", 3),
        "beam_mpa": {name: round(load.beam_mpa, 3) for name, load in held.items()},
        "tilt_deg": each("tilt_deg", 4),
        "opening_mm": each("opening_mm", 4),
        "open_share": each("open_share", 3),
        "crushed_share": each("crushed_share", 3),
        "holds": {name: load.answer.solved for name, load in held.items()},
        "balance": each("balance", 6),
        "pull_out_n": _finite(result.pull_out_n),
        "pull_out_closed_n": round(result.pull_closed_n, 2),
        "field_proof_n": round(result.field_proof_n, 2),
        "tilting_n": _finite(result.tilting_n),
        "tilting_closed_n": round(result.tilting_closed_n, 2),
        "worked_with": {
            **{name: round(value, 4) for name, value in vars(result.seat).items()},
            **{f"wood_{name}": round(value, 4) for name, value in vars(result.wood).items()},
        },
        "converged": result.converged,
        "seconds": round(result.seconds, 2),
        "notes": list(result.notes),
    }


def _finite(value: float) -> float | None:
    return round(value, 2) if np.isfinite(value) else None
