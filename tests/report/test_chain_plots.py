import os
import subprocess
import sys
import xml.etree.ElementTree as ET
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import pytest

from barbwright.chain.plan import ChainPlan, VesselPlan
from barbwright.chain.result import solve_chain
from barbwright.equations.fittings import FittingGeometry
from barbwright.report.chain_plots import pressure_and_flow_svg, vessel_pressure_svg

PLAN = ChainPlan(
    ports=8,
    tube_id_mm=4.318,
    tee=FittingGeometry(
        kind="tee", run_bore_mm=2.5, tip_bore_mm=2.5, run_length_mm=40.0, tip_length_mm=30.0
    ),
    elbow=FittingGeometry(
        kind="elbow", run_bore_mm=2.5, tip_bore_mm=2.5, run_length_mm=20.0, tip_length_mm=30.0
    ),
    supply_mpa=0.31,
    conductance_ml_min_kpa=0.9,
    conductance_low_ml_min_kpa=0.3,
    conductance_high_ml_min_kpa=1.5,
    vessel=VesselPlan(volume_ml=12000.0, liquid_ml=6000.0, relief_mpa=0.379),
)


@pytest.fixture(scope="module")
def result():
    return solve_chain(PLAN)


def test_plots_are_svg_with_their_labels(result):
    for draw, words in (
        (pressure_and_flow_svg, ("in the hole", "flow [mL/min]", "range of the tree")),
        (vessel_pressure_svg, ("pump up again", "relief opens", "slow (isothermal)")),
    ):
        data = draw(result)
        assert ET.fromstring(data).tag.endswith("svg")
        # Letters are drawn as outlines; matplotlib keeps the words beside them as comments.
        for word in words:
            assert f"<!-- {word} -->" in data.decode()


@pytest.mark.slow
def test_another_chain_is_another_picture(result):
    other = solve_chain(replace(PLAN, supply_mpa=0.25))
    assert pressure_and_flow_svg(other) != pressure_and_flow_svg(result)
    assert vessel_pressure_svg(other) != vessel_pressure_svg(result)


def test_no_run_down_no_vessel_plot():
    assert vessel_pressure_svg(solve_chain(replace(PLAN, vessel=None))) is None
    held = replace(PLAN, vessel=VesselPlan(volume_ml=12000.0, liquid_ml=6000.0, regulated=True))
    assert vessel_pressure_svg(solve_chain(held)) is None


def test_a_chain_of_one_blocked_port_still_draws():
    plan = replace(PLAN, ports=1, port_factors=(0.0,))
    assert b"<svg" in pressure_and_flow_svg(solve_chain(plan))


@pytest.mark.slow
def test_same_bytes_twice_and_in_another_process(result):
    here = [
        sha256(draw(result)).hexdigest() for draw in (pressure_and_flow_svg, vessel_pressure_svg)
    ]
    assert here[0] == sha256(pressure_and_flow_svg(result)).hexdigest()
    code = (
        f"import sys; sys.path.insert(0, {str(Path(__file__).parent)!r})\n"
        "from hashlib import sha256\n"
        "from test_chain_plots import PLAN, pressure_and_flow_svg, solve_chain, "
        "vessel_pressure_svg\n"
        "r = solve_chain(PLAN)\n"
        "print(*(sha256(d(r)).hexdigest() for d in (pressure_and_flow_svg, vessel_pressure_svg)))\n"
    )
    for seed in ("1", "2"):
        done = subprocess.run(
            [sys.executable, "-c", code],
            capture_output=True,
            text=True,
            check=True,
            env={**os.environ, "PYTHONHASHSEED": seed},
        )
        assert done.stdout.split() == here
