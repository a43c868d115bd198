"""How far a tip is tapped in: the window between leaking and splitting, in mm and in ticks."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, isfinite

from barbwright.design.compensate import graded
from barbwright.design.part import Design, limits_of, sizes_of
from barbwright.design.single import single
from barbwright.say import bare, millimetres

# Tools whose strength is asked for by the wood that a tip is driven into.
_DRIVEN = frozenset({"driver", "fork"})


@dataclass(frozen=True, kw_only=True)
class TapWindow:
    """The tap-depth window, in millimetres and in ticks.

    Attributes
    ----------
    wanted_mm, low_mm, high_mm : float
        Travel from hand-tight: asked for, least and most [mm].
    ticks : int
        Whole ticks nearest to what is asked for, inside the window where one is [-].
    most_ticks : int
        Last whole tick inside the window [-].
    least, most : str
        Both ends of the window in words, rounded into it [mm].
    sentence : str
        What to do.
    further : str
        What a seat that moves does: "goes ...".
    steeper : str
        What to do with pieces whose taper measures steeper than drawn, but is accepted.
    steep_ticks : int
        Whole ticks that are left for such a piece [-].
    """

    wanted_mm: float
    low_mm: float
    high_mm: float
    ticks: int
    most_ticks: int
    least: str
    most: str
    sentence: str
    further: str
    steeper: str
    steep_ticks: int


def tap_window(design: Design) -> TapWindow | None:
    """Return how far a tip is tapped in; none for a part without a tip.

    Parameters
    ----------
    design : Design
        A single part.

    Returns
    -------
    TapWindow or None
        Millimetres and ticks.

    Source: judgement
    """
    tip = single(design).tip
    if tip is None:
        return None
    pitch, wanted, high = tip.tick_pitch_mm, tip.contact_mm, tip.window_high_mm
    low = min(tip.window_low_mm, wanted) if isfinite(tip.window_low_mm) else wanted
    ticks = int(tip.ticks)
    most = max(floor(high / pitch + 1e-9), ticks)
    count = _count(ticks)
    deeper = (
        f"{count} deeper, {millimetres(ticks * pitch)} mm: {millimetres(wanted)} mm are asked for, "
        f"and ticks stand {millimetres(pitch)} mm apart"
        if tip.in_ticks
        else f"{millimetres(wanted)} mm deeper, measured with a rule: no whole tick lies in the "
        "window"
    )
    within, past = bare(low, "up", 1), bare(high, "down", 1)
    leak = f"Under {within} mm it may leak or come out; over " if low < high else "Over "
    # Counted in whole ticks one more may lie past the window, though what is asked for does not.
    on = (ticks + 1) * pitch <= high + 1e-9
    further = "goes one tick deeper" if on else f"goes on to {past} mm, no further"
    told = "" if on else f"A seat that moves {further}. "
    sentence = (
        "Push the tip in by hand until it stops, and note the tick at the bark. Then tap it "
        f"{deeper}. {leak}{past} mm it may split the wood or crush the "
        f"tip. {told}The last tick is the end of the travel."
    )
    if unnamed := unnamed_wood(design):
        sentence += f" {_sentence(unnamed)}"
    left, steeper = _steeper(design, ticks)
    return TapWindow(
        wanted_mm=wanted,
        low_mm=low,
        high_mm=high,
        ticks=ticks,
        most_ticks=most,
        least=within,
        most=past,
        sentence=sentence,
        further=further,
        steeper=steeper,
        steep_ticks=left,
    )


def unnamed_wood(design: Design) -> str:
    """Return what a wood not named means for whoever drives this part; empty where one is named.

    Depths are sized for one hardwood and the hands' rules are the worst wood's: side by side they
    would look like figures of one wood.

    Parameters
    ----------
    design : Design
        A single part.

    Source: judgement
    """
    conditions = design.conditions
    if conditions.wood.known:
        return ""
    if design.kind.carries:
        if design.tip is None:
            return ""
        gravity = conditions.rules["wood_specific_gravity_default"]
        return (
            "no wood is named: this depth is sized for a green hardwood of specific gravity "
            f"{gravity:g}, and the handling rules are those of the worst wood on file, so they "
            "need not agree. Name your wood before you drive"
        )
    if design.kind.name not in _DRIVEN:
        return ""
    return (
        "no wood is named: what this tool takes in the wood is not checked, and its rules for that "
        "are not told. Name your wood before you drive"
    )


def how_to_use(design: Design) -> tuple[str, ...]:
    """Return how a part of its own kind is used, and what a wood not named leaves untold.

    Parameters
    ----------
    design : Design
        A single part.

    Source: judgement
    """
    notes = design.own.notes if design.own is not None else ()
    # With a tip it stands with the depth.
    unnamed = "" if design.kind.carries else unnamed_wood(design)
    return (*notes, *filter(None, [unnamed]))


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + "."


def _steeper(design: Design, ticks: int) -> tuple[int, str]:
    """Return how many ticks the steepest taper that is accepted takes, and what is done with it.

    The checks count with the drawn taper. A flatter one spreads the wood less; a steeper one
    spreads it more at each tick, and is told by its drop, measured when parts arrive.
    """
    part = graded(design)
    tip = single(part).tip
    assert tip is not None
    size, value = sizes_of(part)["taper_drop_mm"]
    drop, (_, most) = float(value), limits_of(part, size, float(value))
    reading, pitch = part.conditions.rules["tap_reading_mm"], tip.tick_pitch_mm
    # The wood's limit is a spread, taper times travel; of the travel a reading is kept back.
    reach = (tip.window_high_mm + reading) * drop / most - reading
    left = max(min(floor(reach / pitch + 1e-9), ticks), 0)
    short = ticks - left
    drawn, accepted = millimetres(drop), millimetres(most)
    fewer = "as said" if not short else f"{_count(short)} less than said"
    further = "" if reach >= (ticks + 1) * pitch else ", and no further where a seat moves"
    if not short and not further:
        return left, ""
    return left, (
        f"Where the plain neck is thicker than the tip's end by over {drawn} mm, up to "
        f"{accepted} mm, tap {fewer}{further}: a steeper taper spreads the wood more at each tick."
    )


def _count(ticks: int) -> str:
    return "1 tick" if ticks == 1 else f"{ticks} ticks"
