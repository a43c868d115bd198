"""A job keeps what was given; one place says what stands in for the rest."""

from __future__ import annotations

import dataclasses
import json

import pytest

from barbwright import catalog
from barbwright.cli.options import _shared
from barbwright.design.part import KINDS
from barbwright.job import numbers
from barbwright.job.reading import read_job
from barbwright.job.record import INPUTS, TUBE_INPUTS, Job
from barbwright.job.settings import LOGS_OWN
from barbwright.jobs.naming import part_number
from barbwright.jobs.plan import plan_part
from barbwright.jobs.read_back import DamagedError, decode
from barbwright.jobs.record import encode, inputs, load_record, part_record
from barbwright.jobs.resize import changed_job
from other_figures import others

BARE = {"tube_id": "4.3mm", "bit": "15/64", "pressure": "45psi"}
# Near a row of the table, and a little off it: how near is a judgement.
MEASURED = {**BARE, "tube_od": "6.3mm", "tube_material": "LLDPE", "wood": "hardwood 0.55"}
PLACED = {**MEASURED, "hole": "6.1mm", "bark": "9mm", "temperature": "35C"}
JOBS = {"bare": BARE, "measured": MEASURED, "placed": PLACED}


def as_recorded(job: Job) -> Job:
    """A job after a trip through its own part.json."""
    return decode(Job, json.loads(json.dumps(encode(job))))


# How logs are read is no figure of a part, and cannot be set on one.
OF_PARTS = [name for name in catalog.judgements() if not name.startswith(LOGS_OWN)]


@pytest.mark.parametrize("name", OF_PARTS)
@pytest.mark.parametrize("given", JOBS)
def test_a_figure_set_on_resizing_is_used_as_one_set_on_making(given: str, name: str) -> None:
    setting = f"{name}={others(name)[-1]}"
    kind = KINDS["elbow"]
    old = as_recorded(read_job(JOBS[given]))
    resized = changed_job(kind, old, {}, (setting,))
    made = read_job(JOBS[given], settings=(setting,))
    assert resized.rules[name] != old.rules[name]
    assert repr(numbers.conditions(resized)) == repr(numbers.conditions(made))
    assert inputs(resized) == inputs(made)
    assert resized.warnings == made.warnings
    assert part_number(kind, resized, "b") == part_number(kind, made, "b")


@pytest.mark.parametrize(("name", "value"), [("grade", {}), ("clamp", 1), ("fluid", None)])
def test_a_record_with_a_word_where_another_belongs_is_refused(name: str, value: object) -> None:
    """A `grade` that is no number ended in a traceback."""
    with pytest.raises(DamagedError):
        decode(Job, {**encode(read_job(BARE)), name: value})


# Another text for every input; beside what else must then be given.
OTHER = {
    "tube": "LLDPE 4 x 6 mm", "tube_id": "4.2mm", "tube_od": "6.5mm", "tube_material": "nylon",
    "tube_rating": "120psi@20C", "shore": "60",
    "tube2": "LLDPE 4 x 6 mm", "tube2_id": "5mm", "tube2_od": "7mm", "tube2_material": "PVC",
    "tube2_rating": "90psi", "shore2": "55",
    "bit": "1/4", "hole": "6.2mm", "pressure": "30psi", "relief": "60psi", "material": "pa11",
    "wood": "softwood 0.4", "bark": "4..14mm", "temperature": "41C", "fluid": "alcohol",
    "clamp": True, "grade": "2",
}  # fmt: skip
BARB = {"tube_id": "4.3mm", "tube2_id": "6mm", "tube2_od": "8mm", "pressure": "45psi"}


# Inputs that have their tests elsewhere, each with the reason.
ELSEWHERE = {
    "service": "must be calibrated first: tests/jobs/test_calibrate.py",
    "without": "changes nothing where nothing was measured: tests/jobs/test_bench_day.py",
    "use": "marks the files and leaves the number: the test below, and tests/checks/test_fit.py",
}


def test_every_input_is_given_anew_here_or_named_with_the_test_that_does() -> None:
    """An input added later must not go untried in silence."""
    names = [one.name for one in INPUTS]
    assert not set(OTHER) & set(ELSEWHERE)
    assert sorted([*OTHER, *ELSEWHERE]) == sorted(names)


