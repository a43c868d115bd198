"""A check's page: what it asks, its equation, symbols, sources and judgement."""

from __future__ import annotations

import difflib
import re
from typing import Any

from barbwright.catalog import judgements
from barbwright.checks import table  # noqa: F401  declares the checks
from barbwright.checks.result import CHECKS, CheckInfo
from barbwright.design.measured import TESTS, UNTOLD
from barbwright.design.part import FORCED_SIZES
from barbwright.errors import Fault, InputError, quoted
from barbwright.jobs.glossary import TERMS, find_term, meant_term
from barbwright.logs.columns import KINDS as LOG_KINDS
from barbwright.sources import SOURCES

# Published symbols of the equations, with their units: what they mean in every check that has no
# sense of its own for them below. A page shows those its equation uses.
SYMBOLS: tuple[tuple[str, str], ...] = (
    ("p", "highest working pressure, gauge [MPa]"),
    ("k", "outer over inner diameter [-]"),
    ("k2", "outer over inner diameter, squared [-]"),
    ("k3", "k cubed [-]"),
    ("t", "wall [mm]"),
    ("Do", "outer diameter of the tube [mm]"),
    ("D", "outer diameter of the section [mm]"),
    ("Dc2", "crest diameter squared [mm2]"),
    ("Dr", "root diameter [mm]"),
    ("D2", "outer diameter of the tube squared [mm2]"),
    ("d2", "inner diameter of the tube squared [mm2]"),
    ("a2", "inner radius squared [mm2]"),
    ("b2", "outer radius squared [mm2]"),
    ("pc", "contact pressure that stays [MPa]"),
    ("po", "contact pressure of a tube just pushed on [MPa]"),
    ("sy", "yield strength of the tube [MPa]"),
    ("mu", "coefficient of friction [-]"),
    ("F", "driving force [N]"),
    ("I", "second moment of area of the section [mm4]"),
    ("Z", "section modulus [mm3]"),
    ("A", "area of the section [mm2]"),
    ("Ac", "flank of the taper in contact [mm2]"),
    ("q", "pressure of the wood on the flank [MPa]"),
    ("q_split", "pressure on the hole at which a split starts [MPa]"),
    ("C90", "green compression strength of the wood across the grain [MPa]"),
    ("T90", "green tension strength of the wood across the grain [MPa]"),
    ("s_c", "short-term compressive strength at temperature [MPa]"),
    ("J", "polar second moment of area [mm4]"),
    ("E", "Young's modulus of the part [MPa]"),
    ("K", "effective length factor of a column [-]"),
)
_HOLE = ("hole", "hole diameter [mm]")
_TAPER = ("taper", "growth of the diameter per length [-]")
_FLANK = ("a", "the flank's angle to the axis, half the taper's [rad]")
_TRAVEL = ("contact", "travel from hand-tight in sound wood [mm]")
_NORMAL = ("N", "normal force of tube on barb, let go and fresh [N]")
_THRUSTS = ("P", "the proving pull, three thrusts [N]")
# The same letter in a check's own sense; and symbols that are plain words elsewhere.
SENSES: dict[str, tuple[tuple[str, str], ...]] = {
    "tube_rating": (("s", "strength of the tube's material [MPa]"),),
    "barb_grip": (_NORMAL,),
    "crossing_bores": (
        ("k", "hub ball over relief ball [-]"),
        ("f", "peak stress over pressure in the hub table, at relief ball over the wider bore [-]"),
        ("m", "narrower bore over wider bore [-]"),
        ("s", "hoop stress at the inside of a ball of wall [MPa]"),
    ),
    "tip_wall": (("k", "diameter at the lead's end over the bore [-]"), ("k2", "k squared [-]")),
    "end_wall": (("k", "outer over inner diameter of the round bottom's ball of wall [-]"),),
    "side_load": (
        ("F", "side force at an arm's nose [N]"),
        ("L", "from that nose to the section [mm]"),
    ),
    "line_pull": (
        ("s", "strength of the part across its layers, less what the pressure takes [MPa]"),
        ("Z", "section modulus of the tip at the wood's mouth [mm3]"),
        ("e", "from the wood to the arm's axis [mm]"),
        ("D", "mean diameter of the tip in sound wood [mm]"),
        ("L", "length of the tip in sound wood [mm]"),
        ("m", "1 + 2 e/L, the lever over the seat [-]"),
        ("m2", "m squared [-]"),
        ("q", "wood's pressure where it crushes, 1.3 C90 [MPa]"),
    ),
    "root_crush": (_NORMAL,),
    "wood_hold": (_FLANK, _HOLE, _TAPER, _TRAVEL),
    "wood_split": (
        ("k", "square root of the wood's EL/ET [-]"),
        ("n", "elastic constant of the wood, sqrt(2 (k - nu) + EL/GLT) [-]"),
    ),
    "interference": (_HOLE, _TAPER, _TRAVEL),
    "self_holding": (_FLANK,),
    "drive_squash": (_FLANK, _TRAVEL),
    "drive_buckle": (
        ("e", "how far the blow is off the axis [mm]"),
        ("x", "how far the tip's end bends while a blow lasts; x'' its acceleration [mm]"),
        ("x_m", "how far it swings after the blow [mm]"),
        ("r", "driving force over the buckling load of the free tip [-]"),
        ("omega2", "its angular frequency with the hub at its end, squared [1/s2]"),
        ("S", "stiffness of its end, 3 E I/L3 [N/mm]"),
        ("L", "free length, from the wood's mouth to the struck face [mm]"),
        ("M", "mass of the hammer [kg]"),
        ("v", "speed of the hammer [m/s]"),
    ),
    "drive_offset": (("e", "how far the struck face is off its line [mm]"),),
    "twist_out": (("s", "strength of the part in tension, across its layers [MPa]"),),
    "pull_check": (_THRUSTS, ("e", "how far off the axis the pull may act [mm]")),
    "side_turn": (("D", "diameter of the tip in its hole [mm]"),),
    "driver_bearing": (("A", "area that bears, as the equation says [mm2]"),),
    "driver_wings": (
        ("a3", "width of the fat, square neck, cubed [mm3]"),
        ("a", "width of the fat, square neck [mm]"),
        ("s", "most strength of a printed neck [MPa]"),
        ("r", "from the axis to where fingers lie on the paddle [mm]"),
        ("r0", "from the axis to where the neck is held [mm]"),
    ),
    "driver_turns": (
        ("a3", "width of the square neck, cubed [mm3]"),
        ("s", "strength of the printed neck [MPa]"),
        ("r", "from the axis to where fingers lie on the paddle [mm]"),
        ("r0", "from the axis to where the neck is held [mm]"),
    ),
    "fork_pull": (
        _THRUSTS,
        ("t", "thickness under the cup; beside an eye the whole hook end's [mm]"),
        ("t2", "that thickness squared [mm2]"),
    ),
    "fork_bearing": (
        ("A", "area that bears, as the equation says [mm2]"),
        ("F", "the freeing pull [N]"),
    ),
    "fork_bend": (
        ("Z", "section modulus of both tines [mm3]"),
        ("L", "hollow in the bark that the tines bridge [mm]"),
        ("F", "the freeing pull [N]"),
        ("d", "slot between the tines, which the ball is wider than [mm]"),
    ),
}


