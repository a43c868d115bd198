"""Boyle, at the pressures of the example in 40 CFR 1065.644 (seen as printed online, March 2026).

It is of a gas: it checks the arithmetic of an air head alone, no liquid line.
"""

import pytest

from barbwright.equations.vessel import delivery_to_pressure_ml, pressure_after_delivery_mpa


def test_the_same_gas_by_our_air_head_doubles_its_pressure_in_half_its_volume():
    """25.3 and 50.6 kPa: twice the moles at one pressure are one volume at twice the pressure."""
    whole = pressure_after_delivery_mpa(0.0506, 1000.0, 1000.0, 1.0)
    assert whole == pytest.approx(0.0253)
    assert delivery_to_pressure_ml(0.0506, 1000.0, 0.0253, 1.0) == pytest.approx(1000.0)
