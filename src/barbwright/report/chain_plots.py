"""Plots of a chain as SVG: pressure and flow along it, vessel pressure against volume.

Pure functions that return bytes; equal results give equal bytes under one matplotlib version.
"""

from __future__ import annotations

from barbwright.chain.result import ChainResult
from barbwright.report.plot_style import (
    BLUE,
    EDGE,
    GREEN,
    GREY,
    ORANGE,
    plot_style,
    second_unit,
    svg_figure,
    to_svg,
)
from barbwright.say import Voice, cell, one_of


def pressure_and_flow_svg(result: ChainResult) -> bytes:
    """Pressure at each node and in each hole, and the flow per port with its range.

    Parameters
    ----------
    result : ChainResult
        A solved chain.

    Returns
    -------
    bytes
        One SVG document.
    """
    from matplotlib.ticker import MaxNLocator

    index = [port.index for port in result.ports]
    voice, unit, per_mpa = _scale(result)
    supply = per_mpa * result.plan.supply_mpa
    with plot_style():
        figure = svg_figure(5.2)
        top, bottom = figure.subplots(2, 1, sharex=True)
        top.axhline(supply, color=GREY, linestyle="--", label="at the vessel")
        node = [per_mpa * port.node_pressure_mpa for port in result.ports]
        # The two lie close: a large open ring stays visible behind the small square.
        ring = {"marker": "o", "markersize": 9, "markerfacecolor": "none"}
        top.plot(index, node, color=BLUE, label="at the crossing", **ring)
        hole = [per_mpa * port.hole_pressure_mpa for port in result.ports]
        top.plot(index, hole, color=ORANGE, marker="s", markersize=4, label="in the hole")
        top.set_ylabel(f"pressure [{unit}]")
        top.set_ylim(bottom=min(0.0, *hole), top=1.1 * supply)
        second_unit(top, voice)
        top.legend(loc="lower left", ncols=3)

        flow = [port.flow_ml_min for port in result.ports]
        below = [port.flow_ml_min - port.flow_low_ml_min for port in result.ports]
        above = [port.flow_high_ml_min - port.flow_ml_min for port in result.ports]
        bottom.bar(index, flow, color=BLUE, alpha=0.6, width=0.6, edgecolor=EDGE, label="expected")
        if any(below) or any(above):
            # A port of negative flow has its range the other way round.
            spread = [[max(x, 0.0) for x in below], [max(x, 0.0) for x in above]]
            bottom.errorbar(
                index,
                flow,
                yerr=spread,
                fmt="none",
                ecolor=ORANGE,
                capsize=4,
                label="range of the tree",
            )
        bottom.set_ylabel("flow [mL/min]")
        bottom.set_xlabel("port, counted from the vessel")
        bottom.xaxis.set_major_locator(MaxNLocator(integer=True))
        bottom.legend(loc="upper right", ncols=2)
        first, last = result.ports[0], result.ports[-1]
        says = (
            f"From port {index[0]} to port {index[-1]} the pressure at the crossing goes from "
            f"{cell(first.node_pressure_mpa, unit)} to {cell(last.node_pressure_mpa, unit)} "
            f"{unit}, in the hole from {cell(first.hole_pressure_mpa, unit)} to "
            f"{cell(last.hole_pressure_mpa, unit)} {unit}, the flow from {flow[0]:.0f} to "
            f"{flow[-1]:.0f} mL/min; {cell(result.plan.supply_mpa, unit)} {unit} at the vessel."
        )
        return to_svg(figure, "Pressure and flow along the chain", says)


def vessel_pressure_svg(result: ChainResult) -> bytes | None:
    """Vessel pressure against delivered volume, quick (adiabatic) to slow (isothermal).

    Parameters
    ----------
    result : ChainResult
        A solved chain.

    Returns
    -------
    bytes or None
        One SVG document; None without a vessel that runs down.
    """
    vessel = result.vessel
    if vessel is None or "run_down" not in vessel:
        return None
    import numpy as np

    from barbwright.equations.vessel import pressure_after_delivery_mpa

    voice, unit, per_mpa = _scale(result)
    ambient = result.plan.atmosphere_mpa
    litres = np.linspace(0.0, vessel["stop_after_ml"], 121) / 1000.0
    with plot_style():
        figure = svg_figure(3.8)
        axes = figure.subplots()
        start = result.plan.supply_mpa + ambient
        low, high = (
            per_mpa
            * np.maximum(
                pressure_after_delivery_mpa(start, vessel["air_head_ml"], 1000.0 * litres, n)
                - ambient,
                0.0,
            )
            for n in (1.4, 1.0)
        )
        axes.fill_between(litres, low, high, color=BLUE, alpha=0.25, linewidth=0)
        axes.plot(litres, high, color=BLUE, label="slow (isothermal)")
        axes.plot(litres, low, color=BLUE, linestyle=":", label="quick (adiabatic)")
        axes.axhline(
            per_mpa * vessel["recharge_at_mpa"], color=ORANGE, linestyle="--", label="pump up again"
        )
        axes.axvline(litres[-1], color=GREEN, linestyle="-.", label="stop: liquid must remain")
        if vessel["relief_mpa"] is not None:
            axes.axhline(
                per_mpa * vessel["relief_mpa"], color=GREY, linewidth=2.5, label="relief opens"
            )
        axes.set_xlabel("delivered without pumping up [L]")
        axes.set_ylabel(f"vessel pressure [{unit}]")
        axes.set_xlim(left=0.0)
        most = max(result.plan.supply_mpa, vessel["relief_mpa"] or 0.0)
        axes.set_ylim(bottom=0.0, top=1.15 * per_mpa * most)
        second_unit(axes, voice)
        figure.legend(loc="outside lower center", ncols=3)
        says = (
            f"With {litres[-1]:.1f} L delivered the vessel falls from "
            f"{cell(high[0] / per_mpa, unit)} to {cell(low[-1] / per_mpa, unit)} {unit} where it "
            f"is quick, to {cell(high[-1] / per_mpa, unit)} {unit} where it is slow; "
            f"pump up again at {cell(vessel['recharge_at_mpa'], unit)} {unit}."
        )
        return to_svg(figure, "Vessel pressure against delivered volume", says)


def _scale(result: ChainResult) -> tuple[Voice, str, float]:
    """Return who is spoken to, the unit that leads and how many of it make one MPa."""
    voice = result.plan.voice
    unit, _ = voice.pair("pressure")
    return voice, unit, 1.0 / one_of("pressure", unit)
