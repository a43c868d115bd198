"""Why a verdict is what it is, in words: what lowered it, what was not checked, what is least."""

from __future__ import annotations

from collections.abc import Iterable

from barbwright.checks.field import proved_in_field
from barbwright.checks.table import Outcome, overall, shortfall

# What a pass says that leans on a pull, a look or a pressure in the field.
ONCE_PROVED = "once proved in the field"
# The same behind the word of one verdict, whose factor alone is under the one asked for.
PROVED_MARK = ", once proved"


def marked(word: str, *, proved: bool) -> str:
    """Return the word of a verdict, marked where it leans on what is observed in the field.

    Parameters
    ----------
    word : str
        Of a check or a part [-].
    proved : bool
        Whether it passes on that alone [-].

    Source: judgement
    """
    return f"{word}{PROVED_MARK if proved else ''}"


def verdict_reason(
    results: Iterable[Outcome], handled: str = "handled as the rules below say"
) -> str:
    """Return the reason of a verdict: the checks that lowered it, or what a pass leans on.

    Parameters
    ----------
    results : iterable of Outcome
        All checks of a part [-].
    handled : str
        How a pass leans on handling rules, where they do not stand below it [-].

    Source: judgement
    """
    results = list(results)
    verdict = overall(results)
    if verdict == "fail":
        return "; ".join(_failed(one) for one in results if one.verdict == "fail")
    if verdict == "caution":
        lowered = [one for one in results if one.info.stage != "handling"]
        unsure = [one.info.id for one in lowered if one.verdict == "caution"]
        missing = [one.info.id for one in lowered if one.verdict == "not_checked"]
        parts = []
        if unsure:
            parts.append(f"{', '.join(unsure)} {'is' if len(unsure) == 1 else 'are'} not sure")
        if missing:
            parts.append(f"not checked: {', '.join(missing)}")
        return "; ".join(parts)
    leans = []
    if proved := [one.info.id for one in proved_in_field(results)]:
        leans.append(f"{ONCE_PROVED} ({', '.join(proved)})")
    if any(one.rule for one in results):
        beyond = [one.info.id for one in results if _gives_way_as_expected(one)]
        alone = "its rule" if len(beyond) == 1 else "their rules"
        leans.append(handled + (f" (by {alone} alone: {', '.join(beyond)})" if beyond else ""))
    return " and ".join(leans)


def _gives_way_as_expected(one: Outcome) -> bool:
    """Return whether only a handling rule keeps off a load that is expected, not an upper one."""
    if one.info.stage != "handling" or one.verdict != "caution":
        return False
    assert one.capacity_expected is not None
    assert one.demand is not None
    assert one.design_factor is not None
    return one.capacity_expected < one.design_factor * one.demand


def _failed(one: Outcome) -> str:
    short = shortfall(one)
    return f"{one.info.id} fails" + (f": {short}" if short else "")


def least_margin(results: Iterable[Outcome]) -> Outcome | None:
    """Return the check in use or handling that leaves the least to spare.

    Process limits sit at 1.00 by design and are left out; so is a handling check whose
    caution is a rule for the hands, which says its own limit. Of a part that fails it is
    one that fails.

    Parameters
    ----------
    results : iterable of Outcome
        All checks of a part [-].

    Source: judgement
    """
    judged = [
        one
        for one in results
        if one.info.stage != "making"
        and (one.info.stage, one.verdict) != ("handling", "caution")
        and one.verdict != "not_checked"
        and one.use < float("inf")
    ]
    # What passes once proved may use more of its factor than what fails uses of its own.
    failing = [one for one in judged if one.verdict == "fail"]
    return min(failing or judged, key=lambda one: one.use, default=None)
