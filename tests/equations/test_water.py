import numpy as np

from barbwright.equations import water


def test_viscosity_falls_and_takes_arrays():
    t = np.linspace(0.0, 50.0, 101)
    assert np.all(np.diff(water.water_viscosity_mpa_s(t)) < 0)


def test_density_is_greatest_near_four_degrees():
    t = np.linspace(0.0, 50.0, 5001)
    density = water.water_density_kg_m3(t)
    assert abs(t[np.argmax(density)] - 3.98) < 0.02
    assert isinstance(float(water.water_density_kg_m3(20.0)), float)
