import numpy as np
import pytest
from fluids.friction import Churchill_1977, friction_factor

from barbwright.equations import friction

REYNOLDS = np.geomspace(0.3, 1e6, 500)


def test_matches_the_library_one_by_one_and_as_an_array():
    values = friction.darcy_friction_factor(REYNOLDS)
    expected = [Churchill_1977(r, 0.0) if r >= 1 else 64 / r for r in REYNOLDS]
    assert values == pytest.approx(expected, rel=1e-14)
    assert friction.darcy_friction_factor(2500.0) == pytest.approx(Churchill_1977(2500.0, 0.0))


def test_the_selector_jumps_where_our_choice_does_not():
    """Why `friction_factor` is not used: 57 % at Reynolds 2040, ours under 0.1 %."""
    jump = friction_factor(2040.0) / friction_factor(2039.999)
    ours = friction.darcy_friction_factor(2040.0) / friction.darcy_friction_factor(2039.999)
    assert jump == pytest.approx(1.57, abs=0.01)
    assert ours == pytest.approx(1.0, abs=1e-3)


def test_the_library_overflows_at_rest_where_ours_is_laminar():
    with pytest.raises(OverflowError):
        Churchill_1977(1e-20, 0.0)
    assert friction.darcy_friction_factor(1e-20) == pytest.approx(64e20)


@pytest.mark.parametrize("roughness", [0.0, 1e-4, 1e-2])
def test_the_exponent_is_the_slope_of_the_factor(roughness):
    re, h = REYNOLDS[REYNOLDS > 1.01], 1e-5
    up = np.log(friction.darcy_friction_factor(re * (1 + h), roughness))
    down = np.log(friction.darcy_friction_factor(re * (1 - h), roughness))
    slope = (up - down) / (np.log1p(h) - np.log1p(-h))
    assert friction.friction_exponent(re, roughness) == pytest.approx(slope, abs=1e-7)


def test_the_loss_always_rises_with_flow():
    flow = np.geomspace(1e-6, 1e6, 4000)
    loss = friction.tube_loss_mpa(flow, 4.0, 100.0, 1.0, 998.0)
    assert np.all(np.diff(loss) > 0)
    assert np.all(2.0 + friction.friction_exponent(REYNOLDS) > 0.9)


def test_a_trickle_is_hagen_poiseuille_and_rest_loses_nothing():
    slow = friction.tube_loss_mpa(1.0, 4.0, 100.0, 1.0, 998.0)
    assert slow == pytest.approx(
        friction.hagen_poiseuille_loss_mpa(1.0, 4.0, 100.0, 1.0), rel=1e-12
    )
    assert friction.tube_loss_mpa(0.0, 4.0, 100.0, 1.0, 998.0) == 0.0


def test_backward_flow_loses_the_same_backward():
    there = friction.tube_loss_mpa(9000.0, 4.0, 100.0, 1.0, 998.0)
    assert friction.tube_loss_mpa(-9000.0, 4.0, 100.0, 1.0, 998.0) == -there
