"""A cap's end and the tools' checks, each finding at its own corner, by arithmetic done anew."""

from dataclasses import replace
from math import atan, cos, pi, sin, sqrt

import numpy as np
import pytest
from scipy.integrate import quad

from barbwright.checks import tools
from barbwright.checks.corners import worst_case
from barbwright.checks.driving import drive_forces, freeing_forces, pull_out
from barbwright.checks.freed import fork_bears, fork_lifts, fork_spreads, tools_of, wings_pass
from barbwright.checks.result import CAUTION, FAIL, judge
from barbwright.design.foot import foot_height
from barbwright.design.part import KINDS, design_part
from barbwright.design.tip import proving_pull
from example_job import conditions_of, design_of, with_conditions

OFF = 0.3  # MJF PA12, any of these sizes
P = 45 * 0.006894757293168
FOOTED = ("arms=2",)
FORKS = [pytest.param((), id="tip"), pytest.param(FOOTED, id="tee")]
# Both to the temperature factor of 30 C: see test_driving.
HEAT = 1.0 - 0.25 * 7.0 / 17.0
SHORT_XY, SHORT_Z, MODULUS = 43.0 * 0.9 * HEAT, 40.0 * 0.9 * HEAT, 1400.0 * HEAT


def flat(values):
    return np.ravel(np.asarray(values, dtype=float))


# --- a cap's end ------------------------------------------------------------------------------


def ball(inner, outer):
    """Hoop stress inside a thick ball, by its radii: p b3 (c3 + 2 r3)/(2 r3 (c3 - b3)), r = b."""
    inner, outer = inner**3, outer**3
    return P * (outer + 2.0 * inner) / (2.0 * (outer - inner))


def test_a_caps_end_is_the_largest_ball_of_wall_about_its_round_bottom():
    cap = design_of("cap")
    found = tools.end_wall(worst_case(cap))
    assert flat(found.demand) == pytest.approx(ball(2.6, 2.6 + 2.0 * (2.05 - OFF)))
    assert flat(found.capacity) == pytest.approx(cap.conditions.material.allowable_mpa)
    # A wall far thicker than the head is wide: what stands round it counts.
    slim = replace(cap, own=replace(cap.own, end_wall_mm=20.0))
    found = tools.end_wall(worst_case(slim))
    assert flat(found.demand) == pytest.approx(ball(2.6, float(cap.own.head_mm) - OFF))


def test_an_end_that_may_print_away_fails_and_is_not_left_unchecked():
    cap = design_of("cap", ("end_wall=0.25mm",))
    found = tools.end_wall(worst_case(cap))
    assert np.all(np.isposinf(found.demand))
    assert judge(found).verdict == FAIL


# --- a tool over what it fits -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "settings", "prints"),
    [("driver", (), [2]), ("driver", FOOTED, [2, 2, 2]), ("fork", (), [2]), ("collar", (), [1])],
)
def test_a_fit_pays_the_tolerance_of_every_side_that_is_printed(kind, settings, prints):
    """A drill bit is as it is sold; a barb, a pad or a neck is of the same process as the tool."""
    design = design_of(kind, settings)
    found = tools.tool_fit(worst_case(design))
    assert flat(found.demand) == pytest.approx([OFF * sides for sides in prints])
    drawn = [float(fit.hole_mm - fit.through_mm) for fit in design.own.fits]
    assert flat(found.capacity) == pytest.approx(drawn)
    assert min(drawn) > 0.0


# --- driver -----------------------------------------------------------------------------------

TAPER = 1.0 / 15.0
ANGLE = atan(TAPER / 2.0)
CRUSH, SMALL, LARGE = 4.2, 6.053125, 6.353125


def travel(host, hole):
    """Of the host's own corner that stands in this hole [mm]."""
    case = worst_case(host)
    return float(case.tip.travel_mm[list(case.hole_mm).index(pytest.approx(hole))])


def flank(hole, length):
    return pi * (hole + TAPER * length / 2.0) * length / cos(ANGLE)


def driven(host, share, mu):
    return max(
        share * CRUSH * flank(hole, travel(host, hole)) * (mu * cos(ANGLE) + sin(ANGLE))
        for hole in (SMALL, LARGE)
    )


