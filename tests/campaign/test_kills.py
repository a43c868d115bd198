"""Kills, full disks, several processes in one folder: nothing half, nothing mixed, no litter."""

import hashlib
import json
import os
import shutil
import signal
import subprocess
import sys
import time

import pytest
from reach import FIRST, drawn, figures, many, only_full

from run_cli import DEMO, PACKAGE, TUBE, run
from slow_bound import some_of

pytestmark = only_full
ENVIRONMENT = {
    **os.environ,
    "PYTHONPATH": os.pathsep.join([str(PACKAGE.parent), *filter(None, sys.path)]),
}
SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP, signal.SIGKILL)
STL = ("--formats", "stl")
KIT = """
name = "two"
[job]
tube_id = "0.170in"
tube_od = "0.250in"
tube_material = "LLDPE"
bit = "15/64"
pressure = "45psi"
wood = "oak northern red"
[parts]
barb = { quantity = 1 }
cap = { quantity = 1 }
"""

CATALOGUE = """
name = "two"
parts = ["barb"]
tubes = ["LLDPE 4 x 6 mm", "LLDPE 6 x 8 mm"]
bits = ["6mm"]
pressures = ["2bar"]
materials = ["mjf_pa12"]
woods = ["maple sugar"]
[make]
verdicts = ["pass", "caution"]
formats = ["stl"]
"""


def started(words, temporary):
    return subprocess.Popen(
        [sys.executable, "-m", "barbwright", *map(str, words)],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        env={**ENVIRONMENT, "TMPDIR": str(temporary)}, start_new_session=True, preexec_fn=heard,
    )  # fmt: skip


def heard():
    """Take the signals again that a run under nohup or in the background hands on as ignored."""
    for one in SIGNALS[:-1]:
        signal.signal(one, signal.SIG_DFL)


def rows_of(record):
    """Path and checksum of what a record names; that of a catalogue names its folder too."""
    body = json.loads(record.read_text())
    if isinstance(body["files"], dict):
        home = record.parents[2] / body["folder"]
        return [(home / name, sha256) for name, (_, sha256) in body["files"].items()]
    return [(record.parent / row["path"], row["sha256"]) for row in body["files"]]


def half_made(folder):
    """What stands under a final name and is not what its record says."""
    found = []
    for record in folder.rglob("*.json"):
        if any(part.startswith(".") for part in record.relative_to(folder).parts):
            continue
        try:
            rows = rows_of(record)
        except (ValueError, KeyError):
            found.append(f"{record}: half a record")
            continue
        for path, sha256 in rows:
            if not path.is_file() or hashlib.sha256(path.read_bytes()).hexdigest() != sha256:
                found.append(f"{path}: not as recorded")
    for path in folder.rglob("order-*.zip"):
        if subprocess.run(
            [sys.executable, "-m", "zipfile", "-t", path], capture_output=True
        ).returncode:
            found.append(f"{path}: half a zip")
    return found


def litter(*folders):
    return [str(path) for folder in folders for path in folder.rglob(".*")]


@pytest.fixture(scope="module")
def part(tmp_path_factory):
    folder = tmp_path_factory.mktemp("ordered")
    assert run("make", "barb", *DEMO, "-o", folder, "--formats", "step,stl,3mf").code == 0
    return next(folder.iterdir())


@pytest.mark.parametrize("name", ["make", "build", "order", "coupon", "catalogue"])
def test_a_kill_leaves_nothing_half_and_the_next_run_clears_its_litter(tmp_path, request, name):
    kit, spec = tmp_path / "two.toml", tmp_path / "both.toml"
    kit.write_text(KIT)
    spec.write_text(CATALOGUE)
    words = {
        # With what is begun ahead in processes of its own.
        "make": lambda: ("make", "barb", *DEMO, "--formats", "stl,svg,png", "--force", "-o"),
        "build": lambda: ("build", kit, *STL, "--force", "-o"),
        "order": lambda: ("order", request.getfixturevalue("part"), "--force", "-o"),
        "coupon": lambda: ("coupon", *TUBE, "--bit", "15/64", *STL, "--force", "-o"),
        # Run again it makes only what is missing: each but the last begins in a new folder.
        "catalogue": lambda: ("catalogue", spec, "--workers", "2", "-o"),
    }[name]()
    out, temporary = tmp_path / name, tmp_path / f"{name}-tmp"
    temporary.mkdir()
    begun = time.monotonic()
    assert started((*words, out), temporary).wait(600) == 0
    lasts = time.monotonic() - begun
    fell, counts, orphans = [], {}, 0
    for number in range(FIRST, FIRST + many(100, 0.03)):
        random = drawn(name, number)
        which = random.choice(SIGNALS)
        if name == "catalogue" and out.exists():
            shutil.rmtree(out)
        # What one that was killed outright has left is for a run to clear that comes so far.
        before = litter(out, temporary)
        process = started((*words, out), temporary)
        time.sleep(random.uniform(0.0, 1.05) * lasts)
        over = process.poll() is not None
        process.send_signal(which)
        code = process.wait(120 + 3 * lasts)
        counts[which.name] = counts.get(which.name, 0) + 1
        # Children have a second to end with their parent.
        for _ in range(50):
            alive = alive_in(process.pid)
            if not alive:
                break
            time.sleep(0.1)
        orphans += bool(alive)
        if alive:
            fell.append(f"{number} {which.name}: children live on: {alive}")
        if not over and which != signal.SIGKILL and code not in {0, 128 + which, -which}:
            fell.append(f"{number} {which.name}: exit {code}")
        left = [one for one in litter(out, temporary) if one not in before]
        if which != signal.SIGKILL and left and code != -which:
            fell.append(f"{number} {which.name}: leaves {left[:3]}")
        fell += [f"{number} {which.name}: {one}" for one in half_made(out)]
    assert started((*words, out), temporary).wait(600) == 0
    if left := litter(out, temporary):
        fell.append(f"litter after the next run: {left[:5]}")
    fell += [f"after the next run: {one}" for one in half_made(out)]
    figures(f"\ncampaign kills of {name}: {counts}, orphans {orphans}, fell {len(fell)}")
    assert fell == [], "\n".join(fell[:40])


