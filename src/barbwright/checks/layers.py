"""Build direction: which stresses cross the layers, and which way up is best.

Layers are weakest in tension across them. A stress that lies in the layers may
count on the strength along them; hoop stress about an axis that lies in the
layers crosses them somewhere, torsion and crossing bores always do.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from barbwright.checks.table import Outcome
from barbwright.say import factor

# Axis of the stress behind each check, and how it stands to that axis. Checks that are not here
# compare no tension with a strength, or cross the layers whichever way up the part is.
_ALONG, _AROUND = "along", "around"
STRESSES: dict[str, tuple[tuple[str, str], ...]] = {
    "barb_wall": (("arm", _AROUND),),
    "tip_wall": (("tip", _AROUND),),
    # Bending pulls along the axis, at the arm and where the wood holds the tip.
    "side_load": (("arm", _ALONG), ("tip", _ALONG)),
    "drive_offset": (("tip", _ALONG),),
}


@dataclass(frozen=True)
class Direction:
    """A sensible way up.

    Attributes
    ----------
    id, title : str
        Key, and words.
    upright : tuple of str
        Axes that stand across the layers: arm, tip.
    """

    id: str
    title: str
    upright: tuple[str, ...]


DIRECTIONS = (
    Direction("flat", "lying flat, every axis in the layers", ()),
    Direction("tip_upright", "standing on the tip's axis", ("tip",)),
    Direction("arm_upright", "standing on an arm", ("arm",)),
)


@dataclass(frozen=True)
class DirectionRating:
    """One way up, rated.

    Attributes
    ----------
    direction : Direction
        The way up.
    least_margin : float
        Least safety factor over design factor among the checks it concerns [-].
    governing : str
        Check with that margin.
    """

    direction: Direction
    least_margin: float
    governing: str


def in_layers(check_id: str, direction: Direction) -> bool:
    """Return whether all of a check's tension lies in the layers.

    Parameters
    ----------
    check_id : str
        A check's id [-].
    direction : Direction
        The way up [-].

    Source: design_record
    """
    stresses = STRESSES.get(check_id, ())
    if not stresses:
        return False
    return all(
        (axis in direction.upright) if how == _AROUND else (axis not in direction.upright)
        for axis, how in stresses
    )


def rate_directions(
    results: Sequence[Outcome], strength_z_mpa: float, strength_xy_mpa: float
) -> tuple[DirectionRating, ...]:
    """Return every sensible way up, best first.

    The checks themselves take the weakest strength, so that their verdict holds
    whichever way up the service prints; here each is scaled to the strength its
    stress really meets.

    Parameters
    ----------
    results : sequence of Outcome
        All checks of a part [-].
    strength_z_mpa, strength_xy_mpa : float
        Strength across and along the layers [MPa].

    Returns
    -------
    tuple of DirectionRating
        Best first; of equals the flat one, which is also the shortest to print.

    Source: design_record
    """
    ratio = strength_xy_mpa / strength_z_mpa
    concerned = [r for r in results if r.info.id in STRESSES and r.safety_factor is not None]
    if not concerned:
        return ()
    rated = []
    for direction in DIRECTIONS:
        margins = {
            result.info.id: result.use * (ratio if in_layers(result.info.id, direction) else 1.0)
            for result in concerned
        }
        least = min(margins, key=lambda name: margins[name])
        rated.append(DirectionRating(direction, margins[least], least))
    return tuple(sorted(rated, key=lambda rating: -round(rating.least_margin, 6)))


def advise_direction(ratings: Sequence[DirectionRating]) -> str:
    """Return the best way up in one sentence, with why; empty where nothing depends on it.

    Parameters
    ----------
    ratings : sequence of DirectionRating
        Best first [-].

    Source: design_record
    """
    if not ratings:
        return ""
    best, others = ratings[0], ratings[1:]
    sentence = f"Print it {best.direction.title}"
    worse = [rating for rating in others if rating.least_margin < best.least_margin - 1e-6]
    if not worse:
        return (
            f"{sentence}: no way up is stronger ({best.governing} governs each), and this one is "
            "the lowest to print."
        )
    named = "; ".join(
        f"{rating.direction.title} {factor(rating.least_margin)} ({rating.governing})"
        for rating in worse
    )
    return (
        f"{sentence}: its tension lies in the layers, so the least margin of the checks that "
        f"depend on it is {factor(best.least_margin)} ({best.governing}), against {named}. The "
        "verdict takes the weakest way up, so it holds for each."
    )
