"""The whole order as one 3MF: every piece, named and numbered, side by side as it is built."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from barbwright.aside import scratch_folder
from barbwright.export.threemf import Body, bytes_3mf, require_same
from barbwright.order.record import Order
from barbwright.reread.threemf import read_3mf
from barbwright.solid.mesh import TriangleMesh

# Between two pieces; a service nests them anew, and must not find them touching.
GAP_MM = 5.0
ROW_MM = 200.0

Spot = tuple[float, float]


def arranged(sizes: Sequence[tuple[float, float, int]]) -> list[list[Spot]]:
    """Return the low corner of each piece, row after row.

    Parameters
    ----------
    sizes : sequence of (float, float, int)
        Length along X and Y of each part, and its pieces [mm].

    Returns
    -------
    list of list of (float, float)
        One list a part [mm]; no two pieces are nearer than `GAP_MM`.
    """
    out: list[list[Spot]] = []
    x = y = deep = 0.0
    for wide, long, pieces in sizes:
        spots = []
        for _ in range(pieces):
            if x > 0.0 and x + wide > ROW_MM:
                x, y, deep = 0.0, y + deep + GAP_MM, 0.0
            spots.append((x, y))
            x, deep = x + wide + GAP_MM, max(deep, long)
        out.append(spots)
    return out


def whole_order_3mf(order: Order) -> bytes:
    """Return every piece of an order in one file, read back strictly before it is handed on.

    Parameters
    ----------
    order : Order
        Verified parts.

    Raises
    ------
    BuildError
        When it cannot be written, or reads back otherwise.
    """
    lows = [part.verified.vertices.min(axis=0) for part in order.parts]
    boxes = [part.verified.vertices.max(axis=0) - low for part, low in zip(
        order.parts, lows, strict=True)]  # fmt: skip
    rows = [
        (float(box[0]), float(box[1]), part.pieces)
        for part, box in zip(order.parts, boxes, strict=True)
    ]
    bodies = [
        Body(
            name=part.number,
            material=part.material_name,
            mesh=TriangleMesh(
                part.verified.vertices.astype(np.float32),
                part.verified.triangles.astype(np.int32),
            ),
            at_mm=tuple((x - float(low[0]), y - float(low[1])) for x, y in spots),
        )
        for part, low, spots in zip(order.parts, lows, arranged(rows), strict=True)
    ]
    content = bytes_3mf(order.name, bodies)
    with scratch_folder("order") as place:
        path = place / "order.3mf"
        path.write_bytes(content)
        require_same(read_3mf(path), order.name, bodies)
    return content
