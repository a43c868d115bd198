"""What a tube's wall answers to strain, in principal directions: rubber, and J2 in log strain.

Both give the isochoric part alone; the element adds the pressure. Kirchhoff stress over trial
log strains, so that one element serves elastic and plastic walls alike.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
Flags = NDArray[np.bool_]

_DEVIATOR = np.eye(3) - 1.0 / 3.0


class MaterialAnswer(NamedTuple):
    """Stress and what belongs to it at n points.

    Attributes
    ----------
    stress : (3, n) ndarray
        Principal Kirchhoff stress, isochoric [MPa].
    stiffness : (3, 3, n) ndarray
        Its derivative by the trial log strains [MPa].
    elastic : (3, n) ndarray
        Elastic log strains that stay [-].
    plastic : (n,) ndarray
        Accumulated plastic strain [-].
    """

    stress: Array
    stiffness: Array
    elastic: Array
    plastic: Array


class Wall(Protocol):
    """A material of the tube's wall."""

    @property
    def bulk_mpa(self) -> float:
        """Bulk modulus [MPa]."""

    def answer(self, strain: Array, plastic: Array) -> MaterialAnswer:
        """Return the stress to trial elastic log strains (3, n) after a plastic strain (n,)."""


@dataclass(frozen=True)
class Rubber:
    """Neo-Hookean and nearly incompressible.

    Attributes
    ----------
    modulus_mpa : float
        Young's modulus at small strain; the shear modulus is a third of it [MPa].
    bulk_over_shear : float
        Bulk over shear modulus [-].
    """

    modulus_mpa: float
    bulk_over_shear: float = 50.0

    @property
    def bulk_mpa(self) -> float:
        """Bulk modulus [MPa]."""
        return self.bulk_over_shear * self.modulus_mpa / 3.0

    def answer(self, strain: Array, plastic: Array) -> MaterialAnswer:
        """Return the stress to trial elastic log strains (3, n) after a plastic strain (n,)."""
        scale = self.modulus_mpa / 3.0 * np.exp(-2.0 / 3.0 * strain.sum(0))
        square = np.exp(2.0 * strain)
        mean = square.sum(0) / 3.0
        stiffness = (-2.0 / 3.0) * (square[:, None] + square[None] - mean)
        for axis in range(3):
            stiffness[axis, axis] += 2.0 * square[axis]
        return MaterialAnswer(scale * (square - mean), scale * stiffness, strain, plastic)


@dataclass(frozen=True)
class Plastic:
    """J2 plasticity in log strain with linear hardening.

    Attributes
    ----------
    modulus_mpa : float
        Young's modulus [MPa].
    yield_mpa : float
        Yield stress [MPa].
    hardening_mpa : float
        Slope of true stress over plastic log strain [MPa].
    poisson : float
        Poisson's ratio while elastic [-].
    """

    modulus_mpa: float
    yield_mpa: float
    hardening_mpa: float
    poisson: float = 0.45

    @property
    def bulk_mpa(self) -> float:
        """Bulk modulus [MPa]."""
        return self.modulus_mpa / (3.0 * (1.0 - 2.0 * self.poisson))

    def answer(self, strain: Array, plastic: Array) -> MaterialAnswer:
        """Return the stress to trial elastic log strains (3, n) after a plastic strain (n,)."""
        shear = self.modulus_mpa / (2.0 * (1.0 + self.poisson))
        shape = strain - strain.mean(0)
        norm = np.sqrt((shape**2).sum(0))
        mises = np.sqrt(6.0) * shear * norm
        over = np.maximum(mises - self.yield_mpa - self.hardening_mpa * plastic, 0.0)
        step = over / (3.0 * shear + self.hardening_mpa)
        keep = 1.0 - 3.0 * shear * step / np.maximum(mises, 1e-300)
        kept = keep * shape
        along = shape / np.maximum(norm, 1e-300)
        # Radial return: the stress turns with the strain, and grows along it by hardening alone.
        less = np.where(
            over > 0.0, keep - 1.0 + 3.0 * shear / (3.0 * shear + self.hardening_mpa), 0.0
        )
        stiffness = (
            2.0 * shear * (keep * _DEVIATOR[:, :, None] - less * along[:, None] * along[None])
        )
        return MaterialAnswer(2.0 * shear * kept, stiffness, kept + strain.mean(0), plastic + step)
