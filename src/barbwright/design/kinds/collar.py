"""Collar: a stop on the drill bit, so that every hole gets the tip's own depth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from barbwright.design.conditions import Conditions
from barbwright.design.draw import OVERSHOOT_MM, assembled, rim_letters
from barbwright.design.forced import ForcedSize, by_name
from barbwright.design.half_section import half_section
from barbwright.design.kind import Design, Fit, Impossible, Kind, Own
from barbwright.design.kinds.hosts import host_kind, host_of
from barbwright.design.mark import rim_mark
from barbwright.design.outline import QUARTER, Vertex, outline, rectangle
from barbwright.design.paths import backwards, joined
from barbwright.design.rounding import round_up
from barbwright.design.shape import (
    ORIGIN,
    X_AXIS,
    Y_AXIS,
    Z_AXIS,
    Probe,
    Revolved,
    Shape,
    WallProbe,
)
from barbwright.design.sizes import Size
from barbwright.design.view import DIAMETER, Across, Along, Path, Stack, View, two
from barbwright.equations import N, Number, square
from barbwright.say import bare, figure

_EDGE_MM = 0.8
_OWN_SIZES = by_name(
    (
        ForcedSize(name="collar"),
        ForcedSize(name="collar_bore"),
        ForcedSize(name="collar_length"),
        ForcedSize(name="screw_hole"),
    )
)
# ISO coarse threads by their pilot holes, nominal less pitch [mm].
_SCREWS = (("M3", 2.5), ("M4", 3.3), ("M5", 4.2), ("M6", 5.0))


@dataclass(frozen=True, kw_only=True, eq=False)
class Collar(Own[N]):
    """A collar's own sizes.

    Attributes
    ----------
    host : Design
        The tip whose hole it stops.
    bit_mm : float or array
        The bit that goes through it [mm].
    bore_mm, collar_mm, length_mm : float or array
        Inner and outer diameter, and length [mm].
    screw : str
        The set screw that cuts its own thread.
    screw_hole_mm : float or array
        Its pilot hole [mm].
    exposed_mm : float or array
        How far the bit stands out beyond the stop face: the hole's depth [mm].
    """

    host: Design[N]
    bit_mm: N
    bore_mm: N
    collar_mm: N
    length_mm: N
    screw: str
    screw_hole_mm: N
    exposed_mm: N

    @property
    def envelope_mm(self) -> tuple[N, N, N]:
        """Bounding box of the drawn part [mm]."""
        return self.collar_mm, self.collar_mm, self.length_mm

    @property
    def walls_mm(self) -> tuple[Number, ...]:
        """The ring's wall, and what is left beside the screw [mm]."""
        return (self.collar_mm - self.bore_mm) / 2.0, (self.length_mm - self.screw_hole_mm) / 2.0

    @property
    def bores_mm(self) -> tuple[Number, ...]:
        """The screw's hole, beside the bore [mm]."""
        return (self.screw_hole_mm,)

    @property
    def fits(self) -> tuple[Fit, ...]:
        """The bit, which is no print."""
        return (Fit("drill bit", self.bore_mm, self.bit_mm, printed=False),)

    @property
    def notes(self) -> tuple[str, ...]:
        """How it is used, in sentences with their numbers."""
        exposed = float(self.exposed_mm)
        inches = figure(exposed, "length", "in")
        thread = float((self.collar_mm - self.bore_mm) / 2.0)
        return (
            f"slide it on the bit until {bare(exposed, 'nearest', 1)} mm ({inches} in) of the "
            "bit, point and all, stand out beyond its face; then tighten the set screw",
            f"one {self.screw} set screw, at least {thread + 1.0:.0f} mm long, cuts its own "
            "thread; where the chuck allows, back the collar against it and nothing can slip",
            "drill straight until the face touches the bark, no further",
        )

    @property
    def made_for(self) -> Design[N] | None:
        """The part it is made for."""
        return self.host

    @property
    def impossible(self) -> tuple[Impossible, ...]:
        """What of its sizes cannot be built."""
        return (
            Impossible(
                "collar",
                np.logical_not(self.collar_mm > self.bore_mm + 2.0),
                "a collar of {collar:.2f} mm leaves no wall round a bore of {bore:.2f} mm",
                {"collar": self.collar_mm, "bore": self.bore_mm},
            ),
            Impossible(
                "collar_length",
                np.logical_not(self.length_mm >= self.screw_hole_mm + 2.0),
                "a collar of {length:.1f} mm has no room for a screw hole of {hole:.1f} mm",
                {"length": self.length_mm, "hole": self.screw_hole_mm},
            ),
        )

    def compensated(self, outside_mm: N, bore_mm: N) -> Collar[N]:
        """Return its sizes drawn off the other way from what a service prints off [mm]."""
        return replace(
            self,
            bore_mm=self.bore_mm - bore_mm,
            collar_mm=self.collar_mm - outside_mm,
            screw_hole_mm=self.screw_hole_mm - bore_mm,
        )

    @property
    def sizes(self) -> tuple[Size, ...]:
        """Its rows of the table of sizes."""
        return (
            Size(
                name="bore_diameter_mm",
                title="bore for the bit",
                reads="bore_mm",
                feature="bore",
                where="pin from the open end",
            ),
            Size(name="collar_diameter_mm", title="collar", reads="collar_mm", feature="outside"),
            Size(
                name="collar_length_mm",
                title="collar's length",
                reads="length_mm",
                feature="length",
            ),
            Size(
                name="screw_hole_diameter_mm",
                title="screw hole",
                reads="screw_hole_mm",
                feature="bore",
                where="pin from the open end",
            ),
            Size(
                name="exposed_bit_mm",
                title="bit beyond the drill stop: the hole's depth",
                reads="exposed_mm",
                feature="set",
            ),
        )


