"""Sections, columns and beams."""

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

    Notes
    -----
    Equation: Shigley table A-18 (from memory).
    Valid: Any round tube.

    Examples
    --------
    >>> round(float(ring_area(4.0, 8.0)), 2)
    37.7

    Source: shigley
    """
    return np.pi / 4.0 * (outer_mm * outer_mm - bore_mm * bore_mm)


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

    Notes
    -----
    Equation: Shigley table A-18 (from memory).
    Valid: Any round tube.

    Examples
    --------
    >>> round(float(ring_inertia(4.0, 8.0)), 1)
    188.5

    Source: shigley
    """
    outer2, bore2 = outer_mm * outer_mm, bore_mm * bore_mm
    return np.pi / 64.0 * (outer2 * outer2 - bore2 * bore2)


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

    Notes
    -----
    Equation: Shigley eq. 3-26 (from memory).
    Valid: Elastic, straight, long against its diameter.

    Examples
    --------
    >>> round(float(bending_stress(100.0, 4.0, 8.0)), 3)
    2.122

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

    Notes
    -----
    Equation: Shigley eq. 3-37 (from memory), solved for the torque.
    Valid: Elastic, round.

    Examples
    --------
    >>> round(float(torsion_capacity(10.0, 4.0, 8.0)), 1)
    942.5

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

    Notes
    -----
    Equation: Shigley eq. 4-42 (from memory) with the effective length.
    Valid: Slender columns: KL/r over sqrt(2 pi2 E/s).

    Examples
    --------
    >>> round(float(euler_load(1700.0, 188.5, 80.0)), 1)
    494.2

    Source: euler_johnson
    """
    return np.pi**2 * modulus_mpa * inertia_mm4 / (effective_mm * effective_mm)


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

    Notes
    -----
    Equation: Shigley eq. 4-48 (from memory) with the effective length.
    Valid: Stocky columns: KL/r up to sqrt(2 pi2 E/s).

    Examples
    --------
    >>> round(float(johnson_load(1700.0, 45.0, 4.0, 8.0, 28.0)))
    1518

    Source: euler_johnson
    """
    area = ring_area(bore_mm, outer_mm)
    slender2 = effective_mm * effective_mm * area / ring_inertia(bore_mm, outer_mm)
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

    Notes
    -----
    Equation: Shigley eq. 4-42 and 4-48, parted by eq. 4-45 (from memory).
    Valid: Straight columns under a load along their axis.

    Examples
    --------
    >>> round(float(column_load(1700.0, 45.0, 4.0, 8.0, 28.0)))
    1518

    Source: euler_johnson
    """
    area, inertia = ring_area(bore_mm, outer_mm), ring_inertia(bore_mm, outer_mm)
    slender2 = effective_mm * effective_mm * area / inertia
    # A column of unknown strength is not slender: Johnson's load of it is unknown.
    slender = slender2 >= 2.0 * np.pi**2 * modulus_mpa / strength_mpa
    return np.where(
        slender,
        euler_load(modulus_mpa, inertia, effective_mm),
        johnson_load(modulus_mpa, strength_mpa, bore_mm, outer_mm, effective_mm),
    )[()]


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

    Notes
    -----
    Equation: Shigley table A-9, case 5 (from memory).
    Valid: Elastic, long against its height.

    Examples
    --------
    >>> round(beam_load(27.0, 20.0, 3.0, 11.5), 1)
    281.7

    Source: beam_theory
    """
    return 4.0 * strength_mpa * width_mm * height_mm * height_mm / 6.0 / span_mm


def growing_flexibility(
    width_mm: Number, height_mm: Number, growth: Number, length_mm: Number
) -> Number:
    """Return how far the end of a cantilever gives whose height grows from there to its root.

    Bent across its width, as a fork's stepped tine is that grows thicker.

    Parameters
    ----------
    width_mm : float or array
        Section along the load [mm].
    height_mm : float or array
        Section across the load at the free end [mm].
    growth : float or array
        Growth of that height per length, above zero [-].
    length_mm : float or array
        From the load to the root [mm].

    Returns
    -------
    float or array
        Deflection times modulus over load: the integral of u2/(b3 (h + g u)/12) [1/mm].

    Notes
    -----
    Equation: none: our own integral of the unit load theorem.
    Valid: Elastic, small deflection, no shear.

    Examples
    --------
    >>> round(float(growing_flexibility(10.0, 2.0, 0.5, 40.0)), 3)
    16.281

    Source: own_derivation, beam_theory
    """
    h, g, length = height_mm, growth, length_mm
    whole = length * length / (2.0 * g) - h * length / (g * g)
    whole = whole + h * h / (g * g * g) * np.log1p(g * length / h)
    return 12.0 / (width_mm * width_mm * width_mm) * whole


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

    Notes
    -----
    Equation: two segments of a circle, as any handbook has them; no number.
    Valid: A slot through the middle, of any width.

    Examples
    --------
    >>> round(float(segment_area(2.0, 0.0)), 4)
    3.1416
    >>> round(float(segment_area(2.0, 1.0)), 4)
    1.2284

    Source: own_derivation
    """
    radius, half = circle_mm / 2.0, np.minimum(slot_mm, circle_mm) / 2.0
    return 2.0 * (
        radius * radius * np.arccos(half / radius) - half * np.sqrt(radius * radius - half * half)
    )
