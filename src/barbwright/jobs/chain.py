"""A job's chain: its inputs, fittings and tree brought together, and solved."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from barbwright import catalog
from barbwright.catalog import Tube, Uptake
from barbwright.chain.plan import (
    MAX_PORTS,
    ChainPlan,
    VesselPlan,
    check_plan,
    ports_for_girth,
)
from barbwright.chain.result import ChainResult, rating_document, rating_warnings, solve_chain
from barbwright.checks.proof import ProofTest, proof_test
from barbwright.checks.result import CHECKS, FAIL
from barbwright.checks.table import judge_all, overall_code
from barbwright.design.part import KINDS, Design, design_part
from barbwright.design.refusals import refused
from barbwright.design.tapping import tap_window
from barbwright.equations import Number
from barbwright.equations.fittings import FittingGeometry
from barbwright.equations.water import water_density_kg_m3, water_viscosity_mpa_s
from barbwright.errors import CheckFailedError, Fault, InputError
from barbwright.job import numbers
from barbwright.job.record import Input, Job, TubeInput
from barbwright.jobs.chain_inputs import ChainInputs, read_chain_inputs
from barbwright.jobs.plan import Plan, plan_part
from barbwright.jobs.record import NOTICE, SCHEMA_VERSION, failure, inputs
from barbwright.say import number, voice_of
from barbwright.units import FaultCollector

_RATING_GRID_MPA = np.arange(0.005, 2.0001, 0.005)
_BORE_STEP_MM = 0.1
_BORES_TRIED = 40
_TUBE_SIZES = ("bore", "root", "crest", "nose", "neck", "relief_ball", "hub_ball")


@dataclass(frozen=True)
class ChainJob:
    """A chain ready to be solved, with the parts it is made of.

    Attributes
    ----------
    job : Job
        What the parts are made for.
    plan : ChainPlan
        The chain in numbers.
    tee, elbow : Plan
        Its printed parts, designed and judged.
    inputs : dict of str to Input
        The chain's inputs with their origin.
    species : Uptake or None
        The tree, where it was named.
    girth_mm : float
        Girth that the ports go round, or ports times spacing where none was given [mm].
    girth_given : bool
        Whether the girth, or the diameter, was given.
    warnings : tuple of str
        What must be said loudly.
    """

    job: Job
    plan: ChainPlan
    tee: Plan
    elbow: Plan
    inputs: dict[str, Input]
    species: Uptake | None
    girth_mm: float
    girth_given: bool
    warnings: tuple[str, ...]

    @property
    def highest_mpa(self) -> float:
        """The highest pressure the regulator or relief can give [MPa]."""
        return self.job.highest_mpa

    @property
    def proof(self) -> ProofTest:
        """The proof test of its parts."""
        return proof_test(self.highest_mpa, self.job.rules)

    @property
    def parts(self) -> tuple[Plan, ...]:
        """Its printed parts; a chain of one port has no tee."""
        return (self.elbow,) if self.plan.ports == 1 else (self.tee, self.elbow)

    @property
    def species_words(self) -> str:
        """The tree in words; empty where it was measured instead."""
        return "" if self.species is None else self.species.name

    def solve(self) -> ChainResult:
        """Solve the chain."""
        return solve_chain(self.plan)


def plan_chain(
    job: Job,
    options: Mapping[str, Any],
    kit_chain: Mapping[str, Any] | None = None,
    *,
    spares: Mapping[str, int | None] | None = None,
) -> ChainJob:
    """Return a job's chain: nothing is solved yet.

    Parameters
    ----------
    job : Job
        What the parts are made for; it needs a tip.
    options : mapping
        The chain's inputs as options, by name.
    kit_chain : mapping, optional
        The `[chain]` table of a kit file.
    spares : mapping of str to int, optional
        Spares that a kit asks for, by part [-].

    Returns
    -------
    ChainJob
        The chain in numbers.

    Raises
    ------
    InputError
        With every fault of the inputs.
    NoSizeError
        When the tee or the elbow has no size.
    CheckFailedError
        When the material is refused and so no part exists.
    """
    given = read_chain_inputs(options, kit_chain)
    rules, said, warnings = job.rules, dict(given.inputs), list[str]()
    collect = FaultCollector()
    trunk = collect.read(_round_the_trunk, given, rules, said, warnings)
    tree = collect.read(_tree, given, rules, said)
    fluid = _fluid(given, job, said, warnings)
    collect.read(_vessel_holds, given, job)
    collect.raise_if_any(InputError)
    assert trunk is not None
    assert tree is not None
    ports, spacing_mm, girth_mm = trunk
    tee, elbow = (plan_part(KINDS[name], job) for name in ("tee", "elbow"))
    for part in (tee, elbow):
        if part.design is None:
            raise CheckFailedError(failure(part).faults)
    assert tee.design is not None
    assert elbow.design is not None
    # A chain of one port has no tee.
    needed = (elbow,) if ports == 1 else (tee, elbow)
    warnings += [
        f"the {part.kind.name} does not pass {', '.join(_failed(part))}: these numbers are those "
        f"of a part that must not be used (`barbwright check {part.kind.name}` says more)"
        for part in needed
        if not part.passed
    ]
    tee_shape, elbow_shape = fitting_of(tee.design), fitting_of(elbow.design)
    slack = _tube_slack(given, rules, tee_shape, spacing_mm)
    if "supply_length" not in given.values:
        length_m = rules["chain_supply_length_mm"] / 1000.0
        said["supply_length"] = Input(f"{length_m:g} m", "default (judgement)")
    tube = job.tubes[0]
    conditions = numbers.conditions(job)
    rating_mpa = float(np.asarray(conditions.tubes[0].rating_mpa))
    ratings: list[tuple[str, float]] = []
    if math.isfinite(rating_mpa):
        ratings.append((f"tube at {numbers.temperature_c(job):g} C", rating_mpa))
    else:
        warnings.append("the tube's rating is not known: the weakest rating is without it")
    for part in needed:
        assert part.design is not None
        name, rating_mpa = part_rating(part.design)
        ratings.append((f"{part.kind.name} ({name})", rating_mpa))
    if "vessel_rating" in given.values:
        ratings.append(("vessel", given.values["vessel_rating"]))
    following = _next_tube(job)
    highest = job.highest_mpa
    spare_tees, spare_elbows = _spares(ports, rules, spares or {})
    plan = ChainPlan(
        ports=ports,
        tube_id_mm=tube.inner_mm,
        tee=tee_shape,
        elbow=elbow_shape,
        supply_mpa=job.pressure_mpa,
        conductance_ml_min_kpa=tree.expected,
        conductance_low_ml_min_kpa=tree.low,
        conductance_high_ml_min_kpa=tree.high,
        conductance_viscosity_mpa_s=tree.viscosity_mpa_s,
        spacing_mm=spacing_mm,
        supply_length_mm=given.values.get("supply_length", rules["chain_supply_length_mm"]),
        supply_tube_id_mm=given.values.get("supply_tube_id"),
        supply_loss_k=given.values.get("supply_loss", 0.0),
        heights_mm=given.heights_mm,
        viscosity_mpa_s=fluid[0],
        density_kg_m3=fluid[1],
        tube_slack=slack,
        dose_ml=given.values.get("volume_per_tree"),
        vessel=_vessel(given, job, said),
        ratings_mpa=tuple(ratings),
        largest_run_bore_mm=_largest_bore(tee, elbow, "bore"),
        largest_tip_bore_mm=_largest_bore(tee, elbow, "tip_bore"),
        next_tube_id_mm=following.id_mm,
        next_tee=following.tee,
        next_elbow=following.elbow,
        next_tube_fits=following.fits,
        checked_mpa=highest,
        leaking_factor=rules["chain_leaking_factor"],
        relief_margin=rules["chain_relief_margin"],
        spare_tees=spare_tees,
        spare_elbows=spare_elbows,
        voice=voice_of(job.inputs),
    )
    check_plan(plan)
    warnings += rating_warnings(plan)
    return ChainJob(
        job=job,
        plan=plan,
        tee=tee,
        elbow=elbow,
        inputs=said,
        species=given.species,
        girth_mm=girth_mm,
        girth_given=bool({"girth", "trunk_diameter"} & set(given.inputs)),
        warnings=tuple(warnings),
    )


def fitting_of(design: Design) -> FittingGeometry:
    """Return what the flow sees of a drawn tee or elbow.

    Parameters
    ----------
    design : Design
        A part with a hub and a tip [mm].

    Returns
    -------
    FittingGeometry
        Bores and lengths of the drawn part [mm].
    """
    assert design.tip is not None
    assert design.hub is not None
    arm = float(design.arm_length_mm)
    return FittingGeometry(
        kind=design.kind.name,
        run_bore_mm=float(design.bore_mm),
        tip_bore_mm=float(design.tip.bore_mm),
        run_length_mm=arm * design.kind.arms,
        tip_length_mm=float(design.seat_root_mm + design.tip.seat_mm),
        relief_mm=float(design.hub.relief_mm),
        stop_mm=float(design.arm_start_mm),
    )


def part_rating(design: Design) -> tuple[str, float]:
    """Return the highest pressure at which no service check of a drawn part fails.

    The sizes stay as drawn and the design factors stay in; only the pressure is raised, in steps
    of 5 kPa up to 2 MPa. It is a limit of these rules, not a rating by anybody.

    Parameters
    ----------
    design : Design
        A single part.

    Returns
    -------
    tuple of str and float
        The check that fails first, and the pressure below it [MPa].
    """
    conditions = replace(design.conditions, highest_mpa=_RATING_GRID_MPA)
    with np.errstate(all="ignore"):
        judged = judge_all(replace(design, conditions=conditions))
    first, name = len(_RATING_GRID_MPA), "no service check"
    for check, result in judged.items():
        if CHECKS[check].stage != "service" or check == "tube_rating":
            continue
        failing = np.broadcast_to(np.asarray(result.verdict) == FAIL, _RATING_GRID_MPA.shape)
        at = int(np.argmax(failing)) if failing.any() else len(_RATING_GRID_MPA)
        if at < first:
            first, name = at, check
    pressure = _RATING_GRID_MPA[first - 1] if first > 0 else 0.0
    return name, float(pressure)


def _failed(part: Plan) -> list[str]:
    return [result.info.id for result in part.results if result.verdict == "fail"]


def _round_the_trunk(
    given: ChainInputs,
    rules: Mapping[str, float],
    said: dict[str, Input],
    warnings: list[str],
) -> tuple[int, float, float]:
    """Return the number of ports, their even spacing and the girth they go round [mm]."""
    values = given.values
    asked_mm = values.get("spacing", rules["chain_spacing_mm"])
    if "spacing" not in values:
        said["spacing"] = Input(f"at most {asked_mm:g} mm", "default (published, Reil 1979)")
    girth_mm = values.get("girth")
    if "trunk_diameter" in values:
        girth_mm = math.pi * values["trunk_diameter"]
    ports = given.ports
    if ports is None and girth_mm is None:
        raise InputError(
            Fault(
                "the number of ports is not known",
                do="give --girth, --trunk-diameter or --ports (in a kit: in its [chain] table)",
            )
        )
    if girth_mm is None:
        assert ports is not None
        return ports, asked_mm, ports * asked_mm
    if ports is None:
        ports = ports_for_girth(girth_mm, asked_mm)
        if ports > MAX_PORTS:
            raise InputError(
                Fault(
                    "this girth asks for more ports than one chain can have",
                    given=f"{ports} ports",
                    limit=f"{MAX_PORTS}",
                    do="check the unit, space the ports wider, or plan several chains",
                )
            )
        said["ports"] = Input(str(ports), "girth over spacing, rounded up")
    if ports == 1:
        # One port has no neighbour to be apart from.
        return ports, min(asked_mm, girth_mm), girth_mm
    even_mm = girth_mm / ports
    if even_mm > asked_mm * 1.001:
        warnings.append(
            f"{ports} ports go round a girth of {girth_mm:.0f} mm at {even_mm:.0f} mm, wider than "
            f"the {asked_mm:g} mm asked"
        )
    return ports, even_mm, girth_mm


def _tube_slack(
    given: ChainInputs, rules: Mapping[str, float], tee: FittingGeometry, spacing_mm: float
) -> float:
    if "line_length" not in given.values:
        return rules["chain_tube_slack"]
    slack = (given.values["line_length"] + 2.0 * tee.stop_mm) / spacing_mm - 1.0
    if slack < 0.0:
        raise InputError(
            Fault(
                "--line-length is too short",
                given=given.inputs["line_length"].text,
                limit=f"at least {spacing_mm - 2.0 * tee.stop_mm:.0f} mm between two tees "
                f"{spacing_mm:.0f} mm apart",
                do="cut longer, or space the ports closer",
            )
        )
    return slack


def _fluid(
    given: ChainInputs, job: Job, said: dict[str, Input], warnings: list[str]
) -> tuple[float, float]:
    """Return the fluid's viscosity and density."""
    values = given.values
    if "viscosity" in values:
        return values["viscosity"], values["density"]
    temperature_c = values.get("water_temperature", 20.0)
    said.setdefault("water_temperature", Input("20 C", "default"))
    if job.fluid != "water":
        warnings.append(
            f"the fluid is {job.fluid.replace('_', ' ')}, but water's viscosity and density are "
            "taken: give --viscosity and --density"
        )
    return float(water_viscosity_mpa_s(temperature_c)), float(water_density_kg_m3(temperature_c))


