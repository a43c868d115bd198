"""How far the slow tests go: BARBWRIGHT_SLOW_EXAMPLES is the number of designs a sweep draws."""

import os
from collections.abc import Sequence
from typing import Any

EXAMPLES = int(os.environ.get("BARBWRIGHT_SLOW_EXAMPLES", "500"))
# CI has minutes, not hours: it leaves out cases that others cover more harshly.
BOUNDED = EXAMPLES < 100


def some_of(cases: Sequence[Any], *places: int) -> list[Any]:
    """Return all cases of a sweep; where time is bounded the ones that stand for the others."""
    return [cases[place] for place in places] if BOUNDED else list(cases)
