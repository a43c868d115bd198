"""The cases behind profiles/tube_contact.toml: run by name, with -m bench -s; an hour or two.

Resumable: each case is a line of a file (BARBWRIGHT_CONTACT_CASES, else one in the temporary
folder), and what stands there is not run again. Prints the table anew as the file has it, the
error at 40 cases held out, and holds the shipped one to it.
"""

import os
import sys
import tempfile
from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest
from contact_cases import done, fill
from contact_fit import HELD_OUT, READINGS, surface, usable

from barbwright.catalog import tube_contact
from barbwright.equations.contact import Surface

pytestmark = pytest.mark.bench
CASES = Path(
    os.environ.get("BARBWRIGHT_CONTACT_CASES", Path(tempfile.gettempdir()) / "tube_contact.jsonl")
)
FOLDS = 8


def say(line):
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def digits(values):
    return "[" + ", ".join(f"{value:.5g}" for value in values) + "]"


def left_out(rows, kind, reading):
    """Errors of every case, each from a fit without it and an eighth of the others."""
    keys = [(kind, row["number"]) for row in usable(rows, kind, READINGS[reading][0])]
    np.random.default_rng(1).shuffle(keys)
    keys = [(kind, int(number)) for kind, number in keys]
    return np.concatenate(
        [surface(rows, kind, reading, without=frozenset(keys[i::FOLDS]))[1] for i in range(FOLDS)]
    )


def held_out(rows, kind, reading):
    """Errors at 40 cases that no fit has seen, for those that the records' tubes can be."""
    friction = READINGS[reading][0]
    known = [row for row in usable(rows, kind, friction) if is_known(row)]
    picked = np.random.default_rng(2).permutation(len(known))[:HELD_OUT]
    without = frozenset((kind, known[i]["number"]) for i in picked)
    return surface(rows, kind, reading, without=without)[1]


def is_known(row):
    """Whether a tube record could have the case's yield and hardening."""
    if row["kind"] == "rubber":
        return True
    return 0.03 <= row["yield"] <= 0.07 and 0.6 <= row["hardening"] <= 1.8


# Three cases under 0.38 MPa (soft, PU, LLDPE): what the pull-off lost over friction, pressure, a
# bending length of crest and pressure over the land's own.
PRESSURE_LOSS = 0.75


def pull_off_fall(rows):
    """Return the fall of pull-off over friction's own with expansion, of nine cases in ten."""
    falls = [
        (1.0 - row["pull_off"] / (row["friction"] * row["normal"]))
        / (row["crest"] / row["inner"] - 1.0)
        for row in rows
        if row.get("pull_off") and row["friction"] <= 0.35
    ]
    return float(np.quantile(falls, 0.9))


def table_of(rows):
    """Return the surfaces, what nine of ten cases stay within, and lines for the reader."""
    found, lines = {}, []
    for kind in ("rubber", "plastic"):
        for reading in READINGS:
            table, _ = surface(rows, kind, reading)
            errors = np.abs(held_out(rows, kind, reading))
            table["error"] = float(np.quantile(np.abs(left_out(rows, kind, reading)), 0.9))
            found[kind, reading] = table
            count = len(usable(rows, kind, READINGS[reading][0]))
            middle, most = 100.0 * np.quantile(errors, (0.5, 0.9))
            near = 100.0 * np.mean(errors < 0.08)
            lines.append(
                f"{kind} {reading}: {count} cases; {len(errors)} held out: median {middle:.1f} %, "
                f"nine of ten {most:.1f} %, within 8 %: {near:.0f} %"
            )
    return found, lines


def written(rows, found, lines):
    """Return the file's text but its first comment."""
    text = [f"# {line}" for line in lines]
    text += ['source = "barb_contact_fe"', 'status = "own"']
    text.append(f"pull_off_by_expansion = {pull_off_fall(rows):.2f}")
    text.append(f"pull_off_by_pressure = {PRESSURE_LOSS}")
    for (kind, reading), table in found.items():
        text += ["", "[[surface]]", f'kind = "{kind}"', f'reading = "{reading}"']
        text.append("names = [" + ", ".join(f'"{name}"' for name in table["names"]) + "]")
        text += [
            f"{name} = {digits(table[name])}" for name in ("middle", "spread", "least", "most")
        ]
        text += [f"terms = {digits(table['terms'])}", f"error = {table['error']:.3f}"]
    return "\n".join(text) + "\n"


def test_table():
    fill(CASES)
    rows = list(done(CASES).values())
    found, lines = table_of(rows)
    say("\n" + written(rows, found, lines))
    shipped = tube_contact()
    worst = 0.0
    for key, table in found.items():
        ours = Surface(
            **{one.name: tuple(table[one.name]) for one in fields(Surface)[:-1]},
            error=table["error"],
        )
        theirs = shipped.surfaces[key]
        worst = max(worst, *(abs(a - b) for a, b in zip(ours.terms, theirs.terms, strict=True)))
    say(f"furthest term from the shipped table: {worst:.4f}")
    assert worst < 0.01
