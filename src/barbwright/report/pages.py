"""Pages from templates: one way to fill them, escaped, and a missing value is a fault."""

from __future__ import annotations

import html
import re
from collections.abc import Callable, Mapping
from typing import Any

Filters = Mapping[str, Callable[..., Any]]


def page(template: str, filters: Filters, **values: Any) -> bytes:
    """Return one page.

    Parameters
    ----------
    template : str
        File in `report/templates` [-].
    filters : mapping of str to callable
        What the template calls after a bar [-].
    **values
        What it names [-].

    Returns
    -------
    bytes
        UTF-8; equal values give equal bytes.
    """
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("barbwright.report", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters |= {"coded": coded, **filters}
    environment.globals["shared"] = environment.get_template("macros.html").module
    return environment.get_template(template).render(**values).encode()


def coded(text: str) -> str:
    """Return a text for a page, what stands between backticks set as something to type.

    Parameters
    ----------
    text : str
        A sentence; a lone backtick stays as it is [-].

    Returns
    -------
    str
        HTML, all else escaped.
    """
    from markupsafe import Markup, escape

    pieces = re.split(r"`([^`]+)`", str(text))
    return Markup("").join(
        Markup("<code>{}</code>").format(piece) if index % 2 else escape(piece)
        for index, piece in enumerate(pieces)
    )


# What an SVG says of its own size.
_SIZE = re.compile(r'(<svg[^>]*?) width="([\d.]+)mm" height="[\d.]+mm"')


def with_words(svg: bytes, says: str, role: str = "img") -> bytes:
    """Return an SVG document that says to who does not see it that it is a picture, and of what.

    Parameters
    ----------
    svg : bytes
        A whole document with its title.
    says : str
        What it shows.
    role : str
        "img" hides what it is made of; "graphics-document document" (WAI-ARIA Graphics) leaves its
        words to be read one by one.
    """
    text = svg.decode()
    start = text.index("<svg")
    head, shut, body = text[start:].partition(">")
    title, end, rest = body.partition("</title>")
    told = f'{head} role="{role}"{shut}{title}{end}<desc>{html.escape(says)}</desc>{rest}'
    return f"{text[:start]}{told}".encode()


def wide_mm(svg: bytes) -> float:
    """Return how wide a drawing is on paper, as it says itself [mm]; 0 where it does not."""
    found = _SIZE.search(svg.decode())
    return float(found[2]) if found else 0.0


def as_wide_as_its_page(svg: str) -> str:
    """Return an SVG that fills the width it stands in, whatever that is."""
    return _SIZE.sub(r'\1 width="100%"', svg, count=1)


def inline_svg(svg: bytes, prefix: str) -> str:
    """Return an SVG to stand inside a page: no prolog, no metadata, names of its own.

    What it shows, and that it is a picture, the figure round it says.

    Parameters
    ----------
    svg : bytes
        A whole document.
    prefix : str
        Goes before each of its names [-].
    """
    text = svg.decode()
    text = text[text.index("<svg") :]
    # A picture inside a picture would hide the figure's words.
    text = re.sub(r' role="[^"]*"', "", text, count=1)
    text = re.sub(r"<(metadata|desc)>.*?</\1>", "", text, flags=re.DOTALL)
    text = re.sub(r'\bid="([^"]+)"', rf'id="{prefix}\1"', text)
    text = re.sub(r'href="#([^"]+)"', rf'href="#{prefix}\1"', text)
    return re.sub(r"url\(#([^)]+)\)", rf"url(#{prefix}\1)", text)
