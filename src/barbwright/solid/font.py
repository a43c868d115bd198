"""Letters for engraved marks, from the font file that matplotlib ships.

Never a system font: the same mark must come out of every machine.
"""

from __future__ import annotations

import importlib.util
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from barbwright.errors import BuildError, Fault

if TYPE_CHECKING:
    from OCP.TopoDS import TopoDS_Shape

FONT_FILE = "DejaVuSans-Bold.ttf"
# Advance of a capital H in DejaVu Sans Bold 2.35: 1714 of 2048 units per em, read from the
# font file's hmtx table. A kernel that took another face would draw another width.
KNOWN_GLYPH = "H"
KNOWN_ADVANCE_EM = 1714 / 2048


def font_path() -> Path:
    """Find the bold DejaVu font inside the installed matplotlib, without importing it.

    Returns
    -------
    Path
        The font file.

    Raises
    ------
    BuildError
        When matplotlib or its font file is missing.
    """
    found = importlib.util.find_spec("matplotlib")
    if found is None or found.origin is None:
        raise BuildError(
            Fault("the font for the mark is missing: matplotlib is not installed",
                  do="install barbwright again with pip")
        )  # fmt: skip
    path = Path(found.origin).parent / "mpl-data" / "fonts" / "ttf" / FONT_FILE
    if not path.is_file():
        raise BuildError(
            Fault("the font file for the mark is missing", given=str(path),
                  do="install matplotlib again with pip")
        )  # fmt: skip
    return path


@cache
def load_font(path: Path, size_mm: float) -> Any:
    """Open the font in the CAD kernel and check that it is the one we mean.

    Parameters
    ----------
    path : Path
        The font file.
    size_mm : float
        Em height [mm].

    Returns
    -------
    StdPrs_BRepFont
        The kernel's font.

    Raises
    ------
    BuildError
        When the file does not load, or its known glyph has another width.
    """
    from OCP.NCollection import NCollection_Utf8String
    from OCP.StdPrs import StdPrs_BRepFont

    # By path: the kernel's font manager, asked by name, replaces a missing font in silence.
    fault = Fault("the font file for the mark cannot be used", given=str(path))
    if not path.is_file():
        raise BuildError(fault)
    font = StdPrs_BRepFont(NCollection_Utf8String(str(path)), float(size_mm))
    if font.FTFont() is None or not font.FTFont().IsValid():
        raise BuildError(fault)
    advance_em = font.AdvanceX(KNOWN_GLYPH, KNOWN_GLYPH) / size_mm
    if abs(advance_em - KNOWN_ADVANCE_EM) > 0.005:
        raise BuildError(
            Fault(
                f"the font for the mark is not {FONT_FILE}: its {KNOWN_GLYPH} is "
                f"{advance_em:.3f} em wide",
                given=str(path),
                limit=f"{KNOWN_ADVANCE_EM:.3f} em",
            )
        )
    return font


def flat_text(text: str, size_mm: float, path: Path | None = None) -> TopoDS_Shape:
    """Draw one line of text as flat faces in the XY plane, centred on the origin.

    Parameters
    ----------
    text : str
        ASCII characters.
    size_mm : float
        Em height [mm].
    path : Path, optional
        Font file; the bold DejaVu of `font_path` when not given.

    Returns
    -------
    TopoDS_Shape
        A compound of faces, the middle of its bounding box at the origin.
    """
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib
    from OCP.gp import gp_Trsf, gp_Vec
    from OCP.NCollection import NCollection_Utf8String
    from OCP.StdPrs import StdPrs_BRepTextBuilder
    from OCP.TopLoc import TopLoc_Location

    if not text.isascii() or not text.strip():
        raise BuildError(Fault("a mark is made of ASCII characters", given=repr(text)))
    font = load_font(path or font_path(), size_mm)
    flat = StdPrs_BRepTextBuilder().Perform(font, NCollection_Utf8String(text))
    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(flat, box, False, False)
    if box.IsVoid():
        raise BuildError(Fault("the font drew nothing for the mark", given=text))
    x_min, y_min, _, x_max, y_max, _ = box.Get()
    shift = gp_Trsf()
    shift.SetTranslation(gp_Vec(-(x_min + x_max) / 2, -(y_min + y_max) / 2, 0.0))
    return flat.Moved(TopLoc_Location(shift))
