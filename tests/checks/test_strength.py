"""Walls, crossing bores, side force and squeeze: hand calculations of the demo."""

from math import hypot, pi, sqrt

import numpy as np
import pytest

from barbwright.catalog import hub_crossing
from barbwright.checks import strength
from barbwright.checks.contact import squeeze_mpa, wall_at
from barbwright.checks.corners import worst_case
from barbwright.checks.table import judge_all
from example_job import PSI, design_of, outcomes_of, with_material

P = 45.0 * PSI
HEAT = 1.0 - 0.25 * 7.0 / 17.0
SHORT_Z, SHORT_XY = 40.0 * 0.9 * HEAT, 43.0 * 0.9 * HEAT


def wall(bore, outer):
    k2 = (outer / bore) ** 2
    return max(P * (k2 + 1.0) / (k2 - 1.0), sqrt(3.0) * P * k2 / (k2 - 1.0))


def test_barb_wall_at_the_lean_root():
    one = outcomes_of("barb")["barb_wall"]
    assert one.demand == pytest.approx(wall(2.6, 4.05))
    # min(40 x 0.9 x heat x 0.33 x 0.5, 40/10): the tenth governs, unrounded.
    assert one.capacity == pytest.approx(4.0)


def test_hoop_is_the_larger_only_in_a_thin_wall():
    """Lame's hoop exceeds von Mises below k2 = 1/(sqrt 3 - 1), k 1.17."""
    one = outcomes_of("barb", settings=("bore=3.4mm", "root=4.5mm"))["barb_wall"]
    k2 = (4.2 / 3.7) ** 2
    assert k2 < 1.0 / (sqrt(3.0) - 1.0)
    assert one.demand == pytest.approx(P * (k2 + 1.0) / (k2 - 1.0))


def test_a_forced_thin_neck_is_the_thinnest_section():
    one = outcomes_of("barb", settings=("neck=4.1mm",))["barb_wall"]
    assert one.demand == pytest.approx(wall(2.6, 3.8))


def test_tip_wall_at_the_lean_lead():
    assert outcomes_of()["tip_wall"].demand == pytest.approx(wall(2.3, 5.45))


def test_crossing_bores_of_a_ball_hub():
    """Lean, all bores 2.6, relief ball 4.00, hub 11.5. The four cells round it, read by hand."""
    one = outcomes_of("tee", settings=("tip_bore=2.3mm",))["crossing_bores"]
    down, across = (4.00 / 2.6 - 1.5) / 0.1, (11.5 / 4.00 - 2.4) / 0.6
    assert 0.0 < down < 1.0
    assert 0.0 < across < 1.0
    thin, thick = 3.32 + down * (3.01 - 3.32), 2.95 + down * (2.73 - 2.95)
    assert one.demand == pytest.approx(1.10 * P * (thin + across * (thick - thin)))
    assert one.capacity == pytest.approx(4.0)


def test_crossing_bores_as_every_corner_has_it():
    """All four corners of a hub with unequal bores against a plain walk through the table."""
    design = design_of("elbow", settings=("tip_bore=1.6mm", "relief_ball=5mm", "hub_ball=12mm"))
    table = hub_crossing()

    def cell(ratio, places):
        for index in range(len(places) - 1):
            if places[index] <= ratio <= places[index + 1]:
                return index, (ratio - places[index]) / (places[index + 1] - places[index])
        raise AssertionError(ratio)

    def read(values, bore, relief, hub):
        i, u = cell(relief / bore, table.relief_over_bore)
        j, v = cell(hub / relief, table.hub_over_relief)
        corners = ((1 - u) * (1 - v), (1 - u) * v, u * (1 - v), u * v)
        cells = (values[i][j], values[i][j + 1], values[i + 1][j], values[i + 1][j + 1])
        return sum(share * value for share, value in zip(corners, cells, strict=True))

    found = strength.crossing_bores(worst_case(design))
    for index, off in enumerate((0.3, 0.3, -0.3, -0.3)):
        bore, narrow, relief, ball = 2.3 + off, 1.6 + off, 5.0 + off, 12.0 - off
        if index == 2:
            # The fattest that enters the smallest hole is fat by a little less, all of it.
            narrow = 1.6 - 0.3 * min(6.053125 - 5.75, 0.3) / 0.3
        equal = max(read(each, bore, relief, ball) for each in (table.von_mises, table.principal))
        k3 = (ball / relief) ** 3
        small = 1.10 * ((2.0 + k3) / (k3 - 1.0) + 2.0)
        assert small > equal
        peak = equal * narrow / bore + small * (1.0 - narrow / bore)
        assert found.demand[index] == pytest.approx(1.10 * P * peak)
    assert found.demand.shape == (4,)


