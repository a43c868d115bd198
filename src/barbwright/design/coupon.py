"""Fit gauge: stepped barbs, tips, posts, bores, walls, gaps and letters on one plate.

Everything stands on one base plate and is one body, so that a print service
takes it as a part like any other. A row's letter stands at its left; numbers are
engraved before what they name.
"""

from __future__ import annotations

from dataclasses import dataclass

from barbwright.design.barb import Barb, size_arms
from barbwright.design.conditions import Conditions
from barbwright.design.draw import swept_volume
from barbwright.design.letters import Letters
from barbwright.design.mark import LETTER_GAP_MM, letters_for
from barbwright.design.outline import QUARTER, Vertex, outline, rectangle
from barbwright.design.rounding import round_up
from barbwright.design.shape import (
    X_AXIS,
    Y_AXIS,
    Z_AXIS,
    Engraving,
    Extruded,
    Probe,
    Revolved,
    Shape,
    WallProbe,
)
from barbwright.design.single import plain
from barbwright.design.tip import TAPERS

STEP_MM = 0.1
BARBS, CENTRE_BARB = 7, 4
TIPS, CENTRE_TIP = 5, 3
POSTS_MM = (4.0, 6.0, 8.0, 10.0)
BORES_MM = (1.5, 2.0, 2.5, 3.0, 3.5, 4.0)
WALLS_MM = (0.4, 0.6, 0.8, 1.0, 1.2, 1.5, 2.0)
GAPS_MM = (0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0)
STROKES_MM = (0.3, 0.4, 0.5, 0.6, 0.8)

_PLATE_MM = 3.0
_MARGIN_MM = 3.0
_SUNK_MM = 1.0
_TIP_TALL_MM = 14.0
_TIP_PITCH_MM = 14.0
_POST_TALL_MM = 8.0
_BLOCK_TALL_MM = 7.0
_GAP_TALL_MM = 3.0
_FIN_TALL_MM = 6.0
_FIN_LONG_MM = 7.0
_MARK_DEPTH_MM = 0.4


# What of a process the gauge is drawn by, and tells.
PROCESS = ("tolerance_mm", "min_bore_mm", "min_wall_mm", "min_gap_mm", "min_text_line_mm")


@dataclass(frozen=True, kw_only=True)
class Coupon:
    """A fit gauge in numbers.

    Attributes
    ----------
    barb : Barb
        The nominal barb for the tube; number `CENTRE_BARB` has its crest.
    crests_mm, tips_mm : tuple of float
        Crest of each barb; diameter of each tip at its ring [mm].
    taper : float
        Taper of the tips on the diameter [-].
    bit_name, tube_name : str
        What they are for.
    letters : Letters
        Size of the numbers.
    process : dict of str to float
        What the material's record says the process holds [mm].
    """

    barb: Barb[float]
    crests_mm: tuple[float, ...]
    tips_mm: tuple[float, ...]
    taper: float
    bit_name: str
    tube_name: str
    letters: Letters
    process: dict[str, float]


def size_coupon(conditions: Conditions, bit_name: str, tube_name: str) -> Coupon:
    """Return the fit gauge for a tube, a bit and a process.

    Parameters
    ----------
    conditions : Conditions
        Tube, bit and process [mm]; it is never compensated.
    bit_name, tube_name : str
        What they are called.

    Returns
    -------
    Coupon
        Numbers only [mm].

    Source: judgement
    """
    _, barbs = size_arms(conditions, {})
    barb: Barb[float] = plain(barbs[0])
    material = conditions.material
    hole = float(conditions.hole_low_mm + conditions.hole_high_mm) / 2.0
    return Coupon(
        barb=barb,
        crests_mm=tuple(
            round(barb.crest_mm + STEP_MM * (number - CENTRE_BARB), 6)
            for number in range(1, BARBS + 1)
        ),
        tips_mm=tuple(
            round(hole + STEP_MM * (number - CENTRE_TIP), 6) for number in range(1, TIPS + 1)
        ),
        taper=TAPERS[2],
        bit_name=bit_name,
        tube_name=tube_name,
        letters=letters_for(float(material.min_text_line_mm)),
        process={name: float(getattr(material, name)) for name in PROCESS},
    )


