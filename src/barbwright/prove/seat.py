"""A seated tip in a block of orthotropic wood: contact that crushes, slips and opens.

Tip and wood are linear elastic and meet on one conical face. Each is reduced once to that
face; what is not linear, the face's own law, is then solved on the face alone. Everything is
measured from the seated tip at rest, held by one relaxed pressure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from math import atan, cos, degrees, pi, sin, sqrt, tan
from typing import Any

import numpy as np
from numpy.typing import NDArray

from barbwright.prove.elastic import SOUND_JACOBIAN, largest_principal, places_of, von_mises
from barbwright.prove.mesh import least_jacobian

Array = NDArray[np.float64]

# Stiffness of the face itself, many times that of the wood behind it, and the slip within which
# friction rises: both numerical.
FACE_N_MM3 = 20000.0
SLIP_MM = 2e-4
# Rounding of the law's two corners, over the pressure at rest.
CORNER_SHARE = 0.02
MOST_STEPS = 40
SOLVED_SHARE = 1e-6
LIMIT_SHARE = 1e-4
# The block reaches this many holes beyond the hole's axis and below its floor.
BLOCK_HOLES = 5.0
BELOW_HOLES = 2.0
# Sizes of elements: on the face, at the mouth, elsewhere, over the hole's diameter.
FACE_SHARE, MOUTH_SHARE, FAR_SHARE = 0.25, 0.08, 1.0


@dataclass(frozen=True, kw_only=True)
class Orthotropic:
    """Elastic constants of wood: along the grain L, radial R, tangential T.

    Attributes
    ----------
    el_mpa : float
        Modulus along the grain [MPa].
    er, et, glr, glt, grt : float
        Moduli over the one along the grain [-].
    nu_lr, nu_lt, nu_rt : float
        Poisson's ratios: strain along the second from stress along the first [-].
    """

    el_mpa: float
    er: float
    et: float
    glr: float
    glt: float
    grt: float
    nu_lr: float
    nu_lt: float
    nu_rt: float

    def stiffness(self, axes: str = "TLR") -> Array:
        """Return the stiffness for strains xx, yy, zz, 2yz, 2xz, 2xy [MPa].

        Parameters
        ----------
        axes : str
            Which of L, R, T lie along x, y, z.

        Source: wood_elastic_ratios
        """
        modulus = {"L": 1.0, "R": self.er, "T": self.et}
        shear = {"LR": self.glr, "LT": self.glt, "RT": self.grt}
        poisson = {"LR": self.nu_lr, "LT": self.nu_lt, "RT": self.nu_rt}
        give = np.zeros((6, 6))
        for i, first in enumerate(axes):
            give[i, i] = 1.0 / modulus[first]
            for j, second in enumerate(axes):
                pair = first + second if first + second in poisson else second + first
                if i != j:
                    give[i, j] = -poisson[pair] / modulus[pair[0]]
        for row, (i, j) in enumerate(((1, 2), (0, 2), (0, 1))):
            pair = axes[i] + axes[j]
            give[3 + row, 3 + row] = 1.0 / shear[pair if pair in shear else pair[::-1]]
        return np.asarray(self.el_mpa * np.linalg.inv(give))


@dataclass(frozen=True, kw_only=True)
class Seat:
    """A tapered tube in its hole, z along its axis, the wood's surface at 0.

    Attributes
    ----------
    mouth_mm, taper, contact_mm, bore_mm : float
        Diameter at the wood's surface, growth of the diameter per length, length in
        contact, bore [mm], [-].
    lever_mm : float
        From the wood's surface to where loads act [mm].
    lead_mm : float
        How far the tip reaches below the contact [mm].
    modulus_mpa, poisson : float
        The tip's material [MPa], [-].
    rest_mpa, cap_mpa : float
        Contact at rest, and where the wood crushes [MPa].
    friction : float
        Coefficient of friction [-].
    """

    mouth_mm: float
    taper: float
    contact_mm: float
    bore_mm: float
    lever_mm: float
    lead_mm: float
    modulus_mpa: float
    poisson: float
    rest_mpa: float
    cap_mpa: float
    friction: float

    def diameter_mm(self, z_mm: float) -> float:
        """Return the tip's diameter at a height over the wood's surface [mm]."""
        return self.mouth_mm + self.taper * z_mm


@dataclass(frozen=True, kw_only=True)
class Answer:
    """One load's answer.

    Attributes
    ----------
    load : tuple of float
        Force along x, force along z, moment about y at the lever [N], [N mm].
    peak_mpa : float
        Larger of von Mises and largest principal anywhere in the tip [MPa].
    position_mm : tuple of float
        Where [mm].
    tilt_deg : float
        Turn of the seat's axis [degree].
    opening_mm : float
        Widest gap between tip and wood [mm].
    open_share, crushed_share : float
        Shares of the face that no longer touch, and that crush [-].
    balance : float
        Force and moment out of balance, over the load's [-].
    solved : bool
        Whether the face's law came to rest: not, where the load is beyond what holds.
    """

    load: tuple[float, float, float]
    peak_mpa: float
    position_mm: tuple[float, float, float]
    tilt_deg: float
    opening_mm: float
    open_share: float
    crushed_share: float
    balance: float
    solved: bool


class SeatModel:
    """A seat meshed, and reduced to its conical face.

    Parameters
    ----------
    seat : Seat
        Sizes and material.
    stiffness : (6, 6) ndarray
        The wood's, strains xx, yy, zz, 2yz, 2xz, 2xy [MPa].
    finer : float
        Divides every size of element at the seat [-].
    """

    def __init__(self, seat: Seat, stiffness: Array, finer: float = 1.0) -> None:
        self.seat = seat
        self.mesh = _mesh(seat, finer)
        self._tip = _Body(self.mesh, "tip", "", _isotropic(seat.modulus_mpa, seat.poisson))
        self._wood = _Body(self.mesh, "wood", "base|rim", stiffness)
        self._place, self._area, self._shape = _face(self.mesh, self._tip)
        loads = self._tip.loads(seat)
        self.elements = int(self.mesh.ne)
        self._tip_s, self._held = self._tip.reduce(loads)
        wood_s, _ = self._wood.reduce(np.zeros((len(loads), 0)))
        both = self._tip_s + wood_s
        share = np.linalg.solve(both, np.column_stack([self._tip_s, self._held])).T
        count = len(wood_s)
        # Springs in series: the tip's body moves without straining, so only the wood is inverted.
        self._series = wood_s @ share[:count].T
        self._pushed = wood_s @ share[count:].T
        self._wood_s = wood_s
        self._loads = loads
        self._frame(seat)

    def _frame(self, seat: Seat) -> None:
        from scipy import sparse

        half = atan(seat.taper / 2.0)
        radius = np.hypot(self._place[:, 0], self._place[:, 1])
        cosine, sine = self._place[:, 0] / radius, self._place[:, 1] / radius
        zero = np.zeros_like(cosine)
        normal = [cos(half) * cosine, cos(half) * sine, zero - sin(half)]
        along = [sin(half) * cosine, sin(half) * sine, zero + cos(half)]
        around = [-sine, cosine, zero]
        self._axes = np.stack([np.column_stack(row) for row in (normal, along, around)])
        # Displacement between the bodies, as normal, along and around, at each point.
        stacked = [
            np.concatenate([self._shape[c] * self._axes[k][:, c : c + 1] for c in range(3)], axis=1)
            for k in range(3)
        ]
        kept = self._tip.kept
        self._jump = sparse.csr_matrix(np.concatenate([row[:, kept] for row in stacked]))

    def _law(self, jump: Array) -> tuple[Array, Array, Array]:
        """Return pressures, tractions beyond rest and their slopes at each point."""
        seat = self.seat
        rest, cap, mu = seat.rest_mpa, seat.cap_mpa, seat.friction
        corner = CORNER_SHARE * rest
        near = rest + FACE_N_MM3 * jump[0]
        low, low_slope = _ramp(near, corner)
        high, high_slope = _ramp(near - cap, corner)
        start = _ramp(np.array([rest]), corner)[0] - _ramp(np.array([rest - cap]), corner)[0]
        pressure = low - high
        slope = FACE_N_MM3 * (low_slope - high_slope)
        # A taper at rest already leans on friction, or it would slide out.
        lean = tan(atan(seat.taper / 2.0))
        share = min(lean / mu, 0.999) if mu > 0.0 else 0.0
        slip = jump[1:].copy()
        slip[0] += SLIP_MM * share / sqrt(1.0 - share * share)
        length = np.sqrt(np.sum(slip * slip, axis=0) + SLIP_MM * SLIP_MM)
        drag = mu * pressure * slip / length
        traction = np.stack([pressure - start, drag[0] - mu * start * share, drag[1]])
        slopes = np.zeros((3, 3, jump.shape[1]))
        slopes[0, 0] = slope
        for i in range(2):
            slopes[1 + i, 0] = mu * slope * slip[i] / length
            for j in range(2):
                slopes[1 + i, 1 + j] = mu * pressure * (float(i == j) / length) - (
                    mu * pressure * slip[i] * slip[j] / length**3
                )
        return pressure, traction, slopes

    def _forces(self, gap: Array) -> tuple[Array, Array]:
        """Return the face's jumps [mm] and the forces they cost there [N]."""
        jump = (self._jump @ gap).reshape(3, -1)
        _, traction, _ = self._law(jump)
        return jump, self._series @ gap + self._jump.T @ (traction * self._area).ravel()

    def _tangent(self, jump: Array) -> Array:
        from scipy import sparse

        _, _, slopes = self._law(jump)
        law = sparse.bmat([[sparse.diags(cell * self._area) for cell in row] for row in slopes])
        return np.asarray(self._series + (self._jump.T @ (law @ self._jump)).toarray())

    def _newton(self, gap: Array, load: Array, scale: float) -> tuple[Array, bool]:
        wanted = self._pushed @ load / 2.0
        for _ in range(MOST_STEPS):
            jump, inner = self._forces(gap)
            out = inner - wanted
            size = float(np.linalg.norm(out))
            if size < SOLVED_SHARE * scale:
                return gap, True
            step = np.linalg.solve(self._tangent(jump), out)
            part = 1.0
            while part > 0.02:
                trial = gap - part * step
                if np.linalg.norm(self._forces(trial)[1] - wanted) < (1.0 - 0.1 * part) * size:
                    break
                part /= 2.0
            gap = gap - part * step
        return gap, False

    def answer(self, load: Sequence[float], steps: int = 3) -> Answer:
        """Return what a load on the seated tip does.

        Parameters
        ----------
        load : sequence of float
            Force along x, force along z, moment about y at the lever [N], [N mm].
        steps : int
            In how many parts it is put on [-].

        Source: own_derivation
        """
        whole = np.asarray(load, dtype=float)
        gap = np.zeros(self._series.shape[0])
        scale = float(np.linalg.norm(self._pushed @ whole)) / 2.0
        for part in np.linspace(0.0, 1.0, steps + 1)[1:]:
            gap, solved = self._newton(gap, part * whole, scale)
            if not solved:
                break
        return self._read(gap, whole, solved)

    def limit(self, kind: str, travel_mm: float, steps: int = 12) -> float:
        """Return the largest force the seat holds, by a motion that is forced on it.

        Parameters
        ----------
        kind : {"pull", "rock"}
            Out along z, or sideways along x at the lever.
        travel_mm : float
            How far: the mean slip, or the mean of x-motion weighed by depth [mm].
        steps : int
            In how many parts [-].

        Returns
        -------
        float
            Largest force on the way [N].

        Source: own_derivation
        """
        count = self._series.shape[0]
        unit = np.array([0.0, 1.0, 0.0]) if kind == "pull" else np.array([1.0, 0.0, 0.0])
        weight = self._area / self._area.sum()
        pick = 2 if kind == "pull" else 0
        if kind == "rock":
            depth = self._place[:, 2] + self.seat.contact_mm / 2.0
            weight = weight * depth / np.sum(weight * depth * depth) * self.seat.contact_mm / 2.0
        watched = self._jump.T @ (weight * self._axes[:, :, pick]).ravel()
        column = self._pushed @ unit / 2.0
        scale = float(np.linalg.norm(column))
        gap, force, most = np.zeros(count), 0.0, 0.0
        for travel in travel_mm * (np.linspace(0.0, 1.0, steps + 1)[1:]) ** 2:
            for _ in range(MOST_STEPS):
                jump, inner = self._forces(gap)
                out = inner - force * column
                missing = travel - float(watched @ gap)
                size = float(np.linalg.norm(out)) / scale
                if size < LIMIT_SHARE * max(abs(force), 1.0) and abs(missing) < 1e-4 * travel_mm:
                    break
                both = np.linalg.solve(self._tangent(jump), np.column_stack([-out, column]))
                change = float((missing - watched @ both[:, 0]) / (watched @ both[:, 1]))
                step = both[:, 0] + change * both[:, 1]
                part = 1.0
                while part > 0.1 and abs(missing) < 1e-4 * travel_mm:
                    left = self._forces(gap + part * step)[1] - (force + part * change) * column
                    if np.linalg.norm(left) / scale < size:
                        break
                    part /= 2.0
                gap, force = gap + part * step, force + part * change
            else:
                return float("nan")
            most = max(most, force)
        return most

    def _read(self, gap: Array, load: Array, solved: bool) -> Answer:
        jump, _ = self._forces(gap)
        pressure, traction, _ = self._law(jump)
        force = self._jump.T @ (traction * self._area).ravel()
        moved = gap + np.linalg.solve(self._wood_s, force)
        stress, where = self._tip.stress(moved, self._loads @ load / 2.0)
        larger = np.maximum(von_mises(stress), largest_principal(stress))
        worst = int(np.argmax(larger))
        area = self._area
        push = np.einsum("kp,kpc->pc", traction, self._axes) * area[:, None] * 2.0
        total = push.sum(axis=0)
        turning = np.sum(push[:, 0] * self._place[:, 2] - push[:, 2] * self._place[:, 0])
        lever = self.seat.lever_mm
        wanted = np.array([load[0], load[1], (load[0] * lever + load[2]) / lever])
        got = np.array([total[0], total[2], turning / lever])
        rest = self.seat.rest_mpa
        gaps = np.maximum(-jump[0] - rest / FACE_N_MM3, 0.0)
        full = np.zeros(3 * self._shape.shape[2])
        full[self._tip.kept] = moved
        sideways = self._shape[0] @ full[: self._shape.shape[2]]
        slope = np.polyfit(self._place[:, 2], sideways, 1, w=np.sqrt(area))[0]
        return Answer(
            load=(float(load[0]), float(load[1]), float(load[2])),
            peak_mpa=float(larger[worst]),
            position_mm=(float(where[worst, 0]), float(where[worst, 1]), float(where[worst, 2])),
            tilt_deg=degrees(atan(abs(float(slope)))),
            opening_mm=float(gaps.max()),
            open_share=float(area[pressure < 0.02 * rest].sum() / area.sum()),
            crushed_share=float(area[pressure > 0.98 * self.seat.cap_mpa].sum() / area.sum()),
            balance=float(np.linalg.norm(got - wanted) / max(float(np.linalg.norm(wanted)), 1e-9)),
            solved=solved,
        )


