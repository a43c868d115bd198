"""Build direction: the stress that crosses the layers takes the weaker strength."""

from __future__ import annotations

import pytest

from barbwright.checks.layers import (
    DIRECTIONS,
    STRESSES,
    advise_direction,
    in_layers,
    rate_directions,
)
from barbwright.checks.result import CHECKS
from example_job import outcomes_of

FLAT, TIP_UP, ARM_UP = DIRECTIONS


@pytest.mark.parametrize(
    ("check", "flat", "tip_up", "arm_up"),
    [
        # Hoop stress runs round its axis: in the layers only when that axis stands on them.
        ("barb_wall", False, False, True),
        ("tip_wall", False, True, False),
        # Bending pulls along both arm and tip: in the layers only when both lie in them.
        ("side_load", True, False, False),
        ("drive_offset", True, False, True),
        # Torsion and crossing bores always cross the layers somewhere.
        ("twist_out", False, False, False),
        ("crossing_bores", False, False, False),
    ],
)
def test_which_tension_lies_in_the_layers(
    check: str, flat: bool, tip_up: bool, arm_up: bool
) -> None:
    assert [in_layers(check, way) for way in (FLAT, TIP_UP, ARM_UP)] == [flat, tip_up, arm_up]


def test_every_check_named_here_exists() -> None:
    assert set(STRESSES) <= set(CHECKS)


def test_flat_is_best_for_the_demo_elbow_because_bending_governs() -> None:
    results = list(outcomes_of("elbow").values())
    ratings = rate_directions(results, strength_z_mpa=40.0, strength_xy_mpa=43.0)
    assert ratings[0].direction is FLAT
    bent = min(
        (r for r in results if r.info.id in {"side_load", "drive_offset"}), key=lambda r: r.use
    )
    assert ratings[0].least_margin == pytest.approx(bent.use * 43.0 / 40.0)
    assert ratings[-1].least_margin == pytest.approx(bent.use)
    assert "lying flat" in advise_direction(ratings)
    assert bent.info.id in advise_direction(ratings)


def test_equal_strength_makes_no_way_up_better() -> None:
    ratings = rate_directions(list(outcomes_of("tee").values()), 40.0, 40.0)
    assert len({round(r.least_margin, 9) for r in ratings}) == 1
    assert ratings[0].direction is FLAT
    assert "no way up is stronger" in advise_direction(ratings)


def test_no_rating_without_a_check_it_concerns() -> None:
    assert rate_directions([], 40.0, 43.0) == ()
    assert advise_direction(()) == ""
