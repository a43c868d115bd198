"""A part for the bench alone: what it must hold, what it is marked with, what it may never do."""

import json

import pytest

from barbwright.checks.fit import FIT_CHECKS
from barbwright.checks.table import CHECKS
from barbwright.design.mark import NOT_PASSED
from barbwright.design.part import KINDS
from barbwright.errors import InputError
from barbwright.job.reading import read_job
from barbwright.job.record import Job
from barbwright.jobs.make import folder_name
from barbwright.jobs.papers import part_report
from barbwright.jobs.plan import plan_part
from barbwright.jobs.read_back import decode
from barbwright.jobs.record import document, encode
from barbwright.report.printing_advice import printing_advice
from barbwright.report.sheet import sheet_html
from run_cli import DEMO, run

HOME = {
    "tube_id": "0.170in", "tube_od": "0.250in", "tube_material": "LLDPE", "bit": "15/64",
    "pressure": "45psi", "wood": "oak northern red",
}  # fmt: skip


def plan_of(material="fff_petg", kind="elbow", **more):
    return plan_part(KINDS[kind], read_job({**HOME, "material": material, **more}))


@pytest.fixture(scope="module")
def fit():
    return plan_of(use="fit")


def test_every_check_asked_of_it_exists():
    assert set(CHECKS) >= FIT_CHECKS


def test_a_desktop_part_is_made_for_the_bench_and_its_verdict_stays(fit):
    assert (fit.verdict, fit.fit_verdict) == ("fail", "pass")
    assert fit.may_be_made
    assert not fit.passed
    body = document(fit, "check")
    assert (body["verdict"], body["fit_verdict"], body["passed"]) == ("fail", "pass", False)
    assert "use" in {one["id"] for one in body["checks"] if one["verdict"] == "fail"}


def test_it_is_named_and_engraved_for_what_it_is(fit):
    assert folder_name(fit).endswith("_fit_only")
    assert fit.design.mark.text == NOT_PASSED
    # Of a material for the field as well: it was not asked for one.
    good = plan_of("mjf_pa12", use="fit")
    assert good.passed
    assert folder_name(good).endswith("_fit_only")
    assert good.design.mark.text == NOT_PASSED
    assert good.number == plan_of("mjf_pa12").number


def test_a_part_that_does_not_fit_is_not_made_for_the_bench_either():
    leaking = plan_of(kind="barb", use="fit", tube_material="PVC", shore="60")
    assert leaking.fit_verdict == "fail"
    assert not leaking.may_be_made


def test_without_it_nothing_changes():
    plain = plan_of("mjf_pa12")
    assert plain.fit_verdict is None
    assert document(plain, "check")["fit_verdict"] is None
    assert plan_of("mjf_pa12", use="field").results == plain.results
    assert not plan_of().may_be_made


def test_another_use_is_refused():
    with pytest.raises(InputError, match=r"field or fit"):
        read_job({**HOME, "use": "swimming"})


def test_its_record_keeps_the_use(fit):
    kept = decode(Job, json.loads(json.dumps(encode(fit.job), allow_nan=False)))
    assert kept.fit_only


def test_its_sheet_has_no_field_card_and_says_how_to_print(fit):
    page = sheet_html(part_report(fit)).decode()
    assert 'id="card"' not in page
    assert "FIT ONLY" in page
    assert "Not for a tree" in page
    assert 'id="printing"' in page
    # Water at the bench is what it is for; nothing of a tree is pictured on it.
    assert "Fit, seal and print: PASS. For a tree NOT PASSED: never use it in one." in page
    assert "Do not use this part under pressure" not in page
    assert "In its hole" not in page
    assert "The pull that proves it" not in page
    assert "To mend it" not in page
    assert "In its hole" in sheet_html(part_report(plan_of("mjf_pa12"))).decode()
    assert 'id="card"' in sheet_html(part_report(plan_of("mjf_pa12"))).decode()


@pytest.mark.parametrize(
    ("material", "told"),
    [
        ("fff_petg", ("Way up", "Walls: at least 6 lines", "Layer", "Seam", "Supports")),
        ("sla_tough", ("Way up", "Supports outside barbs", "cure fully")),
        ("mjf_pa12", ("Way up", "Solid")),
    ],
)
def test_printing_advice_is_that_of_the_process(material, told):
    said = " ".join(printing_advice(part_report(plan_of(material, use="fit"))))
    for words in told:
        assert words in said
    # 2.4 mm of wall in lines of 0.42 mm; a step of 0.7 mm has 0.35 a side, a quarter of it 0.0875.
    if material == "fff_petg":
        assert "no more than 0.08 mm" in said
        assert "Stand it on its pad" in said
        # One way up is told, and a seam that can be had that way up.
        assert "as STL and 3MF lie" not in said
        assert "Seam: scattered" in said


def test_a_barb_from_a_desktop_printer_stands_so_that_its_layers_ring_what_seals():
    """Lying flat its layers' steps lead water across every land, whatever is stronger."""
    plan = plan_part(
        KINDS["barb"], read_job({**HOME, "material": "fff_petg", "use": "fit"}, two_ends=True)
    )
    said = printing_advice(part_report(plan))
    assert said[0].startswith("Way up: turn the file")
    assert "Stand it on one nose" in said[0]
    assert any("each layer of the barb" in line for line in said)
    powder = plan_part(KINDS["barb"], read_job({**HOME, "material": "mjf_pa12"}, two_ends=True))
    assert "as STL and 3MF lie" in printing_advice(part_report(powder))[0]


def test_what_nobody_publishes_of_a_resin_is_said_where_a_check_was_not_made():
    resin = plan_of("sla_tough", use="fit")
    (because,) = {one.because for one in resin.not_checked if one.info.id == "barb_wall"}
    assert "no public source gives SLA tough resin its wet_factor" in because


def test_no_rule_of_the_tree_is_told_of_a_part_that_is_for_none(fit):
    """A tug of 0 N, a blow and a twist: nothing of it can be stood behind, nor is it done."""
    assert {one.info.id for one in fit.results if one.rule} > {"push_on"}
    assert {one.info.id for one in fit.handling_rules} <= {"push_on"}
    report = part_report(fit)
    assert len(report.handling_rules) == len(fit.handling_rules)
    page = sheet_html(report).decode()
    told = run("check", "elbow", *DEMO, "--material", "fff_petg", "--use", "fit")
    assert "Rules of tapping, freeing and the line are not told" in told.out
    for text in (told.out, page):
        for word in (
            "tap straight",
            "lightest hammer, lightly",
            "tie the line before pressure",
            "by two fingertips on its driver",
            "ticks deeper",
        ):
            assert word not in text, word
    # A part for a tree has them.
    assert "tie the line before pressure" in run("check", "elbow", *DEMO).out
