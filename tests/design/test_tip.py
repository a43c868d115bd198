"""Sizing rules of the tip, and the two lengths put back into their balance of forces."""

from math import atan, cos, pi, sin

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from barbwright.design.draw import tick_positions
from barbwright.design.tip import length_to_hold, length_to_squash
from barbwright.equations.seat import driving_force, holding_force, seat_area
from example_job import design_of, outcomes_of


def test_demo_tip():
    tip = design_of().tip
    low, high = 5.953125 + 0.1, 5.953125 + 0.4
    assert float(tip.lead_mm) == pytest.approx(low - 0.3 - 0.1, abs=0.01)
    assert float(tip.lead_mm) + 0.3 < low
    assert float(tip.bore_mm) == 2.5
    assert float(tip.contact_mm) == pytest.approx(1.5 * high, abs=0.1)
    scatter = (high + 0.3 - float(tip.lead_mm)) / 0.05
    assert float(tip.seat_mm) == pytest.approx(scatter + float(tip.contact_mm) + 8.0, abs=0.1)
    assert float(tip.root_mm) == pytest.approx(float(tip.lead_mm) + 0.05 * float(tip.seat_mm))
    assert float(tip.hole_depth_mm) == pytest.approx(float(tip.seat_mm) + 10.0)
    assert float(tip.neck_mm) == 3.0


def test_a_measured_hole_and_a_calibrated_print_shorten_the_seat():
    loose = float(design_of().tip.seat_mm)
    measured = float(design_of(hole="6.2mm").tip.seat_mm)
    # (hole range + 2 t)/taper: 0.3 mm of range becomes 0.1.
    assert loose - measured == pytest.approx(0.2 / 0.05, abs=0.5)


forces = {
    "contact": st.floats(0.2, 8.0),
    "hole": st.floats(3.0, 14.0),
    "taper": st.floats(0.02, 0.10),
}


@settings(max_examples=200, deadline=None)
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


@settings(max_examples=200, deadline=None)
@given(
    strength=st.floats(10.0, 60.0), friction=st.floats(0.1, 0.7), bore=st.floats(0.2, 0.8), **forces
)
def test_length_to_squash_is_a_root_of_the_balance(contact, hole, taper, strength, friction, bore):
    bore, factor, lost = bore * hole, 1.5, 2.0
    assume(pi / 4.0 * (hole**2 - bore**2) > lost)
    length = float(length_to_squash(contact, strength, hole, bore, lost, taper, friction, factor))

    def balance(at):
        section = pi / 4.0 * ((hole + taper * at) ** 2 - bore**2) - lost
        return strength * section - factor * driving_force(
            contact, seat_area(hole, taper, at), taper, friction
        )

    assert balance(0.0) > 0.0
    if np.isfinite(length):
        assume(length < 1e6)
        scale = strength * pi / 4.0 * (hole + taper * length) ** 2
        assert balance(length) == pytest.approx(0.0, abs=1e-6 * scale)
        assert balance(0.999 * length) > 0.0
    else:
        assert all(balance(at) > 0.0 for at in np.geomspace(0.1, 1e5, 60))


def test_no_length_holds_a_taper_that_backs_out():
    assert np.isinf(length_to_hold(2.0, 0.3, 6.0, 0.5, 0.2, 3.0, 1.0))


def test_demo_window_ends_in_the_checks_own_terms():
    design = design_of()
    tip = design.tip
    a = atan(0.025)
    low = 6.053125
    heat = 1.0 - 0.25 * 7.0 / 17.0
    at = float(tip.window_high_mm) + 1.0
    by_interference = 0.12 * low / 0.05
    area = pi * (low + 0.05 * at / 2.0) * at / cos(a)
    force = 1.3 * 4.2 * area * (0.35 * cos(a) + sin(a))
    section = pi / 4.0 * ((low + 0.05 * at) ** 2 - 2.8**2) - 2.0
    squashed = 43.0 * 0.9 * heat * section - 1.5 * force
    assert at <= by_interference + 1e-9
    assert squashed >= -1e-6
    assert at == pytest.approx(by_interference) or squashed == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("pressure", ["10psi", "45psi", "60psi", "75psi"])
def test_contact_sized_for_hold_passes_hold_just_so(pressure):
    design = design_of(pressure=pressure)
    hold = outcomes_of(pressure=pressure)["wood_hold"]
    tip = design.tip
    assert float(tip.contact_mm) >= 1.5 * 6.353125 - 1e-9
    if float(tip.window_low_mm) <= float(tip.window_high_mm):
        assert hold.verdict == "pass"
        assert float(tip.window_low_mm) <= float(tip.contact_mm) <= float(tip.window_high_mm) + 0.1
        if float(tip.hold_length_mm) > 1.5 * 6.353125:
            assert hold.safety_factor == pytest.approx(3.0, rel=0.03)
    else:
        # No travel holds this much in this part: the check says so, not the sizing.
        assert hold.safety_factor < 3.0


def test_where_no_length_fits_all_there_is_is_given():
    tip = design_of(wood="fir balsam", pressure="55psi").tip
    assert float(tip.hold_length_mm) > float(tip.window_high_mm)
    assert float(tip.contact_mm) == pytest.approx(float(tip.window_high_mm), abs=0.1)


@pytest.mark.parametrize("more", [{}, {"hole": "6.2mm"}, {"bark": "0mm"}, {"bark": "20mm"}])
def test_ticks_are_two_apart_end_at_the_seat_and_reach_every_place_of_the_bark(more):
    design = design_of("elbow", **more)
    below = tick_positions(design)
    assert below[0] == 0.0
    assert np.diff(below) == pytest.approx(np.full(len(below) - 1, 2.0))
    tip, conditions = design.tip, design.conditions
    fat_start = (float(conditions.hole_low_mm) - float(tip.lead_mm) - 0.3) / 0.05
    lowest_bark = float(tip.seat_mm) - fat_start - float(conditions.bark_mm)
    # One more tick would stand below any place where the bark's surface can be.
    assert below[-1] <= lowest_bark + 1e-9 < below[-1] + 2.0 + 1e-9


def test_a_shoulder_never_reaches_the_bark_on_the_lean_part_in_the_largest_hole():
    tip = design_of().tip
    start = (6.353125 - (float(tip.lead_mm) - 0.3)) / 0.05
    assert start + float(tip.contact_mm) + 8.0 <= float(tip.seat_mm) + 1e-9
