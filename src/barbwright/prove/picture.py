"""The part coloured by stress, with a legend in MPa, rendered in a child process."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

import numpy as np

from barbwright.errors import BuildError, Fault
from barbwright.prove.result import Surface

WIDTH_PX, HEIGHT_PX = 1400, 900
# EGL first, Mesa's memory renderer where there is no EGL.
WINDOWS = ("vtkEGLRenderWindow", "vtkOSOpenGLRenderWindow")


def stress_picture(
    surface: Surface,
    case_id: str,
    png_path: Path,
    *,
    most_mpa: float | None = None,
    timeout_s: float = 90.0,
) -> None:
    """Draw the part's surface, whole and cut open, coloured by von Mises stress.

    Parameters
    ----------
    surface : Surface
        From `run(..., with_surface=True)`.
    case_id : str
        Which load case.
    png_path : Path
        The picture; appears only when it is complete.
    most_mpa : float, optional
        Upper end of the legend: the reported peak, since colours beside a support
        or a sharp edge mean nothing; the 99th percentile when not given [MPa].
    timeout_s : float
        The child is ended after this [s].

    Raises
    ------
    BuildError
        When this machine has no off-screen renderer.
    """
    stress = surface.von_mises_mpa[case_id]
    top = float(np.percentile(stress, 99.0)) if most_mpa is None else most_mpa
    said: list[str] = []
    with tempfile.TemporaryDirectory(prefix="barbwright-", dir=png_path.parent) as folder:
        data, picture = Path(folder) / "surface.npz", Path(folder) / "picture.png"
        np.savez(
            data,
            points=surface.points_mm,
            triangles=surface.triangles,
            stress=stress,
            top=top,
            title=f"{case_id}, MPa",
        )
        for window in WINDOWS:
            environment = {**os.environ, "VTK_DEFAULT_OPENGL_WINDOW": window}
            environment.pop("DISPLAY", None)
            command = [sys.executable, "-m", __name__, str(data), str(picture)]
            try:
                done = subprocess.run(
                    command, env=environment, capture_output=True, timeout=timeout_s, check=False
                )
            except subprocess.TimeoutExpired:
                said.append(f"{window}: no picture after {timeout_s:g} s")
                continue
            if done.returncode == 0 and picture.is_file():
                picture.replace(png_path)
                return
            said.append(f"{window}: ended with {done.returncode}")
    raise BuildError(
        Fault("the stress picture cannot be rendered on this machine", given="; ".join(said))
    )


def draw(data_path: str, png_path: str) -> None:
    """Render one saved surface; runs in the child.

    Parameters
    ----------
    data_path, png_path : str
        Arrays to read, and picture to write.
    """
    from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray
    from vtkmodules.vtkCommonCore import vtkLookupTable, vtkPoints
    from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPlane, vtkPolyData
    from vtkmodules.vtkFiltersCore import vtkClipPolyData
    from vtkmodules.vtkIOImage import vtkPNGWriter
    from vtkmodules.vtkRenderingAnnotation import vtkScalarBarActor
    from vtkmodules.vtkRenderingCore import (
        vtkActor,
        vtkPolyDataMapper,
        vtkRenderer,
        vtkRenderWindow,
        vtkWindowToImageFilter,
    )

    import vtkmodules.vtkRenderingFreeType  # isort: skip
    import vtkmodules.vtkRenderingOpenGL2  # isort: skip  # noqa: F401

    data = np.load(data_path)
    mesh = vtkPolyData()
    points = vtkPoints()
    points.SetData(numpy_to_vtk(np.ascontiguousarray(data["points"]), deep=True))
    mesh.SetPoints(points)
    rows = data["triangles"].astype(np.int64)
    flat = np.column_stack([np.full(len(rows), 3), rows]).ravel()
    cells = vtkCellArray()
    cells.SetCells(len(rows), numpy_to_vtkIdTypeArray(flat, deep=True))
    mesh.SetPolys(cells)
    scalars = numpy_to_vtk(np.ascontiguousarray(data["stress"]), deep=True)
    scalars.SetName("stress")
    mesh.GetPointData().SetScalars(scalars)

    colours = vtkLookupTable()
    colours.SetHueRange(0.667, 0.0)
    colours.SetNumberOfTableValues(12)
    colours.SetTableRange(0.0, float(data["top"]))
    colours.Build()
    window = vtkRenderWindow()
    window.SetOffScreenRendering(1)
    window.SetMultiSamples(4)
    window.SetSize(WIDTH_PX, HEIGHT_PX)

    cut = vtkClipPolyData()
    plane = vtkPlane()
    plane.SetNormal(0.0, 1.0, 0.0)
    cut.SetClipFunction(plane)
    cut.SetInputData(mesh)
    for column, source in enumerate((mesh, cut)):
        mapper: Any = vtkPolyDataMapper()
        if column:
            mapper.SetInputConnection(cut.GetOutputPort())
        else:
            mapper.SetInputData(source)
        mapper.SetLookupTable(colours)
        mapper.SetScalarRange(0.0, float(data["top"]))
        actor = vtkActor()
        actor.SetMapper(mapper)
        renderer = vtkRenderer()
        renderer.SetBackground(1.0, 1.0, 1.0)
        renderer.SetViewport(0.5 * column, 0.0, 0.5 + 0.5 * column, 1.0)
        renderer.AddActor(actor)
        camera = renderer.GetActiveCamera()
        camera.SetPosition(0.6, -1.0, 0.35)
        camera.SetViewUp(0.0, 0.0, 1.0)
        if column:
            bar = vtkScalarBarActor()
            bar.SetLookupTable(colours)
            bar.SetTitle(str(data["title"]))
            bar.SetNumberOfLabels(7)
            bar.SetUnconstrainedFontSize(True)
            for text in (bar.GetTitleTextProperty(), bar.GetLabelTextProperty()):
                text.SetColor(0.1, 0.1, 0.1)
                text.SetFontSize(18)
                text.SetShadow(0)
                text.SetItalic(0)
            bar.SetPosition(0.82, 0.06)
            bar.SetWidth(0.12)
            bar.SetHeight(0.86)
            renderer.AddViewProp(bar)
        renderer.ResetCamera()
        camera.Zoom(1.05)
        window.AddRenderer(renderer)
    window.Render()
    grab = vtkWindowToImageFilter()
    grab.SetInput(window)
    writer = vtkPNGWriter()
    writer.SetFileName(png_path)
    writer.SetInputConnection(grab.GetOutputPort())
    writer.Write()


if __name__ == "__main__":
    draw(*sys.argv[1:3])