@dataclass(frozen=True)
class _Tree:
    """Conductance of one port [mL/(min kPa)], and the viscosity it was measured at [mPa s]."""

    low: float
    expected: float
    high: float
    viscosity_mpa_s: float


def _tree(given: ChainInputs, rules: Mapping[str, float], said: dict[str, Input]) -> _Tree:
    """Return the tree's conductance a port with its range."""
    if given.measured_ml_min_kpa is not None:
        temperature_c = given.values.get("measured_temperature", 20.0)
        said.setdefault("measured_temperature", Input("water at 20 C", "default"))
        expected, spread = given.measured_ml_min_kpa, rules["chain_measured_spread"]
        low, high = expected * (1.0 - spread), expected * (1.0 + spread)
        return _Tree(low, expected, high, float(water_viscosity_mpa_s(temperature_c)))
    if given.species is None:
        known = ", ".join(row.name for row in catalog.uptakes().values())
        raise InputError(
            Fault(
                "what the tree takes up is not known",
                limit=f"measured species: {known}",
                do='give --species, or better --measured such as "450 mL, 6 min, 40 psi" of one '
                "port (in a kit: in its [chain] table)",
            )
        )
    low, expected, high = conductance_range(given.species, rules["chain_tree_spread"])
    return _Tree(low, expected, high, float(water_viscosity_mpa_s(20.0)))


