"""Water between 0 and 50 C: viscosity and density."""

from __future__ import annotations

import numpy as np

from barbwright.equations import Number, square


def water_viscosity_mpa_s(temperature_c: Number) -> Number:
    """Dynamic viscosity of water at 0.1 MPa, short form of IAPWS.

    1e-6 [280.68 T*^-1.9 + 511.45 T*^-7.7 + 61.131 T*^-19.6 + 0.45903 T*^-40] Pa s, T* = T/300 K.
    Within 0.0031 % of the full formula over 0-50 C.

    Parameters
    ----------
    temperature_c : float or array
        Temperature, 0 to 50 [C].

    Returns
    -------
    float or array
        Dynamic viscosity [mPa s].

    Notes
    -----
    Equation: IAPWS supplementary release on liquid water at 0.1 MPa (number not seen).
    Valid: 0 to 50 C here, near atmospheric pressure.

    Examples
    --------
    >>> round(float(water_viscosity_mpa_s(20.0)), 4)
    1.0016

    Source: iapws_short
    """
    t = (np.asarray(temperature_c, float) + 273.15) / 300.0
    return 1e-3 * (280.68 * t**-1.9 + 511.45 * t**-7.7 + 61.131 * t**-19.6 + 0.45903 * t**-40.0)


def water_density_kg_m3(temperature_c: Number) -> Number:
    """Density of air-free water at one atmosphere, the CIPM formula of Tanaka et al. 2001.

    999.97495 [1 - (t - 3.983035)^2 (t + 301.797) / (522528.9 (t + 69.34881))]. Stated for 0-40 C;
    there within 1.2 parts in a million of IAPWS-95, and within 6 up to 50 C. Kell's formula is
    3 to 5 off over the whole range and misses the check value at 20 C.

    Parameters
    ----------
    temperature_c : float or array
        Temperature, 0 to 50 [C].

    Returns
    -------
    float or array
        Density [kg/m3].

    Notes
    -----
    Equation: Tanaka and others 2001, eq. 1 (number from memory).
    Valid: 0 to 40 C by its source, air-free, one atmosphere.

    Examples
    --------
    >>> round(float(water_density_kg_m3(20.0)), 2)
    998.21

    Source: tanaka2001
    """
    t = np.asarray(temperature_c, float)
    part = square(t - 3.983035) * (t + 301.797) / (522528.9 * (t + 69.34881))
    return (999.97495 * (1.0 - part))[()]
