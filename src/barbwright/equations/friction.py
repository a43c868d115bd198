"""Friction of a round tube: Reynolds number, Darcy friction factor, pressure loss."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barbwright.equations import Number, cube, square

LAMINAR_BELOW_REYNOLDS = 1.0


def mean_velocity_mm_s(flow_mm3_s: Number, bore_mm: Number) -> Number:
    """Mean velocity in a round bore.

    Parameters
    ----------
    flow_mm3_s : float or array
        Flow [mm3/s].
    bore_mm : float or array
        Bore diameter [mm].

    Returns
    -------
    float or array
        Mean velocity [mm/s].

    Notes
    -----
    Equation: flow over area; no number.
    Valid: Any round bore that is full.

    Examples
    --------
    >>> round(float(mean_velocity_mm_s(1000.0, 2.0)), 2)
    318.31

    Source: own_arithmetic
    """
    return np.asarray(flow_mm3_s, float) * 4.0 / (np.pi * np.square(bore_mm))


def reynolds_number(
    flow_mm3_s: Number, bore_mm: Number, viscosity_mpa_s: Number, density_kg_m3: Number
) -> Number:
    """Reynolds number of a flow in a round bore, rho v D / mu.

    Parameters
    ----------
    flow_mm3_s : float or array
        Flow [mm3/s].
    bore_mm : float or array
        Bore diameter [mm].
    viscosity_mpa_s : float or array
        Dynamic viscosity [mPa s].
    density_kg_m3 : float or array
        Density [kg/m3].

    Returns
    -------
    float or array
        Reynolds number, without sign [-].

    Notes
    -----
    Equation: the definition; no number.
    Valid: Any round bore that is full.

    Examples
    --------
    >>> round(float(reynolds_number(1000.0, 0.35, 1.0, 1000.0)))
    3638

    Source: darcy_weisbach
    """
    speed = np.abs(mean_velocity_mm_s(flow_mm3_s, bore_mm))
    value: Number = 1e-3 * np.asarray(density_kg_m3) * speed * np.asarray(bore_mm) / viscosity_mpa_s
    return value


def darcy_friction_factor(reynolds: Number, relative_roughness: float = 0.0) -> Number:
    """Darcy friction factor over all flow regimes, Churchill 1977.

    One smooth rising curve of loss, held to the fluids library's `Churchill_1977` by test. That
    library's automatic selector (`friction_factor`) steps up by 57 % at Reynolds 2040, where a
    chain port may well work; a step leaves Newton's method without a root, so it is not used.
    Below Reynolds 1 the powers would overflow and 64/Re, equal there to the last digit, stands.

    Parameters
    ----------
    reynolds : float or array
        Reynolds number, above 0 [-].
    relative_roughness : float
        Wall roughness over bore; 0 is smooth plastic [-].

    Returns
    -------
    float or array
        Darcy friction factor [-].

    Notes
    -----
    Equation: Churchill 1977, its one formula for all regimes (number not seen).
    Valid: Any Reynolds number over 0; between 2000 and 4000 no formula is sure.

    Examples
    --------
    >>> round(float(darcy_friction_factor(100600.0)), 4)
    0.0179

    Source: churchill1977
    """
    given = np.asarray(reynolds, float)
    terms = _churchill(np.maximum(given, LAMINAR_BELOW_REYNOLDS), relative_roughness)
    full = 8.0 * np.cbrt(np.sqrt(np.sqrt(terms.laminar + terms.falling)))
    # At rest 64/Re has no value: whoever asks there gets none.
    with np.errstate(divide="ignore"):
        return np.where(given < LAMINAR_BELOW_REYNOLDS, 64.0 / given, full)[()]


def friction_exponent(reynolds: Number, relative_roughness: float = 0.0) -> Number:
    """Logarithmic slope of Churchill's friction factor, d ln f / d ln Re.

    Own derivative of the formula (no library has it): -1 where laminar, about -0.2 where
    turbulent. The loss of a tube goes with flow to the power of 2 + this, always above 0.

    Parameters
    ----------
    reynolds : float or array
        Reynolds number, above 0 [-].
    relative_roughness : float
        Wall roughness over bore [-].

    Returns
    -------
    float or array
        Exponent [-].

    Notes
    -----
    Equation: none: own derivative of Churchill's formula.
    Valid: As `darcy_friction_factor`.

    Examples
    --------
    >>> round(float(friction_exponent(500.0)), 6)
    -1.0

    Source: churchill1977, own_derivation
    """
    given = np.asarray(reynolds, float)
    re = np.maximum(given, LAMINAR_BELOW_REYNOLDS)
    terms = _churchill(re, relative_roughness)
    # Re times the derivative of each term, so that no division by a small Reynolds number remains.
    slope = 16.0 * terms.fifteenth * 2.457 * (-0.9 * terms.smooth / terms.inner)
    slope = slope - 16.0 * terms.bridge
    laminar, falling = terms.laminar, terms.falling
    exponent = -12.0 * laminar - 1.5 * falling / terms.total * slope
    exponent = exponent / (12.0 * (laminar + falling))
    return np.where(given < LAMINAR_BELOW_REYNOLDS, -1.0, exponent)[()]


@dataclass(frozen=True, kw_only=True, eq=False)
class _Churchill:
    """What Churchill's formula and its slope are made of."""

    smooth: Number
    inner: Number
    fifteenth: Number
    bridge: Number
    total: Number
    laminar: Number
    falling: Number


