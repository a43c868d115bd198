"""The network against two independent ways to solve the same chain, and at random."""

import numpy as np
import pytest
from scipy.optimize import brentq, root

from barbwright.chain.network import (
    GRAVITY_MM_S2,
    Expansion,
    Fitting,
    Network,
    Pipe,
    step,
)
from barbwright.equations import fittings, friction

MU, RHO = 1.0, 998.0
PORT_MM3_S_MPA = 1.17 * 1e6 / 60.0  # red oak's row, in inside units


def chain_links(ports, tube=4.318, bore=2.5, tip=2.5, spacing=150.0, supply=2000.0):
    run_k = fittings.three_constant_limit(fittings.TEE_RUN, bore)
    branch_k = fittings.three_constant_limit(fittings.TEE_BRANCH, bore)
    runs, holes = [], []
    for index in range(ports):
        if index == 0:
            run = [Fitting(tube, 0.5), Pipe(tube, supply)]
        else:
            run = [Fitting(bore, run_k, 150.0), Pipe(bore, 15.0), *step(bore, tube)]
            run += [Pipe(tube, spacing)]
        runs.append([*run, *step(tube, bore), Pipe(bore, 15.0)])
        hole = [Fitting(bore, branch_k, 800.0), *step(bore, tip), Pipe(tip, 30.0), Expansion(tip)]
        holes.append(hole)
    return runs, holes


def make(ports, heights=None, **sizes):
    runs, holes = chain_links(ports, **sizes)
    heights = np.zeros(ports) if heights is None else heights
    return Network(runs, holes, heights, MU, RHO), runs, holes, heights


def link_loss(link, flow):
    """Loss of a link element by element from the published functions, without the network."""
    total = 0.0
    for item in link:
        head = friction.velocity_pressure_mpa(flow, item.bore_mm, RHO) * np.sign(flow)
        reynolds = max(friction.reynolds_number(flow, item.bore_mm, MU, RHO), 1e-9)
        if isinstance(item, Pipe):
            total += friction.tube_loss_mpa(flow, item.bore_mm, item.length_mm, MU, RHO)
        elif isinstance(item, Fitting):
            total += (item.k_laminar / reynolds + item.k_constant) * head
        else:
            total += fittings.expansion_loss(reynolds, item.area_ratio) * head
    return float(total)


def march_from_the_far_end(supply, runs, holes, heights, conductance):
    """Guess the last node's pressure, march upstream, shoot for the supply's pressure."""
    lift = RHO * GRAVITY_MM_S2 * np.asarray(heights) * 1e-12

    def port_flow(index, node):
        if conductance[index] == 0.0:
            return 0.0
        most = max(abs(node), 1e-12) * conductance[index]

        def left(q):
            return node - link_loss(holes[index], q) - q / conductance[index]

        return brentq(left, -most * 1.01, most * 1.01, xtol=1e-13, rtol=1e-15)

    def march(last_node):
        flows, node, carried = [], last_node, 0.0
        for index in range(len(holes) - 1, -1, -1):
            flows.append(port_flow(index, node))
            carried += flows[-1]
            node += link_loss(runs[index], carried)
            if index:
                node += lift[index] - lift[index - 1]
        return node + lift[0], flows[::-1]

    last = brentq(lambda p: march(p)[0] - supply, 0.0, supply, xtol=1e-16, rtol=1e-15)
    return np.array(march(last)[1])


@pytest.mark.parametrize(
    ("ports", "scale", "heights", "factors"),
    [
        (1, 1.0, None, {}),
        (8, 1.0, None, {}),
        (8, 0.03, None, {}),
        (6, 30.0, None, {}),
        (8, 1.0, None, {2: 0.0, 5: 20.0}),
        (5, 1.0, None, {4: 0.0}),
        (4, 1.0, [0.0, 500.0, 1500.0, 2500.0], {}),
    ],
)
def test_marching_and_scipy_root_agree_to_1e_9(ports, scale, heights, factors):
    network, runs, holes, heights = make(ports, heights)
    conductance = np.full(ports, scale * PORT_MM3_S_MPA)
    for port, factor in factors.items():
        conductance[port] *= factor
    supply = 0.31
    solved = network.solve(supply, conductance).flow_mm3_s
    marched = march_from_the_far_end(supply, runs, holes, heights, conductance)
    assert solved == pytest.approx(marched, rel=1e-9, abs=1e-9 * solved.max())

    lift = RHO * GRAVITY_MM_S2 * np.asarray(heights) * 1e-12
    is_open = conductance > 0

    def balances(scaled):
        q = np.zeros(ports)
        q[is_open] = scaled * conductance[is_open] * supply
        run = np.cumsum(q[::-1])[::-1]
        lost = np.cumsum([link_loss(link, flow) for link, flow in zip(runs, run, strict=True)])
        port = np.array([link_loss(link, flow) for link, flow in zip(holes, q, strict=True)])
        left = supply - lift - lost - port
        left[is_open] -= q[is_open] / conductance[is_open]
        return left[is_open] / supply

    found = root(balances, np.full(is_open.sum(), 0.1), tol=1e-13)
    assert np.max(np.abs(found.fun)) < 1e-10
    assert solved[is_open] == pytest.approx(
        found.x * conductance[is_open] * supply, rel=1e-9, abs=1e-9 * solved.max()
    )


