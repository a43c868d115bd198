"""A hammer's blow on a tip that stands in its hole: the column, the stress, the hammers on offer.

The tip is a cantilever held where sound wood lets go of it, with the hub's mass at its end. Bare,
the hammer meets that end; through a driver the column is longer by what stands above, and has the
driver's mass at its end as well.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barbwright.checks.corners import Array, WorstCase
from barbwright.design.kinds.driver import fit_driver, reach_beyond, solid_volume
from barbwright.equations import Number, cube
from barbwright.equations.blow import (
    blow_moment,
    blow_time,
    end_frequency,
    end_stiffness,
    pulse_bend,
)
from barbwright.equations.column import euler_load, ring_area, ring_inertia

# Where along the travel force and free length are looked at together [-].
_TRAVEL = np.array([0.6, 1.0])
# Parts from lean to fat, holes from small to large: some free length in between is the worst.
PARTS_BETWEEN = 4
_KG_PER_MM3_AT_1_G_CM3 = 1e-6


@dataclass(frozen=True, eq=False, kw_only=True)
class StruckColumn:
    """A tip as the hammer meets it, travel and corners on the first two axes.

    Attributes
    ----------
    length_mm : ndarray
        From sound wood to the struck face [mm].
    area_mm2, section_mm3 : ndarray
        Area and section modulus at the wood's mouth [mm2], [mm3].
    stiffness_n_mm, frequency, buckling_n : ndarray
        Of its free end: stiffness [N/mm], angular frequency [1/s], Euler load with a free
        end [N].
    """

    length_mm: Array
    area_mm2: Array
    section_mm3: Array
    stiffness_n_mm: Array
    frequency: Array
    buckling_n: Array


def travels(case: WorstCase, most_mm: Number) -> Array:
    """Return points along the travel, on a first axis before the corners [mm].

    Parameters
    ----------
    case : WorstCase
        Tells the corners.
    most_mm : float or array
        The whole travel [mm].

    Source: own_arithmetic
    """
    share = _TRAVEL.reshape((-1,) + (1,) * case.hole_mm.ndim)
    return np.asarray(share * most_mm * np.ones_like(case.hole_mm))


def column_at(case: WorstCase, travel_mm: Array, *, through_driver: bool) -> StruckColumn:
    """Return the column that a tip is at each point of its travel.

    Parameters
    ----------
    case : WorstCase
        A part with a tip [mm].
    travel_mm : ndarray
        From `travels` [mm].
    through_driver : bool
        Whether its driver stands between tip and hammer.

    Source: own_derivation
    """
    design, material, corner = case.design, case.conditions.material, case.tip
    assert design.tip is not None
    assert corner is not None
    mouth = case.hole_mm + design.tip.taper * travel_mm
    bore = np.minimum(corner.bore_mm, mouth)
    length = corner.free_mm + design.tip.contact_mm - travel_mm
    head = head_volume(case)
    if through_driver:
        own = fit_driver(design, {})
        length, head = length + reach_beyond(own), head + solid_volume(own)
    area, inertia = ring_area(bore, mouth), ring_inertia(bore, mouth)
    dense = _KG_PER_MM3_AT_1_G_CM3 * material.density_g_cm3
    modulus = material.handling_modulus_mpa
    stiffness = end_stiffness(modulus, inertia, length)
    # The driver's own length bends less than the tip's section would: counted as if it did not.
    own_mass = dense * area * length
    return StruckColumn(
        length_mm=np.asarray(length),
        area_mm2=np.asarray(area),
        section_mm3=np.asarray(2.0 * inertia / mouth),
        stiffness_n_mm=np.asarray(stiffness),
        frequency=np.asarray(end_frequency(stiffness, dense * head, own_mass)),
        buckling_n=np.asarray(
            euler_load(modulus, inertia, case.rules["column_free_factor"] * length)
        ),
    )


def head_volume(case: WorstCase) -> Array:
    """Return the least volume of what a tip carries at its end: hub and arms, or ring and barb.

    Parameters
    ----------
    case : WorstCase
        A part with a tip [mm].

    Returns
    -------
    ndarray
        Without blends, stem and tubes: less mass is borne less long [mm3].

    Source: own_derivation
    """
    design, barb, bore = case.design, case.barbs[0], case.bore_mm
    arm = ring_area(bore, barb.root_mm) * barb.drawn.insertion_mm
    if design.hub is None:
        assert design.ring is not None
        assert case.ring_mm is not None
        ring = ring_area(bore, case.ring_mm) * design.ring.thickness_mm
        return np.asarray(np.maximum(ring + arm, 0.0))
    ball, relief = case.ball_mm, case.relief_mm
    assert ball is not None
    assert relief is not None
    arms = design.kind.arms
    hollow = (arms + 1) * ring_area(0.0, bore) * np.maximum(ball - relief, 0.0) / 2.0
    hub = np.pi / 6.0 * (cube(ball) - cube(relief)) - hollow
    pad = ring_area(0.0, design.hub.pad_mm) * design.hub.pad_thickness_mm
    neck = ring_area(bore, barb.neck_mm) * design.neck_length_mm
    return np.asarray(np.maximum(hub + pad + arms * (arm + neck), 0.0))


def moment_at(
    case: WorstCase, column: StruckColumn, force_n: Array, hammer_kg: float, crooked_mm: float
) -> Array:
    """Return the bending moment of one blow of a hammer at the wood's mouth.

    Parameters
    ----------
    case : WorstCase
        For the hammer's speed.
    column : StruckColumn
        The tip at points of its travel [mm].
    force_n : ndarray
        What the wood resists there [N].
    hammer_kg : float
        Mass of the hammer [kg].
    crooked_mm : float
        How far the struck face stands off the line of the blow [mm].

    Returns
    -------
    ndarray
        Moment [N mm].

    Source: own_derivation, pulse_buckling
    """
    time = blow_time(hammer_kg, case.rules["hammer_speed_m_s"], force_n)
    bend, swing = pulse_bend(force_n / column.buckling_n, column.frequency * time)
    return np.asarray(
        blow_moment(
            force_n,
            column.stiffness_n_mm,
            column.length_mm,
            crooked_mm,
            crooked_mm * bend,
            crooked_mm * swing,
        )
    )


def both_sides(column: StruckColumn, force_n: Array, moment_nmm: Array) -> Array:
    """Return compression on one side and tension on the other, on a new first axis.

    Parameters
    ----------
    column : StruckColumn
        The tip at points of its travel [mm].
    force_n, moment_nmm : ndarray
        What presses and what bends it there [N], [N mm].

    Returns
    -------
    ndarray
        Stresses at the wood's mouth; infinite where there is no wall [MPa].

    Source: beam_theory
    """
    sound = column.section_mm3 > 0.0
    bending = np.where(sound, moment_nmm / np.where(sound, column.section_mm3, 1.0), np.inf)
    pressing = np.where(sound, force_n / np.where(sound, column.area_mm2, 1.0), 0.0)
    return np.stack([bending + pressing, np.maximum(bending - pressing, 0.0)])


def strengths(case: WorstCase, like: Array) -> Array:
    """Return what compression and tension are held against, as `both_sides` has them.

    Parameters
    ----------
    case : WorstCase
        For the material [MPa].
    like : ndarray
        Stresses from `both_sides` [MPa].

    Source: design_record
    """
    material = case.conditions.material
    one = np.ones_like(like[0])
    return np.stack([material.handling_short_xy_mpa * one, material.handling_short_z_mpa * one])


def at_corners(stress_mpa: Array, cases: int) -> Array:
    """Return the largest along the travel of the parts that stand for each corner.

    Parameters
    ----------
    stress_mpa : ndarray
        From `both_sides`: parts on the third axis, in the order of `corners.parts_between` [MPa].
    cases : int
        How many corners or cases are wanted [-].

    Source: own_arithmetic
    """
    sides, points, parts, *shape = stress_mpa.shape
    grouped = stress_mpa.reshape(sides, points, cases, parts // cases, *shape)
    return np.asarray(np.max(grouped, axis=(1, 3)))


def hammers_g(case: WorstCase, *, through_driver: bool = False) -> list[float]:
    """Return the hammers on offer, lightest first [g].

    Parameters
    ----------
    case : WorstCase
        For the judgement numbers.
    through_driver : bool
        Whether they meet its driver, which heavier ones may.

    Source: judgement
    """
    step = case.rules["hammer_step_g"]
    most = case.rules["driver_hammer_most_g" if through_driver else "hammer_most_g"]
    return [step * (index + 1) for index in range(max(int(most / step + 1e-9), 1))]


def heaviest_g(
    case: WorstCase,
    column: StruckColumn,
    force_n: Array,
    crooked_mm: float,
    factor: float,
    *,
    through_driver: bool = False,
) -> Array:
    """Return the heaviest hammer that a tip stands, each lighter one too; none is 0.

    Parameters
    ----------
    case, column, force_n, crooked_mm
        As in `moment_at` [N], [mm].
    factor : float
        Strength over stress [-].
    through_driver : bool
        Whether the column has its driver on.

    Returns
    -------
    ndarray
        The hammer, of the design's own shape [g].

    Source: own_derivation, judgement
    """
    material = case.conditions.material
    pressing = force_n / np.where(column.area_mm2 > 0.0, column.area_mm2, np.nan)
    allowed = np.minimum(
        material.handling_short_xy_mpa / factor - pressing,
        material.handling_short_z_mpa / factor + pressing,
    )
    # Unknown where there is no wall, so that nothing stands.
    allowed = allowed * (1.0 + 1e-6) * column.section_mm3
    best: Array = np.zeros(case.hole_mm.shape[1:])
    passes = np.ones(best.shape, dtype=bool)
    for mass in hammers_g(case, through_driver=through_driver):
        moment = moment_at(case, column, force_n, mass / 1000.0, crooked_mm)
        passes &= np.all(moment <= allowed, axis=(0, 1))
        if not passes.any():
            break
        best = np.where(passes, mass, best)
    return best


def lightest_moment(
    case: WorstCase,
    column: StruckColumn,
    force_n: Array,
    crooked_mm: float,
    *,
    through_driver: bool = False,
) -> Array:
    """Return the moment of one blow of the lightest hammer on offer.

    Parameters
    ----------
    case, column, force_n, crooked_mm
        As in `moment_at` [N], [mm].
    through_driver : bool
        Whether the column has its driver on.

    Returns
    -------
    ndarray
        Moment [N mm].

    Source: own_derivation, judgement
    """
    mass = hammers_g(case, through_driver=through_driver)[0]
    return moment_at(case, column, force_n, mass / 1000.0, crooked_mm)
