"""The sheet: what it says, that it needs no network, and what a browser makes of it."""

import hashlib
import html
import os
import re
import subprocess
import sys

import numpy as np
import pytest
from browser import Browser, find_browser
from example_reports import info_of, make_report, tube_stl

from barbwright.checks.corners import worst_case
from barbwright.checks.proof import ProofTest, largest_twist
from barbwright.checks.table import CHECKS
from barbwright.design.limits import critical_limits
from barbwright.design.part import KINDS
from barbwright.design.rounding import GRID_MM
from barbwright.design.sizes import in_words
from barbwright.design.tapping import tap_window
from barbwright.errors import BuildError
from barbwright.report import cards, drawing, words
from barbwright.report.sheet import read_stl, sheet_html, viewer_mesh
from barbwright.report.stackup import stack_up

PNG = bytes.fromhex(
    "89504e470d0a1a0a0000000d4948445200000001000000010802000000907753de0000000c49444154789c63f8"
    "ffff3f0005fe02fea735810a0000000049454e44ae426082"
)


def page_of(report, **more):
    svg = drawing.svg_for_sheet(report.design, info_of(report))
    return sheet_html(report, stl=tube_stl(), svg=svg, png=PNG, **more).decode()


@pytest.fixture(scope="module")
def report():
    return make_report("elbow")


@pytest.fixture(scope="module")
def page(report):
    return page_of(report, files={"part.step": 250_000})


# --- no network -----------------------------------------------------------------------------

# Names of languages, not places to go: nothing asks for them.
INERT = {"http://www.w3.org/1999/xhtml", "http://www.w3.org/2000/svg"}


def test_the_page_holds_no_outside_address(page):
    assert set(re.findall(r"https?://[^\s\"'`\\)<]+", page)) <= INERT
    for attribute in re.findall(r"<[a-z][^>]*?\s(?:src|href)=\"([^\"]*)\"", page):
        assert attribute.startswith(("#", "data:")), attribute
    assert not re.findall(r"url\((?!['\"]?(?:#|data:))[^)]*\)", page.split("<script", 1)[0])
    assert "@import" not in page
    assert "default-src 'none'" in page


# --- what it says ---------------------------------------------------------------------------


def body_text(page):
    body = re.sub(r"<(script|style|svg).*?</\1>", "", page.partition("<body>")[2], flags=re.S)
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", body))


def test_verdict_stands_first_with_its_handling_rules(report, page):
    from html import unescape

    text = unescape(body_text(page))
    said = (
        "PASS, once proved Once proved in the field (wood_hold) and handled as the rules below say"
    )
    assert text.index(said) < text.index("The part")
    assert len(report.handling_rules) >= 3
    for rule in report.handling_rules:
        assert rule in text.partition("The part")[0]


@pytest.mark.parametrize(
    ("options", "word"),
    [
        ({"kind": "driver"}, "PASS"),
        ({"kind": "elbow", "material": "fff_pla"}, "NOT PASSED"),
        ({"kind": "elbow", "wood": "unknown"}, "CAUTION"),
    ],
)
def test_the_verdicts_word_stands_once_in_its_banner(options, word):
    report = make_report(**options)
    banner = page_of(report).partition('class="banner')[2].partition("</div>")[0]
    assert banner.count(word) == 1
    assert f"<strong>{word}" in banner


def test_what_a_drawing_numbers_is_measured_on_arrival():
    """A driver's sheet had the table's head and no row under it."""
    for kind, settings in (("driver", ("arms=2",)), ("fork", ()), ("collar", ()), ("tee", ())):
        report = make_report(kind, settings=settings)
        drawn = {in_words(one.name, one.size) for one in critical_limits(report.design)}
        assert drawn
        assert drawn <= {row.title for row in cards.arrival(report.design)}


def test_a_caution_does_not_call_out_twice():
    report = make_report()
    assert any(warning.startswith("WATCH OUT: ") for warning in report.job.said)
    assert "WATCH OUT" not in page_of(report)


