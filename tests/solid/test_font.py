import importlib.util
import subprocess
import sys

import pytest

from barbwright.errors import BuildError
from barbwright.solid.font import FONT_FILE, KNOWN_ADVANCE_EM, flat_text, font_path, load_font


def box(flat) -> tuple[float, float, float, float]:
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib

    bounds = Bnd_Box()
    BRepBndLib.AddOptimal_s(flat, bounds, False, False)
    x_min, y_min, _, x_max, y_max, _ = bounds.Get()
    return x_min, x_max, y_min, y_max


def test_letters_are_as_wide_and_tall_as_the_font_file_says_and_centred():
    from fontTools.ttLib import TTFont

    font = TTFont(font_path())
    glyph, em = font["glyf"]["H"], font["head"].unitsPerEm
    assert font["hmtx"]["H"][0] / em == pytest.approx(KNOWN_ADVANCE_EM, abs=1e-9)
    x_min, x_max, y_min, y_max = box(flat_text("H", 2.7))
    assert x_max - x_min == pytest.approx(2.7 * (glyph.xMax - glyph.xMin) / em, rel=0.01)
    assert y_max - y_min == pytest.approx(2.7 * (glyph.yMax - glyph.yMin) / em, rel=0.01)
    assert x_min + x_max == pytest.approx(0, abs=1e-6)
    assert y_min + y_max == pytest.approx(0, abs=1e-6)


def test_a_wrong_path_is_refused(tmp_path):
    with pytest.raises(BuildError, match="font file"):
        flat_text("A", 2.0, tmp_path / "missing.ttf")


def test_a_file_that_is_no_font_is_refused(tmp_path):
    fake = tmp_path / FONT_FILE
    fake.write_bytes(b"not a font")
    with pytest.raises(BuildError, match="cannot be used"):
        load_font(fake, 2.0)


def test_another_font_is_refused_by_its_known_glyph():
    with pytest.raises(BuildError, match=r"is not DejaVuSans-Bold\.ttf"):
        load_font(font_path().with_name("DejaVuSans.ttf"), 2.0)


def test_missing_matplotlib_or_font_file_is_named(monkeypatch, tmp_path):
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    with pytest.raises(BuildError, match="matplotlib is not installed"):
        font_path()

    class Elsewhere:
        origin = str(tmp_path / "__init__.py")

    monkeypatch.setattr(importlib.util, "find_spec", lambda name: Elsewhere)
    with pytest.raises(BuildError, match="font file for the mark is missing"):
        font_path()


@pytest.mark.parametrize("text", ["", "  ", "1\u00bd"])
def test_marks_are_ascii_and_not_empty(text):
    with pytest.raises(BuildError, match="ASCII"):
        flat_text(text, 2.0)


def test_finding_the_font_imports_neither_matplotlib_nor_the_kernel():
    code = (
        "import sys; from barbwright.solid.font import font_path; font_path();"
        "print([m for m in ('matplotlib', 'OCP', 'cadquery') if m in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
