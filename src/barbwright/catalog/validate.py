"""Profile data against its JSON Schema: every fault at once, each in one plain sentence.

Reads the few schema words our own schemas use, so that jsonschema stays a test dependency.
Numbers must be finite, sources must be in the bibliography, and a status must say one of its words.
"""

from __future__ import annotations

import difflib
import functools
import json
import math
import re
from pathlib import Path
from typing import Any

from barbwright.catalog.lookup import name_one
from barbwright.errors import ODD_LETTERS, Fault, has_odd_letters, quoted
from barbwright.sources import SOURCES, STATUSES

_WORDS = {
    "string": "text", "number": "a number", "integer": "a whole number",
    "boolean": "true or false", "object": "a table", "array": "a list",
}  # fmt: skip


@functools.cache
def load_schema(table: str) -> dict[str, Any]:
    """Return the JSON Schema of a table's files.

    Parameters
    ----------
    table : str
        Such as "materials" [-].

    Returns
    -------
    dict
        The schema, draft 2020-12 [-].
    """
    path = Path(__file__).parent / "schemas" / f"{table}.json"
    schema: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return schema


def _is(value: Any, kind: str) -> bool:
    if kind == "boolean":
        return isinstance(value, bool)
    if kind == "number":
        return isinstance(value, (int, float)) and not isinstance(value, bool)
    if kind == "integer":
        return isinstance(value, int) and not isinstance(value, bool)
    return isinstance(value, {"string": str, "object": dict, "array": list}[kind])


# No figure of this beginning or end lies beyond these, in whatever table: past them a number is
# a slip of the unit or damage, and what works with it runs for minutes or out of digits.
_SENSE = {
    "_mpa": (0.0, 1e6), "_mm": (-1e4, 1e4), "_c": (-100.0, 1000.0), "_g_cm3": (0.0, 25.0),
    "_psi": (0.0, 1e5), "_kpa": (0.0, 1e6), "_n": (0.0, 1e7), "_pct": (0.0, 1e4),
    "_per_k": (0.0, 0.1), "_factor": (0.0, 100.0), "_min": (0.0, 1e6), "_cm": (0.0, 1e4),
    "shore_a": (0.0, 100.0), "gravity": (0.0, 3.0), "poisson": (0.0, 0.5),
}  # fmt: skip
# Past any figure of ours.
LARGEST = 1e12


def beyond_sense(name: str, value: float) -> str:
    """Return the limits that a figure is beyond, by what its name ends in; empty within them.

    Parameters
    ----------
    name : str
        Of the figure, such as "strength_z_mpa" [-].
    value : float
        As given, in the unit its name says.

    Returns
    -------
    str
        Such as "0 to 1e+06" [-].
    """
    least, most = next(
        (ends for end, ends in _SENSE.items() if name.endswith(end)), (-LARGEST, LARGEST)
    )
    return "" if least <= value <= most else f"{least:g} to {most:g}"


def faults_in(data: Any, schema: dict[str, Any], path: str) -> list[Fault]:
    """Return everything wrong with a file's data.

    Parameters
    ----------
    data : object
        What tomli read [-].
    schema : dict
        From `load_schema` [-].
    path : str
        Of the file, which stands at the head of each fault [-].

    Returns
    -------
    list of Fault
        Empty when the data is good [-].
    """
    faults: list[Fault] = []
    _walk(data, schema, schema, "", path, faults)
    return faults


def _walk(
    value: Any, rule: dict[str, Any], root: dict[str, Any], at: str, path: str, faults: list[Fault]
) -> None:
    def bad(problem: str, limit: str = "", do: str = "", given: str | None = None) -> None:
        shown = given if given is not None else quoted(repr(value))
        where = f"{path}: {at}: " if at else f"{path}: "
        faults.append(Fault(where + problem, given=shown, limit=limit, do=do))

    if "$ref" in rule:
        rule = root["$defs"][rule["$ref"].rsplit("/", 1)[1]]
    kinds = rule.get("type")
    if kinds:
        kinds = [kinds] if isinstance(kinds, str) else kinds
        if not any(_is(value, kind) for kind in kinds):
            bad("of the wrong type", limit=" or ".join(_WORDS[kind] for kind in kinds))
            return
    if "enum" in rule and value not in rule["enum"]:
        bad("unknown", limit="one of " + ", ".join(map(str, rule["enum"])))
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        before = len(faults)
        _number(value, rule, bad)
        # A figure stands under its name, with status and source; a point of a curve under none.
        name = at.removesuffix(".value").rpartition(".")[2]
        if len(faults) == before and (limit := beyond_sense(name, value)):
            bad("outside sense", limit=limit, do="check the unit")
    elif isinstance(value, str):
        _text(value, rule, bad)
    elif isinstance(value, list):
        if len(value) < rule.get("minItems", 0) or len(value) > rule.get("maxItems", math.inf):
            bad("has the wrong length", limit=f"at least {rule.get('minItems', 0)} entries")
        for i, item in enumerate(value):
            _walk(item, rule.get("items", {}), root, f"{at}[{i + 1}]", path, faults)
    elif isinstance(value, dict):
        known = rule.get("properties", {})
        rest = rule.get("additionalProperties", True)
        for key in rule.get("required", ()):
            if key not in value:
                bad(f"{key} is missing", do=f"add {key}", given="")
        for key, item in value.items():
            below = f"{at}.{key}" if at else key
            if has_odd_letters(key):
                bad(f"a key: {ODD_LETTERS}", do="write plain text", given=quoted(repr(key)))
            if key in known:
                _walk(item, known[key], root, below, path, faults)
            elif isinstance(rest, dict):
                _walk(item, rest, root, below, path, faults)
            elif rest is False:
                near = difflib.get_close_matches(key, known, 1)
                others = name_one(known, key)
                do = f"write {near[0]}" if near else others
                bad(f"{key} is not a known key", do=do, given="")


def _number(value: float, rule: dict[str, Any], bad: Any) -> None:
    if not math.isfinite(value):
        bad("not a finite number")
        return
    if "minimum" in rule and value < rule["minimum"]:
        bad("too small", limit=f"at least {rule['minimum']}")
    if "exclusiveMinimum" in rule and value <= rule["exclusiveMinimum"]:
        bad("too small", limit=f"above {rule['exclusiveMinimum']}")
    if "maximum" in rule and value > rule["maximum"]:
        bad("too large", limit=f"at most {rule['maximum']}")


def _matches(pattern: str, value: str) -> bool:
    """Return whether a text fits; in Python a ``$`` also stands before a last line's end."""
    return re.search(re.sub(r"\$$", r"\\Z", pattern), value) is not None


def _text(value: str, rule: dict[str, Any], bad: Any) -> None:
    if has_odd_letters(value):
        bad(ODD_LETTERS, do="write plain text")
    if len(value) < rule.get("minLength", 0):
        bad("is empty")
    if "pattern" in rule and not _matches(rule["pattern"], value):
        bad("has letters that are not allowed here", limit=rule["pattern"])
    if rule.get("format") == "source-key" and value not in SOURCES:
        near = difflib.get_close_matches(value, SOURCES, 3)
        bad(
            "is not in the bibliography",
            limit="a key of sources.py; user_profile for a figure of your own",
            do="nearest: " + ", ".join(near) if near else "write user_profile",
        )
    if rule.get("format") == "status" and not any(word in value for word in STATUSES):
        bad("does not say how far the source was read", limit="one of " + ", ".join(STATUSES))
