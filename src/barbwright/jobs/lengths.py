"""What sets the long dimensions of a tip, and what would shorten it; found by sizing again."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil

import numpy as np

from barbwright.design.part import design_part
from barbwright.jobs.plan import Plan

CALIBRATED_TOLERANCE_MM = 0.1


@dataclass(frozen=True)
class SeatLength:
    """A tip's seat length in its parts, and as it would be otherwise.

    Attributes
    ----------
    seat_mm, contact_mm, bark_mm, scatter_mm : float
        Seat length and the three parts it is the sum of [mm].
    measured_hole_mm, calibrated_mm, both_mm : float or None
        Seat length with the hole measured, with the print calibrated to
        `CALIBRATED_TOLERANCE_MM`, and with both; None where it is so already [mm].
    """

    seat_mm: float
    contact_mm: float
    bark_mm: float
    scatter_mm: float
    measured_hole_mm: float | None
    calibrated_mm: float | None
    both_mm: float | None


def seat_length(plan: Plan) -> SeatLength | None:
    """Return what a tip's seat length is made of; None for a part without a tip.

    Parameters
    ----------
    plan : Plan
        A designed part [mm].
    """
    design = plan.design
    if design is None or design.tip is None:
        return None
    conditions, tip = design.conditions, design.tip
    spread = conditions.rules["measured_hole_tolerance_mm"]
    middle = (conditions.hole_low_mm + conditions.hole_high_mm) / 2.0
    measured = replace(conditions, hole_low_mm=middle - spread, hole_high_mm=middle + spread)
    tolerance = np.minimum(conditions.material.tolerance_mm, CALIBRATED_TOLERANCE_MM)
    tight = replace(conditions.material, tolerance_mm=tolerance, tolerance_pct=0.0)

    def seat(changed: object) -> float:
        other = design_part(plan.kind, changed, plan.job.forced)  # type: ignore[arg-type]
        assert other.tip is not None
        return float(other.tip.seat_mm)

    free = plan.job.hole_mm is None
    loose = bool(conditions.material.tolerance_mm > CALIBRATED_TOLERANCE_MM)
    return SeatLength(
        seat_mm=float(tip.seat_mm),
        contact_mm=float(tip.contact_mm),
        bark_mm=float(conditions.bark_mm),
        scatter_mm=float(tip.scatter_mm),
        measured_hole_mm=seat(measured) if free else None,
        calibrated_mm=seat(replace(conditions, material=tight)) if loose else None,
        both_mm=seat(replace(measured, material=tight)) if free and loose else None,
    )


def seat_story(plan: Plan) -> list[str]:
    """Return the seat length's parts and what would shorten it, as sentences."""
    seat = seat_length(plan)
    if seat is None:
        return []
    lines = [
        f"seat {seat.seat_mm:.1f} mm = contact {seat.contact_mm:.1f} + bark {seat.bark_mm:.1f} + "
        f"print and hole scatter {seat.scatter_mm:.1f} mm"
    ]
    shorter = [
        f"{name} makes it {seat.seat_mm - other:.1f} mm shorter"
        for name, other in (
            ("a measured hole (--hole)", seat.measured_hole_mm),
            (f"a print calibrated to {CALIBRATED_TOLERANCE_MM:g} mm", seat.calibrated_mm),
            ("both", seat.both_mm),
        )
        if other is not None and other < seat.seat_mm - 0.05
    ]
    if shorter:
        lines.append("; ".join(shorter))
    design = plan.design
    assert design is not None
    assert design.tip is not None
    low, high = float(design.tip.window_low_mm), float(design.tip.window_high_mm)
    pitch = design.tip.tick_pitch_mm
    # Only whole ticks can be read: enough of them to hold, never more than the window allows.
    first, last = ceil(seat.contact_mm / pitch - 1e-6), int(max(high, seat.contact_mm) / pitch)
    window = (
        f"tap-depth window {min(low, seat.contact_mm):.1f} to {max(high, seat.contact_mm):.1f} mm "
        "from hand-tight; push until it stops, then tap "
    )
    if first > last:
        lines.append(f"{window}{seat.contact_mm:.1f} mm ({seat.contact_mm / pitch:.1f} ticks)")
    elif first == last:
        lines.append(f"{window}{first} ticks, no more")
    else:
        lines.append(f"{window}{first} ticks, never more than {last}")
    return lines
