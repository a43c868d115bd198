"""STEP with a named product and a fixed header: same part, same bytes.

The plain writer puts a process-wide counter into the product's name and the
time into the header; the document writer takes the name from a label instead.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from barbwright.design.limits import Limited
from barbwright.errors import BuildError, Fault
from barbwright.export.door import verified_file
from barbwright.export.step_text import slimmed
from barbwright.solid.build import require_one_solid, volume
from barbwright.solid.curves import adapt_curves
from barbwright.solid.kernel import each, load_kernel

if TYPE_CHECKING:
    from OCP.TopoDS import TopoDS_Shape, TopoDS_Solid

FIXED_TIME = "2000-01-01T00:00:00"
ORIGIN = "barbwright"
VOLUME_SHARE = 1e-5


SCHEMA = "AP242DIS"
_SAME_SIZE_MM = 1e-6


@dataclass(frozen=True)
class StepContent:
    """What a STEP file holds.

    Attributes
    ----------
    solid : TopoDS_Solid
        The one solid, in millimetres.
    volume_mm3 : float
        Its volume [mm3].
    unit : str
        Unit of length that the file states.
    """

    solid: TopoDS_Solid
    volume_mm3: float
    unit: str


def write_step(
    path: Path,
    solid: TopoDS_Solid,
    name: str,
    volume_mm3: float,
    sizes: Sequence[Limited] = (),
) -> StepContent:
    """Write a solid as STEP, import it again, then give the file its name.

    Parameters
    ----------
    path : Path
        The file.
    solid : TopoDS_Shape
        The solid.
    name : str
        ASCII name of the product.
    volume_mm3 : float
        Volume of the solid [mm3].
    sizes : sequence of Limited
        Diameters that the model says with their limits.

    Returns
    -------
    StepContent
        What the file holds.

    Raises
    ------
    BuildError
        When it cannot be written, or does not come back as one valid solid of
        the same volume in millimetres.
    """
    with verified_file(path) as temporary:
        adapt_curves(solid)
        said = put_step(temporary, solid, name, sizes)
        content = read_step(temporary)
        _require_sizes(read_diameters(temporary), said)
        if not abs(content.volume_mm3 - volume_mm3) <= VOLUME_SHARE * volume_mm3:
            raise BuildError(
                Fault("STEP: volume", given=f"{content.volume_mm3:.4f} mm3",
                      limit=f"{volume_mm3:.4f} mm3")
            )  # fmt: skip
        return content


def put_step(
    temporary: Path,
    solid: TopoDS_Shape,
    name: str,
    sizes: Sequence[Limited] = (),
) -> tuple[Limited, ...]:
    """Write a STEP file under a temporary name.

    Parameters
    ----------
    temporary : Path
        File inside a `verified_file` block.
    solid : TopoDS_Shape
        The solid.
    name : str
        ASCII name of the product and of the body.
    sizes : sequence of Limited
        Diameters that the model says with their limits.

    Returns
    -------
    tuple of Limited
        Those that are a cylinder's, which are the ones it says.
    """
    load_kernel()
    from OCP.IFSelect import IFSelect_RetDone
    from OCP.Interface import Interface_Static
    from OCP.STEPCAFControl import STEPCAFControl_Controller, STEPCAFControl_Writer
    from OCP.STEPControl import STEPControl_AsIs
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDataStd import TDataStd_Name
    from OCP.TDocStd import TDocStd_Document
    from OCP.XCAFDoc import XCAFDoc_DocumentTool

    if not name.isascii():
        raise BuildError(Fault("STEP: the product's name is not ASCII", given=name))
    document = TDocStd_Document(TCollection_ExtendedString("barbwright"))
    label = XCAFDoc_DocumentTool.ShapeTool_s(document.Main()).AddShape(solid, False)
    TDataStd_Name.Set_s(label, TCollection_ExtendedString(name))
    said = _say_diameters(document, label, solid, sizes)
    # Process-wide, known once the kernel's STEP half is, and read when a writer is made.
    STEPCAFControl_Controller.Init_s()
    Interface_Static.SetCVal_s("write.step.schema", SCHEMA)
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    writer = STEPCAFControl_Writer()
    writer.SetNameMode(True)
    writer.SetDimTolMode(True)
    if not writer.Transfer(document, STEPControl_AsIs):
        raise BuildError(Fault("STEP: the CAD kernel could not translate the solid", given=name))
    model = writer.ChangeWriter().Model()
    _head(model, name)
    _name_entities(model, name, said)
    status = writer.Write(str(temporary))
    if status != IFSelect_RetDone:
        raise BuildError(Fault("STEP: the CAD kernel could not write the file", given=str(status)))
    temporary.write_bytes(slimmed(temporary.read_text("ascii")).encode("ascii"))
    return said


def _head(model: Any, name: str) -> None:
    from OCP.APIHeaderSection import APIHeaderSection_MakeHeader
    from OCP.TCollection import TCollection_HAsciiString as Text

    header = APIHeaderSection_MakeHeader(model)
    header.SetName(Text(name))
    header.SetTimeStamp(Text(FIXED_TIME))
    header.SetAuthorValue(1, Text(ORIGIN))
    header.SetOrganizationValue(1, Text(ORIGIN))
    header.SetOriginatingSystem(Text(ORIGIN))
    header.SetPreprocessorVersion(Text(ORIGIN))
    header.SetAuthorisation(Text(""))
    header.SetDescriptionValue(1, Text(f"{name}, millimetres"))


def _name_entities(model: Any, name: str, said: Sequence[Limited]) -> None:
    """Put the part's name on its body, which CAD programs show, and each size's on its aspect."""
    from OCP.StepShape import StepShape_DimensionalSize, StepShape_ManifoldSolidBrep
    from OCP.TCollection import TCollection_HAsciiString as Text

    names = iter(said)
    for number in range(1, model.NbEntities() + 1):
        entity = model.Value(number)
        if isinstance(entity, StepShape_ManifoldSolidBrep):
            entity.SetName(Text(name))
        elif isinstance(entity, StepShape_DimensionalSize):
            entity.AppliesTo().SetName(Text(next(names).name))


def _say_diameters(
    document: Any, label: Any, solid: TopoDS_Shape, sizes: Sequence[Limited]
) -> tuple[Limited, ...]:
    """Tie each size with its limits to the cylinders that have it; return those that have any."""
    from OCP.TDF import TDF_LabelSequence
    from OCP.XCAFDimTolObjects import (
        XCAFDimTolObjects_DimensionObject,
        XCAFDimTolObjects_DimensionType,
    )
    from OCP.XCAFDoc import XCAFDoc_Dimension, XCAFDoc_DocumentTool

    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    tool = XCAFDoc_DocumentTool.DimTolTool_s(document.Main())
    cylinders = _cylinders(solid)
    said = []
    for size in sizes:
        faces = [face for face, across in cylinders if abs(across - size.drawn_mm) < _SAME_SIZE_MM]
        if not faces:
            continue
        ends = TDF_LabelSequence()
        for face in faces:
            ends.Append(shapes.AddSubShape(label, face))
        dimension = tool.AddDimension()
        tool.SetDimension(ends, TDF_LabelSequence(), dimension)
        told = XCAFDimTolObjects_DimensionObject()
        told.SetType(XCAFDimTolObjects_DimensionType.XCAFDimTolObjects_DimensionType_Size_Diameter)
        told.SetValue(size.drawn_mm)
        told.SetUpperTolValue(round(size.most_mm - size.drawn_mm, 9))
        # Positive: the writer turns it.
        told.SetLowerTolValue(round(size.drawn_mm - size.least_mm, 9))
        XCAFDoc_Dimension.Set_s(dimension).SetObject(told)
        said.append(size)
    return tuple(said)


def _cylinders(solid: TopoDS_Shape) -> list[tuple[Any, float]]:
    """Return a solid's cylindrical faces, each with its diameter [mm]."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_Cylinder
    from OCP.TopAbs import TopAbs_FACE
    from OCP.TopoDS import TopoDS

    found = []
    for face in map(TopoDS.Face, each(solid, TopAbs_FACE)):
        surface = BRepAdaptor_Surface(face)
        if surface.GetType() == GeomAbs_Cylinder:
            found.append((face, 2.0 * float(surface.Cylinder().Radius())))
    return found


