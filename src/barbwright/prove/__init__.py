"""Finite elements on the part as drawn; the only folder that imports ngsolve."""

from barbwright.prove.analysis import Pictured, require_engine, run
from barbwright.prove.result import CASE_IDS, CaseResult, ProveResult, SharpEdge, to_json

__all__ = [
    "CASE_IDS",
    "CaseResult",
    "Pictured",
    "ProveResult",
    "SharpEdge",
    "require_engine",
    "run",
    "to_json",
]
