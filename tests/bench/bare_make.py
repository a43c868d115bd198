"""A bare script: the demo tee by cadquery, mark included, STEP and STL; nothing verified.

The yardstick of `make tee`: run as ``python bare_make.py FOLDER``, where shape.json holds the
outlines. It knows nothing of this project; only cadquery builds and writes.
"""

import json
import math
import sys
from pathlib import Path
from types import SimpleNamespace

import cadquery as cq
import numpy as np


def prism(part):
    """A straight prism; those of a part are all of straight edges."""
    plane = cq.Workplane(cq.Plane(part.origin, part.x_direction, part.normal))
    return plane.polyline([p[:2] for p in part.outline]).close().extrude(part.depth_mm).val()


def body(part):
    if not hasattr(part, "axis"):
        return prism(part)
    axis, origin = np.array(part.axis), np.array(part.origin)
    back = 0.0 if part.sweep_deg >= 360 else -math.radians(part.sweep_deg) / 2
    towards = np.array(part.towards)
    first = towards * math.cos(back) + np.cross(axis, towards) * math.sin(back)

    def place(point):
        return cq.Vector(*(origin + point[0] * axis + point[1] * first))

    edges = []
    ends = np.roll(np.array(part.outline), -1, axis=0)
    for (x, y, bulge), end in zip(part.outline, ends, strict=True):
        start, chord = np.array([x, y]), end[:2] - (x, y)
        if np.hypot(*chord) < 1e-7:
            continue
        if bulge:
            middle = start + chord / 2 + bulge / 2 * np.array([chord[1], -chord[0]])
            edges.append(cq.Edge.makeThreePointArc(place(start), place(middle), place(end)))
        else:
            edges.append(cq.Edge.makeLine(place(start), place(end)))
    wire = cq.Wire.assembleEdges(edges)
    line = cq.Vector(*origin), cq.Vector(*(origin + axis))
    return cq.Solid.revolve(wire, [], part.sweep_deg, *line)


shape = json.loads(
    (Path(sys.argv[1]) / "shape.json").read_text(), object_hook=lambda d: SimpleNamespace(**d)
)
adds, cuts = [body(part) for part in shape.adds], [body(part) for part in shape.cuts]
tee = adds[0].fuse(*adds[1:]) if adds[1:] else adds[0]
tee = tee.cut(*cuts) if cuts else tee
for mark in shape.engravings:
    plane = cq.Workplane(cq.Plane(mark.origin, mark.x_direction, mark.normal))
    for strokes in mark.letters:
        tools = [plane.polyline(s).close().extrude(mark.depth_mm).val() for s in strokes]
        tee = tee.cut(tools[0].fuse(*tools[1:]) if tools[1:] else tools[0])
folder = Path(sys.argv[1])
cq.exporters.export(cq.Workplane(tee), str(folder / "bare.step"))
tee.exportStl(str(folder / "bare.stl"), tolerance=0.005, angularTolerance=0.5, relative=False)
