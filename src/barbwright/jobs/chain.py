"""A job's chain: its inputs, fittings and tree brought together, and solved."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from barbwright import catalog
from barbwright.catalog import Tree, Uptake
from barbwright.catalog.own import own_uptake
from barbwright.chain.plan import (
    KPA_PER_MPA,
    MAX_PORTS,
    ChainPlan,
    Rated,
    VesselPlan,
    check_plan,
    ports_for_girth,
)
from barbwright.chain.result import ChainResult, rating_warnings, solve_chain
from barbwright.chain.uptake import TREES_DIFFER, OpenHole, TreeUptake, scaled, told_straight
from barbwright.checks.proof import ProofTest, proof_test
from barbwright.design.part import KINDS, Design
from barbwright.design.single import single
from barbwright.equations.fittings import FittingGeometry
from barbwright.equations.water import water_density_kg_m3, water_viscosity_mpa_s
from barbwright.errors import CheckFailedError, Fault, InputError
from barbwright.job import numbers
from barbwright.job.record import MOST_MPA, Input, Job
from barbwright.job.texts import FromFile
from barbwright.jobs.chain_inputs import ChainInputs, read_chain_inputs
from barbwright.jobs.plan import Plan, plan_part
from barbwright.jobs.record import failure
from barbwright.rating.larger import LargerTube, next_larger_tube, widest_bore
from barbwright.rating.rating import rate_drawn
from barbwright.say import IMPERIAL, voice_of
from barbwright.units import FaultCollector

_PARTS = ("tee", "elbow")


@dataclass(frozen=True, kw_only=True)
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
        The kind of tree, where it was named.
    tree : str
        One tree of the user's own, by its name; empty where none was named.
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
    tree: str
    girth_mm: float
    girth_given: bool
    warnings: tuple[str, ...]

    def __repr__(self) -> str:
        """Return what was asked for in a line; all it holds is very long."""
        around = f"{self.plan.ports} port{'' if self.plan.ports == 1 else 's'}"
        tree = self.tree_words or "a tree as measured"
        return f"<chain of {around}, {tree}, of {self.tee.number} and {self.elbow.number}>"

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
    def tree_words(self) -> str:
        """The tree in words; empty where one of its ports was measured instead."""
        return self.tree or ("" if self.species is None else self.species.name)

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
    try:
        return _planned(job, given, spares or {})
    except InputError as error:
        # What is missing, or wrong only beside another input, is told as of the same file.
        if isinstance(kit_chain, FromFile):
            raise InputError(kit_chain.in_its_words(error.faults, options)) from None
        raise


def _planned(job: Job, given: ChainInputs, spares: Mapping[str, int | None]) -> ChainJob:
    """Return the chain of inputs that were read; refuse those that do not go together."""
    rules, said, warnings = job.rules, dict(given.inputs), list[str]()
    collect = FaultCollector()
    trunk = collect.read(_round_the_trunk, given, rules, said, warnings)
    tree = collect.read(tree_uptake, given, rules, said)
    fluid = _fluid(given, job, said, warnings)
    collect.read(_vessel_holds, given, job)
    collect.raise_if_any(InputError)
    assert trunk is not None
    assert tree is not None
    ports, spacing_mm, girth_mm = trunk
    tee, elbow = (plan_part(KINDS[name], job) for name in _PARTS)
    tree = _for_this_hole(tree, given, elbow, job)
    tee_shape, elbow_shape = fitting_of(drawn(tee)), fitting_of(drawn(elbow))
    # A chain of one port has no tee.
    needed = (elbow,) if ports == 1 else (tee, elbow)
    warnings += [
        f"the {part.kind.name} does not pass {', '.join(_failed(part))}: these numbers are those "
        f"of a part that must not be used (`barbwright check {part.kind.name}` says more)"
        for part in needed
        if not part.passed
    ]
    slack = _tube_slack(given, rules, tee_shape, spacing_mm)
    if "supply_length" not in given.values:
        length_m = rules["chain_supply_length_mm"] / 1000.0
        said["supply_length"] = Input(f"{length_m:g} m", "default (judgement)")
    if "vessel_volume" in given.values and "vessel_rating" not in given.values:
        warnings.append("the vessel's rating is not given: the weakest rating is without it")
    following = next_larger_tube([KINDS[name] for name in _PARTS], job)
    next_tee, next_elbow = _fittings(following)
    spare_tees, spare_elbows = _spares(ports, rules, spares)
    plan = ChainPlan(
        ports=ports,
        tube_id_mm=job.tubes[0].inner_mm,
        tee=tee_shape,
        elbow=elbow_shape,
        supply_mpa=job.pressure_mpa,
        conductance_ml_min_kpa=tree.expected,
        conductance_low_ml_min_kpa=tree.low,
        conductance_high_ml_min_kpa=tree.high,
        conductance_viscosity_mpa_s=tree.viscosity_mpa_s,
        tree_notes=tree.notes,
        card_notes=tree.card,
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
        ratings=_ratings(job, needed, given.values.get("vessel_rating")),
        largest_run_bore_mm=_largest_bore(tee, elbow, "bore"),
        largest_tip_bore_mm=_largest_bore(tee, elbow, "tip_bore"),
        next_tube_id_mm=None if following.tube is None else following.tube.id_mm,
        next_tee=next_tee,
        next_elbow=next_elbow,
        next_tube_fits=next_tee is not None,
        checked_mpa=job.highest_mpa,
        leaking_factor=rules["chain_leaking_factor"],
        relief_margin=rules["chain_relief_margin"],
        spare_tees=spare_tees,
        spare_elbows=spare_elbows,
        voice=voice_of(job.inputs),
    )
    check_plan(plan)
    warnings += rating_warnings(plan)
    if given.species is not None and not tree.own and given.measured_ml_min_kpa is None:
        warnings += filter(None, [own_uptake(given.species.scientific_name)])
    return ChainJob(
        job=job,
        plan=plan,
        tee=tee,
        elbow=elbow,
        inputs=said,
        species=given.species,
        tree="" if given.tree is None else given.tree.name,
        girth_mm=girth_mm,
        girth_given=bool({"girth", "trunk_diameter"} & set(given.inputs)),
        warnings=tuple(warnings),
    )


def drawn(part: Plan) -> Design:
    """Return a part's drawn sizes.

    Parameters
    ----------
    part : Plan
        A printed part of the chain.

    Raises
    ------
    CheckFailedError
        When it has none, because the material is refused.
    """
    if part.design is None:
        raise CheckFailedError(failure(part).faults)
    return part.design


def _fittings(larger: LargerTube) -> tuple[FittingGeometry | None, FittingGeometry | None]:
    """Return tee and elbow as drawn for a larger tube; none where they cannot be, or fail."""
    if not larger.designs:
        return None, None
    tee, elbow = larger.designs
    return fitting_of(tee), fitting_of(elbow)


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
    part = single(design)
    assert part.tip is not None
    assert part.hub is not None
    return FittingGeometry(
        kind=part.kind.name,
        run_bore_mm=part.bore_mm,
        tip_bore_mm=part.tip.bore_mm,
        run_length_mm=part.arm_length_mm * part.kind.arms,
        tip_length_mm=float(part.seat_root_mm + part.tip.seat_mm),
        relief_mm=part.hub.relief_mm,
        stop_mm=part.arm_start_mm,
    )


def part_rating(part: Plan) -> Rated:
    """Return the highest pressure at which a printed part does not fail, as `rate` finds it.

    The sizes stay as drawn and the design factors stay in; only the pressure is raised. It is a
    limit of these rules, not a rating by anybody.

    Parameters
    ----------
    part : Plan
        A printed part of the chain.

    Returns
    -------
    Rated
        Not known where a check that limits it could not be made.
    """
    name, limit = part.kind.name, rate_drawn(part.kind, part.job, full=False).limit
    if limit.governing:
        name = f"{name} ({limit.governing})"
    if limit.silent:
        return Rated(name=name, mpa=None, at_most_mpa=limit.judged_mpa, because=limit.because)
    holds = limit.judged_mpa
    if holds is None:
        # With a check to blame it fails at every pressure, without one at none that was looked at.
        holds = 0.0 if limit.governing else MOST_MPA
    return Rated(name=name, mpa=holds, because=limit.because)


def _ratings(job: Job, parts: Sequence[Plan], vessel_mpa: float | None) -> tuple[Rated, ...]:
    """Return what tube, printed parts and vessel hold."""
    found = []
    rating_mpa = float(np.asarray(numbers.conditions(job).tubes[0].rating_mpa))
    # A tube without a rating, but of known strength, is judged with the parts.
    if math.isfinite(rating_mpa):
        found.append(Rated(name=f"tube at {numbers.temperature_c(job):g} C", mpa=rating_mpa))
    found += [part_rating(part) for part in parts]
    if vessel_mpa is not None:
        found.append(Rated(name="vessel", mpa=vessel_mpa))
    return tuple(found)


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
            f"{ports} ports go round a girth of {IMPERIAL.plain(girth_mm, 'length')} at "
            f"{IMPERIAL.demand(even_mm, 'length')}, wider than the "
            f"{IMPERIAL.limit(asked_mm, 'length')} asked"
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
                limit=f"at least {IMPERIAL.demand(spacing_mm - 2.0 * tee.stop_mm, 'length')} "
                f"between two tees {IMPERIAL.plain(spacing_mm, 'length')} apart",
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


def open_hole(design: Design) -> OpenHole:
    """Return the hole that a seated tip leaves open behind it.

    Parameters
    ----------
    design : Design
        A part with a tip [mm].
    """
    tip, conditions = design.tip, design.conditions
    assert tip is not None
    # Of the hole's depth in wood the tip covers its contact and where it started, which scatters.
    in_wood = float(tip.hole_depth_mm - conditions.bark_mm - tip.contact_mm)
    return OpenHole(
        hole_mm=float(conditions.hole_low_mm + conditions.hole_high_mm) / 2.0,
        least_mm=max(in_wood - float(tip.scatter_mm), 1.0),
        most_mm=max(in_wood, 1.0),
    )


def _for_this_hole(tree: TreeUptake, given: ChainInputs, elbow: Plan, job: Job) -> TreeUptake:
    """Return a published row scaled to the hole, or what was measured as it is, told straight."""
    reference_kpa, voice = tree.pressure_kpa or given.measured_kpa, voice_of(job.inputs)
    if given.measured_ml_min_kpa is None and not tree.own and given.species is not None:
        reference_kpa = given.species.pressure_kpa
        tree = scaled(tree, open_hole(drawn(elbow)), job.rules, voice,
                      ring_porous=given.species.ring_porous)  # fmt: skip
    supply_kpa = job.pressure_mpa * KPA_PER_MPA
    return told_straight(tree, supply_kpa, reference_kpa or supply_kpa, voice)


def tree_uptake(
    given: ChainInputs, rules: Mapping[str, float], said: dict[str, Input]
) -> TreeUptake:
    """Return a tree's conductance a port with its range: its own, its species', else the table's.

    Parameters
    ----------
    given : ChainInputs
        What was said of the chain.
    rules : mapping
        Judgement numbers.
    said : dict of str to Input
        Inputs as printed, to which it adds where a number came from.
    """
    told = given.tree
    if told is not None:
        said["tree"] = Input(f"{told.name}: {told.expected:.3g} mL/min/kPa", told.status)
        return _as_told(told)
    if given.species is not None and (own := _of_species(given.species)):
        said["species"] = Input(given.species.name, f"your own trees of it, {len(own)}")
        return _between_trees(own, rules)
    if given.measured_ml_min_kpa is not None:
        temperature_c = given.values.get("measured_temperature", 20.0)
        said.setdefault("measured_temperature", Input("water at 20 C", "default"))
        expected, spread = given.measured_ml_min_kpa, rules["chain_measured_spread"]
        low, high = expected * (1.0 - spread), expected * (1.0 + spread)
        return TreeUptake(
            low=low,
            expected=expected,
            high=high,
            viscosity_mpa_s=float(water_viscosity_mpa_s(temperature_c)),
        )
    if given.species is None:
        raise InputError(
            Fault(
                "what the tree takes up is not known",
                do="give --species (`barbwright list species`), or better --measured such as "
                '"450 mL, 6 min, 40 psi" of one port (in a kit: in its [chain] table)',
            )
        )
    low, expected, high = conductance_range(given.species, rules["chain_tree_spread"])
    return TreeUptake(
        low=low, expected=expected, high=high, viscosity_mpa_s=float(water_viscosity_mpa_s(20.0))
    )


def _as_told(tree: Tree) -> TreeUptake:
    return TreeUptake(
        low=tree.low,
        expected=tree.expected,
        high=tree.high,
        viscosity_mpa_s=tree.viscosity_mpa_s,
        own=True,
        pressure_kpa=tree.pressure_kpa,
        notes=(f"The uptake is this tree's own ({tree.status}).",),
    )


def _of_species(row: Uptake) -> list[Tree]:
    """Return the user's own trees of a species, named as the table or the woods name it."""
    words = {frozenset(name.casefold().split()) for name in (row.name, row.scientific_name)}
    return [
        tree
        for tree in catalog.trees().values()
        if tree.species and any(name <= frozenset(tree.species.casefold().split())
                                for name in words)
    ]  # fmt: skip


