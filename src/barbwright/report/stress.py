"""The part coloured by stress, whole and cut open, with a legend in MPa."""

from __future__ import annotations

import io
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from barbwright.aside import scratch_folder
from barbwright.report.picture import (
    BLANK,
    CUT_FROM,
    EDGE_DEG,
    WHOLE_FROM,
    WIDTH_PX,
    Point,
    edges,
    grabbed,
    off_screen,
    render_aside,
    renderer,
    silhouette,
)
from barbwright.reread.child import end_with_parent

if TYPE_CHECKING:
    from barbwright.prove.result import ProveResult

# The views are as tall as the part needs at this width; title above, legend below.
LEAST_PX, MOST_PX, TITLE_PX, LEGEND_PX = 440, 1040, 116, 166
# Even steps of lightness from dark to bright, told apart without seeing red and green.
COLOURS, BANDS = "viridis", 12
# Its darkest end is left off: edges are drawn in black.
DARKEST = 0.12
# Beside a support or a sharp edge a stress above the peak means nothing: no colour.
# The child process that draws is ended after this [s].
_TIMEOUT_S = 90.0
NOT_REPORTED = (0.72, 0.72, 0.72)
INK = "#17212b"
NOTE = (
    "Grey: above the reported peak, beside a support, a load or a sharp edge, where a stress "
    "is not reported."
)


def stress_title(result: ProveResult, case_id: str, part_number: str) -> tuple[str, str]:
    """Return the two lines above a picture: what acts, and on which part to what peak.

    Parameters
    ----------
    result : ProveResult
        What was found.
    case_id : str
        Which load case.
    part_number : str
        As in the folder's name.
    """
    case = result.case(case_id)
    return (
        case.title[:1].upper() + case.title[1:],
        f"{part_number}, as drawn: peak "
        f"{case.peak_mpa:.{_digits(case.peak_mpa)}f} MPa, {case.place}",
    )


def stress_picture(
    result: ProveResult,
    case_id: str,
    part_number: str,
    png_path: Path,
    *,
    otherwise: str = "leave --png out",
) -> None:
    """Draw the part's surface, whole and cut open, coloured by the stress that is judged.

    The legend ends at the case's reported peak.

    Parameters
    ----------
    result : ProveResult
        With a surface that holds the case.
    case_id : str
        Which load case.
    part_number : str
        For the title.
    png_path : Path
        The picture; appears only when it is complete.
    otherwise : str
        What a user can do where this machine draws no pictures.

    Raises
    ------
    BuildError
        When this machine has no off-screen renderer, or the picture stays blank.
    """
    surface = result.surface
    assert surface is not None
    with scratch_folder("stress") as folder:
        data = folder / "surface.npz"
        np.savez(
            data,
            points=surface.points_mm,
            skin=surface.triangles,
            cut=surface.cut,
            stress=surface.stress_mpa[case_id],
            reported=surface.reported[case_id],
            top=result.case(case_id).peak_mpa,
            title=np.array(stress_title(result, case_id, part_number)),
        )
        render_aside(
            __name__,
            data,
            Path(png_path),
            what="the stress picture cannot be rendered on this machine",
            otherwise=otherwise,
            timeout_s=_TIMEOUT_S,
        )


def draw(data_path: str, png_path: str) -> int:
    """Render one saved surface, read the picture back; runs in the child.

    Parameters
    ----------
    data_path, png_path : str
        Arrays to read, and picture to write.

    Returns
    -------
    int
        Exit status: 0, or `BLANK` when nothing was drawn [-].
    """
    from matplotlib.image import imread

    with np.load(data_path) as stored:
        data = {name: stored[name] for name in stored.files}
    views = _views(data)
    if int(views.max()) - int(views.min()) < 60:
        return BLANK
    content, pixels = _page(views, float(data["top"]), [str(line) for line in data["title"]])
    Path(png_path).write_bytes(content)
    read = np.round(imread(png_path)[..., :3] * 255.0)
    if read.shape != pixels.shape or np.abs(read - pixels).max() > 0:
        message = "the picture reads back otherwise than drawn"
        raise ValueError(message)
    return 0


