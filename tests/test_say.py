"""What is said of a number: limits down, demands up, in each unit by itself."""

import ast
import math
import re
from pathlib import Path
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barbwright import say, units

PACKAGE = Path(say.__file__).parent
# What a product of two numbers may be off in its last bits.
NOISE = 1e-13
PRESSURES = st.floats(1e-5, 20.0)
SIZES = {
    "pressure": PRESSURES,
    "force": st.floats(0.5, 1e5),
    "torque": st.floats(20.0, 1e6),
    "length": st.floats(0.5, 1e4),
}
VOICES = (say.IMPERIAL, say.METRIC, say.IN_BAR)


def both(text, kind):
    """Return the two figures of a line, typed back in."""
    first, second = re.fullmatch(r"(\S+ [^()]+) \((\S+ [^()]+)\)", text).groups()
    return [units.parse_quantity(figure, kind, zero_allowed=True) for figure in (first, second)]


@pytest.mark.parametrize("kind", SIZES)
def test_every_figure_of_a_limit_typed_back_in_is_no_more_than_the_limit(kind):
    @settings(max_examples=150)
    @given(SIZES[kind], st.sampled_from(VOICES))
    def holds(value, voice):
        assert all(read <= value * (1.0 + NOISE) for read in both(voice.limit(value, kind), kind))

    holds()


@pytest.mark.parametrize("kind", SIZES)
def test_every_figure_of_a_demand_typed_back_in_is_no_less_than_what_is_asked(kind):
    @settings(max_examples=150)
    @given(SIZES[kind], st.sampled_from(VOICES))
    def holds(value, voice):
        assert all(read >= value * (1.0 - NOISE) for read in both(voice.demand(value, kind), kind))

    holds()


@settings(max_examples=150)
@given(PRESSURES, st.sampled_from(VOICES))
def test_limit_plain_and_demand_stand_in_that_order_and_a_last_place_apart(value, voice):
    low, near, high = (
        both(way(value), "pressure") for way in (voice.limit, voice.plain, voice.demand)
    )
    for unit, below, between, above in zip(voice.pair("pressure"), low, near, high, strict=True):
        place = {"psi": 0.1, "kPa": 1.0, "bar": 0.01}[unit] * float(units.factor("pressure", unit))
        assert below <= between <= above <= below + place * (1.0 + 1e-9)


@settings(max_examples=200)
@given(PRESSURES, st.integers(0, 4))
def test_a_document_says_what_the_page_says_only_finer(value, decimals):
    for way, sign in (("down", 1.0), ("up", -1.0)):
        for unit in ("psi", "kPa", "bar"):
            fine = say.number(value, "pressure", unit, way, decimals=6)
            page = float(say.figure(value, "pressure", unit, way, decimals))
            assert sign * (fine - page) >= -1e-9


@pytest.mark.parametrize("psi", [1, 7.5, 10, 15, 30, 45, 60, 67.5, 100, 119.9, 120, 150])
def test_a_round_figure_stays_what_it_is_whichever_way_it_is_rounded(psi):
    value = units.parse_pressure(f"{psi}psi")
    for way in (say.IMPERIAL.limit, say.IMPERIAL.plain, say.IMPERIAL.demand):
        assert way(value).startswith(f"{psi:g} psi (")
    # Half as much again of two thirds is the whole again, up to the last bit.
    assert say.IMPERIAL.demand(1.5 * units.parse_pressure(f"{psi / 1.5!r}psi")).startswith(
        f"{psi:g} psi ("
    )


def test_a_limit_just_under_a_round_figure_is_said_below_it():
    # 826.58 kPa is 119.885 psi: to the nearest it would be 827 kPa, which it is not.
    assert say.METRIC.limit(0.82658) == "826 kPa (119.8 psi)"
    assert say.METRIC.demand(0.82658) == "827 kPa (119.9 psi)"
    assert say.METRIC.plain(0.82658) == "827 kPa (119.9 psi)"
    assert say.IMPERIAL.limit(0.82658) == "119.8 psi (826 kPa)"


