"""Each word of the output is explained, and leads on to words and checks that are there."""

import re
from collections import Counter
from pathlib import Path

import pytest
import typer

from barbwright import cli
from barbwright.catalog import judgements
from barbwright.checks import table  # noqa: F401  declares the checks
from barbwright.checks.result import CHECKS, VERDICTS
from barbwright.cli.app import application
from barbwright.cli.commands import COMMANDS
from barbwright.design.measured import TESTS
from barbwright.design.part import FORCED_SIZES
from barbwright.job.record import INPUTS
from barbwright.jobs import log
from barbwright.jobs.chain_inputs import CHAIN_INPUTS
from barbwright.jobs.explaining import explain_term
from barbwright.jobs.glossary import TERMS, find_term, meant_term
from barbwright.jobs.tables import TABLES
from barbwright.logs.columns import KINDS as LOG_KINDS
from barbwright.prove import CASE_IDS
from barbwright.report import sheet
from run_cli import DEMO, run


def test_every_word_leads_on_to_one_that_is_explained():
    for term in TERMS.values():
        assert term.see, term.word
        assert {*term.see} <= {*TERMS, *CHECKS}, term.word


def test_no_spelling_is_of_two_words():
    """`STEP`, a file, hid the step of a fork."""
    spellings = Counter(
        spelling
        for term in TERMS.values()
        for spelling in {
            " ".join(re.split(r"[\s_-]+", one.casefold())) for one in (term.word, *term.also)
        }
    )
    assert {spelling: count for spelling, count in spellings.items() if count > 1} == {}


def test_no_word_hides_a_check():
    assert not {*TERMS} & {*CHECKS}


@pytest.mark.parametrize("word", VERDICTS)
def test_every_verdict_is_explained(word):
    assert find_term(word) is not None


@pytest.mark.parametrize(
    ("text", "word"),
    [("SAFETY FACTOR", "safety factor"), ("safety_factor", "safety factor"),
     ("SF", "safety factor"),
     ("once proved", "proved"), ("expected loss", "worth"), ("prove", "prove"),
     ("pull_off", "pull-off"), ("what helps", "remedy"), ("seen", "status"), ("node", "crossing"),
     ("blast", "finish"), ("psi", "units"), ("in lbf", "torque"), ("offset", "service"),
     ("hand tight", "hand-tight"), ("proof-test", "proof test"), ("Ticks", "tick")],
)  # fmt: skip
def test_a_word_is_found_however_it_is_written(text, word):
    assert find_term(text).word == word


def test_a_part_that_one_word_alone_has_means_that_word():
    assert meant_term("hoop").word == "hoop stress"
    # What several have is asked, not guessed.
    assert meant_term("factor") is None
    assert meant_term("sprocket") is None
    assert find_term("hoop") is None


# What a reader of a whole output, a page or a record stumbled over, beside the headings below.
MET = """
hold; pull-off; twist; drive; push; pull; weep; stage; dry port; quote card; blast; bill of parts;
limited by; last to first; run-down; thrust; friction; relaxed; margin; clearance; yield; layers;
sapwood; ring-porous; torque; units; creep; leak; vent; lever; tug; finite elements; mesh; PA12;
checksum; inspection; fit only; tee; elbow; cap; percentile; standard deviation; STL
"""


@pytest.mark.parametrize("word", [word.strip() for word in MET.split(";")])
def test_a_word_that_readers_met_is_explained_by_more_than_itself(word):
    done = run("explain", *word.split())
    assert done.code == 0, done.err
    means = done.out.partition(": ")[2].partition("See also")[0]
    assert len(means.split()) >= 6


def test_every_test_of_a_bench_day_and_every_load_case_of_prove_is_a_word():
    """A form says `twist` and `pull_off`, a table of `prove` says `let_go`."""
    for name in (*TESTS, *CASE_IDS):
        assert find_term(name) is not None or name in CHECKS, name
    for name, test in TESTS.items():
        assert f"As a test of a bench day: {test.how}." in explain_term(name)["means"]


def test_what_is_no_word_of_ours_is_none():
    assert find_term("sprocket") is None


# Everyday words, which need no explaining; a heading's other words are explained by `explain`.
_WORDS = """
after afterwards air along and anything apart arrival as assembly at bag be before blocked both
box broke build by came chance change check checked checks close could count cut date debug deep
delivered depth diameter did dimension dimensions do does drawing drawn drill dry each else end
ends engraved enter equations every expected exposed far feature field file files first flow for
from full gain given good group hand hands have held help high hold holds hours how if in inner
input inputs inspect is it item its judged june keep kept kind know label labels language latest
least length level light limits line liquid load look low lower made make many mass material max
mean means measure mechanical mind more most move moved name new nine no not note number numbers
of on one open or order ordered out outcome outer output over part parts passed passes per piece
pieces pressure print printing prove pull pulled pump quantity quiet range read reading refill
remains remark round same scientific september series share sharp shorter size sizes so soaked
sort source standard stated still stop stored surface taken takes tap tapping tells temperature
ten test than that the them then they third this times title to trade trunk tube unit up us use
value version wait wall water weakest weight what where which while whole why width with work
working would yours
"""
EVERYDAY = frozenset(_WORDS.split())
UNITS = re.compile(
    r"\[[^]]*\]|\b(?:mm|cm³?|mpa|kpa|psi|ml|min|degc|in|n|nm|g|h|c|x|y|z|a|3d|e|30c|iso|astm|png)\b"
)


# As `explain` answers them: a word of ours, a check, or a column of a log.
LOG_COLUMNS = frozenset(column.name for kind in LOG_KINDS.values() for column in kind.columns)


