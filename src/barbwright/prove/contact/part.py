"""A drawn barb and its named tube, solved at the corners that the checks read.

Twice: pushed on as a hand does it (fat barb, narrow tube, warm, low modulus), and held as water
tries it (lean barb, wide tube, at service temperature, low modulus). Each solved again with mesh,
step and penalty halved; what moves by 3 % or more is said to be not converged.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from barbwright.checks.corners import BarbCorner, worst_case
from barbwright.design.part import Design
from barbwright.equations.cylinder import end_thrust
from barbwright.errors import Fault, InputError
from barbwright.prove.contact.drive import NotConvergedError
from barbwright.prove.contact.materials import Plastic, Rubber, Wall
from barbwright.prove.contact.outline import DrawnBarb
from barbwright.prove.contact.seat import Fineness, Fit, Seated, seat

CONVERGED_SHARE = 0.03
LEAN, FAT = 0, 2
# Each rung is solved again at its half; the second where the first moves too much.
LADDER = (Fineness(), Fineness(rows=6, element_mm=0.14, step_mm=0.2))


@dataclass(frozen=True, kw_only=True, eq=False)
class ContactResult:
    """What a tube does on its barb.

    Attributes
    ----------
    push, hold : Seated
        Pushed on warm by hand, and held at service temperature, at the finer mesh.
    push_fit, hold_fit : Fit
        What was solved.
    yield_mpa : float
        The tube's yield while pushed on; nan for a rubber [MPa].
    thrust_n : float
        What the water pulls with [N].
    relaxation : float
        Share of the contact that stays (judgement) [-].
    changes : mapping of str to float
        By how much halving moved each reading; nan where one found no balance [-].
    seconds : float
        All of it [s].
    notes : tuple of str
        What a reader must know.
    """

    push: Seated
    hold: Seated
    push_fit: Fit
    hold_fit: Fit
    yield_mpa: float
    thrust_n: float
    relaxation: float
    changes: dict[str, float]
    seconds: float
    notes: tuple[str, ...]

    @property
    def converged(self) -> bool:
        """Whether halving mesh, step and penalty moved no reading by 3 %."""
        return all(change < CONVERGED_SHARE for change in self.changes.values())

    @property
    def best_land_mpa(self) -> float:
        """Mean pressure on the best land behind the first, fresh [MPa]."""
        return sealing_mpa(self.hold)

    @property
    def over_yield(self) -> float:
        """Largest push over yield times the wall's section; nan for a rubber [-]."""
        return self.push.peak_n / (self.yield_mpa * self.push_fit.section_mm2)


def contact_of(
    design: Design, *, progress: Callable[[str], None] | None = None
) -> tuple[ContactResult, ...]:
    """Solve every different barb of a part on its tube.

    Parameters
    ----------
    design : Design
        Drawn sizes, one part [mm].
    progress : callable, optional
        Told in one line what is being done.

    Raises
    ------
    InputError
        When the part has no barb, or nothing is known of its tube.

    Source: barb_contact_fe
    """
    case = worst_case(design)
    if not case.barbs:
        raise InputError(
            Fault("--case seal solves a tube on a barb", given=design.kind.name,
                  do="name a part with a barb")
        )  # fmt: skip
    found = []
    for barb in case.barbs:
        if barb.unknown:
            raise InputError(Fault(f"the tube on the barb cannot be solved: {barb.unknown}"))
        found.append(_solve(design, barb, progress))
    return tuple(found)


def _solve(
    design: Design, barb: BarbCorner, progress: Callable[[str], None] | None
) -> ContactResult:
    start, conditions, rules = time.monotonic(), design.conditions, design.conditions.rules
    soft, heat = rules["hot_water_softening"], float(np.squeeze(barb.tube.temperature_factor))
    push_fit = _fit(
        design, barb, FAT, barb.tube_narrow_mm, soft, rules["push_on_friction_expected"]
    )
    pressure = float(np.squeeze(conditions.highest_mpa))
    hold_fit = _fit(design, barb, LEAN, barb.tube_wide_mm, heat, rules["grip_friction"], pressure)
    tell = progress or (lambda words: None)
    tell("pushing the tube on")
    push, push_changes = _refined(push_fit, pull=False)
    tell("holding it under pressure")
    hold, hold_changes = _refined(hold_fit, pull=True)
    changes = {
        "push_on_peak_n": push_changes["peak"],
        "land_pressure_mpa": hold_changes["land"],
    }
    yields = soft * _number(barb.tube.yield_low_mpa)
    return ContactResult(
        push=push, hold=hold, push_fit=push_fit, hold_fit=hold_fit, yield_mpa=yields,
        thrust_n=float(end_thrust(pressure, hold_fit.barb.crest_mm)),
        relaxation=rules["relaxation_tube"], changes=changes,
        seconds=time.monotonic() - start, notes=_notes(changes, push, hold),
    )  # fmt: skip


