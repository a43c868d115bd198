"""What can go wrong, each kind with the exit code the command line ends with.

Every error carries all its faults at once: a user who mistyped three values
should read three messages, not meet them one run at a time.
"""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, replace

_LONGEST_QUOTE = 40
ODD_LETTERS = "a control character or a mark of direction stands in this text"


def quoted(text: str) -> str:
    """Return what a user wrote as a message shows it: its start, on one line.

    Every text that is given back goes through here: a slip of the keyboard or a whole file
    pasted in must not bury the message. The path of a file that is there is not cut.

    Parameters
    ----------
    text : str
        As given.
    """
    shown = repr(text if len(text) <= _LONGEST_QUOTE else text[: _LONGEST_QUOTE - 3] + "...")
    return shown[1:-1] if shown[1:-1] == text else shown


def has_odd_letters(text: str) -> bool:
    """Return whether a text holds letters that nobody sees and a terminal or a page may obey.

    Control letters, marks of direction, halves of letters; a line's end and a tab are none.

    Parameters
    ----------
    text : str
        Anything.
    """
    # What is printable in Python's sense holds none: most texts end here.
    return not text.isprintable() and any(
        unicodedata.category(letter)[0] == "C" for letter in text if letter not in "\n\t"
    )


def escaped(text: str) -> str:
    """Return a text with such letters written out, as JSON and Python write them.

    Parameters
    ----------
    text : str
        Anything.
    """
    if not has_odd_letters(text):
        return text
    return "".join(
        letter
        if letter in "\n\t" or unicodedata.category(letter)[0] != "C"
        else json.dumps(letter)[1:-1]
        if ord(letter) != 0x7F
        else "\\u007f"
        for letter in text
    )


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong: what, the value given, the limit, and what to do."""

    what: str
    given: str = ""
    limit: str = ""
    do: str = ""

    @classmethod
    def of_system(cls, what: str, where: object, error: OSError, do: str = "") -> Fault:
        """Return what the machine refused, with the place and the machine's own word for it."""
        return cls(what, f"{where}: {error.strerror or error}", do=do)

    def at(self, place: str) -> Fault:
        """Return the fault with where it was found before it."""
        return replace(self, what=f"{place}: {self.what}")

    def __str__(self) -> str:
        """Return the fault as one sentence for a terminal."""
        text = self.what
        if self.given:
            text += f" (given: {self.given})"
        if self.limit:
            text += f"; limit: {self.limit}"
        if self.do:
            text += f"; do: {self.do}"
        return text


class BarbwrightError(Exception):
    """Base of every error a user can cause or meet."""

    exit_code = 1

    def __init__(self, faults: Fault | str | Iterable[Fault | str]) -> None:
        if isinstance(faults, (Fault, str)):
            faults = [faults]
        self.faults: tuple[Fault, ...] = tuple(
            fault if isinstance(fault, Fault) else Fault(fault) for fault in faults
        )
        super().__init__("\n".join(str(fault) for fault in self.faults))


class InputError(BarbwrightError):
    """An option, a unit, a name or a profile file cannot be used."""

    exit_code = 2


class NoSizeError(BarbwrightError):
    """No size satisfies all limits: two of them collide."""

    exit_code = 2


class CheckFailedError(BarbwrightError):
    """A check fails, so no files are written."""

    exit_code = 3


class BuildError(BarbwrightError):
    """A solid, a file or its verification came out wrong."""

    exit_code = 4
