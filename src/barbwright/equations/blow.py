"""A hammer's blow on a column that stands in wood: a short pulse, not a standing load."""

from __future__ import annotations

import numpy as np

from barbwright.equations import Number, cube, square

# First term of a cantilever's own mass at its free end, its static bend taken as the motion:
# 33/140, rounded up.
OWN_MASS_SHARE = 0.24
# What one degree of freedom leaves out, as a beam in time steps shows: see `blow_moment`.
BEAM_OVER_ONE_DEGREE = 1.35
# Where a series serves better than a difference of nearly equal numbers [-].
_SERIES_BELOW = 1e-2
# exp(100): such a column has folded many times over, and cosh would run out of numbers [-].
_GROWTH_LIMIT = 100.0


def hammer_energy(mass_kg: Number, speed_m_s: Number) -> Number:
    """Return the energy of a hammer blow.

    Parameters
    ----------
    mass_kg : float or array
        Mass of the head [kg].
    speed_m_s : float or array
        Speed at the blow [m/s].

    Returns
    -------
    float or array
        m v2/2 [J] = [N m].

    Notes
    -----
    Equation: energy of motion; no number.
    Valid: Any head that does not turn.

    Examples
    --------
    >>> hammer_energy(0.5, 2.0)
    1.0

    Source: shigley
    """
    return mass_kg * speed_m_s * speed_m_s / 2.0


def blow_time(mass_kg: Number, speed_m_s: Number, force_n: Number) -> Number:
    """Return how long a blow lasts that a constant force stops.

    Parameters
    ----------
    mass_kg : float or array
        Mass of the hammer [kg].
    speed_m_s : float or array
        Its speed [m/s].
    force_n : float or array
        What resists it [N].

    Returns
    -------
    float or array
        m v/F [s].

    Notes
    -----
    Equation: the hammer's momentum over the force, m v = F t; no number.
    Valid: One force all the way, a hammer that does not bounce.

    Examples
    --------
    >>> blow_time(0.5, 2.0, 500.0)
    0.002

    Source: impact
    """
    return mass_kg * speed_m_s / force_n


def blow_travel(energy_j: Number, force_n: Number) -> Number:
    """Return how far one blow moves what a constant force resists.

    Parameters
    ----------
    energy_j : float or array
        Energy of the blow [J].
    force_n : float or array
        What resists it [N].

    Returns
    -------
    float or array
        Energy over force [mm].

    Notes
    -----
    Equation: work of a force is the energy it takes up, F s; no number.
    Valid: One force all the way, nothing springs back.

    Examples
    --------
    >>> blow_travel(1.0, 500.0)
    2.0

    Source: impact
    """
    return 1000.0 * energy_j / force_n


def end_stiffness(modulus_mpa: Number, inertia_mm4: Number, length_mm: Number) -> Number:
    """Return the stiffness of a cantilever's end against a force across it.

    Parameters
    ----------
    modulus_mpa : float or array
        Young's modulus [MPa].
    inertia_mm4 : float or array
        Second moment of area [mm4].
    length_mm : float or array
        Free length [mm].

    Returns
    -------
    float or array
        3 E I/L3 [N/mm].

    Notes
    -----
    Equation: Shigley table A-9, case 1 (from memory).
    Valid: Elastic, small bending, long against its height.

    Examples
    --------
    >>> round(end_stiffness(1700.0, 188.5, 20.0), 2)
    120.17

    Source: beam_theory
    """
    return 3.0 * modulus_mpa * inertia_mm4 / cube(length_mm)


def end_frequency(stiffness_n_mm: Number, end_mass_kg: Number, own_mass_kg: Number) -> Number:
    """Return the angular frequency of a cantilever with a mass at its end.

    Parameters
    ----------
    stiffness_n_mm : float or array
        Stiffness of its end [N/mm].
    end_mass_kg, own_mass_kg : float or array
        Mass at the end, and of the cantilever itself [kg].

    Returns
    -------
    float or array
        sqrt(1000 k/(M + 0.24 m)) [1/s].

    Notes
    -----
    Equation: Rayleigh: 33/140 of a cantilever's own mass goes to its end (any text on
    vibration, from memory).
    Valid: The slowest way of swinging, small bending.

    Examples
    --------
    >>> round(float(end_frequency(120.0, 0.005, 0.0)), 2)
    4898.98

    Source: beam_theory
    """
    return np.sqrt(1000.0 * stiffness_n_mm / (end_mass_kg + OWN_MASS_SHARE * own_mass_kg))


