"""From cases to profiles/tube_contact.toml: log-quadratic surfaces, held to rise and fall rightly.

Each surface is the logarithm of a reading over what a full cylinder would do, quadratic in the
logarithms of the groups of `equations.contact`. The fit is bound so that the reading itself, not
only the ratio, never falls with a wider crest or a narrower tube at any of many sizes.
"""

from __future__ import annotations

from itertools import product

import numpy as np

from barbwright.catalog import tubes
from barbwright.equations.contact import (
    Groups,
    cylinder_force,
    land_scale,
    tube_groups,
)

HOLD_FRICTION = (0.15, 0.35)
PUSH_FRICTION = (0.35, 1.06)
RIDGE = 0.03
NUDGE_MM = 0.02
HELD_OUT = 40


def quadratic_terms(places):
    """Return 1, each place, and each product of two, on the last axis."""
    first, second = np.triu_indices(places.shape[-1])
    ones = np.ones((*places.shape[:-1], 1))
    return np.concatenate([ones, places, places[..., first] * places[..., second]], -1)


def usable(rows, kind, friction):
    """Return the cases of a kind at a friction that found a balance to the end."""
    low, high = friction
    return [
        row for row in rows
        if row["kind"] == kind and not row.get("failed") and low <= row["friction"] <= high
    ]  # fmt: skip


def column(rows, name):
    return np.array([row[name] for row in rows], dtype=float)


def groups_of(rows) -> Groups:
    """Return the groups of cases, stresses over the modulus."""
    plastic = rows[0]["kind"] == "plastic"
    return tube_groups(
        inner_mm=column(rows, "inner"), outer_mm=column(rows, "outer"),
        crest_mm=column(rows, "crest"), root_mm=column(rows, "root"),
        land_mm=column(rows, "land"), pitch_mm=column(rows, "pitch"),
        modulus_mpa=1.0,
        yield_mpa=column(rows, "yield") if plastic else np.full(len(rows), np.nan),
        hardening_over_yield=column(rows, "hardening"), friction=column(rows, "friction"),
    )  # fmt: skip


def matrix(groups: Groups, kind: str):
    names = groups.names(elastomer=kind == "rubber")
    return np.stack([np.broadcast_to(groups[name], groups.shape) for name in names], -1), names


READINGS = {
    "push": (PUSH_FRICTION, lambda rows: column(rows, "peak"), cylinder_force),
    "normal": (HOLD_FRICTION, lambda rows: column(rows, "normal"), cylinder_force),
    "land": (
        HOLD_FRICTION,
        lambda rows: np.array([max(row["lands"][1:]) for row in rows]),
        land_scale,
    ),
}


def surface(rows, kind, reading, *, without=frozenset()):
    """Return one fitted surface as the table holds it, and its errors at cases left out."""
    friction, value, scale = READINGS[reading]
    every = usable(rows, kind, friction)
    fitted = [row for row in every if (kind, row["number"]) not in without]
    groups = groups_of(fitted)
    places, names = matrix(groups, kind)
    middle, spread = places.mean(0), places.std(0)
    terms = quadratic_terms((places - middle) / spread)
    asked = np.log(value(fitted) / scale(groups))
    bound, least = _bounds(every, kind, scale, middle, spread)
    found = _bound_fit(terms, asked, bound, least)
    table = {
        "kind": kind, "reading": reading, "names": list(names), "middle": middle,
        "spread": spread, "terms": found, "least": places.min(0), "most": places.max(0),
    }  # fmt: skip
    held = [row for row in every if (kind, row["number"]) in without]
    if not held:
        return table, np.array([])
    there = groups_of(held)
    at, _ = matrix(there, kind)
    said = scale(there) * np.exp(quadratic_terms((at - middle) / spread) @ found)
    return table, said / value(held) - 1.0


def shipped_sizes(kind, rows):
    """Return the barbs the rules draw for the shipped tubes, where a reading must rise rightly."""
    low, high = (pick(row["friction"] for row in rows) for pick in (min, max))
    frictions = [value for value in (0.2, 0.5, 1.0) if low <= value <= high]
    yields = (0.03, 0.037, 0.045, 0.055, 0.065) if kind == "plastic" else (0.05,)
    sizes = sorted({(tube.id_mm, tube.od_mm) for tube in tubes().values()
                    if tube.od_mm is not None and tube.id_mm > 3.8})  # fmt: skip
    found = []
    for inner, outer in sizes:
        for expansion, step in product((0.06, 0.12, 0.16, 0.2, 0.26), (0.6, 0.8, 1.2)):
            crest = inner * (1.0 + expansion)
            pitch = max(3.0, max(2.5 * inner, 9.0) / 3.5, (crest - inner + 0.3) / 0.48 + 0.8)
            for friction, strain in product(frictions, yields):
                found.append(
                    {
                        "kind": kind, "inner": inner, "outer": outer, "crest": crest,
                        "root": crest - step, "land": 0.8, "pitch": pitch,
                        "friction": friction, "yield": strain, "hardening": 1.0,
                    }
                )  # fmt: skip
    return found


def _bounds(rows, kind, scale, middle, spread):
    """Return rows G and h with G x >= h where a reading rises rightly at these sizes and near."""
    bound, least = [], []
    rows = [*rows, *shipped_sizes(kind, rows)]
    for moved, sign in (("crest", 1.0), ("inner", -1.0)):
        for push in (-0.3, -0.1, 0.1, 0.3):
            shifted = [{**row, "crest": row["crest"] + push, "root": row["root"] + push}
                       for row in rows]  # fmt: skip
            shifted = [row for row in shifted if row["crest"] > 1.02 * row["inner"]]
            ahead = [_moved(row, moved) for row in shifted]
            here, there = groups_of(shifted), groups_of(ahead)
            step = quadratic_terms((matrix(there, kind)[0] - middle) / spread)
            step -= quadratic_terms((matrix(here, kind)[0] - middle) / spread)
            bound.append(sign * step)
            least.append(sign * -(np.log(scale(there)) - np.log(scale(here))))
    return np.concatenate(bound) / NUDGE_MM, np.concatenate(least) / NUDGE_MM


def _moved(row, what):
    if what == "crest":
        return {**row, "crest": row["crest"] + NUDGE_MM, "root": row["root"] + NUDGE_MM}
    return {**row, "inner": row["inner"] + NUDGE_MM}


def _bound_fit(terms, asked, bound, least):
    """Return least squares with a ridge on curvature, pushed inside the bounds."""
    count = terms.shape[1]
    ridge = RIDGE * len(asked) * np.eye(count)
    ridge[0, 0] = 0.0
    normal, right = terms.T @ terms + ridge, terms.T @ asked
    found = np.linalg.solve(normal, right)
    margin = least + 3e-3
    for weight in (0.1, 1.0, 10.0, 100.0, 1000.0, 1e4):
        for _ in range(12):
            broken = bound @ found < margin
            rows = bound[broken]
            found = np.linalg.solve(
                normal + weight * rows.T @ rows, right + weight * rows.T @ margin[broken]
            )
    return found
