"""From cases to profiles/tube_contact.toml: Gaussian processes, held to rise and fall rightly.

Each surface is the logarithm of a reading over what a full cylinder would do: linear in the
groups of `equations.contact`, and a hill at each of some cases, as wide as makes the cases
likeliest. The fit is bound so that the reading itself, not only the ratio, never falls with a
wider crest or a narrower tube at any of many sizes. A wall that yields was worked coarsely at
all cases and finely at some: what finer elements move, linear in the groups, moves the rest.
"""

from __future__ import annotations

from itertools import product

import numpy as np
from scipy.optimize import minimize

from barbwright.catalog import tubes
from barbwright.equations.contact import (
    Groups,
    cylinder_force,
    land_scale,
    tube_groups,
)

HOLD_FRICTION = (0.15, 0.35)
PUSH_FRICTION = (0.35, 1.06)
NUDGE_MM = 0.02
HELD_OUT = 40
CENTRES = 60
# Prior spread of the linear part, and what keeps a hill from its neighbour numerically.
LINEAR_SPREAD, NUGGET = 10.0, 1e-6
# Between what a hill's width, height and the cases' own scatter may lie, logarithms.
WIDTHS, HEIGHTS, SCATTERS = (-1.0, 3.0), (-4.0, 1.0), (-4.5, -1.0)


def linear_terms(places):
    """Return 1 and each place, on the last axis."""
    return np.concatenate([np.ones((*places.shape[:-1], 1)), places], -1)


def hills(places, centres, lengths):
    """Return how high each centre's hill is at places (n, k), a column a centre."""
    apart = (places[:, None] / lengths - centres[None] / lengths) ** 2
    return np.exp(-apart.sum(2) / 2.0)


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


def corrected(rows, kind, reading):
    """Return the cases with one value each: found finely, or moved as finer elements would."""
    _, value, _ = READINGS[reading]
    by_number = {}
    for row in rows:
        by_number.setdefault(row["number"], {})[row["fine"]] = row
    both = [pair for pair in by_number.values() if len(pair) == 2]
    coarse = [pair[False] for pair in by_number.values() if False in pair]
    moved = np.zeros(len(coarse))
    if len(both) >= LEAST_PAIRS:
        known = [pair[False] for pair in both]
        ratio = np.log(value([pair[True] for pair in both]) / value(known))
        places, _ = matrix(groups_of(known), kind)
        middle, spread = places.mean(0), places.std(0)
        terms = linear_terms((places - middle) / spread)
        pull = PAIR_RIDGE * np.eye(terms.shape[1])
        pull[0, 0] = 0.0
        slope = np.linalg.solve(terms.T @ terms + pull, terms.T @ ratio)
        at, _ = matrix(groups_of(coarse), kind)
        # Beyond where both were worked the move stays what it is there.
        near = np.clip(at, places.min(0), places.max(0))
        moved = linear_terms((near - middle) / spread) @ slope
    found = {row["number"]: (row, v) for row, v in
             zip(coarse, value(coarse) * np.exp(moved), strict=True)}  # fmt: skip
    fine = [pair[True] for pair in by_number.values() if True in pair]
    if fine:
        found |= {row["number"]: (row, v) for row, v in zip(fine, value(fine), strict=True)}
    numbers = sorted(found)
    return [found[n][0] for n in numbers], np.array([found[n][1] for n in numbers])


# Once its wall yields through, a tube bends more easily over its crests: a land's pressure falls
# while the tube is stretched further, and rises again as it hardens. The checks look for the
# least over a part's range.
FALLS = {("plastic", "land")}
# So few cases worked twice say nothing of a slope; and how much a slope is held back.
LEAST_PAIRS, PAIR_RIDGE = 12, 4.0


def surface(rows, kind, reading, *, without=frozenset(), widths=None):
    """Return one fitted surface as the table holds it, and its errors at cases left out."""
    friction, _, scale = READINGS[reading]
    every, values = corrected(usable(rows, kind, friction), kind, reading)
    kept = np.array([(kind, row["number"]) not in without for row in every])
    fitted = [row for row, keep in zip(every, kept, strict=True) if keep]
    groups = groups_of(fitted)
    places, names = matrix(groups, kind)
    middle, spread = places.mean(0), places.std(0)
    scaled = (places - middle) / spread
    asked = np.log(values[kept] / scale(groups))
    if widths is None:
        widths = likeliest(scaled, asked)
    lengths, height, scatter = widths
    centres = np.round(scaled[picked(scaled / lengths, CENTRES)], 3)
    lengths = np.round(lengths, 3)
    root = np.linalg.cholesky(hills(centres, centres, lengths) + NUGGET * np.eye(len(centres)))

    def terms_at(at):
        tall = np.linalg.solve(root, hills(at, centres, lengths).T).T
        return np.concatenate([linear_terms(at), tall], -1)

    count = 1 + scaled.shape[1]
    ridge = np.concatenate([
        np.full(count, (scatter / LINEAR_SPREAD) ** 2),
        np.full(len(centres), (scatter / height) ** 2),
    ])  # fmt: skip
    bound, least = _bounds(every, kind, scale, lambda at: terms_at((at - middle) / spread))
    if (kind, reading) in FALLS:
        bound, least = bound[:0], least[:0]
    found = _bound_fit(terms_at(scaled), asked, np.diag(ridge), bound, least)
    every_place, _ = matrix(groups_of(every), kind)
    table = {
        "kind": kind, "reading": reading, "names": list(names), "middle": middle,
        "spread": spread, "terms": found[:count], "least": every_place.min(0),
        "most": every_place.max(0), "lengths": lengths, "centres": centres,
        "weights": np.linalg.solve(root.T, found[count:]), "widths": (lengths, height, scatter),
    }  # fmt: skip
    held = [row for row, keep in zip(every, kept, strict=True) if not keep]
    if not held:
        return table, np.array([])
    there = groups_of(held)
    at, _ = matrix(there, kind)
    said = scale(there) * np.exp(terms_at((at - middle) / spread) @ found)
    return table, said / values[~kept] - 1.0


