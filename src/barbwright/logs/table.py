"""A CSV file as loggers, spreadsheets and people write it, as columns with the line of each row."""

from __future__ import annotations

import csv
import datetime
import io
import math
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from barbwright import units
from barbwright.errors import Fault, InputError, quoted
from barbwright.logs.columns import KINDS, LogKind, kind_of

Array = NDArray[np.float64]

# A header stands within so many lines; a logger writes its name and serial above it.
_PREAMBLE_LINES = 40
# A file with more faults is another file: these are enough to see what is wrong.
_MOST_FAULTS = 20
_WRITE_FIRST = "write header and readings first, see `barbwright explain log`"
_HEAD = re.compile(r"^\s*(?P<name>[^\[(]+?)\s*(?:[\[(](?P<unit>[^\])]+)[\])])?\s*$")
_KNOWN = {column.name for kind in KINDS.values() for column in kind.columns}
# Names that end in their unit, as some loggers write them.
_SUFFIXES = {"_min": "min", "_s": "s", "_psi": "psi", "_kpa": "kPa", "_bar": "bar", "_mpa": "MPa",
             "_c": "C", "_f": "F", "_ml": "mL", "_l": "L", "_n": "N", "_lbf": "lbf"}  # fmt: skip
_CLOCK = re.compile(r"^\s*(?:\d{4}-\d\d-\d\d[T ])?(\d{1,2}):(\d\d)(?::(\d\d(?:[.,]\d+)?))?\s*$")
_DAY_S = 86400.0
# A scale's dial says a mass and is pulled by a force: in a column of forces its kg is a kgf.
_ON_A_SCALE = re.compile(r"(?<![A-Za-z])(kg|lb)s?\.?$", re.IGNORECASE)


def as_force(text: str, kind: str) -> str:
    """Return a reading with a scale's own kg or lb written as the force that pulled it.

    Parameters
    ----------
    text : str
        A number with its unit, or a unit [-].
    kind : str
        Kind of quantity it stands for [-].
    """
    if kind != "force":
        return text
    return _ON_A_SCALE.sub(lambda found: f"{found[1].casefold()}f", text.strip())


@dataclass(frozen=True, kw_only=True, eq=False)
class Table:
    """A log's columns.

    Attributes
    ----------
    kind : LogKind
        What its header told.
    lines : (n,) ndarray of int
        Line of the file that each row stands on.
    texts : dict of str to ndarray of object
        Columns that hold words, or numbers with faults among them.
    numbers : dict of str to (n,) ndarray
        Columns in which every cell was a number, as written; NaN for empty cells.
    units : dict of str to str
        Unit of each column, where its header says one.
    notes : list of str
        What was found on the way and must be said.
    heads : set of int
        Lines on which the header stands again: no readings.
    """

    kind: LogKind
    lines: NDArray[np.int64]
    texts: dict[str, NDArray[Any]]
    numbers: dict[str, Array]
    units: dict[str, str]
    notes: list[str] = field(default_factory=list)
    heads: set[int] = field(default_factory=set)

    def __len__(self) -> int:
        """Return how many rows there are."""
        return len(self.lines)

    def has(self, name: str) -> bool:
        """Return whether a column is there."""
        return name in self.texts or name in self.numbers

    def words(self, name: str) -> list[str]:
        """Return a column as words, empty where nothing stands."""
        if name in self.texts:
            return ["" if cell is None else str(cell).strip() for cell in self.texts[name]]
        if name in self.numbers:
            return ["" if math.isnan(one) else f"{one:.10g}" for one in self.numbers[name]]
        return [""] * len(self)


def iso_day(text: str) -> str | None:
    """Return a day as 2026-11-28; None where it is none, or may be read as two.

    A spreadsheet rewrites days in its own country's order, and the same file read again must find
    its own readings. 3/4/2026 is March in one country and April in another.

    Parameters
    ----------
    text : str
        Year, month, day with hyphens; day, month, year with points; or with slashes where only one
        of the first two can be a month [-].
    """
    if found := re.fullmatch(r"(\d{4})[-/](\d{1,2})[-/](\d{1,2})(?:[T ]\d.*)?", text.strip()):
        year, month, day = (int(part) for part in found.groups())
    elif found := re.fullmatch(r"(\d{1,2})([./-])(\d{1,2})\2(\d{4})", text.strip()):
        day, month, year = int(found[1]), int(found[3]), int(found[4])
        if found[2] != "." and day != month:
            if day <= 12 and month <= 12:
                return None
            if month > 12:
                day, month = month, day
    else:
        return None
    try:
        return datetime.date(year, month, day).isoformat()
    except ValueError:
        return None


