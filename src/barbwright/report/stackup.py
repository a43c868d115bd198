"""The stack-up: each dimension at both ends of its tolerance, and what the seat is made of."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

from barbwright.design.compensate import graded
from barbwright.design.conditions import Conditions
from barbwright.design.part import Design, design_part, sizes_of, tolerance_of
from barbwright.design.single import single
from barbwright.design.sizes import in_words
from barbwright.design.tip import spread

# A calibrated print: what a fit gauge from the same service lets one claim.
CALIBRATED_MM = 0.1


@dataclass(frozen=True, kw_only=True)
class Stacked:
    """One drawn dimension with the ends of its tolerance.

    Attributes
    ----------
    name, title : str
        Key in `part.json`, and words.
    drawn_mm, low_mm, high_mm : float
        As drawn, and the ends of its tolerance [mm].
    lean_mm, fat_mm : float or None
        Where it stands in the lean and the fat part the checks judge; none for
        lengths, which keep their drawn size [mm].
    """

    name: str
    title: str
    drawn_mm: float
    low_mm: float
    high_mm: float
    lean_mm: float | None
    fat_mm: float | None


class SeatPart(NamedTuple):
    """One part of the seat's length: what for, and how long [mm]."""

    title: str
    length_mm: float


class Shorter(NamedTuple):
    """What better knowledge would make of the seat, found by sizing again.

    Attributes
    ----------
    title : str
        What would be known better.
    seat_mm, saved_mm : float
        The seat then, and how much shorter that is [mm].
    """

    title: str
    seat_mm: float
    saved_mm: float


class StackUp(NamedTuple):
    """The whole stack-up of a part.

    Attributes
    ----------
    dimensions : tuple of Stacked
        Every diameter and length that is drawn.
    seat : tuple of SeatPart
        Adds up to the seat's length; empty without a tip.
    shorter : tuple of Shorter
        Calibrated print, measured hole, both.
    """

    dimensions: tuple[Stacked, ...]
    seat: tuple[SeatPart, ...]
    shorter: tuple[Shorter, ...]


def stack_up(design: Design) -> StackUp:
    """Return the stack-up of a part.

    Parameters
    ----------
    design : Design
        A single part (no arrays).

    Returns
    -------
    StackUp
        Dimensions at both ends, the seat's parts, and what would shorten it [mm].
    """
    return StackUp(_dimensions(graded(design)), _seat(design), _shorter(design))


def _dimensions(design: Design) -> tuple[Stacked, ...]:
    sizes, rows = sizes_of(design), []
    for name, (size, value) in sizes.items():
        if not size.printed:
            continue
        drawn = float(value)
        tolerance = tolerance_of(design, size, drawn)
        lean: float | None = None
        fat: float | None = None
        if size.feature != "length":
            # One shell moves together: root and nose by what the crest may be off.
            crest = sizes.get(name.replace(size.name, "crest_diameter_mm"))
            shift = _tolerance(design, float(crest[1])) if size.shell and crest else tolerance
            sign = -1.0 if size.feature == "bore" else 1.0
            lean, fat = drawn - sign * shift, drawn + sign * shift
        title = in_words(name, size)
        rows.append(
            Stacked(
                name=name,
                title=title,
                drawn_mm=drawn,
                low_mm=drawn - tolerance,
                high_mm=drawn + tolerance,
                lean_mm=lean,
                fat_mm=fat,
            )
        )
    return tuple(rows)


def _tolerance(design: Design, size_mm: float) -> float:
    return float(design.conditions.material.tolerance_at(size_mm))


def _seat(design: Design) -> tuple[SeatPart, ...]:
    tip, conditions = single(design).tip, design.conditions
    if tip is None:
        return ()
    covered = spread(conditions.hole_low_mm, conditions.hole_high_mm, conditions.tip_tolerance_mm)
    scatter = float(covered) / tip.taper
    contact, tick, bark = tip.contact_mm, tip.tick_pitch_mm, float(conditions.bark_mm)
    spare = tip.seat_mm - contact - bark - tick - scatter
    return (
        SeatPart("contact in sound wood", contact),
        SeatPart("one tick more, for a seat that moves or drips", tick),
        SeatPart("bark, which seals and holds nothing", bark),
        SeatPart("print and hole scatter: how far in it stops by hand", scatter),
        SeatPart("clearance at the lead end, and rounding", spare),
    )


def _shorter(design: Design) -> tuple[Shorter, ...]:
    tip, conditions = single(design).tip, design.conditions
    if tip is None or "seat" in design.forced:
        return ()
    material = replace(
        conditions.material,
        tolerance_mm=min(CALIBRATED_MM, float(conditions.material.tolerance_mm)),
    )
    spread = conditions.rules["measured_hole_tolerance_mm"]
    low, high = float(conditions.hole_low_mm), float(conditions.hole_high_mm)
    middle = (low + high) / 2.0
    hole = {"hole_low_mm": max(low, middle - spread), "hole_high_mm": min(high, middle + spread)}
    printed = f"a print calibrated to ±{CALIBRATED_MM:g} mm"
    drilled = f"a hole measured to ±{spread:g} mm"
    cases: tuple[tuple[str, Conditions], ...] = (
        (printed, replace(conditions, material=material)),
        (drilled, replace(conditions, **hole)),  # type: ignore[arg-type]
        (f"{printed} and {drilled}", replace(conditions, material=material, **hole)),  # type: ignore[arg-type]
    )
    if not conditions.grade:
        cases = (*cases, ("graded leads (make --grades)", replace(conditions, grade=2)))
    rows = []
    for title, better in cases:
        again = single(design_part(design.kind, better, design.forced)).tip
        assert again is not None
        rows.append(Shorter(title, again.seat_mm, tip.seat_mm - again.seat_mm))
    return tuple(rows)
