import math

import pytest

from barbwright.errors import BarbwrightError, InputError
from barbwright.job.record import INPUT_NAMES
from barbwright.jobs.chain_inputs import CHAIN_INPUT_NAMES, read_chain_inputs
from barbwright.jobs.kitfile import load_kit
from example_kit import CHAIN, chain_of, write_kit


def test_texts_become_numbers_in_the_units_inside():
    given = read_chain_inputs(
        {"girth": "47 in", "supply_length": "2 m", "recharge_at": "30psi", "vessel_volume": "2 gal",
         "fill": "1 gal", "heights": "1 ft, 0.3 m", "supply_loss": "12.5", "ports": "2"},
    )  # fmt: skip
    assert given.values["girth"] == pytest.approx(47 * 25.4)
    assert given.values["supply_length"] == 2000.0
    assert given.values["recharge_at"] == pytest.approx(30 * 0.00689475729)
    assert given.values["vessel_volume"] == pytest.approx(2 * 231 * 16.387064)
    assert given.values["supply_loss"] == 12.5
    assert given.heights_mm == pytest.approx((304.8, 300.0))
    assert given.ports == 2


def test_a_calibration_is_volume_over_time_and_pressure():
    given = read_chain_inputs({"measured": "450 mL, 6 min, 40 psi"})
    assert given.measured_ml_min_kpa == pytest.approx(450 / 6 / (40 * 6.89475729))


def test_an_option_drops_what_the_kit_says_to_the_same_question():
    given = read_chain_inputs({"ports": "5", "measured": "1 L, 5 min, 40 psi"}, CHAIN)
    assert "girth" in given.values
    assert given.species is None
    assert given.inputs["ports"].origin == "option"
    assert given.inputs["spacing"].origin == "kit"


def test_another_girth_drops_the_kit_s_ports_and_diameter():
    given = read_chain_inputs({"girth": "90 cm"}, {"ports": 5, "species": "red oak"})
    assert given.ports is None
    given = read_chain_inputs({"girth": "90 cm"}, {"trunk_diameter": "30 cm"})
    assert "trunk_diameter" not in given.values


@pytest.mark.parametrize("air", ["12 L", "13 L"])
def test_air_that_leaves_no_liquid_is_named_with_its_value(air):
    with pytest.raises(InputError) as caught:
        read_chain_inputs({}, {**CHAIN, "vessel_volume": "12 L", "air_head": air})
    (fault,) = caught.value.faults
    assert "chain.air_head" in fault.what
    assert fault.given == air
    assert "12 L" in fault.limit


def test_names_do_not_clash_with_those_of_a_part():
    assert set(CHAIN_INPUT_NAMES) & set(INPUT_NAMES) == set()


def test_all_faults_at_once():
    with pytest.raises(InputError) as caught:
        read_chain_inputs(
            {"girth": "119", "spacing": "-3 mm", "species": "read oak", "measured": "1 L"},
            {"suply_length": "3 m", "vessel_volume": "12 L", "viscosity": "1 mPas"},
        )
    text = str(caught.value)
    for word in (
        "119 mm or 119 in",
        "--spacing: negative",
        "nearest in spelling, and in that alone: red oak",
        "`barbwright list species` has all 14; or --measured",
        "volume, time and pressure",
        "use 'supply_length'",
        "filling is missing",
        "--density is missing",
    ):
        assert word in text, word


def test_a_fault_of_the_kit_is_named_after_the_kit():
    with pytest.raises(InputError) as caught:
        read_chain_inputs({}, {"girth": "119"})
    assert "kit: chain.girth" in str(caught.value)


