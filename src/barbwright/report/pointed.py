"""Which size stands under a pointer in the 3D view, and which check hangs on it.

The sizes are those of the one table, where they stand is where the drawing's dimensions
stand, and the check is the one that moves when the size does: no list of its own.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from barbwright import say
from barbwright.design.compensate import graded
from barbwright.design.draw import views_of
from barbwright.design.part import dimensions, limits_of, sizes_of
from barbwright.design.shape import Point
from barbwright.design.sizes import Size, in_words
from barbwright.design.view import Across, Spot, View
from barbwright.rating.leaning import leanings
from barbwright.report.words import PartReport, times_wanted, verdict_word

_AXES = "xyz"
# A mesh's facets lie inside round faces; views of the same part are no further off its box.
_SAME_MM = 0.5
_SIDES = {"bore": -1, "outside": 1}


@dataclass(frozen=True, kw_only=True)
class Pointed:
    """One size as whoever points at it hears it.

    Attributes
    ----------
    name, title : str
        Key in part.json, and words.
    size : str
        Drawn size and its limits.
    check : str
        The check that hangs most on it; empty where none does.
    """

    name: str
    title: str
    size: str
    check: str


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where a size stands on the part, in the design's frame.

    Attributes
    ----------
    name : str
        The size's.
    form : {"round", "ball", "level"}
        Round about an axis or flat beside it, a ball about the origin, or square to an axis.
    axis : int
        That axis: 0, 1, 2 for x, y, z [-].
    at_mm : float
        Where along it [mm].
    radius_mm : float
        Radius or half width over flats; 0 of a level face [mm].
    middle_mm : Point
        Where the axis stands [mm].
    side : {-1, 0, 1}
        -1 on the inside of a bore, 1 on an outside, 0 either.
    """

    name: str
    form: Literal["round", "ball", "level"]
    axis: int = 2
    at_mm: float = 0.0
    radius_mm: float = 0.0
    middle_mm: Point = (0.0, 0.0, 0.0)
    side: int = 0


def pointed_sizes(report: PartReport) -> list[Pointed]:
    """Return every printed size of a part with its limits and its check.

    Parameters
    ----------
    report : PartReport
        The part; of a graded one the middle grade is told, as the drawing does.

    Returns
    -------
    list of Pointed
        In the order of the table.
    """
    design = graded(report.design)
    made = {outcome.info.id: outcome for outcome in report.outcomes}
    leans = leanings(design)
    told = []
    for name, (size, value) in sizes_of(design).items():
        if not size.printed:
            continue
        low, high = limits_of(design, size, float(value))
        check = ""
        if name in leans and (one := made.get(leans[name].check.id)) is not None:
            check = f"{one.info.title}: {verdict_word(one.verdict, proved=one.proved)}"
            if one.safety_factor is not None and one.design_factor is not None:
                check += f", {times_wanted(one.safety_factor, one.design_factor)}"
        mm = say.millimetres
        told.append(
            Pointed(
                name=name,
                title=in_words(name, size),
                size=f"{mm(float(value))} mm ({mm(low)} to {mm(high)})",
                check=check,
            )
        )
    return told


@dataclass(frozen=True, kw_only=True)
class _Frame:
    """A view's two axes in the design's frame, their ways, and where its origin stands [mm]."""

    axes: tuple[int, int]
    ways: tuple[float, float]
    origin: tuple[float, float, float]

    def at(self, spot: Spot) -> Point:
        """Return a view's point in the design's frame [mm]."""
        point = list(self.origin)
        for axis, way, value in zip(self.axes, self.ways, spot, strict=True):
            point[axis] += way * value
        return (point[0], point[1], point[2])


def places(report: PartReport, corners: NDArray[np.float64]) -> list[Place]:
    """Return where a part's sizes stand, as its drawing dimensions them.

    Parameters
    ----------
    report : PartReport
        The part.
    corners : (m, 3, 3) ndarray
        Triangles of its mesh in the design's frame, whose box says where a view's origin
        lies [mm].

    Returns
    -------
    list of Place
        Several of one size where it is seen more than once.
    """
    design = graded(report.design)
    sizes = {name: size for name, (size, _) in sizes_of(design).items() if size.printed}
    views = views_of(design)
    origin = _origin(views[0], corners.reshape(-1, 3))
    found = [place for view in views for place in _on(view, sizes, origin)]
    if design.kind.arms == 2 and len(design.barbs) == 1:
        # Only one of two arms that are alike has dimensions.
        found += [replace(place, at_mm=-place.at_mm) for place in found if _on_arm(place)]
    if design.hub is not None:
        # Lengths from the hub's centre begin at no face.
        found = [place for place in found if place.form != "level" or place.at_mm != 0.0]
    # Where several lengths end at one face the longest is its size, not its edge's chamfer.
    drawn = dimensions(design)
    return sorted(found, key=lambda one: -drawn[one.name] if one.form == "level" else 0.0)


