from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from example_chain import example_plan

from barbwright.chain.plan import VesselPlan, build_network, solve_plan
from barbwright.chain.run_down import deliver, describe_vessel, recharge_pressure_mpa
from barbwright.equations import vessel
from barbwright.equations.fittings import FittingGeometry
from oracles import linear_run_down_seconds

ATMOSPHERE_MPA = 0.101325
WIDE_TEE = FittingGeometry(
    kind="tee", run_bore_mm=20.0, tip_bore_mm=20.0, run_length_mm=2.0, tip_length_mm=1.0
)
WIDE_ELBOW = FittingGeometry(
    kind="elbow", run_bore_mm=20.0, tip_bore_mm=20.0, run_length_mm=1.0, tip_length_mm=1.0
)


def lossless_plan(**changes):
    """Bores so wide that only the tree resists: flow in proportion to gauge pressure."""
    plan = example_plan(
        tube_id_mm=20.0, supply_length_mm=1.0, spacing_mm=10.0, tee=WIDE_TEE, elbow=WIDE_ELBOW
    )
    return replace(plan, **changes)


def test_a_chain_of_wide_bores_is_the_linear_vessel():
    tank = VesselPlan(volume_ml=12000.0, liquid_ml=6000.0, recharge_at_mpa=0.1)
    plan = lossless_plan(vessel=tank, dose_ml=3000.0)
    way = deliver(plan, build_network(plan), "expected", 1.0)
    seconds = linear_run_down_seconds(
        8 * 0.3 * 1000 / 60, 0.31 + ATMOSPHERE_MPA, 6000.0, 3000.0, ATMOSPHERE_MPA
    )
    assert way.recharges == 0
    assert way.minutes * 60 == pytest.approx(seconds, rel=2e-4)


def test_pumping_up_again_is_counted_and_shortens_the_time():
    tank = VesselPlan(volume_ml=12000.0, liquid_ml=9000.0, recharge_at_mpa=0.25)
    plan = lossless_plan(vessel=tank, dose_ml=2600.0)
    way = deliver(plan, build_network(plan), "expected", 1.0)
    start, end = 0.31 + ATMOSPHERE_MPA, 0.25 + ATMOSPHERE_MPA
    head, left, recharges = 3000.0, 2600.0, -1
    while left > 0:
        reach = head * (start / end - 1)
        head, left, recharges = head + reach, left - reach, recharges + 1
    assert way.recharges == recharges == 3
    seldom = replace(plan, vessel=replace(tank, recharge_at_mpa=0.1))
    assert deliver(seldom, build_network(plan), "expected", 1.0).minutes > way.minutes


def test_interpolated_flows_change_the_time_by_less_than_1_in_10_000():
    plan = example_plan(
        vessel=VesselPlan(volume_ml=12000.0, liquid_ml=6000.0, recharge_at_mpa=0.06)
    )
    network = build_network(plan)
    for case in ("low", "high"):
        way = deliver(plan, network, case, 1.2)
        head = plan.vessel.air_head_ml

        def flow_ml_s(pressure_mpa, case=case):
            gauge = pressure_mpa - ATMOSPHERE_MPA
            return solve_plan(plan, network, case, gauge).flow_mm3_s.sum() / 1000

        exact = vessel.run_down_seconds(flow_ml_s, 0.411325, head, plan.dose_ml, 1.2)
        assert way.recharges == 0
        assert way.minutes * 60 == pytest.approx(exact, rel=1e-4)


def test_ports_share_the_whole_volume():
    plan = example_plan()
    way = deliver(plan, build_network(plan), "expected", 1.1)
    assert sum(way.port_ml) == pytest.approx(plan.dose_ml, rel=1e-6)
    assert np.all(np.diff(way.port_ml) < 0)


def test_a_regulator_holds_the_flow():
    tank = VesselPlan(volume_ml=12000.0, liquid_ml=6000.0, regulated=True)
    plan = example_plan(vessel=tank, dose_ml=12000.0)
    way = deliver(plan, build_network(plan), "expected", 1.1)
    total = solve_plan(plan).flow_mm3_s.sum() * 60 / 1000
    assert way.minutes == pytest.approx(12000 / total)
    assert way.recharges == 0
    # 5400 mL leave each fill: two refills for 12 L.
    assert way.refills == 2
    running_down = replace(plan, vessel=replace(tank, regulated=False))
    assert deliver(running_down, build_network(plan), "expected", 1.1).minutes > way.minutes
    assert deliver(running_down, build_network(plan), "expected", 1.1).refills == 2


def test_a_tree_that_takes_nothing_never_finishes():
    for tank in (None, VesselPlan(volume_ml=12000.0, liquid_ml=6000.0)):
        plan = example_plan(port_factors=(0.0,) * 8, vessel=tank)
        assert deliver(plan, build_network(plan), "expected", 1.1).minutes == float("inf")


def test_description_of_the_vessel():
    plan = example_plan()
    values = describe_vessel(plan, {})
    assert values["air_head_ml"] == 6000.0
    assert values["stop_after_ml"] == 6000.0 - 600.0
    assert values["recharge_at_mpa"] == recharge_pressure_mpa(plan) == 0.75 * 0.31
    # Boyle by hand: 1 L out of a 6 L head.
    row = values["run_down"][1]
    assert row["high_mpa"] == pytest.approx(0.411325 * 6 / 7 - 0.101325)
    assert row["low_mpa"] == pytest.approx(0.411325 * (6 / 7) ** 1.4 - 0.101325)
    assert values["run_down"][-1]["delivered_ml"] == values["stop_after_ml"]
    recharge = values["recharge_after_ml"]
    assert recharge["high"] == pytest.approx(6000 * ((310 + 101.325) / (232.5 + 101.325) - 1))
    assert recharge["low"] < recharge["high"]
    assert values["relief_opens_at_c"] == pytest.approx(293.15 * 480.325 / 411.325 - 273.15)
    assert values["stored_energy_j"] > 1000 * values["water_energy_j"]
    head = values["air_head_without_recharge_ml"]
    assert head * ((411.325 / 333.825) ** (1 / 1.4) - 1) == pytest.approx(3000.0)


def test_pressure_never_reads_below_ambient():
    plan = example_plan(vessel=VesselPlan(volume_ml=12000.0, liquid_ml=11500.0))
    rows = describe_vessel(plan, {})["run_down"]
    assert rows[-1]["low_mpa"] == 0.0
    assert all(a["low_mpa"] >= b["low_mpa"] for a, b in pairwise(rows))


def test_a_regulated_vessel_has_no_run_down_and_no_vessel_nothing():
    regulated = example_plan(vessel=VesselPlan(volume_ml=12000.0, liquid_ml=6000.0, regulated=True))
    assert "run_down" not in describe_vessel(regulated, {})
    assert describe_vessel(example_plan(vessel=None), {}) is None