def _text_of(path: Path) -> bytes:
    """Return a file's bytes as UTF-8 without a mark of byte order."""
    try:
        data = path.read_bytes()
    except OSError as error:
        do = "name a CSV file; `barbwright explain log` shows what stands in one"
        raise InputError(Fault.of_system("cannot read the log", path, error, do)) from None
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        data = data.decode("utf-16", errors="replace").encode()
    data = data.removeprefix(b"\xef\xbb\xbf")
    if b"\x00" in data[:4096]:
        fault = Fault("this is no text file", given=str(path), do="save it as CSV")
        raise InputError(fault)
    return data


def _heads(line: str, separator: str) -> list[str]:
    return [cell.strip().strip('"').strip() for cell in line.split(separator)]


def named(head: str) -> tuple[str, str]:
    """Return a header cell's name and unit; the unit is empty where none is said.

    Parameters
    ----------
    head : str
        Such as ``Pressure [psi]`` or ``time_min``.
    """
    found = _HEAD.match(head)
    if found is None:
        return head.casefold(), ""
    name = re.sub(r"[\s-]+", "_", found["name"].strip().casefold())
    if found["unit"] or name in _KNOWN:
        return name, (found["unit"] or "").strip()
    for suffix, unit in _SUFFIXES.items():
        if name.endswith(suffix) and name.removesuffix(suffix) in _KNOWN:
            return name.removesuffix(suffix), unit
    return name, ""


def _find_header(data: bytes, path: Path) -> tuple[int, str, list[str]]:
    """Return the header's index of line, its separator and its cells."""
    first: tuple[int, str, list[str]] | None = None
    for index, raw in enumerate(data[:200_000].split(b"\n")[:_PREAMBLE_LINES]):
        line = raw.decode("utf-8", errors="replace").strip("\r")
        if not line.strip(" ,;\t"):
            continue
        separator = max(";\t,", key=line.count)
        cells = _heads(line, separator)
        if first is None:
            first = index, separator, cells
        if sum(named(cell)[0] in _KNOWN for cell in cells) >= 2:
            return index, separator, cells
    if first is None:
        raise InputError(Fault("the log is empty", given=str(path), do=_WRITE_FIRST))
    return first


def read_table(path: Path) -> Table:
    """Return a log as columns.

    Parameters
    ----------
    path : Path
        A CSV file: comma, semicolon or tab; decimal point or comma; any mark of byte order.

    Returns
    -------
    Table
        Nothing is converted yet but plain numbers.

    Raises
    ------
    InputError
        When it cannot be read, is empty, or is no log.
    """
    import polars as pl

    data = _text_of(path)
    index, separator, cells = _find_header(data, path)
    pairs = [named(cell) for cell in cells]
    names = [name for name, _ in pairs]
    twice = sorted({name for name in names if name and names.count(name) > 1})
    if twice:
        raise InputError(
            Fault(f"column {twice[0]!r} stands twice in the header", given=f"line {index + 1}",
                  do="rename one of them"))  # fmt: skip
    kind = kind_of(names)
    _need(kind, names)
    body = data.split(b"\n", index + 1)[-1]
    comma = separator != "," and b"," in data[:100_000].split(b"\n", index + 1)[-1]
    columns = [name or f"column {place}" for place, name in enumerate(names, 1)]
    plain = {column.name for column in kind.columns if column.kind}
    wanted = {name: pl.Float64 if name in plain else pl.String for name in columns}
    options: dict[str, Any] = {
        "separator": separator,
        "has_header": False,
        "skip_lines": index + 1,
        "new_columns": columns,
        "truncate_ragged_lines": True,
        "decimal_comma": comma,
        "encoding": "utf8-lossy",
        "raise_if_empty": False,
        # A first row that ends early, or in separators its header lacks, is a row like any other.
        "extra_columns": "ignore",
        "missing_columns": "insert",
    }
    if not body.strip():
        raise _no_rows(data, index, path)
    _even(body, index, separator, len(names))
    try:
        frame = pl.read_csv(data, schema=pl.Schema(wanted), **options)
    except (pl.exceptions.PolarsError, ValueError):
        # A cell that is no number: all as words, so that it can be named with its line.
        words = pl.Schema(dict.fromkeys(columns, pl.String))
        frame = pl.read_csv(data, schema=words, **{**options, "decimal_comma": False})
    lines = np.arange(index + 2, index + 2 + len(frame))
    kept = ~np.all([frame[name].is_null().to_numpy() for name in frame.columns], axis=0)
    texts: dict[str, NDArray[Any]] = {}
    numbers: dict[str, Array] = {}
    for name in frame.columns:
        column = frame[name]
        if column.dtype == pl.Float64:
            values = column.to_numpy() if not column.null_count() else column.fill_null(math.nan)
            read = np.asarray(values, dtype=float)
            numbers[name] = read if kept.all() else read[kept]
        else:
            texts[name] = np.array(column.to_list(), dtype=object)[kept]
    table = Table(
        kind=kind,
        lines=lines[kept],
        texts=texts,
        numbers=numbers,
        units={name: unit for name, unit in pairs if unit},
    )
    if not len(table):
        raise _no_rows(data, index, path)
    return table


