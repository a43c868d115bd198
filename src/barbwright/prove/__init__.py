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

__all__ = [
    "CASE_IDS",
    "CaseResult",
    "ContactResult",
    "Pictured",
    "ProveResult",
    "SharpEdge",
    "contact_json",
    "contact_of",
    "require_engine",
    "run",
    "to_json",
]