def pulse_bend(load_ratio: Number, phase: Number) -> tuple[Number, Number]:
    """Return how far a crooked column has bent when a constant load lets go, and swings then.

    x'' = omega2 ((r - 1) x + r e) from rest, x in units of the crookedness e. Under
    its buckling load a column swings to and fro: there the load counts up to the first
    turning point, so that a longer blow never reads better.

    Parameters
    ----------
    load_ratio : float or array
        Load over the column's buckling load, r [-].
    phase : float or array
        omega times the load's duration [-].

    Returns
    -------
    tuple of float or array
        x/e at the end of the load, r/(r - 1) (cosh(omega sqrt(r - 1) t) - 1), and the
        swing after it, sqrt(x2 + (x'/omega)2)/e [-].

    Notes
    -----
    Equation: none: our own solution of the equation of motion above.
    Valid: One crookedness and one way of bending, a load that starts and ends at once.

    Examples
    --------
    >>> [round(float(one), 3) for one in pulse_bend(1.0, 2.0)]
    [2.0, 2.828]

    Source: own_derivation, pulse_buckling
    """
    over = np.asarray(load_ratio, dtype=float) - 1.0
    root = np.sqrt(np.abs(over))
    with np.errstate(divide="ignore"):
        turning = np.where(over < 0.0, np.pi / root, np.inf)
    time = np.minimum(phase, turning)
    angle = np.minimum(root * time, _GROWTH_LIMIT)
    turned = np.sign(over) * square(angle)
    near = np.abs(turned) < _SERIES_BELOW
    far, rate = np.cos(angle), np.sin(angle)
    # Most columns are struck far under their buckling load: what they don't need is not worked out.
    grows = over > 0.0
    if np.any(grows):
        far, rate = np.where(grows, np.cosh(angle), far), np.where(grows, np.sinh(angle), rate)
    # At the buckling load itself both are nothing over nothing, where the series stands in.
    with np.errstate(invalid="ignore"):
        bend, speed = (far - 1.0) / over, rate / root
    if np.any(near):
        bend = np.where(
            near, square(time) / 2.0 * (1.0 + turned / 12.0 + square(turned) / 360.0), bend
        )
        speed = np.where(near, time * (1.0 + turned / 6.0 + square(turned) / 120.0), speed)
    bend, speed = load_ratio * bend, load_ratio * speed
    return bend[()], np.hypot(bend, speed)[()]


def blow_moment(
    force_n: Number,
    stiffness_n_mm: Number,
    length_mm: Number,
    crooked_mm: Number,
    bend_mm: Number,
    swing_mm: Number,
) -> Number:
    """Return the bending moment at the foot of a column under a blow.

    Compared with a beam of twelve elements in time steps, crooked as it buckles, a
    fifth to a half of the moving mass its own, load 0.2 to 4 times the buckling load,
    omega t 0.3 to 6, as long as it has not bent fifteen times its crookedness: without
    the factor 1.35 this gives 0.71 to 1.99 of the beam's moment (0.71 to 1.31 with half
    of the mass its own), with it 0.95 to 2.7. What is left out is the column's own bow,
    which rings against the mass at its end. A straight column that leans is never
    underrated, with the factor or without (0.98 at least).

    Parameters
    ----------
    force_n : float or array
        Load along the column [N].
    stiffness_n_mm, length_mm : float or array
        Stiffness of its end [N/mm] and its free length [mm].
    crooked_mm : float or array
        How far its end is off the load's line before the blow [mm].
    bend_mm, swing_mm : float or array
        How far it bends during and swings after the blow [mm].

    Returns
    -------
    float or array
        1.35 max(F (e + x), k L max(x, swing)) [N mm].

    Notes
    -----
    Equation: none: own derivation, with the factor that a beam in time steps asks for.
    Valid: What was compared above: load 0.2 to 4 buckling loads, omega t 0.3 to 6.

    Examples
    --------
    >>> round(float(blow_moment(100.0, 50.0, 20.0, 0.5, 0.1, 0.2)), 1)
    270.0

    Source: own_derivation, pulse_buckling
    """
    during = force_n * (crooked_mm + bend_mm)
    after = stiffness_n_mm * length_mm * np.maximum(bend_mm, swing_mm)
    return BEAM_OVER_ONE_DEGREE * np.maximum(during, after)


def leaning_of_offset(offset_mm: Number) -> Number:
    """Return the crookedness that bends a column as much as a load off its axis.

    Both are equal where they push a cantilever's end as far: F o L2/(2 E I) against
    F e/k times k over the buckling load.

    Parameters
    ----------
    offset_mm : float or array
        How far the load is off the axis [mm].

    Returns
    -------
    float or array
        pi2/8 of it [mm].

    Notes
    -----
    Equation: none: own derivation, both deflections of a cantilever made equal.
    Valid: Under the buckling load, small bending.

    Examples
    --------
    >>> round(leaning_of_offset(1.0), 4)
    1.2337

    Source: own_derivation
    """
    return np.pi**2 / 8.0 * offset_mm
