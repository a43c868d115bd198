"""A placed sheet as a DXF document, and that document as a file of pure ASCII.

The part stands at its true size in model space, so whoever measures the DXF reads
millimetres; the sheet's frame is what is scaled. Every dimension carries its name
in extended data, by which a test reads it back.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import singledispatch
from math import sqrt
from typing import Any

from barbwright.design.view import DIAMETER
from barbwright.errors import BuildError, Fault, escaped
from barbwright.report.drawing.dimensions import (
    ARROW_MM,
    EXTENSION_MM,
    OFFSET_MM,
    TEXT_MM,
)
from barbwright.report.drawing.placed import (
    AXIS,
    BREAKS,
    CURVES,
    DIMS,
    FRAME,
    HATCH,
    MARK,
    OUTLINE,
    TEXT,
    THIN,
    Angular,
    Arrow,
    Disc,
    Hatch,
    Item,
    Linear,
    Stroke,
    Words,
)
from barbwright.report.drawing.sheet import Sheet
from barbwright.report.fonts import FONT_FILE, load_ezdxf

APP_ID = "BARBWRIGHT"
TITLE = "Title"
_LAYERS = {
    FRAME: (7, 35, "CONTINUOUS"),
    OUTLINE: (7, 50, "CONTINUOUS"),
    THIN: (7, 25, "CONTINUOUS"),
    AXIS: (1, 18, "BARB_CENTRE"),
    # 7 is black on paper and white on a dark screen, where blue is hardly seen.
    DIMS: (7, 18, "CONTINUOUS"),
    HATCH: (8, 13, "CONTINUOUS"),
    TEXT: (7, 25, "CONTINUOUS"),
    CURVES: (7, 25, "CONTINUOUS"),
    MARK: (7, 25, "CONTINUOUS"),
    BREAKS: (7, 18, "BARB_CENTRE"),
}

# In steps between two hatch lines, on the paper [mm]; and as the named pattern has them.
HATCH_MM, _ANSI31_MM = 1.5, 3.175
_CODES = {DIAMETER: "%%c", "±": "%%p", "°": "%%d"}
_STYLE_IN_HEADER = (
    "dimtxt", "dimasz", "dimexe", "dimexo", "dimgap", "dimdsep", "dimdec", "dimzin", "dimadec",
    "dimazin", "dimlunit", "dimtad", "dimtih", "dimtoh", "dimtxsty", "dimscale",
)  # fmt: skip


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
    for number, (view, (u, v, times)) in enumerate(zip(sheet.views, sheet.frames, strict=True)):
        plane = " ".join(axis.lstrip("-") for axis in view.plane)
        doc.header.custom_vars.append(
            f"View {number}", f"{view.letter or '-'} {plane} {u!r} {v!r} {times!r}"
        )
    for number, item in enumerate(sheet.items):
        before = len(space)
        _draw(item, space, sheet.paper_mm)
        if number < len(sheet.owners):
            for entity in space[before:]:
                _tag(entity, item, sheet.owners[number])
    doc.header.custom_vars.append(TITLE, sheet.title)
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
    # A reader that leaves the style alone goes by the header.
    style = doc.dimstyles.get("BARB").dxf
    for name in _STYLE_IN_HEADER:
        doc.header[f"${name.upper()}"] = style.get(name)
    doc.header["$DIMSTYLE"] = doc.header["$TEXTSTYLE"] = "BARB"
    return doc


def signs(text: str) -> str:
    """Return a text in ASCII, with the codes that every DXF reader knows for other signs."""
    for sign, code in _CODES.items():
        text = text.replace(sign, code)
    return "".join(c if ord(c) < 128 else f"\\U+{ord(c):04X}" for c in text)


def _tag(entity: Any, item: Item, view: int) -> None:
    """Write a dimension's name, and the view it belongs to, into extended data."""
    name = item.name if isinstance(item, Linear | Angular) else ""
    entity.set_xdata(APP_ID, [(1000, name), (1070, view)])


