"""What a chain is: ports, tube, fittings, tree, fluid, vessel; and its network of losses.

Flows are mL/min here, as people read them; the network's are mm3/s. Pressures are gauge MPa.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from barbwright.chain.network import (
    Array,
    Element,
    Expansion,
    Fitting,
    Network,
    Pipe,
    Solution,
    step,
)
from barbwright.equations import fittings
from barbwright.equations.energy import ATMOSPHERE_MPA
from barbwright.equations.fittings import FittingGeometry
from barbwright.equations.water import water_viscosity_mpa_s
from barbwright.errors import Fault, InputError
from barbwright.say import IMPERIAL, Voice, figure

MM3_S_PER_ML_MIN = 1000.0 / 60.0
KPA_PER_MPA = 1000.0
DEFAULT_SPACING_MM = 150.0
MAX_PORTS = 60


def ports_for_girth(girth_mm: float, spacing_mm: float = DEFAULT_SPACING_MM) -> int:
    """Ports round a trunk of a measured girth, ceil(girth / spacing).

    Parameters
    ----------
    girth_mm : float
        Girth [mm].
    spacing_mm : float
        Largest spacing along the bark [mm].

    Returns
    -------
    int
        Number of ports [-].
    """
    # A girth of exactly 8 spacings is 8 ports, whatever the last bit of the division says.
    return max(1, math.ceil(girth_mm / spacing_mm - 1e-9))


@dataclass(frozen=True, kw_only=True)
class VesselPlan:
    """The vessel that drives the chain.

    Parameters
    ----------
    volume_ml : float
        Whole inside volume [mL].
    liquid_ml : float
        Liquid filled in; the rest is the air head [mL].
    relief_mpa : float or None
        Gauge pressure at which its relief valve opens [MPa].
    regulated : bool
        True when a regulator holds the pressure; else the air head runs down [-].
    recharge_at_mpa : float or None
        Gauge pressure at which the user pumps up again; None is 75 % of the start
        (judgement) [MPa].
    reserve_ml : float or None
        Liquid that must stay in, so that no air enters the tree; None is the larger of 5 % of the
        volume and 100 mL (judgement) [mL].
    temperature_c : float
        Temperature when filled [C].
    expected_exponent : float
        Expected polytropic exponent, between 1 (slow) and 1.4 (fast); 1.1 is judgement: minutes
        are slow for a small air head in a wetted wall [-].
    """

    volume_ml: float
    liquid_ml: float
    relief_mpa: float | None = None
    regulated: bool = False
    recharge_at_mpa: float | None = None
    reserve_ml: float | None = None
    temperature_c: float = 20.0
    expected_exponent: float = 1.1

    @property
    def air_head_ml(self) -> float:
        """Air volume at the start [mL]."""
        return self.volume_ml - self.liquid_ml

    @property
    def kept_ml(self) -> float:
        """Liquid that must stay in the vessel [mL]."""
        return max(0.05 * self.volume_ml, 100.0) if self.reserve_ml is None else self.reserve_ml

    @property
    def usable_ml(self) -> float:
        """Liquid that may leave before air comes near [mL]."""
        return self.liquid_ml - self.kept_ml


@dataclass(frozen=True, kw_only=True)
class Rated:
    """How much one thing in the assembly holds, as far as it is known.

    Parameters
    ----------
    name : str
        What it is; of a printed part with the check that limits it [-].
    mpa : float or None
        Gauge pressure it holds at service temperature; None where it is not known [MPa].
    at_most_mpa : float or None
        Where it is not known, what it cannot exceed by what could be judged [MPa].
    because : str
        Why it is not known, or what to know about it [-].
    """

    name: str
    mpa: float | None
    at_most_mpa: float | None = None
    because: str = ""

    @property
    def known(self) -> bool:
        """Whether all that limits it could be judged."""
        return self.mpa is not None

    @property
    def bound_mpa(self) -> float:
        """What it cannot exceed as far as is known; infinite where nothing is [MPa]."""
        bound = self.at_most_mpa if self.mpa is None else self.mpa
        return math.inf if bound is None else bound

    def say(self, voice: Voice) -> str:
        """Return how much it holds in words, or what is known of that [-]."""
        if self.mpa is not None:
            return voice.limit(self.mpa)
        if self.at_most_mpa is None:
            return "not known"
        return f"not known, at most {voice.limit(self.at_most_mpa)} by what could be judged"


@dataclass(frozen=True, kw_only=True)
class ChainPlan:
    """All inputs of one chain.

    Parameters
    ----------
    ports : int
        Number of ports: ports - 1 tees and one elbow at the far end [-].
    tube_id_mm : float
        Bore of the tube between ports [mm].
    tee, elbow : FittingGeometry
        Bores and lengths of the printed fittings.
    supply_mpa : float
        Gauge pressure at the vessel's outlet, at the start [MPa].
    conductance_ml_min_kpa : float
        Expected conductance of the tree per port, at `conductance_viscosity_mpa_s` [mL/(min kPa)].
    conductance_low_ml_min_kpa, conductance_high_ml_min_kpa : float or None
        Its range; None is the expected value [mL/(min kPa)].
    port_factors : tuple of float
        Multiplies the conductance per port: 0 blocked, 20 a leaking seat; empty is all 1 [-].
    conductance_viscosity_mpa_s : float
        Viscosity at which the conductance was measured; default water at 20 C [mPa s].
    spacing_mm : float
        Port to port along the bark [mm].
    supply_length_mm : float
        Tube from the vessel to the first tee [mm].
    supply_tube_id_mm : float or None
        Its bore; None is `tube_id_mm` [mm].
    supply_loss_k : float
        Loss coefficient of valves and couplers in the supply, on its bore [-].
    heights_mm : tuple of float
        Height of each port above the vessel's gauge; one value serves all, empty is level [mm].
    viscosity_mpa_s, density_kg_m3 : float
        The fluid [mPa s], [kg/m3].
    fitting_factor : float
        Multiplies all fitting losses [-].
    tube_slack : float
        Extra tube between ports, share of the spacing (judgement 0.05) [-].
    dose_ml : float or None
        Volume the user wants to deliver to the whole tree; None gives no times [mL].
    vessel : VesselPlan or None
        The vessel; None is an unlimited regulated supply.
    ratings : tuple of Rated
        What each thing in the assembly holds at service temperature.
    largest_run_bore_mm : float or None
        Widest run bore the design can be drawn with on this tube; None is the tube's bore [mm].
    largest_tip_bore_mm : float or None
        Widest tip bore the design can be drawn with; None is 1 mm more [mm].
    next_tube_id_mm : float or None
        Bore of the next larger tube on sale; None is 1 mm more [mm].
    next_tee, next_elbow : FittingGeometry or None
        Fittings as drawn for that tube; None widens their bores as the tube's [mm].
    next_tube_fits : bool
        False where no fitting can be drawn for that tube: then only the supply may use it.
    checked_mpa : float or None
        Highest gauge pressure the printed parts were checked for: never advise more [MPa].
    leaking_factor : float
        How many times more a leaking seat takes (judgement) [-].
    relief_margin : float
        Share of the relief's setting that a raised pressure may reach (judgement) [-].
    spare_tees, spare_elbows : int or None
        Spares to print; None is one in ten and at least one (judgement) [-].
    atmosphere_mpa : float
        Absolute ambient pressure [MPa].
    voice : Voice
        Which unit of pressure leads where the chain speaks.
    tree_notes, card_notes : tuple of str
        What must be known of the conductance; and what of it stands on the card itself [-].
    """

    ports: int
    tube_id_mm: float
    tee: FittingGeometry
    elbow: FittingGeometry
    supply_mpa: float
    conductance_ml_min_kpa: float
    conductance_low_ml_min_kpa: float | None = None
    conductance_high_ml_min_kpa: float | None = None
    port_factors: tuple[float, ...] = ()
    conductance_viscosity_mpa_s: float = float(water_viscosity_mpa_s(20.0))
    spacing_mm: float = DEFAULT_SPACING_MM
    supply_length_mm: float = 2000.0
    supply_tube_id_mm: float | None = None
    supply_loss_k: float = 0.0
    heights_mm: tuple[float, ...] = ()
    viscosity_mpa_s: float = float(water_viscosity_mpa_s(20.0))
    density_kg_m3: float = 998.2
    fitting_factor: float = 1.0
    tube_slack: float = 0.05
    dose_ml: float | None = None
    vessel: VesselPlan | None = None
    ratings: tuple[Rated, ...] = ()
    largest_run_bore_mm: float | None = None
    largest_tip_bore_mm: float | None = None
    next_tube_id_mm: float | None = None
    next_tee: FittingGeometry | None = None
    next_elbow: FittingGeometry | None = None
    next_tube_fits: bool = True
    checked_mpa: float | None = None
    leaking_factor: float = 20.0
    relief_margin: float = 0.9
    spare_tees: int | None = None
    spare_elbows: int | None = None
    atmosphere_mpa: float = ATMOSPHERE_MPA
    voice: Voice = IMPERIAL
    tree_notes: tuple[str, ...] = ()
    card_notes: tuple[str, ...] = ()

    @property
    def ports_apart(self) -> str:
        """How many ports, and how far they stand apart along the bark, in words."""
        if self.ports == 1:
            return "1 port"
        return f"{self.ports} ports {self.voice.plain(self.spacing_mm, 'length')} apart"

    @property
    def weakest(self) -> Rated | None:
        """What holds least; not known as long as the hold of one thing is not."""
        if not self.ratings:
            return None
        least = min(self.ratings, key=lambda one: one.bound_mpa)
        unknown = [one for one in self.ratings if not one.known]
        if not unknown:
            return least
        # Parts that lack the same inputs are named together, without the check that limits each.
        named: dict[str, list[str]] = {}
        for one in unknown:
            named.setdefault(one.because, []).append(one.name.partition(" (")[0])
        return Rated(
            name=least.name,
            mpa=None,
            at_most_mpa=None if math.isinf(least.bound_mpa) else least.bound_mpa,
            because="; ".join(f"{' and '.join(who)}: {why}" for why, who in named.items()),
        )

    @property
    def supply_abs_mpa(self) -> float:
        """Absolute pressure at the vessel's outlet, at the start [MPa]."""
        return self.supply_mpa + self.atmosphere_mpa

    @property
    def expected_exponent(self) -> float:
        """Expected polytropic exponent of what drives the liquid; 1 without a vessel [-]."""
        return 1.0 if self.vessel is None else self.vessel.expected_exponent

    @property
    def each_port_factor(self) -> Array:
        """What multiplies the conductance of every port, shape (ports,) [-]."""
        return np.asarray(self.port_factors or np.ones(self.ports), float)

    @property
    def supply_bore_mm(self) -> float:
        """Bore of the supply tube [mm]."""
        return self.tube_id_mm if self.supply_tube_id_mm is None else self.supply_tube_id_mm

    @property
    def node_heights_mm(self) -> Array:
        """Height of every port, shape (ports,) [mm]."""
        if len(self.heights_mm) <= 1:
            return np.full(self.ports, self.heights_mm[0] if self.heights_mm else 0.0)
        return np.asarray(self.heights_mm, float)

    @property
    def printed_parts(self) -> tuple[FittingGeometry, ...]:
        """The fitting at each port, the elbow last."""
        return (*[self.tee] * (self.ports - 1), self.elbow)

    @property
    def conductances_ml_min_kpa(self) -> dict[str, float]:
        """Conductance low, expected and high, brought to this fluid's viscosity [mL/(min kPa)]."""
        to_fluid = self.conductance_viscosity_mpa_s / self.viscosity_mpa_s
        expected = self.conductance_ml_min_kpa
        low, high = self.conductance_low_ml_min_kpa, self.conductance_high_ml_min_kpa
        return {
            "low": to_fluid * (expected if low is None else low),
            "expected": to_fluid * expected,
            "high": to_fluid * (expected if high is None else high),
        }

    def tube_length_mm(self, port: int) -> float:
        """Free tube bore between the barb ends of two neighbours.

        Parameters
        ----------
        port : int
            Index of the downstream port, from 1; 0 is the supply [-].

        Returns
        -------
        float
            Length [mm].
        """
        if port == 0:
            return self.supply_length_mm
        arms = self.tee.arm_length_mm + self.printed_parts[port].arm_length_mm
        return self.spacing_mm * (1.0 + self.tube_slack) - arms


