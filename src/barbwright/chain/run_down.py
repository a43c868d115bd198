"""How long a volume takes: the vessel runs down, is pumped up again and refilled."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from barbwright.chain.network import Array, Network
from barbwright.chain.plan import MM3_S_PER_ML_MIN, ChainPlan, solve_plan
from barbwright.equations import energy, vessel

ISOTHERMAL, ADIABATIC = 1.0, 1.4
CURVE_POINTS = 33
QUADRATURE_POINTS = 16
MAX_CYCLES = 1000
DEFAULT_RECHARGE_SHARE = 0.75


@dataclass(frozen=True)
class Delivery:
    """One way a delivery may go.

    Parameters
    ----------
    minutes : float
        Time with liquid flowing, pumping and refilling not counted; infinite if it stops [min].
    port_ml : tuple of float
        Volume each port takes [mL].
    recharges, refills : int
        How often the vessel is pumped up and refilled on the way [-].
    """

    minutes: float
    port_ml: tuple[float, ...]
    recharges: int
    refills: int


def recharge_pressure_mpa(plan: ChainPlan) -> float:
    """Gauge pressure at which the vessel is pumped up again.

    Parameters
    ----------
    plan : ChainPlan
        A plan with a vessel.

    Returns
    -------
    float
        Gauge pressure [MPa].
    """
    if plan.vessel is not None and plan.vessel.recharge_at_mpa is not None:
        return plan.vessel.recharge_at_mpa
    return DEFAULT_RECHARGE_SHARE * plan.supply_mpa


def deliver(plan: ChainPlan, network: Network, case: str, exponent: float) -> Delivery:
    """Deliver the plan's volume for one conductance case and polytropic exponent.

    The port flows are solved at 33 pressures between start and recharge and interpolated
    monotonely; the interpolation changes the time by less than 1 part in 10 000.

    Parameters
    ----------
    plan : ChainPlan
        A plan with a volume to deliver.
    network : Network
        Its network.
    case : str
        ``low``, ``expected`` or ``high`` conductance [-].
    exponent : float
        Polytropic exponent of the air head [-].

    Returns
    -------
    Delivery
        Time, volumes, recharges.
    """
    from scipy.interpolate import PchipInterpolator

    dose_ml = plan.dose_ml or 0.0
    tank = plan.vessel
    capacity_ml = np.inf if tank is None else tank.usable_ml
    if tank is None or tank.regulated:
        flow = solve_plan(plan, network, case).flow_mm3_s / MM3_S_PER_ML_MIN
        total = float(flow.sum())
        if total <= 0.0:
            return Delivery(np.inf, (0.0,) * plan.ports, 0, 0)
        refills = 0 if tank is None else int(np.ceil(dose_ml / capacity_ml - 1e-9)) - 1
        return Delivery(dose_ml / total, tuple((dose_ml * flow / total).tolist()), 0, refills)

    ambient, start = plan.atmosphere_mpa, plan.supply_abs_mpa
    end = recharge_pressure_mpa(plan) + ambient
    grid = np.linspace(end, start, CURVE_POINTS)
    flows: list[Array] = []
    for pressure in grid:
        # On the straight line through the last two: a Newton step less than from the last one.
        near = 2.0 * flows[-1] - flows[-2] if len(flows) > 1 else flows[-1] if flows else None
        flows.append(solve_plan(plan, network, case, float(pressure) - ambient, near).flow_mm3_s)
    table = np.array(flows) / 1000.0
    if table[0].sum() <= 0.0:
        return Delivery(np.inf, (0.0,) * plan.ports, 0, 0)
    port_curve = PchipInterpolator(grid, table)
    total_curve = PchipInterpolator(grid, table.sum(axis=1))
    nodes, weights = np.polynomial.legendre.leggauss(QUADRATURE_POINTS)

    seconds, shares = 0.0, np.zeros(plan.ports)
    head, left, in_vessel = tank.air_head_ml, dose_ml, capacity_ml
    recharges = refills = 0
    for _ in range(MAX_CYCLES):
        reach = float(vessel.delivery_to_pressure_ml(start, head, end, exponent))
        part = min(left, reach, in_vessel)
        seconds += vessel.run_down_seconds(
            lambda pressure: float(total_curve(pressure)), start, head, part, exponent
        )
        volume = 0.5 * part * (nodes + 1.0)
        pressure = vessel.pressure_after_delivery_mpa(start, head, volume, exponent)
        flow_share = port_curve(pressure) / total_curve(pressure)[:, None]
        shares += 0.5 * part * (weights @ flow_share)
        left, head, in_vessel = left - part, head + part, in_vessel - part
        if left <= 1e-9 * dose_ml:
            return Delivery(seconds / 60.0, tuple(shares.tolist()), recharges, refills)
        if in_vessel <= 1e-9 * capacity_ml:
            refills, head, in_vessel = refills + 1, tank.air_head_ml, capacity_ml
        else:
            recharges += 1
    return Delivery(np.inf, tuple(shares.tolist()), recharges, refills)


def describe_vessel(plan: ChainPlan, deliveries: dict[str, Delivery]) -> dict[str, Any] | None:
    """Everything to know about the vessel: run-down, recharge, stop, relief, stored energy.

    Parameters
    ----------
    plan : ChainPlan
        The plan.
    deliveries : dict of str to Delivery
        Deliveries by case, empty without a volume.

    Returns
    -------
    dict or None
        Plain values, units in the keys; None without a vessel.
    """
    tank = plan.vessel
    if tank is None:
        return None
    ambient = plan.atmosphere_mpa
    start = plan.supply_abs_mpa
    end = recharge_pressure_mpa(plan) + ambient
    stop_ml = tank.usable_ml
    # Gauge pressure alone bursts a vessel, but what a burst sets free is the gas's energy.
    values: dict[str, Any] = {
        "regulated": tank.regulated,
        "volume_ml": tank.volume_ml,
        "liquid_ml": tank.liquid_ml,
        "air_head_ml": tank.air_head_ml,
        "reserve_ml": tank.kept_ml,
        "stop_after_ml": stop_ml,
        "relief_mpa": tank.relief_mpa,
        "relief_opens_at_c": None,
        "stored_energy_j": float(energy.isentropic_energy_j(start, tank.air_head_ml, ambient)),
        "stored_energy_upper_j": float(energy.brode_energy_j(start, tank.air_head_ml, ambient)),
        "water_energy_j": float(energy.liquid_energy_j(start - ambient, tank.air_head_ml)),
        "refills": {name: way.refills for name, way in deliveries.items()} or None,
    }
    if tank.relief_mpa is not None:
        relief = tank.relief_mpa + ambient
        values["relief_opens_at_c"] = vessel.warming_to_relief_c(start, relief, tank.temperature_c)
    if tank.regulated:
        return values
    head = tank.air_head_ml
    delivered = np.append(np.arange(0.0, stop_ml, 1000.0), stop_ml)

    def gauge_mpa(exponent: float) -> Array:
        pressure = vessel.pressure_after_delivery_mpa(start, head, delivered, exponent)
        # At ambient pressure nothing is driven out any more.
        return np.asarray(np.maximum(pressure - ambient, 0.0), float)

    fast, slow = gauge_mpa(ADIABATIC), gauge_mpa(ISOTHERMAL)
    values["run_down"] = [
        {"delivered_ml": float(ml), "low_mpa": float(low), "high_mpa": float(high)}
        for ml, low, high in zip(delivered, fast, slow, strict=True)
    ]
    values["recharge_at_mpa"] = recharge_pressure_mpa(plan)
    values["recharge_after_ml"] = {
        "low": float(vessel.delivery_to_pressure_ml(start, head, end, ADIABATIC)),
        "high": float(vessel.delivery_to_pressure_ml(start, head, end, ISOTHERMAL)),
    }
    values["recharges"] = {name: way.recharges for name, way in deliveries.items()} or None
    if plan.dose_ml is not None:
        values["air_head_without_recharge_ml"] = float(
            vessel.air_head_for_band_ml(plan.dose_ml, start, end, ADIABATIC)
        )
    return values
