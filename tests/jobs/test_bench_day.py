"""A bench day from the plan to the checks that take it, in a profile folder of the test's own."""

import math
import random
import re
from dataclasses import replace

import pytest

from barbwright import catalog
from barbwright.catalog.folders import USER_FOLDER_VARIABLE
from barbwright.checks.result import CHECKS
from barbwright.checks.table import judge_all
from barbwright.design.measured import PRODUCTS, TESTS, UNTOLD, Figures, shares
from barbwright.design.part import KINDS
from barbwright.errors import InputError
from barbwright.inference.products import Prior, Spreads
from barbwright.inference.worth import Stake, expected_loss
from barbwright.job.reading import read_job
from barbwright.jobs.bench import (
    GAUGES,
    bench_document,
    form_csv,
    form_rows,
    keep_plan,
    kept_parts,
    plan_bench,
)
from barbwright.jobs.bench_log import BenchPart, judge_bench, predicted, prior_of
from barbwright.jobs.plan import plan_part
from barbwright.jobs.record import encode
from barbwright.logs.bench import read_bench
from barbwright.logs.columns import BENCH
from barbwright.logs.table import read_table

DEMO = {
    "tube_id": "0.170in", "tube_od": "0.250in", "tube_material": "LLDPE", "bit": "15/64",
    "pressure": "45psi", "wood": "oak northern red",
}  # fmt: skip
HEAD = ",".join(column.name for column in BENCH.columns) + "\n"


@pytest.fixture(autouse=True)
def _own_profile(tmp_path, monkeypatch):
    monkeypatch.setenv(USER_FOLDER_VARIABLE, str(tmp_path / "profiles"))


@pytest.fixture(scope="module")
def day():
    return plan_bench("tip", read_job(DEMO), parts=3, gauges=GAUGES, hours=3.0)


@pytest.fixture(scope="module")
def part(day):
    return BenchPart(label="1", job=day.plan.job, design=day.plan.design)


@pytest.fixture
def learn(part, tmp_path):
    def from_rows(*rows, save=False):
        path = tmp_path / "bench.csv"
        path.write_text(HEAD + "".join(row + "\n" for row in rows))
        judged = judge_bench(read_bench(read_table(path)), [part], catalog.measured_records())
        if save:
            for one in judged.learned:
                catalog.save_measured(one.record)
        return judged

    return from_rows


def pulls(part, truth, count=10, log="1", seed=5, wrong=None):
    """Rows of pulls whose hold is so many times what the check expects, one of them in lbf."""
    draw = random.Random(seed)
    hold = next(r for r in plan_part(part.design.kind, part.job).results
                if r.info.id == "wood_hold")  # fmt: skip
    travel = float(part.design.tip.contact_mm)
    rows = []
    for hole in range(1, count + 1):
        newtons = hold.capacity_expected * truth * math.exp(draw.gauss(0.0, 0.2))
        if hole == wrong:
            newtons *= 0.2248
        rows.append(f"2026-11-28,{log},oak northern red,{hole},1,,,pull,{travel},10,"
                    f"{newtons:.1f},N,yes,")  # fmt: skip
    return rows


def test_the_plan_asks_first_for_what_changes_verdicts_most_by_the_hour(day):
    assert day.sessions[0].worth_per_hour == max(one.worth_per_hour for one in day.sessions)
    assert day.left < 0.5 * day.loss
    assert day.minutes <= 60.0 * day.hours
    assert "hold" in {one.product.id for one in day.sessions}


def test_without_a_scale_or_a_wood_their_tests_are_left_out_and_said():
    few = plan_bench("tip", read_job(DEMO), parts=1, gauges=("calipers",), hours=3.0)
    assert any("needs a scale" in line for line in few.idle)
    bare = read_job({**DEMO, "wood": None})
    assert any("no wood is named" in line for line in
               plan_bench("tip", bare, parts=1, gauges=GAUGES, hours=3.0).idle)  # fmt: skip


