import math

import numpy as np
import pytest

from barbwright.equations import vessel
from oracles import linear_run_down_seconds

AMBIENT = 0.101325


@pytest.mark.parametrize("exponent", [1.0, 1.2, 1.4])
def test_recharge_point_and_air_head_undo_the_expansion(exponent):
    start, head = 0.45, 3000.0
    end = vessel.pressure_after_delivery_mpa(start, head, 1200.0, exponent)
    assert vessel.delivery_to_pressure_ml(start, head, end, exponent) == pytest.approx(1200.0)
    assert vessel.air_head_for_band_ml(1200.0, start, end, exponent) == pytest.approx(head)


def test_adiabatic_air_falls_faster_than_isothermal():
    pressures = vessel.pressure_after_delivery_mpa(0.45, 3000.0, 1000.0, np.array([1.0, 1.2, 1.4]))
    assert np.all(np.diff(pressures) < 0)


@pytest.mark.parametrize("delivered", [10.0, 500.0, 3000.0])
def test_quadrature_equals_the_closed_form_of_a_linear_vessel(delivered):
    conductance, start, head = 12.0, 0.45, 2000.0
    by_numbers = vessel.run_down_seconds(
        lambda p: conductance * (p - AMBIENT), start, head, delivered, 1.0
    )
    closed = linear_run_down_seconds(conductance, start, head, delivered, AMBIENT)
    assert by_numbers == pytest.approx(closed, rel=1e-9)


def test_closed_form_solves_its_differential_equation():
    """dV/dt from differences of the closed form equals G (P0 V0/V - Pa)."""
    conductance, start, head, h = 12.0, 0.45, 2000.0, 0.01
    for delivered in (50.0, 900.0, 4000.0):
        later, sooner = (
            linear_run_down_seconds(conductance, start, head, delivered + d, AMBIENT)
            for d in (h, -h)
        )
        flow = conductance * (start * head / (head + delivered) - AMBIENT)
        assert 2 * h / (later - sooner) == pytest.approx(flow, rel=1e-6)


def test_a_vessel_at_ambient_pressure_never_finishes():
    assert math.isinf(linear_run_down_seconds(12.0, 0.2, 100.0, 500.0, AMBIENT))
    flow = lambda p: 12.0 * (p - AMBIENT)  # noqa: E731
    assert math.isinf(vessel.run_down_seconds(flow, 0.2, 100.0, 500.0, 1.0))


def test_warming_to_relief_is_gay_lussac():
    warm = vessel.warming_to_relief_c(0.4, 0.44, 20.0)
    assert (warm + 273.15) / 293.15 == pytest.approx(1.1)


def test_a_flow_that_stops_just_then_never_finishes_and_a_slow_one_does():
    assert math.isinf(vessel.run_down_seconds(lambda p: 0.0, 0.4, 1000.0, 500.0, 1.0))
    assert vessel.run_down_seconds(lambda p: 0.5, 0.4, 1000.0, 500.0, 1.0) == pytest.approx(1000.0)
