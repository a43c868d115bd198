"""The door for units: each trap that pint alone falls into, and parse(format(x)) = x."""

from __future__ import annotations

import subprocess
import sys
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from barbwright import units
from barbwright.errors import Fault, InputError, NoSizeError
from barbwright.units import KINDS, FaultCollector, format_quantity, parse_quantity


def refusal(text: str, kind: str = "length", **options: object) -> str:
    with pytest.raises(InputError) as caught:
        parse_quantity(text, kind, **options)  # type: ignore[arg-type]
    assert len(caught.value.faults) == 1
    assert caught.value.exit_code == 2
    return str(caught.value)


# Traps, measured: what pint alone makes of them stands in each name.
def test_one_and_a_quarter_inch_is_not_a_quarter() -> None:
    assert units.parse_length("1 1/4 in") == 31.75


def test_decimal_comma_is_not_43() -> None:
    assert "write 4.3 mm" in refusal("4,3 mm")


def test_thousands_comma_names_both_readings() -> None:
    message = refusal("1,000 mm")
    assert "1.000 mm" in message
    assert "1000 mm" in message


def test_35C_is_a_temperature_not_a_charge() -> None:
    assert units.parse_temperature("35C") == 35.0


def test_inch_mark_is_a_unit_not_a_bare_number() -> None:
    assert units.parse_length('0.17"') == 4.318


@pytest.mark.parametrize("text", ["nan mm", "inf mm", "-inf mm", "Infinity mm", "NaN"])
def test_nan_and_infinity_do_not_pass(text: str) -> None:
    assert "not a finite number" in refusal(text)


def test_infinite_pressure_does_not_pass() -> None:
    assert "not a finite number" in refusal("inf psi", "pressure")


def test_psig_is_known() -> None:
    assert units.parse_pressure("45 psig") == units.parse_pressure("45psi")


def test_offset_units_do_not_raise() -> None:
    assert units.parse_temperature("95F") == 35.0
    assert units.parse_temperature("35 degC") == 35.0


# One inch is 25.4 mm and one pound-force 4.4482216152605 N exactly (international yard and
# pound agreement 1959; from memory); the rest is arithmetic on them.
@pytest.mark.parametrize(
    ("text", "length_mm"),
    [
        ("15/64in", 5.953125),
        ('15/64"', 5.953125),
        ("15/64″", 5.953125),
        ("0.170in", 4.318),
        (".170 in", 4.318),
        ("4.3 mm", 4.3),
        ("6.1mm", 6.1),
        ("+6.1 MM", 6.1),
        ("1½ in", 38.1),
        ("½″", 12.7),
        ("1-1/4 in", 31.75),
        ("5/4 inch", 31.75),
        ("2 ft", 609.6),
        ("15 cm", 150.0),
        ("1e-1 mm", 0.1),
        ("  4.3\u00a0mm ", 4.3),
    ],
)
def test_lengths_are_read_exactly(text: str, length_mm: float) -> None:
    assert units.parse_length(text) == length_mm


@pytest.mark.parametrize(
    ("text", "pressure_mpa"),
    [("3.1bar", 0.31), ("310 kPa", 0.31), ("0.31 MPa", 0.31), ("310000 Pa", 0.31)],
)
def test_pressures_are_read_exactly(text: str, pressure_mpa: float) -> None:
    assert units.parse_pressure(text) == pressure_mpa


def test_psi_follows_from_pound_force_and_inch() -> None:
    assert units.parse_pressure("45psi") == pytest.approx(45 * 4.4482216152605 / 645.16, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("-5 °C", "temperature", -5.0),
        ("0 C", "temperature", 0.0),
        ("32 °F", "temperature", 0.0),
        ("10 lbf", "force", 44.482216152605),
        ("10 kgf", "force", 98.0665),
        ("1 N m", "torque", 1000.0),
        ("1 in lbf", "torque", 112.9848290276167),
        ("1 gal", "volume", 3785.411784),
        ("128 fl oz", "volume", 3785.411784),
        ("4 L", "volume", 4000.0),
        ("10 min", "time", 600.0),
        ("1 h", "time", 3600.0),
        ("1.5 cP", "viscosity", 1.5),
        ("1 mPa·s", "viscosity", 1.0),
        ("0.998 g/cm3", "density", 998.0),
        ("998 kg/m³", "density", 998.0),
        ("4.8 L/h", "flow", 80.0),
        ("80 mL/min", "flow", 80.0),
        ("200 g", "mass", 200.0),
    ],
)
def test_other_kinds_are_read_exactly(text: str, kind: str, value: float) -> None:
    assert parse_quantity(text, kind) == value