def test_every_check_has_its_meaning_in_plain_words():
    for name, info in CHECKS.items():
        assert info.meaning.endswith("."), name
        assert info.meaning != info.title


def test_all_checks_are_listed_and_the_governing_one_is_first(report, page):
    from html import unescape

    table = unescape(page.partition('id="checks"')[2].partition("</table>")[0])
    titles = re.findall(r'<th scope="row">([^<]+?)(?: \(governs\))?<br>', table)
    assert titles[0] == report.governing.info.title
    assert sorted(titles) == sorted(outcome.info.title for outcome in report.outcomes)
    assert table.count("(governs)") == 1
    for word in re.findall(r'class="word (\w+)">([A-Z ]+)<', table):
        assert words.VERDICT_WORDS[word[0]] == word[1]


def test_pressures_of_the_line_are_said_in_the_readers_unit_and_stresses_in_their_own(report):
    metric = make_report("elbow", pressure="300kPa")
    for one, lead, line in ((report, "psi", "45 psi (311 kPa)"), (metric, "kPa", "300 kPa (43.6")):
        said = {x.info.id: words.check_sentence(x, one.voice) for x in one.outcomes}
        for check in ("tube_rating", "barb_seal", "wood_seal"):
            assert f"must {line}" in said[check]
            assert re.match(rf"Can [\d.]+ {lead} \(", said[check])
        assert re.match(r"Can [\d.]+ MPa, must", said["barb_wall"])


def test_what_could_not_be_checked_is_named_with_its_reason():
    from html import unescape

    bare = make_report("elbow", tube_od=None, tube_material=None, wood=None)
    text = unescape(body_text(page_of(bare)))
    assert len(bare.not_checked) >= 3
    assert "CAUTION" in text
    for outcome in bare.not_checked:
        assert outcome.because in text


def test_inputs_carry_their_origin_and_the_users_numbers_are_marked():
    mine = make_report("elbow", ("land=1mm", "grip_friction=0.3"))
    page = page_of(mine)
    inputs = page.partition('id="inputs"')[2]
    assert "default (judgement)" in inputs
    assert "option" in inputs
    yours = re.findall(r'<th scope="row">([^<]+) <span class="mark">yours</span>', inputs)
    assert sorted(yours) == ["grip friction", "land"] or sorted(yours) == [
        "grip friction",
        "land mm",
    ]
    assert '<span class="mark">judgement</span>' in inputs


def test_names_and_notes_are_escaped():
    evil = "<script>alert(1)</script><img src=x onerror=alert(2)>\"'&"
    nasty = make_report("elbow", notes=(evil,))
    nasty.job.inputs["wood"] = type(nasty.job.inputs["wood"])(evil, evil)
    page = page_of(nasty)
    assert "<script>alert" not in page
    assert "<img src=x" not in page
    assert page.count("&lt;script&gt;alert(1)") == 3


def test_a_part_that_did_not_pass_says_so_everywhere(report, page):
    assert "NOT PASSED" not in body_text(page)
    bad = page_of(make_report("elbow", passed=False))
    for part in ("drawing", "checks", "card", "cautions"):
        section = bad.partition(f'<section id="{part}"')[2].partition("</section>")[0]
        assert "NOT PASSED" in re.sub(r"<svg.*?</svg>", "", section, flags=re.S), part
    assert "<title>NOT PASSED" in bad
    assert "PASS, if" not in bad
    failing = make_report("elbow", material="fff_pla")
    assert failing.verdict == "fail"
    assert "NOT PASSED" in page_of(failing)


@pytest.mark.parametrize("kind", ["barb", "tip", "tee"])
def test_every_kind_has_a_sheet(kind):
    page = page_of(make_report(kind))
    assert ("How deep to tap" in page) == (kind != "barb")
    assert "None" not in body_text(page)
    assert "nan" not in body_text(page).split()


