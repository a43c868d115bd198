"""A tapered tip in green wood: contact, holding, driving, freeing, splitting."""

from __future__ import annotations

import numpy as np

from barbwright.equations import Number


def crush_from_gravity(specific_gravity: Number, *, hardwood: bool) -> Number:
    """Return the green compression strength across the grain from density.

    Parameters
    ----------
    specific_gravity : float or array
        Green specific gravity [-].
    hardwood : bool
        Hardwood or softwood row of the regression.

    Returns
    -------
    float or array
        18.5 G^2.48 or 8.8 G^1.53 [MPa].

    Notes
    -----
    Equation: Wood Handbook table 5-11a, green, compression across the grain (from memory).
    Valid: Green wood, -20 to +25 % against the species' own rows.

    Examples
    --------
    >>> round(float(crush_from_gravity(0.56, hardwood=True)), 3)
    4.392

    Source: wood_handbook_regression
    """
    factor, power = (18.5, 2.48) if hardwood else (8.8, 1.53)
    return factor * np.power(specific_gravity, power)


def tension_from_gravity(specific_gravity: Number, *, hardwood: bool) -> Number:
    """Return the green tension strength across the grain from density.

    Parameters
    ----------
    specific_gravity : float or array
        Green specific gravity [-].
    hardwood : bool
        Hardwood or softwood row of the regression.

    Returns
    -------
    float or array
        10.5 G^1.37 or 3.8 G^0.78 [MPa].

    Notes
    -----
    Equation: Wood Handbook table 5-11a, green, tension across the grain (from memory).
    Valid: Green wood, within 20 % of the two rows seen.

    Examples
    --------
    >>> round(float(tension_from_gravity(0.56, hardwood=True)), 2)
    4.74

    Source: wood_handbook_regression
    """
    factor, power = (10.5, 1.37) if hardwood else (3.8, 0.78)
    return factor * np.power(specific_gravity, power)


def modulus_from_gravity(specific_gravity: Number, *, hardwood: bool) -> Number:
    """Return the green modulus along the grain from density.

    Parameters
    ----------
    specific_gravity : float or array
        Green specific gravity [-].
    hardwood : bool
        Hardwood or softwood row of the regression.

    Returns
    -------
    float or array
        13900 G^0.72 or 16100 G^0.76 [MPa].

    Notes
    -----
    Equation: Wood Handbook table 5-11a, green, modulus of elasticity (from memory).
    Valid: Green wood; from bending, which shear makes up to a tenth too low.

    Examples
    --------
    >>> round(float(modulus_from_gravity(0.56, hardwood=True)))
    9156

    Source: wood_handbook_regression
    """
    factor, power = (13900.0, 0.72) if hardwood else (16100.0, 0.76)
    return factor * np.power(specific_gravity, power)


def hole_edge_factor(et_over_el: Number, glt_over_el: Number, nu_lt: Number) -> Number:
    """Return the hoop tension at a pressed hole's edge over the pressure.

    Parameters
    ----------
    et_over_el : float or array
        Tangential over longitudinal modulus [-].
    glt_over_el : float or array
        Shear modulus in the LT plane over the longitudinal modulus [-].
    nu_lt : float or array
        Poisson's ratio, strain along T from stress along L [-].

    Returns
    -------
    float or array
        (n - 1)/k with k = sqrt(EL/ET), n = sqrt(2 (k - nu) + EL/GLT) [-].

    Notes
    -----
    Equation: Lekhnitskii, Anisotropic Plates, pressed round hole (number not seen). Printed
    roots of four plates give it within 3 in 10,000 (tests/published).
    Valid: A thin, elastic, orthotropic, endless plate; the edge where the grain splits.

    Examples
    --------
    >>> round(float(hole_edge_factor(0.082, 0.081, 0.448)), 3)
    0.943

    Source: orthotropic_hole, wood_elastic_ratios
    """
    kk = np.sqrt(1.0 / et_over_el)
    n = np.sqrt(2.0 * (kk - nu_lt) + 1.0 / glt_over_el)
    return (n - 1.0) / kk


def splitting_pressure(tension_mpa: Number, edge_factor: Number) -> Number:
    """Return the pressure on a hole's wall at which a check starts in the wood.

    Parameters
    ----------
    tension_mpa : float or array
        Green tension strength across the grain [MPa].
    edge_factor : float or array
        Hoop tension at the edge over the pressure [-].

    Returns
    -------
    float or array
        Pressure at the start of a check [MPa].

    Notes
    -----
    Equation: strength over the hoop tension at the edge; no number.
    Valid: As `hole_edge_factor`; the start of a check, not its growth.

    Examples
    --------
    >>> splitting_pressure(5.2, 0.8)
    6.5

    Source: orthotropic_hole
    """
    return tension_mpa / edge_factor


def taper_half_angle(taper: Number) -> Number:
    """Return the half angle of a taper given on the diameter.

    Parameters
    ----------
    taper : float or array
        Growth of the diameter per length [-].

    Returns
    -------
    float or array
        Angle between flank and axis [rad].

    Notes
    -----
    Equation: ISO 3040: the taper is twice the tangent of half the angle (from memory).
    Valid: Any taper of 0 or more.

    Examples
    --------
    >>> round(float(taper_half_angle(0.05)), 6)
    0.024995

    Source: taper_pins
    """
    return np.arctan(np.asarray(taper, dtype=float) / 2.0)


