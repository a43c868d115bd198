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

from barbwright.errors import BuildError, Fault

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

    A name holds its process; where it holds none, or none can be asked after, an hour tells.

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
                changed = left.lstat().st_mtime
                alive = _alive(int(owner), changed) if owner.isdecimal() else None
                if time.time() - changed <= _LEFT_AFTER_S if alive is None else alive:
                    continue
                if left.is_dir() and not left.is_symlink():
                    shutil.rmtree(left, ignore_errors=True)
                else:
                    left.unlink()


def _alive(process: int, changed_s: float) -> bool | None:
    """Return whether what was changed then [s] is a living process's; none where nothing tells.

    A number may have gone to another process, which then began later.
    """
    if os.name != "posix":
        # There, asking would end it.
        return None
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (PermissionError, OverflowError):
        pass
    try:
        # proc(5): the 22nd field, of which the second may hold anything, is ticks since the boot.
        ticks = int(Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[19])
        awake_s = time.clock_gettime(time.CLOCK_BOOTTIME)
    except (OSError, ValueError, IndexError, AttributeError):
        return True
    began_s = time.time() - awake_s + ticks / os.sysconf("SC_CLK_TCK")
    # By an hour, for the clock of a shared folder is not this machine's.
    return began_s <= changed_s + _LEFT_AFTER_S


@contextmanager
def writing(what: str, place: object, do: str = "") -> Iterator[None]:
    """Tell what the machine refuses inside a ``with`` block, with the place and the way out.

    Parameters
    ----------
    what, do : str
        What is said, and what to do.
    place : object
        Where it was to be written, or in words.

    Raises
    ------
    BuildError
        In place of an `OSError`.
    """
    try:
        yield
    except OSError as error:
        raise BuildError(Fault.of_system(what, place, error, do)) from error


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

    Raises
    ------
    BuildError
        When the place cannot be written.
    """
    import tempfile

    name, what = f".barbwright-{word}", "nothing can be put aside while files are made"
    do = "make room there, or set TMPDIR to a folder that can be written"
    with writing(what, place or "the folder for temporary files", do):
        where = place or Path(tempfile.gettempdir())
        clear_left(where, name)
        lent = tempfile.TemporaryDirectory(prefix=own_prefix(name), dir=where)
    with lent as folder:
        yield Path(folder)


@contextmanager
def put_in_place(path: Path, what: str, do: str = "", *, ending: str) -> Iterator[Path]:
    """Lend a temporary name beside a file; give it the file's name if all went well.

    Parameters
    ----------
    path : Path
        The name that the file is to get.
    what, do : str
        What is said where the place cannot be written.
    ending : str
        Of the temporary name.

    Yields
    ------
    Path
        Temporary file in the same folder, to be written inside the ``with`` block. Any exception
        in it removes the file.

    Raises
    ------
    BuildError
        When the folder is missing or cannot be written.
    """
    import tempfile

    temporary = None
    try:
        with writing(what, path, do):
            word = f".{path.stem}-aside"
            clear_left(path.parent, word)
            handle, name = tempfile.mkstemp(prefix=own_prefix(word), suffix=ending, dir=path.parent)
            os.close(handle)
            temporary = Path(name)
            yield temporary
            temporary.chmod(0o644)
            os.replace(temporary, path)
            temporary = None
    finally:
        if temporary is not None:
            temporary.unlink(missing_ok=True)
