"""A drawn barb on its named tube: at the corners the checks read, and told with its numbers."""

from __future__ import annotations

import base64
import json
from dataclasses import replace

import jsonschema
import numpy as np
import pytest

from barbwright.design.part import KINDS
from barbwright.errors import InputError
from barbwright.jobs.papers import StressPapers, part_report
from barbwright.jobs.plan import plan_part
from barbwright.jobs.prove import contact_document, contact_lines, prove_contact, varied
from barbwright.prove.contact import (
    DrawnBarb,
    Fineness,
    NotConvergedError,
    Rubber,
    TubeFit,
    part,
    refine,
)
from barbwright.prove.result import contact_json
from barbwright.report.contact_plot import contact_png, crests_passed_mm
from barbwright.report.sheet import SealPage, sheet_html
from barbwright.say import bare
from example_job import job_of
from newtons import alone
from run_cli import SCHEMA

QUICK = Fineness(rows=2, element_mm=0.4, step_mm=0.4)


def nobody(_case):
    raise OSError


@pytest.fixture(scope="module")
def proved():
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(refine, "meshes", lambda _fit: (QUICK, QUICK.halved()))
        patch.setattr(refine, "begun", nobody)
        plan = plan_part(KINDS["barb"], job_of("barb"))
        yield plan, prove_contact(plan)[0]


@pytest.mark.slow
def test_pushed_at_the_fat_corner_and_held_at_the_lean_one(proved):
    plan, found = proved
    barb, tube = plan.design.barbs[0], plan.design.conditions.tubes[0]
    tolerance = plan.design.conditions.material.tolerance_at(barb.crest_mm)
    assert found.push_fit.barb.crest_mm == pytest.approx(barb.crest_mm + tolerance)
    assert found.hold_fit.barb.crest_mm == pytest.approx(barb.crest_mm - tolerance)
    assert found.push_fit.inner_mm < tube.inner_mm < found.hold_fit.inner_mm
    assert found.push_fit.modulus_mpa == pytest.approx(0.5 * tube.modulus_low_mpa)
    assert found.hold_fit.modulus_mpa == pytest.approx(
        tube.modulus_low_mpa * tube.temperature_factor
    )


def test_the_tables_keys_stand_in_the_json(proved):
    plan, found = proved
    body = contact_document(plan, [found])["contact"]
    assert len(body["land_pressure_mpa"]) == 3
    for key in ("push_on_peak_n", "pull_off_n", "shortening_mm", "thrust_n"):
        assert body[key] > 0.0
    assert body["converged"] is found.converged
    assert body["worked_with"]["hold"]["friction"] == 0.2
    json.dumps(body, allow_nan=False)


def test_the_words_say_what_would_have_to_be_true(proved):
    plan, found = proved
    text = " ".join(contact_lines(plan, found))
    assert "What would have to be true" in text
    assert "judgement" in text
    assert "no measurement stands behind it" in text
    assert alone(text) == []


def test_relaxation_and_friction_are_read_again_at_either_end(proved):
    plan, found = proved
    judged, *rows = varied(plan)
    by_name = {(row.name, row.value): row for row in rows}
    # A seal is in proportion to what stays of the contact; a wetter tube holds less.
    for share in (0.3, 0.7):
        assert by_name["relaxation_tube", share].seal == pytest.approx(judged.seal * share / 0.5)
    grips = [by_name["grip_friction", friction].grip for friction in (0.15, 0.3)]
    assert grips[0] < judged.grip < grips[1]
    assert f"friction 0.15 {by_name['grip_friction', 0.15].seal:.2f}" in " ".join(
        contact_lines(plan, found)
    )
    assert contact_document(plan, [found])["contact"]["varied"][1]["value"] == 0.3


@pytest.mark.slow
def test_the_sheet_shows_the_tube_on_its_barb(proved):
    plan, found = proved
    picture = contact_png(found, "barb")
    lines = tuple(contact_lines(plan, found))
    page = sheet_html(part_report(plan), contacts=[SealPage(lines=lines, png=picture)]).decode()
    assert "The tube on its barb" in page
    assert base64.b64encode(picture).decode() in page
    assert f"at most {bare(found.push.peak_n, 'up', 1)} N" in page
    told = sheet_html(part_report(plan), unsolved="it crumples").decode()
    assert "Not solved: it crumples" in told
    assert "The tube on its barb" not in sheet_html(part_report(plan)).decode()


