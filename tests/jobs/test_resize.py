"""An earlier part remade: what changed is listed, the rest stays to the last digit."""

from __future__ import annotations

import json
import os
import shutil
from pathlib import Path

import pytest

from barbwright.design.part import KINDS
from barbwright.errors import InputError, NoSizeError
from barbwright.job.reading import read_job
from barbwright.jobs.make import make_part
from barbwright.jobs.naming import next_revision
from barbwright.jobs.plan import plan_part
from barbwright.jobs.record import load_record
from barbwright.jobs.resize import changed_job, parts_in, resize_part, side_by_side
from run_cli import run

pytestmark = pytest.mark.usefixtures("models_once", "one_process")

DEMO = {
    "tube_id": "0.170in",
    "tube_od": "0.250in",
    "tube_material": "LLDPE",
    "bit": "15/64",
    "pressure": "45psi",
    "wood": "oak northern red",
}
MODELS = ("step", "stl", "3mf")


@pytest.fixture(scope="module")
def elbow(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A made elbow's folder, with the model files alone."""
    plan = plan_part(KINDS["elbow"], read_job(DEMO))
    folder, _ = make_part(plan, tmp_path_factory.mktemp("made"), MODELS)
    return folder


def test_a_new_bit_changes_the_tip_and_leaves_the_barb_to_the_last_digit(elbow: Path) -> None:
    resized = resize_part(elbow / "part.json", {"bit": "1/4in"})
    changes = side_by_side(resized)
    changed = {row["name"] for row in changes["dimensions"]}
    assert {"lead_diameter_mm", "tip_root_diameter_mm"} <= changed
    barb = {name for name in changes["unchanged"] if "crest" in name or "root_diameter" in name}
    assert {"crest_diameter_mm", "root_diameter_mm"} <= barb
    old = json.loads((elbow / "part.json").read_text())["dimensions"]
    new = resized.plan
    assert new.design is not None
    assert float(new.design.barbs[0].crest_mm) == old["crest_diameter_mm"]


def test_the_old_folder_is_untouched_and_the_new_one_is_a_revision_on(
    elbow: Path, tmp_path: Path
) -> None:
    copy = tmp_path / elbow.name
    shutil.copytree(elbow, copy)
    before = {path.name: path.read_bytes() for path in copy.iterdir()}
    resized = resize_part(copy, {"bit": "1/4in"})
    folder, body = make_part(resized.plan, tmp_path, ("stl",))
    assert folder != copy
    assert body["revision"] == "b"
    assert "-b-" in folder.name
    # From top to bottom: the longest word stands where the pad is widest.
    assert body["mark"]["text"].split() == ["1/4", "T.170", "E-B"]
    assert {path.name: path.read_bytes() for path in copy.iterdir()} == before


def test_every_check_stands_old_beside_new(elbow: Path) -> None:
    changes = side_by_side(resize_part(elbow, {"pressure": "55psi"}))
    ids = {row["id"] for row in changes["checks"]}
    assert {"wood_hold", "barb_seal", "tube_rating"} <= ids
    hold = next(row for row in changes["checks"] if row["id"] == "tube_rating")
    assert hold["new_safety_factor"] == pytest.approx(
        hold["old_safety_factor"] * 45.0 / 55.0, rel=1e-5
    )


def test_a_new_bit_drops_the_old_bits_measured_hole() -> None:
    old = read_job({**DEMO, "hole": "6.1mm"})
    new = changed_job(KINDS["elbow"], old, {"bit": "1/4in"}, ())
    assert new.hole_mm is None
    assert "hole" not in new.inputs


def test_what_is_not_named_comes_from_the_record_not_from_todays_profiles(
    elbow: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "judgement.toml").write_text(
        'land_mm = { value = 1.6, unit = "mm", least = 0.2, most = 3.0, status = "judgement", '
        'source = "judgement", meaning = "another land" }\n'
    )
    monkeypatch.setenv("BARBWRIGHT_PROFILES", str(tmp_path))
    assert read_job(DEMO).rules["land_mm"] == 1.6
    resized = resize_part(elbow, {"bit": "1/4in"})
    assert resized.plan.job.rules["land_mm"] == 0.8


def test_a_forced_size_is_kept_and_another_joins_it() -> None:
    old = read_job(DEMO, settings=("land=1mm",))
    new = changed_job(KINDS["elbow"], old, {}, ("crest=5.3mm",))
    assert new.forced == {"land": 1.0, "crest": 5.3}


@pytest.mark.parametrize(("options", "settings"), [({}, ()), ({"clamp": False, "bit": None}, ())])
def test_nothing_to_change_is_said(
    elbow: Path, options: dict[str, object], settings: tuple[str, ...]
) -> None:
    with pytest.raises(InputError, match="nothing to change"):
        resize_part(elbow, options, settings)


def test_what_cannot_be_drawn_is_refused_by_the_record_it_would_be_made_from(
    elbow: Path, tmp_path: Path
) -> None:
    with pytest.raises(NoSizeError) as refused:
        resize_part(elbow, {"bit": "11/64"})
    assert all(fault.what.startswith(f"{elbow}: ") for fault in refused.value.faults)
    record = tmp_path / "part.json"
    body = json.loads((elbow / "part.json").read_text())
    body["job"]["forced"]["lead"] = 2.1
    record.write_text(json.dumps(body))
    for words in (("make", "--from", record, "-n"), ("check", "driver", "--for", record)):
        done = run(*words)
        assert done.code == 2
        assert f"barbwright: {record}: the tip's bore of 2.00 mm leaves no wall" in done.err


@pytest.mark.parametrize(
    "content", ["", "{", "[]", '{"part": "elbow"}', '{"part": "spoon", "job": {}}', "null", '"x"']
)
def test_a_damaged_record_is_refused_in_words(tmp_path: Path, content: str) -> None:
    path = tmp_path / "part.json"
    path.write_text(content)
    with pytest.raises(InputError, match=r"no part\.json of ours|damaged"):
        load_record(path)


def test_a_missing_record_is_refused_in_words(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"no part\.json there"):
        load_record(tmp_path / "part.json")


@pytest.mark.parametrize(
    ("letter", "following"), [("a", "b"), ("y", "z"), ("z", "aa"), ("az", "ba"), ("zz", "aaa")]
)
def test_revision_letters_advance(letter: str, following: str) -> None:
    assert next_revision(letter) == following


@pytest.mark.slow
def test_a_kits_folder_gives_each_kind_in_its_highest_revision(elbow: Path, tmp_path: Path) -> None:
    shutil.copytree(elbow, tmp_path / elbow.name)
    resized = resize_part(elbow, {"bit": "1/4in"})
    newer, _ = make_part(resized.plan, tmp_path, ("stl",))
    tip, _ = make_part(plan_part(KINDS["tip"], read_job(DEMO)), tmp_path, ("stl",))
    (tmp_path / "notes").mkdir()
    held = parts_in(tmp_path)
    assert set(held.taken) == {newer, tip}
    assert dict(held.left_out) == {
        tmp_path / elbow.name: "revision A, older than revision B",
        tmp_path / "notes": "no part of ours in it",
    }


def test_parts_further_down_are_found_and_what_is_left_out_has_its_own_reason(
    elbow: Path, tmp_path: Path
) -> None:
    deep = tmp_path / "town" / "park" / elbow.name
    shutil.copytree(elbow, deep)
    beside = tmp_path / "field" / elbow.name
    shutil.copytree(elbow, beside)
    (tmp_path / "field" / "empty" / "emptier").mkdir(parents=True)
    (tmp_path / "gauge").mkdir()
    (tmp_path / "gauge" / "coupon.json").write_text("{}")
    (tmp_path / "town" / "loop").symlink_to(tmp_path, target_is_directory=True)
    shutil.copytree(elbow, deep / "copy")
    held = parts_in(tmp_path)
    assert set(held.taken) == {deep, beside}
    left = dict(held.left_out)
    assert left[tmp_path / "field" / "empty"] == "no part of ours in it"
    assert left[tmp_path / "gauge"] == "a fit gauge; name its folder"
    assert left[deep / "copy"] == "stands in a part's own folder; name it"
    assert "looked at already" in left[tmp_path / "town" / "loop"]
    assert len(left) == 4
    (said,) = held.said
    assert f"town/park/{elbow.name}" in said


def test_a_folder_that_cannot_be_read_is_not_called_empty(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "shut").mkdir()
    plain = Path.iterdir

    def iterdir(place: Path) -> object:
        if place.name == "shut":
            raise PermissionError(13, "Permission denied")
        return plain(place)

    monkeypatch.setattr(Path, "iterdir", iterdir)
    ((left, because),) = parts_in(tmp_path).left_out
    assert (left.name, because) == ("shut", "cannot be read: Permission denied")


def test_two_parts_of_one_kind_and_revision_are_both_taken_and_both_named(
    elbow: Path, tmp_path: Path
) -> None:
    shutil.copytree(elbow, tmp_path / elbow.name)
    shutil.copytree(elbow, tmp_path / "another")
    held = parts_in(tmp_path)
    assert set(held.taken) == {tmp_path / elbow.name, tmp_path / "another"}
    (said,) = held.said
    assert elbow.name in said
    assert "another" in said


@pytest.mark.slow
def test_the_command_remakes_every_tip_of_a_kit_and_leaves_the_barb(tmp_path: Path) -> None:
    words = [
        text for name, value in DEMO.items() for text in ("--" + name.replace("_", "-"), value)
    ]
    for part in ("elbow", "barb"):
        made = run("make", part, *words, "--formats", "step,stl,3mf", "-o", tmp_path)
        assert made.code == 0, made.err
    done = run("resize", tmp_path, "--bit", "1/4in", "--formats", "step,stl,3mf")
    assert done.code == 0, done.err
    assert "lead_diameter_mm" in done.out
    assert "barb" in done.err
    assert "not concerned" in done.err
    assert "barb-" in done.err
    revisions = sorted(load_record(path)[2] for path in tmp_path.iterdir())
    assert revisions == ["a", "a", "b"]


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("revision", "/../../../evil"),
        ("revision", "a\n"),
        ("part_number", "\x1b]0;owned\x07"),
        ("warnings", ["turned \u202e round"]),
        ("job.temperature_c", 1e9),
        ("job.pressure_mpa", 1e308),
        ("job.pressure_mpa", "0.3"),
    ],
)
def test_a_hostile_field_of_a_record_is_refused_in_words(
    elbow: Path, tmp_path: Path, field: str, value: object
) -> None:
    body = json.loads((elbow / "part.json").read_text())
    *above, name = field.split(".")
    (body[above[0]] if above else body)[name] = value
    (tmp_path / "part.json").write_text(json.dumps(body))
    with pytest.raises(InputError, match="damaged"):
        load_record(tmp_path)


