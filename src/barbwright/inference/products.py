"""The posterior of one identifiable product from readings of a bench day, on a grid.

Each reading is what a check's own function predicts, times a product of numbers nobody has
measured (such as contact times friction), times scatter. Only that product can be learned. Its
logarithm lives on a grid; a reading may be wrong, so its likelihood has a second part: the few
factors that a slip of the unit or the pen makes, and a broad one for all else.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

# Nine in ten of a normal lie within so many deviations.
NINE_IN_TEN = 1.6448536269514722
# The grid reaches as far as any slip of a unit, and its step is a quarter of the least width.
_REACH, _POINTS = 4.5, 601
# A wrong reading lies about this far off in its logarithm: another unit, a lost digit.
_WRONG = 1.6


@dataclass(frozen=True, kw_only=True)
class Prior:
    """What is believed of a product before any reading.

    Attributes
    ----------
    median : float
        Of the product, in its own unit [-].
    factor : float
        Nine in ten lie between median/factor and median x factor [-].
    """

    median: float
    factor: float

    @property
    def deviation(self) -> float:
        """Standard deviation of its logarithm [-]."""
        return float(np.log(self.factor) / NINE_IN_TEN)


@dataclass(frozen=True, kw_only=True)
class Spreads:
    """How far readings of one product scatter, as deviations of logarithms.

    Attributes
    ----------
    reading : float
        From reading to reading in one hole [-].
    hole : float
        From hole to hole of one log [-].
    log : float
        From log to log, or tree to tree, of one species [-].
    systematic : float
        What a whole day's readings share by its gauge or hand [-].
    wrong : float
        Share of readings that are wrong [-].
    unread : float
        What new trees differ by beside, which the readings leave out as a ratio does [-].
    """

    reading: float
    hole: float
    log: float
    systematic: float = 0.0
    wrong: float = 0.05
    unread: float = 0.0

    @property
    def seat(self) -> float:
        """From hole to hole over all logs: what a new seat in a new tree has [-]."""
        return float(np.sqrt(self.hole**2 + self.log**2 + self.unread**2))


@dataclass(frozen=True, kw_only=True, eq=False)
class Readings:
    """Readings of one product, over what the check's own function predicts of each.

    Attributes
    ----------
    low, high : (n,) ndarray
        Ends of what was read, as the product: equal where a number was read, `high` infinite
        where it held [-].
    log : (n,) ndarray of int
        Which log each is from, 0 and up [-].
    slips : (n, k) ndarray
        What known slips would have multiplied each by, as logarithms [-].
    shares : (n, k) ndarray
        Share of wrong readings that are each slip; what is left to 1 may lie anywhere [-].
    """

    low: Array
    high: Array
    log: NDArray[np.int64]
    slips: Array = field(default_factory=lambda: np.zeros((1, 0)))
    shares: Array = field(default_factory=lambda: np.zeros((1, 0)))


@dataclass(frozen=True, kw_only=True)
class Interval:
    """Median and ninety per cent of a product.

    Attributes
    ----------
    low, median, high : float
        The product at 5, 50 and 95 % [-].
    over_prior : float
        Width of its logarithm over the prior's [-].
    """

    low: float
    median: float
    high: float
    over_prior: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Posterior:
    """What readings say of a product.

    Attributes
    ----------
    species : Interval
        The species' own.
    logs : tuple of Interval
        That of each log.
    seat_low, seat_high : float
        The product at 5 and 95 % of new trees and holes [-].
    wrong : (n,) ndarray
        Each reading's chance of being wrong [-].
    as_slip : (n, k) ndarray
        The part of that chance which is each known slip [-].
    log_off : (n,) ndarray
        Each reading over its log's median, as a logarithm [-].
    """

    species: Interval
    logs: tuple[Interval, ...]
    seat_low: float
    seat_high: float
    wrong: Array
    as_slip: Array
    log_off: Array


@lru_cache(maxsize=64)
def _blur(deviation: float, step: float) -> Array:
    """Return a normal's kernel on the grid; a single one where it is narrower than the grid."""
    reach = max(int(np.ceil(5.0 * deviation / step)), 1)
    place = np.arange(-reach, reach + 1) * step
    kernel = np.exp(-0.5 * np.square(place / max(deviation, 0.25 * step)))
    return np.asarray(kernel / kernel.sum())


def _blurred(density: Array, deviation: float, step: float) -> Array:
    kernel = _blur(round(deviation, 9), step)
    reach = len(kernel) // 2
    # Beyond the grid a likelihood goes on as it ends: a seat that held says nothing against more.
    wide = np.pad(density, reach, mode="edge")
    return np.convolve(wide, kernel, mode="valid")