@dataclass(frozen=True, eq=False, kw_only=True)
class CollarPart(Design[float]):
    """A single collar."""

    own: Collar[float]


def size_collar(
    kind: Kind, conditions: Conditions, forced: Mapping[str, Number], words: tuple[str, ...]
) -> Design:
    """Return a drill stop's drawn sizes, for the hole depth of the job's tip [mm].

    Source: judgement
    """
    rules, material = conditions.rules, conditions.material
    host = host_of(kind, conditions, forced, words)
    tip = host.tip
    assert tip is not None
    bit = conditions.bit_mm
    lean = bit + material.tolerance_at(bit) + rules["collar_clearance_mm"]
    bore = forced.get("collar_bore", round_up(np.maximum(lean, material.min_bore_mm), 0.05))
    least = float(np.max(np.asarray(material.min_bore_mm)))
    # The smallest screw whose pilot hole the process can clear.
    screw, pilot = next((one for one in _SCREWS if one[1] >= least - 1e-6), ("self-cut", least))
    own = Collar(
        host=host,
        bit_mm=bit,
        bore_mm=bore,
        collar_mm=forced.get("collar", round_up(bore + 2.0 * rules["collar_wall_mm"], 0.5)),
        length_mm=forced.get("collar_length", rules["collar_length_mm"]),
        screw=screw,
        screw_hole_mm=forced.get("screw_hole", pilot),
        exposed_mm=tip.hole_depth_mm,
    )
    height = own.length_mm - 2.0 * _EDGE_MM
    mark = rim_mark(words, conditions, ring_mm=own.collar_mm, height_mm=height)
    return Design(
        kind=kind,
        conditions=conditions,
        forced=forced,
        bore_mm=bore,
        neck_length_mm=0.0,
        mark=mark,
        own=own,
    )


