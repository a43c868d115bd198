"""L8: Barlow's formula against Lame, by which diameter it takes (own arithmetic, status own)."""

import pytest

from barbwright.equations.cylinder import barlow_pressure, lame_hoop
from printed import printed

RATIOS = (1.2, 1.5, 2.0, 3.0)
PRINTED = {
    "outer": ("1.082", "1.154", "1.200", "1.200"),
    "mean": ("0.992", "0.962", "0.900", "0.800"),
    "inner": ("0.902", "0.769", "0.600", "0.400"),
}


def barlow_stress(ratio: float, diameter: float) -> float:
    return diameter / (ratio - 1.0)  # p D/(2 t) at p 1, bore 1


@pytest.mark.parametrize("form", PRINTED)
def test_barlow_over_lame(form):
    for ratio, text in zip(RATIOS, PRINTED[form], strict=True):
        diameter = {"outer": ratio, "mean": (ratio + 1.0) / 2.0, "inner": 1.0}[form]
        assert printed(barlow_stress(ratio, diameter) / lame_hoop(1.0, 1.0, ratio), text)


@pytest.mark.parametrize("ratio", RATIOS)
def test_our_barlow_takes_the_outer_diameter_and_never_promises_more_than_lame(ratio):
    strength = 20.0
    held = barlow_pressure(strength, (ratio - 1.0) / 2.0, ratio)
    lame_held = strength / lame_hoop(1.0, 1.0, ratio)
    assert held == pytest.approx(strength / barlow_stress(ratio, ratio), rel=1e-12)
    assert held < lame_held
    # The trap: mean and inner diameter promise a pressure that Lame does not.
    assert strength / barlow_stress(ratio, (ratio + 1.0) / 2.0) > lame_held
    assert strength / barlow_stress(ratio, 1.0) > lame_held


def test_outer_barlow_is_at_most_21_percent_off():
    worst = max(
        barlow_stress(1.0 + step / 100.0, 1.0 + step / 100.0)
        / lame_hoop(1.0, 1.0, 1.0 + step / 100.0)
        for step in range(20, 300)
    )
    assert printed(worst, "1.207")
