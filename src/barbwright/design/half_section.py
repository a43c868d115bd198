"""A turned part as it is drawn, cut open above its axis; and how barbs and tips are sized there."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from itertools import chain
from math import degrees, inf, sin, sqrt

import numpy as np

from barbwright.design.barb import Barb
from barbwright.design.draw import side_port_from_lead_mm, tick_positions
from barbwright.design.kind import Design
from barbwright.design.letters import Letters
from barbwright.design.outline import COLLAR_MM, back_faces, barb_run, outline
from barbwright.design.paths import (
    DOWN,
    LEFT,
    RIGHT,
    UP,
    backwards,
    closed,
    joined,
    placed,
    sharp,
    without_flat,
)
from barbwright.design.shape import Shape
from barbwright.design.sizes import SECOND
from barbwright.design.tip import Tip
from barbwright.design.view import (
    DIAMETER,
    Across,
    Along,
    Angle,
    Line,
    Note,
    Path,
    Sign,
    Spot,
    Stack,
    View,
    two,
)

# How long a detail may stand on the paper [mm].
_DETAIL_MM = 46.0


def body_of(shape: Shape, name: str) -> Path:
    """Return the half profile of a shape's body or cut by its name [mm]."""
    for body in (*shape.adds, *shape.cuts):
        if body.name == name:
            return body.outline
    message = f"no body {name!r} in the shape"
    raise KeyError(message)


# --- the picture ----------------------------------------------------------------------------


@dataclass(kw_only=True)
class Seen:
    """What is seen of a part, while it is put together."""

    sections: list[Path] = field(default_factory=list)
    visible: list[Path] = field(default_factory=list)
    edges: list[Line] = field(default_factory=list)
    hidden: list[Line] = field(default_factory=list)
    axes: list[Line] = field(default_factory=list)

    def cut(self, *sections: Path) -> None:
        """Add cut faces, with their outlines."""
        self.sections += sections
        self.visible += [closed(section) for section in sections]

    def on(self, view: View) -> View:
        """Return a view that shows it."""
        return replace(
            view,
            sections=tuple(self.sections),
            visible=tuple(self.visible),
            edges=tuple(self.edges),
            hidden=tuple(self.hidden),
            axes=tuple(self.axes),
        )


def half_section(
    shape: Shape,
    along: Spot = RIGHT,
    split: Callable[[Path, Path], list[Path]] | None = None,
    start_mm: float = 0.0,
) -> Seen:
    """Return a part of one axis, cut open above it and seen from outside below.

    Parameters
    ----------
    shape : Shape
        With a ``body`` and a ``bore`` [mm].
    along : (float, float)
        Where the body's positions grow: to the right, or to the left [-].
    split : callable
        From the outer and the inner path of the section to the faces that are
        cut, where something is cut through the wall [mm].
    start_mm : float
        Position of the body that stands at the view's origin [mm].

    Returns
    -------
    Seen
        Still without what stands on the surface.
    """
    shift = np.array([start_mm, 0.0, 0.0])
    body, bore = (without_flat(body_of(shape, name) - shift) for name in ("body", "bore"))
    low, high = float(body[:, 0].min()), float(body[:, 0].max())
    # A closed end keeps its points on the axis; an open one has none.
    blind = (bore[:, 0] > low + 1e-6) & (bore[:, 0] < high - 1e-6)
    shut = ((body[:, 0] < low + 1e-6) & (bore[:, 0].min() > low + 1e-6)) | (
        (body[:, 0] > high - 1e-6) & (bore[:, 0].max() < high - 1e-6)
    )
    body = body[(body[:, 1] > 1e-9) | shut]
    bore = bore[(bore[:, 1] > 1e-9) | blind].copy()
    bore[:, 0] = np.clip(bore[:, 0], low, high)
    upper, inner, lower = (
        placed(body, along, UP),
        placed(bore, along, UP),
        placed(body, along, DOWN),
    )
    seen = Seen()
    seen.cut(*(split(upper, inner) if split else [joined(upper, backwards(inner))]))
    seen.visible.append(joined([(lower[0, 0], 0.0, 0.0)], lower, [(lower[-1, 0], 0.0, 0.0)]))
    seen.edges += [(at * along[0], 0.0, at * along[0], -r) for at, r in sharp(body)]
    seen.edges += [(u, 0.0, u, v) for u, v, _ in inner]
    seen.axes.append((float(upper[:, 0].min()), 0.0, float(upper[:, 0].max()), 0.0))
    return seen