def test_who_gives_psi_reads_psi_first_and_newtons_always_lead():
    value = units.parse_pressure("45psi")
    assert say.IMPERIAL.plain(value) == "45 psi (310 kPa)"
    assert say.METRIC.plain(value) == "310 kPa (45 psi)"
    assert say.METRIC.plain(units.parse_pressure("10psi")) == "68.9 kPa (10 psi)"
    assert say.IN_BAR.plain(value) == "3.1 bar (45 psi)"
    assert say.IN_BAR.limit(value) == "3.1 bar (45 psi)"
    assert say.IN_BAR.demand(value) == "3.11 bar (45 psi)"
    assert say.IN_BAR.plain(units.parse_pressure("0.5 bar")) == "0.5 bar (7.3 psi)"
    assert say.IMPERIAL.limit(8.99, "force") == "8 N (2 lbf)"
    assert say.METRIC.limit(8.99, "force") == "8 N (2 lbf)"
    assert say.IMPERIAL.demand(85.2, "force") == "86 N (19.2 lbf)"
    assert say.IMPERIAL.limit(657.0, "torque") == "0.65 N m (5.8 in lbf)"
    assert say.IMPERIAL.plain(38.2, "length") == "38 mm (1.5 in)"


@pytest.mark.parametrize(
    ("texts", "voice"),
    [
        ({"pressure": "45psi"}, say.IMPERIAL),
        ({"pressure": "45 psig", "tube_id": "4.3mm"}, say.IMPERIAL),
        ({"pressure": "3.1 bar", "tube_id": "0.170in"}, say.IN_BAR),
        ({"pressure": "3.1barg"}, say.IN_BAR),
        ({"relief": "4 bar", "tube_id": "0.170in"}, say.IN_BAR),
        ({"pressure": "310kPa"}, say.METRIC),
        ({"relief": "0.4 MPa"}, say.METRIC),
        ({"tube_id": "0.170in"}, say.IMPERIAL),
        ({"tube_id": "4.3 mm"}, say.METRIC),
        ({"bit": "15/64"}, say.IMPERIAL),
        ({}, say.IMPERIAL),
    ],
)
def test_the_voice_follows_the_unit_that_was_typed(texts, voice):
    inputs = {name: SimpleNamespace(text=text) for name, text in texts.items()}
    assert say.voice_of(inputs) == voice


def test_a_gauge_is_brought_to_what_it_shows_and_never_under_it():
    value = units.parse_pressure("45psi")
    assert say.IN_BAR.gauge(value) == "3.2 bar (45 psi)"
    assert say.METRIC.gauge(value) == "311 kPa (45 psi)"
    assert say.IN_BAR.gauge(units.parse_pressure("3bar")) == "3 bar (44 psi)"
    assert say.IN_BAR.rate(units.parse_pressure("0.05psi")) == "0.0034 bar (0.05 psi)"
    assert (say.cell(value, "bar"), say.cell(value, "psi")) == ("3.10", "45.0")


def test_what_has_no_bound_is_any():
    assert say.bare(math.inf, "down", 1) == "any"
    assert say.METRIC.limit(math.inf) == "any kPa (any psi)"
    assert say.number(math.inf, "pressure", "kPa", "down") == math.inf


def test_bare_numbers_keep_their_decimals():
    assert say.bare(0.3 - 1e-16, "down", 1) == "0.3"
    assert say.bare(2.999, "down", 0) == "2"
    assert say.bare(2.001, "up", 2) == "2.01"
    assert say.bare(-0.04, "down", 1) == "-0.1"
    assert say.millimetres(4.30) == "4.3"
    assert say.millimetres(12.0) == "12"


@pytest.mark.parametrize(
    ("ml", "words"), [(0, "0 mL"), (999.4, "999 mL"), (1000, "1.00 L"), (3785.4, "3.79 L")]
)
def test_volumes_are_said_as_they_are_measured(ml, words):
    assert say.volume(ml) == words


