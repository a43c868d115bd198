"""One 3MF holds the whole order: every piece, its number and material, none on another."""

import itertools

import pytest
from example_parts import made, verified

from barbwright.order.pack import order_files
from barbwright.order.plate import GAP_MM, ROW_MM, arranged
from barbwright.order.record import plan_order

pytestmark = pytest.mark.usefixtures("remade_once", "models_once", "one_process")


@pytest.fixture(scope="module")
def order():
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(
            "barbwright.order.record.verify_parts",
            lambda folders, _=None: [verified(one) for one in folders],
        )
        return plan_order([(made("barb"), 2, 1, ""), (made("elbow"), 7, 1, "")])


@pytest.fixture(scope="module")
def model(order, tmp_path_factory):
    """Read by the consortium's own library in strict mode, not by our reader."""
    import lib3mf

    files = order_files(order)
    (name,) = (name for name in files if name.startswith("order-") and name.endswith(".3mf"))
    assert "_13x_" in name
    assert files == order_files(order)
    path = tmp_path_factory.mktemp("plate") / "order.3mf"
    path.write_bytes(files[name])
    found = lib3mf.get_wrapper().CreateModel()
    reader = found.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    assert reader.GetWarningCount() == 0
    return found


def items_of(model):
    items, out = model.GetBuildItems(), []
    while items.MoveNext():
        out.append(items.GetCurrent())
    return out


def test_every_piece_is_a_build_item_with_its_part_number(order, model):
    numbers = [item.GetPartNumber() for item in items_of(model)]
    for part in order.parts:
        assert numbers.count(part.number) == part.pieces
    assert len(numbers) == order.pieces == 13


def test_objects_are_named_numbered_and_of_their_material(order, model):
    objects, seen = model.GetMeshObjects(), []
    while objects.MoveNext():
        mesh = objects.GetCurrentMeshObject()
        assert mesh.GetPartNumber() == mesh.GetName()
        group, number, said = mesh.GetObjectLevelProperty()
        assert said
        assert model.GetBaseMaterialGroupByID(group).GetName(number) == "MJF PA12"
        seen.append(mesh.GetName())
    assert seen == [part.number for part in order.parts]
    assert model.GetMetaDataGroup().GetMetaDataByKey("", "Title").GetValue() == order.name


def test_pieces_stand_on_the_plate_and_touch_no_other(model):
    boxes = []
    for item in items_of(model):
        box, moved = item.GetObjectResource(), item.GetObjectTransform().Fields[3]
        outline = model.GetMeshObjectByID(box.GetResourceID()).GetOutbox()
        low, high = list(outline.MinCoordinate), list(outline.MaxCoordinate)
        assert low[2] + moved[2] == 0.0
        boxes.append([(low[axis] + moved[axis], high[axis] + moved[axis]) for axis in (0, 1)])
    for one, other in itertools.combinations(boxes, 2):
        assert any(
            one[axis][0] - other[axis][1] > GAP_MM - 1e-3
            or other[axis][0] - one[axis][1] > GAP_MM - 1e-3
            for axis in (0, 1)
        )


def test_rows_break_where_they_are_full_and_a_long_piece_still_gets_a_place():
    spots = arranged([(60.0, 20.0, 5), (300.0, 10.0, 2)])
    assert spots[0][:4] == [(0.0, 0.0), (65.0, 0.0), (130.0, 0.0), (0.0, 25.0)]
    assert spots[1] == [(0.0, 50.0), (0.0, 65.0)]
    assert all(x + 60.0 <= ROW_MM for x, _ in spots[0])