def conductance_range(row: Uptake, tree_spread: float) -> tuple[float, float, float]:
    """Return a species' conductance low, expected and high: the mean -/+ one standard deviation.

    The deviation is that of both seasons taken together, within and between them; a season
    without one takes the other's share of its mean. Where the mean less the deviation would be
    near or under zero, the mean over `tree_spread` stands for the low end.

    Parameters
    ----------
    row : Uptake
        A species' row.
    tree_spread : float
        How many times trees differ [-].

    Returns
    -------
    tuple of float
        Low, expected, high [mL/(min kPa)].

    Source: sinclair_larsen1981, own_derivation
    """
    seasons = [
        (mean, deviation)
        for mean, deviation in (
            (row.september_ml_min_per_hole, row.september_sd),
            (row.june_ml_min_per_hole, row.june_sd),
        )
        if mean is not None
    ]
    known = [deviation / mean for mean, deviation in seasons if deviation is not None and mean > 0]
    share = max(known, default=0.5)
    means = [mean for mean, _ in seasons] or [row.mean_ml_min_per_hole]
    within = [share * mean if sd is None else sd for mean, sd in seasons] or [share * means[0]]
    variance = float(np.mean(np.square(within)) + np.var(means))
    mean, deviation = row.mean_ml_min_per_hole, math.sqrt(variance)
    low = max(mean - deviation, mean / tree_spread)
    return low / row.pressure_kpa, mean / row.pressure_kpa, (mean + deviation) / row.pressure_kpa


