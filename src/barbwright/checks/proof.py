"""The proof test: to which pressures a batch is taken, and how far a tip may be twisted."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import isnan, nan

from barbwright.checks.result import N_MM_PER_N_M
from barbwright.checks.table import Outcome
from barbwright.design.part import Design
from barbwright.equations.cylinder import end_thrust
from barbwright.say import IMPERIAL

# A quarter at a time, so that what is wrong shows before it bursts.
PROOF_STEPS = (0.25, 0.50, 0.75, 1.00)


@dataclass(frozen=True)
class ProofTest:
    """The pressures of a proof test with water.

    Attributes
    ----------
    highest_mpa : float
        Highest pressure in use, gauge; a first batch's piece is soaked at it [MPa].
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


# What holds an end during the test carries this many times the thrust of the breaking pressure.
HOLD_RATIO = 2.0
# Pieces of each part number that are taken to the proof pressure, where there are as many.
PROOFED = 3


@dataclass(frozen=True, kw_only=True)
class Thrust:
    """What the pressure pushes an open end's closure off with, were nothing else to hold it.

    Attributes
    ----------
    end : {"tip", "tube"}
        The tip in its hole, or a tube on its barb.
    at_proof_n, at_breaking_n : float
        Pressure times the area that it may come to act on: a seat or a barb that weeps lets it
        as far as the largest circle that is wet [N].
    """

    end: str
    at_proof_n: float
    at_breaking_n: float

    @property
    def hold_n(self) -> float:
        """What a strap, plate or stop must carry [N]."""
        return HOLD_RATIO * self.at_breaking_n


def thrusts(design: Design, test: ProofTest) -> tuple[Thrust, ...]:
    """Return the thrust on each kind of open end of a part during its proof test.

    Parameters
    ----------
    design : Design
        A single part.
    test : ProofTest
        Its pressures [MPa].

    Returns
    -------
    tuple of Thrust
        The tip's first, then the tubes'; none for a tool.

    Source: own_derivation, judgement
    """
    across = {}
    if design.kind.carries and design.tip is not None:
        across["tip"] = float(design.tip.root_mm)
    if design.kind.carries and design.barbs:
        across["tube"] = max(float(barb.crest_mm) for barb in design.barbs)
    return tuple(
        Thrust(
            end=end,
            at_proof_n=float(end_thrust(test.proof_mpa, size)),
            at_breaking_n=float(end_thrust(test.breaking_mpa, size)),
        )
        for end, size in across.items()
    )


def tube_holds_mpa(design: Design) -> float:
    """Return what the weakest of a part's tubes is rated for; not a number where one says nothing.

    Parameters
    ----------
    design : Design
        A single part.

    Returns
    -------
    float
        Stated rating at service temperature [MPa].

    Source: own_derivation
    """
    ratings = [float(tube.rating_mpa) for tube in design.conditions.tubes]
    return nan if not ratings or any(map(isnan, ratings)) else min(ratings)


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
