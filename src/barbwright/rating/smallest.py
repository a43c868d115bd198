"""The smallest bit, the least wall, the softest tube and wood that still pass."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from barbwright import catalog
from barbwright.checks.result import CHECKS, FAIL, NOT_CHECKED
from barbwright.design.conditions import Conditions
from barbwright.design.part import Kind
from barbwright.design.refusals import refused
from barbwright.design.single import single
from barbwright.equations import Number
from barbwright.job import numbers
from barbwright.job.record import Job, WoodInput
from barbwright.rating.choices import bit_axis, tube_axis, wood_axis
from barbwright.rating.judging import BoolArray, FloatArray, Graded, grade_design
from barbwright.rating.roots import turning_points
from barbwright.rating.search import designed, grade
from barbwright.rating.stack import stack

NO_TIP = "this kind of part has no tip"
NO_BARB = "this kind of part has no barb"


@dataclass(frozen=True)
class Found:
    """The smallest choice that passes, or why there is none.

    Attributes
    ----------
    name : str or None
        In words.
    number : float or None
        As a number, in the unit its key says.
    because : str
        Why there is none; else empty.
    crush_mpa : float or None
        Of a wood its green compression strength across the grain, C90 [MPa].
    """

    name: str | None = None
    number: float | None = None
    because: str = ""
    crush_mpa: float | None = None


@dataclass(frozen=True, kw_only=True)
class LeastWall:
    """How thin a wall may be drawn before a check fails.

    Attributes
    ----------
    where : str
        Which wall.
    option : str
        The size that was forced up to find it.
    drawn_mm : float
        Wall as it is drawn [mm].
    least_mm : float or None
        Least wall that passes every check [mm].
    governing : str
        The check that fails below it.
    strength_mm : float or None
        Least wall that passes every service and handling check, the process limits
        left out [mm].
    strength_governing : str
        The check that fails below that.
    because : str
        Why there is none.
    """

    where: str
    option: str
    drawn_mm: float
    least_mm: float | None = None
    governing: str = ""
    strength_mm: float | None = None
    strength_governing: str = ""
    because: str = ""


@dataclass(frozen=True, kw_only=True)
class Smallest:
    """All that still passes at the asked pressure.

    Attributes
    ----------
    bit : Found
        Smallest bit [mm].
    walls : tuple of LeastWall
        Barb and tip.
    tube, shore : Found
        Softest tube of the table, and softest rubber of the asked size [Shore A].
    wood : Found
        Softest wood of the table [green specific gravity].
    hardwood, softwood : Found
        Least green specific gravity of a wood known by its group alone [-].
    """

    bit: Found
    walls: tuple[LeastWall, ...]
    tube: Found
    shore: Found
    wood: Found
    hardwood: Found
    softwood: Found


def smallest(kind: Kind, job: Job) -> Smallest:
    """Return the smallest choices that pass at a job's own pressure.

    Parameters
    ----------
    kind : Kind
        Kind of part.
    job : Job
        What is asked.

    Returns
    -------
    Smallest
        Each with all other inputs as asked.
    """
    return Smallest(
        bit=smallest_bit(kind, job),
        walls=least_walls(kind, job),
        tube=softest_tube(kind, job),
        shore=softest_shore(kind, job),
        wood=softest_wood(kind, job),
        hardwood=least_gravity(kind, job, hardwood=True),
        softwood=least_gravity(kind, job, hardwood=False),
    )


def _made(graded: Graded, check: str) -> BoolArray:
    """Return where a check was made at all."""
    return np.asarray(graded.verdicts[graded.ids.index(check)] != NOT_CHECKED)


def smallest_bit(kind: Kind, job: Job) -> Found:
    """Return the smallest bit that passes: of the job's own series, else of any [mm].

    Parameters
    ----------
    kind : Kind
        Kind of part.
    job : Job
        What is asked.
    """
    if not kind.tip:
        return Found(because=NO_TIP)
    bits = list(catalog.bits().values())
    made = bit_axis(job, bits)
    graded = grade(kind, made.stacked, job.forced, (len(made),))
    works = [bit for bit, bad in zip(bits, graded.fails, strict=True) if not bad]
    if not works:
        return Found(because="no bit of the table passes")
    own = [bit for bit in works if bit.series == job.bit.series]
    best = min(own or works, key=lambda bit: bit.diameter_mm)
    return Found(best.name, best.diameter_mm)


def softest_tube(kind: Kind, job: Job) -> Found:
    """Return the tube of the table with the lowest modulus that passes [MPa].

    Each tube gets its own barb. Only tubes whose seal can be judged count.

    Parameters
    ----------
    kind : Kind
        Kind of part.
    job : Job
        What is asked.
    """
    if not kind.arms:
        return Found(because=NO_BARB)
    tubes = list(catalog.tubes().values())
    made = tube_axis(job, tubes)
    graded = grade(kind, made.stacked, job.forced, (len(made),))
    works = ~graded.fails & _made(graded, "barb_seal")
    if not works.any():
        return Found(because="no tube of the table passes")
    modulus = np.broadcast_to(made.stacked.tubes[0].modulus_low_mpa, works.shape)
    at = int(np.argmin(np.where(works, modulus, np.inf)))
    return Found(tubes[at].name, float(modulus[at]))


def softest_shore(kind: Kind, job: Job) -> Found:
    """Return the softest rubber of the asked size that passes, to 1 Shore A.

    Parameters
    ----------
    kind : Kind
        Kind of part.
    job : Job
        What is asked.
    """
    if not kind.arms:
        return Found(because=NO_BARB)
    tube = job.tubes[0]
    if tube.outer_mm is None:
        return Found(because="the tube's outer diameter is not given: --tube-od")
    own = tube.kind
    name = own.name if own is not None and own.name in numbers.RUBBERS else "PU"
    word = catalog.find_tube_material(name)
    hardness = np.arange(20.0, 96.0)
    changed = [
        replace(
            job,
            tubes=(
                replace(
                    tube,
                    row=None,
                    material=word,
                    shore_a=float(shore),
                    rating_mpa=tube.rating_mpa if own is not None and own.name == name else None,
                ),
                *job.tubes[1:],
            ),
        )
        for shore in hardness
    ]
    graded = grade(
        kind, stack([numbers.conditions(one) for one in changed]), job.forced, hardness.shape
    )
    works = ~graded.fails & _made(graded, "barb_seal")
    if not works.any():
        return Found(because=f"no {name} of this size passes, up to 95A")
    shore = float(hardness[int(np.argmax(works))])
    return Found(f"{name} {shore:.0f}A", shore)


def softest_wood(kind: Kind, job: Job) -> Found:
    """Return the wood of the table that crushes most easily and still passes.

    Parameters
    ----------
    kind : Kind
        Kind of part.
    job : Job
        What is asked.
    """
    if not kind.tip:
        return Found(because=NO_TIP)
    woods = list(catalog.woods().values())
    made = wood_axis(job, woods)
    graded = grade(kind, made.stacked, job.forced, (len(made),))
    works = ~graded.fails
    if not works.any():
        return Found(because="no wood of the table passes")
    crush = np.broadcast_to(made.stacked.wood.crush_mpa, works.shape)
    at = int(np.argmin(np.where(works, crush, np.inf)))
    return Found(woods[at].name, woods[at].specific_gravity_green, crush_mpa=float(crush[at]))


def least_gravity(kind: Kind, job: Job, *, hardwood: bool) -> Found:
    """Return the least green specific gravity that passes, for a wood of no table [-].

    Parameters
    ----------
    kind : Kind
        Kind of part.
    job : Job
        What is asked.
    hardwood : bool
        Group [-].
    """
    if not kind.tip:
        return Found(because=NO_TIP)
    base = numbers.conditions(job)
    group = "hardwood" if hardwood else "softwood"

    def fails(gravity: FloatArray, _args: tuple[FloatArray, ...] = ()) -> BoolArray:
        woods = [
            numbers.wood_conditions(
                WoodInput(name=group, specific_gravity=float(one), hardwood=hardwood), job.rules
            )
            for one in gravity
        ]
        return grade(kind, replace(base, wood=stack(woods)), job.forced, gravity.shape).fails

    density = np.linspace(0.2, 1.0, 161)
    bad = fails(density)
    if bad.all():
        return Found(because=f"no {group} passes")
    first = int(np.argmin(bad))
    if first == 0:
        return Found(f"{group} 0.2", 0.2)
    passing, _ = turning_points(
        fails, density[first - 1 : first], density[first : first + 1], tolerance=1e-5
    )
    # Rounded up: a denser wood is on the passing side.
    gravity = float(np.ceil(passing[0] * 1000.0) / 1000.0)
    return Found(f"{group} {gravity:g}", gravity)


def least_walls(kind: Kind, job: Job) -> tuple[LeastWall, ...]:
    """Return how thin barb and tip may be drawn, their outsides held as they are [mm].

    Parameters
    ----------
    kind : Kind
        Kind of part.
    job : Job
        What is asked.
    """
    base = numbers.conditions(job)
    with np.errstate(all="ignore"):
        design = designed(kind, base, job.forced)
        if np.any(refused(design)):
            return ()
    part = single(design)
    if not part.barbs:
        return ()
    # A narrower wall must not be answered by another taper or stretch: only the bore moves.
    base = replace(base, tubes=design.conditions.tubes)
    taper = {} if part.tip is None else {"taper": part.tip.taper}
    root = part.barbs[0].root_mm
    barb = LeastWall(where="barb root", option="bore", drawn_mm=(root - part.bore_mm) / 2.0)
    if len(part.barbs) > 1:
        walls = [replace(barb, because="the two ends have roots of their own")]
    else:
        walls = [_least_wall(kind, job.forced, base, barb, root, {"root": root, **taper})]
    if part.tip is not None:
        lead, tip_bore = part.tip.lead_mm, part.tip.bore_mm
        start = LeastWall(
            where="tip's lead end", option="tip_bore", drawn_mm=(lead - tip_bore) / 2.0
        )
        walls.append(_least_wall(kind, job.forced, base, start, lead, {"lead": lead, **taper}))
    return tuple(walls)


def _least_wall(
    kind: Kind,
    own: Mapping[str, float],
    conditions: Conditions,
    start: LeastWall,
    outside_mm: float,
    held: dict[str, float],
) -> LeastWall:
    def graded(bore_mm: FloatArray) -> Graded:
        forced: dict[str, Number] = {**own, **held, start.option: bore_mm}
        with np.errstate(all="ignore"):
            return grade_design(designed(kind, conditions, forced, bore_mm.shape), bore_mm.shape)

    # The drawn bore is often the only one between two process limits: it must be among them.
    drawn = outside_mm - 2.0 * start.drawn_mm
    bores = np.union1d(np.linspace(0.3, outside_mm - 0.12, 240), np.round([drawn], 6))
    first = graded(bores)
    all_checks = _edge(bores, first, graded, every=True)
    strength = _edge(bores, first, graded, every=False)
    if all_checks is None:
        because = "no bore passes with this outside"
        if strength is not None:
            because += ", the process limits left out there is one"
        out = replace(start, because=because)
    else:
        out = replace(start, least_mm=(outside_mm - all_checks[0]) / 2.0, governing=all_checks[1])
    if strength is not None:
        least = (outside_mm - strength[0]) / 2.0
        out = replace(out, strength_mm=least, strength_governing=strength[1])
    return out


def _edge(
    bores_mm: FloatArray,
    first: Graded,
    graded: Callable[[FloatArray], Graded],
    *,
    every: bool,
) -> tuple[float, str] | None:
    """Return the largest bore that passes [mm] and the check that fails beyond it."""

    def failing_checks(one: Graded) -> BoolArray:
        counted = np.array([every or CHECKS[name].stage != "making" for name in one.ids])
        return np.asarray((one.verdicts == FAIL) & counted[:, None])

    def bad(one: Graded) -> BoolArray:
        return one.fails if every else np.asarray(failing_checks(one).any(axis=0))

    works = ~bad(first)
    if not works.any():
        return None
    last = int(np.flatnonzero(works)[-1])
    if last == len(bores_mm) - 1:
        return float(bores_mm[last]), ""
    passing, failing = turning_points(
        lambda size, _args: bad(graded(size)),
        bores_mm[last : last + 1],
        bores_mm[last + 1 : last + 2],
        tolerance=1e-5,
    )
    beyond = graded(failing)
    fails = failing_checks(beyond)[:, 0]
    order = np.where(fails, np.minimum(beyond.use[:, 0], 1e5), np.inf)
    name = beyond.ids[int(np.argmin(order))] if fails.any() else "no_size"
    return float(np.floor(passing[0] * 1e4) / 1e4), name
