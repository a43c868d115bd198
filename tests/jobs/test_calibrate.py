"""A coupon's answers become a service's offset, and later parts are drawn the other way."""

import json
import re
from dataclasses import replace

import numpy as np
import pytest

from barbwright import catalog
from barbwright.catalog import (
    Service,
    clear_older_defaults,
    default_service,
    find_service,
    save_service,
    services,
    tables,
)
from barbwright.checks.table import judge_all
from barbwright.design.compensate import compensated
from barbwright.design.draw import shape_of, tick_positions
from barbwright.design.kinds import KINDS
from barbwright.design.part import design_part, dimensions
from barbwright.design.refusals import refusals
from barbwright.errors import InputError
from barbwright.job import numbers
from barbwright.job.record import Job
from barbwright.jobs.calibrate import calibrated
from barbwright.jobs.plan import plan_part
from barbwright.jobs.read_back import decode
from barbwright.jobs.record import document, encode
from example_job import DEMO, job_of

pytestmark = pytest.mark.usefixtures("remade_once", "models_once", "one_process")


@pytest.fixture(autouse=True)
def user(tmp_path, monkeypatch):
    monkeypatch.setenv("BARBWRIGHT_PROFILES", str(tmp_path))
    return tmp_path


SHOP = Service(
    id="shop",
    name="Shop",
    material="mjf_pa12",
    outside_offset_mm=-0.1,
    bore_offset_mm=-0.2,
    tolerance_mm=0.15,
    use_by_default=True,
    answers=("barb 5 fits",),
)


def design_with(service, kind="elbow", **more):
    job = replace(job_of(kind, **more), service=service)
    return design_part(KINDS[kind], numbers.conditions(job), job.forced, words=("15/64", "A"))


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


@pytest.mark.parametrize("name", ["", "../../etc", "東京", "x" * 61, "a\nb", "none"])
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


OTHER = replace(SHOP, id="other", name="Other", outside_offset_mm=0.2)


def test_two_defaults_of_one_material_are_refused_by_name():
    save_service(SHOP)
    assert default_service("mjf_pa12") == SHOP
    assert default_service("pa11") is None
    save_service(OTHER)
    with pytest.raises(InputError) as caught:
        job_of()
    text = "\n".join(str(fault) for fault in caught.value.faults)
    for word in ("mjf_pa12", "Other, Shop", "--service 'Other'"):
        assert word in text
    assert job_of(service="shop").service == SHOP
    assert job_of(service="none").service is None
    assert job_of(material="pa11").service is None


def test_the_newer_default_takes_the_older_ones_place(user):
    other_material = replace(SHOP, id="third", name="Third", material="pa11")
    for one in (SHOP, other_material, OTHER):
        save_service(one)
    assert clear_older_defaults(replace(OTHER, use_by_default=False)) == ()
    assert clear_older_defaults(OTHER) == (SHOP,)
    assert default_service("mjf_pa12") == OTHER
    assert services()["shop"] == replace(SHOP, use_by_default=False)
    assert services()["third"] == other_material
    names = sorted(file.name for file in (user / "services").iterdir())
    assert names == ["other.toml", "shop.toml", "third.toml"]


def test_names_that_differ_by_an_accent_are_two_services():
    keys = {catalog.service_id(f"{letter}nnie's Prints"): letter for letter in "ÄÖAÁ"}
    assert len(keys) == 4
    assert keys["annie_s_prints"] == "A"
    assert all(re.fullmatch(r"[ao]nnie_s_prints(_[0-9a-f]{6})?", key) for key in keys)
    # The same name typed with a combining accent or in capitals is the same service.
    assert catalog.service_id("Ä") == catalog.service_id("A\u0308") == catalog.service_id("ä")
    for letter in "ÄÖA":
        name = f"{letter}nnie's Prints"
        save_service(replace(SHOP, id=catalog.service_id(name), name=name))
    assert [find_service(f"{letter}NNIE'S prints").name[0] for letter in "ÄÖA"] == ["Ä", "Ö", "A"]


# --- a job takes it -----------------------------------------------------------------------------


def test_the_default_is_taken_unasked_and_said():
    assert job_of().service is None
    save_service(SHOP)
    job = job_of()
    assert job.service == SHOP
    assert "default for mjf_pa12" in job.inputs["service"].origin
    assert "-0.10" in job.inputs["service"].text
    assert numbers.conditions(job).material.tolerance_mm == 0.15
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
    assert said["dimensions"]["crest_diameter_mm"] == pytest.approx(5.10)
    assert said["dimensions"]["compensated_crest_diameter_mm"] == pytest.approx(5.20)
    assert said["dimensions"]["compensated_bore_diameter_mm"] == pytest.approx(2.5)


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
    from barbwright.design.limits import critical_limits

    # Outsides and bores off by the same: no wall is drawn thinner, so none must be wanted thicker.
    even = replace(SHOP, bore_offset_mm=-0.1)
    plain = {one.name: one.drawn_mm for one in critical_limits(design_with(None))}
    found = {one.name: one.drawn_mm for one in critical_limits(design_with(even))}
    assert set(found) == set(plain)
    assert found["crest_diameter_mm"] == plain["crest_diameter_mm"]