@pytest.mark.parametrize(
    ("text", "kind", "first", "second"),
    [
        ("4.3", "length", "4.3 mm", "4.3 in"),
        ("15/64", "length", "15/64 mm", "15/64 in"),
        ("35", "temperature", "35 C", "35 F"),
        ("45", "pressure", "45 psi", "45 bar"),
    ],
)
def test_a_bare_number_is_refused_with_its_two_readings(
    text: str, kind: str, first: str, second: str
) -> None:
    message = refusal(text, kind)
    assert f"{text} has no unit: {first} or {second}?" in message


@pytest.mark.parametrize(
    ("text", "kind", "says"),
    [
        ("45psi", "length", "a unit of pressure, not of length"),
        ("45 mm", "pressure", "a unit of length, not of pressure"),
        ("3 oz", "volume", "write fl oz"),
        ("2 lb", "force", "write lbf"),
        ("2 kg", "force", "write kgf"),
        ("14.7 psia", "pressure", "gauge"),
        ("0.31 mPa", "pressure", "write MPa"),
        ("1 MPa s", "viscosity", "write mPa s"),
        ("5'", "length", "60 in"),
        ("5 furlong", "length", "furlong is not a unit of length"),
        ("0 mm", "length", "zero"),
        ("-1 mm", "length", "negative"),
        ("0 psi", "pressure", "zero"),
        ("-45 psi", "pressure", "negative"),
        ("−45 psi", "pressure", "negative"),
        ("-300 C", "temperature", "absolute zero"),
        ("1e400 mm", "length", "too large"),
        ("1e99999999 mm", "length", "not a unit|not understood"),
        ("1/0 in", "length", "not understood"),
        ("1 5/4 in", "length", "not understood"),
        ("5 ft 3 in", "length", "not a unit"),
        ("4 mm; rm", "length", "not a unit"),
        ("", "length", "nothing was given"),
        ("   ", "length", "nothing was given"),
        ("mm", "length", "not understood"),
        ("4.3 mm\n5", "length", "line break"),
        ("4.3\x00mm", "length", "control character"),
        ("٤ mm", "length", "not understood"),
        ("1" * 500 + " mm", "length", "too many"),
    ],
)
def test_nonsense_is_refused_in_one_clear_message(text: str, kind: str, says: str) -> None:
    message = refusal(text, kind)
    assert any(option in message for option in says.split("|"))
    assert len(message) < 400


def test_the_option_is_named() -> None:
    assert refusal("4.3", name="--tube-id").startswith("--tube-id: 4.3 has no unit")


def test_zero_and_negative_pass_only_where_they_mean_something() -> None:
    assert units.parse_length("0 mm", zero_allowed=True) == 0.0
    assert units.parse_length("-0.1 mm", negative_allowed=True) == -0.1
    assert "negative" in refusal("-0.1 mm", zero_allowed=True)


@pytest.mark.parametrize("kind", KINDS)
@given(value=st.floats(1e-6, 1e9))
def test_format_reads_back_the_same(kind: str, value: float) -> None:
    for spelling in KINDS[kind].spellings:
        assert parse_quantity(format_quantity(value, kind, spelling), kind) == value


@given(value=st.floats(-273.15, 1000.0), unit=st.sampled_from(["C", "F"]))
@example(value=2.220446049250313e-16, unit="F")
def test_temperatures_read_back_the_same(value: float, unit: str) -> None:
    assert units.parse_temperature(format_quantity(value, "temperature", unit)) == value


@given(st.text(max_size=80))
def test_any_text_is_a_finite_positive_number_or_one_fault(text: str) -> None:
    collect = FaultCollector()
    length_mm = collect.read(units.parse_length, text)
    assert len(collect.faults) == (1 if length_mm is None else 0)
    assert length_mm is None or 0 < length_mm < float("inf")


