"""What make leaves on disk: verified files, the same twice, or nothing at all."""

import hashlib
import json
import os
import re
import stat

import pytest

from barbwright.jobs.record import PINNED
from run_cli import DEMO, MODELS, THREE, TUBE, VALIDATOR, run, run_fresh

pytestmark = pytest.mark.usefixtures("one_process")

BARB = ("--tube-id", "0.170in", "--tube-od", "0.250in", "--tube-material", "LLDPE",
        "--pressure", "45psi")  # fmt: skip
PVC = ("--tube-id", "6mm", "--tube-od", "9mm", "--tube-material", "PVC", "--shore", "65",
       "--bit", "15/64", "--pressure", "30psi")  # fmt: skip
MODEL_NAMES = {"part.step", "part_unmarked.step", "part_mm.stl", "part.3mf", "part.json"}


def contents(folder):
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


@pytest.fixture(scope="module")
def elbow(tmp_path_factory):
    """A made elbow: what was printed, and its folder."""
    output = tmp_path_factory.mktemp("out")
    done = run("make", "elbow", *DEMO, *MODELS, "-o", output, "--json")
    assert done.code == 0, done.err
    (folder,) = output.iterdir()
    return done, folder


@pytest.fixture(scope="module")
def barb(tmp_path_factory):
    output = tmp_path_factory.mktemp("out")
    done = run("make", "barb", *BARB, *MODELS, "-o", output)
    assert done.code == 0, done.err
    (folder,) = output.iterdir()
    return done, folder


def test_a_made_part_has_its_files_and_its_document(elbow):
    done, folder = elbow
    body = done.document
    assert set(contents(folder)) == MODEL_NAMES
    assert folder.name == body["part_number"]
    assert {row["path"] for row in body["files"]} == {str(folder / name) for name in MODEL_NAMES}
    for row in body["files"]:
        data = (folder / os.path.basename(row["path"])).read_bytes()
        assert row["bytes"] == len(data)
        assert row["sha256"] == hashlib.sha256(data).hexdigest()
        assert row["unit"] == ("" if row["format"] == "json" else "mm")


def test_part_json_holds_to_the_schema_and_to_what_was_printed(elbow):
    done, folder = elbow
    record = json.loads((folder / "part.json").read_text())
    VALIDATOR.validate(record)
    assert set(record["versions"]) == {"barbwright", *PINNED}
    printed = done.document
    same = set(printed) - {"files"}
    assert {name: record[name] for name in same} == {name: printed[name] for name in same}
    assert {row["path"] for row in record["files"]} == MODEL_NAMES - {"part.json"}


def test_no_path_of_this_machine_gets_into_a_file(elbow):
    _, folder = elbow
    text = (folder / "part.json").read_text() + (folder / "part.step").read_text()[:3000]
    for place in (str(folder.parent), os.path.expanduser("~"), os.getcwd()):
        assert place not in text


@pytest.mark.slow
def test_remade_from_its_record_every_byte_is_the_same(elbow, tmp_path):
    _, folder = elbow
    done = run("make", "--from", folder / "part.json", *MODELS, "-o", tmp_path, "-q")
    assert done.code == 0, done.err
    assert contents(tmp_path / folder.name) == contents(folder)


@pytest.mark.slow
def test_a_remake_does_not_depend_on_what_the_profiles_say_now(barb, tmp_path):
    """In a fresh process, with another hash seed, and with a judgement number overridden."""
    _, folder = barb
    profiles = tmp_path / "profiles"
    profiles.mkdir()
    line = '{ value = 1.4, unit = "mm", least = 0.2, most = 3.0, status = "own", '
    (profiles / "judgement.toml").write_text(
        f'land_mm = {line}source = "user_profile", meaning = "flat on each crest" }}\n'
    )
    mine = {"BARBWRIGHT_PROFILES": str(profiles), "PYTHONHASHSEED": "7"}
    other = run_fresh("check", "barb", *BARB, "--json", environment=mine)
    assert other.document["dimensions"]["land_mm"] == 1.4, other.err
    assert other.document["inputs"]["set land_mm"]["from"] == "set by the user (user profile)"
    assert other.document["part_number"] != folder.name
    done = run_fresh("make", "--from", folder, *MODELS, "-o", tmp_path / "out", environment=mine)
    assert done.code == 0, done.err
    assert contents(tmp_path / "out" / folder.name) == contents(folder)


def test_a_dry_run_writes_nothing(tmp_path):
    done = run("make", "elbow", *DEMO, "-n", "-o", tmp_path / "out")
    assert done.code == 0
    assert not (tmp_path / "out").exists()


def test_a_fail_writes_nothing(tmp_path):
    done = run("make", "barb", *PVC, *MODELS, "-o", tmp_path)
    assert done.code == 3
    assert "FAIL barb_grip" in done.err
    assert list(tmp_path.iterdir()) == []


def test_anyway_marks_the_part_everywhere_and_still_exits_3(tmp_path):
    done = run("make", "tip", *PVC, "--anyway", *MODELS, "-o", tmp_path)
    assert done.code == 3
    (folder,) = tmp_path.iterdir()
    assert folder.name.endswith("_not_passed")
    names = set(contents(folder))
    assert names == {"part_not_passed.step", "part_not_passed_unmarked.step",
                     "part_not_passed_mm.stl", "part_not_passed.3mf",
                     "part_not_passed.json"}  # fmt: skip
    record = json.loads((folder / "part_not_passed.json").read_text())
    VALIDATOR.validate(record)
    assert record["mark"]["text"] == "X"
    assert record["passed"] is False
    assert "NOT PASSED" in done.out
    step = (folder / "part_not_passed.step").read_text()
    assert "_not_passed" in re.search(r"PRODUCT\('([^']*)'", step)[1]


