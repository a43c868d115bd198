"""Find a record by what a person would type: any case, words in any order, or its id."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
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


def find(
    records: Mapping[str, N], text: str, what: str, *, alike: bool = False, more: str = ""
) -> N:
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
    alike : bool
        Whether an unknown one is answered by the nearest spelling: for names people gave
        themselves. Elsewhere what is spelled alike may be something else altogether, and
        all there are is named [-].
    more : str
        What else an unknown one may be answered with, behind "name one of these" [-].

    Returns
    -------
    record
        The match [-].

    Raises
    ------
    InputError
        Unknown: with the three nearest names, or all. Ambiguous: with all that match.
    """
    some = find_all(records, text)
    if len(some) == 1:
        return some[0]
    if some:
        names = ", ".join(record.name for record in some)
        raise InputError(
            Fault(f"{what}: several have this name", given=quoted(text), do=f"name one of {names}")
        )
    if not alike:
        every = ", ".join(record.name for record in records.values())
        raise InputError(
            Fault(f"{what}: unknown", quoted(text), every, do=f"name one of these{more}")
        )
    near = nearest_names(records, text)
    raise InputError(
        Fault(f"{what}: unknown", given=quoted(text), limit="", do="nearest: " + ", ".join(near))
    )


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


def nearest_names(records: Mapping[str, N], text: str, n: int = 3) -> list[str]:
    """Return the names most like a text.

    Parameters
    ----------
    records : mapping
        Id to record [-].
    text : str
        What was typed [-].
    n : int
        How many [-].

    Returns
    -------
    list of str
        Nearest first, compared with words sorted and in the order typed [-].
    """
    folded = text.casefold()[:60]
    ordered = " ".join(_words(folded))

    def likeness(key: str, record: N) -> float:
        candidates = (key.casefold(), record.name.casefold())
        plain = max(difflib.SequenceMatcher(None, folded, name).ratio() for name in candidates)
        name = " ".join(_words(record.name))
        return max(plain, difflib.SequenceMatcher(None, ordered, name).ratio())

    ranked = sorted(records.items(), key=lambda item: -likeness(*item))
    return [record.name for _, record in ranked[:n]]
