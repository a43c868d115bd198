"""The drawing: its numbers read back from the DXF, its texts apart, its bytes the same."""

import html
import io
import math
import os
import re
import subprocess
import sys
from itertools import pairwise

import numpy as np
import pypdf
import pytest
from example_reports import info_of, make_report

from barbwright.design.part import dimensions, sizes_of
from barbwright.report import drawing as drawn
from barbwright.report.drawing import pages
from barbwright.report.drawing.placed import crossing
from barbwright.report.fonts import load_ezdxf, text_width

# As ezdxf turns %%c back into a letter, which searches find more easily than U+2300.
SIGN = "Ø"
SMALLEST = {"tube_id": "3mm", "tube_od": "5mm", "bit": "5mm", "bark": "2mm"}
LARGEST = {"tube_id": "16mm", "tube_od": "20mm", "bit": "20mm", "bark": "30mm"}
TOOLS = {
    name: {"kind": kind, "settings": settings}
    for name, kind, settings in (
        ("cap", "cap", ()), ("collar", "collar", ()), ("driver", "driver", ()),
        ("driver for one arm", "driver", ("arms=1",)),
        ("driver for two arms", "driver", ("arms=2",)), ("fork", "fork", ()),
    )
}  # fmt: skip
CASES = {
    "elbow": {"kind": "elbow"},
    "tee": {"kind": "tee"},
    "tip": {"kind": "tip"},
    "barb": {"kind": "barb"},
    "two sizes": {
        "kind": "barb", "tube2_id": "6mm", "tube2_od": "8mm", "tube2_material": "nylon",
    },
    "side ports": {"kind": "elbow", "settings": ("side_ports=1",)},
    "tip with side ports": {"kind": "tip", "settings": ("side_ports=1",)},
    "smallest barb": {"kind": "barb", "tube_id": "3mm", "tube_od": "5mm"},
    "smallest elbow": {"kind": "elbow", **SMALLEST},
    "smallest tee": {"kind": "tee", **SMALLEST},
    "smallest tip": {"kind": "tip", **SMALLEST},
    "largest elbow": {"kind": "elbow", **LARGEST},
    "largest tee": {"kind": "tee", **LARGEST},
    "largest tip": {"kind": "tip", **LARGEST},
    "largest barb": {"kind": "barb", "tube_id": "30mm", "tube_od": "38mm"},
    "pla": {"kind": "tee", "material": "fff_pla"},
    "not passed": {"kind": "tee", "passed": False},
    "side port at a small lead": {"kind": "tip", "settings": ("side_ports=1",), **SMALLEST},
    **TOOLS,
    **{f"smallest {name}": tool | SMALLEST for name, tool in TOOLS.items()},
    **{f"largest {name}": tool | LARGEST for name, tool in TOOLS.items()},
}  # fmt: skip


@pytest.fixture(scope="module", params=CASES, ids=lambda name: name.replace(" ", "-"))
def case(request):
    report = make_report(**CASES[request.param])
    document = drawn.drawing(report.design, info_of(report))
    data = drawn.dxf_bytes(document)
    ezdxf = load_ezdxf()
    return report, ezdxf.read(io.StringIO(data.decode("ascii"))), document


def named_dimensions(document):
    return {
        dimension.get_xdata("BARBWRIGHT")[0].value: dimension
        for dimension in document.modelspace().query("DIMENSION")
    }


def named_lengths(document):
    found = named_dimensions(document)
    return {name: found[name] for name in found if name.endswith("_mm")}


def shown_text(dimension):
    return "".join(
        entity.plain_text() if entity.dxftype() == "MTEXT" else entity.dxf.text
        for entity in dimension.get_geometry_block()
        if entity.dxftype() in {"TEXT", "MTEXT"}
    )


def test_the_written_file_passes_the_audit_without_an_error(case):
    audit = case[1].audit()
    assert not audit.errors
    assert not audit.fixes


def test_dimensions_measured_in_the_dxf_are_the_designs(case):
    report, document, _ = case
    sizes = dimensions(report.design)
    sizes |= {"side_port_diameter_mm": sizes.get("tip_bore_diameter_mm")}
    own = report.design.own
    if report.design.kind.name == "collar":
        sizes["screw_from_face_mm"] = float(own.length_mm) / 2.0
    for name, dimension in named_lengths(document).items():
        if name == "side_port_from_lead_mm":
            continue
        assert float(dimension.get_measurement()) == pytest.approx(sizes[name], abs=0.01), name


