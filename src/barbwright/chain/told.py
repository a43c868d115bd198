"""What a run told of its tree: conductance by the chain's own network, ports that take nothing.

The gauge or the level says how much went in by when. For each conductance of a grid the network
says how much should have; what fits is likely. Nothing here knows which port took how much: total
flow alone cannot tell one blocked port, a drop in the run or ports closed one at a time can.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from barbwright.chain.network import Array
from barbwright.chain.plan import ChainPlan, build_network, solve_plan
from barbwright.chain.what_if import flow_ml_min
from barbwright.equations import vessel
from barbwright.inference.products import NINE_IN_TEN, quantiles

# Flow is solved at few nodes, smooth as it is, and read between them on a fine grid.
_GRID, _NODES, _PRESSURES = 601, 15, 4
# Conductance is looked for so many times below and above what was believed.
_REACH = 30.0
# A drop or a closed port is named where the readings say so this many times more likely.
_TOLD = 20.0
_LOSSES_KNOWN_TO = 0.5
# Chi squared a reading from which on a run does not follow its model (judgement).
_STRAYS = 3.0
# An uptake is told where the grid's ends are no more than this share as likely as the best fit:
# the lower is next to no flow at all.
_UNTOLD = 0.05
# Chi squared over its least at which 95 % of a normal's one tail are left behind.
_ONE_TAIL = NINE_IN_TEN * NINE_IN_TEN
# So many second differences show how well a run was read, and no finer than this share of belief.
_FEWEST_BENDS, _READ_NO_FINER = 6, 0.2


@dataclass(frozen=True, kw_only=True)
class Gauges:
    """How well a run was read, as standard deviations.

    Attributes
    ----------
    level_ml : float
        Of a level [mL].
    pressure_mpa : float
        Of a gauge [MPa].
    """

    level_ml: float
    pressure_mpa: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Delivered:
    """What had gone in by each reading.

    Attributes
    ----------
    minutes : (n,) ndarray
        From the first reading [min].
    volume_ml, deviation_ml : (n,) ndarray
        Delivered since the first reading, and its standard deviation [mL].
    pressure_mpa : (n,) ndarray
        At the vessel, gauge [MPa].
    closed : tuple of tuple of int
        Ports pinched shut at each reading, from 1.
    by : str
        ``level`` or ``gauge``.
    """

    minutes: Array
    volume_ml: Array
    deviation_ml: Array
    pressure_mpa: Array
    closed: tuple[tuple[int, ...], ...]
    by: str


@dataclass(frozen=True, kw_only=True)
class Blocked:
    """What was found of ports that take nothing, and how.

    Attributes
    ----------
    ports : tuple of int
        Which; empty where only their number is known.
    count : int
        How many.
    how : str
        The evidence in words.
    """

    ports: tuple[int, ...]
    count: int
    how: str


@dataclass(frozen=True, kw_only=True, eq=False)
class RunTold:
    """What a run says of its tree.

    Attributes
    ----------
    low, expected, high : float
        Conductance of one port at 5, 50 and 95 %, at the liquid's own viscosity [mL/(min kPa)].
    delivered : Delivered
        What had gone in.
    fitted_ml : (n,) ndarray
        The same by the median [mL].
    blocked : tuple of Blocked
        Only what there is evidence for.
    said : tuple of str
        What must be known beside.
    hole_mpa : float
        Highest pressure that a port had in its hole, by the median, gauge [MPa].
    """

    low: float
    expected: float
    high: float
    delivered: Delivered
    fitted_ml: Array
    blocked: tuple[Blocked, ...]
    said: tuple[str, ...]
    hole_mpa: float


@dataclass(frozen=True, kw_only=True)
class RunBound:
    """What a run says of its tree where its readings do not carry an uptake.

    Attributes
    ----------
    least, most : float or None
        Conductance of one port that it surpasses, and that it stays under, each at 95 %, at the
        liquid's own viscosity; None where any does [mL/(min kPa)].
    went_in_ml : float
        From the first reading to the last, as read [mL].
    vessel_mpa : float
        Highest pressure at the vessel, gauge [MPa].
    said : tuple of str
        What must be known beside.
    """

    least: float | None
    most: float | None
    went_in_ml: float
    vessel_mpa: float
    said: tuple[str, ...]


def by_level(
    plan: ChainPlan,
    minutes: Array,
    level_ml: Array,
    pressure_mpa: Array | None,
    closed: Sequence[tuple[int, ...]],
    gauges: Gauges,
) -> Delivered:
    """Return what went in by a vessel's level; its pressure by the gauge, else by its air head.

    Parameters
    ----------
    plan : ChainPlan
        The chain.
    minutes, level_ml : (n,) ndarray
        Readings [min], [mL].
    pressure_mpa : (n,) ndarray or None
        Gauge [MPa].
    closed : sequence of tuple of int
        Ports pinched shut at each reading.
    gauges : Gauges
        How well they were read.
    """
    volume = level_ml[0] - level_ml
    if pressure_mpa is None:
        pressure_mpa = _run_down(plan, volume)
    return Delivered(
        minutes=minutes,
        volume_ml=volume,
        deviation_ml=np.full_like(volume, gauges.level_ml),
        pressure_mpa=pressure_mpa,
        closed=tuple(closed),
        by="level",
    )


def by_gauge(
    plan: ChainPlan,
    minutes: Array,
    pressure_mpa: Array,
    closed: Sequence[tuple[int, ...]],
    gauges: Gauges,
) -> Delivered:
    """Return what went in by how far the air head's pressure fell.

    Parameters
    ----------
    plan : ChainPlan
        The chain; its vessel has an air head that runs down.
    minutes, pressure_mpa : (n,) ndarray
        Readings [min], [MPa].
    closed : sequence of tuple of int
        Ports pinched shut at each reading.
    gauges : Gauges
        How well they were read.
    """
    tank, ambient = plan.vessel, plan.atmosphere_mpa
    assert tank is not None
    start, now = pressure_mpa[0] + ambient, pressure_mpa + ambient
    n = tank.expected_exponent
    volume = np.asarray(vessel.delivery_to_pressure_ml(start, tank.air_head_ml, now, n))
    # dV/dP of the polytropic head, whose volume is now what it was and what went in.
    slope = (tank.air_head_ml + volume) / (n * now)
    return Delivered(
        minutes=minutes,
        volume_ml=volume,
        deviation_ml=slope * gauges.pressure_mpa,
        pressure_mpa=pressure_mpa,
        closed=tuple(closed),
        by="gauge",
    )


def _run_down(plan: ChainPlan, volume_ml: Array) -> Array:
    """Return the vessel's gauge pressure by what has left it [MPa]."""
    tank = plan.vessel
    if tank is None or tank.regulated:
        return np.full_like(volume_ml, plan.supply_mpa)
    given = np.maximum(volume_ml, 0.0)
    pressure = vessel.pressure_after_delivery_mpa(
        plan.supply_abs_mpa, tank.air_head_ml, given, tank.expected_exponent
    )
    return np.maximum(np.asarray(pressure) - plan.atmosphere_mpa, 0.0)


