"""How far the campaign goes: BARBWRIGHT_CAMPAIGN=full asks for all of it, else CI's bounded form.

Every part draws from its own seed, so that a case that fell falls again: BARBWRIGHT_CAMPAIGN_SEED
draws others. What each part counted is printed, and stands in DEVELOPERS.
"""

import os
import sys
from random import Random

import pytest

from slow_bound import EXAMPLES

FULL = os.environ.get("BARBWRIGHT_CAMPAIGN") == "full"
# What no whole run has been through yet, and takes minutes: not for CI before it has.
only_full = pytest.mark.skipif(not FULL, reason="BARBWRIGHT_CAMPAIGN=full")
SEED = int(os.environ.get("BARBWRIGHT_CAMPAIGN_SEED", "19"))
# The first case: a run that was broken off goes on there.
FIRST = int(os.environ.get("BARBWRIGHT_CAMPAIGN_FIRST", "0"))


def many(full: int, share: float = 0.02) -> int:
    """How many cases of a part: all of them, or a share that follows BARBWRIGHT_SLOW_EXAMPLES."""
    asked = os.environ.get("BARBWRIGHT_CAMPAIGN_CASES")
    if asked:
        return int(asked)
    return full if FULL else max(4, int(full * share * min(EXAMPLES, 500) / 500))


def drawn(part: str, place: int) -> Random:
    """The draws of one case, the same whatever came before it."""
    return Random(f"{SEED}-{part}-{place}")


def figures(text: str) -> None:
    """Print what a part of the campaign counted; `-s` shows it."""
    sys.stdout.write(text + "\n")
