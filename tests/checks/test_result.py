"""The verdict rules of engineering.md, section 3, as a truth table."""

from dataclasses import replace

import numpy as np
import pytest

from barbwright.checks import result
from barbwright.checks.result import (
    CAUTION,
    CHECKS,
    FAIL,
    NOT_CHECKED,
    PASS,
    VERDICTS,
    Finding,
    judge,
    not_checked,
    outright_or_proved,
    single,
    together,
)
from barbwright.checks.table import (
    governing,
    governing_index,
    judge_all,
    overall,
    overall_code,
    wanted,
)
from barbwright.design.part import KINDS, design_part
from barbwright.sources import SOURCES
from example_job import conditions_of, outcomes_of


def finding(lower, expected, demand, upper, factor=1.0, **more):
    lower, expected, demand, upper = (
        np.array([v], float) for v in (lower, expected, demand, upper)
    )
    return Finding(
        capacity=lower,
        capacity_expected=expected,
        demand=demand,
        demand_upper=upper,
        design_factor=factor,
        **more,
    )


def of(capacities, demands):
    """Cases whose lower and expected numbers are the same."""
    capacity, demand = np.array(capacities), np.array(demands)
    return Finding(
        capacity=capacity, capacity_expected=capacity, demand=demand, demand_upper=demand
    )


@pytest.mark.parametrize(
    ("lower", "expected", "demand", "upper", "factor", "verdict"),
    [
        (3.0, 4.0, 1.0, 2.0, 1.5, PASS),  # lower = factor x upper, exactly
        (2.9, 4.0, 1.0, 2.0, 1.5, CAUTION),  # expected covers, lower over the expected demand
        (1.0, 1.5, 1.0, 2.0, 1.5, CAUTION),  # both at their edges
        (1.0, 1.4, 1.0, 2.0, 1.5, FAIL),  # expected short of factor x expected demand
        (0.9, 9.0, 1.0, 2.0, 1.5, FAIL),  # lower short of the expected demand
        (np.nan, 4.0, 1.0, 2.0, 1.5, NOT_CHECKED),
        (3.0, 4.0, 1.0, np.nan, 1.5, NOT_CHECKED),
        (3.0, 4.0, np.inf, np.inf, 1.5, FAIL),
    ],
)
def test_truth_table(lower, expected, demand, upper, factor, verdict):
    assert judge(finding(lower, expected, demand, upper, factor)).verdict == verdict


@pytest.mark.parametrize(
    ("capacity", "verdict"), [(3.0, PASS), (2.9, CAUTION), (1.5, CAUTION), (1.4, FAIL)]
)
def test_a_single_capacity_must_cover_factor_times_the_expected_demand(capacity, verdict):
    one = finding(capacity, capacity, 1.0, 2.0, 1.5)
    assert judge(one).verdict == verdict


def test_limits_have_a_slack_of_a_millionth_and_no_more():
    assert judge(finding(1.0 - 9e-7, 1.0, 1.0, 1.0)).verdict == PASS
    assert judge(finding(1.0 - 2e-6, 1.0, 1.0, 1.0)).verdict == FAIL


def test_the_worst_case_governs_and_its_numbers_are_shown():
    three = of([3.0, 1.2, 0.5], [1.0, 1.0, 0.4])
    judged = judge(three)
    assert (judged.verdict, judged.case, judged.safety_factor) == (PASS, 1, pytest.approx(1.2))
    worse = judge(replace(three, design_factor=np.array([1.0, 1.0, 2.0])))
    assert (worse.verdict, worse.case, worse.capacity) == (FAIL, 2, 0.5)


def test_an_unknown_case_hides_a_pass_but_no_fail():
    assert judge(of([np.nan, 9.0], [1.0, 1.0])).verdict == NOT_CHECKED
    assert judge(of([np.nan, 0.5], [1.0, 1.0])).verdict == FAIL


def test_safety_factor_is_lower_capacity_over_expected_demand():
    judged = judge(finding(3.0, 5.0, 1.5, 2.5, 1.5))
    assert judged.safety_factor == pytest.approx(2.0)
    assert judge(finding(3.0, 5.0, 0.0, 0.0)).safety_factor == np.inf


def test_caution_at_worst():
    assert judge(finding(0.1, 0.1, 1.0, 1.0, at_worst=CAUTION)).verdict == CAUTION


def test_together_keeps_every_case_and_the_design_factor_of_each():
    both = together(
        single(np.array([2.0, 3.0]), np.array([1.0, 1.0]), 1.0),
        single(np.array([5.0]), np.array([1.0]), 6.0),
    )
    judged = judge(both)
    assert (judged.verdict, judged.case, judged.design_factor) == (FAIL, 2, 6.0)
    assert together(not_checked("no"), not_checked("neither")).because == "no"


