"""The sizes a fit or a seal hangs on, each with the limits it may be delivered in."""

from __future__ import annotations

from dataclasses import dataclass

from barbwright.design.compensate import graded
from barbwright.design.part import Design, limits_of, sizes_of
from barbwright.design.sizes import Size, in_words

_ORDER = ("bore", "outside", "length")


@dataclass(frozen=True, kw_only=True)
class Limited:
    """A drawn size and its limits.

    Attributes
    ----------
    number : int
        As drawing, order, inspection and first-article form number it, from 1 [-].
    name : str
        Key of the dimension in part.json.
    size : Size
        Its row of the table of sizes.
    drawn_mm, least_mm, most_mm : float
        Drawn, and what may be delivered [mm].
    """

    number: int
    name: str
    size: Size
    drawn_mm: float
    least_mm: float
    most_mm: float

    @property
    def title(self) -> str:
        """What it is, as a table begins a line."""
        title = in_words(self.name, self.size)
        return title[:1].upper() + title[1:]

    @property
    def is_diameter(self) -> bool:
        """Whether it is measured across a round feature."""
        return self.name.endswith("diameter_mm")


def critical_limits(design: Design) -> tuple[Limited, ...]:
    """Return the critical sizes of a part: drawn, less and plus what the process holds.

    Which those are stands in the table of sizes, and with each kind's own.

    Parameters
    ----------
    design : Design
        A single part [mm].

    Returns
    -------
    tuple of Limited
        Bores first, then outside sizes, then lengths.

    Source: design_record
    """
    design = graded(design)
    rows = [
        (name, size, value) for name, (size, value) in sizes_of(design).items() if size.critical
    ]
    rows.sort(key=lambda row: _ORDER.index(row[1].feature))
    found = []
    for number, (name, size, value) in enumerate(rows, 1):
        # A difference of sizes lies between the steps that they are drawn in: by the hundredth, so
        # that drawing, order and form say the same.
        drawn = round(float(value), 2 if size.spread else 9)
        least, most = limits_of(design, size, drawn)
        found.append(
            Limited(
                number=number,
                name=name,
                size=size,
                drawn_mm=drawn,
                least_mm=least,
                most_mm=most,
            )
        )
    return tuple(found)
