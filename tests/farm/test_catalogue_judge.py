"""All combinations in one run say what each says by itself; the tables hold all of them."""

import csv
import json
from dataclasses import replace

import polars as pl
import pytest
from example_catalogue import GOOD, written

from barbwright.checks.result import VERDICTS
from barbwright.design.part import KINDS
from barbwright.errors import InputError, NoSizeError
from barbwright.farm.judge import judge, table
from barbwright.farm.parts import Made
from barbwright.farm.run import run_catalogue
from barbwright.farm.spec import load_catalogue
from barbwright.job.reading import read_job
from barbwright.jobs.plan import plan_part
from run_cli import run


@pytest.fixture(scope="module")
def judged(tmp_path_factory):
    return judge(load_catalogue(written(tmp_path_factory.mktemp("spec"))))


def test_each_combination_has_the_verdict_that_check_gives_it(judged):
    seen = set()
    for _, grid, found in judged.blocks():
        kind = KINDS[grid.kind.name]
        for row in range(grid.count):
            options = grid.options(row)
            job = read_job(options, settings=grid.settings, needs_tip=kind.needs_bit,
                           two_ends=kind.two_ends, usable=kind.usable_sizes)  # fmt: skip
            try:
                plan = plan_part(kind, job)
                told, governing = plan.verdict, plan.governing
            except NoSizeError:
                told, governing = "no_size", None
            assert VERDICTS[found.code[row]] == told, options
            if governing is not None and plan.design is not None:
                assert found.ids[found.governing[row]] == governing.info.id, options
            proofs = plan.proved_in_field if told == "pass" else ()
            assert found.proofs[found.leans[row]] == tuple(one.info.id for one in proofs), options
            seen |= {told, bool(proofs)}
    assert {"pass", "fail", True} <= seen


def test_what_is_wanted_is_what_passes(judged):
    wanted = list(judged.wanted())
    counts = judged.counts()
    assert len(wanted) == counts.get("pass", 0) + counts.get("caution", 0) > 0
    assert {one.verdict for one in wanted} <= {"pass", "caution"}
    assert len({one.index for one in wanted}) == len(wanted)
    only = replace(judged, spec=replace(judged.spec, verdicts=("caution",)))
    assert len(list(only.wanted())) == counts.get("caution", 0)


def test_a_table_has_a_row_for_every_combination(judged):
    first = next(judged.wanted())
    made = Made(number="tee-1", folder="parts/tee-1", verdict=first.verdict, files={})
    rows = table(judged, {first.index: made}, {first.index + 1: "the disk is full"})
    assert rows.height == judged.spec.count
    assert rows["part_number"].to_list()[first.index] == "tee-1"
    assert rows["not_made_because"].to_list()[first.index + 1] == "the disk is full"
    for begin, grid, found in judged.blocks():
        for row in (0, grid.count - 1):
            told = rows.row(begin + row, named=True)
            options = grid.options(row)
            assert told["part"] == grid.kind.name
            for name in ("tube", "bit", "pressure", "material", "wood"):
                assert told[name] == options.get(name)
            assert told["verdict"] == VERDICTS[found.code[row]]
            proofs = ", ".join(found.proofs[found.leans[row]])
            assert (told["pass_once_proved_in_field"] or "") == proofs


def test_the_files_hold_the_same_rows_and_nothing_else_is_left(tmp_path):
    home = tmp_path / "c"
    found = run_catalogue(load_catalogue(written(tmp_path)), home, judge_only=True)
    assert {p.name for p in home.iterdir()} == {"catalogue.csv", "catalogue.parquet", "index.html",
                                                "record"}  # fmt: skip
    frame = pl.read_parquet(home / "catalogue.parquet")
    with (home / "catalogue.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == frame.height == found.judged.spec.count
    for mine, theirs in zip(rows, frame.iter_rows(named=True), strict=True):
        assert {k: v or None for k, v in mine.items()} == {
            k: None if v is None else str(v) for k, v in theirs.items()
        }
    before = {p.name: p.read_bytes() for p in home.iterdir() if p.is_file()}
    run_catalogue(load_catalogue(written(tmp_path)), home, judge_only=True)
    assert before == {p.name: p.read_bytes() for p in home.iterdir() if p.is_file()}


def test_more_than_is_meant_is_not_begun(tmp_path):
    few = GOOD + "most = 3\n"
    with pytest.raises(InputError, match="most, 3"):
        judge(load_catalogue(written(tmp_path, few)))


def test_somebody_elses_folder_is_left_alone(tmp_path):
    (tmp_path / "home").mkdir()
    (tmp_path / "home" / "letters.txt").write_text("dear")
    with pytest.raises(InputError, match="no catalogue's"):
        run_catalogue(load_catalogue(written(tmp_path)), tmp_path / "home", judge_only=True)
    assert [p.name for p in (tmp_path / "home").iterdir()] == ["letters.txt"]


def test_the_command_tells_what_it_found(tmp_path):
    done = run("catalogue", written(tmp_path), "-n", "-q", "--json", "-o", tmp_path / "c")
    assert done.code == 0, done.err
    body = json.loads(done.out)
    assert (body["combinations"], body["made"]) == (36, 0)
    assert sum(body["verdicts"].values()) == 36
    assert 0 < body["pass_once_proved_in_field"] <= body["verdicts"]["pass"]
    done = run("catalogue", written(tmp_path), "-n", "-o", tmp_path / "c")
    assert "36 combinations judged" in done.out
    assert f"{body['pass_once_proved_in_field']} of them once proved in the field" in done.out
    done = run("catalogue", written(tmp_path), "--scheduler", "tcp://x:1", "--workers", "2")
    assert (done.code, "--workers" in done.err) == (2, True)
