from dataclasses import replace

import pytest
from example_chain import ELBOW, TEE, example_plan

from barbwright.chain.plan import build_network, solve_plan
from barbwright.chain.what_if import advise, evenness, find_cases, find_improvements, flow_ml_min


def improvements(plan):
    return find_improvements(plan, solve_plan(plan))


def cases(plan):
    return {c.case: c for c in find_cases(plan, build_network(plan), solve_plan(plan))}


def test_each_gain_is_that_of_the_changed_chain():
    plan = example_plan(conductance_ml_min_kpa=0.9)
    found = {item.change: item for item in improvements(plan)}
    wider = replace(
        plan,
        tee=replace(TEE, run_bore_mm=3.5, relief_mm=4.0 * 3.5 / 2.5),
        elbow=replace(ELBOW, run_bore_mm=3.5, relief_mm=4.0 * 3.5 / 2.5),
    )
    item = found["a run bore 1.0 mm wider (3.5 mm)"]
    before, after = (flow_ml_min(solve_plan(p))[-1] for p in (plan, wider))
    assert item.last_flow_ml_min == pytest.approx(after, rel=1e-9)
    assert item.gain == pytest.approx(after / before - 1, rel=1e-9)
    gains = [i.gain for i in improvements(plan)]
    assert gains == sorted(gains, reverse=True)


def test_a_line_with_thirsty_trees_is_helped_most_by_wider_bores():
    best = improvements(example_plan(conductance_ml_min_kpa=0.9, ratings=()))[0]
    assert best.on_the_line
    assert "bore" in best.change
    assert best.last_to_first > evenness(example_plan(), [1.0, *[0.0] * 6, 0.5])


def test_a_slow_tree_is_helped_by_nothing_on_the_line():
    plan = example_plan(
        conductance_ml_min_kpa=0.01, conductance_low_ml_min_kpa=None, vessel=None, ratings=()
    )
    assert all(item.gain < 0.02 for item in improvements(plan))
    assert "no change tried" in advise("tree", 0.99, improvements(plan))


def test_pressure_stops_at_the_weakest_rating_or_under_the_relief():
    plan = example_plan()
    pressure = [i for i in improvements(plan) if not i.on_the_line]
    assert "49.4 psi (341 kPa), 90% of the relief" in pressure[0].change
    no_relief = replace(plan, vessel=replace(plan.vessel, relief_mpa=None))
    (item,) = [i for i in improvements(no_relief) if not i.on_the_line]
    assert "65.2 psi (450 kPa), the rating of the elbow" in item.change
    at_rating = replace(no_relief, supply_mpa=0.45)
    assert not [i for i in improvements(at_rating) if not i.on_the_line]


def test_advice_names_the_best_change_and_its_gain():
    plan = example_plan(conductance_ml_min_kpa=0.9)
    found = improvements(plan)
    text = advise("line", 0.4, found)
    assert text.startswith("60% of the pressure's work is spent in the line")
    assert found[0].change in text
    assert f"{found[0].gain:.0%}" in text
    assert text.count(".") >= 1
    assert text.endswith(".")


def test_a_design_limit_keeps_the_bore_from_growing_past_it():
    limited = example_plan(largest_run_bore_mm=2.8)
    assert any("0.3 mm wider (2.8 mm)" in i.change for i in improvements(limited))
    full = example_plan(largest_run_bore_mm=2.5)
    assert not any("a run bore" in i.change for i in improvements(full))


def test_a_blocked_port_helps_the_others_and_costs_its_own():
    plan = example_plan()
    usual = flow_ml_min(solve_plan(plan))
    case = cases(plan)["blocked_port"]
    factors = [1.0] * 8
    factors[case.port - 1] = 0.0
    flow = flow_ml_min(solve_plan(replace(plan, port_factors=tuple(factors))))
    assert case.total_flow_ml_min == pytest.approx(flow.sum())
    assert case.total_flow_ml_min < usual.sum()
    assert case.worst_change > 0.0
    assert case.worst_change == pytest.approx(
        flow[case.worst_port - 1] / usual[case.worst_port - 1] - 1
    )


def test_a_leaking_seat_starves_the_others_and_doubled_losses_the_far_end():
    found = cases(example_plan())
    assert found["leaking_seat"].worst_change < -0.1
    assert f"Seat {found['leaking_seat'].port} leaking 20-fold" in found["leaking_seat"].sentence
    doubled = found["double_fitting_loss"]
    assert doubled.worst_port == 8
    assert doubled.worst_change < 0.0
    assert doubled.port is None


def test_no_cases_where_nothing_flows():
    plan = example_plan(port_factors=(0.0,) * 8)
    assert cases(plan) == {}
    assert improvements(plan) == ()
    assert evenness(plan, flow_ml_min(solve_plan(plan))) is None


def test_a_mishap_multiplies_the_factor_a_port_has_already():
    plan = example_plan(port_factors=(0.5,) * 8)
    case = cases(plan)["leaking_seat"]
    factors = [0.5] * 8
    factors[case.port - 1] = 10.0
    flow = flow_ml_min(solve_plan(replace(plan, port_factors=tuple(factors))))
    assert case.total_flow_ml_min == pytest.approx(flow.sum())
