"""The part a tool is made for: an in-line tip, an elbow or a tee."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from barbwright.design.conditions import Conditions
from barbwright.design.kind import Design, Kind
from barbwright.design.kinds.hub import ELBOW, TEE
from barbwright.design.kinds.inline import TIP
from barbwright.equations import Number

# By its arms, as a tool's job records it.
HOSTS: dict[int, Kind] = {0: TIP, 1: ELBOW, 2: TEE}


def host_kind(forced: Mapping[str, Number]) -> Kind:
    """Return the kind of part that a tool's sizes say it is made for.

    Parameters
    ----------
    forced : mapping
        Sizes of the tool; ``arms`` is none for an in-line tip, as when not given [-].
    """
    return HOSTS.get(int(np.max(forced.get("arms", 0))), TIP)


def host_of(
    kind: Kind, conditions: Conditions, forced: Mapping[str, Number], words: tuple[str, ...]
) -> Design:
    """Return the part a tool is made for, with its own letter in its mark [mm].

    Parameters
    ----------
    kind : Kind
        The tool's.
    conditions : Conditions
        What both are for.
    forced : mapping
        Sizes; the tool's own are left to the tool [mm].
    words : tuple of str
        Words of the tool's mark.

    Source: judgement
    """
    host = host_kind(forced)
    theirs = {name: size for name, size in forced.items() if name in host.usable_sizes}
    start = f"{kind.letter}-"
    own_words = tuple(
        f"{host.letter}-{word.removeprefix(start)}" if word.startswith(start) else word
        for word in words
    )
    return host.size(host, conditions, theirs, own_words)
