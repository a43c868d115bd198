"""What common practice pins (engineering.md, section 3; no source, common practice).

Printed polyamide tees and elbows on PE or PU tube in hardwood are tapped in by hand, hold 40 psi
for long and 60 psi for minutes, and come out whole. Soft tube, soft wood, small bits and FFF do
not. These outcomes lean on judgement figures, named in JUDGEMENT below: where one of those is
changed, a line here may change with it, and must then be argued for anew.
"""

import pytest

from barbwright.checks.table import overall
from barbwright.design.kinds import CONNECTORS
from example_job import DRIP, NYLON_68, PU_95, SOFT_PVC, job_of, outcomes_of

# The figures these outcomes depend on, and the values they were tried with.
JUDGEMENT = {
    "grip_thrust_factor": 2.0,
    "land_mm": 0.8,
    "bite_factor": 0.35,
    "relaxation_tube": 0.5,
    "wood_relaxation": 0.5,
    "wood_friction_hold": 0.20,
}
NO_MEASURED_TUBE = {"tube_id": None, "tube_od": None, "tube_material": None}
MATERIAL_JUDGEMENT = {"min_wall_mm": 0.6, "min_wall_covered_mm": 1.0}


def verdicts(outcomes, verdict, *stages):
    return {
        name
        for name, one in outcomes.items()
        if one.verdict == verdict and (not stages or one.info.stage in stages)
    }


def test_the_judgement_figures_these_lines_lean_on_are_still_those():
    job = job_of()
    assert {name: job.rules[name] for name in JUDGEMENT} == JUDGEMENT
    for name, value in MATERIAL_JUDGEMENT.items():
        assert getattr(job.material, name) == value


@pytest.mark.parametrize("kind", CONNECTORS)
@pytest.mark.parametrize("pressure", ["45psi", "55psi"])
def test_demo_kit_passes_with_its_handling_rules(kind, pressure):
    outcomes = outcomes_of(kind, pressure=pressure, temperature="30C")
    assert overall(outcomes.values()) == "pass"
    service = {n for n, one in outcomes.items() if one.info.stage in {"service", "making"}}
    assert verdicts(outcomes, "pass", "service", "making") == service
    # side_turn bounds side_load's force and barb_tug line_pull's: one rule says the lesser.
    cautions = [one for one in outcomes.values() if one.verdict == "caution"]
    rules = [one.rule for one in cautions if one.info.id not in {"side_turn", "barb_tug"}]
    assert rules
    # Each is a sentence with its number, and no value was left unfilled.
    for rule in rules:
        assert any(letter.isdigit() for letter in rule)
        assert not set("{}") & set(rule)
        assert "nan" not in rule
        assert "inf" not in rule


@pytest.mark.parametrize("kind", CONNECTORS)
def test_demo_kit_at_38_c_passes_with_its_line_tied(kind):
    """First generation: caution, by the tug alone. Today a tug is handling: tie the line."""
    outcomes = outcomes_of(kind, temperature="38C")
    assert overall(outcomes.values()) == "pass"
    assert not verdicts(outcomes, "caution", "service")


@pytest.mark.parametrize("kind", CONNECTORS)
def test_at_40_c_the_demo_kit_passes_and_the_blow_on_a_hub_barely(kind):
    """First generation: caution, as F/A alone was asked. Then what elements find beside the arms'
    bores (2.18 F/A in a hub of 10.5 mm) missed the strength at 40 C by half a percent. A hub of
    10.8 mm has 2.10 there: counted as 2.15, it stands it.
    """
    outcomes = outcomes_of(kind, temperature="40C")
    assert not verdicts(outcomes, "fail")
    if kind in {"elbow", "tee"}:
        assert outcomes["drive_squash"].verdict == "caution"
        assert outcomes["drive_squash"].safety_factor == pytest.approx(1.02, abs=0.005)
    assert not verdicts(outcomes, "caution", "service")


def test_demo_elbow_in_yellow_poplar_passes_once_its_seats_are_pulled():
    """First generation: caution by wood_hold. Today the pull of three thrusts proves it.

    With the slimmer taper that the search takes there: 1:20 with 9 mm of contact.
    """
    outcomes = outcomes_of(wood="yellow-poplar", settings=("taper=0.05", "contact=9mm"))
    assert overall(outcomes.values()) == "pass"
    assert outcomes["wood_hold"].proved


def test_bare_soft_pvc_at_30_psi_fails_its_seal_and_its_grip():
    """As the model finds it: 65A stays under 30 psi once relaxed and hot, and slides off."""
    outcomes = outcomes_of(**SOFT_PVC, pressure="30psi")
    assert outcomes["barb_seal"].verdict == "fail"
    assert outcomes["barb_grip"].verdict == "fail"
    assert overall(outcomes.values()) == "fail"