class Flows:
    """Total flow of a chain for any conductance and pressure, with ports open or shut.

    Parameters
    ----------
    plan : ChainPlan
        The chain.
    middle : float
        Conductance in the middle of the grid [mL/(min kPa)].
    pressures_mpa : (n,) ndarray
        Pressures there will be, gauge [MPa].
    """

    def __init__(self, plan: ChainPlan, middle: float, pressures_mpa: Array) -> None:
        self.grid = np.log(middle) + np.linspace(-1.0, 1.0, _GRID) * np.log(_REACH)
        low, high = float(pressures_mpa.min()), float(pressures_mpa.max())
        self._pressures = np.linspace(max(0.97 * low, 1e-4), 1.03 * high, _PRESSURES)
        self._plan, self._network = plan, build_network(plan)
        self._tables: dict[tuple[int, ...], Array] = {}

    def at(self, pressure_mpa: Array, closed: tuple[int, ...] = ()) -> Array:
        """Return total flow at pressures, shape (grid, n) [mL/min]."""
        if closed not in self._tables:
            self._tables[closed] = self._solved(closed)
        table, at = self._tables[closed], np.atleast_1d(pressure_mpa)
        place = np.clip(np.searchsorted(self._pressures, at) - 1, 0, _PRESSURES - 2)
        low = self._pressures[place]
        share = (at - low) / (self._pressures[place + 1] - low)
        return np.asarray(table[:, place] * (1.0 - share) + table[:, place + 1] * share)

    def _solved(self, closed: tuple[int, ...]) -> Array:
        from scipy.interpolate import PchipInterpolator

        nodes = np.linspace(self.grid[0], self.grid[-1], _NODES)
        rows = []
        for log_g in nodes:
            plan = _on_a_tree(self._plan, float(np.exp(log_g)), closed)
            start, row = None, []
            for pressure in self._pressures:
                solved = solve_plan(plan, self._network, "expected", float(pressure), start)
                start = solved.flow_mm3_s
                row.append(max(float(flow_ml_min(solved).sum()), 1e-9))
            rows.append(row)
        return np.asarray(np.exp(PchipInterpolator(nodes, np.log(np.array(rows)))(self.grid)))


