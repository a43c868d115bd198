"""A day at the trees, simulated through the chain's own network with a known tree."""

import functools
import re

import numpy as np
import pytest

from barbwright import catalog
from barbwright.catalog.folders import USER_FOLDER_VARIABLE
from barbwright.chain.plan import MM3_S_PER_ML_MIN, build_network, solve_plan
from barbwright.chain.told import with_conductance
from barbwright.chain.uptake import TREES_DIFFER
from barbwright.chain.what_if import flow_ml_min
from barbwright.equations.vessel import pressure_after_delivery_mpa
from barbwright.errors import InputError
from barbwright.job.reading import read_job
from barbwright.jobs.chain import plan_chain, tree_uptake
from barbwright.jobs.chain_inputs import read_chain_inputs
from barbwright.jobs.field_log import field_document, judge_field, keep_field, kept_uses
from barbwright.jobs.log import tell_field
from barbwright.logs.field import read_field
from barbwright.logs.table import read_table

pytestmark = pytest.mark.usefixtures("rated_once")

JOB = {
    "tube_id": "0.170in", "tube_od": "0.250in", "tube_material": "LLDPE", "bit": "15/64",
    "pressure": "45psi", "wood": "oak northern red",
}  # fmt: skip
CHAIN = {
    "ports": "4", "species": "red oak", "vessel_volume": "12 L", "air_head": "6 L",
    "volume_per_tree": "3 L",
}  # fmt: skip
HEAD = (
    "tree,species,date,time [min],pressure [kPa],level [mL],closed,port,part,pull [N],moved,drips\n"
)
TRUTH = 0.3


@pytest.fixture(autouse=True)
def _own_profile(tmp_path, monkeypatch):
    monkeypatch.setenv(USER_FOLDER_VARIABLE, str(tmp_path / "profiles"))


@functools.cache
def chain():
    return plan_chain(read_job(JOB), CHAIN)


def simulated(minutes=16.0, every=1.0, dead=(), dies_at=None, closed=lambda _t: (), pumped=None):
    """True readings: minutes, delivered [mL], gauge [MPa], closed ports; small steps in time."""
    plan = with_conductance(chain().plan, TRUTH, TRUTH, TRUTH)
    network, step = build_network(plan), 0.1
    each = TRUTH * 1000.0 * MM3_S_PER_ML_MIN
    start, ambient = plan.supply_mpa + plan.atmosphere_mpa, plan.atmosphere_mpa
    gone, rows, last, before = 0.0, [], None, 0.0
    for index in range(round(minutes / step) + 1):
        t = round(index * step, 6)
        head, n = plan.vessel.air_head_ml, plan.vessel.expected_exponent
        if pumped is not None and t == pumped:
            before = gone
        head += before
        gauge = float(pressure_after_delivery_mpa(start, head, gone - before, n)) - ambient
        shut = closed(t)
        lost = set(shut) | (set(dead) if dies_at is None or t >= dies_at else set())
        if index % round(every / step) == 0:
            rows.append((t, gone, gauge, shut))
        factors = np.array([0.0 if port + 1 in lost else 1.0 for port in range(plan.ports)])
        last = network.solve(gauge, each * factors, last)
        gone += float(last.flow_mm3_s.sum()) / MM3_S_PER_ML_MIN * step
        last = last.flow_mm3_s
    return rows


def written(rows, tmp_path, noise_ml=0.0, gauge=False, level=True, extra=(), name="pond oak"):
    draw, full = np.random.default_rng(7), chain().plan.vessel.liquid_ml
    lines = [HEAD]
    for t, gone, mpa, shut in rows:
        left = f"{full - gone + noise_ml * draw.standard_normal():.1f}" if level else ""
        shown = f"{1000.0 * mpa:.2f}" if gauge else ""
        ports = " ".join(map(str, shut))
        lines.append(f"{name},oak northern red,2026-11-28,{t},{shown},{left},{ports},,,,,\n")
    lines += [line + "\n" for line in extra]
    path = tmp_path / "field.csv"
    path.write_text("".join(lines))
    return path


def logged(levels, tmp_path, every=1.0):
    """Levels as somebody read them, one after another."""
    rows = [f"pond oak,,,{every * i},,{level:.1f},,,,,,\n" for i, level in enumerate(levels)]
    path = tmp_path / "field.csv"
    path.write_text("".join([HEAD, *rows]))
    return path


def judged(path):
    return judge_field(
        read_field(read_table(path)), chain(), catalog.trees().values(),
        catalog.measured_records(), kept_uses(),
    )  # fmt: skip