@pytest.mark.slow
def test_an_order_verifies_a_calibrated_part_against_what_was_drawn(user, tmp_path):
    from barbwright.jobs.make import make_part
    from barbwright.order.verify import verify_parts

    save_service(SHOP)
    plan = plan_part(KINDS["barb"], job_of("barb"))
    folder, _ = make_part(plan, tmp_path / "out", ("step", "stl", "3mf", "pdf"))
    assert len(verify_parts([folder])) == 1


FAT = replace(SHOP, outside_offset_mm=0.2, bore_offset_mm=0.1)
PROCESS = ("exposed_wall", "print_wall", "print_nose", "print_bore", "print_detail")


def test_process_limits_judge_what_arrives():
    """First generation: what is drawn. A calibrated service prints what is wanted: that is judged.

    The nose drawn 0.2 mm less and the bore 0.1 mm less come out as wanted, so nothing is refused
    for a size that no part will have.
    """
    forced = ("bore=2.5mm", "root=4.6mm", "neck=6.5mm", "nose=4mm")
    plain = judge_all(design_with(None, "barb", settings=forced))
    fat = judge_all(design_with(FAT, "barb", settings=forced))
    for name in PROCESS:
        assert fat[name].verdict == plain[name].verdict == 0, name
        assert float(fat[name].capacity) == pytest.approx(float(plain[name].capacity)), name
    # What is too thin as it arrives fails, whatever the file holds.
    thin = judge_all(design_with(FAT, "barb", settings=("bore=2.5mm", "root=4.4mm")))
    assert thin["print_wall"].verdict == 2
    # What is no process limit speaks of the part that arrives as well.
    same = design_with(replace(FAT, outside_offset_mm=0.0, bore_offset_mm=0.0), "barb",
                       settings=forced)  # fmt: skip
    for name, found in judge_all(same).items():
        if found.verdict != 3 and name != "build_box":
            assert fat[name].capacity == pytest.approx(found.capacity), name


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("offsets", [(0.2, 0.1), (-0.1, -0.2), (0.15, -0.1), (-0.3, 0.2)])
def test_parts_are_sized_so_that_what_arrives_keeps_the_limits(kind, offsets):
    service = replace(SHOP, outside_offset_mm=offsets[0], bore_offset_mm=offsets[1])
    design = design_with(service, kind)
    material = design.conditions.material
    for probe in shape_of(compensated(design), "part").probes:
        # The cap's round bottom and the driver's socket are no channels, but wider anyway.
        if probe.side == "inner":
            assert probe.diameter_mm + offsets[1] >= material.min_bore_mm - 1e-6, probe.name
    judged = judge_all(design)
    assert [name for name in PROCESS if name in judged and judged[name].verdict == 2] == []


@pytest.mark.parametrize("outside", [-0.15, -0.1, -0.05])
def test_an_ordinary_calibration_refuses_no_part(outside):
    """The nose is drawn wider so that it prints as wanted, and then it enters the tube."""
    service = replace(SHOP, outside_offset_mm=outside, bore_offset_mm=-0.1)
    for kind in ("barb", "tip", "elbow", "tee", "cap"):
        design = design_with(service, kind)
        assert compensated(design).barbs[0].nose_mm > design.barbs[0].nose_mm
        assert refusals(design) == []


def test_sizes_of_many_designs_are_those_of_each():
    job = replace(job_of("elbow"), service=FAT)
    one = numbers.conditions(job)
    bits = np.array([6.0, 6.35, 7.0])

    def at(bit):
        return replace(one, bit_mm=bit, hole_low_mm=bit + 0.1, hole_high_mm=bit + 0.3)

    many = judge_all(design_part(KINDS["elbow"], at(bits)))
    for index, bit in enumerate(bits):
        single = judge_all(design_part(KINDS["elbow"], at(float(bit))))
        for name in (*PROCESS, "build_box"):
            found = np.broadcast_to(many[name].capacity, bits.shape)[index]
            assert found == pytest.approx(float(np.ravel(single[name].capacity)[0])), name


# --- said wherever the sizes are said -----------------------------------------------------------


SAID = (
    "models compensated for Shop: outside -0.20 mm, bore -0.10 mm; drawing and limits are the "
    "finished part; not for another service"
)


def test_the_sentence_says_what_is_drawn_off():
    assert FAT.models_sentence == SAID
    nothing = replace(SHOP, outside_offset_mm=0.0, bore_offset_mm=0.0)
    assert nothing.models_sentence == ""
    assert nothing.drawn_off_mm == {}


