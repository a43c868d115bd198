"""The hub's table: exact on its rows, linear between, flat for thick hubs, else unknown."""

import numpy as np
import pytest

from barbwright.catalog import hub_crossing
from barbwright.checks.strength import crossing_table, hub_peak
from barbwright.equations.crossing import (
    crossing_factor,
    hub_factor,
    small_bore_factor,
    unequal_bores_factor,
)
from printed import printed

ROWS, COLUMNS = (1.5, 2.0, 3.0), (1.4, 2.4)
SMALL = ((8.0, 4.0), (4.0, 3.0), (5.0, 2.0))


def test_exact_on_every_row_and_column_of_the_shipped_table():
    table = hub_crossing()
    relief, hub = np.meshgrid(table.relief_over_bore, table.hub_over_relief, indexing="ij")
    places = table.relief_over_bore, table.hub_over_relief
    found = hub_factor(relief, hub, *places, table.von_mises)
    assert found == pytest.approx(np.array(table.von_mises), rel=1e-12)


@pytest.mark.parametrize(
    ("relief", "hub", "by_hand"),
    [
        (1.75, 1.9, (8.0 + 4.0 + 4.0 + 3.0) / 4.0),
        # A quarter down, three quarters across: 0.25 x (7 + 3 x 3.75).
        (1.625, 2.15, 0.25 * 7.0 + 0.75 * 3.75),
        (2.5, 1.4, 4.5),
        (3.0, 1.9, 3.5),
        (1.75, 50.0, 3.5),  # beyond the last column
        (3.0, 50.0, 2.0),
    ],
)
def test_by_hand(relief, hub, by_hand):
    assert hub_factor(relief, hub, ROWS, COLUMNS, SMALL) == pytest.approx(by_hand, rel=1e-12)


@pytest.mark.parametrize(
    ("relief", "hub"), [(1.499, 2.0), (3.001, 2.0), (2.0, 1.399), (1.0, 1.0), (np.nan, 2.0)]
)
def test_nothing_is_known_outside_the_rows_or_of_a_thinner_hub(relief, hub):
    assert np.isnan(hub_factor(relief, hub, ROWS, COLUMNS, SMALL))


def peak(relief, hub, tip_bore=1.0):
    return hub_peak(1.0, tip_bore, relief, hub * relief)


def test_arrays_of_any_shape_give_what_single_numbers_give():
    relief, hub = np.linspace(1.4, 6.0, 47)[:, None], np.linspace(1.3, 5.0, 23)
    found = peak(relief, hub, 0.6)
    assert found.shape == (47, 23)
    singly = [[float(peak(float(r), float(h), 0.6)) for h in hub] for r in relief[:, 0]]
    # A CPU may vectorise the last bit otherwise than one number at a time.
    np.testing.assert_allclose(found, np.array(singly), rtol=1e-13)
    assert np.isnan(found).any()
    assert np.isfinite(found).any()


@pytest.mark.parametrize("tip_bore", [1.0, 0.6, 0.1])
def test_a_thicker_hub_is_never_worse(tip_bore):
    relief, hub = np.linspace(1.45, 5.0, 300)[:, None], np.linspace(1.4, 6.0, 300)
    assert np.all(np.diff(peak(relief, hub, tip_bore), axis=1) <= 1e-12)


def test_a_larger_relief_ball_helps_up_to_two_bores():
    relief, hub = np.linspace(1.45, 2.0, 100)[:, None], np.linspace(1.4, 6.0, 100)
    assert np.all(np.diff(peak(relief, hub), axis=0) < 0.0)


def test_a_small_bore_in_a_thick_hub_by_hand():
    """k 3: s = 29/52 p, so 2 s + 2 p = 3.1154 p; in an endless wall s is p/2, hence 3 p."""
    assert small_bore_factor(3.0) == pytest.approx(2.0 * 29.0 / 52.0 + 2.0, rel=1e-12)
    assert small_bore_factor(1e4) == pytest.approx(3.0, rel=1e-9)


def test_unequal_bores_lie_between_equal_ones_and_a_small_one():
    assert unequal_bores_factor(2.5, 3.1, 0.25) == pytest.approx(2.5 * 0.25 + 1.1 * 3.1 * 0.75)
    assert unequal_bores_factor(2.5, 3.1, 1.0) == 2.5
    # Where equal bores are worse than a small one alone, they count.
    assert unequal_bores_factor(4.2, 3.4, 0.25) == 4.2


def test_which_of_the_bores_is_the_wider_makes_no_difference():
    assert hub_peak(2.0, 3.0, 5.0, 12.0) == hub_peak(3.0, 2.0, 5.0, 12.0)


def test_cross_bores_are_linear_between_rows_flat_above_3_and_unknown_below_1_4():
    table = crossing_table()
    assert printed(crossing_factor(2.0, *table), "3.36")
    assert printed(crossing_factor(2.25, *table), "3.22")
    assert printed(crossing_factor(3.7, *table), "2.92")
    assert np.isnan(crossing_factor(1.39, *table))
    assert printed(crossing_factor(1.4, *table), "4.27")
