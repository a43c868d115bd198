"""Rules for the hands of several parts, each said once with the kinds it is for."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from string import Formatter

from barbwright.checks.result import CHECKS
from barbwright.checks.table import Outcome, fill_rule

_FIGURE = re.compile(r"\{[^}]*\}")


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
    """Return the rules of several parts, each said once with the strictest figures of them.

    What one hand does with two parts is one rule: parts whose rules differ in their figures
    alone are named together, and whoever keeps the stricter figure keeps both.

    Parameters
    ----------
    rows : iterable of (str, sequence of Outcome)
        Kind of part and its checks.

    Returns
    -------
    list of Rule
        In the order of the checks.
    """
    said: dict[str, tuple[list[str], list[Outcome]]] = {}
    for kind, outcomes in rows:
        for outcome in outcomes:
            if not outcome.rule:
                continue
            words = _FIGURE.sub("{}", outcome.info.rule_for(outcome.advice)[0])
            if outcome.info.rule_unit == "mm":
                # A length is a mark to meet, not a limit: another part's would miss it.
                words = outcome.rule
            kinds, alike = said.setdefault(words, ([], []))
            alike.append(outcome)
            if kind not in kinds:
                kinds.append(kind)
    rules = [
        Rule(check=alike[0].info.id, text=_strictest(alike), kinds=tuple(kinds))
        for kinds, alike in said.values()
    ]
    # A rule stands where its check does, however many parts share it.
    places = {name: place for place, name in enumerate(CHECKS)}
    return sorted(rules, key=lambda rule: places[rule.check])


def _strictest(outcomes: Sequence[Outcome]) -> str:
    """Return the rule of checks with one wording, each of its figures the strictest of them."""
    if len(outcomes) == 1:
        return outcomes[0].rule
    words = [one.info.rule_for(one.advice)[0] for one in outcomes]
    # Two checks may name one figure differently: it is the one at the same place.
    figures = zip(
        *(
            [one.advice[name] for name in _names(text)]
            for one, text in zip(outcomes, words, strict=True)
        ),
        strict=True,
    )
    rounds = outcomes[0].info.rule_rounds
    pick = max if rounds == "up" else min
    strictest = dict(zip(_names(words[0]), map(pick, figures), strict=True))
    return fill_rule(words[0], strictest, rounds, outcomes[0].voice)


def _names(words: str) -> list[str]:
    """Return the figures that a rule names, in order."""
    return [name for _, name, _, _ in Formatter().parse(words) if name]