def _views(data: dict[str, NDArray[Any]]) -> NDArray[np.uint8]:
    """Return both views side by side, the first row on top."""
    # Registers the factories, which must be there before the first mapper.
    import vtkmodules.vtkRenderingOpenGL2  # noqa: F401

    top = float(data["top"])
    # The sides of the symmetry planes come apart: one skin, or each seam is drawn as an edge.
    _, first, weld = np.unique(
        np.round(data["points"], 4) + 0.0, axis=0, return_index=True, return_inverse=True
    )
    points, skin, cut = (
        data["points"][first], weld.reshape(-1)[data["skin"]], weld.reshape(-1)[data["cut"]],
    )  # fmt: skip
    # A hot spot stays in colour, though it may lie a little above the peak of a coarser mesh.
    stress = np.minimum(data["stress"], np.where(data["reported"], top, np.inf))[first]
    whole = _mesh(points, skin, stress)
    shell = _mesh(points, skin[points[skin][..., 1].mean(axis=1) > 0.0], stress)
    inside = _mesh(points, cut, stress)
    shown = (
        ([_coloured(whole, top), edges(whole), silhouette(whole, WHOLE_FROM)], WHOLE_FROM, points),
        (
            [_coloured(shell, top), _coloured(inside, top), edges(shell)],
            CUT_FROM,
            points[points[:, 1] >= 0.0],
        ),
    )
    sizes = np.max([_seen(within, looking)[1] for _, looking, within in shown], axis=0)
    height = int(np.clip(WIDTH_PX / 2.0 * sizes[1] / sizes[0], LEAST_PX, MOST_PX))
    aspect = WIDTH_PX / 2.0 / height
    scale = 1.05 * max(sizes[1], sizes[0] / aspect)
    window = off_screen(WIDTH_PX, height)
    for column, (actors, looking, within) in enumerate(shown):
        middle, _ = _seen(within, looking)
        left = 0.5 * column
        view = renderer(left, left + 0.5, actors, looking, whole.GetBounds(), aspect)
        view.SetBackground(1.0, 1.0, 1.0)
        camera = view.GetActiveCamera()
        camera.SetFocalPoint(*middle)
        camera.SetPosition(*(middle + 400.0 * np.array(looking) / np.linalg.norm(looking)))
        camera.SetParallelScale(scale)
        view.ResetCameraClippingRange()
        window.AddRenderer(view)
    _, pixels = grabbed(window)
    return np.asarray(pixels.reshape(height, WIDTH_PX, 3)[::-1], dtype=np.uint8)


def _seen(points: NDArray[Any], looking: Point) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the middle of what an eye sees, and half its width and height [mm]."""
    away = np.array(looking) / np.linalg.norm(looking)
    side = np.cross((0.0, 0.0, 1.0), away)
    side /= np.linalg.norm(side)
    axes = np.array([side, np.cross(away, side)])
    flat = points @ axes.T
    low, high = flat.min(axis=0), flat.max(axis=0)
    return (low + high) / 2.0 @ axes, (high - low) / 2.0


def _ramp() -> NDArray[np.float64]:
    """Return the legend's colours, low to high, one row each."""
    from matplotlib import colormaps

    return np.asarray(colormaps[COLOURS](np.linspace(DARKEST, 1.0, BANDS)))


def _digits(top_mpa: float) -> int:
    """Return how many decimals tell the legend's bands apart."""
    return 2 if top_mpa >= 0.5 else 3


def _mesh(points: NDArray[Any], triangles: NDArray[Any], stress: NDArray[Any]) -> Any:
    """Return triangles with stresses at their points (a vtkPolyData)."""
    from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray
    from vtkmodules.vtkCommonCore import vtkPoints
    from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPolyData

    mesh, corners, cells = vtkPolyData(), vtkPoints(), vtkCellArray()
    corners.SetData(numpy_to_vtk(np.ascontiguousarray(points), deep=True))
    rows = np.column_stack([np.full(len(triangles), 3), triangles]).astype(np.int64)
    cells.SetCells(len(triangles), numpy_to_vtkIdTypeArray(rows.ravel(), deep=True))
    mesh.SetPoints(corners)
    mesh.SetPolys(cells)
    values = numpy_to_vtk(np.ascontiguousarray(stress), deep=True)
    values.SetName("stress")
    mesh.GetPointData().SetScalars(values)
    return mesh


