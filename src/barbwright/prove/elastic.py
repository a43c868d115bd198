"""Linear elasticity on a meshed part: supports, loads, solution, stresses at points.

A part that is symmetric in a plane is solved on one side of it, once for what is
even in that plane and once for what is odd. Any load is a sum of such pieces,
and the stress on the other side is their sum with the odd ones reversed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from barbwright.prove.mesh import AXES, least_jacobian

Array = NDArray[np.float64]
PATCH_EDGE_MM = 0.5
SURFACE_ORDER = 12
# A nearly folded element, one of hundreds beside a small radius, shows several times the stress
# of its neighbours, which share its corners: it is left out.
SOUND_JACOBIAN = 0.1
# What an unknown that a plane holds resists, over its own stiffness: then it moves nothing that has
# digits (at 1e12 the twelfth one differed).
STIFFER = 1e30


def places_of(mapped: Any) -> Array:
    """Return where an integration rule's points stand in a mesh, shape (n, 3) [mm]."""
    import ngsolve as ng

    return np.column_stack([f(mapped).ravel() for f in (ng.x, ng.y, ng.z)])


@dataclass(frozen=True, kw_only=True)
class Support:
    """An elastic foundation under a named boundary.

    Attributes
    ----------
    boundary : str
        Boundary name, or a pattern of names.
    stiffness_n_mm3 : float
        Stiffness, normal and tangential alike [N/mm3].
    along : tuple of float or None
        Only where the position along `axis` is within this range [mm].
    axis : int
        Axis of that range: 0, 1, 2 [-].
    edge_mm : float
        Over which length the stiffness rises from nothing, so that no element
        is held on an edge [mm].
    """

    boundary: str
    stiffness_n_mm3: float
    along: tuple[float, float] | None = None
    axis: int = 2
    edge_mm: float = 2.0


@dataclass(frozen=True, kw_only=True)
class Traction:
    """A load on a named boundary; pieces of one load are summed.

    Attributes
    ----------
    boundary : str
        Boundary name, or a pattern of names.
    pressure_mpa : float
        Pressure against the surface [MPa].
    vector_mpa : tuple of float
        Traction in x, y, z [MPa].
    torsion_mpa_mm : float
        Traction about z, per distance from the axis: t = c (-y, x, 0) [MPa/mm].
    within_mm, beyond_mm : float or None
        Only within, only beyond this distance of the axis `axis`, fading out at
        its edge as a contact does [mm].
    axis : int
        Axis of that distance: 0, 1, 2 [-].
    """

    boundary: str
    pressure_mpa: float = 0.0
    vector_mpa: tuple[float, float, float] = (0.0, 0.0, 0.0)
    torsion_mpa_mm: float = 0.0
    within_mm: float | None = None
    beyond_mm: float | None = None
    axis: int = 2


@dataclass(frozen=True)
class Points:
    """Stress points of a mesh: Gauss points and corners of every element.

    Attributes
    ----------
    position_mm : (n, 3) ndarray
        Where [mm].
    volume_mm3 : (n,) ndarray
        The volume each Gauss point stands for, zero for corners [mm3].
    element : (n,) ndarray of int
        Its element [-].
    sound : (n,) ndarray of bool
        Whether that element is stretched evenly enough for its stress to be believed.
    """

    position_mm: Array
    volume_mm3: Array
    element: NDArray[np.int64]
    sound: NDArray[np.bool_]


