"""How to print a part: way up, walls, layer, seam, supports; for a service and for a desktop."""

from __future__ import annotations

from math import ceil

from barbwright.checks.layers import rate_directions
from barbwright.design.laying import AS_DRAWN, LAYINGS
from barbwright.report.words import PartReport
from barbwright.say import bare, millimetres

# A line of a common nozzle of 0.4 mm; a step of a barb wants some layers to stand in.
LINE_MM, LAYERS_IN_A_STEP = 0.42, 4
COARSEST_MM = 0.2


def _seam(stands: str) -> str:
    """Return where each layer's loop may begin; upright, every one of what seals has its own."""
    if stands:
        return (
            f"scattered, never lined up: upright each layer of the {stands} begins somewhere on "
            "it, and water follows a line of such places."
        )
    return "on a neck or at a shoulder, never across a barb's land: water follows it."


def printing_advice(report: PartReport) -> tuple[str, ...]:
    """Return how a part is printed, in sentences (judgement, where its record does not say).

    Parameters
    ----------
    report : PartReport
        The part.

    Returns
    -------
    tuple of str
        Way up first.
    """
    material, design = report.job.material, report.design
    ratings = rate_directions(report.outcomes, material.strength_z_mpa, material.strength_xy_mpa)
    laying = LAYINGS[ratings[0].direction.id] if ratings else AS_DRAWN
    melt = "material extrusion" in material.process_52900
    end = "pad" if design.hub is not None else "barb"
    files = f"as STL and 3MF lie on Z = 0; the part {laying.words}"
    if melt and design.tip is not None:
        # What hangs in the air cannot be laid down as a line: the files are turned.
        files = (
            f"turn the file, in which the part {laying.words}: a taper that lies flat hangs in "
            f"the air on a desktop printer. Stand it on its {end}, the tip upward; its layers then "
            "cross the tip, which at the bench is borne"
        )
    elif melt and design.barbs:
        # The check's way up is the stronger one; at the bench a barb is asked to seal.
        on = "its head" if design.own is not None else "one nose"
        files = (
            "turn the file, in which the part lies flat: there the steps of its layers run "
            "along the barb and lead water across every land, and its round underside hangs in the "
            f"air. Stand it on {on}: the layers ring the barb. They then cross its pull, so push "
            "and pull in line and bend nothing at it"
        )
    lines = [
        f"Way up: {files}.",
        "Solid: no infill pattern, no hollowing.",
    ]
    if not melt:
        if "vat" in material.process_52900:
            lines += [
                "Supports outside barbs, taper and bores: on the hub, the pad's rim or a neck.",
                "Wash the bores through before curing, and cure fully: light and heat.",
            ]
        return tuple(lines)
    walls = ceil(material.min_wall_exposed_mm / LINE_MM)
    lines.append(
        f"Walls: at least {walls} lines of {millimetres(LINE_MM)} mm, so that every wet wall of "
        f"{millimetres(material.min_wall_exposed_mm)} mm is lines alone, then fill 100 %."
    )
    if design.barbs:
        step = float(design.barbs[0].step_mm) / 2.0
        layer = min(step / LAYERS_IN_A_STEP, COARSEST_MM)
        lines.append(
            f"Layer: no more than {bare(layer, 'down', 2)} mm, {LAYERS_IN_A_STEP} in a barb's "
            f"step of {millimetres(step)} mm a side."
        )
    stands = "taper" if design.tip is not None else "barb" if design.barbs else ""
    lines += [
        f"Seam: {_seam(stands)} No brim or raft on the taper.",
        "Supports: from the plate, under arms that lie level alone; none inside a bore, none on "
        "a taper. Clear each bore with its drill by hand, and pare support off barbs, not sand it.",
        "Try the water proof for an hour: lines of melt leak between layers where a wall looks "
        "whole.",
    ]
    return tuple(lines)
