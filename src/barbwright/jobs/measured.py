"""What the user's own measurements change of a part: with and without them, side by side."""

from __future__ import annotations

from typing import Any

from barbwright.design.part import dimensions
from barbwright.jobs.plan import Plan


def difference(without: Plan, with_: Plan) -> list[dict[str, Any]]:
    """Return checks and sizes that differ between two plans of one part.

    Parameters
    ----------
    without, with_ : Plan
        The part judged without and with what was measured.

    Returns
    -------
    list of dict
        ``what``, ``without`` and ``with``; the verdict first, then checks, then sizes.
    """
    rows: list[dict[str, Any]] = []

    def add(what: str, first: Any, second: Any) -> None:
        if first != second:
            rows.append({"what": what, "without": first, "with": second})

    add("verdict", without.verdict, with_.verdict)
    theirs = {one.info.id: _told(one) for one in with_.results}
    for one in without.results:
        if one.info.id in theirs:
            add(one.info.id, _told(one), theirs[one.info.id])
    sizes = [{} if one.design is None else dimensions(one.design) for one in (without, with_)]
    for name in sizes[0]:
        if isinstance(sizes[0][name], (int, float)):
            add(name, sizes[0][name], sizes[1].get(name))
    return rows


def _told(outcome: Any) -> dict[str, Any]:
    factor = outcome.safety_factor
    return {
        "verdict": outcome.verdict,
        "proved": outcome.proved,
        "safety_factor": None if factor is None else round(factor, 3),
    }
