"""A tube driven over a barb step by step: Newton's method with a guess from the last rate.

Each crest that the tube's end passes is a real snap. Steps are halved there, and a viscosity is
raised tenfold a failure, so that the path goes through. What a viscosity carried is no rest: the
step is then solved on with a drag from where it stands, let fall again, until the tube is at rest,
and only that is told. Slip and plastic strain count from the step's start all the while. A step
that finds no rest, or that leaves the bore deep in the barb, has failed like one without a balance.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from barbwright.prove.contact.materials import Array, Flags
from barbwright.prove.contact.rub import Bore, Touch
from barbwright.prove.contact.wall import TubeWall

if TYPE_CHECKING:
    from collections.abc import Callable

ITERATIONS = 12
TOLERANCE = 3e-5
LEAST_STEP_MM = 0.03
VISCOSITY = 1e-4
FAILURES = 9
MOST_CUTS = 100
# At rest all drag, summed without regard to its ways, is less than this share of the largest force
# so far, which counts from a small share of the modulus times the wall's section.
DRAG_LIMIT, SMALL_SHARE = 0.01, 0.003
SETTLING_STEPS = 40
# A bore deeper in the barb than this share of its corners' radius is no contact.
DEEPEST_SHARE = 0.5
NO_BALANCE = "no balance of forces"
NO_REST = "no rest: a drag carries what the barb does not"
TOO_DEEP = "the bore lies deep in the barb"


class NotConvergedError(Exception):
    """A step found no balance of forces, no rest, or one deep in the barb."""


@dataclass(kw_only=True)
class Insertion:
    """A tube, a barb, and how far the one is on the other.

    Attributes
    ----------
    wall : TubeWall
        The tube.
    bore : Bore
        Its inside, which rubs on the barb.
    modulus_mpa : float
        Young's modulus, the scale of forces [MPa].
    barb_mm : float
        From the tube's end to the barb's nose, positive when on [mm].
    pressure_mpa : float
        Water pressure inside [MPa].
    dry_from_mm : float
        The bore is wet up to here, from the nose [mm].
    slip_mm : float
        Friction is regularised over a tenth of the step, and over no less than this [mm].
    """

    wall: TubeWall
    bore: Bore
    modulus_mpa: float
    barb_mm: float = 0.0
    pressure_mpa: float = 0.0
    dry_from_mm: float = 0.0
    moved: Array = field(init=False)
    kept: Array = field(init=False)
    slip_mm: float = 0.002
    iterations: int = 0
    cuts: int = 0
    snaps: int = 0
    touch: Touch | None = None
    reaction_n: float = 0.0
    dragged_n: float = 0.0
    largest_n: float = field(init=False)

    def __post_init__(self) -> None:
        self.moved = np.zeros_like(self.wall.rest)
        self.kept = self.moved.copy()
        self._from = self.kept
        self._rate: Array | None = None
        self._way = 1.0
        self._drag = np.repeat(self.wall.nodal_volume(), 2)
        self._edge = self.bore.places
        self._edge_entries, self._entry = np.unique(
            self.wall.band_places(self.bore.places), return_inverse=True
        )
        far = np.abs(self.wall.rest[:, 0] - self.wall.rest[-1, 0]) < 1e-9
        self._held = 2 * np.flatnonzero(far)
        section = self.wall.volume.sum() / np.ptp(self.wall.rest[:, 0])
        self.largest_n = SMALL_SHARE * self.modulus_mpa * float(section)
        size = np.median(np.diff(self.wall.rest[self.bore.nodes, 0]))
        self._reach = 0.5 * float(size)
        self._height = 3 * self.wall.band + 1

    def _system(self, step_mm: float, viscosity: float, *, tangent: bool) -> tuple[Array, Array]:
        force, band = self.wall.evaluate(self.moved, tangent=tangent)
        edge, block, self.touch = self.bore.evaluate(
            self.moved, self.kept, self.barb_mm, step_mm, self.slip_mm
        )
        if self.pressure_mpa:
            wet = self._wet()
            more, by = self.bore.inflate(self.moved, wet, self.pressure_mpa)
            edge, block = edge + more, block + by
        force = force + np.bincount(self._edge.ravel(), edge.ravel(), len(force))
        drag = viscosity / max(abs(step_mm), self.slip_mm) * self._drag
        carried = drag * (self.moved - self._from).ravel()
        self.dragged_n = float(np.hypot(*carried.reshape(-1, 2).T).sum())
        force += carried
        if tangent:
            band[self._edge_entries] += np.bincount(self._entry, block.ravel())
            band[2 * self.wall.band :: self._height] += drag
        return force, band

    def _wet(self) -> Flags:
        """Return which edges lie before the first crest, where the water is."""
        at = (self.wall.rest + self.moved)[self.bore.nodes, 0]
        middle = (at[:-1] + at[1:]) / 2.0
        return np.asarray(self.barb_mm - middle < self.dry_from_mm)

    def balance(self, step_mm: float, viscosity: float) -> None:
        """Find the displacements that are in balance, from those guessed.

        Parameters
        ----------
        step_mm : float
            How far the barb has come since the last kept step [mm].
        viscosity : float
            Drag over the step [N mm/mm3 ...].
        """
        limit = TOLERANCE * self.modulus_mpa
        for _ in range(ITERATIONS):
            try:
                force, band = self._system(step_mm, viscosity, tangent=True)
            except FloatingPointError:
                raise NotConvergedError(NO_BALANCE) from None
            self.iterations += 1
            self.reaction_n = float(-force[self._held].sum())
            force[self._held] = 0.0
            size = float(np.linalg.norm(force))
            if not np.isfinite(size):
                raise NotConvergedError(NO_BALANCE)
            if size < limit:
                return
            change = self._solved(band, force)
            largest = float(np.abs(change).max())
            if not np.isfinite(largest):
                raise NotConvergedError(NO_BALANCE)
            self.moved = self.moved - min(1.0, self._reach / max(largest, 1e-300)) * change
        raise NotConvergedError(NO_BALANCE)

    def _solved(self, band: Array, force: Array) -> Array:
        from scipy.linalg.lapack import dgbtrf, dgbtrs

        width = self.wall.band
        # Held unknowns: a diagonal far above all else and no force leave them where they are.
        band[self._held * self._height + 2 * width] += 1e12 * self.modulus_mpa
        matrix = band.reshape(-1, self._height).T
        factor, pivots, failed = dgbtrf(matrix, width, width, overwrite_ab=True)
        if failed:
            raise NotConvergedError(NO_BALANCE)
        found, _ = dgbtrs(factor, width, width, force, pivots)
        return np.asarray(found).reshape(-1, 2)

    def commit(self, step_mm: float) -> None:
        """Keep the step: plastic strain, and where friction starts from."""
        self._rate = (self.moved - self.kept) / step_mm if step_mm else None
        self.kept = self._from = self.moved.copy()
        self.wall.commit()

    def pressurise(self, pressure_mpa: float) -> None:
        """Bring the water inside to a pressure [MPa] with the barb where it is."""
        self.pressure_mpa = pressure_mpa
        for trouble in range(FAILURES):
            self.moved, self._from = self.kept.copy(), self.kept
            try:
                self.balance(0.0, self._viscosity(trouble))
                self._settle(0.0, self._viscosity(trouble))
            except NotConvergedError:
                self.cuts += 1
                continue
            self.commit(0.0)
            return
        msg = f"{NO_BALANCE} under {pressure_mpa:.2f} MPa"
        raise NotConvergedError(msg)

    def drive(
        self,
        target_mm: float,
        largest_mm: float,
        seen: Callable[[Insertion], bool | None],
        first_mm: float | None = None,
    ) -> bool:
        """Move the barb to a place, telling an observer of each step before it is kept.

        Parameters
        ----------
        target_mm : float
            Where to [mm].
        largest_mm : float
            Largest step [mm].
        seen : callable
            Told of every balanced step; True stops there.
        first_mm : float, optional
            First step, where the way turns round [mm].

        Returns
        -------
        bool
            Whether the observer stopped it.
        """
        way = np.sign(target_mm - self.barb_mm)
        if way != self._way:
            # Friction turns round with the barb: the last rate would guess the wrong way.
            self._rate, self._way = None, way
        step, trouble, limit = first_mm or largest_mm, 0, self.cuts + MOST_CUTS
        least = LEAST_STEP_MM if first_mm is None else first_mm / 10.0
        while abs(target_mm - self.barb_mm) > 1e-9:
            size = way * min(step, abs(target_mm - self.barb_mm))
            start = self.barb_mm
            self.barb_mm = start + size
            self.moved = self.kept + (self._rate * size if self._rate is not None else 0.0)
            self.moved.ravel()[self._held] = self.kept.ravel()[self._held]
            try:
                self.balance(size, self._viscosity(trouble))
                self._settle(size, self._viscosity(trouble))
            except NotConvergedError as error:
                self.barb_mm, self.moved, self._from = start, self.kept.copy(), self.kept
                self.cuts, trouble = self.cuts + 1, trouble + 1
                if trouble >= FAILURES or self.cuts > limit:
                    msg = f"{error}, {start:.1f} mm on"
                    raise NotConvergedError(msg) from None
                if self.cuts % 3 == 0:
                    self._rate = None
                step = max(abs(size) / 2.0, min(least, abs(size)))
                continue
            stop = seen(self)
            self.commit(size)
            trouble = max(0, trouble - 1)
            if trouble < 2:
                step = min(largest_mm, abs(size) * 1.5)
            if stop:
                return True
        return False

    def _viscosity(self, trouble: int) -> float:
        return VISCOSITY * self.modulus_mpa * 10.0 ** max(0, trouble - 2)

    def _settle(self, step_mm: float, viscosity: float) -> None:
        """Solve the step on until the tube is at rest: drag from where it is, less each time.

        Parameters
        ----------
        step_mm : float
            How far the barb has come since the last kept step [mm].
        viscosity : float
            What the step was balanced with.
        """
        easy = self._viscosity(0)
        self.snaps += viscosity > easy
        for _ in range(SETTLING_STEPS):
            if viscosity <= easy and not self.is_dragged:
                self._sound()
                return
            viscosity = max(viscosity / 10.0, easy)
            self._from = self.moved.copy()
            try:
                self.balance(step_mm, viscosity)
            except NotConvergedError:
                self.moved = self._from.copy()
                viscosity *= 50.0
        raise NotConvergedError(NO_REST)

    def _sound(self) -> None:
        """Refuse a balance found with the bore deep inside the barb."""
        assert self.touch is not None
        self.largest_n = max(self.largest_n, abs(self.reaction_n))
        depth = self.touch.normal_n / (self.bore.penalty * self.touch.area_mm2)
        if depth.max() > DEEPEST_SHARE * self.bore.surface.radius_mm:
            raise NotConvergedError(TOO_DEEP)

    @property
    def is_dragged(self) -> bool:
        """Whether drag still carries a part of the forces: a snap under way, not a rest."""
        return self.dragged_n > DRAG_LIMIT * max(self.largest_n, abs(self.reaction_n))

    @property
    def barb_force_n(self) -> float:
        """Axial force of the tube on the barb, against its way in [N]."""
        assert self.touch is not None
        return float(-self.touch.force_n[:, 0].sum())
