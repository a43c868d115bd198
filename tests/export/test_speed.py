"""Speed as a ratio: all formats and all verification against a bare script."""

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

import pytest

import example_shapes as ex

OURS = """
import sys
from pathlib import Path
from barbwright.reread.worker import Rereader
with Rereader(in_process=sys.argv[2] == "serial") as reader:
    import example_shapes as ex
    from barbwright.export.part import write_part
    part = write_part(ex.tee(), Path(sys.argv[1]) / "tee", replace=True, rereader=reader)
print(part.measured.solid_volume_mm3)
"""


def seconds(arguments: list[str]) -> tuple[float, float]:
    path = [str(Path(ex.__file__).parent), *filter(None, sys.path)]
    start = time.perf_counter()
    run = subprocess.run(
        [sys.executable, *arguments],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(path)},
        capture_output=True,
        text=True,
        check=True,
    )
    return time.perf_counter() - start, float(run.stdout)


@pytest.mark.bench
def test_a_tee_with_all_formats_verified_takes_at_most_1_6_times_a_bare_script(tmp_path):
    bare_script = [str(Path(__file__).with_name("bare_tee.py")), str(tmp_path)]
    runs = {
        "bare": bare_script,
        "ours": ["-c", OURS, str(tmp_path), "two"],
        "serial": ["-c", OURS, str(tmp_path), "serial"],
    }
    times: dict[str, list[float]] = {name: [] for name in runs}
    volumes = {}
    for turn in range(6):
        for name, arguments in runs.items():
            taken, volumes[name] = seconds(arguments)
            if turn:  # the first turn fills the disk cache
                times[name].append(taken)
    assert volumes["ours"] == pytest.approx(volumes["bare"], rel=1e-6), "not the same shape"
    middle = {name: statistics.median(values) for name, values in times.items()}
    times_text = ", ".join(f"{name} {value:.2f} s" for name, value in middle.items())
    ratio, serial = (middle[name] / middle["bare"] for name in ("ours", "serial"))
    sys.stdout.write(f"{times_text}; {ratio:.2f} x the bare script, {serial:.2f} in one process\n")
    assert ratio <= 1.6
