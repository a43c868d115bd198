"""Energy stored under pressure: air against the same volume of water.

Pressures are absolute; 1 MPa in 1 mL is 1 J.
"""

from __future__ import annotations

import numpy as np

from barbwright.equations import Number

ATMOSPHERE_MPA = 0.101325
WATER_BULK_MODULUS_MPA = 2200.0


def isentropic_energy_j(
    pressure_abs_mpa: Number,
    volume_ml: Number,
    ambient_abs_mpa: float = ATMOSPHERE_MPA,
    exponent: float = 1.4,
) -> Number:
    """Energy stored in a gas that expands without heat, ASME PCC-2 501-II form.

    P V/(k - 1) [1 - (Pa/P)^((k - 1)/k)]

    Parameters
    ----------
    pressure_abs_mpa : float or array
        Absolute pressure [MPa].
    volume_ml : float or array
        Gas volume [mL].
    ambient_abs_mpa : float
        Absolute ambient pressure [MPa].
    exponent : float
        Ratio of specific heats [-].

    Returns
    -------
    float or array
        Energy [J].

    Notes
    -----
    Equation: ASME PCC-2, article 501, appendix II, the first one (number from memory).
    Valid: A perfect gas that takes up no heat, from a pressure over the ambient one.

    Examples
    --------
    >>> round(float(isentropic_energy_j(0.515010, 3785.41)))
    1811

    Source: pcc2_501
    """
    pressure, k = np.asarray(pressure_abs_mpa, float), exponent
    part = 1.0 - (ambient_abs_mpa / pressure) ** ((k - 1.0) / k)
    value: Number = pressure * np.asarray(volume_ml, float) / (k - 1.0) * part
    return value


def brode_energy_j(
    pressure_abs_mpa: Number,
    volume_ml: Number,
    ambient_abs_mpa: float = ATMOSPHERE_MPA,
    exponent: float = 1.4,
) -> Number:
    """Energy stored in a gas by Brode, (P - Pa) V/(k - 1).

    Above the isentropic form everywhere; above the isothermal one, which no page uses, up to
    about 0.9 MPa.

    Parameters
    ----------
    pressure_abs_mpa : float or array
        Absolute pressure [MPa].
    volume_ml : float or array
        Gas volume [mL].
    ambient_abs_mpa : float
        Absolute ambient pressure [MPa].
    exponent : float
        Ratio of specific heats [-].

    Returns
    -------
    float or array
        Energy [J].

    Notes
    -----
    Equation: Brode 1959, (P - Pa) V/(k - 1) (number not seen).
    Valid: A perfect gas; energy to bring it to pressure at one volume.

    Examples
    --------
    >>> round(float(brode_energy_j(0.501325, 100.0)), 6)
    100.0

    Source: brode
    """
    gauge = np.asarray(pressure_abs_mpa, float) - ambient_abs_mpa
    value: Number = gauge * np.asarray(volume_ml, float) / (exponent - 1.0)
    return value


def liquid_energy_j(
    pressure_mpa: Number,
    volume_ml: Number,
    bulk_modulus_mpa: float = WATER_BULK_MODULUS_MPA,
) -> Number:
    """Energy of a compressed liquid, p^2 V/(2 K), in a stiff vessel.

    Parameters
    ----------
    pressure_mpa : float or array
        Gauge pressure [MPa].
    volume_ml : float or array
        Liquid volume [mL].
    bulk_modulus_mpa : float
        Bulk modulus of the liquid [MPa].

    Returns
    -------
    float or array
        Energy [J].

    Notes
    -----
    Equation: work of compressing an elastic body; no number.
    Valid: Pressures small against the bulk modulus, a vessel that does not give.

    Examples
    --------
    >>> float(liquid_energy_j(1.0, 4400.0))
    1.0

    Source: own_arithmetic
    """
    value: Number = (
        np.square(pressure_mpa) * np.asarray(volume_ml, float) / (2.0 * bulk_modulus_mpa)
    )
    return value
