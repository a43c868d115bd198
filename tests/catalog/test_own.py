"""A figure that is not a shipped one is never silent: on terminal, sheet, order and in JSON."""

import json

import pytest

from barbwright import catalog
from barbwright.catalog.folders import USER_FOLDER_VARIABLE, shipped_folder, unread_profiles
from barbwright.catalog.own import own_tables, own_uptake
from barbwright.catalog.tables import uptakes_in
from barbwright.job.reading import read_job
from barbwright.job.record import Job
from barbwright.jobs.read_back import decode
from barbwright.jobs.record import encode
from run_cli import DEMO, run

pytestmark = pytest.mark.usefixtures("one_process")

ROW = 'status = "own"\nsource = "user_profile"\n'


@pytest.fixture
def user(tmp_path, monkeypatch):
    folder = tmp_path / "profiles"
    folder.mkdir()
    monkeypatch.setenv(USER_FOLDER_VARIABLE, str(folder))
    return folder


def copied(user, name, old, new):
    """A shipped file in the user's folder, with one figure changed."""
    text = (shipped_folder() / name).read_text(encoding="utf-8")
    assert old in text
    path = user / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


# Table, what is changed in it, and the name by which it is told.
STAND_INS = [
    ("materials/mjf_pa12.toml", "strength_xy_mpa = { value = 4", "strength_xy_mpa = { value = 14",
     "MJF PA12"),
    ("hub_crossing.toml", "von_mises = [5.92", "von_mises = [5.99", "hub_crossing"),
    ("bits.toml", '"15/64" = 5.953125', '"15/64" = 5.96', "bit 15/64"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "old", "new", "told"), STAND_INS, ids=lambda text: text[:12])
def test_a_shipped_figure_that_was_changed_is_said_and_numbered(
    user, tmp_path, monkeypatch, name, old, new, told
):
    # Files are read once a process and folder.
    monkeypatch.setenv(USER_FOLDER_VARIABLE, str(tmp_path))
    honest = json.loads(run("check", "tee", *DEMO, "--json").out)
    monkeypatch.setenv(USER_FOLDER_VARIABLE, str(user))
    assert not any("not the shipped" in text for text in honest["warnings"])
    copied(user, name, old, new)
    done = run("check", "tee", *DEMO, "--json")
    body = json.loads(done.out)
    assert any(told in text for text in body["warnings"]), body["warnings"]
    assert body["part_number"] != honest["part_number"]
    plain = run("check", "tee", *DEMO, "-q")
    # Beside the verdict, even where nothing is said on stderr.
    assert "not by shipped figures alone" in plain.out
    assert told in " ".join(plain.out.split())


def test_as_shipped_nothing_is_said(user):
    copied(user, "hub_crossing.toml", "von_mises = [5.92", "von_mises = [5.92")
    assert own_tables() == {}
    done = run("check", "tee", *DEMO)
    assert "shipped figures" not in done.out


def test_a_record_remembers_that_its_figures_were_no_shipped_ones(user, monkeypatch):
    copied(user, *STAND_INS[0][:3])
    made = read_job({"tube_id": "0.17in", "bit": "15/64", "pressure": "45psi"})
    assert "of your own (mjf_pa12.toml), not the shipped ones" in made.own_figures[0]
    # On another machine, which knows no such profile.
    monkeypatch.delenv(USER_FOLDER_VARIABLE)
    read = decode(Job, json.loads(json.dumps(encode(made), allow_nan=False)))
    assert read.own_figures == (
        "MJF PA12: judged with figures of the part's record, which are not the shipped ones",
    )


@pytest.mark.slow
def test_every_shipped_record_is_as_shipped_after_a_trip_through_a_file(user):
    for tube in list(catalog.tubes().values())[::5]:
        for material in catalog.materials():
            job = read_job({"tube": tube.name, "bit": "F", "pressure": "1 psi", "wood": "oak white",
                            "material": material}, needs_tip=True)  # fmt: skip
            read = decode(Job, json.loads(json.dumps(encode(job), allow_nan=False)))
            assert (job.own_figures, read.own_figures) == ((), ())


def test_a_word_that_takes_in_a_row_of_ones_own_is_said(user):
    row = ('[[tube]]\nid = "mine"\nname = "mine"\nmaterial = "LLDPE"\nkind = "PE"\n'
           'basis = "metric"\n'
           "id_mm = 5.0\nmodulus_low_mpa = 1.0\nmodulus_high_mpa = 2.0\n" + ROW)  # fmt: skip
    (user / "tubing").mkdir()
    (user / "tubing/mine.toml").write_text(row)
    job = read_job({"tube_id": "3.9mm", "tube_od": "5.9mm", "tube_material": "LLDPE", "bit": "F",
                    "pressure": "1 psi"})  # fmt: skip
    assert [text for text in job.own_figures if "LLDPE" in text]


def test_a_species_uptake_of_ones_own_is_said(user):
    row = uptakes_in((shipped_folder(),))["Tilia americana"]
    name = row.scientific_name
    assert own_uptake(name) == ""
    old = f"mean_ml_min_per_hole = {row.mean_ml_min_per_hole:.1f}"
    copied(user, "uptake.toml", old, "mean_ml_min_per_hole = 1.0")
    assert "uptake.toml" in own_uptake(name)


@pytest.mark.slow
def test_a_kit_of_ones_own_under_a_shipped_name_is_said(user):
    copied(user, "kits/park_oaks.toml", "title =", "title =")
    for command in (("build", "park_oaks", "-n"), ("chain", "park_oaks")):
        assert "stands in for the shipped one" in run(*command).err


def test_what_nothing_reads_is_said(user, monkeypatch):
    (user / "material").mkdir()
    (user / "judgment.toml").write_text("")
    (user / "woods").mkdir()
    (user / "woods/mine.tml").write_text("")
    (user / "bench").mkdir()
    (user / "kits").write_text("")
    said = unread_profiles()
    assert len(said) == 4
    for name, meant in (("material", "materials"), ("judgment.toml", "judgement.toml")):
        assert any(name in text and meant in text for text in said), said
    assert "mine.tml" in run("list", "woods").err
    for odd in (str(user / "typo"), "x" * 5000, str(user / "kits")):
        monkeypatch.setenv(USER_FOLDER_VARIABLE, odd)
        assert "no profile of yours is read" in " ".join(unread_profiles())
        assert run("check", "tee", *DEMO).code == 0
