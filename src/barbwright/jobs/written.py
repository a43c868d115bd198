"""Files of a log, a bench day or a rating, written through the one door into one folder."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from barbwright.aside import writing
from barbwright.errors import Fault, InputError
from barbwright.jobs.record import dump, file_row

if TYPE_CHECKING:
    from barbwright.jobs.log import Told


def write_log(folder: Path, stem: str, told: Told, *, force: bool) -> list[dict[str, Any]]:
    """Write a log's record and page.

    Parameters
    ----------
    folder : Path
        Made if it is not there.
    stem : str
        The log's own name.
    told : Told
        What it says.
    force : bool
        Write over files that are there.
    """
    # By its kind, for a proof test and a day at the trees may be kept under one day's name; a form
    # that was filled in may stand beside it under its own.
    name = f"log-{told.document['kind']}-{stem}"
    body = {key: value for key, value in told.document.items() if key not in {"kept", "files"}}
    return write_all(
        folder,
        {f"{name}.json": lambda: dump(body), f"{name}.html": told.page},
        force=force,
    )


def write_all(
    folder: Path, made: Mapping[str, Callable[[], bytes]], *, force: bool
) -> list[dict[str, Any]]:
    """Write files into a folder and list them; nothing is written over unasked.

    Parameters
    ----------
    folder : Path
        Made if it is not there.
    made : mapping of str to callable
        File name to what makes it.
    force : bool
        Write over files that are there.

    Raises
    ------
    InputError
        When a file is there and ``force`` was not given; nothing is written then.
    BuildError
        When the folder cannot be made or looked into.
    """
    from barbwright.export.door import record, write_bytes

    what, do = "cannot make the folder", "name another with -o"
    with writing(what, folder, do):
        there = [name for name in made if (folder / name).exists()]
    if there and not force:
        raise InputError(
            [Fault("a file is there", given=str(folder / name), do="--force") for name in there]
        )
    contents = {name: make() for name, make in made.items()}
    rows = []
    with writing(what, folder, do):
        folder.mkdir(parents=True, exist_ok=True)
    for name, content in contents.items():
        path = folder / name
        write_bytes(path, content)
        rows.append(file_row(record(path, path.suffix.lstrip("."), ""), str(path)))
    return rows
