"""A finish is what the limits were drawn for, or it is refused with the reason."""

import pytest
from example_parts import made, verified

from barbwright import catalog
from barbwright.order.documents import inspection_html, order_html, quote_html, readme_txt
from barbwright.order.finish import default_finish, finish_fault, finish_limits
from barbwright.order.record import plan_order

pytestmark = pytest.mark.usefixtures("remade_once", "models_once", "one_process")

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


def test_a_finish_of_its_own_says_what_its_limits_rest_on():
    smoothed, dyed = (catalog.materials()[f"mjf_pa12_{name}"] for name in ("smoothed", "dyed"))
    assert finish_limits(PA12) == ""
    assert finish_limits(smoothed).startswith(
        "judgement: tolerance, wet walls, covered walls, other walls, edges and steps, engraved "
        "strokes; seen: bores."
    )
    assert finish_limits(dyed).startswith("judgement: tolerance, ")
    assert "seen: wet walls, bores" in finish_limits(dyed)


@pytest.mark.slow
def test_order_inspection_and_quote_show_it(monkeypatch):
    record = "barbwright.order.record"
    monkeypatch.setattr(f"{record}.verify_parts", lambda folders, _=None: [verified(folders[0])])
    usual = plan_order([(made("barb"), 2, 1, "")])
    assert not any("judgement: tolerance" in page for page in pages_of(usual))
    material = catalog.materials()["mjf_pa12_smoothed"]
    monkeypatch.setattr(f"{record}.finish_limits", lambda _: finish_limits(material))
    for page in pages_of(plan_order([(made("barb"), 2, 1, "")])):
        assert "judgement: tolerance, wet walls" in " ".join(page.split())


def pages_of(order):
    pictures = dict.fromkeys((part.number for part in order.parts), b"")
    pages = (order_html(order, pictures), inspection_html(order), quote_html(order))
    return [page.decode() for page in (*pages, readme_txt(order))]
