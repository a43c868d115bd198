"""Cards in Spanish: every sentence has a line, every number stays, the user's words are theirs."""

import re
from collections import Counter
from dataclasses import replace
from html import unescape
from html.parser import HTMLParser
from typing import get_args

import pytest
from example_reports import make_report

from barbwright import catalog
from barbwright.checks.result import CHECKS
from barbwright.checks.table import fill_rule
from barbwright.job.reading import read_job
from barbwright.jobs.bench import plan_bench, read_gauges
from barbwright.jobs.bench_files import bench_form_in, form_page
from barbwright.jobs.build import plan_kit
from barbwright.jobs.chain_report import kit_report
from barbwright.jobs.coupon import plan_coupon
from barbwright.jobs.kitfile import load_kit
from barbwright.jobs.papers import part_report
from barbwright.rating.warmest import Warmest
from barbwright.report import cards
from barbwright.report.chain_pages import CrewKit, FrontPart, chain_page, crew_pages, crew_pages_in
from barbwright.report.coupon_sheet import coupon_html, coupon_html_in
from barbwright.report.notices import NOT_RATED
from barbwright.report.sheet import sheet_html
from barbwright.report.translated import TRANSLATED, Translator, own_words, translated, translator
from barbwright.say import Gauge
from example_kit import CHAIN, JOB, write_kit

pytestmark = pytest.mark.usefixtures("rated_once")

METRIC = {"tube": "LLDPE 4 x 6 mm", "bit": "6mm", "pressure": "3bar", "wood": "elm american",
          "material": "mjf_pa12"}  # fmt: skip
SOFT = {"tube_id": "0.170in", "tube_od": "0.250in", "tube_material": "PVC", "bit": "no7",
        "pressure": "20psi", "wood": "maple"}  # fmt: skip
KITS = {
    "inch": {},
    "metric": {"job": METRIC, "chain": {**CHAIN, "spacing": "175 mm", "species": "american elm"}},
    "in line, graded": {
        "parts": {
            "tip": "{ quantity = 2 }",
            "barb": "{ quantity = 2 }",
            "elbow": "{ grades = true }",
            "tee": "{ grade = 2 }",
        }
    },
    "fork declined, letter bit": {
        "job": {**JOB, "bit": "F", "wood": "maple"},
        "parts": {"fork": "{ quantity = 0 }"},
    },
    "hot": {
        "job": {**JOB, "temperature": "40C"},
        "parts": {"collar": "{ quantity = 1 }", "cap": "{ quantity = 1 }"},
    },
    "one port, not passed": {"job": SOFT, "chain": {**CHAIN, "girth": "15 cm"}},
    "dry ports, regulated, wood not known": {
        "job": {
            **{name: text for name, text in JOB.items() if name != "wood"},
            "pressure": "20psi",
            "relief": "25psi",
        },
        "chain": {**CHAIN, "heights": "19 m", "regulated": True},
    },
}
# A title of the user's, made to look like our own words, numbers and tags.
TITLE = "Tap. 3 tees, between trees: <b>5 ports</b> & more"
SPANISH = catalog.sentences("es")
PLACE = re.compile(r"\{(\w+)\}")
NUMBER = re.compile(r"\d+(?:\.\d+)?")


class Texts(HTMLParser):
    """Every text of a page that a reader meets, and what of it is marked as English."""

    VOID = frozenset(("meta", "link", "br", "img", "input", "hr"))

    def __init__(self, page):
        super().__init__()
        self.open, self.texts, self.english = [], [], []
        self.feed(page)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.texts += [
            text for name, text in attrs if name in {"alt", "title", "aria-label", "data-h"}
        ]
        if tag not in self.VOID:
            self.open.append((tag, ("lang", "en") in attrs and ("translate", "no") not in attrs))

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in self.VOID:
            self.open.pop()

    def handle_endtag(self, tag):
        assert self.open.pop()[0] == tag

    def handle_data(self, data):
        tags = {tag for tag, _ in self.open}
        if data.strip() and not tags & {"style", "script"}:
            self.texts.append(data)
            if any(english for _, english in self.open):
                self.english.append(data)

    @property
    def numbers(self):
        return Counter(number for text in self.texts for number in NUMBER.findall(text))