def test_the_form_is_the_log_with_its_readings_left_open(day, tmp_path):
    path = tmp_path / "form.csv"
    path.write_bytes(form_csv(form_rows(day), day.plan.number))
    assert path.read_text().splitlines()[0] + "\n" == HEAD
    table = read_table(path)
    assert len(table) >= sum(one.count for one in day.sessions)
    with pytest.raises(InputError, match="no reading"):
        judge_bench(read_bench(table), [], {})


def test_the_planned_parts_are_known_when_the_log_is_read(day):
    assert kept_parts({"1"}) == ((), "")
    keep_plan(day)
    parts, said = kept_parts({"1", ""})
    assert [one.label for one in parts] == ["1", "2", "3", ""]
    assert encode(parts[0].job) == encode(day.plan.job)
    assert day.plan.number in said


def test_a_form_is_read_as_its_own_part_after_another_was_planned(day, tmp_path):
    """Each form's file names its part; only a number alone is of the last one planned, and said."""
    keep_plan(day)
    rows = form_csv(form_rows(day), day.plan.number).decode().splitlines()[1:]
    labels = {row.split(",")[4] for row in rows}
    other = plan_bench("tip", read_job({**DEMO, "bit": "1/4in"}), parts=2, gauges=GAUGES, hours=1.0)
    keep_plan(other)
    parts, said = kept_parts(labels)
    assert {one.label for one in parts} == labels
    assert encode(parts[0].job) == encode(day.plan.job)
    assert said == ""
    mixed, said = kept_parts({*labels, "1"})
    assert {one.label: encode(one.job) for one in mixed}["1"] == encode(other.plan.job)
    assert other.plan.number in said


def test_a_part_that_was_not_planned_is_a_fault_of_its_line(learn):
    row = "2026-11-28,1,oak northern red,1,7,,,pull,7,10,30,N,yes,"
    with pytest.raises(InputError, match="line 2: this part is none"):
        learn(row)


@pytest.mark.parametrize("truth", [0.6, 1.0, 1.6])
def test_ten_pulls_find_the_truth_and_name_the_wrong_one(learn, part, truth):
    judged = learn(*pulls(part, truth, wrong=4))
    (hold,) = judged.learned
    species, judgement = hold.found.species, hold.judged
    assert species.low < truth * judgement < species.high
    assert [(one.line, one.row) for one in judged.doubtful] == [(5, 4)]
    assert "lbf" in judged.doubtful[0].why
    assert hold.record.measured.n == 10


def test_what_was_learned_is_taken_by_the_checks_and_said(learn, part):
    before = plan_part(part.design.kind, read_job(DEMO))
    learn(*pulls(part, 1.6), save=True)
    job = read_job(DEMO)
    after = plan_part(part.design.kind, job)
    (one,) = after.measured
    assert one.record.status == "measured, 10 readings, 1 log, 2026-11-28"
    assert "wood_hold" in one.sentence
    hold = {r.info.id: r for r in after.results}["wood_hold"]
    # Lower is the predictive 5 % of new trees and holes, in place of the species' percentile.
    assert hold.capacity / hold.capacity_expected == pytest.approx(one.lower / one.expected)
    assert before.measured == ()
    assert before.number != after.number


def test_without_measured_is_as_it_was_before(learn, part):
    before = plan_part(part.design.kind, read_job(DEMO))
    learn(*pulls(part, 1.6), save=True)
    without = plan_part(part.design.kind, read_job({**DEMO, "without": "measured"}))
    assert without.results == before.results
    assert without.number == before.number


def test_what_is_set_by_hand_wins_over_what_was_measured(learn, part):
    learn(*pulls(part, 1.6), save=True)
    job = read_job(DEMO, settings=("wood_friction_hold=0.3",))
    assert job.measured == ()
    assert any("set by hand" in warning for warning in job.warnings)


@pytest.mark.parametrize("other", [{"wood": "yellow-poplar"}, {"material": "sls_pa12"}])
def test_another_wood_or_print_takes_nothing_of_it(learn, part, other):
    learn(*pulls(part, 1.6), save=True)
    assert read_job({**DEMO, **other}).measured == ()