def likeliest(places, asked):
    """Return hills' widths, their height and the cases' scatter that make the cases likeliest."""
    count = places.shape[1]
    linear = LINEAR_SPREAD**2 * linear_terms(places) @ linear_terms(places).T
    apart = (places[:, None] - places[None]) ** 2

    def unlikely(logs):
        lengths, height, scatter = np.exp(logs[:count]), *np.exp(logs[count:])
        tall = height**2 * np.exp(-(apart / lengths**2).sum(2) / 2.0)
        whole = tall + linear + scatter**2 * np.eye(len(asked))
        inverse = np.linalg.inv(whole)
        near = inverse @ asked
        # Wide hills are no evidence: a weak pull holds them back.
        out = 0.5 * asked @ near + 0.5 * np.linalg.slogdet(whole)[1]
        out += 0.05 * ((logs[:count] - 1.0) ** 2).sum()
        push = (inverse - np.outer(near, near)) / 2.0
        slope = [(push * tall * apart[..., k]).sum() / lengths[k] ** 2 for k in range(count)]
        slope = np.array(slope) + 0.1 * (logs[:count] - 1.0)
        rest = [2.0 * (push * tall).sum(), 2.0 * scatter**2 * np.trace(push)]
        return out, np.concatenate([slope, rest])

    start = np.concatenate([np.ones(count), np.log([0.2, 0.04])])
    found = minimize(
        unlikely, start, jac=True, method="L-BFGS-B", options={"maxiter": 60},
        bounds=[WIDTHS] * count + [HEIGHTS, SCATTERS],
    ).x  # fmt: skip
    return np.exp(found[:count]), float(np.exp(found[count])), float(np.exp(found[count + 1]))


def picked(places, most):
    """Return which places to set hills at: each where those before say least."""
    whole = np.exp(-((places[:, None] - places[None]) ** 2).sum(2) / 2.0)
    left, columns, found = np.ones(len(places)), np.zeros((len(places), 0)), []
    for _ in range(min(most, len(places))):
        worst = int(np.argmax(left))
        found.append(worst)
        column = (whole[:, worst] - columns @ columns[worst]) / np.sqrt(left[worst])
        columns = np.column_stack([columns, column])
        left = np.maximum(left - column**2, 0.0)
        left[found] = -1.0
    return found


def shipped_sizes(kind, rows):
    """Return the barbs the rules draw for the shipped tubes, where a reading must rise rightly."""
    low, high = (pick(row["friction"] for row in rows) for pick in (min, max))
    frictions = [value for value in (0.2, 0.5, 1.0) if low <= value <= high]
    yields = (0.03, 0.037, 0.045, 0.055, 0.065) if kind == "plastic" else (0.05,)
    sizes = sorted({(tube.id_mm, tube.od_mm) for tube in tubes().values()
                    if tube.od_mm is not None and tube.id_mm > 3.8})  # fmt: skip
    found = []
    for inner, outer in sizes:
        for expansion, step in product((0.05, 0.08, 0.1, 0.12, 0.16, 0.2, 0.26), (0.6, 0.8, 1.2)):
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


def _bounds(rows, kind, scale, terms_at):
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
            step = terms_at(matrix(there, kind)[0]) - terms_at(matrix(here, kind)[0])
            bound.append(sign * step)
            least.append(sign * -(np.log(scale(there)) - np.log(scale(here))))
    return np.concatenate(bound) / NUDGE_MM, np.concatenate(least) / NUDGE_MM


def _moved(row, what):
    if what == "crest":
        return {**row, "crest": row["crest"] + NUDGE_MM, "root": row["root"] + NUDGE_MM}
    return {**row, "inner": row["inner"] + NUDGE_MM}


def _bound_fit(terms, asked, ridge, bound, least):
    """Return least squares with a ridge, pushed inside the bounds."""
    normal, right = terms.T @ terms + ridge, terms.T @ asked
    found = np.linalg.solve(normal, right)
    margin = least + MARGIN
    for weight in (1e-3, 1e-2, 0.1, 1.0, 10.0, 100.0):
        for _ in range(12):
            broken = bound @ found < margin
            if not broken.any():
                return found
            rows = bound[broken]
            found = np.linalg.solve(
                normal + weight * rows.T @ rows, right + weight * rows.T @ margin[broken]
            )
    return found


# A bound is kept by this much, so that it holds between the sizes it was asked at [1/mm].
MARGIN = 1e-2
