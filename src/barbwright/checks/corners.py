"""The worst case: two whole-part corners, each with the smallest and the largest hole.

Every array in here has the corners on its first axis, in the order of `CORNERS`,
and the design's own shape behind it. Only the process limits look at
the drawn sizes, since those are what is sent to be printed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from barbwright.design.barb import Barb
from barbwright.design.compensate import compensated
from barbwright.design.conditions import Conditions, TubeConditions
from barbwright.design.part import Design, Kind
from barbwright.design.tip import Tip, hand_travel
from barbwright.equations import Number

Array = NDArray[np.float64]

CORNERS = (
    "lean part, smallest hole",
    "lean part, largest hole",
    "fat part, smallest hole",
    "fat part, largest hole",
)
_OUTSIDE = (-1.0, -1.0, 1.0, 1.0)
_LARGE_HOLE = (0.0, 1.0, 0.0, 1.0)


TOO_HOT = "nothing is known of this kind of tube at the service temperature"
NO_TUBE = "the tube's outer diameter and material are not given: --tube-od and --tube-material"


@dataclass(frozen=True, eq=False, kw_only=True)
class BarbCorner:
    """One barb with its tube at the corners.

    Attributes
    ----------
    drawn : Barb
        Drawn sizes: land, pitch and crest less root keep their drawn difference.
    tube : TubeConditions
        The tube.
    root_mm, crest_mm, nose_mm, neck_mm : (4, ...) ndarray
        Diameters at the corners [mm].
    tube_wide_mm, tube_narrow_mm : (4, ...) ndarray
        The tube's bore at its largest and its smallest [mm].
    readings : dict
        What was already read of the contact table for it.
    """

    drawn: Barb
    tube: TubeConditions
    root_mm: Array
    crest_mm: Array
    nose_mm: Array
    neck_mm: Array
    tube_wide_mm: Array
    tube_narrow_mm: Array
    # Not handed on by `replace`: another barb has readings of its own.
    readings: dict[tuple[object, ...], Any] = field(default_factory=dict, init=False, repr=False)

    @property
    def unknown(self) -> str:
        """Why nothing can be said of the tube; empty when something can."""
        tube = self.tube
        if np.all(np.isnan(tube.outer_mm)) or np.all(np.isnan(tube.modulus_low_mpa)):
            return NO_TUBE
        return TOO_HOT if np.all(np.isnan(tube.temperature_factor)) else ""


@dataclass(frozen=True, eq=False, kw_only=True)
class TipCorner:
    """The tip in its hole at the corners.

    Attributes
    ----------
    bore_mm, lead_mm, root_mm : (4, ...) ndarray
        Diameters at the corners [mm].
    start_mm : (4, ...) ndarray
        From the lead end to first contact, hand-tight [mm].
    mouth_mm : (4, ...) ndarray
        Diameter at the sound wood's surface after the full travel [mm].
    proud_mm : (4, ...) ndarray
        Length of taper that stands out of the bark after the full travel [mm].
    free_mm : (4, ...) ndarray
        From the sound wood's surface to the struck face after the full travel [mm].
    travel_mm : (4, ...) ndarray
        The most a tip is driven: contact, one tick more where a seat moved or
        dripped, and the hand's own travel [mm].
    """

    bore_mm: Array
    lead_mm: Array
    root_mm: Array
    start_mm: Array
    mouth_mm: Array
    proud_mm: Array
    free_mm: Array
    travel_mm: Array


@dataclass(frozen=True, eq=False)
class BeforeSizing:
    """What is known before a size is: enough for heat, fluid and use.

    Attributes
    ----------
    kind : Kind
        The kind of part.
    conditions : Conditions
        Loads, tube, wood and material.
    rules : mapping
        Judgement numbers.
    """

    kind: Kind
    conditions: Conditions
    rules: Mapping[str, float]


@dataclass(frozen=True, eq=False, kw_only=True)
class WorstCase(BeforeSizing):
    """A design at all its corners; what every check works on.

    Attributes
    ----------
    design : Design
        The part wanted.
    drawn : Design
        The part in the files, which a calibrated service prints to the one wanted.
    bore_mm : (4, ...) ndarray
        Bore through the arms at the corners [mm].
    hole_mm : (4, ...) ndarray
        Hole at the corners [mm].
    barbs : tuple of BarbCorner
        One, or two where the ends differ.
    ball_mm, relief_mm : (4, ...) ndarray or None
        Hub and relief ball at the corners [mm].
    tip : TipCorner or None
        The tip at the corners.
    ring_mm, driver_bore_mm : (4, ...) ndarray or None
        Shoulder ring and the driver's bore at the corners [mm].
    at_corners : bool
        Whether its cases are `CORNERS`; else they are parts with given offsets.
    kept : dict
        What one check worked out for another.
    """

    design: Design
    drawn: Design
    bore_mm: Array
    hole_mm: Array
    barbs: tuple[BarbCorner, ...]
    ball_mm: Array | None
    relief_mm: Array | None
    tip: TipCorner | None
    ring_mm: Array | None
    driver_bore_mm: Array | None
    at_corners: bool = False
    # As a barb's readings: not handed on by `replace`.
    kept: dict[str, Any] = field(default_factory=dict, init=False, repr=False)


@dataclass(frozen=True, eq=False, kw_only=True)
class Offsets:
    """How far sizes are off, as shares of their tolerances.

    Attributes
    ----------
    outside, bore : (n, ...) ndarray
        Outside diameters and bores of the part, over its print tolerance [-].
    tube_wide, tube_narrow : (n, ...) ndarray
        The tube's bore at its largest and its smallest, over its own tolerance [-].
    hole : (n, ...) ndarray
        0 the smallest hole, 1 the largest [-].
    """

    outside: Array
    bore: Array
    tube_wide: Array
    tube_narrow: Array
    hole: Array


def worst_case(design: Design) -> WorstCase:
    """Return a design at its lean and fat corners, with the smallest and largest hole.

    Lean: every outside diameter less the tolerance, every bore plus it. Fat: the
    other way. A tube's bore may be at either end on any part: seal and grip take
    the widest, pushing on and squeeze the narrowest.

    Parameters
    ----------
    design : Design
        Drawn sizes, floats or arrays [mm].

    Returns
    -------
    WorstCase
        Sizes with the four corners on the first axis [mm].

    Source: judgement
    """
    return replace(case_at(design, _off(design, _OUTSIDE, _LARGE_HOLE)), at_corners=True)


def parts_between(case: WorstCase, count: int) -> WorstCase:
    """Return parts from lean to fat in holes from the smallest to the largest.

    For what is worst at some size in between, as a blow is at some free length.

    Parameters
    ----------
    case : WorstCase
        One whose cases are not corners is given back as it is.
    count : int
        Parts, and holes; even, so that half of them stand nearer to either end [-].

    Returns
    -------
    WorstCase
        In the order of `CORNERS`, as many parts in holes for each [mm].

    Source: judgement
    """
    if not case.at_corners:
        return case
    half = count // 2
    # Axes: lean or fat, small or large hole, and the parts and holes next to that corner.
    side = np.linspace(-1.0, 1.0, count).reshape(2, 1, half, 1)
    hole = np.linspace(0.0, 1.0, count).reshape(1, 2, 1, half)
    sides, holes = (np.ravel(one) for one in np.broadcast_arrays(side, hole))
    return case_at(case.design, _off(case.design, sides, holes))


def _off(design: Design, sides: ArrayLike, large: ArrayLike) -> Offsets:
    """Return whole parts off by shares of their tolerance, in holes from small to large."""
    shape = _common_shape(design)
    side, hole = (
        np.broadcast_to(one, (len(one), *shape))
        for one in (np.reshape(row, (-1,) + (1,) * len(shape)) for row in (sides, large))
    )
    wide = np.ones(side.shape)
    return Offsets(outside=side, bore=-side, tube_wide=wide, tube_narrow=-wide, hole=hole)


def case_at(design: Design, offsets: Offsets) -> WorstCase:
    """Return a design with its sizes off by given shares of their tolerances.

    Parameters
    ----------
    design : Design
        Drawn sizes, floats or arrays [mm].
    offsets : Offsets
        Shares, the cases on the first axis [-].

    Returns
    -------
    WorstCase
        Sizes with the cases on the first axis [mm].

    Source: judgement
    """
    conditions, material = design.conditions, design.conditions.material
    side, large = offsets.outside, offsets.hole

    def outside(size_mm: Number) -> Array:
        return np.asarray(size_mm + offsets.outside * material.tolerance_at(size_mm))

    def inside(size_mm: Number) -> Array:
        return np.asarray(size_mm + offsets.bore * material.tolerance_at(size_mm))

    hole = conditions.hole_low_mm + large * (conditions.hole_high_mm - conditions.hole_low_mm)
    barbs = []
    # A tool has no barb for the tube its connector is made for.
    for barb, tube in zip(design.barbs, conditions.tubes, strict=bool(design.barbs)):
        shift = side * material.tolerance_at(barb.crest_mm)
        barbs.append(
            BarbCorner(
                drawn=barb,
                tube=tube,
                # One shell moves together: crest less root keeps its drawn difference.
                root_mm=np.asarray(barb.root_mm + shift),
                crest_mm=np.asarray(barb.crest_mm + shift),
                nose_mm=np.asarray(barb.nose_mm + shift),
                neck_mm=outside(barb.neck_mm),
                tube_wide_mm=np.asarray(
                    tube.inner_mm + offsets.tube_wide * tube.inner_tolerance_mm
                ),
                tube_narrow_mm=np.asarray(
                    tube.inner_mm + offsets.tube_narrow * tube.inner_tolerance_mm
                ),
            )
        )
    hub, ring = design.hub, design.ring
    tip = _tip_corner(design, offsets, hole) if design.tip is not None else None
    return WorstCase(
        kind=design.kind,
        conditions=conditions,
        rules=conditions.rules,
        design=design,
        drawn=compensated(design),
        bore_mm=inside(design.bore_mm),
        hole_mm=np.asarray(hole),
        barbs=tuple(barbs),
        ball_mm=outside(hub.ball_mm) if hub is not None else None,
        relief_mm=inside(hub.relief_mm) if hub is not None else None,
        tip=tip,
        ring_mm=outside(ring.ring_mm) if ring is not None else None,
        driver_bore_mm=inside(ring.driver_bore_mm) if ring is not None else None,
    )


def _common_shape(design: Design) -> tuple[int, ...]:
    """Return the shape that all of a design's sizes and conditions share."""
    conditions = design.conditions
    # A plain number takes any shape: only arrays tell one.
    shapes = {
        value.shape
        for record in (
            conditions,
            conditions.material,
            conditions.wood,
            *conditions.tubes,
            *design.barbs,
            design.tip,
            design.hub,
            design.own,
        )
        if record is not None
        for value in vars(record).values()
        if isinstance(value, np.ndarray)
    }
    return np.broadcast_shapes(np.shape(design.bore_mm), *shapes)


