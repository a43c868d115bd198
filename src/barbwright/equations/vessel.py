"""A vessel whose air head drives the liquid: pressure, run-down, recharge, warming, leaks.

Pressures are absolute where their name says so, gauge otherwise.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from barbwright.equations import Number

KELVIN = 273.15


def pressure_after_delivery_mpa(
    start_abs_mpa: Number, air_head_ml: Number, delivered_ml: Number, exponent: Number
) -> Number:
    """Absolute pressure after liquid has left, P V^n constant (n 1 is Boyle, 1.4 adiabatic).

    Parameters
    ----------
    start_abs_mpa : float or array
        Absolute pressure at the start [MPa].
    air_head_ml : float or array
        Air volume at the start [mL].
    delivered_ml : float or array
        Liquid delivered since [mL].
    exponent : float or array
        Polytropic exponent, 1 to 1.4 [-].

    Returns
    -------
    float or array
        Absolute pressure [MPa].

    Notes
    -----
    Equation: P Vn kept; no number.
    Valid: Perfect gas, exponent 1 (slow) to 1.4 (without heat).

    Examples
    --------
    >>> float(pressure_after_delivery_mpa(0.4, 1000.0, 1000.0, 1.0))
    0.2

    Source: boyle
    """
    head = np.asarray(air_head_ml, float)
    return start_abs_mpa * (head / (head + delivered_ml)) ** exponent


def delivery_to_pressure_ml(
    start_abs_mpa: Number, air_head_ml: Number, end_abs_mpa: Number, exponent: Number
) -> Number:
    """Liquid delivered when the pressure has fallen to a limit: the recharge point.

    Parameters
    ----------
    start_abs_mpa : float or array
        Absolute pressure at the start [MPa].
    air_head_ml : float or array
        Air volume at the start [mL].
    end_abs_mpa : float or array
        Absolute pressure at which to recharge [MPa].
    exponent : float or array
        Polytropic exponent; 1.4 gives the earliest point [-].

    Returns
    -------
    float or array
        Delivered volume [mL].

    Notes
    -----
    Equation: P Vn kept, solved for the volume; no number.
    Valid: As `pressure_after_delivery_mpa`, down to a pressure under the start.

    Examples
    --------
    >>> float(delivery_to_pressure_ml(0.4, 1000.0, 0.2, 1.0))
    1000.0

    Source: boyle
    """
    ratio = np.asarray(start_abs_mpa, float) / end_abs_mpa
    return np.asarray(air_head_ml) * (ratio ** (1.0 / np.asarray(exponent)) - 1.0)


def air_head_for_band_ml(
    delivered_ml: Number, high_abs_mpa: Number, low_abs_mpa: Number, exponent: Number
) -> Number:
    """Air head needed to deliver a volume while the pressure stays inside a band.

    Parameters
    ----------
    delivered_ml : float or array
        Liquid to deliver without a recharge [mL].
    high_abs_mpa : float or array
        Absolute pressure at the start [MPa].
    low_abs_mpa : float or array
        Absolute pressure allowed at the end [MPa].
    exponent : float or array
        Polytropic exponent; 1.4 asks for the largest head [-].

    Returns
    -------
    float or array
        Air volume at the start [mL].

    Notes
    -----
    Equation: P Vn kept, solved for the head; no number.
    Valid: As `pressure_after_delivery_mpa`.

    Examples
    --------
    >>> float(air_head_for_band_ml(1000.0, 0.4, 0.2, 1.0))
    1000.0

    Source: boyle
    """
    return np.asarray(delivered_ml) / delivery_to_pressure_ml(
        high_abs_mpa, 1.0, low_abs_mpa, exponent
    )


def run_down_seconds(
    flow_ml_s: Callable[[float], float],
    start_abs_mpa: float,
    air_head_ml: float,
    delivered_ml: float,
    exponent: float,
) -> float:
    """Time to deliver a volume while the vessel runs down, the integral of dV over flow(P(V)).

    Parameters
    ----------
    flow_ml_s : callable
        Flow [mL/s] at an absolute pressure [MPa].
    start_abs_mpa : float
        Absolute pressure at the start [MPa].
    air_head_ml : float
        Air volume at the start [mL].
    delivered_ml : float
        Liquid to deliver [mL].
    exponent : float
        Polytropic exponent [-].

    Returns
    -------
    float
        Time; infinite where the flow stops before the volume is delivered [s].

    Notes
    -----
    Equation: time is the sum of dV over the flow; no number.
    Valid: As `pressure_after_delivery_mpa`, a flow that follows the pressure at once.

    Examples
    --------
    >>> round(run_down_seconds(lambda pressure: 2.0, 0.4, 1000.0, 500.0, 1.0), 6)
    250.0

    Source: boyle
    """
    from scipy.integrate import quad

    def pressure(volume_ml: float) -> float:
        return float(pressure_after_delivery_mpa(start_abs_mpa, air_head_ml, volume_ml, exponent))

    # Flow falls with volume, so one look at the end tells whether it ever stops.
    if flow_ml_s(pressure(delivered_ml)) <= 0.0:
        return float("inf")
    value, _ = quad(
        lambda volume_ml: 1.0 / flow_ml_s(pressure(volume_ml)), 0.0, delivered_ml, epsrel=1e-8
    )
    return float(value)


def warming_to_relief_c(start_abs_mpa: float, relief_abs_mpa: float, temperature_c: float) -> float:
    """Temperature at which a closed air head reaches the relief pressure (vessel in the sun).

    Parameters
    ----------
    start_abs_mpa : float
        Absolute pressure when closed [MPa].
    relief_abs_mpa : float
        Absolute pressure at which the relief opens [MPa].
    temperature_c : float
        Temperature when closed [C].

    Returns
    -------
    float
        Temperature [C].

    Notes
    -----
    Equation: pressure over absolute temperature kept (Gay-Lussac); no number.
    Valid: A closed head of perfect gas whose liquid does not swell; it does, which is earlier.

    Examples
    --------
    >>> round(warming_to_relief_c(0.3, 0.33, 20.0), 3)
    49.315

    Source: boyle
    """
    return (temperature_c + KELVIN) * relief_abs_mpa / start_abs_mpa - KELVIN
