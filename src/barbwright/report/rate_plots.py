"""Plots of a rating, a sweep and a scatter; shapes and words say what colour says.

Pure functions that return bytes; equal results give equal bytes under one matplotlib version.
"""

from __future__ import annotations

import io
from typing import Any, Literal

import numpy as np

from barbwright.checks.reasons import ONCE_PROVED
from barbwright.checks.result import CAUTION, FAIL, NO_SIZE, PASS, VERDICTS
from barbwright.rating.rating import Rating
from barbwright.rating.scatter import Scatter
from barbwright.rating.sweep import Sweep
from barbwright.report.plot_style import (
    BLUE,
    EDGE,
    GREY,
    ORANGE,
    plot_style,
    second_unit,
    svg_figure,
    to_svg,
)
from barbwright.say import METRIC, figure, one_of, voice_for, voice_of

# Between the others' orange and yellow, dark enough beside paper.
AMBER = "#A87400"
WIDTH_IN = 7.0
PNG_DPI = 150
Format = Literal["svg", "png"]

# Each verdict has a shape of its own, and is named in the legend.
_SIGNS = {
    VERDICTS[PASS]: ("o", BLUE, "full"),
    f"{VERDICTS[PASS]} {ONCE_PROVED}": ("o", BLUE, "none"),
    VERDICTS[CAUTION]: ("^", AMBER, "full"),
    VERDICTS[FAIL]: ("x", ORANGE, "full"),
    VERDICTS[NO_SIZE]: ("s", GREY, "none"),
}
# More rows than this cannot be read on one page.
_MOST_ROWS = 40
_MOST_COLUMNS = 60


def rating_plot(rating: Rating, file_format: Format = "svg") -> bytes:
    """Return the highest pressure against temperature, with what governs written beside.

    Parameters
    ----------
    rating : Rating
        From `rate_part`.
    file_format : {"svg", "png"}
        Kind of picture.

    Returns
    -------
    bytes
        One file.
    """
    rows = [row for row in rating.by_temperature if row.max_mpa is not None]
    checks = [check for check in rating.by_check if check.max_mpa is not None][:10]
    voice = voice_of(rating.job.inputs)
    unit, _ = voice.pair("pressure")
    per_mpa = 1.0 / one_of("pressure", unit)
    with plot_style():
        page = svg_figure(6.4, WIDTH_IN)
        top, bottom = page.subplots(2, 1, height_ratios=(1.2, 1.0))
        temperature = [row.temperature_c for row in rows]
        highest = [per_mpa * (row.max_mpa or 0.0) for row in rows]
        top.plot(temperature, highest, color=BLUE, marker="o")
        for x, y, row in zip(temperature, highest, rows, strict=True):
            top.annotate(
                row.governing, (x, y), (0, 7), textcoords="offset points", ha="center", fontsize=7
            )
        for row in rating.by_temperature:
            if row.max_mpa is None:
                top.plot(
                    [row.temperature_c], [0.0], color=ORANGE, marker="x", linestyle="none",
                    clip_on=False,
                )  # fmt: skip
                top.annotate(
                    f"no pressure: {row.because.split(' ')[0].rstrip(',')}",
                    (row.temperature_c, 0.0),
                    (0, 7),
                    textcoords="offset points",
                    ha="right",
                    fontsize=7,
                )
        asked = rating.job.highest_mpa
        if rating.smallest is not None:
            top.axhline(per_mpa * asked, color=EDGE, linestyle="--", label="asked")
            top.legend(loc="upper right")
        top.set_ylim(bottom=0.0, top=1.2 * max([*highest, per_mpa * asked]))
        top.set_xlabel("service temperature [degC]")
        top.set_ylabel(f"highest pressure [{unit}]")
        top.set_title(f"{rating.kind.title}: highest pressure that does not fail (caution)")
        second_unit(top, voice)
        names = [check.id for check in checks][::-1]
        values = [per_mpa * (check.max_mpa or 0.0) for check in checks][::-1]
        bottom.barh(names, values, color=BLUE, alpha=0.6, edgecolor=EDGE, linewidth=0.4)
        for place, (value, check) in enumerate(zip(values, checks[::-1], strict=True)):
            # What stands on the bar is typed into `check`: rounded down, as in the table.
            words = figure(check.max_mpa or 0.0, "pressure", unit, "down")
            bottom.text(value, place, f" {words}", va="center", fontsize=7)
        bottom.set_xlabel(
            f"highest pressure by check at {rating.service.temperature_c:g} degC [{unit}]"
        )
        bottom.margins(x=0.12)
        says = "; ".join(
            f"{figure(row.max_mpa or 0.0, 'pressure', unit, 'down')} {unit} at "
            f"{row.temperature_c:g} degC, by {row.governing}"
            for row in rows
        )
        says = f"Highest pressure: {says or 'none at any temperature'}."
        return _bytes(page, file_format, "Highest pressure", says)


