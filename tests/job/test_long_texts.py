"""A text of any length is given back by its start: a message stays one that can be read."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from barbwright.design.part import KINDS
from barbwright.errors import InputError, quoted
from barbwright.job.reading import read_job
from barbwright.job.record import INPUT_NAMES

PACKAGE = Path(__file__).parents[2] / "src" / "barbwright"
LONG = ("1" * 3000, "9" * 400 + "mm", "x" * 3000, "oak " * 800, "4\n" * 900, "15/64" * 300)


@pytest.mark.parametrize("name", [name for name in INPUT_NAMES if name != "clamp"])
def test_a_long_input_is_refused_or_warned_of_in_lines_that_can_be_read(name: str) -> None:
    """`--wood 111...1` of 3,000 digits printed a line of 6,162 characters."""
    kind = KINDS["barb" if "2" in name else "elbow"]
    plain = {"tube_id": "0.170in", "bit": "15/64", "pressure": "45psi"}
    for text in LONG:
        read_or_refused({**plain, **({"tube2_id": "4mm"} if kind.two_ends else {}), name: text})


def test_a_long_setting_is_refused_in_lines_that_can_be_read() -> None:
    plain = {"tube_id": "0.170in", "bit": "15/64", "pressure": "45psi"}
    for text in LONG:
        for setting in (text, f"{text}=1", f"land={text}", f"proof_ratio={text}"):
            read_or_refused(plain, setting)
        read_or_refused(plain, table={text: "1"})


def read_or_refused(options, *settings, table=None) -> None:
    two_ends = "tube2_id" in options
    try:
        said = read_job(
            options, table, settings=settings, needs_tip=not two_ends, two_ends=two_ends
        ).warnings
    except InputError as error:
        said = [fault.what + fault.given for fault in error.faults]
    assert max(map(len, said)) < 300, said


@pytest.mark.parametrize("text", ["4.3 mm", '0.17"', "chêne", "x" * 40])
def test_a_short_text_is_given_back_as_it_stands(text: str) -> None:
    assert quoted(text) == text


def test_a_long_or_unprintable_text_is_given_back_by_its_start_on_one_line() -> None:
    assert quoted("1" * 3000) == repr("1" * 37 + "...")
    assert quoted("4\nmm") == r"'4\nmm'"


def test_no_other_place_cuts_a_text_to_show_it() -> None:
    """Forty places cut at 20, 30, 40 or 60 characters, and one forgot."""
    cuts = {
        f"{path.relative_to(PACKAGE)}: {line.strip()}"
        for path in PACKAGE.rglob("*.py")
        for line in path.read_text().splitlines()
        if re.search(r"(given=|Fault\(|refuse\(|!r\}).*\[:\d\d+\]|\[:\d\d+\]\)?!r", line)
    }
    assert cuts == set()
