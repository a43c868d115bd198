import math
from dataclasses import replace

import numpy as np
import pytest
from example_chain import ELBOW, TEE, example_plan

from barbwright.chain.network import Expansion, Fitting, step
from barbwright.chain.plan import (
    VesselPlan,
    build_network,
    check_plan,
    ports_for_girth,
    solve_plan,
)
from barbwright.equations import fittings, friction
from barbwright.errors import InputError


def test_ports_round_a_trunk():
    assert ports_for_girth(math.pi * 400.0) == 9  # ceil(1256.6 / 150)
    assert ports_for_girth(1200.0) == 8
    assert ports_for_girth(1200.1) == 9
    assert ports_for_girth(0.1 * 3, 0.1) == 3
    assert ports_for_girth(20.0) == 1


def test_a_good_plan_passes():
    check_plan(example_plan())
    check_plan(example_plan(ports=1, vessel=None, dose_ml=None))


def test_all_faults_at_once():
    bad = example_plan(
        ports=0,
        tube_id_mm=-1.0,
        viscosity_mpa_s=float("nan"),
        heights_mm=(1.0, 2.0),
        vessel=VesselPlan(volume_ml=1000.0, liquid_ml=1000.0),
    )
    with pytest.raises(InputError) as caught:
        check_plan(bad)
    text = str(caught.value)
    for word in ("number of ports", "tube bore", "viscosity", "heights", "liquid in the vessel"):
        assert word in text
    assert len(caught.value.faults) >= 5


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"spacing_mm": 30.0}, "arms must fit"),
        ({"supply_mpa": 0.4}, "relief opens"),
        ({"conductance_low_ml_min_kpa": 0.5}, "in order"),
        ({"port_factors": (1.0, 1.0)}, "one a port"),
        ({"dose_ml": -3.0}, "volume to deliver"),
        ({"vessel": VesselPlan(volume_ml=12000.0, liquid_ml=500.0)}, "must stay in"),
        (
            {"vessel": VesselPlan(volume_ml=12000.0, liquid_ml=6000.0, recharge_at_mpa=0.32)},
            "recharge",
        ),
    ],
)
def test_each_fault_says_what_is_wrong(changes, word):
    with pytest.raises(InputError, match=word):
        check_plan(example_plan(**changes))


def test_step_between_bores():
    assert step(4.0, 4.0) == []
    assert step(4.0, 2.0) == [Fitting(2.0, pytest.approx(0.375))]
    assert step(2.0, 4.0) == [Expansion(2.0, 0.25)]


def test_a_wider_bore_shows_at_once():
    narrow = solve_plan(example_plan()).flow_mm3_s
    wide = example_plan(tee=replace(TEE, run_bore_mm=3.5), elbow=replace(ELBOW, run_bore_mm=3.5))
    assert np.all(solve_plan(wide).flow_mm3_s > narrow)


def test_conductance_follows_the_viscosity():
    plan = example_plan(viscosity_mpa_s=2.0, conductance_viscosity_mpa_s=1.0)
    assert plan.conductances_ml_min_kpa["expected"] == pytest.approx(0.15)
    assert plan.conductances_ml_min_kpa["high"] == pytest.approx(0.45)


def test_tube_between_ports_is_what_the_arms_leave():
    plan = example_plan()
    assert plan.tube_length_mm(0) == 2000.0
    assert plan.tube_length_mm(1) == pytest.approx(150 * 1.05 - 20 - 20)


def test_every_loss_stands_once_and_in_its_own_bore():
    """Two ports laid out by hand: entrance, tube, step, arms, run, turn, mouth, tip, exit."""
    plan = example_plan(ports=2, supply_loss_k=3.0, viscosity_mpa_s=1.2, density_kg_m3=1010.0)
    flow, fluid = 4000.0, (1.2, 1010.0)
    tube_head, head = (friction.velocity_pressure_mpa(flow, d, 1010.0) for d in (4.318, 2.5))
    reynolds = friction.reynolds_number(flow, 2.5, *fluid)
    ratio = (2.5 / 4.318) ** 2

    def bore(diameter, length):
        return friction.tube_loss_mpa(flow, diameter, length, *fluid)

    def turn(kind):
        return fittings.three_constant_loss(kind, reynolds, 2.5) * head

    narrow = 0.5 * (1 - ratio) * head
    tip = 0.5 * (1 - (2.5 / 4.0) ** 2) * head + bore(2.5, 30.0)
    tip += fittings.expansion_loss(reynolds, 0.0) * head
    expected = [
        (0.5 + 3.0) * tube_head + bore(4.318, 2000.0) + narrow + bore(2.5, 20.0),
        turn(fittings.TEE_RUN)
        + bore(2.5, 20.0)
        + fittings.expansion_loss(reynolds, ratio) * head
        + bore(4.318, 150 * 1.05 - 40)
        + narrow
        + bore(2.5, 20.0),
        turn(fittings.TEE_BRANCH) + tip,
        turn(fittings.MITRED_ELBOW) + tip,
    ]
    assert build_network(plan).losses(np.full(4, flow))[0] == pytest.approx(expected, rel=1e-12)
    doubled = build_network(replace(plan, fitting_factor=2.0)).losses(np.full(4, flow))[0]
    tubes = [
        bore(4.318, 2000.0) + bore(2.5, 20.0),
        bore(2.5, 40.0) + bore(4.318, 117.5),
        bore(2.5, 30.0),
        bore(2.5, 30.0),
    ]
    assert doubled == pytest.approx(2 * np.array(expected) - tubes, rel=1e-12)
