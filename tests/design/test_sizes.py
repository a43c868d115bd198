"""One table of sizes: what drawing, stack-up, order, inspection and part.json say is the same."""

import re

import pytest

from barbwright.design.limits import critical_limits
from barbwright.design.part import KINDS, dimensions, sizes_of
from barbwright.design.sizes import BARB, HUB, RING, TIP, in_words
from barbwright.report.cards import arrival
from barbwright.report.stackup import stack_up
from example_job import design_of

TABLE = [*BARB, *HUB, *RING, *TIP]


def test_each_size_stands_once_and_its_name_ends_in_its_unit():
    assert len({size.name for size in TABLE}) == len(TABLE)
    assert len({size.title for size in TABLE}) == len(TABLE)
    for size in TABLE:
        assert size.unit == "mm" or size.feature == "number", size.name
        assert re.fullmatch(r"[a-z_]+", size.name)
        # A bore or an outside is round, or lies over flats as a hexagon's does; a length does not.
        round_ = size.name.endswith(("diameter_mm", "flats_mm"))
        assert round_ or size.feature not in {"bore", "outside"}, size.name


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_ordered_inspected_and_stacked_up_has_one_title_and_one_size(kind):
    design = design_of(kind)
    sizes, numbers = sizes_of(design), dimensions(design)
    titles = {in_words(name, size): numbers[name] for name, (size, _) in sizes.items()}
    ordered = {one.title.lower(): one.drawn_mm for one in critical_limits(design)}
    stacked = {one.title: one.drawn_mm for one in stack_up(design).dimensions}
    arrives = {one.title: one.drawn_mm for one in arrival(design)}
    assert len(ordered) >= 1
    assert len(stacked) >= 3
    small = {title.lower(): drawn for title, drawn in titles.items()}
    spread = {in_words(name, size).lower() for name, (size, _) in sizes.items() if size.spread}
    for said in (ordered, {t.lower(): d for t, d in (stacked | arrives).items()}):
        for title, drawn in said.items():
            # A difference of two sizes is told by the hundredth, the same on every paper.
            off = 0.005 if title in spread else 0.0
            assert drawn == pytest.approx(small[title], abs=off + 1e-8), title
    # What the buyer is told to measure on a connector holds what the service must hold.
    if KINDS[kind].carries:
        assert ordered.keys() <= {title.lower() for title in arrives}


# They follow from lead end, taper and length: one stands in brackets, one is told by its limits.
FOLLOWS = {"tip_root_diameter_mm", "taper_drop_mm"}


@pytest.mark.parametrize(
    "more",
    [
        {},
        {"bit": "7/32", "tube_id": "4mm", "tube_od": "6mm"},
        {"bark": "3/16in", "tube_id": "3/16in", "tube_od": "5/16in"},
        {"bit": "6mm", "material": "sls_pa12"},
    ],
    ids=["demo", "metric", "inch", "other"],
)
def test_every_free_size_lies_on_a_grid_of_005_mm(more):
    for kind in KINDS:
        for name, (size, value) in sizes_of(design_of(kind, **more)).items():
            if size.printed and name not in FOLLOWS:
                steps = float(value) / 0.05
                assert steps == pytest.approx(round(steps), abs=1e-6), (kind, name, float(value))


def test_a_forced_size_stays_as_given_and_only_it_leaves_the_grid():
    sizes = {
        name: float(value)
        for name, (size, value) in sizes_of(design_of("barb", settings=("root=4.33mm",))).items()
        if size.printed
    }
    assert sizes["root_diameter_mm"] == 4.33
    off = {name for name, value in sizes.items() if abs(value / 0.05 - round(value / 0.05)) > 1e-6}
    assert off <= {"root_diameter_mm", "barb_step_mm"}


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_set_by_hand_or_told_is_never_ordered_nor_stacked_up(kind):
    design = design_of(kind)
    loose = {name for name, (size, _) in sizes_of(design).items() if not size.printed}
    assert not loose & {one.name for one in stack_up(design).dimensions}
    assert not loose & {one.name for one in critical_limits(design)}
