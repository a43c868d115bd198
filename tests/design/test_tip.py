"""Sizing rules of the tip, and the two lengths put back into their balance of forces."""

from dataclasses import replace
from math import atan, cos, pi, sin

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from barbwright.design.compensate import compensated
from barbwright.design.draw import tick_positions
from barbwright.design.tip import (
    asked_of,
    hand_travel,
    lead_diameter,
    length_to_hold,
    size_tip,
    spread,
    travel_by_hand,
)
from barbwright.equations.seat import driving_force, holding_force, seat_area
from example_job import design_of

LOW, HIGH = 5.953125 + 0.1, 5.953125 + 0.4


def test_demo_tip():
    tip = design_of().tip
    # Hole and print vary by themselves: sqrt(0.3 2 + 0.6 2); the lead stands in the middle.
    covered = np.hypot(HIGH - LOW, 0.6)
    assert covered == pytest.approx(0.6708, abs=1e-4)
    lead = (LOW + HIGH) / 2.0 - covered / 2.0 - 0.1
    assert lead - 0.05 < float(tip.lead_mm) <= lead
    assert float(tip.bore_mm) == 2.0
    # One hole diameter, in whole millimetres.
    assert float(tip.contact_mm) == 7.0
    # Scatter, and what the lead lost to the grid, at 1:15; contact, a tick more and 8 mm of bark.
    reach = covered + 0.1 + lead - float(tip.lead_mm)
    assert float(tip.seat_mm) == pytest.approx(reach * 15.0 + 7.0 + 2.0 + 8.0, abs=0.1)
    assert float(tip.seat_mm) <= 29.0
    assert float(tip.root_mm) == pytest.approx(
        float(tip.lead_mm) + float(tip.seat_mm) / 15.0, abs=1e-4
    )
    assert float(tip.hole_depth_mm) == pytest.approx(float(tip.seat_mm) + 10.0)
    assert float(tip.neck_mm) == 3.0


def test_a_measured_hole_a_calibrated_print_and_a_grade_shorten_the_seat():
    def asked(low, high, off):
        """Scatter at 1:15 with what the lead lost to the grid; contact, a tick more and bark."""
        covered = np.hypot(high - low, 2.0 * off)
        lead = (low + high) / 2.0 - covered / 2.0 - 0.1
        lost = lead - np.floor(lead / 0.05) * 0.05
        return (covered + 0.1 + lost) * 15.0 + 17.0

    loose = float(design_of().tip.seat_mm)
    assert loose == pytest.approx(asked(LOW, HIGH, 0.3), abs=0.1)
    hole = design_of(hole="6.2mm")
    low, high = float(hole.conditions.hole_low_mm), float(hole.conditions.hole_high_mm)
    assert high - low == pytest.approx(0.1)
    assert float(hole.tip.seat_mm) == pytest.approx(asked(low, high, 0.3), abs=0.1)
    assert float(hole.tip.seat_mm) < loose
    graded = float(design_of(grade="2").tip.seat_mm)
    # A third of the print's spread is left: 0.1 mm either way.
    assert graded == pytest.approx(asked(LOW, HIGH, 0.1), abs=0.1)
    assert graded <= 24.5
    calibrated = design_of().conditions
    calibrated = replace(calibrated, material=replace(calibrated.material, tolerance_mm=0.1))
    assert float(size_tip(calibrated, {}).seat_mm) == pytest.approx(graded)


def test_random_parts_that_do_not_fit_are_few():
    """Varying as prints and bits do: under 1 in 300 outside the spread; even ranges: 1 in 25."""
    tip, source = design_of().tip, np.random.default_rng(4)
    hole = source.uniform(LOW, HIGH, 200_000)
    lead = tip.lead_mm + source.uniform(-0.3, 0.3, hole.size)
    fits = (hole > lead) & (hole - lead < tip.taper * tip.scatter_mm)
    assert fits.mean() == pytest.approx(0.96, abs=0.01)
    # Normal, three deviations inside the tolerance: hardly any.
    hole = source.normal((LOW + HIGH) / 2.0, 0.05, hole.size)
    lead = tip.lead_mm + source.normal(0.0, 0.1, hole.size)
    fits = (hole > lead) & (hole - lead < tip.taper * tip.scatter_mm)
    assert fits.mean() > 1.0 - 1.0 / 300.0
    # A batch all lean loses a quarter, one all fat hardly any: one is measured on arrival.
    assert np.mean(hole - tip.lead_mm + 0.3 > tip.taper * tip.scatter_mm) > 0.2
    assert np.mean(hole < tip.lead_mm + 0.3) < 0.05