@pytest.mark.parametrize(
    "settings", [(), ("sleeve=7mm",), FOOTED], ids=["foot", "thin foot", "roof"]
)
def test_a_drivers_foot_or_roof_presses_at_its_leanest(settings):
    driver = design_of("driver", settings)
    own, host = driver.own, driver.own.host
    found = tools.driver_bearing(worst_case(driver))
    if host.hub is None:
        outer = min(float(own.sleeve_mm), float(own.bearing_mm)) - OFF
        area = pi / 4.0 * (outer**2 - (float(own.socket_mm) + OFF) ** 2)
    else:
        area = pi / 4.0 * (float(own.bearing_mm) - OFF) ** 2
    for value in (found.capacity, found.capacity_expected, found.advice["foot_n"]):
        assert flat(value) == pytest.approx(SHORT_XY * area)
    assert flat(found.demand) == pytest.approx(driven(host, 1.3, 0.35))
    assert flat(found.demand_upper) == pytest.approx(driven(host, 2.0, 0.60))
    assert found.design_factor == 1.5
    assert found.at_worst == FAIL


def folds(inner, outer, effective):
    """Euler, and for a stocky column Johnson's parabola that meets it at half of the squash."""
    area, inertia = pi / 4.0 * (outer**2 - inner**2), pi / 64.0 * (outer**4 - inner**4)
    euler = pi**2 * MODULUS * inertia / effective**2
    squash = area * SHORT_XY
    return euler if euler < squash / 2.0 else squash * (1.0 - squash / (4.0 * euler))


@pytest.mark.parametrize("settings", [(), FOOTED], ids=["tip", "tee"])
def test_a_driver_folds_as_its_weaker_section_all_the_way(settings):
    driver = design_of("driver", settings)
    own = driver.own
    found = tools.driver_buckle(worst_case(driver))
    long = 2.0 * float(own.length_mm)
    hollow = folds(float(own.socket_mm) + OFF, float(own.sleeve_mm) - OFF, long)
    solid = folds(0.0, float(own.head_mm) - OFF, long)
    for value in (found.capacity, found.capacity_expected, found.advice["column_n"]):
        assert flat(value) == pytest.approx(min(hollow, solid))
    # A head as slim as a pencil, and a sleeve that is all but bored away: each counts in its turn.
    for weak in ({"head_mm": 5.0}, {"socket_mm": float(own.sleeve_mm) - 1.5}):
        changed = replace(driver, own=replace(own, **weak))
        weaker = flat(tools.driver_buckle(worst_case(changed)).capacity)
        hollow = folds(float(changed.own.socket_mm) + OFF, float(own.sleeve_mm) - OFF, long)
        solid = folds(0.0, float(changed.own.head_mm) - OFF, long)
        assert weaker == pytest.approx(min(hollow, solid))
        assert weaker < flat(found.capacity)
    assert flat(found.demand) == pytest.approx(driven(own.host, 1.3, 0.35))
    assert flat(found.demand_upper) == pytest.approx(driven(own.host, 2.0, 0.60))
    assert (found.design_factor, found.at_worst) == (1.5, FAIL)


def necks(wings, side, strength):
    """Torque of two fingers that bend square necks off, anywhere on the paddles [N mm]."""
    return [
        2.0 * finger * (strength * side**3 / 6.0) / (finger - float(wings.root_mm))
        for finger in np.linspace(float(wings.near_mm), float(wings.far_mm), 101)
    ]


def test_wings_pass_the_least_from_a_lean_neck_and_the_most_from_a_fat_one():
    """A finger anywhere on the paddle; a section yields right through at twice its skin's load,
    and a judgement of 1.4 stands between (expected)."""
    driver = design_of("driver", FOOTED)
    wings = driver.own.wings
    passed = wings_pass(wings, driver.conditions)
    neck = float(wings.neck_mm)
    assert flat(passed.at_least_nmm) == pytest.approx(min(necks(wings, neck - OFF, SHORT_Z)))
    # Where on the paddle a finger lies hardly counts.
    fat = necks(wings, neck + OFF, 2.0 * SHORT_Z)
    assert flat(passed.at_most_nmm) == pytest.approx(max(fat))
    assert min(fat) > 0.9 * max(fat)
    middle = necks(wings, neck, 1.4 * SHORT_Z)[50]
    assert flat(passed.expected_nmm) == pytest.approx(middle)
    # A neck that may print away passes nothing on, not less than nothing.
    thin = wings_pass(replace(wings, neck_mm=0.2), driver.conditions)
    assert flat(thin.at_least_nmm) == pytest.approx(0.0, abs=1e-12)


