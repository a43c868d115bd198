"""What if: changes that would help, and ordinary mishaps, each found by solving the chain again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from barbwright.chain.network import Network, Solution
from barbwright.chain.plan import MM3_S_PER_ML_MIN, ChainPlan, check_plan, solve_plan
from barbwright.errors import InputError
from barbwright.say import one_of

LEAST_GAIN = 0.02


@dataclass(frozen=True, kw_only=True)
class Improvement:
    """One change to the chain and what it brings, found by solving the changed chain.

    Parameters
    ----------
    change : str
        The change in words [-].
    last_flow_ml_min : float
        Flow at the last port after it [mL/min].
    gain : float
        Share the last port gains [-].
    last_to_first : float or None
        Evenness after it [-].
    on_the_line : bool
        False for a rise in pressure [-].
    """

    change: str
    last_flow_ml_min: float
    gain: float
    last_to_first: float | None
    on_the_line: bool


@dataclass(frozen=True, kw_only=True)
class WhatIf:
    """An ordinary mishap, at the port where it hurts the others most.

    Parameters
    ----------
    case : str
        ``blocked_port``, ``leaking_seat`` or ``double_fitting_loss`` [-].
    port : int or None
        Where it happens, from 1 [-].
    total_flow_ml_min, last_flow_ml_min : float
        Flows then [mL/min].
    last_to_first : float or None
        Evenness then [-].
    worst_port : int
        The other port whose flow changes most [-].
    worst_change : float
        Its change, share of the ordinary flow [-].
    sentence : str
        The same in words [-].
    """

    case: str
    port: int | None
    total_flow_ml_min: float
    last_flow_ml_min: float
    last_to_first: float | None
    worst_port: int
    worst_change: float
    sentence: str


def flow_ml_min(solution: Solution) -> Any:
    """Return the port flows of a solution.

    Parameters
    ----------
    solution : Solution
        A solved chain.

    Returns
    -------
    numpy.ndarray
        Flow per port [mL/min].
    """
    return solution.flow_mm3_s / MM3_S_PER_ML_MIN


def _open_ports(plan: ChainPlan) -> Any:
    return np.flatnonzero(plan.each_port_factor > 0.0)


def evenness(plan: ChainPlan, flow: Any) -> float | None:
    """Flow of the last open port over the first.

    Parameters
    ----------
    plan : ChainPlan
        The inputs.
    flow : numpy.ndarray
        Flow per port, any unit.

    Returns
    -------
    float or None
        Ratio; None where no port takes anything [-].
    """
    is_open = _open_ports(plan)
    if not is_open.size or flow[is_open[0]] <= 0.0:
        return None
    return float(flow[is_open[-1]] / flow[is_open[0]])


def _changed_plans(plan: ChainPlan) -> Iterator[tuple[str, ChainPlan, bool]]:
    tee, elbow = plan.tee, plan.elbow

    def with_bores(base: ChainPlan, run_mm: float, tip_mm: float) -> ChainPlan:
        def widen(part: Any) -> Any:
            run, tip = part.run_bore_mm + run_mm, part.tip_bore_mm + tip_mm
            relief = part.relief_mm * max(run / part.run_bore_mm, 1.0)
            return replace(part, run_bore_mm=run, tip_bore_mm=tip, relief_mm=relief)

        return replace(base, tee=widen(tee), elbow=widen(elbow))

    widest = plan.tube_id_mm if plan.largest_run_bore_mm is None else plan.largest_run_bore_mm
    run_bore = max(tee.run_bore_mm, elbow.run_bore_mm)
    more = min(1.0, widest - run_bore)
    if more > 0.05:
        yield (
            f"a run bore {more:.1f} mm wider ({run_bore + more:.1f} mm)",
            with_bores(plan, more, 0.0),
            True,
        )
    tip_bore = max(tee.tip_bore_mm, elbow.tip_bore_mm)
    largest = plan.largest_tip_bore_mm
    more = 1.0 if largest is None else min(1.0, largest - tip_bore)
    if more > 0.05:
        yield (
            f"a tip bore {more:.1f} mm wider ({tip_bore + more:.1f} mm)",
            with_bores(plan, 0.0, more),
            True,
        )
    next_id = plan.tube_id_mm + 1.0 if plan.next_tube_id_mm is None else plan.next_tube_id_mm
    grow = next_id - plan.tube_id_mm
    if grow > 0.0:
        bigger = replace(plan, tube_id_mm=next_id)
        words = f"the next larger tube ({next_id:.2f} mm bore) with fittings "
        if plan.next_tee is not None and plan.next_elbow is not None:
            bigger = replace(bigger, tee=plan.next_tee, elbow=plan.next_elbow)
            words += f"drawn for it ({plan.next_tee.run_bore_mm:.1f} mm bore)"
        else:
            bigger = with_bores(bigger, grow, 0.0)
            words += f"bored {grow:.2f} mm wider"
        if plan.next_tube_fits:
            yield words, bigger, True
        if plan.supply_length_mm > 0.0 and plan.supply_bore_mm < next_id:
            yield (
                f"a supply tube of {next_id:.2f} mm bore",
                replace(plan, supply_tube_id_mm=next_id),
                True,
            )
    if plan.ports > 1:
        half = replace(plan, spacing_mm=plan.spacing_mm / 2.0)
        apart = plan.voice.plain(half.spacing_mm, "length")
        yield f"halving the spacing to {apart}", half, True
    if plan.supply_length_mm > 0.0:
        half = replace(plan, supply_length_mm=plan.supply_length_mm / 2.0)
        length = plan.voice.plain(half.supply_length_mm, "length")
        yield f"halving the supply length to {length}", half, True
    found = _pressure_limit(plan)
    if found is not None:
        name, limit = found
        if limit > plan.supply_mpa:
            yield (
                f"raising the pressure to {plan.voice.limit(limit)}, {name}",
                replace(plan, supply_mpa=limit),
                False,
            )


def _pressure_limit(plan: ChainPlan) -> tuple[str, float] | None:
    """Return what limits a raised pressure first, and at which pressure [MPa]."""
    limits = [(f"the rating of the {one.name}", one.bound_mpa) for one in plan.ratings]
    if any(not one.known for one in plan.ratings):
        limits.append(("the pressure asked, as the weakest rating is not known", plan.supply_mpa))
    if plan.checked_mpa is not None:
        limits.append(("what the parts are checked for", plan.checked_mpa))
    if plan.vessel is not None and plan.vessel.relief_mpa is not None:
        share = plan.relief_margin
        limits.append((f"{share:.0%} of the relief", share * plan.vessel.relief_mpa))
    return min(limits, key=lambda item: item[1]) if limits else None


def find_dry_ports(plan: ChainPlan, solution: Solution) -> tuple[int, ...]:
    """Find the open ports that stand so high that nothing flows, or flows back.

    Parameters
    ----------
    plan : ChainPlan
        The inputs.
    solution : Solution
        The chain as it is.

    Returns
    -------
    tuple of int
        Ports, from 1 [-].
    """
    # A tree that takes nothing is no matter of height.
    if plan.conductances_ml_min_kpa["expected"] <= 0.0:
        return ()
    flow = flow_ml_min(solution)
    return tuple(int(port) + 1 for port in _open_ports(plan) if flow[port] <= 0.0)


def say_dry_ports(plan: ChainPlan, network: Network, dry: tuple[int, ...]) -> str:
    """Say which ports stay dry, and the pressure at which none does.

    Parameters
    ----------
    plan : ChainPlan
        The inputs.
    network : Network
        Its network.
    dry : tuple of int
        Ports, from 1, as `find_dry_ports` [-].

    Returns
    -------
    str
        One sentence [-].
    """
    is_open = _open_ports(plan)

    def least(supply_mpa: float) -> float:
        solution = solve_plan(plan, network, supply_mpa=supply_mpa)
        return float(flow_ml_min(solution)[is_open].min())

    psi = one_of("pressure", "psi")
    low = high = plan.supply_mpa
    while least(high) <= 0.0:
        low, high = high, 2.0 * high
    # A tenth of a psi is finer than a gauge reads.
    while high - low > 0.1 * psi:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if least(middle) <= 0.0 else (low, middle)
    single = len(dry) == 1
    they, them = ("it stands", "it") if single else ("they stand", "them")
    text = (
        f"Nothing flows at port{'' if single else 's'} {_ranges(dry)}: {they} too high for "
        f"{plan.voice.plain(plan.supply_mpa)}; "
    )
    limit = _pressure_limit(plan)
    # What is typed back is what is read, and a gauge's figures are rounded up.
    if limit is not None and plan.voice.shown_mpa(high) > limit[1]:
        # Within what was looked for it takes no figure above the limit's own.
        because = f"it would take all of {limit[0]}"
        if low > limit[1]:
            because = f"the {plan.voice.gauge(high)} it would take is above {limit[0]}"
        return text + f"lower {them}, as {because}, {plan.voice.limit(limit[1])}."
    return text + f"raise the pressure to {plan.voice.gauge(high)} or lower {them}."


def _ranges(numbers: tuple[int, ...]) -> str:
    """Return rising numbers as text, runs of them as first-last."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs)


