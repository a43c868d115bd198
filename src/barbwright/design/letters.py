"""Letters of the engraved mark: straight strokes on a grid, each as wide as the process needs.

A typeface thins where it curves and closes where it turns, below what a process holds. These are
drawn for the cutter: one width everywhere, an open 4, a square A, and at least one gap between
any two strokes that run beside each other.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import hypot, sqrt

Spot = tuple[float, float]
Glyph = tuple[tuple[Spot, ...], ...]
Corners = tuple[Spot, ...]

# Grid of a capital: six units from the foot's middle line to the head's.
TALL = 6
# Between two strokes side by side there are three units: one stroke and one gap.
_PITCH = 3

_BOX: tuple[Spot, ...] = ((0, 0), (0, 6), (4, 6), (4, 0), (0, 0))
_ROUND: tuple[Spot, ...] = (
    (1, 0), (0, 1), (0, 5), (1, 6), (3, 6), (4, 5), (4, 1), (3, 0), (1, 0),
)  # fmt: skip

# Each letter's polylines; its foot at 0, its left stroke's middle line at 0.
GLYPHS: dict[str, Glyph] = {
    "0": (_BOX,),
    "1": (((0, 5), (1, 6), (1, 0)),),
    "2": (((0, 6), (4, 6), (4, 3), (0, 3), (0, 0), (4, 0)),),
    "3": (((0, 6), (4, 6), (4, 0), (0, 0)), ((1, 3), (4, 3))),
    "4": (((0, 6), (0, 2), (4, 2)), ((3, 6), (3, 0))),
    "5": (((4, 6), (0, 6), (0, 3), (4, 3), (4, 0), (0, 0)),),
    "6": (((4, 6), (0, 6), (0, 0), (4, 0), (4, 3), (0, 3)),),
    "7": (((0, 6), (4, 6), (1, 0)),),
    "8": (_BOX, ((0, 3), (4, 3))),
    "9": (((4, 3), (0, 3), (0, 6), (4, 6), (4, 0), (0, 0)),),
    "/": (((0, 0), (2, 6)),),
    "-": (((0, 3), (2, 3)),),
    ".": (((0, 0),),),
    "#": (((1, 0), (1, 6)), ((4, 0), (4, 6)), ((0, 1.5), (5, 1.5)), ((0, 4.5), (5, 4.5))),
    " ": (),
    "A": (((0, 0), (0, 6), (4, 6), (4, 0)), ((0, 2), (4, 2))),
    "B": (
        ((0, 0), (0, 6), (3, 6), (4, 5), (4, 4), (3, 3), (4, 2), (4, 1), (3, 0), (0, 0)),
        ((0, 3), (3, 3)),
    ),
    "C": (((4, 6), (0, 6), (0, 0), (4, 0)),),
    "D": (((0, 0), (0, 6), (3, 6), (4, 5), (4, 1), (3, 0), (0, 0)),),
    "E": (((4, 6), (0, 6), (0, 0), (4, 0)), ((0, 3), (3, 3))),
    "F": (((4, 6), (0, 6), (0, 0)), ((0, 3), (3, 3))),
    "G": (((4, 6), (0, 6), (0, 0), (4, 0), (4, 3), (3, 3)),),
    "H": (((0, 0), (0, 6)), ((4, 0), (4, 6)), ((0, 3), (4, 3))),
    "I": (((0, 0), (0, 6)),),
    "J": (((4, 6), (4, 0), (0, 0), (0, 2)),),
    "K": (((0, 0), (0, 6)), ((4, 6), (0, 3), (4, 0))),
    "L": (((0, 6), (0, 0), (4, 0)),),
    "M": (((0, 0), (0, 6), (6, 6), (6, 0)), ((3, 6), (3, 0))),
    "N": (((0, 0), (0, 6), (4, 0), (4, 6)),),
    "O": (_ROUND,),
    "P": (((0, 0), (0, 6), (4, 6), (4, 3), (0, 3)),),
    "Q": (_ROUND, ((3, 0), (5, -1))),
    "R": (((0, 0), (0, 6), (4, 6), (4, 3), (0, 3)), ((1, 3), (4, 0))),
    "S": (
        (
            (4, 5),
            (3, 6),
            (1, 6),
            (0, 5),
            (0, 4),
            (1, 3),
            (3, 3),
            (4, 2),
            (4, 1),
            (3, 0),
            (1, 0),
            (0, 1),
        ),
    ),
    "T": (((0, 6), (4, 6)), ((2, 6), (2, 0))),
    "U": (((0, 6), (0, 0), (4, 0), (4, 6)),),
    "V": (((0, 6), (2, 0), (4, 6)),),
    "W": (((0, 6), (0, 0), (6, 0), (6, 6)), ((3, 0), (3, 6))),
    "X": (((0, 0), (4, 6)), ((0, 6), (4, 0))),
    "Y": (((0, 6), (2, 3), (4, 6)), ((2, 3), (2, 0))),
    "Z": (((0, 6), (4, 6), (0, 0), (4, 0)),),
}


@dataclass(frozen=True)
class Letters:
    """One size of the letters.

    Attributes
    ----------
    stroke_mm : float
        Width of every stroke [mm].
    gap_mm : float
        Least width of what stands between two strokes, and between two letters [mm].
    """

    stroke_mm: float
    gap_mm: float

    @property
    def unit_mm(self) -> float:
        """One unit of the grid [mm]."""
        return (self.stroke_mm + self.gap_mm) / _PITCH

    @property
    def cap_mm(self) -> float:
        """Height of a capital, its strokes' full width included [mm]."""
        return TALL * self.unit_mm + self.stroke_mm

    def width(self, text: str) -> float:
        """Return how long a text is, from its first stroke's edge to its last one's [mm]."""
        return sum(self.advance(letter) for letter in text) - self.gap_mm

    def advance(self, letter: str) -> float:
        """Return from one letter's left edge to the next one's [mm]."""
        left, right = self._edges(letter)
        return right - left + self.gap_mm

    def strokes(self, text: str) -> list[list[Corners]]:
        """Return each letter's strokes as rectangles, the text's middle at the origin [mm].

        A stroke is lengthened by half its width at a free end, and as far as its outer
        corner at a bend, so that no corner is thinner.

        Parameters
        ----------
        text : str
            Characters of `GLYPHS`.

        Returns
        -------
        list of list of tuple
            Four corners a stroke, counter-clockwise; blanks are left out.

        Source: own_derivation
        """
        at, foot = -self.width(text) / 2.0, -TALL * self.unit_mm / 2.0
        out = []
        for letter in text:
            shift = at - self._edges(letter)[0]
            drawn = [
                tuple((x + shift, y + foot) for x, y in corners) for corners in self._drawn(letter)
            ]
            if drawn:
                out.append(drawn)
            at += self.advance(letter)
        return out

    def _edges(self, letter: str) -> tuple[float, float]:
        """Return where a letter's strokes begin and end [mm]."""
        corners = [x for stroke in self._drawn(letter) for x, _ in stroke]
        return (min(corners), max(corners)) if corners else (0.0, self.unit_mm)

    def _drawn(self, letter: str) -> list[Corners]:
        """Return a letter's rectangles, its foot's and left stroke's middle lines at 0 [mm]."""
        half = self.stroke_mm / 2.0
        out: list[Corners] = []
        for line in GLYPHS[letter]:
            spots = [(x * self.unit_mm, y * self.unit_mm) for x, y in line]
            # A dot is a stroke of no length.
            runs = list(pairwise(spots)) or [(spots[0], spots[0])]
            ways = [_way(*run) for run in runs]
            closed = len(runs) > 1 and spots[0] == spots[-1]
            for index, ((a, b), way) in enumerate(zip(runs, ways, strict=True)):
                before = ways[index - 1] if index or closed else None
                after = ways[(index + 1) % len(ways)] if index + 1 < len(ways) or closed else None
                out.append(_rectangle(a, b, way, half, _past(before, way), _past(way, after)))
        return out


def _way(a: Spot, b: Spot) -> Spot:
    """Return the direction from one spot to another; a dot's is to the right."""
    long = hypot(b[0] - a[0], b[1] - a[1])
    return ((b[0] - a[0]) / long, (b[1] - a[1]) / long) if long else (1.0, 0.0)


def _past(one: Spot | None, other: Spot | None) -> float:
    """Return how far a stroke goes past its end, over half its width [-].

    Tangent of half the turn, where both outer edges meet; never more than a square end.
    """
    if one is None or other is None:
        return 1.0
    cosine = one[0] * other[0] + one[1] * other[1]
    return sqrt((1.0 - cosine) / (1.0 + cosine)) if cosine > 0.0 else 1.0


def _rectangle(a: Spot, b: Spot, way: Spot, half: float, before: float, after: float) -> Corners:
    dx, dy = way[0] * half, way[1] * half
    ax, ay = a[0] - before * dx, a[1] - before * dy
    bx, by = b[0] + after * dx, b[1] + after * dy
    return (ax + dy, ay - dx), (bx + dy, by - dx), (bx - dy, by + dx), (ax - dy, ay + dx)
