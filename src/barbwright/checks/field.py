"""What a pull in the field proves, turned round: at which pressure a weaker seat may be used."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from barbwright.checks.corners import worst_case
from barbwright.checks.table import Outcome
from barbwright.design.part import Design
from barbwright.design.tip import proving_pull, widest_seat
from barbwright.equations.cylinder import end_thrust

# Shares of the proving pull that a card lists (judgement).
_SHARES = (1.0, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3)


class Derated(NamedTuple):
    """What a line may run at when the weakest of its seats held less than the proving pull.

    Attributes
    ----------
    pull_n : float
        The least pull that held [N].
    highest_mpa : float
        Highest pressure of the whole line, gauge [MPa].
    """

    pull_n: float
    highest_mpa: float


def derating(design: Design) -> tuple[Derated, ...]:
    """Return the table of pulls held and pressures allowed; empty for a part without a tip.

    Parameters
    ----------
    design : Design
        A single part.

    Returns
    -------
    tuple of Derated
        From the proving pull down: p = pull/(3 x area) [N], [MPa].

    Source: peck1969, own_derivation
    """
    if design.tip is None:
        return ()
    case = worst_case(design)
    asked = float(np.ravel(proving_pull(case.conditions, design.tip))[0])
    per_mpa = float(np.ravel(end_thrust(1.0, widest_seat(case.conditions, design.tip)))[0])
    thrusts = case.rules["pull_proof_thrusts"]
    most = float(np.ravel(case.conditions.highest_mpa)[0])
    return tuple(
        Derated(pull, min(pull / (thrusts * per_mpa), most))
        for pull in (np.floor(share * asked) for share in _SHARES)
    )


def proved_in_field(outcomes: Iterable[Outcome]) -> tuple[Outcome, ...]:
    """Return the checks whose pass leans on what is proved in the field, in table order.

    Parameters
    ----------
    outcomes : iterable of Outcome
        A part's checks [-].

    Source: peck1969, judgement
    """
    return tuple(outcome for outcome in outcomes if outcome.proved)
