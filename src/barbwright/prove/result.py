"""What the finite elements found, as frozen records and as JSON."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from barbwright.prove.contact.seat import CORNER_MM

if TYPE_CHECKING:
    from barbwright.prove.contact.part import ContactResult
    from barbwright.prove.contact.seat import TubeFit

CASE_IDS = ("working", "proof", "let_go", "side", "driving", "twist")


@dataclass(frozen=True, kw_only=True)
class CaseResult:
    """One load case.

    Attributes
    ----------
    id : str
        One of `CASE_IDS`.
    title : str
        What acts, in words.
    load, load_upper : float
        Expected and upper size of the load; stresses are those of `load`.
    load_unit : str
        Its unit: MPa, N or N mm.
    peak_von_mises_mpa, peak_principal_mpa : float
        Largest von Mises and largest principal stress outside supports, load
        patches and sharp edges [MPa].
    percentile_von_mises_mpa : float
        What 99.9 % of the volume stays below: a peak far above it is a spot [MPa].
    closed_form_mpa : float
        The formula's stress for the same load at the drawn sizes [MPa].
    closed_form : str
        The check it comes from.
    ratio : float
        The larger peak over the closed form [-].
    allowable_mpa : float
        Allowable in the weakest direction [MPa].
    safety_factor : float
        Allowable over the larger peak [-].
    position_mm : tuple of float
        Where the larger peak stands [mm].
    place : str
        That place in words.
    converged : bool
        Whether an order more near the peak changed it by less than 3 %.
    last_change : float
        That change, of the larger peak [-].
    elements, degrees_of_freedom : int
        Of the last mesh [-].
    seconds : float
        Time spent on this case, all meshes [s].
    force_balance : float
        Out-of-balance force over the largest force of the case [-].
    """

    id: str
    title: str
    load: float
    load_upper: float
    load_unit: str
    peak_von_mises_mpa: float
    peak_principal_mpa: float
    percentile_von_mises_mpa: float
    closed_form_mpa: float
    closed_form: str
    ratio: float
    allowable_mpa: float
    safety_factor: float
    position_mm: tuple[float, float, float]
    place: str
    converged: bool
    last_change: float
    elements: int
    degrees_of_freedom: int
    seconds: float
    force_balance: float

    @property
    def peak_mpa(self) -> float:
        """Return the peak that is judged: the larger of the two [MPa]."""
        return max(self.peak_von_mises_mpa, self.peak_principal_mpa)


@dataclass(frozen=True, kw_only=True)
class SharpEdge:
    """A re-entrant edge without a radius: its own stress is never reported.

    Attributes
    ----------
    name : str
        What it is.
    angle_deg : float
        By how much the surface turns there [degree].
    length_mm : float
        Length on the modelled piece [mm].
    from_wetted_mm : float
        Distance to the nearest wetted face [mm].
    position_mm : tuple of float
        One point on it [mm].
    """

    name: str
    angle_deg: float
    length_mm: float
    from_wetted_mm: float
    position_mm: tuple[float, float, float]


@dataclass(frozen=True, kw_only=True)
class PartSurface:
    """The part's surface as triangles, with the stress of some cases at the corners.

    Attributes
    ----------
    points_mm : (n, 3) ndarray
        Corners, all sides of the symmetry planes [mm].
    triangles : (m, 3) ndarray of int
        The skin: three points a triangle, seen from outside [-].
    cut : (k, 3) ndarray of int
        The material in the plane y = 0: three points a triangle; empty where that is
        no plane of symmetry [-].
    stress_mpa : mapping of case id to (n,) ndarray
        What is judged, at the points: the larger of von Mises and largest principal
        stress [MPa].
    reported : mapping of case id to (n,) ndarray of bool
        False beside supports, load patches and sharp edges.
    """

    points_mm: NDArray[np.float64]
    triangles: NDArray[np.int64]
    cut: NDArray[np.int64]
    stress_mpa: dict[str, NDArray[np.float64]]
    reported: dict[str, NDArray[np.bool_]]


@dataclass(frozen=True, kw_only=True)
class ProveResult:
    """All cases of one part.

    Attributes
    ----------
    kind : str
        The kind of part.
    cases : tuple of CaseResult
        In the order of `CASE_IDS`, those the kind has.
    lame_von_mises_mpa : float
        Von Mises stress at the bore of the plain barb under working pressure [MPa].
    sharp_edges : tuple of SharpEdge
        Re-entrant edges that stay.
    pressure_mpa, modulus_mpa, poisson : float
        What it was worked with [MPa], [-].
    planes : str
        Planes of symmetry that were used, such as ``x y``.
    order : int
        Order of the elements [-].
    volume_mm3, wetted_mm2 : float
        Of the meshed part [mm3], [mm2].
    seconds : float
        All of it [s].
    notes : tuple of str
        What a reader must know.
    surface : PartSurface or None
        For pictures.
    """

    kind: str
    cases: tuple[CaseResult, ...]
    lame_von_mises_mpa: float
    sharp_edges: tuple[SharpEdge, ...]
    pressure_mpa: float
    modulus_mpa: float
    poisson: float
    planes: str
    order: int
    volume_mm3: float
    wetted_mm2: float
    seconds: float
    notes: tuple[str, ...]
    surface: PartSurface | None = None

    def case(self, name: str) -> CaseResult:
        """Return one case by its id."""
        return next(case for case in self.cases if case.id == name)


_CASE_DIGITS = {"position_mm": 3, "seconds": 2, "last_change": 4, "force_balance": 6}


def to_json(result: ProveResult) -> dict[str, Any]:
    """Return a result as plain JSON types, units in the keys.

    Parameters
    ----------
    result : ProveResult
        What was found.

    Returns
    -------
    dict
        ``lame_von_mises_mpa``, ``cases``, ``sharp_edges`` and what they were
        worked with.

    Source: own_arithmetic
    """
    return {
        "lame_von_mises_mpa": _round(result.lame_von_mises_mpa, 4),
        "pressure_mpa": _round(result.pressure_mpa, 6),
        "modulus_mpa": _round(result.modulus_mpa, 2),
        "poisson": result.poisson,
        "symmetry_planes": result.planes,
        "element_order": result.order,
        "volume_mm3": _round(result.volume_mm3, 3),
        "wetted_area_mm2": _round(result.wetted_mm2, 3),
        "seconds": _round(result.seconds, 2),
        "cases": [_plain(case, _CASE_DIGITS) for case in result.cases],
        "sharp_edges": [_plain(edge, {}) for edge in result.sharp_edges],
        "notes": list(result.notes),
    }


def contact_json(result: ContactResult) -> dict[str, Any]:
    """Return what a tube does on its barb as plain JSON types, units in the keys.

    Parameters
    ----------
    result : ContactResult
        What was found.

    Source: own_arithmetic
    """
    push, hold = result.push, result.hold
    return {
        "push_on_peak_n": _round(push.peak_n, 2),
        "push_on_over_yield": _round(result.over_yield, 3),
        "land_pressure_mpa": [_round(value, 4) for value in hold.released.lands_mpa],
        "land_pressure_largest_mpa": [_round(value, 4) for value in hold.released.largest_mpa],
        "normal_force_n": _round(hold.released.normal_n, 2),
        "pull_off_n": _round(hold.pull_off_n, 2),
        "thrust_n": _round(result.thrust_n, 2),
        "shortening_mm": _round(push.shortening_mm, 3),
        "plastic_strain": _round(push.plastic, 3),
        "tube_on_crest_mm": _round(push.outer_mm, 3),
        "relaxation": result.relaxation,
        "converged": result.converged,
        "held_to_3_percent": list(result.held_to),
        "changes": {name: _round(change, 4) for name, change in result.changes.items()},
        "balance": _round(max(push.balance, hold.balance), 4),
        "steps": [push.steps, hold.steps],
        "steps_let_off": [push.snaps, hold.snaps],
        "pull_came_off": hold.came_off,
        "worked_with": {
            "push": _worked_with(result.push_fit),
            "hold": _worked_with(result.hold_fit),
        },
        "travel_mm": [_round(value, 3) for value in push.travel_mm],
        "force_n": [_round(value, 3) for value in push.force_n],
        "seconds": _round(result.seconds, 2),
        "notes": list(result.notes),
    }


def _worked_with(fit: TubeFit) -> dict[str, Any]:
    wall = fit.wall
    yields = getattr(wall, "yield_mpa", None)
    return {
        "modulus_mpa": _round(fit.modulus_mpa, 3),
        "yield_mpa": None if yields is None else _round(yields, 3),
        "hardening_mpa": _round(getattr(wall, "hardening_mpa", float("nan")), 3),
        "friction": fit.friction,
        "tube_inner_mm": _round(fit.inner_mm, 3),
        "tube_outer_mm": _round(fit.outer_mm, 3),
        "crest_mm": _round(fit.barb.crest_mm, 3),
        "root_mm": _round(fit.barb.root_mm, 3),
        "corner_mm": CORNER_MM,
        "pressure_mpa": _round(fit.pressure_mpa, 4),
    }


def _plain(record: Any, digits: dict[str, int]) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for name in record.__dataclass_fields__:
        value = getattr(record, name)
        if isinstance(value, tuple):
            out[name] = [_round(part, digits.get(name, 3)) for part in value]
        elif isinstance(value, float):
            out[name] = _round(value, digits.get(name, 4))
        else:
            out[name] = value
    return out


def _round(value: float, digits: int) -> float | None:
    # JSON has no infinity; a load of zero has no safety factor.
    return round(float(value), digits) if np.isfinite(value) else None
