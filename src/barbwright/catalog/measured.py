"""What the user measured: products of a bench day, with the readings they rest on."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from barbwright.catalog.folders import (
    load_table,
    save_user_file,
    toml_text,
    user_folder,
)

_TABLE = "measured"


@dataclass(frozen=True, kw_only=True)
class Measured:
    """A product of judgement numbers as it was measured, as checks use it.

    Attributes
    ----------
    product : str
        Which one, such as ``hold``.
    wood, material, tube : str
        What it was measured on; empty where it does not matter.
    taper : float
        Taper of the tips that were pulled or driven; 0 where it does not matter [-].
    lower, expected, upper : float
        The product at 5, 50 and 95 % of new trees and holes; the middle is the species' median [-].
    n, logs : int
        Readings and logs behind it [-].
    date : str
        Of the last reading.
    """

    product: str
    wood: str
    material: str
    tube: str
    taper: float
    lower: float
    expected: float
    upper: float
    n: int
    logs: int
    date: str

    @property
    def status(self) -> str:
        """How far it is known, in words."""
        readings = "1 reading" if self.n == 1 else f"{self.n} readings"
        logs = "1 log" if self.logs == 1 else f"{self.logs} logs"
        return f"measured, {readings}, {logs}, {self.date or 'no date'}"


@dataclass(frozen=True, kw_only=True)
class BenchReading:
    """One reading of a product.

    Attributes
    ----------
    date, log, hole, part : str
        As written.
    low, high : float
        The product that the reading means: equal for a number, `high` infinite where it held [-].
    unit : str
        Unit it was written in; empty where that is not known.
    """

    date: str
    log: str
    hole: str
    part: str
    low: float
    high: float
    unit: str = ""

    @property
    def place(self) -> tuple[str, str, str, str]:
        """Where and when it was read: what is logged again of it takes its place."""
        return self.date, self.log, self.hole, self.part

    @property
    def of_log(self) -> str:
        """Which log it is from, on which day."""
        return f"{self.log}|{self.date}"


@dataclass(frozen=True, kw_only=True)
class MeasuredRecord:
    """What is kept of a product: what checks use, and all readings behind it.

    Attributes
    ----------
    measured : Measured
        What checks use.
    readings : tuple of BenchReading
        Every one, the doubtful too.
    """

    measured: Measured
    readings: tuple[BenchReading, ...]


_FIGURES = ("lower", "expected", "upper", "taper")


def _make(data: dict[str, Any], path: str) -> list[tuple[str, MeasuredRecord]]:
    rows = tuple(
        # A seat that held has no upper end, and TOML's own infinity is no figure of a table.
        BenchReading(**{**row, "low": float(row["low"]), "high": float(row.get("high", math.inf))})
        for row in data["reading"]
    )
    values = {name: value for name, value in data.items() if name not in {"reading", "status"}}
    figures = {name: float(values[name]) for name in _FIGURES}
    return [
        (Path(path).stem, MeasuredRecord(measured=Measured(**{**values, **figures}), readings=rows))
    ]


def measured_records() -> dict[str, MeasuredRecord]:
    """Return all that was measured, by key; read anew each time [-]."""
    return load_table(_TABLE, (user_folder(),), _make)


def measured_key(measured: Measured) -> str:
    """Return the file name of a product on its wood, material, tube and taper [-]."""
    import hashlib

    words = [measured.product, measured.wood or measured.tube, measured.material]
    if measured.taper:
        words.append(f"1_{1.0 / measured.taper:.3g}")
    plain = "-".join(re.sub(r"[^a-z0-9]+", "_", word.casefold()).strip("_") for word in words)
    whole = "|".join((measured.product, measured.wood, measured.tube, measured.material))
    return f"{plain[:50]}-{hashlib.sha256(whole.encode()).hexdigest()[:6]}"


def save_measured(record: MeasuredRecord) -> Path:
    """Write a product into the user's profile, in place of what was kept of it before.

    Parameters
    ----------
    record : MeasuredRecord
        With all its readings, the earlier ones too.
    """
    one = record.measured
    lines = [
        "# Written by `barbwright log` from bench readings. Products are plain numbers.",
        *(f"{name} = {toml_text(getattr(one, name))}" for name in
          ("product", "wood", "material", "tube")),
        *(f"{name} = {float(getattr(one, name))!r}" for name in _FIGURES),
        f"n = {one.n}",
        f"logs = {one.logs}",
        f"date = {toml_text(one.date)}",
        f"status = {toml_text(one.status)}",
        *_rows(record.readings),
    ]  # fmt: skip
    return save_user_file(_TABLE, f"{measured_key(one)}.toml", "\n".join(lines) + "\n")


def _rows(readings: Iterable[BenchReading]) -> Iterable[str]:
    for row in readings:
        yield ""
        yield "[[reading]]"
        yield from (f"{name} = {toml_text(getattr(row, name))}" for name in
                    ("date", "log", "hole", "part", "unit"))  # fmt: skip
        yield f"low = {float(row.low)!r}"
        if math.isfinite(row.high):
            yield f"high = {float(row.high)!r}"