@pytest.mark.parametrize(
    ("pressure", "seal", "least", "most"),
    [("30psi", "caution", 1.3, 1.4), ("45psi", "fail", 0.8, 0.9)],
)
def test_bare_quarter_inch_vinyl_stands_near_its_seals_line_and_slides_off(
    pressure, seal, least, most
):
    """First generation: 0.27 of the asked seal at 45 psi. Elements: 0.84 where 1.5 is asked; what
    a pull finds over square backs is a sixth of two thrusts, so a clamp it is either way. Sizes on
    the grid of 0.05 mm moved 1.29 to 1.33 at 30 psi.
    """
    vinyl = {"tube": "clear PVC 0.250 x 0.375 in", **NO_MEASURED_TUBE}
    outcomes = outcomes_of(**vinyl, pressure=pressure)
    assert outcomes["barb_seal"].verdict == seal
    assert least < outcomes["barb_seal"].safety_factor < most
    assert outcomes["barb_grip"].verdict == "fail"
    assert outcomes["barb_grip"].safety_factor < 0.4


def test_drip_tubing_at_55_psi_fails_its_rating_though_the_barb_fits():
    outcomes = outcomes_of(**DRIP, pressure="55psi")
    assert verdicts(outcomes, "fail") == {"tube_rating"}


def test_balsam_fir_at_55_psi_fails_in_the_wood():
    outcomes = outcomes_of(wood="fir balsam", pressure="55psi")
    assert verdicts(outcomes, "fail") & {"wood_seal", "wood_hold"}


@pytest.mark.parametrize(("bit", "check"), [("11/64", "exposed_wall"), ("1/8", "print_wall")])
def test_small_bits_leave_no_wall_round_the_least_bore(bit, check):
    """11/64 failed print_wall with a bore of 2.5 mm; with 2.0 the wall standing proud is short."""
    outcomes = outcomes_of(bit=bit)
    assert outcomes[check].verdict == "fail"


@pytest.mark.parametrize("bit", ["11/64", "1/8"])
def test_a_bore_forced_small_enough_for_such_a_bit_cannot_be_cleared(bit):
    outcomes = outcomes_of(bit=bit, settings=("tip_bore=0.5mm",))
    assert outcomes["print_bore"].verdict == "fail"


def test_fff_pla_fails():
    outcomes = outcomes_of(material="fff_pla")
    assert overall(outcomes.values()) == "fail"
    assert outcomes["use"].verdict == "fail"


@pytest.mark.parametrize("kind", CONNECTORS)
def test_nylon_at_55_psi_does_not_fail(kind):
    outcomes = outcomes_of(kind, **NYLON_68, pressure="55psi")
    assert overall(outcomes.values()) in {"pass", "caution"}


@pytest.mark.parametrize("kind", CONNECTORS)
def test_polyurethane_at_55_psi_does_not_fail(kind):
    """Second generation's closed form failed its seal by a fifth, since an arm stretches no tube
    beyond 20 % any more; elements find the lands two to three times as well pressed as it does.
    """
    outcomes = outcomes_of(kind, **PU_95, pressure="55psi")
    assert not verdicts(outcomes, "fail")
    assert outcomes["barb_seal"].safety_factor > 1.5


# --- the other way: each refused by the right check with the right remedy (issue 4, item 6) ---


@pytest.mark.parametrize(
    ("more", "check", "remedy"),
    [
        ({**SOFT_PVC, "pressure": "60psi"}, "barb_seal", "clamp"),
        ({**SOFT_PVC, "pressure": "60psi"}, "barb_grip", "clamp"),
        ({"material": "pa12_gf"}, "use", "material"),
        ({"material": "fff_pla", "temperature": "50C"}, "heat", "material"),
        ({"wood": "fir balsam", "pressure": "60psi"}, "wood_seal", "less pressure"),
        ({"wood": "fir balsam", "pressure": "60psi"}, "wood_hold", "less pressure"),
        ({"bit": "1/8"}, "print_wall", "larger bit"),
    ],
)
def test_refused_by_the_right_check_with_the_right_remedy(more, check, remedy):
    one = outcomes_of(**more)[check]
    assert one.verdict == "fail"
    assert remedy in one.info.remedy


def test_the_remedies_help():
    soft = {**SOFT_PVC, "pressure": "60psi"}
    clamped = outcomes_of(**soft, clamp=True)
    assert clamped["barb_seal"].verdict == "pass"
    assert clamped["barb_grip"].safety_factor > 2.5 * outcomes_of(**soft)["barb_grip"].safety_factor
    assert outcomes_of(wood="fir balsam", pressure="15psi")["wood_hold"].verdict != "fail"
    assert outcomes_of(bit="15/64")["print_wall"].verdict == "pass"


def test_glass_filled_polyamide_is_refused_for_tapping_and_not_for_a_barb():
    assert outcomes_of("elbow", material="pa12_gf")["use"].verdict == "fail"
    assert outcomes_of("barb", material="pa12_gf")["use"].verdict == "pass"
