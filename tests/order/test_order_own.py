"""Figures of the user's own are told in an order, whatever the part's record says of them."""

from dataclasses import replace
from pathlib import Path

import pytest
from example_parts import FORMATS, copy_of, made, record_of, write_record

from barbwright.design.part import KINDS
from barbwright.errors import BuildError
from barbwright.jobs.make import make_part
from barbwright.jobs.plan import plan_part
from barbwright.jobs.record import part_record
from barbwright.order.documents import inspection_html, order_csv, order_html, quote_html
from barbwright.order.record import plan_order
from barbwright.order.subject import subject_of
from barbwright.order.verify import verify_parts
from example_job import job_of

pytestmark = pytest.mark.usefixtures("models_once", "one_process")

SAID = "MJF PA12: judged with figures"


def own_job(**more):
    job = job_of("barb", **more)
    # As a record holds it that another machine's profile gave.
    own = replace(job.material, strength_xy_mpa=430.0, path="mine.toml")
    return replace(job, material=own)


@pytest.mark.slow
def test_every_page_of_an_order_tells_them_beside_the_verdict(tmp_path):
    plan = plan_part(KINDS["barb"], own_job())
    folder, body = make_part(plan, tmp_path, FORMATS)
    sums = {folder: {Path(row["path"]).name: row["sha256"] for row in body["files"]}}
    order = plan_order([(folder, 1, 0, "")], just_made=sums)
    (part,) = order.parts
    assert part.status.startswith("checks passed; not by shipped figures alone: MJF PA12")
    for page in (
        order_html(order, {part.number: b""}),
        quote_html(order),
        inspection_html(order),
        order_csv(order),
    ):
        assert SAID in page.decode("utf-8-sig")


def test_a_figure_edited_in_a_record_is_refused(tmp_path):
    folder = copy_of(made("barb"), tmp_path)
    body = record_of(folder)
    body["job"]["material"]["density_g_cm3"] *= 10.0
    write_record(folder, body)
    with pytest.raises(BuildError, match="its own job"):
        verify_parts([folder])


def test_numbers_of_the_users_own_are_told_and_silent_ones_refused(tmp_path):
    plan = plan_part(KINDS["barb"], job_of("barb", ("hole_oversize_low_mm=0.12mm",)))
    folder = tmp_path / plan.number
    folder.mkdir()
    (folder / "part.json").write_bytes(part_record(plan, []))
    (said,) = subject_of(folder).own_figures
    assert "hole_oversize_low_mm 0.12" in said
    # The same numbers, and its part number, but nobody is said to have chosen them.
    silent = plan_part(KINDS["barb"], replace(plan.job, user_rules={}))
    assert silent.number == plan.number
    (folder / "part.json").write_bytes(part_record(silent, []))
    with pytest.raises(BuildError, match=r"rules\.hole_oversize_low_mm"):
        subject_of(folder)


@pytest.mark.slow
def test_what_was_just_made_is_not_made_again_and_anything_else_is(tmp_path, monkeypatch):
    def never(*_):
        raise AssertionError

    folder = made("barb")
    monkeypatch.setattr("barbwright.order.subject.made_again", never)
    body = record_of(folder)
    sums = {row["path"]: row["sha256"] for row in body["files"]}
    (part,) = verify_parts([folder], {folder: sums})
    assert sorted(part.files) == ["3mf", "dxf", "pdf", "step", "stl"]
    for known in (None, {}, {folder: {**sums, "drawing.dxf": "0"}}, {tmp_path: sums}):
        with pytest.raises(AssertionError):
            verify_parts([folder], known)
