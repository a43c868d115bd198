"""Other people's words made safe: for a page, for a table cell, for a file name."""

from __future__ import annotations

import re
import unicodedata

from barbwright.errors import Fault, InputError, quoted

LONGEST_NOTE = 500
LONGEST_NUMBER = 40
_NUMBER = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9_-]*[A-Za-z0-9])?")
# What a spreadsheet takes for a formula, in plain and in full width.
_FORMULA = tuple("=+-@|%＝＋－＠")


def clean(text: str) -> str:
    """Return a text on one line, without control, direction and other unseen characters.

    Parameters
    ----------
    text : str
        Anything.

    Returns
    -------
    str
        Composed (NFC), spaces single.
    """
    # Joiners and marks of direction can make a line read otherwise than it is written.
    seen = "".join(
        " " if unicodedata.category(c) in {"Cc", "Zl", "Zp"} else c
        for c in unicodedata.normalize("NFC", text)
        if unicodedata.category(c) not in {"Cf", "Cs", "Co", "Cn"}
    )
    return " ".join(seen.split())


def note_fault(what: str, text: str) -> Fault | None:
    """Return what is wrong with a note, if anything: a cut note would be a changed note."""
    if len(clean(text)) <= LONGEST_NOTE:
        return None
    given = f"{len(clean(text))} characters"
    return Fault(f"{what} is too long", given, f"{LONGEST_NOTE} characters", "shorten it")


def cell(text: str) -> str:
    """Return a text for a table cell that no spreadsheet takes for a formula."""
    text = clean(text)
    return "'" + text if text.startswith(_FORMULA) else text


def order_number(text: str) -> str:
    """Return an order's number as a person gave it, fit for a file name.

    Parameters
    ----------
    text : str
        Letters, digits, ``-`` and ``_``.

    Raises
    ------
    InputError
        For anything else; it is never changed in silence.
    """
    if len(text) > LONGEST_NUMBER or not _NUMBER.fullmatch(text):
        shown = quoted(clean(text))
        limit = f"letters, digits, - and _ between them, at most {LONGEST_NUMBER}"
        raise InputError(Fault("--number cannot be an order's number", shown, limit))
    return text