def test_a_relief_ball_that_may_print_with_the_edge_standing_is_refused():
    """Drawn 1.48 bores, lean (3.4 + 0.3)/(2.3 + 0.3) = 1.42: below the table, not a pass."""
    one = outcomes_of("tee", settings=("relief_ball=3.4mm",))["crossing_bores"]
    assert one.verdict == "fail"
    assert one.demand is None  # infinite
    assert "--set relief_ball" in one.info.remedy
    assert outcomes_of("tee", settings=("relief_ball=3.6mm",))["crossing_bores"].verdict == "pass"


def test_a_hub_thinner_than_the_table_is_refused():
    """Lean (14 - 0.3)/(9.9 + 0.3) = 1.34 is below 1.4, fat 14.3/9.6 = 1.49 is not."""
    case = worst_case(design_of("tee", settings=("relief_ball=9.9mm", "hub_ball=14mm")))
    found = strength.crossing_bores(case)
    assert np.all(np.isinf(found.demand[:2]))
    assert np.all(np.isfinite(found.demand[2:]))


def test_side_ports_take_the_table_and_are_refused_below_its_first_row():
    case = worst_case(design_of(settings=("side_ports=1",)))
    found = strength.crossing_bores(case)
    assert found.capacity == pytest.approx(np.full(8, case.conditions.material.allowable_mpa))
    # The lead is longer by the ports' zone, two bores and the lead's round, so that they stand
    # below all contact: 6.053 - 0.3 - 0.1 - 4.5/15 = 5.35.
    bore, outer = 2.3, 5.35 - 0.3 + (1.5 * 2.0 + 0.5) / 15.0
    k = outer / bore
    factor = np.interp(k, [2.0, 2.5], [3.36, 3.08])
    assert 2.0 < k < 2.5
    assert found.demand[4] == pytest.approx(1.10 * factor * P * (k**2 + 1.0) / (k**2 - 1.0))
    thin = outcomes_of(settings=("side_ports=1", "tip_bore=4.2mm"))["crossing_bores"]
    assert thin.verdict == "fail"
    assert thin.demand is None  # infinite: nothing is known below 1.4


def test_side_force_on_the_demo_barb():
    one = outcomes_of("barb")["side_load"]
    lever, bore, root = float(design_of("barb").barbs[0].insertion_mm), 2.6, 4.05
    section = pi / 32.0 * (root**4 - bore**4) / root
    axial = P * bore**2 / (root**2 - bore**2)
    # Finite elements find 1.8 times the beam's bending at the shoulder.
    assert one.demand == pytest.approx(1.8 * 5.0 * lever / section + axial)
    assert one.demand_upper == pytest.approx(1.8 * 10.0 * lever / section + axial)
    assert one.capacity == pytest.approx(SHORT_Z)
    breaking = (SHORT_Z - axial) * section / lever / 1.8
    assert one.advice["breaking_n"] == pytest.approx(breaking)
    assert one.advice["side_force_n"] == pytest.approx(breaking / 1.25)


