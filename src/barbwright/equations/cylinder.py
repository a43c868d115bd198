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

    Source: lame, shigley
    """
    k2 = (outer_mm / bore_mm) ** 2
    return pressure_mpa * (k2 + 1.0) / (k2 - 1.0)


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
        sqrt(3) p k2/(k2 - 1), closed ends [MPa].

    Source: lame, hearn
    """
    k2 = (outer_mm / bore_mm) ** 2
    return np.asarray(np.sqrt(3.0) * pressure_mpa * k2 / (k2 - 1.0))[()]


def lame_tresca(pressure_mpa: Number, bore_mm: Number, outer_mm: Number) -> Number:
    """Return twice the largest shear stress at the bore (Tresca stress).

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
        2 p k2/(k2 - 1) [MPa].

    Source: lame, hearn
    """
    k2 = (outer_mm / bore_mm) ** 2
    return 2.0 * pressure_mpa * k2 / (k2 - 1.0)


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

    Source: lame, shigley
    """
    a2, b2, r2 = bore_mm**2 / 4.0, outer_mm**2 / 4.0, at_mm**2 / 4.0
    mean = (inner_pressure_mpa * a2 - outer_pressure_mpa * b2) / (b2 - a2)
    swing = (inner_pressure_mpa - outer_pressure_mpa) * a2 * b2 / (b2 - a2) / r2
    return mean - swing, mean + swing, mean + 0.0 * swing


def lame_radial_growth(
    radial_mpa: Number,
    hoop_mpa: Number,
    axial_mpa: Number,
    at_mm: Number,
    modulus_mpa: Number,
    poisson: Number,
) -> Number:
    """Return the radial displacement that belongs to a stress state of the wall.

    Parameters
    ----------
    radial_mpa, hoop_mpa, axial_mpa : float or array
        Stresses at the place [MPa].
    at_mm : float or array
        Diameter of the place [mm].
    modulus_mpa : float or array
        Young's modulus [MPa].
    poisson : float or array
        Poisson's ratio [-].

    Returns
    -------
    float or array
        Outward displacement of the radius [mm].

    Source: lame, timoshenko
    """
    return at_mm / 2.0 / modulus_mpa * (hoop_mpa - poisson * (radial_mpa + axial_mpa))


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

    Source: lame, shigley
    """
    return -2.0 * outer_pressure_mpa * outer_mm**2 / (outer_mm**2 - bore_mm**2)


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

    Source: roark
    """
    k3 = (outer_mm / bore_mm) ** 3
    return pressure_mpa * (2.0 + k3) / (2.0 * (k3 - 1.0))


def thick_sphere_hoop_both(
    inner_pressure_mpa: Number,
    outer_pressure_mpa: Number,
    bore_mm: Number,
    outer_mm: Number,
    at_mm: Number,
) -> Number:
    """Return the hoop stress anywhere in a thick sphere with pressure on both sides.

    Parameters
    ----------
    inner_pressure_mpa, outer_pressure_mpa : float or array
        Pressures inside and outside [MPa].
    bore_mm, outer_mm, at_mm : float or array
        Inner and outer diameter and the place's diameter [mm].

    Returns
    -------
    float or array
        Hoop stress, tension positive [MPa].

    Source: roark
    """
    a3, b3, r3 = bore_mm**3, outer_mm**3, at_mm**3
    mean = (inner_pressure_mpa * a3 - outer_pressure_mpa * b3) / (b3 - a3)
    swing = (inner_pressure_mpa - outer_pressure_mpa) * a3 * b3 / (2.0 * r3 * (b3 - a3))
    return mean + swing


def faupel_burst(yield_mpa: Number, ultimate_mpa: Number, ratio: Number) -> Number:
    """Return the short-term burst pressure of a ductile thick cylinder.

    Printed elbows have burst below classical formulas and brittle (cuesta2025),
    so no check leans on this number; it is for comparison only.

    Parameters
    ----------
    yield_mpa, ultimate_mpa : float or array
        Yield and ultimate strength [MPa].
    ratio : float or array
        Outer over inner diameter [-].

    Returns
    -------
    float or array
        (2/sqrt 3) sy (2 - sy/su) ln k [MPa].

    Source: faupel, cuesta2025
    """
    shape = yield_mpa * (2.0 - yield_mpa / ultimate_mpa)
    return np.asarray(2.0 / np.sqrt(3.0) * shape * np.log(ratio))[()]


def collapse_pressure(yield_mpa: Number, ratio: Number, *, mises: bool) -> Number:
    """Return the pressure that makes the whole wall yield.

    Parameters
    ----------
    yield_mpa : float or array
        Yield strength [MPa].
    ratio : float or array
        Outer over inner diameter [-].
    mises : bool
        Von Mises (True) or Tresca (False) yield.

    Returns
    -------
    float or array
        sy ln k, times 2/sqrt 3 for von Mises [MPa].

    Source: hearn
    """
    factor = 2.0 / np.sqrt(3.0) if mises else 1.0
    return factor * yield_mpa * np.log(ratio)


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

    Source: shigley
    """
    return pressure_mpa * np.pi / 4.0 * diameter_mm**2
