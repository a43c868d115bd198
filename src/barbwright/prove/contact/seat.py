"""A tube pushed on a barb, let go, put under pressure and pulled: what a hand and a seal find."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from math import sqrt

import numpy as np

from barbwright.prove.contact.drive import Insertion, NotConvergedError
from barbwright.prove.contact.materials import Array, Rubber, Wall, Whole
from barbwright.prove.contact.outline import DrawnBarb, RigidSurface
from barbwright.prove.contact.rub import Bore, Touch
from barbwright.prove.contact.wall import TubeWall

CORNER_MM = 0.2
# Pressure a depth over modulus: 20/mm leaves a hundredth of the stretch in the penalty.
PENALTY_PER_MM = 20.0
# A tube's end is cut with its inner edge broken by this, out and along. A sharp one is scraped
# on by each crest and the push then moves with the mesh.
EDGE_MM = 0.25
WINDOW_MM = 0.2
# Beyond this many bending lengths sqrt(R t) the tube does not know of its end.
FREE_LENGTHS = 3.2
# Where friction turns round it must not turn in one point: this is a hundredth of a barb. A pull
# goes by steps five times that, at any fineness: smaller ones would lose their friction.
EASY_SLIP_MM, PULL_STEP_MM = 0.02, 0.1


@dataclass(frozen=True, kw_only=True)
class Fineness:
    """How finely a case is worked.

    Attributes
    ----------
    rows : int
        Elements across the wall [-].
    growth : float
        Each one's thickness over the one's further in: crests bite the bore [-].
    element_mm : float
        Their length along the tube [mm].
    step_mm : float
        Largest step of the barb [mm].
    penalty_per_mm : float
        Contact pressure a depth over the modulus [1/mm].
    corner_mm : float
        Radius of the crests' corners [mm].
    """

    rows: int = 4
    growth: float = 1.0
    element_mm: float = 0.2
    step_mm: float = 0.3
    penalty_per_mm: float = PENALTY_PER_MM
    corner_mm: float = CORNER_MM

    def halved(self) -> Fineness:
        """Return elements, steps and penalty's depth all halved."""
        return replace(
            self, rows=2 * self.rows, growth=sqrt(self.growth), element_mm=self.element_mm / 2.0,
            step_mm=self.step_mm / 2.0, penalty_per_mm=2.0 * self.penalty_per_mm,
        )  # fmt: skip


# A wall that yields is ironed by the corners it passes: its bore asks for finer elements.
FOR_RUBBER = Fineness()
FOR_YIELDING = Fineness(growth=1.5, element_mm=0.12, step_mm=0.1, penalty_per_mm=60.0)


@dataclass(frozen=True, kw_only=True)
class TubeFit:
    """One tube, one barb, one friction.

    Attributes
    ----------
    inner_mm, outer_mm : float
        The free tube's diameters [mm].
    barb : DrawnBarb
        The barb's outline.
    wall : Wall
        The tube's material.
    modulus_mpa : float
        Its Young's modulus [MPa].
    friction : float
        Coulomb's coefficient [-].
    pressure_mpa : float
        Water pressure after letting go [MPa].
    """

    inner_mm: float
    outer_mm: float
    barb: DrawnBarb
    wall: Wall
    modulus_mpa: float
    friction: float
    pressure_mpa: float = 0.0

    @property
    def fineness(self) -> Fineness:
        """How finely its wall asks to be worked."""
        return FOR_RUBBER if isinstance(self.wall, Rubber) else FOR_YIELDING

    @property
    def bending_mm(self) -> float:
        """Length over which the tube's wall bends: sqrt(mean radius x wall) [mm]."""
        return float(np.sqrt((self.outer_mm**2 - self.inner_mm**2) / 8.0))

    @property
    def section_mm2(self) -> float:
        """Section of the tube's wall [mm2]."""
        return float(np.pi / 4.0 * (self.outer_mm**2 - self.inner_mm**2))


@dataclass(frozen=True, kw_only=True, eq=False)
class State:
    """The tube at rest on its barb, or on its way.

    Attributes
    ----------
    force_n : float
        Axial force on the barb [N].
    normal_n : float
        Sum of normal forces [N].
    lands_mpa : (n,) ndarray
        Mean pressure over each drawn land, from the nose [MPa].
    largest_mpa : (n,) ndarray
        Largest mean over 0.2 mm near each land [MPa].
    squeeze_mpa : float
        Radial force on the root between two crests and all, over the pitch: what
        presses the barb's wall in [MPa].
    """

    force_n: float
    normal_n: float
    lands_mpa: Array
    largest_mpa: Array
    squeeze_mpa: float

    def towards(self, other: State, share: float) -> State:
        """Return the state a share of the way to another."""
        mixed = {
            name: (1.0 - share) * getattr(self, name) + share * getattr(other, name)
            for name in self.__dataclass_fields__
        }
        return State(**mixed)


