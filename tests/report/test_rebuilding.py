"""A drawing fixes every size of its part, says none twice, and the part can be made from it."""

import io
from dataclasses import replace

import numpy as np
import pytest
from example_reports import info_of, make_report
from rebuilding import DrawingFaultError, Freedom, read

from barbwright.design.draw import shape_of
from barbwright.design.shape import Extruded, Revolved
from barbwright.report import drawing as drawn
from barbwright.report.fonts import load_ezdxf
from drawn_sizes import sizes_drawn

# The smallest that has a size.
SMALLEST = {"tube_id": "4mm", "tube_od": "6mm", "bit": "13/64", "bark": "5mm"}
LARGEST = {"tube_id": "16mm", "tube_od": "20mm", "bit": "20mm", "bark": "30mm"}
SLOW = pytest.mark.slow
CASES = [
    pytest.param({"kind": "barb"}, id="barb"),
    pytest.param(
        {"kind": "barb", "tube2_id": "6mm", "tube2_od": "8mm", "tube2_material": "nylon"},
        id="barb of two sizes", marks=SLOW,
    ),
    pytest.param({"kind": "tip"}, id="tip"),
    # At 15/64 two sizes happen to be alike on the grid, and what is alike is seen as one.
    pytest.param(
        {"kind": "tip", "settings": ("side_ports=1",), "bit": "1/4"}, id="ports", marks=SLOW
    ),
    pytest.param({"kind": "tip", **LARGEST}, id="largest tip", marks=SLOW),
    pytest.param({"kind": "elbow"}, id="elbow", marks=SLOW),
    pytest.param({"kind": "elbow", **SMALLEST}, id="smallest elbow", marks=SLOW),
    pytest.param({"kind": "tee"}, id="tee", marks=SLOW),
    pytest.param({"kind": "cap"}, id="cap"),
    pytest.param({"kind": "collar"}, id="collar"),
    pytest.param({"kind": "driver"}, id="driver"),
    pytest.param({"kind": "driver", "settings": ("arms=1",)}, id="driver for an elbow"),
    pytest.param({"kind": "driver", "settings": ("arms=2",)}, id="driver for a tee"),
    # Wider tines have chamfers as long as a step's flat, and what is alike is seen as one.
    pytest.param({"kind": "fork", "settings": ("tine=4mm",)}, id="fork", marks=SLOW),
]  # fmt: skip


def freedom_of(report):
    document = drawn.drawing(report.design, info_of(report))
    written = load_ezdxf().read(io.StringIO(drawn.dxf_bytes(document).decode("ascii")))
    return Freedom(read(written))


@pytest.fixture(scope="module", params=CASES)
def case(request):
    report = make_report(**request.param)
    return report.design, freedom_of(report)


@pytest.fixture(scope="module")
def solved(case):
    """The unknowns from the words alone, from a start that is 1 % off."""
    _, freedom = case
    found, rest = freedom.solved(off=0.01)
    assert rest < 2e-3
    return found


def test_no_size_is_left_free_and_none_is_said_twice(case):
    _, freedom = case
    free, moving, needless = freedom.judged()
    assert (free, moving) == (0, [])
    assert needless == []


def test_the_words_alone_give_every_size_back(case, solved):
    design, freedom = case
    sizes = sizes_drawn(design)
    told = [
        one for one in freedom.drawing.dimensions if one.name.endswith("_mm") and one.along >= 0
    ]
    assert len(told) >= 3
    for one in told:
        at = [freedom._coordinate(solved, one.view, spot, one.along) for spot in one.spots]
        assert abs(at[0] - at[1]) == pytest.approx(float(sizes[one.name]), abs=0.01), one.name


# Where a body's own positions stand in its main view: which way they grow there, and from where.
LAID = {"tip": -1.0, "elbow": -1.0, "tee": -1.0}


