"""A bracket is narrowed to the side of the verdict that it says, one or thousands at a time."""

import numpy as np
import pytest

from barbwright.rating.roots import turning_points


@pytest.mark.parametrize("count", [1, 7, 500, 5000])
@pytest.mark.parametrize("rising", [True, False])
def test_the_passing_end_passes_the_failing_end_fails_and_both_are_near_the_edge(count, rising):
    edge = np.linspace(0.013, 1.987, count)

    def fails(values, args):
        return (values > args[0]) if rising else (values < args[0])

    passing, failing = turning_points(fails, np.full(count, 0.001), np.full(count, 2.0), (edge,))
    assert not fails(passing, (edge,)).any()
    assert fails(failing, (edge,)).all()
    assert np.abs(passing - failing).max() <= 2e-7
    assert np.abs(passing - edge).max() <= 2e-7


def test_of_several_edges_the_first_from_the_lower_end_is_found():
    passing, failing = turning_points(
        lambda values, _args: (values > 0.3) & (values < 0.6), np.array([0.0]), np.array([0.5])
    )
    assert passing[0] <= 0.3 < failing[0]


def test_no_bracket_has_no_edge():
    passing, failing = turning_points(lambda values, _args: values > 0, np.empty(0), np.empty(0))
    assert passing.size == failing.size == 0
