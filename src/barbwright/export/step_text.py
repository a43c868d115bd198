"""A STEP file's text made smaller without moving a point.

The kernel writes each edge's curve three times: in space and on both of its faces. Where those on
the faces are lines or circles every reader makes them anew, exactly; free ones stay. What is left
says the same point, direction or plane many times: each is kept once.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import chain, zip_longest

from barbwright.errors import BuildError, Fault

_ROW = re.compile(r"#(\d+)\s*=\s*((?:[^';]|'[^']*')*);\s*")
_REFERENCE = re.compile(r"'[^']*'|#(\d+)")
_WORD = re.compile(r"[A-Z0-9_]+")
# What says only where something is, in the order in which one refers to another: two alike are one.
_PLACES = (
    ("CARTESIAN_POINT", "DIRECTION"),
    ("VECTOR", "AXIS2_PLACEMENT_3D", "AXIS2_PLACEMENT_2D"),
    ("LINE", "CIRCLE", "PLANE", "CYLINDRICAL_SURFACE", "CONICAL_SURFACE", "SPHERICAL_SURFACE",
     "TOROIDAL_SURFACE"),
)  # fmt: skip
_PLAIN = frozenset({"LINE", "CIRCLE"})


@dataclass
class _Entity:
    """One row: its words, and between each two of them what it refers to."""

    kind: str
    words: list[str]
    refers: list[int]

    def written(self, number_of: Mapping[int, int]) -> str:
        """Return the row's text with its references renumbered."""
        numbers = (f"#{number_of[one]}" for one in self.refers)
        return "".join(chain.from_iterable(zip_longest(self.words, numbers, fillvalue="")))


_Entities = dict[int, _Entity]


def slimmed(text: str) -> str:
    """Return a STEP file with plain curves on faces left out and equal geometry said once.

    Parameters
    ----------
    text : str
        A file as the kernel wrote it.

    Returns
    -------
    str
        The same header and the same solid.

    Raises
    ------
    BuildError
        When the text is not of the form that the kernel writes.
    """
    head, data, tail = _sections(text)
    entities = _parsed(data)
    used = set(chain.from_iterable(entity.refers for entity in entities.values()))
    # What nothing refers to in the kernel's own file: all else stands for its sake.
    roots = set(entities) - used
    _refer(entities, _curves_in_space(entities))
    for kinds in _PLACES:
        _refer(entities, _alike(entities, kinds))
    kept = _reached(entities, roots)
    new = {number: index for index, number in enumerate(kept, 1)}
    rows = (f"#{new[number]} = {entities[number].written(new)};\n" for number in kept)
    return f"{head}{''.join(rows)}{tail}"


def _sections(text: str) -> tuple[str, str, str]:
    start = text.find("DATA;\n")
    end = text.rfind("ENDSEC;")
    if start < 0 or end < start:
        raise BuildError(Fault("STEP: the kernel's file has no data section of the known form"))
    start += len("DATA;\n")
    return text[:start], text[start:end], text[end:]


def _parsed(data: str) -> _Entities:
    found: _Entities = {}
    at = 0
    for row in _ROW.finditer(data):
        if row.start() != at:
            break
        at = row.end()
        found[int(row[1])] = _entity(" ".join(row[2].split()))
    if at != len(data):
        given = data[at : at + 60].strip()
        raise BuildError(Fault("STEP: a row of the kernel's file is not known", given))
    return found


def _entity(text: str) -> _Entity:
    words, refers, at = [], [], 0
    for match in _REFERENCE.finditer(text):
        if match[1] is not None:
            words.append(text[at : match.start()])
            refers.append(int(match[1]))
            at = match.end()
    words.append(text[at:])
    kind = _WORD.match(text)
    return _Entity(kind[0] if kind else "", words, refers)


def _curves_in_space(entities: _Entities) -> dict[int, int]:
    """Return an edge's curve in space for its triple, where all on faces are plain."""
    return {
        number: entity.refers[0]
        for number, entity in entities.items()
        if entity.kind in {"SURFACE_CURVE", "SEAM_CURVE"}
        and all(_is_plain(entities, one) for one in entity.refers[1:])
    }


def _is_plain(entities: _Entities, on_face: int) -> bool:
    """Return whether a curve on a face is a line or a circle, cut to length or not."""
    for number in entities[on_face].refers[1:]:
        if entities[number].kind != "DEFINITIONAL_REPRESENTATION":
            continue
        curve = entities[entities[number].refers[0]]
        while curve.kind == "TRIMMED_CURVE":
            curve = entities[curve.refers[0]]
        return curve.kind in _PLAIN
    return False


def _alike(entities: _Entities, kinds: tuple[str, ...]) -> dict[int, int]:
    """Return the first of what is alike for each that comes later."""
    first: dict[tuple[tuple[str, ...], tuple[int, ...]], int] = {}
    instead = {}
    for number in sorted(entities):
        entity = entities[number]
        if entity.kind in kinds:
            one = first.setdefault((tuple(entity.words), tuple(entity.refers)), number)
            if one != number:
                instead[number] = one
    return instead


def _refer(entities: _Entities, instead: Mapping[int, int]) -> None:
    for entity in entities.values():
        entity.refers = [instead.get(one, one) for one in entity.refers]


def _reached(entities: _Entities, roots: set[int]) -> list[int]:
    """Return what is still referred to, however far from a root."""
    kept: set[int] = set()
    waiting = list(roots)
    while waiting:
        number = waiting.pop()
        if number not in kept:
            kept.add(number)
            waiting += entities[number].refers
    return sorted(kept)