def _coloured(mesh: Any, top_mpa: float) -> Any:
    """Return a mesh in the legend's colours, shaded only a little (a vtkActor)."""
    from vtkmodules.vtkCommonCore import vtkLookupTable
    from vtkmodules.vtkFiltersCore import vtkPolyDataNormals
    from vtkmodules.vtkRenderingCore import vtkActor, vtkPolyDataMapper

    table = vtkLookupTable()
    table.SetNumberOfTableValues(BANDS)
    table.SetTableRange(0.0, top_mpa)
    for index, colour in enumerate(_ramp()):
        table.SetTableValue(index, *map(float, colour))
    table.SetUseAboveRangeColor(1)
    table.SetAboveRangeColor(*NOT_REPORTED, 1.0)
    normals = vtkPolyDataNormals()
    normals.SetInputData(mesh)
    normals.SetFeatureAngle(EDGE_DEG)
    normals.SplittingOn()
    mapper = vtkPolyDataMapper()
    mapper.SetInputConnection(normals.GetOutputPort())
    mapper.SetLookupTable(table)
    mapper.UseLookupTableScalarRangeOn()
    # Bands with clean borders: the stress is interpolated, not the colour.
    mapper.InterpolateScalarsBeforeMappingOn()
    mapper.SetResolveCoincidentTopologyToPolygonOffset()
    actor = vtkActor()
    actor.SetMapper(mapper)
    look = actor.GetProperty()
    # Flat enough that a colour is the legend's, shaded enough that a round looks round.
    look.SetAmbient(0.62)
    look.SetDiffuse(0.42)
    look.SetSpecular(0.0)
    return actor


def _page(
    views: NDArray[np.uint8], top_mpa: float, title: list[str]
) -> tuple[bytes, NDArray[np.float64]]:
    """Return the picture with title and legend as PNG, and its pixels."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.cm import ScalarMappable
    from matplotlib.colors import BoundaryNorm, ListedColormap
    from matplotlib.figure import Figure

    height = len(views) + TITLE_PX + LEGEND_PX
    figure = Figure(figsize=(WIDTH_PX / 100.0, height / 100.0), dpi=100, facecolor="white")
    canvas = FigureCanvasAgg(figure)
    figure.figimage(views, 0, LEGEND_PX, origin="upper")

    def say(x_px: float, y_px: float, words: str, size_pt: float, **more: Any) -> None:
        figure.text(x_px / WIDTH_PX, y_px / height, words, fontsize=size_pt, color=INK, **more)

    say(40, height - 52, title[0], 27, weight="bold")
    say(40, height - 96, title[1], 19)
    bounds = np.linspace(0.0, top_mpa, BANDS + 1)
    place = (40 / WIDTH_PX, 88 / height, (WIDTH_PX - 80) / WIDTH_PX, 28 / height)
    bar = figure.colorbar(
        ScalarMappable(BoundaryNorm(bounds, BANDS), ListedColormap(_ramp())),
        cax=figure.add_axes(place),
        orientation="horizontal",
        ticks=bounds,
    )
    bar.ax.set_xticklabels(
        [f"{value:.{_digits(top_mpa)}f}" for value in bounds], fontsize=18, color=INK
    )
    say(40, 130, "Stress, MPa: the larger of von Mises and largest principal", 19)
    say(40, 18, NOTE, 15)
    canvas.draw()
    pixels = np.asarray(canvas.buffer_rgba())[..., :3].astype(float)
    stream = io.BytesIO()
    canvas.print_png(stream, metadata={"Software": "barbwright", "Title": title[1]})
    return stream.getvalue(), pixels


if __name__ == "__main__":
    end_with_parent()
    sys.exit(draw(*sys.argv[1:3]))