class Elastic:
    """One meshed body with one material and its supports, ready for loads.

    Parameters
    ----------
    mesh : ngsolve.Mesh
        Curved mesh with named boundaries; boundaries `plane_x`, `plane_y`,
        `plane_z` are planes of symmetry.
    order : int
        Order of the elements [-].
    modulus_mpa, poisson : float
        Material [MPa], [-].
    supports : sequence of Support
        Elastic foundations.
    left_out : (n,) ndarray of int, optional
        Elements whose stress is not believed, beside the nearly folded ones [-].
    planes : tuple of int, optional
        Planes of symmetry; those the mesh has a boundary in when not given [-].
    held : str
        Boundary that moves as `solve` is told; none when empty.
    """

    def __init__(
        self,
        mesh: Any,
        order: int,
        modulus_mpa: float,
        poisson: float,
        supports: Sequence[Support] = (),
        left_out: NDArray[np.int64] | None = None,
        *,
        planes: tuple[int, ...] | None = None,
        held: str = "",
    ) -> None:
        import ngsolve as ng

        self.mesh = mesh
        self.order = order
        self.modulus_mpa, self.poisson = modulus_mpa, poisson
        self.left_out = np.empty(0, dtype=np.int64) if left_out is None else left_out
        self.supports = tuple(supports)
        self.shear_mpa = modulus_mpa / (2.0 * (1.0 + poisson))
        self.lame_mpa = modulus_mpa * poisson / ((1.0 + poisson) * (1.0 - 2.0 * poisson))
        self.degrees_of_freedom = 0
        names = set(mesh.GetBoundaries())
        found = tuple(axis for axis in range(3) if f"plane_{AXES[axis]}" in names)
        self.planes = found if planes is None else planes
        self._held = held
        self._place: Any = None
        self._stiffness: tuple[Any, Any] | None = None
        self._factored: tuple[tuple[int, ...], Any] | None = None
        self._rule, self._weights = _point_rule(order)
        self._mapped = mesh.MapToAllElements(self._rule, ng.VOL)
        self._corners, self._vertex = self._corner_vertices()
        sound = least_jacobian(mesh) > SOUND_JACOBIAN
        sound[self.left_out] = False
        self._sound = np.repeat(sound, len(self._weights))

    def stress(self, displacement: Any) -> Any:
        """Return Hooke's stress of a displacement as a coefficient function [MPa]."""
        import ngsolve as ng

        gradient = ng.Grad(displacement)
        strain = 0.5 * (gradient + gradient.trans)
        return 2.0 * self.shear_mpa * strain + self.lame_mpa * ng.Trace(strain) * ng.Id(3)

    def _assembled(self) -> tuple[Any, Any]:
        """Return the space and the stiffness of all unknowns, which every parity shares."""
        if self._stiffness is None:
            import ngsolve as ng

            space = ng.VectorH1(self.mesh, order=self.order, dirichlet=self._held)
            u, v = space.TnT()
            form = ng.BilinearForm(space, symmetric=True, condense=self.order > 1)
            gradient = ng.Grad(v)
            form += ng.InnerProduct(self.stress(u), 0.5 * (gradient + gradient.trans)) * ng.dx
            for support in self.supports:
                bed = support.stiffness_n_mm3 * _between(support) * ng.InnerProduct(u, v)
                form += bed * ng.ds(support.boundary, bonus_intorder=8)
            form.Assemble()
            self.degrees_of_freedom = space.ndof
            self._stiffness = space, form
        return self._stiffness

    def _factor(self, parity: tuple[int, ...]) -> tuple[Any, Any, Any]:
        """Factor the stiffness for one parity in each symmetry plane; the last one is kept.

        A factor is the largest thing there is: two at a time would be half a gigabyte more. What
        a plane holds is held by its diagonal, not left out: the order in which unknowns go, a
        third of the work, is then the same for all parities.
        """
        import ngsolve as ng

        space, form = self._assembled()
        if self._factored is None or self._factored[0] != parity:
            inverse = None if self._factored is None else self._factored[1]
            stiff = {number: form.mat[number, number] for number in self._held_dofs(parity)}
            for number, value in stiff.items():
                form.mat[number, number] = STIFFER * value
            # The engine's workers spin while they wait: round this alone they bring something.
            with ng.TaskManager():
                if inverse is None:
                    free = space.FreeDofs(form.condense)
                    inverse = form.mat.Inverse(free, inverse="sparsecholesky")
                else:
                    inverse.Update()
            for number, value in stiff.items():
                form.mat[number, number] = value
            self._factored = parity, inverse
        return space, form, self._factored[1]

    def drop_factor(self) -> None:
        """Let the factored stiffness go; what is solved later factors it again."""
        self._factored = None

    def _held_dofs(self, parity: tuple[int, ...]) -> list[int]:
        """Return which unknowns a plane of symmetry holds for one parity."""
        space, form = self._assembled()
        free = space.FreeDofs(form.condense)
        held: set[int] = set()
        for plane, sign in zip(self.planes, parity, strict=True):
            # A piece of a mesh may lie off the plane: its pattern names no boundary then.
            where = self.mesh.Boundaries(f"plane_{AXES[plane]}")
            for axis, part in enumerate(space.components):
                # Even: nothing crosses the plane. Odd: nothing slides along it.
                if (axis == plane) == (sign > 0):
                    first = space.Range(axis).start
                    numbers = np.flatnonzero(np.array(list(part.GetDofs(where))))
                    held.update(first + int(number) for number in numbers)
        return [number for number in sorted(held) if free[number]]

    def place(self) -> Any:
        """Return where the mesh's points are, bent as it is, as a field of its order [mm]."""
        if self._place is None:
            import ngsolve as ng

            self._place = ng.GridFunction(ng.VectorH1(self.mesh, order=self.order))
            self._place.Set(ng.CoefficientFunction((ng.x, ng.y, ng.z)))
        return self._place

    def solve(
        self, parity: tuple[int, ...], loads: Sequence[Traction], start: Any | None = None
    ) -> Any:
        """Return the displacement under the part of a load that has a parity.

        Parameters
        ----------
        parity : tuple of int
            +1 or -1 for each plane of symmetry [-].
        loads : sequence of Traction
            What acts on the modelled side, summed.
        start : ngsolve.GridFunction, optional
            How the held boundary moves; where it does not when not given [mm].

        Returns
        -------
        ngsolve.GridFunction
            Displacement [mm].
        """
        import ngsolve as ng

        space, form, inverse = self._factor(parity)
        v = space.TestFunction()
        right = ng.LinearForm(space)
        for load in loads:
            right += ng.InnerProduct(_traction(load), v) * ng.ds(load.boundary, bonus_intorder=8)
        right.Assemble()
        found = ng.GridFunction(space)
        vector = right.vec
        if form.condense:
            vector.data += form.harmonic_extension_trans * vector
        if start is None:
            found.vec.data = inverse * vector
        else:
            left = vector.CreateVector()
            left.data = vector - form.mat * start.vec
            found.vec.data = start.vec + inverse * left
        if form.condense:
            found.vec.data += form.harmonic_extension * found.vec
            found.vec.data += form.inner_solve * right.vec
        return found

    def forces(self, displacement: Any) -> Array:
        """Return the supports' reactions on the modelled side, one row a support [N]."""
        import ngsolve as ng

        rows = []
        for support in self.supports:
            value = ng.Integrate(
                -support.stiffness_n_mm3 * _between(support) * displacement,
                self.mesh,
                ng.BND,
                order=SURFACE_ORDER,
                definedon=self.mesh.Boundaries(support.boundary),
            )
            rows.append(np.array(list(value)))
        return np.array(rows).reshape(-1, 3)

    def applied(self, loads: Sequence[Traction]) -> Array:
        """Return the sum of loads on the modelled side [N]."""
        import ngsolve as ng

        total = np.zeros(3)
        for load in loads:
            value = ng.Integrate(
                _traction(load),
                self.mesh,
                ng.BND,
                order=SURFACE_ORDER,
                definedon=self.mesh.Boundaries(load.boundary),
            )
            total += np.array(list(value))
        return total

    def patch(self, load: Traction) -> tuple[float, float, float]:
        """Return a load's area [mm2], first and polar moment about z [mm3], [mm4].

        Parameters
        ----------
        load : Traction
            Its patch on the modelled side; the first moment is that of x.
        """
        import ngsolve as ng

        where = self.mesh.Boundaries(load.boundary)
        area, first, polar = (
            float(
                ng.Integrate(
                    _patch(load) * what, self.mesh, ng.BND, order=SURFACE_ORDER, definedon=where
                )
            )
            for what in (ng.CoefficientFunction(1.0), ng.x, ng.x**2 + ng.y**2)
        )
        return area, first, polar

    def points(self) -> Points:
        """Return the stress points of the mesh."""
        import ngsolve as ng

        place = places_of(self._mapped)
        scale = np.abs(ng.Det(ng.specialcf.JacobianMatrix(3))(self._mapped).ravel())
        count = len(self._weights)
        return Points(
            place,
            scale * np.tile(self._weights, len(scale) // count),
            np.repeat(np.arange(len(scale) // count), count),
            self._sound,
        )

    def stresses(self, displacement: Any) -> Array:
        """Return the stress at the points: xx, yy, zz, yz, xz, xy, shape (n, 6) [MPa]."""
        values = self.stress(displacement)(self._mapped)
        stress = np.array(values[:, [0, 4, 8, 5, 2, 1]], dtype=float)
        # One element's corner value swings to both sides of the truth; their mean does not.
        sound = self._sound[self._corners].astype(float)
        count = np.maximum(np.bincount(self._vertex, sound), 1.0)
        for column in stress.T:
            mean = np.bincount(self._vertex, sound * column[self._corners]) / count
            column[self._corners] = mean[self._vertex]
        return stress

    def corner_index(self, points_mm: Array) -> NDArray[np.int64]:
        """Return one stress point at each given vertex of the mesh [-]."""
        from scipy.spatial import cKDTree

        place = places_of(self._mapped)
        _, nearest = cKDTree(place[self._corners]).query(points_mm)
        return np.asarray(self._corners[nearest], dtype=np.int64)

    def _corner_vertices(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return which points are corners, and which vertex each of them is."""
        place = places_of(self._mapped)
        corners = np.flatnonzero(np.tile(self._weights == 0.0, len(place) // len(self._weights)))
        rounded = np.round(place[corners], 6) + 0.0
        _, vertex = np.unique(rounded, axis=0, return_inverse=True)
        return corners, vertex.ravel()


def full_stress(pieces: Mapping[tuple[int, ...], Array], side: tuple[int, ...]) -> Array:
    """Return the stress on one side of the planes from its even and odd pieces.

    Parameters
    ----------
    pieces : mapping of parity to (n, 6) ndarray
        Stresses on the modelled side, by parity [MPa].
    side : tuple of int
        +1 for the modelled side of each plane, -1 for the other [-].

    Returns
    -------
    (n, 6) ndarray
        Stress, mirrored onto the modelled side: invariants are those of the
        other side's points [MPa].

    Source: own_derivation
    """
    total: Array | None = None
    for parity, stress in pieces.items():
        sign = float(np.prod([p if s < 0 else 1 for p, s in zip(parity, side, strict=True)]))
        total = sign * stress if total is None else total + sign * stress
    assert total is not None
    return total


def von_mises(stress_mpa: Array) -> Array:
    """Return von Mises' equivalent of (n, 6) stresses [MPa].

    Parameters
    ----------
    stress_mpa : (n, 6) ndarray
        xx, yy, zz, yz, xz, xy [MPa].

    Source: shigley
    """
    xx, yy, zz, yz, xz, xy = np.asarray(stress_mpa).T
    spread = (xx - yy) ** 2 + (yy - zz) ** 2 + (zz - xx) ** 2
    return np.asarray(np.sqrt(spread / 2.0 + 3.0 * (yz**2 + xz**2 + xy**2)))


def largest_principal(stress_mpa: Array) -> Array:
    """Return the largest principal stress of (n, 6) stresses [MPa].

    Parameters
    ----------
    stress_mpa : (n, 6) ndarray
        xx, yy, zz, yz, xz, xy [MPa].

    Source: shigley
    """
    xx, yy, zz, yz, xz, xy = np.asarray(stress_mpa).T
    mean = (xx + yy + zz) / 3.0
    second = ((xx - mean) ** 2 + (yy - mean) ** 2 + (zz - mean) ** 2) / 6.0
    second = np.sqrt(second + (yz**2 + xz**2 + xy**2) / 3.0)
    third = (
        (xx - mean) * ((yy - mean) * (zz - mean) - yz**2)
        - xy * (xy * (zz - mean) - yz * xz)
        + xz * (xy * yz - (yy - mean) * xz)
    ) / 2.0
    with np.errstate(all="ignore"):
        ratio = np.where(second > 0.0, third / second**3, 0.0)
    angle = np.arccos(np.clip(ratio, -1.0, 1.0)) / 3.0
    return np.asarray(mean + 2.0 * second * np.cos(angle))


def _between(support: Support) -> Any:
    """Return 1 where a support acts, 0 elsewhere, with a ramp about each end."""
    import ngsolve as ng

    if support.along is None:
        return ng.CoefficientFunction(1.0)
    place = (ng.x, ng.y, ng.z)[support.axis]
    low, high = support.along

    def ramp(distance: Any) -> Any:
        share = distance / support.edge_mm + 0.5
        return ng.IfPos(share, ng.IfPos(1.0 - share, share, 1.0), 0.0)

    return ramp(place - low) * ramp(high - place)


def _traction(load: Traction) -> Any:
    import ngsolve as ng

    vector = ng.CoefficientFunction(tuple(load.vector_mpa))
    normal = ng.specialcf.normal(3)
    total = vector - load.pressure_mpa * normal
    if load.torsion_mpa_mm:
        total = total + load.torsion_mpa_mm * ng.CoefficientFunction((-ng.y, ng.x, 0.0))
    return total * _patch(load)


def _patch(load: Traction) -> Any:
    import ngsolve as ng

    others = [f for axis, f in enumerate((ng.x, ng.y, ng.z)) if axis != load.axis]
    square = others[0] ** 2 + others[1] ** 2
    where = ng.CoefficientFunction(1.0)
    # Both fade out, as a contact does: a cut-off inside an element cannot be integrated.
    if load.within_mm is not None:
        share = square / load.within_mm**2
        where = where * ng.IfPos(1.0 - share, 1.0 - share, 0.0)
    if load.beyond_mm is not None:
        share = (ng.sqrt(square) - load.beyond_mm) / PATCH_EDGE_MM + 0.5
        where = where * ng.IfPos(share, ng.IfPos(1.0 - share, share, 1.0), 0.0)
    return where


def _point_rule(order: int) -> tuple[Any, Array]:
    """Return Gauss points of a tetrahedron with its corners added, and the weights."""
    import ngsolve as ng

    gauss = ng.IntegrationRule(ng.TET, max(2 * order - 2, 2))
    points = [tuple(point.point) for point in gauss]
    weights = [point.weight for point in gauss]
    corners = [(0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)]
    rule = ng.IntegrationRule(points + corners, weights + [0.0] * 4)
    return rule, np.array(weights + [0.0] * 4)
