"""A tube over a row of barbs: what a full cylinder would do, and the measures of its bending."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from barbwright.equations import Number, spread_to
from barbwright.equations.grip import neo_hookean_contact

# Gauss-Legendre, four points on 0 to 1 and their weights.
_GAUSS = (
    (0.06943184420297371, 0.17392742256872692),
    (0.33000947820757187, 0.32607257743127307),
    (0.6699905217924281, 0.32607257743127307),
    (0.9305681557970263, 0.17392742256872692),
)


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

    Notes
    -----
    Equation: a shell bends over some sqrt(r t) (Timoshenko, Plates and Shells, number not
    seen).
    Valid: A length to measure others by; no stress comes of it.

    Examples
    --------
    >>> round(float(bending_length(4.0, 6.0)), 4)
    1.5811

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
    radius, summed across the wall (four Gauss points over the free radius). Without a yield it is
    the closed form of a neo-Hookean tube.

    Parameters
    ----------
    modulus_mpa : float or array
        Young's modulus at small strain [MPa].
    yield_mpa : float or array
        Yield stress; NaN for a rubber [MPa].
    hardening_over_yield : float or array
        Slope of true stress over plastic log strain, over the yield [-].
    inner_mm, outer_mm : float or array
        Free diameters [mm].
    expansion : float or array
        Crest over free inner diameter, less one [-].

    Returns
    -------
    float or array
        Contact pressure [MPa].

    Notes
    -----
    Equation: radial balance, p the sum of 2/sqrt(3) s dr/r across the wall; 2/sqrt(3) Y ln k
    where all of it yields (any text on autofrettage, from memory).
    Valid: A tube that keeps its length and volume, on a full cylinder; expansion of 0 or more.

    Examples
    --------
    >>> round(float(yielding_contact(1e6, 1.0, 0.0, 2.0, 4.0, 1e-4)), 3)
    0.8

    Source: own_derivation, hearn
    """
    ratio = np.asarray(outer_mm) / inner_mm
    stretch = np.square(1.0 + expansion) - 1.0
    hardening = hardening_over_yield * yield_mpa
    total: Number = 0.0
    for place, weight in _GAUSS:
        rest = np.square(1.0 + place * (ratio - 1.0))
        now = rest + stretch
        strain = np.log(now / rest) / np.sqrt(3.0)
        elastic = modulus_mpa * strain
        plastic = (yield_mpa + hardening * strain) / (1.0 + hardening / modulus_mpa)
        slope = (ratio - 1.0) * np.sqrt(rest) / now
        total = total + weight * slope * np.minimum(elastic, plastic)
    rubber = neo_hookean_contact(modulus_mpa, inner_mm, outer_mm, expansion)
    return np.where(np.isnan(yield_mpa), rubber, 2.0 / np.sqrt(3.0) * total)


class Groups(dict[str, NDArray[np.float64]]):
    """The groups a barb's table is read at, by name, and what they were made of.

    All are logarithms but ``root``: ``expansion`` crest over bore less one, ``wall`` outer over
    inner diameter, ``span`` free length between lands over the bending length, ``land`` its
    length over the same, ``friction``, ``yield`` strain and ``hardening`` over yield; ``root`` is
    the share of the expansion that the root keeps.
    """

    pressure_mpa: Number
    crest_mm: Number
    bending_mm: Number
    land_mm: Number

    @property
    def shape(self) -> tuple[int, ...]:
        """The shape all groups share."""
        return np.broadcast_shapes(*(value.shape for value in self.values()))

    def names(self, *, elastomer: bool) -> tuple[str, ...]:
        """Return the groups that count for a rubber, or for a tube that yields."""
        return RUBBER_GROUPS if elastomer else RUBBER_GROUPS + YIELD_GROUPS


RUBBER_GROUPS = ("expansion", "wall", "span", "land", "root", "friction")
YIELD_GROUPS = ("yield", "hardening")
# Below this expansion the ratios to a full cylinder stay, and its own pressure falls to nothing.
LEAST_EXPANSION = 0.02
BARBS = 3


