"""A picture of a part: shaded, and cut open beside it, rendered off-screen.

Rendering runs in a child process with a time limit: without a software renderer the
library ends the process without an exception, and a caller must not go with it.
"""

from __future__ import annotations

import os
import subprocess
import sys
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from barbwright.aside import scratch_folder
from barbwright.errors import BuildError, Fault
from barbwright.reread.child import end_with_parent

Colour = tuple[float, float, float]
Point = tuple[float, float, float]

BACKGROUND: Colour = (0.972, 0.976, 0.980)
PART: Colour = (0.50, 0.62, 0.70)
CUT: Colour = (0.91, 0.58, 0.25)
LINE: Colour = (0.10, 0.14, 0.18)
# Every edge of the part is sharper than this, every facet of a round flatter.
EDGE_DEG = 32.0
WIDTH_PX, TALL_PX, LOW_PX = 1600, 1000, 640
# The tip points down and the hammer's side is up; the cut runs through all bores.
WHOLE_FROM: Point = (0.75, -1.0, 0.55)
CUT_FROM: Point = (0.32, -1.0, 0.28)
# As the library names its windows: EGL first, Mesa's memory renderer where there is no EGL.
WINDOWS = ("vtkEGLRenderWindow", "vtkOSOpenGLRenderWindow")
PACKAGES = "libegl1, libgl1 and libx11-6 (Debian and Ubuntu), or Mesa's libOSMesa"
BLANK, TIMEOUT_S = 3, 90.0


def render(stl_path: Path, png_path: Path, *, timeout_s: float = TIMEOUT_S) -> None:
    """Render a part's mesh into one picture: shaded on the left, cut open on the right.

    Parameters
    ----------
    stl_path : Path
        The verified binary STL [mm].
    png_path : Path
        The picture to write; appears only when it is complete.
    timeout_s : float
        The child is ended after this [s].

    Raises
    ------
    BuildError
        When this machine has no off-screen renderer, or the picture stays blank.
    """
    with begun(stl_path, png_path) as picture:
        picture.finish(timeout_s)


def begun(stl_path: Path, png_path: Path) -> Rendering:
    """Begin what `render` does, and go on meanwhile.

    Parameters
    ----------
    stl_path, png_path : Path
        As for `render`.
    """
    return Rendering(
        __name__,
        Path(stl_path),
        Path(png_path),
        what="the picture cannot be rendered on this machine",
        otherwise="leave the picture out: --formats without png",
    )


def render_aside(
    module: str, source: Path, png_path: Path, *, what: str, otherwise: str, timeout_s: float
) -> None:
    """Let a module draw a picture in a child process, with each renderer in turn.

    Parameters
    ----------
    module : str
        Run with two arguments: what to draw, and the picture to write.
    source : Path
        What to draw.
    png_path : Path
        The picture; appears only when it is complete.
    what, otherwise : str
        What the message says is wrong, and what else a user can do.
    timeout_s : float
        The child is ended after this [s].

    Raises
    ------
    BuildError
        When no renderer gives a picture.
    """
    with Rendering(module, source, png_path, what=what, otherwise=otherwise) as picture:
        picture.finish(timeout_s)


