"""The page beside a fit gauge: what to try, and what to write down."""

from __future__ import annotations

import base64
from dataclasses import replace

from barbwright.design.coupon import (
    BORES_MM,
    CENTRE_BARB,
    CENTRE_TIP,
    GAPS_MM,
    POSTS_MM,
    STROKES_MM,
    WALLS_MM,
    Coupon,
)
from barbwright.report import cards
from barbwright.report.notices import NOT_RATED
from barbwright.report.pages import page
from barbwright.report.translated import Translator, own_words, translated


def coupon_html(
    coupon: Coupon, number: str, material: str, material_id: str, png: bytes | None = None
) -> bytes:
    """Return the page of a fit gauge, self-contained.

    Parameters
    ----------
    coupon : Coupon
        Numbers [mm].
    number : str
        The gauge's own number.
    material, material_id : str
        Name and id of the print material.
    png : bytes, optional
        The picture, from `picture.render`.

    Returns
    -------
    bytes
        HTML, the same for the same gauge.
    """
    return page(
        "coupon.html",
        {},
        number=number,
        tube=coupon.tube_name,
        bit=coupon.bit_name,
        material=material,
        material_id=material_id,
        rows=_rows(coupon),
        png=base64.b64encode(png).decode("ascii") if png is not None else "",
        centre_barb=CENTRE_BARB,
        cautions=cards.CAUTIONS,
        not_rated=NOT_RATED,
        centre_tip=CENTRE_TIP,
    )


def coupon_html_in(
    language: str,
    coupon: Coupon,
    number: str,
    material: str,
    material_id: str,
    png: bytes | None = None,
    by: Translator | None = None,
) -> bytes:
    """Return the page of a fit gauge in another language.

    Parameters
    ----------
    language : str
        One of `catalog.languages()`.
    coupon, number, material, material_id, png
        As for `coupon_html`.
    by : Translator, optional
        Whose list of sentences without a line is wanted.
    """
    # Names of the tables and of the user's own profiles: no language changes them.
    named = replace(
        coupon, tube_name=own_words(coupon.tube_name), bit_name=own_words(coupon.bit_name)
    )
    english = coupon_html(named, number, own_words(material), material_id, png)
    return translated(english, language, by=by)


def _rows(coupon: Coupon) -> list[dict[str, object]]:
    process = coupon.process

    def numbered(sizes: tuple[float, ...]) -> list[dict[str, str]]:
        return [{"label": str(i), "drawn": f"{size:.2f}"} for i, size in enumerate(sizes, 1)]

    def named(sizes: tuple[float, ...]) -> list[dict[str, str]]:
        return [{"label": f"{size:g}", "drawn": f"{size:.2f}"} for size in sizes]

    return [
        _row(
            "T",
            "tips for your bit",
            "Drill a hole with the bit, 10 mm from the end of a dry lath of hard wood no wider "
            "than 20 mm. Turn the gauge over and push each tip in by hand until it stops. The one "
            "whose ring stops at the wood's face seats as drawn.",
            "how far the ring stands from the wood [mm]",
            numbered(coupon.tips_mm),
        ),
        _row(
            "B",
            "barbs for your tube",
            "Push a fresh end of the tube on each. Take the one that goes on and holds as the "
            f"barbs you trust do; number {CENTRE_BARB} is the crest this tube asks for.",
            "loose, fits, too tight",
            numbered(coupon.crests_mm),
        ),
        _row(
            "P",
            "posts for the caliper",
            "Measure each across two directions half way up, and write down the mean.",
            "measured [mm]",
            named(POSTS_MM),
        ),
        _row(
            "H",
            "bores",
            f"Push drill shanks through, smallest first, without turning. The record holds "
            f"{process['min_bore_mm']:g} mm for the least bore this process can clear.",
            "widest shank that passes [mm]",
            named(BORES_MM),
        ),
        _row(
            "W",
            "walls",
            f"Which stand whole and straight? The record's least is {process['min_wall_mm']:g} mm.",
            "whole, bent, missing; measured [mm]",
            named(WALLS_MM),
        ),
        _row(
            "G",
            "gaps",
            f"Which are open to the bottom? The record's least is {process['min_gap_mm']:g} mm.",
            "open, part, closed",
            named(GAPS_MM),
        ),
        _row(
            "A",
            "letters, by the width of their strokes",
            f"Which can be read? The record's least stroke is {process['min_text_line_mm']:g} mm.",
            "read, guessed, lost",
            named(STROKES_MM),
        ),
    ]


def _row(
    letter: str, title: str, try_it: str, write: str, places: list[dict[str, str]]
) -> dict[str, object]:
    return {
        "letter": letter,
        "title": title,
        "try_it": try_it,
        "write": write,
        "places": places,
        "marked": letter in "TB",
    }
