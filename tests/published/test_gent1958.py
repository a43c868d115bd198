"""G1: Gent 1958, hardness to modulus (relation and constants seen; table recomputed)."""

import numpy as np
import pytest

from barbwright.equations.grip import gent_modulus
from printed import printed

TABLE = {
    30: "1.142", 40: "1.690", 50: "2.456", 60: "3.605", 65: "4.426", 70: "5.521",
    75: "7.053", 80: "9.351", 85: "13.18", 90: "20.84", 95: "43.83",
}  # fmt: skip


@pytest.mark.parametrize(("shore", "text"), TABLE.items())
def test_modulus(shore, text):
    assert printed(gent_modulus(shore), text)


def test_outside_20_to_95_nothing_is_said():
    assert np.isnan(gent_modulus([19.9, 95.1])).all()
    assert np.isfinite(gent_modulus([20.0, 95.0])).all()
