"""What tests judge by and nothing in src calls: closed forms, and a mesh against what was drawn."""

import numpy as np

from barbwright.reread.mesh import Expected, measure_expected


def lame_radial_growth(radial_mpa, hoop_mpa, axial_mpa, at_mm, modulus_mpa, poisson):
    """Outward displacement of a radius from the stresses there (Hooke), `at_mm` a diameter [mm]."""
    return at_mm / 2.0 / modulus_mpa * (hoop_mpa - poisson * (radial_mpa + axial_mpa))


def linear_run_down_seconds(
    conductance_ml_s_mpa, start_abs_mpa, air_head_ml, delivered_ml, ambient_abs_mpa
):
    """Run-down in closed form for a flow in proportion to gauge pressure and Boyle's air [s].

    t = 1/G [P0 V0/Pa^2 ln((P0 - Pa) V0/(P0 V0 - Pa V1)) - (V1 - V0)/Pa] (own derivation);
    infinite where ambient pressure is reached first.
    """
    product = start_abs_mpa * air_head_ml
    left = product - ambient_abs_mpa * (air_head_ml + delivered_ml)
    if left <= 0.0:
        return float("inf")
    logarithm = np.log((product - ambient_abs_mpa * air_head_ml) / left)
    time = product / ambient_abs_mpa**2 * logarithm - delivered_ml / ambient_abs_mpa
    return float(time / conductance_ml_s_mpa)


def measure_mesh(source, shape, solid_volume_mm3):
    """Measure a mesh, a file or arrays, against the shape that was drawn."""
    return measure_expected(source, Expected.of(shape, solid_volume_mm3))
