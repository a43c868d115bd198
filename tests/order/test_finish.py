"""A finish is what the limits were drawn for, or it is refused with the reason."""

import pytest

from barbwright import catalog
from barbwright.order.finish import default_finish, finish_fault

PA12 = catalog.materials()["mjf_pa12"]


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        ("vapour smoothed and dyed black", "edges of the barbs"),
        ("vapor-smoothed", "step to the root"),
        ("chemically polished", "step to the root"),
        ("dyed black", "swells"),
        ("as printed, black", "swells"),
        ("tumbled 2 h", "wears edges"),
        ("bead-blasted, then sanded", "wears edges"),
        ("clear coated", "layer of unknown thickness"),
        ("sealed", "layer of unknown thickness"),
        ("annealed", "shrink"),
        ("make it pretty", "not known"),
        ("no dyeing", "not known"),
    ],
)
def test_what_changes_edges_or_sizes_is_refused_and_says_why(asked, why):
    fault = finish_fault(PA12, asked)
    assert fault is not None
    assert why in str(fault)
    assert default_finish(PA12) in str(fault)


@pytest.mark.parametrize(
    "asked",
    [
        "",
        "as printed, glass-bead blasted",
        "As printed, powder removed; no tumbling, dyeing or coating",
        "natural, washed, without any vapour smoothing",
        "uncoated, bead-blasted",
    ],
)
def test_what_leaves_them_alone_is_taken(asked):
    assert finish_fault(PA12, asked) is None


def test_every_shipped_material_takes_its_own_finish():
    for material in catalog.materials().values():
        assert finish_fault(material, default_finish(material)) is None, material.id


def test_a_refused_finish_names_the_record_that_has_it():
    assert "mjf_pa12_smoothed" in str(finish_fault(PA12, "vapour smoothed"))
    assert "mjf_pa12_dyed" in str(finish_fault(PA12, "dyed black"))
    assert "no record of MJF has this finish" in str(finish_fault(PA12, "painted"))
    smoothed = catalog.materials()["mjf_pa12_smoothed"]
    assert finish_fault(smoothed, "vapour smoothed") is None
    assert "swells" in str(finish_fault(smoothed, "vapour smoothed, dyed"))