def find_improvements(plan: ChainPlan, solution: Solution) -> tuple[Improvement, ...]:
    """Solve the chain again with each change that could help the last port.

    Parameters
    ----------
    plan : ChainPlan
        The inputs.
    solution : Solution
        The chain as it is.

    Returns
    -------
    tuple of Improvement
        Best for the last port first.
    """
    is_open = _open_ports(plan)
    if not is_open.size:
        return ()
    last = is_open[-1]
    before = float(flow_ml_min(solution)[last])
    if before <= 0.0:
        return ()
    found = []
    for change, changed, on_the_line in _changed_plans(plan):
        try:
            check_plan(changed)
        except InputError:
            continue
        flow = flow_ml_min(solve_plan(changed, start=solution.flow_mm3_s))
        after = float(flow[last])
        found.append(
            Improvement(
                change=change,
                last_flow_ml_min=after,
                gain=after / before - 1.0,
                last_to_first=evenness(plan, flow),
                on_the_line=on_the_line,
            )
        )
    return tuple(sorted(found, key=lambda item: -item.gain))


def advise(limited_by: str, share: float, improvements: tuple[Improvement, ...]) -> str:
    """Say in one sentence what limits the chain and what helps most.

    Parameters
    ----------
    limited_by : str
        ``tree`` or ``line`` [-].
    share : float
        Share of the pressure's work spent in the tree [-].
    improvements : tuple of Improvement
        Best first.

    Returns
    -------
    str
        The sentence [-].
    """
    spent = (
        f"{share:.0%} of the pressure's work is spent in the tree: "
        if limited_by == "tree"
        else f"{1.0 - share:.0%} of the pressure's work is spent in the line: "
    )
    worth = [item for item in improvements if item.gain >= LEAST_GAIN]
    if not worth:
        return spent + f"no change tried gives the last port {LEAST_GAIN:.0%} more."

    def say(item: Improvement) -> str:
        # What a change says behind a comma is shut by another.
        comma = "," if ", " in item.change else ""
        even = "" if item.last_to_first is None else f", last over first {item.last_to_first:.2f}"
        return (
            f"{item.change}{comma} gives the last port {item.gain:.0%} more "
            f"({_amount(item.last_flow_ml_min)} mL/min{even})"
        )

    text = f"{spent}of the changes tried, {say(worth[0])}"
    if not worth[0].on_the_line:
        line = [item for item in worth if item.on_the_line]
        text += f"; on the line itself, {say(line[0])}" if line else "; on the line itself, nothing"
    return text + "."


