"""What a chain does: pressures, flows, times, odd cases, what would help, what to print and cut."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from barbwright.chain.network import Network
from barbwright.chain.parts import bill_of_parts, purge_volume_ml
from barbwright.chain.plan import (
    ChainPlan,
    Rated,
    build_network,
    check_plan,
    solve_plan,
)
from barbwright.chain.run_down import (
    ADIABATIC,
    ISOTHERMAL,
    Delivery,
    deliver,
    describe_vessel,
)
from barbwright.chain.uptake import REFERENCE_MPA
from barbwright.chain.what_if import (
    Improvement,
    WhatIf,
    advise,
    evenness,
    find_cases,
    find_dry_ports,
    find_improvements,
    flow_ml_min,
    say_dry_ports,
)
from barbwright.say import number


@dataclass(frozen=True, kw_only=True)
class PortResult:
    """One port, counted from the supply.

    Parameters
    ----------
    index : int
        From 1 [-].
    node_pressure_mpa, hole_pressure_mpa : float
        Gauge pressure at the crossing and in the hole [MPa].
    flow_ml_min : float
        Flow into the tree [mL/min].
    flow_low_ml_min, flow_high_ml_min : float
        The same with the lowest and highest conductance [mL/min].
    dose_ml : float or None
        Its part of the volume [mL].
    """

    index: int
    node_pressure_mpa: float
    hole_pressure_mpa: float
    flow_ml_min: float
    flow_low_ml_min: float
    flow_high_ml_min: float
    dose_ml: float | None


@dataclass(frozen=True, kw_only=True)
class ChainResult:
    """All results of one chain.

    Parameters
    ----------
    plan : ChainPlan
        The inputs.
    ports : tuple of PortResult
        One per port, in order.
    total_flow_ml_min : float
        Flow of all ports [mL/min].
    last_to_first : float or None
        Flow of the last open port over the first [-].
    limited_by : str
        ``tree`` when most of the pressure's work is spent in the tree, else ``line`` [-].
    tree_share : float
        That share [-].
    improvements : tuple of Improvement
        Best first.
    advice : str
        One sentence on what helps most; where ports stay dry, on that alone [-].
    dose_minutes : dict or None
        ``low``, ``expected``, ``high``; None where ports stay dry [min].
    purge_ml : float
        Volume of line and fittings to fill before the ports see liquid [mL].
    vessel : dict or None
        See `describe_vessel`.
    cases : tuple of WhatIf
        Blocked port, leaking seat, doubled fitting loss.
    parts : tuple of dict
        What to print and cut: ``item``, ``quantity``, ``spare`` and for tube ``length_mm``.
    weakest_rating : Rated or None
        What holds least in the assembly, or that it is not known.
    warnings : tuple of str
        What the user must know [-].
    dry_ports : tuple of int
        Open ports, from 1, that stand too high for any flow [-].
    """

    plan: ChainPlan
    ports: tuple[PortResult, ...]
    total_flow_ml_min: float
    last_to_first: float | None
    limited_by: str
    tree_share: float
    improvements: tuple[Improvement, ...]
    advice: str
    dose_minutes: dict[str, float] | None
    purge_ml: float
    vessel: dict[str, Any] | None
    cases: tuple[WhatIf, ...]
    parts: tuple[dict[str, Any], ...]
    weakest_rating: Rated | None
    warnings: tuple[str, ...]
    dry_ports: tuple[int, ...] = ()

    def __repr__(self) -> str:
        """Return the whole chain in a line; all it holds is long."""
        count, even = len(self.ports), self.last_to_first
        said = [f"{self.total_flow_ml_min:.0f} mL/min in all", f"limited by the {self.limited_by}"]
        said += [] if even is None else [f"last over first {even:.2f}"]
        return f"<chain of {count} port{'' if count == 1 else 's'}: {', '.join(said)}>"

    def to_json_dict(self) -> dict[str, Any]:
        """Return plain values for ``chain --json``; a time without end is null.

        Returns
        -------
        dict
            Units stand in the key names [-].
        """
        minutes = self.dose_minutes
        if minutes is not None:
            minutes = {k: v if math.isfinite(v) else None for k, v in minutes.items()}  # type: ignore[misc]
        return {
            "ports": [in_kpa(dict(vars(port))) for port in self.ports],
            "total_flow_ml_min": self.total_flow_ml_min,
            "last_to_first": self.last_to_first,
            "limited_by": self.limited_by,
            "tree_share": self.tree_share,
            "advice": self.advice,
            "improvements": [dict(vars(item)) for item in self.improvements],
            "dose_minutes": minutes,
            "purge_ml": self.purge_ml,
            "vessel": None if self.vessel is None else in_kpa(self.vessel),
            "cases": [dict(vars(case)) for case in self.cases],
            "parts": [dict(part) for part in self.parts],
            "weakest_rating": None
            if self.weakest_rating is None
            else rating_document(self.weakest_rating),
            "warnings": list(self.warnings),
        }


def in_kpa(values: Any) -> Any:
    """Return plain values with every pressure in kPa, as documents and people have it.

    Parameters
    ----------
    values : dict, list or plain value
        Keys that end in ``_mpa`` hold gauge pressures [MPa].

    Returns
    -------
    dict, list or plain value
        The same with keys that end in ``_kpa`` [kPa].
    """
    if isinstance(values, list):
        return [in_kpa(value) for value in values]
    if not isinstance(values, dict):
        return values
    return {
        (f"{name.removesuffix('_mpa')}_kpa" if name.endswith("_mpa") else name): (
            number(value, "pressure", "kPa", "nearest", 6)
            if name.endswith("_mpa") and value is not None
            else in_kpa(value)
        )
        for name, value in values.items()
    }


def rating_document(rated: Rated) -> dict[str, Any]:
    """Return a rating as plain values: limits, so rounded down.

    Parameters
    ----------
    rated : Rated
        What is rated.

    Returns
    -------
    dict
        ``rating_kpa`` is null where it is not known, ``at_most_kpa`` where it is [kPa].
    """
    return {
        "name": rated.name,
        "known": rated.known,
        "rating_kpa": _floor_kpa(rated.mpa),
        "at_most_kpa": _floor_kpa(rated.at_most_mpa),
        "because": rated.because,
    }


def _floor_kpa(limit_mpa: float | None) -> float | None:
    return None if limit_mpa is None else number(limit_mpa, "pressure", "kPa", "down")


def solve_chain(plan: ChainPlan) -> ChainResult:
    """Solve a chain and everything a user asks about it.

    Parameters
    ----------
    plan : ChainPlan
        The inputs.

    Returns
    -------
    ChainResult
        The answers.

    Raises
    ------
    InputError
        When the plan cannot be a chain.
    """
    check_plan(plan)
    network = build_network(plan)
    solution = solve_plan(plan, network)
    flow = flow_ml_min(solution)
    low, high = (flow_ml_min(solve_plan(plan, network, case)) for case in ("low", "high"))
    dry = find_dry_ports(plan, solution)
    dry_words = say_dry_ports(plan, network, dry) if dry else ""
    # A time would be the time of ports that run back.
    deliveries = {} if dry else _deliveries(plan, network)
    improvements = find_improvements(plan, solution)
    total = float(flow.sum())
    work = plan.supply_mpa * total
    share = float(flow @ solution.hole_mpa) / work if work > 0.0 else 1.0
    if dry:
        share = 0.0
    limited_by = "tree" if share >= 0.5 else "line"
    expected = deliveries.get("expected")
    return ChainResult(
        plan=plan,
        ports=tuple(
            PortResult(
                index=index + 1,
                node_pressure_mpa=float(solution.node_mpa[index]),
                hole_pressure_mpa=float(solution.hole_mpa[index]),
                flow_ml_min=float(flow[index]),
                flow_low_ml_min=float(low[index]),
                flow_high_ml_min=float(high[index]),
                dose_ml=None if expected is None else expected.port_ml[index],
            )
            for index in range(plan.ports)
        ),
        total_flow_ml_min=total,
        last_to_first=evenness(plan, flow),
        limited_by=limited_by,
        tree_share=share,
        improvements=improvements,
        advice=dry_words or advise(limited_by, share, improvements),
        dose_minutes={name: way.minutes for name, way in deliveries.items()} or None,
        purge_ml=purge_volume_ml(plan),
        vessel=describe_vessel(plan, deliveries),
        cases=find_cases(plan, network, solution),
        parts=bill_of_parts(plan),
        weakest_rating=plan.weakest,
        warnings=_warnings(plan, dry_words, deliveries),
        dry_ports=dry,
    )


def _deliveries(plan: ChainPlan, network: Network) -> dict[str, Delivery]:
    if plan.dose_ml is None:
        return {}
    # The shortest time has the most open tree and air that stays warm; the longest the reverse.
    ways = (
        ("low", "high", ISOTHERMAL),
        ("expected", "expected", plan.expected_exponent),
        ("high", "low", ADIABATIC),
    )
    return {name: deliver(plan, network, case, n) for name, case, n in ways}


def _warnings(
    plan: ChainPlan,
    dry_words: str,
    deliveries: dict[str, Delivery],
) -> tuple[str, ...]:
    found = ["Fitting losses are known to about +-50 %: look at the doubled case."]
    found += plan.tree_notes
    if not plan.tree_notes and plan.supply_mpa > REFERENCE_MPA:
        found.append(
            "That uptake grows in proportion to pressure was not measured above "
            f"{plan.voice.plain(REFERENCE_MPA)}; "
            "trees differ six-fold: take times as a range and calibrate on the tree."
        )
    weakest = plan.weakest
    if weakest is not None and weakest.bound_mpa < plan.supply_mpa:
        found.append(
            f"The {weakest.name} is rated {plan.voice.limit(weakest.bound_mpa)}, under the "
            f"supply's {plan.voice.plain(plan.supply_mpa)}."
        )
    found += [warning for warning in rating_warnings(plan) if warning not in found]
    if dry_words:
        found.append(dry_words)
    tank = plan.vessel
    if tank is not None and tank.relief_mpa is None:
        found.append("No relief valve was given: a vessel needs its own, with no valve between.")
    if any(way.refills for way in deliveries.values()):
        found.append("The vessel holds less than the volume to deliver: refill on the way.")
    endless = [name for name, way in deliveries.items() if not math.isfinite(way.minutes)]
    if endless == list(deliveries) and endless:
        found.append(
            "At any conductance, lowest to highest, nothing flows to the end: no time has an end."
        )
    elif endless:
        # The longest time has the lowest conductance.
        cases = "lowest and the expected" if "expected" in endless else "lowest"
        found.append(f"With the {cases} conductance nothing flows: that time has no end.")
    return tuple(found)


def rating_warnings(plan: ChainPlan) -> tuple[str, ...]:
    """Return what is bought for the assembly and rated under the highest pressure it can see.

    The printed parts are left out: their checks say it, and more finely.

    Parameters
    ----------
    plan : ChainPlan
        The inputs.

    Returns
    -------
    tuple of str
        One sentence for each thing [-].
    """
    highest = plan.supply_mpa if plan.checked_mpa is None else plan.checked_mpa
    if plan.vessel is not None and plan.vessel.relief_mpa is not None:
        highest = max(highest, plan.vessel.relief_mpa)
    return tuple(
        f"The {one.name} is rated {plan.voice.limit(one.mpa)}, under the "
        f"{plan.voice.plain(highest)} that the relief or regulator lets through: set it "
        "lower, or use one rated for more."
        for one in plan.ratings
        if one.mpa is not None
        and plan.supply_mpa <= one.mpa < highest - 1e-9
        and not one.name.startswith((plan.tee.kind, plan.elbow.kind))
    )