def _number(value: object) -> float:
    return float(np.squeeze(np.asarray(value, dtype=float)))


def _fit(
    design: Design,
    barb: BarbCorner,
    corner: int,
    inner_mm: np.ndarray,
    softening: float,
    friction: float,
    pressure_mpa: float = 0.0,
) -> Fit:
    """Return one corner of a barb on its tube, the tube's low numbers times a softening."""
    drawn, tube, rules = barb.drawn, barb.tube, design.conditions.rules
    modulus = softening * _number(tube.modulus_low_mpa)
    stress = softening * _number(tube.yield_low_mpa)
    wall: Wall = Rubber(modulus)
    if np.isfinite(stress):
        wall = Plastic(modulus, stress, stress * _number(tube.hardening_over_yield))
    outline = DrawnBarb(
        nose_mm=float(barb.nose_mm[corner]), root_mm=float(barb.root_mm[corner]),
        crest_mm=float(barb.crest_mm[corner]), land_mm=_number(drawn.land_mm),
        pitch_mm=_number(drawn.pitch_mm), insertion_mm=_number(drawn.insertion_mm),
        angle_deg=float(design.forced.get("barb_angle", rules["barb_angle_deg"])),
        count=drawn.barb_count,
    )  # fmt: skip
    return Fit(
        inner_mm=float(inner_mm[corner]), outer_mm=_number(tube.outer_mm), barb=outline,
        wall=wall, modulus_mpa=modulus, friction=friction, pressure_mpa=pressure_mpa,
    )  # fmt: skip


def _refined(fit: Fit, *, pull: bool) -> tuple[Seated, dict[str, float]]:
    """Return the finer of two solutions, and by how much they differ."""
    best: Seated | None = None
    changes = {"peak": float("nan"), "land": float("nan")}
    for fineness in LADDER:
        try:
            first = seat(fit, fineness)
            best = best or first
            best = second = seat(fit, fineness.halved(), pull=pull)
        except NotConvergedError:
            # A tube that crumples finds no balance at any mesh: the next rung would not either.
            break
        changes = {
            "peak": abs(first.peak_n / second.peak_n - 1.0),
            "land": abs(sealing_mpa(first) / sealing_mpa(second) - 1.0),
        }
        if max(changes.values()) < CONVERGED_SHARE:
            break
    if best is None:
        raise InputError(
            Fault(
                "the tube finds no balance on its way on: it crumples along its axis",
                given=f"friction {fit.friction:g}, modulus {fit.modulus_mpa:.3g} MPa",
                do="a stiffer or thicker tube, or less expansion (--set crest=...)",
            )
        )
    return best, changes


def sealing_mpa(seated: Seated) -> float:
    """Return the mean pressure on the best land behind the first, let go and fresh [MPa].

    Barbs seal in series. The first one's land is read apart: the tube bends over its ramp, and
    its pressure moves by a tenth with the mesh.
    """
    lands = seated.released.lands_mpa
    return float(lands[1:].max() if len(lands) > 1 else lands[0])


def _notes(changes: dict[str, float], push: Seated, hold: Seated) -> tuple[str, ...]:
    notes = []
    for name, change in changes.items():
        if not change < CONVERGED_SHARE:
            moved = (
                f"moved by {100.0 * change:.0f} %" if np.isfinite(change) else "found no balance"
            )
            notes.append(f"Not converged: {name} {moved} with mesh, step and penalty halved.")
    for name, seated in (("pushing on", push), ("holding", hold)):
        if seated.balance > 0.01:
            notes.append(
                f"Barb and far end differ by {100.0 * seated.balance:.1f} % while {name}: the "
                "tube's end snaps over a crest."
            )
    notes.append(
        "Relaxation and friction are judgement; axial buckling of the free tube in a hand is not "
        "in the model; no measurement stands behind it."
    )
    return tuple(notes)
