"""Where profile files are, and reading them: shipped ones first, the user's own on top."""

from __future__ import annotations

import contextlib
import difflib
import errno
import functools
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import tomli

from barbwright.aside import put_in_place, writing
from barbwright.catalog.validate import faults_in, load_schema
from barbwright.errors import Fault, InputError, quoted

R = TypeVar("R")

USER_FOLDER_VARIABLE = "BARBWRIGHT_PROFILES"
# Ours have some ten thousand; a record of a part with all its checks has a hundred thousand.
_MOST_BYTES = 16 << 20

# One place says which files make a table; a single file stands for a table that has no folder.
TABLES = ("materials", "refused_materials", "tubing", "woods", "bits", "uptake", "crossing_bores",
          "hub_crossing", "tube_contact", "judgement", "kits", "services", "measured",
          "trees", "languages", "catalogues")  # fmt: skip
# Folders of a user's profile that hold records of what was done, and no tables.
_WRITTEN_HERE = ("proofs", "bench")


@functools.cache
def shipped_folder() -> Path:
    """Return the folder of shipped profiles.

    Returns
    -------
    Path
        Inside the installed package, else at the top of the checkout [-].
    """
    package = Path(__file__).resolve().parents[1]
    installed = package / "profiles"
    return installed if installed.is_dir() else package.parents[1] / "profiles"


def user_folder() -> Path:
    """Return the folder of the user's own profiles, which may not exist.

    Returns
    -------
    Path
        From the variable BARBWRIGHT_PROFILES, else the platform's place for settings [-].
    """
    given = os.environ.get(USER_FOLDER_VARIABLE)
    if given:
        return Path(given)
    return _settings_folder(os.environ.get("XDG_CONFIG_HOME"), os.environ.get("HOME"))


@functools.cache
def _settings_folder(*_told: str | None) -> Path:
    """Return the platform's place for settings; asked again where what it follows is changed."""
    import platformdirs

    return Path(platformdirs.user_config_dir("barbwright")) / "profiles"


def profile_folders() -> tuple[Path, ...]:
    """Return the profile folders, the later ones overriding the earlier [-]."""
    shipped = shipped_folder()
    if not shipped.is_dir():
        raise InputError(
            Fault("the shipped profiles are missing", str(shipped), do="install barbwright again")
        )
    return (shipped, user_folder())


def is_users_own(path: str) -> bool:
    """Return whether a record's file is one of the user's own profile.

    Parameters
    ----------
    path : str
        As the record tells it; only a name in a job read back from a part [-].
    """
    return Path(path).is_absolute() and Path(path).is_relative_to(user_folder())


def unread_profiles() -> tuple[str, ...]:
    """Return a sentence for each thing of the user's own profile that nothing reads [-].

    A folder that is named and not there, a table misspelt, a file of another ending: whoever
    wrote it believes that it counts.
    """
    given, folder = os.environ.get(USER_FOLDER_VARIABLE), user_folder()
    try:
        entries = sorted(os.scandir(folder), key=lambda entry: entry.name)
    except OSError as error:
        if not given and isinstance(error, FileNotFoundError):
            return ()
        missing = isinstance(error, (FileNotFoundError, NotADirectoryError))
        what = "names no folder" if missing else "cannot be read"
        name = USER_FOLDER_VARIABLE if given else "your profile folder"
        shown = quoted(given) if given else str(folder)
        return (f"{name} {what}, so no profile of yours is read (given: {shown})",)
    said = []
    for entry in entries:
        table = entry.name.removesuffix(".toml")
        if entry.name.startswith(".") or (entry.is_dir() and entry.name in _WRITTEN_HERE):
            continue
        if table not in TABLES or entry.is_dir() == entry.name.endswith(".toml"):
            near = difflib.get_close_matches(table, TABLES, 1)
            ending = ".toml" if entry.is_file() else ""
            meant = f"; do: name it {near[0]}{ending}" if near else ""
            said.append(f"your profile's {quoted(entry.name)} is no table, and not read{meant}")
        elif entry.is_dir():
            said += [
                f"your profile's {entry.name}/{quoted(inner)} is not read: it does not end in .toml"
                for inner in _inside(entry.path)
                if not inner.endswith(".toml") and not inner.startswith(".")
            ]
    return tuple(said)


def _inside(folder: str) -> list[str]:
    """Return the names in a folder; none where it cannot be read, which its table's reader says."""
    with contextlib.suppress(OSError):
        return sorted(os.listdir(folder))
    return []


def profile_files(table: str, folder: Path) -> list[Path]:
    """Return the files of one table in one folder, by name.

    Parameters
    ----------
    table : str
        One of `TABLES` [-].
    folder : Path
        One of `profile_folders()` [-].

    Returns
    -------
    list of Path
        `table.toml` and everything in the folder `table/` [-].
    """
    single = folder / f"{table}.toml"
    try:
        files = [single] if single.is_file() else []
        return files + sorted((folder / table).glob("*.toml"))
    except OSError:
        # A folder nobody may look into, or no name a folder can have: `unread_profiles` says so.
        return []


