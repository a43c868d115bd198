"""A tree's conductance a port: the published row told straight, scaled to the hole it is for.

The row was measured through another hole, at another pressure. What is scaled, by what, and what
nobody knows is said beside the number; no number is moved to meet what is said to be usual.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from barbwright.chain.plan import KPA_PER_MPA
from barbwright.equations.uptake import cut_area_share, line_source_share
from barbwright.say import Voice

# Sinclair and Larsen 1981: holes of 11 x 40 mm, friction-seated spiles of unknown depth in them.
REFERENCE_HOLE_MM, REFERENCE_OPEN_MM = 11.0, (27.0, 40.0)
REFERENCE_MPA = 0.06865
# Common practice, no source: six ports near 40 psi take 2.8 L in 7 to 8 minutes.
PRACTICE_PORTS, PRACTICE_ML, PRACTICE_MIN, PRACTICE_KPA = 6, 2800.0, (7.0, 8.0), 275.79


# Said where the uptake is not this tree's own.
TREES_DIFFER = "Trees differ six-fold: take times as a range and calibrate on the tree."


@dataclass(frozen=True, kw_only=True)
class TreeUptake:
    """Conductance of one port of a tree, and how far it is known.

    Attributes
    ----------
    low, expected, high : float
        Conductance [mL/(min kPa)].
    viscosity_mpa_s : float
        Viscosity at which it was measured [mPa s].
    notes : tuple of str
        What was scaled and by what, and what is not known.
    card : tuple of str
        The part of it that stands on the card itself.
    own : bool
        Whether it was told by this tip in this hole, so that nothing is scaled.
    pressure_kpa : float or None
        Pressure it was told at, gauge [kPa].
    """

    low: float
    expected: float
    high: float
    viscosity_mpa_s: float
    notes: tuple[str, ...] = ()
    card: tuple[str, ...] = ()
    own: bool = False
    pressure_kpa: float | None = None


@dataclass(frozen=True, kw_only=True)
class OpenHole:
    """The hole behind a seated tip.

    Attributes
    ----------
    hole_mm : float
        Diameter, in the middle of its range [mm].
    least_mm, most_mm : float
        Length in sapwood that the tip leaves open, its start scattering [mm].
    """

    hole_mm: float
    least_mm: float
    most_mm: float


def scaled(
    row: TreeUptake,
    hole: OpenHole,
    rules: Mapping[str, float],
    voice: Voice,
    *,
    ring_porous: bool,
) -> TreeUptake:  # fmt: skip
    """Return a published row's conductance for another hole, both ends of what is known.

    Parameters
    ----------
    row : TreeUptake
        As published, through its own hole.
    hole : OpenHole
        The hole it is wanted for [mm].
    rules : mapping
        Judgement numbers.
    voice : Voice
        Which unit of pressure leads.
    ring_porous : bool
        Whether the outermost rings, which the tip covers, conduct most.

    Source: sinclair_larsen1981, own_derivation, comstock1970
    """
    short, long = REFERENCE_OPEN_MM
    low = float(cut_area_share(hole.hole_mm, hole.least_mm, REFERENCE_HOLE_MM, long))
    high = float(
        max(
            cut_area_share(hole.hole_mm, hole.most_mm, REFERENCE_HOLE_MM, short),
            line_source_share(hole.hole_mm, hole.most_mm, REFERENCE_HOLE_MM, short),
        )
    )
    notes = [
        f"The published uptake is of holes {REFERENCE_HOLE_MM:g} x {long:g} mm at "
        f"{voice.plain(REFERENCE_MPA)}. This "
        f"hole of {hole.hole_mm:.1f} mm leaves {hole.least_mm:.0f} to {hole.most_mm:.0f} mm of "
        f"sapwood open behind the tip: {low:.2f} of it by the vessels cut, up to {high:.2f} as a "
        "line source (own derivation). How deep their spiles stood, and how far the sapwood "
        "reaches in this tree, is not known."
    ]
    middle = math.sqrt(low * high)
    if ring_porous:
        low *= rules["chain_ring_porous_share"]
        notes.append(
            "Ring-porous wood: the tip covers the outermost rings, which conduct most, so the low "
            f"end is taken times {rules['chain_ring_porous_share']:g} (judgement)."
        )
    notes.append(TREES_DIFFER)
    return replace(
        row,
        low=row.low * low,
        expected=row.expected * middle,
        high=row.high * high,
        notes=(*row.notes, *notes),
    )


def told_straight(
    tree: TreeUptake, supply_kpa: float, reference_kpa: float, voice: Voice
) -> TreeUptake:
    """Return a tree's uptake with what must stand beside it on card and page.

    Parameters
    ----------
    tree : TreeUptake
        Scaled, or measured.
    supply_kpa : float
        Working pressure, gauge [kPa].
    reference_kpa : float
        Pressure it was measured at, gauge [kPa].
    voice : Voice
        Which unit of pressure leads.

    Source: domec2007, judgement
    """
    card, notes = list[str](), list[str]()
    if supply_kpa > 1.02 * reference_kpa:
        card.append(
            f"Above {voice.plain(reference_kpa / KPA_PER_MPA)} it is not verified that uptake "
            "grows with pressure."
        )
        notes.append(
            "In some species conductivity fell by 20 to 42 % at higher gradients; trees were "
            "measured at no more than that."
        )
    slow, quick = (PRACTICE_ML / PRACTICE_PORTS / time / PRACTICE_KPA for time in
                   reversed(PRACTICE_MIN))  # fmt: skip
    if slow > tree.high or quick < tree.low:
        side = "more" if slow > tree.high else "less"
        card.append(
            "Common practice (six ports, 2.8 L in 7 to 8 min near "
            f"{voice.plain(PRACTICE_KPA / KPA_PER_MPA)}; no source) lies outside this range: it is "
            f"{side} than any of it. No number here was moved to meet it."
        )
    return replace(tree, notes=(*tree.notes, *card, *notes), card=(*tree.card, *card))