def test_the_same_file_logged_twice_counts_once_and_a_second_log_counts(learn, part):
    learn(*pulls(part, 1.6, count=3), save=True)
    again = learn(*pulls(part, 1.6, count=3), save=True)
    assert again.learned[0].fresh == 0
    assert again.learned[0].record.measured.n == 3
    more = learn(*pulls(part, 1.6, count=3, log="2", seed=6))
    assert (more.learned[0].record.measured.n, more.learned[0].record.measured.logs) == (6, 2)
    assert more.learned[0].found.species.over_prior < again.learned[0].found.species.over_prior


def test_a_mended_file_takes_its_own_mistake_away(learn, part):
    """The named slip is mended and the file logged again: nothing of it stays, and that is said."""
    spoilt, right = pulls(part, 1.6, count=5, wrong=3), pulls(part, 1.6, count=5)
    assert learn(*spoilt, save=True).doubtful
    (mended,) = learn(*right, save=True).learned
    assert (mended.fresh, mended.replaced, mended.record.measured.n) == (1, 1, 5)
    clean = learn(*right).learned[0]
    assert mended.found.species == clean.found.species


def test_a_day_that_a_spreadsheet_wrote_anew_is_the_same_day(learn, part):
    for day in ("2026-11-28", "28.11.2026", "11/28/2026", "28/11/2026", "2026/11/28"):
        rows = [row.replace("2026-11-28", day) for row in pulls(part, 1.6, count=3)]
        (one,) = learn(*rows, save=True).learned
        assert (one.record.measured.n, one.record.measured.logs) == (3, 1), day


@pytest.mark.parametrize("written", ["3/4/2026", "04.13.2026", "last week", "28.11.26"])
def test_a_day_that_may_be_two_is_a_fault_of_its_line(learn, part, written):
    row = pulls(part, 1.6, count=1)[0].replace("2026-11-28", written)
    with pytest.raises(InputError, match="line 2: the date is no day"):
        learn(row)


def test_a_form_is_dated_once_and_an_undated_one_is_refused(learn, part):
    rows = pulls(part, 1.6, count=3)
    under = [rows[0], *(row.replace("2026-11-28", "") for row in rows[1:])]
    assert learn(*under).learned[0].record.measured.date == "2026-11-28"
    with pytest.raises(InputError, match="line 2: the day of the reading is not written"):
        learn(*(row.replace("2026-11-28", "") for row in rows))


def test_a_pasted_line_counts_once_and_is_said(learn, part):
    rows = pulls(part, 1.6, count=3)
    judged = learn(*rows, rows[1])
    assert judged.learned[0].record.measured.n == 3
    assert any("lines 3 and 5" in warning for warning in judged.warnings)


def test_kilograms_written_as_pounds_are_named_as_such(learn, part):
    rows = pulls(part, 1.6, count=10)
    in_lb = [re.sub(r",([0-9.]+),N,", lambda at: f",{float(at[1]) / 4.4482216:.3f},lb,", row)
             for row in rows]  # fmt: skip
    kilograms = float(rows[3].split(",")[10]) / 9.80665
    in_lb[3] = re.sub(r",([0-9.]+),lb,", f",{kilograms:.3f},lb,", in_lb[3])
    (doubt,) = [one for one in learn(*in_lb).doubtful if one.line == 5]
    assert "kgf written as lbf" in doubt.why
    assert "be careful of" in doubt.why


def test_two_weep_pressures_of_one_seat_tell_relaxation_and_one_alone_nothing(learn):
    row = "2026-11-28,1,oak northern red,{},1,,,weep,,{},{},psi,yes,"
    judged = learn(row.format(1, 0, 100), row.format(1, 10, 42), row.format(2, 10, 30))
    (one,) = judged.learned
    assert one.product.id == "relaxation"
    assert one.found.logs[0].median == pytest.approx(0.42, rel=0.05)
    assert any("line 4" in warning and "told nothing" in warning for warning in judged.warnings)


def test_a_low_held_pull_told_nothing_and_says_so(learn, part):
    row = pulls(part, 0.1, count=1)[0].replace(",yes,", ",held,")
    (one,) = learn(row).learned
    assert not one.told