def _split(plane: tuple[str, str]) -> tuple[tuple[int, int], tuple[float, float]]:
    """Return which axes of the part a view's two are, and whether they run its way."""
    first, second = plane
    return (
        (_AXES.index(first[-1]), _AXES.index(second[-1])),
        (-1.0 if first[0] == "-" else 1.0, -1.0 if second[0] == "-" else 1.0),
    )


def _origin(view: View, points: NDArray[np.float64]) -> Point:
    """Return where the main view's origin stands on the part: some begin at a face [mm]."""
    axes, ways = _split(view.plane)
    drawn = np.vstack([path[:, :2] for path in view.visible])
    origin = [0.0, 0.0, 0.0]
    for column, (axis, way) in enumerate(zip(axes, ways, strict=True)):
        seen = np.sort(way * np.array([drawn[:, column].min(), drawn[:, column].max()]))
        low, high = points[:, axis].min(), points[:, axis].max()
        # What is not seen whole across its axis is seen about it.
        if abs((seen[1] - seen[0]) - (high - low)) < _SAME_MM:
            origin[axis] = float(low - seen[0])
    return (origin[0], origin[1], origin[2])


def _on_arm(place: Place) -> bool:
    """Return whether a place stands on an arm that has a twin on the other side of x."""
    return place.axis == 0 and place.form != "ball" and place.at_mm != 0.0


def _on(view: View, sizes: Mapping[str, Size], origin: Point) -> Iterator[Place]:
    """Yield where a view's dimensions stand."""
    axes, ways = _split(view.plane)
    frame = _Frame(axes=axes, ways=ways, origin=origin)
    side = {name: _SIDES.get(size.feature, 0) for name, size in sizes.items()}
    for stack in view.stacks:
        along = 0 if stack.axis == "u" else 1
        axis = axes[along]
        for one in (one for tier in stack.tiers for one in tier if one.name in sizes):
            if isinstance(one, Across):
                spot = (one.at_mm, 0.0) if along == 0 else (0.0, one.at_mm)
                yield _round(one.name, axis, frame.at(spot), one.size_mm / 2.0, side[one.name])
            elif one.sign:
                # A hole across a section has both its ends beside the axis; others face the eye.
                about = axes[1] if along == 0 else 3 - sum(axes)
                half = abs(one.end[along] - one.start[along]) / 2.0
                middle = frame.at(
                    ((one.start[0] + one.end[0]) / 2.0, (one.start[1] + one.end[1]) / 2.0)
                )
                yield _round(one.name, about, middle, half, side[one.name])
            else:
                for end in (one.start, one.end):
                    yield Place(name=one.name, form="level", axis=axis, at_mm=frame.at(end)[axis])
    for ball in view.balls:
        if ball.name in sizes:
            yield Place(name=ball.name, form="ball", radius_mm=ball.size_mm / 2.0,
                        side=side[ball.name])  # fmt: skip
    for note in view.notes:
        if note.name in sizes and note.towards_deg is not None:
            beside = frame.at((note.at[0], 0.0))
            yield _round(note.name, axes[0], beside, abs(note.at[1]), 1)


def _round(name: str, axis: int, at: Point, radius_mm: float, side: int) -> Place:
    first, second, third = (0.0 if i == axis else at[i] for i in range(3))
    return Place(
        name=name,
        form="round",
        axis=axis,
        at_mm=at[axis],
        radius_mm=radius_mm,
        middle_mm=(first, second, third),
        side=side,
    )


_FORMS = ("round", "ball", "level")


def for_viewer(report: PartReport, corners: NDArray[np.float64]) -> dict[str, Any]:
    """Return sizes and places as the viewer reads them.

    Parameters
    ----------
    report : PartReport
        The part.
    corners : (m, 3, 3) ndarray
        Triangles of its mesh in the design's frame [mm].

    Returns
    -------
    dict
        ``sizes``: title, size and check of each; ``places``: size, form, axis, where along
        it, radius, middle (3) and side of each.
    """
    told = pointed_sizes(report)
    order = {one.name: index for index, one in enumerate(told)}
    return {
        "sizes": [[one.title, one.size, one.check] for one in told],
        "places": [
            [order[one.name], _FORMS.index(one.form), one.axis,
             *(round(value, 3) for value in (one.at_mm, one.radius_mm, *one.middle_mm)), one.side]
            for one in places(report, corners)
        ],
    }  # fmt: skip
