"""Pictures: whole on the left, cut open on the right; no renderer, no crash."""

import sys

import numpy as np
import pytest
from example_reports import tube_stl

from barbwright.errors import BuildError
from barbwright.report import picture


@pytest.fixture(scope="module")
def rendered(tmp_path_factory):
    from matplotlib.image import imread

    folder = tmp_path_factory.mktemp("picture")
    stl, png = folder / "part_mm.stl", folder / "part.png"
    stl.write_bytes(tube_stl())
    try:
        picture.render(stl, png)
    except BuildError as error:
        pytest.skip(f"no off-screen renderer here: {error}")
    assert sorted(path.name for path in folder.iterdir()) == ["part.png", "part_mm.stl"]
    return imread(png)[..., :3]


def share(pixels, mask):
    return float(mask(pixels[..., 0], pixels[..., 1], pixels[..., 2]).mean())


def orange(red, green, blue):
    return (red > 0.7) & (red > green * 1.3) & (green > blue * 1.3)


def bluish(red, green, blue):
    return (blue > red * 1.1) & (blue > 0.25)


def test_the_left_half_is_whole_and_the_right_half_is_cut_open(rendered):
    left, right = rendered[:, :800], rendered[:, 800:]
    assert rendered.shape[1] == 1600
    assert share(left, bluish) > 0.05
    assert share(left, orange) < 0.001
    assert share(right, orange) > 0.02
    assert share(right, bluish) > 0.01


def test_the_cut_shows_two_walls_with_the_bore_between_them(rendered):
    middle = rendered[rendered.shape[0] // 2, 800:]
    cut = orange(*middle.T)
    runs = np.flatnonzero(np.diff(cut.astype(int)) == 1)
    assert len(runs) == 2


def test_the_background_is_light_and_the_part_stands_clear_of_the_edges(rendered):
    edge = np.concatenate([rendered[0], rendered[-1], rendered[:, 0], rendered[:, -1]])
    assert edge.min() > 0.9


@pytest.fixture
def broken_python(tmp_path, monkeypatch):
    def install(line):
        script = tmp_path / "python"
        script.write_text(f"#!/bin/sh\n{line}\n", encoding="utf-8")
        script.chmod(0o755)
        monkeypatch.setattr(sys, "executable", str(script))

    return install


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("kill -SEGV $$", "signal 11"),
        ("echo 'ImportError: libEGL.so.1' >&2; exit 1", "libEGL.so.1"),
        ("exit 3", "blank"),
        ("exec sleep 20", "within 0.5 s"),
    ],
)
def test_a_machine_without_a_renderer_gets_a_message(tmp_path, broken_python, line, said):
    broken_python(line)
    stl, png = tmp_path / "part_mm.stl", tmp_path / "part.png"
    stl.write_bytes(tube_stl())
    with pytest.raises(BuildError) as caught:
        picture.render(stl, png, timeout_s=0.5)
    fault = caught.value.faults[0]
    assert said in fault.given
    assert "libegl1" in fault.do
    assert "--formats" in fault.do
    assert sorted(path.name for path in tmp_path.iterdir()) == ["part_mm.stl", "python"]
