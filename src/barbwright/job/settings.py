"""`--set`: judgement numbers of the user's own, and sizes forced by hand."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from barbwright import catalog, units
from barbwright.catalog import Judgement
from barbwright.design.part import FORCED_SIZES
from barbwright.errors import Fault, InputError, quoted
from barbwright.job.texts import Texts

# Judgement numbers of this beginning say how logs are read.
LOGS_OWN = "log_"


@dataclass(frozen=True)
class Settings:
    """What --set and the profiles say.

    Attributes
    ----------
    rules : dict of str to float
        Judgement numbers.
    user_rules : dict of str to str
        Those the user has overridden, with their origin.
    forced : dict of str to float
        Sizes forced by hand.
    """

    rules: dict[str, float]
    user_rules: dict[str, str]
    forced: dict[str, float] = field(default_factory=dict)


def read_settings(
    texts: Texts,
    settings: tuple[str, ...] = (),
    usable: frozenset[str] | None = None,
    recorded: Settings | None = None,
) -> Settings:
    """Return judgement numbers, which of them are the user's, and forced sizes.

    A kit serves all its parts, so a size that one has no use for is left out; asked for
    by option it is refused.

    Parameters
    ----------
    texts : Texts
        For the `set` table of the kit, and to keep the faults.
    settings : tuple of str
        ``name=value`` texts of --set.
    usable : frozenset of str, optional
        Sizes that may be forced on this kind of part; None is all.
    recorded : Settings, optional
        Figures of an earlier part, which stand before those of the profiles.

    Returns
    -------
    Settings
        Numbers in the units of the tables.
    """
    # What only logs are read with is no figure of a part.
    judgements = {
        name: one for name, one in catalog.judgements().items() if not name.startswith(LOGS_OWN)
    }
    found = _from_profiles(judgements) if recorded is None else _copied(recorded, judgements)
    for name, text, origin in _pairs(texts, settings):
        key = name.casefold().replace("-", "_")
        if key in FORCED_SIZES:
            if usable is None or key in usable:
                size = texts.collect.read(_read_forced, text, key)
                if size is not None:
                    found.forced[key] = size
            elif origin == "option":
                sizes = catalog.name_one(sorted(usable), key, "`barbwright explain set`")
                do = f"leave it out; {sizes}"
                texts.refuse(f"--set {key}: this part has no such size", text, do=do)
        elif key in judgements:
            figure = texts.collect.read(_read_judgement, text, key, judgements[key])
            if figure is not None:
                found.rules[key] = figure
                found.user_rules[key] = origin
        else:
            _refuse_unknown(texts, name, key, [*FORCED_SIZES, *judgements])
    return found


def _from_profiles(judgements: Mapping[str, Judgement]) -> Settings:
    """Return the judgement numbers of the profiles; those of the user's own are marked."""
    shipped = catalog.shipped_judgements()
    return Settings(
        rules=catalog.judged_values(judgements),
        user_rules={
            name: "user profile"
            for name, number in judgements.items()
            if name not in shipped or number.value != shipped[name].value
        },
    )


def _copied(recorded: Settings, judgements: Mapping[str, Judgement]) -> Settings:
    """Return the figures of an earlier part; one it did not know yet is the profiles'."""
    today = catalog.judged_values(judgements)
    return Settings({**today, **recorded.rules}, dict(recorded.user_rules), dict(recorded.forced))


def _pairs(texts: Texts, settings: tuple[str, ...]) -> list[tuple[str, str, str]]:
    """Return name, text and origin of each setting, the kit's first: the later one counts."""
    table: Any = texts.table.get("set", {})
    if not isinstance(table, Mapping):
        texts.refuse("kit: `set` must be a table of name = value")
        table = {}
    pairs = [(str(name), str(value), "kit") for name, value in table.items()]
    for setting in settings:
        name, separator, value = setting.partition("=")
        if separator:
            pairs.append((name.strip(), value.strip(), "option"))
        else:
            texts.refuse("--set needs name=value", quoted(setting), do="such as --set land=1mm")
    return pairs


def _refuse_unknown(texts: Texts, name: str, key: str, every: list[str]) -> None:
    near = difflib.get_close_matches(key, every, 3, 0.4)
    do = (
        f"did you mean {' or '.join(near)}?" if near else "`barbwright explain set` names the sizes"
    )
    texts.refuse(f"--set knows no {quoted(name)!r}", do=do)


def _read_judgement(text: str, key: str, number: Judgement) -> float:
    """Return a judgement number within sense."""
    figure = _read_set(text, number.unit, f"--set {key}")
    if not number.least <= figure <= number.most:
        raise InputError(
            Fault(
                f"--set {key} is outside sense",
                given=quoted(text),
                limit=f"{number.least:g} to {number.most:g} {number.unit}",
                do=f"it means: {number.meaning}",
            )
        )
    if number.whole and figure != int(figure):
        raise InputError(
            Fault(f"--set {key} is no whole number", given=quoted(text), do="give a whole number")
        )
    return figure


def _read_forced(text: str, key: str) -> float:
    """Return a forced size within sense."""
    one = FORCED_SIZES[key]
    size = _read_set(text, one.unit, f"--set {key}")
    if not one.least <= size <= one.most or (one.whole and not size.is_integer()):
        fault = Fault(
            f"--set {key} is outside sense", given=quoted(text), limit=one.sense, do="check it"
        )
        raise InputError(fault)
    return size


def _read_set(text: str, unit: str, name: str) -> float:
    """Return a forced number; lengths and other dimensions need their unit."""
    if unit == "mm":
        return units.parse_length(text, name=name, zero_allowed=True)
    reader = {"MPa": units.parse_pressure, "N": units.parse_force, "C": units.parse_temperature}
    if unit in reader:
        return reader[unit](text, name=name)
    plain = re.sub(r"\s*(deg|degrees?|Shore A|A|m/s)$", "", text.strip())
    try:
        value = float(plain)
    except ValueError:
        value = float("nan")
    if not np.isfinite(value) or value < 0.0:
        raise InputError(
            Fault(
                f"{name} is no number",
                given=quoted(text),
                limit="a plain number" if unit == "-" else f"a number in {unit}",
                do="write digits, such as 0.05 or 1",
            )
        )
    return value
