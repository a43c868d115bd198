"""Each word of the output is explained, and leads on to words and checks that are there."""

import pytest

from barbwright.checks import table  # noqa: F401  declares the checks
from barbwright.checks.result import CHECKS, VERDICTS
from barbwright.jobs.glossary import TERMS, find_term


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
     ("hand tight", "hand-tight"), ("proof-test", "proof test"), ("Ticks", "tick")],
)  # fmt: skip
def test_a_word_is_found_however_it_is_written(text, word):
    assert find_term(text).word == word


def test_what_is_no_word_of_ours_is_none():
    assert find_term("sprocket") is None
