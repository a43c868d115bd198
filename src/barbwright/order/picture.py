"""A part as it stands in its file: the ordered mesh itself, shaded, with its axes."""

from __future__ import annotations

import io
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

FRONT = (1.0, -1.45, 0.72)
LIGHT = (0.25, -0.75, 1.0)
PIXELS = 480
SHARPER = 2
POINTS_PER_PIXEL = 1.2
_AXES = (("X", (1.0, 0.0, 0.0)), ("Y", (0.0, 1.0, 0.0)), ("Z", (0.0, 0.0, 1.0)))


@cache
def load_matplotlib() -> Any:
    """Import matplotlib without leaving anything in the user's home."""
    from barbwright.report.fonts import homeless

    with homeless():
        import matplotlib as mpl
        import matplotlib.font_manager
        import matplotlib.textpath
    return mpl


def _unit(vector: tuple[float, float, float]) -> NDArray[np.float64]:
    array: NDArray[np.float64] = np.asarray(vector, dtype=float)
    return np.asarray(array / np.linalg.norm(array))


def standing_png(
    vertices: NDArray[np.float64], triangles: NDArray[np.int64], name: str = ""
) -> bytes:
    """Return a picture of a mesh with build direction upward.

    Parameters
    ----------
    vertices : (n, 3) ndarray
        Points [mm].
    triangles : (m, 3) ndarray
        Indices of points.
    name : str
        Title in the file's metadata.

    Returns
    -------
    bytes
        PNG, square.
    """
    mpl = load_matplotlib()
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    front, up = _unit(FRONT), np.array([0.0, 0.0, 1.0])
    right = _unit(tuple(np.cross(up, front)))
    screen = np.column_stack([right, np.cross(front, right)])
    with mpl.rc_context():
        mpl.rcdefaults()
        figure = Figure(figsize=(PIXELS / 100, PIXELS / 100), dpi=100, facecolor="white")
        canvas = FigureCanvasAgg(figure)
        axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        axes.set_axis_off()
        low, high = vertices.min(axis=0), vertices.max(axis=0)
        margin = 0.06 * float((high - low).max())
        plate = [
            (x, y, low[2] - margin / 3.0)
            for x, y in (
                (low[0] - margin, low[1] - margin),
                (high[0] + margin, low[1] - margin),
                (high[0] + margin, high[1] + margin),
                (low[0] - margin, high[1] + margin),
            )
        ]
        flat = np.asarray(plate) @ screen
        axes.fill(flat[:, 0], flat[:, 1], facecolor="#e8eef4", edgecolor="#7c8a97", linewidth=1.0)
        _draw_axes(axes, np.asarray(plate[0]), screen, 0.22 * float((high - low).max()))
        cloud = np.vstack([vertices @ screen, flat])
        middle = (cloud.min(axis=0) + cloud.max(axis=0)) / 2.0
        half = 0.56 * float((cloud.max(axis=0) - cloud.min(axis=0)).max())
        corner = middle - half
        shaded = _shaded(vertices[triangles], front, screen, corner, 2.0 * half)
        axes.imshow(
            shaded,
            extent=(corner[0], corner[0] + 2.0 * half, corner[1], corner[1] + 2.0 * half),
            origin="lower",
            interpolation="nearest",
            zorder=3,
        )
        axes.set_aspect("auto")
        axes.set_xlim(corner[0], corner[0] + 2.0 * half)
        axes.set_ylim(corner[1], corner[1] + 2.0 * half)
        stream = io.BytesIO()
        canvas.print_png(stream, metadata={"Software": "barbwright", "Title": name})
    return stream.getvalue()


def _shaded(
    corners: NDArray[np.float64],
    front: NDArray[np.float64],
    screen: NDArray[np.float64],
    corner: NDArray[np.float64],
    width_mm: float,
) -> NDArray[np.float64]:
    """Return the mesh as an image: each facet strewn with points, the nearest point wins.

    Sorting whole facets instead lets a bore's long slivers shine through the wall.
    """
    across = corners[:, [1, 2, 0]] - corners
    normals = np.cross(across[:, 0], across[:, 1])
    lengths = np.linalg.norm(normals, axis=1)
    normals = normals / np.where(lengths > 0.0, lengths, 1.0)[:, None]
    seen = normals @ front > 0.0
    corners, normals = corners[seen], normals[seen]
    per_mm = PIXELS * SHARPER / width_mm
    flat = (corners @ screen - corner) * per_mm
    depth = corners @ front
    # The longest edge is walked along, the height over it across.
    edges = np.linalg.norm(flat[:, [1, 2, 0]] - flat, axis=2)
    longest = edges.argmax(axis=1)
    turn = (longest[:, None] + np.arange(3)) % 3
    rows = np.arange(len(flat))[:, None]
    flat, depth, edge = flat[rows, turn], depth[rows, turn], edges.max(axis=1)
    first, second = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
    area = np.abs(first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0])
    along = np.ceil(POINTS_PER_PIXEL * edge).astype(int) + 1
    over = np.ceil(POINTS_PER_PIXEL * area / np.maximum(edge, 1e-9)).astype(int) + 1
    count = along * over
    facet = np.repeat(np.arange(len(flat)), count)
    place = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)
    s = (place % along[facet] / np.maximum(along[facet] - 1, 1))[:, None]
    t = (place // along[facet] / np.maximum(over[facet] - 1, 1))[:, None]
    points = np.dstack([flat, depth])[facet]
    found = (1.0 - t) * (points[:, 0] + s * (points[:, 1] - points[:, 0])) + t * points[:, 2]
    size = PIXELS * SHARPER
    pixel = np.clip(found[:, :2].astype(int), 0, size - 1)
    # The rounding keeps one order of equally near points on every machine.
    order = np.argsort(np.round(found[:, 2], 6), kind="stable")
    bright = 0.40 + 0.55 * np.clip(normals @ _unit(LIGHT), 0.0, 1.0)
    image = np.zeros((size, size, 4))
    pixel, shade = pixel[order], bright[facet[order]]
    image[pixel[:, 1], pixel[:, 0]] = np.column_stack(
        [shade * 0.93, shade * 0.97, shade, np.ones(len(shade))]
    )
    solid = image.reshape(PIXELS, SHARPER, PIXELS, SHARPER, 4)
    cover = solid[..., 3].sum(axis=(1, 3))
    colour = solid[..., :3].sum(axis=(1, 3)) / np.maximum(cover, 1.0)[..., None]
    return np.dstack([colour, cover / SHARPER**2])


def _draw_axes(
    axes: Any, corner: NDArray[np.float64], screen: NDArray[np.float64], length: float
) -> None:
    for letter, direction in _AXES:
        start, end = corner @ screen, (corner + length * np.asarray(direction)) @ screen
        beyond = start + 1.18 * (end - start)
        axes.annotate(
            "",
            zorder=4,
            xy=tuple(end),
            xytext=tuple(start),
            arrowprops={"arrowstyle": "-|>", "color": "#1f4e79", "linewidth": 1.6},
        )
        axes.text(
            *beyond, letter, color="#1f4e79", fontsize=13, ha="center", va="center",
            fontweight="bold", zorder=5, parse_math=False,
        )  # fmt: skip