# --- one item after the other -------------------------------------------------------------------


@singledispatch
def _draw(item: Item, space: Any, p: float) -> None:
    """Draw one placed item."""
    message = f"nothing draws a {type(item).__name__}"
    raise TypeError(message)


@_draw.register
def _(item: Stroke, space: Any, p: float) -> None:
    look = {"layer": item.layer} | ({"linetype": "BARB_HIDDEN"} if item.dashed else {})
    if item.layer == MARK:
        # Engraved strokes have four corners each, and stand black.
        one, two, three, four = item.path[:4, :2].tolist()
        space.add_solid([one, two, four, three], dxfattribs=look)
    elif item.single:
        space.add_line(item.path[0, :2].tolist(), item.path[1, :2].tolist(), dxfattribs=look)
    else:
        space.add_lwpolyline(item.path.tolist(), format="xyb", close=item.closed, dxfattribs=look)


@_draw.register
def _(item: Hatch, space: Any, p: float) -> None:
    hatch = space.add_hatch(dxfattribs={"layer": HATCH})
    # A reader that does not take the lines from the file knows the pattern by its name.
    gap = _ANSI31_MM / sqrt(2.0)
    hatch.set_pattern_fill(
        "ANSI31",
        scale=HATCH_MM * p / _ANSI31_MM,
        definition=[[45.0, (0.0, 0.0), (-gap, gap), []]],
    )
    hatch.paths.add_polyline_path(item.path.tolist(), is_closed=True)


@_draw.register
def _(item: Words, space: Any, p: float) -> None:
    look = {"layer": TEXT, "style": "BARB"}
    made = space.add_text(escaped(signs(item.text)), height=item.height_mm, dxfattribs=look)
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
        text=signs(item.text),
        dimstyle="BARB",
        # The words say all; the limits stand here as well for programs that read them. Asking
        # ezdxf for a tolerance would draw it a second time.
        override={
            "dimtp": item.off_mm[1],
            "dimtm": item.off_mm[0],
            "dimse1": hidden,
            "dimse2": hidden,
            "dimlfac": 1.0 / item.enlarged,
        },
        dxfattribs={"layer": DIMS},
    )
    made.render()


@_draw.register
def _(item: Angular, space: Any, p: float) -> None:
    words = {
        "location": item.centre,
        "text_rotation": 0.0,
        "text": signs(item.text),
        "dimstyle": "BARB",
        "dxfattribs": {"layer": DIMS},
    }
    shown = space.add_angular_dim_3p(
        base=item.base, center=item.corner, p1=item.first, p2=item.second, **words
    )
    shown.render()
    # Some readers show no angle of three points, and ezdxf draws that of two lines wrong: one of
    # two lines, which looks like that of three points.
    made = space.add_angular_dim_2l(
        base=item.base,
        line1=(item.corner, item.first),
        line2=(item.corner, item.second),
        **words,
    )
    made.dimension.dxf.geometry = shown.dimension.dxf.geometry
    made.dimension.dxf.text_midpoint = shown.dimension.dxf.text_midpoint
    shown.dimension.dxf.discard("geometry")
    space.delete_entity(shown.dimension)


@_draw.register
def _(item: Disc, space: Any, p: float) -> None:
    space.add_circle(item.at, item.radius_mm, dxfattribs={"layer": item.layer})


@_draw.register
def _(item: Arrow, space: Any, p: float) -> None:
    (u, v), (back_u, back_v) = item.point, item.tail
    side = ((v - back_v) / 6.0, (back_u - u) / 6.0)
    corners = [
        (back_u + side[0], back_v + side[1]), (u, v), (back_u - side[0], back_v - side[1]),
    ]  # fmt: skip
    space.add_solid([*corners, corners[-1]], dxfattribs={"layer": DIMS})


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
    return stream.getvalue().encode("ascii")