def tube_groups(
    *,
    inner_mm: Number,
    outer_mm: Number,
    crest_mm: Number,
    root_mm: Number,
    land_mm: Number,
    pitch_mm: Number,
    modulus_mpa: Number,
    yield_mpa: Number,
    hardening_over_yield: Number,
    friction: Number,
) -> Groups:
    """Return the dimensionless groups of a tube on a row of barbs.

    Parameters
    ----------
    inner_mm, outer_mm : float or array
        Free diameters of the tube [mm].
    crest_mm, root_mm : float or array
        Diameters of the barb [mm].
    land_mm, pitch_mm : float or array
        Lengths [mm].
    modulus_mpa, yield_mpa : float or array
        Young's modulus, and yield, NaN for a rubber [MPa].
    hardening_over_yield, friction : float or array
        Hardening over yield, and Coulomb's coefficient [-].

    Returns
    -------
    Groups
        By name [-].

    Notes
    -----
    Equation: none: groups of our own choice.
    Valid: A land shorter than the pitch, positive diameters.

    Examples
    --------
    >>> groups = tube_groups(
    ...     inner_mm=4.0, outer_mm=6.0, crest_mm=5.0, root_mm=4.0, land_mm=0.8, pitch_mm=3.0,
    ...     modulus_mpa=10.0, yield_mpa=np.nan, hardening_over_yield=np.nan, friction=0.3,
    ... )
    >>> [round(float(np.exp(groups[name])), 3) for name in ("expansion", "wall", "span")]
    [0.25, 1.5, 1.391]

    Source: own_derivation
    """
    bending = bending_length(inner_mm, outer_mm)
    expansion = np.maximum(np.asarray(crest_mm) / inner_mm - 1.0, 0.0)
    counted = np.maximum(expansion, LEAST_EXPANSION)
    root = np.maximum(np.asarray(root_mm) / inner_mm - 1.0, 0.0) / counted
    groups = Groups(
        expansion=np.log(counted),
        wall=np.log(np.asarray(outer_mm / inner_mm)),
        span=np.log((pitch_mm - land_mm) / bending),
        land=np.log(land_mm / bending),
        root=np.asarray(root),
        friction=np.log(np.asarray(friction, dtype=float)),
    )
    groups["yield"] = np.log(np.asarray(yield_mpa / modulus_mpa, dtype=float))
    groups["hardening"] = np.log(np.asarray(hardening_over_yield, dtype=float))
    groups.pressure_mpa = yielding_contact(
        modulus_mpa, yield_mpa, hardening_over_yield, inner_mm, outer_mm, expansion
    )
    groups.crest_mm, groups.bending_mm, groups.land_mm = crest_mm, bending, land_mm
    return groups


def cylinder_force(groups: Groups) -> Number:
    """Return a full cylinder's normal force over a bending length a barb [N].

    Parameters
    ----------
    groups : Groups
        The tube on its barb [-].

    Returns
    -------
    float or array
        Force [N].

    Notes
    -----
    Equation: pressure times area of three lengths; no number.
    Valid: A scale to read the table by; a barb itself has what the table says.

    Examples
    --------
    >>> groups = tube_groups(
    ...     inner_mm=4.0, outer_mm=6.0, crest_mm=5.0, root_mm=4.0, land_mm=0.8, pitch_mm=3.0,
    ...     modulus_mpa=10.0, yield_mpa=np.nan, hardening_over_yield=np.nan, friction=0.3,
    ... )
    >>> round(float(cylinder_force(groups)), 2)
    47.58

    Source: own_derivation
    """
    return groups.pressure_mpa * np.pi * groups.crest_mm * groups.bending_mm * BARBS


def land_scale(groups: Groups) -> Number:
    """Return a full cylinder's pressure, gathered from a bending length onto a land [MPa].

    Parameters
    ----------
    groups : Groups
        The tube on its barb [-].

    Returns
    -------
    float or array
        Pressure [MPa].

    Notes
    -----
    Equation: pressure by the ratio of two lengths; no number.
    Valid: A scale to read the table by; a barb itself has what the table says.

    Examples
    --------
    >>> groups = tube_groups(
    ...     inner_mm=4.0, outer_mm=6.0, crest_mm=5.0, root_mm=4.0, land_mm=0.8, pitch_mm=3.0,
    ...     modulus_mpa=10.0, yield_mpa=np.nan, hardening_over_yield=np.nan, friction=0.3,
    ... )
    >>> round(float(land_scale(groups)), 3)
    1.262

    Source: own_derivation
    """
    return groups.pressure_mpa * groups.bending_mm / groups.land_mm


