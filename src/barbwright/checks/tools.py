"""Checks of the small parts: a cap's end, and the tools that drive and free a tip."""

from __future__ import annotations

import numpy as np

from barbwright.checks.corners import Array, WorstCase
from barbwright.checks.result import Finding, check, single
from barbwright.design.kinds.cap import Cap
from barbwright.equations import Number
from barbwright.equations.cylinder import thick_sphere_hoop


def _ends(case: WorstCase, size_mm: Number) -> tuple[Array, Array]:
    """Return a drawn size lean and fat, each with an axis for the cases in front [mm]."""
    t = case.conditions.material.tolerance_at(size_mm)
    lean, fat = np.asarray(size_mm - t, dtype=float), np.asarray(size_mm + t, dtype=float)
    return lean[None, ...], fat[None, ...]


@check(
    title="end wall of a cap under pressure",
    stage="service",
    unit="MPa",
    needs="cap",
    equation="p (2 + k3)/(2 (k3 - 1)), k = (bore + 2 end wall)/bore: the largest ball of wall "
    "about the round bottom",
    sources=("roark", "own_derivation"),
    basis="judgement",
    remedy="a thicker end (--set end_wall=...), a smaller bore, a stronger material or less "
    "pressure",
)
def end_wall(case: WorstCase) -> Finding:
    """Return the hoop stress at the round bottom of a cap's bore against the allowable.

    Only the ball of wall that reaches to the nearest surface is counted: the
    end face under its mark, or the head's rim. What lies outside it helps.

    Source: roark, own_derivation
    """
    own, material = case.design.own, case.conditions.material
    assert isinstance(own, Cap)
    wide = _ends(case, case.design.bore_mm)[1]
    wall, head = _ends(case, own.end_wall_mm)[0], _ends(case, own.head_mm)[0]
    outer = np.minimum(wide + 2.0 * wall, head)
    stress = thick_sphere_hoop(case.conditions.pressure_mpa, wide, outer)
    stress = np.where(outer > wide, stress, np.inf)
    return single(material.allowable_mpa + 0.0 * stress, stress, case.rules["design_factor_wall"])
