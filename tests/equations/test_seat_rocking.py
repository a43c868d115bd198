"""A rigid peg tilted in wood that crushes at one stress, held to its own statics."""

import numpy as np
import pytest
from scipy.optimize import brentq

from barbwright.equations.seat import rocking_force


def by_statics(crush: float, width: float, length: float, lever: float) -> float:
    """Find the point a peg turns about by the sum of moments alone, and the force there."""

    def force(turn: float) -> float:
        # Crushed one way from the mouth to the turning point, the other way below it.
        return crush * width * (2.0 * turn - length)

    def moment(turn: float) -> float:
        above = crush * width * turn * (lever + turn / 2.0)
        below = crush * width * (length - turn) * (lever + (turn + length) / 2.0)
        return above - below

    return force(brentq(moment, length / 2.0, length, xtol=1e-14))


@pytest.mark.parametrize("lever", [0.0, 0.5, 4.0, 25.0, 80.0])
@pytest.mark.parametrize("length", [3.0, 7.0, 22.0])
def test_force_and_moment_are_in_balance(length, lever):
    assert rocking_force(4.2, 6.4, length, lever) == pytest.approx(
        by_statics(4.2, 6.4, length, lever), rel=1e-9
    )


# Broms (1964), short free-headed pile in a bed of one strength (from memory): pushed at the
# surface it takes sqrt(2) - 1 of the bed's whole resistance.
def test_pushed_at_the_surface_it_takes_the_published_share():
    assert rocking_force(1.0, 1.0, 1.0, 0.0) == pytest.approx(np.sqrt(2.0) - 1.0, rel=1e-12)


def test_a_longer_lever_and_a_shorter_seat_take_less():
    levers = rocking_force(4.2, 6.4, 7.0, np.linspace(0.0, 60.0, 50))
    lengths = rocking_force(4.2, 6.4, np.linspace(0.0, 30.0, 50), 20.0)
    assert np.all(np.diff(levers) < 0.0)
    assert np.all(np.diff(lengths) > 0.0)
    assert lengths[0] == 0.0


def test_a_seat_of_a_hundredth_is_in_balance_and_none_takes_nothing():
    assert rocking_force(4.2, 6.4, 0.01, 4.0) == pytest.approx(
        by_statics(4.2, 6.4, 0.01, 4.0), rel=1e-6
    )
    assert rocking_force(4.2, 6.4, np.array([0.0]), 0.0) == 0.0
