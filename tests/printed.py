"""Compare a number with one in print, to the print's own precision."""

from decimal import Decimal


def printed(value: float, text: str, last_place: float = 0.5) -> bool:
    """Return whether a value is what a page prints: within half of its last digit."""
    unit = Decimal(1).scaleb(int(Decimal(text).as_tuple().exponent))
    return abs(float(value) - float(text)) <= float(unit) * last_place * (1.0 + 1e-9)