def list_checks() -> list[dict[str, str]]:
    """Return every check's id, stage and title, in table order."""
    return [{"id": info.id, "stage": info.stage, "title": info.title} for info in CHECKS.values()]


def symbols_of(info: CheckInfo) -> list[dict[str, str]]:
    """Return the symbols that a check's equation uses, each in the check's own sense."""
    used = tokens(info.equation)
    known = dict(SYMBOLS) | dict(SENSES.get(info.id, ()))
    return [{"symbol": name, "meaning": known[name]} for name in used if name in known]


def tokens(equation: str) -> list[str]:
    """Return the words and letters of an equation in the order they stand, each once.

    Parameters
    ----------
    equation : str
        In words and symbols; a quantity is written number, space, unit.
    """
    bare = re.sub(r"\b\d[\d.]*\s(?:N|mm|MPa|C|x)\b", " ", equation)
    return list(dict.fromkeys(re.findall(r"(?<!')\b[A-Za-z_][A-Za-z0-9_]*", bare)))


def explain_log() -> dict[str, Any]:
    """Return the columns of every kind of log, and the tests of a bench day, as plain values."""
    return {
        "id": "log",
        "kinds": [
            {
                "kind": kind.name,
                "title": kind.title,
                "told_by": list(kind.tells),
                "columns": [
                    {"name": one.name, "heading": one.heading, "meaning": one.meaning,
                     "quantity": one.kind or None, "needed": one.needed}
                    for one in kind.columns
                ],
                "example": list(kind.example),
            }
            for kind in LOG_KINDS.values()
        ],
        "tests": [
            {"test": one.test, "tells": one.formula, "how": one.how, "checks": list(one.checks),
             "else_checks": list(one.else_checks)}
            for one in TESTS.values()
        ],
        "untold": [{"checks": list(checks), "why": why} for checks, why in UNTOLD],
    }  # fmt: skip


