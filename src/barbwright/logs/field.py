"""A day at the trees: what went in over time, pulls, drips, by tree and day."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from barbwright.logs.columns import FIELD, NO, YES
from barbwright.logs.slips import spelling_of
from barbwright.logs.table import Reader, Table, as_force, clock_unwound

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class SeatRow:
    """What was seen of one port.

    Attributes
    ----------
    line : int
        Line of the file.
    port, part : str
        As written.
    pull_n : float or None
        Pull on the seat [N].
    moved : bool
        Whether it gave way at that pull.
    drips : bool
        Whether it dripped.
    remark : str
        As written.
    unit : str
        Unit the pull was written in; empty where that is not known.
    """

    line: int
    port: str
    part: str
    pull_n: float | None
    moved: bool
    drips: bool
    remark: str
    unit: str = ""


@dataclass(frozen=True, kw_only=True, eq=False)
class Run:
    """One tree on one day.

    Attributes
    ----------
    tree, species, date : str
        As written; the species may be empty.
    minutes : (n,) ndarray
        From the first reading, rising [min].
    pressure_mpa, level_ml : (n,) ndarray or None
        Gauge of the vessel [MPa], liquid left in it [mL]; NaN where not read.
    closed : tuple of tuple of int
        Ports pinched shut at each reading.
    seats : tuple of SeatRow
        What was seen of ports.
    notes : tuple of str
        What must be said of the readings.
    """

    tree: str
    species: str
    date: str
    minutes: Array
    pressure_mpa: Array | None
    level_ml: Array | None
    closed: tuple[tuple[int, ...], ...]
    seats: tuple[SeatRow, ...]
    notes: tuple[str, ...]

    @property
    def name(self) -> str:
        """Tree and day, as far as both were written."""
        return " ".join(filter(None, (self.tree, self.date)))

    @property
    def told(self) -> bool:
        """Whether readings over time are there at all."""
        return len(self.minutes) >= 2


def read_field(table: Table, zero_mpa: float = 0.0) -> tuple[Run, ...]:
    """Return a field log by tree and day.

    Parameters
    ----------
    table : Table
        The log.
    zero_mpa : float
        What the gauge shows when vented [MPa].

    Raises
    ------
    InputError
        With every fault by line.
    """
    assert table.kind is FIELD
    reader = Reader(table)
    columns = {column.name: table.words(column.name) for column in FIELD.columns}
    found = {name: reader.quantity(name) for name in ("time", "pressure", "level", "pull")}
    order: dict[tuple[str, str], list[int]] = {}
    tree, day = "", ""
    for row in range(len(table)):
        # A form names tree and day once and leaves the rest of its rows open.
        tree = columns["tree"][row] or tree
        if columns["date"][row]:
            day = reader.day(int(table.lines[row]), columns["date"][row])
        if not tree:
            reader.fault(int(table.lines[row]), "the tree is not named", do="write its name")
            continue
        order.setdefault((tree, day), []).append(row)
    seats = {row: _seat(reader, table, columns, found["pull"], row) for row in range(len(table))}
    closed = {row: _ports(reader, int(table.lines[row]), columns["closed"][row])
              for row in range(len(table))}  # fmt: skip
    reader.raise_if_any()
    clock = "time" in table.texts
    runs = []
    for (name, date), rows in order.items():
        runs.append(_run(name, date, rows, columns, found, seats, closed, zero_mpa, clock=clock))
    return tuple(runs)


def _seat(
    reader: Reader,
    table: Table,
    columns: dict[str, list[str]],
    pulls: Array | None,
    row: int,
) -> SeatRow | None:
    line = int(table.lines[row])
    moved, drips = (columns[name][row].casefold() for name in ("moved", "drips"))
    for name, word in (("moved", moved), ("drips", drips)):
        if word not in YES | NO | {""}:
            reader.fault(line, f"{name} says neither yes nor no", word, "yes, no", "write one")
    pull = None if pulls is None or not np.isfinite(pulls[row]) else float(pulls[row])
    if not (columns["port"][row] or columns["part"][row] or pull is not None or drips):
        return None
    return SeatRow(
        line=line,
        port=columns["port"][row],
        part=columns["part"][row],
        pull_n=pull,
        moved=moved in YES,
        drips=drips in YES,
        remark=columns["remark"][row],
        unit=_unit_of_pull(table, columns["pull"][row]),
    )


def _unit_of_pull(table: Table, text: str) -> str:
    """Return the unit a pull was written in, its own or the header's; empty where none is known."""
    header = table.units.get("pull", "")
    return spelling_of("force", as_force(text, "force")) or spelling_of(
        "force", as_force(f"1 {header}", "force")
    )


def _ports(reader: Reader, line: int, text: str) -> tuple[int, ...]:
    if not text or text.casefold() in {"no", "none", "-"}:
        return ()
    words = re.split(r"[\s;+]+", text.strip())
    if not all(re.fullmatch(r"\d{1,2}", word) for word in words):
        reader.fault(line, "closed names no port", text, do="write its number, such as 3")
        return ()
    return tuple(int(word) for word in words)


def _run(
    tree: str,
    date: str,
    rows: list[int],
    columns: dict[str, list[str]],
    found: dict[str, Array | None],
    seats: dict[int, SeatRow | None],
    closed: dict[int, tuple[int, ...]],
    zero_mpa: float,
    *,
    clock: bool,
) -> Run:
    """Return one tree's day; readings are those rows with a time and a gauge or a level."""
    notes = []
    if not date:
        notes.append("its day is not written: a run without a day takes the place of the last such")
    time, pressure, level = found["time"], found["pressure"], found["level"]

    def has(values: Array | None, row: int) -> bool:
        return values is not None and bool(np.isfinite(values[row]))

    timed = [r for r in rows if has(time, r) and (has(pressure, r) or has(level, r))]
    seconds = np.array([time[r] for r in timed]) if time is not None else np.zeros(0)
    if clock and len(seconds):
        seconds = clock_unwound(seconds)
    if len(seconds) and (np.diff(seconds) < 0.0).any():
        notes.append("times run backwards: sorted")
        sort = np.argsort(seconds, kind="stable")
        seconds, timed = seconds[sort], [timed[i] for i in sort]

    def column(values: Array | None, off: float = 0.0) -> Array | None:
        if values is None or not any(has(values, r) for r in timed):
            return None
        return np.array([values[r] for r in timed]) - off

    species = next((columns["species"][r] for r in rows if columns["species"][r]), "")
    return Run(
        tree=tree,
        species=species,
        date=date,
        minutes=(seconds - seconds[0]) / 60.0 if len(seconds) else seconds,
        pressure_mpa=column(pressure, zero_mpa),
        level_ml=column(level),
        closed=tuple(closed[r] for r in timed),
        seats=tuple(seat for r in rows if (seat := seats[r]) is not None),
        notes=tuple(notes),
    )
