"""What the tools made for a part carry when they free its tip: wings turn it, a fork lifts it.

The part's own check of freeing and the tools' checks ask here, so that no rule tells a hand to do
what its tool does not carry.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barbwright.checks.corners import Array, TipCorner, worst_case
from barbwright.design.conditions import Conditions
from barbwright.design.foot import below_ball, foot_height, foot_of
from barbwright.design.kind import Design, Tines, Wings
from barbwright.design.kinds.driver import fit_driver
from barbwright.design.kinds.fork import fit_fork
from barbwright.equations import Number, square
from barbwright.equations.column import beam_load, growing_flexibility, segment_area


def tools_of(host: Design) -> tuple[Wings | None, Tines]:
    """Return what turns a part, where anything does, and what lifts it, as its tools are drawn.

    Parameters
    ----------
    host : Design
        Tip, elbow or tee [mm].

    Source: own_derivation
    """
    return fit_driver(host, {}).wings, fit_fork(host, {}).tines


def ends(conditions: Conditions, size_mm: Number) -> tuple[Array, Array]:
    """Return a drawn size lean and fat, each with an axis for the cases in front [mm].

    Parameters
    ----------
    conditions : Conditions
        For the material's tolerance [mm].
    size_mm : float or array
        As drawn [mm].

    Source: own_arithmetic
    """
    t = conditions.material.tolerance_at(size_mm)
    lean, fat = np.asarray(size_mm - t, dtype=float), np.asarray(size_mm + t, dtype=float)
    return lean[None, ...], fat[None, ...]


@dataclass(frozen=True, eq=False, kw_only=True)
class Passed:
    """Torque at which a driver's wings give way, one axis for the cases in front [N mm].

    Attributes
    ----------
    at_least_nmm, expected_nmm, at_most_nmm : ndarray
        Lean necks that crack as soon as their skin is at its strength, necks as drawn, and fat
        ones that yield right through, each where a finger lies worst.
    """

    at_least_nmm: Array
    expected_nmm: Array
    at_most_nmm: Array


def wings_pass(wings: Wings, conditions: Conditions) -> Passed:
    """Return the torque at which a driver's wings give way.

    Parameters
    ----------
    wings : Wings
        As drawn [mm].
    conditions : Conditions
        Material and judgement numbers.

    Source: beam_theory, judgement
    """
    near, far, neck = wings.near_mm, wings.far_mm, wings.neck_mm
    strength, rules = conditions.material.handling_short_z_mpa, conditions.rules
    lean, fat = ends(conditions, neck)
    lean = np.maximum(lean, 0.0)

    def torque(side: Array, finger: Number, breaks_at: Number) -> Array:
        return np.asarray(wings.torque_nmm(side, finger, breaks_at))

    most, likely = rules["wing_strength_upper"], rules["wing_strength_expected"]
    # The nearer a finger lies to its neck, the harder it turns before that bends.
    return Passed(
        at_least_nmm=torque(lean, far, strength),
        expected_nmm=torque(
            np.asarray(neck, dtype=float)[None], (near + far) / 2.0, likely * strength
        ),
        at_most_nmm=torque(fat, near, most * strength),
    )


def untapped(host: Design, slot_mm: Number) -> Array:
    """Return how high what a fork bears on stands over sound wood, hand-tight, at the corners.

    Parameters
    ----------
    host : Design
        The part, whose own corners are in front [mm].
    slot_mm : float or array
        The fork's slot [mm].

    Source: own_derivation
    """
    return _over_wood(host, _corners(host), slot_mm)


def _corners(host: Design) -> TipCorner:
    theirs = worst_case(host).tip
    assert theirs is not None
    return theirs


def _over_wood(host: Design, theirs: TipCorner, slot_mm: Number) -> Array:
    tip = host.tip
    assert tip is not None
    return np.asarray(tip.seat_mm - theirs.start_mm + foot_height(host, slot_mm))


def tapped(host: Design, slot_mm: Number) -> Array:
    """Return what stands free over the bark, tapped a tick too far, at the part's corners [mm].

    Parameters
    ----------
    host : Design
        The part [mm].
    slot_mm : float or array
        The fork's slot [mm].

    Source: own_derivation
    """
    theirs = _corners(host)
    over_bark = _over_wood(host, theirs, slot_mm) - host.conditions.bark_mm
    return np.asarray(over_bark - theirs.travel_mm)


def fork_bears(tines: Tines, host: Design) -> Array:
    """Return the force that squashes the edges of a fork's steps under ball or ring [N].

    Parameters
    ----------
    tines : Tines
        As drawn [mm].
    host : Design
        The part: lean, over a wide slot [mm].

    Source: own_derivation
    """
    conditions = host.conditions
    pressed = foot = ends(conditions, foot_of(host))[0]
    slot = ends(conditions, tines.slot_mm)[1]
    if host.hub is not None:
        below = np.maximum(below_ball(foot, slot) - conditions.rules["fork_sinks_mm"], 0.0)
        pressed = np.sqrt(square(foot) - 4.0 * square(below))
    capacity = conditions.material.handling_short_xy_mpa * segment_area(pressed, slot)
    return np.asarray(np.where(foot > slot, capacity, 0.0))


def fork_spreads(tines: Tines, host: Design) -> Array:
    """Return the force that spreads a fork's tines, or breaks them over uneven bark [N].

    At the step that goes under the least gap, which is thinnest and farthest from the
    block. Across layers, because nobody says how it is laid.

    Parameters
    ----------
    tines : Tines
        As drawn [mm].
    host : Design
        The part [mm].

    Source: beam_theory, own_derivation, wedge_friction
    """
    conditions = host.conditions
    material, rules = conditions.material, conditions.rules
    gap = np.min(tapped(host, tines.slot_mm), axis=0)
    step = np.clip(np.floor(gap / tines.rise_mm), 1.0, tines.steps)
    strength, tine = material.handling_short_z_mpa, ends(conditions, tines.tine_mm)[0]
    thin = ends(conditions, step * tines.rise_mm)[0]
    foot = ends(conditions, foot_of(host))[0]
    span = rules["fork_span_over_foot"] * foot_of(host)
    capacity = np.asarray(beam_load(strength, 2.0 * tine, thin, span))
    if host.hub is None:
        return capacity
    slot = ends(conditions, tines.slot_mm)[1]
    arm = (tines.steps - step + 0.5) * tines.step_mm
    grows = tines.rise_mm / tines.step_mm
    # Half of what still holds the ball, before it falls through.
    give = np.maximum(foot - slot, 0.0) / 4.0
    stiff = material.handling_modulus_mpa * give / growing_flexibility(tine, thin, grows, arm)
    strong = strength * square(tine) * (thin + grows * arm) / 6.0 / arm
    outward = slot / 2.0 / np.maximum(below_ball(foot, slot), 1e-6)
    return np.asarray(np.minimum(capacity, 2.0 * np.minimum(stiff, strong) / outward))


def fork_lifts(tines: Tines, host: Design) -> Array:
    """Return the pull that a fork carries with its factors, by whichever of both is less [N].

    Parameters
    ----------
    tines : Tines
        As drawn [mm].
    host : Design
        The part [mm].

    Source: own_derivation
    """
    rules = host.conditions.rules
    return np.minimum(
        fork_bears(tines, host) / rules["design_factor_fork_bearing"],
        fork_spreads(tines, host) / rules["design_factor_fork_bend"],
    )