@pytest.mark.slow
def test_equal_parts_give_equal_bytes_under_any_hash_seed():
    script = (
        "import hashlib, sys\nfrom test_sheet import make_report, page_of\n"
        "sys.stdout.write(hashlib.sha256(page_of(make_report('tee')).encode()).hexdigest())"
    )
    path = os.pathsep.join([os.path.dirname(__file__), *sys.path])
    said = {
        subprocess.run(
            [sys.executable, "-c", script],
            env=os.environ | {"PYTHONHASHSEED": seed, "PYTHONPATH": path},
            capture_output=True, text=True, check=True,
        ).stdout
        for seed in ("1", "2")
    }  # fmt: skip
    here = hashlib.sha256(page_of(make_report("tee")).encode()).hexdigest()
    assert said == {here}


def test_the_drawing_on_paper_has_letters_of_seven_points_and_no_frame(page):
    """It was printed at 60 % of A4 with its title block: letters of 5 points."""
    figure = page[page.index('id="drawing"') :]
    svg = figure[figure.index("<svg") : figure.index("</svg>")]
    wide, tall = map(float, re.search(r'width="([\d.]+)mm" height="([\d.]+)mm"', svg).groups())
    across, along = map(float, re.search(r'viewBox="0 0 (\d+) (\d+)"', svg).groups())
    # Between margins of 11 mm, A4 is 188 mm wide; beside it stand measuring and checks.
    assert wide <= 188.0
    assert tall <= 127.0
    assert wide / across == pytest.approx(tall / along, rel=1e-3)
    sizes_pt = [
        float(one) * wide / across * 72 / 25.4 for one in re.findall(r'font-size="([\d.]+)"', svg)
    ]
    assert len(sizes_pt) > 25
    assert min(sizes_pt) >= 7.0
    assert "identification number" not in svg


# --- tapping, stack-up, cards ---------------------------------------------------------------


def test_the_tap_window_is_said_in_millimetres_and_ticks(report):
    window = tap_window(report.design)
    tip = report.design.tip
    # 7 mm asked for, ticks 2 mm apart: the fourth tick is the first that gives it.
    assert (float(tip.contact_mm), tip.tick_pitch_mm) == (7.0, 2.0)
    assert window.ticks == 4
    assert window.most_ticks == 4
    assert "4 ticks deeper" in window.sentence
    assert window.low_mm <= window.wanted_mm <= window.high_mm
    assert tap_window(make_report("barb").design) is None


@pytest.mark.parametrize("bit", ["7/32", "15/64", "1/4", "5/16", "3/8"])
def test_the_steepest_taper_that_is_accepted_stays_inside_what_the_wood_takes(bit):
    """The checks count with the drawn taper; 0.2 mm more of drop took one tip in six too far."""
    report = make_report("tee", bit=bit)
    tip, rules = report.design.tip, report.job.rules
    window = tap_window(report.design)
    drop = float(tip.drop_mm)
    taper = float(tip.taper) * (drop + 0.2) / drop
    least_hole = float(report.design.conditions.hole_low_mm)

    def spread(ticks):
        # A travel is read to 1 mm.
        return taper * (ticks * tip.tick_pitch_mm + rules["tap_reading_mm"]) / least_hole

    assert 0 < window.steep_ticks <= window.ticks
    assert spread(window.steep_ticks) <= rules["interference_limit"] + 1e-9
    one_more = spread(window.ticks + 1) <= rules["interference_limit"] + 1e-9
    assert one_more == (window.steeper == "")
    assert one_more or "no further where a seat moves" in window.steeper
    assert ("less than said" in window.steeper) == (window.steep_ticks < window.ticks)
    # Counted in whole ticks one more is not said to be safe where the drawn taper forbids it.
    past = (window.ticks + 1) * tip.tick_pitch_mm > window.high_mm
    assert ("goes on to" in window.sentence) == past
    page = html.unescape(sheet_html(report).decode())
    assert (window.steeper or "</html>") in page


