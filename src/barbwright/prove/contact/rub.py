"""Contact and friction between a tube's bore and a barb.

A penalty, smoothed about first touch, at four Gauss points an edge; Coulomb friction on the slip
of the step, regularised in proportion to the step so that small steps keep their friction.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barbwright.prove.contact.materials import Array, Flags, Whole
from barbwright.prove.contact.outline import RigidSurface

POINTS_AN_EDGE = 4
SMOOTH_MM = 0.004
SLIP_SHARE = 0.07


@dataclass(frozen=True, eq=False, kw_only=True)
class Touch:
    """The state at the Gauss points of the bore.

    Attributes
    ----------
    place_mm : (n,) ndarray
        From the barb's nose along the arm [mm].
    radius_mm : (n,) ndarray
        Radius [mm].
    force_n : (n, 2) ndarray
        Force on the barb: axial, towards the tube positive, and radial [N].
    normal_n : (n,) ndarray
        Normal force [N].
    normal : (n, 2) ndarray
        The barb's outward normal [-].
    area_mm2 : (n,) ndarray
        Area that each point stands for, undeformed [mm2].
    """

    place_mm: Array
    radius_mm: Array
    force_n: Array
    normal_n: Array
    normal: Array
    area_mm2: Array


class Bore:
    """The inside of a tube, rubbing on a barb.

    Parameters
    ----------
    nodes : (n,) ndarray of int
        Nodes of the bore, from the tube's end [-].
    rest : (m, 2) ndarray
        Undeformed nodes [mm].
    surface : RigidSurface
        The barb.
    penalty : float
        Pressure a depth [MPa/mm].
    friction : float
        Coulomb's coefficient [-].
    smooth_mm : float
        First touch is smoothed over plus and minus this [mm].
    """

    def __init__(
        self,
        nodes: Whole,
        rest: Array,
        surface: RigidSurface,
        penalty: float,
        friction: float,
        smooth_mm: float = SMOOTH_MM,
    ) -> None:
        self.surface, self.penalty, self.friction = surface, penalty, friction
        self.smooth = smooth_mm
        self.nodes, self.rest = nodes, rest
        place, weight = np.polynomial.legendre.leggauss(POINTS_AN_EDGE)
        count = len(nodes) - 1
        share = np.tile((place + 1.0) / 2.0, count)
        self.edge = np.repeat(np.arange(count), POINTS_AN_EDGE)
        self.ends = np.stack([nodes[self.edge], nodes[self.edge + 1]], 1)
        self.value = np.stack([1.0 - share, share], 1)
        length = np.linalg.norm(np.diff(rest[nodes], axis=0), axis=1)
        radius = np.einsum("na,na->n", self.value, rest[self.ends, 1])
        share = np.repeat(length, POINTS_AN_EDGE) * np.tile(weight / 2.0, count)
        self.area = 2.0 * np.pi * radius * share
        node = np.stack([nodes[:-1], nodes[1:]], 1)
        self.places = np.stack([2 * node, 2 * node + 1], 2).reshape(-1, 4)
        self._count = count

    def at(self, moved: Array) -> Array:
        """Return where the Gauss points are (n, 2) [mm]."""
        here = (self.rest + moved)[self.ends]
        return np.asarray(np.einsum("na,nak->nk", self.value, here))

    def evaluate(
        self, moved: Array, before: Array, barb_mm: float, step_mm: float, slip_mm: float
    ) -> tuple[Array, Array, Touch]:
        """Return nodal forces an edge (n, 4), their derivative (n, 4, 4), and the state.

        Parameters
        ----------
        moved, before : (m, 2) ndarray
            Displacements now and at the last kept step [mm].
        barb_mm, step_mm : float
            How far the barb is in, and how far it has come in this step [mm].
        slip_mm : float
            Friction is regularised over no less than this [mm].
        """
        at = self.at(moved)
        local = at - (barb_mm, 0.0)
        gap, normal, turn = self.surface.distance(local)
        smooth = self.smooth
        deep = np.maximum((smooth - gap) / (2.0 * smooth), 0.0)
        stiff = self.penalty * self.area
        press = stiff * np.where(deep < 1.0, smooth * deep * deep, -gap)
        slope = -stiff * np.where(deep < 1.0, deep, 1.0)
        # On the tube: pushed out along the normal, dragged along by friction.
        force = press[:, None] * normal
        blocks = (
            slope[:, None, None] * normal[:, :, None] * normal[:, None, :]
            + press[:, None, None] * turn
        )
        if self.friction > 0.0:
            along = np.stack([normal[:, 1], -normal[:, 0]], 1)
            turned = np.stack([turn[:, 1], -turn[:, 0]], 1)
            slid = at - self.at(before) - (step_mm, 0.0)
            slip = (along * slid).sum(1)
            soft = max(SLIP_SHARE * abs(step_mm), slip_mm)
            length = np.sqrt(slip * slip + soft * soft)
            share = slip / length
            rub = self.friction * press
            force = force - (rub * share)[:, None] * along
            by_slip = along + np.einsum("nij,ni->nj", turned, slid)
            blocks = blocks - (
                (self.friction * slope * share)[:, None, None]
                * along[:, :, None]
                * normal[:, None, :]
                + (rub * soft * soft / length**3)[:, None, None]
                * along[:, :, None]
                * by_slip[:, None, :]
                + (rub * share)[:, None, None] * turned
            )
        edge = np.einsum("na,nk->nak", self.value, -force).reshape(-1, POINTS_AN_EDGE, 4).sum(1)
        tangent = -np.einsum("na,nkl,nb->nakbl", self.value, blocks, self.value)
        tangent = tangent.reshape(-1, POINTS_AN_EDGE, 4, 4).sum(1)
        state = Touch(
            place_mm=-local[:, 0],
            radius_mm=at[:, 1],
            force_n=-force,
            normal_n=press,
            normal=normal,
            area_mm2=self.area,
        )
        return edge, tangent, state

    def inflate(self, moved: Array, wet: Flags, pressure_mpa: float) -> tuple[Array, Array]:
        """Return nodal forces an edge (n, 4) of a pressure on its wet edges, and derivative.

        Parameters
        ----------
        moved : (m, 2) ndarray
            Displacements [mm].
        wet : (n,) ndarray of bool
            Which edges the water reaches.
        pressure_mpa : float
            Gauge pressure [MPa].
        """
        here = (self.rest + moved)[self.nodes]
        start, end = here[:-1], here[1:]
        run, rise = (end - start).T
        load = 2.0 * np.pi * pressure_mpa * wet
        # Integrals of N_a r over an edge of linear radius.
        moment = np.stack(
            [start[:, 1] / 3.0 + end[:, 1] / 6.0, start[:, 1] / 6.0 + end[:, 1] / 3.0], 1
        )
        force = np.stack([-moment * rise[:, None], moment * run[:, None]], 2)
        by_radius = np.array([[1.0 / 3.0, 1.0 / 6.0], [1.0 / 6.0, 1.0 / 3.0]])
        sign = np.array([-1.0, 1.0])
        slope = np.zeros((len(run), 2, 2, 2, 2))
        slope[:, :, 0, :, 1] = -by_radius * rise[:, None, None] - moment[:, :, None] * sign
        slope[:, :, 1, :, 1] = by_radius * run[:, None, None]
        slope[:, :, 1, :, 0] = moment[:, :, None] * sign
        count = len(run)
        scale = load[:, None]
        return (
            -force.reshape(count, 4) * scale,
            -slope.reshape(count, 4, 4) * scale[:, :, None],
        )