@pytest.mark.slow
def test_a_thousand_random_chains():
    """All converge; each hole and each node balance to 1e-9; pressure never rises downstream."""
    rng = np.random.default_rng(20250107)
    iterations = []
    for _ in range(1000):
        ports = int(rng.integers(1, 41))
        network, *_ = make(
            ports,
            tube=rng.uniform(2.5, 8.0),
            bore=rng.uniform(1.0, 3.0),
            tip=rng.uniform(1.0, 3.0),
            spacing=rng.uniform(30.0, 400.0),
            supply=rng.uniform(100.0, 10000.0),
        )
        conductance = PORT_MM3_S_MPA * 10 ** rng.uniform(-3.0, 1.0, ports)
        conductance[rng.random(ports) < 0.1] = 0.0
        conductance[rng.random(ports) < 0.1] *= 20.0
        supply = rng.uniform(0.05, 0.6)
        solution = network.solve(supply, conductance)
        iterations.append(solution.iterations)
        flow, node, hole = solution.flow_mm3_s, solution.node_mpa, solution.hole_mpa
        # The flow into each node, from the pressures alone, is what leaves it.
        carried = np.cumsum(flow[::-1])[::-1]
        loss, _slope = network.losses(np.concatenate([carried, flow]))
        upstream = np.concatenate([[supply], node[:-1]])
        assert np.max(np.abs(upstream - node - loss[:ports])) <= 1e-9 * supply
        assert np.max(np.abs(node - loss[ports:] - hole)) <= 1e-9 * supply
        assert hole * conductance == pytest.approx(flow, rel=1e-9)
        assert np.all(np.diff(node) <= 1e-15)
        assert node[0] <= supply
        assert np.all((flow > 0) == (conductance > 0))
        assert np.all(hole <= node + 1e-15)
    assert max(iterations) <= 15
    assert np.median(iterations) <= 6


def test_the_slope_is_the_derivative_of_the_loss():
    """So the Jacobian is right, and symmetric by construction."""
    network, *_ = make(3)
    flow = np.array([9000.0, 4000.0, 1500.0, 5000.0, 2500.0, 700.0])
    loss, slope = network.losses(flow)
    h = 1e-4
    up, down = network.losses(flow + h)[0], network.losses(flow - h)[0]
    assert slope == pytest.approx((up - down) / (2 * h), rel=1e-6)
    assert np.all(slope > 0)
    assert network.losses(-flow)[0] == pytest.approx(-loss)


def test_losses_equal_the_equations_element_by_element():
    network, runs, holes, _ = make(3)
    for flow in (0.0, 0.3, 40.0, 3000.0, 30000.0):
        expected = [link_loss(link, flow) for link in [*runs, *holes]]
        assert network.losses(np.full(6, flow))[0] == pytest.approx(expected, rel=1e-12, abs=1e-18)


def test_one_port_without_losses_is_the_tree_alone():
    network = Network([[Pipe(50.0, 1.0)]], [[Pipe(50.0, 1.0)]], [0.0], MU, RHO)
    flow = network.solve(0.31, [PORT_MM3_S_MPA]).flow_mm3_s
    assert flow[0] == pytest.approx(0.31 * PORT_MM3_S_MPA, rel=1e-6)


def test_all_ports_blocked():
    network, *_ = make(3)
    solution = network.solve(0.31, np.zeros(3))
    assert np.all(solution.flow_mm3_s == 0.0)
    assert solution.hole_mpa == pytest.approx(0.31)


def test_height_costs_its_column_of_liquid():
    network, *_ = make(1, [1000.0])
    node = network.solve(0.31, [0.0]).node_mpa[0]
    assert 0.31 - node == pytest.approx(998.0 * 9.80665 * 1.0 * 1e-6)


def test_a_port_above_the_pressure_runs_back():
    network, *_ = make(2, [0.0, 40000.0])
    assert network.solve(0.31, np.full(2, PORT_MM3_S_MPA)).flow_mm3_s[1] < 0.0


def test_a_start_from_a_like_chain_finds_the_same_answer():
    network, *_ = make(8)
    conductance = np.full(8, PORT_MM3_S_MPA)
    cold = network.solve(0.31, conductance)
    warm = network.solve(0.31, conductance, network.solve(0.28, conductance).flow_mm3_s)
    assert warm.flow_mm3_s == pytest.approx(cold.flow_mm3_s, rel=1e-11)
    assert warm.iterations <= cold.iterations