def test_a_folder_that_is_there_stays_as_it_is_without_force(barb):
    _, folder = barb
    before = contents(folder)
    done = run("make", "barb", *BARB, *MODELS, "-o", folder.parent)
    assert done.code == 2
    assert "--force" in done.err
    assert contents(folder) == before


def test_force_remakes_it_and_keeps_the_users_own_files(barb):
    _, folder = barb
    before = contents(folder)
    (folder / "notes.txt").write_text("mine")
    (folder / "part.step").write_text("spoilt")
    done = run("make", "barb", *BARB, *MODELS, "-o", folder.parent, "--force")
    assert done.code == 0, done.err
    after = contents(folder)
    assert after.pop("notes.txt") == b"mine"
    (folder / "notes.txt").unlink()
    assert after == before


def test_an_output_that_is_a_file_is_refused_and_nothing_is_left(tmp_path):
    taken = tmp_path / "out"
    taken.write_text("a file")
    done = run("make", "barb", *BARB, *MODELS, "-o", taken)
    assert done.code == 4, done.err
    assert "Traceback" not in done.err
    assert "unexpected" not in done.err
    assert taken.read_text() == "a file"
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_an_output_that_may_not_be_written_is_refused(tmp_path):
    tmp_path.chmod(stat.S_IREAD | stat.S_IEXEC)
    done = run("make", "barb", *BARB, *MODELS, "-o", tmp_path / "out")
    tmp_path.chmod(stat.S_IRWXU)
    assert done.code == 4
    assert list(tmp_path.iterdir()) == []


def test_a_place_that_cannot_hold_folders_is_refused():
    done = run("make", "barb", *BARB, *MODELS, "-o", "/proc/nowhere")
    assert done.code == 4, done.err
    assert "Traceback" not in done.err


@pytest.mark.parametrize("text", ["", "{}", "[]", "null", '{"part": "elbow"}', "\x00", "{" * 5000,
                                  '{"part": "elbow", "job": {}, "revision": "a"}'])  # fmt: skip
def test_a_damaged_record_is_refused(tmp_path, text):
    (tmp_path / "part.json").write_text(text)
    done = run("make", "--from", tmp_path / "part.json", "-n")
    assert done.code == 2
    assert "Traceback" not in done.err
    assert "unexpected" not in done.err


def test_a_record_with_one_value_spoilt_is_refused_or_judged_never_a_traceback(elbow):
    """Every leaf of the job replaced in turn by something it cannot be."""
    _, folder = elbow
    record = json.loads((folder / "part.json").read_text())

    def leaves(value, path=()):
        items = value.items() if isinstance(value, dict) else enumerate(value)
        for key, item in items:
            if isinstance(item, (dict, list)) and item:
                yield from leaves(item, (*path, key))
            else:
                yield (*path, key)

    spoilt = folder.parent / "spoilt.json"
    for path in list(leaves(record["job"]))[::9]:
        body = json.loads(json.dumps(record))
        place = body["job"]
        for key in path[:-1]:
            place = place[key]
        place[path[-1]] = {"not": "this"}
        spoilt.write_text(json.dumps(body))
        done = run("make", "--from", spoilt, "-n", "-q")
        assert done.code in {0, 2, 3}, (path, done.err)
        assert "unexpected" not in done.err, (path, done.err)
    spoilt.unlink()


def test_from_takes_no_other_inputs(elbow):
    _, folder = elbow
    done = run("make", "tee", "--from", folder, "--bit", "1/4", "--set", "land=1mm", "-n")
    assert done.code == 2
    assert "--from" in done.err
    assert "tee, --bit, --set" in done.err


def test_json_and_words_say_the_same_number(elbow):
    done, _ = elbow
    words = run("check", "elbow", *DEMO)
    assert words.out.startswith(done.document["part_number"] + ":")
    # Re-pinned: no pressure in it, and a hash in every number.
    number = run("check", "elbow", *THREE).out.split(":")[0]
    assert number.startswith("elbow-t0170in-b15_64-mjf_pa12-a-")
    assert "psi" not in number


@pytest.mark.slow
def test_a_graded_set_of_a_refused_material_without_a_size_is_refused():
    refused = ("--bit", "11/64", "--material", "fff_pla", "--temperature", "50C")
    asked = ("make", "elbow", *TUBE, *refused, "--pressure", "45psi", "--grades", "-n")
    done = run(*asked)
    assert done.code == 3
    assert done.out.count(": all as above") == 2
    assert len(json.loads(run(*asked, "--json").out)["grades"]) == 3


def test_a_graded_set_is_written_whole_or_not_at_all(tmp_path):
    out = tmp_path / "out"
    first = run("make", "tip", *DEMO, "--grades", "-n", "--json")
    names = [part["part_number"] for part in json.loads(first.out)["grades"]]
    mine = out / names[1]
    mine.mkdir(parents=True)
    (mine / "notes.txt").write_text("mine")
    done = run("make", "tip", *DEMO, *MODELS, "--grades", "-o", out)
    assert done.code == 2
    assert "1 of 3 folders are already there" in done.err
    assert names[1] in done.err.replace("\n", "").replace(" ", "")
    assert "--force" in done.err
    assert [path.name for path in out.iterdir()] == [names[1]]
    assert (mine / "notes.txt").read_text() == "mine"
