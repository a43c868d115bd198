"""What a catalogue costs beside making its parts: processor time of whole processes, and memory.

BARBWRIGHT_BENCH_PARTS says of how many parts (24; the issue asks 300 for the slope of memory).
"""

import os
import resource
import subprocess
import sys
import time

import numpy as np
import pytest

from barbwright.farm.spec import load_catalogue
from run_cli import PACKAGE

pytest.importorskip("distributed")
PARTS = int(os.environ.get("BARBWRIGHT_BENCH_PARTS", "24"))
SPEC = """
name = "cost"
parts = ["barb"]
tubes = ["LLDPE 4 x 6 mm"]
pressures = ["1bar..2bar"]
steps = {count}
materials = ["mjf_pa12"]
[make]
formats = ["step", "stl", "3mf"]
most = {count}
"""
MAIN = "from barbwright.cli import main; main()"
# Made one after the other in one process, as `make` makes each; what it holds is told after each.
ALONE = """
import sys
from pathlib import Path
from barbwright.design.part import KINDS
from barbwright.farm.judge import judge
from barbwright.farm.spec import load_catalogue
from barbwright.job.reading import read_job
from barbwright.jobs.make import make_part
from barbwright.jobs.plan import plan_part
from barbwright.reread.worker import Rereader

spec, rereader = load_catalogue(sys.argv[1]), Rereader(in_process=True)
for part in judge(spec).wanted():
    kind = KINDS[part.kind]
    job = read_job(part.options, settings=part.settings, needs_tip=kind.needs_bit,
                   two_ends=kind.two_ends, usable=kind.usable_sizes)
    make_part(plan_part(kind, job), Path(sys.argv[2]), spec.formats, rereader=rereader)
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    print(pages * 4096 // 1024, flush=True)
"""


def spent(*arguments):
    """Return a process's output, and the processor and wall time of it and all it started [s]."""
    path = os.pathsep.join([str(PACKAGE.parent), *filter(None, sys.path)])
    before, begin = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", *map(str, arguments)],
        env={**os.environ, "PYTHONPATH": path}, capture_output=True, text=True, check=True,
    )  # fmt: skip
    wall, after = time.perf_counter() - begin, resource.getrusage(resource.RUSAGE_CHILDREN)
    used = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return done.stdout, used, wall


@pytest.mark.bench
@pytest.mark.skipif(not os.path.exists("/proc/self/statm"), reason="memory is told by /proc")
def test_what_a_catalogue_costs_beside_making_its_parts(tmp_path):
    used, walls = {}, {}
    for count in (PARTS // 4, PARTS):
        spec = tmp_path / f"cost{count}.toml"
        spec.write_text(SPEC.format(count=count))
        assert load_catalogue(str(spec)).count == count
        told, used["alone", count], _ = spent(ALONE, spec, tmp_path / f"alone{count}")
        for workers in (1, 2):
            home = tmp_path / f"{workers}by{count}"
            words = ("catalogue", spec, "-o", home, "--workers", workers, "-q")
            _, used[workers, count], walls[workers, count] = spent(MAIN, *words)
            assert len(list((home / "parts").iterdir())) == count
    held = np.array(told.split(), dtype=float) / 1024.0
    assert len(held) == PARTS
    # What each further part costs, and what starting does.
    more = PARTS - PARTS // 4
    each = {who: (used[who, PARTS] - used[who, PARTS // 4]) / more for who in ("alone", 1, 2)}
    wall = walls[2, PARTS] - walls[2, PARTS // 4]
    sys.stdout.write(
        f"\n{PARTS} barbs: {each['alone']:.2f} s of processor each in one process, one worker "
        f"{each[1] / each['alone']:.2f} of that (asked 1.3), two {each[2] / each[1]:.2f} of one "
        f"(asked 1.1), {each[2] * more / wall / 2:.0%} of two cores (asked 90 %)\n"
        f"to start: {used['alone', PARTS] - PARTS * each['alone']:.1f} s alone, "
        f"{used[1, PARTS] - PARTS * each[1]:.1f} one worker, "
        f"{used[2, PARTS] - PARTS * each[2]:.1f} two\n"
    )
    # The first parts load what is kept; from then on a line, with twice its standard error.
    later = held[len(held) // 4 :]
    at = np.arange(len(later), dtype=float)
    slope, level = np.polyfit(at, later, 1)
    spread = np.sqrt(np.sum((later - level - slope * at) ** 2) / max(len(later) - 2, 1))
    error = 2.0 * spread / np.sqrt(np.sum((at - at.mean()) ** 2))
    sys.stdout.write(
        f"memory {held[0]:.0f} -> {held[-1]:.0f} MiB, "
        f"{1024 * slope:.0f} +- {1024 * error:.0f} KiB a part\n"
    )
    # Wide: on a machine that does other work what caches lose is a third of it.
    assert each[1] / each["alone"] < 2.0
    assert each[2] / each[1] < 1.5
    assert slope - error < 1.0
