"""Creep told from leak in a pressure that falls during a hold.

A tight line loses pressure too: the tube creeps. Creep slows down, a leak goes on. How creep slows
is not known, so four families are averaged, each over its own constants: one exponential, two,
a logarithm and a power of time. Each is fitted with a steady leak beside it; what the whole of
them leaves of the leak is told.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from barbwright.inference.products import cumulated, quantiles

Array = NDArray[np.float64]

# A hold is averaged into so many pieces at most: a million readings tell no more of a slow curve.
PIECES = 240
_LEAKS = 161
# What the families' constants may be: times in minutes, powers of time, and the share of the
# quicker of two exponentials.
_TIMES = np.geomspace(0.4, 15.0, 14)
_SLOWER = np.geomspace(0.4, 40.0, 12)
_SHARES = (0.25, 0.5, 0.75)
_LOGARITHM = np.geomspace(0.02, 10.0, 14)
_POWERS = np.linspace(0.05, 0.6, 12)
FAMILIES = ("one exponential", "two exponentials", "logarithm", "power of time")


@dataclass(frozen=True, kw_only=True, eq=False)
class Hold:
    """A hold: pressure at rest, the valve shut.

    Attributes
    ----------
    minutes : (n,) ndarray
        From its start [min].
    pressure : (n,) ndarray
        Gauge pressure [any unit].
    warmth : (n,) ndarray or None
        Temperature less that at its start [K].
    """

    minutes: Array
    pressure: Array
    warmth: Array | None = None


@dataclass(frozen=True, kw_only=True, eq=False)
class Fall:
    """What a hold says of its leak.

    Attributes
    ----------
    leaks, chances : (m,) ndarray
        Leaks [unit of pressure/min] and the chance of each [-].
    low, median, high : float
        Leak at 5, 50 and 95 %, the ends a step of the grid further out
        [unit of pressure/min].
    families : dict of str to float
        Weight of each family of creep [-].
    fitted : (n,) ndarray
        The likeliest curve at the pieces' times [unit of pressure].
    minutes, pressure : (n,) ndarray
        The pieces [min], [unit of pressure].
    creep : float
        What creep alone took by the end, at the likeliest curve [unit of pressure].
    scatter : float
        Of a reading about the likeliest curve [unit of pressure].
    likeliest : tuple of int, float, float, float
        That curve: which shape of creep [-], its size and start [unit of pressure], its leak
        [unit of pressure/min].
    """

    leaks: Array
    chances: Array
    low: float
    median: float
    high: float
    families: dict[str, float]
    fitted: Array
    minutes: Array
    pressure: Array
    creep: float
    scatter: float
    likeliest: tuple[int, float, float, float]

    def over(self, leak: float) -> float:
        """Return the chance of a leak of more than this [-]."""
        steps = cumulated(self.chances)
        return float(1.0 - np.interp(leak, self.leaks, steps / steps[-1]))

    def at(self, minutes: Array) -> Array:
        """Return the likeliest curve at other times from the hold's start [unit of pressure]."""
        shape, size, start, leak = self.likeliest
        creep = _shapes(minutes, float(self.minutes[-1]))[0][shape]
        return np.asarray(start - size * creep - leak * minutes)


def _shapes(minutes: Array, end: float) -> tuple[Array, NDArray[np.int64]]:
    """Return curves of creep, 0 at the start and 1 at the end, and the family of each."""
    t = minutes[None, :]

    def until(curve: Array, last: Array) -> Array:
        return np.asarray(curve / last[:, None])

    tau = _TIMES[:, None]
    one = until(-np.expm1(-t / tau), -np.expm1(-end / _TIMES))
    pairs = [
        (quick, slow, share)
        for index, quick in enumerate(_SLOWER)
        for slow in _SLOWER[index + 2 :: 2]
        for share in _SHARES
    ]
    quick, slow, share = np.array(pairs).T

    def both(at: Array | float) -> Array:
        return np.asarray(
            share[:, None] * -np.expm1(-at / quick[:, None])
            + (1.0 - share[:, None]) * -np.expm1(-at / slow[:, None])
        )

    two = until(both(t), both(end)[:, 0])
    log = until(np.log1p(t / _LOGARITHM[:, None]), np.log1p(end / _LOGARITHM))
    power = until(np.power(t, _POWERS[:, None]), np.power(end, _POWERS))
    groups = (one, two, log, power)
    family = np.concatenate([np.full(len(group), i) for i, group in enumerate(groups)])
    return np.concatenate(groups), family


