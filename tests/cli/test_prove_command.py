"""`prove --png` and `make --prove`: pictures, sheet and record of a proved part."""

import hashlib
import json
import sys
from importlib.util import find_spec

import pytest

from barbwright.jobs.build import _why as why_made
from barbwright.jobs.papers import StressPapers
from barbwright.jobs.plan import plan_part
from barbwright.jobs.prove import worst_cases
from barbwright.jobs.record import load_record
from barbwright.prove import CASE_IDS
from barbwright.report.notices import NOT_RATED
from run_cli import DEMO, MODELS, TUBE, VALIDATOR, run, run_fresh

CAP = (*TUBE, "--pressure", "45psi")
needs_engine = pytest.mark.skipif(find_spec("ngsolve") is None, reason="needs the extra fe")


def contents(folder):
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


@pytest.fixture(scope="module")
def cap(tmp_path_factory):
    """A cap, made with --prove: what was printed, and its folder."""
    output = tmp_path_factory.mktemp("proved")
    done = run("make", "cap", *CAP, "--prove", "--formats", "step,stl,3mf,png,html",
               "-o", output, "--json", "-q")  # fmt: skip
    assert done.code == 0, done.err
    (folder,) = output.iterdir()
    return done.document, folder


@pytest.mark.slow
@needs_engine
def test_the_picture_is_in_the_folder_and_in_the_record(cap):
    printed, folder = cap
    # At work the cap is nearest to its allowable: one picture says both.
    assert sorted(contents(folder)) == [
        "contact.png", "part.3mf", "part.json", "part.png", "part.step", "part_mm.stl",
        "part_unmarked.step", "sheet.html", "stress.png",
    ]  # fmt: skip
    record = json.loads((folder / "part.json").read_text())
    VALIDATOR.validate(record)
    rows = {row["path"]: row for row in record["files"]}
    data = (folder / "stress.png").read_bytes()
    assert rows["stress.png"] == {
        "path": "stress.png", "format": "png", "unit": "", "bytes": len(data),
        "sha256": hashlib.sha256(data).hexdigest(),
    }  # fmt: skip
    assert record["finite_elements"] == printed["finite_elements"]


@pytest.mark.slow
@needs_engine
def test_the_record_holds_what_was_found_and_no_times(cap):
    _, folder = cap
    found = json.loads((folder / "part.json").read_text())["finite_elements"]
    assert [case["id"] for case in found["cases"]] == ["working", "proof"]
    assert all(case["converged"] and case["last_change"] > 0.0 for case in found["cases"])
    peak = found["cases"][0]["peak_von_mises_mpa"]
    # The liquid pushes on the nose, so a plain barb is the least; tests/prove derives the most.
    assert 1.0 < peak / found["lame_von_mises_mpa"] < 1.25
    assert "seconds" not in (folder / "part.json").read_text()
    page = (folder / "sheet.html").read_text()
    section = page[page.index('<section id="stress"') : page.index('<section id="stack"')]
    assert "Stress in the part as drawn" in section
    # The stress, and the tube on its barb.
    assert section.count('src="data:image/png;base64,') == 2
    assert f"{peak:.2f}" in section


@pytest.mark.slow
@needs_engine
def test_whatever_reads_a_record_takes_it(cap, tmp_path):
    _, folder = cap
    for arguments in (
        ("make", "--from", folder, "-n"),
        ("resize", folder, "--pressure", "40psi", "-n"),
        ("order", folder, "-o", tmp_path / "order.zip"),
    ):
        done = run(*arguments, "-q")
        assert done.code == 0, (arguments[0], done.err)
    # A kit's build leaves a part alone that is there and as it was written.
    kind, job, revision, _ = load_record(folder)
    plan = plan_part(kind, job, revision)
    formats = ("step", "stl", "3mf", "png", "html")
    assert why_made(plan, folder, formats, False) == ""
    assert why_made(plan, folder, (*formats, "pdf"), False) == "pdf was not written"


@pytest.mark.slow
@needs_engine
def test_proving_the_made_part_draws_the_same_picture_to_the_byte(cap, tmp_path):
    _, folder = cap
    png = tmp_path / "wall.png"
    png.write_bytes(b"an older picture")
    done = run("prove", folder, "--png", png)
    assert done.code == 0, done.err
    assert done.out.splitlines()[-1] == f"written and verified: {png}"
    assert png.read_bytes() == (folder / "stress.png").read_bytes()
    assert list(tmp_path.iterdir()) == [png], "nothing temporary is left"


@pytest.mark.slow
@needs_engine
def test_a_made_part_is_judged_as_its_record_says_and_keeps_its_own_files(cap):
    _, folder = cap
    before = contents(folder)
    for arguments, said in (
        (("--pressure", "90psi"), "judged as its record says (given: --pressure)"),
        (("--set", "root=5mm", "--bit", "1/4in"), "--bit, --set"),
        (("--png", folder / "part.png"), "a made part's own file"),
    ):
        done = run("prove", folder, *arguments)
        assert done.code == 2
        assert said in done.err
        assert done.out == ""
    assert contents(folder) == before


def test_a_kind_s_name_is_the_kind_whatever_stands_in_the_folder(tmp_path, monkeypatch):
    (tmp_path / "driver").mkdir()
    monkeypatch.chdir(tmp_path)
    done = run("prove", "driver", *CAP, "--bit", "15/64")
    assert done.code == 2
    assert "carry pressure" in done.err


