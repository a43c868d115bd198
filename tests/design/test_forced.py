"""One table of the sizes that --set may force."""

from __future__ import annotations

import pytest

from barbwright.design.forced import SHARED_SIZES
from barbwright.design.part import FORCED_SIZES, KINDS
from barbwright.errors import InputError
from barbwright.job.reading import read_job

DEMO = {"tube_id": "4.3mm", "bit": "15/64", "pressure": "45psi"}


def forced(name: str, size: float) -> float:
    unit = FORCED_SIZES[name].unit
    text = f"{name}={size:g}{'' if unit == '-' else unit}"
    return read_job(DEMO, settings=(text,)).forced[name]


@pytest.mark.parametrize("name", FORCED_SIZES)
def test_a_size_is_read_up_to_the_bounds_of_its_row_and_no_further(name: str) -> None:
    one = FORCED_SIZES[name]
    assert forced(name, one.least) == one.least
    assert forced(name, one.most) == one.most
    for beyond in (one.least / 2.0, one.most + 1.0) if one.least else (one.most + 1.0,):
        with pytest.raises(InputError, match=f"--set {name} is outside sense") as error:
            forced(name, beyond)
        assert error.value.faults[0].limit == one.sense


def test_what_is_counted_is_a_whole_number() -> None:
    """`arms=1.5` was taken for one arm."""
    whole = {name for name, one in FORCED_SIZES.items() if one.whole}
    assert whole == {"arms", "side_ports"}
    for name in whole:
        with pytest.raises(InputError, match="outside sense"):
            forced(name, 0.5)
    assert FORCED_SIZES["side_ports"].sense == "0 or 1"


def test_a_kind_takes_the_sizes_of_the_features_it_has() -> None:
    def of(*features: str) -> set[str]:
        return {name for name, one in SHARED_SIZES.items() if one.of in features}

    assert KINDS["barb"].usable_sizes == of("barb")
    assert KINDS["tip"].usable_sizes == of("barb", "tip")
    assert KINDS["elbow"].usable_sizes == of("barb", "tip", "hub")
    assert KINDS["cap"].usable_sizes == of("barb") | {"end_wall", "head"}
    assert KINDS["driver"].usable_sizes == set(SHARED_SIZES) | set(KINDS["driver"].sizes)


def test_no_kind_has_a_size_of_another_kinds_name() -> None:
    names = [name for kind in KINDS.values() for name in kind.sizes]
    assert len(names) == len(set(names))
    assert not set(names) & set(SHARED_SIZES)