def test_every_drawn_diameter_and_length_has_its_dimension(case):
    report, document, _ = case
    wanted = {name for name, (size, _) in sizes_of(report.design).items() if size.printed}
    # Both ends of a barb share one neck; a tip has its ring. Notes tell how deep ticks and a cup
    # are, and the barb's step, which is a difference.
    wanted -= {
        "second_neck_diameter_mm", "tick_depth_mm", "barb_step_mm", "second_barb_step_mm",
        "cup_depth_mm",
    }  # fmt: skip
    if report.design.ring is not None:
        wanted -= {"neck_diameter_mm", "neck_length_mm"}
    if report.design.kind.name == "cap":
        # Its head is what the tube stops on: its own size stands for the neck's.
        assert report.design.neck_length_mm == report.design.own.head_thickness_mm
        wanted -= {"neck_diameter_mm", "neck_length_mm"}
    assert wanted <= set(named_dimensions(document))
    if report.design.barbs:
        # Radii stand in one line of the title block instead.
        words = " ".join(text.plain_text() for text in document.modelspace().query("TEXT"))
        for barb in report.design.barbs:
            assert f"{barb.step_mm:.2f}".rstrip("0").rstrip(".") + "±0.2 on one piece" in words
        assert f"shoulder R{float(report.design.barbs[0].shoulder_radius_mm):g}" in words


def test_each_dimension_shows_the_process_tolerance(case):
    report, document, _ = case
    material = report.design.conditions.material
    for name, dimension in named_lengths(document).items():
        size = float(dimension.get_measurement())
        override = dimension.override()
        for side in ("dimtp", "dimtm"):
            assert override.get(side) == pytest.approx(float(material.tolerance_at(size))), name
        shown = shown_text(dimension)
        assert f"{size:.2f}".rstrip("0").rstrip(".") in shown, name
        assert "±" in shown, name
        assert shown.count("±") == 1, name
        assert (SIGN in shown) == ("diameter" in name), name
        assert shown.startswith("S") == ("ball" in name), name


def text_boxes(document):
    from ezdxf import bbox

    entities = []
    for entity in document.modelspace():
        if entity.dxftype() == "DIMENSION":
            entities += list(entity.virtual_entities())
        else:
            entities.append(entity)
    boxes = []
    for entity in entities:
        if entity.dxftype() in {"TEXT", "MTEXT"}:
            found = bbox.extents([entity])
            boxes.append((found.extmin.x, found.extmin.y, found.extmax.x, found.extmax.y))
    return boxes


def test_no_text_lies_on_another_and_all_stand_inside_the_frame(case):
    _, document, _ = case
    boxes = text_boxes(document)
    # Three heads and three bodies of the title block's three columns, and the dimensions.
    assert len(boxes) >= 18 + len(named_dimensions(document)) >= 23
    assert not drawn.overlapping(boxes)
    frame = next(
        line for line in document.modelspace().query("LWPOLYLINE") if line.closed
    ).get_points("xy")
    (left, bottom), (right, top) = frame[0], frame[2]
    for box in boxes:
        assert box[0] > left
        assert box[1] > bottom
        assert box[2] < right
        assert box[3] < top


class Strokes:
    """Every straight piece that is drawn, and every text, in the page's millimetres."""

    def __init__(self, document):
        from ezdxf.addons.drawing.recorder import Recorder

        recorder = Recorder()
        self.words = pages.drawn_on(document, recorder, finalize=True)
        left, _, right, _ = pages.page_box(document)
        self.per_mm = pages.PAGE_MM[0] / (right - left)
        pieces = []
        for record, _ in recorder.player().recordings():
            if hasattr(record, "start"):
                pieces.append([(*record.start, *record.end)])
            elif hasattr(record, "lines"):
                points = record.lines.vertices()
                pieces.append([(*a, *b) for a, b in zip(points[::2], points[1::2], strict=True)])
            elif hasattr(record, "points"):
                points = record.points.vertices()
                pieces.append([(*a, *b) for a, b in pairwise([*points, points[0]])])
            elif hasattr(record, "path"):
                points = list(record.path.to_path().flattening(0.01))
                pieces.append([(a.x, a.y, b.x, b.y) for a, b in pairwise(points)])
            else:
                for path in record.paths:
                    points = list(path.to_path().flattening(0.01))
                    pieces.append([(a.x, a.y, b.x, b.y) for a, b in pairwise(points)])
        self.pieces = np.array([piece for some in pieces for piece in some])

    def crossed(self):
        """Return the texts that something drawn runs through."""
        found = []
        for one in self.words:
            turn = -math.radians(one.turn_deg)
            about = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
            own = np.hstack([(self.pieces[:, two] - one.at) @ about for two in ([0, 1], [2, 3])])
            wide = text_width(one.text) * one.capitals_mm
            # Brackets and the diameter's stroke reach under the line.
            box = (0.0, -0.1 * one.capitals_mm, wide, one.capitals_mm)
            if len(crossing(box, own)):
                found.append(one.text)
        return found


def test_nothing_that_is_drawn_runs_through_a_text(case):
    assert Strokes(case[1]).crossed() == []