def explain_term(name: str) -> dict[str, Any] | None:
    """Return what a word of our output means, as plain values; None where it is none.

    Parameters
    ----------
    name : str
        Such as "safety factor", any case; a part of it, "hoop", where no other word has it.
    """
    term = find_term(name)
    if term is None and name.casefold().replace("-", "_") not in CHECKS:
        term = meant_term(name)
    if term is None:
        return _explain_column(name)
    # The texts that lean on what parts and tests themselves declare.
    means = term.means.replace("{sizes}", ", ".join(FORCED_SIZES))
    # A form of a bench day names its tests by the same words.
    test = TESTS.get(term.word.replace("-", "_"))
    if test is not None:
        means += f" As a test of a bench day: {test.how}. It tells {test.formula}."
    return {"id": term.word, "means": means, "see": list(term.see)}


def _explain_column(name: str) -> dict[str, Any] | None:
    """Return what a column of a log means; None where no log has it."""
    means = [
        f"in the log of {kind.title.partition(':')[0]}, {column.meaning}"
        for kind in LOG_KINDS.values()
        for column in kind.columns
        if column.name == name.casefold().strip()
    ]
    return {"id": name, "means": "; ".join(means) + ".", "see": ["log"]} if means else None


def explain_check(name: str) -> dict[str, Any]:
    """Return a check's page as plain values.

    Parameters
    ----------
    name : str
        The check's id, any case.

    Raises
    ------
    InputError
        When there is no such check, with the nearest checks and words.
    """
    key = name.casefold().replace("-", "_")
    if key not in CHECKS:
        near = difflib.get_close_matches(key, [*CHECKS, *TERMS], 3, 0.5)
        raise InputError(
            Fault(
                "no such check, and no word of the output",
                given=quoted(name),
                do=f"did you mean {' or '.join(near)}?" if near else "`explain` lists them",
            )
        )
    info = CHECKS[key]
    numbers = judgements()
    factors = [f"design_factor_{key}"] if f"design_factor_{key}" in numbers else []
    if key in {"barb_wall", "tip_wall", "end_wall"}:
        factors = ["design_factor_wall"]
    words = re.sub(r"\s*Source:.*", "", info.explanation, flags=re.DOTALL)
    words = re.sub(r"^Return\b", "Compares", words)
    factor = f"{numbers[factors[0]].value:g}" if factors else "1 (a limit)"
    if info.yes_no:
        factor = "none: allowed or not"
    elif key == "push_on":
        factor = "none: by hand, with a tool, or not at all"
    return {
        "id": info.id,
        "title": info.title,
        "stage": info.stage,
        "asks": " ".join(words.split()),
        "equation": info.equation,
        "unit": "ratio" if info.unit == "-" else info.unit,
        "symbols": symbols_of(info),
        "design_factor": factor,
        "basis": info.basis,
        "sources": [
            {"key": source, "citation": SOURCES[source].citation, "status": SOURCES[source].status}
            for source in info.sources
        ],
        "judgement": [
            {
                "name": number, "value": numbers[number].value, "unit": numbers[number].unit,
                "meaning": numbers[number].meaning, "status": numbers[number].status,
            }
            for number in (*info.judgement, *factors)
        ],
        "remedy": info.remedy,
        "rule": re.sub(r"\{[a-z0-9_]+(:[^}]*)?\}", "\N{HORIZONTAL ELLIPSIS}", info.rule),
    }  # fmt: skip
