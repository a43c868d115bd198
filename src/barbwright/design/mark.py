"""The engraved mark: which words fit, and where each line stands.

Glyph widths are those of the bold DejaVu Sans the drawing library ships; a test
holds them to the font file.
"""

from __future__ import annotations

from dataclasses import dataclass

# Advance widths of DejaVu Sans Bold [em].
_DIGIT = 0.696
GLYPH_WIDTH_EM: dict[str, float] = {
    **dict.fromkeys("0123456789", _DIGIT),
    **{"/": 0.365, ".": 0.380, "-": 0.415, "#": 0.838, " ": 0.348},
    **{"A": 0.774, "B": 0.762, "C": 0.734, "D": 0.830, "E": 0.683, "F": 0.683, "G": 0.821},
    **{"H": 0.837, "I": 0.372, "J": 0.372, "K": 0.775, "L": 0.637, "M": 0.995, "N": 0.837},
    **{"O": 0.850, "P": 0.733, "Q": 0.850, "R": 0.770, "S": 0.720, "T": 0.682, "U": 0.812},
    **{"V": 0.774, "W": 1.103, "X": 0.771, "Y": 0.724, "Z": 0.725},
}
CAP_HEIGHT_EM = 0.729
STROKE_EM = 0.188
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


@dataclass(frozen=True)
class Mark:
    """What is engraved, and what had to be left off.

    Attributes
    ----------
    lines : tuple of MarkLine
        Empty where nothing fits.
    size_mm : float
        Font size [mm].
    stroke_mm : float
        Width of the strokes [mm].
    depth_mm : float
        Depth under the surface [mm].
    span_mm : float
        Diameter of the circle that holds it all, margin included [mm].
    left_off : tuple of str
        Words that do not fit.
    """

    lines: tuple[MarkLine, ...]
    size_mm: float
    stroke_mm: float
    depth_mm: float
    span_mm: float
    left_off: tuple[str, ...]

    @classmethod
    def none(cls, words: tuple[str, ...], size_mm: float = 0.0, depth_mm: float = 0.0) -> Mark:
        """Return no mark, all words left off, at the font size that was tried [mm]."""
        return cls((), size_mm, STROKE_EM * size_mm, depth_mm, 0.0, words)

    @property
    def text(self) -> str:
        """Return the mark as one string."""
        return " ".join(line.text for line in self.lines)


def text_width(text: str, size_mm: float) -> float:
    """Return the width of a text in the mark's font [mm]."""
    return size_mm * sum(GLYPH_WIDTH_EM[letter] for letter in text)


def font_size(min_text_line_mm: float) -> float:
    """Return the font size whose strokes a process can still hold [mm]."""
    return -(-min_text_line_mm / STROKE_EM * 10.0 // 1) / 10.0


def _stack(words: tuple[str, ...], size_mm: float, gap_mm: float, margin_mm: float) -> Mark:
    pitch = CAP_HEIGHT_EM * size_mm + gap_mm
    top = pitch * (len(words) - 1) / 2.0
    lines = tuple(MarkLine(word, top - pitch * index) for index, word in enumerate(words))
    reach = 0.0
    for line in lines:
        tall = abs(line.at_mm) + CAP_HEIGHT_EM * size_mm / 2.0
        reach = max(reach, (text_width(line.text, size_mm) / 2.0) ** 2 + tall**2)
    return Mark(lines, size_mm, STROKE_EM * size_mm, 0.0, 2.0 * (reach**0.5 + margin_mm), ())


def fit_mark(
    words: tuple[str, ...],
    *,
    min_text_line_mm: float,
    largest_mm: float,
    depth_mm: float,
    gap_mm: float,
) -> Mark:
    """Return as much of a mark, in order, as a round pad can hold.

    Parameters
    ----------
    words : tuple of str
        In order of importance: bit, revision, tube.
    min_text_line_mm : float
        Least engraved stroke of the process [mm].
    largest_mm : float
        Largest pad [mm].
    depth_mm : float
        Depth of the engraving [mm].
    gap_mm : float
        Least gap between lines and to the pad's edge [mm].

    Returns
    -------
    Mark
        ``span_mm`` is the pad it needs; no lines when not even one word fits.

    Source: judgement
    """
    size = font_size(min_text_line_mm)
    for count in range(len(words), 0, -1):
        mark = _stack(words[:count], size, gap_mm, gap_mm)
        if mark.span_mm <= largest_mm:
            return Mark(mark.lines, size, mark.stroke_mm, depth_mm, mark.span_mm, words[count:])
    return Mark.none(words, size, depth_mm)


def rim_mark(
    words: tuple[str, ...],
    *,
    min_text_line_mm: float,
    ring_mm: float,
    height_mm: float,
    depth_mm: float,
    gap_mm: float,
) -> Mark:
    """Return as much of a mark as runs once round a rim, in one line.

    Parameters
    ----------
    words : tuple of str
        In order of importance: bit, revision, tube.
    min_text_line_mm : float
        Least engraved stroke of the process [mm].
    ring_mm, height_mm : float
        Diameter and height of the rim [mm].
    depth_mm : float
        Depth of the engraving [mm].
    gap_mm : float
        Least gap to the rim's edges [mm].

    Returns
    -------
    Mark
        One line, or none where the rim is too low.

    Source: judgement
    """
    size = font_size(min_text_line_mm)
    none = Mark.none(words, size, depth_mm)
    if CAP_HEIGHT_EM * size + gap_mm > height_mm:
        return none
    # Three quarters of the way round, so that the mark's start is plain to see.
    room = 0.75 * 3.141592653589793 * ring_mm
    for count in range(len(words), 0, -1):
        text = " ".join(words[:count])
        if text_width(text, size) <= room:
            line = MarkLine(text, 0.0)
            return Mark((line,), size, none.stroke_mm, depth_mm, 0.0, words[count:])
    return none
