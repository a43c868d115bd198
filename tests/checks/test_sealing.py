"""Tube on barb: hand calculations of the demo, step by step, and the opposite cases."""

from math import cos, log, pi, radians, sin, sqrt

import numpy as np
import pytest

from barbwright.checks import sealing
from barbwright.checks.corners import worst_case
from barbwright.checks.table import judge_all
from example_job import DEMO, DRIP, PSI, SOFT_PVC, design_of, outcomes_of, with_tube

# The demo's tube at 30 C: PE keeps 1 - 0.5 (30 - 23)/(55 - 23) of modulus and yield.
HEAT = 1.0 - 0.5 * 7.0 / 32.0
INNER, OUTER = 4.318, 6.35
FRICTION_LENGTH = 3.0 * (0.8 + 0.5 * 0.4 / np.tan(radians(13.5)))


def elastic(modulus, inner, crest):
    """Written out anew: neo-Hookean contact at a crest."""
    la = crest / inner
    rim2 = crest**2 + OUTER**2 - inner**2
    lb = sqrt(rim2) / OUTER
    return modulus / 3.0 * (log(la / lb) + (crest**2 - inner**2) / 2.0 * (1 / crest**2 - 1 / rim2))


def plastic(strength, inner, crest):
    rim = sqrt(crest**2 + OUTER**2 - inner**2)
    return 2.0 / sqrt(3.0) * strength * log(rim / crest)


def tube():
    return design_of().conditions.tubes[0]


def test_seal_of_the_demo():
    t = tube()
    wide = INNER + 0.05
    contact = {
        crest: min(
            elastic(t.modulus_low_mpa * HEAT, wide, crest),
            plastic(t.yield_low_mpa * HEAT, wide, crest),
        )
        for crest in (4.82, 5.42)
    }
    seal = outcomes_of()["barb_seal"]
    assert seal.capacity == pytest.approx(0.5 * min(contact.values()), rel=1e-9)
    assert seal.demand == pytest.approx(45.0 * PSI)
    assert seal.corner.startswith("fat")
    # A bigger crest grips less here: the fat part's tube has yielded.
    assert contact[5.42] < contact[4.82]


def test_grip_of_the_demo():
    t = tube()
    wide, crest = INNER + 0.05, 5.42
    contact = 0.5 * plastic(t.yield_low_mpa * HEAT, wide, crest)
    friction = 0.2 * contact * pi * crest * FRICTION_LENGTH
    bite = 0.35 * t.yield_low_mpa * HEAT * pi / 4.0 * (OUTER**2 - wide**2)
    thrust = 45.0 * PSI * pi / 4.0 * crest**2
    grip = outcomes_of()["barb_grip"]
    assert grip.capacity == pytest.approx(friction + bite, rel=1e-6)
    assert grip.demand == grip.demand_upper == pytest.approx(2.0 * thrust, rel=1e-9)


def test_a_tug_is_handling_a_caution_at_worst_and_told_as_a_rule():
    """What holds beyond the thrust, over 1.25: the tug that the rule names."""
    grip, tug = (outcomes_of()[name] for name in ("barb_grip", "barb_tug"))
    thrust = 45.0 * PSI * pi / 4.0 * 5.42**2
    assert tug.capacity == pytest.approx(grip.capacity - thrust, rel=1e-6)
    assert (tug.demand, tug.demand_upper, tug.design_factor) == (20.0, 50.0, 1.25)
    assert tug.info.stage == "handling"
    # A part without a tip says it itself; with one, the tug on the seated tip says the least of
    # both.
    for kind, speaker in (("barb", "barb_tug"), ("elbow", "line_pull")):
        found = outcomes_of(kind, **SOFT_PVC)
        soft, said = found["barb_tug"], found[speaker]
        assert soft.capacity < 20.0
        assert soft.verdict == "caution"
        least = min(soft.capacity, said.capacity)
        assert f"{int(least / 1.25)} N" in said.rule
        assert "tie the line" in said.rule
        assert bool(soft.rule) == (kind == "barb")


