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
from barbwright.prove.contact.materials import Plastic, Rubber, Wall
from barbwright.prove.contact.outline import DrawnBarb
from barbwright.prove.contact.refine import CONVERGED_SHARE, Refined, RefinedCase, both, sealing_mpa
from barbwright.prove.contact.seat import Seated, TubeFit

LEAN, FAT = 0, 2
# What must stay within 3 %; a pull-off ends in a jump, and by how much it moves is told alone.
HELD = ("push_on_peak_n", "land_pressure_mpa")


@dataclass(frozen=True, kw_only=True, eq=False)
class ContactResult:
    """What a tube does on its barb.

    Attributes
    ----------
    push, hold : Seated
        Pushed on warm by hand, and held at service temperature, at the finer mesh.
    push_fit, hold_fit : TubeFit
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
    push_fit: TubeFit
    hold_fit: TubeFit
    yield_mpa: float
    thrust_n: float
    relaxation: float
    changes: dict[str, float]
    seconds: float
    notes: tuple[str, ...]

    @property
    def converged(self) -> bool:
        """Whether halving mesh, step and penalty moved no reading that is held to it by 3 %."""
        return all(self.changes[name] < CONVERGED_SHARE for name in HELD)

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
    tell("pushing the tube on, and beside it holding it under pressure")
    pushed, held = both(RefinedCase(fit=push_fit, pull=False), RefinedCase(fit=hold_fit, pull=True))
    push, hold = _found(pushed, push_fit), _found(held, hold_fit)
    changes = {
        "push_on_peak_n": pushed.peak, "land_pressure_mpa": held.land, "pull_off_n": held.pull,
    }  # fmt: skip
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
) -> TubeFit:
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
    return TubeFit(
        inner_mm=float(inner_mm[corner]), outer_mm=_number(tube.outer_mm), barb=outline,
        wall=wall, modulus_mpa=modulus, friction=friction, pressure_mpa=pressure_mpa,
    )  # fmt: skip


def _found(refined: Refined, fit: TubeFit) -> Seated:
    if refined.best is None:
        raise InputError(
            Fault(
                "the tube finds no balance on its way on: it crumples along its axis",
                given=f"friction {fit.friction:g}, modulus {fit.modulus_mpa:.3g} MPa",
                do="a stiffer or thicker tube, or less stretch (--set crest=...)",
            )
        )
    return refined.best


def _notes(changes: dict[str, float], push: Seated, hold: Seated) -> tuple[str, ...]:
    notes = []
    for name, change in changes.items():
        if name in HELD and not change < CONVERGED_SHARE:
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
