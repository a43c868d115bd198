"""A tube on its barb at the corners, as finite elements found it: pushed on, sealing, held.

What the table was not computed for is not a number, and so not checked.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Literal, NamedTuple

import numpy as np

from barbwright.catalog import tube_contact
from barbwright.checks.corners import Array, BarbCorner, WorstCase
from barbwright.checks.distinct import once_each
from barbwright.design.conditions import TubeConditions
from barbwright.equations import Number
from barbwright.equations.contact import (
    BARBS,
    bending_length,
    cylinder_force,
    land_scale,
    read_surface,
    tube_groups,
)

# Parts between lean and fat, and bores between wide and narrow, where a land's least pressure is
# looked for.
PARTS, BORES = 7, 3
# The table's ramps rise at 13.5 degrees; force over normal force moves by 2 % to either end.
ANGLES_DEG = (12.0, 15.0)
OTHER_BARB = (
    f"the contact table knows {BARBS} barbs of {ANGLES_DEG[0]:g} to {ANGLES_DEG[1]:g} degrees"
)
End = Literal["low", "mean", "high"]
Name = Literal["push", "normal", "land"]


class Stiffness(NamedTuple):
    """What the tube is made of, at one end of its range.

    Attributes
    ----------
    modulus_mpa, yield_mpa : float or array
        A NaN yield is a rubber's [MPa].
    """

    modulus_mpa: Number
    yield_mpa: Number


class Reading(NamedTuple):
    """A reading at the corners, and what nine of ten cases of the table stay within.

    Attributes
    ----------
    value : (n, ...) ndarray
        The reading.
    error : (n, ...) ndarray
        Of it [-].
    """

    value: Array
    error: Array

    @property
    def lower(self) -> Array:
        """The reading less its error."""
        return self.value * (1.0 - self.error)

    @property
    def upper(self) -> Array:
        """The reading and its error."""
        return self.value * (1.0 + self.error)


def wall_at(tube: TubeConditions, end: End, softening: Number = 1.0) -> Stiffness:
    """Return what a tube is made of at one end or in the middle of its range, softened [MPa].

    Parameters
    ----------
    tube : TubeConditions
        The tube [MPa].
    end : str
        ``low``, ``mean`` or ``high`` [-].
    softening : float or array
        By heat, or hot water [-].

    Source: judgement
    """
    modulus, yielding = (
        {"low": low, "mean": (low + high) / 2.0, "high": high}[end]
        for low, high in (
            (tube.modulus_low_mpa, tube.modulus_high_mpa),
            (tube.yield_low_mpa, tube.yield_high_mpa),
        )
    )
    return Stiffness(modulus * softening, yielding * softening)


def unknown_contact(case: WorstCase, barb: BarbCorner) -> str:
    """Return why nothing can be said of a tube on its barb; empty when something can.

    Parameters
    ----------
    case : WorstCase
        For sizes that a user forced.
    barb : BarbCorner
        The barb with its tube [mm].

    Source: judgement
    """
    if barb.unknown:
        return barb.unknown
    angle = case.design.forced.get("barb_angle", case.rules["barb_angle_deg"])
    known = (ANGLES_DEG[0] <= np.asarray(angle)) & (np.asarray(angle) <= ANGLES_DEG[1])
    if barb.drawn.barb_count != BARBS or not np.all(known):
        return OTHER_BARB
    return ""


def reading(
    name: Name, barb: BarbCorner, wall: Stiffness, friction: float, *, narrowest: bool = False
) -> Reading:
    """Return one reading of the contact table at the corners.

    Parameters
    ----------
    name : str
        ``push``, the largest force of pushing the tube on [N]; ``normal``, its normal force, let
        go and fresh [N]; or ``land``, the mean pressure on the best land behind the first, fresh
        [MPa].
    barb : BarbCorner
        The barb with its tube [mm].
    wall : Stiffness
        The tube's stiffness and yield [MPa].
    friction : float
        Coulomb's coefficient [-].
    narrowest : bool
        Of the narrowest tube, not of the widest [-].

    Source: barb_contact_fe
    """
    inner = barb.tube_narrow_mm if narrowest else barb.tube_wide_mm
    return _kept(
        barb, (name, narrowest), wall, friction, lambda: _reading(name, barb, inner, wall, friction)
    )


def _kept(
    barb: BarbCorner,
    what: Hashable,
    wall: Stiffness,
    friction: float,
    work: Callable[[], Reading],
) -> Reading:
    """Return what is kept with a barb, worked out once: seal, grip and tug ask for the same."""
    told = [np.asarray(one, dtype=float) for one in (*wall, friction)]
    key = (what, *((one.shape, one.tobytes()) for one in told))
    if key not in barb.readings:
        barb.readings[key] = work()
    found: Reading = barb.readings[key]
    return found


def least_land(case: WorstCase, barb: BarbCorner, wall: Stiffness, friction: float) -> Reading:
    """Return a tube's mean pressure on the best land behind the first, fresh: its least [MPa].

    A tube that yields presses less on a land when stretched further, until it hardens. So the
    least is looked for among parts between lean and fat on tubes between wide and narrow.

    Parameters
    ----------
    case : WorstCase
        Whether its cases are corners of one part [-].
    barb : BarbCorner
        The barb with its tube [mm].
    wall : Stiffness
        The tube's stiffness and yield [MPa].
    friction : float
        Coulomb's coefficient [-].

    Source: barb_contact_fe
    """
    if not case.at_corners:
        return reading("land", barb, wall, friction)
    return _kept(barb, "least land", wall, friction, lambda: _least(barb, wall, friction))


def _least(barb: BarbCorner, wall: Stiffness, friction: float) -> Reading:
    shape = np.shape(barb.crest_mm)
    part, bore = np.linspace(0.0, 1.0, PARTS)[:, None, None], np.linspace(0.0, 1.0, BORES)[:, None]

    def over_the_grid(
        lean: Array, fat: Array, thin: Array, thick: Array, wide: Array, narrow: Array, *rest: Array
    ) -> tuple[Array, ...]:
        crest, root = lean + part * (fat - lean), thin + part * (thick - thin)
        value, error = _read("land", wide + bore * (narrow - wide), crest, root, *rest)
        cases = value.reshape(-1, value.shape[-1])
        known = np.fmin.reduce(cases, axis=0)
        return known, cases.min(axis=0), error.min(axis=(0, 1))

    known, every, error = once_each(
        over_the_grid,
        barb.crest_mm[0], barb.crest_mm[-1], barb.root_mm[0], barb.root_mm[-1],
        barb.tube_wide_mm[0], barb.tube_narrow_mm[-1], *_rest(barb, wall, friction),
        kept_as=("least land", tube_contact()),
    )  # fmt: skip
    return Reading(_at_corners(known, every, shape), np.broadcast_to(error, shape))


def _at_corners(known: Array, every: Array, shape: tuple[int, ...]) -> Array:
    """Return the worst of what is known, at every corner but the last where one of all is not.

    The worst known is no better than the worst there is: what fails by it fails, and what passes
    by it alone is not checked, since one corner is not a number.
    """
    worst = np.array(np.broadcast_to(known, shape))
    worst[-1] = np.where(np.isnan(every), np.nan, known)
    return worst


def _reading(
    name: Name, barb: BarbCorner, inner_mm: Array, wall: Stiffness, friction: float
) -> Reading:
    return Reading(
        *once_each(
            lambda *numbers: _read(name, *numbers),
            inner_mm, barb.crest_mm, barb.root_mm, *_rest(barb, wall, friction),
            kept_as=(name, tube_contact()),
        )
    )  # fmt: skip


def _rest(barb: BarbCorner, wall: Stiffness, friction: float) -> tuple[Number, ...]:
    """Return what is the same at all corners, in the order of `_read`."""
    drawn, tube = barb.drawn, barb.tube
    return (
        tube.outer_mm, drawn.land_mm, drawn.pitch_mm, wall.modulus_mpa, wall.yield_mpa,
        tube.hardening_over_yield, friction,
    )  # fmt: skip


def _read(
    name: Name,
    inner_mm: Array,
    crest_mm: Array,
    root_mm: Array,
    outer_mm: Array,
    land_mm: Array,
    pitch_mm: Array,
    modulus_mpa: Array,
    yield_mpa: Array,
    hardening_over_yield: Array,
    friction: Array,
) -> tuple[Array, Array]:
    """Return a reading, and its error, for arrays of tubes and barbs."""
    groups = tube_groups(
        inner_mm=inner_mm,
        outer_mm=outer_mm,
        crest_mm=crest_mm,
        root_mm=root_mm,
        land_mm=land_mm,
        pitch_mm=pitch_mm,
        modulus_mpa=modulus_mpa,
        yield_mpa=yield_mpa,
        hardening_over_yield=hardening_over_yield,
        friction=friction,
    )
    scale = land_scale(groups) if name == "land" else cylinder_force(groups)
    rubber = np.isnan(yield_mpa)
    surfaces = tube_contact().surfaces
    parts = {
        kind: surfaces[kind, name]
        for kind, wanted in (("rubber", np.any(rubber)), ("plastic", not np.all(rubber)))
        if wanted
    }
    ratios = {kind: read_surface(surface, groups) for kind, surface in parts.items()}
    errors = {kind: surface.error for kind, surface in parts.items()}
    ratio, error = (
        np.where(rubber, found.get("rubber", np.nan), found.get("plastic", np.nan))
        for found in (ratios, errors)
    )
    value = np.asarray(scale * ratio)
    return value, np.broadcast_to(error, value.shape)


def pull_off_n(
    case: WorstCase, barb: BarbCorner, wall: Stiffness, friction: float, pressure_mpa: Number
) -> Array:
    """Return the most that holds the widest tube, fresh, against a pull under pressure [N].

    Found over square backs, so no bite comes on top. Less than friction times the normal force:
    a stretched tube lets go one barb after the other, and water lifts a soft one.

    Parameters
    ----------
    case : WorstCase
        Whether its cases are corners of one part [-].
    barb : BarbCorner
        The barb with its tube [mm].
    wall : Stiffness
        The tube's stiffness and yield [MPa].
    friction : float
        Coulomb's coefficient [-].
    pressure_mpa : float or array
        Of the water, gauge [MPa].

    Source: barb_contact_fe
    """
    table = tube_contact()
    normal = reading("normal", barb, wall, friction)
    land = least_land(case, barb, wall, friction)
    inner, crest = barb.tube_wide_mm, barb.crest_mm
    expansion = np.maximum(crest / inner - 1.0, 0.0)
    keep = np.maximum(1.0 - table.pull_off_by_expansion * expansion, 0.0)
    lifted = pressure_mpa * np.pi * crest * bending_length(inner, barb.tube.outer_mm)
    share = pressure_mpa / np.maximum(land.lower, 1e-9)
    lost = table.pull_off_by_pressure * lifted * share
    return np.asarray(np.maximum(friction * (keep * normal.lower - lost), 0.0))


def squeeze_mpa(case: WorstCase, barb: BarbCorner, wall: Stiffness, friction: float) -> Array:
    """Return the narrowest tube's pressure on the root, meant over a pitch, fresh [MPa].

    A barb's own wall bends over about a pitch, so what its lands take is spread on it.

    Parameters
    ----------
    case : WorstCase
        Whether its cases are corners of one part [-].
    barb : BarbCorner
        The barb with its tube [mm].
    wall : Stiffness
        The tube's stiffness and yield [MPa].
    friction : float
        Coulomb's coefficient [-].

    Source: barb_contact_fe
    """
    normal = reading("normal", barb, wall, friction, narrowest=True).value
    if case.at_corners:
        # The fat part's force on the lean part's root bounds every part between.
        shape = np.broadcast_shapes(normal.shape, barb.root_mm.shape)
        normal = _at_corners(np.fmax.reduce(normal, axis=0), np.max(normal, axis=0), shape)
    length = barb.drawn.barb_count * barb.drawn.pitch_mm
    return np.asarray(normal / (np.pi * barb.root_mm * length))
