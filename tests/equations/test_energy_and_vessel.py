"""Boyle, polytropic expansion and stored energy.

Forms published (ASME PCC-2 501-II and Brode, seen); numbers recomputed by us (status own).
"""

import pytest

from barbwright.equations import energy, vessel
from oracles import linear_run_down_seconds

PSI_MPA = 0.006894757293168
ATMOSPHERE_MPA = 0.101325
GALLON_ML = 3785.411784


@pytest.mark.parametrize(("exponent", "expected_psig"), [(1.0, 22.652), (1.4, 13.609)])
def test_one_gallon_of_air_at_60_psig_gives_one_gallon(exponent, expected_psig):
    """Recomputed (status own)."""
    start = 60 * PSI_MPA + ATMOSPHERE_MPA
    end = vessel.pressure_after_delivery_mpa(start, GALLON_ML, GALLON_ML, exponent)
    assert (end - ATMOSPHERE_MPA) / PSI_MPA == pytest.approx(expected_psig, rel=1e-4)


def test_one_gallon_at_60_psig_holds_1811_joules():
    """Isentropic form, recomputed (status own)."""
    start = 60 * PSI_MPA + ATMOSPHERE_MPA
    assert energy.isentropic_energy_j(start, GALLON_ML) == pytest.approx(1811, rel=0.002)


def test_linear_vessel_blows_down_in_112_6_seconds():
    """G 1.42e-10 m3/(s Pa), closed form, own derivation (status own)."""
    start = 60 * PSI_MPA + ATMOSPHERE_MPA
    seconds = linear_run_down_seconds(
        1.42e-10 * 1e6 * 1e6, start, GALLON_ML, GALLON_ML, ATMOSPHERE_MPA
    )
    assert seconds == pytest.approx(112.601, rel=1e-4)


@pytest.mark.parametrize(
    ("psi", "pcc2_j", "brode_j", "water_j"),
    [(40, 29.5, 68.9, 0.0017), (60, 47.9, 103.4, 0.0039)],
)
def test_hundred_millilitres(psi, pcc2_j, brode_j, water_j):
    """Case E1: forms seen, numbers own; water is printed to two digits only."""
    gauge = psi * PSI_MPA
    start = gauge + ATMOSPHERE_MPA
    assert energy.isentropic_energy_j(start, 100.0) == pytest.approx(pcc2_j, rel=0.005)
    assert energy.brode_energy_j(start, 100.0) == pytest.approx(brode_j, rel=0.005)
    assert energy.liquid_energy_j(gauge, 100.0) == pytest.approx(water_j, abs=0.00005)