def test_wings_stand_against_nine_tenths_of_the_weakest_tip_and_the_woods_hold():
    driver = design_of("driver", FOOTED)
    own, host = driver.own, driver.own.host
    passed = wings_pass(own.wings, driver.conditions)
    case = worst_case(driver)
    before = tools.driver_wings(case)
    corners = worst_case(host).tip
    breaks = [
        sqrt(1.0 / 3.0) * SHORT_Z * pi / 16.0 * (mouth**4 - bore**4) / mouth
        for mouth, bore in zip(flat(corners.mouth_mm), flat(corners.bore_mm), strict=True)
    ]
    for value in (before.capacity, before.capacity_expected):
        assert flat(value) == pytest.approx(0.9 * min(breaks), rel=1e-3)
    for value in (before.demand, before.demand_upper):
        assert flat(value) == pytest.approx(flat(passed.at_most_nmm))
    # N m of N mm.
    assert 1000.0 * flat(before.advice["wings_nm"]) == pytest.approx(flat(passed.expected_nmm))
    assert (before.design_factor, before.at_worst) == (1.0, FAIL)

    turns = tools.driver_turns(case)
    holds = [
        (hole + TAPER * long / 2.0) / 2.0 * flank(hole, long)
        for hole, long in ((hole, travel(host, hole)) for hole in (SMALL, LARGE))
    ]
    assert flat(turns.demand) == pytest.approx(0.25 * 0.5 * CRUSH * max(holds))
    assert flat(turns.demand_upper) == pytest.approx(0.35 * 1.0 * CRUSH * max(holds))
    assert flat(turns.capacity) == pytest.approx(flat(passed.at_least_nmm))
    assert flat(turns.capacity_expected) == pytest.approx(flat(passed.expected_nmm))
    assert 1000.0 * flat(turns.advice["frees_nm"]) == pytest.approx(flat(turns.demand))
    assert (turns.design_factor, turns.at_worst) == (1.25, CAUTION)


def test_a_lean_pads_corners_stand_in_the_way_of_a_wide_sockets_flats():
    """From flat to flat over the cosine of 30 degrees is from corner to corner."""
    driver = design_of("driver", FOOTED)
    found = tools.driver_grip(worst_case(driver))
    pad = float(driver.own.host.hub.pad_mm)
    assert flat(found.capacity) == pytest.approx((pad - OFF) / cos(pi / 6.0))
    assert flat(found.demand) == pytest.approx(float(driver.own.flats_mm) + OFF)
    assert found.design_factor == 1.02


# --- fork -------------------------------------------------------------------------------------


@pytest.mark.parametrize("settings", FORKS)
def test_a_fork_finds_its_gap_from_the_leanest_to_the_fattest_part(settings):
    """Each corner's own place of first contact and travel, by hand on a part's drawing."""
    fork = design_of("fork", settings)
    own, host = fork.own, fork.own.host
    found = tools.fork_reach(worst_case(fork))
    corners = worst_case(host).tip
    high = float(host.tip.seat_mm) + float(foot_height(host, own.slot_mm))
    over = high - flat(corners.start_mm)
    after = over - float(host.conditions.bark_mm) - flat(corners.travel_mm)
    step = float(own.rise_mm)
    hook = float(own.hook_mm) + OFF
    tallest = float(own.steps) * step
    assert flat(found.capacity) == pytest.approx([*after, *[tallest + step] * 4])
    # A tick less than the tick too many that may have been tapped.
    assert flat(found.capacity_expected) == pytest.approx([*(after + 2.0), *[tallest + step] * 4])
    free = over - float(host.conditions.bark_least_mm)
    for value in (found.demand, found.demand_upper):
        assert flat(value) == pytest.approx([*[hook] * 4, *free])
    assert flat(found.advice["hook_mm"]) == pytest.approx([hook] * 8)
    assert flat(found.advice["tallest_mm"]) == pytest.approx([tallest] * 8)
    assert found.at_worst == CAUTION


