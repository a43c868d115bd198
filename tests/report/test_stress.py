"""The picture of stress and the sheet's section, from a made-up result: no engine needed."""

import re
import sys

import numpy as np
import pytest
from example_reports import make_report, tube_stl

from barbwright.errors import BuildError
from barbwright.prove.result import CaseResult, PartSurface, ProveResult, SharpEdge
from barbwright.report import stress
from barbwright.report.sheet import read_stl, sheet_html

TOP_MPA = 12.0


def case(name, peak, factor, **more):
    given = {
        "id": name, "title": f"what acts in {name}", "load": 0.31, "load_upper": 0.31,
        "load_unit": "MPa", "peak_von_mises_mpa": peak, "peak_principal_mpa": 0.5 * peak,
        "percentile_von_mises_mpa": peak, "closed_form_mpa": 10.0, "closed_form": "barb_wall",
        "ratio": peak / 10.0, "allowable_mpa": factor * peak, "safety_factor": factor,
        "position_mm": (0.0, 0.0, 1.0), "place": "bore", "converged": True, "last_change": 0.01,
        "elements": 100, "degrees_of_freedom": 900, "seconds": 98.7, "force_balance": 1e-5,
    }  # fmt: skip
    return CaseResult(**{**given, **more})


def tube_result():
    """A tube along Z: stress rises from 0 at its foot to the peak; its top is not reported."""
    corners = read_stl(tube_stl())
    points, index = np.unique(corners.reshape(-1, 3), axis=0, return_inverse=True)
    rise = points[:, 2] / points[:, 2].max()
    # One ring of the wall beyond the peak, where nothing is reported.
    values = np.where(rise > 0.99, 2.0, rise) * TOP_MPA
    flat = np.array([[-4, 0, 0], [-2, 0, 0], [-2, 0, 20], [-4, 0, 20]], dtype=float)
    wall = np.concatenate([flat, flat * (-1, 1, 1)])
    first = len(points)
    cut = np.array([[0, 1, 2], [0, 2, 3], [4, 5, 6], [4, 6, 7]]) + first
    everything = np.concatenate([points, wall])
    surface = PartSurface(
        points_mm=everything,
        triangles=index.reshape(-1, 3),
        cut=cut,
        stress_mpa={"working": np.concatenate([values, wall[:, 2] / 20.0 * 0.5 * TOP_MPA])},
        reported={"working": everything[:, 2] < 19.0},
    )
    return ProveResult(
        kind="barb",
        cases=(case("working", TOP_MPA, 4.0), case("side", 5.0, 2.0, converged=False)),
        lame_von_mises_mpa=0.777,
        sharp_edges=(
            SharpEdge(
                name="tick 1 of 2",
                angle_deg=80.0,
                length_mm=2.0,
                from_wetted_mm=1.25,
                position_mm=(0, 0, 0),
            ),
            SharpEdge(
                name="tick 2 of 2",
                angle_deg=80.0,
                length_mm=2.0,
                from_wetted_mm=1.5,
                position_mm=(0, 0, 0),
            ),
        ),
        pressure_mpa=0.31,
        modulus_mpa=1256.0,
        poisson=0.4,
        planes="y",
        order=2,
        volume_mm3=100.0,
        wetted_mm2=50.0,
        seconds=98.7,
        notes=("Own note.",),
        surface=surface,
    )


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    from matplotlib.image import imread

    folder = tmp_path_factory.mktemp("stress")
    try:
        for name in ("one.png", "two.png"):
            stress.stress_picture(tube_result(), "working", "barb-a", folder / name)
    except BuildError as error:
        pytest.skip(f"no off-screen renderer here: {error}")
    assert sorted(path.name for path in folder.iterdir()) == ["one.png", "two.png"]
    return imread(folder / "one.png")[..., :3], [path.read_bytes() for path in folder.iterdir()]


def near(pixels, colour, within=0.02):
    return np.abs(pixels - np.asarray(colour)[:3]).max(axis=-1) < within


@pytest.mark.slow
def test_the_same_result_gives_the_same_bytes(drawn):
    assert drawn[1][0] == drawn[1][1]