def outcome(verdict, stage, factor=1.0, name="barb_wall"):
    base = outcomes_of("barb")[name]
    return replace(
        base, verdict=verdict, safety_factor=factor, info=replace(base.info, stage=stage)
    )


@pytest.mark.parametrize(
    ("pairs", "verdict"),
    [
        ([("pass", "service"), ("pass", "making")], "pass"),
        ([("pass", "service"), ("caution", "handling")], "pass"),
        ([("pass", "service"), ("not_checked", "handling")], "pass"),
        ([("caution", "service"), ("pass", "making")], "caution"),
        ([("pass", "service"), ("caution", "making")], "caution"),
        ([("not_checked", "service"), ("pass", "making")], "caution"),
        ([("fail", "handling"), ("pass", "service")], "fail"),
        ([("fail", "making"), ("caution", "service")], "fail"),
    ],
)
def test_overall(pairs, verdict):
    results = [outcome(*pair) for pair in pairs]
    assert overall(results) == verdict
    judged = {
        {"service": "barb_seal", "handling": "push_on", "making": "print_wall"}[stage]: judge(
            finding(
                1,
                1,
                1,
                1,
                verdict=np.array([["pass", "caution", "fail", "not_checked"].index(word)]),
            )
        )
        for word, stage in pairs
    }
    if "not_checked" not in [word for word, _ in pairs]:
        codes = np.stack([one.verdict for one in judged.values()])
        assert overall_code([CHECKS[name] for name in judged], codes) == VERDICTS.index(verdict)


def test_governing_is_the_worst_verdict_then_the_least_margin():
    results = [
        outcome("pass", "service", 1.1),
        outcome("caution", "handling", 2.0),
        outcome("caution", "service", 1.7),
        outcome("caution", "making", 0.1),
    ]
    assert governing(results) is results[2]
    failing = outcome("fail", "making", 5.0)
    assert governing([*results, failing]) is failing
    assert governing([outcome("not_checked", "service")]) is None


def test_every_check_of_the_table_exists_with_its_stage_and_sources():
    service = {
        "tube_rating", "barb_seal", "barb_grip", "root_crush", "barb_wall", "tip_wall", "tip_crush",
        "crossing_bores", "wood_seal", "wood_hold", "wood_split", "interference", "self_holding",
    }  # fmt: skip
    handling = {
        "push_on", "side_load", "drive_squash", "drive_buckle", "twist_out", "pull_out",
        "drive_offset", "side_turn", "barb_tug", "pull_check", "line_pull",
    }  # fmt: skip
    making = {
        "exposed_wall", "print_wall", "print_nose", "print_bore", "print_detail", "build_box",
        "heat", "fluid", "use",
    }  # fmt: skip
    # Small parts have checks of their own besides.
    table = {one for kind in ("barb", "tip", "elbow", "tee") for one in wanted(KINDS[kind])}
    by_stage = {stage: {c.id for c in table if c.stage == stage} for stage in
                ("service", "handling", "making")}  # fmt: skip
    assert by_stage == {"service": service, "handling": handling, "making": making}
    assert {n for n, c in CHECKS.items() if c.before_sizing} == {"heat", "fluid", "use"}
    for check in CHECKS.values():
        assert set(check.sources) <= set(SOURCES), check.id
        assert check.remedy, check.id
        assert check.equation, check.id
        assert check.basis in {"published", "from_memory", "judgement", "user", "own"}, check.id
        # The proving pull is set, not a hand's: its hook holds it or fails, and no rule can help.
        if check.stage == "handling" and check.id != "fork_pull":
            assert check.rule, check.id


def test_design_factors_are_those_of_the_table():
    asked = {
        "tube_rating": 1.0, "barb_seal": 1.5, "barb_grip": 1.0, "root_crush": 1.0, "barb_wall": 1.0,
        "tip_wall": 1.0, "tip_crush": 1.0, "crossing_bores": 1.0, "side_load": 1.25,
        "wood_seal": 1.5, "wood_hold": 3.0, "wood_split": 1.0, "interference": 1.0,
        "self_holding": 3.0, "drive_squash": 1.0, "drive_buckle": 1.25, "twist_out": 1.5,
        "pull_out": 1.0, "drive_offset": 2.0, "side_turn": 1.0, "barb_tug": 1.25, "pull_check": 2.0,
        "line_pull": 1.25,
    }  # fmt: skip
    got = outcomes_of("elbow")
    assert {name: got[name].design_factor for name in asked} == asked


def test_each_kind_has_its_checks():
    names = {kind: {info.id for info in wanted(KINDS[kind])} for kind in KINDS}
    assert "crossing_bores" not in names["tip"] | names["barb"]
    assert "crossing_bores" in names["tee"] & names["elbow"]
    assert "wood_hold" not in names["barb"]
    assert "side_turn" not in names["tip"]
    assert "push_on" in names["barb"] & names["tip"] & names["tee"]


