"""The one way a file gets its name: written aside, verified, then renamed."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from barbwright.aside import put_in_place
from barbwright.errors import BuildError, Fault


@dataclass(frozen=True, kw_only=True)
class WrittenFile:
    """A file that was written and verified.

    Attributes
    ----------
    path : Path
        Where it stands.
    format : str
        ``step``, ``stl``, ``3mf``, or the file's suffix.
    unit : str
        Unit of length inside, ``mm``, or empty where none applies.
    bytes : int
        Size [byte].
    sha256 : str
        Checksum, hexadecimal.
    """

    path: Path
    format: str
    unit: str
    bytes: int
    sha256: str


def record(path: Path, kind: str, unit: str = "mm", *, final: Path | None = None) -> WrittenFile:
    """Describe a written file.

    Parameters
    ----------
    path : Path
        The file as it stands now.
    kind : str
        Its format.
    unit : str
        Unit of length inside.
    final : Path, optional
        The path it will have, where the folder is still to be moved.

    Returns
    -------
    WrittenFile
        Path, format, unit, size and checksum.
    """
    content = path.read_bytes()
    return WrittenFile(
        path=final or path,
        format=kind,
        unit=unit,
        bytes=len(content),
        sha256=hashlib.sha256(content).hexdigest(),
    )


@contextmanager
def verified_file(path: Path) -> Iterator[Path]:
    """Lend a temporary name beside a file; give it the file's name if all went well.

    Parameters
    ----------
    path : Path
        The name that the file is to get.

    Yields
    ------
    Path
        Temporary file in the same folder, to be written and verified inside
        the ``with`` block. Any exception in it removes the file.

    Raises
    ------
    BuildError
        When the folder is missing or cannot be written.
    """
    what, do = "cannot write the file", "choose a folder that exists and can be written"
    with put_in_place(path, what, do, ending=path.suffix) as temporary:
        yield temporary


def write_bytes(path: Path, content: bytes) -> None:
    """Write bytes through the door and read them back.

    Parameters
    ----------
    path : Path
        The file.
    content : bytes
        What it is to hold.

    Raises
    ------
    BuildError
        When it cannot be written, or reads back otherwise.
    """
    with verified_file(path) as temporary:
        temporary.write_bytes(content)
        if temporary.read_bytes() != content:
            raise BuildError(Fault("the file reads back otherwise than written", given=str(path)))