def test_the_curve_marks_where_the_tubes_end_comes_onto_a_crest(proved):
    _, found = proved
    push, lands = found.push, found.push_fit.barb.lands_mm
    # The tube is pushed together: its end stands behind the hand, never before it.
    assert np.all(push.end_mm <= push.travel_mm + 1e-9)
    assert push.end_mm[-1] < push.travel_mm[-1] - 0.5
    passed = crests_passed_mm(found)
    assert len(passed) == np.sum(lands <= push.end_mm.max())
    for travel, land in zip(passed, lands, strict=False):
        assert travel >= land
        assert np.interp(travel, push.travel_mm, push.end_mm) == pytest.approx(land, abs=0.05)
    text = " ".join(contact_lines(*proved))
    assert f"its end stands {push.end_mm[-1]:.1f} mm on" in text


def test_what_holds_is_rounded_down_and_what_a_hand_needs_up(proved):
    plan, found = proved
    text = " ".join(contact_lines(plan, found))
    held, push = 5.8699, 19.6301
    other = replace(
        found,
        hold=replace(found.hold, pull_off_n=held),
        push=replace(found.push, force_n=found.push.force_n * push / found.push.peak_n),
    )
    told = " ".join(contact_lines(plan, other))
    assert told != text
    assert "it holds 5.8 N (1.31 lbf) fresh" in told
    assert "at most 19.7 N (4.42 lbf)" in told


def test_a_made_parts_record_keeps_the_contact_without_its_time(proved):
    plan, found = proved
    row = contact_document(plan, [found])["contact"]
    stress = StressPapers(result=None, cases=(), contacts=(found, found))
    assert stress.contact_names("_x") == ("contact_x.png", "contact_second_x.png")
    validator = jsonschema.Draft202012Validator(SCHEMA["$defs"]["contact"])
    del row["seconds"]
    validator.validate(row)


def test_a_reading_that_moves_is_not_converged(proved):
    _, found = proved
    moved = {"push_on_peak_n": 0.01, "land_pressure_mpa": 0.05}
    assert not _with(found, changes=moved).converged
    assert _with(found, changes=dict.fromkeys(moved, 0.01)).converged
    assert not _with(found, changes=dict.fromkeys(moved, float("nan"))).converged


def _with(found, **changes):
    fields = {name: getattr(found, name) for name in found.__dataclass_fields__}
    return part.ContactResult(**{**fields, **changes})


@pytest.mark.slow
def test_the_picture_is_the_same_bytes_twice(proved):
    _, found = proved
    first = contact_png(found, "barb")
    assert first.startswith(b"\x89PNG")
    assert contact_png(found, "barb") == first


def test_a_tube_that_finds_no_balance_is_told_as_crumpling(monkeypatch):
    def crumples(*_given, **_rest):
        raise NotConvergedError

    monkeypatch.setattr(refine, "seat", crumples)
    monkeypatch.setattr(refine, "begun", nobody)
    with pytest.raises(InputError, match="crumples along its axis"):
        prove_contact(plan_part(KINDS["barb"], job_of("barb")))


@pytest.mark.slow
def test_a_process_beside_finds_the_same_as_one_here():
    """A frictionless short push, solved twice: the second process answers with the same digits."""
    barb = DrawnBarb(
        nose_mm=3.9, root_mm=4.3, crest_mm=4.7, land_mm=0.8, pitch_mm=3.0, insertion_mm=6.5,
        count=2,
    )  # fmt: skip
    fit = TubeFit(
        inner_mm=4.3, outer_mm=6.3, barb=barb, wall=Rubber(5.0), modulus_mpa=5.0, friction=0.1
    )
    case = refine.RefinedCase(fit=fit, pull=False)
    here, there = refine.both(case, case)
    assert there.best is not here.best
    assert there.best.peak_n == here.best.peak_n > 0.0
    assert (there.peak, there.land) == (here.peak, here.land)


def test_the_read_out_is_contact_alone(proved):
    """The read-out knows contact alone: a clamp is the check's own addition."""
    _, found = proved
    assert "clamp" not in contact_json(found)
    assert np.isfinite(found.hold.pull_off_n)
