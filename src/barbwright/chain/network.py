"""The chain as a network: N unknown port flows, one pressure balance per port.

Feed, then run links node to node; at each node a port link into the tree. With q the port flows,
Q_i the sum of q from i on (what the run carries into node i), h the losses of a run link, g those
of a port and G the tree's conductance, the balance of port i is

    supply - rho g z_i - sum of h_k(Q_k) over k <= i - g_i(q_i) - q_i/G_i = 0.

Its negative Jacobian is symmetric and positive definite (each loss rises with its own flow), so
Newton's step always points downhill. Inside: mm, MPa, mm3/s.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from barbwright.equations import fittings, friction, square
from barbwright.errors import BarbwrightError

GRAVITY_MM_S2 = 9806.65
MAX_ITERATIONS = 60
MAX_HALVINGS = 40
Array = NDArray[np.float64]


@dataclass(frozen=True)
class Pipe:
    """A straight round bore in a link.

    Parameters
    ----------
    bore_mm : float
        Bore [mm].
    length_mm : float
        Length [mm].
    """

    bore_mm: float
    length_mm: float


@dataclass(frozen=True)
class Fitting:
    """A loss K1/Re + K on the velocity in a bore.

    Parameters
    ----------
    bore_mm : float
        Bore the velocity is taken in [mm].
    k_constant : float
        Part that does not depend on flow [-].
    k_laminar : float
        K1, over the Reynolds number [-].
    """

    bore_mm: float
    k_constant: float
    k_laminar: float = 0.0


@dataclass(frozen=True)
class Expansion:
    """A sudden expansion; area ratio 0 is an exit.

    Parameters
    ----------
    bore_mm : float
        Bore upstream [mm].
    area_ratio : float
        Narrow over wide area [-].
    """

    bore_mm: float
    area_ratio: float = 0.0


Element = Pipe | Fitting | Expansion


def step(from_bore_mm: float, to_bore_mm: float) -> list[Element]:
    """Return the loss where one bore meets another, wider or narrower.

    Parameters
    ----------
    from_bore_mm : float
        Bore upstream [mm].
    to_bore_mm : float
        Bore downstream [mm].

    Returns
    -------
    list of Element
        A contraction, an expansion, or nothing for equal bores [-].
    """
    if to_bore_mm < from_bore_mm:
        return [Fitting(to_bore_mm, fittings.contraction_loss(from_bore_mm, to_bore_mm))]
    if to_bore_mm > from_bore_mm:
        return [Expansion(from_bore_mm, square(from_bore_mm / to_bore_mm))]
    return []


@dataclass(frozen=True, kw_only=True)
class Solution:
    """Flows and pressures of one solved chain.

    Parameters
    ----------
    flow_mm3_s : numpy.ndarray
        Flow into the tree, per port, shape (n,) [mm3/s].
    node_mpa : numpy.ndarray
        Gauge pressure at each crossing, shape (n,) [MPa].
    hole_mpa : numpy.ndarray
        Gauge pressure in each hole, shape (n,) [MPa].
    iterations : int
        Newton steps taken [-].
    """

    flow_mm3_s: Array
    node_mpa: Array
    hole_mpa: Array
    iterations: int


class Network:
    """The losses of a chain, ready to be solved for any supply pressure and any tree.

    Parameters
    ----------
    run_links : list of list of Element
        What the flow passes from the supply to node 1, from node 1 to node 2, and so on [-].
    port_links : list of list of Element
        What it passes from each node into the hole [-].
    heights_mm : array of float, shape (n,)
        Height of each node above the supply's gauge [mm].
    viscosity_mpa_s : float
        Dynamic viscosity [mPa s].
    density_kg_m3 : float
        Density [kg/m3].
    fitting_factor : float
        Multiplies every loss but that of straight bores; 2 is the K x 2 case [-].
    """

    def __init__(
        self,
        run_links: list[list[Element]],
        port_links: list[list[Element]],
        heights_mm: Any,
        viscosity_mpa_s: float,
        density_kg_m3: float,
        fitting_factor: float = 1.0,
    ) -> None:
        self.ports = len(port_links)
        self.lift_mpa = density_kg_m3 * GRAVITY_MM_S2 * np.asarray(heights_mm, float) * 1e-12
        self._viscosity, self._density = viscosity_mpa_s, density_kg_m3
        links = [*run_links, *port_links]
        # Losses that are a Q + b Q|Q| are summed per link once; tubes and expansions stay apart.
        self._linear, self._square = np.zeros(len(links)), np.zeros(len(links))
        tubes, steps = [], []
        for index, link in enumerate(links):
            for item in link:
                if isinstance(item, Pipe):
                    tubes.append((index, item.bore_mm, item.length_mm))
                elif isinstance(item, Expansion):
                    steps.append((index, item.bore_mm, item.area_ratio))
                else:
                    # K1/Re times the velocity pressure is K1 times that pressure per unit of Re.
                    unit = friction.velocity_pressure_mpa(1.0, item.bore_mm, density_kg_m3)
                    reynolds = friction.reynolds_number(
                        1.0, item.bore_mm, viscosity_mpa_s, density_kg_m3
                    )
                    self._linear[index] += fitting_factor * item.k_laminar * unit / reynolds
                    self._square[index] += fitting_factor * item.k_constant * unit
        table = np.array(tubes, float).reshape(-1, 3)
        self._tube_link, self._tube_bore, self._tube_length = table[:, 0].astype(int), *table.T[1:]
        table = np.array(steps, float).reshape(-1, 3)
        self._step_link, self._step_bore, self._step_ratio = table[:, 0].astype(int), *table.T[1:]
        # Of a flow of 1 mm3/s: it goes with the flow.
        self._tube_reynolds, self._step_reynolds = (
            friction.reynolds_number(1.0, bore, viscosity_mpa_s, density_kg_m3)
            for bore in (self._tube_bore, self._step_bore)
        )
        self._step_factor = fitting_factor * friction.velocity_pressure_mpa(
            1.0, self._step_bore, density_kg_m3
        )

    def losses(self, flow_mm3_s: Array) -> tuple[Array, Array]:
        """Loss of every link and its slope, run links first, then ports.

        Parameters
        ----------
        flow_mm3_s : numpy.ndarray
            Flow in every link, shape (2 n,) [mm3/s].

        Returns
        -------
        loss_mpa, slope_mpa_s_mm3 : numpy.ndarray
            Loss [MPa] and its derivative with flow [MPa s/mm3], shape (2 n,).
        """
        size = np.abs(flow_mm3_s)
        loss = self._linear * flow_mm3_s + self._square * flow_mm3_s * size
        slope = self._linear + 2.0 * self._square * size

        flow = flow_mm3_s[self._tube_link]
        fluid = self._viscosity, self._density
        # A trickle stands in for rest: loss over flow has the same laminar limit, without 0/0.
        trickle = np.where(flow == 0.0, 1e-9, flow)
        resistance = (
            friction.tube_loss_mpa(trickle, self._tube_bore, self._tube_length, *fluid) / trickle
        )
        exponent = friction.friction_exponent(self._tube_reynolds * np.abs(trickle))
        np.add.at(loss, self._tube_link, resistance * flow)
        np.add.at(slope, self._tube_link, resistance * (2.0 + exponent))

        flow = flow_mm3_s[self._step_link]
        reynolds = self._step_reynolds * np.abs(flow)
        strength = fittings.expansion_loss(reynolds, self._step_ratio) * self._step_factor
        power = 2.0 + fittings.expansion_exponent(reynolds, self._step_ratio)
        np.add.at(loss, self._step_link, strength * flow * np.abs(flow))
        np.add.at(slope, self._step_link, strength * np.abs(flow) * power)
        return loss, slope

    def solve(
        self, supply_mpa: float, conductance_mm3_s_mpa: Any, start_mm3_s: Array | None = None
    ) -> Solution:
        """Solve the chain by Newton's method with a halving line search.

        Parameters
        ----------
        supply_mpa : float
            Gauge pressure at the supply [MPa].
        conductance_mm3_s_mpa : array of float, shape (n,)
            Conductance of the tree at each port; 0 is a blocked port [mm3/(s MPa)].
        start_mm3_s : numpy.ndarray, optional
            Flows of a like chain to start from, shape (n,) [mm3/s].

        Returns
        -------
        Solution
            Flows and pressures.

        Raises
        ------
        BarbwrightError
            When it does not converge, which no chain of real losses should cause.
        """
        n = self.ports
        conductance = np.asarray(conductance_mm3_s_mpa, float)
        is_open = np.flatnonzero(conductance > 0.0)
        # A blocked port has no unknown: its flow is 0, not a division by 0.
        resistance = 1.0 / conductance[is_open]
        reach = np.minimum.outer(is_open, is_open)
        drive = supply_mpa - self.lift_mpa
        flow = np.zeros(n) if start_mm3_s is None else np.where(conductance > 0, start_mm3_s, 0.0)

        def balance(port_flow: Array) -> tuple[Array, Array, Array]:
            run = np.cumsum(port_flow[::-1])[::-1]
            loss, slope = self.losses(np.concatenate([run, port_flow]))
            node = drive - np.cumsum(loss[:n])
            left = node[is_open] - loss[n:][is_open] - port_flow[is_open] * resistance
            return left, slope, node

        left, slope, node = balance(flow)
        scale = max(float(np.max(np.abs(drive))), 1e-12)
        iterations, norm = 0, float(np.linalg.norm(left))
        while is_open.size and norm > 1e-15 * scale and iterations < MAX_ITERATIONS:
            matrix = np.cumsum(slope[:n])[reach]
            matrix.flat[:: is_open.size + 1] += slope[n:][is_open] + resistance
            try:
                move = np.linalg.solve(matrix, left)
            except np.linalg.LinAlgError as error:
                message = "the chain's pressure balance could not be solved"
                raise BarbwrightError(message) from error
            share = 1.0
            for _ in range(MAX_HALVINGS):
                trial = flow.copy()
                trial[is_open] += share * move
                result = balance(trial)
                trial_norm = float(np.linalg.norm(result[0]))
                if trial_norm < norm:
                    break
                share *= 0.5
                if norm <= 1e-12 * scale:
                    break
            if trial_norm >= norm:
                break
            flow, (left, slope, node), norm = trial, result, trial_norm
            iterations += 1
        if norm > 1e-11 * scale:
            message = f"the chain did not converge: {norm / scale:.1g} of its pressure is left over"
            raise BarbwrightError(message)
        # Read the hole pressure from the tree's side, exact for a port that flows.
        hole = node.copy()
        hole[is_open] = flow[is_open] * resistance
        return Solution(
            flow_mm3_s=flow,
            node_mpa=node,
            hole_mpa=hole,
            iterations=iterations,
        )
