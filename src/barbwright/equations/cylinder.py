"""Thick cylinders and spheres under pressure."""

from __future__ import annotations

import numpy as np

from barbwright.equations import Number


def lame_hoop(pressure_mpa: Number, bore_mm: Number, outer_mm: Number) -> Number:
    """Return the hoop stress at the bore of a thick cylinder under internal pressure.

    Parameters
    ----------
    pressure_mpa : float or array
        Internal gauge pressure [MPa].
    bore_mm : float or array
        Inner diameter [mm].
    outer_mm : float or array
        Outer diameter [mm], larger than the bore.

    Returns
    -------
    float or array
        Hoop stress p (k2 + 1)/(k2 - 1) with k the ratio of the diameters [MPa].

    Notes
    -----
    Equation: Shigley eq. 3-50 (from memory): eq. 3-49 at the bore without outer pressure.
    Valid: Elastic and isotropic, small strain, away from ends and from other bores.

    Examples
    --------
    >>> round(lame_hoop(100.0, 20.0, 40.0), 1)
    166.7

    Source: lame, shigley
    """
    return lame_stresses(pressure_mpa, 0.0, bore_mm, outer_mm, bore_mm)[1]


def lame_von_mises(pressure_mpa: Number, bore_mm: Number, outer_mm: Number) -> Number:
    """Return the von Mises stress at the bore of a closed thick cylinder.

    Parameters
    ----------
    pressure_mpa : float or array
        Internal gauge pressure [MPa].
    bore_mm : float or array
        Inner diameter [mm].
    outer_mm : float or array
        Outer diameter [mm], larger than the bore.

    Returns
    -------
    float or array
        Of the three stresses there; sqrt(3) p k2/(k2 - 1) in one line [MPa].

    Notes
    -----
    Equation: Shigley eq. 5-12 (from memory) of the stresses of eq. 3-49 and 3-51 at the bore.
    Valid: As `lame_stresses`, with closed ends. A wall that is not there carries nothing:
    infinite.

    Examples
    --------
    >>> round(float(lame_von_mises(150.0, 200.0, 800.0)), 1)
    277.1

    Source: lame, hearn
    """
    radial, hoop, axial = lame_stresses(pressure_mpa, 0.0, bore_mm, outer_mm, bore_mm)
    spread = np.square(hoop - radial) + np.square(radial - axial) + np.square(axial - hoop)
    # Where nothing is left of the wall the three stresses are infinite less infinite.
    return np.where(outer_mm <= bore_mm, np.inf, np.sqrt(0.5 * spread))[()]


def lame_stresses(
    inner_pressure_mpa: Number,
    outer_pressure_mpa: Number,
    bore_mm: Number,
    outer_mm: Number,
    at_mm: Number,
) -> tuple[Number, Number, Number]:
    """Return radial, hoop and axial stress anywhere in the wall, closed ends.

    Parameters
    ----------
    inner_pressure_mpa, outer_pressure_mpa : float or array
        Pressures on the bore and on the outside [MPa].
    bore_mm, outer_mm : float or array
        Inner and outer diameter [mm].
    at_mm : float or array
        Diameter where the stress is wanted [mm].

    Returns
    -------
    tuple of float or array
        Radial, hoop and axial (closed ends) stress, tension positive [MPa].

    Notes
    -----
    Equation: Shigley eq. 3-49 and 3-51 (from memory).
    Valid: Elastic and isotropic, small strain, away from ends; places from the bore to the
    outside.

    Examples
    --------
    >>> [round(s, 2) for s in lame_stresses(120.0, 40.0, 80.0, 120.0, 100.0)]
    [-68.16, 116.16, 24.0]

    Source: lame, shigley
    """
    a2, b2, r2 = bore_mm * bore_mm, outer_mm * outer_mm, at_mm * at_mm
    mean = (inner_pressure_mpa * a2 - outer_pressure_mpa * b2) / (b2 - a2)
    swing = (inner_pressure_mpa - outer_pressure_mpa) * a2 * b2 / (b2 - a2) / r2
    return mean - swing, mean + swing, mean


