"""A catalogue's file is read whole, and what is wrong in it is told whole."""

import pytest
from example_catalogue import GOOD, written

from barbwright.errors import InputError
from barbwright.farm.spec import load_catalogue


def test_every_kind_has_the_choices_it_can_take(tmp_path):
    spec = load_catalogue(written(tmp_path))
    barb, tee = spec.grids
    assert [one.name for one in barb.axes] == ["tube", "pressure", "material"]
    assert [one.name for one in tee.axes] == ["tube", "bit", "pressure", "material", "wood"]
    assert (barb.count, tee.count, spec.count) == (2 * 3 * 2, 2 * 2 * 3 * 2, 36)
    assert tee.options(0) == {
        "temperature": "25C",
        "tube": "LLDPE 4 x 6 mm",
        "bit": "6.0 mm",
        "pressure": "2bar",
        "material": "mjf_pa12",
        "wood": "maple sugar",
    }
    assert tee.options(tee.count - 1)["pressure"] == "4 bar"
    assert tee.settings == ("contact=6mm", "outright_seat_mm=2mm")
    # As in a kit: a barb has no contact with wood, and is not refused for it.
    assert barb.settings == ("outright_seat_mm=2mm",)


def test_a_choice_named_twice_counts_once(tmp_path):
    twice = GOOD.replace('["6mm", "15/64"]', '["6mm", "6.0 mm", "15/64"]').replace(
        '"2bar", "3bar..4bar"', '"2bar", "200kPa", "3bar"'
    )
    assert load_catalogue(written(tmp_path, twice)).grids[1].shape == (2, 2, 2, 2, 1)


def test_all_that_is_wrong_is_told_at_once(tmp_path):
    bad = (
        GOOD.replace('"barb", "tee"', '"barb", "driver", "teee"')
        .replace('"LLDPE 4 x 6 mm"', '"LLDPE 4 x 7 mm"')
        .replace('"15/64"', '"15/63 mil"')
        .replace('"2bar"', '"2 bananas"')
        .replace('"fff_pla"', '"marble"')
        .replace('"maple sugar"', '"iron"')
        .replace('"stl"', '"dwg"')
        .replace('temperature = "25C"', 'temperature = "25C"\nbit = "6mm"\ntube2_id = "4mm"')
    )
    with pytest.raises(InputError) as caught:
        load_catalogue(written(tmp_path, bad))
    told = str(caught.value)
    for word in ("driver", "teee", "4 x 7", "15/63", "bananas", "marble", "iron", "dwg", "job.bit",
                 "job.tube2_id"):  # fmt: skip
        assert word in told, word


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('parts = ["barb", "tee"]', "parts = []", "wrong length"),
        ('parts = ["barb", "tee"]', 'parts = "barb"', "wrong type"),
        ('verdicts = ["pass", "caution"]', 'verdicts = ["fail"]', "unknown"),
        ('bits = ["6mm", "15/64"]', "", "bits is missing"),
        ('name = "trial"', 'name = "../up"', "letters that are not allowed"),
        ('name = "trial"', 'name = "trial"\nprice = 3', "price is not a known key"),
        ('temperature = "25C"', 'colour = "red"', "colour"),
        ('contact = "6mm"', 'contact = "1 hour"', "contact"),
        ("steps = 2", "steps = 1", "too small"),
        ('"2bar", ', '"2bar", "400psi", ', "trunk watering"),
    ],
)
def test_a_file_that_is_wrong_is_refused(tmp_path, old, new, said):
    assert old in GOOD
    with pytest.raises(InputError, match=said):
        load_catalogue(written(tmp_path, GOOD.replace(old, new)))


def test_a_name_that_is_not_there_tells_those_that_are():
    with pytest.raises(InputError, match="small_catalogue"):
        load_catalogue("smal_catalogue")


def test_more_combinations_than_can_be_meant_are_refused(tmp_path):
    many = GOOD.replace('"3bar..4bar"', '"1bar..4bar"').replace("steps = 2", "steps = 9000")
    many = many.replace('bits = ["6mm", "15/64"]', 'bits = "all"')
    many = many.replace('woods = ["maple sugar"]', 'woods = "all"')
    with pytest.raises(InputError, match="too large"):
        load_catalogue(written(tmp_path, many))
