"""What a drawing's dimensions must measure, those among them that stand in no table of sizes."""

import math

from barbwright.design.draw import side_port_from_lead_mm
from barbwright.design.kinds.fork import cup_rim
from barbwright.design.part import dimensions


def size_of(dimension):
    """Return what a dimension measures, at true size in an enlarged detail too."""
    return float(dimension.get_measurement()) * float(dimension.override().get("dimlfac"))


def sizes_drawn(design):
    """Return every size that a drawing may tell, those of no row of the table among them."""
    sizes = dimensions(design)
    tip, own, kind = design.tip, design.own, design.kind.name
    if tip is not None:
        sizes["side_port_diameter_mm"] = tip.bore_mm
        sizes["side_port_from_lead_mm"] = side_port_from_lead_mm(tip)
    if kind == "collar":
        sizes["screw_from_face_mm"] = float(own.length_mm) / 2.0
    if kind == "fork":
        sizes["step_rise_mm"] = own.rise_mm
        sizes["cup_rim_diameter_mm"] = cup_rim(own)
        sizes["slot_mouth_mm"] = min(1.5, (own.width_mm - own.slot_mm) / 6.0)
        sizes["hook_mouth_mm"] = min(1.5, (own.wide_mm - own.slot_mm) / 6.0)
    if kind == "driver":
        sizes |= dict(
            zip(
                ("wing_length_mm", "wing_thickness_mm", "wing_height_mm"),
                own.paddle_mm,
                strict=True,
            )
        )
    for end, barb in zip(("", "second_"), design.barbs, strict=False):
        sizes[f"{end}shoulder_diameter_mm"] = barb.shoulder_mm
        sizes[f"{end}collar_thickness_mm"] = 1.0
    for end in ("", "second_"):
        sizes[f"{end}barb_angle_deg"] = design.conditions.rules["barb_angle_deg"]
    sizes["driver_cone_deg"] = 45.0
    if kind == "fork":
        sizes["fork_slope_deg"] = math.degrees(math.atan(own.slope))
    if design.mark.lines:
        sizes["mark_depth_mm"] = design.mark.depth_mm
    return sizes
