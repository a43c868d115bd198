"""An order in one record, from which page, table, sheet and manifest are all written."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from barbwright import __version__
from barbwright.catalog import Material
from barbwright.checks.reasons import marked
from barbwright.design.grades import grade_words
from barbwright.design.limits import Limited
from barbwright.errors import CheckFailedError, Fault, InputError
from barbwright.jobs.make import NOT_PASSED
from barbwright.order.buyer import Buyer
from barbwright.order.finish import default_finish, finish_fault, finish_limits
from barbwright.order.sizes import Pin, orientation, pins, sample_size
from barbwright.order.subject import Subject
from barbwright.order.verify import Sums, VerifiedPart, verify_parts
from barbwright.order.words import clean, note_fault, order_number
from barbwright.report.notices import NOT_RATED

# (folder, quantity, spares, note)
PartLine = tuple[Path, int, int, str]
MOST_PIECES = 2000
# Of a first batch, of each part that holds pressure: taken up until it breaks.
BROKEN = 1
SOLIDITY = "100 % solid, no hollowing, no added drain holes"
BORES = "bores cleared and rod-tested"
# Name inside the zip, by format: each model folder can be handed over by itself.
_FOLDERS = {
    "step": ("step", "{pieces}x_mm.step"),
    "stl": ("stl", "{pieces}x_mm.stl"),
    "3mf": ("3mf", "{pieces}x_mm.3mf"),
    "pdf": ("drawings", "drawing_mm.pdf"),
    "dxf": ("drawings", "drawing_mm.dxf"),
}


@dataclass(frozen=True, kw_only=True)
class OrderedPart:
    """One line of an order.

    Attributes
    ----------
    verified : VerifiedPart
        The part and its files' content.
    quantity, spares, broken : int
        Wanted; on top of that; and for the test that destroys them [-].
    note : str
        The user's own words, cleaned.
    finish : str
        In words.
    pins : tuple of Pin
        Gauges for the bores.
    """

    verified: VerifiedPart
    quantity: int
    spares: int
    broken: int
    note: str
    finish: str
    pins: tuple[Pin, ...]

    @property
    def subject(self) -> Subject:
        """What it is, as its own record tells."""
        return self.verified.subject

    @property
    def number(self) -> str:
        """Part number, marked when it did not pass."""
        return self.subject.number + ("" if self.passed else NOT_PASSED)

    @property
    def sizes(self) -> tuple[Limited, ...]:
        """Critical dimensions [mm]."""
        return self.subject.sizes

    @property
    def passed(self) -> bool:
        """Whether no check failed."""
        return self.subject.passed

    @property
    def kind(self) -> str:
        """Kind of part, in one word."""
        return self.subject.kind

    @property
    def status(self) -> str:
        """Verdict in words."""
        if not self.subject.judged:
            return "a gauge: nothing to check"
        verdict = "checks passed" if self.passed else "NOT PASSED"
        verdict = marked(verdict, proved=self.passed and self.subject.proved)
        return f"{verdict}; {self.own}" if self.own else verdict

    @property
    def own(self) -> str:
        """Which figures its verdict rests on that are not as shipped; empty where all are."""
        said = self.subject.own_figures
        return clean(f"not by shipped figures alone: {'; '.join(said)}") if said else ""

    @property
    def revision(self) -> str:
        """Revision letter."""
        return self.subject.revision.upper()

    @property
    def title(self) -> str:
        """What it is, its grade included."""
        return self.subject.title

    @property
    def grade(self) -> str:
        """Which lead of a graded set, in words; empty for an ungraded part."""
        return grade_words(self.subject.grade)

    @property
    def solidity(self) -> str:
        """What is asked of walls, and of bores where it has any."""
        return f"{SOLIDITY}, {BORES}" if self.pins else SOLIDITY

    @property
    def mark(self) -> str:
        """What is engraved on it."""
        return self.subject.mark

    @property
    def compensation(self) -> str:
        """How its models differ from drawing and limits on purpose; empty where they do not."""
        return clean(self.subject.models)

    @property
    def drawn_off(self) -> dict[str, object] | None:
        """The same as numbers, by feature [mm]."""
        off = self.subject.drawn_off
        return None if off is None else {**off, "service": clean(off["service"])}

    @property
    def pieces(self) -> int:
        """Pieces to print [-]."""
        return self.quantity + self.spares + self.broken

    @property
    def counted(self) -> str:
        """Pieces to print, and what they are for."""
        rest = f" + {self.broken} to break" if self.broken else ""
        return f"{self.pieces} ({self.quantity} + {self.spares} spare{rest})"

    @property
    def sample(self) -> int:
        """Pieces to measure on arrival: of a gauge each, by its own page [-]."""
        return sample_size(self.pieces) if self.subject.judged else self.pieces

    @property
    def material(self) -> Material:
        """As recorded with the part."""
        return self.subject.material

    @property
    def finish_limits(self) -> str:
        """What the limits of its finish rest on, where that is not the process' usual one."""
        return finish_limits(self.material)

    @property
    def material_name(self) -> str:
        """The record's name, cleaned."""
        return clean(self.material.name)

    @property
    def process(self) -> str:
        """ISO/ASTM 52900 words beside the trade's."""
        return f"{clean(self.material.process_52900)} ({clean(self.material.trade_name)})"

    @property
    def box_mm(self) -> tuple[float, float, float]:
        """Bounding box along X, Y, Z, measured on the mesh [mm]."""
        return self.verified.measured.extents_mm

    @property
    def volume_mm3(self) -> float:
        """Volume of the solid [mm3]."""
        return self.verified.volume_mm3

    @property
    def mass_g(self) -> float:
        """Mass of one piece: volume times the record's density [g]."""
        return self.volume_mm3 / 1000.0 * self.material.density_g_cm3

    @property
    def build_direction(self) -> str:
        """How it stands in the machine, in the standard's letters and in words."""
        letters, alike = orientation(self.box_mm)
        more = f"; {alike}" if alike else ""
        lies = self.subject.laying.words
        return (
            f"{letters}, as STL and 3MF lie on Z = 0, Z upward ({lies}; longest side along "
            f"{letters[0]}{more})"
        )

    def files(self) -> dict[str, bytes]:
        """Return content by path inside the order's folder."""
        return {
            f"{folder}/{self.number}_{ending.format(pieces=self.pieces)}": self.verified.files[kind]
            for kind, (folder, ending) in _FOLDERS.items()
            if kind in self.verified.files
        }


