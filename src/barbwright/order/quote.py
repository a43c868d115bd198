"""The quote card: what print services ask before they quote, answered once."""

from __future__ import annotations

from barbwright.order.record import Order, OrderedPart

# What a service is told of the use; nothing in it may read as a rating.
HAZARD = (
    "Connectors for a liquid under pressure, outdoors, at trees. Not pressure rated, and no rating "
    "is asked of you: the buyer tests every batch with water before use. Not for drinking water, "
    "food, breathing air or medicine"
)
BORES_FREE = "no medium left in any bore: each is cleared through every open end and rod-tested"


def quote_rows(order: Order) -> tuple[tuple[str, str], ...]:
    """Return what services ask, each with its answer.

    Parameters
    ----------
    order : Order
        What is ordered, and by whom.

    Returns
    -------
    tuple of (str, str)
        Question and answer; where the buyer said nothing, what is wanted of the service.
    """
    who = order.buyer
    materials = " or ".join(dict.fromkeys(part.material_name for part in order.parts))
    finishes = "; ".join(dict.fromkeys(part.finish for part in order.parts))
    return (
        ("Buyer, contact", _joined(who.name, who.ask) or "write it on the first page"),
        ("Deliver to, wanted by", _joined(who.deliver_to, who.wanted_by) or "as on the first page"),
        ("Your reference", who.reference or order.name),
        ("Material grade", _joined(who.grade or f"{materials}: no maker's grade is prescribed",
                                   "name grade and maker in the quotation")),
        ("Colour", who.colour or "as the material comes, undyed unless the finish says so"),
        ("Machine mode, layer", _joined(
            who.mode or "your standard mode for functional parts; no draft or economy mode",
            (who.layer and f"layer {who.layer}") or "state the layer in the quotation")),
        ("Finish", finishes),
        *_finish_limits(order),
        ("Blast medium", _joined(who.blast or "name the one you use", BORES_FREE)),
        ("Report", _joined(_report(order), who.report)),
        ("Accept", "a piece whose numbered sizes lie within their limits, whose every bore passes "
                   "its rod, whose mark is legible where it has one, without crack or open layer"),
        ("Reject", _joined("one size out on one piece of a sample: measure all pieces of that "
                           "part number, keep those apart, and ask before you ship; no reworking "
                           "by sanding, reaming or drilling", who.accept)),
        ("Bags and labels", _joined(
            "one bag a part number, labelled as below, with material batch and machine",
            _unmarked(order), who.label)),
        ("Pieces to break", _to_break(order)),
        *_own(order),
        ("Use, hazard", _joined(HAZARD, who.hazard)),
    )  # fmt: skip


def _own(order: Order) -> tuple[tuple[str, str], ...]:
    """Return the buyer's own figures, which a verdict rests on and no source of ours backs."""
    said = "; ".join(f"{part.kind}: {part.own}" for part in order.parts if part.own)
    return (("Judged by the buyer's figures", said),) if said else ()


def _finish_limits(order: Order) -> tuple[tuple[str, str], ...]:
    limits = dict.fromkeys(part.finish_limits for part in order.parts if part.finish_limits)
    return (("Limits of the finish", "; ".join(limits)),) if limits else ()


def _joined(*texts: str) -> str:
    return "; ".join(text.rstrip(".") for text in texts if text)


def _report(order: Order) -> str:
    return (
        "the numbered sizes of each part, measured on "
        + ", ".join(
            f"{part.sample} of {part.pieces} {part.kind} "
            f"({len(part.sizes)} size{'' if len(part.sizes) == 1 else 's'})"
            for part in order.parts
            if part.sizes
        )
        + "; the rows are those of the part's table of critical dimensions"
    )


def _unmarked(order: Order) -> str:
    """Return which parts only their bag tells apart."""
    bare = [part.kind for part in order.parts if not part.mark]
    marks = [part.mark for part in order.parts if part.mark]
    alike = sorted({mark for mark in marks if marks.count(mark) > 1})
    said = [f"{' and '.join(bare)} {'carry' if len(bare) > 1 else 'carries'} no mark"] * bool(bare)
    said += [f"several parts carry the mark {mark}" for mark in alike]
    return f"never mixed: {', '.join(said)}" if said else ""


def _to_break(order: Order) -> str:
    parts = [part for part in order.parts if part.broken]
    if not parts:
        return "none in this order"
    counts = ", ".join(f"{part.broken} {part.kind}" for part in parts)
    of_them = "of the same build as the rest; the buyer's test destroys them"
    return f"{counts}: within the numbers ordered, {of_them}"


def label(part: OrderedPart) -> str:
    """Return what stands on a part's bag, less what only the service knows."""
    named = filter(None, [part.number, part.grade, f"rev {part.revision}", f"{part.pieces} pcs"])
    return f"{', '.join(named)}, {part.material_name}"
