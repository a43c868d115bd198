"""The stack-up's rows: printed lengths only."""

import pytest
from example_reports import make_report

from barbwright.report.stackup import stack_up


@pytest.mark.parametrize("kind", ["barb", "cap", "collar", "driver", "elbow", "fork", "tee", "tip"])
def test_every_row_is_a_printed_length_about_its_drawn_size(kind):
    design = make_report(kind).design
    rows = stack_up(design).dimensions
    assert len(rows) >= 4
    for row in rows:
        assert row.name.endswith("_mm")
        assert 0.0 < row.high_mm - row.drawn_mm == pytest.approx(row.drawn_mm - row.low_mm)


def test_a_slope_and_what_the_hand_sets_have_no_tolerance():
    names = {
        row.name for kind in ("fork", "collar") for row in
        stack_up(make_report(kind).design).dimensions
    }  # fmt: skip
    assert {
        "fork_rise_mm",
        "fork_thickness_mm",
        "hook_thickness_mm",
        "screw_hole_diameter_mm",
    } <= names
    assert not {"fork_slope", "fork_steps", "exposed_bit_mm"} & names
