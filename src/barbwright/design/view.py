"""A kind's drawing as plain data: what is seen, and which sizes stand where.

A view is drawn in millimetres of the part; nothing here knows the paper, its
scale or the drawing library. Dimensions say what they measure and on which side
of the part they stand; how far out, and where their texts have room, is for the
sheet.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from barbwright.say import millimetres

Spot = tuple[float, float]
Line = tuple[float, float, float, float]
# (n, 3): u and v of each vertex [mm], and the bulge of the segment to the next one.
Path = NDArray[np.float64]
# What stands before a figure: round things, and prisms by the distance between two faces.
DIAMETER = "⌀"
# Without a space, at which a drawing library may break the line.
ACROSS_FLATS = "AF"


@dataclass(frozen=True, kw_only=True)
class Across:
    """A diameter across an axis, told at the end of its line.

    Attributes
    ----------
    name : str
        The dimension's name.
    at_mm, size_mm : float
        Where along the axis it is read, and the diameter [mm].
    beyond : int
        Lines it stands off the part: towards growing positions, or back where
        negative; 0 stays where it is read [-].
    room_mm : float
        Length of the feature it is read on: on a short one its text stands
        outside the lengths that begin and end there [mm].
    reference : bool
        Whether it follows from the others: then it stands in brackets.
    """

    name: str
    at_mm: float
    size_mm: float
    beyond: int = 0
    room_mm: float = inf
    reference: bool = False


@dataclass(frozen=True, kw_only=True)
class Along:
    """A length along an axis, between two drawn points.

    Attributes
    ----------
    name : str
        The dimension's name.
    start, end : (float, float)
        The points, where its extension lines begin [mm].
    level : bool
        Whether the text stands level beside an upright line.
    before : bool
        Whether a text that is too wide for its line stands at the low end.
    sign : str
        What stands before its figure: ``DIAMETER`` for something round that is seen from its
        side, ``ACROSS_FLATS`` for a hexagon.
    times : int
        How many such lengths there are, side by side or one behind the other [-].
    chamfer : bool
        Whether it is the leg of a chamfer of 45 degrees.
    reference : bool
        Whether it follows from the others: then it stands in brackets.
    """

    name: str
    start: Spot
    end: Spot
    level: bool = False
    before: bool = False
    sign: str = ""
    times: int = 1
    chamfer: bool = False
    reference: bool = False


Tier = tuple[Across, ...] | tuple[Along, ...]


@dataclass(frozen=True, kw_only=True)
class Stack:
    """Dimensions on one side of an axis, tier by tier outward.

    Attributes
    ----------
    name : str
        By which later stacks name it.
    axis : {"u", "v"}
        Whether the axis they stand along runs to the right or up.
    side : {1, -1}
        On which side of the axis.
    clear_mm : float
        How far from the axis the part reaches there [mm].
    tiers : tuple of tuples
        Each all diameters or all lengths; lengths of one tier share a line.
    after : tuple of str
        Stacks it stands outside of.
    lowest_mm : float
        Least position along the axis for its texts [mm].
    lowest_lines : float
        How many lines of text above that they stay, for what stands there [-].
    """

    name: str = ""
    axis: Literal["u", "v"] = "u"
    side: Literal[1, -1] = -1
    clear_mm: float
    tiers: tuple[Tier, ...]
    after: tuple[str, ...] = ()
    lowest_mm: float = -inf
    lowest_lines: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Ball:
    """A ball's diameter, drawn through its centre.

    Attributes
    ----------
    name : str
        The dimension's name.
    size_mm : float
        Diameter; its centre is the view's origin [mm].
    towards_deg : float
        Direction in which its text is looked for [degree].
    swing_deg : float
        How far to either side it is drawn, so that the dimension meets it [degree].
    """

    name: str
    size_mm: float
    towards_deg: float
    swing_deg: float = 30.0


@dataclass(frozen=True, kw_only=True)
class Angle:
    """An angle between two rays from a corner.

    Attributes
    ----------
    name : str
        The dimension's name.
    corner : (float, float)
        Where the rays meet [mm].
    along, aslant : (float, float)
        The rays; the arc reaches at least to the second one's end [mm].
    times : int
        How many slopes have it [-].
    """

    name: str
    corner: Spot
    along: Spot
    aslant: Spot
    times: int = 1


@dataclass(frozen=True, kw_only=True)
class Note:
    """Words beside the part.

    Attributes
    ----------
    words : str
        What they say.
    at : (float, float)
        What they point at; without a direction where they end, on the right, above
        the part [mm].
    name : str
        Name of the size they tell; empty for none.
    towards_deg : float, optional
        Direction in which they are looked for, at the end of a line that points
        back [degree].
    """

    words: str
    at: Spot
    name: str = ""
    towards_deg: float | None = None


@dataclass(frozen=True, kw_only=True)
class Sign:
    """The letter of another view: an arrow along which it looks, or a ring round what it enlarges.

    Attributes
    ----------
    letter : str
        That view's name.
    at : (float, float)
        The arrow's point, or the ring's middle [mm].
    towards_deg : float
        Where the arrow comes from, or where the ring's letter is looked for [degree].
    ring_mm : float
        The ring's radius; 0 for an arrow [mm].
    """

    letter: str
    at: Spot
    towards_deg: float
    ring_mm: float = 0.0


@dataclass(frozen=True, eq=False, kw_only=True)
class View:
    """One view of a part.

    Attributes
    ----------
    title : str
        What is seen, for the notes.
    letter : str
        Its name, as a sign on another view has it; empty for the main view.
    plane : (str, str)
        Axes of the part that run to the right and up; a minus stands before one that runs
        the other way.
    scale : float
        Paper over part of an enlarged detail; 0 for the sheet's own scale [-].
    below : bool
        Whether it stands straight below the view before, on the same axis.
    left_out : str
        What has no dimension of its own: radii, edges.
    sections : tuple of Path
        Cut faces, hatched.
    visible : tuple of Path
        What is seen, in thick lines.
    edges, hidden, axes : tuple of Line
        Thin, dashed and centre lines; axes reach from end to end of the part.
    curves, mark : tuple of Path
        Thin lines that follow from the rest, as where two round faces meet, and
        engraved strokes.
    breaks : tuple of Line
        Where a detail is broken off.
    stacks : tuple of Stack
        Sizes along and across the axes, in the order in which they are placed.
    angles, balls, notes, signs : tuples
        What stands free.
    """

    title: str
    letter: str = ""
    plane: tuple[str, str] = ("z", "x")
    scale: float = 0.0
    below: bool = False
    left_out: str = ""
    sections: tuple[Path, ...] = ()
    visible: tuple[Path, ...] = ()
    edges: tuple[Line, ...] = ()
    hidden: tuple[Line, ...] = ()
    axes: tuple[Line, ...] = ()
    curves: tuple[Path, ...] = ()
    mark: tuple[Path, ...] = ()
    breaks: tuple[Line, ...] = ()
    stacks: tuple[Stack, ...] = ()
    angles: tuple[Angle, ...] = ()
    balls: tuple[Ball, ...] = ()
    notes: tuple[Note, ...] = ()
    signs: tuple[Sign, ...] = ()


def two(number: float) -> str:
    """Return a number as order and pages say it, to a hundredth without idle zeros [-]."""
    return millimetres(number)