def check_plan(plan: ChainPlan) -> None:
    """Refuse a plan that cannot be a chain, all faults at once.

    Parameters
    ----------
    plan : ChainPlan
        The plan.

    Raises
    ------
    InputError
        With one fault per thing that is wrong.
    """
    faults = []

    def need(good: bool, what: str, given: object, limit: str, do: str = "") -> None:
        if not good:
            faults.append(Fault(what, str(given), limit, do))

    def finite(value: float | None) -> bool:
        return value is None or math.isfinite(value)

    need(1 <= plan.ports <= MAX_PORTS, "number of ports", plan.ports, f"1 to {MAX_PORTS}")
    above_zero = {
        "tube bore": plan.tube_id_mm,
        "supply tube bore": plan.supply_bore_mm,
        "supply pressure": plan.supply_mpa,
        "spacing": plan.spacing_mm,
        "viscosity": plan.viscosity_mpa_s,
        "viscosity of the calibration": plan.conductance_viscosity_mpa_s,
        "density": plan.density_kg_m3,
        "ambient pressure": plan.atmosphere_mpa,
        **{
            f"{part.kind} {name}": getattr(part, name)
            for part in (plan.tee, plan.elbow)
            for name in ("run_bore_mm", "tip_bore_mm", "run_length_mm", "tip_length_mm")
        },
    }
    if plan.dose_ml is not None:
        above_zero["volume to deliver"] = plan.dose_ml
    for what, value in above_zero.items():
        need(math.isfinite(value) and value > 0, what, value, "finite, above 0")
    not_below_zero = (
        ("conductance", plan.conductance_ml_min_kpa),
        ("lowest conductance", plan.conductance_low_ml_min_kpa),
        ("highest conductance", plan.conductance_high_ml_min_kpa),
        ("supply length", plan.supply_length_mm),
        ("supply loss coefficient", plan.supply_loss_k),
        ("tube slack", plan.tube_slack),
        ("fitting factor", plan.fitting_factor),
        *(("port factor", factor) for factor in plan.port_factors),
    )
    for what, optional in not_below_zero:
        good = optional is None or (math.isfinite(optional) and optional >= 0)
        need(good, what, optional, "finite, not below 0")
    g = plan.conductances_ml_min_kpa if plan.viscosity_mpa_s > 0 else None
    if g is not None and all(map(finite, g.values())):
        need(
            g["low"] <= g["expected"] <= g["high"],
            "conductances",
            g,
            "low, expected, high in order",
        )
    need(
        len(plan.port_factors) in (0, plan.ports),
        "port factors",
        len(plan.port_factors),
        "one a port",
    )
    need(
        len(plan.heights_mm) in (0, 1, plan.ports),
        "heights",
        len(plan.heights_mm),
        "one, or one a port",
    )
    need(all(map(finite, plan.heights_mm)), "heights", plan.heights_mm, "finite")
    if plan.ports > 1:
        need(
            min(plan.tube_length_mm(1), plan.tube_length_mm(plan.ports - 1)) >= 0.0,
            "spacing",
            f"{plan.spacing_mm:g} mm",
            "the two fittings' arms must fit between two ports",
            "space the ports wider or shorten the arms",
        )
    if plan.vessel is not None:
        vessel = plan.vessel
        need(vessel.volume_ml > 0, "vessel volume", vessel.volume_ml, "above 0")
        need(
            0 < vessel.liquid_ml < vessel.volume_ml
            or (vessel.regulated and vessel.air_head_ml == 0),
            "liquid in the vessel",
            vessel.liquid_ml,
            f"above 0 and under the volume of {vessel.volume_ml:g} mL",
            "leave an air head: it drives the liquid",
        )
        need(
            vessel.liquid_ml > vessel.kept_ml,
            "liquid in the vessel",
            vessel.liquid_ml,
            f"above the {vessel.kept_ml:g} mL that must stay in",
            "fill more, or set a smaller reserve",
        )
        need(1 <= vessel.expected_exponent <= 1.4, "exponent", vessel.expected_exponent, "1 to 1.4")
        if vessel.relief_mpa is not None:
            need(
                plan.supply_mpa <= vessel.relief_mpa,
                "supply pressure",
                _kpa(plan.supply_mpa),
                f"the relief opens at {_kpa(vessel.relief_mpa)}",
            )
        if vessel.recharge_at_mpa is not None:
            need(
                0 < vessel.recharge_at_mpa < plan.supply_mpa,
                "recharge pressure",
                _kpa(vessel.recharge_at_mpa),
                f"above 0 and under the {_kpa(plan.supply_mpa)} of the start",
            )
    if faults:
        raise InputError(faults)