def test_the_crossing_test_itself_finds_a_line_through_a_turned_text(case):
    report, document, _ = case
    if report.design.kind.name != "barb":
        return
    one = next(word for word in Strokes(document).words if abs(word.turn_deg - 90.0) < 1.0)
    u, v = one.at
    line = document.modelspace().add_line((u - 9.0, v + 0.5), (u + 9.0, v + 0.5))
    try:
        assert one.text in Strokes(document).crossed()
    finally:
        document.modelspace().delete_entity(line)


def test_the_overlap_test_itself_finds_an_overlap():
    assert drawn.overlapping([(0, 0, 2, 1), (1.9, 0.5, 3, 2)])
    assert not drawn.overlapping([(0, 0, 2, 1), (2.1, 0.5, 3, 2)])


def test_the_outline_itself_is_as_long_as_the_part(case):
    report, document, _ = case
    points = [
        point
        for line in document.modelspace().query('LWPOLYLINE[layer=="outline"]')
        if not line.closed
        for point in line.get_points("xy")
    ]
    size = dimensions(report.design)
    axis = "x" if report.design.kind.name in {"barb", "fork"} else "z"
    long = size[f"envelope_{axis}_mm"]
    across = [u for u, _ in points]
    assert max(across) - min(across) == pytest.approx(long, abs=0.01)


def test_the_title_block_says_what_it_must(case):
    report, document, _ = case
    said = " | ".join(text.plain_text() for text in document.modelspace().query("TEXT"))
    for words in (
        report.part_number, report.job.material.name, report.job.material.process_52900,
        "Not pressure rated: proof-test with water", " / mm",
        "from the side" if report.design.kind.name == "fork" else "half section",
    ):  # fmt: skip
        assert words in said
    assert ("NOT PASSED" in said) != report.passed


def test_angles_are_dimensioned_as_drawn(case):
    """The barb's ramp as the rules say it, the fork's as its rise."""
    report, document, _ = case
    design, found = report.design, named_dimensions(document)
    angles = {name: one for name, one in found.items() if name.endswith("_deg")}
    wanted = {}
    if design.barbs:
        wanted["barb_angle_deg"] = design.conditions.rules["barb_angle_deg"]
    if design.kind.name == "fork":
        wanted["fork_slope_deg"] = math.degrees(math.atan(design.own.slope))
    assert set(angles) == set(wanted)
    for name, dimension in angles.items():
        assert float(dimension.get_measurement()) == pytest.approx(wanted[name], abs=0.01)
        assert shown_text(dimension) == f"{wanted[name]:.2f}".rstrip("0").rstrip(".") + "°"


def test_a_tips_ticks_say_how_deep_they_are(case):
    report, document, _ = case
    notes = [text.plain_text() for text in document.modelspace().query("TEXT")]
    deep = [note for note in notes if note.startswith("ticks ")]
    assert bool(deep) == (report.design.tip is not None)
    if deep:
        assert deep[0].startswith(f"ticks {float(report.design.tip.tick_depth_mm):.2f}".rstrip("0"))


def outlines(kind, **more):
    report = make_report(kind, **more)
    document = drawn.drawing(report.design, info_of(report))
    return report.design.own, [
        [(u, v) for u, v in line.get_points("xy")]
        for line in document.modelspace().query('LWPOLYLINE[layer=="outline"]')
        if not line.closed
    ]


def has_point(paths, u, v):
    return any(abs(a - u) < 1e-6 and abs(b - v) < 1e-6 for path in paths for a, b in path)


def test_a_collars_screw_hole_is_drawn_through_its_wall():
    own, paths = outlines("collar")
    middle, hole = float(own.length_mm) / 2.0, float(own.screw_hole_mm) / 2.0
    for u in (middle - hole, middle + hole):
        for across in (float(own.bore_mm), float(own.collar_mm)):
            assert has_point(paths, u, across / 2.0)


@pytest.mark.parametrize("arms", [1, 2])
def test_a_drivers_slots_are_drawn_one_in_front_and_the_other_behind_the_cut(arms):
    own, paths = outlines("driver", settings=(f"arms={arms}",))
    half, high = float(own.slot_mm) / 2.0, float(own.slot_height_mm)
    assert has_point(paths, high, 0.0)
    assert has_point(paths, high - half, -half)
    assert has_point(paths, high - half, half) == (arms == 2)


def test_a_fork_is_drawn_from_its_side_with_every_step_a_tick_higher():
    own, paths = outlines("fork")
    side = min(paths, key=lambda path: min(v for _, v in path))
    heights = sorted({round(v - min(v for _, v in side), 6) for _, v in side})
    steps = [2.0 * step for step in range(1, int(own.steps) + 1)]
    assert heights == pytest.approx(sorted([0.0, float(own.hook_mm), *steps]))


