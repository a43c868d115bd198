"""5,000 broken profiles, kits, records, calibrations, logs: each refused by file and field."""

import csv
import io
import os
import re
import shutil

import pytest
from broken import broken_json, broken_text, broken_toml
from reach import FIRST, drawn, many
from runs import Tally, peak_mb, timed

from barbwright.catalog.folders import USER_FOLDER_VARIABLE, shipped_folder
from run_cli import DEMO, TUBE, run

PROFILES = ("materials/mjf_pa12.toml", "woods/*.toml", "tubing/*.toml", "bits.toml", "uptake.toml",
            "hub_crossing.toml", "tube_contact.toml", "judgement.toml",
            "refused_materials.toml")  # fmt: skip
# A line of a refusal that names the file, and where it can be named the field.
GIVES_FIELD = re.compile(
    r"(toml|json|csv): \S|line \d+|row \d+|column|not readable|damaged: |no part\.json|"
    r"cannot read|larger than|nested|no such|neither|stands in for|no text file|is empty|--"
)


def told(done, path):
    """What is wrong with how a broken file was refused; empty where it names file and field."""
    if done.fault or done.run.code != 2:
        return done.fault
    if path.name not in done.run.err:
        return "file not named"
    return "" if GIVES_FIELD.search(done.run.err) else "field not named"


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Records of parts, and of a gauge, made without pictures."""
    folder = tmp_path_factory.mktemp("made")
    for kind in ("tee", "barb"):
        assert run("make", kind, *DEMO, "-o", folder, "--formats", "stl").code == 0
    assert run("coupon", *TUBE, "--bit", "15/64", "-o", folder, "--formats", "stl").code == 0
    return sorted(folder.glob("*/*.json"))


def test_broken_profiles_are_refused_by_file_and_field(place, monkeypatch):
    tally = Tally("profiles")
    begun = peak_mb()
    for number in range(FIRST, FIRST + many(1500)):
        random = drawn("profiles", number)
        source = random.choice(sorted(shipped_folder().glob(random.choice(PROFILES))))
        # Files are read once a process and folder.
        user = place / f"p{number}"
        path = user / source.relative_to(shipped_folder())
        path.parent.mkdir(parents=True)
        path.write_bytes(broken_toml(random, source.read_text(encoding="utf-8")))
        monkeypatch.setenv(USER_FOLDER_VARIABLE, str(user))
        command = random.choice((("check", "tee", *DEMO), ("list", "woods"), ("list", "materials"),
                                 ("check", "barb", *DEMO, "--json"), ("list",
                                 "tubes")))  # fmt: skip
        done = timed(*command)
        tally.add((number, str(path), command[:2]), done, told(done, path))
        shutil.rmtree(user)
    assert peak_mb() - begun < 600
    tally.end()


def test_broken_kits_are_refused_by_file_and_field(place):
    tally = Tally("kits")
    text = (shipped_folder() / "kits/park_oaks.toml").read_text(encoding="utf-8")
    for number in range(FIRST, FIRST + many(1000)):
        random = drawn("kits", number)
        path = place / f"kit{number}.toml"
        path.write_bytes(broken_toml(random, text))
        command = random.choice(
            (("build", path, "-n"), ("chain", path), ("check", "tee", "--kit", path))
        )
        done = timed(*command)
        fault = told(done, path)
        # What a sound file asks for may have no size; that names the part.
        if fault == "file not named" and (
            "limits collide" in done.run.err or "no size" in done.run.err
        ):
            fault = ""
        tally.add((number, command[0]), done, fault)
        path.unlink()
    tally.end()


def test_broken_records_are_refused_by_file_and_field(place, made):
    tally = Tally("records")
    for number in range(FIRST, FIRST + many(1500)):
        random = drawn("records", number)
        source = random.choice(made)
        folder = place / f"r{number}" / "inside" / source.parent.name
        folder.mkdir(parents=True)
        path = folder / source.name
        path.write_bytes(broken_json(random, source.read_text(encoding="utf-8")))
        where = random.choice((path, folder))
        command = random.choice((("resize", where, "--bark", "5mm", "-n"), ("make", "--from",
        where, "-n"),
                                 ("order", where, "-n")))  # fmt: skip
        if source.name == "coupon.json":
            command = ("order", where, "-n")
        done = timed(*command)
        fault = told(done, path)
        if fault == "file not named" and folder.name in done.run.err:
            fault = ""
        tally.add((number, command[0], source.name), done, fault)
        shutil.rmtree(place / f"r{number}")
    tally.end()


def test_broken_calibrations_are_refused(place):
    tally = Tally("calibrations")
    good = (
        'name = "mine"\nmaterial = "mjf_pa12"\noutside_offset_mm = 0.02\n'
        'bore_offset_mm = -0.05\ntolerance_mm = 0.2\nuse_by_default = true\nanswers = ["3"]\n'
    )
    for number in range(FIRST, FIRST + many(500)):
        random = drawn("calibrations", number)
        user = place / f"s{number}"
        path = user / "services" / "mine.toml"
        path.parent.mkdir(parents=True)
        path.write_bytes(broken_toml(random, good))
        os.environ[USER_FOLDER_VARIABLE] = str(user)
        done = timed("check", "tee", *DEMO, "--service", random.choice(("mine", "none")))
        fault = told(done, path)
        # A service whose file says another name is not known by the one that was typed.
        if fault == "file not named" and "service" in done.run.err:
            fault = ""
        tally.add((number,), done, fault)
        shutil.rmtree(user)
    os.environ[USER_FOLDER_VARIABLE] = str(place / "profiles")
    tally.end()


LOG = [["date", "log", "hole", "part", "test", "reading", "unit", "wood"]] + [
    ["2026-11-02", "A", str(hole), "tee", "pull", str(120 + 7 * hole), "N", "oak northern red"]
    for hole in range(6)
]


def test_broken_logs_are_refused(place):
    tally = Tally("logs")
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(LOG)
    for number in range(FIRST, FIRST + many(500)):
        random = drawn("logs", number)
        path = place / f"log{number}.csv"
        path.write_bytes(broken_text(random, text.getvalue()))
        done = timed(
            "log", path, *random.choice(((), ("-n",), ("--json",), ("--kit", "park_oaks")))
        )
        tally.add((number,), done, told(done, path))
        path.unlink()
    tally.end()
