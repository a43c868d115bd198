"""What is done by hand: every rule has its drawing, and stands once with the parts it is for."""

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import pairwise

import pytest
from example_reports import make_report

from barbwright.checks.table import CHECKS
from barbwright.report import acts
from barbwright.report.acts import ACTS_OF_CHECKS, HIGH, WIDE, acts_of
from barbwright.report.rules import said_once
from barbwright.say import IMPERIAL

SVG = "{http://www.w3.org/2000/svg}"
DRAWN = {
    "warm": acts.warm("85 N (19 lbf)"),
    "aside": acts.aside("5 N (1.2 lbf)"),
    "aside, a barb alone": acts.aside("5 N (1.2 lbf)", seated=False),
    "ticks": acts.ticks(4, "8 mm"),
    "one tick": acts.ticks(1, "2 mm"),
    "many ticks": acts.ticks(11, "22 mm"),
    "blow": acts.blow(["driver: 200 g", "bare tip: 50 g"]),
    "turn": acts.turn(["0.66 N m at most", "(5.8 in lbf)"]),
    "wedge": acts.wedge(["158 N (13.1 lbf)", "at most"]),
    "pull": acts.pull(["143 N (9.7 lbf)", "slowly, in line"]),
}


@pytest.fixture(scope="module")
def reports():
    return [make_report(kind) for kind in ("tee", "tip", "barb")]


def test_every_check_that_has_a_rule_belongs_to_an_act():
    assert {name for name, check in CHECKS.items() if check.rule} == set(ACTS_OF_CHECKS)


@pytest.mark.parametrize("name", DRAWN)
def test_a_drawing_stays_on_its_sheet_and_says_in_words_what_it_shows(name):
    root = ET.fromstring(DRAWN[name])
    assert len(root.get("aria-label")) > 40
    for text in root.iter(f"{SVG}text"):
        assert text.text in root.get("aria-label") or len(text.text) < 6
        # Letters of a common sans-serif are at most 0.62 of their height wide, on average.
        half = 0.62 * 3.4 * len(text.text)
        x = float(text.get("x"))
        middle = text.get("text-anchor") == "middle"
        left, right = (x - half / 2, x + half / 2) if middle else (x, x + half)
        assert left >= 0
        assert right <= WIDE
        assert 3.0 <= float(text.get("y")) <= HIGH
    for mark in root.iter():
        for x, y in pairwise(map(float, re.findall(r"-?[\d.]+", mark.get("points", "")))):
            assert min(x, y) >= -0.5
            assert max(x, y) <= WIDE
    assert root.get("viewBox") == "0 0 40 36"


def test_a_sheet_and_a_kit_show_the_same_drawing_of_an_act(reports):
    alone = {act.title: act.svg for act in acts_of(reports[:1], IMPERIAL)}
    twice = {act.title: act.svg for act in acts_of([reports[0], reports[0]], IMPERIAL)}
    assert alone == twice
    assert {"Warm the tube", "Count the ticks", "Tap lightly", "Nothing aside"} <= set(alone)
    assert all(alone.values())


def test_a_barb_alone_is_not_drawn_in_a_trunk(reports):
    told = {
        report.design.kind.name: next(
            act.svg for act in acts_of([report], IMPERIAL) if act.title == "Nothing aside"
        )
        for report in reports
    }
    assert "trunk" in told["tee"]
    assert "trunk" not in told["barb"]
    bark = told["tee"].partition('fill="#c9b48f"')
    assert bark[1]
    assert bark[1] not in told["barb"]


def test_each_rule_of_a_kit_stands_once_with_the_kinds_it_is_for(reports):
    told = acts_of(reports, IMPERIAL)
    texts = [rule.text for act in told for rule in act.rules]
    assert len(texts) == len(set(texts))
    by_check = {}
    for act in told:
        for rule in act.rules:
            by_check.setdefault(rule.check, []).append(rule)
    for report in reports:
        for outcome in report.outcomes:
            if not outcome.rule:
                continue
            rules = [r for r in by_check[outcome.info.id] if report.design.kind.name in r.kinds]
            assert len(rules) == 1
            # Words that differ in their figures alone are said once, with the stricter figure.
            shared, own = (
                re.findall(r"\d+(?:\.\d+)?", text) for text in (rules[0].text, outcome.rule)
            )
            assert re.sub(r"\d+(?:\.\d+)?", "#", rules[0].text) == re.sub(
                r"\d+(?:\.\d+)?", "#", outcome.rule
            )
            stricter = max if outcome.info.rule_rounds == "up" else min
            assert stricter(float(shared[0]), float(own[0])) == float(shared[0])


