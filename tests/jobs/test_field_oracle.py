"""A tree's uptake found again from runs that another solver made.

The run is made here from first principles in SI, by scipy's own root finder and integrator:
Churchill's friction, Crane's entrance, Darby's three constants, Borda's exit and an air head that
expands. Of the program only sizes are taken (bores, lengths, volumes); none of its network, of its
friction or of its vessel is called, so a fault shared by the making of a run and its reading shows.
"""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import root

from barbwright import catalog
from barbwright.catalog.folders import USER_FOLDER_VARIABLE
from barbwright.job.reading import read_job
from barbwright.jobs.chain import plan_chain
from barbwright.jobs.field_log import judge_field, kept_uses
from barbwright.logs.field import read_field
from barbwright.logs.table import read_table

pytestmark = pytest.mark.usefixtures("rated_once")

JOB = {
    "tube_id": "0.170in", "tube_od": "0.250in", "tube_material": "LLDPE", "bit": "15/64",
    "pressure": "45psi", "wood": "oak northern red",
}  # fmt: skip
CHAIN = {
    "ports": "4", "species": "red oak", "vessel_volume": "12 L", "air_head": "6 L",
    "volume_per_tree": "3 L",
}  # fmt: skip
HEAD = "tree,date,time [min],pressure [kPa],level [mL]\n"
# A line that takes little of the pressure, and one long enough that leaving it out would show.
LINES = {"short line": "2 m", "long line": "60 m"}
TRUTHS = (0.15, 0.45)
# Churchill 1977; Silverberg and Darby 1999; Crane TP-410; Borda and Carnot (all from memory).
TEE_RUN, TEE_BRANCH, ELBOW = (150.0, 0.05, 4.0), (800.0, 0.28, 4.0), (1000.0, 0.27, 4.0)
ENTRANCE, EXIT = 0.5, 1.0


class OtherChain:
    """The same hardware, solved in SI by other means.

    Unknown are the flows of the ports; what a run carries is the sum of those behind it.
    """

    def __init__(self, plan, truth_ml_min_kpa):
        self.rho, self.mu = plan.density_kg_m3, 1e-3 * plan.viscosity_mpa_s
        self.bore, self.ports = 1e-3 * plan.tube_id_mm, plan.ports
        self.tee, self.elbow = plan.tee, plan.elbow
        arms = plan.tee.run_length_mm / 2.0
        tube = plan.spacing_mm * (1.0 + plan.tube_slack)
        last = tube - arms - plan.elbow.run_length_mm
        self.lengths = 1e-3 * np.array([plan.supply_length_mm, *[tube - 2.0 * arms] * 2, last])
        self.g = truth_ml_min_kpa * 1e-6 / 60.0 / 1e3
        self.last = None

    def pipe(self, flow, bore, length):
        speed = 4.0 * flow / (math.pi * bore**2)
        re = max(self.rho * abs(speed) * bore / self.mu, 1e-3)
        a = (2.457 * math.log(1.0 / (7.0 / re) ** 0.9)) ** 16 if re > 10.0 else math.inf
        b = (37530.0 / re) ** 16
        f = 8.0 * ((8.0 / re) ** 12 + (a + b) ** -1.5) ** (1.0 / 12.0)
        return f * length / bore * self.rho * speed * abs(speed) / 2.0

    def fitting(self, flow, bore, k, three=None):
        speed = 4.0 * flow / (math.pi * bore**2)
        if three is not None:
            re = max(self.rho * abs(speed) * bore / self.mu, 1e-6)
            k1, ki, kd = three
            k = k1 / re + ki * (1.0 + kd / (bore / 0.0254) ** 0.3)
        return k * self.rho * speed * abs(speed) / 2.0

    def left(self, flows, supply):
        """Pressure left over at each hole [Pa]; 0 where all balances."""
        carried, here, out = np.cumsum(flows[::-1])[::-1], supply, []
        for i, flow in enumerate(flows):
            part = self.elbow if i == self.ports - 1 else self.tee
            run, tip = 1e-3 * part.run_bore_mm, 1e-3 * part.tip_bore_mm
            tee_arm = 1e-3 * self.tee.run_length_mm / 2.0
            arm = 1e-3 * part.run_length_mm / (1.0 if part is self.elbow else 2.0)
            if i == 0:
                here -= self.fitting(carried[i], self.bore, ENTRANCE)
            else:
                tee_run = 1e-3 * self.tee.run_bore_mm
                here -= self.fitting(carried[i], tee_run, 0.0, TEE_RUN)
                here -= self.pipe(carried[i], tee_run, tee_arm)
                here -= self.fitting(carried[i], tee_run, (1.0 - (tee_run / self.bore) ** 2) ** 2)
            here -= self.pipe(carried[i], self.bore, self.lengths[i])
            here -= self.fitting(carried[i], run, 0.5 * (1.0 - (run / self.bore) ** 2))
            here -= self.pipe(carried[i], run, arm)
            turn = ELBOW if part is self.elbow else TEE_BRANCH
            into = self.fitting(flow, run, 0.0, turn) + self.fitting(flow, tip, EXIT)
            into += self.pipe(flow, tip, 1e-3 * part.tip_length_mm)
            out.append(here - into - flow / self.g)
        return np.array(out)

    def total(self, supply):
        """All that leaves the vessel [m3/s]."""
        scale = self.g * supply
        start = np.full(self.ports, 0.9) if self.last is None else self.last
        found = root(lambda x: self.left(x * scale, supply) / supply, start, tol=1e-11)
        # What counts is the balance of pressures that is left, not how the search felt about it.
        assert np.abs(found.fun).max() < 1e-8, found.message
        self.last = found.x
        return scale * found.x.sum()

    def run(self, plan, minutes):
        """Volume gone [mL] and gauge [kPa] at each minute, the air head expanding."""
        tank, ambient = plan.vessel, 1e6 * plan.atmosphere_mpa
        head, begin = 1e-6 * (tank.volume_ml - tank.liquid_ml), 1e6 * plan.supply_mpa + ambient

        def gauge(gone):
            return begin * (head / (head + gone)) ** tank.expected_exponent - ambient

        made = solve_ivp(
            lambda _t, y: [self.total(gauge(y[0]))],
            (0.0, 60.0 * minutes[-1]), [0.0], t_eval=60.0 * minutes, rtol=1e-8, atol=1e-12,
        )  # fmt: skip
        assert made.success
        return 1e6 * made.y[0], 1e-3 * gauge(made.y[0])


