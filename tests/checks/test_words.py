"""What a check prints: no limit promises more than it has, and a failure says by how much."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from dataclasses import replace

import pytest

from barbwright.checks.result import CHECKS
from barbwright.checks.table import fill_rule, shortfall
from barbwright.cli.output import check_table
from barbwright.jobs.explaining import SENSES, SYMBOLS, explain_check, tokens
from barbwright.report.words import check_sentence
from barbwright.say import IMPERIAL
from example_job import outcomes_of
from newtons import alone
from run_cli import DEMO, run


def test_limits_round_down_and_forces_to_bring_up_round_up() -> None:
    assert fill_rule("no more than {a:.0f} N, {b:.2f} N m", {"a": 8.99, "b": 0.657}) == (
        "no more than 8 N, 0.65 N m"
    )
    assert fill_rule("up to {push_n:force}", {"push_n": 85.2}, "up") == "up to 86 N (19.2 lbf)"
    assert fill_rule("at most {a:force}", {"a": 85.2}) == "at most 85 N (19.1 lbf)"
    assert fill_rule("at most {a:torque}", {"a": 0.657}) == "at most 0.65 N m (5.8 in lbf)"
    # A whole number stays what it is, whatever the last bit says.
    assert fill_rule("{a:.1f}", {"a": 0.3 - 1e-16}) == "0.3"


def test_the_table_keeps_its_order_whoever_imports_a_module_first() -> None:
    code = "import barbwright.checks.{}\nfrom barbwright.checks.table import CHECKS\nprint(*CHECKS)"
    orders = {
        subprocess.run(
            [sys.executable, "-c", code.format(first)], capture_output=True, text=True, check=True
        ).stdout
        for first in ("table", "printing", "driving")
    }
    assert len(orders) == 1
    assert orders.pop().startswith("tube_rating ")


def test_only_what_must_be_reached_is_declared_to_round_up() -> None:
    assert {name for name, info in CHECKS.items() if info.rule_rounds == "up"} == {
        # A push that must be reached; a gap that a hook end must find; a torque that frees.
        "push_on", "fork_reach", "driver_turns",
    }  # fmt: skip


def test_the_direction_is_the_declarations_and_not_a_names() -> None:
    assert fill_rule("{push_on_warm_n:.0f} N", {"push_on_warm_n": 85.2}) == "85 N"
    assert fill_rule("{least_n:.0f} N", {"least_n": 85.2}, "up") == "86 N"


@pytest.mark.parametrize("check", ["side_load", "twist_out", "drive_buckle"])
def test_no_rule_of_the_demo_promises_more_than_its_number(check: str) -> None:
    outcome = outcomes_of("elbow")[check]
    # Of a blow the bare tip's hammer is its number, and the driver's stands before it.
    first = r"bare tip takes at most|more than" if check == "drive_buckle" else "more than|at most"
    pattern = rf"(?:{first}) ([0-9.]+)"
    shown = float(re.search(pattern, outcome.rule)[1])  # type: ignore[index]
    value = outcome.advice[outcome.info.rule_value]
    assert shown <= value < shown + 1.0


def test_a_document_rounds_a_rule_the_way_its_words_do() -> None:
    for kind in ("elbow", "fork", "driver"):
        outcomes = outcomes_of(kind)
        done = run("check", kind, *DEMO, "--json")
        for rule in json.loads(done.out)["handling_rules"]:
            value, info = outcomes[rule["check"]].advice[CHECKS[rule["check"]].rule_value], CHECKS
            if info[rule["check"]].rule_rounds == "up":
                assert value <= rule["value"] < value + 1e-3
            else:
                assert value - 1e-3 < rule["value"] <= value


def test_a_failure_says_the_factor_and_both_numbers() -> None:
    hold = outcomes_of("elbow", wood="fir balsam", pressure="55psi")["wood_hold"]
    assert hold.verdict == "fail"
    pounds = r" \([0-9.]+ lbf\)"
    said = re.fullmatch(
        rf"([0-9.]+) N{pounds} x 2 = ([0-9.]+) N{pounds} needed, ([0-9.]+) N{pounds} there"
        rf", ([0-9.]+) N{pounds} at its weakest",
        shortfall(hold),
    )
    assert said is not None
    thrust, needed, there, least = (float(text) for text in said.groups())
    # The table's figure is the weakest's: told beside, it does not seem to be another.
    assert least <= hold.capacity < least * 1.01
    assert least < there
    assert needed == pytest.approx(2.0 * thrust, rel=0.01)
    assert there < needed


@pytest.mark.parametrize(
    ("asked", "unit", "beside"),
    [("160psi", "psi", "kPa"), ("9bar", "bar", "psi"), ("900kPa", "kPa", "psi")],
)
def test_a_pressure_that_fails_is_told_in_the_unit_that_was_typed(asked, unit, beside) -> None:
    done = run("check", "elbow", *DEMO[:-4], "--pressure", asked, *DEMO[-2:])
    assert done.code == 3
    said = " ".join((done.out + done.err).split())
    figure = rf"[0-9.]+ {unit} \([0-9.]+ {beside}\)"
    assert re.search(rf"tube_rating fails: {figure} needed, {figure} there", said)
    assert re.search(rf"FAIL tube_rating: [^(]*\(given: {figure} needed, {figure} there\)", said)
    # In the table its row is told once in each of both units, and never in MPa.
    for name in ("tube_rating", "barb_seal", "wood_seal"):
        row = re.search(rf"^  {name} .*\n.*$", done.out, re.MULTILINE)
        assert row is not None
        assert re.search(rf" {unit} ", row[0])
        assert re.search(rf" {beside}\b", row[0])
        assert "MPa" not in row[0]
    # JSON keeps to its own units, whatever was typed.
    body = json.loads(run("check", "elbow", *DEMO[:-4], "--pressure", asked, "--json").out)
    assert {one["unit"] for one in body["checks"] if one["id"] == "tube_rating"} == {"MPa"}


def test_no_failure_of_any_part_tells_newtons_alone() -> None:
    told = []
    for kind, more in (
        ("elbow", {"wood": "fir balsam", "pressure": "90psi"}),
        ("tee", {"wood": "hickory shagbark", "bit": "7/32"}),
        ("barb", {"pressure": "150psi"}),
        ("elbow", {"tube_id": "4mm", "tube_od": "6mm", "tube_material": "PVC", "shore": "65"}),
    ):
        failed = [one for one in outcomes_of(kind, **more).values() if one.verdict == "fail"]
        told += [(one.info.unit, shortfall(one)) for one in failed]
    assert {unit for unit, _ in told} >= {"N", "MPa"}
    assert [text for _, text in told if alone(text)] == []


def test_a_refused_pressure_names_its_limit_in_the_unit_that_was_typed() -> None:
    for asked, limit in (("30bar", "20 bar (290 psi)"), ("400psi", "290 psi (2000 kPa)")):
        done = run("check", "elbow", "--tube-id", "0.170in", "--bit", "15/64", "--pressure", asked)
        assert done.code == 2
        assert f"limit: {limit}" in done.err


@pytest.mark.parametrize("unit", ["N", "N mm", "MPa", "mm", "-"])
def test_what_fails_by_a_hair_is_told_apart(unit: str) -> None:
    """To the nearest both would be 20.5, in newtons and in pounds."""
    hold = outcomes_of("elbow")["wood_hold"]
    close = replace(
        hold, info=replace(hold.info, unit=unit), capacity=20.46, capacity_expected=20.46,
        demand=20.54, demand_upper=None, advice={}, design_factor=1.0, safety_factor=20.46 / 20.54,
        verdict="fail", rule="", proved=False,
    )  # fmt: skip
    assert re.match(r"20\.6\b.* needed, 20\.4\b.* there", shortfall(close))
    assert "Can 20.4" in check_sentence(close, IMPERIAL)
    assert "must 20.6" in check_sentence(close, IMPERIAL)
    assert "0.99 times, 1 wanted" in check_sentence(close, IMPERIAL)
    lines = check_table([close]).splitlines()
    at = next(place for place, line in enumerate(lines) if "wood_hold" in line)
    first, second = lines[at : at + 2]
    assert first.split()[2:4] == ["20.4", "20.6"]
    assert "0.996" in first
    pounds = [float(text) for text in re.findall(r"([0-9.]+) lbf", shortfall(close))]
    assert (len(pounds), unit) in {(2, "N"), (0, unit)}
    if pounds:
        needed, there = pounds
        assert there < needed
        assert second.split()[:2] == [f"{there:g}", f"{needed:g}"]


@pytest.mark.parametrize("check", CHECKS)
def test_no_page_of_explain_shows_a_raw_template(check: str) -> None:
    page = explain_check(check)
    assert "{" not in str([page["rule"], page["asks"], page["equation"], page["remedy"]])


def test_the_squeeze_on_the_root_speaks_of_contact_not_of_pressure() -> None:
    symbols = {row["symbol"]: row["meaning"] for row in explain_check("root_crush")["symbols"]}
    assert "contact" in symbols["po"]
    assert "p" not in symbols


# What stands short in an equation and is no symbol: plain words, a sign for times, and numbers.
PLAIN = set(
    [
        "a",
        "an",
        "as",
        "at",
        "by",
        "if",
        "in",
        "is",
        "it",
        "of",
        "on",
        "or",
        "to",
        "up",
        "x",
        "pi",
        "pi2",
    ]
)


@pytest.mark.parametrize("name", CHECKS)
def test_each_symbol_of_an_equation_is_explained_in_the_checks_own_sense(name) -> None:
    equation = CHECKS[name].equation
    told = {row["symbol"]: row["meaning"] for row in explain_check(name)["symbols"]}
    short = {word for word in tokens(equation) if len(word) <= 2 or re.search(r"[\d_]", word)}
    assert short - set(told) <= PLAIN
    # An angle, and a length that bends, are no plain words where they are reckoned with.
    assert ("a" in told) == bool(re.search(r"(cos|sin|tan\()\s*a\b|, a (half|the) ", equation))
    assert ("x" in told) == ("x''" in equation)
    # What has a sense of its own here stands in the equation, and is told in that sense.
    for symbol, meaning in SENSES.get(name, ()):
        assert told[symbol] == meaning


def test_symbols_speak_of_the_check_that_uses_them() -> None:
    def told(name):
        return {row["symbol"]: row["meaning"] for row in explain_check(name)["symbols"]}

    assert set(told("barb_seal")) == {"p"}
    line = told("line_pull")
    assert line["m"].startswith("1 + 2 e/L")
    assert line["e"] == "from the wood to the arm's axis [mm]"
    assert "x" not in line
    assert "tube" not in " ".join(line.values())
    assert told("crossing_bores")["m"] == "narrower bore over wider bore [-]"
    assert told("wood_split")["k"] == "square root of the wood's EL/ET [-]"
    assert "N" in told("barb_grip")
    assert "N" not in told("barb_tug")


def test_a_symbol_means_one_thing_unless_a_check_says_otherwise() -> None:
    assert len({name for name, _ in SYMBOLS}) == len(SYMBOLS)
    assert set(SENSES) <= set(CHECKS)