def _vessel_holds(given: ChainInputs, job: Job) -> None:
    """Refuse a vessel rated under the pressure it is to hold."""
    rating_mpa = given.values.get("vessel_rating")
    if rating_mpa is not None and rating_mpa < job.pressure_mpa:
        voice = voice_of(job.inputs)
        raise InputError(
            Fault(
                "the vessel's rating (--vessel-rating, chain.vessel_rating) is under the working "
                "pressure",
                given=f"rating {voice.plain(rating_mpa)}",
                limit=f"at least {voice.plain(job.pressure_mpa)}",
                do="use a vessel rated for the relief's setting, or lower the pressure",
            )
        )


def _vessel(given: ChainInputs, job: Job, said: dict[str, Input]) -> VesselPlan | None:
    values, rules = given.values, job.rules
    volume_ml = values.get("vessel_volume")
    if volume_ml is None:
        return None
    liquid_ml = values["fill"] if "fill" in values else volume_ml - values["air_head"]
    reserve_ml = values.get("reserve")
    if reserve_ml is None:
        reserve_ml = max(rules["chain_reserve_share"] * volume_ml, rules["chain_reserve_least_ml"])
        said["reserve"] = Input(f"{reserve_ml:.0f} mL", "default (judgement)")
    recharge_mpa = rules["chain_recharge_share"] * job.pressure_mpa
    if "recharge_at" in values:
        recharge_mpa = values["recharge_at"]
    elif not given.regulated:
        said["recharge_at"] = Input(
            f"{rules['chain_recharge_share']:.0%} of the start", "default (judgement)"
        )
    return VesselPlan(
        volume_ml=volume_ml,
        liquid_ml=liquid_ml,
        relief_mpa=None if job.relief_mpa is None else job.relief_mpa,
        regulated=given.regulated,
        recharge_at_mpa=recharge_mpa,
        reserve_ml=reserve_ml,
        temperature_c=values.get("vessel_temperature", 20.0),
        expected_exponent=rules["chain_expected_exponent"],
    )


