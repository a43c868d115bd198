"""The same bytes wherever a part is made: folder, locale, zone, hash seed, user, vector units."""

import hashlib
import os
import subprocess
import sys

import pytest
from reach import only_full

from run_cli import DEMO, PACKAGE
from slow_bound import some_of

pytestmark = only_full
ALL = ("--formats", "step,stl,3mf,pdf,dxf,svg")
FOLDER = {"PYTHONPATH": os.pathsep.join([str(PACKAGE.parent), *filter(None, sys.path)])}
SURROUNDINGS = {
    "de_DE": {"LC_ALL": "de_DE.UTF-8"},
    "tr_TR": {"LC_ALL": "tr_TR.UTF-8"},
    "C": {"LC_ALL": "C"},
    "zone": {"TZ": "Pacific/Kiritimati"},
    "hash seed": {"PYTHONHASHSEED": "77"},
    "no AVX": {"NPY_DISABLE_CPU_FEATURES": "AVX2 FMA3 AVX512F AVX512_SKX"},
    "one thread": {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"},
    "another home": {"HOME": "/nonexistent", "USER": "somebody"},
}


def digest(folder, environment, cwd, source=None):
    """What was made, by name and checksum."""
    given = {**os.environ, **FOLDER, **environment}
    if source is not None:
        given["PYTHONPATH"] = os.pathsep.join([str(source), *filter(None, sys.path)])
    words = ["make", "elbow", *DEMO, *ALL, "-q", "-o", str(folder)]
    done = subprocess.run(
        [sys.executable, "-m", "barbwright", *words], cwd=cwd, env=given, capture_output=True,
        text=True, check=False, timeout=600,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.fixture(scope="module")
def plain(tmp_path_factory):
    folder = tmp_path_factory.mktemp("plain")
    return digest(folder / "out", {"PYTHONHASHSEED": "1"}, folder)


@pytest.mark.parametrize("name", some_of(list(SURROUNDINGS), 1, 4))
def test_the_same_bytes_in_other_surroundings(tmp_path, plain, name):
    place = tmp_path / "ein Ordner mit Löchern"
    place.mkdir()
    found = digest(place / "out", SURROUNDINGS[name], place)
    assert found == plain, {key for key in plain if found.get(key) != plain[key]}


def test_the_same_bytes_from_a_wheel(tmp_path, plain):
    root = PACKAGE.parents[1]
    wheels = [
        sys.executable,
        "-m",
        "pip",
        "wheel",
        "-q",
        "--no-deps",
        "-w",
        str(tmp_path),
        str(root),
    ]
    if subprocess.run(wheels, capture_output=True, check=False).returncode:
        pytest.skip("no wheel can be built here")
    site = tmp_path / "site"
    wheel = next(tmp_path.glob("*.whl"))
    subprocess.run([sys.executable, "-m", "zipfile", "-e", wheel, site], check=True)
    assert digest(tmp_path / "out", {}, tmp_path, site) == plain