def build_network(plan: ChainPlan) -> Network:
    """Lay out every loss between the vessel and the holes.

    Parameters
    ----------
    plan : ChainPlan
        The plan.

    Returns
    -------
    Network
        Ready to be solved at any pressure.
    """
    runs: list[list[Element]] = []
    ports: list[list[Element]] = []
    for index, part in enumerate(plan.printed_parts):
        run: list[Element] = []
        if index == 0:
            bore = plan.supply_bore_mm
            run += [Fitting(bore, fittings.entrance_loss() + plan.supply_loss_k)]
        else:
            bore = plan.tube_id_mm
            tee = plan.tee
            # What goes on past a tee pays for its run; what leaves pays for its branch.
            run += [_three_constant(fittings.TEE_RUN, tee.run_bore_mm)]
            run += [Pipe(tee.run_bore_mm, tee.arm_length_mm), *step(tee.run_bore_mm, bore)]
        run += [Pipe(bore, plan.tube_length_mm(index)), *step(bore, part.run_bore_mm)]
        run += [Pipe(part.run_bore_mm, part.arm_length_mm)]
        runs.append(run)
        turn = fittings.MITRED_ELBOW if part.kind == "elbow" else fittings.TEE_BRANCH
        mouth = max(part.run_bore_mm, part.relief_mm)
        ports.append(
            [
                _three_constant(turn, part.run_bore_mm),
                *step(mouth, part.tip_bore_mm),
                Pipe(part.tip_bore_mm, part.tip_length_mm),
                Expansion(part.tip_bore_mm, 0.0),
            ]
        )
    return Network(
        runs,
        ports,
        plan.node_heights_mm,
        plan.viscosity_mpa_s,
        plan.density_kg_m3,
        plan.fitting_factor,
    )