def with_conductance(plan: ChainPlan, low: float, expected: float, high: float) -> ChainPlan:
    """Return a chain on another tree.

    Parameters
    ----------
    plan : ChainPlan
        The chain.
    low, expected, high : float
        Conductance of one port at the liquid's own viscosity [mL/(min kPa)].
    """
    return replace(
        plan,
        conductance_ml_min_kpa=expected,
        conductance_low_ml_min_kpa=low,
        conductance_high_ml_min_kpa=high,
        conductance_viscosity_mpa_s=plan.viscosity_mpa_s,
    )


def _on_a_tree(plan: ChainPlan, conductance: float, shut: Sequence[int] = ()) -> ChainPlan:
    """Return a chain on a tree of one conductance [mL/(min kPa)], some of its ports shut."""
    factors = tuple(0.0 if port in shut else 1.0 for port in range(1, plan.ports + 1))
    known = with_conductance(plan, conductance, conductance, conductance)
    return replace(known, port_factors=factors)


def told_by_run(plan: ChainPlan, delivered: Delivered) -> RunTold | RunBound:
    """Return what a run says of its tree: no uptake where almost none, or any, would fit as well.

    Parameters
    ----------
    plan : ChainPlan
        The chain as it stood; its conductance is what was believed before.
    delivered : Delivered
        What had gone in by each reading.

    Source: own_derivation
    """
    delivered = _as_well_as_read(delivered)
    middle = max(plan.conductances_ml_min_kpa["expected"], 1e-3)
    flows = Flows(plan, middle, delivered.pressure_mpa)
    predicted = _predicted(flows, delivered)
    chi = _misfit(predicted, delivered)
    # Before a port is looked for that stopped: of next to no flow any may seem to have.
    if _is_untold(_density(chi)):
        return _bound(plan, flows, chi, delivered)
    blocked = _closed_one_by_one(flows, delivered, float(flows.grid[chi.argmin()]))
    said = []
    # What a port takes is told by those that drink: the blocked ones are left out of the network.
    if blocked:
        shut = {port for one in blocked for port in one.ports}
        without = tuple(tuple(sorted({*state, *shut})) for state in delivered.closed)
        predicted = _predicted(flows, replace(delivered, closed=without))
    elif (dropped := _dropped(plan, flows, delivered)) is not None:
        blocked, predicted = [dropped[0]], dropped[1]
    if blocked:
        chi = _misfit(predicted, delivered)
    strayed = float(chi.min()) / max(len(delivered.minutes) - 2, 1)
    if strayed > _STRAYS:
        # A run that another law made says less than its readings' scatter would have it.
        chi = chi / strayed
        said.append("the run does not follow this chain and vessel, so the range is widened: was "
                    "the pressure held or pumped up, or did a port drip?")  # fmt: skip
    density = _density(chi)
    if _is_untold(density):
        return _bound(plan, flows, chi, delivered, said)
    if blocked:
        said.insert(0, "what each port takes is told by the ports that drank; the times are for "
                       "all ports drinking")  # fmt: skip
    low, expected, high = (float(np.exp(q)) for q in quantiles(flows.grid, density,
                                                               (0.05, 0.5, 0.95)))  # fmt: skip
    # The line's own losses are known to half of themselves, and look like the tree.
    line = _line_error(plan, expected)
    low, high = (
        float(expected * np.exp(way * np.hypot(np.log(end / expected), NINE_IN_TEN * line)))
        for way, end in ((-1.0, low), (1.0, high))
    )
    if high / low > 10.0:
        said.append("the readings say little of this tree: more of them, or a level in place of a "
                    "gauge")  # fmt: skip
    nearest = np.array([np.interp(np.log(expected), flows.grid, column) for column in predicted.T])
    shift = np.average(
        delivered.volume_ml - nearest, weights=1.0 / np.square(delivered.deviation_ml)
    )
    return RunTold(
        low=low,
        expected=expected,
        high=high,
        delivered=delivered,
        fitted_ml=nearest + shift,
        blocked=tuple(blocked),
        said=tuple(said),
        hole_mpa=_highest_in_a_hole(plan, expected, delivered, blocked),
    )