def _churchill(re: Number, relative_roughness: float) -> _Churchill:
    smooth = (7.0 / re) ** 0.9
    inner = smooth + 0.27 * relative_roughness
    log_inner = 2.457 * np.log(inner)
    fourth = square(square(log_inner))
    fifteenth = square(fourth) * fourth * cube(log_inner)
    bridge = square(square(square(square(37530.0 / re))))
    total = fifteenth * log_inner + bridge
    return _Churchill(
        smooth=smooth,
        inner=inner,
        fifteenth=fifteenth,
        bridge=bridge,
        total=total,
        laminar=cube(square(square(8.0 / re))),
        falling=1.0 / (total * np.sqrt(total)),
    )


def hagen_poiseuille_loss_mpa(
    flow_mm3_s: Number, bore_mm: Number, length_mm: Number, viscosity_mpa_s: Number
) -> Number:
    """Pressure loss of laminar flow in a round tube, 128 mu L Q / (pi D^4).

    Parameters
    ----------
    flow_mm3_s : float or array
        Flow [mm3/s].
    bore_mm : float or array
        Bore diameter [mm].
    length_mm : float or array
        Length [mm].
    viscosity_mpa_s : float or array
        Dynamic viscosity [mPa s].

    Returns
    -------
    float or array
        Pressure loss, with the flow's sign [MPa].

    Notes
    -----
    Equation: Hagen and Poiseuille; no number.
    Valid: Laminar and developed: Reynolds up to some 2000, long against the bore.

    Examples
    --------
    >>> round(float(hagen_poiseuille_loss_mpa(1000.0, 0.35, 31.4, 1.0)), 6)
    0.085255

    Source: hagen_poiseuille
    """
    value: Number = (
        128e-9
        * np.asarray(viscosity_mpa_s)
        * np.asarray(length_mm)
        * np.asarray(flow_mm3_s)
        / (np.pi * np.square(np.square(bore_mm)))
    )
    return value


def velocity_pressure_mpa(flow_mm3_s: Number, bore_mm: Number, density_kg_m3: Number) -> Number:
    """Velocity pressure rho v^2 / 2, what a loss coefficient multiplies.

    Parameters
    ----------
    flow_mm3_s : float or array
        Flow [mm3/s].
    bore_mm : float or array
        Bore diameter [mm].
    density_kg_m3 : float or array
        Density [kg/m3].

    Returns
    -------
    float or array
        Velocity pressure [MPa].

    Notes
    -----
    Equation: rho v2/2; no number.
    Valid: Any flow; of the mean velocity.

    Examples
    --------
    >>> round(float(1e6 * velocity_pressure_mpa(1000.0, 2.0, 1000.0)), 2)
    50.66

    Source: darcy_weisbach
    """
    speed = mean_velocity_mm_s(flow_mm3_s, bore_mm)
    return 0.5e-12 * np.asarray(density_kg_m3) * np.square(speed)


def tube_loss_mpa(
    flow_mm3_s: Number,
    bore_mm: Number,
    length_mm: Number,
    viscosity_mpa_s: Number,
    density_kg_m3: Number,
    relative_roughness: float = 0.0,
) -> Number:
    """Darcy-Weisbach pressure loss of a round tube, f L/D rho v^2/2, laminar to turbulent.

    Parameters
    ----------
    flow_mm3_s : float or array
        Flow [mm3/s].
    bore_mm : float or array
        Bore diameter [mm].
    length_mm : float or array
        Length [mm].
    viscosity_mpa_s : float or array
        Dynamic viscosity [mPa s].
    density_kg_m3 : float or array
        Density [kg/m3].
    relative_roughness : float
        Wall roughness over bore [-].

    Returns
    -------
    float or array
        Pressure loss, with the flow's sign; 0 for no flow [MPa].

    Notes
    -----
    Equation: Darcy and Weisbach; no number. Friction by Churchill 1977.
    Valid: As `darcy_friction_factor`, a straight tube, its inlet not counted.

    Examples
    --------
    >>> round(float(1e6 * tube_loss_mpa(100.0 / 60.0, 0.3, 100.0, 1.0, 1000.0)), 3)
    838.347

    Source: darcy_weisbach, churchill1977
    """
    reynolds = reynolds_number(flow_mm3_s, bore_mm, viscosity_mpa_s, density_kg_m3)
    safe = np.maximum(reynolds, 1e-12)
    # f Re / 64 times the laminar loss: finite at rest, where f itself is not.
    excess = darcy_friction_factor(safe, relative_roughness) * safe / 64.0
    return excess * hagen_poiseuille_loss_mpa(flow_mm3_s, bore_mm, length_mm, viscosity_mpa_s)