def test_three_measurements_alone_say_what_is_not_checked_and_why():
    bare = {"tube_od": None, "tube_material": None, "wood": None, "material": None}
    outcomes = outcomes_of("elbow", **bare)
    assert overall(outcomes.values()) == "caution"
    unknown = {n: one.because for n, one in outcomes.items() if one.verdict == "not_checked"}
    assert {"tube_rating", "barb_seal", "barb_grip", "push_on", "root_crush"} <= set(unknown)
    assert {"wood_seal", "wood_hold", "wood_split", "drive_squash", "twist_out"} <= set(unknown)
    assert all(len(reason) > 10 for reason in unknown.values())
    assert "--wood" in unknown["wood_hold"]
    assert not [n for n, one in outcomes.items() if one.verdict == "fail"]


@pytest.mark.parametrize("temperature", ["58C"])
def test_beyond_a_tubes_known_heat_nothing_about_it_passes(temperature):
    """Its factor is unknown there; an unknown modulus once became an infinite seal."""
    outcomes = outcomes_of("elbow", temperature=temperature)
    for name in ("tube_rating", "barb_seal", "barb_grip", "root_crush"):
        assert outcomes[name].verdict == "not_checked", name


def test_no_two_verdicts_share_a_number_and_each_has_its_word():
    """Once 3 was "not checked" of a check and "no size" of a part, in one record."""
    codes = (result.PASS, result.CAUTION, result.FAIL, result.NOT_CHECKED, result.NO_SIZE)
    assert len(set(codes)) == len(codes)
    assert [result.VERDICTS[code] for code in codes] == [
        "pass", "caution", "fail", "not_checked", "no_size"
    ]  # fmt: skip


def test_a_pass_that_the_field_must_prove_hides_a_closer_one_outright():
    """What is shown is the case to see to: the proof, however much margin it has."""
    two = of([1.1, 5.0], [1.0, 1.0])
    outright = judge(two)
    assert (outright.case, bool(outright.proved)) == (0, False)
    leans = judge(replace(two, proved=np.array([False, True])))
    assert (leans.verdict, leans.case, bool(leans.proved)) == (PASS, 1, True)
    # A caution or a failure hides both, and leans on nothing.
    for capacity, upper, verdict in ((1.0, 1.5, CAUTION), (0.5, 1.0, FAIL)):
        worse = Finding(
            capacity=np.array([capacity, 5.0]),
            capacity_expected=np.array([capacity, 5.0]),
            demand=np.ones(2),
            demand_upper=np.array([upper, 1.0]),
            proved=np.array([True, True]),
        )
        found = judge(worse)
        assert (found.verdict, found.case, bool(found.proved)) == (verdict, 0, False)


def test_what_governs_is_found_for_each_of_many_designs():
    """Three checks over two rows of designs, as one design at a time says."""
    infos = [CHECKS[name] for name in ("barb_seal", "push_on", "print_wall")]
    verdict = np.array([[PASS, FAIL], [CAUTION, PASS], [PASS, FAIL]])
    use = np.array([[1.5, 0.9], [3.0, 1.2], [0.1, 0.2]])
    many = governing_index(infos, verdict[..., None], use[..., None])
    assert many.shape == (2, 1)
    singly = [governing_index(infos, verdict[:, k], use[:, k]) for k in (0, 1)]
    # A caution before a pass; of two failures the one in use at the lesser margin.
    assert [int(one) for one in singly] == [1, 2]
    assert many.ravel().tolist() == [1, 2]


def test_the_slack_of_a_large_number_is_its_millionth_and_of_a_small_one_a_millionth():
    for number, slack in ((1e6, 1.0), (0.1, 1e-6)):
        one = single(np.array([number - 0.9 * slack]), np.array([number]))
        assert judge(one).verdict == PASS
        outright = outright_or_proved(one, np.array([0.0]), 1.0)
        assert (judge(outright).verdict, bool(judge(outright).proved)) == (PASS, False)
        proved = outright_or_proved(
            single(np.array([number / 2.0]), np.array([number])),
            np.array([number - 0.9 * slack]),
            1.0,
        )
        assert (judge(proved).verdict, bool(judge(proved).proved)) == (PASS, True)
        short = np.array([number - 1.5 * slack])
        assert judge(single(short, np.array([number]))).verdict == FAIL
        assert judge(outright_or_proved(single(short, np.array([number])), short, 1.0)).verdict == (
            FAIL
        )


