"""What an afternoon of readings is worth: wrong verdicts that it takes away, by an hour."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barbwright.inference.products import NINE_IN_TEN, Prior, Spreads

# A wrong pass may hurt somebody, a wrong fail costs a print (judgement).
WRONG_PASS, WRONG_FAIL = 3.0, 1.0
_NODES = 41


@dataclass(frozen=True, kw_only=True)
class Stake:
    """A verdict that leans on a product.

    Attributes
    ----------
    margin : float
        Logarithm of expected capacity over design factor times expected demand [-].
    passes : bool
        Whether the check passes today.
    sensitivity : float
        How far the margin moves with the product's logarithm; negative where more is worse [-].
    weight : float
        What a wrong verdict of this check counts [-].
    """

    margin: float
    passes: bool
    sensitivity: float
    weight: float = 1.0


def expected_loss(
    stake: Stake, prior: Prior, judged: float, spreads: Spreads, readings: int, logs: int
) -> float:
    """Return the loss by wrong verdicts that is expected after so many readings [-].

    Parameters
    ----------
    stake : Stake
        The verdict.
    prior : Prior
        What is believed of the product.
    judged : float
        The product by judgement numbers, which today's verdict rests on [-].
    spreads : Spreads
        How far readings scatter.
    readings : int
        Readings in all; 0 is today's verdict [-].
    logs : int
        Logs they are from [-].

    Notes
    -----
    Two normals, what is true and what is read of it, by Gauss-Hermite points: no drawing.

    Source: own_derivation
    """
    way = stake.sensitivity
    off, believed = np.log(prior.median / judged), prior.deviation
    points, weights = np.polynomial.hermite_e.hermegauss(_NODES)
    weights = weights / weights.sum()
    true = off + believed * points
    seat = abs(way) * NINE_IN_TEN * spreads.seat
    good = stake.margin + way * true - seat >= 0.0
    if readings == 0:
        passes = np.full((_NODES, 1), stake.passes)
        seen = np.ones(1)
    else:
        error = np.sqrt(
            (spreads.log**2 + spreads.systematic**2) / logs
            + (spreads.reading**2 + spreads.hole**2) / readings
        )
        precision = 1.0 / error**2 + 1.0 / believed**2
        read = true[:, None] + error * points[None, :]
        middle = (read / error**2 + off / believed**2) / precision
        spread = abs(way) * NINE_IN_TEN * np.hypot(spreads.seat, 1.0 / np.sqrt(precision))
        passes = stake.margin + way * middle - spread >= 0.0
        seen = weights
    wrong = np.where(good[:, None], WRONG_FAIL * ~passes, WRONG_PASS * passes)
    return float(stake.weight * weights @ (wrong @ seen))