@given(
    low=st.floats(3.0, 12.0), wide=st.floats(0.02, 0.5), off=st.floats(0.01, 0.5),
    more=st.floats(0.0, 0.3),
)  # fmt: skip
def test_the_lead_stands_in_the_middle_of_its_spread(low, wide, off, more):
    covered = spread(low, low + wide, off)
    # Less than the sum of both ranges, more than either.
    assert max(wide, 2.0 * off) <= covered <= wide + 2.0 * off
    assert spread(low, low + wide, off + more) >= covered
    lead = lead_diameter(low, low + wide, covered, 0.1)
    tightest, loosest = lead + 0.1, lead + 0.1 + covered
    assert (tightest + loosest) / 2.0 == pytest.approx(low + wide / 2.0)


def test_three_graded_leads_stand_two_thirds_of_a_tolerance_apart():
    sizes = {}
    for grade in ("1", "2", "3"):
        design = design_of(grade=grade)
        sizes[grade] = (design.tip.lead_mm, compensated(design).tip.lead_mm)
    # All three are judged on the size that fits; only what is drawn differs.
    assert len({wanted for wanted, _ in sizes.values()}) == 1
    drawn = [drawn for _, drawn in sizes.values()]
    assert np.diff(drawn) == pytest.approx([0.2, 0.2])
    assert drawn[1] == sizes["2"][0]


def test_hand_tight_is_a_push_of_15_newtons():
    conditions = design_of().conditions
    travel = float(hand_travel(conditions, 1.0 / 15.0, LOW))
    assert 0.2 < travel < 0.6
    force = driving_force(1.3 * 4.2, seat_area(LOW, 1.0 / 15.0, travel), 1.0 / 15.0, 0.35)
    assert float(force) == pytest.approx(15.0)


forces = {
    "contact": st.floats(0.2, 8.0),
    "hole": st.floats(3.0, 14.0),
    "taper": st.floats(0.02, 0.10),
}


@settings(max_examples=200)
@given(pressure=st.floats(0.05, 1.0), friction=st.floats(0.1, 0.4), **forces)
def test_length_to_hold_is_a_root_of_the_balance(contact, hole, taper, pressure, friction):
    reading, factor = 1.0, 3.0
    length = float(length_to_hold(contact, pressure, hole, taper, friction, factor, reading))

    def balance(at):
        held = holding_force(contact, seat_area(hole, taper, at - reading), taper, friction)
        return held - factor * pressure * pi / 4.0 * (hole + taper * at) ** 2

    if np.isfinite(length):
        assume(length < 1e6)
        scale = factor * pressure * pi / 4.0 * (hole + taper * length) ** 2
        assert balance(length) == pytest.approx(0.0, abs=1e-6 * scale)
        # It is the first: a shorter one does not hold.
        assert balance(reading + 0.999 * (length - reading)) < 0.0
    else:
        assert all(balance(at) < 0.0 for at in np.geomspace(1.1, 1e5, 60))


@settings(max_examples=200)
@given(push=st.floats(1.0, 100.0), friction=st.floats(0.1, 0.7), **forces)
def test_the_hands_travel_is_a_root_of_the_balance(contact, hole, taper, push, friction):
    travel = float(travel_by_hand(push, contact, hole, taper, friction))
    force = driving_force(contact, seat_area(hole, taper, travel), taper, friction)
    assert travel > 0.0
    assert float(force) == pytest.approx(push, rel=1e-9)


def test_no_length_holds_a_taper_that_backs_out():
    assert np.isinf(length_to_hold(2.0, 0.3, 6.0, 0.5, 0.2, 3.0, 1.0))


def test_demo_window_ends_at_the_interference_less_a_millimetre():
    tip = design_of().tip
    assert float(tip.window_high_mm) == pytest.approx(0.12 * LOW * 15.0 - 1.0)
    # A seat that moves is tapped one tick deeper, and the hand has pushed already.
    assert float(tip.most_contact_mm) == np.floor(0.12 * LOW * 15.0 - 3.0)