def _density(chi: Array) -> Array:
    """Return how likely each conductance of the grid is, over the likeliest [-]."""
    return np.asarray(np.exp(-0.5 * (chi - chi.min())))


def _is_untold(density: Array) -> bool:
    """Return whether an end of the grid fits nearly as well as anything between."""
    return bool(max(density[0], density[-1]) > _UNTOLD)


def _bound(
    plan: ChainPlan, flows: Flows, chi: Array, delivered: Delivered, said: Sequence[str] = ()
) -> RunBound:
    """Return the ends of what fits, where they lie on the grid; what is believed has no part."""
    fits = np.flatnonzero(chi <= chi.min() + _ONE_TAIL)
    ends = list[float | None]()
    for way, place, end in ((-1.0, int(fits[0]), 0), (1.0, int(fits[-1]), _GRID - 1)):
        if place == end:
            ends.append(None)
        else:
            found = float(np.exp(flows.grid[place]))
            ends.append(found * float(np.exp(way * NINE_IN_TEN * _line_error(plan, found))))
    return RunBound(
        least=ends[0],
        most=ends[1],
        went_in_ml=float(delivered.volume_ml[-1] - delivered.volume_ml[0]),
        vessel_mpa=float(np.max(delivered.pressure_mpa)),
        said=tuple(said),
    )


def _highest_in_a_hole(
    plan: ChainPlan, conductance: float, delivered: Delivered, blocked: Sequence[Blocked]
) -> float:
    """Return the highest pressure that any drinking port had in its hole, gauge [MPa]."""
    never = {port for one in blocked for port in one.ports}
    # Of each set of closed ports its highest reading: what is shut off has its own pressure.
    highest = dict[tuple[int, ...], float]()
    for closed, mpa in zip(delivered.closed, delivered.pressure_mpa, strict=True):
        shut = tuple(sorted({*closed, *never}))
        highest[shut] = max(highest.get(shut, 0.0), float(mpa))
    found = 0.0
    for shut, mpa in highest.items():
        own = _on_a_tree(plan, conductance, shut)
        drinking = own.each_port_factor > 0.0
        if drinking.any():
            solved = solve_plan(own, supply_mpa=mpa)
            found = max(found, float(np.max(solved.hole_mpa[drinking])))
    return found


def _as_well_as_read(delivered: Delivered) -> Delivered:
    """Return a run with the scatter that its own readings show, where that is less than believed.

    A smooth run has small second differences: what is left of them is how well it was read.
    """
    same = [
        delivered.closed[i] == delivered.closed[i + 1] for i in range(len(delivered.closed) - 2)
    ]
    steps = np.diff(delivered.minutes)
    even = np.abs(np.diff(steps)) < 0.02 * np.maximum(steps[1:], 1e-9)
    bends = np.diff(delivered.volume_ml, 2)[np.array(same) & even] if len(same) else np.zeros(0)
    if len(bends) < _FEWEST_BENDS:
        return delivered
    shown = float(np.sqrt(np.mean(np.square(bends)) / 6.0))
    share = np.clip(shown / float(np.median(delivered.deviation_ml)), _READ_NO_FINER, 1.0)
    return replace(delivered, deviation_ml=share * delivered.deviation_ml)


def _line_error(plan: ChainPlan, conductance: float) -> float:
    """Return what the line's own losses leave unknown of a conductance, of its logarithm [-]."""
    one = _on_a_tree(plan, conductance)
    solved = solve_plan(one)
    flow = solved.flow_mm3_s
    lost = 1.0 - (flow @ solved.hole_mpa) / (flow.sum() * one.supply_mpa)
    return _LOSSES_KNOWN_TO * float(lost)


def _predicted(flows: Flows, delivered: Delivered) -> Array:
    """Return what each conductance delivers by each reading, shape (grid, n) [mL]."""
    steps = np.diff(delivered.minutes)
    went = np.zeros((_GRID, len(steps)))
    for closed in set(delivered.closed[:-1]):
        # A port is shut from the reading that says so on.
        mine = np.array([state == closed for state in delivered.closed[:-1]])
        rates = flows.at(delivered.pressure_mpa, closed)
        went[:, mine] = (0.5 * (rates[:, 1:] + rates[:, :-1]) * steps)[:, mine]
    return np.concatenate([np.zeros((_GRID, 1)), np.cumsum(went, axis=1)], axis=1)


