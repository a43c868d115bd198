"""Widths over flats that no spanner has, and the hexagonal pad that has them."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from barbwright.design.draw import shape_of
from barbwright.design.flats import SPANNERS_MM, between_spanners, nearest_spanner
from barbwright.design.refusals import refusals
from example_job import design_of
from sections import filled_section


@given(least=st.floats(3.0, 80.0))
def test_a_width_is_the_least_that_keeps_clear_of_every_spanner(least):
    found = float(between_spanners(least, 0.3))
    assert found >= least - 1e-9
    assert np.abs(found - SPANNERS_MM).min() >= 0.3 - 1e-9
    # No smaller twentieth of a millimetre would do.
    for smaller in np.arange(found - 0.05, least, -0.05):
        assert np.abs(smaller - SPANNERS_MM).min() < 0.3


@pytest.mark.parametrize(("least", "found"), [(11.2, 11.45), (12.0, 12.3), (12.45, 13.3)])
def test_widths_worked_by_hand(least, found):
    """Between 7/16 in (11.11) and 12, between 12 and 1/2 in (12.7), between 13 and 14."""
    assert float(between_spanners(least, 0.3)) == pytest.approx(found)


def test_many_at_once_are_as_one_by_one():
    least = np.linspace(4.0, 62.0, 400)
    assert between_spanners(least, 0.3).tolist() == [
        float(between_spanners(one, 0.3)) for one in least
    ]


def test_spanners_on_sale_are_among_them():
    for size in (10.0, 13.0, 17.0, 11.1125, 12.7, 14.2875):
        assert float(nearest_spanner(size)) == pytest.approx(size)


@pytest.mark.parametrize("bit", ["7/32", "15/64", "1/4", "5/16", "8mm", "3/8"])
def test_no_pad_of_ours_takes_a_spanner(bit):
    pad = float(design_of("tee", bit=bit).hub.pad_mm)
    assert np.abs(pad - SPANNERS_MM).min() >= 0.3 - 1e-9


def test_a_pad_forced_to_a_spanners_width_is_refused():
    assert "pad_spanner" in {fault.id for fault in refusals(design_of("tee", ("pad=13mm",)))}


@pytest.mark.slow
def test_the_mark_lies_inside_the_pads_plane_top_and_its_strokes_are_wide_enough():
    """Measured on the mesh that is written, half way down the engraving."""
    from scipy import ndimage

    from barbwright.solid.build import build
    from barbwright.solid.mesh import mesh_solid

    design = design_of("elbow")
    hub, built = design.hub, build(shape_of(design, "elbow"))
    mesh = mesh_solid("elbow", built.marked)
    z = float(hub.pad_height_mm) - design.mark.depth_mm / 2.0
    assert design.mark.depth_mm / 2.0 < float(hub.chamfer_mm)
    pixel = 0.02
    solid = filled_section(mesh.vertices, mesh.triangles, z, 8.0, 8.0, pixel)
    outside, _ = ndimage.label(~solid)
    letters = ~solid & (outside != outside[0, 0])
    count = ndimage.label(letters)[1]
    assert count == len("15/64E-AT.170")
    needed = float(design.conditions.material.min_text_line_mm) - 2.0 * pixel
    core = ndimage.distance_transform_edt(letters) >= needed / 2.0 / pixel
    lost = letters & (ndimage.distance_transform_edt(~core) > needed / 2.0 / pixel)
    assert ndimage.distance_transform_edt(lost).max() * pixel < 0.07
    # What is left between a letter and the pad's edge, and the pad's own width at that height.
    edge = outside == outside[0, 0]
    apart = ndimage.distance_transform_edt(~edge)[letters].min() * pixel
    assert apart > 0.3
    wide = np.ptp(np.nonzero(solid[len(solid) // 2])[0]) * pixel
    chamfered = float(hub.pad_mm) - 2.0 * (float(hub.chamfer_mm) - design.mark.depth_mm / 2.0)
    assert wide == pytest.approx(chamfered, abs=0.05)
