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

from barbwright.design.draw import tick_positions
from barbwright.design.limits import critical_limits
from barbwright.design.part import dimensions, sizes_of, tolerance_of
from barbwright.design.view import two
from barbwright.report import drawing as drawn
from barbwright.report.drawing import pages
from barbwright.report.drawing.placed import crossing
from barbwright.report.fonts import load_ezdxf, text_width
from drawn_sizes import size_of, sizes_drawn

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


# Of tools one of each at its least and at its most; the others in the slow set.
LONG = [
    f"{end} {tool}"
    for end, left_out in (("smallest", ("cap", "driver", "fork")), ("largest", ("collar", "fork")))
    for tool in TOOLS
    if tool not in left_out
]


@pytest.fixture(
    scope="module",
    params=[pytest.param(k, marks=pytest.mark.slow) if k in LONG else k for k in CASES],
    ids=[name.replace(" ", "-") for name in CASES],
)
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
    sizes = sizes_drawn(report.design)
    for name, dimension in named_lengths(document).items():
        assert size_of(dimension) == pytest.approx(float(sizes[name]), abs=0.01), name


def test_a_text_beside_its_dimension_hangs_on_a_line_of_it(case):
    """A text that has slid past its arrows reads as the nearest other line's, or as nobody's."""
    space = case[1].modelspace()
    ends = [
        tuple(spot[:2])
        for stroke in space.query("LWPOLYLINE[layer=='dims']")
        for spot in (stroke[0], stroke[-1])
    ]
    for name, dimension in named_lengths(case[1]).items():
        if dimension.dimtype or dimension.dxf.angle % 90.0:
            continue
        axis = 0 if dimension.dxf.angle % 180.0 == 0.0 else 1
        low, high = sorted(
            spot[axis] for spot in (dimension.dxf.defpoint2, dimension.dxf.defpoint3)
        )
        middle = tuple(dimension.dxf.text_midpoint)
        if low <= middle[axis] <= high:
            continue
        text = next(e for e in dimension.get_geometry_block() if e.dxftype() in {"TEXT", "MTEXT"})
        height = text.dxf.char_height if text.dxftype() == "MTEXT" else text.dxf.height
        # A circled number stands behind it; a diameter's line ends before its text.
        reach = text_width(shown_text(dimension)) * height / 2.0 + 7.5 * height / 2.2
        line = dimension.dxf.defpoint[1 - axis]
        own = [(end, line) if axis == 0 else (line, end) for end in (low, high)]
        assert min(math.dist(middle[:2], end) for end in (*ends, *own)) <= reach, name


def test_every_drawn_diameter_and_length_has_its_dimension(case):
    report, document, _ = case
    design = report.design
    wanted = {name for name, (size, _) in sizes_of(design).items() if size.printed}
    # Both ends of a barb share one neck; a tip has its ring. Notes tell how deep ticks are, the
    # barb's step and the taper's drop, which are differences; the ball's and the arm's length tell
    # the neck's of a hub.
    wanted -= {
        "second_neck_diameter_mm", "tick_depth_mm", "barb_step_mm", "second_barb_step_mm",
        "taper_drop_mm",
    }  # fmt: skip
    if design.hub is not None:
        wanted -= {"neck_length_mm"}
        # On a large ball, or under a wide pad, a fillet takes the stem's place.
        wanted -= {"strike_pad_stem_diameter_mm"}
    if design.ring is not None:
        wanted -= {"neck_diameter_mm", "neck_length_mm"}
    if design.kind.name == "cap":
        # Its head is what the tube stops on: its own size stands for the neck's.
        assert design.neck_length_mm == design.own.head_thickness_mm
        wanted -= {"neck_diameter_mm", "neck_length_mm"}
    assert wanted <= set(named_dimensions(document))
    words = said(document)
    for barb in design.barbs:
        step = float(barb.step_mm)
        assert f"crest less root {two(step - 0.2)} to {two(step + 0.2)} on one piece" in words
        assert re.search(rf"shoulder [^,;]*R{two(barb.shoulder_radius_mm)}\b", words)
        assert "3x R0.2" in words


def said(document):
    return " ".join(text.plain_text() for text in document.modelspace().query("TEXT"))


def test_sizes_to_check_are_numbered_as_the_order_numbers_them(case):
    """A circled number stands at every row of the order's table, and at nothing else."""
    report, document, _ = case
    rows = critical_limits(report.design)
    assert [row.number for row in rows] == list(range(1, len(rows) + 1))
    space = document.modelspace()
    circles = [one for one in space.query('CIRCLE[layer=="dims"]')]
    inside = sorted(
        int(text.plain_text())
        for text in space.query("TEXT")
        if text.plain_text().isdigit()
        and any(
            circle.dxf.center.distance(text.dxf.insert) < circle.dxf.radius for circle in circles
        )
    )
    assert inside == list(range(1, len(rows) + 1))


def test_numbered_sizes_say_their_tolerance_and_one_note_says_it_for_the_rest(case):
    report, document, _ = case
    design = report.design
    numbers = {one.name for one in critical_limits(design)}
    material = design.conditions.material
    rows = sizes_of(design)
    for name, dimension in named_lengths(document).items():
        shown, size = shown_text(dimension), size_of(dimension)
        assert two(size) in shown, name
        assert (SIGN in shown) == ("diameter" in name), name
        assert ("S" in shown) == ("ball" in name), name
        override = dimension.override()
        spread = (
            tolerance_of(design, rows[name][0], size)
            if name in rows
            else float(material.tolerance_at(size))
        )
        for side in ("dimtp", "dimtm"):
            assert override.get(side) == pytest.approx(spread), name
        assert (f"±{two(spread)}" in shown) == (name in numbers), name
    words = said(document)
    general = f"Sizes without a tolerance of their own: ±{two(float(material.tolerance_mm))} mm"
    assert words.count(general) == 1


