"""Made parts for the tests of prove/: design, shape and unmarked STEP, one a kind a session."""

import functools
import tempfile
from pathlib import Path

from barbwright.design.draw import shape_of
from barbwright.export.step import write_step
from barbwright.solid.build import build
from example_job import design_of

FOLDER = Path(tempfile.mkdtemp(prefix="barbwright-prove-tests-"))


@functools.cache
def made(kind: str, settings: tuple[str, ...] = ()):
    design = design_of(kind, settings)
    shape = shape_of(design, kind)
    built = build(shape)
    path = FOLDER / f"{kind}{len(settings)}.step"
    write_step(path, built.unmarked, kind, built.unmarked_volume_mm3)
    return design, shape, path
