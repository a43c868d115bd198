"""The one table of the sizes a user may force with --set: unit, feature, and what is in sense."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, kw_only=True)
class ForcedSize:
    """One size that --set may force.

    Attributes
    ----------
    name : str
        As it is written after --set.
    unit : {"mm", "deg", "-"}
        What it is read in.
    of : {"barb", "tip", "hub", "tool", "own"}
        The feature that has it, or every tool; a kind's own is listed in the kind's file.
    least, most : float
        Beyond these it can only be a slip; whether it can be built is for the refusals.
    whole : bool
        Whether it is a whole number.
    of_one_tube : bool
        Whether it was forced for one tube's barb and would not fit another.
    """

    name: str
    unit: Literal["mm", "deg", "-"] = "mm"
    of: Literal["barb", "tip", "hub", "tool", "own"] = "own"
    least: float = 0.1
    most: float = 200.0
    whole: bool = False
    of_one_tube: bool = False

    @property
    def sense(self) -> str:
        """What is in sense, in words."""
        if self.whole and self.most - self.least == 1.0:
            return f"{self.least:g} or {self.most:g}"
        return f"{self.least:g} to {self.most:g} {self.unit}".strip(" -")


def by_name(sizes: Iterable[ForcedSize]) -> Mapping[str, ForcedSize]:
    """Return sizes by name, in order [-]."""
    return {size.name: size for size in sizes}


SHARED_SIZES = by_name(
    (
        ForcedSize(name="bore", of="barb", of_one_tube=True),
        ForcedSize(name="root", of="barb", of_one_tube=True),
        ForcedSize(name="crest", of="barb", of_one_tube=True),
        ForcedSize(name="nose", of="barb", of_one_tube=True),
        ForcedSize(name="neck", of="barb", of_one_tube=True),
        ForcedSize(name="land", of="barb"),
        ForcedSize(name="pitch", of="barb"),
        ForcedSize(name="barb_angle", of="barb", unit="deg", least=3.0, most=45.0),
        ForcedSize(name="expansion", of="barb", unit="-", least=0.01, most=1.0),
        ForcedSize(name="tip_bore", of="tip"),
        ForcedSize(name="taper", of="tip", unit="-", least=0.01, most=0.2),
        ForcedSize(name="lead", of="tip"),
        ForcedSize(name="contact", of="tip"),
        ForcedSize(name="seat", of="tip"),
        ForcedSize(name="tip_neck", of="tip"),
        ForcedSize(name="relief_ball", of="hub", of_one_tube=True),
        ForcedSize(name="hub_ball", of="hub", of_one_tube=True),
        ForcedSize(name="pad", of="hub"),
        # How a tool's job says which kind of part it is made for.
        ForcedSize(name="arms", of="tool", unit="-", least=0.0, most=2.0, whole=True),
        ForcedSize(name="side_ports", of="tip", unit="-", least=0.0, most=1.0, whole=True),
    )
)