@pytest.mark.parametrize("wood", ["oak northern red", "yellow-poplar", "fir balsam"])
@pytest.mark.parametrize("taper", [1 / 10, 1 / 15, 1 / 20, 1 / 30])
@pytest.mark.parametrize("pressure", ["10psi", "45psi", "75psi"])
def test_a_window_never_crosses(wood, taper, pressure):
    tip = design_of(wood=wood, pressure=pressure, settings=(f"taper={taper}",)).tip
    assert float(tip.window_low_mm) <= float(tip.window_high_mm)


def test_contact_is_whole_millimetres_of_what_hold_asks():
    """1:25 in yellow-poplar: two thrusts at the expected hold, put back into their balance."""
    design = design_of(wood="yellow-poplar", pressure="60psi", settings=("taper=0.04",))
    asked = asked_of(design.conditions, {}, 0.04)
    length, contact = float(asked.hold_proved_mm), float(design.tip.contact_mm)
    assert length > float(asked.hole_mm)
    assert contact == np.ceil(length)
    a, relaxed = atan(0.02), 0.5 * design.conditions.wood.crush_mpa
    held = relaxed * seat_area(HIGH, 0.04, length - 1.0) * (0.2 * cos(a) - sin(a))
    thrust = design.conditions.highest_mpa * pi / 4.0 * (HIGH + 0.04 * length) ** 2
    assert float(held) == pytest.approx(2.0 * thrust, rel=1e-9)


def test_contact_is_as_long_as_the_proud_wall_asks():
    """13/64 in with 4 mm of bark: it must go in until what stands proud is thick enough."""
    design = design_of(bit="13/64", bark="4mm")
    tip = design.tip
    at_bark = tip.lead_mm + tip.taper * (tip.contact_mm + 4.0)
    assert (at_bark - tip.bore_mm) / 2.0 >= 0.9 * 2.0 - 1e-6
    asked = asked_of(design.conditions, {}, tip.taper)
    # The thickest print meets the smallest hole only so far behind its lead end.
    first = (design.conditions.hole_low_mm - tip.lead_mm - 0.3) / tip.taper
    assert first > 0.0
    at_asked = tip.lead_mm + tip.taper * (first + asked.wall_proved_mm + 4.0)
    assert (at_asked - tip.bore_mm) / 2.0 == pytest.approx(0.9 * 2.0)


def test_where_no_length_holds_all_there_is_is_given():
    tip = design_of(wood="fir balsam", pressure="55psi").tip
    assert float(tip.hold_length_mm) > float(tip.window_high_mm)
    assert float(tip.contact_mm) == float(tip.most_contact_mm)


@pytest.mark.parametrize("more", [{}, {"hole": "6.2mm"}, {"bark": "0mm"}, {"bark": "20mm"}])
def test_ticks_are_two_apart_end_at_the_seat_and_reach_every_place_of_the_bark(more):
    design = design_of("elbow", **more)
    below = tick_positions(design)
    assert below[0] == 0.0
    assert np.diff(below) == pytest.approx(np.full(len(below) - 1, 2.0))
    tip, conditions = design.tip, design.conditions
    off = float(conditions.tip_tolerance_mm)
    fat_start = max((float(conditions.hole_low_mm) - float(tip.lead_mm) - off) * 15.0, 0.0)
    lowest_bark = float(tip.seat_mm) - fat_start - float(conditions.bark_mm)
    # Without bark the lowest would be cut into the lead's edge: a millimetre stays plain there.
    plain = float(tip.lead_round_mm) + 1.0 + float(tip.tick_mm)
    lowest_bark = min(lowest_bark, float(tip.seat_mm) - plain)
    # One more tick would stand below any place where the bark's surface can be.
    assert below[-1] <= lowest_bark + 1e-9 < below[-1] + 2.0 + 1e-9


def test_a_shoulder_never_reaches_the_bark_on_the_leanest_part_that_fits():
    """Nor where it is tapped the one tick deeper that a seat which moves may ask for."""
    tip = design_of().tip
    assert tip.scatter_mm + float(tip.contact_mm) + 2.0 + 8.0 <= float(tip.seat_mm) + 1e-9
