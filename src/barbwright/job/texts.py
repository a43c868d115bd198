"""The texts of a job on their way to numbers: which was given, where, and what is wrong."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping
from typing import Any

from barbwright.errors import Fault, InputError, quoted
from barbwright.job.record import INPUT_NAMES, Input
from barbwright.units import FaultCollector


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
        self.collect = FaultCollector()
        self.inputs: dict[str, Input] = {}
        self.warnings: list[str] = []

    def given(self, name: str) -> str | None:
        """Return the text of an input and keep it with its origin; None where not given."""
        for origin, source in (("option", self.options), ("kit", self.table)):
            value = source.get(name)
            if value is None or value is False:
                continue
            text = "yes" if value is True else str(value).strip()
            self.inputs[name] = Input(text, origin)
            return text
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
                do = f"use {near[0]!r}" if near else f"use one of {', '.join(INPUT_NAMES)}"
                self.refuse(f"kit: unknown input {quoted(name)!r}", do=do)

    def in_order(self) -> dict[str, Input]:
        """Return what was given in the order in which it is printed; raise if it is wrong."""
        self.collect.raise_if_any(InputError)
        return {name: self.inputs[name] for name in INPUT_NAMES if name in self.inputs}