def test_the_legend_shows_every_colour_in_steps_of_equal_width(drawn):
    pixels, ramp = drawn[0], stress._ramp()
    row = pixels[len(pixels) - 102]
    widths = [int(near(row, colour, 0.004).sum()) for colour in ramp]
    assert min(widths) > 120
    assert max(widths) - min(widths) <= 4


def test_the_colours_grow_lighter_from_step_to_step():
    """Order is told by lightness alone, so also without seeing red from green, or in grey."""
    luminance = stress._ramp()[:, :3] ** 2.2 @ (0.2126, 0.7152, 0.0722)
    assert (np.diff(luminance) > 0.005).all()
    assert luminance[0] > 0.02, "black edges must stand out"


def test_both_views_are_coloured_low_at_the_foot_and_high_on_top(drawn):
    pixels = drawn[0]
    middle = pixels[stress.TITLE_PX : len(pixels) - stress.LEGEND_PX]
    for half in (middle[:, :800], middle[:, 800:]):
        inked = (half < 0.9).any(axis=-1)
        rows = np.flatnonzero(inked.any(axis=1))
        # It fills the picture: nearly from the title to the legend.
        assert rows[-1] - rows[0] > 0.85 * len(half)
        low = half[rows[0] + 3 * len(rows) // 4 :][inked[rows[0] + 3 * len(rows) // 4 :]]
        high = half[rows[0] + len(rows) // 8 : rows[0] + len(rows) // 3]
        high = high[inked[rows[0] + len(rows) // 8 : rows[0] + len(rows) // 3]]
        assert low.mean(axis=0)[2] > low.mean(axis=0)[0], "the foot is blue"
        assert high.mean(axis=0)[1] > low.mean(axis=0)[1] + 0.1, "the top is lighter"


def test_what_is_not_reported_is_grey(drawn):
    pixels = drawn[0]
    middle = pixels[stress.TITLE_PX : len(pixels) - stress.LEGEND_PX]
    spread = middle.max(axis=-1) - middle.min(axis=-1)
    grey = (spread < 0.01) & (middle.mean(axis=-1) > 0.4) & (middle.mean(axis=-1) < 0.85)
    assert grey.mean() > 0.002


def test_the_title_says_case_part_and_peak():
    assert stress.stress_title(tube_result(), "working", "barb-a") == (
        "What acts in working",
        "barb-a, as drawn: peak 12.00 MPa, bore",
    )


def test_a_machine_without_a_renderer_gets_a_message(tmp_path, monkeypatch):
    script = tmp_path / "python"
    script.write_text("#!/bin/sh\necho 'ImportError: libEGL.so.1' >&2; exit 1\n")
    script.chmod(0o755)
    monkeypatch.setattr(sys, "executable", str(script))
    with pytest.raises(BuildError, match="stress picture cannot be rendered") as caught:
        stress.stress_picture(tube_result(), "working", "barb-a", tmp_path / "stress.png")
    assert "libEGL.so.1" in caught.value.faults[0].given
    assert "leave --png out" in caught.value.faults[0].do
    assert [path.name for path in tmp_path.iterdir()] == ["python"]


def test_the_sheet_has_a_section_only_for_a_proved_part():
    report = make_report("barb")
    plain = sheet_html(report)
    assert sheet_html(report, proved=None, stress_pngs={}) == plain
    assert b'id="stress"' not in plain
    page = sheet_html(report, proved=tube_result(), stress_pngs={"working": b"\x89PNG"}).decode()
    section = page[page.index('<section id="stress"') : page.index('<section id="stack"')]
    assert page.index('<section id="checks">') < page.index('<section id="stress"')
    assert '<a href="#stress">' in page
    assert section.count("<img ") == 1
    text = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", section))
    for words in (
        "Stress in the part as drawn", "what acts in working", "what acts in side",
        "45 psi (310 kPa)",
        "12.00", "barb wall under pressure", "48.0", "4.00", "yes", "NO", "bore",
        "tick 1 of 2: 1.25 mm from the nearest wetted face", "Own note.", "0.78 MPa",
    ):  # fmt: skip
        assert words in text, words
    # How long it took is no one's business: the file must come out the same again.
    assert "98.7" not in page
    assert "NOT PASSED" not in section
    failed = sheet_html(make_report("barb", passed=False), proved=tube_result()).decode()
    assert "NOT PASSED" in failed[failed.index('<section id="stress"') :].split("</section>")[0]