def test_side_force_at_the_tip_takes_the_worst_direction():
    """A force at the nose, in the plane of arm and tip: turned to the worst, its lever is the
    distance from nose to section. Compared with a search over all directions.
    """
    design = design_of("elbow")
    case = worst_case(design)
    found = strength.side_load(case)
    tip_rows = slice(8, 12)  # barb root, neck, tip
    height = case.tip.free_mm - float(design.hub.pad_height_mm)
    reach = float(design.arm_length_mm)
    mouth, bore = case.tip.mouth_mm, case.tip.bore_mm
    section = pi / 32.0 * (mouth**4 - bore**4) / mouth
    turn = np.linspace(0.0, pi, 181)
    lift, swing = np.meshgrid(turn, turn)
    force = np.stack([np.cos(lift), np.sin(lift) * np.cos(swing), np.sin(lift) * np.sin(swing)])
    for index in range(4):
        nose = np.array([reach, 0.0, height[index]])[:, None, None]
        moment = np.cross(nose, force, axis=0)
        bending, twist = np.hypot(moment[0], moment[1]), moment[2]
        # Largest principal stress of bending with torsion, as a moment.
        worst = np.max((bending + np.hypot(bending, twist)) / 2.0)
        assert worst == pytest.approx(hypot(reach, height[index]), rel=1e-3)
        axial = P * bore[index] ** 2 / (mouth[index] ** 2 - bore[index] ** 2)
        assert found.demand[tip_rows][index] == pytest.approx(
            1.8 * 5.0 * worst / section[index] + axial, rel=1e-3
        )


def test_squeeze_of_the_root_by_a_fresh_tube():
    case = worst_case(design_of("barb"))
    found = strength.root_crush(case)
    tube = case.conditions.tubes[0]
    heat = tube.temperature_factor
    # Re-pinned: a full cylinder's contact before; now the normal force of elements, over the root.
    high = squeeze_mpa(case, case.barbs[0], wall_at(tube, "high", heat), 0.2)
    assert found.demand_upper[0] == pytest.approx(2.0 * high[0] * 4.05**2 / (4.05**2 - 2.6**2))
    assert 2.0 < high[0] < 6.0
    assert found.capacity[0] == pytest.approx(SHORT_XY)


def test_where_a_corner_has_no_wall_left_it_fails():
    judged = judge_all(with_material(design_of("barb"), tolerance_mm=1.2))
    for name in ("barb_wall", "side_load", "root_crush"):
        assert judged[name].verdict == 2, name
        assert judged[name].demand == np.inf, name


def test_a_kits_side_ports_do_not_trouble_its_barb():
    # A kit's sizes reach parts that have no use for them.
    from barbwright.checks.table import judge_all
    from barbwright.design.part import KINDS, design_part
    from barbwright.job.numbers import conditions
    from barbwright.job.reading import read_job

    options = {"tube_id": "4mm", "bit": "15/64", "pressure": "45psi"}
    job = read_job(options, settings=("side_ports=1",), needs_tip=False, two_ends=True)
    assert "crossing_bores" not in judge_all(
        design_part(KINDS["barb"], conditions(job), job.forced)
    )


def test_where_the_pressure_alone_breaks_a_section_no_side_force_is_left():
    weak = with_material(design_of("barb"), short_z_mpa=0.01)
    found = strength.side_load(worst_case(weak))
    assert np.all(found.advice["breaking_n"] == 0.0)


def test_a_narrow_bore_in_a_thin_hub_has_the_small_bores_own_stress_there():
    """Relief 2.5 bores, hub 1.5 of it: half way between two columns; s = (2 + k3)/(2 (k3 - 1))."""
    equal = (3.95 + 3.33) / 2.0
    s = (2.0 + 1.5**3) / (2.0 * (1.5**3 - 1.0))
    small = 1.10 * (2.0 * s + 2.0)
    assert small > equal
    found = strength.hub_peak(1.0, 0.3, 2.5, 3.75)
    assert found == pytest.approx(0.3 * equal + 0.7 * small)


def test_a_tip_that_does_not_even_hold_its_thrust_stands_no_tug_at_all():
    case = worst_case(design_of("tip", wood="fir balsam", pressure="90psi"))
    hold = strength.wood_hold(case)
    assert np.all(hold.capacity < hold.demand)
    assert np.all(strength.line_pull(case).capacity == 0.0)
