"""`bench` and `log` as a user meets them: exit codes, files, JSON."""

import json

import numpy as np
import pytest

from barbwright.catalog.folders import USER_FOLDER_VARIABLE
from barbwright.design.part import KINDS
from barbwright.jobs.plan import plan_part
from barbwright.jobs.record import part_record
from barbwright.logs.table import read_table
from example_job import job_of
from run_cli import DEMO, run


@pytest.fixture(autouse=True)
def _own_profile(tmp_path, monkeypatch):
    monkeypatch.setenv(USER_FOLDER_VARIABLE, str(tmp_path / "profiles"))


def proof(path, leak, minutes=30.0):
    t = np.arange(0.0, minutes + 1e-9, 0.25)
    p = 67.5 - 2.0 * -np.expm1(-t / 3.0) - leak * t
    path.write_text("time [min],pressure [psi],temperature [C]\n"
                    + "".join(f"{a},{b:.1f},20\n" for a, b in zip(t, p, strict=True)))  # fmt: skip
    return path


def test_from_the_form_to_the_check_that_takes_it(tmp_path):
    made = run("bench", "tip", *DEMO, "-o", tmp_path / "day", "--json")
    assert made.code == 0
    assert len(json.loads(made.out)["sessions"]) >= 2
    form = tmp_path / "day" / "bench.csv"
    assert "Bench day" in (tmp_path / "day" / "bench.html").read_text()
    assert run("log", form).code == 2
    lines = form.read_text().splitlines()
    # Day, pull, and the scale's own unit, as on the bench.
    filled = [
        "2026-05-04" + line.removesuffix(",,,,") + ",60,N,yes," if ",pull," in line else line
        for line in lines
    ]
    form.write_text("\n".join(filled) + "\n")
    logged = run("log", form, "--json", "-o", tmp_path / "page")
    assert logged.code == 0
    body = json.loads(logged.out)
    assert body["kind"] == "bench"
    assert [one["product"] for one in body["posteriors"]] == ["hold"]
    assert (tmp_path / "page" / "log-bench-bench.html").exists()
    checked = run("check", "tip", *DEMO)
    assert "Measured by you" in checked.out
    told = run("check", "tip", *DEMO, "--json").document["measured"][0]
    assert told["product"] == "hold"
    assert f"taken by {', '.join(told['checks'])})" in told["sentence"]
    without = run("check", "tip", *DEMO, "--without", "measured")
    assert "What your measurements change" in without.out
    assert "wood_hold" in without.out.split("What your measurements change")[1]


def test_a_form_is_not_written_over_unasked(tmp_path):
    assert run("bench", *DEMO, "-o", tmp_path).code == 0
    assert run("bench", *DEMO, "-o", tmp_path).code == 2
    assert run("bench", *DEMO, "-o", tmp_path, "--force").code == 0


@pytest.mark.parametrize(("leak", "code", "verdict"), [(0.0, 0, "pass"), (0.5, 3, "fail")])
def test_a_proof_test_ends_with_its_verdict(tmp_path, leak, code, verdict):
    done = run("log", proof(tmp_path / "p.csv", leak), "--json", "-o", tmp_path / "out")
    assert done.code == code
    assert json.loads(done.out)["verdict"] == verdict
    page = (tmp_path / "out" / "log-proof-p.html").read_text()
    assert "<svg" in page
    assert "Not pressure rated" in page
    record = json.loads((tmp_path / "out" / "log-proof-p.json").read_text())
    assert record["verdict"] == verdict


def test_logs_of_two_kinds_and_one_name_stand_side_by_side(tmp_path):
    """A crew that names each log by its day keeps all of them, with --force as without."""
    day, out = "2026-05-04.csv", tmp_path / "out"
    for folder in ("bench", "proof"):
        (tmp_path / folder).mkdir()
    tested = proof(tmp_path / "proof" / day, 0.0)
    pulled = tmp_path / "bench" / day
    pulled.write_text(
        "date,wood,test,travel_mm,reading,unit\n2026-05-04,oak northern red,pull,7,60,N\n"
    )
    part = tmp_path / "part.json"
    part.write_bytes(part_record(plan_part(KINDS["tip"], job_of("tip")), []))
    assert run("log", tested, "-o", out).code == 0
    assert run("log", pulled, "--part", part, "-o", out, "--force").code == 0
    kinds = {path.name: json.loads(path.read_text())["kind"] for path in out.glob("*.json")}
    assert kinds == {"log-proof-2026-05-04.json": "proof", "log-bench-2026-05-04.json": "bench"}


