"""A proof test's record: the way up, the hold, and what must be said of both."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from barbwright.errors import Fault, InputError
from barbwright.logs.columns import PROOF
from barbwright.logs.table import Reader, Table, clock_unwound
from barbwright.say import IMPERIAL, Voice

Array = NDArray[np.float64]

# A rise of this share of the highest pressure is somebody pumping; a fall of it between two
# readings is a valve opened or a part burst, no leak that a rate describes.
_PUMPED, _LET_GO = 0.02, 0.10
# At a step the pressure stands this near to it.
_AT_STEP = 0.05
_FEWEST = 5
# A record that begins or ends between these shares of its highest pressure may show a gauge that
# does not go back to nothing: lower is a gauge's own grain, higher a line under pressure.
_ZERO_OFF = 0.01, 0.10


@dataclass(frozen=True, kw_only=True, eq=False)
class ProofRecord:
    """A proof test as read.

    Attributes
    ----------
    seconds : (n,) ndarray
        From the first reading, rising [s].
    pressure_mpa : (n,) ndarray
        Gauge [MPa].
    temperature_c : (n,) ndarray or None
        NaN where none was read [degree C].
    pumped_ml : (n,) ndarray or None
        NaN where none was read [mL].
    hold : slice
        Readings of the last hold: from the last pumping to the end or the letting go.
    let_go_s : float or None
        When the pressure fell away at once [s].
    notes : tuple of str
        What must be said of the file.
    """

    seconds: Array
    pressure_mpa: Array
    temperature_c: Array | None
    pumped_ml: Array | None
    hold: slice
    let_go_s: float | None
    notes: tuple[str, ...]

    @property
    def hold_min(self) -> float:
        """Length of the hold [min]."""
        held = self.seconds[self.hold]
        return float(held[-1] - held[0]) / 60.0

    @property
    def whole_way(self) -> bool:
        """Whether the way up is in the record, not the hold alone."""
        return bool(self.pressure_mpa[0] < 0.5 * self.pressure_mpa[self.hold][0])


def read_proof(table: Table, zero_mpa: float = 0.0, voice: Voice = IMPERIAL) -> ProofRecord:
    """Return a proof test's record.

    Parameters
    ----------
    table : Table
        The log.
    zero_mpa : float
        What the gauge shows when vented; taken off every reading [MPa].
    voice : Voice
        Which unit leads in what is said of it.

    Returns
    -------
    ProofRecord
        Sorted, in our own units.

    Raises
    ------
    InputError
        With every fault by line.
    """
    assert table.kind is PROOF
    reader, notes = Reader(table), list(table.notes)
    seconds, pressure = reader.quantity("time"), reader.quantity("pressure")
    temperature, pumped = reader.quantity("temperature"), reader.quantity("pumped")
    reader.raise_if_any()
    notes += [note for note in table.notes if note not in notes]
    assert seconds is not None
    assert pressure is not None
    complete = np.isfinite(seconds) & np.isfinite(pressure)
    lines = table.lines[complete]
    if not complete.all():
        gone = np.array([one for one in table.lines[~complete] if int(one) not in table.heads])
        if len(gone):
            notes.append(f"{_lines(gone)}: no time or no pressure, left out")
        seconds, pressure = seconds[complete], pressure[complete]
        temperature = None if temperature is None else temperature[complete]
        pumped = None if pumped is None else pumped[complete]
    if len(seconds) < _FEWEST:
        raise InputError(
            Fault("the record has too few readings", given=str(len(seconds)),
                  limit=f"at least {_FEWEST} with time and pressure", do="read on"))  # fmt: skip
    if "time" in table.texts:
        seconds = clock_unwound(seconds)
    if (np.diff(seconds) < 0.0).any():
        order = np.argsort(seconds, kind="stable")
        back = lines[1:][np.diff(seconds) < 0.0]
        notes.append(f"{_lines(back)}: earlier than the line before; sorted by time")
        seconds, pressure, lines = seconds[order], pressure[order], lines[order]
        temperature = None if temperature is None else temperature[order]
        pumped = None if pumped is None else pumped[order]
    seconds = seconds - seconds[0]
    pressure = pressure - zero_mpa
    notes += _said_of(seconds, pressure, lines, voice)
    hold, let_go = find_hold(seconds, pressure)
    return ProofRecord(
        seconds=seconds,
        pressure_mpa=pressure,
        temperature_c=temperature,
        pumped_ml=pumped,
        hold=hold,
        let_go_s=let_go,
        notes=tuple(notes),
    )


def _lines(lines: NDArray[np.int64]) -> str:
    shown = ", ".join(map(str, lines[:5]))
    more = f" and {len(lines) - 5} more" if len(lines) > 5 else ""
    return f"line{'s' if len(lines) > 1 else ''} {shown}{more}"


def _said_of(seconds: Array, pressure: Array, lines: NDArray[np.int64], voice: Voice) -> list[str]:
    """Return what is odd about readings and not wrong."""
    notes, steps = [], np.diff(seconds)
    twice = lines[1:][steps == 0.0]
    if len(twice):
        notes.append(f"{_lines(twice)}: a time that stands twice; both readings are kept")
    usual = float(np.median(steps[steps > 0.0])) if (steps > 0.0).any() else 0.0
    widest = float(steps.max())
    if usual > 0.0 and widest > max(10.0 * usual, 60.0):
        after = int(lines[int(steps.argmax())])
        notes.append(f"a gap of {widest / 60.0:.1f} min after line {after}; nothing is put into it")
    if pressure.min() < -0.02 * pressure.max():
        notes.append(
            "the gauge shows less than nothing somewhere: give what it shows vented as --zero"
        )
    top = float(pressure.max())
    for word, shown in (("begins", float(pressure[0])), ("ends", float(pressure[-1]))):
        if _ZERO_OFF[0] * top < shown < _ZERO_OFF[1] * top:
            notes.append(
                f"the record {word} at {voice.plain(shown)}: if the line was vented there, the "
                "gauge is off by as much, and so is the pressure the batch is let up to; give it "
                "as --zero"
            )
    return notes


def find_hold(seconds: Array, pressure: Array) -> tuple[slice, float | None]:
    """Return the last hold of a record, and when the pressure fell away at once.

    Parameters
    ----------
    seconds : (n,) ndarray
        Rising [s].
    pressure : (n,) ndarray
        Gauge [MPa].

    Raises
    ------
    InputError
        When the pressure never stands.
    """
    top = float(pressure.max())
    falls = np.flatnonzero(-np.diff(pressure) > _LET_GO * top)
    # Venting between two steps on the way is no end; the end is the fall after the highest stand.
    high = np.flatnonzero(pressure > 0.5 * top)
    last_high = int(high[-1])
    ends = falls[falls >= last_high - 1]
    let_go = None
    end = last_high + 1
    if len(ends):
        end = int(ends[0]) + 1
        let_go = float(seconds[end])
    rises = np.flatnonzero(_rise(pressure[:end]) > _PUMPED * top)
    start = int(rises[-1]) if len(rises) else 0
    # The stroke itself is no reading at rest: the hold starts at the highest point after it.
    start += int(np.argmax(pressure[start : min(start + 20, end)]))
    if end - start < _FEWEST:
        raise InputError(
            Fault("the record has no hold: the pressure never stands", given=f"{end - start} "
                  "readings after the last pumping", limit=f"at least {_FEWEST}",
                  do="shut the valve and read on"))  # fmt: skip
    return slice(start, end), let_go


def _rise(pressure: Array) -> Array:
    """Return how far each reading lies over the lowest of the few before it."""
    found = np.zeros(len(pressure))
    for back in range(1, 4):
        found[back:] = np.maximum(found[back:], pressure[back:] - pressure[:-back])
    return found


def steps_reached(record: ProofRecord, steps_mpa: Array, least_s: float) -> list[bool]:
    """Return at which steps the pressure stood long enough on the way up.

    Parameters
    ----------
    record : ProofRecord
        The record.
    steps_mpa : (n,) ndarray
        Steps of the proof test, gauge [MPa].
    least_s : float
        How long each must be held [s].
    """
    found = []
    for step in steps_mpa:
        near = np.abs(record.pressure_mpa - step) <= _AT_STEP * step
        time = np.diff(record.seconds, append=record.seconds[-1:])
        found.append(bool(time[near].sum() >= 0.8 * least_s))
    return found


def read_to(pressure: Array) -> float:
    """Return the step a gauge was read to [unit of pressure]; 0 where none shows.

    Parameters
    ----------
    pressure : (n,) ndarray
        Readings.
    """
    different = np.unique(np.round(pressure, 9))
    if len(different) < 3 or len(different) > 0.5 * len(pressure):
        return 0.0
    return float(np.min(np.diff(different)))