def test_the_tapping_table_and_its_sentence_name_the_same_limits():
    """The table said 9.9 mm and 6.35 mm where the sentence said 9.8 and 6.4."""
    report = make_report("elbow", wood="unknown")
    window = tap_window(report.design)
    assert window.low_mm < window.high_mm
    assert (float(window.least), float(window.most)) != (window.low_mm, window.high_mm)
    assert float(window.least) >= window.low_mm - 1e-9
    assert float(window.most) <= window.high_mm + 1e-9
    page = sheet_html(report).decode()
    table = page[page.index("The tap-depth window") :]
    table = table[: table.index("</table>")]
    for said in (window.least, window.most):
        assert f">{said}<" in table
        assert f"{said} mm" in window.sentence


def test_the_sheet_says_how_a_grade_is_chosen_and_that_a_lead_of_a_batch_is_measured():
    graded, plain, barb = (
        sheet_html(make_report(kind, **more)).decode()
        for kind, more in (("elbow", {"grade": "1"}), ("elbow", {}), ("barb", {}))
    )
    assert "Measure one lead of each batch on arrival" in graded
    assert "push one tip of each grade in by hand" in graded
    assert "Measure one lead of each batch on arrival" in plain
    assert "of each grade" not in plain
    assert "one lead of each batch" not in barb


def test_the_seats_parts_add_up_and_follow_from_tolerance_and_hole(report):
    stack = stack_up(report.design)
    lengths = [part.length_mm for part in stack.seat]
    assert sum(lengths) == pytest.approx(float(report.design.tip.seat_mm), abs=1e-9)
    # By hand: contact, one tick, bark, and sqrt(0.6 2 + 0.3 2) = 0.671 mm at a taper of 1:15.
    assert lengths[:3] == [7.0, 2.0, 8.0]
    assert lengths[3] == pytest.approx(10.06, abs=0.01)


def test_a_better_print_or_hole_shortens_the_seat_as_arithmetic_says(report):
    printed, drilled, both, graded = stack_up(report.design).shorter
    # Tolerance 0.3 to 0.1, hole range 0.3 to 0.1: 0.671 mm becomes 0.361, 0.608 and 0.224 of
    # spread, at 1:15. Three leads leave a third of the print's.
    # Each lead lies on the grid of 0.05 mm, and what one loses to it its own seat makes up.
    grid = 15.0 * GRID_MM + 0.11
    assert printed.saved_mm == pytest.approx(15.0 * (0.6708 - 0.3606), abs=grid)
    assert drilled.saved_mm == pytest.approx(15.0 * (0.6708 - 0.6083), abs=grid)
    assert both.saved_mm == pytest.approx(15.0 * (0.6708 - 0.2236), abs=grid)
    assert 0.0 < drilled.saved_mm < printed.saved_mm < both.saved_mm
    assert graded.saved_mm == printed.saved_mm
    assert both.seat_mm == pytest.approx(float(report.design.tip.seat_mm) - both.saved_mm)


def test_lean_and_fat_are_those_the_checks_judge(report):
    case = worst_case(report.design)
    rows = {row.name: row for row in stack_up(report.design).dimensions}
    for name, corners in (
        ("bore_diameter_mm", case.bore_mm), ("root_diameter_mm", case.barbs[0].root_mm),
        ("crest_diameter_mm", case.barbs[0].crest_mm), ("nose_diameter_mm", case.barbs[0].nose_mm),
        ("neck_diameter_mm", case.barbs[0].neck_mm), ("hub_ball_diameter_mm", case.ball_mm),
        ("relief_ball_diameter_mm", case.relief_mm),
    ):  # fmt: skip
        assert rows[name].lean_mm == pytest.approx(float(corners[0])), name
        assert rows[name].fat_mm == pytest.approx(float(corners[2])), name
    # Of the tip the fattest that enters its smallest hole is judged, not one that never does.
    for name, corners in (
        ("lead_diameter_mm", case.tip.lead_mm), ("tip_root_diameter_mm", case.tip.root_mm),
    ):  # fmt: skip
        assert rows[name].lean_mm == pytest.approx(float(corners[0])), name
        assert rows[name].fat_mm == pytest.approx(float(corners[2]), abs=0.01), name
        assert rows[name].fat_mm >= float(corners[2]) - 1e-9