@pytest.mark.parametrize("name", sorted(OTHER))
def test_an_input_given_on_resizing_is_used_as_one_given_on_making(name: str) -> None:
    """`resize --grade 2` and the thin end of `--bark 4..14mm` were read and not used."""
    kind = KINDS["barb" if "2" in name else "elbow"]
    how = {"needs_tip": kind.needs_bit, "two_ends": kind.two_ends}
    given = BARB if kind.two_ends else PLACED
    # A named tube is no longer what was measured, nor a hole that of another bit.
    drops = {"tube": TUBE_INPUTS[""], "tube2": TUBE_INPUTS["2"], "bit": ("hole",)}.get(name, ())
    anew = {one: text for one, text in given.items() if one not in drops} | {name: OTHER[name]}
    old = as_recorded(read_job(given, **how))
    resized, made = changed_job(kind, old, {name: OTHER[name]}, ()), read_job(anew, **how)
    assert encode(resized) == encode(made)
    assert part_number(kind, resized, "b") == part_number(kind, made, "b")
    assert part_number(kind, resized, "b") != part_number(kind, old, "b")


def test_a_use_given_on_resizing_is_kept_and_leaves_the_number() -> None:
    kind, old = KINDS["elbow"], as_recorded(read_job(PLACED))
    resized = changed_job(kind, old, {"use": "fit"}, ())
    assert resized.fit_only
    assert encode(resized) == encode(read_job({**PLACED, "use": "fit"}))
    assert part_number(kind, resized, "b") == part_number(kind, old, "b")


def test_every_input_settles_fields_of_a_job_and_has_its_option() -> None:
    options = {parameter.name for parameter in _shared()}
    assert {one.name for one in INPUTS} == options - {"kit_file", "settings"}
    settled = {field for one in INPUTS for field in one.fills}
    others = {"inputs", "forced", "rules", "user_rules"}
    assert settled | others == {field.name for field in dataclasses.fields(Job)}


def test_what_was_not_given_is_not_there() -> None:
    job = read_job(BARE)
    assert set(job.inputs) == set(BARE)
    assert (job.bark_mm, job.temperature_c, job.wood, job.relief_mpa) == (None,) * 4
    assert job.tubes[0].inner_tolerance_mm is None


def test_what_stands_in_is_printed_with_its_reason() -> None:
    said = numbers.printed_inputs(read_job(BARE, settings=("bark_mm=12mm", "temperature_c=41C")))
    assert (said["bark"].text, said["bark"].origin) == ("12 mm", "default (judgement)")
    assert (said["temperature"].text, said["temperature"].origin) == ("41 C", "default")
    assert said["material"].text == "mjf_pa12"
    given = numbers.printed_inputs(read_job(PLACED))
    assert (given["bark"].text, given["bark"].origin) == ("9mm", "option")
    assert list(given) == list(numbers.printed_inputs(read_job(PLACED)))


def test_a_size_set_on_making_still_holds_when_the_tube_is_measured_anew() -> None:
    """The record's own figures read a new tube, not those of the profiles."""
    old = read_job({**MEASURED, "tube_od": "5.5mm"}, settings=("tube_match_mm=0.3mm",))
    assert old.tubes[0].row is None
    new = changed_job(KINDS["elbow"], old, {"tube_od": "6.1mm"}, ())
    assert new.tubes[0].row is not None
    assert abs(new.tubes[0].row.od_mm - 6.1) > 0.05, "within the default it is no row"


def test_a_record_that_held_defaults_as_given_is_read_as_what_was_given(tmp_path) -> None:
    """The first part.json files filled in bark, temperature and tolerance before they wrote."""
    plan = plan_part(KINDS["elbow"], read_job(MEASURED))
    body = json.loads(part_record(plan, []))
    body["job"] |= {"bark_mm": 8.0, "temperature_c": 30.0}
    body["job"]["tubes"][0]["inner_tolerance_mm"] = 0.05
    body["job"]["inputs"] |= {
        "bark": {"text": "8 mm", "origin": "default (judgement)"},
        "temperature": {"text": "30 C", "origin": "default"},
    }
    path = tmp_path / "part.json"
    path.write_text(json.dumps(body))
    assert repr(dataclasses.asdict(load_record(path)[1])) == repr(
        dataclasses.asdict(as_recorded(plan.job))
    )
