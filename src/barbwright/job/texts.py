"""The texts of a job on their way to numbers: which was given, where, and what is wrong."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import replace
from typing import Any

from barbwright.errors import ODD_LETTERS, Fault, InputError, has_odd_letters, quoted
from barbwright.job.record import INPUT_NAMES, Input
from barbwright.units import FaultCollector


class FromFile(dict[str, Any]):
    """A table of inputs, and the file it stands in: its faults are told in that file's words.

    Parameters
    ----------
    table : mapping
        Input name to what the file says.
    source : str
        The file.
    name : str
        What the table is called there.
    said : tuple of str
        What must be said loudly of the file itself.
    """

    def __init__(
        self, table: Mapping[str, Any], source: str, name: str, said: tuple[str, ...] = ()
    ) -> None:
        super().__init__(table)
        self.source, self.name, self.said = source, name, said

    def having(self, **more: Any) -> FromFile:
        """Return the table with some inputs replaced."""
        return FromFile({**self, **more}, self.source, self.name, self.said)

    def without(self, names: Collection[str]) -> FromFile:
        """Return the table without some inputs."""
        kept = {name: value for name, value in self.items() if name not in names}
        return FromFile(kept, self.source, self.name, self.said)

    def in_its_words(self, faults: Iterable[Fault], options: Mapping[str, Any]) -> list[Fault]:
        """Return faults as the reader of the file knows them: with file and key, no option.

        Parameters
        ----------
        faults : iterable of Fault
            As the readers of inputs say them, who know the options.
        options : mapping
            What was typed goes before the file, and keeps its option's name; none or false
            where not.
        """
        typed = {name for name, value in options.items() if value not in (None, False)}
        # An input that was typed as well is not the file's fault.
        own = self.without(typed)
        return [own._in_its_words(fault, alone=not typed) for fault in faults]

    def _in_its_words(self, fault: Fault, *, alone: bool) -> Fault:
        def key(found: re.Match[str]) -> str:
            name = found[1].replace("-", "_")
            return f"{self.name}.{name}" if name in self else found[0]

        what = _OPTION.sub(key, fault.what)
        head, colon, rest = what.partition(": ")
        if head.replace(" ", "_") in self:
            what = f"{self.name}.{head.replace(' ', '_')}{colon}{rest}"
        texts = {quoted(str(value).strip()) for value in self.values()}
        if alone or what != fault.what or fault.given in texts or head == "kit":
            what = f"{self.source}: {what.removeprefix('kit: ')}"
        return replace(fault, what=what)


_OPTION = re.compile(r"--([a-z0-9]+(?:-[a-z0-9]+)*)")


def is_plain(text: str, label: str, faults: FaultCollector) -> bool:
    """Return whether an input is one line of letters that a person sees; else keep a fault.

    Parameters
    ----------
    text : str
        As given [-].
    label : str
        What it is called where it was given [-].
    faults : FaultCollector
        Takes the fault.
    """
    plain = not (has_odd_letters(text) or "\n" in text)
    if not plain:
        faults.add(Fault(f"{label}: {ODD_LETTERS}", given=quoted(text), do="type it anew"))
    return plain


class Texts:
    """Options over a kit's table: each text that is read is kept with where it came from.

    Parameters
    ----------
    options : mapping
        Input name to text as given on the command line; None where not given.
    table : mapping
        The `[job]` table of a kit file, same names.
    """

    def __init__(
        self, options: Mapping[str, str | bool | None], table: Mapping[str, Any] | None = None
    ) -> None:
        self.options = options
        self.table = table or {}
        self._file = table if isinstance(table, FromFile) else None
        self.collect = FaultCollector()
        self.inputs: dict[str, Input] = {}
        self.warnings: list[str] = list(self._file.said) if self._file else []

    def given(self, name: str) -> str | None:
        """Return the text of an input and keep it with its origin; None where not given."""
        for origin, source in (("option", self.options), ("kit", self.table)):
            value = source.get(name)
            if value is None or value is False:
                continue
            text = "yes" if value is True else str(value).strip()
            self.inputs[name] = Input(text, origin)
            if is_plain(text, f"--{name.replace('_', '-')}", self.collect):
                return text
            return None
        return None

    def read(self, name: str, reader: Callable[..., Any], **more: Any) -> Any:
        """Return an input as its reader has it; None where not given or refused."""
        text = self.given(name)
        if text is None:
            return None
        label = "--" + name.replace("_", "-")
        return self.collect.read(reader, text, name=label, **more)

    def found(self, name: str, text: str, origin: str) -> None:
        """Say where an input comes from that a table or a profile gives."""
        self.inputs.setdefault(name, Input(text, origin))

    def shown(self, *names: str) -> str:
        """Return the text of the first of these inputs that has one, as a message shows it."""
        return next((quoted(self.inputs[name].text) for name in names if name in self.inputs), "")

    def refuse(self, what: str, given: str = "", limit: str = "", do: str = "") -> None:
        """Keep a fault."""
        self.collect.add(Fault(what, given=given, limit=limit, do=do))

    def refuse_unknown_names(self) -> None:
        """Keep a fault for each name in the kit's table that is no input."""
        for name in self.table:
            if name not in INPUT_NAMES and name != "set":
                near = difflib.get_close_matches(name, INPUT_NAMES, 1)
                do = f"use {near[0]!r}" if near else "see `barbwright make --help`, with _ for -"
                self.refuse(f"kit: unknown input {quoted(name)!r}", do=do)

    def in_order(self) -> dict[str, Input]:
        """Return what was given in the order in which it is printed; raise if it is wrong."""
        if self._file is not None:
            self.collect.faults = self._file.in_its_words(self.collect.faults, self.options)
        self.collect.raise_if_any(InputError)
        return {name: self.inputs[name] for name in INPUT_NAMES if name in self.inputs}