class _Body:
    """One of the two bodies: its stiffness, reduced to the face."""

    def __init__(self, mesh: Any, name: str, fixed: str, stiffness: Array) -> None:
        import ngsolve as ng
        from scipy import sparse

        self.mesh, self.name, self.stiffness = mesh, name, stiffness
        self.space = ng.VectorH1(mesh, order=2, definedon=name, dirichlety="plane", dirichlet=fixed)
        self.scalar = ng.H1(mesh, order=2, definedon=name)
        u, v = self.space.TnT()
        law = ng.CoefficientFunction(tuple(stiffness.ravel()), dims=(6, 6))
        form = ng.BilinearForm(self.space)
        form += ng.InnerProduct(law * _strain(u), _strain(v)) * ng.dx(name)
        form.Assemble()
        rows, columns, values = form.mat.COO()
        size = self.space.ndof
        matrix = sparse.csr_matrix((values, (rows, columns)), shape=(size, size))
        free = np.array(list(self.space.FreeDofs()), dtype=bool)
        one = np.array(list(self.scalar.GetDofs(mesh.Boundaries("seat"))), dtype=bool)
        face = np.tile(one, 3)
        self.kept = free[face]
        self.face = np.flatnonzero(face & free)
        self.inner = np.flatnonzero(free & ~face)
        self._column = np.cumsum(one) - 1
        self._inner_face = matrix[self.inner][:, self.face].tocsc()
        self._face_face = matrix[self.face][:, self.face].toarray()
        from scipy.sparse.linalg import splu

        self._factor = splu(
            matrix[self.inner][:, self.inner].tocsc(),
            permc_spec="MMD_AT_PLUS_A",
            options={"SymmetricMode": True},
            diag_pivot_thresh=0.0,
        )

    def column(self, dofs: Sequence[int]) -> NDArray[np.int64]:
        """Return which column of the face each degree of freedom is."""
        return np.asarray(self._column[list(dofs)], dtype=np.int64)

    def loads(self, seat: Seat) -> Array:
        """Return unit loads on the top, of the whole tip: force x, force z, moment y."""
        import ngsolve as ng

        outer = seat.diameter_mm(seat.lever_mm) / 2.0
        inner = seat.bore_mm / 2.0
        area, inertia = pi * (outer**2 - inner**2), pi / 4.0 * (outer**4 - inner**4)
        v = self.space.TestFunction()
        found = []
        for pull in (
            ng.CoefficientFunction((1.0 / area, 0.0, 0.0)),
            ng.CoefficientFunction((0.0, 0.0, 1.0 / area)),
            ng.CoefficientFunction((0.0, 0.0, -1.0 / inertia * ng.x)),
        ):
            right = ng.LinearForm(self.space)
            right += ng.InnerProduct(pull, v.Trace()) * ng.ds("top")
            right.Assemble()
            # The half model carries half; twice that is the whole.
            found.append(2.0 * right.vec.FV().NumPy().copy())
        return np.column_stack(found)

    def reduce(self, loads: Array) -> tuple[Array, Array]:
        """Return the stiffness of the face, and the loads as they arrive there."""
        solved = self._factor.solve(self._inner_face.toarray())
        stiffness = self._face_face - self._inner_face.T @ solved
        if not loads.shape[1]:
            return (stiffness + stiffness.T) / 2.0, np.zeros((len(stiffness), 0))
        arrived = loads[self.face] - solved.T @ loads[self.inner]
        return (stiffness + stiffness.T) / 2.0, arrived

    def stress(self, moved: Array, load: Array) -> tuple[Array, Array]:
        """Return stresses at Gauss points and, averaged, at corners; and where [MPa], [mm]."""
        import ngsolve as ng

        found = ng.GridFunction(self.space)
        values = found.vec.FV().NumPy()
        values[self.face] = moved
        values[self.inner] = self._factor.solve(load[self.inner] - self._inner_face @ moved)
        corners = [(0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)]
        gauss = [tuple(point.point) for point in ng.IntegrationRule(ng.TET, 2)]
        rule = ng.IntegrationRule(gauss + corners, [1.0] * (len(gauss) + 4))
        mapped = self.mesh.MapToAllElements(rule, self.mesh.Materials(self.name))
        law = ng.CoefficientFunction(tuple(self.stiffness.ravel()), dims=(6, 6))
        stress = np.array((law * _strain(found))(mapped)).reshape(-1, 6)
        place = places_of(mapped)
        corner = np.tile(np.arange(len(gauss) + 4) >= len(gauss), len(place) // (len(gauss) + 4))
        index = np.flatnonzero(corner)
        _, vertex = np.unique(np.round(place[index], 6) + 0.0, axis=0, return_inverse=True)
        vertex = vertex.ravel()
        # An element bent nearly flat shows several times its neighbours' stress.
        mine = [element.nr for element in self.mesh.Materials(self.name).Elements()]
        sound = np.repeat(least_jacobian(self.mesh)[mine] > SOUND_JACOBIAN, len(gauss) + 4)
        weight = sound[index].astype(float)
        count = np.maximum(np.bincount(vertex, weight), 1.0)
        for row in stress.T:
            row[index] = (np.bincount(vertex, weight * row[index]) / count)[vertex]
        return stress[sound], place[sound]


def _ramp(value: Array, corner: float) -> tuple[Array, Array]:
    root = np.sqrt(value * value + corner * corner)
    return 0.5 * (value + root), 0.5 * (1.0 + value / root)


def _strain(u: Any) -> Any:
    import ngsolve as ng

    g = ng.Grad(u)
    parts = (g[0, 0], g[1, 1], g[2, 2], g[1, 2] + g[2, 1], g[0, 2] + g[2, 0], g[0, 1] + g[1, 0])
    return ng.CoefficientFunction(parts)


def _isotropic(modulus_mpa: float, poisson: float) -> Array:
    shear = modulus_mpa / (2.0 * (1.0 + poisson))
    lame = modulus_mpa * poisson / ((1.0 + poisson) * (1.0 - 2.0 * poisson))
    stiffness = np.diag([2.0 * shear] * 3 + [shear] * 3)
    stiffness[:3, :3] += lame
    return stiffness


def _face(mesh: Any, body: _Body) -> tuple[Array, Array, Array]:
    """Return the face's Gauss points, their areas, and the shapes there."""
    import ngsolve as ng

    rule = list(ng.IntegrationRule(ng.TRIG, 4))
    names = mesh.GetBoundaries()
    total = int(body._column[-1]) + 1
    place, area, rows = [], [], []
    for element in mesh.Elements(ng.BND):
        if names[element.index] != "seat":
            continue
        mapping = mesh.GetTrafo(element)
        shapes = body.scalar.GetFE(element)
        columns = body.column(body.scalar.GetDofNrs(element))
        for point in rule:
            here = mapping(point)
            row = np.zeros(total)
            row[columns] = np.array(shapes.CalcShape(*point.point[:2])).ravel()
            rows.append(row)
            place.append(tuple(here.point))
            area.append(point.weight * here.measure)
    shape = np.array(rows)
    # One matrix a component, columns of that component only.
    return np.array(place), np.array(area), np.broadcast_to(shape, (3, *shape.shape))


def _mesh(seat: Seat, finer: float) -> Any:
    import ngsolve as ng
    from netgen import occ

    bore, low = seat.bore_mm / 2.0, -seat.contact_mm - seat.lead_mm
    hole = seat.mouth_mm
    radius, deep = BLOCK_HOLES * hole, -low + 1.0 + BELOW_HOLES * hole

    def at(z: float) -> float:
        return seat.diameter_mm(z) / 2.0

    clear = at(-seat.contact_mm) + 0.5
    top = seat.lever_mm
    outline = [
        (bore, low), (at(low), low), (at(-seat.contact_mm), -seat.contact_mm), (at(0.0), 0.0),
        (at(top), top), (bore, top),
    ]  # fmt: skip
    around = [
        (0.0, low - 1.0), (clear, low - 1.0), (clear, -seat.contact_mm),
        (at(-seat.contact_mm), -seat.contact_mm), (at(0.0), 0.0), (radius, 0.0),
        (radius, -deep), (0.0, -deep),
    ]  # fmt: skip
    half = occ.Box(occ.Pnt(-300, 0, -300), occ.Pnt(300, 300, 300))
    tip, wood = _revolve(outline) * half, _revolve(around) * half
    tip.mat("tip")
    wood.mat("wood")
    glued = occ.Glue([tip, wood])
    for face in glued.faces:
        x, y, z = face.center.x, face.center.y, face.center.z
        face.name = "free"
        if abs(y) < 1e-6:
            face.name = "plane"
        elif abs(z - top) < 1e-6:
            face.name = "top"
        elif abs(z + deep) < 1e-6:
            face.name = "base"
        # Not the ring of wood below the contact, whose middle a rounding lifts over its edge.
        elif 1e-6 - seat.contact_mm < z < -1e-6 and 1.2 * bore < y < at(0.0) and abs(x) < 1e-3:
            face.name = "seat"
            face.maxh = FACE_SHARE * hole / finer
        elif y > 0.5 * radius and abs(z) > 1e-6:
            face.name = "rim"
    geometry = occ.OCCGeometry(glued)
    from netgen.meshing import MeshingParameters

    sizes = MeshingParameters(maxh=FAR_SHARE * hole, grading=0.4, curvaturesafety=1.5)
    # Where a force in the plane bends the tip most: both sides, from the mouth a little down.
    for turn, side, down in product((0.0, 0.25, 0.5), (1.0, -1.0), (0.0, 0.08, 0.16)):
        z = -down * hole
        sizes.RestrictH(
            side * at(z) * cos(turn), at(z) * sin(turn), z, h=MOUTH_SHARE * hole / finer
        )
    mesh = ng.Mesh(geometry.GenerateMesh(mp=sizes))
    mesh.Curve(2)
    return mesh


def _revolve(points: Sequence[tuple[float, float]]) -> Any:
    from netgen import occ

    area = sum(
        p[0] * q[1] - q[0] * p[1] for p, q in zip(points, [*points[1:], points[0]], strict=True)
    )
    ordered = list(points)[::-1] if area > 0 else list(points)
    plane = occ.WorkPlane(occ.Axes((0, 0, 0), n=occ.Y, h=occ.X))
    plane.MoveTo(ordered[0][0], -ordered[0][1])
    for point in ordered[1:]:
        plane.LineTo(point[0], -point[1])
    return plane.Close().Face().Revolve(occ.Axis((0, 0, 0), occ.Z), 360)
