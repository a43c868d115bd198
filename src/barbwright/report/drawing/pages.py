"""A drawing's document as pages a person reads: SVG and PDF, their words as text.

ezdxf draws letters as outlines, which nobody can search, copy or hear read out. Here
its pipeline hands over each text with its place, and the page sets it in a font.
"""

from __future__ import annotations

import base64
import io
import random
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import sha256
from html import escape
from math import atan2, degrees, hypot
from typing import Any

from barbwright.report.drawing.placed import Box
from barbwright.report.drawing.sheet import PAGE_MM
from barbwright.report.drawing.writers import TITLE
from barbwright.report.fonts import FONT_FILE, font_folder, homeless, load_ezdxf
from barbwright.report.pages import with_words

# Height of the font's capitals over its size [-].
_CAPITALS = 0.729
_SPACE = 100_000
_SHOWS = "Half section and views with all dimensions in millimetres, each a text that can be read."
# A seed of its own would change nothing: only equal bytes count.
_SEED = 0


@dataclass(frozen=True, kw_only=True)
class Written:
    """A text on the page.

    Attributes
    ----------
    text : str
        What it says.
    at : (float, float)
        Where it begins, on its base line [mm of the document].
    turn_deg : float
        Direction in which it runs [degree].
    capitals_mm : float
        Height of its capitals [mm of the document].
    """

    text: str
    at: tuple[float, float]
    turn_deg: float
    capitals_mm: float


def page_box(document: Any) -> Box:
    """Return the page's left, bottom, right and top [mm of the document]."""
    layout = document.modelspace().dxf
    low, high = layout.extmin, layout.extmax
    return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))


def _title(document: Any) -> str:
    return str(document.header.custom_vars.get(TITLE, ""))


@contextmanager
def _same_hatch() -> Iterator[None]:
    """Seed the jitter of hatch lines, and give the generator back as it was."""
    state = random.getstate()
    random.seed(_SEED)
    try:
        yield
    finally:
        random.setstate(state)


def _configuration() -> Any:
    from ezdxf.addons.drawing.config import (
        BackgroundPolicy,
        ColorPolicy,
        Configuration,
        HatchPolicy,
        LinePolicy,
    )

    return Configuration(
        background_policy=BackgroundPolicy.WHITE,
        color_policy=ColorPolicy.BLACK,
        hatch_policy=HatchPolicy.NORMAL,
        line_policy=LinePolicy.ACCURATE,
        min_lineweight=0.1,
    )


def drawn_on(document: Any, backend: Any, *, finalize: bool) -> list[Written]:
    """Draw a document's lines, and return its words.

    Parameters
    ----------
    document : ezdxf.document.Drawing
        From `drawing`.
    backend : object
        A backend of ezdxf's drawing add-on, on which the lines are drawn.
    finalize : bool
        Whether the backend is told that the drawing is done.

    Returns
    -------
    list of Written
        In the order of the document.
    """
    from ezdxf.addons.drawing import RenderContext
    from ezdxf.addons.drawing.frontend import UniversalFrontend
    from ezdxf.addons.drawing.pipeline import RenderPipeline2d, prepare_string_for_rendering

    words: list[Written] = []

    class Words(RenderPipeline2d):  # type: ignore[misc]
        def draw_text(
            self,
            text: str,
            transform: Any,
            properties: Any,
            cap_height: float,
            dxftype: str = "TEXT",
        ) -> None:
            text = prepare_string_for_rendering(text, dxftype)
            if not text.strip():
                return
            at = transform.transform((0, 0))
            way = transform.transform((1, 0)) - at
            words.append(
                Written(
                    text=text,
                    at=(float(at.x), float(at.y)),
                    turn_deg=degrees(atan2(way.y, way.x)),
                    capitals_mm=cap_height * hypot(way.x, way.y),
                )
            )

    with _same_hatch():
        UniversalFrontend(
            RenderContext(document), Words(backend), config=_configuration()
        ).draw_layout(document.modelspace(), finalize=finalize)
    return words


def svg_bytes(document: Any) -> bytes:
    """Return a drawing as an SVG file, A4 landscape, its texts as text in a font of its own.

    Parameters
    ----------
    document : ezdxf.document.Drawing
        From `drawing`; its title is the page's.

    Returns
    -------
    bytes
        UTF-8, no outside address but the SVG namespace.
    """
    # Its sizes and notes are words, which a picture would hide from who hears it read.
    return with_words(svg_inside(document), _SHOWS, "graphics-document document")


