"""What matters on a printed part: sizes with limits, pins for the bores, how many to measure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from barbwright import catalog
from barbwright.catalog import Bit
from barbwright.design.part import Design, dimensions

Feature = Literal["bore", "outside", "length"]
# Sizes a fit or a seal hangs on, with the words of the sheet and where to put the tool.
_CRITICAL: dict[str, tuple[str, Feature, str]] = {
    "bore_diameter_mm": ("Bore through the arms", "bore", "pin from every open end"),
    "tip_bore_diameter_mm": ("Bore of the tip", "bore", "pin from the lead end to the crossing"),
    "root_diameter_mm": ("Barb root", "outside", "between two crests, narrow jaws"),
    "crest_diameter_mm": ("Barb crest", "outside", "over each crest, twice at a right angle"),
    "lead_diameter_mm": ("Tip, lead end", "outside", "just behind the rounded edge"),
    "tip_root_diameter_mm": ("Tip, plain neck", "outside", "above the taper"),
    "tine_end_mm": ("Tines, thin end", "outside", "at the very end"),
    "seat_length_mm": ("Tip, tapered length", "length", "from the lead end to the plain neck"),
}
# Inside the part, of another part, or no fit hangs on them.
_NOT_CRITICAL = {
    "nose_diameter_mm",
    "neck_diameter_mm",
    "tube_on_crest_diameter_mm",
    "hub_ball_diameter_mm",
    "relief_ball_diameter_mm",
    "strike_pad_diameter_mm",
    "shoulder_ring_diameter_mm",
    "head_diameter_mm",
    "collar_diameter_mm",
    "sleeve_diameter_mm",
}
_INSIDE = ("bore", "hole", "socket")
_SAME_MM = 0.1


@dataclass(frozen=True)
class CriticalSize:
    """A drawn size and its limits.

    Attributes
    ----------
    name : str
        Key of the dimension in part.json.
    title, where : str
        The sheet's words, and where to measure.
    feature : {"bore", "outside", "length"}
        What kind of size.
    drawn_mm, least_mm, most_mm : float
        Drawn, and what may be delivered [mm].
    """

    name: str
    title: str
    where: str
    feature: Feature
    drawn_mm: float
    least_mm: float
    most_mm: float


@dataclass(frozen=True)
class Pin:
    """Drill shanks as a gauge for one bore.

    Attributes
    ----------
    size : CriticalSize
        The bore.
    go, no_go : tuple of Bit
        Must pass, and must not: one of the metric series, one of the inch ones,
        where such a drill exists.
    """

    size: CriticalSize
    go: tuple[Bit, ...]
    no_go: tuple[Bit, ...]


def critical_sizes(design: Design) -> tuple[CriticalSize, ...]:
    """Return the sizes a fit or a seal hangs on: drawn, less and plus the process tolerance.

    A kind of part this module has never heard of gives its diameters and slots.

    Parameters
    ----------
    design : Design
        A single part [mm].

    Returns
    -------
    tuple of CriticalSize
        Bores first, then outside sizes, then lengths.

    Source: design_record
    """
    sizes: list[CriticalSize] = []
    for name, drawn in dimensions(design).items():
        plain = name.removeprefix("second_")
        if plain.startswith("compensated_"):
            # What the files hold; the part that arrives is measured against the size wanted.
            continue
        # The driver's bore is told on the tip it fits, but is cut in another part.
        foreign = design.ring is not None and plain == "driver_bore_diameter_mm"
        if plain in _CRITICAL:
            title, feature, where = _CRITICAL[plain]
        elif "slot" in plain and plain.endswith("slot_mm"):
            title = plain.removesuffix("_mm").replace("_", " ").capitalize()
            feature, where = "length", "between its faces, inside jaws"
        elif plain in _NOT_CRITICAL or foreign or not plain.endswith("_diameter_mm"):
            continue
        else:
            title = plain.removesuffix("_diameter_mm").replace("_", " ").capitalize()
            inside = any(word in plain for word in _INSIDE)
            feature = "bore" if inside else "outside"
            where = "pin from the open end" if inside else "twice at a right angle"
        if plain == "bore_diameter_mm" and (design.kind.arms < 2 or design.hub is None):
            title = "Bore of the arm" if design.kind.arms == 1 else "Bore"
        if name != plain:
            title = f"Second end: {title[0].lower()}{title[1:]}"
        spread = float(design.conditions.material.tolerance_at(drawn))
        sizes.append(
            CriticalSize(name, title, where, feature, drawn, drawn - spread, drawn + spread)
        )
    order = ("bore", "outside", "length")
    return tuple(sorted(sizes, key=lambda size: order.index(size.feature)))


def pins(sizes: tuple[CriticalSize, ...]) -> tuple[Pin, ...]:
    """Return drills whose shanks tell a good bore: one that must pass, one that must not.

    Parameters
    ----------
    sizes : tuple of CriticalSize
        A part's sizes; only bores count [mm].

    Returns
    -------
    tuple of Pin
        One a bore: the largest drill up to its least size passes, the smallest
        drill over its most size does not.

    Source: asme_b94_11m, iso_235
    """
    drills = sorted(catalog.bits().values(), key=lambda bit: (bit.diameter_mm, bit.designation))
    series = (
        [bit for bit in drills if bit.series == "metric"],
        [bit for bit in drills if bit.series in {"fractional", "number", "letter"}],
    )
    found = []
    for size in sizes:
        if size.feature != "bore":
            continue
        go = [[bit for bit in some if bit.diameter_mm <= size.least_mm + 1e-9] for some in series]
        over = [[bit for bit in some if bit.diameter_mm > size.most_mm + 1e-9] for some in series]
        found.append(
            Pin(
                size,
                tuple(some[-1] for some in go if some),
                tuple(some[0] for some in over if some),
            )
        )
    return tuple(found)


# Largest lot of each row and the sample it asks for: general inspection level II, single sampling.
_SAMPLES = (
    (8, 2),
    (15, 3),
    (25, 5),
    (50, 8),
    (90, 13),
    (150, 20),
    (280, 32),
    (500, 50),
    (1200, 80),
    (3200, 125),
    (10000, 200),
)
LEAST_SAMPLE = 3


def sample_size(pieces: int) -> int:
    """Return how many pieces of a delivery to measure with calipers.

    The published sample sizes, but never fewer than three, which is what the
    proof test takes of a batch (judgement); one piece out of its limits stops
    the lot (judgement: the published plans allow some).

    Parameters
    ----------
    pieces : int
        Pieces delivered of one part number [-].

    Returns
    -------
    int
        Pieces to measure [-].

    Source: iso_2859_1, judgement
    """
    published = next((sample for largest, sample in _SAMPLES if pieces <= largest), 315)
    return min(pieces, max(published, LEAST_SAMPLE))


def orientation(box_mm: tuple[float, float, float]) -> tuple[str, str]:
    """Return how a part stands in the machine when its file's axes are the machine's.

    The axis along the longest side of the bounding box is named first, then the
    second, then the third: ZXY stands on end. Sides of one length can be named
    either way round.

    Parameters
    ----------
    box_mm : tuple of float
        Bounding box along X, Y and Z of the file [mm].

    Returns
    -------
    tuple of str
        The three letters, and a remark where two sides are alike.

    Source: iso_astm_52921, iso_17295
    """
    axes = sorted("XYZ", key=lambda axis: (-round(box_mm["XYZ".index(axis)], 2), axis))
    sides = [box_mm["XYZ".index(axis)] for axis in axes]
    alike = [
        f"{axes[i]} and {axes[i + 1]}" for i in (0, 1) if abs(sides[i] - sides[i + 1]) <= _SAME_MM
    ]
    return "".join(axes), f"sides along {alike[0]} alike" if alike else ""
