"""The kit's pages: what they say, that they stand alone, and that they print."""

import math
import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path

import pytest
from browser import Browser, find_browser

import barbwright
from barbwright.checks.proof import ProofTest
from barbwright.design.part import KINDS
from barbwright.job.reading import read_job
from barbwright.jobs.build import plan_kit
from barbwright.jobs.chain_document import chain_document
from barbwright.jobs.chain_report import kit_report
from barbwright.jobs.kitfile import load_kit
from barbwright.jobs.plan import plan_part
from barbwright.logs.columns import KINDS as LOG_KINDS
from barbwright.report import cards
from barbwright.report.acts import acts_of
from barbwright.report.chain_pages import (
    between_trees_page,
    chain_page,
    field_card_page,
    order_of_work,
    proof_card_page,
    proof_notes,
    proof_steps,
    ring_svg,
    spacing_svg,
)
from barbwright.report.notices import NOT_RATED
from example_kit import CHAIN, JOB, write_kit

pytestmark = pytest.mark.usefixtures("rated_once")

PSI = 0.006894757293168
# Of no row of the tubing table, so that it is rated as somebody says, or not at all.
UNKNOWN_TUBE = {
    "tube_id": "4.6mm", "tube_od": "6.9mm", "tube_material": "LLDPE", "bit": "15/64",
    "pressure": "45psi",
}  # fmt: skip

SRC = Path(barbwright.__file__).parents[1]
PAGES = {
    "chain": chain_page, "field_card": field_card_page, "between_trees": between_trees_page,
    "proof_card": proof_card_page,
}  # fmt: skip
NASTY = "<script>alert('x')</script>&\"'</title>{{7*7}}"


def report_of(folder, **more):
    plan = plan_kit(load_kit(write_kit(folder, **more)), {})
    others = [part for _, part in plan.parts if part.kind.name not in {"tee", "elbow"}]
    return kit_report(plan.kit, plan.chain, plan.chain.solve(), others, plan.warnings)


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    return report_of(tmp_path_factory.mktemp("kit"), title="Oaks & elms", tools=True)


@pytest.fixture(scope="module")
def pages(report):
    return {name: page(report).decode() for name, page in PAGES.items()}


class Reader(HTMLParser):
    """Collects text, tags, ids and addresses, and checks that tags close in order."""

    VOID = frozenset(("meta", "link", "br", "img", "input", "hr"))

    def __init__(self, page):
        super().__init__()
        self.open, self.tags, self.ids, self.links, self.words = [], [], [], [], []
        self.feed(page)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        values = dict(attrs)
        if "id" in values:
            self.ids.append(values["id"])
        self.links += [values[name] for name in ("href", "src", "xlink:href") if name in values]
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in self.VOID:
            self.open.pop()

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if not {"style", "svg", "title"} & set(self.open):
            self.words.append(data)

    @property
    def text(self):
        return re.sub(r"\s+", " ", " ".join(self.words))


@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_whole_and_stands_alone(pages, name):
    read = Reader(pages[name])
    assert len(read.ids) == len(set(read.ids))
    for link in read.links:
        assert link == "data:," or (link.startswith("#") and link[1:] in read.ids), link
    assert not {"script", "iframe", "object", "form"} & set(read.tags)
    assert not re.search(r"url\((?!#)", pages[name])
    assert "default-src 'none'" in pages[name]
    addresses = set(re.findall(r"https?://[^\s\"'<]+", pages[name]))
    assert addresses <= {"http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"}


@pytest.mark.parametrize("name", PAGES)
def test_every_page_carries_the_cautions(pages, name):
    text = Reader(pages[name]).text
    for line in (*cards.CAUTIONS, NOT_RATED):
        assert line in text


@pytest.mark.parametrize("name", PAGES)
def test_names_of_the_user_are_text_and_nothing_else(tmp_path, name):
    page = PAGES[name](report_of(tmp_path, title=NASTY, note=NASTY)).decode()
    read = Reader(page)
    assert "script" not in read.tags
    assert "alert('x')" in read.text
    assert "{{7*7}}" in read.text
    assert "<title>" in page
    assert NASTY not in page