@dataclass(frozen=True, kw_only=True, eq=False)
class Seated:
    """All that one case found.

    Attributes
    ----------
    travel_mm, force_n : (n,) ndarray
        The push: how far the barb has come, and the force on it [mm], [N].
    end_mm : (n,) ndarray
        Where the tube's end then stands, from the nose: less far, for the tube gives way [mm].
    pushed, released : State
        At the full insertion, and after letting go.
    shortening_mm : float
        How much shorter the tube was at the largest force [mm].
    plastic : float
        Largest plastic strain [-].
    outer_mm : float
        Largest outer diameter over the crests [mm].
    pull_off_n : float
        Largest force against a pull under pressure; nan when not asked for [N].
    came_off : bool
        Whether the pull passed its top; else it found no balance: the most it held till then.
    balance : float
        Barb's force against the far end's over the largest push, at the worst of all steps [-].
    steps : int
        Steps of the push; each ended at rest, none is left out.
    iterations, cuts, snaps : int
        Newton's iterations, steps that were halved, and those that a drag was let off from.
    touch : Touch
        The bore after letting go, for pictures.
    points_mm : (m, 2) ndarray
        Nodes after letting go: from the barb's nose along the arm, and radius [mm].
    cells : (k, 4) ndarray
        Elements.
    """

    travel_mm: Array
    force_n: Array
    end_mm: Array
    pushed: State
    released: State
    shortening_mm: float
    plastic: float
    outer_mm: float
    pull_off_n: float
    came_off: bool
    balance: float
    steps: int
    iterations: int
    cuts: int
    snaps: int
    touch: Touch
    points_mm: Array
    cells: Whole

    @property
    def peak_n(self) -> float:
        """Largest force while pushing on [N]."""
        return float(self.force_n.max())


def insertion_of(fit: TubeFit, fineness: Fineness) -> Insertion:
    """Return a tube before its barb.

    Parameters
    ----------
    fit : TubeFit
        What meets what.
    fineness : Fineness
        How finely it is worked.
    """
    stations = _stations(fit, fineness.element_mm)
    columns = len(stations)
    wall = TubeWall(
        stations,
        _radii(fit, fineness),
        fit.wall,
        EDGE_MM,
    )
    bore = Bore(
        np.arange(columns) * wall.rows, wall.rest,
        RigidSurface(fit.barb.points(), fineness.corner_mm),
        fineness.penalty_per_mm * fit.modulus_mpa, fit.friction,
    )  # fmt: skip
    dry = float(fit.barb.lands_mm[0])
    return Insertion(wall=wall, bore=bore, modulus_mpa=fit.modulus_mpa, dry_from_mm=dry)


def _stations(fit: TubeFit, element_mm: float) -> Array:
    """Return columns of nodes: even where the barbs will be, wider towards the far end [mm]."""
    insertion = fit.barb.insertion_mm
    even = np.linspace(0.0, insertion, int(np.ceil(insertion / element_mm)) + 1)
    free, size = FREE_LENGTHS * fit.bending_mm, float(even[1])
    beyond: list[float] = []
    while sum(beyond) < free:
        size = min(1.15 * size, 4.0 * element_mm)
        beyond.append(size)
    return np.concatenate([even, insertion + np.cumsum(beyond) * free / sum(beyond)])


def _radii(fit: TubeFit, fineness: Fineness) -> Array:
    """Return rows of nodes: closest at the bore [mm]."""
    grown = fineness.growth ** np.arange(fineness.rows)
    share = np.concatenate([[0.0], np.cumsum(grown) / grown.sum()])
    return np.asarray((fit.inner_mm + (fit.outer_mm - fit.inner_mm) * share) / 2.0)


def state_of(touch: Touch, barb: DrawnBarb, force_n: float) -> State:
    """Return what is read off the bore.

    Parameters
    ----------
    touch : Touch
        The bore.
    barb : DrawnBarb
        The barb.
    force_n : float
        Axial force on it [N].
    """
    radial = -touch.force_n[:, 1]
    mean, largest = [], []
    for start in barb.lands_mm:
        near = (touch.place_mm > start - 0.05) & (touch.place_mm < start + barb.land_mm + 0.02)
        near &= touch.normal[:, 1] > 0.5
        mean.append(radial[near].sum() / (np.pi * barb.crest_mm * barb.land_mm))
        largest.append(_largest(touch.place_mm[near], radial[near]) / (np.pi * barb.crest_mm))
    first = barb.lands_mm[0]
    over = touch.place_mm > first - 0.5 * barb.pitch_mm
    length = barb.count * barb.pitch_mm
    return State(
        force_n=force_n,
        normal_n=float(touch.normal_n.sum()),
        lands_mpa=np.array(mean),
        largest_mpa=np.array(largest),
        squeeze_mpa=float(radial[over].sum() / (np.pi * barb.root_mm * length)),
    )


