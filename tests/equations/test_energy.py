import numpy as np
import pytest
from scipy.integrate import quad

from barbwright.equations import energy

AMBIENT = energy.ATMOSPHERE_MPA


def test_isentropic_energy_is_the_work_of_its_expansion():
    """Work of P V^1.4 down to ambient pressure, by quadrature."""
    start, volume = 0.5, 100.0
    end = volume * (start / AMBIENT) ** (1 / 1.4)
    work, _ = quad(lambda v: start * (volume / v) ** 1.4, volume, end)
    assert energy.isentropic_energy_j(start, volume) == pytest.approx(work, rel=1e-9)


def test_order_of_the_forms_and_nothing_at_ambient():
    p = np.array([0.2, 0.5, 0.8])
    low, high = energy.isentropic_energy_j(p, 100.0), energy.brode_energy_j(p, 100.0)
    # Work at constant temperature, P V ln(P/Pa), lies between the two up to 0.9 MPa.
    middle = p * 100.0 * np.log(p / AMBIENT)
    assert np.all(low < middle)
    assert np.all(middle < high)
    assert energy.isentropic_energy_j(AMBIENT, 100.0) == pytest.approx(0.0, abs=1e-12)
    # Brode is not the highest for ever: at 1 MPa the isothermal work has passed it.
    assert 100.0 * np.log(1.0 / AMBIENT) > energy.brode_energy_j(1.0, 100.0)
    # Air holds thousands of times what the same volume of water does.
    assert np.all(low > 1000 * energy.liquid_energy_j(p - AMBIENT, 100.0))
