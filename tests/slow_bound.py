"""How far the slow tests go: BARBWRIGHT_SLOW_EXAMPLES is the number of designs a sweep draws."""

import os

EXAMPLES = int(os.environ.get("BARBWRIGHT_SLOW_EXAMPLES", "500"))
# CI has minutes, not hours: it leaves out cases that others cover more harshly.
BOUNDED = EXAMPLES < 100
