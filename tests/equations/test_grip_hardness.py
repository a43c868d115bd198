"""Hardness to modulus, Gent 1958 and Ruess: relations seen, all numbers recomputed."""

import numpy as np
import pytest

from barbwright.equations.grip import gent_modulus, ruess_modulus
from printed import printed

TABLE = {
    30: "1.142", 40: "1.690", 50: "2.456", 60: "3.605", 65: "4.426", 70: "5.521",
    75: "7.053", 80: "9.351", 85: "13.18", 90: "20.84", 95: "43.83",
}  # fmt: skip


@pytest.mark.parametrize(("shore", "text"), TABLE.items())
def test_gent(shore, text):
    assert printed(gent_modulus(shore), text)


def test_outside_20_to_95_nothing_is_said():
    assert np.isnan(gent_modulus([19.9, 95.1])).all()
    assert np.isfinite(gent_modulus([20.0, 95.0])).all()


@pytest.mark.parametrize(("shore", "text"), [(30, "1.161"), (60, "5.884")])
def test_ruess(shore, text):
    assert printed(ruess_modulus(shore), text)


@pytest.mark.parametrize("shore", [30, 60, 90])
def test_the_power_is_of_ten_and_not_of_e(shore):
    wrong = np.exp(0.0235 * shore - 0.6403)
    assert not printed(wrong, {30: "1.161", 60: "5.884", 90: "29.83"}[shore])
    assert printed(ruess_modulus(shore), {30: "1.161", 60: "5.884", 90: "29.83"}[shore])


def test_gent_and_ruess_cross_where_engineering_says():
    """28.8A and 94.2A, up to 1.9 times apart at 60-80A (own arithmetic)."""
    shore = np.arange(20.0, 95.0, 0.1)
    apart = ruess_modulus(shore) / gent_modulus(shore)
    crossings = shore[:-1][np.diff(np.sign(apart - 1.0)) != 0]
    assert crossings == pytest.approx([28.8, 94.2], abs=0.11)
    inside = apart[(shore >= 60.0) & (shore <= 80.0)]
    assert 1.6 < inside.min() < inside.max() < 1.9 + 0.05
