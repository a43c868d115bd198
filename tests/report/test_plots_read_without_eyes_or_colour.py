"""Plots for who sees no colour, prints in grey, or does not see the plot at all."""

import re
import xml.etree.ElementTree as ET
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from test_chain_plots import PLAN

from barbwright.chain.result import solve_chain
from barbwright.design.part import KINDS
from barbwright.jobs.rate import read_axes
from barbwright.rating.sweep import sweep
from barbwright.report import chain_plots, contact_plot, log_plots, plot_style, rate_plots
from barbwright.report.log_plots import Bar, HoldCurve, RunCurve, bench_svg, hold_svg, run_svg
from barbwright.report.pages import inline_svg
from barbwright.say import IMPERIAL
from example_job import PSI, job_of

SVG = "{http://www.w3.org/2000/svg}"
LEAKS = np.linspace(0.0, 0.01, 50)


def hold():
    minutes = np.linspace(0.0, 60.0, 61)
    pressure = 0.46 - 0.0001 * minutes
    return HoldCurve(
        minutes=minutes, pressure_mpa=pressure, hold_min=minutes, fitted_mpa=pressure,
        leaks_mpa=LEAKS, chances=np.exp(-LEAKS / 0.001), least_mpa=0.0007,
    )  # fmt: skip


def runs(count):
    minutes = np.linspace(0.0, 30.0, 7)
    return [
        RunCurve(title=f"tree {tree}", minutes=minutes, delivered_ml=(20 + tree) * minutes,
                 fitted_ml=(20.5 + tree) * minutes)
        for tree in range(count)
    ]  # fmt: skip


def bars():
    return [Bar(title="hold of a seat", before=(0.4, 2.5), after=(0.9, 1.3), seat=(0.7, 1.6),
                median=1.1)]  # fmt: skip


def swept():
    axes = read_axes(job_of("elbow"), KINDS["elbow"], {"bits": "9/64, 15/64, 17/64",
                                                       "pressures": "45psi"}, 2)  # fmt: skip
    return sweep(KINDS["elbow"], job_of("elbow"), axes)


def rating():
    """What the plot asks of a rating; how one is found is none of its matter."""
    rows = [
        SimpleNamespace(temperature_c=23.0, max_mpa=60 * PSI, governing="barb_grip", because=""),
        SimpleNamespace(temperature_c=40.0, max_mpa=45 * PSI, governing="barb_grip", because=""),
        SimpleNamespace(temperature_c=55.0, max_mpa=None, governing="", because="tube too warm"),
    ]
    return SimpleNamespace(
        job=job_of("elbow"), kind=KINDS["elbow"], smallest=None, by_temperature=rows,
        by_check=[SimpleNamespace(id="barb_grip", max_mpa=60 * PSI)],
        service=SimpleNamespace(temperature_c=30.0),
    )  # fmt: skip


def test_what_a_rating_says_has_its_unit():
    says = ET.fromstring(rate_plots.rating_plot(rating())).findtext(f"{SVG}desc")
    assert "59.9 psi at 23 degC, by barb_grip; 44.9 psi at 40 degC" in says


PLOTS = {
    "rating": lambda: rate_plots.rating_plot(rating()),
    "flow": lambda: chain_plots.pressure_and_flow_svg(solve_chain(PLAN)),
    "vessel": lambda: chain_plots.vessel_pressure_svg(solve_chain(PLAN)),
    "hold": lambda: hold_svg(hold(), IMPERIAL),
    "runs": lambda: run_svg(runs(5)),
    "bench day": lambda: bench_svg(bars()),
    "sweep": lambda: rate_plots.sweep_plot(swept()),
}


@pytest.fixture(params=PLOTS)
def plot(request, monkeypatch):
    """A plot's bytes, and the figure it was drawn from."""
    figures = []
    saving = chain_plots.to_svg, rate_plots._bytes
    monkeypatch.setattr(chain_plots, "to_svg", lambda f, *w: figures.append(f) or saving[0](f, *w))
    monkeypatch.setattr(log_plots, "to_svg", chain_plots.to_svg)
    monkeypatch.setattr(rate_plots, "_bytes", lambda f, *w: figures.append(f) or saving[1](f, *w))
    return PLOTS[request.param](), figures[0]


def test_a_plot_says_that_it_is_a_picture_what_of_and_what_it_shows(plot):
    root = ET.fromstring(plot[0])
    assert root.get("role") == "img"
    assert root.findtext(f"{SVG}title")
    says = root.findtext(f"{SVG}desc")
    assert len(says) > 40
    assert re.search(r"\d", says), "its numbers, not only its name"
    # On a page the figure round it speaks.
    assert "<desc>" not in inline_svg(plot[0], "x-")


def test_what_a_legend_names_is_told_apart_without_its_colour(plot):
    for axes in plot[1].axes:
        lines = [one for one in axes.get_lines() if not one.get_label().startswith("_")]
        looks = [
            (one.get_linestyle(), one._unscaled_dash_pattern, one.get_marker(),
             one.get_fillstyle(), one.get_linewidth())
            for one in lines
        ]  # fmt: skip
        assert len(set(map(str, looks))) == len(looks), [one.get_label() for one in lines]


def linear(part):
    return part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4


def contrast(one, other):
    """WCAG 2's ratio of two colours, from its definition of relative luminance."""
    light, dark = sorted(
        (
            0.2126 * linear(int(colour[1:3], 16) / 255)
            + 0.7152 * linear(int(colour[3:5], 16) / 255)
            + 0.0722 * linear(int(colour[5:7], 16) / 255)
            for colour in (one, other)
        ),
        reverse=True,
    )
    return (light + 0.05) / (dark + 0.05)


def test_the_ratio_is_that_of_the_definition():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)  # the usual example


@pytest.mark.parametrize(
    "colour",
    sorted(
        {
            *(plot_style.BLUE, plot_style.ORANGE, plot_style.GREEN, plot_style.GREY),
            *(colour for _, colour, _ in rate_plots._SIGNS.values()),
            *(colour for _, _, colour in log_plots._RUNS),
            *(plot_style.EDGE, contact_plot.EDGE, contact_plot.GUIDE),
        }
    ),
)
def test_what_is_drawn_stands_out_from_paper(colour):
    """3 to 1 is what the guidelines ask of graphics (WCAG 2.1, 1.4.11)."""
    assert contrast(colour, "#ffffff") >= 3.0


REPORT = Path(chain_plots.__file__).parent
TEMPLATES = sorted((REPORT / "templates").glob("*.html"))


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: path.stem)
def test_a_page_goes_by_keys_in_its_own_order_and_names_its_pictures(template):
    text = template.read_text(encoding="utf-8")
    assert set(re.findall(r'tabindex="([^"]*)"', text)) <= {"0", "-1"}
    for image in re.findall(r"<img\b[^>]*>", text):
        assert re.search(r'\balt="[^"]', image), image
    for figure in re.findall(r'<[a-z]+ [^>]*role="img"[^>]*>', text):
        assert re.search(r'\baria-label="[^"]', figure), figure


def test_every_drawing_written_by_hand_says_that_it_is_a_picture():
    roots = [
        root
        for path in sorted(REPORT.rglob("*.py"))
        for root in re.findall(r"<svg xmlns.*?>", path.read_text(encoding="utf-8"), re.DOTALL)
    ]
    assert len(roots) >= 4
    for root in roots:
        assert 'role="img"' in root
        assert "aria-label=" in root
