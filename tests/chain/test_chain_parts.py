import math
from dataclasses import replace

import pytest
from example_chain import ELBOW, TEE, example_plan

from barbwright.chain.parts import bill_of_parts, purge_volume_ml


def by_item(plan):
    return {part["item"]: part for part in bill_of_parts(plan)}


def test_eight_ports_are_seven_tees_and_one_elbow():
    parts = by_item(example_plan())
    assert parts["tee"]["quantity"] == 7
    assert parts["elbow"]["quantity"] == 1
    assert parts["tee"]["spare"] == parts["elbow"]["spare"] == 1
    assert parts["tube, tee to tee"]["quantity"] == 6
    assert parts["tube, tee to elbow"]["quantity"] == 1
    # Port to port with 5 % slack, less the two stops of 8 mm.
    assert parts["tube, tee to tee"]["length_mm"] == pytest.approx(157.5 - 16)


def test_spares_follow_the_number_of_tees_and_can_be_set():
    assert by_item(example_plan(ports=25))["tee"]["spare"] == 3
    assert by_item(example_plan(spare_tees=4, spare_elbows=0))["tee"]["spare"] == 4
    assert by_item(example_plan(spare_tees=4, spare_elbows=0))["elbow"]["spare"] == 0


def test_one_port_is_an_elbow_and_its_supply():
    assert set(by_item(example_plan(ports=1))) == {"elbow", "supply tube"}
    assert set(by_item(example_plan(ports=2))) == {
        "tee",
        "elbow",
        "supply tube",
        "tube, tee to elbow",
    }


def test_without_a_stop_the_tube_ends_at_the_barb():
    plan = example_plan(tee=replace(TEE, stop_mm=0.0), elbow=replace(ELBOW, stop_mm=0.0))
    assert by_item(plan)["tube, tee to tee"]["length_mm"] == pytest.approx(157.5 - 40)


def test_purge_volume_is_every_bore():
    plan = example_plan()
    tube = 2000 + 7 * (157.5 - 40)
    bores = 7 * (40 + 30) + 20 + 30
    expected = math.pi / 4 * (4.318**2 * tube + 2.5**2 * bores) / 1000
    assert purge_volume_ml(plan) == pytest.approx(expected)
