"""A check's page: what it asks, its equation, symbols, sources and judgement."""

from __future__ import annotations

import difflib
import re
from typing import Any

from barbwright.catalog import judgements
from barbwright.checks import table  # noqa: F401  declares the checks
from barbwright.checks.result import CHECKS, CheckInfo
from barbwright.design.measured import TESTS, UNTOLD
from barbwright.errors import Fault, InputError, quoted
from barbwright.jobs.glossary import TERMS, find_term
from barbwright.logs.columns import KINDS as LOG_KINDS
from barbwright.sources import SOURCES

# Published symbols of the equations, with their units; a page shows those its equation uses.
SYMBOLS: tuple[tuple[str, str], ...] = (
    ("p", "highest working pressure, gauge [MPa]"),
    ("k", "ratio of outer to inner diameter [-]"),
    ("k2", "k squared [-]"),
    ("k3", "k cubed [-]"),
    ("f", "peak stress over pressure in the hub table, at relief ball/bore of the wider bore [-]"),
    ("m", "narrower bore over wider bore [-]"),
    ("s", "where balls are, hoop stress at the inside; else strength of the part or tube [MPa]"),
    ("t", "wall [mm]"),
    ("Do", "outer diameter of the tube [mm]"),
    ("D", "outer diameter: of the tube, or of the section [mm]"),
    ("d", "free inner diameter of the tube [mm]"),
    ("Dc", "crest diameter [mm]"),
    ("D2", "outer diameter of the tube squared [mm2]"),
    ("d2", "inner diameter of the tube squared [mm2]"),
    ("a", "inner radius [mm]; of a barb or tip, the flank's angle to the axis [rad]"),
    ("b", "outer radius [mm]"),
    ("a2", "inner radius squared [mm2]"),
    ("b2", "outer radius squared [mm2]"),
    ("pc", "contact pressure that stays [MPa]"),
    ("po", "contact pressure of a tube just pushed on [MPa]"),
    ("sy", "yield strength of the tube [MPa]"),
    ("mu", "coefficient of friction [-]"),
    ("L", "length in contact, or lever [mm]"),
    ("F", "force: driving, or at an arm's nose [N]"),
    ("I", "second moment of area of the section [mm4]"),
    ("Z", "section modulus [mm3]"),
    ("A", "area of the section [mm2]"),
    ("Ac", "flank of the taper in contact [mm2]"),
    ("q", "pressure of the wood on the flank [MPa]"),
    ("q_split", "pressure on the hole at which a split starts [MPa]"),
    ("C90", "green compression strength of the wood across the grain [MPa]"),
    ("T90", "green tension strength of the wood across the grain [MPa]"),
    ("n", "elastic constant of the wood, sqrt(2 (k - nu) + EL/GLT) [-]"),
    ("hole", "hole diameter [mm]"),
    ("taper", "growth of the diameter per length [-]"),
    ("contact", "travel from hand-tight in sound wood [mm]"),
    ("s_c", "short-term compressive strength at temperature [MPa]"),
    ("J", "polar second moment of area [mm4]"),
    ("e", "how far a blow is off: from the axis, or the struck face from its line [mm]"),
    ("x", "how far a tip's end bends while a blow lasts [mm]"),
    ("x_m", "how far it swings after the blow [mm]"),
    ("r", "driving force over the buckling load of the free tip [-]"),
    ("omega2", "its angular frequency with the hub at its end, squared [1/s2]"),
    ("S", "stiffness of its end, 3 E I/L3 [N/mm]"),
    ("E", "Young's modulus of the part [MPa]"),
    ("M", "mass of the hammer [kg]"),
    ("v", "speed of the hammer [m/s]"),
    ("K", "effective length factor of a column [-]"),
)


def list_checks() -> list[dict[str, str]]:
    """Return every check's id, stage and title, in table order."""
    return [{"id": info.id, "stage": info.stage, "title": info.title} for info in CHECKS.values()]


def symbols_of(info: CheckInfo) -> list[dict[str, str]]:
    """Return the symbols that a check's equation uses."""
    used = set(re.findall(r"(?<!')\b[A-Za-z_][A-Za-z0-9_]*", info.equation))
    return [{"symbol": name, "meaning": words} for name, words in SYMBOLS if name in used]


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
                    {"name": one.name, "meaning": one.meaning, "quantity": one.kind or None,
                     "needed": one.needed}
                    for one in kind.columns
                ],
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
        Such as "safety factor", any case.
    """
    term = find_term(name)
    if term is None:
        return None
    return {"id": term.word, "means": term.means, "see": list(term.see)}


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
    if key in {"barb_wall", "tip_wall"}:
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
