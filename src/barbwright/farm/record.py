"""What is finished, on disk: a small record a part, looked up before anything is begun."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from barbwright.aside import writing
from barbwright.farm.parts import Made, Wanted

# A folder never holds more than some thousand records.
_SHARD = 2


def key_of(part: Wanted, formats: tuple[str, ...], stamp: str) -> str:
    """Return what a part's record is filed under: all that its bytes follow from.

    Parameters
    ----------
    part : Wanted
        Kind and inputs.
    formats : tuple of str
        Which files are asked for.
    stamp : str
        Versions and profiles, from `stamp_of`.
    """
    told = {
        "kind": part.kind,
        "options": part.options,
        "settings": part.settings,
        "formats": formats,
        "stamp": stamp,
    }
    return hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()[:32]


def load(home: Path, key: str) -> Made | None:
    """Return a part that is finished: its record is there, and so are its files.

    Parameters
    ----------
    home : Path
        The catalogue's folder.
    key : str
        From `key_of`.
    """
    try:
        body = json.loads(path_of(home, key).read_text(encoding="utf-8"))
        made = Made(**{**body, "files": {k: tuple(v) for k, v in body["files"].items()}})
        folder = home / made.folder
        whole = all(
            (folder / name).stat().st_size == size for name, (size, _) in made.files.items()
        )
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        # None yet, or cut off by a full disk: then it is made.
        return None
    return made if whole else None


def path_of(home: Path, key: str) -> Path:
    """Return where a record lies."""
    return home / "record" / key[:_SHARD] / f"{key}.json"


def save(home: Path, key: str, made: Made) -> None:
    """Write a record; it stands before its folder does, so that neither is ever orphaned.

    Parameters
    ----------
    home : Path
        The catalogue's folder.
    key : str
        From `key_of`.
    made : Made
        The part.

    Raises
    ------
    BuildError
        When it cannot be written.
    """
    from barbwright.export.door import write_bytes

    path = path_of(home, key)
    with writing("cannot write a part's record", path):
        path.parent.mkdir(parents=True, exist_ok=True)
    write_bytes(path, (json.dumps(asdict(made), sort_keys=True) + "\n").encode())


def files_of(folder: Path) -> dict[str, tuple[int, str]]:
    """Return bytes and SHA-256 of each file of a part's folder."""
    found = {}
    for path in sorted(folder.iterdir()):
        content = path.read_bytes()
        found[path.name] = len(content), hashlib.sha256(content).hexdigest()
    return found


def stamp_of(versions: Mapping[str, str], profiles: Mapping[str, bytes]) -> str:
    """Return one word for all that bytes follow from beside a part's own inputs.

    Parameters
    ----------
    versions : mapping of str to str
        Of what writes bytes, and our own.
    profiles : mapping of str to bytes
        Contents of our source and of the profile files, by name.
    """
    told: dict[str, Any] = {"versions": dict(versions)}
    told["files"] = {name: hashlib.sha256(text).hexdigest() for name, text in profiles.items()}
    return hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()[:16]
