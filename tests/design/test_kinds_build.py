"""Each new kind built, measured on its mesh, and drawn; compensated as well."""

from dataclasses import replace

import pytest

from barbwright.design.compensate import compensated
from barbwright.design.draw import shape_of
from barbwright.design.part import KINDS, dimensions
from drawn_sizes import size_of, sizes_drawn
from example_job import design_of, job_of

CASES = [("cap", ()), ("driver", ()), ("driver", ("arms=2",)), ("driver", ("arms=1",)),
         ("fork", ()), ("fork", ("arms=2",)), ("collar", ())]  # fmt: skip


def offset(design):
    conditions = replace(design.conditions, outside_offset_mm=-0.1, bore_offset_mm=-0.2)
    return compensated(replace(design, conditions=conditions))


@pytest.mark.parametrize(("kind", "settings"), CASES)
@pytest.mark.parametrize("change", [lambda design: design, offset], ids=["drawn", "compensated"])
def test_it_builds_as_one_body_that_measures_as_drawn(kind, settings, change):
    from barbwright.solid.build import build
    from barbwright.solid.mesh import mesh_solid
    from oracles import measure_mesh

    # The mark is cut the same way on every kind, and is tried with the tee.
    shape = replace(shape_of(change(design_of(kind, settings)), "part"), engravings=())
    built = build(shape)
    mesh = mesh_solid("part", built.marked)
    report = measure_mesh((mesh.vertices, mesh.triangles), shape, built.volume_mm3)
    assert report.euler_number == shape.euler_number
    assert len(report.measured) >= 4
    assert max(size.deviation_mm for size in report.measured) < 0.03


WIDE_TIP = {"bit": "23/32", "tube_id": "4mm", "tube_od": "6mm"}
WIDE_TUBE = {"bit": "5/16", "tube_id": "16mm", "tube_od": "20mm"}


@pytest.mark.parametrize(("more", "settings"), [(WIDE_TIP, ("taper=0.01",)), (WIDE_TUBE, ())])
def test_the_cone_of_an_in_line_tips_bores_thins_no_wall_beside_the_ring(more, settings):
    from barbwright.design.shape import Probe
    from barbwright.solid.build import build
    from barbwright.solid.mesh import mesh_solid
    from oracles import measure_mesh

    design = design_of("tip", settings, **more)
    arm, tip, thick = design.bore_mm, design.tip.bore_mm, design.ring.thickness_mm
    # Longer than the ring is thick, at 90 degrees.
    assert abs(arm - tip) / 2.0 > thick
    shape = replace(shape_of(design, "part"), engravings=())
    narrow, at_mm = (arm, thick + 0.02) if arm < tip else (tip, -0.02)
    beside = Probe(name="beside_mm", origin=(0.0, 0.0, 0.0), axis=(0.0, 0.0, 1.0), at_mm=at_mm,
                   diameter_mm=narrow, side="inner")  # fmt: skip
    shape = replace(shape, probes=(*shape.probes, beside))
    built = build(shape)
    mesh = mesh_solid("part", built.marked)
    report = measure_mesh((mesh.vertices, mesh.triangles), shape, built.volume_mm3)
    assert max(size.deviation_mm for size in report.measured) < 0.03


@pytest.mark.parametrize(
    ("kind", "settings", "more"),
    [
        *((kind, settings, {}) for kind, settings in CASES),
        *((kind, (), {}) for kind in ("barb", "tip", "elbow", "tee")),
        # A pad's corners, a crest over its ring and a collar over its crest each reach furthest.
        ("tee", ("pad=15.05mm",), {}),
        ("tip", (), WIDE_TUBE),
        ("barb", ("bore=2mm",), {"tube_id": "6mm", "tube_od": "8mm", "tube_material": "nylon"}),
    ],
)
def test_its_box_is_the_envelope(kind, settings, more):
    from barbwright.solid.build import build
    from barbwright.solid.mesh import mesh_solid
    from oracles import measure_mesh

    design = design_of(kind, settings, **more)
    shape = replace(shape_of(design, "part"), engravings=())
    built = build(shape)
    mesh = mesh_solid("part", built.marked)
    report = measure_mesh((mesh.vertices, mesh.triangles), shape, built.volume_mm3)
    assert report.extents_mm == pytest.approx(tuple(map(float, design.envelope_mm)), abs=0.02)


@pytest.mark.parametrize(("kind", "settings"), CASES)
def test_its_drawing_dimensions_are_its_sizes(kind, settings):
    from barbwright.report.drawing import APP_ID, DrawingInfo, drawing

    design = design_of(kind, settings)
    info = DrawingInfo(
        part_number="number",
        revision="A",
        title="title",
        material="material",
        process="process",
        mark="mark",
        passed=True,
    )
    document = drawing(design, info)
    sizes = sizes_drawn(design)
    seen = {}
    for entity in document.modelspace().query("DIMENSION"):
        name = entity.get_xdata(APP_ID)[0].value
        seen[name] = size_of(entity)
    assert len(seen) >= 4
    for name, size in seen.items():
        assert size == pytest.approx(float(sizes[name]), abs=1e-6), name
    own = set(design.own.dimensions()) & set(seen)
    assert len(own) >= 2


def test_the_sheet_of_a_tool_says_how_it_is_used_and_leaves_out_the_proof_test():
    from barbwright.jobs.papers import part_report
    from barbwright.jobs.plan import plan_part
    from barbwright.report.sheet import sheet_html

    pages = {
        kind: sheet_html(part_report(plan_part(KINDS[kind], job_of(kind)))).decode()
        for kind in ("collar", "cap")
    }
    depth = dimensions(design_of("collar"))["exposed_bit_mm"]
    assert f"Slide it on the bit until {depth:.1f} mm" in pages["collar"]
    assert "Proof test of a batch" not in pages["collar"]
    assert "Proof test of a batch" in pages["cap"]
    assert "end wall" in pages["cap"]
