"""A level section of a triangle mesh as a picture: where there is material, where there is none."""

import numpy as np


def filled_section(vertices, triangles, z_mm, half_x_mm, half_y_mm, pixel_mm):
    """Return an array, rows along y and columns along x, true where the section is material.

    Each row is one straight line through the section; between its odd and even crossings
    with the mesh's own edges lies material.
    """
    corners = np.asarray(vertices)[np.asarray(triangles)]
    above = corners[..., 2] > z_mm
    cut = corners[above.any(axis=1) & ~above.all(axis=1)]
    ends = []
    for triangle in cut:
        points = []
        for a, b in ((0, 1), (1, 2), (2, 0)):
            low, high = triangle[a, 2], triangle[b, 2]
            if (low > z_mm) != (high > z_mm):
                share = (z_mm - low) / (high - low)
                points.append(triangle[a, :2] + share * (triangle[b, :2] - triangle[a, :2]))
        ends.append(points)
    lines = np.array(ends)
    # Between the pixels' corners, so that no line runs through a vertex drawn on the grid.
    ys = np.arange(-half_y_mm, half_y_mm, pixel_mm) + 0.497 * pixel_mm
    xs = np.arange(-half_x_mm, half_x_mm, pixel_mm) + 0.503 * pixel_mm
    out = np.zeros((len(ys), len(xs)), bool)
    for row, y in enumerate(ys):
        one, other = lines[:, 0], lines[:, 1]
        met = (one[:, 1] > y) != (other[:, 1] > y)
        share = (y - one[met, 1]) / (other[met, 1] - one[met, 1])
        at = np.sort(one[met, 0] + share * (other[met, 0] - one[met, 0]))
        out[row] = np.searchsorted(at, xs) % 2 == 1
    return out
