"""Sentences of the cards in other languages than English, which stays their one source."""

from __future__ import annotations

from typing import Any

from barbwright.catalog.folders import load_table, profile_folders
from barbwright.errors import Fault, InputError, quoted

_TABLE = "languages"


def languages() -> dict[str, str]:
    """Return the languages of cards beside English: two letters, and as its readers call it [-]."""
    found = load_table(_TABLE, profile_folders(), _names)
    return dict(sorted(found.items()))


def sentences(language: str) -> dict[str, str]:
    """Return a language's sentences by their English ones.

    Parameters
    ----------
    language : str
        One of `languages()` [-].

    Returns
    -------
    dict of str to str
        ``{1}``, ``{2}`` stand for numbers with their units, ``{a}`` for words that have a line of
        their own, ``{name}`` for words that stay as they are [-].

    Raises
    ------
    InputError
        When a file of it is wrong.
    """
    records = load_table(_TABLE, profile_folders(), _make)
    return {english: other for owner, english, other in records.values() if owner == language}


def _names(data: dict[str, Any], path: str) -> list[tuple[str, str]]:
    del path
    # A user's file of corrections need not say it again.
    return [(data["language"], data["called"])] if "called" in data else []


def _make(data: dict[str, Any], path: str) -> list[tuple[str, tuple[str, str, str]]]:
    del path
    language = data["language"]
    return [
        (f"{language}: {english}", (language, english, other))
        for english, other in data["sentences"].items()
    ]


def read_language(text: str | None) -> str:
    """Return the language that an option or a kit file names; empty for English alone.

    Parameters
    ----------
    text : str or None
        Such as "es" [-].

    Raises
    ------
    InputError
        When there is no such language.
    """
    word = (text or "").strip().casefold()
    if word in {"", "en"}:
        return ""
    if word not in languages():
        known = ", ".join(("en", *languages()))
        raise InputError(
            Fault("no such language of the cards", given=quoted(word), limit=known,
                  do="leave it out for English alone")
        )  # fmt: skip
    return word