def read_text(path: Path) -> str:
    """Return a file's text, as a stranger's file is read.

    Parameters
    ----------
    path : Path
        The file [-].

    Returns
    -------
    str
        Without the mark that some editors put at the start [-].

    Raises
    ------
    OSError
        When it cannot be read, is no plain file (a pipe would be waited for), or is larger
        than any file of ours.
    UnicodeDecodeError
        When it is no text.
    """
    if path.exists() and not path.is_file():
        raise OSError(errno.EINVAL, "not a plain file", str(path))
    with path.open("rb") as file:
        content = file.read(_MOST_BYTES + 1)
    if len(content) > _MOST_BYTES:
        raise OSError(errno.EFBIG, f"larger than {_MOST_BYTES >> 20} MiB", str(path))
    return content.decode("utf-8-sig").replace("\r\n", "\n")


def read_toml(path: Path) -> dict[str, Any]:
    """Return a stranger's TOML file.

    Parameters
    ----------
    path : Path
        The file.

    Raises
    ------
    InputError
        When it cannot be read.
    """
    try:
        return tomli.loads(read_text(path))
    except RecursionError:
        fault = Fault(f"{path}: tables or lists nested too deep", do="mend the file")
        raise InputError(fault) from None
    except (OSError, UnicodeDecodeError, tomli.TOMLDecodeError) as error:
        fault = Fault(f"{path}: not readable as TOML: {error}", do="mend the file")
        raise InputError(fault) from None


@functools.cache
def _read(path: Path, table: str) -> tuple[dict[str, Any], tuple[Fault, ...]]:
    """Return a file's data and its faults; tubes and their kinds share one reading."""
    try:
        data = read_toml(path)
    except InputError as error:
        return {}, error.faults
    if path.is_relative_to(shipped_folder()):
        # Our own files are held to their schemas by tests, and every command reads them.
        return data, ()
    return data, tuple(faults_in(data, load_schema(table), str(path)))


def forget_files() -> None:
    """Read every file anew, because one was written."""
    _read.cache_clear()


def load_table(
    table: str,
    folders: tuple[Path, ...],
    make: Callable[[dict[str, Any], str], list[tuple[str, R]]],
) -> dict[str, R]:
    """Read all files of a table into records.

    Parameters
    ----------
    table : str
        One of `TABLES` that has a schema [-].
    folders : tuple of Path
        The later ones override the earlier, record by record [-].
    make : callable
        From a file's data and its path to (key, record) pairs; may raise InputError [-].

    Returns
    -------
    dict
        Key to record, in the order of the files [-].

    Raises
    ------
    InputError
        With every fault of every file, each with its path.
    """
    records: dict[str, R] = {}
    faults: list[Fault] = []
    for folder in folders:
        owner: dict[str, Path] = {}
        for path in profile_files(table, folder):
            data, found = _read(path, table)
            if found:
                faults += found
                continue
            try:
                pairs = make(data, str(path))
            except InputError as error:
                faults += error.faults
                continue
            except (KeyError, TypeError, ValueError, AttributeError):
                # One of ours that somebody edited: now its faults are worth the time.
                found = tuple(faults_in(data, load_schema(table), str(path)))
                if not found:
                    raise
                faults += found
                continue
            for key, record in pairs:
                if key in owner:
                    both = "twice" if owner[key] == path else f"here and in {owner[key]}"
                    faults.append(
                        Fault(f"{path}: the name {key!r} stands {both}", do="rename one of them")
                    )
                owner[key] = path
                records[key] = record
    if faults:
        raise InputError(faults)
    return records


def save_user_file(folder: str, name: str, text: str) -> Path:
    """Write a file of the user's own profile; an interrupt leaves the old file or none.

    Parameters
    ----------
    folder, name : str
        Folder inside the user's profile, and file name [-].
    text : str
        Its whole content [-].

    Raises
    ------
    BuildError
        When it cannot be written.
    """
    path, what = user_folder() / folder / name, "cannot write the profile"
    with writing(what, path):
        path.parent.mkdir(parents=True, exist_ok=True)
    # No table's reader takes a name of this ending for a file of its own.
    with put_in_place(path, what, ending=".part") as temporary:
        temporary.write_text(text, encoding="utf-8")
    forget_files()
    return path


def toml_text(value: str) -> str:
    """Return a text as TOML writes it: escaped, nothing unprintable in it [-]."""
    plain = "".join(letter for letter in value if letter.isprintable())
    return '"' + plain.replace("\\", "\\\\").replace('"', '\\"') + '"'