def draw_collar(design: CollarPart, name: str) -> Shape:
    """Return a collar about Z, its stop face at the origin, the screw towards +Y."""
    own = design.own
    radius, length, bore = own.collar_mm / 2.0, own.length_mm, own.bore_mm
    hole, middle = own.screw_hole_mm, own.length_mm / 2.0
    body: list[Vertex] = [
        (0.0, 0.0, 0.0),
        (0.0, radius - _EDGE_MM, -QUARTER),
        (_EDGE_MM, radius, 0.0),
        (length - _EDGE_MM, radius, -QUARTER),
        (length, radius - _EDGE_MM, 0.0),
        (length, 0.0, 0.0),
    ]
    screw = rectangle(0.0, radius + OVERSHOOT_MM, 0.0, hole)
    probes = [
        Probe(
            name="bore_diameter_mm",
            origin=ORIGIN,
            axis=Z_AXIS,
            at_mm=length / 5.0,
            diameter_mm=bore,
            side="inner",
        ),
        Probe(
            name="screw_hole_diameter_mm",
            origin=(0.0, 0.0, middle),
            axis=Y_AXIS,
            at_mm=(bore / 2.0 + radius) / 2.0,
            diameter_mm=hole,
            side="inner",
            towards=Z_AXIS,
        ),
        Probe(
            name="collar_diameter_mm",
            origin=ORIGIN,
            axis=Z_AXIS,
            at_mm=_EDGE_MM + 0.3,
            diameter_mm=2.0 * radius,
            side="outer",
            reach_mm=radius + 2.0,
        ),
    ]
    walls = [
        WallProbe(
            name="collar_wall_mm",
            origin=ORIGIN,
            axis=Z_AXIS,
            at_mm=_EDGE_MM + 0.3,
            wall_mm=radius - bore / 2.0,
        )
    ]
    return assembled(
        name,
        [Revolved(name="body", outline=outline(body), axis=Z_AXIS)],
        [
            Revolved(
                name="bore", outline=rectangle(-OVERSHOOT_MM, length + OVERSHOOT_MM, 0.0, bore)
            ),
            Revolved(
                name="screw hole",
                outline=screw,
                origin=(0.0, 0.0, middle),
                axis=Y_AXIS,
                towards=X_AXIS,
            ),
        ],
        rim_letters(design, radius, middle),
        probes,
        walls,
        design,
    )


def views_of_collar(part: CollarPart) -> tuple[View, ...]:
    """Return the view: the stop face to the left, the cut through the screw's hole."""
    own = part.own
    length, middle, half = own.length_mm, own.length_mm / 2.0, own.screw_hole_mm / 2.0
    outside, bore = own.collar_mm / 2.0, own.bore_mm / 2.0
    near, far = middle - half, middle + half

    def split(upper: Path, inner: Path) -> list[Path]:
        back = backwards(inner)
        return [
            joined(upper[upper[:, 0] < near], [(near, outside, 0.0), (near, bore, 0.0)],
                   back[back[:, 0] < near]),
            joined([(far, bore, 0.0), (far, outside, 0.0)], upper[upper[:, 0] > far],
                   back[back[:, 0] > far]),
        ]  # fmt: skip

    seen = half_section(draw_collar(part, "drawing"), split=split)
    # The hole's edges on both round faces, as they are seen behind the cut.
    turns = np.linspace(0.0, np.pi, 25)
    curves = []
    for radius in (outside, bore):
        drop = np.sqrt(np.maximum(square(radius) - square(half * np.sin(turns)), 0.0))
        curves.append(np.column_stack([middle - half * np.cos(turns), drop, np.zeros_like(turns)]))
    seen.axes.append((middle, bore, middle, outside))
    across = (
        Across(name="bore_diameter_mm", at_mm=0.0, size_mm=own.bore_mm, beyond=-1),
        # Clear of the screw's hole, which stands in the middle.
        Across(name="collar_diameter_mm", at_mm=length * 0.8, size_mm=own.collar_mm),
    )
    edge = outside - _EDGE_MM
    lengths = (
        (Along(name="screw_hole_diameter_mm", start=(near, outside), end=(far, outside),
               sign=DIAMETER),),
        (Along(name="screw_from_face_mm", start=(0.0, edge), end=(middle, outside)),),
        (Along(name="collar_length_mm", start=(0.0, edge), end=(length, edge)),),
    )  # fmt: skip
    return (
        seen.on(
            View(
                title=f"half section; {own.screw} screw hole, one side",
                left_out=f"edges R{two(_EDGE_MM)}; the mark in the middle of its length",
                curves=tuple(curves),
                stacks=(
                    Stack(clear_mm=outside, tiers=(across,)),
                    Stack(side=1, clear_mm=outside, tiers=lengths),
                ),
            )
        ),
    )


COLLAR = Kind(
    name="collar",
    title="drill stop for the hole's depth",
    letter="S",
    mark="rim",
    openings=3,
    size=size_collar,
    draw=draw_collar,
    views=views_of_collar,
    single=CollarPart,
    carries=False,
    needs=frozenset({"tool"}),
    sizes=_OWN_SIZES,
    host=host_kind,
    needs_bit=True,
)