def svg_inside(document: Any, wide_mm: float = 0.0) -> bytes:
    """Return the same to stand inside a page, whose figure says what it is.

    Parameters
    ----------
    document : ezdxf.document.Drawing
        As in `svg_bytes`.
    wide_mm : float
        Its width where that is not A4's [mm].

    Returns
    -------
    bytes
        UTF-8.
    """
    load_ezdxf()
    from ezdxf.addons.drawing import layout as page_layout
    from ezdxf.addons.drawing.svg import SVGBackend
    from ezdxf.math import BoundingBox2d

    backend = SVGBackend()
    words = drawn_on(document, backend, finalize=True)
    left, bottom, right, top = page_box(document)
    size = (wide_mm, wide_mm * (top - bottom) / (right - left)) if wide_mm else PAGE_MM
    drawn = backend.get_string(
        page_layout.Page(*size, page_layout.Units.mm, page_layout.Margins.all(0)),
        settings=page_layout.Settings(fit_page=True, output_coordinate_space=_SPACE),
        render_box=BoundingBox2d([(left, bottom), (right, top)]),
        xml_declaration=False,
    )
    per_mm = _SPACE / max(right - left, top - bottom)
    texts = "".join(
        f'<text transform="translate({(one.at[0] - left) * per_mm:.1f} '
        f'{(top - one.at[1]) * per_mm:.1f}) rotate({-one.turn_deg:.3f})" '
        f'font-size="{one.capitals_mm * per_mm / _CAPITALS:.1f}">{escape(one.text)}</text>'
        for one in words
    )
    font = base64.b64encode(_font_for("".join(one.text for one in words))).decode()
    # Two drawings on one page must not take each other's letters.
    family = f"drawing-{sha256(font.encode()).hexdigest()[:8]}"
    head, _, rest = str(drawn).partition(">")
    style = (
        f"<title>{escape(_title(document))}</title><style>@font-face{{font-family:{family};"
        f"src:url(data:font/ttf;base64,{font})}}</style>"
    )
    body = rest[: rest.rindex("</svg>")]
    group = f'<g font-family="{family}, DejaVu Sans, sans-serif" fill="#000000">{texts}</g>'
    return f"{head}>{style}{body}{group}</svg>".encode()


def _font_for(text: str) -> bytes:
    """Return the drawing's font with no more letters than a text has."""
    from fontTools import subset
    from fontTools.ttLib import TTFont

    with TTFont(font_folder() / FONT_FILE, recalcTimestamp=False) as font:
        options = subset.Options(layout_features=[], hinting=False, notdef_outline=True)
        options.drop_tables += ["FFTM"]
        cutter = subset.Subsetter(options)
        cutter.populate(text=text)
        cutter.subset(font)
        stream = io.BytesIO()
        font.save(stream)
    return stream.getvalue()


def pdf_bytes(document: Any) -> bytes:
    """Return a drawing as one PDF page, A4 landscape, its texts as text; no dates in it.

    Parameters
    ----------
    document : ezdxf.document.Drawing
        From `drawing`; its title is the page's.

    Returns
    -------
    bytes
        The file, its font embedded.
    """
    load_ezdxf()
    # Through matplotlib: ezdxf's other way to PDF needs a library under the AGPL.
    with homeless():
        import matplotlib as mpl
        from ezdxf.addons.drawing.matplotlib import MatplotlibBackend
        from matplotlib.backends.backend_pdf import FigureCanvasPdf
        from matplotlib.figure import Figure
        from matplotlib.font_manager import FontProperties

    with mpl.rc_context():
        mpl.rcdefaults()
        # As TrueType: letters that a reader can select, search and hear.
        mpl.rcParams["pdf.fonttype"] = 42
        figure = Figure(figsize=(PAGE_MM[0] / 25.4, PAGE_MM[1] / 25.4))
        FigureCanvasPdf(figure)
        axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        left, bottom, right, top = page_box(document)
        words = drawn_on(document, MatplotlibBackend(axes, adjust_figure=False), finalize=False)
        points = PAGE_MM[0] / (right - left) * 72.0 / 25.4 / _CAPITALS
        for one in words:
            axes.text(
                *one.at, one.text, rotation=one.turn_deg, rotation_mode="anchor", ha="left",
                va="baseline", parse_math=False, color="#000000", zorder=9e9,
                font=FontProperties(
                    fname=font_folder() / FONT_FILE, size=one.capitals_mm * points
                ),
            )  # fmt: skip
        axes.set_aspect("auto")
        axes.set_xlim(left, right)
        axes.set_ylim(bottom, top)
        stream = io.BytesIO()
        figure.savefig(
            stream,
            format="pdf",
            metadata={
                "CreationDate": None,
                "ModDate": None,
                "Creator": "barbwright",
                "Producer": "barbwright",
                "Title": _title(document),
            },
        )
    return stream.getvalue()