def read_diameters(path: Path) -> tuple[tuple[float, float, float], ...]:
    """Read back which diameters a STEP file says with limits, each on cylinders that have it.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    tuple of (float, float, float)
        Drawn, least and most, in the file's order [mm]; the kernel hands no names on.

    Raises
    ------
    BuildError
        When the file does not read, or a size stands on another face.
    """
    load_kernel()
    from OCP.IFSelect import IFSelect_RetDone
    from OCP.STEPCAFControl import STEPCAFControl_Reader
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDF import TDF_LabelSequence
    from OCP.TDocStd import TDocStd_Document
    from OCP.XCAFDoc import (
        XCAFDoc_Dimension,
        XCAFDoc_DimTolTool,
        XCAFDoc_DocumentTool,
        XCAFDoc_ShapeTool,
    )

    document = TDocStd_Document(TCollection_ExtendedString("barbwright"))
    reader = STEPCAFControl_Reader()
    reader.SetGDTMode(True)
    if reader.ReadFile(str(path)) != IFSelect_RetDone or not reader.Transfer(document):
        raise BuildError(Fault("STEP: the file does not read back", given=path.name))
    tool = XCAFDoc_DocumentTool.DimTolTool_s(document.Main())
    labels = TDF_LabelSequence()
    tool.GetDimensionLabels(labels)
    found = []
    for number in range(1, labels.Length() + 1):
        label = labels.Value(number)
        told = XCAFDoc_Dimension.Set_s(label).GetObject()
        ends, others = TDF_LabelSequence(), TDF_LabelSequence()
        XCAFDoc_DimTolTool.GetRefShapeLabel_s(label, ends, others)
        drawn = float(told.GetValue())
        on = {
            across
            for index in range(1, ends.Length() + 1)
            for _, across in _cylinders(XCAFDoc_ShapeTool.GetShape_s(ends.Value(index)))
        }
        if not on or any(abs(across - drawn) >= _SAME_SIZE_MM for across in on):
            given = ", ".join(f"{across:g} mm" for across in sorted(on)) or "no cylinder"
            raise BuildError(Fault("STEP: a diameter stands on another face", given, f"{drawn:g}"))
        # Read back, the lower one is the deviation itself, with its sign.
        least = drawn - abs(float(told.GetLowerTolValue()))
        found.append((drawn, least, drawn + float(told.GetUpperTolValue())))
    return tuple(found)