class Rebuilding:
    """A shape whose coordinates are those of a solved drawing.

    What no view shows as a coordinate stays as it is: where cuts begin and end outside of the part,
    what is sunk in another body, and what words tell (how deep ticks are, edges of eyes, square
    necks).
    """

    def __init__(self, design, freedom, solved):
        self.way = LAID.get(design.kind.name, 1.0)
        cap = design.kind.name == "cap"
        self.start = -float(design.own.head_thickness_mm) / 2.0 if cap else 0.0
        self.freedom, self.solved = freedom, solved
        self.found = 0

    def along(self, letter, value):
        """Return where a position along an axis of the part stands after solving."""
        shift = self.start if letter == "z" else 0.0
        way = self.way if letter == "z" else 1.0
        shown = (value - shift) * way
        return self._look(letter, shown) * way + shift

    def across(self, value):
        """Return a radius after solving, wherever it is drawn."""
        return max(
            (self._look(letter, value) for letter in "xyz"),
            key=lambda found: found != value,
        )

    def _look(self, letter, value):
        if abs(value) < 2e-4:
            return 0.0
        keys = [(letter, value), (letter, -value)]
        for key, index in self.freedom.index.items():
            for one in keys:
                if key[0] == one[0] and abs(key[1] - one[1]) < 2e-4:
                    self.found += 1
                    return float(np.copysign(self.solved[index], value))
        return value

    def body(self, one):
        if isinstance(one, Revolved):
            letter = "xyz"[int(np.argmax(np.abs(one.axis)))]
            way = one.axis["xyz".index(letter)]
            base = one.origin["xyz".index(letter)]
            outline = one.outline.copy()
            for row in outline:
                row[0] = (self.along(letter, base + way * row[0]) - base) * way
                row[1] = self.across(row[1])
            return replace(one, outline=outline)
        return self.prism(one)

    def prism(self, one: Extruded):
        right, normal = np.array(one.x_direction), np.array(one.normal)
        up = np.cross(normal, right)
        if not all(np.abs(way).max() > 1.0 - 1e-9 for way in (right, up, normal)):
            return one
        outline, origin = one.outline.copy(), np.array(one.origin)

        def moved(way, value):
            axis = int(np.argmax(np.abs(way)))
            at = origin[axis] + way[axis] * value
            return (self.along("xyz"[axis], at) - origin[axis]) * way[axis]

        for row in outline:
            row[0], row[1] = moved(right, row[0]), moved(up, row[1])
        low, high = moved(normal, 0.0), moved(normal, one.depth_mm)
        return replace(
            one, outline=outline, depth_mm=high - low, origin=tuple(origin + low * normal)
        )


@pytest.mark.slow
def test_the_part_rebuilt_from_its_drawing_has_the_parts_volume(case, solved):
    from barbwright.solid.build import build

    design, freedom = case
    shape = replace(shape_of(design, "part"), engravings=())
    rebuilding = Rebuilding(design, freedom, solved)
    again = replace(
        shape,
        adds=tuple(map(rebuilding.body, shape.adds)),
        cuts=tuple(map(rebuilding.body, shape.cuts)),
    )
    assert rebuilding.found >= 10
    assert build(again).volume_mm3 == pytest.approx(build(shape).volume_mm3, rel=0.005)


def test_a_size_taken_away_leaves_its_size_free_and_one_in_air_is_found():
    report = make_report("barb")
    freedom = freedom_of(report)
    number = next(
        index for index, one in enumerate(freedom.drawing.dimensions)
        if one.name == "insertion_mm"
    )  # fmt: skip
    freedom.said[number] = []
    free, moving, _ = freedom.judged()
    assert free == 1
    assert moving
    one = freedom.drawing.dimensions[number]
    away = tuple((u + 0.3, v + 0.3) for u, v in one.spots)
    freedom.drawing.dimensions[number] = replace(one, spots=away)
    with pytest.raises(DrawingFaultError, match=r"insertion_mm .* ends in air"):
        Freedom(freedom.drawing)


def test_a_wrong_count_of_alike_features_is_found():
    freedom = freedom_of(make_report("barb"))
    number, one = next(
        (index, one) for index, one in enumerate(freedom.drawing.dimensions)
        if one.name == "land_mm"
    )  # fmt: skip
    freedom.drawing.dimensions[number] = replace(one, text=one.text.replace("3x", "4x"))
    with pytest.raises(DrawingFaultError, match="land_mm"):
        Freedom(freedom.drawing)


def test_without_the_note_of_the_radii_arcs_stay_free():
    freedom = freedom_of(make_report("barb"))
    freedom.drawing.notes = [note for note in freedom.drawing.notes if "R0." not in note]
    free, _, _ = freedom.judged()
    assert free >= 2
