"""The fit gauge: one body with every step on it, and the page beside it."""

import base64
import json
import re
import zipfile
from dataclasses import replace

import numpy as np
import pytest

from barbwright.catalog import Service
from barbwright.design.coupon import (
    BORES_MM,
    CENTRE_BARB,
    CENTRE_TIP,
    GAPS_MM,
    POSTS_MM,
    WALLS_MM,
    coupon_shape,
    coupon_sizes,
)
from barbwright.design.part import KINDS
from barbwright.errors import BarbwrightError, BuildError
from barbwright.jobs.coupon import coupon_document, make_coupon, plan_coupon
from barbwright.jobs.plan import plan_part
from barbwright.jobs.record import encode, versions
from barbwright.order.choose import choose_parts
from barbwright.order.pack import write_order
from barbwright.order.record import plan_order, requirements
from barbwright.order.subject import subject_of
from barbwright.report.coupon_sheet import coupon_html
from example_job import NYLON_68, PU_95, design_of, job_of
from run_cli import run

pytestmark = pytest.mark.usefixtures("one_process")


@pytest.fixture(scope="module")
def coupon():
    return plan_coupon(job_of("elbow"))[1]


def test_barbs_step_by_a_tenth_about_the_crest_the_tube_asks_for(coupon):
    assert np.diff(coupon.crests_mm) == pytest.approx([0.1] * 6)
    assert coupon.crests_mm[CENTRE_BARB - 1] == pytest.approx(design_of("elbow").barbs[0].crest_mm)


@pytest.mark.parametrize(("pressure", "further"), [("30psi", False), ("60psi", True)])
def test_the_middle_barb_of_a_rubber_tube_is_the_one_its_part_gets(pressure, further):
    # At 60 psi polyurethane is stretched further than its kind's own, to seal and to hold.
    job = job_of("elbow", **PU_95, pressure=pressure)
    crest = float(plan_part(KINDS["elbow"], job).design.barbs[0].crest_mm)
    assert plan_coupon(job)[1].crests_mm[CENTRE_BARB - 1] == pytest.approx(crest)
    own = design_of("elbow", **PU_95, pressure=pressure).barbs[0].crest_mm
    assert (crest > float(own) + 0.01) is further


def test_tips_step_by_a_tenth_about_the_hole_the_bit_leaves(coupon):
    assert np.diff(coupon.tips_mm) == pytest.approx([0.1] * 4)
    # 15/64 in is 5.953 mm, and it cuts 0.1 to 0.4 wider.
    assert coupon.tips_mm[CENTRE_TIP - 1] == pytest.approx(15 / 64 * 25.4 + 0.25)


def test_a_measured_hole_centres_the_tips():
    _, coupon = plan_coupon(job_of("elbow", hole="6.1mm"))
    assert coupon.tips_mm[CENTRE_TIP - 1] == pytest.approx(6.1)


@pytest.mark.parametrize("more", [{}, NYLON_68, {"material": "fff_petg"}, {"bit": "10mm"}])
def test_every_step_is_measured_and_nothing_runs_into_another(more):
    _, coupon = plan_coupon(job_of("elbow", **more))
    shape = coupon_shape(coupon, "coupon")
    # Six bores through a plate: six handles.
    assert shape.euler_number == 2 - 2 * len(BORES_MM)
    assert len(shape.probes) == 7 + 5 + len(POSTS_MM) + len(BORES_MM)
    assert len(shape.walls) == len(WALLS_MM) + len(GAPS_MM)
    middles = [
        (probe.origin[0], probe.origin[1], probe.diameter_mm / 2.0)
        for probe in shape.probes
        if probe.side == "outer"
    ]
    for index, (x, y, r) in enumerate(middles):
        for other_x, other_y, other_r in middles[index + 1 :]:
            assert np.hypot(x - other_x, y - other_y) > r + other_r + 1.0
    plate = shape.adds[0].outline[:, :2]
    for x, y, r in middles:
        assert r < x < plate[:, 0].max() - r
        assert r < y < plate[:, 1].max() - r


def test_labels_name_what_stands_behind_them(coupon):
    texts = [mark.text for mark in coupon_shape(coupon, "coupon").engravings]
    for letter in "TBPHWGA":
        assert letter in texts
    assert {f"{size:g}" for size in (*BORES_MM, *WALLS_MM, *GAPS_MM)} <= set(texts)
    assert texts.count("R58") == 5


def test_a_gauge_is_never_compensated():
    job = job_of("elbow")
    service = Service(
        id="x",
        name="x",
        material=job.material.id,
        outside_offset_mm=-0.2,
        bore_offset_mm=-0.2,
        tolerance_mm=0.1,
        use_by_default=True,
        answers=(),
    )
    bare, calibrated = plan_coupon(job), plan_coupon(replace(job, service=service))
    assert bare[0] == calibrated[0]
    assert coupon_sizes(bare[1]) == coupon_sizes(calibrated[1])