def test_a_pipe_deep_nesting_and_a_name_too_long_are_refused_at_once(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.json")
    with pytest.raises(InputError, match="not a plain file"):
        load_record(tmp_path / "pipe.json")
    (tmp_path / "deep.json").write_text("[" * 100_000)
    with pytest.raises(InputError, match="damaged"):
        load_record(tmp_path / "deep.json")
    with pytest.raises(InputError, match="cannot read"):
        load_record(tmp_path / ("n" * 300))


def test_a_part_for_the_bench_alone_is_resized_as_it_was_made(tmp_path: Path) -> None:
    """`make` writes it, marked, and ends with 0: what it may, another size of it may as well."""
    asked = ("--tube", "LLDPE 1/4 x 3/8 in", "--bit", "6mm", "--pressure", "3bar")
    bench = ("--material", "fff_pla", "--use", "fit", "--formats", "step")
    made = run("make", "barb", *asked, *bench, "-o", tmp_path)
    assert made.code == 0, made.err
    (folder,) = tmp_path.iterdir()
    done = run("resize", folder, "--pressure", "2.5bar", "--formats", "step")
    assert (done.code, done.err) == (0, "")
    assert "FIT ONLY: not for a tree" in done.out
    assert [one.name.endswith("_fit_only") for one in tmp_path.iterdir()] == [True, True]