@pytest.mark.parametrize(
    ("minutes", "words"), [(9.94, "9.9"), (10.2, "10"), (120.0, "120"), (math.inf, "without end")]
)
def test_minutes_are_no_finer_than_anyone_waits(minutes, words):
    assert say.minutes(minutes) == words


# Units of force and pressure in each other, and a pound-force inch in N mm: `units` has them.
CONVERSIONS = (6.894757, 145.03774, 4.4482216, 0.22480894, 112.98483, 8.8507458)
OTHERS = sorted(set(PACKAGE.rglob("*.py")) - {PACKAGE / "say.py", PACKAGE / "units.py"})


def floats(path):
    tree = ast.parse(path.read_text())
    return [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, float) and node.value
    ]


def test_no_file_but_units_knows_a_conversion():
    for path in OTHERS:
        for value in floats(path):
            digits = value / 10 ** math.floor(math.log10(abs(value)))
            for known in CONVERSIONS:
                scaled = known / 10 ** math.floor(math.log10(known))
                assert abs(digits / scaled - 1.0) > 1e-6, (path.name, value)


def test_no_file_but_say_writes_a_number_before_a_unit_of_pressure_or_force():
    for path in OTHERS:
        found = re.search(
            r"\{[^{}]*:\.?\d*[fg]\} (kPa|psi|lbf|in lbf|inch-pounds)", path.read_text()
        )
        assert found is None, (path.name, found[0])


def test_every_public_way_to_say_a_number_is_used():
    source = "".join(path.read_text() for path in OTHERS)
    source += "".join(path.read_text() for path in PACKAGE.rglob("*.html"))
    names = {
        name
        for name, value in vars(say).items()
        if callable(value)
        and getattr(value, "__module__", "") == say.__name__
        and not name.startswith("_")
    }
    for name in names - {"figure", "to_set"}:
        assert re.search(rf"\b{name}\b", source), name


@pytest.mark.parametrize(
    ("value", "way", "text"),
    [
        (0.0, "nearest", "0"), (1190.0, "down", "1190"), (36.123, "nearest", "36.1"),
        (0.30967, "nearest", "0.31"), (20.46, "down", "20.4"), (20.46, "up", "20.5"),
        (20.4, "down", "20.4"), (20.4, "up", "20.4"), (999.6, "up", "1000"),
        (-1.2345, "up", "-1.23"),
        (1.2e-9, "up", "0.000001"), (float("inf"), "down", "any"),
    ],
)  # fmt: skip
def test_leading_digits_are_plain_and_know_their_direction(value, way, text):
    assert say.leading(value, way) == text


@pytest.mark.parametrize("unit", ["N", "N mm"])
def test_what_stands_beside_a_force_keeps_its_direction(unit):
    @settings(max_examples=150)
    @given(st.floats(0.01, 1e5), st.sampled_from(["down", "up"]))
    def holds(value, way):
        told, other = say.beside(value, unit, way)
        back = float(told) * float(units.factor(*say._BESIDE[unit]))
        assert other == {"N": "lbf", "N mm": "in lbf"}[unit]
        assert back <= value * (1 + NOISE) if way == "down" else back >= value * (1 - NOISE)

    holds()


@settings(max_examples=150)
@given(PRESSURES, st.sampled_from(VOICES))
def test_the_highest_pressure_a_gauge_is_brought_to_is_the_higher_figure_of_its_line(value, voice):
    assert voice.shown_mpa(value) == pytest.approx(max(both(voice.gauge(value), "pressure")))
    assert voice.shown_mpa(value) >= value * (1 - NOISE)


@settings(max_examples=200)
@given(st.floats(1e-9, 1e9), st.sampled_from(["down", "up"]))
def test_six_digits_for_a_program_keep_their_direction_however_small(value, way):
    told = say.digits(value, way)
    assert told == pytest.approx(value, rel=1.01e-5)
    assert told <= value * (1 + NOISE) if way == "down" else told >= value * (1 - NOISE)
    assert len(f"{told:.12g}".replace(".", "").split("e")[0].lstrip("0").rstrip("0")) <= 6
