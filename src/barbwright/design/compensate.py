"""A design as it must be drawn: for what a service prints off, and for its grade of a set."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from barbwright.design.kind import Design


def graded(design: Design) -> Design:
    """Return a design with the lead that its grade of a set prints to.

    The size wanted is the middle lead's: of a set, the one that prints to it is taken. Papers
    that go with a piece name the piece's own lead.

    Parameters
    ----------
    design : Design
        Sizes that are wanted [mm].

    Returns
    -------
    Design
        Sizes of this grade's pieces; the same design where it has no grade [mm].

    Source: own_derivation
    """
    conditions, tip = design.conditions, design.tip
    shift = conditions.grade_shift_mm
    if tip is None or np.all(shift == 0.0):
        return design
    return replace(
        design,
        # Ticks stand by the hole and the lead: both move together, so they stay where they were.
        conditions=replace(
            conditions,
            hole_low_mm=conditions.hole_low_mm + shift,
            hole_high_mm=conditions.hole_high_mm + shift,
            grade=0,
        ),
        tip=replace(tip, lead_mm=tip.lead_mm + shift, root_mm=tip.root_mm + shift),
    )


def compensated(design: Design) -> Design:
    """Return a design with every diameter drawn off by what its service prints off.

    Outsides and bores each move by their own offset, the other way. A graded tip is
    drawn off the middle grade: of a set, the one that prints to the wanted size is
    taken. Lengths stay, and so do the places of ticks and marks.

    Parameters
    ----------
    design : Design
        Sizes that are wanted; its conditions hold the offsets [mm].

    Returns
    -------
    Design
        Sizes to be drawn; the same design where there is no offset [mm].

    Source: own_derivation
    """
    design = graded(design)
    conditions = design.conditions
    outside, bore = conditions.outside_offset_mm, conditions.bore_offset_mm
    if outside == 0.0 and bore == 0.0:
        return design
    barbs = tuple(
        replace(
            barb,
            root_mm=barb.root_mm - outside,
            crest_mm=barb.crest_mm - outside,
            nose_mm=barb.nose_mm - outside,
            neck_mm=barb.neck_mm - outside,
            shoulder_mm=barb.shoulder_mm - outside,
        )
        for barb in design.barbs
    )
    tip, hub, ring, own = design.tip, design.hub, design.ring, design.own
    if tip is not None:
        tip = replace(
            tip,
            bore_mm=tip.bore_mm - bore,
            lead_mm=tip.lead_mm - outside,
            root_mm=tip.root_mm - outside,
        )
    if hub is not None:
        hub = replace(
            hub,
            ball_mm=hub.ball_mm - outside,
            relief_mm=hub.relief_mm - bore,
            pad_mm=hub.pad_mm - outside,
            stem_mm=hub.stem_mm - outside,
        )
    if ring is not None:
        ring = replace(
            ring, ring_mm=ring.ring_mm - outside, driver_bore_mm=ring.driver_bore_mm - bore
        )
    # As above, of the service's offset.
    moved = replace(
        conditions,
        hole_low_mm=conditions.hole_low_mm - outside,
        hole_high_mm=conditions.hole_high_mm - outside,
        outside_offset_mm=0.0,
        bore_offset_mm=0.0,
        grade=0,
    )
    return replace(
        design,
        conditions=moved,
        bore_mm=design.bore_mm - bore,
        barbs=barbs,
        tip=tip,
        hub=hub,
        ring=ring,
        own=own.compensated(outside, bore) if own is not None else None,
    )
