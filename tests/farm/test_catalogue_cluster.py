"""A catalogue made by processes that end at any moment: a real scheduler and real workers."""

import contextlib
import csv
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest

from run_cli import PACKAGE

distributed = pytest.importorskip("distributed")
pytestmark = pytest.mark.slow

SPEC = """
name = "six"
parts = ["barb"]
tubes = ["LLDPE 4 x 6 mm", "PU 4 x 6 mm"]
pressures = ["1bar", "2bar", "3bar"]
materials = ["mjf_pa12"]
[make]
formats = ["step", "stl", "3mf"]
"""
PARTS = 6
MAIN = "from barbwright.cli import main; main()"
ENVIRONMENT = {
    **os.environ,
    "PYTHONPATH": os.pathsep.join([str(PACKAGE.parent), *filter(None, sys.path)]),
    "PYTHONDONTWRITEBYTECODE": "1",
}
PATIENCE_S = 900.0


def until(told, what, seconds=PATIENCE_S):
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        found = told()
        if found:
            return found
        time.sleep(0.05)
    raise TimeoutError(what)


class Cluster:
    """A scheduler and workers, each a process of its own, as their docs start them."""

    def __init__(self, folder):
        self.folder, self.started, self.address = folder, [], ""
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]

    def _start(self, *words, shell=""):
        command = [sys.executable, "-m", "dask", *map(str, words)]
        if shell:
            command = ["bash", "-c", f'{shell}; exec "$@"', "-", *command]
        process = subprocess.Popen(
            command, env=ENVIRONMENT, cwd=self.folder, start_new_session=True,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        self.started.append(process)
        return process

    def scheduler(self):
        self.address = f"tcp://127.0.0.1:{self.port}"
        return self._start("scheduler", "--host", "127.0.0.1", "--port", self.port,
                           "--no-dashboard", "--no-show")  # fmt: skip

    def worker(self, threads=1, shell=""):
        return self._start("worker", self.address, "--nthreads", threads, "--no-dashboard",
                           "--local-directory", self.folder / "aside", shell=shell)  # fmt: skip

    def __enter__(self):
        return self

    def __exit__(self, *_):
        for process in self.started:
            end(process)


def end(process):
    with contextlib.suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGKILL)
    process.wait()


