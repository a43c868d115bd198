"""Installed from a wheel and run from another folder, the profiles are found."""

import os
import subprocess
import sys
import sysconfig
from pathlib import Path

import pytest

TOP = Path(__file__).parents[1]


def run(*arguments, **more):
    # Nothing of the checkout may help: no path of its own, another folder.
    clean = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    return subprocess.run(
        [str(word) for word in arguments], capture_output=True, text=True, env=clean, check=False,
        timeout=600, **more,
    )  # fmt: skip


@pytest.mark.slow
def test_a_wheel_finds_its_profiles_from_another_folder(tmp_path):
    built = run(sys.executable, "-m", "pip", "wheel", "--no-deps", "-w", tmp_path / "dist", TOP)
    assert built.returncode == 0, built.stderr
    (wheel,) = (tmp_path / "dist").glob("barbwright-*.whl")
    environment = tmp_path / "venv"
    assert run(sys.executable, "-m", "venv", environment).returncode == 0
    python = environment / "bin" / "python"
    installed = run(python, "-m", "pip", "install", "--no-deps", wheel)
    assert installed.returncode == 0, installed.stderr
    # The other packages come from where the tests run; the new one stands before them.
    (site,) = (environment / "lib").glob("python*/site-packages")
    (site / "others.pth").write_text(sysconfig.get_path("purelib") + "\n")
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    where = run(python, "-c", "import barbwright; print(barbwright.__file__)", cwd=elsewhere)
    assert str(environment) in where.stdout
    barbwright = environment / "bin" / "barbwright"
    for words, shown in (
        (("list", "kits"), "park_oaks"),
        (("check", "elbow", "--tube-id", "0.170in", "--bit", "15/64", "--pressure", "45psi"),
         "elbow-t0170in-b15_64-mjf_pa12-a-"),
        (("build", "park_oaks", "-n"), "tee-t0170in"),
    ):  # fmt: skip
        done = run(barbwright, *words, cwd=elsewhere)
        assert done.returncode == 0, done.stderr
        assert shown in done.stdout
    assert list(elsewhere.iterdir()) == []
    schemas = run(python, "-c", "from importlib.resources import files; print((files('barbwright')"
                  "/ 'jobs/schemas/document.json').is_file())", cwd=elsewhere)  # fmt: skip
    assert schemas.stdout.strip() == "True"
