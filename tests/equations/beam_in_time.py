"""A crooked beam-column in time: the test's own judge of one degree of freedom.

Twelve Euler-Bernoulli elements with consistent mass and geometric stiffness, clamped at the foot,
a mass at the free end. A constant load along it lasts for a while and stops; in each of the two
the beam's motion is advanced by its own modes, exactly, from step to step. Length, bending
stiffness and moving mass are one.
"""

from dataclasses import dataclass

import numpy as np
from scipy.linalg import eigh

ELEMENTS = 12
STEPS = 400
BUCKLING = np.pi**2 / 4.0
END_STIFFNESS = 3.0


def _assembled(own_share):
    h, size = 1.0 / ELEMENTS, 2 * (ELEMENTS + 1)
    bend, load, mass = np.zeros((3, size, size))
    for first in range(0, 2 * ELEMENTS, 2):
        at = slice(first, first + 4)
        bend[at, at] += np.array(
            [[12, 6 * h, -12, 6 * h], [6 * h, 4 * h**2, -6 * h, 2 * h**2],
             [-12, -6 * h, 12, -6 * h], [6 * h, 2 * h**2, -6 * h, 4 * h**2]]
        ) / h**3  # fmt: skip
        load[at, at] += np.array(
            [[36, 3 * h, -36, 3 * h], [3 * h, 4 * h**2, -3 * h, -(h**2)],
             [-36, -3 * h, 36, -3 * h], [3 * h, -(h**2), -3 * h, 4 * h**2]]
        ) / (30 * h)  # fmt: skip
        mass[at, at] += own_share * h / 420 * np.array(
            [[156, 22 * h, 54, -13 * h], [22 * h, 4 * h**2, 13 * h, -3 * h**2],
             [54, 13 * h, 156, -22 * h], [-13 * h, -3 * h**2, -22 * h, 4 * h**2]]
        )  # fmt: skip
    mass[-2, -2] += 1.0 - own_share
    return bend[2:, 2:], load[2:, 2:], mass[2:, 2:]


def _crooked(shape):
    z = np.linspace(0.0, 1.0, ELEMENTS + 1)
    nodes = np.zeros(2 * len(z))
    if shape == "leaning":
        nodes[::2], nodes[1::2] = z, 1.0
    else:
        nodes[::2], nodes[1::2] = 1.0 - np.cos(np.pi * z / 2), np.pi / 2 * np.sin(np.pi * z / 2)
    return nodes[2:]


def _advance(stiffness, push, mass, at, speed, duration):
    """Places at every step, and the speed at the last one."""
    squares, modes = eigh(stiffness, mass)
    rest = np.linalg.solve(stiffness, push)
    amplitude, rate = modes.T @ mass @ (at - rest), modes.T @ mass @ speed
    omega, stable = np.sqrt(np.abs(squares)), squares > 0.0
    places = []
    for time in np.linspace(0.0, duration, STEPS):
        angle = np.where(stable, omega * time, 0.0)
        grown = np.where(stable, 0.0, omega * time)
        c = np.where(stable, np.cos(angle), np.cosh(grown))
        s = np.where(stable, np.sin(angle), np.sinh(grown))
        places.append(rest + modes @ (amplitude * c + rate * s / omega))
    sign = np.where(stable, -1.0, 1.0)
    return np.array(places), modes @ (sign * amplitude * omega * s + rate * c)


@dataclass(frozen=True)
class Blow:
    """Largest moment at the foot, and where the end stood when the load stopped."""

    moment: float
    end: float


def strike(load_ratio, phase, own_share, shape):
    """A blow of `load_ratio` buckling loads that lasts `phase`/omega, e = 1."""
    bend, load, mass = _assembled(own_share)
    omega = np.sqrt(END_STIFFNESS / (1.0 - own_share + 0.24 * own_share))
    force = load_ratio * BUCKLING
    still = np.zeros(len(bend))
    push = force * load @ _crooked(shape)
    during, speed = _advance(bend - force * load, push, mass, still, still, phase / omega)
    after, _ = _advance(bend, still, mass, during[-1], speed, 2.4 * np.pi / omega)
    h = 1.0 / ELEMENTS
    foot = [6 * places[:, 0] / h**2 - 2 * places[:, 1] / h for places in (during, after)]
    return Blow(max(float(np.max(np.abs(one))) for one in foot), float(during[-1, -2]))