def test_advice_is_that_of_the_case_that_counts_or_of_all():
    three = replace(
        of([3.0, 1.2, 2.0], [1.0, 1.0, 1.0]), advice={"own": np.array([10.0, 20.0, 30.0]), "all": 7}
    )
    told = judge(three).advice
    assert {name: float(value) for name, value in told.items()} == {"own": 20.0, "all": 7.0}
    more = replace(three, more_advice=lambda: {"late": np.array([1.0, 2.0, 3.0])})
    assert float(judge(more).advice["late"]) == 2.0
    assert judge(more, advised=False).advice == {}


def test_of_what_passes_the_least_safety_over_its_own_factor_is_shown():
    two = replace(of([3.0, 2.5], [1.0, 1.0]), design_factor=np.array([1.5, 1.0]))
    judged = judge(two)
    assert (judged.verdict, judged.case) == (PASS, 0)
    assert (judged.safety_factor, judged.design_factor) == (3.0, 1.5)


def test_a_rule_gives_way_to_another_and_that_to_the_last_where_its_number_is_nought():
    blow, twist = CHECKS["drive_buckle"], CHECKS["twist_out"]
    by_hand = {"hammer_g": 50.0, "driver_hammer_g": 100.0}
    assert blow.rule_for(by_hand) == (blow.rule, "hammer_g")
    assert blow.rule_for({**by_hand, "hammer_g": 0.0}) == (blow.rule_else, "driver_hammer_g")
    none = dict.fromkeys(by_hand, 0.0)
    assert blow.rule_for(none) == (blow.rule_none, "driver_hammer_g")
    # What is told as 0 g is no hammer, though it is more than nought.
    little = {**by_hand, "hammer_g": 0.4}
    assert blow.rule_for(little) == (blow.rule_else, "driver_hammer_g")
    assert blow.rule_for(dict.fromkeys(by_hand, 0.4))[0] == blow.rule_none
    assert blow.rule_for({**by_hand, "hammer_g": 1.4}) == (blow.rule, "hammer_g")
    # Without a last one the other stands, whatever its number.
    assert not twist.rule_none
    assert twist.rule_for({}) == (twist.rule_else, "safe_torque_nm")


def test_the_table_stands_in_the_order_of_service_first_and_each_check_says_what_it_asks():
    rooms = [info.function.__module__.rsplit(".", 1)[1] for info in CHECKS.values()]
    assert list(dict.fromkeys(rooms)) == [
        "sealing", "strength", "wood", "driving", "tools", "printing",
    ]  # fmt: skip
    assert all(info.explanation.startswith("Return ") for info in CHECKS.values())
    # None is lost; a tool's are its kind's alone.
    assert len(CHECKS) == 44


def test_a_kinds_own_checks_are_wanted_of_it_alone():
    assert {name for name, kind in KINDS.items() if CHECKS["end_wall"] in wanted(kind)} == {"cap"}
    assert CHECKS["fork_pull"] in wanted(KINDS["fork"])


@pytest.mark.parametrize("kind", ["barb", "tip", "elbow"])
def test_many_designs_at_once_are_judged_as_one_by_one(kind):
    base = conditions_of()
    bits = np.array([5.5, 6.0, 6.5])

    def judged(values):
        at = replace(base, bit_mm=values, hole_low_mm=values + 0.1, hole_high_mm=values + 0.4)
        return judge_all(design_part(KINDS[kind], at))

    many = judged(bits)
    for index, bit in enumerate(bits):
        for name, one in judged(float(bit)).items():
            for number in ("verdict", "capacity", "demand", "demand_upper", "safety_factor"):
                value = np.broadcast_to(getattr(many[name], number), bits.shape)[index]
                alone = float(np.ravel(getattr(one, number))[0])
                assert value == pytest.approx(alone, rel=1e-9, nan_ok=True), (name, number)


def test_a_torque_in_a_rule_is_the_one_that_was_advised():
    from barbwright.checks.table import fill_rule

    assert fill_rule("at most {most_nm:torque}", {"most_nm": 0.66}) == (
        "at most 0.66 N m (5.8 in lbf)"
    )


@pytest.mark.parametrize("check", ["line_pull", "barb_tug"])
@pytest.mark.parametrize(("tug_n", "any_tug"), [(0.0, True), (0.004, True), (0.3, True),
                                                (1.2, False), (30.0, False)])  # fmt: skip
def test_a_limit_that_would_be_told_as_nought_is_left_out(check, tug_n, any_tug):
    """0.004 N was told as "a tug of 0 N", and 0.3 N is 0 lbf to who reads pounds."""
    from barbwright.checks.table import fill_rule

    info = CHECKS[check]
    advice = {info.rule_value: tug_n}
    said = fill_rule(info.rule_for(advice)[0], advice, info.rule_rounds)
    assert ("any tug" in said) == any_tug
    assert ("a tug of" in said) != any_tug
    assert " 0 N" not in said
    assert "(0 lbf)" not in said
