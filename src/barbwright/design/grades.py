"""A graded set: three leads, of which the one that fits is chosen by hand."""

from __future__ import annotations

from barbwright.design.compensate import graded
from barbwright.design.conditions import GRADES
from barbwright.design.part import Design, sizes_of, tolerance_of
from barbwright.say import millimetres

_LEADS = ("thinnest lead, one dot", "middle lead, two dots", "thickest lead, three dots")


def grade_words(grade: int) -> str:
    """Return which lead of a set a part has, in words; empty for an ungraded part.

    Parameters
    ----------
    grade : int
        1 to 3; 0 for an ungraded part [-].
    """
    return f"grade {grade} of {GRADES} ({_LEADS[grade - 1]})" if grade else ""


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


def batch_words(design: Design) -> str:
    """Return what is measured of each batch before it goes to work; empty for a part without tip.

    Pieces of one batch are off together: chosen at random one tip in some hundreds does not
    fit, but of a batch at the end of its tolerance a quarter or more.

    Parameters
    ----------
    design : Design
        A single part [mm].

    Source: own_derivation, judgement
    """
    if design.tip is None:
        return ""
    own = graded(design)
    size, lead = sizes_of(own)["lead_diameter_mm"]
    drawn, spread = float(lead), tolerance_of(own, size, float(lead))
    calipers = (
        f"Measure one lead of each batch on arrival, {size.where}: {millimetres(drawn)} mm is "
        f"drawn, {millimetres(drawn - spread)} to {millimetres(drawn + spread)} mm may come. "
    )
    if design.conditions.grade:
        return calipers + "Pieces of one batch are off together, so one board tells for all of it."
    return calipers + (
        "Pieces of one batch are off together: near either end a quarter of the holes or more may "
        "not take them, and graded leads (make --grades) or a calibrated print are the cure."
    )
