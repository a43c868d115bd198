"""What is written aside, under names that hold their process: what a killed one left is cleared.

A process that ends in any way but a kill clears up after itself. After a kill nothing can; so the
next run that writes in the same place looks at the names there and removes those of the dead.
"""

from __future__ import annotations

import contextlib
import glob
import os
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

_LEFT_AFTER_S = 3600.0


def own_prefix(word: str) -> str:
    """Return how a name begins that this process gives to what it writes aside.

    Parameters
    ----------
    word : str
        What tells it from other things in the same place.
    """
    return f"{word}-{os.getpid()}-"


def clear_left(place: Path, word: str) -> None:
    """Remove what processes that were killed left in a place; a living one's is let be.

    A name holds its process; where it holds none, an hour tells.

    Parameters
    ----------
    place : Path
        Folder that may hold such things.
    word : str
        As `own_prefix` was given it.
    """
    with contextlib.suppress(OSError):
        for left in sorted(place.glob(f"{glob.escape(word)}-*")):
            owner = left.name.removeprefix(f"{word}-").partition("-")[0]
            with contextlib.suppress(OSError):
                told = owner.isdecimal()
                old = time.time() - left.lstat().st_mtime > _LEFT_AFTER_S
                if not (told and not _alive(int(owner))) and not old:
                    continue
                if left.is_dir() and not left.is_symlink():
                    shutil.rmtree(left, ignore_errors=True)
                else:
                    left.unlink()


def _alive(process: int) -> bool:
    if os.name != "posix":
        # There, asking would end it.
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (PermissionError, OverflowError):
        return True
    return True


@contextmanager
def scratch_folder(word: str, place: Path | None = None) -> Iterator[Path]:
    """Lend a folder that is thrown away.

    Parameters
    ----------
    word : str
        What it is for; stands in its name.
    place : Path, optional
        Where it stands; else where the machine keeps such things.

    Yields
    ------
    Path
        The new folder.
    """
    import tempfile

    where, name = place or Path(tempfile.gettempdir()), f".barbwright-{word}"
    clear_left(where, name)
    with tempfile.TemporaryDirectory(prefix=own_prefix(name), dir=where) as folder:
        yield Path(folder)
