"""Each word of the output is explained, and leads on to words and checks that are there."""

import re
from pathlib import Path

import pytest

from barbwright.catalog import judgements
from barbwright.checks import table  # noqa: F401  declares the checks
from barbwright.checks.result import CHECKS, VERDICTS
from barbwright.job.record import INPUTS
from barbwright.jobs.chain_inputs import CHAIN_INPUTS
from barbwright.jobs.glossary import TERMS, find_term, meant_term
from barbwright.jobs.tables import TABLES
from barbwright.report import sheet
from run_cli import run


def test_every_word_leads_on_to_one_that_is_explained():
    for term in TERMS.values():
        assert term.see, term.word
        assert {*term.see} <= {*TERMS, *CHECKS}, term.word


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


def test_what_is_no_word_of_ours_is_none():
    assert find_term("sprocket") is None


# Everyday words, which need no explaining; a heading's other words are explained by `explain`.
_WORDS = """
and anything arrival as at be before both came capacity check checked checks compression could
deep demand diameter dimension drawing drawn each elastic else ends expected exposed field first
for from given gravity green group hands have high how inner input inputs is it its kept kind
least load low lower made make material max mean means measure mechanical modulus most name no not
number on out outcome outer over part parts perpendicular pressure printing prove rating series
sharp shorter sizes source specific standard stated strength stress tap tapping temperature
tension that the they title to tube unit us value wall what where whole why with wood would
"""
EVERYDAY = frozenset(_WORDS.split())
UNITS = re.compile(r"\[[^]]*\]|\b(?:mm|cm|mpa|kpa|psi|ml|min|degc|in|n|nm|g|c|x|y|z|a|3d|e|30c)\b")


def _strange(heading):
    """Words of a heading that are neither explained nor everyday."""
    words = UNITS.sub(" ", re.sub(r"&\w+;", " ", heading.casefold()).replace("_", " "))
    words = re.findall(r"[a-z][a-z'-]*", words)
    strange, at = [], 0
    while at < len(words):
        for many in (3, 2, 1):
            if find_term(" ".join(words[at : at + many])) is not None:
                break
        else:
            plain = words[at].removesuffix("'s")
            forms = {plain, plain.removesuffix("s")}
            if not forms & EVERYDAY and not any(map(find_term, forms)):
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


@pytest.mark.parametrize("headings", [_sheet_headings, _terminal_headings, _listed_headings])
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
