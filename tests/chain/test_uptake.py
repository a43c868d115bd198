"""The published row scaled to the hole, both ends shown, and what nobody knows said."""

import pytest

from barbwright import catalog
from barbwright.chain.uptake import (
    PRACTICE_KPA,
    PRACTICE_ML,
    PRACTICE_PORTS,
    TREES_DIFFER,
    OpenHole,
    TreeUptake,
    scaled,
    told_straight,
)
from barbwright.equations.uptake import cut_area_share, line_source_share
from barbwright.say import IMPERIAL

RULES = {"chain_ring_porous_share": 0.5}
ROW = TreeUptake(low=0.5, expected=1.0, high=1.5, viscosity_mpa_s=1.0)


@pytest.mark.parametrize(
    ("species", "open_mm", "minutes"),
    [
        ("Ulmus americana", 23.0, 3.7),
        ("Acer saccharum", 23.0, 11.4),
        ("Ulmus americana", 13.0, 6.5),
        ("Acer saccharum", 13.0, 20.0),
    ],
)
def test_the_trials_own_minutes_come_out_of_the_formula(species, open_mm, minutes):
    """An earlier trial of the same derivation: 2.8 L, six ports, 40 psi, no line in between."""
    row = catalog.uptakes()[species]
    own = row.conductance_ml_min_per_kpa * cut_area_share(6.2, open_mm, 11.0, 40.0)
    found = PRACTICE_ML / (PRACTICE_PORTS * own * PRACTICE_KPA)
    assert found == pytest.approx(minutes, rel=0.015)


def test_the_same_hole_takes_the_same():
    assert cut_area_share(11.0, 40.0, 11.0, 40.0) == 1.0
    assert line_source_share(11.0, 40.0, 11.0, 40.0) == 1.0


def test_a_narrower_hole_costs_a_line_source_less_than_the_vessels_it_cuts():
    assert line_source_share(6.0, 40.0, 11.0, 40.0) > cut_area_share(6.0, 40.0, 11.0, 40.0)


def test_the_row_is_scaled_between_its_two_ends_and_both_are_said():
    hole = OpenHole(hole_mm=6.2, least_mm=13.0, most_mm=23.0)
    found = scaled(ROW, hole, RULES, IMPERIAL, ring_porous=False)
    assert found.low == pytest.approx(0.5 * cut_area_share(6.2, 13.0, 11.0, 40.0))
    assert found.high == pytest.approx(1.5 * line_source_share(6.2, 23.0, 11.0, 27.0))
    assert found.low < found.expected < found.high
    assert "0.18" in found.notes[0]
    assert "0.72" in found.notes[0]
    assert "not known" in found.notes[0]


def test_a_ring_porous_tree_has_a_wider_range_and_says_so():
    hole = OpenHole(hole_mm=6.2, least_mm=13.0, most_mm=23.0)
    plain, ring = (scaled(ROW, hole, RULES, IMPERIAL, ring_porous=one) for one in (False, True))
    assert ring.low == pytest.approx(0.5 * plain.low)
    assert (ring.expected, ring.high) == (plain.expected, plain.high)
    assert "Ring-porous" in ring.notes[-2]
    assert ring.notes[-1] == plain.notes[-1] == TREES_DIFFER


def test_what_is_not_verified_above_its_pressure_stands_on_the_card():
    assert "not verified" in told_straight(ROW, 310.0, 68.65, IMPERIAL).card[0]
    wide = TreeUptake(low=0.01, expected=0.2, high=1.0, viscosity_mpa_s=1.0)
    assert told_straight(wide, 69.0, 68.65, IMPERIAL).card == ()


@pytest.mark.parametrize(("factor", "word"), [(0.01, "more"), (100.0, "less"), (0.25, "")])
def test_common_practice_outside_the_range_is_said_and_moves_nothing(factor, word):
    tree = TreeUptake(low=0.5 * factor, expected=factor, high=1.5 * factor, viscosity_mpa_s=1.0)
    found = told_straight(tree, 69.0, 69.0, IMPERIAL)
    assert (found.low, found.expected, found.high) == (tree.low, tree.expected, tree.high)
    if word:
        assert f"it is {word} than any" in found.card[-1]
    else:
        assert found.card == ()
