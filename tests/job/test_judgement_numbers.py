"""Each judgement number is read, and each moves a verdict, a size or a figure that is printed."""

from __future__ import annotations

import functools
import itertools
import re
from dataclasses import replace
from pathlib import Path

import pytest

from barbwright import catalog
from barbwright.checks.proof import proof_test
from barbwright.design.part import KINDS
from barbwright.design.single import single
from barbwright.errors import BarbwrightError
from barbwright.job.reading import read_job
from barbwright.jobs.plan import plan_part
from barbwright.jobs.record import document
from barbwright.report.cards import proof_steps
from example_job import Watched
from other_figures import others

pytestmark = pytest.mark.usefixtures("no_cures")

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
    assert silent == set()


DEMO = {
    "tube_id": "0.170in", "tube_od": "0.250in", "tube_material": "LLDPE", "bit": "15/64",
    "pressure": "45psi", "wood": "hardwood 0.55",
}  # fmt: skip
RUBBER = {**DEMO, "tube_id": "4mm", "tube_od": "6mm", "tube_material": "PU"}
WIDE = {**DEMO, "tube_id": "8mm", "tube_od": "12mm", "tube_material": "PVC", "shore": "90",
        "bit": "10mm"}  # fmt: skip
STEP_MM = 2.0 * JUDGEMENTS["back_face_radius_mm"].value
# What some figures wait for: a bare tube, another wood or none, a clamp, a hole, a size by hand,
# two seats that both pass, a driver with wings, wood harder than the tip, a crest that misses its
# limit by a rounding, a rubber that slides off before its pull-off caps it.
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
    ({**DEMO, "bit": "5/16", "wood": "oak northern red"}, ("arms=1",)),
    ({**DEMO, "wood": "hardwood 0.95"}, ()),
    (DEMO, ("root=5.5mm", f"crest={5.5 + STEP_MM - 0.0005}mm")),
    ({**RUBBER, "shore": "95"}, ("relaxation_tube=0.1", "bite_factor=0.1")),
)


def figures(kind, job):
    """All that is printed of a part: sizes, verdicts, handling rules, proof test; or why none."""
    try:
        plan = plan_part(KINDS[kind], job)
        body = document(plan, "check")
    except BarbwrightError as error:
        return [fault.what for fault in error.faults]
    del body["inputs"], body["part_number"]
    drawn = plan.kind.draw(single(plan.design), "part") if plan.passed else None
    return [body, proof_steps(proof_test(job.highest_mpa, job.rules), 30.0), repr(drawn)]


def read(row, kind, *settings):
    given, by_hand = GIVEN[row]
    kind = KINDS[kind]
    given = {n: t for n, t in given.items() if kind.needs_bit or n not in {"bit", "hole"}}
    known = kind.usable_sizes | JUDGEMENTS.keys()
    by_hand = tuple(text for text in by_hand if text.partition("=")[0] in known)
    return read_job(given, settings=(*by_hand, *settings), needs_tip=kind.needs_bit)


# Where to look first, for time's sake alone: every row is tried.
FIRST = {
    "step_least_mm": 3,
    "tube_outer_over_inner_default": 3,
    "wood_specific_gravity_default": 3,
    "temperature_least_c": 3,
    "measured_hole_tolerance_mm": 4,
    "clamp_pressure_mpa": 4,
    "clamp_length_mm": 4,
    "outright_seat_mm": 10,
    "wing_span_mm": 10,
    "mouth_spot_factor": 11,
    "limit_slack_mm": 12,
    "elastomer_yield_factor": 13,
}


@functools.cache
def plain(row, kind):
    """What is printed of a job with the figures of the table, and which figures it asked for."""
    job = read(row, kind)
    rules = Watched(job.rules)
    found = figures(kind, replace(job, rules=rules))
    return found, rules.asked | AT_READING


# These settle what is read, before a job has its rules.
AT_READING = {"tube_match_mm"}


# Of a chain by tests/jobs, as of a calibrated service and of logs.
ELSEWHERE = ("chain_", "calibration_", "log_")


@pytest.mark.parametrize("name", [name for name in JUDGEMENTS if not name.startswith(ELSEWHERE)])
def test_each_judgement_number_moves_something_that_is_printed(name):
    rows = sorted(range(len(GIVEN)), key=lambda row: row != FIRST.get(name))
    for row, kind in itertools.product(rows, KINDS):
        found, asked = plain(row, kind)
        if name not in asked:
            continue
        for figure in others(name):
            if figures(kind, read(row, kind, f"{name}={figure}")) != found:
                return
    pytest.fail(f"{name} moves nothing")
