"""A catalogue's files: Parquet, CSV and the page, written aside, read back, put in place."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from barbwright.errors import BuildError, Fault
from barbwright.export.door import verified_file, write_bytes
from barbwright.farm.judge import JudgedCatalogue, table
from barbwright.report.catalogue_page import Block, CataloguePage, catalogue_page

if TYPE_CHECKING:
    import polars as pl

    from barbwright.farm.parts import Made

FILES = ("catalogue.parquet", "catalogue.csv", "index.html")


def write_tables(
    home: Path, judged: JudgedCatalogue, made: Mapping[int, Made], refused: Mapping[int, str]
) -> list[Path]:
    """Write all rows as Parquet and CSV, and the page to browse them.

    Parameters
    ----------
    home : Path
        The catalogue's folder; made if it is not there.
    judged : JudgedCatalogue
        Verdicts.
    made : mapping of int to Made
        What stands on disk, by the combination's number.
    refused : mapping of int to str
        Why a part that was to be made is not there.

    Raises
    ------
    BuildError
        When one cannot be written, or reads back otherwise.
    """
    import polars as pl

    rows = table(judged, dict(made), dict(refused))
    with verified_file(home / FILES[0]) as aside:
        rows.write_parquet(aside)
        _require_same(pl.read_parquet(aside), rows, home / FILES[0])
    with verified_file(home / FILES[1]) as aside:
        rows.write_csv(aside)
        back = pl.read_csv(aside, schema=dict(rows.schema))
        _require_same(back, rows, home / FILES[1])
    write_bytes(home / FILES[2], catalogue_page(_page(judged, made, refused)))
    return [home / name for name in FILES]


def _require_same(back: pl.DataFrame, rows: pl.DataFrame, path: Path) -> None:
    if not back.equals(rows, null_equal=True):
        raise BuildError(Fault("the table reads back otherwise than written", given=str(path)))


def _page(
    judged: JudgedCatalogue, made: Mapping[int, Made], refused: Mapping[int, str]
) -> CataloguePage:
    spec = judged.spec
    blocks = tuple(
        Block(
            kind=grid.kind,
            axes=tuple((one.name, one.labels) for one in grid.axes),
            code=found.code,
            governing=found.governing,
            leans=found.leans,
            ids=found.ids,
            proofs=found.proofs,
        )
        for _, grid, found in judged.blocks()
    )
    shared = {
        name: "yes" if value is True else str(value)
        for name, value in (spec.grids[0].shared if spec.grids else {}).items()
    }
    first = next(iter(made.values()), None)
    return CataloguePage(
        title=spec.title,
        note=spec.note,
        invented=spec.invented,
        shared=shared,
        blocks=blocks,
        made={index: (one.number, one.folder) for index, one in made.items()},
        refused=refused,
        # All parts of a catalogue are asked for the same files.
        files=tuple(first.files) if first is not None else (),
        warnings=spec.warnings,
    )