def seat_area(hole_mm: Number, taper: Number, contact_mm: Number) -> Number:
    """Return the area of a taper's flank in contact with the wood.

    Parameters
    ----------
    hole_mm : float or array
        Hole diameter [mm].
    taper : float or array
        Taper on the diameter [-].
    contact_mm : float or array
        Length in contact [mm].

    Returns
    -------
    float or array
        pi Dmean L/cos a [mm2].

    Notes
    -----
    Equation: flank of a frustum; no number.
    Valid: Any taper.

    Examples
    --------
    >>> round(float(seat_area(6.0, 0.05, 12.0)), 1)
    237.6

    Source: own_derivation
    """
    mean = hole_mm + taper * contact_mm / 2.0
    return np.pi * mean * contact_mm / np.cos(taper_half_angle(taper))


def driving_force(contact_mpa: Number, area_mm2: Number, taper: Number, friction: Number) -> Number:
    """Return the axial force that drives a taper further in.

    Parameters
    ----------
    contact_mpa : float or array
        Pressure on the flank [MPa].
    area_mm2 : float or array
        Flank in contact [mm2].
    taper : float or array
        Taper on the diameter [-].
    friction : float or array
        Coefficient of friction [-].

    Returns
    -------
    float or array
        q A (mu cos a + sin a) [N].

    Notes
    -----
    Equation: force that engages a cone, N (sin a + mu cos a), any text on cone clutches (from
    memory).
    Valid: One pressure over the flank, before the wood is crushed.

    Examples
    --------
    >>> round(float(driving_force(0.5, 300.0, 0.06, 0.2)), 2)
    34.48

    Source: wedge_friction
    """
    a = taper_half_angle(taper)
    return contact_mpa * area_mm2 * (friction * np.cos(a) + np.sin(a))


def holding_force(contact_mpa: Number, area_mm2: Number, taper: Number, friction: Number) -> Number:
    """Return the axial force a seated taper holds against being pushed out.

    Parameters
    ----------
    contact_mpa : float or array
        Pressure on the flank [MPa].
    area_mm2 : float or array
        Flank in contact [mm2].
    taper : float or array
        Taper on the diameter [-].
    friction : float or array
        Coefficient of friction [-].

    Returns
    -------
    float or array
        q A (mu cos a - sin a) [N].

    Notes
    -----
    Equation: force that frees a cone, N (mu cos a - sin a), any text on cone clutches (from
    memory).
    Valid: One pressure over the flank; negative where the taper backs out by itself.

    Examples
    --------
    >>> round(float(holding_force(0.5, 300.0, 0.06, 0.2)), 2)
    25.49

    Source: wedge_friction
    """
    a = taper_half_angle(taper)
    return contact_mpa * area_mm2 * (friction * np.cos(a) - np.sin(a))


def freeing_torque(
    contact_mpa: Number, area_mm2: Number, mean_mm: Number, friction: Number
) -> Number:
    """Return the torque that turns a seated taper loose.

    Parameters
    ----------
    contact_mpa : float or array
        Pressure on the flank [MPa].
    area_mm2 : float or array
        Flank in contact [mm2].
    mean_mm : float or array
        Mean diameter of the contact [mm].
    friction : float or array
        Coefficient of friction [-].

    Returns
    -------
    float or array
        mu q A D/2 [N mm].

    Notes
    -----
    Equation: torque of a cone clutch, mu N R, uniform pressure (any text on clutches, from
    memory).
    Valid: One pressure over the flank, a small taper.

    Examples
    --------
    >>> round(freeing_torque(0.1, 86000.0, 500.0, 0.2))
    430000

    Source: wedge_friction
    """
    return friction * contact_mpa * area_mm2 * mean_mm / 2.0


def rocking_force(
    crush_mpa: Number, width_mm: Number, length_mm: Number, lever_mm: Number
) -> Number:
    """Return the side force at which a rigid peg tilts in wood that crushes at one stress.

    Above the point it turns about the wood presses one way, below it the other, each at the
    crush strength; sum of forces and of moments give where that point lies. Friction and the
    taper's grip are left out.

    Parameters
    ----------
    crush_mpa : float or array
        Stress at which the wood crushes across the peg [MPa].
    width_mm, length_mm : float or array
        The peg's mean diameter and its length in sound wood [mm].
    lever_mm : float or array
        From the wood's surface to the line of the force [mm].

    Returns
    -------
    float or array
        q D L (sqrt(m^2 + 1) - m), m = 1 + 2 e/L [N].

    Notes
    -----
    Equation: Broms 1964, short free-headed pile in a bed of one strength (from memory, number
    not seen).
    Valid: A peg much stiffer than its bed.

    Examples
    --------
    >>> round(float(rocking_force(4.0, 6.0, 10.0, 0.0)), 1)
    99.4

    Source: broms1964, own_derivation
    """
    m = 1.0 + 2.0 * lever_mm / np.maximum(length_mm, 1e-9)
    # (sqrt(m2 + 1) - m) written without a difference of near equals.
    return crush_mpa * width_mm * length_mm / (np.sqrt(m * m + 1.0) + m)
