"""Finite elements on the part as drawn; the only folder that imports ngsolve."""

from barbwright.prove.analysis import Pictured, require_engine, run
from barbwright.prove.contact.part import ContactResult, contact_of
from barbwright.prove.result import (
    CASE_IDS,
    CaseResult,
    ProveResult,
    SharpEdge,
    contact_json,
    to_json,
)
from barbwright.prove.seated import SeatedResult, seated_json, seated_of

__all__ = [
    "CASE_IDS",
    "CaseResult",
    "ContactResult",
    "Pictured",
    "ProveResult",
    "SeatedResult",
    "SharpEdge",
    "contact_json",
    "contact_of",
    "require_engine",
    "run",
    "seated_json",
    "seated_of",
    "to_json",
]
