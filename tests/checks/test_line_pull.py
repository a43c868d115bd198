"""A tug along the line on a seated tip: an instruction to tie the line, never more."""

import numpy as np
import pytest
from scipy.optimize import brentq

from barbwright.checks.corners import worst_case
from barbwright.checks.driving import side_turn
from barbwright.checks.strength import line_pull
from barbwright.checks.wood import wood_hold
from barbwright.design.measured import PRODUCTS, Figures
from barbwright.equations.column import ring_inertia
from example_job import design_of, outcomes_of, with_conditions


def test_a_tug_tilts_a_short_seat_long_before_it_breaks_the_tip():
    case = worst_case(design_of("elbow"))
    found = line_pull(case)
    tip, rules = case.tip, case.rules
    lever = tip.free_mm - case.design.hub.pad_height_mm
    area = tip.mouth_mm**2 - tip.bore_mm**2
    axial = case.conditions.highest_mpa * tip.bore_mm**2 / area
    bending = rules["mouth_spot_factor"] * lever * tip.mouth_mm / 2.0
    bending = bending / ring_inertia(tip.bore_mm, tip.mouth_mm)
    breaks = (case.conditions.material.short_z_mpa - axial) / bending
    assert np.allclose(found.capacity[:4], breaks)
    assert np.all(found.capacity_expected[4:] < breaks)
    # Fifth percentile of the species over its mean: the same wood, weaker.
    share = found.capacity[4:] / found.capacity_expected[4:]
    assert np.allclose(share, rules["wood_fifth_percentile"])


def test_a_seat_tilts_where_its_wood_crushes_to_both_sides_of_the_point_it_turns_about():
    """1.3 C90 above that point one way and below it the other, in balance with the tug; of the
    contact a millimetre is not counted, and its mean diameter is half way along the rest."""
    case = worst_case(design_of("elbow"))
    crush, long = 1.3 * 4.2, 7.0 - 1.0
    for at, found in enumerate(line_pull(case).capacity_expected[4:]):
        lever = float(case.tip.free_mm[at] - case.design.hub.pad_height_mm)
        mean = float(case.tip.mouth_mm[at]) - long / 15.0 / 2.0

        def turned(deep, lever=lever):
            above = deep * (lever + deep / 2.0)
            return above - (long - deep) * (lever + (deep + long) / 2.0)

        deep = brentq(turned, long / 2.0, long, xtol=1e-13)
        assert found == pytest.approx(crush * mean * (2.0 * deep - long), rel=1e-9)


def test_it_is_a_caution_at_worst_and_says_to_tie_the_line():
    one = outcomes_of("tee")["line_pull"]
    assert one.verdict == "caution"
    assert one.rule.startswith("tie the line before pressure")
    assert one.advice["tug_n"] * 1.25 <= one.capacity * (1.0 + 1e-12)


def test_one_rule_speaks_for_tip_and_barb():
    """Soft tube comes off its barb at a small tug too: one line, with the least number."""
    found = outcomes_of("tee")
    rules = [one.rule for one in found.values() if "tie the line before" in one.rule]
    assert len(rules) == 1


def test_in_line_it_is_what_holds_the_tip_beyond_one_thrust():
    case = worst_case(design_of("tip"))
    hold, pull = wood_hold(case), line_pull(case)
    assert np.allclose(pull.capacity, hold.capacity - hold.demand)
    assert outcomes_of("tip")["line_pull"].capacity == np.min(pull.capacity)


def test_without_a_wood_it_is_not_checked():
    assert outcomes_of("elbow", wood=None)["line_pull"].verdict == "not_checked"


def test_a_measured_hold_stands_in_where_a_line_turns_the_seat():
    """Turned it slides along no slope: of two ways to read the pull, the worse for the part."""
    design = design_of("elbow")
    rules, taper = design.conditions.rules, float(design.tip.taper)
    by_judgement = side_turn(worst_case(design)).capacity
    product = PRODUCTS["hold"]
    half = 0.5 * float(product.value(rules, taper))
    figures = Figures(lower=half, expected=half, upper=half, taper=taper)
    measured = with_conditions(design, measured={"hold": figures})
    case = worst_case(measured)
    found = side_turn(case).capacity
    slope = np.sin(np.arctan(taper / 2.0))
    relaxed = rules["wood_relaxation"]
    friction = (half / relaxed + slope) / np.cos(np.arctan(taper / 2.0))
    least = min(half / float(product.value(rules, taper)), friction / rules["wood_friction_hold"])
    # Judgement takes the species' fifth percentile; the measured figure has its own spread.
    assert np.allclose(found, by_judgement * least / rules["wood_fifth_percentile"])