def _spares(
    ports: int, rules: Mapping[str, float], asked: Mapping[str, int | None]
) -> tuple[int, int]:
    tees = ports - 1
    usual = max(1, math.ceil(rules["chain_spare_share"] * tees - 1e-9)) if tees else 0
    tee, elbow = asked.get("tee"), asked.get("elbow")
    return usual if tee is None else tee, 1 if elbow is None else elbow


def _largest_bore(tee: Plan, elbow: Plan, name: str) -> float:
    """Return the widest bore both parts can be drawn with and judged no worse than now [mm]."""
    widest = math.inf
    for part in (tee, elbow):
        design = part.design
        assert design is not None
        assert design.tip is not None
        now = float(design.bore_mm if name == "bore" else design.tip.bore_mm)
        steps_up = np.arange(1, _BORES_TRIED + 1, dtype=np.float64)
        tried: NDArray[np.float64] = now + _BORE_STEP_MM * steps_up
        with np.errstate(all="ignore"):
            sizes: dict[str, Number] = {**part.job.forced, name: tried}
            wider = design_part(part.kind, design.conditions, sizes)
            judged = judge_all(wider)
            good = ~np.broadcast_to(refused(wider), tried.shape)
            good &= _rank(overall_code(judged)) <= _rank(overall_code(judge_all(design)))
        # Only an unbroken run from the present bore counts: beyond a gap it is another part.
        steps = len(tried) if good.all() else int(np.argmin(good))
        widest = min(widest, now + _BORE_STEP_MM * steps)
    return round(widest, 6)


def _rank(code: Any) -> Any:
    return np.where(np.asarray(code) == FAIL, 2, np.asarray(code))


@dataclass(frozen=True)
class _NextTube:
    """The next larger tube that the parts can be drawn for, else the next larger one at all."""

    id_mm: float | None
    tee: FittingGeometry | None
    elbow: FittingGeometry | None

    @property
    def fits(self) -> bool:
        return self.tee is not None


