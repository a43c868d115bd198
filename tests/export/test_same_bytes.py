"""The same input gives the same bytes, whatever the process did before."""

import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

import example_shapes as ex
from barbwright.export.part import write_part
from barbwright.reread.worker import Rereader

pytestmark = pytest.mark.usefixtures("one_process")

TESTS = Path(ex.__file__).parent
NAMES = ("part.step", "part_unmarked.step", "part_mm.stl", "part.3mf")
SCRIPT = """
import hashlib, json, sys
from pathlib import Path
import example_shapes as ex
from barbwright.export.part import write_part
from barbwright.reread.worker import Rereader
with Rereader(in_process=True) as reader:
    part = write_part(ex.elbow(), Path(sys.argv[1]), rereader=reader)
print(json.dumps({file.path.name: file.sha256 for file in part.files}))
"""


def sums(folder: Path) -> dict[str, str]:
    return {name: hashlib.sha256((folder / name).read_bytes()).hexdigest() for name in NAMES}


@pytest.fixture(scope="module")
def first(tmp_path_factory) -> dict[str, str]:
    folder = tmp_path_factory.mktemp("first") / "elbow"
    write_part(ex.elbow(), folder)
    return sums(folder)


def test_twice_in_one_process_and_after_another_part(first, tmp_path):
    with Rereader(in_process=True) as reader:
        write_part(ex.barb(), tmp_path / "barb", rereader=reader)
        write_part(ex.elbow(), tmp_path / "again", rereader=reader)
    assert sums(tmp_path / "again") == first, "compare the pinned versions in pyproject.toml"


def test_in_a_fresh_process_under_another_hash_seed_zone_and_locale(first, tmp_path):
    changed = {"PYTHONHASHSEED": "4242", "TZ": "Asia/Tokyo", "LC_ALL": "C", "OMP_NUM_THREADS": "1"}
    environment = {**os.environ, **changed}
    environment["PYTHONPATH"] = os.pathsep.join([*map(str, [TESTS]), *filter(None, sys.path)])
    run = subprocess.run(
        [sys.executable, "-c", SCRIPT, str(tmp_path / "elbow")],
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    # Also shows that the kernel prints nothing of its own on standard output.
    assert json.loads(run.stdout) == first, "compare the pinned versions in pyproject.toml"


@pytest.mark.slow
def test_another_size_gives_other_bytes(first, tmp_path):
    write_part(ex.elbow(ex.Sizes(crest=5.2)), tmp_path / "elbow")
    assert not set(sums(tmp_path / "elbow").values()) & set(first.values())
