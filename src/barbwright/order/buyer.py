"""Who orders, and what they answer to what print services ask."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields

from barbwright.errors import Fault, InputError
from barbwright.order.words import clean, note_fault


@dataclass(frozen=True, kw_only=True)
class Buyer:
    """A kit's `[buyer]` table; what is empty was not said.

    Attributes
    ----------
    name, contact, email, phone : str
        Who orders, and whom to ask.
    deliver_to, wanted_by, reference : str
        Where to, until when, and the buyer's own order reference.
    grade, colour, mode, layer, blast : str
        Powder, resin or filament; its colour; machine mode; layer height; blast medium.
    report, accept, label, hazard : str
        Wishes on top of what every quote card says on these points.
    first_batch : bool
        Whether pieces are ordered that the breaking test destroys.
    """

    name: str = ""
    contact: str = ""
    email: str = ""
    phone: str = ""
    deliver_to: str = ""
    wanted_by: str = ""
    reference: str = ""
    grade: str = ""
    colour: str = ""
    mode: str = ""
    layer: str = ""
    blast: str = ""
    report: str = ""
    accept: str = ""
    label: str = ""
    hazard: str = ""
    first_batch: bool = True

    @classmethod
    def of(cls, table: Mapping[str, object]) -> Buyer:
        """Return the buyer of a kit's table.

        Parameters
        ----------
        table : mapping
            As the kit's schema allows it; empty where the kit has none.

        Raises
        ------
        InputError
            When a text is too long to stand on a card.
        """
        faults = [
            fault
            for name, text in table.items()
            if isinstance(text, str) and (fault := note_fault(f"buyer.{name}", text))
        ]
        if faults:
            raise InputError(faults)
        told = {
            field.name: clean(value) if isinstance(value, str) else bool(value)
            for field in fields(cls)
            if (value := table.get(field.name)) is not None
        }
        unknown = sorted(set(table) - {field.name for field in fields(cls)})
        if unknown:
            raise InputError(Fault("the buyer's table knows no such word", ", ".join(unknown)))
        return cls(**told)  # type: ignore[arg-type]

    @property
    def ask(self) -> str:
        """Whom to ask, in one line; empty where nobody is named."""
        return ", ".join(word for word in (self.contact, self.email, self.phone) if word)
