"""Each judgement number is read, and each moves a verdict, a size or a figure that is printed."""

from __future__ import annotations

import functools
import itertools
import re
from pathlib import Path

import pytest

from barbwright import catalog
from barbwright.checks.proof import proof_test
from barbwright.design.part import KINDS
from barbwright.errors import BarbwrightError
from barbwright.job.reading import read_job
from barbwright.jobs.plan import plan_part
from barbwright.jobs.record import document
from barbwright.report.cards import proof_steps

PACKAGE = Path(__file__).parents[2] / "src" / "barbwright"
SOURCE = "\n".join(path.read_text() for path in sorted(PACKAGE.rglob("*.py")))
JUDGEMENTS = catalog.judgements()


def test_every_judgement_number_is_read_somewhere():
    """By its own name, or by the pattern of its kind (`design_factor_` and a check's id)."""
    stems = set(re.findall(r'f"([a-z_]+_)\{', SOURCE))
    silent = {
        name
        for name in JUDGEMENTS
        if f'"{name}"' not in SOURCE and not any(name.startswith(stem) for stem in stems)
    }
    assert silent == WAITING


DEMO = {
    "tube_id": "0.170in", "tube_od": "0.250in", "tube_material": "LLDPE", "bit": "15/64",
    "pressure": "45psi", "wood": "hardwood 0.55",
}  # fmt: skip
RUBBER = {**DEMO, "tube_id": "4mm", "tube_od": "6mm", "tube_material": "PU"}
WIDE = {**DEMO, "tube_id": "8mm", "tube_od": "12mm", "tube_material": "PVC", "shore": "90",
        "bit": "10mm"}  # fmt: skip
# What some figures wait for: a bare tube, another wood or none, a clamp, a hole, a size by hand.
GIVEN = (
    (DEMO, ()),
    (WIDE, ()),
    (DEMO, ("side_ports=1", "neck=6mm", "neck_length_mm=5mm")),
    ({"tube_id": "4.2mm", "bit": "15/64", "pressure": "45psi", "temperature": "10C"}, ()),
    ({**DEMO, "clamp": True, "hole": "6.1mm", "wood": "softwood 0.4", "tube_od": "6.3mm"}, ()),
    ({**RUBBER, "shore": "70"}, ()),
    ({**RUBBER, "shore": "90", "tube_material": "PVC"}, ()),
    ({**RUBBER, "shore": "95"}, ()),
    ({**DEMO, "tube_id": "4mm", "tube_od": "6mm", "tube_material": "nylon"}, ()),
    ({**DEMO, "tube_id": "8mm", "tube_od": "12mm", "tube_material": "LDPE", "bit": "10mm"}, ()),
)
# Nothing asks for these yet: the pulse of a blow and the push before it will.
WAITING = {"hand_push_n", "hammer_speed_m_s"}
# A calibration's own; tests/calibrate holds that they move its offsets and tolerance.
ELSEWHERE = ("chain_", "calibration_")


def figures(kind, job):
    """All that is printed of a part: sizes, verdicts, handling rules, proof test; or why none."""
    try:
        body = document(plan_part(KINDS[kind], job), "check")
    except BarbwrightError as error:
        return [fault.what for fault in error.faults]
    del body["inputs"], body["part_number"]
    return [body, proof_steps(proof_test(job.highest_mpa, job.rules), 30.0)]


def others(name):
    """Other figures in sense, as a user would write them: both bounds and two between."""
    one = JUDGEMENTS[name]
    steps = [one.least + share * (one.most - one.least) for share in (0.0, 1.0, 0.3, 0.7)]
    whole = name == "barb_count"
    unit = one.unit if one.unit in {"mm", "MPa", "N", "C"} else ""
    return [f"{round(s) if whole else s:.9g}{unit}" for s in steps
            if s != one.value and not (s == 0.0 and unit in {"N", "MPa"})]  # fmt: skip


def read(row, kind, *settings):
    given, by_hand = GIVEN[row]
    kind = KINDS[kind]
    given = {n: t for n, t in given.items() if kind.needs_bit or n not in {"bit", "hole"}}
    known = kind.usable_sizes | JUDGEMENTS.keys()
    by_hand = tuple(text for text in by_hand if text.partition("=")[0] in known)
    return read_job(given, settings=(*by_hand, *settings), needs_tip=kind.needs_bit)


@functools.cache
def plain(row, kind):
    """What is printed of a job with the figures of the table."""
    return figures(kind, read(row, kind))


@pytest.mark.parametrize(
    "name", [n for n in JUDGEMENTS if not n.startswith(ELSEWHERE) and n not in WAITING]
)
def test_each_judgement_number_moves_something_that_is_printed(name):
    for row, kind in itertools.product(range(len(GIVEN)), KINDS):
        for figure in others(name):
            if figures(kind, read(row, kind, f"{name}={figure}")) != plain(row, kind):
                return
    pytest.fail(f"{name} moves nothing")
