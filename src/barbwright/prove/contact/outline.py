"""The barb as its tube meets it: the drawn outline with its crests' corners rounded.

Distance is measured to the outline moved inwards by the corner's radius, less that radius: exact
rounded convex corners, with normals and curvature everywhere outside. Concave corners stay sharp.
It has a sign within the moved outline too: without one, a point that a guess throws deeper than the
corner's radius is pressed further in, and a tube's end once stayed inside a ramp.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barbwright.prove.contact.materials import Array


@dataclass(frozen=True, kw_only=True)
class DrawnBarb:
    """The outline of one barbed arm, as plain numbers.

    Attributes
    ----------
    nose_mm, root_mm, crest_mm : float
        Diameters [mm].
    land_mm, pitch_mm, insertion_mm : float
        Lengths [mm].
    angle_deg : float
        Ramp to axis [degree].
    count : int
        Barbs [-].
    """

    nose_mm: float
    root_mm: float
    crest_mm: float
    land_mm: float
    pitch_mm: float
    insertion_mm: float
    angle_deg: float = 13.5
    count: int = 3

    @property
    def slope(self) -> float:
        """Rise of a ramp's radius over its length [-]."""
        return float(np.tan(np.radians(self.angle_deg)))

    @property
    def lands_mm(self) -> Array:
        """Where each land starts, from the nose (count,) [mm]."""
        first = (self.crest_mm - self.nose_mm) / 2.0 / self.slope
        return np.asarray(first + self.pitch_mm * np.arange(self.count), dtype=float)

    def points(self) -> Array:
        """Return the outline (n, 2): from the nose along the arm, and radius [mm]."""
        nose, root, crest = self.nose_mm / 2.0, self.root_mm / 2.0, self.crest_mm / 2.0
        ramp = (crest - root) / self.slope
        found = [(0.0, 0.0), (0.0, nose)]
        for number, start in enumerate(self.lands_mm):
            if number:
                found.append((start - ramp, root))
            found += [(start, crest), (start + self.land_mm, crest), (start + self.land_mm, root)]
        found.append((self.insertion_mm + 20.0, root))
        return np.array(found)


def inset(points: Array, radius_mm: float) -> Array:
    """Return an outline moved to its right-hand side by a radius.

    Parameters
    ----------
    points : (n, 2) ndarray
        The outline, the body on its right [mm].
    radius_mm : float
        How far [mm].
    """
    along = np.diff(points, axis=0)
    along /= np.linalg.norm(along, axis=1)[:, None]
    out = np.stack([-along[:, 1], along[:, 0]], 1)
    start = points[:-1] - radius_mm * out
    turn = along[:-1, 0] * along[1:, 1] - along[:-1, 1] * along[1:, 0]
    apart = start[1:] - start[:-1]
    share = (apart[:, 0] * along[1:, 1] - apart[:, 1] * along[1:, 0]) / turn
    meet = start[:-1] + share[:, None] * along[:-1]
    return np.vstack([start[:1], meet, points[-1:] - radius_mm * out[-1:]])


class RigidSurface:
    """Signed distance to a rounded outline.

    Parameters
    ----------
    points : (n, 2) ndarray
        Outline, axial places rising away from the tube [mm].
    radius_mm : float
        Radius of its convex corners [mm].
    """

    def __init__(self, points: Array, radius_mm: float) -> None:
        # The tube lies in rising z; the barb comes to it nose first, so its axis turns round.
        moved = inset(points, radius_mm) * (-1.0, 1.0)
        self._start, self._along = moved[:-1], np.diff(moved, axis=0)
        self._square = (self._along**2).sum(1)
        self.radius_mm = radius_mm

    def distance(self, at: Array) -> tuple[Array, Array, Array]:
        """Return gap [mm], outward normal [-] and the normal's derivative [1/mm].

        Parameters
        ----------
        at : (n, 2) ndarray
            Points in the barb's frame: axial from the nose towards the tube, radius [mm].
        """
        from_start = at[:, None] - self._start
        share = np.clip((from_start * self._along).sum(2) / self._square, 0.0, 1.0)
        apart = from_start - share[..., None] * self._along
        far = np.einsum("nsk,nsk->ns", apart, apart)
        nearest = far.argmin(1)
        pick = np.arange(len(at))
        length = np.maximum(np.sqrt(far[pick, nearest]), 1e-12)
        length = np.where(self._within(at), -length, length)
        normal = apart[pick, nearest] / length[:, None]
        near = share[pick, nearest]
        bent = np.where((near <= 0.0) | (near >= 1.0), 1.0 / length, 0.0)
        across = np.stack([-normal[:, 1], normal[:, 0]], 1)
        turn = bent[:, None, None] * across[:, :, None] * across[:, None, :]
        return length - self.radius_mm, normal, turn

    def _within(self, at: Array) -> Array:
        """Return which points lie within the moved outline: under an odd count of its lines."""
        end = self._start + self._along
        z, r = at[:, :1], at[:, 1:]
        spans = (self._start[:, 0] > z) != (end[:, 0] > z)
        run = np.where(self._along[:, 0] == 0.0, 1.0, self._along[:, 0])
        height = self._start[:, 1] + self._along[:, 1] / run * (z - self._start[:, 0])
        return np.asarray((spans & (height > r)).sum(1) % 2 == 1)
