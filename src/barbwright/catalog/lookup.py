"""Find a record by what a person would type: any case, words in any order, or its id."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping, Sequence
from typing import Protocol, TypeVar

from barbwright.errors import Fault, InputError, quoted


class Named(Protocol):
    """A record with a name."""

    @property
    def name(self) -> str:
        """Name a person reads [-]."""


N = TypeVar("N", bound=Named)


def _words(text: str) -> tuple[str, ...]:
    return tuple(sorted(re.findall(r"[a-z0-9./]+", text.casefold())))


# A message names so many and no more: a longer list is read with the command that has it.
MOST_NAMED = 8
# How much a name must be spelled like a text to be offered for it; of 1.
_LEAST_LIKE = 0.6


def find(records: Mapping[str, N], text: str, what: str, *, where: str = "", more: str = "") -> N:
    """Return the one record a text names.

    Parameters
    ----------
    records : mapping
        Id to record [-].
    text : str
        An id or a name, in any case, its words in any order; fewer words do if only one
        record has them all [-].
    what : str
        What is looked for, as a message says it: "wood" [-].
    where : str
        Which table of `barbwright list` has them all; empty where none has [-].
    more : str
        What else an unknown one may be answered with, behind its names [-].

    Returns
    -------
    record
        The match [-].

    Raises
    ------
    InputError
        Unknown: with all there are, or the nearest in spelling and where all are. Ambiguous:
        with all that match, or where they are.
    """
    some = find_all(records, text)
    if len(some) == 1:
        return some[0]
    if some:
        raise several(text, [record.name for record in some], what, where)
    names = {record.name: (key, record.name) for key, record in records.items()}
    do = name_one(names, text, f"`barbwright list {where}`" if where else "")
    raise InputError(Fault(f"{what}: unknown", given=quoted(text), do=do + more))


def several(text: str, names: Sequence[str], what: str, where: str = "") -> InputError:
    """Return the error of a text that names more than one record.

    Parameters
    ----------
    text : str
        What was typed [-].
    names : sequence of str
        All that match [-].
    what : str
        What is looked for, as a message says it [-].
    where : str
        As in `find` [-].
    """
    do = f"name one of {', '.join(names)}"
    if where and len(names) > MOST_NAMED:
        do = f"name one of the {len(names)} that `barbwright list {where}` shows with these words"
    return InputError(Fault(f"{what}: several have this name", given=quoted(text), do=do))


def name_one(names: Mapping[str, Sequence[str]], text: str, where: str = "") -> str:
    """Return what to do about a text that is no name: all the names, if they are few.

    What is spelled alike may be something else altogether: of many names those that are nearest
    in spelling are told as no more than that, and where all of them are read.

    Parameters
    ----------
    names : mapping of str to sequence of str
        Each name to all the ways it may be typed [-].
    text : str
        What was typed [-].
    where : str
        What lists them all, such as "`barbwright list woods`"; empty where nothing does [-].

    Returns
    -------
    str
        What to do [-].
    """
    if len(names) <= MOST_NAMED:
        return f"name one of {', '.join(names)}"
    if not where:
        return f"nearest in spelling: {', '.join(nearest_names(names, text))}"
    told = f"{where} has all {len(names)}"
    near = nearest_names(names, text, least=_LEAST_LIKE)
    return f"nearest in spelling, and in that alone: {', '.join(near)}; {told}" if near else told


def find_all(records: Mapping[str, N], text: str) -> list[N]:
    """Return every record a text may name: one where all its words are given.

    Parameters
    ----------
    records : mapping
        Id to record [-].
    text : str
        As in `find` [-].

    Returns
    -------
    list of record
        None of them where nothing has this name [-].
    """
    wanted = _words(text)
    exact = [
        record
        for key, record in records.items()
        if wanted and wanted in (_words(key), _words(record.name))
    ]
    return exact or [
        record
        for key, record in records.items()
        if wanted and set(wanted) <= {*_words(key), *_words(record.name)}
    ]


def nearest_names(
    names: Mapping[str, Sequence[str]], text: str, n: int = 3, *, least: float = 0.0
) -> list[str]:
    """Return the names most like a text.

    Parameters
    ----------
    names : mapping of str to sequence of str
        Each name to all the ways it may be typed [-].
    text : str
        What was typed [-].
    n : int
        How many [-].
    least : float
        How alike they must be, of 1 [-].

    Returns
    -------
    list of str
        Nearest first, compared with words sorted and in the order typed [-].
    """
    folded = text.casefold()[:60]
    ordered = " ".join(_words(folded))

    def likeness(spellings: Sequence[str]) -> float:
        return max(
            difflib.SequenceMatcher(None, typed, spelled).ratio()
            for one in spellings
            for typed, spelled in (
                (folded, one.casefold()),
                (ordered, " ".join(_words(one))),
            )
        )

    ranked = sorted(((likeness(names[name]), name) for name in names), key=lambda one: -one[0])
    return [name for like, name in ranked[:n] if like >= least]
