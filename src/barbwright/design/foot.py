"""What of a part a fork bears on: the ring, or the hub's ball beside the fork's slot."""

from __future__ import annotations

import numpy as np

from barbwright.design.kind import Design
from barbwright.equations import N, Number, square


def foot_of(host: Design[N]) -> N:
    """Return the diameter of the ring or of the ball that a fork bears on [mm].

    Parameters
    ----------
    host : Design
        Tip, elbow or tee [mm].

    Source: own_derivation
    """
    if host.hub is not None:
        return host.hub.ball_mm
    assert host.ring is not None
    return host.ring.ring_mm


def below_ball(ball_mm: N, slot_mm: N) -> N:
    """Return how far below a ball's centre a slot's edges touch it; none where it falls through.

    Parameters
    ----------
    ball_mm, slot_mm : float or array
        Diameter and width [mm].

    Source: own_derivation
    """
    below: N = np.sqrt(np.maximum(square(ball_mm) - square(slot_mm), 0.0)) / 2.0
    return below


def foot_height(host: Design[N], slot_mm: N) -> N:
    """Return how high the place a fork bears on stands over the taper's root [mm].

    Parameters
    ----------
    host : Design
        Tip, elbow or tee [mm].
    slot_mm : float or array
        Width of the fork's slot: beside it the ball bears [mm].

    Returns
    -------
    float or array
        To the ring, or to the lower of ball and tube on its arm, which a fork that
        comes from beside passes first [mm].

    Source: own_derivation
    """
    assert host.tip is not None
    if host.hub is None:
        return host.tip.neck_mm
    lowest: N = np.maximum(below_ball(host.hub.ball_mm, slot_mm), host.tube_on_crest_mm / 2.0)
    return host.seat_root_mm - lowest


def hook_lever(host: Design, foot_mm: Number, slot_mm: Number, eyes_mm: Number) -> Number:
    """Return from where ball or ring presses on a hook to the eye beside it [mm].

    Parameters
    ----------
    host : Design
        Tip, elbow or tee [mm].
    foot_mm, slot_mm, eyes_mm : float or array
        What presses, the hook's slot, and from eye to eye: a ball presses on the slot's
        edge, a ring half way out to its own [mm].

    Source: own_derivation
    """
    pressed = slot_mm if host.hub is not None else (slot_mm + foot_mm) / 2.0
    return (eyes_mm - pressed) / 2.0
