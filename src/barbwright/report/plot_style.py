"""What all plots share: a style that no user's settings change, and the psi axis beside kPa."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

KPA_PER_PSI = 6.894757293168


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


def psi_axis(axes: Any) -> None:
    """Add an axis in psi on the right of one in kPa."""
    right = axes.secondary_yaxis(
        "right", functions=(lambda kpa: kpa / KPA_PER_PSI, lambda psi: psi * KPA_PER_PSI)
    )
    right.set_ylabel("[psi]")
