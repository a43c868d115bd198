import re
import subprocess
import sys
import zipfile
from pathlib import Path

import numpy as np
import pytest

import example_shapes as ex
from barbwright.errors import BuildError
from barbwright.export import step, stl, threemf
from barbwright.reread.mesh import Expected
from barbwright.reread.threemf import read_3mf
from barbwright.solid.mesh import TriangleMesh


def write(kind: str, path: Path, *, name: str = "barb"):
    solid, mesh = ex.built("barb")
    if kind == "stl":
        return stl.write_stl(path, mesh, Expected.of(solid.shape, solid.volume_mm3))
    if kind == "3mf":
        return threemf.write_3mf(path, name, (threemf.Body(name=name, mesh=mesh),))
    return step.write_step(path, solid.marked, name, solid.volume_mm3)


def test_stl_is_binary_with_our_header_and_unit_normals(tmp_path):
    write("stl", tmp_path / "part_mm.stl")
    content = (tmp_path / "part_mm.stl").read_bytes()
    _, mesh = ex.built("barb")
    assert content.startswith(b"barbwright binary STL, unit millimetre, part barb ")
    assert len(content) == 84 + 50 * len(mesh.triangles)
    facets = np.frombuffer(content[84:], dtype=stl.FACET)
    assert np.linalg.norm(facets["normal"], axis=1) == pytest.approx(1, abs=1e-5)
    middle = facets["corners"].mean(axis=1)
    # The crests' lands look away from the axis, the bore towards it.
    radius = np.hypot(middle[:, 1], middle[:, 2])
    outward = (middle[:, 1:] * facets["normal"][:, 1:]).sum(axis=1)
    assert (outward[radius > 2.54] > -1e-4).all()
    assert (outward[radius < 1.255] < 1e-4).all()


def test_step_names_its_product_and_states_no_time_or_machine(tmp_path):
    content = write("step", tmp_path / "part.step")
    text = (tmp_path / "part.step").read_text("ascii")
    assert "PRODUCT('barb','barb'" in text
    assert "NEXT_ASSEMBLY_USAGE_OCCURRENCE" not in text
    assert re.search(r"FILE_NAME\('barb','2000-01-01T00:00:00'", text)
    assert "Open CASCADE" not in text.split("ENDSEC")[0]
    assert "SI_UNIT(.MILLI.,.METRE.)" in text
    assert content.unit == "mm"


def test_step_read_back_has_the_drawn_volume(tmp_path):
    solid, _ = ex.built("elbow")
    back = step.write_step(tmp_path / "a.step", solid.marked, "elbow", solid.volume_mm3)
    assert back.volume_mm3 == pytest.approx(solid.volume_mm3, rel=1e-6)


def test_step_in_inches_or_of_another_volume_is_refused(tmp_path):
    write("step", tmp_path / "part.step")
    text = (tmp_path / "part.step").read_text("ascii")
    metres = tmp_path / "metres.step"
    metres.write_text(text.replace("SI_UNIT(.MILLI.,.METRE.)", "SI_UNIT($,.METRE.)"), "ascii")
    with pytest.raises(BuildError, match="unit"):
        step.read_step(metres)
    solid, _ = ex.built("barb")
    with pytest.raises(BuildError, match="volume"):
        step.write_step(tmp_path / "b.step", solid.marked, "b", solid.volume_mm3 * 1.001)
    assert not list(tmp_path.glob("*b.step*")), "refused, so it has no name"


def test_step_names_are_ascii(tmp_path):
    with pytest.raises(BuildError, match="ASCII"):
        write("step", tmp_path / "part.step", name="barb\u00e9")
    assert not list(tmp_path.iterdir())


def test_3mf_is_millimetres_one_object_and_its_ids_are_ours(tmp_path):
    content = write("3mf", tmp_path / "part.3mf").only
    _, mesh = ex.built("barb")
    assert len(content.triangles) == len(mesh.triangles)
    assert np.abs(content.vertices - mesh.vertices).max() < 1e-6
    with zipfile.ZipFile(tmp_path / "part.3mf") as archive:
        model = archive.read("3D/3dmodel.model").decode()
    assert 'unit="millimeter"' in model
    assert len(re.findall("<object ", model)) == 1
    assert 'id="1"' in model
    assert len(set(re.findall(r'UUID="([^"]+)"', model))) == 3


