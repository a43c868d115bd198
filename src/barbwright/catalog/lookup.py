"""Find a record by what a person would type: any case, words in any order, or its id."""

from __future__ import annotations

import difflib
import re
from collections.abc import Collection, Mapping, Sequence
from types import MappingProxyType
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


# A message names so many and no more, where something else has them all.
MOST_NAMED = 8
# How much a name must be spelled like a text to be offered for it; of 1.
_LEAST_LIKE = 0.6


def find(records: Mapping[str, N], text: str, what: str, *, where: str, more: str = "") -> N:
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
        What has them all, as a message says it: a command that lists them, or a folder [-].
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
    keys = {record.name: (key,) for key, record in records.items()}
    do = name_one(keys, text, where, spelled=keys)
    raise InputError(Fault(f"{what}: unknown", given=quoted(text), do=do + more))


def several(text: str, names: Sequence[str], what: str, where: str) -> InputError:
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
    if len(names) > MOST_NAMED:
        do = f"name one of the {len(names)} that {where} shows with these words"
    return InputError(Fault(f"{what}: several have this name", given=quoted(text), do=do))


def name_one(
    names: Collection[str],
    text: str,
    where: str = "",
    *,
    spelled: Mapping[str, Sequence[str]] = MappingProxyType({}),
) -> str:
    """Return what to do about a text that is no name: all the names, if they are few.

    What is spelled alike may be something else altogether: of many names those that are nearest
    in spelling are told as no more than that, and where all of them are read.

    Parameters
    ----------
    names : collection of str
        All there are [-].
    text : str
        What was typed [-].
    where : str
        What has them all, such as "`barbwright list woods`"; empty where nothing has, and then
        however many they are, all are told [-].
    spelled : mapping of str to sequence of str
        Other ways to type a name, where it has any [-].

    Returns
    -------
    str
        What to do [-].
    """
    if len(names) <= MOST_NAMED or not where:
        return f"name one of {', '.join(names)}"
    told = f"{where} has all {len(names)}"
    near = _nearest({name: (name, *spelled.get(name, ())) for name in names}, text)
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


def _nearest(names: Mapping[str, Sequence[str]], text: str) -> list[str]:
    """Return at most three names that are spelled like a text, nearest first.

    Words are compared in the order typed, and sorted.
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
    return [name for like, name in ranked[:3] if like >= _LEAST_LIKE]
