"""Other figures for a judgement number, in sense and as a user would write them."""

from barbwright import catalog


def others(name: str) -> list[str]:
    """Both bounds and two between."""
    one = catalog.judgements()[name]
    steps = [one.least + share * (one.most - one.least) for share in (0.0, 1.0, 0.3, 0.7)]
    unit = one.unit if one.unit in {"mm", "MPa", "N", "C"} else ""
    return [f"{round(s) if one.whole else s:.9g}{unit}" for s in steps
            if s != one.value and not (s == 0.0 and unit in {"N", "MPa"})]  # fmt: skip
