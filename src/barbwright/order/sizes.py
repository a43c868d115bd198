"""What an order asks of a part beside its limits: pins for the bores, how many to measure."""

from __future__ import annotations

from dataclasses import dataclass

from barbwright import catalog
from barbwright.catalog import Bit
from barbwright.design.limits import Limited

_SAME_MM = 0.1


@dataclass(frozen=True)
class Pin:
    """Drill shanks as a gauge for one bore.

    Attributes
    ----------
    bore : Limited
        The bore.
    go, no_go : tuple of Bit
        Must pass, and must not: one of the metric series, one of the inch ones,
        where such a drill exists.
    """

    bore: Limited
    go: tuple[Bit, ...]
    no_go: tuple[Bit, ...]


def pins(sizes: tuple[Limited, ...]) -> tuple[Pin, ...]:
    """Return drills whose shanks tell a good bore: one that must pass, one that must not.

    Parameters
    ----------
    sizes : tuple of Limited
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
    for one in sizes:
        if one.size.feature != "bore":
            continue
        go = [[bit for bit in some if bit.diameter_mm <= one.least_mm + 1e-9] for some in series]
        over = [[bit for bit in some if bit.diameter_mm > one.most_mm + 1e-9] for some in series]
        found.append(
            Pin(
                one,
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