def alive_in(session):
    """Processes that a killed one has started, wherever they stand now."""
    found = []
    for entry in os.listdir("/proc"):
        if not entry.isdecimal():
            continue
        try:
            with open(f"/proc/{entry}/environ", "rb") as file:
                environment = file.read()
            with open(f"/proc/{entry}/stat") as file:
                stat = file.read().rpartition(")")[2].split()
        except OSError:
            continue
        if stat[0] != "Z" and int(stat[3]) == session and environment:
            found.append(int(entry))
    return found


@pytest.mark.parametrize("together", [2, 8])
def test_several_processes_in_one_folder_mix_nothing(tmp_path, together):
    words = ("make", "barb", *DEMO, *STL, "--force", "-o", tmp_path / "out")
    (tmp_path / "tmp").mkdir()
    processes = [started(words, tmp_path / "tmp") for _ in range(together)]
    codes = [process.wait(900) for process in processes]
    assert codes == [0] * together
    assert half_made(tmp_path / "out") == []
    assert litter(tmp_path) == []
    assert len(list((tmp_path / "out").iterdir())) == 1


def test_a_folder_that_cannot_be_written_is_refused(tmp_path):
    out = tmp_path / "out"
    out.write_text("a file, where a folder is asked for")
    for words in (("make", "barb", *DEMO, *STL), ("coupon", *TUBE, "--bit", "15/64", *STL)):
        done = run(*words, "-o", out)
        assert done.code == 4, done.err
        assert str(out) in done.err
        assert "do: " in done.err
    assert out.read_text().startswith("a file")


def mounted(disk, options):
    """Mount a small disk of memory, or skip: rights alone do not keep root from writing."""
    disk.mkdir(exist_ok=True)
    words = ["mount", "-t", "tmpfs", "-o", options, "tmpfs", disk]
    if os.geteuid() != 0 or subprocess.run(words, capture_output=True).returncode:
        pytest.skip("this user or machine mounts nothing")


@pytest.mark.parametrize("before", [False, True], ids=["empty", "with the part"])
def test_a_disk_that_is_read_only_is_refused_and_keeps_what_it_has(tmp_path, before):
    disk = tmp_path / "disk"
    mounted(disk, "size=4m")
    words = ("make", "barb", *DEMO, *STL, "--force", "-o", disk / "out")
    try:
        if before:
            assert run(*words).code == 0
        held = {path: path.read_bytes() for path in disk.rglob("*") if path.is_file()}
        assert bool(held) == before
        subprocess.run(["mount", "-o", "remount,ro", disk], check=True)
        for command in (words, ("coupon", *TUBE, "--bit", "15/64", *STL, "-o", disk / "new")):
            done = run(*command)
            assert done.code == 4, done.err
            assert "unexpected" not in done.err
            assert str(disk) in done.err
            assert "Read-only" in done.err
            assert "do: " in done.err
        assert {path: path.read_bytes() for path in disk.rglob("*") if path.is_file()} == held
        assert litter(disk) == []
    finally:
        subprocess.run(["umount", disk], check=True)


@pytest.mark.parametrize("kib", some_of([4, 64, 200, 400, 700, 1200, 3000], 0, 3))
def test_a_full_disk_leaves_nothing_half(tmp_path, kib):
    disk = tmp_path / "disk"
    mounted(disk, f"size={kib}k")
    try:
        done = run("make", "barb", *DEMO, "--formats", "step,stl,3mf,pdf,dxf", "-o", disk / "out")
        assert done.code in {0, 4}, done.err
        assert "unexpected" not in done.err
        assert half_made(disk) == []
        assert litter(disk) == []
    finally:
        subprocess.run(["umount", disk], check=True)
