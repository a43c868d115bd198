"""A made part held to its own making: files and record made again, and compared.

Under the same versions the same job gives the same bytes. On another make of processor the last
digit of a number may differ; then what differs is nothing but such digits, and what was made
again here is what is ordered.
"""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

# Far under what any process holds, far over the last digit of a number that a file keeps.
_SAME_MM = 2e-5
_SAME_SHARE = 1e-6
_NUMBER = re.compile(rb"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_STREAM = re.compile(rb"stream\r?\n(.*?)\r?\nendstream", re.DOTALL)
_STL_HEAD, _STL_FACET = 84, 50
_LONGEST_SHOWN = 24


def difference(kind: str, found: bytes, made: bytes) -> str:
    """Return how a file differs from the one its job gives; empty where it is the same.

    Parameters
    ----------
    kind : str
        ``step``, ``stl``, ``3mf``, ``pdf`` or ``dxf``.
    found, made : bytes
        As it stands in the folder, and as it was made again.
    """
    if found == made:
        return ""
    try:
        if kind == "stl":
            return _facets(found, made)
        ours, theirs = _texts(kind, made), _texts(kind, found)
    except (zipfile.BadZipFile, zlib.error, ValueError, KeyError, OSError) as error:
        return f"not readable: {str(error)[:80]}"
    if ours.keys() != theirs.keys():
        return "holds other things"
    return next(filter(None, (_numbers(theirs[name], ours[name]) for name in ours)), "")


def _texts(kind: str, content: bytes) -> dict[str, bytes]:
    if kind == "3mf":
        return _entries(content)
    return _streams(content) if kind == "pdf" else {"": content}


def _entries(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        sizes = sum(entry.file_size for entry in packed.infolist())
        if sizes > 40 * len(content):
            raise zipfile.BadZipFile
        return {name: packed.read(name) for name in packed.namelist()}


def _streams(content: bytes) -> dict[str, bytes]:
    """Return a PDF's pages and fonts unpacked, and the rest without the places of its objects."""
    rest = _STREAM.sub(b"", content).split(b"\nxref")[0]
    found = {"": re.sub(rb"/Length \d+", b"/Length", rest)}
    for index, packed in enumerate(_STREAM.findall(content)):
        unpack = zlib.decompressobj()
        found[str(index)] = unpack.decompress(packed, 16 << 20)
    return found


def _numbers(found: bytes, made: bytes) -> str:
    """Compare two texts: all letters the same, and every number but for its last digits."""
    if found == made:
        return ""
    if _NUMBER.sub(b"0", found) != _NUMBER.sub(b"0", made):
        return "its words differ"
    for theirs, ours in zip(_NUMBER.findall(found), _NUMBER.findall(made), strict=True):
        if theirs != ours and not _close(float(theirs), float(ours)):
            return f"{_shown(theirs)} where {_shown(ours)} is made"
    return ""


def _shown(number: bytes) -> str:
    return number.decode()[:_LONGEST_SHOWN]


def _close(found: float, made: float) -> bool:
    return abs(found - made) <= max(_SAME_MM, _SAME_SHARE * abs(made))


def _facets(found: bytes, made: bytes) -> str:
    if len(found) != len(made) or found[:_STL_HEAD] != made[:_STL_HEAD]:
        return "other facets, or another name"
    kind = np.dtype([("corners", "<f4", 12), ("more", "<u2")])
    theirs, ours = (np.frombuffer(one[_STL_HEAD:], kind) for one in (found, made))
    if (theirs["more"] != ours["more"]).any():
        return "facets with marks"
    with np.errstate(all="ignore"):
        off = np.abs(theirs["corners"].astype(float) - ours["corners"].astype(float)).max()
    return "" if off <= _SAME_MM else f"a corner lies {off:.3g} mm off"


def record_differences(told: Mapping[str, Any], given: Mapping[str, Any]) -> list[str]:
    """Return where a record says otherwise than its own job, as dotted names.

    Parameters
    ----------
    told : mapping
        As it stands in the folder.
    given : mapping
        As the job gives it.
    """
    return list(_otherwise("", told, given))


def _otherwise(at: str, told: Any, given: Any) -> Iterator[str]:
    if isinstance(told, Mapping) and isinstance(given, Mapping):
        for name in dict.fromkeys((*given, *told)):
            below = f"{at}.{name}" if at else str(name)
            if name not in told or name not in given:
                yield below
            else:
                yield from _otherwise(below, told[name], given[name])
    elif isinstance(told, list) and isinstance(given, list) and len(told) == len(given):
        for index, (one, other) in enumerate(zip(told, given, strict=True), 1):
            yield from _otherwise(f"{at}[{index}]", one, other)
    elif _is_number(told) and _is_number(given):
        if not abs(told - given) <= _SAME_SHARE * max(1.0, abs(given)):
            yield at
    elif type(told) is not type(given) or told != given:
        yield at


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)
