"""What of a part's papers is begun before its turn, on a core that would stand idle."""

from __future__ import annotations

from collections.abc import Collection
from contextlib import ExitStack, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from barbwright.aside import scratch_folder
from barbwright.errors import BuildError
from barbwright.jobs.drafter import Drafter
from barbwright.jobs.drawing import FILES, ON_SHEET
from barbwright.jobs.record import laying_of

if TYPE_CHECKING:
    from barbwright.jobs.plan import Plan
    from barbwright.report.picture import Rendering


class Ahead:
    """A part's drawing, begun while the CAD kernel loads, and its picture, while STEP is written.

    Use it by ``with``: what nobody waits for is ended.

    Parameters
    ----------
    plan : Plan
        A designed part.
    formats : collection of str
        Which files are wanted; of none, nothing is begun.
    """

    def __init__(self, plan: Plan, formats: Collection[str]) -> None:
        self._plan, self._pictured = plan, "png" in formats
        self._forms = [form for form in FILES if form in formats]
        if {"html", "svg"} <= {*formats}:
            self._forms.append(ON_SHEET)
        self._aside: Path | None = None
        self._drafter: Drafter | None = None
        self._picture: Picture | None = None
        self._stack = ExitStack()

    def __enter__(self) -> Ahead:
        if not self._forms and not self._pictured:
            return self
        # Where nothing can be put aside, each paper is made in its turn.
        with suppress(BuildError):
            # One place for all that is aside, made first: what a killed run left there goes at
            # once. Not the part's own folder, which may go while a child still works.
            self._aside = self._stack.enter_context(scratch_folder("ahead"))
        if self._forms and self._aside is not None:
            self._drafter = self._stack.enter_context(Drafter(self._plan, self._forms, self._aside))
        return self

    def __exit__(self, *_: object) -> None:
        self._stack.close()

    def meshed(self, mesh: Path) -> None:
        """Begin the picture, as soon as there is a mesh.

        Parameters
        ----------
        mesh : Path
            The part's STL, as it lies on the plate; read at once.
        """
        if self._pictured and self._aside is not None:
            with suppress(BuildError, OSError):
                self._picture = self._stack.enter_context(Picture(self._plan, mesh, self._aside))

    def drawn(self, form: str) -> bytes | None:
        """Return a form of the drawing, or none where it was not begun or did not come."""
        return self._drafter.content(form) if self._drafter is not None else None

    def pictured(self) -> bytes | None:
        """Return the picture, or none where it was not begun."""
        return self._picture.content() if self._picture is not None else None


class Picture:
    """A part's picture while it is drawn in a child process, from a mesh that it keeps aside.

    Use it by ``with``.

    Parameters
    ----------
    plan : Plan
        A designed part.
    mesh : Path
        The part's STL, as it lies on the plate; read at once.
    place : Path, optional
        Where it stands meanwhile; else where the machine keeps such things.
    """

    def __init__(self, plan: Plan, mesh: Path, place: Path | None = None) -> None:
        from barbwright.report.picture import begun

        content = standing(plan, mesh.read_bytes())
        with ExitStack() as stack:
            folder = stack.enter_context(scratch_folder("shown", place))
            self._png = folder / "part.png"
            source = folder / "standing.stl"
            source.write_bytes(content)
            self._rendering: Rendering = stack.enter_context(begun(source, self._png))
            self._stack = stack.pop_all()

    def __enter__(self) -> Picture:
        return self

    def __exit__(self, *_: object) -> None:
        self._stack.close()

    def content(self) -> bytes:
        """Wait for the picture and return its bytes.

        Raises
        ------
        BuildError
            When this machine cannot render it.
        """
        self._rendering.finish()
        return self._png.read_bytes()


def standing(plan: Plan, stl: bytes) -> bytes:
    """Return a part's mesh in the design's frame, in which it is held and used, not as it lies.

    Pictures look at it and cut it so.

    Parameters
    ----------
    plan : Plan
        A designed part.
    stl : bytes
        Its STL, as it lies on the plate.
    """
    from barbwright.design.compensate import compensated
    from barbwright.design.draw import shape_of
    from barbwright.design.laying import lift_mm
    from barbwright.export.stl import as_drawn

    assert plan.design is not None
    laying = laying_of(plan)
    shape = shape_of(compensated(plan.design), plan.number)
    return as_drawn(stl, laying, lift_mm(shape, laying))