def _parts(grid: Array, readings: Readings, spreads: Spreads) -> tuple[Array, Array, Array]:
    """Return each reading's likelihood on the grid: right, wrong anyhow, and by each slip.

    Shapes (n, grid), (n, grid) and (n, k, grid).
    """
    from scipy.special import ndtr

    low, high = (np.log(np.asarray(end, dtype=float))[:, None] for end in
                 (readings.low, readings.high))  # fmt: skip
    exact = (readings.low == readings.high)[:, None]
    own = float(np.hypot(spreads.reading, spreads.hole))

    def likely(deviation: float, shift: Array | float = 0.0) -> Array:
        at = grid + shift
        with np.errstate(invalid="ignore"):
            point = np.exp(-0.5 * np.square((low - at) / deviation)) / deviation
            between = np.asarray(ndtr((high - at) / deviation) - ndtr((low - at) / deviation))
        # A density and a chance compare over the width a reading is told apart by.
        return np.where(exact, point / np.sqrt(2.0 * np.pi) * own, between)

    shares = np.broadcast_to(readings.shares, (len(low), readings.shares.shape[1]))
    slips = np.broadcast_to(readings.slips, shares.shape)
    by_slip = np.zeros((*shares.shape, len(grid)))
    for k in range(shares.shape[1]):
        by_slip[:, k] = spreads.wrong * shares[:, k : k + 1] * likely(own, slips[:, k : k + 1])
    anyhow = spreads.wrong * (1.0 - shares.sum(axis=1, keepdims=True))
    right = (1.0 - spreads.wrong) * likely(own)
    return right, anyhow * likely(float(np.hypot(own, _WRONG))), by_slip


def _interval(grid: Array, density: Array, prior: Prior) -> Interval:
    low, median, high = quantiles(grid, density, (0.05, 0.5, 0.95))
    over = (high - low) / (2.0 * NINE_IN_TEN * prior.deviation)
    return Interval(low=np.exp(low), median=np.exp(median), high=np.exp(high), over_prior=over)


def quantiles(grid: Array, density: Array, shares: Sequence[float]) -> list[float]:
    """Return where a density on a grid reaches shares of its whole.

    Parameters
    ----------
    grid : (m,) ndarray
        Even places.
    density : (m,) ndarray
        Its height there, of any scale.
    shares : sequence of float
        Between 0 and 1 [-].

    Returns
    -------
    list of float
        In the grid's unit.

    Source: own_derivation
    """
    steps = cumulated(density)
    return [float(np.interp(share * steps[-1], steps, grid)) for share in shares]


def cumulated(density: Array) -> Array:
    """Return what lies below each place of a density on a grid, of any scale, by trapezia.

    Parameters
    ----------
    density : (m,) ndarray
        Its height at even places [-].

    Source: own_arithmetic
    """
    return np.concatenate([[0.0], np.cumsum(density[1:] + density[:-1])])


def posterior(readings: Readings, prior: Prior, spreads: Spreads) -> Posterior:
    """Return what readings say of a product, for the species and for each log.

    Parameters
    ----------
    readings : Readings
        At least one.
    prior : Prior
        What is believed before.
    spreads : Spreads
        How far readings scatter.

    Returns
    -------
    Posterior
        Deterministic: a grid, no drawing.

    Notes
    -----
    A log's own value is the species' with the scatter between logs; the gauge's error of that day
    is drawn into the same step, so that no number of readings of one day takes it away.

    Source: own_derivation
    """
    middle = np.log(prior.median)
    grid = middle + np.linspace(-_REACH, _REACH, _POINTS)
    step = float(grid[1] - grid[0])
    right, anyhow, by_slip = _parts(grid, readings, spreads)
    wrong = anyhow + by_slip.sum(axis=1)
    either = np.log(right + wrong)
    count = int(readings.log.max()) + 1
    of_log = []
    for index in range(count):
        total = either[readings.log == index].sum(axis=0)
        of_log.append(np.exp(total - total.max()))
    between = float(np.hypot(spreads.log, spreads.systematic))
    believed = np.exp(-0.5 * np.square((grid - middle) / prior.deviation))
    told = [_blurred(one, between, step) for one in of_log]
    species = believed * np.prod(told, axis=0)
    logs, chance, off = [], np.zeros(len(readings.log)), np.zeros(len(readings.log))
    as_slip = np.zeros(by_slip.shape[:2])
    for index in range(count):
        others = believed * np.prod([one for i, one in enumerate(told) if i != index], axis=0)
        # What the log reads lies the gauge's own error away from what it is.
        read = of_log[index] * _blurred(others, between, step)
        held = _blurred(of_log[index], spreads.systematic, step) * _blurred(
            others, spreads.log, step
        )
        logs.append(_interval(grid, held if spreads.systematic else read, prior))
        mine = readings.log == index
        whole = right[mine] + wrong[mine]
        chance[mine] = (wrong[mine] / whole) @ read / read.sum()
        as_slip[mine] = (by_slip[mine] / whole[:, None]) @ read / read.sum()
        centre = quantiles(grid, read, (0.5,))[0]
        off[mine] = np.log(readings.low[mine]) - centre
    seat = quantiles(grid, _blurred(species, spreads.seat, step), (0.05, 0.95))
    return Posterior(
        species=_interval(grid, species, prior),
        logs=tuple(logs),
        seat_low=float(np.exp(seat[0])),
        seat_high=float(np.exp(seat[1])),
        wrong=chance,
        as_slip=as_slip,
        log_off=off,
    )


def exact(
    values: ArrayLike, log: ArrayLike, slips: ArrayLike = (), shares: ArrayLike = ()
) -> Readings:
    """Return readings that are all plain numbers.

    Parameters
    ----------
    values : array
        Readings over what the check's function predicts [-].
    log : array of int
        Which log each is from [-].
    slips, shares : array, optional
        Logarithms of what known slips multiply a reading by, and their shares of wrong readings:
        the same for all readings, or a row each [-].

    Source: own_derivation
    """
    read = np.asarray(values, dtype=float)
    return Readings(
        low=read,
        high=read,
        log=np.asarray(log, dtype=np.int64),
        slips=np.atleast_2d(np.asarray(slips, dtype=float)),
        shares=np.atleast_2d(np.asarray(shares, dtype=float)),
    )