def pages_of(folder, translator, **kit):
    """English and Spanish page by name, of a kit's cards and of its parts' sheets."""
    plan = plan_kit(load_kit(write_kit(folder, title=TITLE, tools=True, **kit)), {})
    others = [part for _, part in plan.parts if part.kind.name not in {"tee", "elbow"}]
    report = kit_report(plan.kit, plan.chain, plan.chain.solve(), others, plan.warnings)
    front = [
        FrontPart(
            title=part.kind.title,
            kind=part.kind.name,
            number=part.number,
            verdict=part.verdict if part.passed else "not_passed",
            files=(f"{part.number}/sheet.html", f"{part.number}/part.png"),
            pieces=2,
        )
        for _, part in plan.parts
    ]
    crew = CrewKit(report=report, parts=tuple(front))
    spanish = crew_pages_in("es", crew, by=translator)
    english = {"chain.html": chain_page(report, crew=True), **crew_pages(crew)}
    found = {
        name: (page, spanish[name.replace(".html", ".es.html")]) for name, page in english.items()
    }
    for _, part in plan.parts:
        said = part_report(part)
        marked = replace(said, notes=tuple(map(own_words, said.notes)))
        page = sheet_html(said, crew=True)
        found[part.number] = page, translated(sheet_html(marked, crew=True), "es", by=translator)
    return {name: (one.decode(), other.decode()) for name, (one, other) in found.items()}


BENCH = "bench day and fit gauge"


def bench_pages(translator):
    """English and Spanish page by name, of a bench day's form and of a fit gauge's sheet."""
    found = {}
    for name, inputs in (("inch", SOFT), ("metric", METRIC)):
        job = read_job(inputs)
        for kind in ("tip", "tee", "barb"):
            day = plan_bench(kind, job, parts=3, gauges=read_gauges(None), hours=9)
            page = form_page(day, own_words, crew=True)
            found[f"{kind} form, {name}"] = page, bench_form_in("es", day, translator)
        number, coupon = plan_coupon(job)
        shown = (coupon, number, job.material.name, job.material.id)
        found[f"gauge, {name}"] = coupon_html(*shown), coupon_html_in("es", *shown, by=translator)
    unmarked = {name: translated(page, "en") for name, (page, _) in found.items()}
    return {name: (unmarked[name].decode(), other.decode()) for name, (_, other) in found.items()}


# What only the other kits say is held in the slow set.
QUICK = ("inch", "dry ports, regulated, wood not known")


@pytest.fixture(
    scope="module",
    params=[BENCH, *(k if k in QUICK else pytest.param(k, marks=pytest.mark.slow) for k in KITS)],
)
def pages(request, tmp_path_factory):
    translator = Translator(SPANISH)
    if request.param == BENCH:
        return translator, bench_pages(translator)
    return translator, pages_of(tmp_path_factory.mktemp("kit"), translator, **KITS[request.param])


@pytest.fixture(scope="module")
def kit_pages(pages):
    if "index.html" not in pages[1]:
        pytest.skip("a form has no title of the user's")
    return pages


def test_no_sentence_of_a_card_is_left_in_english(pages):
    translator, found = pages
    assert list(translator.missing) == []
    for name, (_, spanish) in found.items():
        assert Texts(spanish).english == [], name
        assert '<html lang="es">' in spanish


def test_every_number_stands_in_both_languages(pages):
    _, found = pages
    for name, (english, spanish) in found.items():
        # A page's own remark has none, so what is counted is what the English page says.
        assert Texts(spanish).numbers == Texts(english).numbers, name
        assert "\ue000" not in spanish + english


def test_every_caution_stands_on_every_page(pages):
    _, found = pages
    say = Translator(SPANISH).text
    for name, (_, spanish) in found.items():
        text = " ".join(Texts(spanish).texts)
        for line in (*cards.CAUTIONS, NOT_RATED, TRANSLATED):
            assert say(line) in text, (name, line)
            assert say(line) != line