def test_drawing_order_and_form_say_one_number_for_each_size_to_check(case):
    from barbwright.say import millimetres

    report, document, _ = case
    found, words = named_dimensions(document), said(document)
    for row in critical_limits(report.design):
        least, drawn, most = map(millimetres, (row.least_mm, row.drawn_mm, row.most_mm))
        if row.name in found:
            off = millimetres(row.most_mm - row.drawn_mm)
            assert f"{drawn}±{off}" in shown_text(found[row.name]), row.name
        else:
            assert f"{least} to {most} on one piece" in words, row.name


def test_a_taper_is_told_by_one_diameter_its_ratio_and_its_length(case):
    """ISO 3040: the other diameter stands in brackets."""
    report, document, _ = case
    tip = report.design.tip
    if tip is None:
        return
    found = named_dimensions(document)
    assert shown_text(found["tip_root_diameter_mm"]) == f"({SIGN}{two(tip.root_mm)})"
    assert not shown_text(found["lead_diameter_mm"]).startswith("(")
    assert not shown_text(found["seat_length_mm"]).startswith("(")
    drop = float(tip.root_mm - tip.lead_mm)
    wanted = f"taper 1:{two(1.0 / tip.taper)}, {two(drop - 0.2)} to {two(drop + 0.2)} on one piece"
    assert wanted in said(document)


def test_a_detail_stands_at_ten_to_one_and_the_pad_has_its_own_view():
    report = make_report("elbow")
    document = drawn.drawing(report.design, info_of(report))
    words = [text.plain_text() for text in document.modelspace().query("TEXT")]
    assert "Z (10:1)" in words
    # The arrow's letter, and the view's.
    assert words.count("A") == 3  # the revision is A as well
    strokes = len(document.modelspace().query('SOLID[layer=="mark"]'))
    mark = report.design.mark
    assert strokes == sum(
        len(letter) for line in mark.lines for letter in mark.letters.strokes(line.text)
    )


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
    # The title block's heads and bodies, the notes, and the dimensions.
    assert len(boxes) >= 25 + len(named_dimensions(document)) >= 29
    assert not drawn.overlapping(boxes)
    frame = document.modelspace().query('LWPOLYLINE[layer=="frame"]')[0].get_points("xy")
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
        if line.get_xdata("BARBWRIGHT")[1].value == 0
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
        "Not pressure rated: proof-test with water", "legal owner", "identification number",
        "date of issue", "approved by", "created by", "document type", "title", "revision",
        "projection", "mm", "ISO 8015", "ISO 13715", "Surfaces as built",
        "from the side" if report.design.kind.name == "fork" else "half section",
    ):  # fmt: skip
        assert words in said
    assert ("NOT PASSED" in said) != report.passed


def test_angles_are_dimensioned_as_drawn(case):
    """The barb's ramp as the rules say it, the fork's as its rise, a driver's cone."""
    report, document, _ = case
    design, found = report.design, named_dimensions(document)
    angles = {name: one for name, one in found.items() if name.endswith("_deg")}
    wanted = {}
    for end, barb in zip(("", "second_"), design.barbs, strict=False):
        ramp = design.conditions.rules["barb_angle_deg"]
        wanted[f"{end}barb_angle_deg"] = (ramp, f"{barb.barb_count}x ")
    if design.kind.name == "fork":
        times = f"{int(design.own.steps) - 1}x "
        wanted["fork_slope_deg"] = (math.degrees(math.atan(design.own.slope)), times)
    if design.kind.name == "driver" and design.own.sleeve_mm - design.own.head_mm > 1e-6:
        wanted["driver_cone_deg"] = (45.0, "")
    assert set(angles) == set(wanted)
    for name, dimension in angles.items():
        angle, times = wanted[name]
        assert float(dimension.get_measurement()) == pytest.approx(angle, abs=0.01)
        assert shown_text(dimension) == f"{times}{two(angle)}°"


def test_a_tips_ticks_say_how_deep_they_are_how_many_and_how_far_round(case):
    report, document, _ = case
    notes = [text.plain_text() for text in document.modelspace().query("TEXT")]
    deep = [note for note in notes if "ticks front and back" in note]
    tip = report.design.tip
    assert bool(deep) == (tip is not None)
    if deep:
        count = len(tick_positions(report.design))
        turn = math.degrees(2.0 * tip.tick_arc_mm / tip.root_mm)
        assert deep == [
            f"{count} ticks front and back, {two(tip.tick_depth_mm)} deep, over {two(turn)}°"
        ]


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
    # Its words are left to be read one by one, under a title that says whose drawing it is.
    assert svg.startswith("<svg ")
    head, _, rest = svg.partition(">")
    assert ' role="graphics-document document"' in head
    assert rest.startswith(f"<title>{report.part_number}")
    assert "</title><desc>" in rest
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
from drawn_sizes import size_of, sizes_drawn
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


@pytest.mark.slow
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


@pytest.mark.slow
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
