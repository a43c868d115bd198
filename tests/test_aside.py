"""What a killed process leaves is cleared by the next; what a living one works on is let be."""

import os
import subprocess
import sys
import time

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
    # A number may have gone to another process: after an hour nobody works on it any more.
    old = time.time() - 7200
    os.utime(living, (old, old))
    clear_left(tmp_path, ".part-new")
    assert not living.exists()


def test_a_place_that_is_not_there_is_none_to_clear(tmp_path):
    clear_left(tmp_path / "none", "x")


def test_a_scratch_folder_clears_what_another_left(tmp_path):
    left = tmp_path / f".barbwright-order-{dead()}-x"
    left.mkdir()
    with scratch_folder("order", tmp_path) as folder:
        assert folder.parent == tmp_path
        assert not left.exists()
    assert list(tmp_path.iterdir()) == []
