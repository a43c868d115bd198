"""Stress where bores cross: table factors, and the ball relief's estimate."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from barbwright.equations import Number
from barbwright.equations.cylinder import thick_sphere_hoop

LEAST_RATIO = 1.4


def crossing_factor(
    ratio: Number, table_ratio: Sequence[float], table_factor: Sequence[float]
) -> Number:
    """Return the stress factor on the Lame hoop stress where plain bores cross.

    Parameters
    ----------
    ratio : float or array
        Outer over inner diameter of the plain cylinder [-].
    table_ratio, table_factor : sequence of float, shape (n,)
        Rows of the table: ratio rising [-], and factor [-].

    Returns
    -------
    float or array
        Linear between rows; above the last row the last factor; NaN below the
        first row (1.4), where the table must not be used [-].

    Source: crossing_bores_fe, makulsawatudom2004, nziu_masu2019
    """
    ratio = np.asarray(ratio, dtype=float)
    factor = np.interp(ratio, table_ratio, table_factor)
    return np.where(ratio < table_ratio[0] - 1e-9, np.nan, factor)


def relief_ball_peak(pressure_mpa: Number, relief_mm: Number, hub_mm: Number) -> Number:
    """Return the estimated peak stress of bores that open into a ball in a ball hub.

    A small hole through a wall in equal biaxial tension doubles the stress at
    its edge, and the pressure inside the hole adds itself: 2 s + p.

    Parameters
    ----------
    pressure_mpa : float or array
        Gauge pressure [MPa].
    relief_mm, hub_mm : float or array
        Diameters of the relief ball and of the hub ball [mm].

    Returns
    -------
    float or array
        2 s + p with s the thick-sphere hoop stress, without any uncertainty
        factor [MPa].

    Source: own_derivation, roark
    """
    return 2.0 * thick_sphere_hoop(pressure_mpa, relief_mm, hub_mm) + pressure_mpa
