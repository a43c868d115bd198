"""The thrust on an open end in its proof test, by adding up strips of the area it stands on."""

from dataclasses import replace

import numpy as np
import pytest

from barbwright.checks.field import derating
from barbwright.checks.proof import ProofTest, thrusts, tube_holds_mpa
from barbwright.design.tip import widest_seat
from example_job import design_of, with_conditions


def disc_mm2(diameter):
    """Area of a disc, added up across its chords."""
    turned = np.linspace(0.0, np.pi, 200_001)
    across = -diameter / 2.0 * np.cos(turned)
    return float(np.trapezoid(diameter * np.sin(turned), across))


def test_each_end_is_pushed_by_the_pressure_on_the_largest_circle_that_may_be_wet():
    design, test = design_of("tee"), ProofTest(0.4, 1.5, 4.0)
    tip, tube = thrusts(design, test)
    for one, end, across in (
        (tip, "tip", design.tip.root_mm),
        (tube, "tube", max(barb.crest_mm for barb in design.barbs)),
    ):
        assert one.end == end
        # 0.4 MPa in use: 0.6 to prove, 1.6 to break one; a strap is to carry twice the last.
        assert one.at_proof_n == pytest.approx(0.6 * disc_mm2(across), rel=1e-8)
        assert one.at_breaking_n == pytest.approx(1.6 * disc_mm2(across), rel=1e-8)
        assert one.hold_n == pytest.approx(3.2 * disc_mm2(across), rel=1e-8)
    assert [one.end for one in thrusts(design_of("barb"), test)] == ["tube"]
    assert thrusts(design_of("fork"), test) == ()


def test_a_pull_that_held_less_allows_so_much_less_pressure():
    """p = pull/(3 x area of the widest seat), and never more than the line was made for."""
    design = design_of("tip")
    highest = float(np.ravel(design.conditions.highest_mpa)[0])
    rows = derating(design)
    assert len(rows) == 8
    area = disc_mm2(float(np.ravel(widest_seat(design.conditions, design.tip))[0]))
    asked = rows[0].pull_n
    assert asked == np.ceil(3.0 * highest * area)
    for share, row in zip((1.0, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3), rows, strict=True):
        assert row.pull_n == np.floor(share * asked)
        assert row.highest_mpa == pytest.approx(min(row.pull_n / (3.0 * area), highest), rel=1e-8)
    assert rows[0].highest_mpa == highest
    assert derating(design_of("barb")) == ()


@pytest.mark.parametrize(
    ("ratings", "least"), [((0.7,), 0.7), ((0.9, 0.6), 0.6), ((0.9, np.nan), np.nan), ((), np.nan)]
)
def test_the_weakest_tube_is_told_and_none_where_one_says_nothing(ratings, least):
    design = design_of("elbow")
    (tube,) = {id(one): one for one in design.conditions.tubes}.values()
    tubes = tuple(replace(tube, rating_mpa=rating) for rating in ratings)
    told = tube_holds_mpa(with_conditions(design, tubes=tubes))
    assert told == pytest.approx(least, nan_ok=True)