def lame_axial(pressure_mpa: Number, bore_mm: Number, outer_mm: Number) -> Number:
    """Return the axial stress in a closed cylinder under internal pressure.

    Parameters
    ----------
    pressure_mpa : float or array
        Internal gauge pressure [MPa].
    bore_mm, outer_mm : float or array
        Inner and outer diameter [mm].

    Returns
    -------
    float or array
        p a2/(b2 - a2), the same all over the section [MPa].

    Notes
    -----
    Equation: Shigley eq. 3-51 (from memory).
    Valid: Any wall, closed ends that the section alone holds together.

    Examples
    --------
    >>> round(lame_axial(120.0, 80.0, 120.0), 1)
    96.0

    Source: lame, shigley
    """
    return lame_stresses(pressure_mpa, 0.0, bore_mm, outer_mm, bore_mm)[2]


def external_hoop_at_bore(outer_pressure_mpa: Number, bore_mm: Number, outer_mm: Number) -> Number:
    """Return the hoop stress at the bore of a tube squeezed from outside.

    Parameters
    ----------
    outer_pressure_mpa : float or array
        Pressure on the outside [MPa].
    bore_mm, outer_mm : float or array
        Inner and outer diameter [mm].

    Returns
    -------
    float or array
        -2 po b2/(b2 - a2): compression, hence negative [MPa].

    Notes
    -----
    Equation: Shigley eq. 3-49 (from memory) at the bore without inner pressure.
    Valid: Elastic and isotropic, small strain; says nothing of a thin tube that folds.

    Examples
    --------
    >>> round(external_hoop_at_bore(40.0, 80.0, 120.0), 1)
    -144.0

    Source: lame, shigley
    """
    return lame_stresses(0.0, outer_pressure_mpa, bore_mm, outer_mm, bore_mm)[1]


def barlow_pressure(strength_mpa: Number, wall_mm: Number, outer_mm: Number) -> Number:
    """Return the pressure at which a tube's hoop stress reaches a strength.

    Barlow's form with the OUTER diameter, the only conservative one: it asks
    8 to 21 % more than Lame does between k = 1.2 and 3. The mean and inner
    diameter forms understate the stress and are never used here.

    Parameters
    ----------
    strength_mpa : float or array
        Strength of the tube's material [MPa].
    wall_mm : float or array
        Wall [mm].
    outer_mm : float or array
        Outer diameter [mm].

    Returns
    -------
    float or array
        2 s t / Do [MPa].

    Notes
    -----
    Equation: Barlow's own form has no number; 2 s t/D with the outer diameter.
    Valid: Any wall; on the safe side of Lame for all.

    Examples
    --------
    >>> barlow_pressure(20.0, 1.0, 8.0)
    5.0

    Source: barlow
    """
    return 2.0 * strength_mpa * wall_mm / outer_mm


def thick_sphere_hoop(pressure_mpa: Number, bore_mm: Number, outer_mm: Number) -> Number:
    """Return the hoop stress at the inside of a thick sphere under internal pressure.

    Parameters
    ----------
    pressure_mpa : float or array
        Internal gauge pressure [MPa].
    bore_mm, outer_mm : float or array
        Inner and outer diameter [mm].

    Returns
    -------
    float or array
        p (2 + k3)/(2 (k3 - 1)), k the ratio of the diameters [MPa].

    Notes
    -----
    Equation: Roark table 13.5, case 2a (7th edition, from memory), at the inside.
    Valid: Elastic and isotropic, small strain, a whole sphere.

    Examples
    --------
    >>> round(thick_sphere_hoop(1.0, 10.0, 20.0), 4)
    0.7143

    Source: roark
    """
    k = outer_mm / bore_mm
    k3 = k * k * k
    return pressure_mpa * (2.0 + k3) / (2.0 * (k3 - 1.0))


def end_thrust(pressure_mpa: Number, diameter_mm: Number) -> Number:
    """Return the thrust of a pressure on a round area.

    Parameters
    ----------
    pressure_mpa : float or array
        Gauge pressure [MPa].
    diameter_mm : float or array
        Diameter of the sealed area [mm].

    Returns
    -------
    float or array
        p pi/4 D2 [N].

    Notes
    -----
    Equation: pressure times area; no number.
    Valid: Any round area that is sealed all round.

    Examples
    --------
    >>> round(end_thrust(0.4, 8.0), 2)
    20.11

    Source: shigley
    """
    return pressure_mpa * np.pi / 4.0 * (diameter_mm * diameter_mm)