def test_only_the_fork_speaks_of_a_wedge_and_none_of_one_slots(case):
    report, document, _ = case
    said = " | ".join(text.plain_text() for text in document.modelspace().query("TEXT"))
    assert "1 arm slots" not in said
    assert ("wedge" in said) == (report.design.kind.name == "fork")


def test_ticks_are_drawn_where_the_design_has_them():
    from barbwright.design.draw import tick_positions

    report = make_report("elbow")
    document = drawn.drawing(report.design, info_of(report))
    root = float(report.design.seat_root_mm)
    ends = {
        round(line.dxf.start.x, 4)
        for line in document.modelspace().query('LINE[layer=="edges"]')
        if line.dxf.start.x == line.dxf.end.x and 0.0 < abs(line.dxf.end.y) < 1.2
    }
    for below in tick_positions(report.design):
        assert round(root + below, 4) in ends


def test_pdf_is_one_a4_page_without_dates_and_svg_asks_for_nothing():
    report = make_report("elbow")
    document = drawn.drawing(report.design, info_of(report))
    pdf = drawn.pdf_bytes(document)
    assert len(re.findall(rb"/Type /Page\b", pdf)) == 1
    box = re.search(rb"/MediaBox \[ 0 0 ([0-9.]+) ([0-9.]+) \]", pdf)
    assert (float(box[1]), float(box[2])) == pytest.approx((841.9, 595.3), abs=0.2)
    assert b"Date" not in pdf
    assert pdf == drawn.pdf_bytes(document)
    svg = drawn.svg_bytes(document).decode()
    assert set(re.findall(r"https?://[^\"' <]+", svg)) == {"http://www.w3.org/2000/svg"}
    # Its words are words: what a person can search, copy and hear read out.
    texts = [html.unescape(text) for text in re.findall(r"<text[^>]*>([^<]*)</text>", svg)]
    assert svg.count("@font-face") == 1
    read = " ".join(
        text for page in pypdf.PdfReader(io.BytesIO(pdf)).pages for text in [page.extract_text()]
    )
    shown = [shown_text(one) for one in document.modelspace().query("DIMENSION")]
    said = [text.plain_text() for text in document.modelspace().query("TEXT")]
    assert len(shown) > 15
    for text in shown + said:
        assert text in texts
        assert text in read
    found = pypdf.PdfReader(io.BytesIO(pdf))
    assert found.metadata.title.startswith(report.part_number)
    fonts = found.pages[0]["/Resources"]["/Font"]
    for font in fonts.values():
        inner = font.get_object()["/DescendantFonts"][0].get_object()
        assert "/FontFile2" in inner["/FontDescriptor"].get_object()


SCRIPT = """
import sys, hashlib
from example_reports import info_of, make_report
from barbwright.report import drawing as drawn
from barbwright.report.fonts import load_ezdxf
if len(sys.argv) > 1:
    other = make_report("tee")
    drawn.svg_bytes(drawn.drawing(other.design, info_of(other)))
report = make_report("elbow")
document = drawn.drawing(report.design, info_of(report))
for data in (drawn.dxf_bytes(document), drawn.svg_bytes(document), drawn.pdf_bytes(document)):
    sys.stdout.write(hashlib.sha256(data).hexdigest() + "\\n")
"""


def test_equal_parts_give_equal_bytes_and_nothing_is_left_in_the_home(tmp_path):
    said = []
    for seed, more in (("1", []), ("2", ["other"])):
        home = tmp_path / f"home{seed}"
        home.mkdir()
        path = os.pathsep.join([os.path.dirname(__file__), *sys.path])
        environment = {
            name: value
            for name, value in os.environ.items()
            if not name.startswith(("XDG_", "MPL"))
        } | {"HOME": str(home), "PYTHONHASHSEED": seed, "PYTHONPATH": path}
        done = subprocess.run(
            [sys.executable, "-c", SCRIPT, *more],
            env=environment, capture_output=True, text=True, cwd=tmp_path, check=True,
        )  # fmt: skip
        said.append(done.stdout)
        assert list(home.rglob("*")) == []
    assert said[0] == said[1]
    assert len(said[0].split()) == 3


def test_every_kind_that_registers_is_drawn_in_every_format():
    """A kind without views, or with a size that stands nowhere, fails here."""
    from barbwright.design.part import KINDS

    for name in KINDS:
        report = make_report(name)
        document = drawn.drawing(report.design, info_of(report))
        assert len(named_dimensions(document)) >= 4, name
        assert len(document.modelspace().query('LWPOLYLINE[layer=="outline"]')) >= 2, name
        for write in (drawn.dxf_bytes, drawn.svg_bytes, drawn.pdf_bytes):
            assert len(write(document)) > 10_000, name
