"""Every mechanics equation takes arrays, one by one the same, and passes NaN on."""

import inspect

import numpy as np
import pytest

from barbwright.equations import column, crossing, cylinder, grip, seat

# Sensible values by argument name: bores below outer diameters.
VALUES = {
    "bore_mm": (2.5, 3.0), "outer_mm": (6.0, 7.5), "at_mm": (4.0, 5.0), "inner_mm": (4.0, 5.0),
    "pressure_mpa": (0.3, 0.5), "inner_pressure_mpa": (0.3, 0.5), "outer_pressure_mpa": (0.1, 0.2),
    "radial_mpa": (-0.3, -0.1), "hoop_mpa": (1.0, 2.0), "axial_mpa": (0.2, 0.3),
    "modulus_mpa": (300.0, 1400.0), "poisson": (0.3, 0.4), "strength_mpa": (20.0, 40.0),
    "wall_mm": (1.0, 1.5), "yield_mpa": (10.0, 20.0), "ultimate_mpa": (15.0, 35.0),
    "ratio": (1.5, 2.6), "diameter_mm": (5.0, 6.0), "shore_a": (60.0, 80.0),
    "expansion": (0.1, 0.2), "contact_mpa": (1.0, 2.0), "crest_mm": (5.0, 6.0),
    "length_mm": (3.0, 4.0), "friction": (0.2, 0.3), "barb_angle_deg": (12.0, 15.0),
    "interference_mm": (0.04, 0.05), "joint_mm": (50.0, 60.0), "hub_outer_mm": (80.0, 90.0),
    "specific_gravity": (0.4, 0.6), "et_over_el": (0.05, 0.08), "glt_over_el": (0.07, 0.08),
    "nu_lt": (0.3, 0.4), "tension_mpa": (2.0, 5.0), "edge_factor": (0.9, 1.1),
    "taper": (0.05, 0.06), "contact_mm": (9.0, 10.0), "hole_mm": (6.0, 6.4),
    "area_mm2": (200.0, 300.0), "mean_mm": (6.0, 7.0), "depth_mm": (20.0, 30.0),
    "relief_over_bore": (1.6, 2.2), "hub_over_relief": (1.6, 2.2), "moment_nmm": (50.0, 80.0),
    "equal": (2.5, 3.0), "small": (3.1, 3.4), "narrow_over_wide": (0.4, 0.8),
    "shear_mpa": (15.0, 20.0), "inertia_mm4": (100.0, 200.0), "effective_mm": (20.0, 80.0),
    "mass_kg": (0.1, 0.3), "speed_m_s": (1.0, 2.0), "density_g_cm3": (1.0, 1.2),
    "width_mm": (10.0, 20.0), "height_mm": (2.0, 3.0), "span_mm": (10.0, 12.0),
    "circle_mm": (11.0, 12.0), "slot_mm": (8.0, 9.0), "crush_mpa": (3.0, 5.0),
    "lever_mm": (15.0, 25.0), "growth": (0.4, 0.5),
}  # fmt: skip
FIXED = {
    "hardwood": True,
    "mises": True,
    "table_ratio": (1.4, 2.0, 3.0),
    "table_factor": (4.27, 3.36, 2.92),
    "table_relief": (1.5, 2.0, 3.0),
    "table_hub": (1.4, 2.4),
    "table_peak": ((8.0, 4.0), (4.0, 3.0), (5.0, 2.0)),
}


def public_functions():
    for module in (column, crossing, cylinder, grip, seat):
        for name, function in vars(module).items():
            own = inspect.isfunction(function) and function.__module__ == module.__name__
            if own and not name.startswith("_"):
                yield pytest.param(function, id=f"{module.__name__.rsplit('.')[-1]}.{name}")


def first(result):
    return result if isinstance(result, tuple) else (result,)


@pytest.mark.parametrize("function", list(public_functions()))
def test_arrays_are_the_same_as_one_by_one_and_broadcast(function):
    names = list(inspect.signature(function).parameters)
    fixed = {name: FIXED[name] for name in names if name in FIXED}
    moving = [name for name in names if name not in FIXED]
    both = {name: np.array(VALUES[name]) for name in moving}
    together = first(function(**both, **fixed))
    for index in range(2):
        alone = first(function(**{name: VALUES[name][index] for name in moving}, **fixed))
        for many, one in zip(together, alone, strict=True):
            assert np.ndim(one) == 0
            assert np.shape(many) == (2,)
            assert many[index] == pytest.approx(float(one), rel=1e-12)
    # The first argument down a column, the others along a row.
    grid = {**both, moving[0]: both[moving[0]][:, None]}
    if len(moving) > 1:
        for many in first(function(**grid, **fixed)):
            assert np.shape(many) == (2, 2) or np.shape(many) == (1, 2)


@pytest.mark.parametrize("function", list(public_functions()))
def test_an_unknown_input_gives_an_unknown_result(function):
    names = list(inspect.signature(function).parameters)
    fixed = {name: FIXED[name] for name in names if name in FIXED}
    moving = [name for name in names if name not in FIXED]
    for lost in moving:
        given = {name: VALUES[name][0] for name in moving} | {lost: float("nan")}
        results = first(function(**given, **fixed))
        assert any(np.isnan(np.asarray(result)).all() for result in results), lost


def test_a_wall_that_vanishes_is_infinite_stress_not_an_exception():
    with np.errstate(divide="ignore", invalid="ignore"):
        assert np.isinf(cylinder.lame_hoop(1.0, np.array(4.0), np.array(4.0)))
    assert cylinder.lame_hoop(1.0, 4.0, 4.0 + 1e-9) > 1e8
