"""The cap: a tube's end closed by one barb with a blind bore."""

import numpy as np
import pytest

from barbwright.checks.table import judge_all, overall
from barbwright.design.draw import shape_of
from barbwright.design.part import KINDS, dimensions
from barbwright.design.refusals import refusals
from barbwright.equations.cylinder import thick_sphere_hoop
from barbwright.jobs.naming import mark_words, part_number
from example_job import DRIP, NYLON_68, design_of, job_of, outcomes_of, with_material


def test_it_carries_the_same_barb_as_the_elbow_of_its_kit():
    cap, elbow = design_of("cap"), design_of("elbow")
    assert [vars(barb) for barb in cap.barbs] == [vars(barb) for barb in elbow.barbs]
    assert cap.bore_mm == elbow.bore_mm


def test_its_sizes_follow_from_bore_wall_and_mark():
    sizes = dimensions(design_of("cap"))
    # Half a bore of 2.3, a wall of 2.0 and a mark 0.4 deep make 3.55, drawn up to 3.6.
    assert sizes["head_thickness_mm"] == pytest.approx(3.6)
    assert sizes["end_wall_mm"] == pytest.approx(2.05)
    assert sizes["head_diameter_mm"] >= sizes["neck_diameter_mm"]
    assert sizes["envelope_z_mm"] == pytest.approx(
        sizes["head_thickness_mm"] + sizes["insertion_mm"]
    )
    assert "tip_bore_diameter_mm" not in sizes


def test_one_opening_makes_an_euler_number_of_two():
    assert shape_of(design_of("cap"), "cap").euler_number == 2


def test_its_checks_are_those_of_a_barb_and_its_end():
    cap, barb = outcomes_of("cap"), outcomes_of("barb")
    assert set(cap) == set(barb) | {"end_wall"}
    assert overall(cap.values()) == "pass"


def test_the_end_wall_is_a_thick_sphere_at_the_lean_corner():
    p = 45 * 0.006894757293168
    one = outcomes_of("cap")["end_wall"]
    assert one.demand == pytest.approx(thick_sphere_hoop(p, 2.6, 2.6 + 2 * (2.05 - 0.3)))
    assert one.verdict == "pass"


def test_a_thin_end_fails_its_process_and_a_paper_one_its_pressure():
    thin = outcomes_of("cap", ("end_wall=1.2mm",))
    assert thin["exposed_wall"].verdict == "fail"
    assert thin["end_wall"].verdict == "pass"
    assert outcomes_of("cap", ("end_wall=0.35mm",))["end_wall"].verdict == "fail"


def test_a_worse_print_never_looks_better():
    design = design_of("cap")
    judged = [judge_all(with_material(design, tolerance_mm=t)) for t in (0.0, 0.1, 0.3, 0.5)]
    factors = [float(np.ravel(one["end_wall"].safety_factor)[0]) for one in judged]
    assert factors == sorted(factors, reverse=True)


@pytest.mark.parametrize("more", [NYLON_68, DRIP])
def test_other_tubes_make_a_cap_too(more):
    assert not refusals(design_of("cap", **more))


def test_the_mark_leaves_out_the_bit():
    assert mark_words(KINDS["cap"], job_of("cap"), "a") == ("C-A", "T.170")
    assert "-b15_64-" not in part_number(KINDS["cap"], job_of("cap"), "a")