@pytest.mark.slow
@needs_engine
def test_a_remake_without_prove_leaves_no_trace_of_it(cap, tmp_path):
    """The engine is loaded by now: the models' bytes must not change with it."""
    _, folder = cap
    fresh = run_fresh("make", "cap", *CAP, *MODELS, "-o", tmp_path / "fresh", "-q")
    assert fresh.code == 0, fresh.err
    here = tmp_path / "here" / folder.name
    here.mkdir(parents=True)
    for name in ("part.json", "stress.png"):
        (here / name).write_bytes((folder / name).read_bytes())
    done = run("make", "--from", here, *MODELS, "--force", "-o", here.parent, "-q")
    assert done.code == 0, done.err
    assert contents(here) == contents(tmp_path / "fresh" / folder.name)


# --- said before anything is begun ----------------------------------------------------------


@needs_engine
def test_all_that_is_wrong_with_a_picture_is_said_at_once(tmp_path):
    where = tmp_path / "nowhere" / "stress.png"
    done = run("prove", "cap", *CAP, "--png", where, "--case", "driving", "-q")
    assert done.code == 2
    assert done.err.count("\n") == 2
    assert "working, proof" in done.err
    assert "side" not in done.err
    assert "folder is not there" in done.err
    assert "meshing" not in done.err
    assert list(tmp_path.iterdir()) == []


@needs_engine
@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("prove", "tee", *DEMO, "--png", "a.png", "--case", "storm"), ", ".join(CASE_IDS)),
        (("prove", "tee", *DEMO, "--png", "a.jpg"), ".png"),
        (("prove", "tee", *DEMO, "--png", "."), ".png"),
        (("prove", "tee", *DEMO, "--case", "side"), "--png FILE"),
        (("prove", "fork", *DEMO, "--png", "a.png"), "name a barb, tip, elbow, tee or cap"),
        (("make", "fork", *DEMO, "--prove"), "name a barb, tip, elbow, tee or cap"),
        (("make", "tee", *DEMO, "--prove", "--formats", "stl,html"), "add step to the list"),
    ],
)
def test_what_cannot_be_is_refused_in_one_message(tmp_path, monkeypatch, arguments, said):
    monkeypatch.chdir(tmp_path)
    done = run(*arguments, "-q")
    assert done.code == 2
    assert done.err.count("\n") == 1
    assert said in done.err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "arguments", [("make", "cap", *CAP, "--prove"), ("prove", "cap", *CAP, "--png", "a.png")]
)
def test_without_the_engine_one_line_and_nothing_made(tmp_path, monkeypatch, arguments):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setitem(sys.modules, "ngsolve", None)
    done = run(*arguments, "-q")
    assert done.code == 2
    assert done.err.count("\n") == 1
    assert "pip install 'barbwright[fe]'" in done.err
    assert list(tmp_path.iterdir()) == []


# --- names ----------------------------------------------------------------------------------


def test_the_worst_case_has_a_picture_of_its_own_name():
    class Case:
        def __init__(self, name, factor):
            self.id, self.safety_factor = name, factor

    cases = [Case("working", 4.0), Case("proof", 24.0), Case("driving", 1.1)]
    assert worst_cases(cases) == ("working", "driving")
    assert worst_cases(cases[:2]) == ("working",)
    assert StressPapers(result=None, cases=worst_cases(cases)).names("_not_passed") == {
        "working": "stress_not_passed.png",
        "driving": "stress_driving_not_passed.png",
    }


def test_help_names_every_load_case():
    words = " ".join(run("prove", "--help").out.split())
    assert ", ".join(CASE_IDS[:-1]) in words
    assert CASE_IDS[-1] in words
    assert "--png" in words
    assert "finite elements" in " ".join(run("make", "--help").out.split())


@needs_engine
@pytest.mark.slow
def test_the_same_bytes_in_any_process_and_a_part_that_did_not_pass_says_so(tmp_path):
    """A cap on a tube too soft for it: made anyway, twice, under two hash seeds."""
    soft = ("--tube-id", "6mm", "--tube-od", "9mm", "--tube-material", "PVC", "--shore", "65",
            "--bit", "15/64", "--pressure", "30psi")  # fmt: skip
    made = []
    for seed in ("1", "2"):
        done = run_fresh("make", "cap", *soft, "--anyway", "--prove", "-q", "-o", tmp_path / seed,
                         environment={"PYTHONHASHSEED": seed})  # fmt: skip
        assert done.code == 3, done.err
        (folder,) = (tmp_path / seed).iterdir()
        made.append(contents(folder))
    assert made[0] == made[1]
    record = json.loads(made[0]["part_not_passed.json"])
    VALIDATOR.validate(record)
    cases = record["finite_elements"]["cases"]
    least = min(cases, key=lambda case: case["safety_factor"])["id"]
    pictures = {name for name in made[0] if name.startswith("stress")}
    expected = {"stress_not_passed.png"}
    if least != "working":
        expected.add(f"stress_{least}_not_passed.png")
    assert pictures == expected
    assert pictures <= {row["path"] for row in record["files"]}


@pytest.mark.parametrize("case", ["seal", "seat_in_wood"])
def test_a_contact_or_a_seat_alone_carries_the_notice_too(monkeypatch, case):
    """What is told of them is not of interest here, and takes minutes."""
    monkeypatch.setattr("barbwright.cli.prove.prove_contact", lambda *_, **__: ())
    monkeypatch.setattr("barbwright.cli.prove.prove_seated", lambda *_, **__: None)
    monkeypatch.setattr("barbwright.cli.prove.seated_lines", lambda _: ["as it was found"])
    done = run("prove", "elbow", "--tube", "LLDPE 4 x 6 mm", "--bit", "6mm", "--pressure", "3bar",
               "--case", case, "-q")  # fmt: skip
    assert done.code == 0
    assert " ".join(done.out.split()).endswith(NOT_RATED)