@pytest.mark.parametrize(
    ("given", "word"),
    [
        ({"girth": "1 m", "trunk_diameter": "30 cm"}, "both say the same"),
        ({"species": "red oak", "measured": "1 L, 5 min, 40 psi"}, "both say the same"),
        ({"vessel_volume": "5 L", "fill": "2 L", "air_head": "3 L"}, "both say the same"),
        ({"water_temperature": "20C", "viscosity": "1 mPas", "density": "1 kg/L"}, "both say"),
        ({"fill": "2 L"}, "needs the vessel"),
        ({"regulated": False}, "needs the vessel"),
        ({"regulated": "yes"}, "true or false"),
        ({"girth": "5 km"}, "not a unit"),
        ({"girth": "5000 m"}, "outside sense"),
        ({"water_temperature": "80C"}, "0 to 50 C"),
        ({"ports": "0"}, "1 to 60"),
        ({"ports": "61"}, "1 to 60"),
        ({"ports": "8.5"}, "whole number"),
        ({"ports": "٨"}, "whole number"),
        ({"supply_loss": "nan"}, "no number"),
        ({"supply_loss": "1e999"}, "no number"),
        ({"supply_loss": "-1"}, "no number"),
        ({"heights": "0.3 m, , 0.2 m"}, "nothing was given"),
        ({"heights": "400 m"}, "within 20 m"),
        ({"measured": "1 L, 0 s, 40 psi"}, "zero"),
        ({"measured": "1 L, 5 min, 40 psi, 8"}, "of one port"),
        ({"measured": "1 uL, 5 min, 40 psi"}, "unit of volume"),
        ({"measured": "1000 L, 0.001 s, 0.001 psi"}, "outside sense"),
        ({"species": "oak"}, "several have this name"),
    ],
)
def test_each_fault_says_what_is_wrong(given, word):
    with pytest.raises(InputError) as caught:
        read_chain_inputs(given)
    assert word in str(caught.value)


HOSTILE = [
    "", " ", "nan m", "inf psi", "1e400 mm", "-0 mm", "1,5 m", "0x10 mm", "1_0 mm", "9" * 5000,
    "${HOME}", "../../etc", "<script>alert(1)</script>", "{{ 7*7 }}", "%s%n", "'; drop", "𝟏 m",
    "1 m" + " " * 300, "½ m", "--", "1/0 in", "0/0 in", "true", "None", "[]",
]  # fmt: skip


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
@pytest.mark.parametrize("name", [n for n in CHAIN_INPUT_NAMES if n != "regulated"])
def test_hostile_texts_are_refused_or_read_but_never_crash(name, text):
    faults, values = (), {}
    try:
        values = read_chain_inputs({name: text}).values
    except InputError as error:
        faults = error.faults
    assert faults or all(math.isfinite(value) for value in values.values())
    assert all(len(str(fault)) < 1500 for fault in faults)


@pytest.mark.parametrize(
    "line",
    [
        'girth = 119',
        'girth = ["119 cm"]',
        'girth = { a = "119 cm" }',
        'regulated = "no"',
        'heights = [1, 2]',
        'ports = 8.0',
        'ports = true',
        'unknown = "1 m"',
        'girth = "119 cm\\u001b[2J"',
        'species = "red\\u202eoak"',
    ],
)  # fmt: skip
def test_a_kit_of_the_wrong_shape_is_refused_with_its_path(tmp_path, line):
    path = write_kit(tmp_path, chain={"spacing": "150 mm"})
    path.write_text(path.read_text() + line + "\n", encoding="utf-8")
    with pytest.raises(BarbwrightError) as caught:
        load_kit(path)
    assert caught.value.exit_code == 2
    assert str(path) in str(caught.value)


def test_a_title_with_control_characters_is_refused_and_a_note_may_have_lines(tmp_path):
    with pytest.raises(InputError, match="control character"):
        load_kit(write_kit(tmp_path, title="oaks\x1b]0;x\x07"))
    assert load_kit(write_kit(tmp_path, note="one\ntwo")).note == "one\ntwo"


def test_a_kit_needs_parts_or_a_chain_and_a_quantity_where_no_chain_says_it(tmp_path):
    with pytest.raises(InputError, match="neither parts nor chain"):
        load_kit(write_kit(tmp_path, chain={}, tools=True))
    with pytest.raises(InputError, match="quantity is missing"):
        load_kit(write_kit(tmp_path, parts={"barb": "{}"}))
    with pytest.raises(InputError, match="quantity is missing"):
        load_kit(write_kit(tmp_path, parts={"tee": "{}"}, chain={}))
    (tee,) = load_kit(write_kit(tmp_path, parts={"tee": "{}"}, tools=True)).parts
    assert tee.quantity is None


def test_what_is_not_known_is_asked_for_all_at_once():
    with pytest.raises(InputError) as caught:
        chain_of({"girth": None, "species": None})
    text = str(caught.value)
    assert "number of ports" in text
    assert "takes up" in text
