"""A turned part as it is drawn, cut open above its axis; and how barbs and tips are sized there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from math import sin

import numpy as np

from barbwright.design.barb import Barb
from barbwright.design.draw import side_port_from_lead_mm, tick_positions
from barbwright.design.kind import Design
from barbwright.design.outline import back_faces
from barbwright.design.paths import DOWN, RIGHT, UP, backwards, closed, joined, placed, sharp
from barbwright.design.shape import Shape
from barbwright.design.sizes import SECOND
from barbwright.design.tip import Tip
from barbwright.design.view import DIAMETER, Across, Along, Angle, Line, Note, Path, Spot, two


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


def half_section(
    shape: Shape,
    along: Spot = RIGHT,
    split: Callable[[Path, Path], list[Path]] | None = None,
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

    Returns
    -------
    Seen
        Still without what stands on the surface.
    """
    body, bore = body_of(shape, "body"), body_of(shape, "bore")
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


def tick_edges(part: Design[float], tip: Tip[float], seat_root_mm: float) -> list[Line]:
    """Return the ticks below the axis, as they face whoever looks [mm]."""
    edges: list[Line] = []
    for below in tick_positions(part):
        radius = taper_radius(tip, below + tip.tick_mm / 2.0)
        depth = radius * sin(tip.tick_arc_mm / tip.root_mm)
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
    pitch_mm, land_mm : (float, float)
        Between which points these lengths are read.
    end_mm : float
        The nose's end.
    """

    root_mm: float
    crest_mm: float
    pitch_mm: tuple[float, float]
    land_mm: tuple[float, float]
    end_mm: float


def barb_places(barb: Barb[float]) -> BarbPlaces:
    """Return where a barb's sizes are read [mm]."""
    first, *_ = backs = back_faces(barb)
    foot = barb.insertion_mm - backs[-1]
    return BarbPlaces(
        root_mm=foot / 2.0,
        crest_mm=foot + barb.land_mm / 2.0,
        pitch_mm=(barb.insertion_mm - (backs[1] if len(backs) > 1 else first),
                  barb.insertion_mm - first),
        land_mm=(foot, foot + barb.land_mm),
        end_mm=barb.insertion_mm,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class BarbSizes:
    """A barb's dimensions, for the stacks of its arm.

    Attributes
    ----------
    across : tuple of Across
        Root, crest and nose.
    land, pitch, insertion : Along
        Its lengths.
    angle : Angle
        The slope of the first barb's nose: its ramps all have the same.
    """

    across: tuple[Across, ...]
    land: Along
    pitch: Along
    insertion: Along
    angle: Angle


def barb_sizes(
    barb: Barb[float], shoulder_mm: float, way: int, *, upright: bool = False, prefix: str = ""
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
    places, crest, nose = barb_places(barb), barb.crest_mm / 2.0, barb.nose_mm / 2.0
    end = shoulder_mm + way * places.end_mm

    def spot(along: float, across: float) -> Spot:
        return (across, along) if upright else (along, across)

    def length(name: str, low: float, high: float, *, before: bool) -> Along:
        start, stop = (spot(shoulder_mm + way * at, crest) for at in (low, high))
        return Along(name=prefix + name, start=start, end=stop, level=upright, before=before)

    back = not upright and way < 0
    drop, ramp = crest - nose, barb.nose_ramp_mm
    return BarbSizes(
        across=(
            Across(name=f"{prefix}root_diameter_mm", at_mm=shoulder_mm + way * places.root_mm,
                   size_mm=barb.root_mm),
            Across(name=f"{prefix}crest_diameter_mm", at_mm=shoulder_mm + way * places.crest_mm,
                   size_mm=barb.crest_mm),
            Across(name=f"{prefix}nose_diameter_mm", at_mm=end, size_mm=barb.nose_mm, beyond=way),
        ),
        land=length("land_mm", *places.land_mm, before=back),
        pitch=length("barb_pitch_mm", *places.pitch_mm, before=not back and not upright),
        insertion=Along(name=f"{prefix}insertion_mm", start=spot(shoulder_mm, crest),
                        end=spot(end, nose)),
        angle=Angle(name="barb_angle_deg", corner=spot(end - way * ramp, crest),
                    along=spot(way * ramp, 0.0), aslant=spot(way * ramp, -drop)),
    )  # fmt: skip


def tip_lengths(
    part: Design[float], tip: Tip[float], seat_root_mm: float, neck_from_mm: float
) -> tuple[tuple[Along, ...], ...]:
    """Return ticks, plain neck and seat, a tier each, under a tip that points to the right [mm]."""
    ticks, under, edge = tick_positions(part), -tip.root_mm * 0.15, -tip.root_mm / 2.0
    rows = []
    if len(ticks) > 1:
        rows.append(("tick_spacing_mm", (seat_root_mm, under), (seat_root_mm + ticks[1], under)))
    end = seat_root_mm + tip.seat_mm
    rows += [
        ("tick_width_mm", (seat_root_mm, under), (seat_root_mm + tip.tick_mm, under)),
        ("fork_neck_mm", (neck_from_mm, edge), (seat_root_mm, edge)),
        ("seat_length_mm", (seat_root_mm, edge), (end, -tip.lead_mm / 2.0)),
    ]
    return tuple((Along(name=name, start=start, end=stop),) for name, start, stop in rows)


def tip_ends(tip: Tip[float], seat_root_mm: float) -> tuple[Across, ...]:
    """Return the diameters at the lead end [mm]."""
    end = seat_root_mm + tip.seat_mm
    return (
        Across(name="lead_diameter_mm", at_mm=end, size_mm=tip.lead_mm, beyond=1),
        Across(name="tip_bore_diameter_mm", at_mm=end, size_mm=tip.bore_mm, beyond=2),
    )


def tip_notes(tip: Tip[float], seat_root_mm: float) -> tuple[Note, ...]:
    """Return what is said of the taper and the ticks, above the tip [mm]."""
    at = (seat_root_mm + tip.seat_mm * 0.97, tip.root_mm / 2.0)
    words = f"taper {two(100.0 * tip.taper)} % on diameter (1:{two(1.0 / tip.taper)})"
    return (
        Note(words=words, at=at),
        # Ticks face whoever looks, so that no view shows how deep they are.
        Note(words="ticks {size} deep", at=at, name="tick_depth_mm", size_mm=tip.tick_depth_mm),
    )


def step_notes(part: Design[float], at: Spot) -> tuple[Note, ...]:
    """Return what is said of each barb's step: it is a difference, which no dimension shows.

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
            words="barb step, crest less root, {size} on one piece",
            at=at,
            name=f"{'' if index == 0 else SECOND}barb_step_mm",
            size_mm=barb.step_mm,
            spread_mm=loss,
        )
        for index, barb in enumerate(part.barbs)
    )


def port_sizes(tip: Tip[float], seat_root_mm: float) -> tuple[tuple[Along, ...], ...]:
    """Return a side port's diameter and place, a tier each, above the tip [mm]."""
    near, far = port_edges(tip, seat_root_mm)
    middle, end = (near + far) / 2.0, seat_root_mm + tip.seat_mm
    high = taper_radius(tip, middle - seat_root_mm)
    return (
        (Along(name="side_port_diameter_mm", start=(near, high), end=(far, high), sign=DIAMETER),),
        (Along(name="side_port_from_lead_mm", start=(middle, high), end=(end, high)),),
    )


HALF = "half section: cut above the axis"


def left_out(part: Design[float]) -> str:
    """Return the radii that have no dimension of their own, in words [mm]."""
    words = []
    if part.barbs:
        feet = dict.fromkeys(two(barb.shoulder_radius_mm) for barb in part.barbs)
        words.append(f"back faces R{two(part.conditions.rules['back_face_radius_mm'])}")
        words.append(f"shoulder R{' and R'.join(feet)}")
    if part.tip is not None:
        words.append(f"lead edge R{two(part.tip.lead_round_mm)}")
    if part.hub is not None:
        words.insert(0, f"blends R{two(part.hub.blend_mm)}")
    return ", ".join(words)