@pytest.mark.parametrize("english", SPANISH)
def test_a_line_keeps_each_of_its_places(english):
    names = PLACE.findall(english)
    numbers = [int(name) for name in names if name.isdigit()]
    assert numbers == list(range(1, len(numbers) + 1)), "numbers are counted in English order"
    assert Counter(PLACE.findall(SPANISH[english])) == Counter(names)
    assert len(set(names)) == len(names)
    # A number outside a place would be one that a page's own does not decide.
    assert not NUMBER.search(PLACE.sub("", SPANISH[english]))


@pytest.mark.parametrize("check", CHECKS)
def test_every_rule_of_a_check_has_a_line_even_where_no_kit_prints_it(check):
    info, say = CHECKS[check], Translator(SPANISH)
    for rule in (info.rule, info.rule_else, info.observation, info.otherwise):
        if not rule:
            continue
        shown = re.sub(r"\{\w+:force\}", "34 N (7.7 lbf)", rule)
        shown = re.sub(r"\{\w+:torque\}", "0.66 N m (5.8 in lbf)", shown)
        shown = re.sub(r"\{\w+:pressure\}", "45 psi (310 kPa)", shown)
        shown = re.sub(r"\{\w+(?::[.\d]+f)?\}", "3", shown)
        assert "{" not in shown
        assert say.text(shown), rule
        if re.search(r"a \w+ of (?:more than )?\{", rule):
            without = fill_rule(rule, dict.fromkeys(re.findall(r"\{(\w+)", rule), 0.0))
            assert "any " in without
            assert say.text(without), without
    if info.stage != "making" and info.needs in {"barb", "tip", "hub", "crossing", "cap"}:
        (hot,) = cards.hot_day([Warmest(highest_c=34.0, check=check)])
        assert say.text(hot), hot


LINES = re.compile(r"<li>(.*?)</li>", re.DOTALL)
REFUSES = re.compile(r"\b(?:never|no|not|neither|nobody|without)\b", re.I)
REFUSES_IN_SPANISH = re.compile(r"\b(?:nunca|no|ni|sin|nadie|ning\w+)\b", re.I)


def cautions_of(page, heading):
    """The cautions' list of a page, item by item, tags and white space taken out."""
    after = page.rpartition(f">{heading}</h")[2]
    items = LINES.findall(after.partition("</ul>")[0])
    return [" ".join(unescape(re.sub(r"<[^>]+>", "", item)).split()) for item in items]


def test_each_caution_of_a_page_has_its_own_in_the_same_place_with_the_same_numbers(pages):
    _, found = pages
    say = Translator(SPANISH).text
    for name, (english, spanish) in found.items():
        lines = cautions_of(english, "Cautions")
        others = cautions_of(spanish, "Precauciones")
        assert len(lines) == len(others) >= len(cards.CAUTIONS), name
        for line, other in zip(lines, others, strict=True):
            assert other == say(line)
            assert NUMBER.findall(other) == NUMBER.findall(line)


@pytest.mark.parametrize("caution", [*cards.CAUTIONS, NOT_RATED])
def test_what_a_caution_forbids_its_spanish_one_forbids(caution):
    say = Translator(SPANISH).text
    for sentence in caution.split(". "):
        if REFUSES.search(sentence):
            assert REFUSES_IN_SPANISH.search(say(sentence)), sentence


def test_words_of_the_user_stay_as_they_are(kit_pages):
    _, found = kit_pages
    said = TITLE.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    for name in ("field_card.html", "proof_card.html", "between_trees.html", "index.html"):
        assert said in found[name][1]
        assert "<b>5 ports" not in found[name][1]


def test_what_has_no_line_stays_english_and_says_so():
    page = (
        b'<html lang="en"><title>Cautions</title><header></header><p>Cautions</p>'
        b"<p>Sing &amp; dance 5 times.</p><svg><text>Sing</text></svg></html>"
    )
    translator = Translator(SPANISH)
    said = translated(page, "es", by=translator).decode()
    assert "<title>Precauciones</title>" in said
    assert '<p><span lang="en">Sing &amp; dance 5 times.</span></p>' in said
    # No mark can stand inside a drawing's text.
    assert "<text>Sing</text>" in said
    assert list(translator.missing) == ["Sing & dance {1} times.", "Sing"]