@dataclass(frozen=True)
class Order:
    """All that is ordered at once.

    Attributes
    ----------
    number : str
        The order's number, without the mark of one that did not pass.
    title : str
        The user's own words; may be empty.
    parts : tuple of OrderedPart
        In the order given.
    buyer : Buyer
        Who orders; empty where nobody said.
    """

    number: str
    title: str
    parts: tuple[OrderedPart, ...]
    buyer: Buyer

    @property
    def passed(self) -> bool:
        """Whether every part passed."""
        return all(part.passed for part in self.parts)

    @property
    def name(self) -> str:
        """Name of the folder in the zip, and of the zip."""
        return f"order-{self.number}" + ("" if self.passed else NOT_PASSED)

    @property
    def pieces(self) -> int:
        """Pieces of all parts [-]."""
        return sum(part.pieces for part in self.parts)

    @property
    def mass_g(self) -> float:
        """Mass of all pieces [g]."""
        return sum(part.pieces * part.mass_g for part in self.parts)

    @property
    def volume_cm3(self) -> float:
        """Volume of all pieces [cm3]."""
        return sum(part.pieces * part.volume_mm3 for part in self.parts) / 1000.0


def requirements(order: Order) -> tuple[str, ...]:
    """Return what holds for every part of an order, as sentences."""
    drawings = all("pdf" in part.verified.files for part in order.parts)
    given = "the drawing and the table" if drawings else "the table"
    rods = (
        "Bores cleared through every open end and rod-tested: the named drill shank, or a plain "
        "rod of its size, passes each bore of each piece, to the end where it is blind.",
    )
    limits = (
        f"Critical dimensions lie within the limits in {given}. If your process cannot hold one, "
        "say so before printing.",
    )
    compensated = (
        "Where a part says that its models are compensated, they differ from the drawing and the "
        "limits on purpose: print the models as they are, deliver within the limits, and add no "
        "compensation of your own for the same error.",
    )
    return (
        "100 % solid. No hollowing, no infill pattern or lattice, no added drain or escape holes.",
        *(rods if any(part.pins for part in order.parts) else ()),
        "All lengths are millimetres. Do not scale, repair, thicken or remodel. STEP, STL and 3MF "
        "show the same part; use whichever you prefer.",
        *(limits if any(part.sizes for part in order.parts) else ()),
        "Build direction as stated, the same for all pieces of one part number. Ask before you "
        "change it, or the material, or the finish.",
        *(compensated if any(part.drawn_off for part in order.parts) else ()),
        "State material batch and machine on the delivery note. Engraved marks stay legible.",
    )


def warnings(order: Order) -> tuple[str, ...]:
    """Return what every page says in red or at its foot."""
    failed = [part.number for part in order.parts if not part.passed]
    own = dict.fromkeys(text for part in order.parts for text in part.subject.own_figures)
    said = [clean(f"Not by shipped figures alone: {text}.") for text in own]
    if failed:
        said.insert(0, "NOT PASSED: " + ", ".join(failed) + ". Not for use under pressure.")
    return (*said, NOT_RATED)


