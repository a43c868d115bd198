"""A single part is plain numbers, with the features its kind always has."""

from dataclasses import fields, is_dataclass, replace

import numpy as np
import pytest

from barbwright.design.kind import Design
from barbwright.design.part import KINDS
from barbwright.design.single import single
from example_job import design_of


def numbers_of(record):
    """Every size of a record and of the records in it; not the conditions, which serve many."""
    for one in fields(record):
        value = getattr(record, one.name)
        if one.name in {"kind", "conditions", "forced", "mark"}:
            continue
        for inner in value if isinstance(value, tuple) else (value,):
            if is_dataclass(inner):
                yield from numbers_of(inner)
            elif inner is not None and not isinstance(inner, str):
                yield one.name, inner


@pytest.mark.parametrize("kind", KINDS)
def test_every_size_of_a_single_part_is_a_plain_number_and_the_same(kind):
    design = design_of(kind)
    plain = single(design)
    assert type(plain) is KINDS[kind].single
    before, after = dict(numbers_of(design)), dict(numbers_of(plain))
    assert before.keys() == after.keys()
    assert len(after) >= 8
    for name, value in after.items():
        # A fork says whether its steps are numbered: yes or no, in one of many as well.
        assert type(value) in {int, float, bool}, name
        assert value == float(before[name]), name


@pytest.mark.parametrize("kind", KINDS)
def test_a_single_part_of_a_single_part_is_the_same(kind):
    once = single(design_of(kind))
    assert dict(numbers_of(single(once))) == dict(numbers_of(once))


@pytest.mark.parametrize(
    ("kind", "lost"), [("elbow", "hub"), ("tee", "tip"), ("tip", "ring"), ("cap", "own")]
)
def test_a_part_without_what_its_kind_always_has_is_refused(kind, lost):
    with pytest.raises(TypeError, match=f"a {kind} without its {lost} is none"):
        single(replace(design_of(kind), **{lost: None}))


def test_many_parts_in_one_are_refused():
    design = design_of("barb")
    many: Design = replace(design, bore_mm=np.array([2.0, 2.5]))
    with pytest.raises(TypeError, match="one number in each size, not 2"):
        single(many)


def test_only_a_part_without_a_hub_takes_two_tubes():
    assert [name for name, kind in KINDS.items() if kind.two_ends] == ["barb"]
