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

from barbwright.checks.contact import reading, unknown_contact, wall_at
from barbwright.checks.corners import BarbCorner, WorstCase, worst_case
from barbwright.checks.sealing import grip_parts
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


@dataclass(frozen=True, kw_only=True)
class TableSays:
    """What the checks' table says of the same barb on the same tube; nan outside it.

    Attributes
    ----------
    push_n, normal_n, land_mpa : float
        Largest push, normal force let go, and best land's mean pressure, without the table's
        error [N], [N], [MPa].
    pull_off_n : float
        The most a fresh pull under pressure finds, less the table's error as the check takes it
        [N].
    push_error, normal_error, land_error : float
        What nine of ten cases left out of the table's fit stay within [-].
    rubs_n, bite_n : float
        Friction times the normal force, fresh and less its error, and the crests' bite, low [N].
    """

    push_n: float = float("nan")
    normal_n: float = float("nan")
    land_mpa: float = float("nan")
    pull_off_n: float = float("nan")
    push_error: float = float("nan")
    normal_error: float = float("nan")
    land_error: float = float("nan")
    rubs_n: float = float("nan")
    bite_n: float = float("nan")


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
    table : TableSays
        What the checks' table says at the same two corners.
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
    table: TableSays
    changes: dict[str, float]
    seconds: float
    notes: tuple[str, ...]

    @property
    def converged(self) -> bool:
        """Whether halving mesh, step and penalty moved no reading that is held to it by 3 %."""
        return all(self.changes[name] < CONVERGED_SHARE for name in self.held_to)

    @property
    def held_to(self) -> tuple[str, ...]:
        """Which readings must stay within 3 % where it says converged; the rest are told."""
        return HELD

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
        found.append(_solve(case, barb, progress))
    return tuple(found)


def _solve(
    case: WorstCase, barb: BarbCorner, progress: Callable[[str], None] | None
) -> ContactResult:
    design = case.design
    start, conditions, rules = time.monotonic(), design.conditions, design.conditions.rules
    soft, heat = rules["hot_water_softening"], float(np.squeeze(barb.tube.temperature_factor))
    push_fit = _fit(
        design, barb, FAT, barb.tube_narrow_mm, soft, rules["push_on_friction_expected"]
    )
    pressure = float(np.squeeze(conditions.highest_mpa))
    hold_fit = _fit(design, barb, LEAN, barb.tube_wide_mm, heat, rules["grip_friction"], pressure)
    tell = progress or (lambda words: None)
    tell("pushing the tube on, and beside it holding it under pressure")
    pushed, held_on = both(
        RefinedCase(fit=push_fit, pull=False), RefinedCase(fit=hold_fit, pull=True)
    )
    push, hold = _found(pushed, push_fit), _found(held_on, hold_fit)
    changes = {
        "push_on_peak_n": pushed.peak, "land_pressure_mpa": held_on.land,
        "pull_off_n": held_on.pull,
    }  # fmt: skip
    yields = soft * _number(barb.tube.yield_low_mpa)
    return ContactResult(
        push=push, hold=hold, push_fit=push_fit, hold_fit=hold_fit, yield_mpa=yields,
        thrust_n=float(end_thrust(pressure, hold_fit.barb.crest_mm)),
        relaxation=rules["relaxation_tube"], table=_table(case, barb), changes=changes,
        seconds=time.monotonic() - start, notes=_notes(changes, push, hold, (pushed, held_on)),
    )  # fmt: skip


def _table(case: WorstCase, barb: BarbCorner) -> TableSays:
    """Return the checks' table at the corners and conditions that are solved here."""
    if unknown_contact(case, barb):
        return TableSays()
    rules, tube = case.rules, barb.tube
    warm = wall_at(tube, "low", rules["hot_water_softening"])
    wall = wall_at(tube, "low", tube.temperature_factor)
    push = reading("push", barb, warm, rules["push_on_friction_expected"], narrowest=True)
    normal = reading("normal", barb, wall, rules["grip_friction"])
    land = reading("land", barb, wall, rules["grip_friction"])
    parts = grip_parts(case, barb, "low")
    return TableSays(
        push_n=_number(push.value[FAT]), push_error=_number(push.error[FAT]),
        normal_n=_number(normal.value[LEAN]), normal_error=_number(normal.error[LEAN]),
        land_mpa=_number(land.value[LEAN]), land_error=_number(land.error[LEAN]),
        pull_off_n=_number(parts.pull_off[LEAN]), rubs_n=_number(parts.rubs[LEAN]),
        bite_n=_number(np.ravel(parts.bite)[LEAN if np.size(parts.bite) > 1 else 0]),
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
                "the tube cannot be solved on its way on, by neither step: it crumples along its "
                f"axis, or the elements fail ({refined.refused})",
                given=f"friction {fit.friction:g}, modulus {fit.modulus_mpa:.3g} MPa",
                do="a stiffer or thicker tube, or less stretch (--set crest=...)",
            )
        )
    return refined.best


def _notes(
    changes: dict[str, float], push: Seated, hold: Seated, refined: tuple[Refined, Refined]
) -> tuple[str, ...]:
    notes = []
    for name, change in changes.items():
        if name in HELD and not change < CONVERGED_SHARE:
            why = next((one.refused for one in refined if one.refused), "no balance of forces")
            moved = (
                f"moved by {100.0 * change:.0f} %" if np.isfinite(change) else f"refused ({why})"
            )
            notes.append(f"Not converged: {name} {moved} with mesh, step and penalty halved.")
    if not hold.came_off:
        notes.append(
            "The pull found no balance before its top: what it held until then is told, and may "
            "be less than it holds."
        )
    notes.append(
        f"All {push.steps} and {hold.steps} steps of the two pushes count and end at rest, "
        f"{push.snaps} and {hold.snaps} of them let off from a drag; one that does not is no "
        "answer. Barb and far end differ by at most "
        f"{100.0 * push.balance:.1f} and {100.0 * hold.balance:.1f} % of the largest push."
    )
    notes.append(
        "Relaxation and friction are judgement; axial buckling of the free tube in a hand is not "
        "in the model; no measurement stands behind it."
    )
    return tuple(notes)
