"""The mark's letters as flat faces: each letter's strokes joined in the plane."""

from __future__ import annotations

from typing import TYPE_CHECKING

from barbwright.design.letters import GLYPHS, Letters, Spot
from barbwright.errors import BuildError, Fault
from barbwright.solid.kernel import set_bodies

if TYPE_CHECKING:
    from OCP.TopoDS import TopoDS_Compound, TopoDS_Face, TopoDS_Shape


def flat_text(text: str, letters: Letters) -> TopoDS_Compound:
    """Draw one line of text as flat faces in the XY plane, centred on the origin.

    Parameters
    ----------
    text : str
        Characters the letters have.
    letters : Letters
        Their size [mm].

    Returns
    -------
    TopoDS_Compound
        One face a letter, facing up.

    Raises
    ------
    BuildError
        When a character has no letter, or there is nothing to draw.
    """
    from OCP.BRep import BRep_Builder
    from OCP.TopoDS import TopoDS_Compound

    if not text.strip() or not set(text) <= set(GLYPHS):
        raise BuildError(
            Fault("the mark cannot be drawn", given=repr(text), limit="".join(GLYPHS).strip())
        )
    builder, out = BRep_Builder(), TopoDS_Compound()
    builder.MakeCompound(out)
    for strokes in letters.strokes(text):
        builder.Add(out, _joined(text, [_face(corners) for corners in strokes]))
    return out


def _face(corners: tuple[Spot, ...]) -> TopoDS_Face:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon
    from OCP.gp import gp_Pnt

    polygon = BRepBuilderAPI_MakePolygon()
    for x, y in corners:
        polygon.Add(gp_Pnt(x, y, 0.0))
    polygon.Close()
    return BRepBuilderAPI_MakeFace(polygon.Wire(), True).Face()


def _joined(text: str, faces: list[TopoDS_Face]) -> TopoDS_Shape:
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Fuse
    from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain

    if len(faces) == 1:
        return faces[0]
    fuse = BRepAlgoAPI_Fuse()
    set_bodies(fuse, faces[:1], faces[1:])
    fuse.Build()
    if not fuse.IsDone():
        raise BuildError(Fault("the strokes of the mark do not join", given=text))
    whole = ShapeUpgrade_UnifySameDomain(fuse.Shape(), True, True, False)
    whole.Build()
    return whole.Shape()
