import hashlib
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

import example_shapes as ex
from barbwright.errors import BuildError, InputError
from barbwright.export import part as parts
from barbwright.export.part import write_part
from barbwright.reread.worker import Rereader


@pytest.fixture(scope="module")
def reader():
    with Rereader(in_process=True) as rereader:
        yield rereader


def make(folder: Path, reader, **options):
    solid, _ = ex.built("barb")
    return write_part(solid.shape, folder, rereader=reader, built=solid, **options)


def listing(folder: Path) -> dict[str, str]:
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_a_part_is_four_recorded_files_in_its_own_folder(tmp_path, reader):
    written = make(tmp_path / "out" / "barb", reader)
    names = ["part.step", "part_unmarked.step", "part_mm.stl", "part.3mf"]
    assert [file.path.name for file in written.files] == names
    assert [file.format for file in written.files] == ["step", "step", "stl", "3mf"]
    for file in written.files:
        content = file.path.read_bytes()
        assert (file.bytes, file.unit) == (len(content), "mm")
        assert file.sha256 == hashlib.sha256(content).hexdigest()
    assert sorted(os.listdir(tmp_path / "out" / "barb")) == sorted(names)
    assert os.listdir(tmp_path / "out") == ["barb"], "nothing temporary is left"
    assert written.measured.watertight


@pytest.mark.parametrize(
    ("formats", "names", "measured"),
    [
        (("step",), {"part.step", "part_unmarked.step"}, False),
        (("stl",), {"part_mm.stl"}, True),
        (("3mf",), {"part.3mf"}, True),
        (("stl", "png"), {"part_mm.stl"}, True),
    ],
)
def test_only_the_asked_formats_are_written(tmp_path, reader, formats, names, measured):
    written = make(tmp_path / "barb", reader, formats=formats)
    assert set(os.listdir(tmp_path / "barb")) == names
    assert (written.measured is not None) == measured


def test_a_suffix_stands_in_every_name(tmp_path, reader):
    make(tmp_path / "barb", reader, suffix="_not_passed")
    assert sorted(os.listdir(tmp_path / "barb")) == [
        "part_not_passed.3mf",
        "part_not_passed.step",
        "part_not_passed_mm.stl",
        "part_not_passed_unmarked.step",
    ]


def test_extras_join_the_same_folder_and_see_what_is_written(tmp_path, reader):
    seen = []

    def sheet(folder, files):
        seen.extend(files)
        assert (folder / "part_mm.stl").is_file()
        return b"<html>"

    written = make(tmp_path / "barb", reader, extras={"sheet.html": sheet})
    assert (tmp_path / "barb" / "sheet.html").read_bytes() == b"<html>"
    assert [file.path for file in seen] == [file.path for file in written.files[:-1]]
    assert written.files[-1].format == "html"


def test_a_folder_that_is_there_is_not_touched_unasked(tmp_path, reader):
    make(tmp_path / "barb", reader)
    before = listing(tmp_path)
    with pytest.raises(InputError, match="already there"):
        make(tmp_path / "barb", reader)
    assert listing(tmp_path) == before


def test_remaking_drops_our_old_files_and_keeps_the_users(tmp_path, reader):
    folder = tmp_path / "barb"
    make(folder, reader)
    (folder / "notes.txt").write_text("fits well")
    (folder / "photos").mkdir()
    (folder / "photos" / "one.jpg").write_bytes(b"jpg")
    (folder / "drawing.dxf").write_text("of the old revision")
    make(folder, reader, formats=("stl",), replace=True)
    assert set(listing(folder)) == {"notes.txt", "photos/one.jpg", "part_mm.stl"}
    assert (folder / "notes.txt").read_text() == "fits well"


@pytest.mark.parametrize(
    ("where", "failure"),
    [
        # Each place and each failure once; all nine of them in the slow set.
        pytest.param(where, failure, marks=() if at == kind else pytest.mark.slow)
        for at, where in enumerate(("extra", "first replace", "second replace"))
        for kind, failure in enumerate(
            (KeyboardInterrupt(), OSError(28, "No space left"), ValueError())
        )
    ],
)
def test_a_failure_or_an_interrupt_leaves_the_old_folder_whole(
    tmp_path, reader, monkeypatch, failure, where
):
    folder = tmp_path / "barb"
    make(folder, reader, formats=("stl",))
    (folder / "notes.txt").write_text("old")
    before = listing(tmp_path)
    original, calls = os.replace, []

    def replace_folder(source, target):
        if Path(source).is_dir():
            calls.append(target)
            if len(calls) == {"first replace": 1, "second replace": 2}.get(where):
                raise failure
        original(source, target)

    def extra(*_):
        if where == "extra":
            raise failure
        return b""

    monkeypatch.setattr(parts.os, "replace", replace_folder)
    with pytest.raises((type(failure), BuildError)):
        make(folder, reader, replace=True, extras={"sheet.html": extra})
    assert listing(tmp_path) == before
    assert os.listdir(tmp_path) == ["barb"]


def test_a_swap_cut_off_by_a_kill_is_put_right_by_the_next_run(tmp_path, reader):
    folder = tmp_path / "barb"
    make(folder, reader, formats=("stl",))
    folder.rename(tmp_path / ".barb-old")
    with pytest.raises(InputError, match="already there"):
        make(folder, reader)
    assert os.listdir(tmp_path) == ["barb"]


def test_a_mesh_that_is_not_as_drawn_leaves_no_folder(tmp_path, reader):
    solid, _ = ex.built("barb")
    probe = replace(solid.shape.probes[0], diameter_mm=9.0)
    shape = replace(solid.shape, probes=(probe,))
    with pytest.raises(BuildError, match=probe.name):
        write_part(shape, tmp_path / "barb", rereader=reader, built=replace(solid, shape=shape))
    assert not os.listdir(tmp_path)


def test_a_place_that_cannot_be_written_is_one_clear_error(tmp_path, reader):
    (tmp_path / "file").write_text("")
    with pytest.raises(BuildError, match="cannot write"):
        make(tmp_path / "file" / "barb", reader)


@pytest.mark.skipif(
    sys.platform == "win32" or os.geteuid() == 0, reason="root writes into any folder"
)
def test_a_read_only_folder_is_one_clear_error(tmp_path, reader):
    tmp_path.chmod(0o555)
    with pytest.raises(BuildError, match="cannot write"):
        make(tmp_path / "barb", reader)
    tmp_path.chmod(0o755)


def test_what_a_killed_process_left_goes_and_a_living_ones_stays(tmp_path, reader):
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    left, other = tmp_path / f".barb-new-{gone.pid}-x", tmp_path / f".barb-new-{os.getpid()}-x"
    left.mkdir()
    other.mkdir()
    make(tmp_path / "barb", reader, formats=("stl",))
    assert not left.exists()
    assert other.exists()