def _misfit(predicted: Array, delivered: Delivered) -> Array:
    """Return chi squared of each row of predictions; the first reading errs as the others do."""
    weight = 1.0 / np.square(delivered.deviation_ml)
    off = delivered.volume_ml[None, :] - predicted
    shift = (off * weight).sum(axis=1) / weight.sum()
    return np.asarray((np.square(off - shift[:, None]) * weight).sum(axis=1))


def _closed_one_by_one(flows: Flows, delivered: Delivered, log_g: float) -> list[Blocked]:
    """Return ports whose closing changed nothing, each by its own evidence."""
    found = []
    steps = np.diff(delivered.minutes)
    rates = np.diff(delivered.volume_ml) / np.maximum(steps, 1e-9)
    error = np.sqrt(2.0) * delivered.deviation_ml[1:] / np.maximum(steps, 1e-9)
    middle = 0.5 * (delivered.pressure_mpa[1:] + delivered.pressure_mpa[:-1])
    state = delivered.closed[:-1]
    base = [i for i, ports in enumerate(state) if not ports]
    for port in sorted({ports[0] for ports in state if len(ports) == 1}):
        shut = [i for i, ports in enumerate(state) if ports == (port,)]
        if not base or not shut:
            continue
        # Flow over pressure takes the vessel's run-down out; what is left are the ports.
        whole = _mean(rates[base] / middle[base], error[base] / middle[base])
        without = _mean(rates[shut] / middle[shut], error[shut] / middle[shut])
        drop = 1.0 - without[0] / whole[0]
        spread = np.hypot(without[1], without[0] / whole[0] * whole[1]) / whole[0]
        at = np.array([float(np.median(middle))])
        healthy = 1.0 - _at(flows, at, (port,), log_g) / _at(flows, at, (), log_g)
        ratio = float(
            np.exp(0.5 * (np.square((drop - healthy) / spread) - np.square(drop / spread)))
        )
        if ratio > _TOLD:
            how = (
                f"with port {port} closed the flow fell by {100.0 * drop:.0f} % (read to "
                f"{100.0 * spread:.0f} %); a port that drinks would have taken "
                f"{100.0 * healthy:.0f} % away"
            )
            found.append(Blocked(ports=(port,), count=1, how=how))
    return found


def _at(flows: Flows, pressure: Array, closed: tuple[int, ...], log_g: float) -> float:
    return float(np.interp(log_g, flows.grid, flows.at(pressure, closed)[:, 0]))


def _mean(values: Array, errors: Array) -> tuple[float, float]:
    weight = 1.0 / np.square(errors)
    return float((values * weight).sum() / weight.sum()), float(1.0 / np.sqrt(weight.sum()))


def _dropped(plan: ChainPlan, flows: Flows, delivered: Delivered) -> tuple[Blocked, Array] | None:
    """Return a drop of flow in the run that ports falling out explain and nothing else does.

    With it what each conductance delivers by each reading, the drop among it, shape (grid, n) [mL].
    """
    n = len(delivered.minutes)
    if n < 6 or any(delivered.closed) or plan.ports < 2:
        return None

    def cumulated(closed: tuple[int, ...]) -> Array:
        return _predicted(flows, replace(delivered, closed=(closed,) * n))

    whole = cumulated(())
    best, found = (float(_misfit(whole, delivered).min()), 0, 0), whole
    for count in range(1, min(plan.ports, 4)):
        # The middle ports stand for any: which one it was cannot be told.
        first = (plan.ports - count) // 2
        fewer = cumulated(tuple(range(first + 1, first + 1 + count)))
        for at in range(2, n - 2):
            path = np.where(np.arange(n) <= at, whole, whole[:, at : at + 1] + fewer
                            - fewer[:, at : at + 1])  # fmt: skip
            misfit = float(_misfit(path, delivered).min())
            if misfit < best[0] - 1e-9:
                best, found = (misfit, count, at), path
    unbroken = float(_misfit(whole, delivered).min())
    # Any reading could be where it broke: what is won must outweigh having looked at all of them.
    if not best[1] or 0.5 * (unbroken - best[0]) < np.log(_TOLD * n):
        return None
    minute = delivered.minutes[best[2]]
    many = "one port" if best[1] == 1 else f"{best[1]} ports"
    how = (
        f"after {minute:.1f} min the flow is that of {plan.ports - best[1]} of {plan.ports} ports: "
        f"{many} stopped drinking. Which cannot be told from the total: close ports one at a time"
    )
    return Blocked(ports=(), count=best[1], how=how), np.asarray(found)
