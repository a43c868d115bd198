"""The three uses that decide every choice, each from the first command to the last file."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path

import lib3mf
import pytest
import trimesh

from run_cli import run

pytestmark = pytest.mark.usefixtures("models_once", "one_process")

ON_HAND = (
    "--tube-id", "0.170in", "--tube-od", "0.250in", "--tube-material", "LLDPE",
    "--bit", "15/64", "--pressure", "45psi", "--wood", "oak northern red",
)  # fmt: skip


@pytest.fixture(scope="module")
def elbow(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A replacement elbow, made from what is on hand."""
    folder = tmp_path_factory.mktemp("use")
    done = run("make", "elbow", *ON_HAND, "-o", str(folder), "--json")
    assert done.code == 0, done.err
    return Path(json.loads(done.out)["files"][0]["path"]).parent


def test_a_replacement_elbow_opens_everywhere_and_says_how_to_handle_it(elbow: Path) -> None:
    mesh = trimesh.load(elbow / "part_mm.stl")
    assert mesh.is_watertight
    assert mesh.body_count == 1
    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(elbow / "part.3mf"))
    assert reader.GetWarningCount() == 0
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    record = json.loads((elbow / "part.json").read_text())
    assert record["verdict"] == "pass"
    assert record["handling_rules"]
    sheet = (elbow / "sheet.html").read_text()
    assert "Not pressure rated" in sheet
    assert all(rule["rule"] in sheet.replace("&#39;", "'") for rule in record["handling_rules"])
    for name in ("drawing.dxf", "drawing.svg", "drawing.pdf", "part.png", "part.step"):
        assert (elbow / name).stat().st_size > 1000


def test_tips_are_resized_to_a_new_bit_and_the_barbs_stay(elbow: Path, tmp_path: Path) -> None:
    done = run("resize", str(elbow / "part.json"), "--bit", "1/4in", "-o", str(tmp_path), "--json")
    assert done.code == 0, done.err
    body = json.loads(done.out)
    old = json.loads((elbow / "part.json").read_text())["dimensions"]
    new = body["dimensions"]
    barb = [name for name in old if name.startswith(("crest", "root", "nose", "land", "barb"))]
    assert len(barb) >= 5
    assert {name: new[name] for name in barb} == {name: old[name] for name in barb}
    assert new["lead_diameter_mm"] > old["lead_diameter_mm"]
    listed = {row["name"] for row in body["changes"]["dimensions"]}
    assert listed == {name for name in old if old[name] != new[name]}


def test_an_order_holds_what_a_print_service_needs(elbow: Path, tmp_path: Path) -> None:
    done = run("order", str(elbow), "-o", str(tmp_path))
    assert done.code == 0, done.err
    (packed,) = tmp_path.glob("**/order-*.zip")
    with zipfile.ZipFile(packed) as archive:
        names = archive.namelist()
        manifest = json.loads(archive.read(next(n for n in names if n.endswith("manifest.json"))))
        endings = {Path(name).suffix for name in names}
    assert {".step", ".stl", ".3mf", ".pdf", ".csv", ".html", ".json"} <= endings
    assert not any("unmarked" in name for name in names)
    assert all(len(file["sha256"]) == 64 for file in manifest["files"])
