import signal
from dataclasses import replace

import numpy as np
import pytest

import example_shapes as ex
from barbwright.errors import BuildError
from barbwright.export.stl import FACET, stl_bytes
from barbwright.reread import worker
from barbwright.reread.mesh import Expected, MeshReport
from barbwright.reread.worker import Rereader
from oracles import measure_mesh


@pytest.fixture
def tee(tmp_path):
    solid, mesh = ex.built("tee")
    path = tmp_path / "part_mm.stl"
    path.write_bytes(stl_bytes(mesh, "tee"))
    return solid, path


def facets(path) -> np.ndarray:
    return np.frombuffer(path.read_bytes()[84:], dtype=FACET).copy()


def rewrite(path, changed: np.ndarray) -> None:
    header = path.read_bytes()[:80]
    path.write_bytes(header + np.uint32(len(changed)).tobytes() + changed.tobytes())


def refused(solid, path) -> str:
    with pytest.raises(BuildError) as caught:
        measure_mesh(path, solid.shape, solid.volume_mm3)
    return str(caught.value)


@pytest.mark.parametrize("kind", ex.ALL)
def test_each_kind_measures_as_drawn_marks_and_ticks_open_nothing(kind):
    solid, mesh = ex.built(kind)
    report = measure_mesh((mesh.vertices, mesh.triangles), solid.shape, solid.volume_mm3)
    assert report.euler_number == {"tee": -2}.get(kind, 0)
    assert report.watertight
    assert report.bodies == 1
    names = [probe.name for probe in (*solid.shape.probes, *solid.shape.walls)]
    assert [size.name for size in report.measured] == names
    # Facets stand at most the chord tolerance inside round surfaces.
    assert max(size.deviation_mm for size in report.measured) < 0.0125


def test_the_report_survives_json(tee):
    solid, path = tee
    report = measure_mesh(path, solid.shape, solid.volume_mm3)
    assert MeshReport.from_dict(report.as_dict()) == report
    expected = Expected.of(solid.shape, solid.volume_mm3)
    assert Expected.from_dict(expected.as_dict()) == expected


def test_a_hole_is_refused(tee):
    solid, path = tee
    rewrite(path, facets(path)[1:])
    assert "not watertight" in refused(solid, path)


def test_a_flipped_facet_is_refused(tee):
    solid, path = tee
    changed = facets(path)
    changed["corners"][7] = changed["corners"][7][::-1]
    rewrite(path, changed)
    assert "turned the wrong way" in refused(solid, path)


def test_a_mesh_turned_inside_out_is_refused(tee):
    solid, path = tee
    changed = facets(path)
    changed["corners"] = changed["corners"][:, ::-1]
    rewrite(path, changed)
    assert "volume off" in refused(solid, path)


@pytest.mark.parametrize("factor", [25.4, 1 / 25.4, 1.01])
def test_a_wrong_scale_is_refused_naming_volume_and_diameters(tee, factor):
    solid, path = tee
    changed = facets(path)
    changed["corners"] *= np.float32(factor)
    rewrite(path, changed)
    message = refused(solid, path)
    assert "volume off" in message
    assert "right_crest_diameter_mm" in message


def test_a_wrong_bore_is_refused_naming_it_and_only_it(tee):
    solid, path = tee
    shape = solid.shape
    probes = tuple(
        replace(probe, diameter_mm=probe.diameter_mm + 0.05)
        if probe.name == "left_bore_diameter_mm"
        else probe
        for probe in shape.probes
    )
    with pytest.raises(BuildError) as caught:
        measure_mesh(path, replace(shape, probes=probes), solid.volume_mm3)
    assert len(caught.value.faults) == 1
    assert "left_bore_diameter_mm" in str(caught.value)


def test_a_wrong_wall_is_refused(tee):
    solid, path = tee
    walls = tuple(replace(wall, wall_mm=wall.wall_mm - 0.05) for wall in solid.shape.walls)
    with pytest.raises(BuildError) as caught:
        measure_mesh(path, replace(solid.shape, walls=walls), solid.volume_mm3)
    assert len(caught.value.faults) == len(walls)


def test_a_part_with_a_bore_left_out_is_refused_by_its_openings():
    solid, _ = ex.built("tee")
    elbow, mesh = ex.built("elbow")
    with pytest.raises(BuildError, match="Euler number") as caught:
        measure_mesh((mesh.vertices, mesh.triangles), solid.shape, elbow.volume_mm3)
    assert "left_bore_diameter_mm" in str(caught.value)


def test_a_second_body_and_degenerate_facets_are_refused(tee):
    solid, path = tee
    sound = facets(path)
    loose = sound.copy()
    loose["corners"] += np.float32(100)
    rewrite(path, np.concatenate([sound, loose]))
    assert "not one body" in refused(solid, path)
    flat = sound[:1].copy()
    flat["corners"][0, 2] = flat["corners"][0, 1]
    rewrite(path, np.concatenate([sound, flat]))
    assert "degenerate facets" in refused(solid, path)


@pytest.mark.parametrize("content", [b"", b"solid nothing", bytes(84)])
def test_a_file_that_is_no_mesh_is_refused(tee, content):
    solid, path = tee
    path.write_bytes(content)
    assert refused(solid, path)


@pytest.mark.parametrize("in_process", [pytest.param(True, marks=pytest.mark.slow), False])
def test_both_ways_of_measuring_give_the_same_report_and_the_same_refusal(tee, in_process):
    solid, path = tee
    expected = Expected.of(solid.shape, solid.volume_mm3)
    with Rereader(in_process=in_process) as reader:
        reader.submit(path, expected)
        assert reader.result() == measure_mesh(path, solid.shape, solid.volume_mm3)
        rewrite(path, facets(path)[1:])
        reader.submit(path, expected)
        with pytest.raises(BuildError) as caught:
            reader.result()
    assert str(caught.value) == refused(solid, path)


def test_a_measuring_process_that_dies_is_replaced_by_measuring_here(tee):
    solid, path = tee
    expected = Expected.of(solid.shape, solid.volume_mm3)
    with Rereader() as reader:
        reader._process.kill()
        reader._process.wait()
        reader.submit(path, expected)
        assert reader.result().watertight


@pytest.mark.skipif(not hasattr(signal, "SIGSTOP"), reason="no signal that stops a process")
def test_a_measuring_process_that_stands_still_is_not_waited_for(tee, monkeypatch):
    solid, path = tee
    monkeypatch.setattr(worker.child, "LONGEST_S", 0.2)
    with Rereader() as reader:
        still = reader._process
        still.send_signal(signal.SIGSTOP)
        reader.submit(path, Expected.of(solid.shape, solid.volume_mm3))
        assert reader.result().watertight
    assert still.returncode == -signal.SIGKILL
