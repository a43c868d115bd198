"""The mark's letters against the font file itself, and what fits."""

from itertools import pairwise

import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont

from barbwright.design.mark import (
    CAP_HEIGHT_EM,
    GLYPH_WIDTH_EM,
    STROKE_EM,
    fit_mark,
    font_size,
    rim_mark,
    text_width,
)
from barbwright.solid.font import font_path
from example_job import design_of

WORDS = ("15/64", "A", "T.170")


@pytest.fixture(scope="module")
def font():
    return TTFont(font_path())


@pytest.mark.parametrize("letter", sorted(GLYPH_WIDTH_EM))
def test_glyph_widths_are_the_font_files(font, letter):
    name = font.getBestCmap()[ord(letter)]
    advance = font["hmtx"][name][0] / font["head"].unitsPerEm
    assert GLYPH_WIDTH_EM[letter] == pytest.approx(advance, abs=0.001)


def bounds(font, letter):
    glyphs = font.getGlyphSet()
    pen = BoundsPen(glyphs)
    glyphs[font.getBestCmap()[ord(letter)]].draw(pen)
    return [value / font["head"].unitsPerEm for value in pen.bounds]


def test_capitals_are_as_tall_as_said(font):
    _, low, _, high = bounds(font, "H")
    assert low == 0.0
    assert high == pytest.approx(CAP_HEIGHT_EM, abs=0.001)


def test_a_stroke_is_as_wide_as_said(font):
    """A capital I is one stroke; thinner ones exist in round letters, by no more than a fifth."""
    left, _, right, _ = bounds(font, "I")
    assert right - left == pytest.approx(STROKE_EM, abs=0.001)


def test_the_font_is_large_enough_for_the_process_stroke():
    for stroke in (0.3, 0.5, 0.62):
        assert STROKE_EM * font_size(stroke) >= stroke - 1e-12
        assert STROKE_EM * (font_size(stroke) - 0.1) < stroke


def test_words_are_left_off_from_the_end():
    room = dict(min_text_line_mm=0.5, depth_mm=0.4, gap_mm=0.4)
    whole = fit_mark(WORDS, largest_mm=14.0, **room)
    assert [line.text for line in whole.lines] == list(WORDS)
    assert whole.left_off == ()
    assert whole.span_mm <= 14.0
    less = fit_mark(WORDS, largest_mm=whole.span_mm - 0.01, **room)
    assert [line.text for line in less.lines] == list(WORDS[:2])
    assert less.left_off == WORDS[2:]
    none = fit_mark(WORDS, largest_mm=5.0, **room)
    assert (none.lines, none.left_off) == ((), WORDS)


def test_every_letter_lies_inside_the_pad():
    mark = fit_mark(WORDS, min_text_line_mm=0.5, largest_mm=14.0, depth_mm=0.4, gap_mm=0.4)
    for line in mark.lines:
        across = text_width(line.text, mark.size_mm) / 2.0
        for edge in (-1, 1):
            up = line.at_mm + edge * CAP_HEIGHT_EM * mark.size_mm / 2.0
            assert (across**2 + up**2) ** 0.5 + 0.4 <= mark.span_mm / 2.0 + 1e-9
    heights = sorted(line.at_mm for line in mark.lines)
    gaps = [b - a - CAP_HEIGHT_EM * mark.size_mm for a, b in pairwise(heights)]
    assert all(gap >= 0.4 - 1e-9 for gap in gaps)


def test_a_rim_holds_one_line_or_none():
    room = dict(min_text_line_mm=0.5, depth_mm=0.4, gap_mm=0.4)
    mark = rim_mark(WORDS, ring_mm=11.6, height_mm=3.0, **room)
    assert mark.text == "15/64 A T.170"
    assert text_width(mark.text, mark.size_mm) <= 0.75 * 3.14160 * 11.6
    assert rim_mark(WORDS, ring_mm=11.6, height_mm=1.5, **room).lines == ()
    assert rim_mark(WORDS, ring_mm=6.0, height_mm=3.0, **room).left_off != ()


def test_a_tube_to_tube_barb_carries_no_mark():
    assert design_of("barb").mark.lines == ()
