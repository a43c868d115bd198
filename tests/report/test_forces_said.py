"""Whoever works in psi thinks in pounds force: no output tells a force in newtons alone."""

import io

import pytest
from example_reports import info_of, kit_pages, make_report, tube_stl

from barbwright.checks.result import CHECKS
from barbwright.design.part import KINDS
from barbwright.jobs.build import plan_kit
from barbwright.jobs.chain_report import kit_report
from barbwright.jobs.kitfile import load_kit
from barbwright.report import drawing
from barbwright.report.sheet import sheet_html
from barbwright.say import newtons, with_beside
from example_kit import write_kit
from newtons import alone, words_of
from run_cli import DEMO, run

pytestmark = pytest.mark.usefixtures("rated_once", "no_cures")


def test_what_stands_alone_is_found():
    assert alone("holds 12 N, no more")
    assert alone("turn it with 0.4 N m")
    assert alone("84.1 N mm of torque")
    assert alone("  side_load  pass  12  5  10  N   1.6\n  tip  pass  3  2  1  N mm  2\n")
    told = "12 N (2.7 lbf), 0.4 N m (3.5 in lbf), E 700 N/mm2"
    assert alone(told) == []
    assert alone("  side_load  pass   12    5  N    1.6\n             2.7  1.1  lbf\n") == []


def test_a_force_is_rounded_the_same_way_in_both_units():
    assert newtons(9.99, "down") == "9 N (2.2 lbf)"
    assert newtons(9.01, "up") == "10 N (2.1 lbf)"
    assert with_beside("20", 20.0, "N") == "20 N (4.5 lbf)"
    assert with_beside("84.1", 84.1, "N mm") == "84.1 N mm (0.744 in lbf)"
    assert with_beside("1.3", 1.3, "-") == "1.3"
    assert with_beside("5", 5.0, "MPa") == "5 MPa"


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    lines = {"tip": "{ quantity = 2 }", "barb": "{ quantity = 1 }", "collar": "{ quantity = 1 }"}
    path = write_kit(tmp_path_factory.mktemp("kit"), tools=True, parts=lines)
    plan = plan_kit(load_kit(path), {})
    others = [part for _, part in plan.parts if part.kind.name not in {"tee", "elbow"}]
    report = kit_report(plan.kit, plan.chain, plan.chain.solve(), others, plan.warnings)
    return kit_pages(report)


@pytest.mark.parametrize("page", ["index", "chain", "field_card", "proof_card", "between_trees"])
def test_no_page_of_a_kit_tells_newtons_alone(pages, page):
    text = words_of(pages[page].decode())
    assert "lbf" in text or page in {"between_trees", "chain"}
    assert alone(text) == []


@pytest.mark.parametrize(
    "kind", [pytest.param(kind, marks=() if kind == "tee" else pytest.mark.slow) for kind in KINDS]
)
def test_neither_sheet_nor_drawing_of_a_part_tells_newtons_alone(kind):
    import ezdxf
    from ezdxf.tools.text import plain_text

    report = make_report(kind)
    svg = drawing.svg_for_sheet(report.design, info_of(report))
    sheet = words_of(sheet_html(report, stl=tube_stl(), svg=svg).decode())
    assert "lbf" in sheet
    assert alone(sheet) == []
    written = drawing.dxf_bytes(drawing.drawing(report.design, info_of(report)))
    space = ezdxf.read(io.StringIO(written.decode())).modelspace()
    texts = [plain_text(one.dxf.text) for one in space.query("TEXT")]
    texts += [one.plain_text() for one in space.query("MTEXT")]
    assert texts
    assert alone(" ".join(texts)) == []


@pytest.mark.parametrize("kind", KINDS)
def test_the_terminal_tells_no_newtons_alone(kind):
    asked = DEMO if KINDS[kind].tip else DEMO[:-2]
    told = run("check", kind, *asked)
    assert told.code == 0, told.err
    assert alone(told.out) == []


def test_rating_and_the_pages_of_the_checks_tell_no_newtons_alone():
    told = run("rate", "tee", *DEMO, "--scatter", "200")
    assert told.code == 0, told.err
    assert alone(told.out) == []
    for name in CHECKS:
        assert alone(run("explain", name).out) == [], name