def edit_3mf(path: Path, old: str, new: str) -> None:
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    key = "3D/3dmodel.model"
    changed = parts[key].replace(old.encode(), new.encode(), 1)
    assert changed != parts[key]
    parts[key] = changed
    with zipfile.ZipFile(path, "w") as archive:
        for name, content in parts.items():
            archive.writestr(name, content)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('unit="millimeter"', 'unit="inch"', "unit"),
        ("<triangle ", "<ignored ", "refuses|warns|closed"),
        ("<item ", "<ignored ", "refuses|warns|no build item"),
    ],
)
def test_a_tampered_3mf_is_refused(tmp_path, old, new, message):
    write("3mf", tmp_path / "part.3mf")
    edit_3mf(tmp_path / "part.3mf", old, new)
    with pytest.raises(BuildError, match=message):
        read_3mf(tmp_path / "part.3mf")


def test_a_3mf_cut_short_is_refused(tmp_path):
    path = tmp_path / "part.3mf"
    write("3mf", path)
    path.write_bytes(path.read_bytes()[:-100])
    with pytest.raises(BuildError, match="refuses"):
        read_3mf(path)


def test_a_3mf_of_an_open_mesh_is_refused_and_gets_no_name(tmp_path):
    _, mesh = ex.built("barb")
    body = threemf.Body(name="barb", mesh=TriangleMesh(mesh.vertices, mesh.triangles[1:]))
    with pytest.raises(BuildError, match="3MF"):
        threemf.write_3mf(tmp_path / "part.3mf", "barb", (body,))
    assert not list(tmp_path.iterdir())


def test_an_stl_that_is_not_as_drawn_gets_no_name_and_leaves_the_old_file(tmp_path):
    solid, mesh = ex.built("barb")
    path = tmp_path / "part_mm.stl"
    path.write_text("an earlier file")
    with pytest.raises(BuildError, match="volume"):
        stl.write_stl(path, mesh, Expected.of(solid.shape, solid.volume_mm3 * 1.01))
    assert [entry.name for entry in tmp_path.iterdir()] == ["part_mm.stl"]
    assert path.read_text() == "an earlier file"


@pytest.mark.parametrize("kind", ["stl", "3mf", "step"])
def test_a_missing_folder_or_a_file_in_its_place_is_one_clear_error(tmp_path, kind):
    with pytest.raises(BuildError, match="cannot write"):
        write(kind, tmp_path / "missing" / f"part.{kind}")
    (tmp_path / "file").write_text("")
    with pytest.raises(BuildError, match="cannot write"):
        write(kind, tmp_path / "file" / f"part.{kind}")


FULL_DISK = """
import resource, signal, sys
from pathlib import Path
import example_shapes as ex
from barbwright.errors import BuildError
from barbwright.export import step, stl, threemf
from barbwright.reread.mesh import Expected
solid, mesh = ex.built("barb")
expected = Expected.of(solid.shape, solid.volume_mm3)
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (20000, 20000))
folder = Path(sys.argv[1])
jobs = [lambda: stl.write_stl(folder / "a.stl", mesh, expected),
        lambda: threemf.write_3mf(
            folder / "a.3mf", "barb", (threemf.Body(name="barb", mesh=mesh),)),
        lambda: step.write_step(folder / "a.step", solid.marked, "barb", solid.volume_mm3)]
for job in jobs:
    try:
        job()
    except BuildError as error:
        print("refused:", error)
"""


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="file size limits are POSIX")
def test_a_disk_that_fills_up_leaves_no_file_in_any_format(tmp_path):
    run = subprocess.run(
        [sys.executable, "-c", FULL_DISK, str(tmp_path)],
        env={"PYTHONPATH": ":".join([str(Path(ex.__file__).parent), *filter(None, sys.path)])},
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.stdout.count("refused:") == 3, run.stdout + run.stderr
    assert not list(tmp_path.iterdir())