def taper_radius(tip: Tip[float], from_root_mm: float) -> float:
    """Return the taper's radius at a distance from its root [mm]."""
    return (tip.root_mm - tip.taper * from_root_mm) / 2.0


def tick_reach(tip: Tip[float], below_mm: float) -> float:
    """Return how far a tick is seen to reach from the axis [mm]."""
    return taper_radius(tip, below_mm + tip.tick_mm / 2.0) * sin(tip.tick_arc_mm / tip.root_mm)


def tick_edges(part: Design[float], tip: Tip[float], seat_root_mm: float) -> list[Line]:
    """Return the ticks below the axis, as they face whoever looks [mm]."""
    edges: list[Line] = []
    for below in tick_positions(part):
        depth = tick_reach(tip, below)
        low, high = seat_root_mm + below, seat_root_mm + below + tip.tick_mm
        edges += [(low, 0.0, low, -depth), (low, -depth, high, -depth), (high, -depth, high, 0.0)]
    return edges


def port_edges(tip: Tip[float], seat_root_mm: float) -> tuple[float, float]:
    """Return where a side port begins and ends along the tip [mm]."""
    middle = seat_root_mm + tip.seat_mm - side_port_from_lead_mm(tip)
    return middle - tip.bore_mm / 2.0, middle + tip.bore_mm / 2.0


def port_hidden(tip: Tip[float], seat_root_mm: float) -> list[Line]:
    """Return the dashed edges of the port that is behind the part [mm]."""
    return [
        (at, -tip.bore_mm / 2.0, at, -taper_radius(tip, at - seat_root_mm))
        for at in port_edges(tip, seat_root_mm)
    ]


def cut_by_port(tip: Tip[float], seat_root_mm: float, section: Path) -> list[Path]:
    """Split a turned section where its cut runs through a side port near the lead end [mm]."""
    bore = tip.bore_mm / 2.0
    near, far = port_edges(tip, seat_root_mm)
    near_r, far_r = (taper_radius(tip, at - seat_root_mm) for at in (near, far))
    lead = section[section[:, 0] > far + 1e-9]
    outer, inner = lead[lead[:, 1] > bore + 1e-9], lead[lead[:, 1] <= bore + 1e-9]
    rest = section[section[:, 0] < near - 1e-9]
    # The body runs from the lead end (right) to the barb and back along the bore.
    return [
        joined([(far, bore, 0.0)], inner[:1], outer, [(far, far_r, 0.0)]),
        joined([(near, near_r, 0.0)], rest, [(near, bore, 0.0)]),
    ]


# --- the sizes ------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class BarbPlaces:
    """Where a barb's sizes are read, as distances from its shoulder towards its nose [mm].

    Attributes
    ----------
    root_mm, crest_mm : float
        Where these diameters are read.
    end_mm : float
        The nose's end.
    """

    root_mm: float
    crest_mm: float
    end_mm: float


def barb_places(barb: Barb[float]) -> BarbPlaces:
    """Return where a barb's sizes are read [mm]."""
    foot = barb.insertion_mm - back_faces(barb)[-1]
    return BarbPlaces(
        root_mm=foot / 2.0,
        # Clear of the root, where that has its own dimension.
        crest_mm=foot + (barb.pitch_mm if barb.barb_count > 1 else 0.0) + barb.land_mm / 2.0,
        end_mm=barb.insertion_mm,
    )


@dataclass(frozen=True, kw_only=True)
class BarbSizes:
    """A barb's dimensions, for the stacks of its arm.

    Attributes
    ----------
    across : tuple of Across
        Root, crest and nose, and the collar where the stop has one.
    insertion : Along
        Its length.
    collar : tuple of Along
        How thick that collar is.
    """

    across: tuple[Across, ...]
    insertion: Along
    collar: tuple[Along, ...]


