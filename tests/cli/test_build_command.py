import json
import shutil
from types import SimpleNamespace

import pytest

from barbwright.cli.build import _print_built
from run_cli import run

pytestmark = pytest.mark.usefixtures("rated_once", "models_once", "one_process")

PARTS = (
    "[parts]\ntee = { quantity = 0 }\nelbow = { quantity = 0 }\n"
    "barb = { quantity = 2, spares = 1 }\n"
)
KIT = (
    'name = "small"\ntitle = "A small kit"\n'
    '[job]\ntube_id = "0.170in"\ntube_od = "0.250in"\ntube_material = "LLDPE"\nbit = "15/64"\n'
    'pressure = "45psi"\nwood = "oak northern red"\n' + PARTS +
    '[chain]\nports = 3\nspecies = "red oak"\nvolume_per_tree = "1 L"\n'
)  # fmt: skip


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    folder = tmp_path_factory.mktemp("small")
    (folder / "kit.toml").write_text(KIT)
    return folder, build(folder, folder / "out", "--json")


def build(folder, out, *more):
    return run("build", folder / "kit.toml", "-o", out, "--formats", "stl", *more)


def test_build_makes_everything_and_says_so_as_json(built):
    folder, done = built
    assert done.code == 0, done.err
    body = json.loads(done.out)
    assert body["command"] == "build"
    assert body["kit"] == "small"
    (part,) = body["parts"]
    assert (part["part"], part["quantity"], part["spares"], part["state"]) == ("barb", 2, 1, "made")
    assert len(body["chain"]["ports"]) == 3
    names = {path["path"].rsplit("/", 1)[1] for path in body["files"]}
    pages = {"chain.html", "field_card.html", "between_trees.html", "proof_card.html"}
    pages |= {"index.html"}
    assert names == {*pages, "chain.svg"}
    for file in (*body["files"], *part["files"]):
        assert (folder / file["path"]).stat().st_size == file["bytes"]


@pytest.mark.slow
def test_a_rerun_says_what_was_kept(built, tmp_path):
    shutil.copytree(built[0], tmp_path / "copy")
    folder = tmp_path / "copy"
    done = build(folder, folder / "out")
    assert done.code == 0
    # The barb, and five pages with that between trees.
    assert done.out.count("kept, unchanged") == 7
    assert "nothing had changed" in done.out
    assert "making" not in done.err
    next((folder / "out" / "small").glob("*/part_mm.stl")).unlink()
    done = build(folder, folder / "out")
    assert "remade, because part_mm.stl is missing" in done.out
    assert "making barb" in done.err


def test_a_dry_run_writes_nothing_and_solves_nothing(tmp_path):
    (tmp_path / "kit.toml").write_text(KIT)
    done = build(tmp_path, tmp_path / "out", "-n")
    assert done.code == 0
    assert "2 + 1 spare  barb" in done.out
    assert not (tmp_path / "out").exists()


def test_a_vessel_rated_under_the_relief_is_said_before_anything_is_made(tmp_path):
    text = KIT.replace('pressure = "45psi"', 'pressure = "45psi"\nrelief = "55psi"')
    vessel = 'vessel_volume = "12 L"\nair_head = "6 L"\nvessel_rating = "50 psi"\n'
    (tmp_path / "kit.toml").write_text(text + vessel)
    done = build(tmp_path, tmp_path / "out", "-n")
    assert done.code == 0
    assert "The vessel is rated 50 psi (344 kPa), under the 55 psi (379 kPa)" in " ".join(
        done.err.split()
    )


def test_the_demo_kit_takes_its_quantities_from_its_chain():
    done = run("build", "park_oaks", "-n")
    assert done.code == 0
    for line in ("7 + 1 spare  tee", "1 + 1 spare  elbow", "2 + 0 spare  barb", "8 ports"):
        assert line in done.out


def test_faults_of_the_kit_are_told_together(tmp_path):
    (tmp_path / "kit.toml").write_text(
        KIT.replace("ports = 3", 'ports = 3\ngirth = "x"\nspcies = "y"')
    )
    done = build(tmp_path, tmp_path / "out")
    assert done.code == 2
    assert "spcies is not a known key" in done.err


def test_what_to_open_first_is_told_of_a_kit_without_a_chain_too(tmp_path, capsys):
    """Such a kit has no front page, and its end named folders alone."""
    part = SimpleNamespace(state="kept", because="", folder=tmp_path / "elbow")
    built = SimpleNamespace(parts=[part], pages=[], chain=None, folder=tmp_path, left_over=[])
    _print_built(built, None)
    assert "open first" not in capsys.readouterr().out
    part.folder.mkdir()
    (part.folder / "sheet.html").touch()
    _print_built(built, None)
    assert f"open first: {part.folder / 'sheet.html'}" in capsys.readouterr().out
    front = SimpleNamespace(state="kept", path=tmp_path / "index.html")
    _print_built(SimpleNamespace(**{**vars(built), "pages": [front]}), None)
    said = capsys.readouterr().out
    assert f"open first: {front.path}" in said
    assert said.count("open first") == 1