@pytest.mark.parametrize(
    ("english", "other"),
    [
        ("· revision A · engraved", "· revisión A · grabado"),
        (
            "CAUTION: not checked: tube_rating, barb_seal. Read about it below before you use the "
            "part.",
            "PRECAUCIÓN: sin revisar: tube_rating, barb_seal. Lea sobre eso en la hoja en inglés "
            "antes de usar la pieza.",
        ),
    ],
)
def test_a_name_does_not_reach_into_the_next_sentence(english, other):
    """A place for names took all that stood behind it, and kept it in English, unmarked."""
    assert translator("es").text(english) == other


def test_no_backtick_is_left_on_a_bench_form():
    day = plan_bench("tip", read_job(METRIC), parts=3, gauges=read_gauges("scale"), hours=3)
    page = form_page(day)
    for text in (page, translated(page, "es")):
        words = re.sub(rb"<(style|script).*?</\1>", b"", text, flags=re.DOTALL)
        assert b"`" not in words


def test_numbers_may_change_their_order():
    say = Translator({"hold {1} for {2}": "durante {2} sostenga {1}", "up": "arriba"})
    assert say.text("Hold 45 psi (310 kPa) for 10 min.") == (
        "Durante 10 min sostenga 45 psi (310 kPa)."
    )
    assert say.text(" Up; hold 3 bar for 2 h ") == " Arriba; durante 2 h sostenga 3 bar "
    assert say.text("down") is None


def test_an_unknown_language_is_refused():
    assert catalog.read_language(" ES ") == "es"
    assert catalog.read_language(None) == catalog.read_language("en") == ""
    with pytest.raises(Exception, match="no such language of the cards"):
        catalog.read_language("klingon")


def test_what_is_typed_stays_inside_its_sentence():
    page = b"<html lang='en'><p>Tell it what fitted (<code>barbwright calibrate</code>) and build again: a calibrated print needs less length.</p></html>"  # noqa: E501
    said = translated(page, "es", by=Translator(SPANISH)).decode()
    assert "(<code>barbwright calibrate</code>)" in said
    assert said.count("<code>") == said.count("</code>") == 1
    assert "Dígale qué ajustó" in said


def test_a_rule_may_have_a_figure_for_each_of_its_parts():
    say = Translator(SPANISH).text
    said = say("tie the line: no more than 5 N (1.1 lbf) for tee and elbow, 7 N (1.6 lbf) for tip "
               "sideways at a barb's end; it breaks near 8 N (1.8 lbf)")  # fmt: skip
    assert "5 N (1.1 lbf) para te y codo, 7 N (1.6 lbf) para punta" in said


@pytest.mark.parametrize("unit", get_args(Gauge))
def test_a_head_over_pressures_has_its_line_in_each_unit_that_may_lead(unit):
    for word in ("pressure", "crossing", "in the hole", "quick", "slow"):
        assert SPANISH[f"{word} {unit}"].endswith(f" {unit}")


@pytest.mark.parametrize(
    "more",
    [
        # A factor of one, and one of two: what is there at its weakest stands beside it.
        {"tube_id": "6mm", "tube_od": "8mm", "tube_material": "PU", "bit": "8mm"},
        {"wood": "fir balsam", "pressure": "55psi", "relief": "60psi"},
    ],
)
def test_a_part_that_fails_says_so_in_whole_spanish_sentences(more):
    report = make_report("elbow", passed=False, **more)
    assert report.verdict == "fail"
    page = translated(sheet_html(report, crew=True), "es", by=Translator(SPANISH)).decode()
    assert "No use esta pieza con presión ni en un árbol" in page
    banner = re.search(r'class="banner fail".*?</div>', page, re.DOTALL)
    assert banner is not None
    assert "en el peor caso" in banner[0]
    assert 'lang="en"' not in banner[0]
    assert "fails" not in banner[0]