@pytest.fixture(scope="module")
def plain():
    return simulated()


def test_a_level_tells_the_trees_uptake_to_a_few_per_cent(plain, tmp_path):
    (day,) = judged(written(plain, tmp_path, noise_ml=50.0)).days
    assert day.told.low < TRUTH < day.told.high
    assert day.told.expected == pytest.approx(TRUTH, rel=0.08)
    assert day.told.blocked == ()


@pytest.mark.slow
def test_a_run_that_another_law_made_widens_the_range_and_is_said(plain, tmp_path):
    """Pressure kept up by hand: the level falls evenly, which an air head that expands cannot."""
    steady = [(t, 140.0 * t, mpa, shut) for t, _, mpa, shut in plain]
    (day,) = judged(written(steady, tmp_path, noise_ml=5.0)).days
    assert any("does not follow" in note for note in day.told.said)
    (good,) = judged(written(plain, tmp_path, noise_ml=5.0)).days
    assert not any("does not follow" in note for note in good.told.said)
    wide, narrow = (np.log(one.told.high / one.told.low) for one in (day, good))
    assert wide > 1.3 * narrow


def test_a_gauge_alone_tells_it_through_the_air_head(plain, tmp_path):
    (day,) = judged(written(plain, tmp_path, gauge=True, level=False)).days
    assert day.told.delivered.by == "gauge"
    assert day.told.low < TRUTH < day.told.high


def test_times_of_finish_stop_and_pumping_come_out_in_order(plain, tmp_path):
    (day,) = judged(written(plain, tmp_path)).days
    assert day.recharge.expected < day.finish.expected < day.stop.expected
    for found in (day.recharge, day.finish, day.stop):
        assert found.low <= found.expected <= found.high
    # The simulation itself: 3 L had gone in by then, without a pumping.
    minutes, gone = np.array([row[:2] for row in plain]).T
    assert day.finish.expected <= np.interp(3000.0, gone, minutes) * 1.05


@pytest.mark.slow
def test_a_port_that_never_drank_is_not_told_by_the_total(tmp_path):
    rows = simulated(dead=(2,))
    (day,) = judged(written(rows, tmp_path, noise_ml=5.0)).days
    assert day.told.blocked == ()


def test_a_port_that_stops_in_the_run_is_told_by_the_drop_but_not_which(tmp_path):
    rows = simulated(dead=(2,), dies_at=6.0, every=0.5)
    (day,) = judged(written(rows, tmp_path, noise_ml=5.0)).days
    (found,) = day.told.blocked
    assert (found.ports, found.count) == ((), 1)
    assert "cannot be told from the total" in found.how