def seated(case: WorstCase) -> tuple[Tip, TipCorner]:
    """Return the tip of a part that has one, as drawn and at the corners.

    Parameters
    ----------
    case : WorstCase
        A part with a tip [mm].

    Source: own_arithmetic
    """
    tip = case.design.tip
    assert tip is not None
    assert case.tip is not None
    return tip, case.tip


def _tip_corner(design: Design, offsets: Offsets, hole_mm: Array) -> TipCorner:
    tip, conditions = design.tip, design.conditions
    assert tip is not None
    material, side = conditions.material, offsets.outside
    off = conditions.tip_tolerance_mm
    # Too fat it does not enter, too lean it sinks too far: both are found by hand and laid
    # aside, so strength and seal are asked of the parts that fit.
    fit = np.clip(hole_mm - tip.lead_mm - side * off, 0.0, tip.taper * tip.scatter_mm)
    lead = hole_mm - fit
    # One shell moves together: of a part that is less fat the bore is less narrow as well, else a
    # looser print would look better. A leaner one keeps its wide bore, which is no help.
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.clip((lead - tip.lead_mm) / (side * off), 0.0, 1.0)
    kept = np.where((side > 0.0) & ~np.isnan(share), share, 1.0)
    bore = kept * offsets.bore * material.tolerance_at(tip.bore_mm)
    start = fit / tip.taper
    proud = np.maximum(tip.seat_mm - start - tip.contact_mm - conditions.bark_least_mm, 0.0)
    hand = hand_travel(conditions, tip.taper, hole_mm)
    return TipCorner(
        bore_mm=np.asarray(tip.bore_mm + bore),
        lead_mm=np.asarray(lead),
        root_mm=np.asarray(tip.root_mm + lead - tip.lead_mm),
        start_mm=np.asarray(start),
        # First contact is where the printed taper meets the hole, whatever was drawn.
        mouth_mm=np.asarray(hole_mm + tip.taper * tip.contact_mm),
        proud_mm=np.asarray(proud),
        free_mm=np.asarray(tip.seat_mm - start - tip.contact_mm + design.driven_length_mm),
        travel_mm=np.asarray(tip.contact_mm + tip.tick_pitch_mm + hand * np.ones_like(start)),
    )
