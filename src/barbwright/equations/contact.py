"""A tube over a row of barbs: what a full cylinder would do, and the measures of its bending."""

from __future__ import annotations

import numpy as np

from barbwright.equations import Number
from barbwright.equations.grip import neo_hookean_contact

# Gauss-Legendre, four points on 0 to 1.
_PLACES = (0.06943184420297371, 0.33000947820757187, 0.6699905217924281, 0.9305681557970263)
_WEIGHTS = (0.17392742256872692, 0.32607257743127307, 0.32607257743127307, 0.17392742256872692)


def bending_length(inner_mm: Number, outer_mm: Number) -> Number:
    """Return the length over which a tube's wall bends, sqrt(mean radius x wall).

    Parameters
    ----------
    inner_mm, outer_mm : float or array
        Free diameters [mm].

    Returns
    -------
    float or array
        Bending length [mm].

    Source: timoshenko
    """
    return np.sqrt((np.square(outer_mm) - np.square(inner_mm)) / 8.0)


def yielding_contact(
    modulus_mpa: Number,
    yield_mpa: Number,
    hardening_over_yield: Number,
    inner_mm: Number,
    outer_mm: Number,
    expansion: Number,
) -> Number:
    """Return the pressure of a tube on a full rigid cylinder, elastic, yielding and hardening.

    Incompressible, plane strain: 2/sqrt(3) times the true stress at each radius over that
    radius, summed across the wall (four Gauss points in the logarithm). Without a yield it is the
    closed form of a neo-Hookean tube.

    Parameters
    ----------
    modulus_mpa : float or array
        Young's modulus at small strain [MPa].
    yield_mpa : float or array
        Yield stress; NaN for a rubber [MPa].
    hardening_over_yield : float or array
        Slope of true stress over log strain past yield, over the yield [-].
    inner_mm, outer_mm : float or array
        Free diameters [mm].
    expansion : float or array
        Crest over free inner diameter, less one [-].

    Returns
    -------
    float or array
        Contact pressure [MPa].

    Source: own_derivation, hearn
    """
    ratio = np.asarray(outer_mm) / inner_mm
    stretch = np.square(1.0 + expansion) - 1.0
    stress_yield = np.where(np.isnan(yield_mpa), 1.0, yield_mpa)
    hardening = hardening_over_yield * stress_yield
    total: Number = 0.0
    for place, weight in zip(_PLACES, _WEIGHTS, strict=True):
        rest = np.square(1.0 + place * (ratio - 1.0))
        now = rest + stretch
        strain = np.log(now / rest) / np.sqrt(3.0)
        elastic = modulus_mpa * strain
        plastic = (stress_yield + hardening * strain) / (1.0 + hardening / modulus_mpa)
        slope = (ratio - 1.0) * np.sqrt(rest) / now
        total = total + weight * slope * np.minimum(elastic, plastic)
    rubber = neo_hookean_contact(modulus_mpa, inner_mm, outer_mm, expansion)
    return np.where(np.isnan(yield_mpa), rubber, 2.0 / np.sqrt(3.0) * total)
