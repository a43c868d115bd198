"""How far a tip is tapped in: the window between leaking and splitting, in mm and in ticks."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, isfinite

from barbwright.design.part import Design
from barbwright.design.single import single
from barbwright.say import bare, millimetres


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
    """

    wanted_mm: float
    low_mm: float
    high_mm: float
    ticks: int
    most_ticks: int
    least: str
    most: str
    sentence: str


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
    ticks = ceil(wanted / pitch - 1e-9)
    whole = ticks * pitch <= high + 1e-9
    if not whole:
        ticks = max(floor(wanted / pitch + 1e-9), 1)
    most = max(floor(high / pitch + 1e-9), ticks)
    count = "1 tick" if ticks == 1 else f"{ticks} ticks"
    deeper = (
        f"{count} deeper, {millimetres(ticks * pitch)} mm: {millimetres(wanted)} mm are asked for, "
        f"and ticks stand {millimetres(pitch)} mm apart"
        if whole
        else f"{millimetres(wanted)} mm deeper, measured with a rule: no whole tick lies in the "
        "window"
    )
    within, past = bare(low, "up", 1), bare(high, "down", 1)
    leak = f"Under {within} mm it may leak or come out; over " if low < high else "Over "
    sentence = (
        "Push the tip in by hand until it stops, and note the tick at the bark. Then tap it "
        f"{deeper}. {leak}{past} mm it may split the wood or crush the "
        "tip. The last tick is the end of the travel."
    )
    return TapWindow(
        wanted_mm=wanted,
        low_mm=low,
        high_mm=high,
        ticks=ticks,
        most_ticks=most,
        least=within,
        most=past,
        sentence=sentence,
    )