def test_format_is_short() -> None:
    assert format_quantity(4.318, "length", "in") == "0.17 in"
    assert format_quantity(5.953125, "length", '"') == '0.234375"'
    assert format_quantity(units.parse_pressure("45psi"), "pressure", "psi") == "45 psi"
    assert format_quantity(35.0, "temperature", "F") == "95 F"


@pytest.mark.parametrize("kind", KINDS)
def test_examples_and_readings_in_messages_are_themselves_readable(kind: str) -> None:
    for written in KINDS[kind].example.replace(" (US)", "").replace(", ", " or ").split(" or "):
        assert parse_quantity(written, kind) > 0
    for unit in KINDS[kind].readings:
        assert parse_quantity(f"1 {unit}", kind) != 0


def test_collector_reports_every_fault_at_once() -> None:
    collect = FaultCollector()
    assert collect.read(units.parse_length, "0.170in", name="--tube-id") == 4.318
    assert collect.read(units.parse_length, "6", name="--tube-od") is None
    assert collect.read(units.parse_pressure, "nan psi", name="--pressure") is None
    collect.add(Fault("--material: unknown"))
    with pytest.raises(NoSizeError) as caught:
        collect.raise_if_any(NoSizeError)
    assert [fault.what.split(":")[0] for fault in caught.value.faults] == [
        "--tube-od",
        "--pressure",
        "--material",
    ]
    FaultCollector().raise_if_any()


def test_importing_units_builds_no_registry() -> None:
    code = (
        "import sys, barbwright.units as u; assert u.registry.cache_info().currsize == 0;"
        "assert 'scipy.optimize' not in sys.modules and 'cadquery' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


# What our names are in pint's own registry, where they differ.
IN_PINT = {
    "newton_millimeter": "newton * millimeter", "newton_meter": "newton * meter",
    "inch_pound_force": "inch * pound_force", "foot_pound_force": "foot * pound_force",
    "millipascal_second": "millipascal * second", "pascal_second": "pascal * second",
    "kilogram_per_cubic_meter": "kilogram / meter ** 3",
    "gram_per_milliliter": "gram / milliliter",
    "milliliter_per_minute": "milliliter / minute", "milliliter_per_second": "milliliter / second",
    "liter_per_minute": "liter / minute", "liter_per_hour": "liter / hour",
    "gallon_per_hour": "gallon / hour", "gallon_per_minute": "gallon / minute",
}  # fmt: skip


def test_every_unit_of_the_table_is_exactly_pints() -> None:
    """pint's default registry in fractions: 231 cubic inches, 7000 grains, 9.80665 m/s2."""
    import pint

    registry = pint.UnitRegistry(non_int_type=Fraction, autoconvert_offset_to_baseunit=True)
    units_of = {name: kind.inside for kind in KINDS.values() for name in kind.spellings.values()}
    assert len(units_of) > 40
    for name, inside in units_of.items():
        there, here = IN_PINT.get(name, name), IN_PINT.get(inside, inside)
        at = [
            Fraction(registry.Quantity(Fraction(one), there).to(here).magnitude) for one in (0, 1)
        ]
        assert units._line(name) == (at[1] - at[0], at[0]), name


def test_a_unit_that_pint_alone_knows_is_refused_with_what_to_write() -> None:
    for text, kind, do in (
        ("3 atm", "pressure", "write 44.0878 psi"),
        ("2 yd", "length", "write 1828.8 mm"),
        ("1 stone", "mass", "write 6350.29 g"),
        ("1 quart", "volume", "write 946.353 mL"),
    ):
        with pytest.raises(InputError) as caught:
            parse_quantity(text, kind)
        assert caught.value.faults[0].do == do
    for text, kind in (("3 foo", "pressure"), ("3 kelvin", "length"), ("3 atm", "length")):
        with pytest.raises(InputError) as caught:
            parse_quantity(text, kind)
        assert caught.value.faults[0].do.startswith("write it like")


def test_a_text_of_ours_is_read_without_pint() -> None:
    code = (
        "import sys, barbwright.units as u; u.parse_length('1 1/4 in'); u.parse_pressure('45psi');"
        "u.parse_temperature('95F'); assert 'pint' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
