"""IAPWS: viscosity R12-08 (table 4, seen) and density IAPWS-95, through the iapws package."""

import numpy as np
import pytest
from iapws import IAPWS95
from iapws._iapws import _Viscosity

from barbwright.equations.water import water_density_kg_m3, water_viscosity_mpa_s

TEMPERATURES_C = np.array([0.01, *np.arange(2.5, 50.1, 2.5)])


def test_the_package_against_r12_08_table_4():
    """R12-08, table 4: 298.15 K, 998 kg/m3: 889.735 100 uPa s."""
    assert _Viscosity(998.0, 298.15) * 1e6 == pytest.approx(889.7351, rel=1e-8)


def test_short_viscosity_within_0_0031_percent_of_the_full_formula():
    """0.003 % is said; the largest of these rows, 22.5 C, is 0.00303 % off."""
    full = [IAPWS95(T=t + 273.15, P=0.101325).mu * 1e3 for t in TEMPERATURES_C]
    assert water_viscosity_mpa_s(TEMPERATURES_C) == pytest.approx(full, rel=3.1e-5)


def test_density_within_six_parts_in_a_million():
    full = np.array([IAPWS95(T=t + 273.15, P=0.101325).rho for t in TEMPERATURES_C])
    error = np.abs(water_density_kg_m3(TEMPERATURES_C) / full - 1)
    assert np.all(error[TEMPERATURES_C <= 40] < 1.3e-6)
    assert np.all(error < 6e-6)


def test_values_at_twenty_degrees():
    """1001.596 uPa s and 998.2072 kg/m3: IAPWS through two packages (status second-hand)."""
    assert water_viscosity_mpa_s(20.0) * 1e3 == pytest.approx(1001.596, rel=5e-5)
    assert water_density_kg_m3(20.0) == pytest.approx(998.2072, rel=1e-6)
