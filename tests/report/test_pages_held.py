"""Every page in a browser, at a telephone's and a desk's width and on paper: nothing runs out."""

import io
import re
from pathlib import Path

import pypdf
import pytest
from browser import Browser, find_browser
from example_reports import crew_kit, info_of, kit_pages, make_report, tube_stl
from measuring import LEAST_LABEL_PX, PAPERS_IN, faults, on_paper

from barbwright.jobs.build import plan_kit
from barbwright.jobs.chain_report import kit_report
from barbwright.jobs.kitfile import load_kit
from barbwright.report import drawing
from barbwright.report.chain_pages import crew_pages_in
from barbwright.report.notices import NOT_RATED
from barbwright.report.sheet import sheet_html
from barbwright.report.translated import translated
from example_kit import JOB, write_kit

pytestmark = [
    pytest.mark.skipif(
        find_browser() is None, reason="no Chromium is installed: apt-get install chromium"
    ),
    pytest.mark.usefixtures("rated_once", "one_process"),
]
WIDTHS = (390, 1280)
DEMO = Path(__file__).parents[2] / "out" / "demo"
# The most pages that each may take on paper; the card's third is the log to fill in.
MOST_PAGES = {"index": 2, "sheet": 2, "field_card": 3, "proof_card": 2, "between_trees": 1}
KITS = {
    "psi": {},
    "metric, tips in line": {
        "parts": {"barb": "{ quantity = 1 }", "tip": "{ quantity = 2, spares = 0 }"},
        "job": {**JOB, "tube_id": "4.3mm", "tube_od": "6.35mm", "bit": "6mm", "pressure": "3.1bar",
                "relief": "3.8bar"},
    },
}  # fmt: skip


@pytest.fixture(scope="module")
def browser():
    with Browser() as running:
        yield running


@pytest.fixture(scope="module")
def kits(tmp_path_factory):
    """Pages on disk, by kit and name."""
    found = {}
    for name, more in KITS.items():
        folder = tmp_path_factory.mktemp("kit")
        plan = plan_kit(load_kit(write_kit(folder, tools=True, **more)), {})
        others = [part for _, part in plan.parts if part.kind.name not in {"tee", "elbow"}]
        report = kit_report(plan.kit, plan.chain, plan.chain.solve(), others, plan.warnings)
        spanish = crew_pages_in("es", crew_kit(report))
        pages = {name.removesuffix(".html"): content for name, content in spanish.items()}
        for page, content in (kit_pages(report) | pages).items():
            path = folder / f"{page}.html"
            path.write_bytes(content)
            found[name, page] = path
    return found


def pages_on(browser, path, paper):
    browser.open(path, 1280, 900)
    return len(re.findall(rb"/Type /Page\b", browser.pdf(*PAPERS_IN[paper])))


@pytest.mark.parametrize("page", ["index", "field_card"])
def test_the_pages_that_a_crew_opens_first_hold_on_a_telephone_and_on_paper(browser, kits, page):
    path = kits["psi", page]
    assert faults(browser, path, 390) == []
    assert on_paper(browser, path, "Letter") == []
    assert pages_on(browser, path, "Letter") <= MOST_PAGES[page]


def test_the_cards_first_leaf_ends_with_its_ruler(browser, kits):
    """Squeezed beside the ring, what to mind ran over: a line of it headed the second leaf."""
    browser.open(kits["psi", "field_card"], 1280, 900)
    first, second, *_ = (
        page.extract_text()
        for page in pypdf.PdfReader(io.BytesIO(browser.pdf(*PAPERS_IN["Letter"]))).pages
    )
    assert "Full size when printed" in first
    assert second.lstrip().startswith("Prove it in the")


@pytest.mark.parametrize(
    "page",
    [
        "index",
        "field_card",
        *(
            pytest.param(one, marks=pytest.mark.slow)
            for one in ("chain", "proof_card", "between_trees")
        ),
    ],
)
def test_a_page_in_spanish_holds_on_as_many_leaves(browser, kits, page):
    """Its words are longer: a verdict ran over its frame, cautions fell on a leaf of their own."""
    path = kits["psi", f"{page}.es"]
    for width in WIDTHS:
        assert faults(browser, path, width) == []
    assert on_paper(browser, path, "Letter") == []
    assert pages_on(browser, path, "Letter") <= MOST_PAGES.get(page, 6)


def test_a_sheet_in_spanish_is_two_leaves(browser, tmp_path):
    """One for the hands, one for the field."""
    picture = next(DEMO.glob("tee-*/part.png")).read_bytes()
    path = tmp_path / "sheet.es.html"
    english = sheet_html(make_report("tee", relief="55psi"), png=picture, crew=True)
    path.write_bytes(translated(english, "es"))
    assert on_paper(browser, path, "Letter") == []
    assert pages_on(browser, path, "Letter") <= MOST_PAGES["sheet"]


