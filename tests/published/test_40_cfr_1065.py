"""40 CFR 1065.644, vacuum-decay leak rate (seen as printed online, March 2026), and Boyle.

It is a gas leak: it checks the arithmetic of an air head alone, no liquid line.
"""

import pytest

from barbwright.equations.vessel import (
    GAS_CONSTANT_J_MOL_K,
    delivery_to_pressure_ml,
    pressure_after_delivery_mpa,
)


def test_the_printed_example_of_a_vacuum_side_that_fills():
    """2.0000 L from 25.300 to 50.600 kPa at 293.15 K in 70 s; printed answer 0.00030 mol/s."""
    moles = 0.002 / GAS_CONSTANT_J_MOL_K * (50600.0 / 293.15 - 25300.0 / 293.15)
    assert moles / 70.0 == pytest.approx(0.00030, abs=0.000005)


def test_the_same_gas_by_our_air_head_doubles_its_pressure_in_half_its_volume():
    """Boyle: twice the moles at one pressure are one volume at twice the pressure."""
    whole = pressure_after_delivery_mpa(0.0506, 1000.0, 1000.0, 1.0)
    assert whole == pytest.approx(0.0253)
    assert delivery_to_pressure_ml(0.0506, 1000.0, 0.0253, 1.0) == pytest.approx(1000.0)
