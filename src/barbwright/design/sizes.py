"""The one table of a part's sizes: name, words, what it is, and how it is measured.

Drawing, stack-up, order, inspection and part.json all read it. A kind's own sizes
stand as rows of the same sort in the kind's file.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

# A bore prints narrow where an outside prints wide; lengths keep their drawn size in the checks;
# a set size is no print but what the user sets by hand; a number is told and never measured.
Feature = Literal["bore", "outside", "length", "set", "number"]
SECOND = "second_"


@dataclass(frozen=True, kw_only=True)
class Size:
    """One named size.

    Attributes
    ----------
    name : str
        Key in part.json and name of its dimension, ending in its unit.
    title : str
        In words, as every page says it.
    reads : str
        Field of the record that holds it.
    feature : {"bore", "outside", "length", "set", "number"}
        What it is to whoever prints and measures it.
    shell : bool
        Whether it moves with the crest: crest less root keeps its drawn difference.
    where : str
        Where the tool goes, for a size that a fit or a seal hangs on; empty for the rest.
    tool : str
        With what the buyer measures it when parts arrive; empty where nobody needs to.
    spread : str
        Judgement number that says how far it may come out off, where that is not the
        process tolerance of its size.
    moves : tuple of str
        Fields of the record that are off together where it is off; empty for the one it
        reads. A shell comes out fat or lean as a whole, and a difference is one of its ends.
    """

    name: str
    title: str
    reads: str
    feature: Feature
    shell: bool = False
    where: str = ""
    tool: str = ""
    spread: str = ""
    moves: tuple[str, ...] = ()

    @property
    def unit(self) -> str:
        """Its unit, as its name ends in it; a dash where it has none."""
        return next((one for one in ("mm", "deg") if self.name.endswith(f"_{one}")), "-")

    @property
    def critical(self) -> bool:
        """Whether a fit or a seal hangs on it."""
        return bool(self.where)

    @property
    def printed(self) -> bool:
        """Whether it is a size of the printed part, with a tolerance."""
        return self.feature in {"bore", "outside", "length"}


ARM_BORE = Size(
    name="bore_diameter_mm",
    title="bore",
    reads="bore_mm",
    feature="bore",
    where="pin from every open end",
    tool="a drill's shank as a pin: the smaller goes in, the larger does not",
)
NECK_LENGTH = Size(
    name="neck_length_mm", title="neck's length", reads="neck_length_mm", feature="length"
)
ARM_LENGTH = Size(
    name="arm_length_mm",
    title="arm from the hub's centre",
    reads="arm_length_mm",
    feature="length",
)
_BARB_SHELL = ("root_mm", "crest_mm", "nose_mm")
BARB = (
    Size(name="root_diameter_mm", title="barb root", reads="root_mm", feature="outside",
         shell=True, where="between two crests, narrow jaws",
         tool="calipers' tips, between two barbs", moves=_BARB_SHELL),
    Size(name="crest_diameter_mm", title="barb crest", reads="crest_mm", feature="outside",
         where="over each crest, twice at a right angle",
         tool="calipers, across the widest barb", moves=_BARB_SHELL),
    # One shell moves together: the difference holds closer than either diameter.
    Size(name="barb_step_mm", title="barb step, crest less root", reads="step_mm",
         feature="length", where="crest less root of one and the same barb",
         tool="calipers: crest less root, both of one piece", spread="step_loss_mm",
         moves=("root_mm", "nose_mm")),
    Size(name="nose_diameter_mm", title="barb nose", reads="nose_mm", feature="outside",
         shell=True, moves=_BARB_SHELL),
    Size(name="neck_diameter_mm", title="neck", reads="neck_mm", feature="outside"),
    Size(name="land_mm", title="land on the crest", reads="land_mm", feature="length"),
    Size(name="barb_pitch_mm", title="pitch of the barbs", reads="pitch_mm", feature="length"),
    Size(name="shoulder_radius_mm", title="radius at the shoulder", reads="shoulder_radius_mm",
         feature="number"),
    Size(name="insertion_mm", title="insertion, nose to shoulder", reads="insertion_mm",
         feature="length"),
    Size(name="barb_count", title="barbs", reads="barb_count", feature="number"),
    Size(name="expansion", title="stretch of the tube", reads="expansion", feature="number"),
    Size(name="tube_on_crest_diameter_mm", title="tube on the crest", reads="tube_on_crest_mm",
         feature="number"),
)  # fmt: skip
HUB = (
    Size(name="hub_ball_diameter_mm", title="hub ball", reads="ball_mm", feature="outside",
         tool="calipers, across the ball"),
    Size(name="relief_ball_diameter_mm", title="relief ball", reads="relief_mm", feature="bore"),
    Size(name="hub_blend_radius_mm", title="radius of the hub's blends", reads="blend_mm",
         feature="number"),
    Size(name="strike_pad_flats_mm", title="strike pad over its flats", reads="pad_mm",
         feature="outside"),
    Size(name="strike_pad_stem_diameter_mm", title="stem under the strike pad", reads="stem_mm",
         feature="outside"),
    Size(name="strike_pad_height_mm", title="strike pad over the hub's centre",
         reads="pad_height_mm", feature="length"),
    Size(name="strike_pad_thickness_mm", title="strike pad's thickness",
         reads="pad_thickness_mm", feature="length"),
    Size(name="strike_pad_chamfer_mm", title="chamfer of the strike pad's edge",
         reads="chamfer_mm", feature="length"),
)  # fmt: skip
RING = (
    Size(name="shoulder_ring_diameter_mm", title="shoulder ring", reads="ring_mm",
         feature="outside"),
    Size(name="shoulder_ring_thickness_mm", title="shoulder ring's thickness",
         reads="thickness_mm", feature="length"),
    # Told on the tip it fits, but cut in another part.
    Size(name="driver_bore_diameter_mm", title="bore of its driver", reads="driver_bore_mm",
         feature="number"),
)  # fmt: skip
_TIP_SHELL = ("lead_mm", "root_mm")
TIP = (
    Size(name="tip_bore_diameter_mm", title="tip bore", reads="bore_mm", feature="bore",
         where="pin from the lead end to the crossing",
         tool="a drill's shank as a pin, through to the hub"),
    Size(name="lead_diameter_mm", title="tip's lead end", reads="lead_mm", feature="outside",
         where="just behind the rounded edge",
         tool="calipers, at the tip's end just behind its round", moves=_TIP_SHELL),
    # It follows from lead end, taper and length.
    Size(name="tip_root_diameter_mm", title="tip's plain neck", reads="root_mm",
         feature="outside", moves=_TIP_SHELL),
    # One shell moves together: the difference holds closer than either diameter.
    Size(name="taper_drop_mm", title="taper, plain neck less tip's end", reads="drop_mm",
         feature="length", where="plain neck less lead end of one and the same tip",
         tool="calipers: behind the ticks less at the tip's end, both of one piece",
         spread="step_loss_mm", moves=("lead_mm",)),
    Size(name="taper", title="taper", reads="taper", feature="number"),
    Size(name="seat_length_mm", title="tip's tapered length", reads="seat_mm", feature="length",
         where="from the lead end to the plain neck",
         tool="calipers' depth rod, from the plain neck to the tip's end"),
    Size(name="contact_length_mm", title="contact in sound wood", reads="contact_mm",
         feature="number"),
    Size(name="scatter_length_mm", title="seat that scatter costs", reads="scatter_mm",
         feature="number"),
    Size(name="fork_neck_mm", title="plain neck for the fork", reads="neck_mm", feature="length"),
    Size(name="tick_spacing_mm", title="spacing of the ticks", reads="tick_pitch_mm",
         feature="length"),
    Size(name="tick_width_mm", title="width of a tick", reads="tick_mm", feature="length"),
    Size(name="tick_depth_mm", title="depth of a tick", reads="tick_depth_mm", feature="length"),
    Size(name="hole_depth_mm", title="depth to drill", reads="hole_depth_mm", feature="number"),
    Size(name="window_low_mm", title="least tap depth", reads="window_low_mm", feature="number"),
    Size(name="window_high_mm", title="most tap depth", reads="window_high_mm",
         feature="number"),
)  # fmt: skip


def in_words(name: str, size: Size) -> str:
    """Return a size's title, with the end it belongs to [-]."""
    return f"second end: {size.title}" if name.startswith(SECOND) else size.title
