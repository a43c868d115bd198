"""A placed sheet as a DXF document, and that document as DXF, SVG and PDF.

The part stands at its true size in model space, so whoever measures the DXF reads
millimetres; the sheet's frame is what is scaled. Every dimension carries its name
in extended data, by which a test reads it back.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from contextlib import contextmanager
from functools import singledispatch
from math import sqrt
from typing import Any

from barbwright.errors import BuildError, Fault
from barbwright.report.drawing.dimensions import (
    ARROW_MM,
    EXTENSION_MM,
    OFFSET_MM,
    TEXT_MM,
)
from barbwright.report.drawing.placed import (
    AXIS,
    DIMS,
    HATCH,
    OUTLINE,
    TEXT,
    THIN,
    Angular,
    Box,
    Hatch,
    Item,
    Linear,
    Stroke,
    Words,
)
from barbwright.report.drawing.sheet import PAGE_MM, Sheet
from barbwright.report.fonts import FONT_FILE, homeless, load_ezdxf

APP_ID = "BARBWRIGHT"
_LAYERS = {
    OUTLINE: (7, 50, "CONTINUOUS"),
    THIN: (7, 25, "CONTINUOUS"),
    AXIS: (1, 18, "BARB_CENTRE"),
    DIMS: (5, 18, "CONTINUOUS"),
    HATCH: (8, 13, "CONTINUOUS"),
    TEXT: (7, 25, "CONTINUOUS"),
}


def document_of(sheet: Sheet) -> Any:
    """Return a placed sheet as a DXF document.

    Parameters
    ----------
    sheet : Sheet
        All that stands on it [mm].

    Returns
    -------
    ezdxf.document.Drawing
        Millimetres at true size; the frame is scaled to A4.
    """
    ezdxf = load_ezdxf()
    doc = _new_document(ezdxf, sheet.paper_mm)
    space = doc.modelspace()
    for item in sheet.items:
        _draw(item, space, sheet.paper_mm)
    left, bottom, right, top = sheet.page
    space.reset_extents((left, bottom, 0.0), (right, top, 0.0))
    doc.set_modelspace_vport(
        height=top - bottom, center=((left + right) / 2.0, (bottom + top) / 2.0)
    )
    return doc


@contextmanager
def _fixed_metadata(ezdxf: Any) -> Iterator[None]:
    """Keep the clock out of a document; it is written when made and when saved."""
    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before


def _new_document(ezdxf: Any, p: float) -> Any:
    with _fixed_metadata(ezdxf):
        doc = ezdxf.new("R2010", setup=False, units=4)
    # Their order would otherwise follow the hash seed.
    for name in ("LAYOUT", "ACDBPLACEHOLDER"):
        doc.classes.add_class(name)
    doc.appids.add(APP_ID)
    doc.styles.add("BARB", font=FONT_FILE)
    doc.linetypes.add("BARB_CENTRE", pattern=[8.5 * p, 6.0 * p, -1.0 * p, 0.5 * p, -1.0 * p])
    doc.linetypes.add("BARB_HIDDEN", pattern=[2.0 * p, 1.3 * p, -0.7 * p])
    for name, (colour, weight, linetype) in _LAYERS.items():
        doc.layers.add(name, color=colour, lineweight=weight, linetype=linetype)
    doc.dimstyles.add(
        "BARB",
        dxfattribs={
            "dimtxsty": "BARB",
            "dimtxt": TEXT_MM * p,
            "dimasz": ARROW_MM * p,
            "dimexe": EXTENSION_MM * p,
            "dimexo": OFFSET_MM * p,
            "dimgap": 0.6 * p,
            "dimdec": 2,
            "dimzin": 8,
            "dimtzin": 8,
            "dimadec": 2,
            "dimazin": 2,
            "dimtad": 0,
            "dimtih": 0,
            "dimtoh": 0,
            "dimtmove": 2,
            "dimclrd": 256,
            "dimclre": 256,
            "dimclrt": 256,
            "dimdsep": ord("."),
            "dimlunit": 2,
            "dimscale": 1.0,
            "dimlfac": 1.0,
        },
    )
    return doc


# --- one item after the other -------------------------------------------------------------------


@singledispatch
def _draw(item: Item, space: Any, p: float) -> None:
    """Draw one placed item."""
    message = f"nothing draws a {type(item).__name__}"
    raise TypeError(message)


@_draw.register
def _(item: Stroke, space: Any, p: float) -> None:
    look = {"layer": item.layer} | ({"linetype": "BARB_HIDDEN"} if item.dashed else {})
    if item.single:
        space.add_line(item.path[0, :2].tolist(), item.path[1, :2].tolist(), dxfattribs=look)
    else:
        space.add_lwpolyline(item.path.tolist(), format="xyb", close=item.closed, dxfattribs=look)


@_draw.register
def _(item: Hatch, space: Any, p: float) -> None:
    hatch = space.add_hatch(dxfattribs={"layer": HATCH})
    gap = 1.5 * p / sqrt(2.0)
    hatch.set_pattern_fill("BARB45", definition=[[45.0, (0.0, 0.0), (-gap, gap), []]])
    hatch.paths.add_polyline_path(item.path.tolist(), is_closed=True)


@_draw.register
def _(item: Words, space: Any, p: float) -> None:
    look = {"layer": TEXT, "style": "BARB"}
    made = space.add_text(item.text, height=item.height_mm, dxfattribs=look)
    made.set_placement(item.at)


@_draw.register
def _(item: Linear, space: Any, p: float) -> None:
    hidden = 0 if item.extended else 1
    made = space.add_linear_dim(
        base=item.base,
        p1=item.ends[0],
        p2=item.ends[1],
        location=item.centre,
        angle=item.angle_deg,
        text_rotation=90.0 if item.upright else 0.0,
        dimstyle="BARB",
        override={
            "dimpost": f"{item.sign}<>" if item.sign else "",
            "dimse1": hidden,
            "dimse2": hidden,
        },
        dxfattribs={"layer": DIMS},
    )
    made.set_tolerance(item.tolerance_mm, hfactor=1.0, dec=2)
    made.render()
    made.dimension.set_xdata(APP_ID, [(1000, item.name)])


@_draw.register
def _(item: Angular, space: Any, p: float) -> None:
    made = space.add_angular_dim_3p(
        base=item.base,
        center=item.corner,
        p1=item.first,
        p2=item.second,
        location=item.centre,
        text_rotation=0.0,
        dimstyle="BARB",
        dxfattribs={"layer": DIMS},
    )
    made.render()
    made.dimension.set_xdata(APP_ID, [(1000, item.name)])


# --- files --------------------------------------------------------------------------------------


def dxf_bytes(document: Any) -> bytes:
    """Return a drawing as DXF; equal drawings give equal bytes.

    Parameters
    ----------
    document : ezdxf.document.Drawing
        The drawing.

    Returns
    -------
    bytes
        ASCII DXF R2010.

    Raises
    ------
    BuildError
        When ezdxf's own audit finds an error.
    """
    import io

    import ezdxf

    audit = document.audit()
    if audit.errors:
        raise BuildError(
            Fault("the drawing does not pass its audit", given=str(audit.errors[0].message))
        )
    stream = io.StringIO()
    with _fixed_metadata(ezdxf):
        document.write(stream)
    return stream.getvalue().encode("utf-8")


def _page_box(document: Any) -> Box:
    layout = document.modelspace().dxf
    low, high = layout.extmin, layout.extmax
    return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))


@contextmanager
def _same_hatch() -> Iterator[None]:
    """Seed the jitter of hatch lines, and give the generator back as it was."""
    state = random.getstate()
    random.seed(0)
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
        TextPolicy,
    )

    return Configuration(
        background_policy=BackgroundPolicy.WHITE,
        color_policy=ColorPolicy.BLACK,
        hatch_policy=HatchPolicy.NORMAL,
        line_policy=LinePolicy.ACCURATE,
        text_policy=TextPolicy.FILLING,
        min_lineweight=0.1,
    )


def svg_bytes(document: Any) -> bytes:
    """Return a drawing as one SVG, A4 landscape, its texts as outlines.

    Parameters
    ----------
    document : ezdxf.document.Drawing
        From `drawing`.

    Returns
    -------
    bytes
        UTF-8, no outside address but the SVG namespace.
    """
    from ezdxf.addons.drawing import Frontend, RenderContext
    from ezdxf.addons.drawing import layout as page_layout
    from ezdxf.addons.drawing.svg import SVGBackend
    from ezdxf.math import BoundingBox2d

    load_ezdxf()
    backend = SVGBackend()
    with _same_hatch():
        Frontend(RenderContext(document), backend, config=_configuration()).draw_layout(
            document.modelspace()
        )
    left, bottom, right, top = _page_box(document)
    text = backend.get_string(
        page_layout.Page(*PAGE_MM, page_layout.Units.mm, page_layout.Margins.all(0)),
        settings=page_layout.Settings(fit_page=True, output_coordinate_space=100_000),
        render_box=BoundingBox2d([(left, bottom), (right, top)]),
        xml_declaration=False,
    )
    return str(text).encode("utf-8")


def pdf_bytes(document: Any) -> bytes:
    """Return a drawing as one PDF page, A4 landscape; no dates in it.

    Parameters
    ----------
    document : ezdxf.document.Drawing
        From `drawing`.

    Returns
    -------
    bytes
        The file.
    """
    import io

    load_ezdxf()
    # Through matplotlib: ezdxf's other way to PDF needs a library under the AGPL.
    with homeless():
        import matplotlib as mpl
        from ezdxf.addons.drawing import Frontend, RenderContext
        from ezdxf.addons.drawing.matplotlib import MatplotlibBackend
        from ezdxf.npshapes import to_matplotlib_path
        from matplotlib.backends.backend_pdf import FigureCanvasPdf
        from matplotlib.figure import Figure
        from matplotlib.patches import PathPatch

    class Backend(MatplotlibBackend):  # type: ignore[misc]
        """Fill letters as the font winds them: guessing holes fills half a diameter sign."""

        def draw_filled_paths(self, paths: Any, properties: Any) -> None:
            paths = [path for path in paths if len(path)]
            if paths:
                path = to_matplotlib_path(paths, detect_holes=False)
                self.ax.add_patch(
                    PathPatch(path, color=properties.color, linewidth=0, zorder=self._get_z())
                )

    with mpl.rc_context():
        mpl.rcdefaults()
        figure = Figure(figsize=(PAGE_MM[0] / 25.4, PAGE_MM[1] / 25.4))
        FigureCanvasPdf(figure)
        axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        left, bottom, right, top = _page_box(document)
        backend = Backend(axes, adjust_figure=False)
        with _same_hatch():
            Frontend(RenderContext(document), backend, config=_configuration()).draw_layout(
                document.modelspace(), finalize=False
            )
        axes.set_aspect("auto")
        axes.set_xlim(left, right)
        axes.set_ylim(bottom, top)
        stream = io.BytesIO()
        figure.savefig(
            stream,
            format="pdf",
            metadata={"CreationDate": None, "ModDate": None, "Creator": "barbwright"},
        )
    return stream.getvalue()
