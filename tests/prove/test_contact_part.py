"""A drawn barb on its named tube: at the corners the checks read, and told with its numbers."""

from __future__ import annotations

import json

import numpy as np
import pytest

from barbwright.design.part import KINDS
from barbwright.errors import InputError
from barbwright.jobs.plan import plan_part
from barbwright.jobs.prove import contact_document, contact_lines, prove_contact
from barbwright.prove.contact import (
    DrawnBarb,
    Fineness,
    Fit,
    NotConvergedError,
    Rubber,
    part,
    refine,
)
from barbwright.prove.result import contact_json
from barbwright.report.contact_plot import contact_png
from example_job import job_of

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


def test_a_reading_that_moves_is_not_converged(proved):
    _, found = proved
    moved = {"push_on_peak_n": 0.01, "land_pressure_mpa": 0.05}
    assert not _with(found, changes=moved).converged
    assert _with(found, changes=dict.fromkeys(moved, 0.01)).converged
    assert not _with(found, changes=dict.fromkeys(moved, float("nan"))).converged


def _with(found, **changes):
    fields = {name: getattr(found, name) for name in found.__dataclass_fields__}
    return part.ContactResult(**{**fields, **changes})


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


def test_a_process_beside_finds_the_same_as_one_here():
    """A frictionless short push, solved twice: the second process answers with the same digits."""
    barb = DrawnBarb(
        nose_mm=3.9, root_mm=4.3, crest_mm=4.7, land_mm=0.8, pitch_mm=3.0, insertion_mm=6.5,
        count=2,
    )  # fmt: skip
    fit = Fit(
        inner_mm=4.3, outer_mm=6.3, barb=barb, wall=Rubber(5.0), modulus_mpa=5.0, friction=0.1
    )
    case = refine.Case(fit=fit, pull=False)
    here, there = refine.both(case, case)
    assert there.best is not here.best
    assert there.best.peak_n == here.best.peak_n > 0.0
    assert (there.peak, there.land) == (here.peak, here.land)


def test_the_read_out_is_contact_alone(proved):
    """The read-out knows contact alone: a clamp is the check's own addition."""
    _, found = proved
    assert "clamp" not in contact_json(found)
    assert np.isfinite(found.hold.pull_off_n)