def _next_tube(job: Job) -> _NextTube:
    """Return the next larger tube of the same kind that holds the pressure and takes the parts."""
    tube = job.tubes[0]
    own = tube.row.kind if tube.row else (tube.material.kind if tube.material else None)
    asked_mpa = job.highest_mpa
    larger = []
    for row in catalog.tubes().values():
        if row.od_mm is None or row.rating_mpa is None or row.id_mm <= tube.inner_mm + 0.05:
            continue
        if own is not None and row.kind.name != own.name:
            continue
        heat = row.kind.temperature_factor_at(numbers.temperature_c(job))
        cold = row.kind.temperature_factor_at(row.rating_c)
        if row.rating_mpa * float(heat) / float(cold) >= asked_mpa:
            larger.append(row)
    larger.sort(key=lambda row: (row.id_mm, row.id))
    for row in larger:
        fittings = _fittings_for(job, row)
        if fittings is not None:
            return _NextTube(row.id_mm, *fittings)
    return _NextTube(larger[0].id_mm if larger else None, None, None)


def _fittings_for(job: Job, tube: Tube) -> tuple[FittingGeometry, FittingGeometry] | None:
    """Return tee and elbow as drawn for another tube; none where a check fails or none exists."""
    known = TubeInput(
        tube.id_mm, tube.od_mm, tube.kind.id_tolerance_mm, tube, None, tube.shore_a,
        tube.rating_mpa, tube.rating_c,
    )  # fmt: skip
    conditions = numbers.conditions(replace(job, tubes=(known, *job.tubes[1:])))
    # Sizes forced for the present tube's barb would not fit another.
    forced = {name: size for name, size in job.forced.items() if name not in _TUBE_SIZES}
    found = []
    for name in ("tee", "elbow"):
        with np.errstate(all="ignore"):
            design = design_part(KINDS[name], conditions, forced)
            if bool(np.any(refused(design))) or overall_code(judge_all(design)) == FAIL:
                return None
        found.append(fitting_of(design))
    return found[0], found[1]


def chain_document(chain: ChainJob, result: ChainResult, kit_name: str | None) -> dict[str, Any]:
    """Return everything about a chain as one JSON document.

    Parameters
    ----------
    chain : ChainJob
        The inputs.
    result : ChainResult
        The answers.
    kit_name : str or None
        The kit's name.

    Returns
    -------
    dict
        As the schema `schemas/chain.json` says; units stand in the key names.
    """
    design = chain.elbow.design
    assert design is not None
    assert design.tip is not None
    window = tap_window(design)
    assert window is not None
    given = {**inputs(chain.job), **{
        name: {"value": i.text, "from": i.origin} for name, i in chain.inputs.items()
    }}  # fmt: skip
    plan = chain.plan
    body = result.to_json_dict()
    body["warnings"] = list(
        dict.fromkeys([*chain.job.warnings, *chain.warnings, *body["warnings"]])
    )
    return {
        "schema_version": SCHEMA_VERSION,
        "command": "chain",
        "kit": kit_name,
        "notice": NOTICE,
        "inputs": given,
        "supply_kpa": number(plan.supply_mpa, "pressure", "kPa", "nearest", 6),
        "girth_mm": chain.girth_mm,
        "spacing_mm": plan.spacing_mm,
        **body,
        "ratings": [rating_document(name, value) for name, value in plan.ratings_mpa],
        "tapping": {
            "bit": chain.job.bit.name,
            "bit_diameter_mm": chain.job.bit.diameter_mm,
            "hole_depth_mm": float(design.tip.hole_depth_mm),
            "tick_spacing_mm": float(design.tip.tick_pitch_mm),
            "ticks": window.ticks,
            "most_ticks": window.most_ticks,
            "travel_mm": window.wanted_mm,
        },
        "proof_kpa": number(chain.proof.proof_mpa, "pressure", "kPa", "up"),
        "part_numbers": {part.kind.name: part.number for part in chain.parts},
    }
