import numpy as np
import pytest
from fluids.fittings import Darby, Darby3K, diffuser_sharp

from barbwright.equations import fittings

REYNOLDS = np.geomspace(10.0, 1e5, 3000)


@pytest.mark.parametrize(
    ("ours", "name"),
    [
        (fittings.TEE_RUN, "Tee, Run-through, flanged, (r/D = 1)"),
        (fittings.TEE_BRANCH, "Tee, Through-branch, (as elbow), flanged, (r/D = 1)"),
        (fittings.MITRED_ELBOW, "Elbow, 90°, mitered, 1 weld, (90°)"),
    ],
)
def test_constants_are_those_of_the_library(ours, name):
    assert (ours.k_laminar, ours.k_infinite, ours.k_diameter) == Darby[name]


def test_the_librarys_own_size_fails_below_the_smallest_pipe():
    """Why the bore goes in as inches: the table of nominal sizes ends at 6.8 mm."""
    run = {"K1": 150.0, "Ki": 0.05, "Kd": 4.0}
    assert isinstance(Darby3K(Di=0.004, Re=1000.0, **run), complex)
    assert Darby3K(Di=0.005, Re=1000.0, **run) > 1.4 * fittings.three_constant_loss(
        fittings.TEE_RUN, 1000.0, 5.0
    )
    by_hand = 150 / 1000 + 0.05 * (1 + 4 / (4.0 / 25.4) ** 0.3)
    assert fittings.three_constant_loss(fittings.TEE_RUN, 1000.0, 4.0) == pytest.approx(by_hand)


def test_a_constant_k_understates_a_slow_flow_eight_to_nine_fold():
    """Reynolds 50 against the turbulent limit, as engineering.md section 4 states."""
    for kind in (fittings.TEE_RUN, fittings.TEE_BRANCH):
        slow = fittings.three_constant_loss(kind, 50.0, 2.5)
        assert 7 < slow / fittings.three_constant_limit(kind, 2.5) < 10


def test_three_constants_take_arrays():
    values = fittings.three_constant_loss(fittings.TEE_BRANCH, np.array([50.0, 500.0]), 2.5)
    single = [fittings.three_constant_loss(fittings.TEE_BRANCH, r, 2.5) for r in (50.0, 500.0)]
    assert values == pytest.approx(single)


def test_contraction_is_half_of_one_less_the_area_ratio():
    assert fittings.contraction_loss(4.0, 2.0) == pytest.approx(0.5 * (1 - 0.25))
    assert fittings.contraction_loss(4.0, 4.0) == 0.0
    assert fittings.entrance_loss() == 0.5


def test_laminar_expansion_is_the_momentum_balance_of_parabolic_profiles():
    """Energy and momentum factors by quadrature of the profile, not from the formula."""
    r = (np.arange(200000) + 0.5) / 200000
    profile = 2 * (1 - r**2)
    energy, momentum = (np.mean(profile**n * 2 * r) for n in (3, 2))
    for s in (0.1, 1 / 3, 0.7):
        # Upstream velocity 1, downstream s; the pressure rise is 2 (m s - m s^2) half-heads.
        rise = 2 * momentum * (s - s**2)
        assert fittings.expansion_loss_laminar(s) == pytest.approx(
            energy * (1 - s**2) - rise, abs=1e-6
        )


def test_the_librarys_laminar_expansion_ignores_the_pressure_regained():
    theirs = diffuser_sharp(Di1=np.sqrt(1 / 3), Di2=1.0, Re=100.0, method="Hooper")
    assert theirs / fittings.expansion_loss_laminar(1 / 3) == pytest.approx(1.5, rel=1e-9)


def test_exit_goes_from_two_to_one():
    assert fittings.expansion_loss(999.0, 0.0) == pytest.approx(2.0)
    assert fittings.expansion_loss(5001.0, 0.0) == pytest.approx(1.0)
    assert 1.0 < fittings.expansion_loss(2200.0, 0.0) < 2.0


def test_published_ends_of_the_blend():
    s = np.linspace(0.0, 0.93, 32)
    assert fittings.expansion_loss(500.0, s) == pytest.approx(2 - 8 * s / 3 + 2 * s**2 / 3)
    assert fittings.expansion_loss(6000.0, s) == pytest.approx((1 - s) ** 2)
    assert abs(fittings.expansion_loss(6000.0, 1.0)) < 1e-15


def test_the_pressure_lost_in_an_expansion_always_rises():
    s = np.linspace(0.0, 0.999, 300)[:, None]
    loss = fittings.expansion_loss(REYNOLDS[None], s) * REYNOLDS**2
    assert np.all(np.diff(loss, axis=1) > 0)
    # A blend of K itself, the obvious way, does fall: the reason for ours.
    weight = np.clip(np.log(REYNOLDS / 1000) / np.log(5), 0, 1)
    plain = (1 - weight) * fittings.expansion_loss_laminar(0.8) + weight * 0.2**2
    assert np.any(np.diff(plain * REYNOLDS**2) < 0)


@pytest.mark.parametrize("s", [0.0, 0.34, 0.8, 0.97])
def test_the_exponent_is_the_slope_of_the_expansion(s):
    re, h = np.array([300.0, 1500.0, 3000.0, 4900.0, 9000.0]), 1e-6
    up, down = (np.log(fittings.expansion_loss(re * k, s)) for k in (1 + h, 1 - h))
    slope = (up - down) / (np.log1p(h) - np.log1p(-h))
    assert fittings.expansion_exponent(re, s) == pytest.approx(slope, abs=1e-6)


def test_an_arm_is_half_of_a_tees_run_and_all_of_an_elbows():
    sizes = {"run_bore_mm": 2.5, "tip_bore_mm": 2.5, "run_length_mm": 40.0, "tip_length_mm": 30.0}
    arms = {
        kind: fittings.FittingGeometry(kind=kind, **sizes).arm_length_mm
        for kind in ("tee", "elbow")
    }
    assert arms == {"tee": 20.0, "elbow": 40.0}
