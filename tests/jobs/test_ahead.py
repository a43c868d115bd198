"""Papers begun before their turn are those made in turn, and leave nothing behind."""

import hashlib
import time

import pytest

from barbwright.design.part import KINDS
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
