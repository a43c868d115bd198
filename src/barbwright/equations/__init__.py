"""One published equation per function, on floats or arrays, in N, mm, MPa.

Published symbols live only in here. Every function says where it comes from in
the last line of its docstring; the keys are those of `barbwright.sources`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

# A number or an array of numbers: every equation broadcasts over its arguments.
Number = float | NDArray[np.float64]

# What a record holds: plain numbers (a single part), or numbers and arrays (many at once).
if TYPE_CHECKING:
    from typing_extensions import TypeVar

    N = TypeVar("N", float, Number, default=Number)
else:
    from typing import TypeVar

    N = TypeVar("N")

__all__ = ["N", "Number"]
