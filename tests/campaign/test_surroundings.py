"""The same bytes wherever a part is made: folder, locale, zone, hash seed, user, vector units."""

import hashlib
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
from reach import only_full

from barbwright.order.again import difference
from run_cli import DEMO, PACKAGE
from slow_bound import some_of

pytestmark = only_full
ALL = ("--formats", "step,stl,3mf,pdf,dxf,svg")
# Numbers of its own that no user of a machine has, so that it is nobody's.
NOBODY = ("setpriv", "--reuid=65533", "--regid=65533", "--clear-groups")
SURROUNDINGS = {
    "de_DE": {"LC_ALL": "de_DE.UTF-8"},
    "tr_TR": {"LC_ALL": "tr_TR.UTF-8"},
    "C": {"LC_ALL": "C"},
    "zone": {"TZ": "Pacific/Kiritimati"},
    "hash seed": {"PYTHONHASHSEED": "77"},
    "one thread": {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"},
    "another home": {"HOME": "/nonexistent", "USER": "somebody"},
}


def process(words, environment, cwd, source=PACKAGE.parent, before=()):
    path = os.pathsep.join([str(source), *filter(None, sys.path)])
    done = subprocess.run(
        [*before, sys.executable, *map(str, words)], cwd=cwd, capture_output=True, text=True,
        env={**os.environ, "PYTHONPATH": path, **environment}, check=False, timeout=900,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout


def digest(folder, environment, cwd, command=("make", "elbow", *DEMO, *ALL), **more):
    """What was made, by name and checksum."""
    process(["-m", "barbwright", *command, "-q", "-o", folder], environment, cwd, **more)
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    return tmp_path_factory.mktemp("plain")


@pytest.fixture(scope="module")
def plain(home):
    return digest(home / "out", {"PYTHONHASHSEED": "1"}, home)


def located(name, folder):
    """Make a locale that the machine may lack, and see that it is the one in force."""
    if shutil.which("localedef") is None:
        pytest.skip("no locale can be made here")
    kind = name.partition(".")[0]
    subprocess.run(["localedef", "-i", kind, "-f", "UTF-8", folder / name], check=False)
    if not (folder / name).is_dir():
        pytest.skip(f"the machine has no source of {kind}")
    environment = {"LC_ALL": name, "LOCPATH": str(folder)}
    code = "import locale; locale.setlocale(locale.LC_ALL, ''); print(locale.str(1.5))"
    assert process(["-c", code], environment, folder).strip() == "1,5"
    return environment


@pytest.mark.parametrize("name", some_of(list(SURROUNDINGS), 1, 4))
def test_the_same_bytes_in_other_surroundings(tmp_path, plain, name):
    place, environment = tmp_path / "ein Ordner mit Löchern", SURROUNDINGS[name]
    place.mkdir()
    if "_" in name:
        environment = located(environment["LC_ALL"], tmp_path)
    found = digest(place / "out", environment, place)
    assert found == plain, {key for key in plain if found.get(key) != plain[key]}


def without(switches, tmp_path):
    """Switch wide vector units off, and see by numbers that this does something here."""
    code = (
        "import math, numpy as np\n"
        "x = np.arange(1, 9999) / 7\n"
        "print(hash((x**0.3).tobytes() + np.exp(x / 99).tobytes()))\n"
        "print(hash((x[:9900].reshape(99, 100) @ x[:100]).tobytes()))\n"
        "print(hash(tuple(one(n / 7) for n in range(999) for one in (math.sin, math.exp))))\n"
    )
    fixed = {"PYTHONHASHSEED": "1"}
    on, off = (process(["-c", code], {**fixed, **more}, tmp_path) for more in ({}, switches))
    if on == off:
        pytest.skip("there is nothing to switch off here")
    return digest(tmp_path / "out", switches, tmp_path)


def test_the_same_bytes_without_the_wide_vector_units(tmp_path, plain):
    from numpy._core._multiarray_umath import __cpu_dispatch__, __cpu_features__

    has = " ".join(name for name in __cpu_dispatch__ if __cpu_features__[name])
    switches = {"NPY_DISABLE_CPU_FEATURES": has, "OPENBLAS_CORETYPE": "Nehalem"}
    found = without(switches, tmp_path)
    assert found == plain, {key for key in plain if found.get(key) != plain[key]}


def test_the_c_librarys_own_units_move_no_more_than_last_digits(tmp_path, home, plain):
    """Its sines differ in the last bit where no unit multiplies and adds at once."""
    switches = {"GLIBC_TUNABLES": "glibc.cpu.hwcaps=-AVX2,-FMA,-AVX,-AVX512F"}
    found = without(switches, tmp_path)
    assert found.keys() == plain.keys()
    moved = {key for key in plain if found[key] != plain[key]}
    # The record holds the checksums of both.
    assert {key.rpartition("/")[2] for key in moved} <= {
        "part.step", "part_unmarked.step", "part.json"
    }  # fmt: skip
    for key in moved:
        if key.endswith(".step"):
            ours, theirs = (one / "out" / key for one in (home, tmp_path))
            assert difference("step", theirs.read_bytes(), ours.read_bytes()) == ""


def test_the_same_bytes_made_by_another_user(plain):
    if os.geteuid() != 0 or shutil.which(NOBODY[0]) is None:
        pytest.skip("only root becomes another user")
    # Not in pytest's own folder, which is shut to others whenever pytest begins anywhere.
    with tempfile.TemporaryDirectory(prefix="theirs-") as place:
        os.chown(place, 65533, 65533)
        environment = {"HOME": place, "TMPDIR": place, "XDG_CONFIG_HOME": place}
        out = Path(place) / "out"
        found = digest(out, environment, place, before=NOBODY)
        assert found == plain, {key for key in plain if found.get(key) != plain[key]}
        assert out.stat().st_uid == 65533


CATALOGUE = """
name = "two"
parts = ["barb", "tee"]
tubes = ["LLDPE 4 x 6 mm"]
bits = ["6mm"]
pressures = ["2bar"]
materials = ["mjf_pa12"]
woods = ["maple sugar"]
[make]
verdicts = ["pass", "caution"]
formats = ["step", "stl"]
"""


def test_the_same_bytes_by_one_worker_and_by_two(tmp_path):
    pytest.importorskip("distributed")
    (tmp_path / "two.toml").write_text(CATALOGUE)
    one, two = (
        digest(tmp_path / str(many), {}, tmp_path,
               ("catalogue", tmp_path / "two.toml", "--workers", many))
        for many in (1, 2)
    )  # fmt: skip
    parts = {name for name in one if name.endswith((".stl", ".step", "part.json"))}
    assert len(parts) >= 6
    assert {name: one[name] for name in parts} == {name: two.get(name) for name in parts}


def test_the_same_bytes_from_a_wheel(tmp_path, plain):
    root = PACKAGE.parents[1]
    # Of a copy: the builder leaves folders of its own beside what it packs.
    shutil.copytree(root, tmp_path / "copy", ignore=shutil.ignore_patterns(".*", "tests", "out"))
    wheels = [
        sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", tmp_path, tmp_path / "copy",
    ]  # fmt: skip
    if subprocess.run(wheels, capture_output=True, check=False).returncode:
        pytest.skip("no wheel can be built here")
    site = tmp_path / "site"
    wheel = next(tmp_path.glob("*.whl"))
    subprocess.run([sys.executable, "-m", "zipfile", "-e", wheel, site], check=True)
    assert digest(tmp_path / "out", {}, tmp_path, source=site) == plain
