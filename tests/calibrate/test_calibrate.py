"""A coupon's answers become a service's offset, and later parts are drawn the other way."""

import json
from dataclasses import replace

import pytest

from barbwright import catalog, kit
from barbwright.catalog import Service, default_service, find_service, save_service, services
from barbwright.design.compensate import compensated
from barbwright.design.draw import shape_of, tick_positions
from barbwright.design.kinds import KINDS
from barbwright.design.part import design_part, dimensions
from barbwright.design.refusals import refusals
from barbwright.errors import InputError
from barbwright.jobs.calibrate import calibrated
from barbwright.jobs.plan import plan_part
from barbwright.jobs.record import decode, document, encode
from barbwright.kit import Job
from example_job import DEMO, job_of


@pytest.fixture(autouse=True)
def user(tmp_path, monkeypatch):
    monkeypatch.setenv("BARBWRIGHT_PROFILES", str(tmp_path))
    return tmp_path


SHOP = Service("shop", "Shop", "mjf_pa12", -0.1, -0.2, 0.15, True, ("barb 5 fits",))


def design_with(service, kind="elbow", **more):
    job = replace(job_of(kind, **more), service=service)
    return design_part(KINDS[kind], kit.conditions(job), job.forced, words=("15/64", "A"))


# --- answers to offsets -------------------------------------------------------------------------


def test_a_wider_barb_that_fits_means_the_service_prints_small():
    service, warnings = calibrated("Shop", "mjf_pa12", barb="5", bores=["3mm:2.8mm"])
    assert service.outside_offset_mm == pytest.approx(-0.1)
    assert service.bore_offset_mm == pytest.approx(-0.2)
    # Half a step of reading and the next batch: 0.05 + 0.05, the least that is believed.
    assert service.tolerance_mm == pytest.approx(0.1)
    assert not warnings


def test_barb_and_tip_are_averaged_and_their_difference_widens_the_tolerance():
    service, _ = calibrated("Shop", "mjf_pa12", barb="5", tip="4", bores=["3mm:2.9mm"])
    assert service.outside_offset_mm == pytest.approx(-0.1)
    apart, _ = calibrated("Shop", "mjf_pa12", barb="6", tip="3", bores=["3mm:2.9mm"])
    assert apart.outside_offset_mm == pytest.approx(-0.1)
    assert apart.tolerance_mm == pytest.approx(0.1 + 0.05 + 0.05)


def test_posts_count_before_barb_and_tip():
    posts = ["4mm:3.93mm", "8mm:7.95mm"]
    service, _ = calibrated("Shop", "mjf_pa12", barb="7", bores=["3mm:3mm"], posts=posts)
    assert service.outside_offset_mm == pytest.approx(-0.06)
    assert service.answers == (
        "barb 7 fits",
        "post drawn:measured 4mm:3.93mm",
        "post drawn:measured 8mm:7.95mm",
        "bore drawn:passes 3mm:3mm",
    )


def test_the_last_number_and_a_wild_coupon_are_warned_of():
    _, warnings = calibrated("Shop", "mjf_pa12", barb="7", bores=["3mm:3mm"])
    assert "last on the coupon" in warnings[0]
    bores = ["2mm:1.5mm", "4mm:4.4mm"]
    service, warnings = calibrated("Shop", "mjf_pa12", barb="4", bores=bores)
    assert service.tolerance_mm > 0.3
    assert "scatters" in warnings[0]


def test_all_faults_of_the_answers_at_once():
    with pytest.raises(InputError) as caught:
        calibrated("", "nylon99", barb="9", tip="x", bores=["3mm", "3mm:2mm", "3:2.9mm"])
    text = "\n".join(str(fault) for fault in caught.value.faults)
    for word in ("no name", "nylon99", "--barb", "--tip", "drawn:measured", "too far off"):
        assert word in text
    assert len(caught.value.faults) == 7


@pytest.mark.parametrize(
    ("answers", "word"), [({"bores": ["3mm:3mm"]}, "no outside"), ({"barb": "4"}, "no bore")]
)
def test_both_an_outside_and_a_bore_are_asked_for(answers, word):
    with pytest.raises(InputError, match=word):
        calibrated("Shop", "mjf_pa12", **answers)


# --- kept in the user's folder ------------------------------------------------------------------


def test_what_is_saved_is_what_is_read(user):
    odd = replace(SHOP, id="a_b", name='A "b" \\ c ä', answers=('say "so"', "tab\tgone"))
    path = save_service(odd)
    assert path == user / "services" / "a_b.toml"
    assert services()["a_b"] == replace(odd, answers=('say "so"', "tabgone"))
    assert [file.name for file in path.parent.iterdir()] == ["a_b.toml"]


def test_an_earlier_calibration_is_not_overwritten_unasked():
    save_service(SHOP)
    with pytest.raises(InputError, match="calibrated already"):
        save_service(replace(SHOP, bore_offset_mm=0.0))
    assert services()["shop"].bore_offset_mm == -0.2
    save_service(replace(SHOP, bore_offset_mm=0.0), replace=True)
    assert services()["shop"].bore_offset_mm == 0.0


@pytest.mark.parametrize("name", ["", "../../etc", "ä ö", "x" * 61, "a\nb", "none"])
def test_hostile_names(name):
    if name == "../../etc":
        assert catalog.service_id(name) == "etc"
        return
    with pytest.raises(InputError):
        catalog.service_id(name)


def test_a_damaged_profile_is_named_with_its_fault(user):
    (user / "services").mkdir()
    (user / "services" / "bad.toml").write_text('name = "x"\nbore_offset_mm = 3.0\n')
    with pytest.raises(InputError) as caught:
        services()
    assert all("bad.toml" in str(fault) for fault in caught.value.faults)
    assert any("bore_offset_mm" in str(fault) for fault in caught.value.faults)