def test_every_test_of_the_form_can_be_logged(learn, day):
    """One row each: the product it names is learned on its wood or tube."""
    travel = float(day.plan.design.tip.contact_mm)
    rows = {
        "pull": (travel, 10, 30, "N"), "drive": (travel, 0, "300..340", "N"),
        "twist": (travel, 10, 0.3, "N m"), "push": ("", "", 60, "N"), "pull_off": ("", "", 90, "N"),
        "step": ("", "", 0.15, "mm"), "hole": ("", "", 0.25, "mm"),
    }  # fmt: skip
    assert set(rows) | {"weep"} == set(TESTS)
    judged = learn(*(f"2026-11-28,1,oak northern red,1,1,,,{test},{a},{b},{c},{u},yes,"
                     for test, (a, b, c, u) in rows.items()), save=True)  # fmt: skip
    assert {one.product.test for one in judged.learned} == set(rows)
    job = read_job(DEMO)
    assert {one.product for one in job.measured} == {one.product.id for one in judged.learned}
    assert job.rules["step_loss_mm"] != catalog.judgements()["step_loss_mm"].value
    assert plan_part(day.plan.kind, job).design is not None


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("2026-11-28,1,oak northern red,1,1,,,tickle,7,10,30,N,yes,", "line 2: no such test"),
        ("2026-11-28,1,oak northern red,1,1,,,pull,7,10,30,psi,yes,", "line 2: "),
        ("2026-11-28,1,oak northern red,1,1,,,pull,,10,30,N,yes,", "line 2: the travel"),
        ("2026-11-28,1,oak northern red,1,1,,,pull,7,10,30,N,perhaps,", "line 2: moved"),
        ("2026-11-28,1,,1,1,,,pull,7,10,30,N,yes,", "line 2: the wood"),
        ("2026-11-28,1,elm of the moon,1,1,,,pull,7,10,30,N,yes,", "line 2: "),
        (
            "2026-11-28,1,oak northern red,1,1,,,pull,0.5,10,30,N,yes,",
            "line 2: the travel is too short",
        ),
        ("2026-11-28,1,oak northern red,1,1,,,pull,7,10,0,N,yes,", "line 2: a reading of nothing"),
    ],
)
def test_a_row_that_cannot_be_read_is_named_by_its_line(learn, row, said):
    with pytest.raises(InputError) as error:
        learn(row)
    assert said in str(error.value)


def test_every_unit_that_the_columns_name_is_read(learn, part):
    """As `explain log` says them; a scale's kg and lb are the force that pulled it."""
    travel, unit = float(part.design.tip.contact_mm), {"N": 1.0, "lbf": 4.4482216152605}
    unit |= {"lb": unit["lbf"], "kgf": 9.80665, "kg": 9.80665}
    said = next(column.meaning for column in BENCH.columns if column.name == "unit")
    found = []
    for word, newtons in unit.items():
        assert re.search(rf"\b{word}\b", said)
        (one,) = learn(f"2026-11-28,1,oak northern red,1,1,,,pull,{travel},10,{60.0 / newtons:.6f},"
                       f"{word},yes,").learned  # fmt: skip
        found.append(one.record.readings[0].low)
    assert found == pytest.approx([found[0]] * len(found), rel=1e-5)


def test_each_product_has_a_prior_with_its_reasons():
    judgements = catalog.judgements()
    for product in PRODUCTS.values():
        prior = prior_of(product, judgements, 0.05)
        assert prior.factor > 1.0
        for name in product.rules:
            assert len(judgements[name].prior_reason) > 20
            assert judgements[name].least < judgements[name].prior_median < judgements[name].most


def test_a_product_of_two_is_less_sure_than_either():
    judgements = catalog.judgements()
    both = prior_of(PRODUCTS["hold"], judgements, 0.05).deviation
    alone = prior_of(PRODUCTS["relaxation"], judgements, 0.0).deviation
    assert both > alone


@pytest.mark.parametrize("name", ["hold", "drive"])
def test_at_another_taper_the_worse_of_both_readings_is_taken(part, name):
    rules, product = part.job.rules, PRODUCTS[name]
    value = 0.5 * float(product.value(rules, 0.05))
    there = {name: Figures(lower=value, expected=value, upper=value, taper=0.05)}
    for taper in (0.05, 0.1):
        share = float(shares(there, name, rules, taper)[1])
        if taper == 0.05:
            assert share == pytest.approx(0.5)
        else:
            # A steeper taper takes more of a low friction away, and is driven harder for it.
            assert share <= 0.5 if product.rises else share >= 0.5