@pytest.mark.parametrize("kind", ["barb", "driver"])
def test_a_short_sheet_has_no_letter_under_seven_points(browser, tmp_path, kind):
    report, path = make_report(kind), tmp_path / "sheet.html"
    path.write_bytes(sheet_html(report, svg=drawing.svg_for_sheet(report.design, info_of(report))))
    assert on_paper(browser, path, "Letter") == []
    smallest = browser.run(
        "Math.min(...[...document.querySelectorAll('p,li,td,th,dt,dd,h1,h2,h3')]"
        ".filter(e => e.getClientRects().length && e.textContent.trim() && !e.closest('svg'))"
        ".map(e => parseFloat(getComputedStyle(e).fontSize)))"
    )
    assert smallest >= LEAST_LABEL_PX["print"]
    assert pages_on(browser, path, "Letter") <= MOST_PAGES["sheet"]


@pytest.mark.parametrize("dark", [False, True])
def test_tab_goes_through_a_page_in_its_order_with_a_ring_that_is_seen(browser, kits, dark):
    browser.open(kits["psi", "index"], 1280, 900, dark=dark)
    links = browser.run("document.querySelectorAll('a[href]').length")
    assert links > 5
    for number in range(links):
        browser.key("Tab")
        found = browser.run(
            "(e => [[...document.querySelectorAll('a[href]')].indexOf(e),"
            " getComputedStyle(e).outlineStyle, parseFloat(getComputedStyle(e).outlineWidth)])"
            "(document.activeElement)"
        )
        assert found == [number, "solid", 3]


@pytest.mark.parametrize("width", [820, 1280])
def test_no_picture_of_parts_is_cut_off_on_a_desk(browser, kits, tmp_path, width):
    """True to size, the third picture of a row began where the window ended."""
    report, sheet = make_report("elbow"), tmp_path / "sheet.html"
    svg = drawing.svg_for_sheet(report.design, info_of(report))
    sheet.write_bytes(sheet_html(report, stl=tube_stl(), svg=svg))
    wide = "e => e.getBoundingClientRect().width"
    for path in (sheet, kits["psi", "proof_card"]):
        browser.open(path, width, 900)
        picture, room = (browser.run(f"({wide})(document.querySelector('{one}'))")
                         for one in (".pictured svg", ".pictured"))  # fmt: skip
        assert picture <= room + 1.0


@pytest.mark.slow
@pytest.mark.parametrize("kit", KITS)
@pytest.mark.parametrize("page", ["index", "chain", "field_card", "proof_card", "between_trees"])
def test_every_page_of_a_kit_holds(browser, kits, kit, page):
    path = kits[kit, page]
    assert NOT_RATED in path.read_text(encoding="utf-8")
    for width in WIDTHS:
        assert faults(browser, path, width) == []
    assert faults(browser, path, 1280, dark=True) == []
    for paper in PAPERS_IN:
        assert on_paper(browser, path, paper) == []
        assert pages_on(browser, path, paper) <= MOST_PAGES.get(page, 6)


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["tee", "tip", "barb", "fork"])
def test_every_sheet_holds(browser, tmp_path, kind):
    report = make_report(kind)
    svg = drawing.svg_for_sheet(report.design, info_of(report))
    path = Path(tmp_path / "sheet.html")
    path.write_bytes(sheet_html(report, stl=tube_stl(), svg=svg))
    for width in WIDTHS:
        assert faults(browser, path, width) == []
    assert faults(browser, path, 1280, dark=True) == []
    for paper in PAPERS_IN:
        assert on_paper(browser, path, paper) == []
        assert pages_on(browser, path, paper) <= MOST_PAGES["sheet"]


SPOILT = {
    "sideways": "<div style='width: 3000px'>wide</div>",
    "broken word": "<p style='width: 3em; overflow-wrap: anywhere'>df54b7c7c74a</p>",
    "on each other": "<p>under this</p><h2 style='margin: -2.2rem 0'>stands another</h2>",
    "contrast": "<p style='color: #aaa; background: #fff'>pale words</p>",
    "no key reaches": "<div style='overflow-x: auto; width: 9em'><p style='width: 40em'>x</div>",
    "no words for a picture": "<img src='data:,' width=9 height=9>",
    "colour without a word": "<p class='banner'>!</p>",
    "small label": "<svg width='100' height='20'><text y='10' font-size='4'>no</text></svg>",
    "raw backticks": "<p>type `this`</p>",
    "over its edge": "<p style='overflow: hidden; width: 2em; white-space: nowrap'>and more",
}  # fmt: skip


@pytest.mark.parametrize("fault", SPOILT)
def test_a_spoilt_page_is_found_out(browser, tmp_path, fault):
    path = tmp_path / "spoilt.html"
    path.write_text(f"<!doctype html><html lang='en'><body><p>whole</p>{SPOILT[fault]}</body>")
    assert [line for line in faults(browser, path, 390) if line.startswith(fault)]
    whole = tmp_path / "whole.html"
    whole.write_text("<!doctype html><html lang='en'><body><p>whole</p></body></html>")
    assert faults(browser, whole, 390) == []
