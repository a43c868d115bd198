"""The README is true: each of its commands is run, and what it shows is what comes.

The commands run in the README's order in one folder, as a reader would type them. After a change
that alters an output, `BARBWRIGHT_README=write pytest -m slow tests/test_readme.py` writes what
comes under each command that shows something.
"""

import contextlib
import io
import os
import re
import shlex
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from barbwright.catalog.folders import USER_FOLDER_VARIABLE
from run_cli import run

README = Path(__file__).parents[1] / "README.md"
SHOWN_LINES = 14  # of what a command prints, when it is written anew
# Its own test types it on a terminal; finite elements have theirs, and take a minute.
ELSEWHERE = ("start", "prove")
# The demonstration kit is made whole by tests of its own, a catalogue by a slow one.
DRY = {"build": ("-n",), "catalogue": ("-n",)}


@dataclass
class Shown:
    """A command of the README, where it stands, and the lines shown under it."""

    words: list[str]
    first: int
    lines: list[str]


def shown_commands(text):
    """Every command that stands by itself, its continuation lines joined, with what is shown."""
    found, rows = [], text.splitlines()
    at = 0
    while at < len(rows):
        if not rows[at].startswith("    barbwright "):
            at += 1
            continue
        command = rows[at].strip()
        while command.endswith("\\"):
            at += 1
            command = command[:-1] + rows[at].strip()
        at += 1
        first = at
        while at < len(rows) and is_output(rows[at : at + 2]):
            at += 1
        found.append(Shown(shlex.split(command)[1:], first, [row[4:] for row in rows[first:at]]))
    return found


def is_output(rows):
    """Whether a line is what a command printed: indented, or blank with such a line after it."""
    row = rows[0] if rows[0] else rows[-1]
    return row.startswith("    ") and not row.startswith("    barbwright ")


def places(word, folder):
    """Return a word with the one path that its ellipsis stands for."""
    if "\u2026" not in word:
        return word
    (found,) = folder.glob(word.replace("\u2026", "*").rstrip("/"))
    return str(found.relative_to(folder))


def stands_in_order(lines, out):
    """Whether the shown lines come in this order, with something between only at `...`."""
    at, free, rows = 0, False, out.splitlines()
    for line in lines:
        if line == "...":
            free = True
            continue
        alike = re.compile(re.escape(line).replace("\u2026", "[0-9a-f]+"))
        here = next((n for n in range(at, len(rows)) if alike.fullmatch(rows[n])), -1)
        if here < 0 or (here > at and not free):
            return False
        at, free = here + 1, False
    return free or at == len(rows)


def test_what_is_shown_is_held_line_by_line():
    assert stands_in_order(["a", "...", "c"], "a\nb\nc")
    assert stands_in_order(["a", "..."], "a\nb\nc")
    assert not stands_in_order(["a"], "a\nb")
    assert not stands_in_order(["a", "c"], "a\nb\nc")
    assert not stands_in_order(["c", "...", "a"], "a\nb\nc")
    assert stands_in_order(["order-\u2026.zip"], "order-0a1b.zip")
    assert not stands_in_order(["order-\u2026.zip"], "order-xyz.zip")


def write_logs(folder):
    """What a reader would have read by then: invented readings."""
    form = folder / "out" / "bench" / "bench.csv"
    if form.exists():
        rows = form.read_text().splitlines()
        # The last three cells of a pull, of which the form leaves the scale's unit open.
        rows = [f"{row[:-4]},60,N,yes," if ",pull," in row else row for row in rows]
        # A day in the first row holds for those under it.
        rows[1] = f"2026-05-04{rows[1]}"
        form.write_text("\n".join(rows) + "\n")
    minutes = np.arange(0.0, 30.1, 0.25)
    psi = 67.5 - 2.0 * -np.expm1(-minutes / 3.0)
    proof = [f"{a},{b:.1f}" for a, b in zip(minutes, psi, strict=True)]
    (folder / "proof.csv").write_text("\n".join(["time [min],pressure [psi]", *proof]) + "\n")
    litres = [f"oak by the pond,red oak,{t},{45 - 0.5 * t},{6 - 0.2 * t}" for t in range(0, 12, 2)]
    head = "tree,species,time [min],pressure [psi],level [L]"
    (folder / "field.csv").write_text("\n".join([head, *litres]) + "\n")


@pytest.mark.slow
def test_every_command_runs_and_shows_what_the_readme_shows(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv(USER_FOLDER_VARIABLE, str(tmp_path / "own"))
    monkeypatch.setenv("COLUMNS", "80")
    (tmp_path / "profiles").symlink_to(README.parent / "profiles")
    text = README.read_text(encoding="utf-8")
    wrong, written = [], {}
    for shown in shown_commands(text):
        if shown.words[0] in ELSEWHERE:
            continue
        if shown.words[0] == "log":
            write_logs(tmp_path)
        done = run(*(places(word, tmp_path) for word in shown.words), *DRY.get(shown.words[0], ()))
        if done.code != 0:
            wrong.append(f"{' '.join(shown.words)}: exit {done.code}: {done.err}")
        elif shown.lines and not stands_in_order(shown.lines, done.out):
            wrong.append(f"{' '.join(shown.words)}: shows other lines")
        if shown.lines:
            written[shown.first] = (len(shown.lines), done.out)
    if os.environ.get("BARBWRIGHT_README") == "write":
        README.write_text(renewed(text, written), encoding="utf-8")
    assert wrong == []


def one_or_other(found):
    return "-\u2026" if found[0].startswith("-") else "\u2026"


def renewed(text, written):
    """Return the README with the first lines of what came under each command that shows some."""
    rows = text.splitlines()
    for first, (count, out) in sorted(written.items(), reverse=True):
        came = out.rstrip("\n").splitlines()
        # What changes with every byte of every file is not worth a reader's eye.
        came = [re.sub(r"-[0-9a-f]{8}\b|\b\d{6,}(?= bytes)", one_or_other, row) for row in came]
        more = ["..."] if len(came) > SHOWN_LINES else []
        rows[first : first + count] = [
            f"    {row}".rstrip() for row in [*came[:SHOWN_LINES], *more]
        ]
    return "\n".join(rows) + "\n"


@pytest.mark.slow
def test_the_python_of_the_readme_runs(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    text = README.read_text(encoding="utf-8")
    block = text.split("## From Python")[1].split("\n\n")[1]
    code = "\n".join(line[4:] for line in block.splitlines())
    assert 10 <= len(code.splitlines()) <= 13
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        exec(compile(code, "README.md", "exec"), {})
    said = out.getvalue()
    assert re.match(r"elbow-\S+ pass\n", said)
    assert len(list(tmp_path.glob("out/elbow-*"))) == 1


def test_every_path_of_a_picture_or_file_that_the_readme_links_is_there():
    text = README.read_text(encoding="utf-8")
    links = re.findall(r"\]\(([^)#]+)\)", text)
    assert links
    for link in links:
        assert (README.parent / link).exists(), link