def _require_sizes(found: Sequence[tuple[float, float, float]], said: Sequence[Limited]) -> None:
    wanted = [(one.drawn_mm, one.least_mm, one.most_mm) for one in said]
    given, limit = (sorted(tuple(round(v, 6) for v in row) for row in rows)
                    for rows in (found, wanted))  # fmt: skip
    if given != limit:
        raise BuildError(Fault("STEP: diameters with limits", f"{given}", f"{limit}"))


def read_step(path: Path) -> StepContent:
    """Import a STEP file and require one valid solid in millimetres.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    StepContent
        The solid, its volume and unit.

    Raises
    ------
    BuildError
        When it does not read, or holds anything else.
    """
    load_kernel()
    from OCP.IFSelect import IFSelect_RetDone
    from OCP.STEPControl import STEPControl_Reader
    from OCP.TColStd import TColStd_SequenceOfAsciiString

    reader = STEPControl_Reader()
    if reader.ReadFile(str(path)) != IFSelect_RetDone:
        raise BuildError(Fault("STEP: the file does not read back", given=path.name))
    lengths, angles, solid_angles = (TColStd_SequenceOfAsciiString() for _ in range(3))
    reader.FileUnits(lengths, angles, solid_angles)
    units = {lengths.Value(number).ToCString() for number in range(1, lengths.Length() + 1)}
    if units != {"millimetre"}:
        raise BuildError(Fault("STEP: unit", given=", ".join(sorted(units)), limit="millimetre"))
    reader.TransferRoots()
    solid = require_one_solid("STEP read back", reader.OneShape())
    return StepContent(solid, volume(solid), "mm")