def begin(spec, home, *more):
    return subprocess.Popen(
        [sys.executable, "-c", MAIN, "catalogue", str(spec), "-o", str(home), *more],
        env=ENVIRONMENT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


def finish(process):
    out, err = process.communicate(timeout=PATIENCE_S)
    return process.returncode, out, err


def finished_parts(home):
    """Each part's folder with what tells whether it is still the same one."""
    return {path.name: (path.stat().st_ino, path.stat().st_mtime_ns)
            for path in (home / "parts").glob("[!.]*")}  # fmt: skip


def worker_at_work(home):
    """The process that is at a part, from its folder's name; 0 where none is."""
    for path in (home / ".work").glob("*/*"):
        return int(path.parent.name.rsplit("-", 2)[1])
    return 0


def holds(home, count=PARTS):
    """Hold a folder to what a finished catalogue is, and nothing beside."""
    assert len(finished_parts(home)) == count
    left = [path for path in home.rglob("*") if path.name.startswith(".")]
    assert left == [], "something staged was left"
    with (home / "catalogue.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["not_made_because"] for row in rows] == [""] * len(rows)
    folders = [row["folder"] for row in rows if row["folder"]]
    assert len(set(folders)) == count
    assert all((home / folder / "part.step").is_file() for folder in folders)
    return rows


@pytest.fixture
def place(tmp_path):
    (tmp_path / "spec.toml").write_text(SPEC)
    return tmp_path / "spec.toml", tmp_path / "home"


def test_a_worker_killed_mid_part_loses_nothing_and_every_byte_is_that_of_make(place, tmp_path):
    spec, home = place
    with Cluster(tmp_path) as cluster:
        cluster.scheduler()
        cluster.worker()
        cluster.worker()
        run = begin(spec, home, "--scheduler", cluster.address)
        # One part stands, another is being made: its worker ends without a word.
        until(lambda: finished_parts(home) and worker_at_work(home), "no part was begun")
        os.kill(worker_at_work(home), signal.SIGKILL)
        before = finished_parts(home)
        code, out, err = finish(run)
        assert code == 0, err
        assert "6 parts made and verified" in out
        assert "Traceback" not in err
        rows = holds(home)
        after = finished_parts(home)
        assert {name: after[name] for name in before} == before, "a finished part was made again"
        # Run again, no worker is asked.
        code, out, err = finish(begin(spec, home, "--scheduler", "tcp://127.0.0.1:1"))
        assert (code, "6 of them before" in out) == (0, True), err
        assert finished_parts(home) == after
    made = rows[-1]
    arguments = ["make", "barb", "--tube", made["tube"], "--pressure", made["pressure"],
                 "--material", made["material"], "--formats", "step,stl,3mf", "-q"]  # fmt: skip
    subprocess.run([sys.executable, "-c", MAIN, *arguments, "-o", str(tmp_path / "one")],
                   env=ENVIRONMENT, check=True, stdout=subprocess.DEVNULL)  # fmt: skip
    theirs, ours = tmp_path / "one" / made["part_number"], home / made["folder"]
    assert {p.name: p.read_bytes() for p in ours.iterdir()} == {
        p.name: p.read_bytes() for p in theirs.iterdir()
    }


def test_a_scheduler_that_is_started_anew_is_found_again(place, tmp_path):
    spec, home = place
    with Cluster(tmp_path) as cluster:
        first = cluster.scheduler()
        workers = [cluster.worker()]
        run = begin(spec, home, "--scheduler", cluster.address)
        until(lambda: finished_parts(home) and worker_at_work(home), "no part was begun")
        for process in (first, *workers):
            end(process)
        before = finished_parts(home)
        cluster.scheduler()
        cluster.worker()
        code, _, err = finish(run)
        assert code == 0, err
        assert "has gone" in err
        holds(home)
        after = finished_parts(home)
        assert {name: after[name] for name in before} == before


def test_a_run_that_is_killed_goes_on_where_it_was(place):
    spec, home = place
    run = begin(spec, home, "--workers", "1")
    until(lambda: finished_parts(home) and worker_at_work(home), "no part was begun")
    run.kill()
    finish(run)
    before = finished_parts(home)
    # One process's record is damaged meanwhile, and one part's file.
    hurt = sorted(before)[0]
    (home / "parts" / hurt / "part.step").write_bytes(b"ISO")
    code, out, err = finish(begin(spec, home, "--workers", "1"))
    assert code == 0, err
    assert f"{len(before) - 1} of them before" in out
    holds(home)
    assert (home / "parts" / hurt / "part.step").stat().st_size > 1000


def test_a_worker_whose_disk_is_full_hands_its_parts_to_the_others(place, tmp_path):
    spec, home = place
    with Cluster(tmp_path) as cluster:
        cluster.scheduler()
        # No file of more than 8 KiB can be written by this one.
        cluster.worker(shell="ulimit -f 8")
        cluster.worker()
        code, _, err = finish(begin(spec, home, "--scheduler", cluster.address))
        if code == 4 and "failed 3 times" in err:
            # All three tries met the same worker: said, and nothing is lost.
            assert "run the same again" in err
            code, _, err = finish(begin(spec, home, "--workers", "1"))
        assert code == 0, err
        holds(home)


def test_two_threads_a_worker_are_refused(place, tmp_path):
    spec, home = place
    with Cluster(tmp_path) as cluster:
        cluster.scheduler()
        cluster.worker(threads=2)
        code, _, err = finish(begin(spec, home, "--scheduler", cluster.address))
        assert code == 2, err
        assert re.search(r"more than one thread .*: 2\)", err)
        assert not (home / "parts").exists()


def test_a_worker_that_sees_another_folder_is_refused(place, tmp_path):
    spec, home = place
    profiles = tmp_path / "other_profiles"
    shutil.copytree(Path(PACKAGE).parents[1] / "profiles" / "kits", profiles / "kits")
    with Cluster(tmp_path) as cluster:
        cluster.scheduler()
        cluster.worker(shell=f"export BARBWRIGHT_PROFILES={profiles}")
        code, _, err = finish(begin(spec, home, "--scheduler", cluster.address))
        assert code == 2, err
        assert "other versions, profiles or source" in err
