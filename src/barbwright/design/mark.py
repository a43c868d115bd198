"""The engraved mark: which words fit, and where each line stands.

The letters themselves stand in `letters`.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, pi, sqrt

import numpy as np

from barbwright.design.conditions import Conditions
from barbwright.design.letters import Letters
from barbwright.equations import Number

# What stands between two strokes of the mark: a process that holds the stroke holds this.
LETTER_GAP_MM = 0.35
# Over the least stroke of the process, so that no rounding of a file takes it below.
_STROKE_OVER_MM = 0.02
NOT_PASSED = "X"


@dataclass(frozen=True)
class MarkLine:
    """One line of the mark, its middle at a height over the mark's centre.

    Attributes
    ----------
    text : str
        Characters.
    at_mm : float
        Height of the line's middle [mm].
    """

    text: str
    at_mm: float


@dataclass(frozen=True, kw_only=True)
class Mark:
    """What is engraved, and what had to be left off.

    Attributes
    ----------
    lines : tuple of MarkLine
        Empty where nothing fits.
    letters : Letters
        Their size.
    depth_mm : float
        Depth under the surface [mm].
    span_mm : float
        Diameter of the circle, or width over the flats of the hexagon, that holds it
        all, margin included [mm].
    left_off : tuple of str
        Words that do not fit.
    """

    lines: tuple[MarkLine, ...]
    letters: Letters
    depth_mm: float
    span_mm: float
    left_off: tuple[str, ...]

    @classmethod
    def none(
        cls, words: tuple[str, ...], letters: Letters | None = None, depth_mm: float = 0.0
    ) -> Mark:
        """Return no mark, all words left off, at the size that was tried."""
        return cls(
            lines=(),
            letters=letters or Letters(0.0, LETTER_GAP_MM),
            depth_mm=depth_mm,
            span_mm=0.0,
            left_off=words,
        )

    @property
    def text(self) -> str:
        """Return the mark as one string."""
        return " ".join(line.text for line in self.lines)

    @property
    def stroke_mm(self) -> float:
        """Width of the strokes [mm]."""
        return self.letters.stroke_mm


def letters_for(min_text_line_mm: float) -> Letters:
    """Return the letters whose strokes a process can still hold."""
    return Letters(min_text_line_mm + _STROKE_OVER_MM, LETTER_GAP_MM)


def _engraved(conditions: Conditions) -> tuple[Letters, float, float]:
    """Return the letters, how deep they are cut, and the least gap between lines [mm]."""
    stroke, rules = np.max(np.asarray(conditions.material.min_text_line_mm)), conditions.rules
    return letters_for(float(stroke)), rules["mark_depth_mm"], rules["mark_gap_mm"]


def _in_rows(words: tuple[str, ...], letters: Letters) -> tuple[str, ...]:
    """Return words from top to bottom; of three, the longest stands where the pad is widest."""
    if len(words) < 3:
        return words
    longest = max(words, key=letters.width)
    others = [word for word in words if word is not longest]
    return others[0], longest, *others[1:]


def _reach(across_mm: float, up_mm: float, *, six_sided: bool) -> float:
    """Return how wide a pad must be to hold a corner of a line's rectangle [mm]."""
    if not six_sided:
        return 2.0 * hypot(across_mm, up_mm)
    # Lines run from corner to corner, so a flat stands above and two lean in at 60 degrees.
    return 2.0 * max(up_mm, up_mm / 2.0 + across_mm * sqrt(3.0) / 2.0)


def fit_mark(
    words: tuple[str, ...],
    conditions: Conditions,
    *,
    largest_mm: float,
    edge_mm: float | None = None,
    six_sided: bool = False,
) -> Mark:
    """Return as much of a mark, in order, as a pad can hold.

    Parameters
    ----------
    words : tuple of str
        In order of importance: bit, kind and revision, tube.
    conditions : Conditions
        For the least stroke of the process, depth and gap between lines [mm].
    largest_mm : float
        Largest pad, round or over its flats [mm].
    edge_mm : float, optional
        Least gap to the pad's edge; as between lines when not given [mm].
    six_sided : bool
        A hexagon, whose lines run from corner to corner; a round one when not.

    Returns
    -------
    Mark
        ``span_mm`` is the pad it needs; no lines when not even one word fits.

    Source: judgement
    """
    if not words:
        return Mark.none(words)
    letters, depth_mm, gap_mm = _engraved(conditions)
    edge = gap_mm if edge_mm is None else edge_mm
    pitch = letters.cap_mm + gap_mm
    for count in range(len(words), 0, -1):
        rows = _in_rows(words[:count], letters)
        top = pitch * (count - 1) / 2.0
        lines = tuple(MarkLine(word, top - pitch * index) for index, word in enumerate(rows))
        span = 2.0 * edge + max(
            _reach(
                letters.width(line.text) / 2.0,
                abs(line.at_mm) + letters.cap_mm / 2.0,
                six_sided=six_sided,
            )
            for line in lines
        )
        if span <= largest_mm:
            return Mark(
                lines=lines,
                letters=letters,
                depth_mm=depth_mm,
                span_mm=span,
                left_off=words[count:],
            )
    return Mark.none(words, letters, depth_mm)


def rim_mark(
    words: tuple[str, ...],
    conditions: Conditions,
    *,
    ring_mm: Number,
    height_mm: Number,
) -> Mark:
    """Return as much of a mark as runs once round a rim, in one line.

    Parameters
    ----------
    words : tuple of str
        In order of importance: bit, kind and revision, tube.
    conditions : Conditions
        For the least stroke of the process, depth and gap to the rim's edges [mm].
    ring_mm, height_mm : float or array
        Diameter and height of the rim [mm].

    Returns
    -------
    Mark
        One line, or none where the rim is too low, and of many parts at a time.

    Source: judgement
    """
    if not words or np.ndim(ring_mm) > 0:
        return Mark.none(words)
    letters, depth_mm, gap_mm = _engraved(conditions)
    none = Mark.none(words, letters, depth_mm)
    if letters.cap_mm + gap_mm > height_mm:
        return none
    # Three quarters of the way round, so that the mark's start is plain to see.
    room = 0.75 * pi * float(ring_mm)
    for count in range(len(words), 0, -1):
        text = " ".join(words[:count])
        if letters.width(text) <= room:
            return Mark(
                lines=(MarkLine(text, 0.0),),
                letters=letters,
                depth_mm=depth_mm,
                span_mm=0.0,
                left_off=words[count:],
            )
    return none
