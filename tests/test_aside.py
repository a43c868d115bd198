"""What a killed process leaves is cleared by the next; what a living one works on is let be."""

import os
import subprocess
import sys
import time
from pathlib import Path
from unittest.mock import patch

import pytest

from barbwright.aside import clear_left, own_prefix, scratch_folder


def dead():
    """The number of a process that has ended."""
    done = subprocess.Popen([sys.executable, "-c", ""])
    done.wait()
    return done.pid


def test_the_dead_ones_go_and_the_living_and_foreign_stay(tmp_path):
    left, living, foreign = (
        tmp_path / f".part-new-{dead()}-x", tmp_path / f"{own_prefix('.part-new')}y",
        tmp_path / ".part-newer",
    )  # fmt: skip
    for place in (left, living, foreign):
        place.mkdir()
        (place / "file").write_text("x")
    link = tmp_path / f".part-new-{dead()}-link"
    link.symlink_to(foreign)
    clear_left(tmp_path, ".part-new")
    assert sorted(tmp_path.iterdir()) == sorted([living, foreign])
    assert (foreign / "file").exists()


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="tells no process's beginning")
def test_hours_later_a_living_one_keeps_its_own_and_not_what_had_its_number_before(tmp_path):
    own, before = (tmp_path / f"{own_prefix('.part-new')}{name}" for name in ("own", "before"))
    for place, ago_s in ((own, 0), (before, 7 * 24 * 3600)):
        place.mkdir()
        changed = time.time() - ago_s
        os.utime(place, (changed, changed))
    # Hours on, by the clock that is asked for an age: the owner is as old as what it made.
    with patch("barbwright.aside._LEFT_AFTER_S", -1.0):
        clear_left(tmp_path, ".part-new")
    assert list(tmp_path.iterdir()) == [own]


def test_where_no_process_can_be_asked_after_an_hour_tells(tmp_path):
    living, old = (tmp_path / f"{own_prefix('.part-new')}{name}" for name in ("new", "old"))
    for place in (living, old):
        place.mkdir()
    os.utime(old, (time.time() - 7200,) * 2)
    with patch("barbwright.aside._alive", lambda *_: None):
        clear_left(tmp_path, ".part-new")
    assert list(tmp_path.iterdir()) == [living]


def test_a_place_that_is_not_there_is_none_to_clear(tmp_path):
    clear_left(tmp_path / "none", "x")


def test_a_scratch_folder_clears_what_another_left(tmp_path):
    left = tmp_path / f".barbwright-order-{dead()}-x"
    left.mkdir()
    with scratch_folder("order", tmp_path) as folder:
        assert folder.parent == tmp_path
        assert not left.exists()
    assert list(tmp_path.iterdir()) == []