def plan_order(
    parts: Sequence[PartLine],
    *,
    number: str | None = None,
    anyway: bool = False,
    title: str = "",
    finish: str | None = None,
    buyer: Buyer | None = None,
    just_made: Sums | None = None,
) -> Order:
    """Return an order of made parts, every file verified.

    Parameters
    ----------
    parts : sequence of (Path, int, int, str)
        Folder, quantity, spares and note of each; lines without pieces are
        left out.
    number : str, optional
        The order's number; else a checksum of what is ordered.
    anyway : bool
        Order parts that did not pass as well, marked.
    title : str
        The user's own words.
    finish : str, optional
        Instead of the default of the material's process.
    buyer : Buyer, optional
        Who orders; its ``first_batch`` adds a piece of each part that holds pressure.
    just_made : mapping of Path to mapping, optional
        As `verify_parts` takes it.

    Returns
    -------
    Order
        Ready to be written.

    Raises
    ------
    InputError
        When a number, a quantity, a note or a folder cannot be used.
    CheckFailedError
        When a part did not pass and ``anyway`` was not given.
    BuildError
        When a file is missing, changed or not what its part's numbers say.
    """
    faults = [
        fault
        for what, text in (("the title", title), ("--finish", finish or ""))
        if (fault := note_fault(what, text))
    ]
    for folder, quantity, spares, note in parts:
        if quantity < 0 or spares < 0 or quantity + spares > MOST_PIECES:
            given = f"{quantity} + {spares} spare"
            faults.append(Fault(f"{folder}: pieces", given, f"0 to {MOST_PIECES}"))
        if fault := note_fault(f"{folder}: the note", note):
            faults.append(fault)
    wanted = [line for line in parts if line[1] + line[2] > 0]
    if not wanted:
        faults.append(Fault("nothing to order", do="name the folders of made parts"))
    places = [Path(line[0]).resolve() for line in wanted]
    twice = {place for place in places if places.count(place) > 1}
    faults += [
        Fault("a part is named twice", str(place), do="name it once, with --quantity")
        for place in sorted(twice)
    ]
    if number is not None:
        number = order_number(number)
    if faults:
        raise InputError(faults)
    verified = verify_parts([Path(line[0]) for line in wanted], just_made)
    _refuse(verified, anyway)
    finishes = [finish_fault(part.subject.material, finish or "") for part in verified]
    if any(finishes):
        raise InputError(dict.fromkeys(fault for fault in finishes if fault))
    who = buyer or Buyer()
    ordered = tuple(
        _line(part, line, finish, BROKEN if who.first_batch else 0)
        for part, line in zip(verified, wanted, strict=True)
    )
    words = clean(title)
    return Order(number or _checksum(ordered, words, who), words, ordered, who)


def _refuse(verified: Sequence[VerifiedPart], anyway: bool) -> None:
    numbers = [part.subject.number for part in verified]
    same = sorted({number for number in numbers if numbers.count(number) > 1})
    if same:
        raise InputError(
            [Fault("two folders hold one part", number, do="name one of them") for number in same]
        )
    if anyway:
        return
    failed = [
        Fault(
            f"{part.subject.number}: NOT PASSED",
            given=", ".join(part.subject.failing),
            do="mend it, or --anyway to order it marked as not passed",
        )
        for part in verified
        if not part.subject.passed
    ]
    if failed:
        raise CheckFailedError(failed)


def _line(part: VerifiedPart, line: PartLine, finish: str | None, broken: int) -> OrderedPart:
    subject = part.subject
    return OrderedPart(
        verified=part,
        quantity=line[1],
        spares=line[2],
        # A tool holds no pressure; nothing of it is taken to breaking.
        broken=broken if subject.carries else 0,
        note=clean(line[3]),
        finish=clean(finish or "") or default_finish(subject.material),
        pins=pins(subject.sizes),
    )


def _checksum(parts: Sequence[OrderedPart], title: str, buyer: Buyer) -> str:
    """Return a number that stands for these parts in these quantities, and for nothing else."""
    # The version as well: another one may lay the same parts out on another sheet.
    content: list[object] = [__version__, title, dataclasses.astuple(buyer)]
    content += [
        [
            part.number,
            part.quantity,
            part.spares,
            part.broken,
            part.note,
            part.finish,
            part.verified.record_sha256,
            {path: hashlib.sha256(data).hexdigest() for path, data in part.files().items()},
        ]
        for part in parts
    ]
    return hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()[:8]
