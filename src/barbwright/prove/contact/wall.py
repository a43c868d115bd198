"""The tube's wall as axisymmetric four-node quadrilaterals with mean dilatation, at large strain.

One pressure an element, from its whole change of volume, so that a nearly incompressible wall
does not lock. All is written in the principal frame of the stretch: there a material is three
numbers, and the tangent is exact. Nodes are numbered across the wall first, so the system is a
narrow band and is solved as one.
"""

from __future__ import annotations

import numpy as np

from barbwright.prove.contact.materials import Array, Wall, Whole

_GAUSS = 1.0 / np.sqrt(3.0)
_POINTS = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
# glibc gives memory back to the system only above twice the largest block it saw freed; without
# one of this size each evaluation's arrays are handed out anew, page by page, at twice the time.
_KEPT_BYTES = 31 * 2**20


class TubeWall:
    """A tube's wall between its end (z 0) and a section far from the barb.

    Parameters
    ----------
    stations_mm : (n,) ndarray
        Axial places of the columns of nodes, rising [mm].
    radii_mm : (m,) ndarray
        Radial places of the rows of nodes, rising from the bore [mm].
    material : Wall
        What it is made of.
    edge_mm : float
        How far the bore's edge is broken at the tube's end, out and along [mm].
    """

    def __init__(
        self, stations_mm: Array, radii_mm: Array, material: Wall, edge_mm: float = 0.0
    ) -> None:
        self.material = material
        self.columns, self.rows = len(stations_mm), len(radii_mm)
        z, r = np.meshgrid(stations_mm, radii_mm, indexing="ij")
        inner, outer = radii_mm[0], radii_mm[-1]
        broken = np.maximum(edge_mm - (z - stations_mm[0]), 0.0)
        r = r + broken * (outer - r) / (outer - inner)
        self.rest = np.stack([z.ravel(), r.ravel()], 1)
        first = np.arange(self.columns - 1)[:, None] * self.rows + np.arange(self.rows - 1)
        corner = first.ravel()
        self.cells = np.stack([corner, corner + self.rows, corner + self.rows + 1, corner + 1], 1)
        self.unknowns = 2 * len(self.rest)
        self.places = np.stack([2 * self.cells, 2 * self.cells + 1], 2).reshape(-1, 8)
        self.band = int((self.places.max(1) - self.places.min(1)).max())
        self._shape_functions()
        np.empty(_KEPT_BYTES, dtype=np.uint8)
        # Inverse plastic metric zz, rr, zr, tt, and accumulated plastic strain.
        count = self.weight.size
        self.metric = np.repeat(np.array([[1.0], [1.0], [0.0], [1.0]]), count, 1)
        self.plastic = np.zeros(count)
        self.pressure = np.zeros(len(self.cells))
        self._next = (self.metric, self.plastic)
        each = self.band_places(self.places).reshape(-1, 64)
        self._entries = np.ascontiguousarray(each.T).ravel()
        self._flat_places = np.ascontiguousarray(self.places.T).ravel()

    def _shape_functions(self) -> None:
        """Set what a point knows at rest; points are the elements' first ones, then the second."""
        at = _GAUSS * _POINTS
        ones = 1.0 + at[:, None] * _POINTS[None]
        value = ones[..., 0] * ones[..., 1] / 4.0
        slope = np.stack([_POINTS[:, 0] * ones[..., 1], _POINTS[:, 1] * ones[..., 0]], 2) / 4.0
        corners = self.rest[self.cells]
        jacobian = np.einsum("eai,qaj->qeij", corners, slope)
        gradient = np.einsum("qaj,qeji->iaqe", slope, np.linalg.inv(jacobian))
        self._gradient = np.ascontiguousarray(gradient).reshape(2, 4, -1)
        radius = np.einsum("qa,ea->qe", value, corners[:, :, 1])
        weight = 2.0 * np.pi * radius * np.linalg.det(jacobian)
        self.weight = weight.ravel()
        self.volume = weight.sum(0)
        self._around = (value.T[:, :, None] / radius).reshape(4, -1)

    def band_places(self, places: Whole) -> Whole:
        """Return where the entries of (n, k, k) blocks stand in the band's storage.

        Parameters
        ----------
        places : (n, k) ndarray of int
            The unknowns of each block.
        """
        row = np.repeat(places, places.shape[1], 1)
        column = np.tile(places, (1, places.shape[1]))
        # LAPACK's general band, stored by columns: rows 0 to band - 1 are its own working space.
        height = 3 * self.band + 1
        return (column * height + 2 * self.band + row - column).ravel()

    def nodal_volume(self) -> Array:
        """Return each node's share of the wall's volume (n,) [mm3]."""
        shares = np.repeat(self.volume / 4.0, 4)
        return np.bincount(self.cells.ravel(), shares, len(self.rest)).astype(float)

    def commit(self) -> None:
        """Keep the plastic strain of the last evaluation."""
        self.metric, self.plastic = self._next

    def evaluate(self, moved: Array, *, tangent: bool) -> tuple[Array, Array]:
        """Return the nodal forces and, if asked, the band of their derivative.

        Parameters
        ----------
        moved : (n, 2) ndarray
            Displacements [mm].
        tangent : bool
            Whether the derivative is wanted.

        Returns
        -------
        tuple of ndarray
            Forces (2 n,) [N], and the band flat in LAPACK's storage [N/mm].
        """
        z, r = np.tile(moved[self.cells].transpose(2, 1, 0), 4)
        g_z, g_r = self._gradient
        f_zz, f_zr = 1.0 + (z * g_z).sum(0), (z * g_r).sum(0)
        f_rz, f_rr = (r * g_z).sum(0), 1.0 + (r * g_r).sum(0)
        f_tt = 1.0 + (r * self._around).sum(0)
        flat = f_zz * f_rr - f_zr * f_rz
        if flat.min() <= 0.0 or f_tt.min() <= 0.0:
            raise FloatingPointError
        volume_ratio = flat * f_tt
        trial, cosine, sine = self._trial(f_zz, f_zr, f_rz, f_rr, f_tt)
        answer = self.material.answer(0.5 * np.log(trial), self.plastic)
        self._next = (
            self._metric(answer.elastic, cosine, sine, (f_zz, f_zr, f_rz, f_rr, f_tt, flat)),
            answer.plastic,
        )
        swollen = self._over_points(volume_ratio * self.weight) / self.volume
        self.pressure = self.material.bulk_mpa * (swollen - 1.0)
        pressed = np.tile(self.pressure, 4) * volume_ratio
        # Each node's gradient where the wall is now: along, across, and around.
        now_z = (g_z * f_rr - g_r * f_rz) / flat
        now_r = (g_r * f_zz - g_z * f_zr) / flat
        around = self._around / f_tt
        one, two, hoop = (answer.stress + pressed) * self.weight
        square_c, square_s, both = cosine * cosine, sine * sine, cosine * sine
        s_zr = both * (one - two)
        nodal = np.empty((4, 2, len(flat)))
        nodal[:, 0] = (square_c * one + square_s * two) * now_z + s_zr * now_r
        nodal[:, 1] = s_zr * now_z + (square_s * one + square_c * two) * now_r + hoop * around
        force = np.bincount(self._flat_places, self._over_points(nodal).ravel(), self.unknowns)
        if not tangent:
            return np.asarray(force), np.empty(0)
        turn = np.array(
            [
                [square_c, both, both, square_s],
                [square_s, -both, -both, square_c],
                [-both, square_c, -square_s, both],
                [-both, -square_s, square_c, both],
            ]
        )
        moduli = self._moduli(answer.stress, answer.stiffness, trial, pressed, turn)
        stiff = self._between_nodes(moduli, now_z, now_r, around)
        swell = np.empty((4, 2, len(flat)))
        swell[:, 0], swell[:, 1] = now_z, now_r + around
        swell = self._over_points(swell * (volume_ratio * self.weight)).reshape(8, 1, -1)
        stiff += (self.material.bulk_mpa / self.volume) * swell * swell.transpose(1, 0, 2)
        size = (3 * self.band + 1) * self.unknowns
        return np.asarray(force), np.asarray(np.bincount(self._entries, stiff.ravel(), size))

    def _over_points(self, values: Array) -> Array:
        """Return the sums over each element's four points: (..., 4 n) to (..., n)."""
        return np.asarray(values.reshape(*values.shape[:-1], 4, -1).sum(-2))

    def _trial(
        self, f_zz: Array, f_zr: Array, f_rz: Array, f_rr: Array, f_tt: Array
    ) -> tuple[Array, Array, Array]:
        """Return squared trial stretches (3, n) and the direction of the first."""
        c_zz, c_rr, c_zr, c_tt = self.metric
        a, b = f_zz * c_zz + f_zr * c_zr, f_zz * c_zr + f_zr * c_rr
        c, d = f_rz * c_zz + f_rr * c_zr, f_rz * c_zr + f_rr * c_rr
        b_zz, b_zr, b_rr = a * f_zz + b * f_zr, a * f_rz + b * f_rr, c * f_rz + d * f_rr
        mean, half = (b_zz + b_rr) / 2.0, (b_zz - b_rr) / 2.0
        spread = np.sqrt(half * half + b_zr * b_zr)
        turn = 0.5 * np.arctan2(b_zr, half)
        large = mean + spread
        small = (b_zz * b_rr - b_zr * b_zr) / large
        return np.stack([large, small, f_tt * f_tt * c_tt]), np.cos(turn), np.sin(turn)

    @staticmethod
    def _metric(elastic: Array, c: Array, s: Array, f: tuple[Array, ...]) -> Array:
        """Return the inverse plastic metric that leaves these elastic log strains."""
        f_zz, f_zr, f_rz, f_rr, f_tt, flat = f
        one, two, hoop = np.exp(2.0 * elastic)
        b_zz, b_rr = one * c * c + two * s * s, one * s * s + two * c * c
        b_zr = (one - two) * c * s
        i_zz, i_zr, i_rz, i_rr = f_rr / flat, -f_zr / flat, -f_rz / flat, f_zz / flat
        a, b = i_zz * b_zz + i_zr * b_zr, i_zz * b_zr + i_zr * b_rr
        d, e = i_rz * b_zz + i_rr * b_zr, i_rz * b_zr + i_rr * b_rr
        return np.stack(
            [a * i_zz + b * i_zr, d * i_rz + e * i_rr, a * i_rz + b * i_rr, hoop / f_tt**2]
        )

    def _moduli(
        self, stress: Array, stiffness: Array, trial: Array, pressed: Array, turn: Array
    ) -> Array:
        """Return the moduli (5, 5, n), weighed, by the gradient's parts zz, zr, rz, rr, tt.

        They are known along the principal stretches 1, 2 and t; turned are the moduli, which are
        fewer than the nodes' rows.
        """
        weight = self.weight
        one, two = trial[0], trial[1]
        apart = one - two
        # Where two stretches are one, the quotient has the limit of its derivative.
        close = apart < 1e-6 * one
        limit = (stiffness[0, 0] - stiffness[0, 1]) / 2.0 - stress[0]
        quotient = (stress[0] * two - stress[1] * one) / np.where(close, 1.0, apart)
        shear = np.where(close, limit, quotient)
        own = (np.stack([stiffness[i, i] - stress[i] for i in range(3)])) * weight
        cross = (
            np.stack([stiffness[i, j] for i, j in ((0, 1), (0, 2), (1, 2))]) + pressed
        ) * weight
        across = (shear - pressed) * weight
        by_turn = (
            own[0] * turn[0] + cross[0] * turn[1],
            cross[0] * turn[0] + own[1] * turn[1],
            (shear + stress[1]) * weight * turn[2] + across * turn[3],
            across * turn[2] + (shear + stress[0]) * weight * turn[3],
        )
        moduli = np.empty((5, 5, len(weight)))
        for part in range(4):
            moduli[part, :4] = sum(turn[i, part] * by_turn[i] for i in range(4))
        moduli[4, :4] = moduli[:4, 4] = cross[1] * turn[0] + cross[2] * turn[1]
        moduli[4, 4] = own[2]
        return moduli

    def _between_nodes(self, moduli: Array, now_z: Array, now_r: Array, around: Array) -> Array:
        """Return the nodes' stiffness (8, 8, elements), all points summed [N/mm]."""
        # By a node's move along, and by its move across: what the gradient's parts answer.
        by_z = moduli[:, 0, None] * now_z + moduli[:, 1, None] * now_r
        by_r = (
            moduli[2:, 2, None] * now_z + moduli[2:, 3, None] * now_r + moduli[2:, 4, None] * around
        )
        stiff = np.empty((4, 2, 4, 2, len(self.cells)))
        for node in range(4):
            z, r, hoop = now_z[node], now_r[node], around[node]
            stiff[node, 0, :, 0] = self._over_points(z * by_z[0] + r * by_z[1])
            stiff[node, 1, :, 0] = self._over_points(z * by_z[2] + r * by_z[3] + hoop * by_z[4])
            stiff[node, 1, :, 1] = self._over_points(z * by_r[0] + r * by_r[1] + hoop * by_r[2])
        stiff[:, 0, :, 1] = stiff[:, 1, :, 0].transpose(1, 0, 2)
        return stiff.reshape(8, 8, -1)