def test_readings_are_held_to_the_checks_own_function(part):
    """Of hold: at the travel as written, the capacity that wood_hold expects, over the product."""
    travel = float(part.design.tip.contact_mm)
    judged = predicted(PRODUCTS["hold"], part.design, travel)
    product = float(PRODUCTS["hold"].value(part.job.rules, float(part.design.tip.taper)))
    hold = next(r for r in plan_part(part.design.kind, part.job).results
                if r.info.id == "wood_hold")  # fmt: skip
    assert judged * product == pytest.approx(hold.capacity_expected, rel=0.06)
    assert predicted(PRODUCTS["hold"], part.design, travel + 2.0) > judged


def test_a_verdict_with_much_to_spare_is_not_worth_a_reading():
    prior, spreads = Prior(median=1.0, factor=2.0), Spreads(reading=0.2, hole=0.2, log=0.2)
    near, far = (Stake(margin=m, passes=True, sensitivity=1.0) for m in (0.3, 4.0))

    def loss(stake, readings, logs=1):
        return expected_loss(stake, prior, 1.0, spreads, readings, logs)

    gain = [loss(one, 0) - loss(one, 3) for one in (near, far)]
    assert gain[0] > 0.1
    assert abs(gain[1]) < 1e-3
    assert loss(near, 9, logs=3) < loss(near, 9)


def repr_of(results):
    return {name: repr(one) for name, one in results.items()}


def host_measured(design, measured):
    """A design whose conditions, and those of the part a tool is for, hold what was measured."""
    own = design.own
    if own is not None and own.made_for is not None:
        host = own.made_for
        host = replace(host, conditions=replace(host.conditions, measured=measured))
        design = replace(design, own=replace(own, host=host))
    return replace(design, conditions=replace(design.conditions, measured=measured))


@pytest.mark.parametrize("name", ["tip", "elbow", "cap", "driver", "fork"])
def test_the_checks_a_product_names_are_those_that_change_with_it(name):
    """A verdict that takes a measured figure and does not say so is as wrong as the other way."""
    kind = KINDS[name]
    design = plan_part(kind, read_job(DEMO, needs_tip=kind.needs_bit)).design
    tip = design.tip
    if design.own is not None and design.own.made_for is not None:
        tip = design.own.made_for.tip
    taper = 0.0 if tip is None else float(tip.taper)
    before = repr_of(judge_all(host_measured(design, {})))
    for product in PRODUCTS.values():
        if product.unit == "length":
            continue
        value = float(product.value(design.conditions.rules, taper))
        one = Figures(lower=1.1 * value, expected=1.4 * value, upper=1.9 * value, taper=taper)
        after = repr_of(judge_all(host_measured(design, {product.id: one})))
        changed = {check for check in before if before[check] != after[check]}
        named = set(product.taken_by({product.id})) & set(before)
        # Of an elbow only the neck, not the wood, limits a pull along the line; a tip in line has
        # no wings on its driver, so no twist frees it, only its fork.
        silent = {"line_pull", "pull_out"} if name == "tip" else {"line_pull"}
        assert changed - named == set(), product.id
        assert named - changed <= silent, product.id


def test_every_check_that_leans_on_judgement_takes_a_measurement_or_is_told_why_not():
    taken = {name for product in PRODUCTS.values() for name in product.taken_by(())}
    told = {name for names, _ in UNTOLD for name in names}
    leaning = {info.id for info in CHECKS.values() if info.judgement}
    assert leaning - taken - told == set()
    assert told | taken <= set(CHECKS)


def test_the_bench_plan_says_what_no_test_tells_of_this_part(day):
    said = " ".join(day.untold)
    assert "barb_seal" in said
    assert "plain post" in said
    assert "driver_wings" not in said
    assert bench_document(day, [])["untold"] == list(day.untold)
