"""Sentences of the cards in other languages than English, which stays their one source."""

from __future__ import annotations

from typing import Any

from barbwright.catalog.folders import load_table, profile_files, profile_folders
from barbwright.errors import Fault, InputError, quoted

_TABLE = "languages"


def languages() -> tuple[str, ...]:
    """Return the languages that cards can be written in beside English, as two letters [-]."""
    found = {path.stem for folder in profile_folders() for path in profile_files(_TABLE, folder)}
    return tuple(sorted(found))


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