class Rendering:
    """A picture that a child process draws while this process does something else.

    Use it by ``with``: where nobody waits for the picture, its child is ended.

    Parameters
    ----------
    module : str
        Run with two arguments: what to draw, and the picture to write.
    source : Path
        What to draw; must stay until the picture is there.
    png_path : Path
        The picture; appears only when it is complete.
    what, otherwise : str
        What the message says is wrong, and what else a user can do.
    """

    def __init__(
        self, module: str, source: Path, png_path: Path, *, what: str, otherwise: str
    ) -> None:
        self._module, self._source, self._png_path = module, source, png_path
        self._what, self._otherwise = what, otherwise
        self._child: subprocess.Popen[bytes] | None = None
        self._not_begun = ""
        self._scratch = ExitStack()
        folder = self._scratch.enter_context(scratch_folder("picture", png_path.parent))
        self._temporary = folder / "picture.png"
        self._begin(WINDOWS[0])

    def finish(self, timeout_s: float = TIMEOUT_S) -> None:
        """Wait for the picture; where a renderer gives none, try the next.

        Parameters
        ----------
        timeout_s : float
            How long a child may still take [s].

        Raises
        ------
        BuildError
            When no renderer gives a picture.
        """
        ended: list[str] = []
        for window in WINDOWS:
            if ended:
                self._begin(window)
            said = self._ended(timeout_s)
            if not said:
                self._temporary.replace(self._png_path)
                self.close()
                return
            ended.append(f"{window}: {said}")
        raise BuildError(
            Fault(
                self._what,
                given="; ".join(ended),
                do=f"install an off-screen renderer ({PACKAGES}), or {self._otherwise}",
            )
        )

    def close(self) -> None:
        """End the child where it is still drawing, and remove what it left."""
        child, self._child = self._child, None
        if child is not None:
            child.kill()
            child.communicate()
        self._scratch.close()

    def __enter__(self) -> Rendering:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _begin(self, window: str) -> None:
        environment = {**os.environ, "VTK_DEFAULT_OPENGL_WINDOW": window}
        # A display would draw a window on the user's screen, or fail over a lost one.
        environment.pop("DISPLAY", None)
        command = [sys.executable, "-m", self._module, str(self._source), str(self._temporary)]
        try:
            self._child = subprocess.Popen(
                command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
            )
        except OSError as error:
            self._not_begun = str(error)

    def _ended(self, timeout_s: float) -> str:
        """Wait for the child; return why it failed, empty when it did not."""
        child = self._child
        if child is None:
            return self._not_begun
        try:
            _, told = child.communicate(timeout=timeout_s)
        except subprocess.TimeoutExpired:
            child.kill()
            child.communicate()
            return f"no picture within {timeout_s:g} s"
        finally:
            self._child = None if child.poll() is not None else child
        drawn = self._temporary
        if child.returncode == 0 and drawn.is_file() and drawn.stat().st_size > 0:
            return ""
        if child.returncode == BLANK:
            return "the picture came out blank"
        lines = told.decode("utf-8", "replace").strip().splitlines()
        last = lines[-1][:160] if lines else "no message"
        if child.returncode < 0:
            return f"ended by signal {-child.returncode} ({last})"
        return f"exit {child.returncode} ({last})"


def draw(stl_path: str, png_path: str) -> int:
    """Render in this process; 0, or `BLANK` when nothing was drawn.

    Parameters
    ----------
    stl_path, png_path : str
        Mesh and picture.

    Returns
    -------
    int
        Exit status [-].
    """
    # The modules that register the factories are needed although nothing names them.
    import vtkmodules.vtkInteractionStyle
    import vtkmodules.vtkRenderingOpenGL2  # noqa: F401
    from vtkmodules.vtkIOGeometry import vtkSTLReader
    from vtkmodules.vtkIOImage import vtkPNGWriter

    reader = vtkSTLReader()
    reader.SetFileName(stl_path)
    reader.Update()
    mesh = reader.GetOutput()
    low_x, high_x, low_y, high_y, low_z, high_z = mesh.GetBounds()
    size = (high_x - low_x, high_y - low_y, high_z - low_z)
    tall = size[2] >= 0.8 * size[0]
    window = off_screen(WIDTH_PX, TALL_PX if tall else LOW_PX)
    aspect = WIDTH_PX / 2.0 / (TALL_PX if tall else LOW_PX)
    views = ((0.0, 0.5, _whole(mesh), WHOLE_FROM), (0.5, 1.0, _opened(mesh), CUT_FROM))
    for left, right, actors, looking in views:
        window.AddRenderer(renderer(left, right, actors, looking, mesh.GetBounds(), aspect))
    grab, pixels = grabbed(window)
    if int(pixels.max()) - int(pixels.min()) < 60:
        return BLANK
    writer = vtkPNGWriter()
    writer.SetFileName(png_path)
    writer.SetInputConnection(grab.GetOutputPort())
    writer.Write()
    return 0


def off_screen(width_px: int, height_px: int) -> Any:
    """Return a window that no screen shows (a vtkRenderWindow)."""
    from vtkmodules.vtkRenderingCore import vtkRenderWindow

    window = vtkRenderWindow()
    window.SetOffScreenRendering(1)
    window.SetMultiSamples(8)
    window.SetSize(width_px, height_px)
    return window


