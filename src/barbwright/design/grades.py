"""A graded set: three leads, of which the one that fits is chosen by hand."""

from __future__ import annotations

from barbwright.design.conditions import GRADES
from barbwright.design.part import Design


def how_to_choose(design: Design) -> str:
    """Return how the grade that fits is found without an instrument; empty for an ungraded part.

    Parameters
    ----------
    design : Design
        A single part [mm].

    Source: own_derivation, judgement
    """
    tip, conditions = design.tip, design.conditions
    if tip is None or not conditions.grade:
        return ""
    least = conditions.rules["lead_clearance_mm"] / tip.taper
    return (
        f"Grade {conditions.grade} of {GRADES}, thinnest first, marked with as many dots. Drill a "
        "board without bark with the bit of the job and push one tip of each grade in by hand: the "
        f"grade that fits stops between {least:.0f} and {tip.scatter_mm:.0f} mm in. One that does "
        "not enter is too thick, one that goes in further too thin. Take the grade nearest to the "
        "middle for the whole batch, and choose again for a new bit or a new batch."
    )