class _Plate:
    """Bodies, cuts and probes gathered row by row, from the front edge backwards."""

    def __init__(self, letters: Letters) -> None:
        self.letters = letters
        self.tall_mm = letters.cap_mm
        self.left_mm = _MARGIN_MM + letters.width("W") + 2.0
        self.right_mm = 0.0
        self.y_mm = _MARGIN_MM
        self.adds: list[Revolved | Extruded] = []
        self.cuts: list[Revolved | Extruded] = []
        self.marks: list[Engraving] = []
        self.probes: list[Probe] = []
        self.walls: list[WallProbe] = []

    def letter(self, text: str, x_mm: float, y_mm: float, letters: Letters | None = None) -> None:
        """Engrave a text into the plate about a point."""
        origin = (x_mm, y_mm, -_MARK_DEPTH_MM)
        depth = _MARK_DEPTH_MM + 0.5
        self.marks.append(
            Engraving(
                text=text,
                letters=letters or self.letters,
                origin=origin,
                normal=Z_AXIS,
                x_direction=X_AXIS,
                depth_mm=depth,
            )
        )

    def row(
        self, letter: str, labels: list[str], pitch_mm: float, deep_mm: float
    ) -> list[tuple[float, float]]:
        """Open a row: its letter, its labels in front, and the middle of each place behind."""
        pitch = max(pitch_mm, max(map(self.letters.width, labels)) + 1.0)
        label_y = self.y_mm + self.tall_mm / 2.0
        middle_y = self.y_mm + self.tall_mm + 1.0 + deep_mm / 2.0
        self.letter(letter, _MARGIN_MM + self.letters.width("W") / 2.0, middle_y)
        places = []
        for index, label in enumerate(labels):
            x = self.left_mm + pitch * (index + 0.5)
            self.letter(label, x, label_y)
            places.append((x, middle_y))
        self.right_mm = max(self.right_mm, self.left_mm + pitch * len(labels))
        self.y_mm = middle_y + deep_mm / 2.0 + 2.0
        return places

    def turned(self, name: str, vertices: list[Vertex], x_mm: float, y_mm: float) -> None:
        """Stand a body of revolution on the plate, its foot sunk into it."""
        foot: list[Vertex] = [(-_SUNK_MM, 0.0, 0.0), (-_SUNK_MM, vertices[0][1], 0.0)]
        profile = outline([*foot, *vertices])
        self.adds.append(
            Revolved(
                name=name, outline=profile, origin=(x_mm, y_mm, 0.0), axis=Z_AXIS, towards=X_AXIS
            )
        )

    def box(self, name: str, x_mm: float, y_mm: float, wide_mm: float, deep_mm: float,
            tall_mm: float, *, low_mm: float = -_SUNK_MM) -> Extruded:  # fmt: skip
        """Return a straight block about a point."""
        half, deep = wide_mm / 2.0, deep_mm / 2.0
        plan = outline([(-half, -deep, 0.0), (half, -deep, 0.0), (half, deep, 0.0),
                        (-half, deep, 0.0)], turned=False)  # fmt: skip
        return Extruded(
            name=name, outline=plan, depth_mm=tall_mm - low_mm, origin=(x_mm, y_mm, low_mm)
        )


def coupon_shape(coupon: Coupon, name: str) -> Shape:
    """Return a fit gauge's geometry, ready to be built and measured.

    Parameters
    ----------
    coupon : Coupon
        Numbers [mm].
    name : str
        ASCII name of the product.

    Returns
    -------
    Shape
        One body: the plate's upper face at z = 0, its front left corner at the origin.
    """
    plate = _Plate(coupon.letters)
    _tips(plate, coupon)
    _barbs(plate, coupon)
    _posts(plate)
    _bores(plate)
    _fins(plate)
    _slots(plate)
    _letters(plate)
    width = round(float(round_up(plate.right_mm + _MARGIN_MM, 0.5)), 6)
    depth = round(float(round_up(plate.y_mm + _MARGIN_MM - 2.0, 0.5)), 6)
    corners = [(0.0, 0.0, 0.0), (width, 0.0, 0.0), (width, depth, 0.0), (0.0, depth, 0.0)]
    plan = outline(corners, turned=False)
    base = Extruded(name="plate", outline=plan, depth_mm=_PLATE_MM, origin=(0.0, 0.0, -_PLATE_MM))
    adds = (base, *plate.adds)
    volumes = [swept_volume(body) for body in adds]
    away = sum(swept_volume(body) for body in plate.cuts)
    return Shape(
        name=name,
        adds=adds,
        cuts=tuple(plate.cuts),
        engravings=tuple(plate.marks),
        probes=tuple(plate.probes),
        walls=tuple(plate.walls),
        # Each bore through the plate is a handle: 2 - 2 g = 4 - 2 (1 + g).
        openings=1 + len(BORES_MM),
        volume_bounds_mm3=(max(max(volumes) - away, 0.0), sum(volumes)),
    )