@pytest.mark.slow
def test_closing_ports_one_at_a_time_tells_which_takes_nothing(tmp_path):
    def closing(t):
        return (int(t - 4.0) // 2 + 1,) if 4.0 <= t < 12.0 else ()

    rows = simulated(dead=(3,), closed=closing)
    (day,) = judged(written(rows, tmp_path, noise_ml=5.0)).days
    assert [found.ports for found in day.told.blocked] == [(3,)]
    assert "with port 3 closed" in day.told.blocked[0].how


def test_a_run_that_began_with_all_ports_shut_is_told_at_what_they_had_when_open(tmp_path):
    """The gauge is highest while nothing flows: what is shut off has no share in the answer."""
    rows = simulated(minutes=12.0, closed=lambda t: (1, 2, 3, 4) if t < 2.0 else ())
    (day,) = judged(written(rows, tmp_path, noise_ml=5.0)).days
    opened = max(mpa for t, _, mpa, shut in rows if not shut)
    assert 0.5 * opened < day.told.hole_mpa < opened
    assert truth_within(day.told)


def truth_within(told):
    return told.low < TRUTH < told.high


@pytest.mark.slow
def test_what_a_port_takes_is_told_by_the_ports_that_drank(tmp_path):
    """Two of four ports fall out, or one is found shut: the range holds the others' uptake."""
    lost = simulated(minutes=20.0, dead=(2, 3), dies_at=8.0)
    (day,) = judged(written(lost, tmp_path, noise_ml=10.0)).days
    assert day.told.blocked
    assert truth_within(day.told)
    assert any("ports that drank" in note for note in day.told.said)
    one_by_one = simulated(
        minutes=24.0, dead=(2,), closed=lambda t: (int(t // 4),) if 4 <= t < 20 else ()
    )
    (day,) = judged(written(one_by_one, tmp_path, noise_ml=5.0)).days
    assert [one.ports for one in day.told.blocked] == [(2,)]
    assert truth_within(day.told)


def test_a_gauge_read_over_two_pumpings_knows_how_the_air_head_grew(tmp_path):
    """Pumped up after 5 of 15 minutes: the longer stretch is read, over the larger air head."""
    (day,) = judged(written(simulated(pumped=5.0), tmp_path, gauge=True, level=False)).days
    assert day.told.delivered.by == "gauge"
    assert truth_within(day.told)
    assert day.told.expected == pytest.approx(TRUTH, rel=0.05)
    assert "pumped up on the way" in day.told.said[0]


@pytest.mark.slow
def test_two_days_of_a_tree_are_two_runs_however_often_they_are_logged(plain, tmp_path):
    """In one file, in two, and again: a day takes its own place."""
    (head, *first) = written(plain, tmp_path).read_text().splitlines(keepends=True)
    slow = [(t, 0.6 * gone, mpa, shut) for t, gone, mpa, shut in plain]
    (_, *second) = written(slow, tmp_path).read_text().splitlines(keepends=True)
    second = [line.replace("2026-11-28", "2026-12-05") for line in second]
    path = tmp_path / "both.csv"
    path.write_text("".join([head, *first, *second]))
    for _ in range(2):
        keep_field(judged(path))
        (tree,) = catalog.trees().values()
        assert (tree.runs, tree.date) == (2, "2026-12-05")
    one, other = (run.expected for run in tree.each)
    assert tree.expected == pytest.approx((one * other) ** 0.5)
    path.write_text("".join([head, *first]))
    keep_field(judged(path))
    (again,) = catalog.trees().values()
    assert again.runs == 2
    assert again.expected == pytest.approx(tree.expected, rel=1e-3)


def test_a_card_names_tree_and_day_once(plain, tmp_path):
    (head, first, *rest) = written(plain, tmp_path).read_text().splitlines(keepends=True)
    bare = [line.replace("pond oak,oak northern red,2026-11-28", ",,") for line in rest]
    path = tmp_path / "field.csv"
    path.write_text("".join([head, first, *bare]))
    (day,) = judged(path).days
    assert (day.run.tree, day.run.date, len(day.run.minutes)) == ("pond oak", "2026-11-28", 17)


@pytest.mark.slow
def test_the_page_shows_seats_pulls_and_which_day_a_line_is(plain, tmp_path):
    seats = ["pond oak,oak northern red,2026-11-28,,,,,2,T2,40,no,yes"]
    path = written(plain, tmp_path, extra=seats)
    told = tell_field(read_table(path), path, chain(), 0.0)
    page = told.page().decode()
    for word in ("Seats", "T2", "40 N", "Products", "hold of a seat", "pond oak 2026-11-28"):
        assert word in page
    stop = next(line for line in told.lines if "stop at the latest" in line)
    latest = float(re.search(r"after ([0-9.]+) min", stop)[1])
    assert latest <= judged(path).days[0].stop.low


def test_pulls_feed_the_hold_and_uses_are_counted_toward_retirement(tmp_path):
    seats = [f"pond oak,oak northern red,2026-11-28,,,,,{port},T{port},40,no,{drips}"
             for port, drips in ((1, "no"), (2, "yes"), (3, "no"), (4, "no"))]  # fmt: skip
    day = judged(written([], tmp_path, extra=seats))
    assert day.pulls.learned[0].product.id == "hold"
    assert day.pulls.learned[0].record.measured.n == 4
    assert [seat.port for seat in day.days[0].drips] == ["2"]
    keep_field(day)
    again = judged(written([], tmp_path, extra=seats))
    # The same day logged again is no further use.
    assert set(again.uses.values()) == {1}
    ten = [line.replace("2026-11-28", f"2026-12-{n:02}") for n in range(1, 10) for line in seats]
    worn = judged(written([], tmp_path, extra=[*seats, *ten]))
    assert worn.uses["T1"] == 10
    assert any("retire it" in warning for warning in worn.warnings)


def uptake(**given):
    """What a chain takes a tree for, and where it says that is from."""
    job, said = chain().job, {}
    return tree_uptake(read_chain_inputs({**CHAIN, **given}), job.rules, said), said


def test_what_a_tree_took_comes_before_its_species_and_that_before_the_table(plain, tmp_path):
    table, _ = uptake()
    keep_field(judged(written(plain, tmp_path)))
    own, _ = uptake(species=None, tree="pond oak")
    assert own.expected == pytest.approx(TRUTH, rel=0.03)
    assert "this tree's own (measured, 1 run, 2026-11-28)" in own.notes[0]
    species, said = uptake()
    assert species.expected == pytest.approx(TRUTH, rel=0.03)
    assert "your own trees" in said["species"].origin
    # Another tree of the species is less sure than the tree itself.
    assert species.low < own.low < own.high < species.high
    assert table.expected != species.expected
    elm, _ = uptake(species="American elm")
    assert not elm.own


@pytest.mark.slow
def test_a_chain_of_ones_own_tree_is_scaled_by_nothing(plain, tmp_path):
    keep_field(judged(written(plain, tmp_path)))
    plan = plan_chain(read_job(JOB), {**CHAIN, "species": None, "tree": "pond oak"}).plan
    assert plan.conductance_ml_min_kpa == pytest.approx(TRUTH, rel=0.03)
    assert not any("11 x 40" in note for note in plan.tree_notes)


def test_the_document_holds_what_was_told(plain, tmp_path):
    body = field_document(judged(written(plain, tmp_path)), "field.csv", None)
    assert (body["kind"], body["verdict"]) == ("field", "pass")
    assert body["trees"][0]["finish_minutes"]["expected"] > 0.0


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("oak,,,,,,,1,T1,40,perhaps,no", "line 2: moved"),
        ("oak,,,,,,x,1,T1,40,yes,no", "line 2: closed names no port"),
        (",,,1,,500,,,,,,", "line 2: the tree is not named"),
        ("oak,,,,,,,,,,,", "tells nothing"),
        ("oak,,,0,,99000,,,,,,\noak,,,1,,98000,,,,,,", "no level of the chain's vessel"),
        # Filled up on the way: an uptake of a fifth was told, with a wide range.
        ("oak,,,0,,4000,,,,,,\noak,,,5,,3500,,,,,,\noak,,,9,,4500,,,,,,", "1000 mL more at 9 min"),
    ],
)
def test_what_cannot_be_read_is_said_by_its_line(tmp_path, row, said):
    path = tmp_path / "field.csv"
    path.write_text(HEAD + row + "\n")
    with pytest.raises(InputError) as error:
        judged(path)
    assert said in str(error.value)


@pytest.mark.parametrize(
    ("falls_ml", "logs"),
    [
        (4.0, 5),
        *(pytest.param(falls, 30, marks=pytest.mark.slow) for falls in (0.0, 4.0, 12.0)),
    ],
)
def test_an_honest_log_of_a_slow_tree_is_read_and_told_no_more_than_it_carries(
    tmp_path, falls_ml, logs
):
    """Levels read to 50 mL of a tree that takes 0, 60 or 190 mL in a quarter of an hour."""
    draw = np.random.default_rng(26)
    plan = with_conductance(chain().plan, 1e-3, 1e-3, 1e-3)
    truth = 1e-3 * falls_ml / float(flow_ml_min(solve_plan(plan)).sum())
    within = told = 0
    for _ in range(logs):
        levels = 5900.0 - falls_ml * np.arange(17) + 50.0 * draw.standard_normal(17)
        (day,) = judged(logged(levels, tmp_path)).days
        if day.bound is None:
            told += 1
            within += day.told.low < truth < day.told.high
        else:
            assert (day.told, day.tree, day.finish, day.stop) == (None, None, None, None)
            within += (day.bound.least or 0.0) <= truth <= (day.bound.most or np.inf)
    # Nine in ten; of thirty, less three deviations.
    assert within >= 0.74 * logs
    # Where nothing flows an uptake is told as seldom as such an end fails.
    assert told <= 4 or falls_ml > 0.0


@pytest.mark.parametrize("seed", [3, 4, 5])
def test_a_run_that_carries_no_uptake_says_what_it_does_carry(tmp_path, seed):
    levels = 5900.0 + 50.0 * np.random.default_rng(seed).standard_normal(17)
    path = logged(levels, tmp_path)
    found = tell_field(read_table(path), path, chain(), 0.0)
    assert found.document["verdict"] == "cannot_tell"
    (row,) = found.document["trees"]
    assert row["conductance_ml_min_per_kpa"] is None
    most = row["conductance_bound_ml_min_per_kpa"]["most"]
    said = re.search(r"no uptake is told: .* at most ([\d.]+) mL/min \(95 %\)", found.lines[0])
    assert float(said[1]) == pytest.approx(most * 1000.0 * chain().plan.supply_mpa, rel=0.02)
    assert "no uptake is told" in found.page().decode()
    # A port that seems to have stopped is the scatter of the level.
    assert row["said"] == []
    found.keep()
    assert not catalog.trees()


def test_a_vessel_filled_on_the_way_is_refused_however_slow_the_tree(tmp_path):
    draw = np.random.default_rng(27)
    for _ in range(10):
        levels = 5000.0 - 4.0 * np.arange(17) + 50.0 * draw.standard_normal(17)
        levels[9:] += 500.0
        with pytest.raises(InputError, match="filled on the way"):
            judged(logged(levels, tmp_path))


@pytest.mark.slow
def test_a_gauge_that_reads_no_finer_than_it_says_is_not_taken_for_pumped_up(plain, tmp_path):
    """Each reading off by a pound or so: one in sixty pairs rose by three of them."""
    draw, pumped = np.random.default_rng(28), 0
    for _ in range(12):
        rows = [(t, gone, mpa + 0.0069 * draw.standard_normal(), shut) for t, gone, mpa, shut
                in plain]  # fmt: skip
        (day,) = judged(written(rows, tmp_path, gauge=True, level=False)).days
        pumped += any("pumped up" in text for text in day.said)
    assert pumped <= 1


def test_a_port_that_the_chain_does_not_have_is_asked_about(plain, tmp_path):
    many = chain().plan.ports
    path = written(
        plain, tmp_path, extra=(f",,,,,,,{many},,40,no,no", f",,,,,,,{many + 1},,40,no,no")
    )
    assert [text for text in judged(path).warnings if "port" in text] == [
        f"pond oak: port {many + 1}: the kit's chain has {many}; is it this kit's?"
    ]


def test_a_person_reads_an_uptake_as_a_flow_in_the_unit_of_their_gauge(plain, tmp_path):
    path = written(plain, tmp_path, gauge=True)
    (line, beside, *_) = tell_field(read_table(path), path, chain(), 0.0).lines
    said = re.search(r"takes ([\d.]+) mL/min at ([\d.]+) kPa \([\d.]+ psi\) in its hole", line)
    assert float(said[1]) == pytest.approx(TRUTH * float(said[2]), rel=0.03)
    # In its hole there is what the line has left of the vessel's pressure.
    vessel = re.search(r"the vessel had ([\d.]+) kPa \([\d.]+ psi\) then", beside)
    plan = with_conductance(chain().plan, TRUTH, TRUTH, TRUTH)
    hole = 1000.0 * float(solve_plan(plan).hole_mpa.max())
    assert float(said[2]) == pytest.approx(hole, abs=0.5)
    assert float(vessel[1]) == pytest.approx(1000.0 * plan.supply_mpa, abs=0.5)
    assert float(said[2]) < float(vessel[1])


def test_a_chain_of_ones_own_tree_names_it_and_takes_no_other_trees_spread(plain, tmp_path):
    keep_field(judged(written(plain, tmp_path)))
    own = plan_chain(read_job(JOB), {**CHAIN, "species": None, "tree": "pond oak"})
    assert own.tree_words == "pond oak"
    assert TREES_DIFFER not in own.solve().warnings
    # Of another tree of the species the spread between trees still counts, and is said.
    assert TREES_DIFFER in plan_chain(read_job(JOB), CHAIN).solve().warnings


def test_what_must_be_known_of_a_run_stands_on_its_page_too(plain, tmp_path):
    steady = [(t, 140.0 * t, mpa, shut) for t, _, mpa, shut in plain]
    path = written(steady, tmp_path, noise_ml=5.0)
    page = tell_field(read_table(path), path, chain(), 0.0).page().decode()
    assert "pond oak: the run does not follow" in page


@pytest.mark.parametrize("falls_ml", [2400.0, 2800.0])
def test_a_run_that_ports_wide_open_would_make_is_asked_about_leaks(tmp_path, falls_ml):
    path = logged(5900.0 - falls_ml * np.arange(3), tmp_path)
    found = tell_field(read_table(path), path, chain(), 0.0)
    (row,) = found.document["trees"]
    bound = row["conductance_bound_ml_min_per_kpa"]
    assert bound["most"] is None
    assert bound["least"] > 1.0
    assert "at least" in found.lines[0]
    assert "a leak, an open end and a vessel run empty" in found.lines[0]
    assert "too little" not in found.lines[0]
    assert not any("the times are" in text for text in found.lines)