@pytest.mark.slow
@pytest.mark.parametrize("seed", ["1", "4711"])
def test_the_same_kit_gives_the_same_bytes_in_any_process(tmp_path, report, pages, seed):
    write_kit(tmp_path, title="Oaks & elms", tools=True)
    code = (
        "import sys, hashlib\nfrom pathlib import Path\n"
        "from barbwright.jobs.build import plan_kit\n"
        "from barbwright.jobs.chain_report import kit_report\n"
        "from barbwright.jobs.kitfile import load_kit\n"
        "from barbwright.report import chain_pages as c\n"
        "p = plan_kit(load_kit(Path(sys.argv[1])), {})\n"
        "others = [part for _, part in p.parts if part.kind.name not in ('tee', 'elbow')]\n"
        "r = kit_report(p.kit, p.chain, p.chain.solve(), others, p.warnings)\n"
        "for page in (c.chain_page, c.field_card_page, c.between_trees_page, c.proof_card_page):\n"
        "    sys.stdout.write(hashlib.sha256(page(r)).hexdigest() + '\\n')\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path / "kit.toml")],
        env={**os.environ, "PYTHONPATH": str(SRC), "PYTHONHASHSEED": seed},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    import hashlib

    assert done.stdout.split() == [
        hashlib.sha256(page.encode()).hexdigest() for page in pages.values()
    ]


# --- the field card --------------------------------------------------------------------------


def test_the_order_of_work_is_that_of_the_trade(report):
    assert [step.word for step in order_of_work(report)] == [
        "Wear", "Join", "Drill", "Blow clear", "Tap", "Purge", "Pull", "Open slowly", "Watch",
        "Stop", "Vent", "Free", "Tidy",
    ]  # fmt: skip


def test_every_tube_is_on_before_a_tip_goes_in_and_the_elbow_is_tapped_last(report):
    steps = {step.word: step.text for step in order_of_work(report)}
    assert "Push every tube on" in steps["Join"]
    for word in ("hot water", "by its body", "Never push a tube onto a connector that is tapped"):
        assert word in steps["Join"]
    pushes = [word for word, text in steps.items() if re.search(r"push\w* (the|every|a) tube", text,
                                                                re.I)]  # fmt: skip
    assert pushes == ["Join"]
    assert "ports 1 to 7, not the elbow's yet" in steps["Tap"]
    assert "driver" in steps["Tap"]
    order = ("own open tip, held low", "clear liquid", "Close", "then tap the elbow in at port 8")
    places = [steps["Purge"].index(words) for words in order]
    assert places == sorted(places)


def test_the_field_card_says_what_to_mind(pages):
    text = Reader(pages["field_card"]).text
    for line in (*cards.IN_USE, *cards.STORING):
        assert line in text


def test_the_field_card_shows_each_act_of_the_hands_in_the_order_of_work(pages):
    text = pages["field_card"]
    shown = ["Warm the tube", "Count the ticks", "Tap lightly", "Prove it by a pull",
             "Nothing aside", "Turn it free", "Or wedge it free"]  # fmt: skip
    places = [text.index(f"<h3>{words}</h3>") for words in shown]
    assert places == sorted(places)
    assert text.count('<article class="act">') == len(shown)
    assert text.index("Prove it in the field") < places[0]


@pytest.mark.slow
def test_a_vessel_rated_under_the_relief_is_said_on_card_and_chain_page(tmp_path):
    report = report_of(tmp_path, chain={**CHAIN, "vessel_rating": "50 psi"})
    said = "The vessel is rated 50 psi (344 kPa), under the 55 psi (379 kPa)"
    assert said in Reader(field_card_page(report).decode()).text
    page = chain_page(report).decode()
    assert Reader(page).text.count(said) == 1
    assert page.index(said) < page.index("<nav")


@pytest.mark.slow
def test_ports_too_high_lead_the_pages_without_limit_or_time(tmp_path):
    low = {**JOB, "pressure": "15psi", "relief": "40psi"}
    report = report_of(tmp_path, job=low, chain={**CHAIN, "heights": "20 m"})
    for make in (field_card_page, chain_page):
        text = Reader(make(report).decode()).text
        assert "Nothing flows at ports 1-8" in text
        assert "Limited by" not in text
        assert "Time:" not in text


def test_the_field_card_names_bit_depth_and_travel(report, pages):
    text = Reader(pages["field_card"]).text
    tip = report.elbow.design.tip
    assert "15/64 in (5.95 mm)" in text
    assert f"{float(tip.hole_depth_mm):.0f} mm" in text
    ticks = -(-float(tip.contact_mm) // float(tip.tick_pitch_mm))
    assert f"{ticks:.0f} ticks ({ticks * float(tip.tick_pitch_mm):g} mm)" in text
    assert "149 mm (5.86 in) apart" in text
    assert "45 psi (310 kPa)" in text
    assert "55 psi (379 kPa)" in text
    acts = acts_of(report.parts, report.voice)
    assert len(acts) == 7
    for rule in (rule for act in acts for rule in act.rules):
        assert f"{', '.join(rule.kinds)}: {rule.text}" in text


def test_a_chain_of_one_port_has_no_tee_on_its_card(tmp_path):
    chain = {**{k: v for k, v in CHAIN.items() if k != "girth"}, "ports": 1}
    report = report_of(tmp_path, chain=chain)
    assert [part.design.kind.name for part in report.parts] == ["elbow"]
    steps = {step.word: step.text for step in order_of_work(report)}
    assert "a tee at" not in steps["Tap"]
    assert spacing_svg(report) == ""
    assert ring_svg(report).count("port tee") == 0


def test_nothing_suggests_a_dose_or_a_product(pages):
    for page in pages.values():
        text = Reader(page).text.replace("No product, mix or dose is suggested", "")
        assert not re.search(r"\bdos(e|es|age)\b|ppm|per inch|recommended rate", text, re.I)


@pytest.mark.parametrize("ports", [1, 2, 3, 8, 24, 60])
def test_the_ring_is_to_scale_with_its_ports_evenly_round(tmp_path, ports):
    chain = {**CHAIN, "girth": f"{ports * 14} cm", "spacing": "141 mm"}
    report = report_of(tmp_path, chain=chain)
    svg = ElementTree.fromstring(ring_svg(report))
    space = "{http://www.w3.org/2000/svg}"
    # One unit of the view box is one millimetre on paper.
    wide = float(svg.get("width").removesuffix("mm"))
    assert [float(v) for v in svg.get("viewBox").split()][2] == wide
    scale = float(re.search(r"scale 1 : ([\d.]+)", ring_svg(report))[1])
    trunk = svg.find(f"{space}circle[@class='trunk']")
    middle, radius = float(trunk.get("cx")), float(trunk.get("r"))
    assert 2 * math.pi * radius * scale == pytest.approx(ports * 140, rel=1e-3)
    seats = [
        (float(c.get("cx")) - middle, middle - float(c.get("cy")))
        for c in svg.iter(f"{space}circle")
        if c.get("class") == "port tee"
    ]
    elbow = next(r for r in svg.iter(f"{space}rect"))
    half = float(elbow.get("width")) / 2
    seats.append((float(elbow.get("x")) + half - middle, middle - float(elbow.get("y")) - half))
    assert len(seats) == ports
    for index, (right, up) in enumerate(seats):
        assert math.hypot(right, up) == pytest.approx(radius, rel=1e-3)
        angle = math.atan2(right, up) % (2 * math.pi)
        assert angle == pytest.approx(2 * math.pi * index / ports, abs=1e-3)
    bar = svg.find(f"{space}path[@class='bar']").get("d")
    length, shown = float(re.search(r"h ([\d.]+)", bar)[1]), ring_svg(report)
    assert length * scale == pytest.approx(float(re.search(r">([\d.]+) mm, scale", shown)[1]),
                                           rel=1e-3)  # fmt: skip
    assert length < wide


def test_the_ruler_is_one_spacing_in_full_size(report):
    svg = ElementTree.fromstring(spacing_svg(report))
    space = "{http://www.w3.org/2000/svg}"
    path = svg.find(f"{space}path[@class='spacing']").get("d")
    ends = [float(x) for x in re.findall(r"M ([\d.]+) 2", path)]
    assert ends[1] - ends[0] == pytest.approx(1190 / 8, abs=1e-3)
    assert float(svg.get("width").removesuffix("mm")) == float(svg.get("viewBox").split()[2])


# --- the proof card --------------------------------------------------------------------------


def test_proof_steps_are_quarters_of_one_and_a_half_times_the_highest(report):
    steps = proof_steps(report)
    highest = 55 * PSI
    assert [step.pressure_mpa for step in steps] == pytest.approx(
        [0.375 * highest, 0.75 * highest, 1.125 * highest, 1.5 * highest, 1.5 * highest]
    )
    assert [step.minutes for step in steps] == [1, 1, 1, 1, 10]


def test_no_test_pressure_on_the_card_falls_short(report, pages):
    shown = re.findall(r'class="n">(\d+) psi<br>(\d+) kPa<br>', pages["proof_card"])
    steps = proof_steps(report)
    assert len(shown) == len(steps)
    for (psi, kpa), step in zip(shown, steps, strict=True):
        assert 0 <= int(psi) - step.pressure_mpa / PSI < 1
        assert 0 <= int(kpa) - 1000 * step.pressure_mpa < 1


@pytest.mark.slow
def test_without_a_relief_the_working_pressure_is_the_highest(tmp_path):
    job = {key: value for key, value in JOB.items() if key != "relief"}
    report = report_of(tmp_path, job=job)
    assert proof_steps(report)[-1].pressure_mpa == pytest.approx(1.5 * 45 * PSI)
    assert "not given: fit one" in Reader(field_card_page(report).decode()).text


def test_the_proof_card_has_batch_lines_three_parts_and_the_first_article(pages):
    text = Reader(pages["proof_card"]).text
    for word in ("Batch", "piece 1", "piece 2", "piece 3", "83", "569", "10 min", "24 h",
                 "220 psi", "Water only, never air", "a shield", "read again"):  # fmt: skip
        assert word in text, word
    # Nothing is tested with gas, so nothing tells how to reckon with it.
    assert "absolute" not in text
    assert "Gas" not in text


def test_the_proof_card_closes_and_holds_every_open_end(report, pages):
    text = Reader(pages["proof_card"]).text
    tip = report.tee.design.tip
    breaking = 4.0 * 55 * PSI
    # Twice four times the pressure on the largest diameter that a weeping seat can wet.
    carries = 2.0 * breaking * math.pi / 4.0 * float(tip.root_mm) ** 2
    assert f"{math.ceil(carries)} N" in text
    for told in ("hardwood block", "plate over the strike pad", "close it with a cap", "a stop",
                 "Face and hands stay out of the line"):  # fmt: skip
        assert told in text, told
    assert "<svg" in pages["proof_card"]


def test_the_proof_card_says_which_pieces_of_which_part_number(tmp_path):
    plan = plan_kit(load_kit(write_kit(tmp_path)), {})
    numbers = {part.kind.name: part.number for _, part in plan.parts}
    solved = plan.chain.solve()
    pieces = {numbers["tee"]: 9, numbers["elbow"]: 2}
    text = Reader(
        proof_card_page(kit_report(plan.kit, plan.chain, solved, pieces=pieces)).decode()
    ).text
    assert f"{numbers['tee']}, piece 3" in text
    assert f"{numbers['elbow']}, piece 2" in text
    assert f"{numbers['elbow']}, piece 3" not in text


@pytest.mark.parametrize(
    ("rating", "told"),
    [
        ("400psi", "holds every pressure"),
        ("150psi", "holds the proof"),
        ("60psi", "under the proof"),
        (None, "states no rating"),
    ],
)
def test_no_tube_is_taken_over_its_rating(rating, told):
    more = {"tube_rating": rating} if rating else {}
    design = plan_part(KINDS["tee"], read_job({**UNKNOWN_TUBE, **more})).design
    said = cards.on_which_tube(design, ProofTest(0.3, 1.5, 4.0))
    assert told in said


def test_what_is_weaker_than_the_proof_is_kept_out_of_it(tmp_path, report):
    assert not any("vessel" in note for note in proof_notes(report))
    weak = report_of(tmp_path, chain={**CHAIN, "vessel_rating": "80 psi"})
    assert any("vessel holds 80 psi" in note for note in proof_notes(weak))


def test_a_seal_near_its_design_factor_may_weep(report):
    def with_seal(factor):
        elbow = report.elbow
        outcomes = tuple(
            replace(o, safety_factor=factor, design_factor=1.5) if o.info.id == "barb_seal" else o
            for o in elbow.outcomes
        )
        return replace(report, elbow=replace(elbow, outcomes=outcomes))

    assert any("may weep" in note for note in proof_notes(with_seal(1.6)))
    assert not any("elbow's seal" in note for note in proof_notes(with_seal(2.0)))


@pytest.mark.slow
def test_a_kit_in_psi_is_spoken_to_in_psi_and_one_in_kpa_in_kpa(tmp_path, pages):
    for name in pages:
        silent = {"proof_card", "between_trees"}
        assert "45 psi (310 kPa)" in Reader(pages[name]).text or name in silent
    assert "crossing psi" in Reader(pages["chain"]).text
    job = {**JOB, "pressure": "310 kPa", "relief": "380 kPa"}
    metric = report_of(tmp_path, job=job)
    chain = Reader(chain_page(metric).decode()).text
    assert "310 kPa (45 psi)" in chain
    assert "crossing kPa" in chain
    assert not re.search(r"psi \([\d.]+ kPa\)", chain)
    proof = Reader(proof_card_page(metric).decode()).text
    # 1.5 x 380 kPa, and in psi no less than it: 82.67.
    assert "570 kPa (83 psi)" in proof
    card = Reader(field_card_page(metric).decode()).text
    assert "380 kPa (55.1 psi)" in card


# --- the chain's page ------------------------------------------------------------------------


def test_the_chain_page_shows_every_port_vessel_and_part(report, pages):
    text = Reader(pages["chain"]).text
    for port in report.result.ports:
        assert f"{port.hole_pressure_mpa / PSI:.1f}" in text
        assert f"{port.flow_ml_min:.1f}" in text
    for row in report.result.vessel["run_down"]:
        assert f"{row['low_mpa'] / PSI:.1f}" in text
    for case in report.result.cases:
        assert case.sentence in text
    assert report.result.advice in text
    assert "tube, tee to tee" in text
    assert pages["chain"].count("<svg") == 2
    assert "Churchill 1977" in text


@pytest.mark.slow
def test_a_regulated_or_vessel_less_chain_has_no_run_down(tmp_path):
    steady = report_of(tmp_path, chain={**CHAIN, "regulated": True})
    page = chain_page(steady).decode()
    assert page.count("<svg") == 1
    assert "held by a regulator" in page
    bare = {k: v for k, v in CHAIN.items() if k not in ("vessel_volume", "air_head")}
    for make in PAGES.values():
        Reader(make(report_of(tmp_path, chain=bare)).decode())


@pytest.mark.slow
def test_a_part_that_does_not_pass_is_said_on_every_page(tmp_path):
    soft = {**JOB, "tube_id": "4mm", "tube_od": "6mm", "tube_material": "PVC", "shore": "65"}
    report = report_of(tmp_path, job=soft)
    for make in PAGES.values():
        page = make(report).decode()
        assert "NOT PASSED" in Reader(page).text
        assert "<title>NOT PASSED" in page


@pytest.mark.slow
@pytest.mark.skipif(find_browser() is None, reason="no Chromium here")
def test_pages_fit_screens_and_paper(tmp_path, pages):
    from pypdf import PdfReader

    with Browser() as browser:
        for name, page in pages.items():
            path = tmp_path / f"{name}.html"
            path.write_text(page, encoding="utf-8")
            for width in (1100, 360):
                browser.open(path, width, 800)
                assert browser.run("document.documentElement.scrollWidth") <= width, (name, width)
                assert browser.complaints() == []
                asked = browser.requests()
                assert all(url.startswith(("file:", "data:")) for url in asked)
            for size, paper in {"a4": (8.27, 11.69), "letter": (8.5, 11.0)}.items():
                reader = PdfReader(BytesIO(browser.pdf(*paper)))
                # The card on two sides of one sheet, and its log on another.
                most = {"field_card": 3, "proof_card": 2}.get(name, 8)
                assert 1 <= len(reader.pages) <= most, (name, size)
                if name == "field_card":
                    assert reader.pages[-1].extract_text().startswith("Log of a tree"), size
            if name == "field_card":
                millimetres = browser.run(
                    "document.querySelector('path.spacing').getBoundingClientRect().width"
                ) / 96 * 25.4  # fmt: skip
                assert millimetres == pytest.approx(1190 / 8, abs=0.8)


@pytest.mark.slow
def test_a_user_s_own_proof_ratio_moves_the_card_the_chain_and_its_document(tmp_path):
    plan = plan_kit(load_kit(write_kit(tmp_path)), {}, settings=("proof_ratio=2", "burst_ratio=5"))
    result = plan.chain.solve()
    report = kit_report(plan.kit, plan.chain, result, (), plan.warnings)
    highest = 55 * 6.894757293168
    assert proof_steps(report)[-1].pressure_mpa == pytest.approx(2.0 * highest / 1000.0)
    text = Reader(proof_card_page(report).decode()).text
    assert "proof is 2 times that" in text
    assert "5 times the highest in use" in text
    body = chain_document(plan.chain, result, None)
    assert 0.0 <= body["proof_kpa"] - 2.0 * highest < 0.01


def test_between_trees_names_its_sources_and_no_product(pages):
    text = Reader(pages["between_trees"]).text
    assert "University of California Statewide IPM" in text
    assert "Iowa State University Extension" in text
    assert "see a qualified arborist" in text
    assert not re.search(r"bleach|alcohol|ethanol|chlor|quaternary|\d ?%", text, re.IGNORECASE)


def test_the_card_has_the_log_to_fill_in_and_says_what_is_not_verified(pages, report):
    """A page of its own behind the card's two; its columns are those `log` reads."""
    page = pages["field_card"]
    text = Reader(page).text
    assert "The log to fill in is the last page" in text
    assert "is not verified" in text
    log = page.split('<section class="writing">')[1]
    assert "barbwright log" in log
    assert "closed one at a time" in log
    heads = {word.split()[0] for word in re.findall(r'<th scope="col">([^<]+)<', log)}
    assert heads - {"remark"} <= {column.name for column in LOG_KINDS["field"].columns}
    assert {
        "time",
        "pressure",
        "level",
        "closed",
        "port",
        "part",
        "pull",
        "moved",
        "drips",
    } <= heads
    assert log.count('<th scope="row">') == report.plan.ports
    assert "fill log" not in pages["between_trees"]


def test_a_kit_that_declines_its_fork_has_no_card_that_asks_for_it(tmp_path):
    report = report_of(tmp_path)
    assert not report.has_fork
    assert not any("fork" in step.text for step in order_of_work(report))
    assert "Its fork under it" not in field_card_page(report).decode()


def test_a_kit_has_the_tools_of_each_kind_of_tip_in_it(tmp_path):
    """A driver and a fork for its tees and elbow, and others for a tip in line."""
    rows = {"tip": "{ quantity = 1 }", "collar": "{ quantity = 1 }"}
    plan = plan_kit(load_kit(write_kit(tmp_path, tools=True, parts=rows)), {})
    made = [(one.kind.name, one.design.own.host.hub is not None) for _, one in plan.parts
            if one.kind.name in {"driver", "fork"}]  # fmt: skip
    assert sorted(made) == [("driver", False), ("driver", True), ("fork", False), ("fork", True)]
    # A drill stop follows from the bit alone.
    assert [one.kind.name for _, one in plan.parts].count("collar") == 1
    assert len({one.number for _, one in plan.parts}) == len(plan.parts)
    alone = plan_kit(load_kit(write_kit(tmp_path, tools=True)), {})
    assert [one.kind.name for _, one in alone.parts].count("driver") == 1


def test_every_seat_is_pulled_before_pressure_and_the_order_of_work_says_so(report):
    words = [step.word for step in order_of_work(report)]
    assert words.index("Purge") < words.index("Pull") < words.index("Open slowly")
    pull = next(step.text for step in order_of_work(report) if step.word == "Pull")
    assert f"{report.pull_n:.0f} N" in pull or "N (" in pull
    assert "fork" in pull