def _probe(plate: _Plate, name: str, x: float, y: float, at: float, size: float) -> None:
    plate.probes.append(
        Probe(
            name=name,
            origin=(x, y, 0.0),
            axis=Z_AXIS,
            at_mm=at,
            diameter_mm=size,
            side="outer",
            reach_mm=size / 2.0 + 1.5,
            towards=Y_AXIS,
        )
    )


def _tips(plate: _Plate, coupon: Coupon) -> None:
    labels = [str(number) for number in range(1, TIPS + 1)]
    places = plate.row("T", labels, _TIP_PITCH_MM, 11.0)
    middle, half_taper = _TIP_TALL_MM / 2.0, coupon.taper / 2.0
    for number, ((x, y), size) in enumerate(zip(places, coupon.tips_mm, strict=True), 1):
        low, high = size / 2.0 + half_taper * middle, size / 2.0 - half_taper * middle
        edge = 0.5
        plate.turned(
            f"tip {number}",
            [
                (0.0, low, 0.0),
                (_TIP_TALL_MM - edge, high + half_taper * edge, 0.0),
                (_TIP_TALL_MM, high - edge, 0.0),
                (_TIP_TALL_MM, 0.0, 0.0),
            ],
            x,
            y,
        )
        # The ring's lower edge is where the hole's mouth is to stop.
        ring = rectangle(middle, middle + 0.5, size - 0.8, size + 2.0)
        plate.cuts.append(
            Revolved(
                name=f"ring {number}", outline=ring, origin=(x, y, 0.0), axis=Z_AXIS, towards=X_AXIS
            )
        )
        at = middle - 1.0
        _probe(plate, f"tip_{number}_diameter_mm", x, y, at, size + coupon.taper * 1.0)


def _barbs(plate: _Plate, coupon: Coupon) -> None:
    barb = coupon.barb
    wide = (barb.tube_on_crest_mm + max(coupon.crests_mm)) / 2.0 + 2.0
    labels = [str(number) for number in range(1, BARBS + 1)]
    places = plate.row("B", labels, max(wide, 10.0), max(barb.tube_on_crest_mm + 1.0, 8.0))
    root_over = barb.crest_mm - barb.root_mm
    nose_over = barb.crest_mm - barb.nose_mm
    land, back = barb.land_mm, 4.0
    for number, ((x, y), crest) in enumerate(zip(places, coupon.crests_mm, strict=True), 1):
        root, nose = (crest - root_over) / 2.0, (crest - nose_over) / 2.0
        top = back + land + barb.nose_ramp_mm
        plate.turned(
            f"barb {number}",
            [
                (0.0, root, 0.0),
                (back, root, 0.0),
                (back, crest / 2.0, 0.0),
                (back + land, crest / 2.0, 0.0),
                (top, nose, 0.0),
                (top, 0.0, 0.0),
            ],
            x,
            y,
        )
        _probe(plate, f"barb_{number}_crest_mm", x, y, back + land / 2.0, crest)


def _posts(plate: _Plate) -> None:
    places = plate.row("P", [f"{size:g}" for size in POSTS_MM], 16.0, max(POSTS_MM) + 1.0)
    for (x, y), size in zip(places, POSTS_MM, strict=True):
        edge, radius = 0.3, size / 2.0
        plate.turned(
            f"post {size:g}",
            [
                (0.0, radius, 0.0),
                (_POST_TALL_MM - edge, radius, -QUARTER),
                (_POST_TALL_MM, radius - edge, 0.0),
                (_POST_TALL_MM, 0.0, 0.0),
            ],
            x,
            y,
        )
        _probe(plate, f"post_{size:g}_diameter_mm".replace(".", "_"), x, y, 4.0, size)


