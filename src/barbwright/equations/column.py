"""Columns, sections and hammer blows."""

from __future__ import annotations

import numpy as np

from barbwright.equations import Number


def ring_area(bore_mm: Number, outer_mm: Number) -> Number:
    """Return the area of a round tube's section.

    Parameters
    ----------
    bore_mm, outer_mm : float or array
        Inner and outer diameter [mm].

    Returns
    -------
    float or array
        Area [mm2].

    Source: shigley
    """
    return np.pi / 4.0 * (outer_mm**2 - bore_mm**2)


def ring_inertia(bore_mm: Number, outer_mm: Number) -> Number:
    """Return the second moment of area of a round tube's section.

    Parameters
    ----------
    bore_mm, outer_mm : float or array
        Inner and outer diameter [mm].

    Returns
    -------
    float or array
        Second moment about a diameter [mm4].

    Source: shigley
    """
    return np.pi / 64.0 * (outer_mm**4 - bore_mm**4)


def bending_stress(moment_nmm: Number, bore_mm: Number, outer_mm: Number) -> Number:
    """Return the bending stress at the outside of a round tube.

    Parameters
    ----------
    moment_nmm : float or array
        Bending moment [N mm].
    bore_mm, outer_mm : float or array
        Inner and outer diameter [mm].

    Returns
    -------
    float or array
        M/Z [MPa].

    Source: shigley
    """
    return moment_nmm * outer_mm / 2.0 / ring_inertia(bore_mm, outer_mm)


def torsion_capacity(shear_mpa: Number, bore_mm: Number, outer_mm: Number) -> Number:
    """Return the torque at which a round tube's shear stress reaches a strength.

    Parameters
    ----------
    shear_mpa : float or array
        Shear strength [MPa].
    bore_mm, outer_mm : float or array
        Inner and outer diameter [mm].

    Returns
    -------
    float or array
        tau J/(D/2) [N mm].

    Source: shigley
    """
    return shear_mpa * 2.0 * ring_inertia(bore_mm, outer_mm) / (outer_mm / 2.0)


def euler_load(modulus_mpa: Number, inertia_mm4: Number, effective_mm: Number) -> Number:
    """Return the Euler buckling load.

    Parameters
    ----------
    modulus_mpa : float or array
        Young's modulus [MPa].
    inertia_mm4 : float or array
        Least second moment of area [mm4].
    effective_mm : float or array
        Effective length K L [mm].

    Returns
    -------
    float or array
        pi2 E I/(K L)2 [N].

    Source: euler_johnson
    """
    return np.pi**2 * modulus_mpa * inertia_mm4 / effective_mm**2


def johnson_load(
    modulus_mpa: Number,
    strength_mpa: Number,
    bore_mm: Number,
    outer_mm: Number,
    effective_mm: Number,
) -> Number:
    """Return the Johnson load of a short column.

    Parameters
    ----------
    modulus_mpa : float or array
        Young's modulus [MPa].
    strength_mpa : float or array
        Compressive strength [MPa].
    bore_mm, outer_mm : float or array
        Inner and outer diameter [mm].
    effective_mm : float or array
        Effective length K L [mm].

    Returns
    -------
    float or array
        A s (1 - (KL/r)2 s/(4 pi2 E)) [N].

    Source: euler_johnson
    """
    area = ring_area(bore_mm, outer_mm)
    slender2 = effective_mm**2 * area / ring_inertia(bore_mm, outer_mm)
    return area * strength_mpa * (1.0 - slender2 * strength_mpa / (4.0 * np.pi**2 * modulus_mpa))


def column_load(
    modulus_mpa: Number,
    strength_mpa: Number,
    bore_mm: Number,
    outer_mm: Number,
    effective_mm: Number,
) -> Number:
    """Return the buckling load: Johnson for stocky columns, Euler for slender ones.

    Parameters
    ----------
    modulus_mpa : float or array
        Young's modulus [MPa].
    strength_mpa : float or array
        Compressive strength [MPa].
    bore_mm, outer_mm : float or array
        Inner and outer diameter [mm].
    effective_mm : float or array
        Effective length K L [mm].

    Returns
    -------
    float or array
        Load; the two meet at KL/r = sqrt(2 pi2 E/s) [N].

    Source: euler_johnson
    """
    area, inertia = ring_area(bore_mm, outer_mm), ring_inertia(bore_mm, outer_mm)
    slender2 = effective_mm**2 * area / inertia
    stocky = slender2 < 2.0 * np.pi**2 * modulus_mpa / strength_mpa
    return np.where(
        stocky,
        johnson_load(modulus_mpa, strength_mpa, bore_mm, outer_mm, effective_mm),
        # An unknown strength must not pass for a slender column.
        euler_load(modulus_mpa, inertia, effective_mm) + 0.0 * strength_mpa,
    )[()]


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

    Source: shigley
    """
    return mass_kg * speed_m_s**2 / 2.0


def first_wave_stress(speed_m_s: Number, modulus_mpa: Number, density_g_cm3: Number) -> Number:
    """Return the stress of the first wave a blow sends into the part.

    Parameters
    ----------
    speed_m_s : float or array
        Speed of the hammer [m/s].
    modulus_mpa : float or array
        Young's modulus of the part [MPa].
    density_g_cm3 : float or array
        Density of the part [g/cm3].

    Returns
    -------
    float or array
        v sqrt(E rho), computed in SI and given in [MPa].

    Source: timoshenko
    """
    return speed_m_s * np.sqrt(modulus_mpa * 1e6 * density_g_cm3 * 1e3) / 1e6


def beam_load(strength_mpa: Number, width_mm: Number, height_mm: Number, span_mm: Number) -> Number:
    """Return the middle load that breaks a flat beam on two supports.

    Parameters
    ----------
    strength_mpa : float or array
        Strength in bending [MPa].
    width_mm, height_mm : float or array
        Section, the height along the load [mm].
    span_mm : float or array
        Between the supports [mm].

    Returns
    -------
    float or array
        4 s Z/L, Z = b h2/6 [N].

    Source: beam_theory
    """
    return 4.0 * strength_mpa * width_mm * height_mm**2 / 6.0 / span_mm


def segment_area(circle_mm: Number, slot_mm: Number) -> Number:
    """Return the area of a circle outside a slot through its middle, both sides together.

    Parameters
    ----------
    circle_mm, slot_mm : float or array
        Circle's diameter and slot's width [mm].

    Returns
    -------
    float or array
        Twice R2 acos(d/R) - d sqrt(R2 - d2), none where the slot is wider [mm2].

    Source: own_derivation
    """
    radius, half = circle_mm / 2.0, np.minimum(slot_mm, circle_mm) / 2.0
    return 2.0 * (radius**2 * np.arccos(half / radius) - half * np.sqrt(radius**2 - half**2))
