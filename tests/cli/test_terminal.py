"""Columns on a terminal: no wider than it, no word cut, no row lost."""

import pytest

from barbwright.cli.list_ import fitting
from barbwright.cli.terminal import columns
from barbwright.jobs.tables import TABLES, table_rows
from run_cli import run

ROWS = [
    ("tube", "what is said of it", "mm"),
    ("LLDPE 4 x 6 mm", "seen in a table of sizes, its hardness from memory", "4"),
    ("PU", "", "12.5"),
]


def test_rows_that_have_room_are_a_line_each():
    lines = columns(ROWS, 200)
    assert len(lines) == 3
    # Every column begins at one place.
    assert lines[0].index("what") == lines[1].index("seen") == 16
    assert lines[0].index("mm") == lines[2].index("12.5")


@pytest.mark.parametrize("most", [40, 60, 71])
def test_a_narrow_terminal_wraps_words_and_loses_none(most):
    lines = columns(ROWS, most)
    assert max(len(line) for line in lines) <= most
    # What a row is known by is found by who filters lines.
    assert any(line.startswith("LLDPE 4 x 6 mm  ") for line in lines)
    said = " ".join(" ".join(line.split()) for line in lines).split()
    assert sorted(said) == sorted(" ".join(" ".join(row) for row in ROWS).split())


def test_a_word_is_never_cut():
    assert any("Pneumatic-tube" in line for line in columns([("a",), ("Pneumatic-tube",)], 5))


def test_a_narrow_terminal_keeps_what_a_tube_is_known_by():
    """Outside, bore and rating stay where a material's words go."""
    rows = table_rows("tubes", [])
    shown = [tuple(rows[0]), *(tuple(str(cell) for cell in row.values()) for row in rows)]
    kept = [shown[0][column] for column in fitting(shown, 80)]
    assert kept[:4] == ["tube", "outer_mm", "inner_mm", "rating"]


@pytest.mark.parametrize("table", TABLES)
def test_a_table_goes_into_a_pipe_as_wide_as_a_terminal_and_cuts_no_name(table):
    said = run("list", table).out.splitlines()
    assert max(map(len, said)) <= 80
    first = next(iter(table_rows(table, [])[0]))
    told = {line.partition("  ")[0] for line in said}
    assert {row[first] for row in table_rows(table, [])} <= told


def test_what_a_tube_is_rated_for_has_its_unit():
    rated = [row["stated_rating"] for row in table_rows("tubes", []) if row["stated_rating"]]
    assert len(rated) > 10
    assert all("psi" in text for text in rated)
    (row,) = table_rows("tubes", ["LLDPE 4 x 6 mm"])
    assert row["rating"] == "145 psi (10 bar)"