def _bores(plate: _Plate) -> None:
    places = plate.row("H", [f"{size:g}" for size in BORES_MM], 10.0, 9.0)
    pitch = places[1][0] - places[0][0]
    left, right = places[0][0], places[-1][0]
    plate.adds.append(
        plate.box("bore block", (left + right) / 2.0, places[0][1], right - left + pitch - 1.0,
                  8.0, _BLOCK_TALL_MM)
    )  # fmt: skip
    for (x, y), size in zip(places, BORES_MM, strict=True):
        hole = rectangle(-_PLATE_MM - 1.0, _BLOCK_TALL_MM + 1.0, 0.0, size)
        plate.cuts.append(
            Revolved(
                name=f"bore {size:g}", outline=hole, origin=(x, y, 0.0), axis=Z_AXIS, towards=X_AXIS
            )
        )
        name = f"bore_{size:g}_diameter_mm".replace(".", "_")
        plate.probes.append(
            Probe(
                name=name,
                origin=(x, y, 0.0),
                axis=Z_AXIS,
                at_mm=3.0,
                diameter_mm=size,
                side="inner",
            )
        )


def _fins(plate: _Plate) -> None:
    places = plate.row("W", [f"{size:g}" for size in WALLS_MM], 9.0, _FIN_LONG_MM + 1.0)
    for (x, y), size in zip(places, WALLS_MM, strict=True):
        plate.adds.append(plate.box(f"wall {size:g}", x, y, size, _FIN_LONG_MM, _FIN_TALL_MM))
        name = f"wall_{size:g}_mm".replace(".", "_")
        start = (x - size / 2.0 - 1.0, y, 3.0)
        plate.walls.append(
            WallProbe(
                name=name,
                origin=start,
                axis=Z_AXIS,
                at_mm=0.0,
                wall_mm=size,
                towards=X_AXIS,
                fan_deg=0.2,
            )
        )


def _slots(plate: _Plate) -> None:
    places = plate.row("G", [f"{size:g}" for size in GAPS_MM], 9.0, 6.0)
    pitch = places[1][0] - places[0][0]
    left, right = places[0][0], places[-1][0]
    plate.adds.append(
        plate.box("gap block", (left + right) / 2.0, places[0][1], right - left + pitch - 1.0,
                  5.0, _GAP_TALL_MM)
    )  # fmt: skip
    for (x, y), size in zip(places, GAPS_MM, strict=True):
        # Its floor a hair over the plate, so that no two faces fall together.
        plate.cuts.append(
            plate.box(f"gap {size:g}", x, y, size, 8.0, _GAP_TALL_MM + 1.0, low_mm=0.5)
        )
        name = f"gap_{size:g}_mm".replace(".", "_")
        start = (x - size / 2.0 - 1.0, y, 2.0)
        plate.walls.append(
            WallProbe(
                name=name,
                origin=start,
                axis=Z_AXIS,
                at_mm=0.0,
                wall_mm=size,
                towards=X_AXIS,
                fan_deg=0.2,
            )
        )


def _letters(plate: _Plate) -> None:
    sizes = [Letters(stroke, LETTER_GAP_MM) for stroke in STROKES_MM]
    tall = max(size.cap_mm for size in sizes)
    places = plate.row("A", [f"{stroke:g}" for stroke in STROKES_MM], 15.0, tall)
    for (x, y), size in zip(places, sizes, strict=True):
        plate.letter("R58", x, y, size)


def coupon_sizes(coupon: Coupon) -> dict[str, float]:
    """Return every drawn size of a coupon by name [mm]."""
    sizes = {f"barb_{i}_crest_mm": crest for i, crest in enumerate(coupon.crests_mm, 1)}
    sizes |= {f"tip_{i}_at_ring_mm": size for i, size in enumerate(coupon.tips_mm, 1)}
    for word, values in (
        ("post", POSTS_MM),
        ("bore", BORES_MM),
        ("wall", WALLS_MM),
        ("gap", GAPS_MM),
        ("stroke", STROKES_MM),
    ):
        sizes |= {f"{word}_{value:g}_mm".replace(".", "_"): value for value in values}
    return sizes
