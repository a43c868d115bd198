"""The columns of each kind of log: what `explain log` prints, forms carry and reading asks for."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from barbwright.errors import Fault, InputError, quoted


@dataclass(frozen=True, kw_only=True)
class Column:
    """One column of a log.

    Attributes
    ----------
    name : str
        As the header writes it, without its unit.
    meaning : str
        What stands in it.
    kind : str
        Kind of quantity; empty for words and plain numbers.
    needed : bool
        Whether a log of this kind needs it.
    """

    name: str
    meaning: str
    kind: str = ""
    needed: bool = False

    @property
    def heading(self) -> str:
        """Its name as a header has it, with a unit where it counts a quantity."""
        return f"{self.name} [{_SUCH_AS[self.kind]}]" if self.kind else self.name


# What stands in a column of yes or no; held is a no where it is asked whether a seat moved.
YES, NO = frozenset({"yes", "y", "1", "true"}), frozenset({"no", "n", "0", "false", "held"})

# A unit that people write over a column of each kind of quantity.
_SUCH_AS = {"time": "min", "pressure": "psi", "temperature": "C", "volume": "L", "force": "lbf"}


@dataclass(frozen=True, kw_only=True)
class LogKind:
    """A kind of log.

    Attributes
    ----------
    name, title : str
        Key and words.
    tells : tuple of str
        Columns whose presence tells this kind from the others.
    columns : tuple of Column
        All it may have, in the order of the form.
    example : tuple of str
        The first lines of a file, invented.
    """

    name: str
    title: str
    tells: tuple[str, ...]
    columns: tuple[Column, ...]
    example: tuple[str, ...]


BENCH = LogKind(
    name="bench",
    title="a bench day: one reading a row",
    tells=("test", "reading"),
    columns=(
        Column(
            name="date",
            meaning="day of the reading, such as 2026-11-28; it holds for the rows under it",
            needed=True,
        ),
        Column(name="log", meaning="which piece of wood; readings of one log belong together"),
        Column(name="wood", meaning="species, as `list woods` names it", needed=True),
        Column(name="hole", meaning="number of the hole in that log"),
        Column(
            name="part",
            meaning="number of the part, as the form's file writes it (a8f1ae#1): the first half "
            "says which planned part it is; 1 alone is of the last one planned",
        ),
        Column(name="batch", meaning="print batch of the part"),
        Column(name="uses", meaning="how often the part was used before"),
        Column(name="test", meaning="which test, from the list below", needed=True),
        Column(name="travel_mm", meaning="travel from hand-tight, in mm"),
        Column(name="wait_min", meaning="minutes from driving to the reading"),
        Column(
            name="reading",
            meaning="the number read; two with `..` between where it lies between them",
            needed=True,
        ),
        Column(
            name="unit",
            meaning="its unit: N, kgf or kg, lbf or lb as the scale shows; N m, in lbf; psi, kPa, "
            "bar; mm, in",
            needed=True,
        ),
        Column(
            name="moved",
            meaning="yes: the reading is where it gave way; no or held: it did not; broke: the "
            "part broke first",
        ),
        Column(name="remark", meaning="anything else; never read by the program"),
    ),
    example=(
        "date,log,wood,hole,part,test,travel_mm,wait_min,reading,unit,moved",
        "2026-11-28,1,oak white,1,a8f1ae#1,drive,8,,210,N,",
        ",1,oak white,1,a8f1ae#1,pull,8,10,14,kgf,yes",
    ),
)
PROOF = LogKind(
    name="proof",
    title="a proof test: pressure over time",
    tells=("time", "pressure"),
    columns=(
        Column(name="time", meaning="in the header's unit, or a clock", kind="time", needed=True),
        Column(name="pressure", meaning="gauge pressure", kind="pressure", needed=True),
        Column(name="temperature", meaning="of line or water", kind="temperature"),
        Column(name="pumped", meaning="water pumped in since the start", kind="volume"),
        Column(name="remark", meaning="anything else; never read by the program"),
    ),
    example=(
        "time [min],pressure [psi],temperature [C],remark",
        "0,0,21,vented",
        "2,90,21,pumped up",
        "4,88.2,21,",
    ),
)
FIELD = LogKind(
    name="field",
    title="trees: what went in over time, pulls, drips",
    tells=("tree",),
    columns=(
        Column(name="tree", meaning="name or number of the tree", needed=True),
        Column(name="species", meaning="as `list woods` names it"),
        Column(name="date", meaning="day, such as 2026-11-28; it holds for the rows under it"),
        Column(name="time", meaning="since the valve was opened, or a clock", kind="time"),
        Column(name="pressure", meaning="the vessel's gauge", kind="pressure"),
        Column(name="level", meaning="liquid left in the vessel", kind="volume"),
        Column(name="closed", meaning="ports pinched shut at this reading: 3, or 3 5"),
        Column(name="port", meaning="port that the rest of the row is about"),
        Column(name="part", meaning="number of the part in that port"),
        Column(name="pull", meaning="pull on that seat", kind="force"),
        Column(name="moved", meaning="yes: it gave way there; no or held: it did not"),
        Column(name="drips", meaning="yes or no"),
        Column(name="remark", meaning="anything else; never read by the program"),
    ),
    example=(
        "tree,species,date,time [min],level [L],port,pull [kg],moved,drips",
        "by the gate,oak white,2026-06-03,0,9.0,,,,",
        ",,,5,8.4,,,,",
        ",,,,,1,3.2,no,no",
    ),
)
KINDS = {kind.name: kind for kind in (BENCH, PROOF, FIELD)}


def kind_of(names: Collection[str]) -> LogKind:
    """Return the kind of log that a header tells.

    Parameters
    ----------
    names : collection of str
        Its columns, without units.

    Raises
    ------
    InputError
        When it is none, with what each kind needs.
    """
    for kind in (BENCH, FIELD, PROOF):
        if set(kind.tells) <= set(names):
            return kind
    limit = "; ".join(f"{kind.name}: {', '.join(kind.tells)}" for kind in KINDS.values())
    raise InputError(
        Fault(
            "this header is no log's",
            given=quoted(", ".join(names)),
            limit=limit,
            do="name the columns so; `barbwright explain log` lists them all",
        )
    )