def sweep_plot(sweep: Sweep, file_format: Format = "svg") -> bytes:
    """Return a sweep's verdicts as a map of signs, the last input across.

    Parameters
    ----------
    sweep : Sweep
        From `sweep`.
    file_format : {"svg", "png"}
        Kind of picture.

    Returns
    -------
    bytes
        One file; of more rows or columns than a page holds, evenly spread ones.
    """
    across = sweep.axes[-1]
    code = sweep.code.reshape(-1, len(across))
    rows = _evenly(code.shape[0], _MOST_ROWS)
    columns = _evenly(code.shape[1], _MOST_COLUMNS)
    names = _row_names(sweep, rows)
    x = np.arange(len(columns), dtype=float)
    label = across.name
    if across.numbers is not None:
        x, label = across.numbers[columns], f"{across.name} [{across.unit}]"
    voice = METRIC
    if across.numbers is not None and across.name == "pressure":
        # Led by the unit that was typed: its labels say which.
        voice = voice_for(across.labels[0]) or METRIC
        lead, _ = voice.pair("pressure")
        x, label = x * one_of("pressure", "kPa") / one_of("pressure", lead), f"pressure [{lead}]"
    with plot_style():
        figure = svg_figure(1.6 + 0.22 * max(len(rows), 4), WIDTH_IN)
        axes = figure.subplots()
        part = code[np.ix_(rows, columns)]
        words = np.array(VERDICTS, dtype=object)[part]
        leans = sweep.leans.reshape(code.shape)[np.ix_(rows, columns)]
        words = np.where(leans > 0, f"{VERDICTS[PASS]} {ONCE_PROVED}", words)
        for verdict, (marker, colour, fill) in _SIGNS.items():
            at_row, at_column = np.nonzero(words == verdict)
            if at_row.size:
                axes.plot(
                    x[at_column],
                    at_row,
                    linestyle="none",
                    marker=marker,
                    color=colour,
                    fillstyle=fill,
                    markersize=5,
                    label=verdict.replace("_", " "),
                )
        axes.set_yticks(range(len(rows)), names, fontsize=7)
        axes.set_ylim(len(rows) - 0.5, -0.5)
        axes.set_xlabel(label)
        if across.numbers is None:
            texts = [across.labels[column] for column in columns]
            axes.set_xticks(x, texts, rotation=60, ha="right", fontsize=7)
        elif across.name == "pressure":
            second_unit(axes, voice, across=True)
        title = f"{sweep.kind.title}: verdicts"
        if part.size < code.size:
            title += f" ({part.size:,} of {code.size:,} points shown)"
        figure.suptitle(title)
        figure.legend(loc="outside lower center", ncols=5)
        said = dict(zip(*np.unique(words.astype(str), return_counts=True), strict=True))
        says = ", ".join(f"{verdict.replace('_', ' ')} {count}" for verdict, count in said.items())
        return _bytes(figure, file_format, "Sweep", f"Of {part.size} points: {says}.")


def scatter_plot(result: Scatter, file_format: Format = "svg") -> bytes:
    """Return how many samples fail each check, and which spread matters most.

    Parameters
    ----------
    result : Scatter
        From `scatter`.
    file_format : {"svg", "png"}
        Kind of picture.

    Returns
    -------
    bytes
        One file.
    """
    made = [one for one in result.checks if one.share_not_fail is not None]
    made = sorted(made, key=lambda one: (one.share_not_fail or 0.0, one.share_pass or 0.0))[:12]
    with plot_style():
        figure = svg_figure(6.0, WIDTH_IN)
        top, bottom = figure.subplots(2, 1, height_ratios=(1.4, 1.0))
        names = [one.id for one in made][::-1]
        good = np.array([one.share_pass or 0.0 for one in made])[::-1]
        fair = np.array([one.share_not_fail or 0.0 for one in made])[::-1] - good
        bad = 1.0 - good - fair
        left = np.zeros(len(names))
        for share, colour, hatch, word in (
            (good, BLUE, "", "pass"),
            (fair, AMBER, "//", "caution"),
            (bad, ORANGE, "xx", "fail"),
        ):
            top.barh(
                names, 100.0 * share, left=100.0 * left, color=colour, alpha=0.6, hatch=hatch,
                label=word, edgecolor=EDGE, linewidth=0.4,
            )  # fmt: skip
            left = left + share
        top.set_xlabel(f"share of {result.count:,} samples [%]")
        # Bars fill the whole width: no corner inside is free.
        top.legend(loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=3)
        ranked = result.influences[::-1]
        bottom.barh(
            [one.spread.title for one in ranked], [100.0 * one.share for one in ranked], color=GREY
        )
        for row, one in enumerate(ranked):
            bottom.text(100.0 * one.share, row, f" {one.share:.0%}", va="center", fontsize=7)
        bottom.set_xlabel("share of what moves the margin [%]")
        bottom.margins(x=0.1)
        says = "; ".join(
            f"{name}: {a:.0%} pass, {b:.0%} caution, {c:.0%} fail"
            for name, a, b, c in zip(names[::-1], good[::-1], fair[::-1], bad[::-1], strict=True)
        )
        return _bytes(figure, file_format, "Scatter", f"Of {result.count} samples, {says}.")


def _evenly(count: int, most: int) -> np.ndarray[Any, np.dtype[np.int64]]:
    if count <= most:
        return np.arange(count)
    return np.unique(np.linspace(0, count - 1, most).round().astype(np.int64))


def _row_names(sweep: Sweep, rows: np.ndarray[Any, np.dtype[np.int64]]) -> list[str]:
    others = sweep.axes[:-1]
    if not others:
        return [sweep.kind.name]
    index = np.unravel_index(rows, tuple(len(one) for one in others))
    return [
        ", ".join(one.labels[int(place[row])] for one, place in zip(others, index, strict=True))
        for row in range(len(rows))
    ]


def _bytes(figure: Any, file_format: Format, title: str, says: str) -> bytes:
    if file_format == "svg":
        return to_svg(figure, title, says)
    stream = io.BytesIO()
    figure.savefig(stream, format="png", dpi=PNG_DPI, metadata={"Title": title, "Software": None})
    return stream.getvalue()