def _largest(place: Array, force: Array) -> float:
    """Return the largest force a length over any window [N/mm]."""
    if not len(place):
        return 0.0
    order = np.argsort(place)
    place, sums = place[order], np.concatenate([[0.0], np.cumsum(force[order])])
    ends = np.searchsorted(place, place + WINDOW_MM, side="right")
    return float((sums[ends] - sums[: len(place)]).max() / WINDOW_MM)


def seat(fit: TubeFit, fineness: Fineness, *, pull: bool = False) -> Seated:
    """Push a tube on, let it go, and if asked put it under pressure and pull.

    Parameters
    ----------
    fit : TubeFit
        What meets what.
    fineness : Fineness
        How finely it is worked.
    pull : bool
        Whether to find the pull-off.

    Returns
    -------
    Seated
        What was found.

    Raises
    ------
    NotConvergedError
        When a step found no balance of forces.

    Source: barb_contact_fe
    """
    insertion = insertion_of(fit, fineness)
    travel, force, short, worst = [0.0], [0.0], [0.0], [0.0]

    def pushing(now: Insertion) -> None:
        travel.append(now.barb_mm)
        force.append(now.reaction_n)
        short.append(float(-now.moved[0, 0] + 0.0))
        worst.append(abs(now.barb_force_n - now.reaction_n))

    insertion.drive(fit.barb.insertion_mm, fineness.step_mm, pushing)
    pushed = state_of(_touch(insertion), fit.barb, insertion.barb_force_n)
    released = _let_go(insertion, fit, fineness, pushed)
    touch = _touch(insertion)
    points = insertion.wall.rest + insertion.kept
    points = np.stack([insertion.barb_mm - points[:, 0], points[:, 1]], 1)
    over = points[:, 0] > fit.barb.lands_mm[0]
    largest = int(np.argmax(force))
    pull_off, came_off = _pull_off(insertion, fit) if pull else (float("nan"), False)
    return Seated(
        travel_mm=np.array(travel),
        force_n=np.array(force),
        end_mm=np.array(travel) + np.array(short),
        pushed=pushed,
        released=released,
        shortening_mm=abs(short[largest]),
        plastic=float(insertion.wall.plastic.max()),
        outer_mm=2.0 * float(points[over, 1].max()),
        pull_off_n=pull_off,
        came_off=came_off,
        balance=max(worst) / max(force),
        steps=len(force) - 1,
        iterations=insertion.iterations,
        cuts=insertion.cuts,
        snaps=insertion.snaps,
        touch=touch,
        points_mm=points,
        cells=insertion.wall.cells,
    )


def _let_go(insertion: Insertion, fit: TubeFit, fineness: Fineness, pushed: State) -> State:
    """Draw the barb back until the far end pushes no more; return the state at that."""
    states, reactions = [pushed], [insertion.reaction_n]

    def easing(now: Insertion) -> bool:
        states.append(state_of(_touch(now), fit.barb, now.barb_force_n))
        reactions.append(now.reaction_n)
        return now.reaction_n <= 0.0

    reach = fit.barb.insertion_mm - 0.9 * fit.barb.pitch_mm
    step = fineness.step_mm
    insertion.slip_mm = EASY_SLIP_MM
    insertion.drive(reach, 2.0 * step / 3.0, easing, step / 3.0)
    before, after = reactions[-2:]
    share = before / (before - after) if after < 0.0 < before else 1.0
    return states[-2].towards(states[-1], share)


def _touch(insertion: Insertion) -> Touch:
    assert insertion.touch is not None
    return insertion.touch


def _pull_off(insertion: Insertion, fit: TubeFit) -> tuple[float, bool]:
    """Return the largest force against a pull under pressure [N], and whether it was passed."""
    held = [0.0]

    def pulling(now: Insertion) -> bool:
        held.append(-now.barb_force_n)
        # Past its top and a tenth down: the tube is on its way off.
        return len(held) > 4 and held[-1] < 0.9 * max(held)

    came_off = False
    # Where it finds no balance any more, what it held before stands, and is told as that.
    with suppress(NotConvergedError):
        for share in (0.25, 0.5, 0.75, 1.0):
            insertion.pressurise(share * fit.pressure_mpa)
        came_off = insertion.drive(insertion.barb_mm - fit.barb.pitch_mm, PULL_STEP_MM, pulling)
    return max(held), came_off