def grabbed(window: Any) -> tuple[Any, Any]:
    """Draw a window; return what holds its picture (a vtkWindowToImageFilter), and its pixels."""
    from vtkmodules.util.numpy_support import vtk_to_numpy
    from vtkmodules.vtkRenderingCore import vtkWindowToImageFilter

    window.Render()
    grab = vtkWindowToImageFilter()
    grab.SetInput(window)
    grab.ReadFrontBufferOff()
    grab.Update()
    return grab, vtk_to_numpy(grab.GetOutput().GetPointData().GetScalars())


def _shaded(mesh: Any, colour: Colour) -> Any:
    from vtkmodules.vtkFiltersCore import vtkPolyDataNormals
    from vtkmodules.vtkRenderingCore import vtkActor, vtkPolyDataMapper

    normals = vtkPolyDataNormals()
    normals.SetInputData(mesh)
    normals.SetFeatureAngle(EDGE_DEG)
    normals.SplittingOn()
    mapper = vtkPolyDataMapper()
    mapper.SetInputConnection(normals.GetOutputPort())
    mapper.ScalarVisibilityOff()
    # Lines on the surface must win over it.
    mapper.SetResolveCoincidentTopologyToPolygonOffset()
    actor = vtkActor()
    actor.SetMapper(mapper)
    look = actor.GetProperty()
    look.SetColor(*colour)
    look.SetAmbient(0.18)
    look.SetDiffuse(0.85)
    look.SetSpecular(0.18)
    look.SetSpecularPower(25.0)
    return actor


def edges(mesh: Any) -> Any:
    """Return a mesh's sharp edges and open rims as dark lines (a vtkActor)."""
    from vtkmodules.vtkFiltersCore import vtkFeatureEdges
    from vtkmodules.vtkRenderingCore import vtkActor, vtkPolyDataMapper

    lines = vtkFeatureEdges()
    lines.SetInputData(mesh)
    lines.BoundaryEdgesOn()
    lines.FeatureEdgesOn()
    lines.NonManifoldEdgesOff()
    lines.ManifoldEdgesOff()
    lines.ColoringOff()
    lines.SetFeatureAngle(EDGE_DEG)
    mapper = vtkPolyDataMapper()
    mapper.SetInputConnection(lines.GetOutputPort())
    mapper.ScalarVisibilityOff()
    actor = vtkActor()
    actor.SetMapper(mapper)
    actor.GetProperty().SetColor(*LINE)
    actor.GetProperty().SetLineWidth(1.6)
    actor.GetProperty().LightingOff()
    return actor


def _whole(mesh: Any) -> list[Any]:
    return [_shaded(mesh, PART), edges(mesh), silhouette(mesh, WHOLE_FROM)]


def silhouette(mesh: Any, looking: Point) -> Any:
    """Return a mesh's outline as seen from a side (a vtkActor)."""
    from vtkmodules.vtkFiltersHybrid import vtkPolyDataSilhouette
    from vtkmodules.vtkRenderingCore import vtkActor, vtkPolyDataMapper

    outline = vtkPolyDataSilhouette()
    outline.SetInputData(mesh)
    outline.SetDirectionToSpecifiedVector()
    outline.SetVector(*(-value for value in looking))
    outline.SetEnableFeatureAngle(0)
    mapper = vtkPolyDataMapper()
    mapper.SetInputConnection(outline.GetOutputPort())
    actor = vtkActor()
    actor.SetMapper(mapper)
    actor.GetProperty().SetColor(*LINE)
    actor.GetProperty().SetLineWidth(2.2)
    actor.GetProperty().LightingOff()
    return actor