def _no_rows(data: bytes, index: int, path: Path) -> InputError:
    """Return what is said of a header that nothing follows, as where a sort has moved it down."""
    above = sum(bool(line.strip(b" ,;\t\r")) for line in data.split(b"\n")[:index])
    what = f"line {index + 1}: the log has no rows under this header"
    if above:
        return InputError(Fault(what, given=f"{path}; lines above it: {above}",
                                do="put the header back above its rows"))  # fmt: skip
    return InputError(Fault(what, given=str(path), do=_WRITE_FIRST))


def _even(body: bytes, index: int, separator: str, width: int) -> None:
    """Refuse rows with more cells than the header: a comma in a number moves all after it."""
    rows = body.count(b"\n") + (not body.endswith(b"\n"))
    if body.count(separator.encode()) == rows * (width - 1):
        return
    faults = []
    text = io.StringIO(body.decode("utf-8", errors="replace"), newline="")
    reader = csv.reader(text, delimiter=separator)
    for cells in reader:
        if any(cell.strip() for cell in cells[width:]):
            faults.append(
                Fault(f"line {index + 1 + reader.line_num}: more cells than the header has",
                      given=quoted(separator.join(cells)), limit=f"{width}",
                      do="write numbers with a point, and a text with commas in quotes")
            )  # fmt: skip
    if len(faults) > _MOST_FAULTS:
        more = f"and {len(faults) - _MOST_FAULTS} more lines have too many"
        faults = [*faults[:_MOST_FAULTS], Fault(more)]
    if faults:
        raise InputError(faults)


def _need(kind: LogKind, names: Iterable[str]) -> None:
    missing = [c.name for c in kind.columns if c.needed and c.name not in set(names)]
    if missing:
        raise InputError(
            Fault(f"a {kind.name} log needs more columns", given="missing: " + ", ".join(missing),
                  do="add them; `barbwright explain log` says what stands in each"))  # fmt: skip


def line_through(kind: str, unit: str, name: str) -> tuple[float, float]:
    """Return factor and offset that turn a unit into the inside one of its kind.

    Parameters
    ----------
    kind : str
        Kind of quantity [-].
    unit : str
        As a header writes it.
    name : str
        What a message calls the column.
    """
    one, two = (
        units.parse_quantity(
            as_force(f"{count} {unit}", kind), kind, name=f"the header's unit of {name}"
        )
        for count in (1, 2)
    )
    return two - one, 2.0 * one - two


