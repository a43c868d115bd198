"""Papers begun before their turn are those made in turn, and leave nothing behind."""

import hashlib
import pickle
import subprocess
import sys
import threading
import time
from dataclasses import replace

import pytest

from barbwright.design.part import KINDS
from barbwright.errors import BuildError
from barbwright.jobs import drafter
from barbwright.jobs.ahead import Ahead, Picture
from barbwright.jobs.drafter import Drafter
from barbwright.jobs.drawing import FILES, ON_SHEET, PartDrawing
from barbwright.jobs.make import make_part
from barbwright.jobs.plan import plan_part
from barbwright.reread import child
from barbwright.reread.worker import Rereader
from example_job import job_of

WANTED = ("stl", "dxf", "svg", "pdf", "png", "html")


@pytest.fixture(scope="module")
def barb():
    return plan_part(KINDS["barb"], job_of("barb"))


def sums(folder):
    return {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.iterdir())
    }


@pytest.fixture(scope="module")
def in_turn(barb, tmp_path_factory):
    """The part made by a process that measures for others too, which begins nothing ahead."""
    with Rereader(in_process=True) as rereader:
        folder, _ = make_part(barb, tmp_path_factory.mktemp("turn"), WANTED, rereader=rereader)
    return folder


def test_a_part_whose_papers_were_begun_before_has_the_same_bytes(
    barb, in_turn, tmp_path, monkeypatch
):
    asked = []

    class Watched(Ahead):
        def drawn(self, form):
            content = super().drawn(form)
            asked.append((form, content is not None))
            return content

        def pictured(self):
            content = super().pictured()
            asked.append(("png", content is not None))
            return content

    monkeypatch.setattr("barbwright.jobs.make.Ahead", Watched)
    folder, _ = make_part(barb, tmp_path, WANTED)
    assert sums(folder) == sums(in_turn)
    assert dict(asked) == dict.fromkeys((*FILES, ON_SHEET, "png"), True)


def test_where_no_second_process_draws_the_first_does(barb, in_turn, tmp_path, monkeypatch):
    monkeypatch.setattr(drafter.child, "start", lambda _module, **_: child_that_says_nothing())
    told = Drafter(barb, FILES, tmp_path)
    assert told.content("svg") is None
    folder, _ = make_part(barb, tmp_path, ("stl", "svg"))
    assert sums(folder)["drawing.svg"] == sums(in_turn)["drawing.svg"]


def child_that_says_nothing():
    process = start("barbwright.no_such_module")
    process.wait()
    return process


start = child.start


def test_where_no_process_can_be_started_the_first_draws(barb, monkeypatch):
    def refused(_module, **_):
        raise OSError

    monkeypatch.setattr(drafter.child, "start", refused)
    with Ahead(barb, ("svg",)) as ahead:
        assert ahead.drawn("svg") is None
        assert PartDrawing(barb).content("svg").startswith(b"<svg")


def test_a_drafter_that_stands_still_is_not_waited_for(barb, tmp_path, monkeypatch):
    def stands_still(_module, **_):
        return subprocess.Popen(
            [sys.executable, "-c", "import time; time.sleep(600)"],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )  # fmt: skip

    monkeypatch.setattr(drafter.child, "start", stands_still)
    monkeypatch.setattr(drafter.child, "LONGEST_S", 0.2)
    with Drafter(barb, ("svg",), tmp_path) as told:
        assert told.content("svg") is None


def test_an_interrupt_that_ends_the_waiting_leaves_nothing_to_wait_for(barb, tmp_path, monkeypatch):
    class Interrupted:
        def readline(self):
            raise KeyboardInterrupt

        def close(self):
            pass

    monkeypatch.setattr(drafter.child, "start", lambda _module, **_: child_that_says_nothing())
    before = set(threading.enumerate())
    with Drafter(barb, ("svg",), tmp_path) as told:
        told._process.stdout.close()
        told._process.stdout = Interrupted()
        with pytest.raises(KeyboardInterrupt):
            told.content("svg")
    assert [one for one in threading.enumerate() if one not in before and not one.daemon] == []


def test_a_plan_that_cannot_be_sent_is_drawn_here(barb, tmp_path):
    """As that of a kind of part that was made in a notebook."""
    unsendable = replace(barb, kind=replace(barb.kind, title=NoName()))
    with Drafter(unsendable, ("svg",), tmp_path) as told:
        assert told.content("svg") is None


class NoName(str):
    def __reduce__(self):
        raise pickle.PicklingError


def test_a_plan_goes_into_a_pipe_whole(barb, tmp_path, monkeypatch):
    """Linux' holds 64 KiB; what does not fit waits for a process that is still loading."""
    sent = []

    def counts(_module, **_):
        process = child_that_says_nothing()
        process.stdin.write = sent.append
        return process

    monkeypatch.setattr(drafter.child, "start", counts)
    for kind in ("tee", "elbow", "tip", "driver"):
        Drafter(plan_part(KINDS[kind], job_of(kind)), FILES, tmp_path).close()
    assert len(sent) == 4
    assert max(map(len, sent)) < 32_768


def test_where_nothing_can_be_put_aside_nothing_is_begun_and_the_refusal_says_why(
    barb, in_turn, tmp_path, monkeypatch
):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "none"))
    with Ahead(barb, ("stl", "svg", "png")) as ahead:
        ahead.meshed(in_turn / "part_mm.stl")
        assert ahead.drawn("svg") is None
        assert ahead.pictured() is None
    folder, _ = make_part(barb, tmp_path / "made", ("stl",))
    assert sums(folder)["part_mm.stl"] == sums(in_turn)["part_mm.stl"]
    # What draws keeps its fonts aside.
    with pytest.raises(BuildError, match=r"temporary files: No such file.*set TMPDIR"):
        make_part(barb, tmp_path / "drawn", WANTED)
    assert list((tmp_path / "drawn").iterdir()) == []


def test_what_nobody_waits_for_is_ended_and_leaves_nothing(barb, in_turn, tmp_path, monkeypatch):
    monkeypatch.setenv("TMPDIR", str(tmp_path))
    monkeypatch.setattr("tempfile.tempdir", None)
    with Ahead(barb, ("stl", "svg", "png")) as ahead:
        ahead.meshed(in_turn / "part_mm.stl")
        draws, shows = ahead._drafter._process, ahead._picture._rendering._child
        assert draws.poll() is None
        assert shows.poll() is None
    assert draws.poll() is not None
    assert shows.poll() is not None
    assert list(tmp_path.iterdir()) == []


def test_a_picture_is_drawn_while_something_else_goes_on(barb, in_turn):
    with Picture(barb, in_turn / "part_mm.stl") as picture:
        time.sleep(0.01)
        assert picture.content() == (in_turn / "part.png").read_bytes()