def barb_sizes(
    barb: Barb[float],
    shoulder_mm: float,
    way: int,
    *,
    neck_mm: float = inf,
    upright: bool = False,
    prefix: str = "",
) -> BarbSizes:
    """Return a barb's dimensions on an axis through the origin.

    Parameters
    ----------
    barb : Barb
        Sizes [mm].
    shoulder_mm : float
        Where its shoulder stands on the axis [mm].
    way : int
        Whether the nose points to growing positions (1) or back (-1) [-].
    neck_mm : float
        Diameter before the shoulder: a slimmer one has a collar [mm].
    upright : bool
        Whether the axis runs up, so that texts stand level beside its lines.
    prefix : str
        Of the dimensions' names: ``second_`` for the other end.

    Returns
    -------
    BarbSizes
        With all points on the positive side of the axis.

    Source: own_derivation
    """
    places, nose, wide = barb_places(barb), barb.nose_mm / 2.0, barb.shoulder_mm / 2.0
    end, back = shoulder_mm + way * places.end_mm, shoulder_mm - way * COLLAR_MM
    collar = barb.shoulder_mm > neck_mm

    def spot(along: float, across: float) -> Spot:
        return (across, along) if upright else (along, across)

    across = [
        Across(name=f"{prefix}root_diameter_mm", at_mm=shoulder_mm + way * places.root_mm,
               size_mm=barb.root_mm),
        Across(name=f"{prefix}crest_diameter_mm", at_mm=shoulder_mm + way * places.crest_mm,
               size_mm=barb.crest_mm),
        Across(name=f"{prefix}nose_diameter_mm", at_mm=end, size_mm=barb.nose_mm, beyond=way),
    ]  # fmt: skip
    if collar:
        across.insert(
            0,
            Across(
                name=f"{prefix}shoulder_diameter_mm",
                at_mm=(shoulder_mm + back) / 2.0,
                size_mm=barb.shoulder_mm,
            ),
        )
    return BarbSizes(
        across=tuple(across),
        insertion=Along(name=f"{prefix}insertion_mm", start=spot(shoulder_mm, wide),
                        end=spot(end, nose)),
        collar=(
            (Along(name=f"{prefix}collar_thickness_mm", start=spot(back, wide),
                   end=spot(shoulder_mm, wide), level=upright),)
            if collar else ()
        ),
    )  # fmt: skip


def _first_feet(barb: Barb[float]) -> tuple[float, float]:
    """Return how far from the shoulder the back faces of the nose's two barbs stand [mm]."""
    first, second = (barb.insertion_mm - at for at in back_faces(barb)[:2])
    return first, second


def _crop(barb: Barb[float], back_round_mm: float) -> tuple[float, float]:
    """Return between which distances from the shoulder one barb is shown larger [mm]."""
    first, second = _first_feet(barb)
    room = barb.pitch_mm - barb.land_mm - barb.ramp_mm - back_round_mm
    return second - back_round_mm - 0.6 * room, first + 0.6 * barb.land_mm


def detail_scale(long_mm: float) -> float:
    """Return the scale at which a detail of some length stands out on the sheet [-]."""
    return next((one for one in (20.0, 10.0, 5.0, 2.0) if one * long_mm <= _DETAIL_MM), 1.0)


def barb_detail(
    part: Design[float], barb: Barb[float], shoulder_mm: float, way: int, letter: str,
    *, upright: bool = False, prefix: str = "", plane: tuple[str, str] = ("-z", "x"),
) -> tuple[Sign, View]:  # fmt: skip
    """Return the ring round one barb, and that barb enlarged, with the sizes all barbs share.

    Parameters
    ----------
    part : Design
        A single part [mm].
    barb : Barb
        Its sizes [mm].
    shoulder_mm : float
        Where its shoulder stands on the axis [mm].
    way : int
        Whether the nose points to growing positions (1) or back (-1) [-].
    letter : str
        The detail's name.
    upright : bool
        Whether the axis runs up.
    prefix : str
        Of the dimensions' names: ``second_`` for the other end.
    plane : (str, str)
        Axes of the part that run to the right and up.

    Source: own_derivation
    """
    radius = part.conditions.rules["back_face_radius_mm"]
    low, high = _crop(barb, radius)
    along, across = (UP, RIGHT) if upright else ((RIGHT, UP) if way > 0 else (LEFT, UP))
    run = outline([(0.0, 0.0, 0.0), *barb_run(barb, 0.0, barb.shoulder_mm, radius)])
    kept = run[(run[:, 0] > low) & (run[:, 0] < high) & (run[:, 1] > barb.root_mm / 2.0 - 1e-9)]
    root, crest, bore = barb.root_mm / 2.0, barb.crest_mm / 2.0, part.bore_mm / 2.0
    outer = joined([(low, root, 0.0)], kept, [(high, crest, 0.0)])
    inner = np.array([(low, bore, 0.0), (high, bore, 0.0)])
    lift = np.array([abs(shoulder_mm), 0.0, 0.0])
    outer, inner = (placed(path + lift, along, across) for path in (outer, inner))
    first, second = _first_feet(barb)

    def spot(at: float, high: float) -> Spot:
        u, v = abs(shoulder_mm) + at, high
        return (u * along[0] + v * across[0], u * along[1] + v * across[1])

    def length(name: str, start: float, end: float, times: int) -> Along:
        return Along(name=prefix + name, start=spot(start, crest), end=spot(end, crest),
                     level=upright, times=times)  # fmt: skip

    drop = crest - root
    ramp = (barb.ramp_mm * along[0], barb.ramp_mm * along[1])
    fall = (ramp[0] - drop * across[0], ramp[1] - drop * across[1])
    count = barb.barb_count
    middle = (low + high) / 2.0
    ring = Sign(letter=letter, at=spot(middle, (root + crest) / 2.0),
                towards_deg=20.0 if upright else 110.0, ring_mm=0.56 * (high - low))  # fmt: skip
    fillet = spot(second - radius * (1.0 - sqrt(0.5)), root + radius * (1.0 - sqrt(0.5)))
    view = View(
        title="one barb, all alike",
        letter=letter,
        plane=plane,
        scale=detail_scale(high - low),
        sections=(joined(outer, backwards(inner)),),
        visible=(outer, inner),
        breaks=(
            (*spot(low, bore), *spot(low, root)),
            (*spot(high, bore), *spot(high, crest)),
        ),
        stacks=(
            Stack(
                axis="v" if upright else "u",
                side=1,
                clear_mm=crest,
                tiers=(
                    (length("land_mm", second, second + barb.land_mm, count),),
                    (length("barb_pitch_mm", second, first, count - 1),),
                ),
            ),
        ),
        angles=(
            Angle(name=f"{prefix}barb_angle_deg", corner=spot(second + barb.land_mm, crest),
                  along=ramp, aslant=fall, times=count),
        ),
        notes=(
            Note(words=f"{count}x R{two(radius)}", at=fillet,
                 towards_deg=205.0 if upright else (150.0 if way > 0 else 30.0)),
        ),
    )  # fmt: skip
    return ring, view


