"""ISO 2859-1 (ANSI/ASQ Z1.4): sample sizes, general inspection level II, single sampling.

Second-hand: tables I and II-A as printed in a public chart of the standard.
"""

import pytest

from barbwright.order.sizes import LEAST_SAMPLE, sample_size

# Lot sizes, code letter of level II, sample size of that letter.
TABLE = [
    (2, 8, "A", 2),
    (9, 15, "B", 3),
    (16, 25, "C", 5),
    (26, 50, "D", 8),
    (51, 90, "E", 13),
    (91, 150, "F", 20),
    (151, 280, "G", 32),
    (281, 500, "H", 50),
    (501, 1200, "J", 80),
    (1201, 3200, "K", 125),
    (3201, 10000, "L", 200),
]


@pytest.mark.parametrize(("least", "most", "letter", "sample"), TABLE)
def test_level_two(least, most, letter, sample):
    # Ours is never under three; the one deviation is the first row.
    for lot in (least, most):
        assert sample_size(lot) == min(lot, max(sample, LEAST_SAMPLE))