def pieces_of(hold: Hold) -> Hold:
    """Return a hold averaged into at most `PIECES` pieces of equal time.

    Parameters
    ----------
    hold : Hold
        Times must rise.

    Source: own_derivation
    """
    count = len(hold.minutes)
    if count <= PIECES:
        return hold
    edges = np.linspace(hold.minutes[0], hold.minutes[-1], PIECES + 1)[1:-1]
    place = np.searchsorted(edges, hold.minutes, side="right")
    number = np.bincount(place, minlength=PIECES)
    full = number > 0

    def mean(values: Array) -> Array:
        return np.asarray(np.bincount(place, values, minlength=PIECES)[full] / number[full])

    return Hold(
        minutes=mean(hold.minutes),
        pressure=mean(hold.pressure),
        warmth=None if hold.warmth is None else mean(hold.warmth),
    )


def _independent(residual: Array, pressure: Array) -> float:
    """Return how many independent readings a hold is worth, by what its residuals share.

    A gauge read to whole steps stands still between two of them, and a fit follows it: its
    neighbouring residuals are alike, and each is not one more reading.
    """
    count = len(residual)
    total = float(residual @ residual)
    if total <= 0.0:
        return 2.0
    shared = 0.0
    for lag in range(1, max(count // 4, 2)):
        alike = float(residual[lag:] @ residual[:-lag]) / total
        if alike <= 0.0:
            break
        shared += alike
    worth = count / (1.0 + 2.0 * shared)
    changes = int(np.count_nonzero(np.diff(pressure)))
    return float(np.clip(worth, 4.0, max(min(count, 3.0 * changes + 4.0), 4.0)))


def fall(hold: Hold, most_leak: float, per_kelvin: float = 0.0) -> Fall:
    """Return what a hold says of its leak, averaged over how creep may slow down.

    Parameters
    ----------
    hold : Hold
        Five readings or more; times in minutes, rising.
    most_leak : float
        Leaks are believed evenly from none to this [unit of pressure/min].
    per_kelvin : float
        Most that warmth adds to the pressure; all from none to this are believed alike
        [unit of pressure/K].

    Returns
    -------
    Fall
        The leak with its chance, deterministic.

    Notes
    -----
    p(t) = p0 - A f(t) - L t + noise. p0 and the noise are integrated out in closed form, A by its
    Student distribution cut at 0, f and L are summed over.

    Source: own_derivation
    """
    from scipy.special import gammaln, stdtr

    whole = pieces_of(hold)
    t = whole.minutes - whole.minutes[0]
    leaks = np.linspace(0.0, most_leak, _LEAKS)
    shapes, family = _shapes(t, float(t[-1]))
    warm = np.zeros_like(t) if whole.warmth is None else whole.warmth - whole.warmth.mean()
    rises = np.linspace(0.0, per_kelvin, 7) if per_kelvin and np.ptp(warm) > 0.0 else np.zeros(1)
    centred = shapes - shapes.mean(axis=1, keepdims=True)
    square = np.einsum("kt,kt->k", centred, centred)[:, None, None]
    # What is left after leak and warmth, for each of them: axes leak, warmth, time.
    y = whole.pressure[None, None, :] + leaks[:, None, None] * t - rises[None, :, None] * warm
    y = y - y.mean(axis=2, keepdims=True)
    along = np.einsum("kt,lrt->klr", centred, y)
    amplitude = -along / square
    unexplained = np.einsum("lrt,lrt->lr", y, y)[None]
    left = unexplained - np.square(along) / square
    count = len(t)
    # No gauge reads finer than this; a curve that fits better is luck.
    floor = count * max(np.ptp(whole.pressure) * 1e-4, 1e-9) ** 2
    left = np.maximum(left, floor)
    taken = np.where(amplitude > 0.0, left, unexplained)
    best = np.unravel_index(int(np.argmin(taken)), taken.shape)

    def curve(at: tuple[Any, ...]) -> Array:
        shape, leak, rise = at
        moved = y[leak, rise] + max(float(amplitude[at]), 0.0) * centred[shape]
        return np.asarray(whole.pressure - moved)

    residual = whole.pressure - curve(best)
    worth = _independent(residual, whole.pressure)
    degrees = max(worth - 2.0, 1.0)
    scale = worth / count
    deviation = np.sqrt(left / degrees / square * scale)
    height = (
        -0.5 * degrees * np.log(left * scale)
        - 0.5 * np.log(square * scale)
        + gammaln(degrees / 2.0)
        + np.log(np.maximum(stdtr(degrees, amplitude / deviation), 1e-300))
    )
    member = np.bincount(family, minlength=len(FAMILIES))[family]
    height = height - np.log(member)[:, None, None]
    weight = np.exp(height - height.max())
    chances = weight.sum(axis=(0, 2))
    by_family = np.bincount(family, weight.sum(axis=(1, 2)), minlength=len(FAMILIES))
    low, median, high = quantiles(leaks, chances, (0.05, 0.5, 0.95))
    # The families' constants stand on a grid as well: no leak is told finer than by a step.
    step = float(leaks[1])
    likeliest = np.unravel_index(int(np.argmax(weight)), weight.shape)
    shape, leak = (int(index) for index in likeliest[:2])
    size = max(float(amplitude[likeliest]), 0.0)
    return Fall(
        leaks=leaks,
        chances=chances / chances.sum(),
        low=max(low - step, 0.0),
        median=median,
        high=high + step,
        families={name: float(by_family[i] / by_family.sum()) for i, name in enumerate(FAMILIES)},
        fitted=curve(likeliest),
        minutes=t,
        pressure=whole.pressure,
        creep=size,
        scatter=float(np.sqrt(left[likeliest] / count)),
        likeliest=(
            shape,
            size,
            float(np.mean(whole.pressure + leaks[leak] * t + size * shapes[shape])),
            float(leaks[leak]),
        ),
    )


def told_by(
    fall_: Fall, least: float, certain: float, step: float, ends: Array, most_leak: float
) -> float | None:
    """Return when a hold that goes on as it does will have told a leak from none.

    Parameters
    ----------
    fall_ : Fall
        What it says so far.
    least : float
        The least leak that counts as one [unit of pressure/min].
    certain : float
        Chance at which it counts as told [-].
    step : float
        What the gauge is read to [unit of pressure].
    ends : (n,) ndarray
        Times to look at, rising [min].
    most_leak : float
        As for `fall` [unit of pressure/min].

    Returns
    -------
    float or None
        The first of them; None where the last does not tell either [min].

    Source: own_derivation
    """
    count = max(len(fall_.minutes), 2)
    every = float(fall_.minutes[-1]) / (count - 1)
    # The same scatter at every call: what is printed must not change from run to run.
    draw = np.random.default_rng(1)
    for end in ends:
        minutes = np.arange(0.0, end + 0.5 * every, every)
        pressure = fall_.at(minutes) + fall_.scatter * draw.standard_normal(len(minutes))
        if step > 0.0:
            pressure = np.round(pressure / step) * step
        chance = fall(Hold(minutes=minutes, pressure=pressure), most_leak).over(least)
        if not 1.0 - certain < chance < certain:
            return float(end)
    return None
