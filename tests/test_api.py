"""`import barbwright`: a small typed surface, loaded when asked for, that does what commands do."""

import doctest
import importlib
import inspect
import pkgutil
import re
import subprocess
import sys

import pytest

import barbwright
from barbwright import api
from run_cli import run

pytestmark = pytest.mark.usefixtures("one_process")

JOB = {"tube": "LLDPE 4 x 6 mm", "bit": "6mm", "pressure": "3bar", "wood": "sugar maple"}


def test_importing_loads_nothing_and_the_functions_stay_functions():
    for package in pkgutil.iter_modules(barbwright.__path__):
        importlib.import_module(f"barbwright.{package.name}")
    for name in barbwright.__all__:
        assert inspect.isfunction(getattr(barbwright, name)), name
        assert getattr(barbwright, name) is getattr(api, name)
    code = "import barbwright, sys; print([m for m in sys.modules if m.startswith('barbwright.')])"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True,
        env={"PYTHONPATH": ":".join(filter(None, sys.path))},
    )  # fmt: skip
    assert done.stdout.strip() == "[]"


def test_what_is_not_there_is_no_attribute():
    with pytest.raises(AttributeError, match="nosuch"):
        _ = barbwright.nosuch


def test_the_examples_in_the_docstrings_are_true():
    failed, tried = doctest.testmod(api)
    assert tried > 10
    assert failed == 0


@pytest.mark.parametrize("name", barbwright.__all__)
def test_every_function_reads_like_a_manual(name):
    function = getattr(barbwright, name)
    words = inspect.getdoc(function)
    signature = inspect.signature(function)
    assert signature.return_annotation is not inspect.Signature.empty
    for section in ("Parameters", "Returns", "Raises" if name != "rate_part" else "Examples"):
        assert f"{section}\n{'-' * len(section)}" in words, section
    for parameter in signature.parameters.values():
        assert parameter.annotation is not inspect.Parameter.empty
        assert re.search(rf"^(\*\*)?{parameter.name}(, \w+)* :", words, re.MULTILINE), parameter


def test_a_script_gets_what_the_command_says():
    elbow = barbwright.check_part("elbow", barbwright.read_job("elbow", **JOB))
    options = [word for name, text in JOB.items() for word in (f"--{name}", text)]
    body = run("check", "elbow", *options, "--json").document
    assert (elbow.number, elbow.verdict) == (body["part_number"], body["verdict"])
    assert [one.info.id for one in elbow.results] == [one["id"] for one in body["checks"]]


def test_a_size_is_forced_as_with_set():
    job = barbwright.read_job("tip", **JOB, settings={"bark_mm": "12mm"})
    plain = barbwright.read_job("tip", **JOB)
    longer, shorter = (barbwright.design_part("tip", one).tip.seat_mm for one in (job, plain))
    assert longer == pytest.approx(shorter + 4.0)


def test_wrong_texts_come_back_all_at_once():
    with pytest.raises(barbwright.errors.InputError) as found:
        barbwright.read_job("elbow", tube_id="4", bit="17/99", pressure="fast")
    assert len(found.value.faults) == 3


def test_a_notebook_shows_a_part_without_writing_anything(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    page = barbwright.check_part("elbow", barbwright.read_job("elbow", **JOB))._repr_html_()
    assert "<svg" in page
    assert "wood_hold" in page
    assert "PASS" in page
    # A pass says what it leans on here too, and a printed part what it is not.
    assert "once proved in the field (wood_hold" in page
    assert "Not pressure rated" in page
    assert 'width="100%"' in page
    assert 'role="img" aria-label="Half section' in page
    assert "<th></th>" not in page
    assert not list(tmp_path.iterdir())


def test_in_a_terminal_a_part_is_one_line():
    part = barbwright.check_part("elbow", barbwright.read_job("elbow", **JOB))
    assert repr(part).startswith(f"<{part.number}: chain-end elbow, PASS, once proved")
    assert len(repr(part)) < 200


@pytest.mark.slow
def test_what_else_the_functions_return_is_a_line_or_two_as_well():
    job = barbwright.read_job("elbow", **JOB)
    chain = barbwright.plan_chain(job, ports="3", species="red oak")
    rating = barbwright.rate_part("elbow", job, temperatures_c=[30.0])
    told = [repr(one) for one in (job, chain, chain.solve(), rating)]
    assert all(len(text) < 250 and "\n" not in text for text in told)
    # What was typed, and not what a table or a default put beside it.
    assert all(f" {text}" in told[0] for text in JOB.values())
    assert "default" not in told[0]
    assert told[1].startswith("<chain of 3 ports, red oak, of tee-")
    assert told[2].startswith("<chain of 3 ports: ")
    assert "chain-end elbow at 30 C: no fail up to " in told[3]


@pytest.mark.slow
def test_a_made_part_is_shown_by_its_picture(tmp_path):
    job = barbwright.read_job("barb", tube="LLDPE 4 x 6 mm", pressure="3bar")
    made = barbwright.make_part("barb", job, tmp_path, formats=["stl", "png"])
    assert {path.suffix for path in made.files} >= {".stl", ".png"}
    assert "data:image/png;base64" in made._repr_html_()
    assert repr(made) == f"<{made.folder}: {len(made.files)} files>"
    assert all(path.is_file() for path in made.files)