def test_a_balls_half_of_the_pull_stands_on_the_edge_of_the_hooks_slot():
    """The ring of a tip stands in test_hook; here the ball, and what the pull rule says."""
    fork = design_of("fork", FOOTED)
    own, host = fork.own, fork.own.host
    hook = own.hook
    found = tools.fork_pull(worst_case(fork))
    pull = float(np.squeeze(proving_pull(host.conditions, host.tip)))
    thick, wide = float(hook.thick_mm) - OFF, float(host.hub.ball_mm) - OFF
    arm = (float(hook.eyes_mm) - (float(hook.slot_mm) - OFF)) / 2.0
    bending = pull / 2.0 * arm / (wide * (thick - float(hook.cup_mm)) ** 2 / 6.0)
    shearing = pull / 2.0 / (2.0 * (float(hook.wall_mm) - OFF) * thick)
    assert flat(found.demand) == pytest.approx([bending, shearing])
    assert flat(found.design_factor) == pytest.approx([2.0, 2.0])
    # What either breaks at, halved.
    breaks = [pull * SHORT_Z / bending, pull * SHORT_Z / sqrt(3.0) / shearing]
    assert flat(found.advice["hook_n"]) == pytest.approx(np.array(breaks) / 2.0, rel=1e-3)
    assert found.at_worst == FAIL


def test_a_hook_that_may_print_away_counts_as_a_thousandth_thick_and_fails():
    fork = design_of("fork")
    own = fork.own
    gone = replace(fork, own=replace(own, hook_mm=0.5, wide_mm=own.eyes_mm))
    hook, host = gone.own.hook, own.host
    found = tools.fork_pull(worst_case(gone))
    pull, across = float(np.squeeze(proving_pull(host.conditions, host.tip))), 0.5 - OFF
    ring, slot = float(host.ring.ring_mm) - OFF, float(hook.slot_mm) - OFF
    arm = float(hook.eyes_mm) / 2.0 - (ring + slot) / 4.0
    thin = pull / 2.0 * arm / (ring * 0.001**2 / 6.0)
    assert flat(found.demand) == pytest.approx([thin, pull / 2.0 / (2.0 * 0.001 * across)])
    assert judge(found).verdict == FAIL


def outside_a_slot(across, slot):
    """Area of a circle beside a slot through its middle, chord by chord on both sides."""
    chord = quad(lambda y: 2.0 * sqrt(across**2 / 4.0 - y * y), slot / 2.0, across / 2.0)[0]
    return 2.0 * chord


@pytest.mark.parametrize("settings", FORKS)
def test_a_forks_edges_bear_on_what_stands_outside_its_slot(settings):
    fork = design_of("fork", settings)
    own, host = fork.own, fork.own.host
    across, slot = float(own.foot_mm) - OFF, float(own.slot_mm) + OFF
    if host.hub is not None:
        # A ball sinks a millimetre: where it then reaches lower than the edges is a smaller circle.
        deep = sqrt(across**2 - slot**2) / 2.0 - 1.0
        across = 2.0 * sqrt(across**2 / 4.0 - deep**2)
    bears = SHORT_XY * outside_a_slot(across, slot)
    found = tools.fork_bearing(worst_case(fork))
    assert flat(fork_bears(own.tines, host)) == pytest.approx(bears)
    for value in (found.capacity, found.capacity_expected):
        assert flat(value) == pytest.approx(bears)
    assert flat(found.advice["face_n"]) == pytest.approx(bears / 1.5)
    assert_lifted(found, host)


def assert_lifted(found, host):
    """The flank's pressure pulls out less the taper's own push, in whichever hole is worse."""
    length = [travel(host, hole) for hole in (SMALL, LARGE)]
    areas = [flank(hole, long) for hole, long in zip((SMALL, LARGE), length, strict=True)]
    for value, crush, mu in ((found.demand, 0.5, 0.25), (found.demand_upper, 1.0, 0.35)):
        pull = crush * CRUSH * max(areas) * (mu * cos(ANGLE) - sin(ANGLE))
        assert flat(value) == pytest.approx(pull)
    assert (found.design_factor, found.at_worst) == (1.5, CAUTION)