def test_push_on_of_the_demo():
    t = tube()
    narrow, crest = INNER - 0.05, 4.82
    rub = pi * crest * FRICTION_LENGTH
    angle = radians(13.5)
    warm = min(
        elastic(0.5 * t.modulus_low_mpa, narrow, crest),
        plastic(0.5 * t.yield_low_mpa, narrow, crest),
    )
    push = outcomes_of()["push_on"]
    assert push.demand == pytest.approx(warm * rub * (0.5 * cos(angle) + sin(angle)), rel=1e-6)
    cold = plastic(t.yield_high_mpa, narrow, crest)
    assert push.demand_upper == pytest.approx(cold * rub * (cos(angle) + sin(angle)), rel=1e-6)
    assert (push.capacity, push.capacity_expected) == (120.0, 250.0)


@pytest.mark.parametrize(
    ("expected", "upper", "verdict"), [(100, 119, 0), (100, 121, 1), (249, 900, 1), (251, 300, 2)]
)
def test_push_on_has_its_own_rule(expected, upper, verdict):
    design = design_of("barb")
    now = judge_all(design)["push_on"]
    # Contact, hence force, is in proportion to modulus and yield together.
    tube = design.conditions.tubes[0]
    warm, cold = expected / now.demand, upper / now.demand_upper
    judged = judge_all(
        with_tube(
            design,
            modulus_low_mpa=tube.modulus_low_mpa * warm,
            yield_low_mpa=tube.yield_low_mpa * warm,
            modulus_high_mpa=tube.modulus_high_mpa * cold,
            yield_high_mpa=tube.yield_high_mpa * cold,
        )
    )["push_on"]
    assert judged.demand == pytest.approx(expected)
    assert judged.verdict == verdict


def test_a_forced_barb_angle_counts_in_pushing_on():
    steep = outcomes_of("barb", settings=("barb_angle=25",))["push_on"]
    length = 3.0 * (0.8 + 0.5 * 0.4 / np.tan(radians(25.0)))
    contact = steep.demand_upper / (pi * 4.82 * length * (cos(radians(25)) + sin(radians(25))))
    assert contact == pytest.approx(plastic(tube().yield_high_mpa, INNER - 0.05, 4.82), rel=1e-6)


def test_rating_falls_with_heat_and_counts_at_its_stated_temperature():
    at_30 = outcomes_of(**DRIP)["tube_rating"]
    at_40 = outcomes_of(**DRIP, temperature="40C")["tube_rating"]
    # Stated at 23 C: PE falls linearly to 0.5 at 55 C.
    assert at_40.capacity / at_30.capacity == pytest.approx(
        (1 - 0.5 * 17 / 32) / (1 - 0.5 * 7 / 32)
    )
    own = {**DEMO, "tube_rating": "100psi at 40C", "temperature": "40C"}
    assert outcomes_of(**own)["tube_rating"].capacity == pytest.approx(100.0 * PSI)


def test_without_a_rating_burst_by_barlow_on_the_outer_diameter_must_be_four_times():
    design = with_tube(design_of("barb"), rating_mpa=float("nan"), burst_strength_mpa=9.0)
    judged = judge_all(design)["tube_rating"]
    assert judged.capacity == pytest.approx(2.0 * 9.0 * (OUTER - INNER) / 2.0 / OUTER)
    assert judged.design_factor == 4.0
    nothing = with_tube(design, burst_strength_mpa=float("nan"))
    assert judge_all(nothing)["tube_rating"].verdict == 3
    assert "--tube-rating" in judge_all(nothing)["tube_rating"].because


def test_a_clamp_adds_one_mpa_to_the_seal_and_six_millimetres_of_friction():
    bare, clamped = (worst_case(design_of(**SOFT_PVC, clamp=clamp)) for clamp in (None, True))
    more = sealing.barb_seal(clamped).capacity - sealing.barb_seal(bare).capacity
    assert more == pytest.approx(np.full(4, 1.0))
    more = sealing.barb_grip(clamped).capacity - sealing.barb_grip(bare).capacity
    crest = bare.barbs[0].crest_mm
    assert more == pytest.approx(0.2 * 1.0 * pi * crest * 6.0)