def _explained(words):
    return find_term(words) is not None or words in CHECKS or words in LOG_COLUMNS


def _strange(heading):
    """Words of a heading that are neither explained nor everyday."""
    words = UNITS.sub(" ", re.sub(r"&\w+;", " ", heading.casefold()).replace("_", " "))
    words = re.findall(r"[a-z][a-z'-]*", words)
    strange, at = [], 0
    while at < len(words):
        for many in (3, 2, 1):
            if _explained(" ".join(words[at : at + many])):
                break
        else:
            plain = words[at].removesuffix("'s")
            forms = {plain, plain.removesuffix("s")}
            if not forms & EVERYDAY and not any(map(_explained, forms)):
                strange.append(words[at])
            many = 1
        at += many
    return strange


def _sheet_headings():
    text = (Path(sheet.__file__).parent / "templates" / "sheet.html").read_text(encoding="utf-8")
    found = re.findall(r"<(?:h2|h3|th|dt|summary)\b[^>]*>([^<{]+)", text)
    assert len(found) > 50
    return found


def _terminal_headings():
    said = run("check", "tee", "--tube", "LLDPE 4 x 6 mm", "--bit", "6mm", "--pressure", "3bar",
               "--wood", "elm american").out.splitlines()  # fmt: skip
    table_head = said[next(at for at, line in enumerate(said) if line.startswith("Checks")) + 1]
    heads = [line for line in said[3:] if line[:1].isupper() and not line.startswith("Not pres")]
    assert table_head.split()[:3] == ["check", "verdict", "there"]
    assert len(heads) > 3
    return [*heads, table_head]


def _listed_headings():
    return [name for rows in TABLES.values() for row in rows()[:1] for name in row]


def _options():
    """Every option of every command, as the commands themselves declare them."""
    found = []
    for name in COMMANDS:
        command = typer.main.get_command(application([name])).commands[name]
        flags = [flag for one in command.params for flag in (*one.opts, *one.secondary_opts)]
        found += [flag[2:].replace("-", " ") for flag in flags if flag.startswith("--")]
    assert {"tube id", "fill", "reserve", "zero", "not default", "png"} <= set(found)
    return found


def _page_headings():
    """What stands over a column, a section or a figure of every page."""
    found = []
    for path in (Path(sheet.__file__).parent / "templates").glob("*.html"):
        text = re.sub(r"\{\{.*?\}\}|\{%.*?%\}", " ", path.read_text(encoding="utf-8"))
        found += re.findall(r"<(?:h2|h3|th|dt|summary)\b[^>]*>([^<]+)", text)
    assert len(found) > 150
    return found


def _told_headings():
    """The first row of what commands and logs print as a table, as their sources write it."""
    found = []
    for path in [*Path(cli.__file__).parent.glob("*.py"), Path(log.__file__)]:
        heads = re.findall(
            r"(?:rows(?:: [^=]+)? = \[|heads=)\(([^()]+(?:\(nine in ten\)[^()]*)*)\)",
            path.read_text(encoding="utf-8"),
        )
        found += [one for head in heads for one in re.findall(r'"([^"]+)"', head)]
    assert {"peak MPa", "first to fail", "width over prior"} <= set(found)
    return found


def _files_of_rating(folder):
    done = run("rate", "elbow", *DEMO, "--bits", "7/32, 15/64", "--pressures", "30psi, 3bar",
               "-o", folder)  # fmt: skip
    assert done.code == 0, done.err
    heads = [path.read_text(encoding="utf-8").partition("\n")[0] for path in folder.glob("*.csv")]
    assert heads
    return [name for head in heads for name in head.split(",")]


def test_every_column_of_a_rating_is_of_words_that_are_explained_or_everyday(tmp_path):
    headings = _files_of_rating(tmp_path)
    assert {heading: found for heading in headings if (found := _strange(heading))} == {}


def test_what_can_be_set_is_named():
    told = explain_term("set")["means"]
    assert all(re.search(rf"\b{name}\b", told) for name in FORCED_SIZES)


def test_an_option_and_a_column_of_a_log_are_words_too():
    assert run("explain", "--fill").out.startswith("fill: ")
    assert run("explain", "closed").out.startswith(
        "closed: in the log of trees, ports pinched shut"
    )
    for name in LOG_COLUMNS:
        assert run("explain", name).code == 0, name
    assert run("explain", "sprocket").code == 2


@pytest.mark.parametrize(
    "headings",
    [
        _sheet_headings, _terminal_headings, _listed_headings, _options, _page_headings,
        _told_headings,
    ],
)  # fmt: skip
def test_every_heading_is_of_words_that_are_explained_or_everyday(headings):
    assert {heading: found for heading in headings() if (found := _strange(heading))} == {}


def test_a_heading_of_strange_words_is_seen():
    assert _strange("Sprocket [mm]") == ["sprocket"]
    assert _strange("safety factor, at worst") == []


def test_what_help_calls_a_default_is_the_figure_that_owns_it():
    owners = {
        "bark": "bark_mm", "temperature": "temperature_c", "spacing": "chain_spacing_mm",
        "supply_length": "chain_supply_length_mm", "reserve": "chain_reserve_share",
        "recharge_at": "chain_recharge_share",
    }  # fmt: skip
    helps = {one.name: one.help for one in (*INPUTS, *CHAIN_INPUTS)}
    assert owners.keys() <= helps.keys()
    for name, owner in owners.items():
        said = re.search(r"default ([\d.]+) ?(mm|m|C|%)", helps[name])
        value = float(said[1]) * {"m": 1000.0, "%": 0.01}.get(said[2], 1.0)
        assert value == pytest.approx(judgements()[owner].value), name
