"""STEP with a named product and a fixed header: same part, same bytes.

The plain writer puts a process-wide counter into the product's name and the
time into the header; the document writer takes the name from a label instead.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from barbwright.errors import BuildError, Fault
from barbwright.export.door import verified_file
from barbwright.solid.build import require_one_solid, volume
from barbwright.solid.kernel import load_kernel

if TYPE_CHECKING:
    from OCP.TopoDS import TopoDS_Shape, TopoDS_Solid

FIXED_TIME = "2000-01-01T00:00:00"
ORIGIN = "barbwright"
VOLUME_SHARE = 1e-5


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


def write_step(path: Path, solid: TopoDS_Shape, name: str, volume_mm3: float) -> StepContent:
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
        put_step(temporary, solid, name)
        content = read_step(temporary)
        if not abs(content.volume_mm3 - volume_mm3) <= VOLUME_SHARE * volume_mm3:
            raise BuildError(
                Fault("STEP: volume", given=f"{content.volume_mm3:.4f} mm3",
                      limit=f"{volume_mm3:.4f} mm3")
            )  # fmt: skip
        return content


def put_step(temporary: Path, solid: TopoDS_Shape, name: str) -> None:
    """Write a STEP file under a temporary name.

    Parameters
    ----------
    temporary : Path
        File inside a `verified_file` block.
    solid : TopoDS_Shape
        The solid.
    name : str
        ASCII name of the product.
    """
    load_kernel()
    from OCP.APIHeaderSection import APIHeaderSection_MakeHeader
    from OCP.IFSelect import IFSelect_RetDone
    from OCP.Interface import Interface_Static
    from OCP.STEPCAFControl import STEPCAFControl_Writer
    from OCP.STEPControl import STEPControl_AsIs
    from OCP.TCollection import TCollection_ExtendedString, TCollection_HAsciiString
    from OCP.TDataStd import TDataStd_Name
    from OCP.TDocStd import TDocStd_Document
    from OCP.XCAFDoc import XCAFDoc_DocumentTool

    if not name.isascii():
        raise BuildError(Fault("STEP: the product's name is not ASCII", given=name))
    document = TDocStd_Document(TCollection_ExtendedString("barbwright"))
    label = XCAFDoc_DocumentTool.ShapeTool_s(document.Main()).AddShape(solid, False)
    TDataStd_Name.Set_s(label, TCollection_ExtendedString(name))
    writer = STEPCAFControl_Writer()
    writer.SetNameMode(True)
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    if not writer.Transfer(document, STEPControl_AsIs):
        raise BuildError(Fault("STEP: the CAD kernel could not translate the solid", given=name))
    header = APIHeaderSection_MakeHeader(writer.ChangeWriter().Model())
    text = TCollection_HAsciiString
    header.SetName(text(name))
    header.SetTimeStamp(text(FIXED_TIME))
    header.SetAuthorValue(1, text(ORIGIN))
    header.SetOrganizationValue(1, text(ORIGIN))
    header.SetOriginatingSystem(text(ORIGIN))
    header.SetPreprocessorVersion(text(ORIGIN))
    header.SetAuthorisation(text(""))
    header.SetDescriptionValue(1, text(f"{name}, millimetres"))
    status = writer.Write(str(temporary))
    if status != IFSelect_RetDone:
        raise BuildError(Fault("STEP: the CAD kernel could not write the file", given=str(status)))


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