def test_the_pull_that_proves_a_seat_is_drawn_with_its_own_words_and_the_wedge_with_lifting(
    reports,
):
    acts = {act.title: act for act in acts_of(reports, IMPERIAL)}
    pull, wedge = acts["Prove it by a pull"], acts["Or wedge it free"]
    force = next(one.proof_force_n for one in reports[0].proved_in_field if one.proof_force_n)
    assert f"pull every seat once with {force:.0f} N" in pull.rules[0].text
    assert "fork" not in " ".join(rule.text for rule in pull.rules)
    # A tip in line has neither ball nor arms, and no wings turn it.
    told = [rule.text for rule in wedge.rules if rule.kinds == ("tip",)]
    assert any("under the ring" in text for text in told)
    assert all("two fingertips" not in text for text in told)
    assert all("tip" not in rule.kinds for rule in acts["Turn it free"].rules)
    # Alone on its sheet it has no picture of turning, and a tee's takes no more room than six.
    assert "Turn it free" not in {act.title for act in acts_of([reports[1]], IMPERIAL)}
    assert len(acts_of([reports[0]], IMPERIAL)) == 6
    texts = [rule.text for act in acts.values() for rule in act.rules]
    assert len(texts) == len(set(texts))


def test_one_hands_act_on_two_parts_is_one_rule_that_names_both(reports):
    told = [rule for act in acts_of(reports, IMPERIAL) for rule in act.rules]
    sideways = [rule for rule in told if rule.check == "side_load"]
    assert [rule.kinds for rule in sideways] == [("tee", "tip", "barb")]
    tugs = [rule for rule in told if rule.check == "line_pull"]
    assert [rule.kinds for rule in tugs] == [("tee", "tip")]
    forks = [make_report("fork", (f"arms={arms}",)) for arms in (2, 0)]
    acts = {act.title: act for act in acts_of(forks, IMPERIAL)}
    assert len(acts["Or wedge it free"].rules) == len(acts["Prove it by a pull"].rules) == 1
    least = min(
        one.advice["hook_n"]
        for fork in forks
        for one in fork.outcomes
        if one.info.id == "fork_pull"
    )
    assert f"at most {int(least)} N" in acts["Prove it by a pull"].rules[0].text


def test_no_picture_shows_a_hammer_on_a_bare_tip_where_one_part_takes_none(reports):
    def label(parts):
        act = next(act for act in acts_of(parts, IMPERIAL) if act.title == "Tap lightly")
        return ET.fromstring(act.svg).get("aria-label")

    assert "bare tip: " in label(reports[:1])
    assert "never on a bare tip" in label(reports[1:2])
    assert "never on a bare tip" in label(reports)


def test_of_several_forks_a_rule_says_whose_it_is():
    forks = [make_report("fork", (f"arms={arms}",)) for arms in (2, 0)]
    kinds = {name for act in acts_of(forks, IMPERIAL) for rule in act.rules for name in rule.kinds}
    assert kinds == {"fork for tee", "fork for tip"}
    assert {n for act in acts_of(forks[:1], IMPERIAL) for r in act.rules for n in r.kinds} == {
        "fork"
    }


def test_a_figure_in_a_drawing_is_the_strictest_of_the_rules_beside_it(reports):
    for act in acts_of(reports, IMPERIAL):
        said = " ".join(rule.text for rule in act.rules)
        label = ET.fromstring(act.svg).get("aria-label")
        for newtons in re.findall(r"(\d+) N \(", label):
            if act.title != "Prove it by a pull":
                found = [int(n) for n in re.findall(r"(\d+) N \(", said)]
                assert int(newtons) in found
    aside = next(act for act in acts_of(reports, IMPERIAL) if act.title == "Nothing aside")
    least = min(
        int(re.search(r"no more than (\d+) N", outcome.rule)[1])
        for report in reports for outcome in report.outcomes
        if outcome.info.id == "side_load" and outcome.rule
    )  # fmt: skip
    assert f"{least} N (" in ET.fromstring(aside.svg).get("aria-label")


def test_the_tug_of_two_parts_is_one_rule_and_none_is_left_where_one_takes_none(reports):
    """A kit said "a tug of 3 N" of one part and "any tug" of another, in two lines."""
    line = next(one for one in reports[0].outcomes if one.info.id == "line_pull")
    assert line.rule

    def of(tug_n):
        return [replace(line, advice={**line.advice, "tug_n": tug_n})]

    (both,) = said_once([("tee", of(3.4)), ("elbow", of(2.2))])
    assert both.kinds == ("tee", "elbow")
    assert "a tug of 2 N (0.4 lbf)" in both.text
    (none,) = said_once([("tee", of(3.4)), ("elbow", of(0.004))])
    assert none.kinds == ("tee", "elbow")
    assert "any tug along it" in none.text
