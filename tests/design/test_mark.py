"""What of the mark fits, where its lines stand, and that each kind's is its own."""

from dataclasses import replace
from itertools import pairwise
from math import hypot

import numpy as np
import pytest

from barbwright.design.letters import GLYPHS, Letters
from barbwright.design.mark import LETTER_GAP_MM, fit_mark, letters_for, rim_mark
from barbwright.design.part import KINDS
from barbwright.jobs.naming import mark_words
from example_job import design_of, job_of

WORDS = ("15/64", "E-A", "T.170")
ROOM = replace(
    design_of("tee").conditions,
    material=replace(design_of("tee").conditions.material, min_text_line_mm=0.5),
    rules={"mark_depth_mm": 0.4, "mark_gap_mm": 0.4},
)


@pytest.mark.parametrize("stroke", [0.3, 0.5, 0.62, 1.0])
def test_the_stroke_is_a_little_over_what_the_process_needs(stroke):
    assert stroke < letters_for(stroke).stroke_mm < 1.1 * stroke


def test_a_text_is_as_wide_as_its_strokes_reach():
    letters = Letters(0.52, 0.35)
    for text in ("15/64", "E-A", "T.170", "#7", *GLYPHS):
        if text == " ":
            continue
        corners = np.array(
            [p for drawn in letters.strokes(text) for stroke in drawn for p in stroke]
        )
        assert np.ptp(corners[:, 0]) == pytest.approx(letters.width(text))
        assert corners[:, 0].min() == pytest.approx(-letters.width(text) / 2.0)


def test_strokes_are_straight_and_of_one_width():
    letters = Letters(0.52, 0.35)
    for letter in GLYPHS:
        if letter == " ":
            continue
        for stroke in letters.strokes(letter)[0]:
            a, b, c, d = map(np.array, stroke)
            assert hypot(*(d - a)) == pytest.approx(0.52)
            assert hypot(*(c - b)) == pytest.approx(0.52)
            assert (b - a) @ (d - a) == pytest.approx(0.0, abs=1e-12)


def test_words_are_left_off_from_the_end():
    whole = fit_mark(WORDS, ROOM, largest_mm=14.0)
    # The longest of three stands in the middle, where a pad is widest.
    assert [line.text for line in whole.lines] == ["E-A", "15/64", "T.170"]
    assert whole.left_off == ()
    assert whole.span_mm <= 14.0
    less = fit_mark(WORDS, ROOM, largest_mm=whole.span_mm - 0.01)
    assert [line.text for line in less.lines] == list(WORDS[:2])
    assert less.left_off == WORDS[2:]
    none = fit_mark(WORDS, ROOM, largest_mm=5.0)
    assert (none.lines, none.left_off) == ((), WORDS)


def corners_of(mark):
    for line in mark.lines:
        half = mark.letters.width(line.text) / 2.0
        for edge in (-1, 1):
            for side in (-1, 1):
                yield side * half, line.at_mm + edge * mark.letters.cap_mm / 2.0


def test_every_letter_lies_inside_a_round_pad():
    mark = fit_mark(WORDS, ROOM, largest_mm=14.0)
    reach = max(hypot(*corner) for corner in corners_of(mark))
    assert reach + 0.4 == pytest.approx(mark.span_mm / 2.0)
    heights = sorted(line.at_mm for line in mark.lines)
    gaps = [b - a - mark.letters.cap_mm for a, b in pairwise(heights)]
    assert gaps == pytest.approx([0.4, 0.4])


def test_every_letter_lies_inside_a_hexagon_whose_corners_stand_at_the_lines_ends():
    mark = fit_mark(WORDS, ROOM, largest_mm=14.0, edge_mm=0.7, six_sided=True)
    assert mark.left_off == ()
    flats = [np.radians(90.0 + 60.0 * flat) for flat in range(6)]
    reach = max(x * np.cos(flat) + y * np.sin(flat) for x, y in corners_of(mark) for flat in flats)
    assert reach + 0.7 == pytest.approx(mark.span_mm / 2.0)
    # Three lines take less room there than on a round pad with the same edge.
    assert mark.span_mm < fit_mark(WORDS, ROOM, largest_mm=20.0, edge_mm=0.7).span_mm


def test_a_rim_holds_one_line_or_none():
    mark = rim_mark(WORDS, ROOM, ring_mm=11.6, height_mm=3.0)
    assert mark.text == "15/64 E-A T.170"
    assert mark.letters.width(mark.text) <= 0.75 * 3.14160 * 11.6
    assert rim_mark(WORDS, ROOM, ring_mm=11.6, height_mm=1.5).lines == ()
    assert rim_mark(WORDS, ROOM, ring_mm=6.0, height_mm=3.0).left_off != ()


def test_each_kinds_mark_is_its_own():
    letters = [kind.letter for kind in KINDS.values()]
    assert len(set(letters)) == len(letters)
    assert set(letters) <= set(GLYPHS)
    marks = {mark_words(kind, job_of(kind.name), "a") for kind in KINDS.values()}
    assert len(marks) == len(KINDS)


def test_what_stands_between_strokes_is_at_least_0_3_mm():
    assert LETTER_GAP_MM >= 0.3


def test_a_tube_to_tube_barb_carries_no_mark():
    assert design_of("barb").mark.lines == ()