def test_cautions_say_all_that_must_be_said():
    said = " ".join(cards.CAUTIONS)
    for phrase in (
        "face shield", "Z87", "not pressure rated", "never with air", "relief valve", "to zero",
        "out of the line", "label is the law", "licence", "as few and as small",
        "arborist", "recommends neither",
    ):  # fmt: skip
        assert phrase in said


def test_the_proof_test_steps_to_one_and_a_half_times_the_pressure():
    steps = cards.proof_steps(ProofTest(0.3102640781925763, 1.5, 4.0), 30.0)
    # 45 psi: 1.5 x 45 = 67.5; in quarters, rounded up, 17, 34, 51, 68; four times 45 = 180.
    assert "17 psi" in steps[1]
    assert "34 psi" in steps[1]
    assert "51 psi" in steps[1]
    assert "Hold 68 psi" in steps[2]
    assert "180 psi" in steps[5]
    assert "each part number" in steps[5]


def test_the_twist_limit_is_given_in_both_units(report):
    found = re.fullmatch(r"([\d.]+) N m \(([\d.]+) in lbf\)", largest_twist(report.outcomes))
    # 1 N m is 8.8507 inch-pounds.
    assert float(found[2]) == pytest.approx(float(found[1]) * 8.8507, abs=0.1)


def test_the_field_card_names_bit_depth_and_travel(report):
    card = " ".join(cards.field_card(report))
    assert "15/64" in card
    assert "39 mm (1.53 in) deep" in card
    assert "4 ticks deeper" in card
    assert "mL" not in card


# --- the mesh for the viewer ----------------------------------------------------------------


def test_normals_are_smooth_round_the_tube_and_break_at_its_ends():
    mesh = viewer_mesh(read_stl(tube_stl(sides=48)))
    points = mesh.points * np.array(mesh.step_mm) + np.array(mesh.low_mm)
    normals = mesh.normals / 127.0
    side = np.abs(normals[:, 2]) < 0.1
    radial = points[side][:, :2] / np.linalg.norm(points[side][:, :2], axis=1, keepdims=True)
    assert np.abs(np.einsum("ij,ij->i", radial, normals[side][:, :2])).min() > 0.99
    # Four rims of 48 points, each with one normal for the side and one for the end.
    assert len(mesh.points) == 2 * 4 * 48
    assert len(mesh.edges) == 4 * 48


def test_a_file_that_is_no_stl_is_refused():
    with pytest.raises(BuildError):
        read_stl(b"solid no\nendsolid")


# --- in a browser ---------------------------------------------------------------------------

needs_browser = pytest.mark.skipif(
    find_browser() is None, reason="no Chromium is installed: apt-get install chromium"
)


@pytest.fixture(scope="module")
def browser():
    with Browser() as running:
        yield running


@pytest.fixture(scope="module")
def page_file(page, tmp_path_factory):
    path = tmp_path_factory.mktemp("sheet") / "sheet.html"
    path.write_text(page, encoding="utf-8")
    return path


CANVAS = "document.querySelector('#viewer canvas').toDataURL()"
# How many different colours the canvas shows.
COLOURS = """(() => { const c = document.querySelector('#viewer canvas');
  const f = document.createElement('canvas'); f.width = c.width; f.height = c.height;
  const x = f.getContext('2d'); x.drawImage(c, 0, 0);
  const d = x.getImageData(0, 0, f.width, f.height).data, s = new Set();
  for (let i = 0; i < d.length; i += 4) s.add(d[i] << 16 | d[i + 1] << 8 | d[i + 2]);
  return s.size; })()"""


@needs_browser
def test_the_part_is_drawn_and_turns_under_keys_and_mouse(browser, page_file):
    browser.open(page_file, 1100, 900)
    assert browser.complaints() == []
    outside = [url for url in browser.requests() if not url.startswith(("file:", "data:"))]
    assert outside == []
    assert browser.run(COLOURS) > 20
    browser.run("document.getElementById('viewer').scrollIntoView()")
    views = [browser.run(CANVAS)]
    browser.run("document.getElementById('viewer').focus()")
    for key in ("ArrowLeft", "ArrowUp", "+", "c"):
        browser.key(key)
        views.append(browser.run(CANVAS))
    browser.drag((500, 150), (640, 210))
    views.append(browser.run(CANVAS))
    assert len(set(views)) == len(views)
    assert browser.complaints() == []


