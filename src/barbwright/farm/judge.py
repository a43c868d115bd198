"""All combinations of a catalogue judged, as columns that tables and the page are written from."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from barbwright.checks.result import VERDICTS
from barbwright.errors import Fault, InputError
from barbwright.farm.parts import Made, Wanted
from barbwright.farm.spec import CatalogueSpec, Grid
from barbwright.rating.sweep import PROVED_HEADER, Sweep, sweep

if TYPE_CHECKING:
    import polars as pl


@dataclass(frozen=True, kw_only=True)
class JudgedCatalogue:
    """A catalogue with every combination's verdict.

    Attributes
    ----------
    spec : CatalogueSpec
        What was asked.
    sweeps : tuple of Sweep
        Verdicts, a kind of part each, in the order of the specification's grids.
    """

    spec: CatalogueSpec
    sweeps: tuple[Sweep, ...]

    def counts(self) -> dict[str, int]:
        """Return how many combinations have each verdict [-]."""
        found = sum(np.bincount(one.code, minlength=len(VERDICTS)) for one in self.sweeps)
        return {word: int(n) for word, n in zip(VERDICTS, np.asarray(found), strict=True) if n}

    def once_proved(self) -> int:
        """Return how many of the passes are passes only once proved in the field [-]."""
        return sum(int(np.count_nonzero(one.leans)) for one in self.sweeps)

    def wanted(self) -> Iterator[Wanted]:
        """Return the parts that are to be made, in the order of the combinations."""
        codes = [VERDICTS.index(word) for word in self.spec.verdicts]
        for begin, grid, found in self.blocks():
            for row in np.flatnonzero(np.isin(found.code, codes)):
                yield Wanted(
                    index=begin + int(row),
                    kind=grid.kind.name,
                    options=grid.options(int(row)),
                    settings=grid.settings,
                    verdict=VERDICTS[found.code[row]],
                    proofs=found.proofs[found.leans[row]],
                )

    def blocks(self) -> Iterator[tuple[int, Grid, Sweep]]:
        """Return each grid with the number of its first combination and its verdicts."""
        begin = 0
        for grid, found in zip(self.spec.grids, self.sweeps, strict=True):
            yield begin, grid, found
            begin += grid.count


def judge(spec: CatalogueSpec, progress: Callable[[float], None] | None = None) -> JudgedCatalogue:
    """Return the verdict of every combination.

    Parameters
    ----------
    spec : CatalogueSpec
        What is combined.
    progress : callable, optional
        Told the share that is done, 0 to 1.

    Raises
    ------
    InputError
        When more parts would be made than the file allows.
    """
    done, found = 0, []
    for grid in spec.grids:

        def told(share: float, done: int = done, count: int = grid.count) -> None:
            if progress is not None:
                progress((done + share * count) / spec.count)

        found.append(sweep(grid.kind, grid.job, grid.axes, progress=told))
        done += grid.count
    judged = JudgedCatalogue(spec=spec, sweeps=tuple(found))
    codes = [VERDICTS.index(word) for word in spec.verdicts]
    count = sum(int(np.isin(one.code, codes).sum()) for one in found)
    if count > spec.most:
        raise InputError(
            Fault(
                f"{spec.path}: more parts pass than are to be made",
                given=f"{count:,}",
                limit=f"make.most, {spec.most:,}",
                do="name fewer choices, raise `most` in [make], or judge alone with --dry-run",
            )
        )
    return judged


def table(judged: JudgedCatalogue, made: dict[int, Made], refused: dict[int, str]) -> pl.DataFrame:
    """Return every combination as a row; units stand in the headers.

    Names are kept as numbers of a list, so that a million rows are some tens of megabytes.

    Parameters
    ----------
    judged : JudgedCatalogue
        Verdicts.
    made : dict of int to Made
        What stands on disk, by the combination's number.
    refused : dict of int to str
        Why a part that was to be made is not there.
    """
    import polars as pl

    names = _names(judged)
    frames = []
    for begin, grid, found in judged.blocks():
        place = np.unravel_index(np.arange(grid.count), grid.shape)
        columns: dict[str, Any] = {
            "part": _coded([0] * grid.count, [grid.kind.name], names["part"])
        }
        for one, at in zip(grid.axes, place, strict=True):
            columns[one.name] = _coded(at, one.labels, names[one.name])
            if one.numbers is not None:
                header = "bit_diameter_mm" if one.name == "bit" else f"{one.name}_{one.unit}"
                columns[header] = np.round(one.numbers, 4)[at]
        use = np.where(np.isfinite(found.use), found.use, np.nan).astype(float)
        columns["verdict"] = _coded(found.code, VERDICTS, VERDICTS)
        proofs = [", ".join(checks) for checks in found.proofs]
        columns[PROVED_HEADER] = _coded(
            found.leans.astype(int) - 1, proofs[1:], names[PROVED_HEADER]
        )
        columns["governing_check"] = _coded(found.governing, found.ids, names["governing_check"])
        columns["safety_factor_over_design_factor"] = pl.Series(np.round(use, 4)).fill_nan(None)
        rows = range(begin, begin + grid.count)
        for header, look in (
            ("part_number", lambda at: made[at].number if at in made else None),
            ("folder", lambda at: made[at].folder if at in made else None),
            ("not_made_because", refused.get),
        ):
            columns[header] = pl.Series([look(row) for row in rows], dtype=pl.String)
        frames.append(pl.DataFrame(columns))
    return pl.concat(frames, how="diagonal").select([*_headers(judged)])


def _headers(judged: JudgedCatalogue) -> list[str]:
    """Return the columns in one order, whichever kind of part lacks some."""
    numbered = {"bit": "bit_diameter_mm", "pressure": "pressure_kpa"}
    axes = [one.name for grid in judged.spec.grids for one in grid.axes]
    order = [name for name in ("tube", "bit", "pressure", "material", "wood") if name in axes]
    named = [column for name in order for column in (name, numbered.get(name)) if column]
    return ["part", *named, "verdict", PROVED_HEADER, "governing_check",
            "safety_factor_over_design_factor",
            "part_number", "folder", "not_made_because"]  # fmt: skip


def _names(judged: JudgedCatalogue) -> dict[str, list[str]]:
    """Return all words of each column, over all kinds of part."""
    found: dict[str, dict[str, None]] = {"part": {}, "governing_check": {}, PROVED_HEADER: {}}
    for _, grid, sweep_ in judged.blocks():
        found["part"][grid.kind.name] = None
        found["governing_check"].update(dict.fromkeys(sweep_.ids))
        proofs = (", ".join(checks) for checks in sweep_.proofs[1:])
        found[PROVED_HEADER].update(dict.fromkeys(proofs))
        for one in grid.axes:
            found.setdefault(one.name, {}).update(dict.fromkeys(one.labels))
    return {name: list(words) for name, words in found.items()}


def _coded(codes: Any, own: Any, words: Any) -> pl.Series:
    """Return codes into a list of words as a column of words; a negative code is nothing."""
    import polars as pl

    words = list(words)
    codes = np.asarray(codes)
    if (codes < 0).all():
        return pl.Series([None] * codes.size, dtype=pl.Enum(words))
    numbers = np.array([words.index(word) for word in own], dtype=np.int64)
    at = pl.Series(np.where(codes < 0, 0, numbers[codes]).astype(np.uint32))
    if (codes < 0).any():
        at = at.to_frame("at").select(pl.when(pl.Series(codes >= 0)).then("at")).to_series()
    return pl.Series(words, dtype=pl.Enum(words)).gather(at)