def test_one_default_a_material_is_taken_and_two_are_not():
    save_service(SHOP)
    assert default_service("mjf_pa12") == SHOP
    assert default_service("pa11") is None
    save_service(replace(SHOP, id="other", name="Other"))
    assert default_service("mjf_pa12") is None
    assert find_service("other").name == "Other"


# --- a job takes it -----------------------------------------------------------------------------


def test_the_default_is_taken_unasked_and_said():
    assert job_of().service is None
    save_service(SHOP)
    job = job_of()
    assert job.service == SHOP
    assert "default for mjf_pa12" in job.inputs["service"].origin
    assert "-0.10" in job.inputs["service"].text
    assert kit.conditions(job).material.tolerance_mm == 0.15
    assert job_of(service="none").service is None
    assert job_of(service="none").inputs["service"].text == "none"


def test_a_service_of_another_material_is_refused():
    save_service(SHOP)
    with pytest.raises(InputError, match="another material"):
        job_of(service="shop", material="pa11")
    assert job_of(material="pa11").service is None


def test_an_unknown_service_is_told_what_to_do():
    with pytest.raises(InputError, match="none is calibrated yet"):
        job_of(service="shop")


def test_the_part_number_tells_a_calibrated_part_apart():
    plain = plan_part(KINDS["elbow"], job_of()).number
    save_service(SHOP)
    assert plan_part(KINDS["elbow"], job_of()).number != plain
    assert plan_part(KINDS["elbow"], job_of(service="none")).number == plain


def test_a_record_keeps_the_service_and_an_older_record_has_none():
    save_service(SHOP)
    job = job_of()
    kept = json.loads(json.dumps(encode(job)))
    assert decode(Job, kept).service == SHOP
    del kept["service"]
    assert decode(Job, kept).service is None
    said = document(plan_part(KINDS["elbow"], job), "make")
    assert said["inputs"]["service"]["from"].startswith("user profile")
    assert said["dimensions"]["crest_diameter_mm"] == pytest.approx(5.1)
    assert said["dimensions"]["compensated_crest_diameter_mm"] == pytest.approx(5.2)
    assert said["dimensions"]["compensated_bore_diameter_mm"] == pytest.approx(2.7)


# --- drawn the other way ------------------------------------------------------------------------


@pytest.mark.parametrize("kind", KINDS)
def test_every_measured_diameter_moves_by_its_own_offset(kind):
    design = design_with(SHOP, kind)
    nominal = {probe.name: probe for probe in shape_of(design, "part").probes}
    for probe in shape_of(compensated(design), "part").probes:
        # A slot counts as a bore; both move against what the service prints off.
        moved = 0.2 if probe.side == "inner" else 0.1
        assert probe.diameter_mm - nominal[probe.name].diameter_mm == pytest.approx(moved)


@pytest.mark.parametrize("kind", KINDS)
def test_a_print_that_is_off_by_the_offset_measures_as_wanted(kind):
    """Own arithmetic: draw compensated, print it off, and the wanted part is there."""
    design = design_with(SHOP, kind)
    printed = compensated(compensated_back(compensated(design), SHOP))
    assert dimensions(printed) == pytest.approx(
        {n: v for n, v in dimensions(design).items() if not n.startswith("compensated_")}
    )


def compensated_back(drawn, service):
    """A part as it comes out: drawn sizes plus the offsets, written as the opposite offset."""
    conditions = replace(
        drawn.conditions,
        outside_offset_mm=-service.outside_offset_mm,
        bore_offset_mm=-service.bore_offset_mm,
    )
    return replace(drawn, conditions=conditions)


def test_without_an_offset_nothing_is_touched():
    design = design_with(None)
    assert compensated(design) is design
    assert not [name for name in dimensions(design) if name.startswith("compensated_")]


def test_what_is_measured_on_arrival_is_the_size_wanted():
    from barbwright.order.sizes import critical_sizes

    plain = {one.name: one.drawn_mm for one in critical_sizes(design_with(None))}
    found = {one.name: one.drawn_mm for one in critical_sizes(design_with(SHOP))}
    assert set(found) == set(plain)
    assert found["crest_diameter_mm"] == plain["crest_diameter_mm"]


def test_an_order_verifies_a_calibrated_part_against_what_was_drawn(user, tmp_path):
    from barbwright.jobs.make import make_part
    from barbwright.order.verify import verify_parts

    save_service(SHOP)
    plan = plan_part(KINDS["barb"], job_of("barb"))
    folder, _ = make_part(plan, tmp_path / "out", ("step", "stl", "3mf", "pdf"))
    assert len(verify_parts([folder])) == 1


def test_ticks_stay_where_they_were():
    design = design_with(SHOP)
    assert tick_positions(compensated(design)) == tick_positions(design)


def test_a_calibrated_print_makes_a_shorter_seat():
    assert design_with(SHOP).tip.seat_mm < design_with(None).tip.seat_mm - 5.0


def test_an_offset_that_cannot_be_drawn_is_refused():
    far = replace(SHOP, outside_offset_mm=0.5, bore_offset_mm=-0.5)
    found = refusals(design_with(far, "barb", settings=("bore=3mm", "root=4.3mm", "nose=3.9mm")))
    assert "nose_wall" in {one.id for one in found}


def test_the_command_says_what_it_wrote(user, capsys):
    from barbwright.cli.calibrate import calibrate

    calibrate(service="Shop", barb="5", bore=["3mm:2.8mm"], json_=True)
    said = json.loads(capsys.readouterr().out)
    assert said["outside_offset_mm"] == pytest.approx(-0.1)
    assert said["files"][0]["path"] == str(user / "services" / "shop.toml")
    assert DEMO["material"] == said["material"]