def find_cases(plan: ChainPlan, network: Network, solution: Solution) -> tuple[WhatIf, ...]:
    """Block each port, let each seat leak, and double the fitting losses.

    Parameters
    ----------
    plan : ChainPlan
        The inputs.
    network : Network
        Its network.
    solution : Solution
        The chain as it is.

    Returns
    -------
    tuple of WhatIf
        Each mishap at the port where it hurts another most.
    """
    usual = flow_ml_min(solution)
    is_open = _open_ports(plan)
    if not is_open.size or np.all(usual[is_open] <= 0.0):
        return ()

    def result(case: str, words: str, port: int | None, flow: Any) -> WhatIf:
        others = [i for i in is_open if i != port and usual[i] > 0.0]
        change = {i: float(flow[i] / usual[i] - 1.0) for i in others}
        worst = max(change, key=lambda i: abs(change[i])) if change else int(is_open[-1])
        moved = change.get(worst, 0.0)
        sentence = f"{words}: {_amount(flow.sum())} mL/min in all"
        if change:
            sentence += f"; port {worst + 1} changes most among the others, by {moved:+.1%}"
        return WhatIf(
            case=case,
            port=None if port is None else int(port) + 1,
            total_flow_ml_min=float(flow.sum()),
            last_flow_ml_min=float(flow[is_open[-1]]),
            last_to_first=evenness(plan, flow),
            worst_port=int(worst) + 1,
            worst_change=moved,
            sentence=f"{sentence}.",
        )

    found = []
    for case, words, factor in (
        ("blocked_port", "Port {} blocked", 0.0),
        ("leaking_seat", f"Seat {{}} leaking {plan.leaking_factor:.0f}-fold", plan.leaking_factor),
    ):
        tried = []
        for port in is_open:
            changed = plan.each_port_factor.copy()
            changed[port] *= factor
            altered = replace(plan, port_factors=tuple(changed.tolist()))
            flow = flow_ml_min(solve_plan(altered, network, start=solution.flow_mm3_s))
            tried.append(result(case, words.format(port + 1), int(port), flow))
        found.append(max(tried, key=lambda item: abs(item.worst_change)))
    doubled = replace(plan, fitting_factor=2.0 * plan.fitting_factor)
    words = "Fitting losses doubled (they are known to about +-50 %)"
    flow = flow_ml_min(solve_plan(doubled, start=solution.flow_mm3_s))
    found.append(result("double_fitting_loss", words, None, flow))
    return tuple(found)


def _amount(value: float) -> str:
    return f"{value:.0f}" if abs(value) >= 100.0 else f"{value:.3g}"