def _opened(mesh: Any) -> list[Any]:
    """Cut the front half away and close the cut in another colour."""
    from vtkmodules.vtkCommonDataModel import vtkPlane, vtkPlaneCollection
    from vtkmodules.vtkFiltersGeneral import vtkClipClosedSurface

    plane = vtkPlane()
    # A hair off the middle, where the mesh has a seam of its own.
    plane.SetOrigin(0.0, 1e-3, 0.0)
    plane.SetNormal(0.0, 1.0, 0.0)
    planes = vtkPlaneCollection()
    planes.AddItem(plane)

    def clipped(*, caps: bool) -> Any:
        clip = vtkClipClosedSurface()
        clip.SetInputData(mesh)
        clip.SetClippingPlanes(planes)
        clip.SetScalarModeToLabels()
        clip.SetGenerateFaces(1)
        clip.SetGenerateOutline(0)
        clip.Update()
        return _labelled(clip.GetOutput(), 1 if caps else 0)

    skin, cap = clipped(caps=False), clipped(caps=True)
    # The skin's rim is the cut's outline; the cap's own rim also runs along its seams.
    return [_shaded(skin, PART), _shaded(cap, CUT), edges(skin), silhouette(skin, CUT_FROM)]


def _labelled(mesh: Any, label: int) -> Any:
    """Return the cells of the skin (0) or of the cut (1)."""
    from vtkmodules.vtkFiltersCore import vtkThreshold
    from vtkmodules.vtkFiltersGeometry import vtkGeometryFilter

    mesh.GetCellData().SetActiveScalars("Labels")
    pick = vtkThreshold()
    pick.SetInputData(mesh)
    pick.SetInputArrayToProcess(0, 0, 0, 1, "Labels")
    pick.SetLowerThreshold(label - 0.5)
    pick.SetUpperThreshold(label + 0.5)
    flat = vtkGeometryFilter()
    flat.SetInputConnection(pick.GetOutputPort())
    flat.Update()
    return flat.GetOutput()


def renderer(
    left: float,
    right: float,
    actors: list[Any],
    looking: Point,
    bounds: tuple[float, ...],
    aspect: float,
) -> Any:
    """Return one view with its lamps, the whole box inside it (a vtkRenderer).

    Parameters
    ----------
    left, right : float
        Share of the window's width at which the view begins and ends [-].
    actors : list
        What it shows.
    looking : tuple of float
        From the part to the eye [-].
    bounds : tuple of float
        The part's box: low and high x, y, z [mm].
    aspect : float
        The view's width over its height [-].
    """
    import numpy as np
    from vtkmodules.vtkRenderingCore import vtkLight, vtkRenderer

    view = vtkRenderer()
    view.SetViewport(left, 0.0, right, 1.0)
    view.SetBackground(*BACKGROUND)
    for actor in actors:
        view.AddActor(actor)
    # One lamp from the upper left of whoever looks, weak ones from the right and the front.
    view.RemoveAllLights()
    view.AutomaticLightCreationOff()
    for place, strength in (
        ((-0.7, 0.9, 1.2), 0.75),
        ((1.0, 0.1, 0.8), 0.4),
        ((0.0, 0.0, 1.0), 0.35),
    ):
        light = vtkLight()
        light.SetLightTypeToCameraLight()
        light.SetPosition(*place)
        light.SetFocalPoint(0.0, 0.0, 0.0)
        light.SetIntensity(strength)
        view.AddLight(light)

    middle = np.array([(bounds[2 * k] + bounds[2 * k + 1]) / 2.0 for k in range(3)])
    away = np.array(looking) / np.linalg.norm(looking)
    side = np.cross((0.0, 0.0, 1.0), away)
    side /= np.linalg.norm(side)
    upward = np.cross(away, side)
    corners = np.array(
        [[bounds[i], bounds[2 + j], bounds[4 + k]] for i in (0, 1) for j in (0, 1) for k in (0, 1)]
    )
    half_wide = float(np.abs((corners - middle) @ side).max())
    half_tall = float(np.abs((corners - middle) @ upward).max())
    camera = view.GetActiveCamera()
    camera.ParallelProjectionOn()
    camera.SetFocalPoint(*middle)
    camera.SetPosition(*(middle + 400.0 * away))
    camera.SetViewUp(0.0, 0.0, 1.0)
    camera.SetParallelScale(1.06 * max(half_tall, half_wide / aspect))
    view.ResetCameraClippingRange()
    return view


if __name__ == "__main__":
    end_with_parent()
    sys.exit(draw(*sys.argv[1:3]))
