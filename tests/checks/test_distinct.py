"""What is alike is worked out once, and every row gets the answer of its own numbers."""

import numpy as np
import pytest

from barbwright.checks import distinct
from barbwright.checks.distinct import FEW, once_each

RANDOM = np.random.default_rng(19)


def counted():
    """A function of two numbers, and how many rows it was asked for at each call."""
    asked = []

    def work(one, other):
        asked.append(len(one))
        return one * other, np.stack([one, other])

    return work, asked


@pytest.mark.parametrize("kept", [False, True])
@pytest.mark.parametrize("rows", [1, 2, FEW, FEW + 1, 500])
def test_each_row_gets_its_own_answer(rows, kept):
    one = RANDOM.choice([1.0, 2.0, -0.0, 0.0, 7.5], rows)
    other = RANDOM.choice([0.25, 3.0], (2, rows))
    work, asked = counted()
    product, pair = once_each(work, one, other, kept_as=(rows, "mine") if kept else None)
    assert product == pytest.approx(one * other)
    assert np.array_equal(pair, np.broadcast_arrays(one, other))
    assert sum(asked) <= 2 * rows


def test_many_rows_that_are_alike_are_worked_out_once():
    work, asked = counted()
    once_each(work, np.repeat([1.0, 2.0, 3.0], FEW), 5.0)
    assert asked == [3]


def test_what_is_kept_is_worked_out_once_of_however_few_and_not_again():
    work, asked = counted()
    for _ in range(2):
        product, _ = once_each(work, np.array([4.0, 4.0]), 5.0, kept_as="two alike")
        assert list(product) == [20.0, 20.0]
    once_each(work, np.array([4.0, 6.0, 4.0]), 5.0, kept_as="two alike")
    assert asked == [1, 2]


def test_unlike_rows_that_share_a_mixed_number_are_kept_apart(monkeypatch):
    # Nought times anything: every row shares it.
    monkeypatch.setattr(distinct, "_MIXER", np.uint64(0))
    work, asked = counted()
    given = np.arange(2.0 * FEW)
    product, _ = distinct.once_each(work, given, 3.0)
    assert np.array_equal(product, 3.0 * given)
    assert asked == [2 * FEW]


def test_what_is_kept_cannot_be_written_into():
    work, _ = counted()
    product, pair = once_each(work, np.array([4.0]), 5.0, kept_as="not to be written into")
    for one in (product, pair):
        with pytest.raises(ValueError, match="read-only"):
            one[...] = 0.0
