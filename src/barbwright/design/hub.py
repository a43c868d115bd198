"""The ball where bores cross, and the pad a hammer meets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Generic

import numpy as np

from barbwright.design.conditions import Conditions
from barbwright.design.flats import between_spanners
from barbwright.design.rounding import GRID_MM, round_down, round_up
from barbwright.equations import N, Number, square

# A pad must stand out over its stem, or it is none.
PAD_OVER_STEM_MM = 2.0
# Over what two prints may be off, so that a fork is not pressed on.
_SLOT_OVER_MM = 0.1


@dataclass(frozen=True, eq=False, kw_only=True)
class Hub(Generic[N]):
    """Drawn sizes of the hub ball, its relief ball and the strike pad.

    Attributes
    ----------
    ball_mm, relief_mm : float or array
        Diameters of the hub ball and of the relief ball at the crossing [mm].
    blend_mm : float or array
        Radius of the blends between necks and ball [mm].
    pad_mm, stem_mm : float or array
        The hexagonal strike pad over its flats; diameter of the stem it stands on [mm].
    pad_thickness_mm, pad_height_mm, chamfer_mm : float or array
        Pad's thickness; its plane top above the hub's centre; its edge's chamfer [mm].
    """

    ball_mm: N
    relief_mm: N
    blend_mm: N
    pad_mm: N
    stem_mm: N
    pad_thickness_mm: N
    pad_height_mm: N
    chamfer_mm: N


def blend_end(ball_mm: N, neck_mm: N, blend_mm: N) -> N:
    """Return how far from the hub's centre a neck's blend ends [mm].

    Parameters
    ----------
    ball_mm, neck_mm : float or array
        Diameters of the hub ball and of the neck [mm].
    blend_mm : float or array
        Radius of the blend between them [mm].

    Returns
    -------
    float or array
        Nothing where the neck is wider than the ball, which is refused by name [mm].
    """
    along = square(ball_mm / 2.0 + blend_mm) - square(neck_mm / 2.0 + blend_mm)
    end: N = np.sqrt(np.maximum(along, 0.0))
    return end


def least_ball(neck_mm: Number, other_mm: Number, blend_mm: Number) -> Number:
    """Return the ball on which two necks at 90 degrees keep their blends apart.

    Parameters
    ----------
    neck_mm, other_mm : float or array
        Diameters of the neighbouring necks [mm].
    blend_mm : float or array
        Radius of both blends [mm].

    Returns
    -------
    float or array
        Least ball diameter: (R + f)2 = (r1 + f)2 + (r2 + f)2 [mm].

    Source: own_derivation
    """
    apart = np.hypot(neck_mm / 2.0 + blend_mm, other_mm / 2.0 + blend_mm)
    return 2.0 * (apart - blend_mm)


def fork_slot(root_mm: Number, tolerance_mm: Number) -> Number:
    """Return the slot of a fork that passes a tip's plain neck, whatever both print off [mm].

    Parameters
    ----------
    root_mm, tolerance_mm : float or array
        The neck, and what a print of its size may be off [mm].

    Source: own_derivation
    """
    return round_up(root_mm + 2.0 * tolerance_mm + _SLOT_OVER_MM, 0.1)


def size_hub(
    conditions: Conditions,
    *,
    bore_mm: Number,
    neck_mm: Number,
    tube_on_crest_mm: Number,
    tip_root_mm: Number,
    mark_pad_mm: Number,
    given: Mapping[str, Number],
) -> Hub:
    """Return the hub for arms of one bore and neck with a tip below them.

    Parameters
    ----------
    conditions : Conditions
        What the part is designed for [mm].
    bore_mm, neck_mm : float or array
        The wider of the bores that meet, and the neck of the arms [mm].
    tube_on_crest_mm : float or array
        Outer diameter of the tube on its barb [mm].
    tip_root_mm : float or array
        Diameter of the tip's plain neck [mm].
    mark_pad_mm : float or array
        Pad over its flats that the mark asks for [mm].
    given : mapping
        Sizes forced by the user [mm].

    Returns
    -------
    Hub
        Drawn sizes [mm].

    Source: own_derivation, judgement
    """
    rules, material = conditions.rules, conditions.material
    relief = given.get("relief_ball", round_up(rules["relief_ball_factor"] * bore_mm, GRID_MM))
    blend = rules["neck_blend_radius_mm"]
    rise = rules["pad_above_ball_limit_mm"]
    least = np.maximum(
        relief + 2.0 * material.min_wall_exposed_mm, rules["hub_over_relief"] * relief
    )
    # A hair more than the geometry asks, so that two blends never meet in a point.
    apart = rules["blend_gap_mm"]
    least = np.maximum(least, least_ball(neck_mm, tip_root_mm, blend) + apart)
    least = np.maximum(least, least_ball(neck_mm, neck_mm, blend) + apart)
    # The pad may rise little above the ball and must clear the tube on its barb.
    clear = tube_on_crest_mm / 2.0 + rules["pad_above_tube_mm"] - rise
    least = np.maximum(least, 2.0 * clear)
    # A fork beside the neck lifts by what of the ball stands over its slot.
    slot = fork_slot(tip_root_mm, material.tolerance_at(tip_root_mm))
    least = np.maximum(least, slot + 2.0 * rules["fork_under_ball_mm"])
    ball = given.get("hub_ball", round_up(least, 0.1))
    pad = np.maximum(rules["pad_over_bit"] * conditions.bit_mm, mark_pad_mm)
    # The tip's root follows from its taper: what carries the pad is no wider, and on the grid.
    stem = round_down(np.minimum(tip_root_mm, neck_mm), GRID_MM)
    # A pad no wider than its stem is refused; without a mark a small bit would ask for one.
    pad = np.maximum(pad, stem + PAD_OVER_STEM_MM)
    return Hub(
        ball_mm=ball,
        relief_mm=relief,
        blend_mm=blend,
        pad_mm=given.get("pad", between_spanners(pad, rules["pad_off_spanner_mm"])),
        stem_mm=stem,
        pad_thickness_mm=rise,
        pad_height_mm=ball / 2.0 + rise,
        chamfer_mm=rules["pad_chamfer_mm"],
    )
