"""The one place that loads the CAD kernel and says what a bare system lacks.

The kernel's own Python modules (OCP, which cadquery wraps and brings along) are
used directly: `import cadquery` takes 2.4 s against 1.0 s for OCP alone, mostly
for drawing formats and solvers that a part needs none of.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import cache
from typing import Any

from barbwright.errors import BuildError, Fault

SYSTEM_PACKAGES = "libgl1 libx11-6 libegl1"


def load_kernel() -> None:
    """Import the CAD kernel.

    Raises
    ------
    BuildError
        When it is not installed, or a system library that it needs is missing;
        the message names the library and the packages that bring it.
    """
    try:
        import OCP  # noqa: F401
    except ImportError as error:
        raise BuildError(explain_import_error(error)) from error
    _silence()


@cache
def _silence() -> None:
    """Keep the kernel's progress messages off standard output, which belongs to results."""
    from OCP.Message import Message, Message_Gravity

    for printer in Message.DefaultMessenger_s().Printers():
        printer.SetTraceLevel(Message_Gravity.Message_Fail)


def each(shape: Any, kind: Any) -> Iterator[Any]:
    """Yield every shape of a kind (``TopAbs_FACE``) in a shape, in the kernel's order."""
    from OCP.TopExp import TopExp_Explorer

    found = TopExp_Explorer(shape, kind)
    while found.More():
        yield found.Current()
        found.Next()


def set_bodies(operation: Any, bases: Iterable[Any], tools: Iterable[Any]) -> None:
    """Give a boolean its two lists of bodies."""
    from OCP.TopTools import TopTools_ListOfShape

    for setter, bodies in ((operation.SetArguments, bases), (operation.SetTools, tools)):
        listed = TopTools_ListOfShape()
        for one in bodies:
            listed.Append(one)
        setter(listed)


def explain_import_error(error: ImportError) -> Fault:
    """Say in one line what an import of the CAD kernel lacks.

    Parameters
    ----------
    error : ImportError
        What the import raised.

    Returns
    -------
    Fault
        The missing library with the packages to install, or the missing module.
    """
    library = re.search(r"(lib[\w+.-]+\.so[\w.]*)", str(error))
    if library is None:
        return Fault(
            "the CAD kernel cannot be imported",
            given=str(error),
            do="install barbwright again with pip, which brings cadquery-ocp",
        )
    return Fault(
        f"the CAD kernel needs the system library {library.group(1)}, which is missing",
        do=f"sudo apt-get install {SYSTEM_PACKAGES} (Debian, Ubuntu), then run this again",
    )