def test_nothing_is_kept_or_written_on_a_dry_run(tmp_path):
    done = run("log", proof(tmp_path / "p.csv", 0.0), "-n", "-o", tmp_path / "out")
    assert done.code == 0
    assert not (tmp_path / "out").exists()
    assert not (tmp_path / "profiles").exists()


@pytest.mark.parametrize(
    "arguments",
    [
        ("log", "nowhere.csv"),
        ("log", "{}", "--zero", "7"),
        ("log", "{}", "--part", "nowhere"),
        ("bench", *DEMO, "--gauges", "nose"),
        ("bench", "pipe", *DEMO),
        ("bench", "tip", *DEMO, "--parts", "1000000000"),
        ("bench", "tip", *DEMO, "--hours", "nan"),
        ("check", "tip", *DEMO, "--without", "everything"),
    ],
)
def test_bad_input_is_one_message_and_exit_2(tmp_path, arguments):
    path = str(proof(tmp_path / "p.csv", 0.0))
    done = run(*(one.format(path) for one in arguments))
    assert done.code == 2
    assert done.err.startswith("barbwright: ")
    assert "Traceback" not in done.err


def test_a_log_that_is_not_there_is_answered_with_what_stands_in_one():
    assert "`barbwright explain log`" in run("log", "nowhere.csv").err


def test_readings_of_parts_that_nobody_planned_or_named_are_refused(tmp_path):
    path = tmp_path / "b.csv"
    path.write_text(
        "date,wood,test,travel_mm,reading,unit\n2026-05-04,oak northern red,pull,7,60,N\n"
    )
    done = run("log", path)
    assert done.code == 2
    assert "which parts were tested is not known" in done.err


@pytest.mark.parametrize(
    ("fluid", "code", "said"),
    [
        ("water", 2, "part.json: the tip's bore"),
        pytest.param("chloride_brine", 3, "FAIL fluid", marks=pytest.mark.slow),
    ],
)
def test_readings_of_a_part_without_a_size_are_refused_with_its_reason(tmp_path, fluid, code, said):
    """Where its material is refused as well there are no sizes either, and no sizes to read by."""
    record, log = tmp_path / "part.json", tmp_path / "b.csv"
    body = json.loads(part_record(plan_part(KINDS["tip"], job_of("tip")), []))
    body["job"]["fluid"], body["job"]["forced"]["lead"] = fluid, 2.1
    record.write_text(json.dumps(body))
    log.write_text(
        "date,wood,test,travel_mm,reading,unit\n2026-05-04,oak northern red,pull,7,60,N\n"
    )
    done = run("log", log, "--part", record)
    assert done.code == code
    assert said in done.err


def test_a_kept_day_of_more_parts_than_anyone_tests_is_damaged(tmp_path):
    assert run("bench", "tip", *DEMO, "-o", tmp_path / "day").code == 0
    for kept in (tmp_path / "profiles" / "bench").glob("*.json"):
        kept.write_text(json.dumps(json.loads(kept.read_text()) | {"parts": 10**9}))
    log = tmp_path / "b.csv"
    row = "2026-05-04,oak northern red,pull,7,60,N,1"
    log.write_text(f"date,wood,test,travel_mm,reading,unit,part\n{row}\n")
    done = run("log", log)
    assert done.code == 2
    assert "the plan of the bench day is damaged" in done.err


def test_explain_log_names_every_column_and_test(tmp_path):
    from barbwright.design.measured import TESTS
    from barbwright.logs.columns import KINDS

    text = run("explain", "log").out
    for kind in KINDS.values():
        assert all(f"  {column.name}" in text for column in kind.columns)
        # The lines that it shows are a log of that kind, ready to be copied.
        assert "\n".join(f"    {line}" for line in kind.example) in text
        path = tmp_path / "copied.csv"
        path.write_text("\n".join(kind.example) + "\n")
        assert read_table(path).kind is kind
    assert all(f"  {test}:" in text for test in TESTS)
    assert json.loads(run("explain", "log", "--json").out)["kinds"][0]["kind"] == "bench"
