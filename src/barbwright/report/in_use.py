"""Simple line drawings of a part in use, as SVG for sheet and proof card."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from barbwright.design.in_use import TEXT_MM, Panel, panels_in_use, panels_on_the_rig, text_mm
from barbwright.design.kind import Design

_MARGIN_MM = 3.0
_A_ROW, _A_ROW_OF_RIGS = 2, 3
_LINE_MM = 0.35
_EDGE = f'fill="none" stroke="#000" stroke-width="{2.0 * _LINE_MM}" stroke-linejoin="round"'


def in_use(design: Design) -> str:
    """Return pictures of a part as it is tapped, gauged and pulled: an SVG and its key, as HTML.

    Parameters
    ----------
    design : Design
        A single part with a tip, or the driver or the fork made for one [mm].

    Returns
    -------
    str
        Empty for a part that is none of these.
    """
    panels = panels_in_use(design)
    return _svg(panels) if panels else ""


def on_the_rig(designs: Iterable[Design]) -> str:
    """Return pictures of parts closed and held for their proof test: an SVG and its key, as HTML.

    Parameters
    ----------
    designs : iterable of Design
        Single parts, tools among them [mm].

    Returns
    -------
    str
        Empty where none carries liquid.
    """
    panels = panels_on_the_rig(designs)
    return _svg(panels, _A_ROW_OF_RIGS) if panels else ""


def _polygon(points: Iterable[Sequence[float]], how: str) -> str:
    corners = " ".join(f"{point[0]:.2f},{-point[1]:.2f}" for point in points)
    return f'<polygon points="{corners}" {how}/>'


def _drawn(panel: Panel) -> str:
    """Return a panel's marks; of a joined body all edges first, then all insides over them."""
    marks = [_polygon(points, f'fill="{fill}" stroke="none"') for points, fill in panel.blocks]
    for body, fill in panel.bodies:
        marks += [_polygon(points, _EDGE) for points in body]
        marks += [_polygon(points, f'fill="{fill}" stroke="none"') for points in body]
    marks += [
        f'<line x1="{x0:.2f}" y1="{-y0:.2f}" x2="{x1:.2f}" y2="{-y1:.2f}" stroke="#000" '
        f'stroke-width="{_LINE_MM}"/>'
        for x0, y0, x1, y1 in panel.lines
    ]
    numbers = [(x, y, str(number)) for number, (x, y, _) in enumerate(panel.words, 1)]
    marks += [
        f'<text x="{x:.2f}" y="{-y + 0.35 * TEXT_MM:.2f}" font-size="{TEXT_MM}" '
        f'text-anchor="middle">{escape(text)}</text>'
        for x, y, text in (*numbers, *panel.centred)
    ]
    return "".join(marks)


def _svg(panels: Sequence[Panel], a_row: int = _A_ROW) -> str:
    """Stand panels side by side, so many to a row, the lowest points of a row level."""
    rows = [panels[first : first + a_row] for first in range(0, len(panels), a_row)]
    wide, below, parts = 0.0, _MARGIN_MM, []
    for row in rows:
        at = _MARGIN_MM
        tall = max(float(panel.most[1] - panel.least[1]) for panel in row)
        base = below + 2.0 * TEXT_MM + tall
        for panel in row:
            shift = f"translate({at - panel.least[0]:.2f} {base + panel.least[1]:.2f})"
            parts.append(
                f'<text x="{at:.2f}" y="{below + TEXT_MM:.2f}" font-size="{TEXT_MM}" '
                f'font-weight="bold">{escape(panel.title)}</text>'
                f'<g transform="{shift}">{_drawn(panel)}</g>'
            )
            room = max(float(panel.most[0] - panel.least[0]), text_mm(panel.title))
            at += room + 2.0 * _MARGIN_MM
        wide, below = max(wide, at), base + 2.0 * _MARGIN_MM
    high = below - _MARGIN_MM
    said = escape("; ".join(panel.title for panel in panels))
    return (
        f'<div class="pictured"><svg xmlns="http://www.w3.org/2000/svg" '
        f'viewBox="0 0 {wide:.2f} {high:.2f}" width="{wide:.0f}mm" font-family="sans-serif" '
        f'role="img" aria-label="{said}">{"".join(parts)}</svg>{"".join(map(_key, panels))}</div>'
    )


def _key(panel: Panel) -> str:
    """Return what a picture's numbers mean, in the page's own type."""
    # Each meaning in an element of its own: a card in another language is made line by line.
    words = " ".join(
        f"<span><b>{n}</b> <i>{escape(text)}</i></span>"
        for n, (*_, text) in enumerate(panel.words, 1)
    )
    return f'<p class="key"><strong>{escape(panel.title)}</strong> {words}</p>'
