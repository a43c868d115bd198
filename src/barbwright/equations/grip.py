"""A tube on a barb: modulus from hardness, contact, push-on force and grip."""

from __future__ import annotations

import numpy as np

from barbwright.equations import Number


def gent_modulus(shore_a: Number) -> Number:
    """Return Young's modulus of a rubber from its Shore A hardness (Gent).

    Parameters
    ----------
    shore_a : float or array
        Hardness, 20 to 95 [Shore A].

    Returns
    -------
    float or array
        Modulus; NaN outside 20 to 95 [MPa].

    Notes
    -----
    Equation: Gent 1958, the one relation of hardness and modulus (number not seen).
    Valid: 20 to 95 Shore A, small strain, an incompressible rubber; NaN outside.

    Examples
    --------
    >>> round(float(gent_modulus(65.0)), 3)
    4.426

    Source: gent1958
    """
    s = np.asarray(shore_a, dtype=float)
    modulus = 0.0981 * (56.0 + 7.62336 * s) / (0.137505 * (254.0 - 2.54 * s))
    return np.asarray(np.where((s >= 20.0) & (s <= 95.0), modulus, np.nan))


def ruess_modulus(shore_a: Number) -> Number:
    """Return Young's modulus of a rubber from its Shore A hardness (Ruess).

    The power is of ten; the same line with e is a known misprint and gives 2.7
    times less at 60A.

    Parameters
    ----------
    shore_a : float or array
        Hardness [Shore A].

    Returns
    -------
    float or array
        10^(0.0235 S - 0.6403) [MPa].

    Notes
    -----
    Equation: log10 E = 0.0235 S - 0.6403; no number.
    Valid: Rubbers, Shore A; no range stood where it was seen. It widens what Gent says: the
    softer of both and the stiffer of both are taken.

    Examples
    --------
    >>> round(float(ruess_modulus(60.0)), 3)
    5.884

    Source: ruess
    """
    return np.power(10.0, 0.0235 * np.asarray(shore_a, dtype=float) - 0.6403)


def stretched_outer(inner_mm: Number, outer_mm: Number, expansion: Number) -> Number:
    """Return a tube's outer diameter on a barb, its section area unchanged.

    Parameters
    ----------
    inner_mm, outer_mm : float or array
        Free inner and outer diameter [mm].
    expansion : float or array
        Crest over free inner diameter, less one [-].

    Returns
    -------
    float or array
        Outer diameter on the crest [mm].

    Notes
    -----
    Equation: area of the section kept; no number.
    Valid: An incompressible tube that keeps its length.

    Examples
    --------
    >>> round(float(stretched_outer(6.35, 9.525, 0.20)), 3)
    10.415

    Source: own_derivation
    """
    crest = inner_mm * (1.0 + expansion)
    return np.sqrt(crest * crest + outer_mm * outer_mm - inner_mm * inner_mm)


def neo_hookean_contact(
    modulus_mpa: Number, inner_mm: Number, outer_mm: Number, expansion: Number
) -> Number:
    """Return the pressure a stretched tube puts on a rigid barb, at large strain.

    Incompressible neo-Hookean tube, plane strain; mu = E/3. The small-strain
    formula promises 35 % more at an expansion of 0.20.

    Parameters
    ----------
    modulus_mpa : float or array
        Young's modulus at small strain [MPa].
    inner_mm, outer_mm : float or array
        Free inner and outer diameter [mm].
    expansion : float or array
        Crest over free inner diameter, less one; 0 or more [-].

    Returns
    -------
    float or array
        Contact pressure [MPa].

    Notes
    -----
    Equation: Rivlin 1949, Phil. Trans. A 242, expansion of a tube with its length kept (from
    memory, number not seen).
    Valid: Any expansion of 0 or more, long against its wall, before the tube yields.

    Examples
    --------
    >>> round(float(neo_hookean_contact(4.426, 6.35, 9.525, 0.20)), 3)
    0.242

    Source: neo_hookean_tube
    """
    A, B = inner_mm / 2.0, outer_mm / 2.0
    a = A * (1.0 + expansion)
    b = stretched_outer(inner_mm, outer_mm, expansion) / 2.0
    la, lb = a / A, b / B
    shear = modulus_mpa / 3.0
    a2, b2 = a * a, b * b
    return shear * (np.log(la / lb) + (a2 - A * A) / 2.0 * (1.0 / a2 - 1.0 / b2))


def friction_grip(
    contact_mpa: Number, crest_mm: Number, length_mm: Number, friction: Number
) -> Number:
    """Return the axial force that friction alone holds.

    Parameters
    ----------
    contact_mpa : float or array
        Contact pressure [MPa].
    crest_mm : float or array
        Crest diameter [mm].
    length_mm : float or array
        Length in contact [mm].
    friction : float or array
        Coefficient of friction [-].

    Returns
    -------
    float or array
        mu p pi D L [N].

    Notes
    -----
    Equation: Shigley section 7-8, press fits (from memory): mu p times the area.
    Valid: One pressure over all of the length.

    Examples
    --------
    >>> round(friction_grip(48.75, 50.0, 40.0, 0.15))
    45946

    Source: wedge_friction
    """
    return friction * contact_mpa * np.pi * crest_mm * length_mm