@pytest.fixture(scope="module")
def orders(tmp_path_factory):
    """A calibrated and a plain barb, made and packed, by their files in the zip."""
    from barbwright.jobs.make import make_part
    from barbwright.order.pack import order_files
    from barbwright.order.record import plan_order

    place = tmp_path_factory.mktemp("orders")
    found = {}
    for name, service in (("fat", FAT), ("plain", None)):
        job = replace(job_of("barb", service="none"), service=service)
        plan = plan_part(KINDS["barb"], job)
        folder, _ = make_part(plan, place / name, ("step", "stl", "3mf", "pdf", "dxf"))
        found[name] = order_files(plan_order([(folder, 2, 1, "")]))
    return found


def page_words(content):
    return " ".join(re.sub(r"<[^>]*>", " ", content.decode()).split())


def pdf_words(content):
    import io

    import pypdf

    pages = pypdf.PdfReader(io.BytesIO(content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


@pytest.mark.slow
@pytest.mark.parametrize("name", ["README.txt", "order.html", "inspection.html", "order.csv"])
def test_every_page_of_an_order_says_that_models_are_compensated(orders, name):
    assert SAID in page_words(orders["fat"][name])
    assert "compensated" not in page_words(orders["plain"][name])


def test_the_sheet_says_it_too(orders):
    assert SAID in pdf_words(orders["fat"]["order.pdf"])
    assert "compensated" not in pdf_words(orders["plain"]["order.pdf"])


def test_the_table_and_the_manifest_have_their_own_fields(orders):
    import csv

    for name, said, number in (
        ("fat", SAID, {"service": "Shop",
                       "models_drawn_off": {"outside_mm": -0.2, "bore_mm": -0.1}}),
        ("plain", "as drawn", None),
    ):  # fmt: skip
        (row,) = csv.DictReader(orders[name]["order.csv"].decode("utf-8-sig").splitlines())
        assert row["models"] == said
        (part,) = json.loads(orders[name]["manifest.json"])["parts"]
        assert part["compensation"] == number


def test_the_drawings_title_block_says_it_in_full(orders, tmp_path):
    from barbwright.report.fonts import load_ezdxf

    for name, times in (("fat", 1), ("plain", 0)):
        (content,) = (data for path, data in orders[name].items() if path.endswith(".dxf"))
        path = tmp_path / f"{name}.dxf"
        path.write_bytes(content)
        document = load_ezdxf().readfile(path)
        # A note may run over several lines.
        texts = [text.dxf.text.strip() for text in document.modelspace().query("TEXT")]
        assert " ".join(texts).count(f"Model files: {SAID}") == times
        assert not document.audit().errors


def test_a_long_name_is_not_cut_in_the_title_block():
    from barbwright.report.drawing import DrawingInfo, drawing

    long = replace(FAT, name="W" * 60)
    info = DrawingInfo(
        part_number="n",
        revision="A",
        title="t",
        material="m",
        process="p",
        compensation=long.models_sentence,
    )
    document = drawing(design_with(long), info)
    texts = [text.dxf.text for text in document.modelspace().query("TEXT")]
    together = "".join("".join(text.split()) for text in texts)
    assert "".join(long.models_sentence.split()) in together


def test_ticks_stay_where_they_were():
    design = design_with(SHOP)
    assert tick_positions(compensated(design)) == tick_positions(design)


def test_a_calibrated_print_makes_a_shorter_seat():
    assert design_with(SHOP).tip.seat_mm < design_with(None).tip.seat_mm - 3.0


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
    assert said["no_longer_default"] == []
    calibrate(service="Town", barb="4", bore=["3mm:2.8mm"])
    said = " ".join(capsys.readouterr().out.split())
    assert "no longer the default for mjf_pa12: Shop (--service 'Shop')" in said
    assert default_service("mjf_pa12").name == "Town"
    calibrate(service="Third", barb="4", bore=["3mm:2.8mm"], not_default=True)
    assert "no longer" not in capsys.readouterr().out
    assert default_service("mjf_pa12").name == "Town"


@pytest.mark.parametrize("name", [n for n in catalog.judgements() if n.startswith("calibration_")])
def test_each_judgement_number_of_a_calibration_moves_the_tolerance_it_finds(name, monkeypatch):
    coupon = {"posts": ("6mm:6.1mm", "9mm:9.1mm"), "bores": ("3mm:2.8mm", "4mm:3.8mm")}
    plain = calibrated("Shop", "mjf_pa12", **coupon)[0]
    number = catalog.judgements()[name]
    other = {**catalog.judgements(), name: replace(number, value=number.most)}
    monkeypatch.setattr(tables, "judgements", lambda: other)
    assert calibrated("Shop", "mjf_pa12", **coupon)[0].tolerance_mm > plain.tolerance_mm
