import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barbwright.errors import InputError
from barbwright.order.words import cell, clean, note_fault, order_number

FORMULAS = "=+-@＝＋－＠"


@given(st.text(max_size=60))
def test_a_clean_text_is_one_line_without_unseen_characters(text):
    out = clean(text)
    assert not {unicodedata.category(c) for c in out} & {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
    assert "  " not in out
    assert out == out.strip()
    assert clean(out) == out


@given(st.sampled_from(FORMULAS), st.text(max_size=20), st.sampled_from(["", " ", "\t", "\ufeff"]))
def test_no_cell_can_be_taken_for_a_formula(first, rest, before):
    assert cell(before + first + rest)[0] == "'"


def test_plain_words_stay_as_they_are():
    assert cell('Grüße, 2 "Stück"; don\'t polish') == 'Grüße, 2 "Stück"; don\'t polish'


@pytest.mark.parametrize("text", ["A1", "2026-17_b", "x"])
def test_a_number_is_taken_as_given(text):
    assert order_number(text) == text


@pytest.mark.parametrize(
    "text", ["", "..", "../x", "a/b", "a\\b", "a b", "ü", "-a", "a-", ".a", "a\n", "x" * 41, "a\0"]
)
def test_a_number_that_no_file_should_have_is_refused(text):
    with pytest.raises(InputError):
        order_number(text)


def test_a_long_note_is_refused_and_never_cut():
    assert note_fault("note", "x" * 500) is None
    assert note_fault("note", "x" * 501) is not None