@pytest.fixture(scope="module")
def chains():
    return {
        name: plan_chain(read_job(JOB), {**CHAIN, "supply_length": length})
        for name, length in LINES.items()
    }


@pytest.mark.parametrize("by", ["level", "gauge"])
@pytest.mark.parametrize("truth", TRUTHS)
@pytest.mark.parametrize("line", LINES)
def test_a_run_made_by_another_solver_gives_the_trees_uptake_back(
    line, truth, by, chains, tmp_path, monkeypatch
):
    """Without any error of reading what is left is how far the two solvers differ."""
    monkeypatch.setenv(USER_FOLDER_VARIABLE, str(tmp_path / "profiles"))
    made, minutes = chains[line], np.arange(0.0, 13.0)
    gone, gauge = OtherChain(made.plan, truth).run(made.plan, minutes)
    left = made.plan.vessel.liquid_ml - gone
    rows = [
        f"oak,2026-11-28,{t:g},{p:.3f},{v:.2f}" if by == "level"
        else f"oak,2026-11-28,{t:g},{p:.3f},"
        for t, p, v in zip(minutes, gauge, left, strict=True)
    ]  # fmt: skip
    path = tmp_path / "field.csv"
    path.write_text(HEAD + "\n".join(rows) + "\n")
    judged = judge_field(
        read_field(read_table(path)), made, catalog.trees().values(),
        catalog.measured_records(), kept_uses(),
    )  # fmt: skip
    (day,) = judged.days
    assert day.told.low < truth < day.told.high
    assert day.told.expected == pytest.approx(truth, rel=0.03)
    # The long line costs what would be taken for a poorer tree if it were not taken off.
    share = (gone[1] / minutes[1]) / (made.plan.ports * truth * 0.5 * (gauge[0] + gauge[1]))
    assert share < 1.0
    if line == "long line" and truth == max(TRUTHS):
        assert share < 0.9
