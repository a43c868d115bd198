"""Rules for the hands of several parts, each said once with the kinds it is for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from barbwright.checks.table import Outcome


@dataclass(frozen=True, kw_only=True)
class Rule:
    """A rule as it is said.

    Attributes
    ----------
    check : str
        Id of the check whose rule it is.
    text : str
        What to do.
    kinds : tuple of str
        Kinds of part that it is for.
    """

    check: str
    text: str
    kinds: tuple[str, ...]


def said_once(rows: Iterable[tuple[str, Sequence[Outcome]]]) -> list[Rule]:
    """Return the rules of several parts, those with the same words and figures once.

    Parameters
    ----------
    rows : iterable of (str, sequence of Outcome)
        Kind of part and its checks.

    Returns
    -------
    list of Rule
        In the order of the checks.
    """
    said: dict[str, dict[str, list[str]]] = {}
    for kind, outcomes in rows:
        for outcome in outcomes:
            if outcome.rule:
                kinds = said.setdefault(outcome.info.id, {}).setdefault(outcome.rule, [])
                if kind not in kinds:
                    kinds.append(kind)
    return [
        Rule(check=check, text=text, kinds=tuple(kinds))
        for check, texts in said.items()
        for text, kinds in texts.items()
    ]
