"""What is committed under out/demo is what a fresh build makes."""

from __future__ import annotations

import io
import re
from pathlib import Path

import numpy as np
import pytest

from barbwright.jobs.build import plan_kit
from barbwright.jobs.kitfile import load_kit
from barbwright.jobs.make import make_part
from barbwright.jobs.record import versions

# To make two parts with all their papers takes twenty seconds.
pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("one_process")]

ROOT = Path(__file__).parents[2]
COMMITTED = ROOT / "out" / "demo"
KIT = ROOT / "profiles" / "kits" / "park_oaks.toml"
KINDS = ("elbow", "tee")


@pytest.fixture(scope="module")
def fresh(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Each kind's folder, made anew from the demo kit."""
    plan = plan_kit(load_kit(KIT), {})
    folder = tmp_path_factory.mktemp("demo")
    return {
        part.kind.name: make_part(part, folder)[0]
        for _, part in plan.parts
        if part.kind.name in KINDS
    }


@pytest.fixture(params=KINDS)
def pair(request: pytest.FixtureRequest, fresh: dict[str, Path]) -> tuple[Path, Path]:
    """The committed folder and the fresh one of one kind."""
    made = fresh[request.param]
    return COMMITTED / made.name, made


def test_the_same_files_are_there(pair: tuple[Path, Path]) -> None:
    committed, made = pair
    assert sorted(p.name for p in committed.iterdir()) == sorted(p.name for p in made.iterdir())


@pytest.mark.parametrize(
    "name", ["part.step", "part_unmarked.step", "part_mm.stl", "part.3mf", "part.json"]
)
def test_models_and_record_are_the_same_bytes(pair: tuple[Path, Path], name: str) -> None:
    committed, made = pair
    same = (committed / name).read_bytes() == (made / name).read_bytes()
    assert same, f"{name} differs under {versions()}: remake out/demo as DEVELOPERS.md says"


def test_the_drawing_holds_the_same_dimensions(pair: tuple[Path, Path]) -> None:
    import ezdxf

    measured = []
    for folder in pair:
        space = ezdxf.readfile(folder / "drawing.dxf").modelspace()
        measured.append(
            sorted(round(float(d.get_measurement()), 4) for d in space.query("DIMENSION"))
        )
    assert measured[0] == measured[1]
    assert len(measured[0]) > 10


def test_the_pdf_says_the_same(pair: tuple[Path, Path]) -> None:
    from pypdf import PdfReader

    pages = [PdfReader(folder / "drawing.pdf").pages for folder in pair]
    assert [len(page) for page in pages] == [1, 1]
    assert pages[0][0].mediabox == pages[1][0].mediabox
    assert pages[0][0].extract_text() == pages[1][0].extract_text()


def _words(data: bytes) -> str:
    text = data.decode()
    # The picture inside is compared on its own; another renderer may shade it otherwise.
    text = re.sub(r"data:[a-z/+-]+;base64,[A-Za-z0-9+/=]+", "data", text)
    # The picture's size stands in the list of files.
    return re.sub(r"\d[\d,. ]*\s*(?:bytes|kB|MB)", "size", text)


@pytest.mark.parametrize("name", ["drawing.svg", "sheet.html"])
def test_svg_and_sheet_say_the_same(pair: tuple[Path, Path], name: str) -> None:
    committed, made = ((folder / name).read_bytes() for folder in pair)
    assert _words(committed) == _words(made)


def test_the_picture_shows_the_same(pair: tuple[Path, Path]) -> None:
    from PIL import Image

    images = [
        np.asarray(Image.open(io.BytesIO((folder / "part.png").read_bytes())).convert("RGB"), float)
        for folder in pair
    ]
    assert images[0].shape == images[1].shape
    assert np.mean(np.abs(images[0] - images[1])) < 2.0
    assert np.std(images[0]) > 10.0
