"""Worked cases of laminar flow, seen in public teaching material."""

import pytest

from barbwright.equations.friction import (
    darcy_friction_factor,
    hagen_poiseuille_loss_mpa,
    reynolds_number,
    tube_loss_mpa,
)


def test_needle():
    """University physics problem (status seen): formula only, Reynolds 3638 is not laminar."""
    loss = hagen_poiseuille_loss_mpa(1000.0, 0.35, 31.4, 1.0)
    assert loss * 1e6 == pytest.approx(85254.55, rel=1e-6)
    assert reynolds_number(1000.0, 0.35, 1.0, 1000.0) == pytest.approx(3638, abs=0.5)
    # The tube function knows that and asks for more.
    assert tube_loss_mpa(1000.0, 0.35, 31.4, 1.0, 1000.0) > 1.5 * loss


def test_microfluidic_benchmark():
    """Public microfluidic pressure-drop benchmark, case MPD-0001 (status seen)."""
    loss = tube_loss_mpa(0.1 * 1000 / 60, 0.3, 100.0, 1.0, 1000.0)
    assert loss * 1e6 == pytest.approx(838.347, rel=1e-6)


def test_head_per_kilometre():
    """Textbook-style worked problem (seen): Reynolds 800, 100 mm, 10 L/s: 66.1 m per km."""
    speed_m_s = 0.01 / (3.141592653589793 / 4 * 0.1**2)
    head = darcy_friction_factor(800.0) * 1000 / 0.1 * speed_m_s**2 / (2 * 9.81)
    assert head == pytest.approx(66.1, rel=0.001)