def test_elastomer_takes_the_smaller_of_gent_and_ruess_and_no_yield():
    gent = 0.0981 * (56 + 7.62336 * 65) / (0.137505 * (254 - 2.54 * 65))
    soft = design_of("barb", **SOFT_PVC).conditions.tubes[0]
    assert soft.modulus_low_mpa == pytest.approx(gent)
    assert soft.modulus_high_mpa == pytest.approx(10 ** (0.0235 * 65 - 0.6403))
    assert np.isnan(soft.yield_low_mpa)


def test_the_small_strain_formula_would_have_promised_a_third_more_seal():
    """The trap: at the soft tube's expansion of 0.2 it is 35 % high and not safe."""
    design = design_of("barb", **SOFT_PVC)
    barb = worst_case(design).barbs[0]
    t = design.conditions.tubes[0]
    ours = barb.least_contact(t.modulus_low_mpa, float("nan"))
    e = barb.crest_mm / barb.tube_wide_mm - 1.0
    small = 2.0 / 3.0 * t.modulus_low_mpa * e * (1.0 - (barb.tube_wide_mm / t.outer_mm) ** 2)
    assert np.all(small > ours * 1.15)


@pytest.mark.parametrize(
    ("step", "share"), [(0.4, 0.0), (0.5, 0.25), (0.6, 0.5), (0.7, 0.75), (0.8, 1.0), (0.9, 1.0)]
)
def test_bite_grows_with_the_step_that_is_left_after_printing(step, share):
    """0.2 mm go to printing and blasting; of the rest 0.2 bites not at all and 0.6 fully."""
    case = worst_case(design_of("barb", settings=("root=4.32mm", f"crest={4.32 + step}mm")))
    barb, tube = case.barbs[0], case.conditions.tubes[0]
    contact = 0.5 * barb.least_contact(tube.modulus_low_mpa * HEAT, tube.yield_low_mpa * HEAT)
    alone = 0.2 * contact * pi * barb.crest_mm * float(barb.drawn.friction_length_mm)
    full = 0.35 * tube.yield_low_mpa * HEAT * pi / 4.0 * (OUTER**2 - barb.tube_wide_mm**2)
    assert sealing.barb_grip(case).capacity - alone == pytest.approx(share * full, abs=1e-9)


def test_an_elastomers_bite_takes_a_share_of_its_low_modulus_for_its_yield():
    case = worst_case(design_of(**SOFT_PVC))
    barb, tube = case.barbs[0], case.conditions.tubes[0]
    heat = 1.0 - 0.45 * 7.0 / 17.0  # PVC keeps 0.55 at 40 C
    contact = 0.5 * barb.least_contact(tube.modulus_low_mpa * heat, float("nan"))
    alone = 0.2 * contact * pi * barb.crest_mm * float(barb.drawn.friction_length_mm)
    bite = 0.35 * 0.35 * tube.modulus_low_mpa * heat * pi / 4.0 * (6.0**2 - barb.tube_wide_mm**2)
    assert sealing.barb_grip(case).capacity == pytest.approx(alone + bite)


def test_the_worse_end_of_a_barb_of_two_sizes_governs():
    """A hard tube at one end holds; bare soft PVC at the other does not."""
    soft = {"tube2_id": "6mm", "tube2_od": "8mm", "tube2_material": "PVC", "shore2": "65"}
    both, hard = outcomes_of("barb", **soft), outcomes_of("barb")
    alone = outcomes_of("barb", tube_id="6mm", tube_od="8mm", tube_material="PVC", shore="65")
    for name in ("barb_seal", "barb_grip", "barb_tug"):
        assert both[name].capacity < hard[name].capacity, name
        # Its bore is the narrower of the two, which its own outside does not show.
        assert both[name].capacity == pytest.approx(alone[name].capacity, rel=1e-9), name
    assert both["barb_seal"].verdict == "fail"
    assert hard["barb_seal"].verdict == "pass"