@dataclass(frozen=True, kw_only=True)
class Surface:
    """A reading over its scale: linear in the groups, and a hill at each of some cases.

    Attributes
    ----------
    names : tuple of str
        Groups, in order.
    middle, spread, least, most : tuple of float
        How each group is moved and scaled, and between what it is known [-].
    terms : tuple of float
        1 and each group [-].
    lengths : tuple of float
        How wide the hills are along each group, in its spread [-].
    centres : tuple of tuple of float
        Where the hills stand, in the groups' spreads [-].
    weights : tuple of float
        How high each is [-].
    error : float
        What nine of ten cases left out of the fit stay within [-].
    """

    names: tuple[str, ...]
    middle: tuple[float, ...]
    spread: tuple[float, ...]
    least: tuple[float, ...]
    most: tuple[float, ...]
    terms: tuple[float, ...]
    lengths: tuple[float, ...]
    centres: tuple[tuple[float, ...], ...]
    weights: tuple[float, ...]
    error: float


def read_surface(surface: Surface, groups: Groups) -> Number:
    """Return a reading over its scale.

    Parameters
    ----------
    surface : Surface
        One of the table [-].
    groups : Groups
        Where it is read [-].

    Returns
    -------
    float or array
        NaN outside the range the table was computed for. A smaller expansion takes the
        smallest one's ratio, since the cylinder's own pressure falls to nothing there; a root
        far under the bore is as good as one that just does not touch [-].

    Notes
    -----
    Equation: none: a Gaussian process in logarithms, fitted to our own finite elements.
    Valid: The range of the surface and a fiftieth over; NaN elsewhere.

    Examples
    --------
    >>> plane = Surface(
    ...     names=("wall",), middle=(0.0,), spread=(1.0,), least=(-1.0,), most=(1.0,),
    ...     terms=(0.5, 1.0), lengths=(0.5,), centres=((0.2,),), weights=(0.0,), error=0.1,
    ... )
    >>> round(float(read_surface(plane, Groups(wall=np.array(0.2)))), 4)
    2.0138

    Source: barb_contact_fe
    """
    outside: NDArray[np.bool_] = np.zeros((), dtype=bool)
    places = []
    columns = (surface.names, surface.middle, surface.spread, surface.least, surface.most)
    for name, middle, spread, least, most in zip(*columns, strict=True):
        at = groups[name]
        slack = RANGE_SLACK * (most - least)
        over = np.asarray(at > most + slack)
        # Not a number is outside as well.
        under = np.isnan(at) if name in {"expansion", "root"} else ~(at >= least - slack)
        outside = np.asarray(outside | over | np.asarray(under))
        places.append((np.clip(at, least, most) - middle) / spread)
    flat = np.stack([spread_to(at, outside.shape).ravel() for at in places], axis=1)
    found = np.concatenate(
        [_logarithm(flat[start : start + ROWS], surface) for start in range(0, len(flat), ROWS)]
    )
    return np.where(outside, np.nan, np.exp(found.reshape(outside.shape)))


RANGE_SLACK = 0.02
# So many places at once: a hundred thousand designs fit in memory.
ROWS = 4096


def _logarithm(places: NDArray[np.float64], surface: Surface) -> NDArray[np.float64]:
    """Return the reading's logarithm at places (n, groups) in the groups' spreads."""
    lengths = np.asarray(surface.lengths)
    here, there = places / lengths, np.asarray(surface.centres) / lengths
    # Sums without a library's own order: one place alone reads the same as among many.
    both = np.einsum("nk,mk->nm", here, there)
    apart = np.einsum("nk,nk->n", here, here)[:, None] + np.einsum("mk,mk->m", there, there)
    hills = np.exp(both - apart / 2.0)
    linear = surface.terms[0] + np.einsum("nk,k->n", places, np.asarray(surface.terms[1:]))
    return np.asarray(linear + np.einsum("nm,m->n", hills, np.asarray(surface.weights)))