@pytest.mark.parametrize("settings", FORKS)
def test_a_forks_tines_break_over_a_hollow_as_wide_as_what_they_lift(settings):
    """Two tines as one beam, on the step under the least gap: F/2 L/2 is its moment."""
    fork = design_of("fork", settings)
    own, host = fork.own, fork.own.host
    found = tools.fork_bend(worst_case(fork))
    gap = flat(tools.fork_reach(worst_case(fork)).capacity)[:4].min()
    thick = float(own.rise_mm) * (gap // float(own.rise_mm)) - OFF
    section = 2.0 * (float(own.tine_mm) - OFF) * thick**2 / 6.0
    breaks = SHORT_Z * section / (float(own.foot_mm) / 4.0)
    for value in (found.capacity, found.capacity_expected):
        assert flat(value) == pytest.approx(breaks)
    assert flat(found.advice["tine_n"]) == pytest.approx(breaks / 1.5)
    assert_lifted(found, host)


def test_a_gap_under_one_step_takes_the_first_and_none_takes_more_than_the_last():
    host = design_of("tip")
    tines = tools_of(host)[1]
    steps = float(tines.steps)

    def thick(gap_left):
        low = with_conditions(host, bark_mm=float(host.conditions.bark_mm) + gap_left)
        section = flat(fork_spreads(tines, low)) * float(host.ring.ring_mm) / 4.0 / SHORT_Z
        return np.sqrt(section * 6.0 / 2.0 / (float(tines.tine_mm) - OFF)) + OFF

    # Bark so thick that nothing is left under it, and so thin that all steps go under.
    assert thick(50.0) == pytest.approx(float(tines.rise_mm))
    assert thick(-100.0) == pytest.approx(steps * float(tines.rise_mm))


@pytest.mark.parametrize("kind", ["tip", "elbow"])
def test_a_part_says_what_its_own_fork_lifts_with_and_after_which_turning(kind):
    """The less of both with the factor of each; a tip has no wings that could have turned it."""
    host = design_of(kind)
    tines = tools_of(host)[1]
    lifts = flat(fork_lifts(tines, host))
    assert lifts == pytest.approx(
        min(flat(fork_bears(tines, host)) / 1.5, flat(fork_spreads(tines, host)) / 1.5)
    )
    found = pull_out(worst_case(host))
    assert flat(found.advice["lift_n"]) == pytest.approx(np.full(4, lifts))
    after = lifts if host.hub is not None else 0.0
    assert flat(found.advice["lift_after_turning_n"]) == pytest.approx(np.full(4, after))


# --- all of them ------------------------------------------------------------------------------


@pytest.mark.parametrize("settings", [(), FOOTED], ids=["tip", "tee"])
@pytest.mark.parametrize("kind", ["driver", "fork"])
def test_many_bits_at_once_are_found_as_one_by_one(kind, settings):
    base = conditions_of()
    bits = np.array([5.5, 6.0, 6.5])
    arms = {"arms": 2.0} if settings else {}

    def findings(values):
        at = replace(base, bit_mm=values, hole_low_mm=values + 0.1, hole_high_mm=values + 0.4)
        case = worst_case(design_part(KINDS[kind], at, arms))
        asked = (
            [tools.driver_bearing, tools.driver_buckle]
            + [tools.driver_wings, tools.driver_turns, tools.driver_grip] * bool(arms)
            if kind == "driver"
            else [tools.fork_reach, tools.fork_pull, tools.fork_bearing, tools.fork_bend]
        )
        return {one.__name__: one(case) for one in [tools.tool_fit, *asked]}

    many = findings(bits)
    for index, bit in enumerate(bits):
        for name, one in findings(float(bit)).items():
            for number in ("capacity", "capacity_expected", "demand", "demand_upper"):
                value = np.asarray(getattr(many[name], number))
                got = np.broadcast_to(value, (value.shape[0], *bits.shape))[:, index]
                assert got == pytest.approx(flat(getattr(one, number))), (name, number)


def test_a_drivers_force_is_that_of_its_tips_worst_hole():
    """A hole that is worse for driving than the first of the corners, and the pull's as well."""
    host = design_of("tip")
    case = worst_case(host)
    drives, _ = drive_forces(case, case.tip.travel_mm, case.hole_mm)
    _, pulls = freeing_forces(case, "expected")
    assert drives[1] > drives[0]
    assert pulls[1] > pulls[0]
    driver, fork = (worst_case(design_of(kind)) for kind in ("driver", "fork"))
    assert flat(tools.driver_bearing(driver).demand) == pytest.approx(max(drives))
    assert flat(tools.fork_bearing(fork).demand) == pytest.approx(max(pulls))


@pytest.mark.parametrize("name", ["driver_bearing", "driver_buckle", "driver_turns", "fork_reach",
                                  "fork_bearing", "fork_bend"])  # fmt: skip
def test_without_a_wood_what_leans_on_it_is_not_checked(name):
    design = design_of(name.split("_")[0], FOOTED, wood=None)
    assert getattr(tools, name)(worst_case(design)).because
