"""Help shows an example first, fits 80 columns and cuts no line; the examples are true."""

import shlex

import pytest

from barbwright.cli.commands import COMMANDS
from barbwright.cli.list_ import fitting
from barbwright.cli.terminal import columns
from barbwright.jobs.tables import TABLES, table_rows
from run_cli import run, run_fresh

# These write nothing, or can be told to; the others need a part that was made.
RUNS = {"check": (), "make": ("-n",), "build": ("-n",), "chain": (), "bench": ("-n",),
        "coupon": ("-n",), "list": (), "explain": ()}  # fmt: skip


def test_every_command_has_one_line_that_is_not_cut():
    done = run("--help")
    assert "..." not in done.out.split("Commands:")[1]
    for command in COMMANDS.values():
        assert command.short in " ".join(done.out.split())


@pytest.mark.parametrize("name", ["", *COMMANDS])
def test_help_fits_80_columns_and_shows_an_example_first(name, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    done = run(*filter(None, [name]), "--help")
    lines = done.out.splitlines()
    assert max(map(len, lines)) <= 80
    if name:
        assert [line.strip() for line in lines[2 : 2 + len(COMMANDS[name].example)]] == [
            line.strip() for line in COMMANDS[name].example
        ]


def test_help_is_the_same_in_a_process_of_its_own(monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    fresh = run_fresh("make", "--help", environment={"COLUMNS": "80"})
    # How it was started is the first line's.
    own, here = (one.out.partition("\n")[2] for one in (fresh, run("make", "--help")))
    assert own == here != ""


def examples(name):
    text = "\n".join(COMMANDS[name].example).replace("\\\n", " ")
    return [shlex.split(line)[1:] for line in text.splitlines()]


@pytest.mark.parametrize("name", RUNS)
def test_the_examples_run(name):
    for words in examples(name):
        assert words[0] == name
        done = run(*words, *RUNS[name])
        assert done.code in {0, 3}, done.err
        assert done.out


def test_the_examples_are_of_three_tubes_bits_and_pressures_and_of_both_systems():
    words = [words for name in COMMANDS for words in examples(name)]
    for option in ("--tube-id", "--bit", "--pressure"):
        given = {one[one.index(option) + 1] for one in words if option in one}
        assert len(given) >= 3, option
        assert any("in" in one or "/" in one or "psi" in one for one in given)
        assert any("mm" in one or "bar" in one for one in given)


def test_a_list_without_a_table_says_what_each_holds():
    done = run("list")
    assert done.code == 0
    assert max(map(len, done.out.splitlines())) <= 80
    for table in TABLES:
        assert table in done.out


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize("most", [80, 120])
def test_a_list_keeps_to_the_terminal_and_drops_whole_columns(table, most):
    rows = table_rows(table, [])
    shown = [tuple(rows[0]), *(tuple(map(str, row.values())) for row in rows)]
    kept = fitting(shown, most)
    lines = columns([[row[column] for column in kept] for row in shown], most)
    assert max(map(len, lines)) <= most
    assert kept[0] == 0
    # How far a figure is known stays beside it.
    assert "status" not in shown[0] or shown[0].index("status") in kept
