"""The mark's letters as the written mesh holds them: measured on a section, not on a formula."""

from functools import cache

import numpy as np
import pytest
from scipy import ndimage

from barbwright.design.letters import GLYPHS, Letters
from barbwright.design.shape import Y_AXIS, Z_AXIS, Engraving, Extruded, Shape
from barbwright.errors import BuildError
from barbwright.solid.build import build
from barbwright.solid.font import flat_text
from barbwright.solid.mesh import mesh_solid
from sections import filled_section

NEEDED_MM = 0.5
LETTERS = Letters(0.52, 0.35)
ROWS = ("0123456789", "ABCDEFGHIJ", "KLMNOPQRS", "TUVWXYZ/-.#")
PIXEL_MM = 0.01


@cache
def cut_rows():
    """Return where the engraving of all letters is, at half its depth, row by row."""
    wide, tall = 26.0, 5.0
    corners = [(-wide, -tall), (wide, -tall), (wide, tall), (-wide, tall)]
    block = Extruded(
        name="block", outline=np.array([(x, y, 0.0) for x, y in corners]), depth_mm=3.0
    )
    found = []
    for row in ROWS:
        mark = Engraving(
            text=row,
            letters=LETTERS,
            origin=(0.0, 0.0, 2.6),
            normal=Z_AXIS,
            x_direction=(1.0, 0.0, 0.0),
            depth_mm=0.9,
        )
        shape = Shape(
            name=row,
            adds=(block,),
            cuts=(),
            engravings=(mark,),
            probes=(),
            walls=(),
            openings=1,
            volume_bounds_mm3=(1.0, 1e6),
        )
        mesh = mesh_solid("block", build(shape).marked)
        solid = filled_section(mesh.vertices, mesh.triangles, 2.8, 13.0, 2.0, PIXEL_MM)
        found.append(~solid)
    return found


def opened(region, wide_mm):
    """Return what of a region a disc of a width can reach."""
    half = wide_mm / 2.0 / PIXEL_MM
    core = ndimage.distance_transform_edt(region) >= half
    return ndimage.distance_transform_edt(~core) <= half


def test_all_letters_are_tried():
    assert set("".join(ROWS)) | {" "} == set(GLYPHS)


@pytest.mark.parametrize("row", range(len(ROWS)), ids=ROWS)
def test_no_stroke_in_the_mesh_is_thinner_than_the_process_needs(row):
    cut = cut_rows()[row]
    assert ndimage.label(cut)[1] == len(ROWS[row])
    # Two pixels less, which the picture of a slanting edge may take.
    lost = cut & ~opened(cut, NEEDED_MM - 2.0 * PIXEL_MM)
    # A disc leaves out square corners, each of which holds a circle of 0.17 of its radius;
    # a stroke that is too thin is lost whole and holds one of half its own width.
    assert ndimage.distance_transform_edt(lost).max() * PIXEL_MM < 0.06


@pytest.mark.parametrize("row", range(len(ROWS)), ids=ROWS)
def test_letters_stand_a_gap_apart_and_no_counter_is_narrower_than_0_3_mm(row):
    cut = cut_rows()[row]
    whole, count = ndimage.label(cut)
    for letter in range(1, count):
        apart = ndimage.distance_transform_edt(whole != letter)[whole == letter + 1].min()
        assert apart * PIXEL_MM > 0.3
    # What stands inside a letter: an island of the part's own surface.
    islands, found = ndimage.label(~cut)
    outside = islands[0, 0]
    for island in range(1, found + 1):
        if island == outside:
            continue
        widest = 2.0 * ndimage.distance_transform_edt(islands == island).max() * PIXEL_MM
        assert widest > 0.3


def test_a_stroke_measured_is_the_stroke_asked_for():
    """A capital I is one stroke: as wide as said, as tall as said, to a pixel."""
    column = ROWS[1].index("I") + 1
    whole, _ = ndimage.label(cut_rows()[1])
    rows, columns = np.nonzero(whole == column)
    assert np.ptp(columns) * PIXEL_MM == pytest.approx(LETTERS.stroke_mm, abs=0.015)
    assert np.ptp(rows) * PIXEL_MM == pytest.approx(LETTERS.cap_mm, abs=0.015)


@pytest.mark.parametrize("text", ["", "  ", "1\u00bd", "a"])
def test_a_mark_without_letters_is_refused(text):
    with pytest.raises(BuildError, match="cannot be drawn"):
        flat_text(text, LETTERS)


def test_letters_stand_on_any_plane():
    """The same text on a side face takes the same volume away."""
    corners = [(-9.0, -3.0, 0.0), (9.0, -3.0, 0.0), (9.0, 3.0, 0.0), (-9.0, 3.0, 0.0)]
    lost = []
    for normal, x_direction in ((Z_AXIS, (1.0, 0.0, 0.0)), (Y_AXIS, (0.0, 0.0, 1.0))):
        block = Extruded(
            name="block",
            outline=np.array(corners),
            depth_mm=3.0,
            normal=normal,
            x_direction=x_direction,
        )
        at = tuple(2.6 * axis for axis in normal)
        mark = Engraving(
            text="15/64",
            letters=LETTERS,
            origin=at,
            normal=normal,
            x_direction=x_direction,
            depth_mm=0.9,
        )
        built = build(
            Shape(
                name="block",
                adds=(block,),
                cuts=(),
                engravings=(mark,),
                probes=(),
                walls=(),
                openings=1,
                volume_bounds_mm3=(1.0, 1e6),
            )
        )
        lost.append(built.unmarked_volume_mm3 - built.volume_mm3)
    assert lost[0] == pytest.approx(lost[1], rel=1e-9)