def tip_lengths(
    part: Design[float], tip: Tip[float], seat_root_mm: float, neck_from: Spot
) -> tuple[tuple[Along, ...], ...]:
    """Return ticks, plain neck and seat in tiers, under a tip that points to the right [mm]."""
    ticks, edge = tick_positions(part), -tip.root_mm / 2.0
    end, under = seat_root_mm + tip.seat_mm, -tick_reach(tip, ticks[0])
    neck = Along(name="fork_neck_mm", start=neck_from, end=(seat_root_mm, edge), before=True)
    wide = Along(name="tick_width_mm", start=(seat_root_mm, under),
                 end=(seat_root_mm + tip.tick_mm, under), times=len(ticks))  # fmt: skip
    seat = Along(name="seat_length_mm", start=(seat_root_mm, edge), end=(end, -tip.lead_mm / 2.0))
    if len(ticks) == 1:
        return ((neck, wide), (seat,))
    apart = Along(name="tick_spacing_mm", start=(seat_root_mm, 0.0),
                  end=(seat_root_mm + ticks[1], 0.0), times=len(ticks) - 1)  # fmt: skip
    return ((wide,), (neck, apart), (seat,))


def tip_ends(tip: Tip[float], seat_root_mm: float) -> tuple[Across, ...]:
    """Return the diameters at the lead end [mm]."""
    end = seat_root_mm + tip.seat_mm
    return (
        Across(name="lead_diameter_mm", at_mm=end, size_mm=tip.lead_mm, beyond=1),
        Across(name="tip_bore_diameter_mm", at_mm=end, size_mm=tip.bore_mm, beyond=2),
    )


def lead_corner(tip: Tip[float], seat_root_mm: float) -> list[Line]:
    """Return taper and end face drawn on to where they would meet, where the lead is measured."""
    end, lead = seat_root_mm + tip.seat_mm, tip.lead_mm / 2.0
    lines = []
    for side in (1.0, -1.0):
        lines += [
            (seat_root_mm, side * tip.root_mm / 2.0, end, side * lead),
            (end, 0.0 if side < 0.0 else tip.bore_mm / 2.0, end, side * lead),
        ]
    return lines


