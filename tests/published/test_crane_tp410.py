"""Crane TP-410, Flow of Fluids. Printed answers seen in a public notebook (status second-hand)."""

import pytest

from barbwright.equations.friction import darcy_friction_factor, velocity_pressure_mpa


def test_example_7_1_smooth_pipe():
    """Example 7-1: Reynolds 100600, smooth: f = 0.0179, three digits printed."""
    assert darcy_friction_factor(100600.0) == pytest.approx(0.0179, rel=0.005)


def test_example_7_13_pressure_drop():
    """Example 7-13: f 0.023, 100 ft of 2.067 in, 2 gal/s at 814.2665 kg/m3: 66.5 kPa."""
    bore_mm, length_mm = 2.067 * 25.4, 100 * 304.8
    head = velocity_pressure_mpa(2 * 3785411.784, bore_mm, 814.2665)
    assert 0.023 * length_mm / bore_mm * head * 1e6 == pytest.approx(66500, rel=0.003)
