"""What is taken for risen: honest readings almost never, a vessel that was filled nearly always."""

from __future__ import annotations

import numpy as np
import pytest

from barbwright.inference.rises import TAKEN_FOR_RISEN, allowed_rise, largest_rise

READ_TO = 50.0
LOGS = 20_000


def taken_for_risen(levels):
    pairs = levels.shape[1] * (levels.shape[1] - 1) // 2
    allowed = allowed_rise(READ_TO, pairs)
    rises = []
    for row in levels:
        before, after = largest_rise(row)
        rises.append(row[after] - row[before])
    return float(np.mean(np.array(rises) > allowed))


@pytest.mark.parametrize("readings", [2, 5, 17, 61])
def test_honest_logs_of_a_tree_that_takes_nothing_are_almost_never_taken_for_risen(readings):
    """No flow at all is the worst case: whatever falls rises less."""
    draw = np.random.default_rng(20)
    share = taken_for_risen(5000.0 + READ_TO * draw.standard_normal((LOGS, readings)))
    # Three deviations of a share counted over so many logs.
    assert share <= TAKEN_FOR_RISEN + 3.0 * np.sqrt(TAKEN_FOR_RISEN / LOGS)


def test_the_allowance_is_no_larger_than_it_must_be():
    """Of a single pair it is the probability itself: one log in a thousand."""
    draw = np.random.default_rng(21)
    share = taken_for_risen(READ_TO * draw.standard_normal((200_000, 2)))
    assert share == pytest.approx(TAKEN_FOR_RISEN, rel=0.25)


def test_a_vessel_that_was_filled_is_told_in_one_go_and_bit_by_bit():
    draw = np.random.default_rng(22)
    minutes = np.arange(17.0)
    falling = 5000.0 - 5.0 * minutes
    for filled in (500.0 * (minutes >= 9.0), np.clip(100.0 * (minutes - 6.0), 0.0, 500.0)):
        levels = falling + filled + READ_TO * draw.standard_normal((500, 17))
        assert taken_for_risen(levels) > 0.99


def test_the_largest_rise_is_named_by_its_two_readings():
    assert largest_rise(np.array([9.0, 4.0, 5.0, 3.0, 6.0, 2.0])) == (3, 4)
    assert largest_rise(np.array([3.0, 2.0])) == (0, 1)


def test_a_million_readings_have_an_allowance():
    assert 6.0 < allowed_rise(1.0, 10**12) < 12.0