def _between_trees(own: Sequence[Tree], rules: Mapping[str, float]) -> TreeUptake:
    """Return what another tree of a species may take, by those that were told."""
    # A liquid twice as thick passes half as well: all are told in the first one's.
    viscosity = own[0].viscosity_mpa_s
    logs = np.log([tree.expected * tree.viscosity_mpa_s / viscosity for tree in own])
    # Trees differ so many times from end to end; two deviations either way are those ends.
    between = math.log(rules["chain_tree_spread"]) / 4.0
    spread = between * math.sqrt(1.0 + 1.0 / len(own))
    middle = float(np.mean(logs))
    low, expected, high = (math.exp(middle + way * spread) for way in (-1.0, 0.0, 1.0))
    return TreeUptake(
        low=low,
        expected=expected,
        high=high,
        viscosity_mpa_s=viscosity,
        own=True,
        pressure_kpa=max(tree.pressure_kpa for tree in own),
        notes=(f"The uptake is by your own trees of this species: {len(own)}.", TREES_DIFFER),
    )


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
                "--vessel-rating: the vessel's rating is under the working pressure",
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
        relief_mpa=job.relief_mpa,
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
    widest = []
    for part in (tee, elbow):
        shape = fitting_of(drawn(part))
        now_mm = shape.run_bore_mm if name == "bore" else shape.tip_bore_mm
        widest.append(widest_bore(part.kind, part.job, name, now_mm))
    return min(widest)
