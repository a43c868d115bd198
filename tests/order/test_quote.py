"""What print services ask before they quote is answered once, and no wish is lost."""

import pytest
from example_parts import made, verified

from barbwright.errors import InputError
from barbwright.order.buyer import Buyer
from barbwright.order.documents import quote_html
from barbwright.order.quote import label, quote_rows
from barbwright.order.record import plan_order

pytestmark = pytest.mark.usefixtures("remade_once", "models_once", "one_process")


@pytest.fixture
def order(monkeypatch):
    """A barb and an elbow as ordered by somebody, each verified once only."""
    monkeypatch.setattr(
        "barbwright.order.record.verify_parts",
        lambda folders, _=None: [verified(one) for one in folders],
    )

    def planned(**more):
        lines = [(made("barb"), 2, 1, ""), (made("elbow"), 7, 1, "")]
        return plan_order(lines, **more)

    return planned


@pytest.mark.slow
def test_every_word_of_the_buyer_stands_on_the_card(order):
    words = {
        name: f"{name} as told <b>"
        for name, field in Buyer.__dataclass_fields__.items()
        if field.type == "str"
    }
    page = quote_html(order(buyer=Buyer.of(words))).decode()
    for text in words.values():
        assert text.replace("<", "&lt;").replace(">", "&gt;") in page
    assert "<b>" not in page


def test_a_buyer_who_says_nothing_asks_the_service_and_promises_nothing(order):
    rows = dict(quote_rows(order()))
    assert "name grade and maker" in rows["Material grade"]
    assert "state the layer" in rows["Machine mode, layer"]
    assert "no medium left in any bore" in rows["Blast medium"]
    assert "3 of 4 barb (4 sizes), 3 of 9 elbow (" in rows["Report"]
    assert "barb carries no mark" in rows["Bags and labels"]
    assert rows["Pieces to break"].startswith("1 barb, 1 elbow")
    assert "Not pressure rated" in rows["Use, hazard"]
    # A figure in psi or bar beside a part number would be read as a rating.
    assert not any(unit in " ".join(rows.values()) for unit in ("psi", "bar ", "kPa", "MPa"))


def test_a_repeat_order_has_nothing_to_break(order):
    again = order(buyer=Buyer(first_batch=False))
    assert [part.pieces for part in again.parts] == [3, 8]
    assert dict(quote_rows(again))["Pieces to break"] == "none in this order"
    assert again.number != order().number


def test_a_label_tells_one_bag_from_another(order):
    labels = [label(part) for part in order().parts]
    assert len(set(labels)) == 2
    assert "9 pcs" in labels[1]
    assert "MJF PA12" in labels[1]


def test_words_that_no_card_holds_are_refused():
    with pytest.raises(InputError, match=r"buyer\.hazard is too long"):
        Buyer.of({"hazard": "x" * 501})
    with pytest.raises(InputError, match="knows no such word"):
        Buyer.of({"fax": "1"})


def test_another_finish_than_the_limits_were_drawn_for_is_refused(order):
    with pytest.raises(InputError, match="the step to the root"):
        order(finish="vapour smoothed")