class Reader:
    """Columns turned into numbers of our own units, every fault kept with its line.

    Parameters
    ----------
    table : Table
        The log.
    """

    def __init__(self, table: Table) -> None:
        self.table = table
        self._faults: list[Fault] = []
        self._more = 0

    def fault(self, line: int, what: str, given: str = "", limit: str = "", do: str = "") -> None:
        """Keep what is wrong with a line."""
        if len(self._faults) < _MOST_FAULTS:
            shown = quoted(given) if given else ""
            self._faults.append(Fault(f"line {line}: {what}", shown, limit, do))
        else:
            self._more += 1

    def raise_if_any(self) -> None:
        """Raise all that was kept.

        Raises
        ------
        InputError
            With a fault a line, the first so many.
        """
        if self._faults:
            more = [Fault(f"and {self._more} more lines are wrong")] if self._more else []
            raise InputError([*self._faults, *more])

    def day(self, line: int, text: str) -> str:
        """Return a day as 2026-11-28, empty with a fault kept where it is none."""
        found = iso_day(text)
        if found is None:
            self.fault(line, "the date is no day, or may be two", text,
                       "2026-11-28, 28.11.2026 or 11/28/2026", "write the year first")  # fmt: skip
        return found or ""

    def quantity(self, name: str) -> Array | None:
        """Return a column in the inside unit of its kind, NaN where a cell is empty.

        A cell may carry its own unit; a header that is written again, with other units, holds for
        what follows it. A number whose unit nobody says is a fault.
        """
        table = self.table
        if not table.has(name):
            return None
        kind = next(c.kind for c in table.kind.columns if c.name == name)
        unit = table.units.get(name, "")
        if name in table.numbers:
            values = table.numbers[name]
            if not unit:
                return self._unitless(name, kind, values)
            factor, offset = line_through(kind, unit, name)
            bad = np.isinf(values)
            for line in table.lines[bad][:_MOST_FAULTS]:
                self.fault(int(line), f"{name} is no number", "inf", do="write what was read")
            return values if (factor, offset) == (1.0, 0.0) else values * factor + offset
        return self._cells(name, kind, unit)

    def _unitless(self, name: str, kind: str, values: Array) -> Array:
        """Refuse a column whose unit stands nowhere, unless nothing stands in it."""
        if np.isfinite(values).any():
            readings = units.KINDS[kind].readings
            self.fault(
                int(self.table.lines[0]) - 1,
                f"the header names no unit of {name}",
                name,
                " or ".join(f"{name} [{one}]" for one in readings[:2]),
                "write the unit into the header",
            )
        return values

    def _cells(self, name: str, kind: str, unit: str) -> Array:
        """Return a column of words cell by cell; equal words are read once."""
        table, found, known = self.table, np.full(len(self.table), np.nan), dict[str, float | str]()
        for row, text in enumerate(table.words(name)):
            if not text:
                continue
            if text in known:
                value = known[text]
            elif named(text)[0] == name:
                # The header again: what follows is in its unit.
                unit, known = named(text)[1] or unit, {text: math.nan}
                table.heads.add(int(table.lines[row]))
                table.notes.append(
                    f"line {table.lines[row]}: the header is written again, {name} in {unit} "
                    "from there on"
                )
                continue
            else:
                value = known[text] = self._cell(text, name, kind, unit)
            if isinstance(value, str):
                self.fault(int(table.lines[row]), value, text, do="write what was read, or nothing")
            else:
                found[row] = value
        return found

    def _cell(self, text: str, name: str, kind: str, unit: str) -> float | str:
        """Return one cell as a number, or what is wrong with it."""
        if kind == "time" and (clock := _CLOCK.match(text)):
            seconds = float((clock[3] or "0").replace(",", "."))
            return (int(clock[1]) * 60.0 + int(clock[2]) + seconds / 60.0) * 60.0
        plain = re.fullmatch(r"[+-]?\d+(?:[.,]\d+)?(?:[eE][+-]?\d+)?", text)
        if plain is not None:
            if not unit:
                return f"{name} has no unit, neither in the header nor here"
            factor, offset = line_through(kind, unit, name)
            return float(text.replace(",", ".")) * factor + offset
        try:
            read = as_force(text, kind)
            return float(units.parse_quantity(read, kind, name=name, zero_allowed=True))
        except InputError as error:
            return error.faults[0].what


def clock_unwound(seconds: Array) -> Array:
    """Return times with midnight taken out, where a clock starts anew at it.

    Parameters
    ----------
    seconds : (n,) ndarray
        In the order written; a fall of more than half a day is midnight [s].
    """
    falls = np.diff(seconds, prepend=seconds[:1]) < -_DAY_S / 2.0
    return np.asarray(seconds + np.cumsum(falls) * _DAY_S)