def test_the_number_tells_two_gauges_apart():
    names = {plan_coupon(job_of("elbow", **more))[0] for more in ({}, NYLON_68, {"hole": "6.1mm"})}
    assert len(names) == 3
    assert all(re.fullmatch(r"[a-z0-9_-]{1,60}", name) for name in names)


def test_the_page_asks_for_every_row_and_says_how_to_answer(coupon):
    page = coupon_html(coupon, "coupon-1", "A <b> & material", "mjf_pa12").decode()
    assert "<b>" not in page
    assert "barbwright calibrate" in page
    for size in coupon.crests_mm:
        assert f"<td>{size:.2f}</td>" in page
    assert page.count('class="blank"') == 7 + 5 + 4 + 6 + 7 + 7 + 5
    assert "http" not in page
    assert "<img" not in page


def test_the_page_shows_the_gauge_and_says_what_to_send(coupon):
    page = coupon_html(coupon, "coupon-1", "PA12", "mjf_pa12", b"\x89PNG picture").decode()
    held = re.search(r'src="data:image/png;base64,([^"]+)"', page)
    assert base64.b64decode(held[1]) == b"\x89PNG picture"
    for name in ("part.step", "part_mm.stl", "part.3mf"):
        assert name in page
    assert "barbwright order" in page


def recorded(folder, job):
    """A gauge's record as its making writes it, without its models."""
    number, coupon = plan_coupon(job)
    told = coupon_document(job, number, coupon)
    body = {**told, "files": [], "job": encode(job), "versions": versions()}
    (folder / "coupon.json").write_text(json.dumps(body), encoding="utf-8")
    return body


def test_an_order_takes_a_gauge_by_its_folder_or_its_record(tmp_path):
    body = recorded(tmp_path, job_of("elbow"))
    for named in (tmp_path, tmp_path / "coupon.json"):
        chosen = choose_parts([str(named)], tmp_path, quantities=["coupon=2"])
        assert chosen.lines == ((tmp_path, 2, 0, ""),)
    subject = subject_of(tmp_path)
    assert subject.number == body["part_number"]
    # A gauge is to show what comes out: it has no limits, no verdict, and says to leave it alone.
    assert (subject.sizes, subject.judged, subject.passed) == ((), False, True)
    assert "compensate nothing" in subject.models


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"job": None}, "job: of the wrong type, or an older version"),
        ({"part_number": "coupon-other"}, "not those its own job gives"),
        ({"dimensions": {}}, "not those its own job gives"),
    ],
)
def test_a_gauges_record_that_is_old_or_changed_is_refused(tmp_path, change, said):
    body = recorded(tmp_path, job_of("elbow"))
    (tmp_path / "coupon.json").write_text(json.dumps({**body, **change}), encoding="utf-8")
    with pytest.raises(BarbwrightError, match=said):
        subject_of(tmp_path)


@pytest.mark.slow
def test_a_gauge_is_made_ordered_and_found_in_the_zip(tmp_path):
    folder, body = make_coupon(job_of("elbow"), tmp_path)
    order = plan_order([(folder, 1, 0, "")])
    path = write_order(order, tmp_path).path
    with zipfile.ZipFile(path) as packed:
        names = {name.split("/", 1)[1] for name in packed.namelist()}
        page = packed.read(f"{order.name}/inspection.html").decode()
    number = body["part_number"]
    # How many are wanted stands in a file's name, as of every part ordered.
    assert {f"{kind}/{number}_1x_mm.{kind}" for kind in ("step", "stl", "3mf")} <= names
    assert "barbwright calibrate" in page
    assert not [text for text in requirements(order) if "rod-tested" in text or "limits" in text]
    stl = folder / "part_mm.stl"
    stl.write_bytes(stl.read_bytes()[:-1] + b"x")
    with pytest.raises(BuildError, match="changed since it was verified"):
        plan_order([(folder, 1, 0, "")])


def test_it_builds_as_one_body_that_measures_as_drawn(coupon):
    from barbwright.solid.build import build
    from barbwright.solid.mesh import mesh_solid
    from oracles import measure_mesh

    # Letters take twenty seconds and are tried with every part.
    shape = replace(coupon_shape(coupon, "coupon"), engravings=())
    built = build(shape)
    mesh = mesh_solid("coupon", built.marked)
    report = measure_mesh((mesh.vertices, mesh.triangles), shape, built.volume_mm3)
    assert report.bodies == 1
    assert report.euler_number == -10
    assert max(size.deviation_mm for size in report.measured) < 0.03


def test_a_dry_run_asked_for_json_prints_one_document():
    done = run("coupon", "--tube-id", "0.17in", "--bit", "15/64", "-n", "--json")
    assert done.code == 0, done
    body = json.loads(done.out)
    assert body["command"] == "coupon"
    assert body["files"] == []
