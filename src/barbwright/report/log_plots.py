"""Plots of logs as SVG: a hold with what creep and leak make of it, and what a bench day moved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import cycle

import numpy as np
from numpy.typing import NDArray

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

Array = NDArray[np.float64]
_MOST_POINTS = 2000
# Marker, line and colour of one tree after another: told apart without their colours.
_RUNS = (
    (".", "-", BLUE),
    ("x", "--", ORANGE),
    ("+", "-.", GREEN),
    ("^", ":", GREY),
    ("s", "-", EDGE),
)


@dataclass(frozen=True, kw_only=True, eq=False)
class HoldCurve:
    """A proof record as a plot wants it.

    Attributes
    ----------
    minutes, pressure_mpa : (n,) ndarray
        All that was read [min], [MPa].
    hold_min, fitted_mpa : (m,) ndarray
        The hold's pieces and the likeliest curve [min], [MPa].
    leaks_mpa, chances : (k,) ndarray
        Leaks a minute and the chance of each [MPa/min], [-].
    least_mpa : float
        Least that counts [MPa/min].
    """

    minutes: Array
    pressure_mpa: Array
    hold_min: Array
    fitted_mpa: Array
    leaks_mpa: Array
    chances: Array
    least_mpa: float


def hold_svg(curve: HoldCurve, voice: Voice) -> bytes:
    """Return a proof record with its hold, and below it how likely each leak is.

    Parameters
    ----------
    curve : HoldCurve
        What was read and found.
    voice : Voice
        Which unit leads.
    """
    unit, _ = voice.pair("pressure")
    per = 1.0 / one_of("pressure", unit)
    every = max(len(curve.minutes) // _MOST_POINTS, 1)
    with plot_style():
        figure = svg_figure(5.0)
        top, bottom = figure.subplots(2, 1, height_ratios=(3, 2))
        top.plot(curve.minutes[::every], per * curve.pressure_mpa[::every], ".", color=BLUE,
                 markersize=3, label="read")  # fmt: skip
        top.plot(curve.hold_min, per * curve.fitted_mpa, color=ORANGE, label="likeliest creep and "
                 "leak")  # fmt: skip
        top.set_xlabel("minutes from the first reading")
        top.set_ylabel(f"pressure [{unit}]")
        second_unit(top, voice)
        top.legend(loc="best")
        shown = curve.chances > 1e-4 * curve.chances.max()
        # A narrow peak falls to nothing between two leaks of the grid: show its far side too.
        after = min(int(np.flatnonzero(shown)[-1]) + 2, len(curve.leaks_mpa) - 1)
        last = max(float(curve.leaks_mpa[after]), 3.0 * curve.least_mpa)
        bottom.fill_between(per * curve.leaks_mpa, curve.chances / curve.chances.max(), color=BLUE,
                            alpha=0.5)  # fmt: skip
        bottom.axvline(per * curve.least_mpa, color=GREY, linestyle="--", label="least that counts")
        bottom.set_xlim(0.0, per * last)
        bottom.set_ylim(0.0, 1.05)
        bottom.set_xlabel(f"leak [{unit}/min]")
        bottom.set_ylabel("how likely, of the most")
        bottom.legend(loc="best")
        likeliest = per * float(curve.leaks_mpa[int(np.argmax(curve.chances))])
        says = (
            f"Read over {curve.minutes[-1] - curve.minutes[0]:.0f} min, the hold from "
            f"{cell(float(curve.fitted_mpa[0]), unit)} to "
            f"{cell(float(curve.fitted_mpa[-1]), unit)} {unit}; the "
            f"likeliest leak is {likeliest:.2g} {unit}/min, the least that counts "
            f"{per * curve.least_mpa:.2g}."
        )
        return to_svg(figure, "Pressure held, and what leaks", says)


@dataclass(frozen=True, kw_only=True)
class Bar:
    """One product before and after a bench day, over judgement.

    Attributes
    ----------
    title : str
        Words.
    before, after, seat : tuple of float
        Ninety per cent before and after, and of new trees and holes, over judgement [-].
    median : float
        After [-].
    """

    title: str
    before: tuple[float, float]
    after: tuple[float, float]
    seat: tuple[float, float]
    median: float


def bench_svg(bars: Sequence[Bar]) -> bytes:
    """Return what a bench day moved, one line a product.

    Parameters
    ----------
    bars : sequence of Bar
        The products.
    """
    with plot_style():
        figure = svg_figure(1.6 + 0.75 * len(bars))
        axes = figure.subplots()
        for row, bar in enumerate(reversed(bars)):
            axes.plot(bar.before, (row + 0.22,) * 2, color=GREY, linewidth=3, alpha=0.6,
                      label="believed before" if not row else None)  # fmt: skip
            axes.plot(bar.seat, (row - 0.22,) * 2, color=ORANGE, linewidth=3,
                      linestyle=(0, (1.5, 0.7)),
                      label="new trees and holes" if not row else None)  # fmt: skip
            axes.plot(bar.after, (row,) * 2, color=BLUE, linewidth=5,
                      label="species, now" if not row else None)  # fmt: skip
            axes.plot([bar.median], [row], "o", color="white", markersize=4, markeredgecolor=BLUE)
        axes.axvline(1.0, color="black", linewidth=0.8)
        axes.set_xscale("log")
        ends = [end for bar in bars for pair in (bar.before, bar.after, bar.seat) for end in pair]
        ticks = [t for t in (0.1, 0.2, 0.5, 1, 2, 5, 10) if min(ends) / 1.3 < t < max(ends) * 1.3]
        axes.set_xticks(ticks, [f"{t:g}" for t in ticks])
        axes.minorticks_off()
        axes.set_yticks(range(len(bars)), [bar.title for bar in reversed(bars)])
        axes.set_ylim(-0.6, len(bars) - 0.4)
        axes.set_xlabel("over what judgement says (nine in ten lie on a bar)")
        figure.legend(loc="outside lower center", ncols=3)
        says = "; ".join(
            f"{bar.title}: {bar.before[0]:.2g} to {bar.before[1]:.2g} before, "
            f"{bar.after[0]:.2g} to {bar.after[1]:.2g} now"
            for bar in bars
        )
        return to_svg(figure, "What the bench day moved", f"Over what judgement says, {says}.")


@dataclass(frozen=True, kw_only=True, eq=False)
class RunCurve:
    """One tree's run.

    Attributes
    ----------
    title : str
        The tree.
    minutes, delivered_ml, fitted_ml : (n,) ndarray
        Readings [min], [mL] and what the median delivers [mL].
    """

    title: str
    minutes: Array
    delivered_ml: Array
    fitted_ml: Array


def run_svg(curves: Sequence[RunCurve]) -> bytes:
    """Return what went into each tree over time.

    Parameters
    ----------
    curves : sequence of RunCurve
        The trees.
    """
    with plot_style():
        figure = svg_figure(3.8)
        axes = figure.subplots()
        for curve, (marker, style, colour) in zip(curves, cycle(_RUNS), strict=False):
            axes.plot(curve.minutes, curve.fitted_ml / 1000.0, linestyle=style, color=colour)
            axes.plot(curve.minutes, curve.delivered_ml / 1000.0, marker, color=colour,
                      linestyle=style, linewidth=0.0, label=curve.title)  # fmt: skip
        axes.set_xlabel("minutes from the first reading")
        axes.set_ylabel("delivered [L]")
        axes.set_xlim(left=0.0)
        axes.set_ylim(bottom=0.0)
        axes.legend(loc="best")
        says = "; ".join(
            f"{curve.title}: {curve.delivered_ml[-1] / 1000.0:.2f} L after "
            f"{curve.minutes[-1]:.0f} min"
            for curve in curves
        )
        return to_svg(figure, "What went in over time", f"{says}.")
