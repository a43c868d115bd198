"""What a part for the bench alone must hold: that it prints, fits its tube and seals with water."""

from __future__ import annotations

from collections.abc import Iterable

from barbwright.checks.result import Verdict
from barbwright.checks.table import Outcome, overall

# Strength over years, the wood and the blows of driving are not asked of it; how hard a tube
# pushes on is what it is made to try.
FIT_CHECKS = frozenset(
    {
        "barb_grip", "barb_seal", "exposed_wall", "print_wall", "print_bore",
        "print_nose", "print_detail", "build_box", "fluid",
    }
)  # fmt: skip
# Nor does it need a travel in wood that holds.
NOT_ASKED = frozenset({"window"})
FIT_ONLY = (
    "For fit, seal and water proof at the bench only. Not for a tree and not for the field: what "
    "its record says of strength, heat and years was not met, or not asked"
)


# At the bench a tube is pushed on; nothing is tapped, freed or hung in a line there.
_AT_THE_BENCH = frozenset({"push_on"})


def ruled(outcomes: Iterable[Outcome], *, fit_only: bool) -> tuple[Outcome, ...]:
    """Return the outcomes whose handling rules are told.

    Parameters
    ----------
    outcomes : iterable of Outcome
        All checks of a part [-].
    fit_only : bool
        Whether the part is for the bench alone: no tree, and no strength to stand behind a rule
        of tapping, freeing or pulling [-].

    Source: judgement
    """
    told = (one for one in outcomes if one.rule)
    return tuple(one for one in told if not fit_only or one.info.id in _AT_THE_BENCH)


def fit_verdict(outcomes: Iterable[Outcome]) -> Verdict:
    """Return the verdict over the checks that a part for the bench must hold.

    Parameters
    ----------
    outcomes : iterable of Outcome
        All checks of a part [-].

    Source: judgement
    """
    return overall([one for one in outcomes if one.info.id in FIT_CHECKS])
