"""The proof test: to which pressures a batch is taken, and how far a tip may be twisted."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from barbwright.checks.table import N_MM_PER_N_M, Outcome
from barbwright.say import IMPERIAL

# A quarter at a time, so that what is wrong shows before it bursts.
PROOF_STEPS = (0.25, 0.50, 0.75, 1.00)


@dataclass(frozen=True)
class ProofTest:
    """The pressures of a proof test with water.

    Attributes
    ----------
    highest_mpa : float
        Highest pressure in use, gauge; one part is soaked at it [MPa].
    ratio : float
        Proof pressure over it [-].
    breaking_ratio : float
        What one part of a first batch is taken to over it, unless it breaks before [-].
    """

    highest_mpa: float
    ratio: float
    breaking_ratio: float

    @property
    def proof_mpa(self) -> float:
        """What every part tested must hold [MPa]."""
        return self.ratio * self.highest_mpa

    @property
    def steps_mpa(self) -> tuple[float, ...]:
        """Where to wait on the way up, the last being the proof itself [MPa]."""
        return tuple(share * self.proof_mpa for share in PROOF_STEPS)

    @property
    def breaking_mpa(self) -> float:
        """What one part of a first batch is taken to [MPa]."""
        return self.breaking_ratio * self.highest_mpa


def proof_test(highest_mpa: float, rules: Mapping[str, float]) -> ProofTest:
    """Return the proof test for a highest pressure.

    Parameters
    ----------
    highest_mpa : float
        Highest pressure the regulator or relief can give, gauge [MPa].
    rules : mapping of str to float
        Judgement numbers; ``proof_ratio`` and ``burst_ratio`` are read [-].

    Returns
    -------
    ProofTest
        Its pressures.

    Source: b31_3, judgement
    """
    return ProofTest(highest_mpa, rules["proof_ratio"], rules["burst_ratio"])


def largest_twist(outcomes: Iterable[Outcome]) -> str:
    """Return the largest safe twist of a tip in words; empty for a part without a tip.

    Parameters
    ----------
    outcomes : iterable of Outcome
        A part's checks [-].

    Returns
    -------
    str
        Rounded down, in N m and inch pounds-force [-].

    Source: judgement
    """
    for outcome in outcomes:
        if outcome.info.id == "twist_out" and "safe_torque_nm" in outcome.advice:
            return IMPERIAL.limit(outcome.advice["safe_torque_nm"] * N_MM_PER_N_M, "torque")
    return ""
