"""A bench day's readings, row by row, in our own units."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from barbwright import units
from barbwright.design.measured import TESTS, Product
from barbwright.errors import InputError, quoted
from barbwright.logs.columns import BENCH, NO, YES
from barbwright.logs.slips import spelling_of
from barbwright.logs.table import Reader, Table, as_force

_MOVED, _HELD = YES | {"moved", ""}, NO | {"broke"}


@dataclass(frozen=True, kw_only=True)
class BenchRow:
    """One reading.

    Attributes
    ----------
    line, row : int
        Line of the file, and number of the reading from 1.
    date, log, wood, hole, part : str
        As written.
    product : Product
        What its test tells.
    travel_mm, wait_min : float or None
        None where not written [mm], [min].
    low, high : float
        Ends of the reading in the inside unit: equal for a number, `high` infinite where the seat
        held [N], [N mm], [MPa], [mm].
    given : str
        As written, with its unit.
    unit : str
        That unit as slips name it; empty where none of theirs.
    """

    line: int
    row: int
    date: str
    log: str
    wood: str
    hole: str
    part: str
    product: Product
    travel_mm: float | None
    wait_min: float | None
    low: float
    high: float
    given: str
    unit: str = ""


def read_bench(table: Table) -> list[BenchRow]:
    """Return a bench day's readings; rows without a reading are left out, as forms have them.

    Parameters
    ----------
    table : Table
        The log.

    Raises
    ------
    InputError
        With every fault by line.
    """
    assert table.kind is BENCH
    reader, rows = Reader(table), list[BenchRow]()
    columns = {column.name: table.words(column.name) for column in BENCH.columns}
    day = ""
    for index in range(len(table)):
        cells = {name: column[index] for name, column in columns.items()}
        line = int(table.lines[index])
        # A form is dated once: a day holds for the rows under it.
        day = reader.day(line, cells["date"]) if cells["date"] else day
        if not cells["reading"]:
            continue
        if not day and not cells["date"]:
            reader.fault(line, "the day of the reading is not written", "", "such as 2026-11-28",
                         "write it in the first row: it holds for those under it")  # fmt: skip
        product = TESTS.get(cells["test"].casefold())
        if product is None:
            reader.fault(line, "no such test", cells["test"] or "nothing", ", ".join(TESTS),
                         "name one of these")  # fmt: skip
            continue
        ends = _ends(reader, line, cells, product)
        travel, wait = (_number(reader, line, cells[name], name)
                        for name in ("travel_mm", "wait_min"))  # fmt: skip
        if product.on == "wood" and not cells["wood"]:
            reader.fault(line, "the wood is not named", do="write its species")
        if product.id in {"hold", "drive", "twist"} and travel is None:
            reader.fault(line, "the travel is not written", do="write travel_mm, from hand-tight")
        if ends is None:
            continue
        rows.append(
            BenchRow(
                line=line,
                row=index + 1,
                date=day,
                log=cells["log"],
                wood=cells["wood"],
                hole=cells["hole"],
                part=cells["part"],
                product=product,
                travel_mm=travel,
                wait_min=wait,
                low=ends[0],
                high=ends[1],
                given=f"{cells['reading']} {cells['unit']}".strip(),
                unit=spelling_of(product.unit, as_force(f"1 {cells['unit']}", product.unit)),
            )
        )
    reader.raise_if_any()
    return rows


def _number(reader: Reader, line: int, text: str, name: str) -> float | None:
    if not text:
        return None
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = math.nan
    if not math.isfinite(value) or value < 0.0:
        reader.fault(line, f"{name} is no number", text, do="write digits, or nothing")
        return None
    return value


def _ends(
    reader: Reader, line: int, cells: dict[str, str], product: Product
) -> tuple[float, float] | None:
    """Return a reading's ends; None with a fault kept."""
    moved = cells["moved"].casefold()
    if moved not in _MOVED | _HELD:
        reader.fault(line, "moved says neither yes nor no", cells["moved"], "yes, no, held, broke",
                     "write one of these")  # fmt: skip
        return None
    found = []
    for text in re.split(r"\s*\.\.\s*", cells["reading"].strip()):
        plain = re.sub(r"(\d),(\d)", r"\1.\2", text)
        try:
            found.append(
                units.parse_quantity(
                    as_force(f"{plain} {cells['unit']}", product.unit),
                    product.unit,
                    name="reading",
                    zero_allowed=True,
                )
            )
        except InputError as error:
            fault = error.faults[0]
            reader.fault(line, fault.what, f"{text} {cells['unit']}", fault.limit, fault.do)
            return None
    low, high = found[0], found[-1]
    if len(found) > 2 or low > high:
        reader.fault(line, "the reading is no range", cells["reading"], do="write least..most")
        return None
    if product.unit == "length":
        # A difference of nothing is less than what calipers tell.
        return max(low, _CALIPERS_MM), max(high, _CALIPERS_MM)
    if low <= 0.0:
        reader.fault(line, "a reading of nothing says nothing of a product",
                     quoted(cells["reading"]), do="leave the row empty")  # fmt: skip
        return None
    return low, math.inf if moved in _HELD else high


_CALIPERS_MM = 0.02