def solve_plan(
    plan: ChainPlan,
    network: Network | None = None,
    case: str = "expected",
    supply_mpa: float | None = None,
    start: Array | None = None,
) -> Solution:
    """Solve a plan's network for one conductance case and supply pressure.

    Parameters
    ----------
    plan : ChainPlan
        The plan.
    network : Network, optional
        Its network, when already built.
    case : str
        ``low``, ``expected`` or ``high`` conductance [-].
    supply_mpa : float, optional
        Gauge pressure at the supply; the plan's own when not given [MPa].
    start : numpy.ndarray, optional
        Flows of a like chain to start from, shape (n,) [mm3/s].

    Returns
    -------
    Solution
        Flows and pressures.
    """
    network = build_network(plan) if network is None else network
    # Uptake is published per kPa.
    per_mpa = plan.conductances_ml_min_kpa[case] * KPA_PER_MPA
    conductance = per_mpa * MM3_S_PER_ML_MIN * plan.each_port_factor
    pressure = plan.supply_mpa if supply_mpa is None else supply_mpa
    return network.solve(pressure, conductance, start)


def _kpa(pressure_mpa: float) -> str:
    return f"{figure(pressure_mpa, 'pressure', 'kPa', decimals=0)} kPa"


def _three_constant(constants: fittings.ThreeConstants, bore_mm: float) -> Fitting:
    return Fitting(bore_mm, fittings.three_constant_limit(constants, bore_mm), constants.k_laminar)