def tip_notes(part: Design[float], tip: Tip[float], seat_root_mm: float) -> tuple[Note, ...]:
    """Return what is said of the taper and the ticks, at the end of a line each.

    Parameters
    ----------
    part : Design
        A single part [mm].
    tip : Tip
        Its tip [mm].
    seat_root_mm : float
        Where its taper begins [mm].

    Source: judgement
    """
    loss, ticks = part.conditions.rules["step_loss_mm"], tick_positions(part)
    at = seat_root_mm + tip.seat_mm * 0.72
    least, most = (two(tip.drop_mm + off) for off in (-loss, loss))
    sweep = two(degrees(2.0 * tip.tick_arc_mm / tip.root_mm))
    last = seat_root_mm + ticks[-1] + tip.tick_mm / 2.0
    return (
        Note(
            words=f"taper 1:{two(1.0 / tip.taper)}, {least} to {most} on one piece",
            at=(at, taper_radius(tip, at - seat_root_mm)),
            name="taper_drop_mm",
            towards_deg=75.0,
        ),
        # Ticks face whoever looks, so that no view shows how deep they are.
        Note(
            words=f"{len(ticks)} ticks front and back, {two(tip.tick_depth_mm)} deep, "
            f"over {sweep}°",
            at=(last, -tick_reach(tip, ticks[-1])),
            towards_deg=-60.0,
        ),
    )


def step_notes(part: Design[float], at: Spot) -> tuple[Note, ...]:
    """Return what is asked of each barb's step: it is a difference, which no dimension shows.

    Parameters
    ----------
    part : Design
        A single part [mm].
    at : (float, float)
        Where the words end, above the part [mm].

    Source: judgement
    """
    loss = part.conditions.rules["step_loss_mm"]
    return tuple(
        Note(
            words=f"{'second end: ' if index else ''}crest less root "
            f"{two(barb.step_mm - loss)} to {two(barb.step_mm + loss)} on one piece",
            at=at,
            name=f"{SECOND if index else ''}barb_step_mm",
        )
        for index, barb in enumerate(part.barbs)
    )


def port_sizes(tip: Tip[float], seat_root_mm: float) -> tuple[tuple[Along, ...], ...]:
    """Return a side port's diameter and place, a tier each, above the tip [mm]."""
    near, far = port_edges(tip, seat_root_mm)
    middle, end = (near + far) / 2.0, seat_root_mm + tip.seat_mm
    near_r, high, far_r = (taper_radius(tip, at - seat_root_mm) for at in (near, middle, far))
    return (
        (Along(name="side_port_diameter_mm", start=(near, near_r), end=(far, far_r),
               sign=DIAMETER),),
        (Along(name="side_port_from_lead_mm", start=(middle, high), end=(end, tip.lead_mm / 2.0)),),
    )  # fmt: skip


def port_axis(tip: Tip[float], seat_root_mm: float) -> Line:
    """Return a side port's centre line through the wall that is cut [mm]."""
    middle = sum(port_edges(tip, seat_root_mm)) / 2.0
    return (middle, tip.bore_mm / 2.0, middle, taper_radius(tip, middle - seat_root_mm))


def mark_paths(part: Design[float], middle: Spot, along: Spot) -> tuple[Path, ...]:
    """Return a mark's strokes in outline, as whoever faces them sees them.

    Parameters
    ----------
    part : Design
        A single part [mm].
    middle : (float, float)
        Where the mark's middle stands [mm].
    along : (float, float)
        Which way its lines run [-].
    """
    up = (-along[1], along[0])
    lines = [
        (line.text, middle[0] + line.at_mm * up[0], middle[1] + line.at_mm * up[1])
        for line in part.mark.lines
    ]
    return text_paths(part.mark.letters, lines, along)


def text_paths(
    letters: Letters, lines: Iterable[tuple[str, float, float]], along: Spot
) -> tuple[Path, ...]:
    """Return strokes of engraved lines in outline, as whoever faces them sees them.

    Parameters
    ----------
    letters : Letters
        Their size [mm].
    lines : iterable of (str, float, float)
        Text, and where its middle stands [mm].
    along : (float, float)
        Which way the lines run [-].
    """
    up = (-along[1], along[0])
    return tuple(
        closed(np.array([(x + u * along[0] + v * up[0], y + u * along[1] + v * up[1], 0.0)
                         for u, v in corners]))
        for text, x, y in lines
        for corners in chain.from_iterable(letters.strokes(text))
    )  # fmt: skip


HALF = "half section: cut above the axis"


def left_out(part: Design[float]) -> str:
    """Return the radii that have no dimension of their own, in words [mm]."""
    words = []
    if part.barbs:
        feet = dict.fromkeys(two(barb.shoulder_radius_mm) for barb in part.barbs)
        words.append(f"shoulder R{' and R'.join(feet)}")
    if part.tip is not None:
        words.append(f"lead edge R{two(part.tip.lead_round_mm)}")
    if part.hub is not None:
        words.insert(0, f"blends R{two(part.hub.blend_mm)}")
    return ", ".join(words)
