"""What all plots share: a style that no user's settings change, and the axis of the other unit."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from barbwright.report.pages import with_words
from barbwright.say import Kind, Voice, one_of

# Okabe and Ito's colours, told apart by people who do not see red and green.
BLUE, ORANGE, GREEN, GREY = "#0072B2", "#D55E00", "#009E73", "#666666"
# Round what is filled with half a colour, which alone is too pale beside paper.
EDGE = "#000000"
WIDTH_IN = 6.3


@contextmanager
def plot_style() -> Iterator[None]:
    """Draw in our own style inside the ``with`` block, whatever the user's settings."""
    import matplotlib as mpl

    settings = {
        "svg.hashsalt": "barbwright",
        "svg.fonttype": "path",
        "font.family": "DejaVu Sans",
        "font.size": 9,
        "axes.grid": True,
        "grid.alpha": 0.3,
        "axes.axisbelow": True,
        "legend.fontsize": 8,
    }
    # Start from the library's defaults, so that a user's matplotlibrc cannot change a plot.
    with mpl.rc_context():
        mpl.rcdefaults()
        mpl.rcParams.update(settings)
        yield


def second_unit(axes: Any, voice: Voice, kind: Kind = "pressure", *, across: bool = False) -> None:
    """Add an axis in the other unit: on the right, or on top of one that runs across.

    Parameters
    ----------
    axes : matplotlib.axes.Axes
        Drawn in the unit that leads.
    voice : Voice
        Which unit leads.
    kind : {"pressure", "force", "torque", "length"}
        What the axis counts.
    across : bool
        Whether it runs across.
    """
    lead, other = voice.pair(kind)
    ratio = one_of(kind, lead) / one_of(kind, other)
    add = axes.secondary_xaxis if across else axes.secondary_yaxis
    beside = add("top" if across else "right", functions=(lambda x: x * ratio, lambda x: x / ratio))
    (beside.set_xlabel if across else beside.set_ylabel)(f"[{other}]")


def svg_figure(height_in: float, width_in: float = WIDTH_IN) -> Any:
    """Return an empty figure, of a page's width where none is told [in]."""
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width_in, height_in), layout="constrained")
    FigureCanvasSVG(figure)
    return figure


def to_svg(figure: Any, title: str, says: str) -> bytes:
    """Return a figure as one SVG document without a date.

    Parameters
    ----------
    figure : matplotlib.figure.Figure
        The figure.
    title : str
        What it is.
    says : str
        What it shows, for who does not see it.
    """
    stream = io.BytesIO()
    figure.savefig(stream, format="svg", metadata={"Date": None, "Title": title})
    return with_words(stream.getvalue(), says)
