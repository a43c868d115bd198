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
        count = 4 * len(self.cells)
        # Inverse plastic metric zz, rr, zr, tt, and accumulated plastic strain.
        self.metric = np.repeat(np.array([[1.0], [1.0], [0.0], [1.0]]), count, 1)
        self.plastic = np.zeros(count)
        self.pressure = np.zeros(len(self.cells))
        self._next = (self.metric, self.plastic)
        self._entries = self.band_places(self.places)
        self._flat_places = self.places.ravel()

    def _shape_functions(self) -> None:
        at = _GAUSS * _POINTS
        ones = 1.0 + at[:, None] * _POINTS[None]
        self._value = ones[..., 0] * ones[..., 1] / 4.0
        slope = np.stack([_POINTS[:, 0] * ones[..., 1], _POINTS[:, 1] * ones[..., 0]], 2) / 4.0
        corners = self.rest[self.cells]
        jacobian = np.einsum("eai,qaj->eqij", corners, slope)
        gradient = np.einsum("qaj,eqji->eqai", slope, np.linalg.inv(jacobian))
        self._gradient = gradient.reshape(-1, 4, 2)
        radius = np.einsum("qa,ea->eq", self._value, corners[:, :, 1])
        weight = 2.0 * np.pi * radius * np.linalg.det(jacobian)
        self._radius, self.weight = radius.ravel(), weight.ravel()
        self.volume = weight.sum(1)
        self._each_value = np.tile(self._value, (len(self.cells), 1))

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
        here = moved[self.cells]
        each = np.repeat(here, 4, 0)
        deform = np.matmul(each.transpose(0, 2, 1), self._gradient)
        f_zz, f_zr = 1.0 + deform[:, 0, 0], deform[:, 0, 1]
        f_rz, f_rr = deform[:, 1, 0], 1.0 + deform[:, 1, 1]
        f_tt = 1.0 + np.matmul(here[:, :, 1], self._value.T).ravel() / self._radius
        flat = f_zz * f_rr - f_zr * f_rz
        if flat.min() <= 0.0 or f_tt.min() <= 0.0:
            raise FloatingPointError
        volume_ratio = flat * f_tt
        trial, cosine, sine = self._trial(f_zz, f_zr, f_rz, f_rr, f_tt)
        strain = 0.5 * np.log(trial)
        answer = self.material.answer(strain, self.plastic)
        self._next = (
            self._metric(answer.elastic, cosine, sine, (f_zz, f_zr, f_rz, f_rr, f_tt, flat)),
            answer.plastic,
        )
        swollen = (volume_ratio * self.weight).reshape(-1, 4).sum(1) / self.volume
        self.pressure = self.material.bulk_mpa * (swollen - 1.0)
        pressed = np.repeat(self.pressure, 4) * volume_ratio
        rows = self._strains(cosine, sine, (f_zz, f_zr, f_rz, f_rr, f_tt, flat))
        count = len(self.cells)
        stacked = rows.reshape(count, 20, 8)
        pull = np.zeros((len(flat), 5))
        pull[:, :3] = ((answer.stress + pressed) * self.weight).T
        nodal = np.matmul(pull.reshape(count, 1, 20), stacked)
        force = np.bincount(self._flat_places, nodal.ravel(), self.unknowns).astype(float)
        if not tangent:
            return force, force[:0]
        turned = self._by_strain(answer.stress, answer.stiffness, trial, pressed, rows)
        stiff = np.matmul(stacked.transpose(0, 2, 1), turned.reshape(count, 20, 8))
        pull[:, :3] = (volume_ratio * self.weight)[:, None]
        swell = np.matmul(pull.reshape(count, 1, 20), stacked)
        stiff += (self.material.bulk_mpa / self.volume)[:, None, None] * (
            swell.transpose(0, 2, 1) * swell
        )
        size = (3 * self.band + 1) * self.unknowns
        return force, np.bincount(self._entries, stiff.ravel(), size).astype(float)

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

    def _strains(self, c: Array, s: Array, f: tuple[Array, ...]) -> Array:
        """Return the rows (n, 5, 8) from nodal moves to the gradient 11, 22, 33, 12, 21."""
        f_zz, f_zr, f_rz, f_rr, f_tt, flat = f
        g_z, g_r = self._gradient[..., 0], self._gradient[..., 1]
        now_z = (g_z * f_rr[:, None] - g_r * f_rz[:, None]) / flat[:, None]
        now_r = (g_r * f_zz[:, None] - g_z * f_zr[:, None]) / flat[:, None]
        c, s = c[:, None], s[:, None]
        one, two = c * now_z + s * now_r, c * now_r - s * now_z
        rows = np.empty((len(flat), 5, 8))
        rows[:, 0, 0::2], rows[:, 0, 1::2] = c * one, s * one
        rows[:, 1, 0::2], rows[:, 1, 1::2] = -s * two, c * two
        rows[:, 2, 0::2] = 0.0
        rows[:, 2, 1::2] = self._each_value / (self._radius * f_tt)[:, None]
        rows[:, 3, 0::2], rows[:, 3, 1::2] = c * two, s * two
        rows[:, 4, 0::2], rows[:, 4, 1::2] = -s * one, c * one
        return rows

    def _by_strain(
        self, stress: Array, stiffness: Array, trial: Array, pressed: Array, rows: Array
    ) -> Array:
        """Return the moduli, weighed, on the rows of the gradient (n, 5, 8)."""
        weight = self.weight
        turned = np.empty_like(rows)
        for i in range(3):
            own = ((stiffness[i, i] - stress[i]) * weight)[:, None] * rows[:, i]
            for j in range(3):
                if j != i:
                    own += ((stiffness[i, j] + pressed) * weight)[:, None] * rows[:, j]
            turned[:, i] = own
        one, two = trial[0], trial[1]
        apart = one - two
        # Where two stretches are one, the quotient has the limit of its derivative.
        close = apart < 1e-6 * one
        limit = (stiffness[0, 0] - stiffness[0, 1]) / 2.0 - stress[0]
        quotient = (stress[0] * two - stress[1] * one) / np.where(close, 1.0, apart)
        shear = np.where(close, limit, quotient)
        across = ((shear - pressed) * weight)[:, None]
        turned[:, 3] = ((shear + stress[1]) * weight)[:, None] * rows[:, 3] + across * rows[:, 4]
        turned[:, 4] = ((shear + stress[0]) * weight)[:, None] * rows[:, 4] + across * rows[:, 3]
        return turned