OVERLAPS = """(() => {
  const wide = document.documentElement.clientWidth, out = [];
  for (const e of document.querySelectorAll('body *')) {
    const r = e.getBoundingClientRect();
    if (r.width && !e.closest('svg') && (r.right > wide + 0.5 || r.left < -0.5))
      out.push(e.tagName);
  }
  const rows = [...document.querySelectorAll('h1,h2,h3,p,li,td,th,caption,figcaption,button,label')]
    .filter(e => e.getClientRects().length).map(e => [e, e.getBoundingClientRect()]);
  rows.sort((one, other) => one[1].top - other[1].top);
  for (let i = 0; i < rows.length; i += 1) {
    const [e, a] = rows[i];
    // From the top down: what starts below this one's end starts below it for all that follow.
    for (let k = i + 1; k < rows.length && rows[k][1].top < a.bottom - 1; k += 1) {
      const [f, b] = rows[k];
      if (Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1 &&
          Math.min(a.bottom, b.bottom) - b.top > 1 && !e.contains(f) && !f.contains(e))
        out.push(e.textContent.slice(0, 30) + ' / ' + f.textContent.slice(0, 30));
    }
  }
  return out.slice(0, 5); })()"""


@needs_browser
@pytest.mark.parametrize(
    ("width", "dark"),
    [
        pytest.param(360, False, id="phone"),
        pytest.param(1100, True, id="desk, dark"),
        pytest.param(360, True, id="phone, dark", marks=pytest.mark.slow),
        pytest.param(1100, False, id="desk", marks=pytest.mark.slow),
    ],
)
def test_nothing_overlaps_or_runs_out_at_phone_and_desk_width(browser, page_file, width, dark):
    browser.open(page_file, width, 800, dark=dark)
    assert browser.run("document.documentElement.scrollWidth") <= width
    browser.run("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    assert browser.run(OVERLAPS) == []
    ink, paper = browser.run("(s => [s.color, s.backgroundColor])(getComputedStyle(document.body))")
    light = [sum(map(int, re.findall(r"\d+", colour)[:3])) for colour in (ink, paper)]
    assert (light[0] > light[1]) == dark
    assert abs(light[0] - light[1]) > 500


PAPERS = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}


def pages_on(browser, paper):
    pdf = browser.pdf(*PAPERS[paper])
    boxes = {
        tuple(map(float, box)) for box in re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pdf)
    }
    wanted = tuple(72 * size for size in PAPERS[paper])
    assert boxes
    assert all(box == pytest.approx(wanted, abs=1.0) for box in boxes)
    return len(re.findall(rb"/Type /Page\b", pdf))


@needs_browser
@pytest.mark.parametrize(
    "kind", ["tee", *(pytest.param(k, marks=pytest.mark.slow) for k in KINDS if k != "tee")]
)
def test_it_prints_on_two_pages_and_the_rest_where_it_is_asked_for(browser, tmp_path, kind):
    path = tmp_path / "sheet.html"
    path.write_text(page_of(make_report(kind)), encoding="utf-8")
    browser.open(path, 1100, 900)
    assert [pages_on(browser, paper) for paper in PAPERS] == [2, 2]
    browser.run("document.getElementById('print-all').click()")
    assert 4 <= pages_on(browser, "Letter") <= 12


@needs_browser
def test_a_part_that_did_not_pass_prints_on_two_pages_too(browser, tmp_path):
    """Its banner names what fails and how to mend it, which is more than a pass has to say."""
    path = tmp_path / "sheet.html"
    path.write_text(page_of(make_report("tee", material="fff_pla")), encoding="utf-8")
    browser.open(path, 1100, 900)
    assert browser.run("document.body.innerText.includes('NOT PASSED')")
    assert [pages_on(browser, paper) for paper in PAPERS] == [2, 2]
