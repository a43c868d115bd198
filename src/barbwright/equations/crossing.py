"""Stress where bores cross: factors read from tables, between their rows."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from barbwright.equations import Number
from barbwright.equations.cylinder import thick_sphere_hoop

# The wider bores' openings weaken the ball round a narrow bore. Own elements give up to a tenth in
# hubs of 2.4 relief balls and more, a sixth in thinner ones, where equal bores are worse anyway.
OPENINGS = 1.10


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

    Notes
    -----
    Equation: none: our own finite elements, read off in a straight line between rows.
    Valid: Outer over inner diameter from the first row (1.4) up; NaN below it.

    Examples
    --------
    >>> float(crossing_factor(1.7, (1.4, 2.0), (3.0, 4.0)))
    3.5

    Source: crossing_bores_fe, makulsawatudom2004, nziu_masu2019
    """
    ratio = np.asarray(ratio, dtype=float)
    factor = np.interp(ratio, table_ratio, table_factor)
    return np.where(ratio < table_ratio[0] - 1e-9, np.nan, factor)


def hub_factor(
    relief_over_bore: Number,
    hub_over_relief: Number,
    table_relief: Sequence[float],
    table_hub: Sequence[float],
    table_peak: Sequence[Sequence[float]],
) -> Number:
    """Return the peak stress over the pressure where equal bores cross in a ball hub.

    Parameters
    ----------
    relief_over_bore : float or array
        Relief ball over bore, of diameters [-].
    hub_over_relief : float or array
        Hub ball over relief ball, of diameters [-].
    table_relief, table_hub : sequence of float, shapes (n,) and (m,)
        Rows and columns of the table, both rising [-].
    table_peak : sequence, shape (n, m)
        Peak stress over the pressure [-].

    Returns
    -------
    float or array
        Linear in both ratios; the last column's for any thicker hub, which only
        falls from there; NaN for a thinner hub than the first column's and for a
        relief ball outside the rows, where nothing is known [-].

    Notes
    -----
    Equation: none: our own finite elements, read off in a straight line between places. No print
    of bores that cross in a ball was found: the same elements reproduce printed cross bores in
    cylinders within 6 % (tests/published).
    Valid: Relief ball within the table's rows, hub from its first column up; NaN elsewhere.

    Examples
    --------
    >>> float(hub_factor(1.75, 1.9, (1.5, 2.0), (1.4, 2.4), ((8.0, 4.0), (4.0, 3.0))))
    4.75

    Source: hub_crossing_fe
    """
    factor = np.asarray(table_peak, dtype=float)
    row, down = _between(relief_over_bore, table_relief)
    column, across = _between(np.minimum(hub_over_relief, table_hub[-1]), table_hub)
    low = (1.0 - across) * factor[row, column] + across * factor[row, column + 1]
    high = (1.0 - across) * factor[row + 1, column] + across * factor[row + 1, column + 1]
    return np.asarray((1.0 - down) * low + down * high)


def small_bore_factor(hub_over_relief: Number) -> Number:
    """Return the von Mises stress over the pressure at the lip of a small bore in a ball hub.

    A small hole in a wall in equal biaxial tension doubles the stress s along its
    edge, and the pressure inside the hole adds itself: 2 s + p. Across the edge
    both faces are pressed by p, so von Mises has 2 s + 2 p.

    Parameters
    ----------
    hub_over_relief : float or array
        Hub ball over relief ball, of diameters [-].

    Returns
    -------
    float or array
        2 s/p + 2, s the thick sphere's hoop stress at the inside [-].

    Notes
    -----
    Equation: a small hole in even tension doubles it (Peterson, seen); Roark table 13.5, case 2a
    (from memory). Their sum, and the pressure in the hole, is our own: no print has it.
    Valid: A bore small against the ball's wall.

    Examples
    --------
    >>> round(float(small_bore_factor(3.0)), 4)
    3.1154

    Source: own_derivation, roark
    """
    return 2.0 * thick_sphere_hoop(1.0, 1.0, hub_over_relief) + 2.0


def unequal_bores_factor(equal: Number, small: Number, narrow_over_wide: Number) -> Number:
    """Return the peak stress over the pressure where unequal bores cross in a ball hub.

    Parameters
    ----------
    equal : float or array
        Factor of equal bores as wide as the wider [-].
    small : float or array
        Factor of a small bore alone [-].
    narrow_over_wide : float or array
        Narrower over wider bore, of diameters [-].

    Returns
    -------
    float or array
        By the bores' ratio between equal bores and a small one in a ball that
        the wide ones weaken, 1.10 `small`; never under `equal` [-].

    Notes
    -----
    Equation: none: a straight line between two of our own finite elements' cases.
    Valid: Both factors for the same hub; compared down to a narrow bore of 0.15 of the wide
    one.

    Examples
    --------
    >>> round(float(unequal_bores_factor(3.0, 3.0, 0.5)), 3)
    3.15

    Source: hub_crossing_fe, own_derivation
    """
    share = 1.0 - narrow_over_wide
    return equal + share * np.maximum(OPENINGS * small - equal, 0.0)


def _between(
    ratio: Number, places: Sequence[float]
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Return the place before a ratio, and its share of the way to the next, NaN outside."""
    at, rows = np.asarray(ratio, dtype=float), np.asarray(places, dtype=float)
    before = np.asarray(np.clip(np.searchsorted(rows, at, side="right") - 1, 0, len(rows) - 2))
    share = (at - rows[before]) / (rows[before + 1] - rows[before])
    # Rounding must not refuse a size that stands on the first or last place.
    outside = (at < rows[0] - 1e-9) | (at > rows[-1] + 1e-9)
    return before, np.where(outside, np.nan, np.clip(share, 0.0, 1.0))
