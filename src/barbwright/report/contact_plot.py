"""The tube on its barb coloured by contact pressure, and the push over its travel."""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from barbwright.prove.contact.seat import CORNER_MM
from barbwright.report.plot_style import plot_style, second_unit
from barbwright.say import METRIC, newtons

if TYPE_CHECKING:
    from barbwright.prove.contact.part import ContactResult

WIDTH_IN, HEIGHT_IN, DOTS = 8.0, 6.4, 150
COLOURS = "viridis"
BARB, TUBE, EDGE = "#d9dee3", "#f3eadf", "#17212b"
GUIDE = "#6b7885"
# Thinner than this a touch cannot be seen.
LINE_PT = 3.5
# One point of a corner may stand far above all else: colours end where this share lies below.
SHOWN_SHARE = 0.98


def contact_picture(found: ContactResult, part_number: str, png_path: Path) -> None:
    """Draw a tube on its barb, cut open, and the force of pushing it on.

    Parameters
    ----------
    found : ContactResult
        What was found.
    part_number : str
        As in the folder's name.
    png_path : Path
        Where to.
    """
    png_path.write_bytes(contact_png(found, part_number))


def contact_png(found: ContactResult, part_number: str) -> bytes:
    """Return the picture's bytes, the same in any process.

    Parameters
    ----------
    found : ContactResult
        What was found.
    part_number : str
        As in the folder's name.
    """
    with plot_style():
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure

        figure = Figure(figsize=(WIDTH_IN, HEIGHT_IN), dpi=DOTS, layout="constrained")
        FigureCanvasAgg(figure)
        section, curve = figure.subplots(2, 1, height_ratios=(1.1, 1.0))
        _section(figure, section, found)
        _curve(curve, found)
        state = "converged" if found.converged else "NOT converged"
        figure.suptitle(f"{part_number}: the tube on its barb, {state}", fontsize=10)
        sheet = io.BytesIO()
        figure.savefig(sheet, format="png", metadata={"Software": None})
    return sheet.getvalue()


def _section(figure: Any, axes: Any, found: ContactResult) -> None:
    """Draw both halves of the section, the held tube let go, before the pressure.

    Crests stand as drawn; they are solved with a radius.
    """
    from matplotlib.collections import LineCollection, PolyCollection

    seated, barb = found.hold, found.hold_fit.barb
    outline = barb.points()
    end = barb.insertion_mm + 1.0
    along, radius = np.append(outline[:-1, 0], end), np.append(outline[:-1, 1], outline[-1, 1])
    touch = seated.touch
    order = np.argsort(touch.place_mm)
    place, inner = touch.place_mm[order], touch.radius_mm[order]
    pressure = touch.normal_n[order] / touch.area_mm2[order]
    shown = float(np.quantile(pressure[pressure > 0.0], SHOWN_SHARE)) if pressure.any() else 1.0
    lines = None
    for side in (1.0, -1.0):
        axes.fill_between(along, 0.0, side * radius, color=BARB, linewidth=0.0)
        axes.plot(along, side * radius, color=EDGE, linewidth=0.8)
        cells = seated.points_mm[seated.cells] * (1.0, side)
        axes.add_collection(
            PolyCollection(list(cells), facecolor=TUBE, edgecolor="#b9a58c", linewidth=0.25)
        )
        points = np.stack([place, side * inner], 1)
        lines = LineCollection(
            list(np.stack([points[:-1], points[1:]], 1)), cmap=COLOURS, linewidth=LINE_PT,
            clim=(0.0, shown),
        )  # fmt: skip
        mean = (pressure[:-1] + pressure[1:]) / 2.0
        lines.set_array(np.ma.masked_less_equal(mean, 1e-6 * max(shown, 1e-9)))
        axes.add_collection(lines)
    figure.colorbar(lines, ax=axes, label="contact pressure, fresh [MPa]", extend="max")
    axes.set_xlim(-0.6 * barb.pitch_mm, end)
    axes.set_aspect("equal", "box")
    axes.grid(visible=False)
    axes.set_title(
        f"held: lean barb, wide tube, friction {found.hold_fit.friction:g}; crests drawn sharp, "
        f"worked with {CORNER_MM:g} mm", fontsize=8,
    )  # fmt: skip
    axes.set_xlabel("from the nose [mm]")
    axes.set_ylabel("radius [mm]")


def _curve(axes: Any, found: ContactResult) -> None:
    axes.plot(found.push.travel_mm, found.push.force_n, color=EDGE, linewidth=1.4)
    top = int(np.argmax(found.push.force_n))
    axes.plot(found.push.travel_mm[top], found.push.force_n[top], "o", color=EDGE, markersize=4)
    axes.annotate(
        newtons(found.push.peak_n, "up", 1), (found.push.travel_mm[top], found.push.force_n[top]),
        xytext=(-6, 3), textcoords="offset points", ha="right",
    )  # fmt: skip
    for travel in crests_passed_mm(found):
        axes.axvline(travel, color=GUIDE, linewidth=0.7, linestyle="--")
    axes.set_title(
        f"pushed on warm: fat barb, narrow tube, friction {found.push_fit.friction:g}", fontsize=8
    )
    axes.set_xlim(0.0, found.push_fit.barb.insertion_mm * 1.02)
    axes.set_ylim(0.0, 1.12 * max(found.push.peak_n, 1e-9))
    axes.set_xlabel("how far it was pushed [mm]; dashed: its end comes onto a crest")
    axes.set_ylabel("push, warm [N]")
    second_unit(axes, METRIC, "force")


def crests_passed_mm(found: ContactResult) -> list[float]:
    """Return how far the tube was pushed when its end came onto each crest it reached [mm].

    The tube is pushed together on its way, so its end comes later than the hand.

    Parameters
    ----------
    found : ContactResult
        What was found.
    """
    push = found.push
    furthest = np.maximum.accumulate(push.end_mm)
    return [
        float(np.interp(start, furthest, push.travel_mm))
        for start in found.push_fit.barb.lands_mm
        if start <= furthest[-1]
    ]
